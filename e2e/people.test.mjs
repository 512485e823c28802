// People who prove who they are: the first account by the code of the terminal, signing in and out, and a
// session that ends while something is typed.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { WIDTHS, faults } from "./support/axe.mjs";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

const PHRASE = "granite and wet sand";
const OTHER = "basalt and dry sand";

let browser, dir, server, page, context;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  ({ page, context } = await open(browser, server.url));
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

const signIn = async (person, phrase, on = page) => {
  const initials = on.getByLabel("Initials");
  if (await initials.count()) await initials.fill(person);
  await on.locator("input[name=phrase]").fill(phrase);
  await press(on, "Sign in");
};

test("the code that the terminal shows makes the first account", async () => {
  await page.goto("/who");
  await page.getByRole("link", { name: "Make the first account" }).click();
  await page.getByLabel("Who you are").selectOption("IK");
  // “Code or name” at the head of the page is another field.
  const code = page.getByLabel("Code", { exact: true });
  await code.fill("0000-0000-0000");
  await fill(page, { "New pass phrase": PHRASE, "The same once more": PHRASE });
  await press(page, "Make the first account");
  assert.match(await words(page), /This code does not open this account/);
  assert.equal(await page.getByLabel("New pass phrase").inputValue(), "", "a phrase is not sent back");
  await code.fill(await server.code());
  await fill(page, { "New pass phrase": PHRASE, "The same once more": PHRASE });
  await press(page, "Make the first account");
  await page.waitForURL("**/accounts");
  assert.match(await words(page), /opened the account/);
});

test("an owner gives an account, and its person opens it with the code", async () => {
  await page.getByLabel("To whom").selectOption("DO");
  await press(page, "Give it, and show the code");
  const code = (await page.locator(".code-to-copy").innerText()).trim();
  assert.match(code, /^\w{4}-\w{4}-\w{4}$/);
  const tablet = await open(browser, server.url);
  await tablet.page.goto("/samples");
  assert.equal(new URL(tablet.page.url()).pathname, "/sign-in");
  await tablet.page.getByRole("link", { name: "I have a code" }).click();
  await fill(tablet.page, { Initials: "do", Code: code, "New pass phrase": OTHER, "The same once more": OTHER });
  await press(tablet.page, "Open the account");
  await tablet.page.locator("a.seat", { hasText: "Davit Osgrave" }).waitFor();
  await tablet.context.close();
});

test("a wrong phrase is told, and signing out ends it", async () => {
  await page.goto("/who");
  await press(page, "Sign out");
  await page.goto("/samples");
  assert.equal(new URL(page.url()).pathname, "/sign-in");
  await page.getByRole("link", { name: "Ines Korhola" }).click();
  await signIn("IK", "not my phrase at all");
  assert.match(await words(page), /do not belong together/);
  const phrase = page.locator("input[name=phrase]");
  await phrase.fill(PHRASE);
  await page.getByRole("button", { name: "Show the pass phrase" }).click();
  assert.equal(await phrase.getAttribute("type"), "text");
  await signIn("IK", PHRASE);
  await page.locator("a.seat", { hasText: "Ines Korhola" }).waitFor();
  assert.equal(new URL(page.url()).pathname, "/samples");
});

test("a session that ends while something is typed loses none of it", async () => {
  await page.goto("/samples/new");
  await fill(page, { "Where it comes from": "Quarry of a long shift", "What it is": "crushed stone" });
  stonewear("people", "sign-out", "--dir", dir, "IK");
  // The page hears of it by itself.
  await page.getByText("You are signed out. What you typed is kept on this tablet.").waitFor();
  assert.equal(await page.getByLabel("Where it comes from").inputValue(), "Quarry of a long shift");
  await page.locator(".live-note a").click();
  await page.getByRole("link", { name: "Ines Korhola" }).click();
  await signIn("IK", PHRASE);
  assert.equal(new URL(page.url()).pathname, "/samples/new");
  assert.equal(await page.getByLabel("Where it comes from").inputValue(), "Quarry of a long shift");
  await fill(page, { "Nominal maximum size": "19.0" });
  await press(page, "Receive the sample");
  assert.match(await words(page), /by\s+IK/);
});

test("an entry that is sent after the end waits for its person, and for nobody else", async () => {
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Quarry while signed out",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  stonewear("people", "sign-out", "--dir", dir, "IK");
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await page.locator(".waiting").getByText("1 entry waits on this tablet").waitFor();
  await page.goto("/sign-in?back=/samples");
  await page.getByRole("link", { name: "Ines Korhola" }).waitFor();
  // Somebody else signs in: the entry stays.
  await page.getByLabel("Initials").fill("DO");
  await signIn("DO", OTHER);
  await page.locator(".waiting").getByText("Waits until IK signs in here").waitFor();
  assert.doesNotMatch(await words(page), /Quarry while signed out/);
  await page.goto("/who?back=/samples");
  await page.getByRole("link", { name: "Ines Korhola" }).click();
  await signIn("IK", PHRASE);
  await page.getByText("Recorded:").waitFor();
  // The list that is open hears of it by itself, and is shown anew.
  await page.locator("main").getByText("Quarry while signed out").waitFor();
});

test("what speaks for the laboratory asks for the phrase, and keeps it nowhere", async () => {
  const kept = await page.evaluate(() => JSON.stringify({ ...localStorage, ...sessionStorage }));
  assert.doesNotMatch(kept, /granite|basalt/);
  assert.equal(await context.cookies().then((all) => all.filter((one) => one.name.includes("session") && !one.httpOnly).length), 0);
});

test("the pages that lead in and those of accounts hold at every width, light and dark", async () => {
  const { page: tested, context: own, complaints } = await open(browser, server.url, { bypassCSP: true });
  const wrong = [];
  const look = async (paths) => {
    for (const width of WIDTHS) {
      await tested.setViewportSize({ width, height: 900 });
      for (const path of paths) {
        await tested.goto(path);
        assert.equal(new URL(tested.url()).pathname, path);
        wrong.push(...(await faults(tested, `${path} at ${width}`)));
      }
    }
  };
  await look(["/sign-in", "/account/open"]);
  await tested.goto("/sign-in");
  await signIn("IK", PHRASE, tested);
  await tested.locator("a.seat", { hasText: "Ines Korhola" }).waitFor();
  await look(["/who", "/accounts", "/programs"]);
  assert.deepEqual([...wrong, ...complaints], []);
  await own.close();
});
