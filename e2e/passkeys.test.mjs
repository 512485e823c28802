// Passkeys with the browser's own virtual authenticator: added, used to come in and to sign, removed, and an
// answer that is tampered with or sent again is refused.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { after, before, test } from "node:test";
import { WIDTHS, faults } from "./support/axe.mjs";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

const PHRASE = "granite and wet sand";

let browser, dir, server, page, context, complaints, devtools, authenticator;

/** A device of the browser's own that makes passkeys and looks at its person without being asked. */
const device = async (on) => {
  const session = await on.context().newCDPSession(on);
  await session.send("WebAuthn.enable");
  const options = {
    protocol: "ctap2",
    transport: "internal",
    hasResidentKey: true,
    hasUserVerification: true,
    isUserVerified: true,
    automaticPresenceSimulation: true,
  };
  const { authenticatorId } = await session.send("WebAuthn.addVirtualAuthenticator", { options });
  return [session, authenticatorId];
};

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  // Passkeys are made for names.
  const url = server.url.replace("127.0.0.1", "localhost");
  ({ page, context, complaints } = await open(browser, url));
  [devtools, authenticator] = await device(page);
  await page.goto("/account/first");
  await page.getByLabel("Who you are").selectOption("IK");
  await page.getByLabel("Code", { exact: true }).fill(await server.code());
  await fill(page, { "New pass phrase": PHRASE, "The same once more": PHRASE });
  await press(page, "Make the first account");
  await page.waitForURL("**/accounts");
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

const log = () => JSON.parse(stonewear("people", "log", "--dir", dir, "--last", "500", "--verify", "--json"));

const signOut = async () => {
  await page.goto("/who");
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await page.waitForURL("**/sign-in");
};

test("a passkey is added on a page of one's own", async () => {
  await page.goto("/who");
  await page.getByRole("link", { name: "Your passkeys" }).click();
  assert.match(await words(page), /You have none/);
  await page.getByLabel("What you call it").fill("blue stick");
  await page.getByRole("button", { name: "Add a passkey" }).click();
  await page.locator("main table").getByText("blue stick").waitFor();
  const { credentials } = await devtools.send("WebAuthn.getCredentials", { authenticatorId: authenticator });
  assert.equal(credentials.length, 1);
  assert.equal(credentials[0].rpId, "localhost");
  assert.equal(credentials[0].isResidentCredential, true);
});

test("the same device makes no second one", async () => {
  await page.getByLabel("What you call it").fill("again");
  await page.getByRole("button", { name: "Add a passkey" }).click();
  await page.getByText("No passkey was made.").waitFor();
});

test("it signs in without a pass phrase, to where one was", async () => {
  await signOut();
  await page.goto("/samples/new");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.waitForURL("**/samples/new");
  await page.locator("a.seat", { hasText: "Ines Korhola" }).waitFor();
  assert.ok(log().events.some(({ kind, about }) => kind === "signed-in" && about.includes("blue stick")));
});

test("an answer that is sent again, or was changed, lets nobody in", async () => {
  await signOut();
  const sent = [];
  await page.route("**/sign-in/passkey", async (route) => {
    sent.push(route.request().postData());
    await route.continue();
  });
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.locator("a.seat", { hasText: "Ines Korhola" }).waitFor();
  await page.unroute("**/sign-in/passkey");
  await signOut();
  // The answer of before.
  await page.route("**/sign-in/passkey", (route) => route.continue({ postData: sent[0] }));
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.getByText("answered before").first().waitFor();
  await page.unroute("**/sign-in/passkey");
  // A new one, with a signature that is not its own.
  await page.route("**/sign-in/passkey", (route) => {
    const form = new URLSearchParams(route.request().postData());
    const parts = form.get("passkey").split(".");
    parts[3] = `${parts[3].slice(0, -6)}${parts[3].endsWith("AAAAAA") ? "BBBBBB" : "AAAAAA"}`;
    form.set("passkey", parts.join("."));
    return route.continue({ postData: form.toString() });
  });
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.getByText("The signature is not that of the passkey").first().waitFor();
  await page.unroute("**/sign-in/passkey");
  // What another page asked for.
  await page.route("**/sign-in/passkey", (route) => {
    const form = new URLSearchParams(route.request().postData());
    const parts = form.get("passkey").split(".");
    const client = JSON.parse(Buffer.from(parts[1], "base64url"));
    parts[1] = Buffer.from(JSON.stringify({ ...client, origin: "http://evil.example" })).toString("base64url");
    form.set("passkey", parts.join("."));
    return route.continue({ postData: form.toString() });
  });
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.getByText("Another page asked for the answer").first().waitFor();
  await page.unroute("**/sign-in/passkey");
  const refused = log().events.filter(({ kind }) => kind === "sign-in-refused");
  assert.equal(refused.length, 3);
});

