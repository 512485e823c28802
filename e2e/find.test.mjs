// Finding: the palette by keyboard, lists whose parts are addresses, and the way back; and what is
// printed of a page.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { violations } from "./support/axe.mjs";
import { follow, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, page, complaints;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  ({ page, complaints } = await open(browser, server.url));
  await page.goto("/who");
  await press(page, "Ines Korhola");
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

const find = () => page.getByRole("combobox", { name: "Code or name" });
const options = () => page.getByRole("option");
const goes = async (key) => Promise.all([page.waitForEvent("domcontentloaded"), page.keyboard.press(key)]);

test("the palette opens by key, lists while it is typed, and leads on by arrows and Enter", async () => {
  await page.goto("/results");
  await page.keyboard.press("Control+k");
  await page.keyboard.type("receive");
  await options().first().waitFor();
  assert.equal(await find().getAttribute("aria-expanded"), "true");
  assert.match(await options().first().innerText(), /Receive a sample/);
  await page.keyboard.press("ArrowDown");
  assert.equal(await options().first().getAttribute("aria-selected"), "true");
  assert.equal(await find().getAttribute("aria-activedescendant"), await options().first().getAttribute("id"));
  await goes("Enter");
  assert.equal(new URL(page.url()).pathname, "/samples/new");
});

test("it finds items, people, methods, papers and pages by what they are called", async () => {
  await page.goto("/");
  for (const [typed, found] of [
    ["JAR-1", /JAR-1 a jar/],
    ["Osgrave", /DO a person/],
    ["D6928", /a method/],
    ["control chart", /Control charts a page/],
    ["verify", /Verify the journal a page/],
  ]) {
    await find().fill(typed);
    await page.locator("[role=option]", { hasText: found }).first().waitFor();
  }
  await find().fill("zebra crossing");
  await page.getByText("Nothing found").waitFor({ state: "attached" });
  assert.equal(await find().getAttribute("aria-expanded"), "false");
});

test("Escape closes the list, and then leads back to where the cursor was", async () => {
  await page.goto("/samples/new");
  await page.getByLabel("What it is").focus();
  await page.keyboard.press("Control+k");
  await page.keyboard.type("jar");
  await options().first().waitFor();
  await page.keyboard.press("Escape");
  assert.equal(await options().count(), 0);
  assert.equal(await find().inputValue(), "jar");
  await page.keyboard.press("Escape");
  assert.equal(await page.evaluate(() => document.activeElement.name), "material");
});

test("a whole code opens its thing although the list is open", async () => {
  await page.goto("/");
  await page.keyboard.press("/");
  await page.keyboard.type("jar-1");
  await options().first().waitFor();
  await goes("Enter");
  assert.equal(new URL(page.url()).pathname, "/equipment/JAR-1");
});

test("the open list is accessible", async () => {
  const { page: tested, context } = await open(browser, server.url, { bypassCSP: true });
  await tested.goto("/");
  await tested.getByRole("combobox").fill("jar");
  await tested.getByRole("option").first().waitFor();
  await tested.keyboard.press("ArrowDown");
  for (const colorScheme of ["light", "dark"]) {
    await tested.emulateMedia({ colorScheme });
    assert.deepEqual(await violations(tested), [], colorScheme);
  }
  await context.close();
});

test("the part of a list is an address, and the way back leads through it", async () => {
  await page.goto("/results");
  const all = await page.locator("main tbody tr").count();
  await follow(page, /^Released: /);
  const part = page.url();
  const released = await page.locator("main tbody tr").count();
  assert.ok(released > 0 && released <= all);
  assert.ok(!(await page.locator("main tbody").innerText()).includes("to be released"));
  const told = await page.locator(".filters [aria-current]").first().innerText();
  assert.equal(released, Math.min(Number(told.replace("Released: ", "")), 100));
  await page.locator("main tbody a").first().click();
  await page.waitForURL(/\/results\/L/);
  await page.goBack();
  assert.equal(page.url(), part);
  assert.equal(await page.locator("main tbody tr").count(), released);
  await page.goBack();
  assert.equal(await page.locator("main tbody tr").count(), all);
  await page.goForward();
  assert.equal(await page.locator("main tbody tr").count(), released);
  // Narrowed down by words, the part stays.
  const code = await page.locator("main tbody a").first().innerText();
  await page.getByLabel("Code, source, client or works").fill(code.toLowerCase());
  await press(page, "Narrow down");
  assert.match(page.url(), /state=released/);
  assert.equal(await page.locator("main tbody tr").count(), 1);
  assert.match(await page.locator("main tbody tr").innerText(), new RegExp(code));
  await page.goto("/samples?words=no+such+stone");
  assert.match(await words(page), /Nothing here is of this part/);
});

test("a long list comes a hundred rows at a time, the newest first", async () => {
  await page.goto("/results?state=released");
  const codes = () => page.locator("main tbody th").allInnerTexts();
  const newest = await codes();
  assert.equal(newest.length, 100);
  const all = Number(/Rows 1 to 100 of (\d+)/.exec(await words(page))[1]);
  assert.equal(await page.getByRole("link", { name: "Newer" }).count(), 0);
  await follow(page, "Older");
  // What the list was narrowed down to stays.
  assert.match(page.url(), /state=released/);
  const older = await codes();
  assert.equal(older.length, all - 100);
  assert.deepEqual([...newest, ...older], [...newest, ...older].sort().reverse());
  assert.equal(await page.getByRole("link", { name: "Older" }).count(), 0);
  await follow(page, "Newer");
  assert.deepEqual(await codes(), newest);
});

for (const [path, standing] of [["/equipment?standing=held", /held/], ["/samples?state=received", /received/], ["/papers", /./]]) {
  test(`the part ${path} holds what it says`, async () => {
    await page.goto(path);
    for (const row of await page.locator("main tbody tr").all()) {
      assert.match(await row.innerText(), standing);
    }
  });
}

test("what is printed of a result and of a check is all that matters, and nothing to press", async () => {
  await page.goto("/results");
  await page.locator("main tbody a").first().click();
  await page.waitForURL(/\/results\/L/);
  const loss = await page.locator(".hero-number").first().innerText();
  const result = page.url();
  await page.goto("/equipment/BAL-1");
  const check = await page.locator("main a[href^='/checks/']").first().getAttribute("href");
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  for (const path of [result, check]) {
    await page.goto(path);
    const seen = await page.evaluate(() => {
      const isShown = (element) => element.checkVisibility({ contentVisibilityAuto: true });
      const shown = (selector) => [...document.querySelectorAll(selector)].filter(isShown);
      return {
        pressed: shown("button, .button, input:not([type=hidden]), select, textarea, nav").map((one) => one.outerHTML.slice(0, 90)),
        ground: getComputedStyle(document.body).backgroundColor,
        ink: getComputedStyle(document.querySelector("h1")).color,
        rows: [...document.querySelectorAll("main tr, main dl.facts, main .evidence-line .link, main .strip")]
          .filter((one) => !one.closest("form, details:has(form)") && !isShown(one)).map((one) => one.outerHTML.slice(0, 90)),
        over: document.documentElement.scrollWidth - document.documentElement.clientWidth,
      };
    });
    assert.deepEqual(seen.pressed, [], path);
    assert.deepEqual(seen.rows, [], path);
    assert.equal(seen.ground, "rgb(255, 255, 255)");
    assert.notEqual(seen.ink, seen.ground);
  }
  await page.goto(result);
  assert.ok((await page.locator(".hero-number").first().isVisible()) && loss);
  assert.ok(await page.getByText("How it was worked out").first().isVisible());
  // What can be unfolded on the page is unfolded on paper.
  for (const fold of await page.locator("main details:not(:has(form))").all()) {
    assert.ok(await fold.evaluate((one) => [...one.children].at(-1).checkVisibility({ contentVisibilityAuto: true })));
  }
  await page.emulateMedia({ media: null, colorScheme: null });
});

test("the browser had nothing to complain of", () => {
  assert.deepEqual(complaints, []);
});