test("a device that does not look who uses it lets nobody in", async () => {
  await devtools.send("WebAuthn.setUserVerified", { authenticatorId: authenticator, isUserVerified: false });
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.getByText("No passkey was used.").waitFor();
  await devtools.send("WebAuthn.setUserVerified", { authenticatorId: authenticator, isUserVerified: true });
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.locator("a.seat", { hasText: "Ines Korhola" }).waitFor();
});

test("it signs a release instead of the phrase", async () => {
  await page.goto("/results");
  const open = page.locator("main a[href^='/results/']");
  const paths = await open.evaluateAll((links) => links.map((link) => link.getAttribute("href")));
  let found;
  for (const path of paths) {
    await page.goto(path);
    if (await page.locator("form:has(input[value=release-result])").count()) {
      found = path;
      break;
    }
  }
  assert.ok(found, `none of ${paths} waits for its release`);
  forget();
  await page.goto(found);
  const form = page.locator("form:has(input[value=release-result])");
  assert.equal(await form.getByLabel("Your pass phrase").count(), 1);
  await form.getByRole("button", { name: "Use a passkey instead" }).click();
  await form.getByText("It is you.").waitFor();
  assert.equal(await form.getByLabel("Your pass phrase").count(), 0);
  await Promise.all([page.waitForEvent("domcontentloaded"), form.locator("button[type=submit]").first().click()]);
  assert.match(await words(page), /Released|released/);
  assert.ok(log().events.some(({ kind, about }) => kind === "proved" && about.includes("blue stick")));
});

/** Lets the five minutes pass, past the program. */
const forget = () =>
  execFileSync("python3", [
    "-c",
    `import sqlite3, sys
with sqlite3.connect(sys.argv[1]) as access:
    access.execute("UPDATE session SET proved_at = '2020-01-01T00:00:00Z'")`,
    `${dir}/access.sqlite`,
  ]);

test("one that is removed opens nothing any longer", async () => {
  await page.goto("/account/passkeys");
  await press(page, "Remove it");
  assert.match(await words(page), /You have none/);
  await signOut();
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await page.getByText("This passkey is not known here").first().waitFor();
  const { intact } = log();
  assert.equal(intact, true);
  assert.deepEqual(complaints, []);
});

test("its page holds at every width, light and dark", async () => {
  const { page: tested, context: own } = await open(browser, server.url.replace("127.0.0.1", "localhost"), { bypassCSP: true });
  await tested.goto("/sign-in");
  await tested.getByLabel("Initials").fill("IK");
  await tested.locator("input[name=phrase]").fill(PHRASE);
  await press(tested, "Sign in");
  const wrong = [];
  for (const width of WIDTHS) {
    await tested.setViewportSize({ width, height: 900 });
    for (const path of ["/account/passkeys", "/who"]) {
      await tested.goto(path);
      wrong.push(...(await faults(tested, `${path} at ${width}`)));
    }
  }
  assert.deepEqual(wrong, []);
  await own.close();
});
