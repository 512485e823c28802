// A day without a pointer: from the bag to the released loss with the keyboard, a scanner that types
// codes, and a balance that types its print line.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { endRun, readingFor } from "./support/bench.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, page, complaints;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  ({ page, complaints } = await open(browser, server.url));
  await page.goto("/who");
  await press(page, "Davit Osgrave");
  // The mill of the demo turns when it is opened; it must stand for a run of our own.
  await page.goto("/");
  const run = await page.locator("a[href^='/runs/R']").first().getAttribute("href");
  await page.goto(run);
  const wanted = await page.locator(".limit b").first().innerText();
  await endRun(page, { "Revolutions shown": readingFor(wanted), "Minutes turned": String(Number(readingFor(wanted)) / 100) });
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

/** What a scanner, or a balance that is connected as a keyboard, does: a text at once, and Enter. */
const types = async (text) => {
  await page.keyboard.type(text);
  await page.keyboard.press("Enter");
};

/** The same, where the page that follows is waited for. */
const typesAndGoes = async (text) => {
  await page.keyboard.type(text);
  await Promise.all([page.waitForEvent("domcontentloaded"), page.keyboard.press("Enter")]);
};

/** Tabs to what has this name, and presses Enter. */
const tabTo = async (name) => {
  for (let times = 0; times < 80; times += 1) {
    await page.keyboard.press("Tab");
    const here = await page.evaluate(() => document.activeElement?.textContent?.trim() ?? "");
    if (here.includes(name)) {
      await Promise.all([page.waitForEvent("domcontentloaded"), page.keyboard.press("Enter")]);
      return;
    }
  }
  throw new Error(`no Tab leads to “${name}”`);
};

/** The label of the field that has the cursor. */
const awaited = () =>
  page.evaluate(() => document.activeElement?.labels?.[0]?.textContent?.trim() ?? document.activeElement?.tagName);

test("a sample is received with Enter from field to field", async () => {
  await page.goto("/samples/new");
  assert.match(await awaited(), /Where it comes from/);
  await types("Invented quarry, face 3");
  assert.match(await awaited(), /What it is/);
  await types("crushed dolerite 10/20");
  await types("19.0");
  // The rest may stay empty: Enter passes over it, and in the last field it sends the form.
  for (let label = await awaited(); !/Lot of reference/.test(label); label = await awaited()) {
    if (/Mass received/.test(label)) await page.keyboard.type("ST,GS,+  12.40 kg");
    if (/Where it is kept/.test(label)) await page.keyboard.type("bay 4");
    await page.keyboard.press("Enter");
    assert.ok(page.url().endsWith("/samples/new"), `sent too early, at ${label}`);
  }
  await typesAndGoes("");
  assert.match(page.url(), /\/samples\/S\d/);
  assert.match(await words(page), /12400 g \(read as ST,GS,\+ 12.40 kg\)/);
});

test("a scanned code opens what it is the code of, wherever the cursor is not", async () => {
  const sample = new URL(page.url()).pathname.split("/").pop();
  await page.goto("/results");
  await page.locator("body").click({ position: { x: 2, y: 2 } });
  await typesAndGoes(sample.toLowerCase());
  assert.equal(new URL(page.url()).pathname, `/samples/${sample}`);
  await page.keyboard.press("/");
  assert.match(await awaited(), /Code or name/);
  await typesAndGoes("JAR-");
  assert.match(await words(page), /Nothing here has exactly the code “JAR-”.*JAR-1/s);
  await page.keyboard.press("/");
  await typesAndGoes("jar-1");
  assert.equal(new URL(page.url()).pathname, "/equipment/JAR-1");
  await page.keyboard.press("/");
  await typesAndGoes(sample);
  await tabTo("Make up a specimen");
  await page.waitForURL(/\/specimens\//);
});

test("the balance types its line into the awaited field, and the next is awaited", async () => {
  assert.match(await awaited(), /19.0 to 16.0 mm/);
  await page.keyboard.type("ST,NT,+  0.3752 kg");
  await page.getByText("read as 0.3752 kg = 375.2 g").waitFor();
  await page.keyboard.press("Enter");
  assert.match(await awaited(), /16.0 to 12.5 mm/);
  await types("S       374.9 g");
  await typesAndGoes("750,1");
  assert.match(await awaited(), /Mass before/);
  await page.keyboard.type("US,GS,+ 1500.0 g");
  await page.getByText("the reading had not settled").waitFor();
  await typesAndGoes("");
  assert.match(await words(page), /had not settled/);
  await page.getByLabel("Mass before, oven-dry").first().focus();
  await page.keyboard.press("Control+A");
  await typesAndGoes("ST,GS,+ 1500.0 g");
  assert.match(await words(page), /ready to run/);
});

test("jar and charge are scanned while the readings are typed; a wrong code is told", async () => {
  // What comes next has the focus.
  await Promise.all([page.waitForEvent("domcontentloaded"), page.keyboard.press("Enter")]);
  assert.match(page.url(), /\/runs\/new/);
  assert.match(await awaited(), /Temperature of the water/);
  await types("20");
  assert.match(await awaited(), /Mass of the charge/);
  // The jar is scanned although the mass of the charge is awaited: it goes where it belongs.
  await types("JAR-2");
  assert.equal(await page.getByLabel("Jar", { exact: true }).first().inputValue(), "JAR-2");
  assert.match(await awaited(), /Mass of the charge/);
  await page.getByLabel("Jar", { exact: true }).first().focus();
  await types("BC-1");
  await page.getByText("BC-1 is not a choice for Jar; nothing was changed.").waitFor();
  await types("JAR-1");
  assert.equal(await page.getByLabel("Jar", { exact: true }).first().inputValue(), "JAR-1");
  assert.match(await awaited(), /Mass of the charge/);
  await types("+   5.0005 kg");
  await types("2.00");
  await typesAndGoes("1");
  assert.match(await words(page), /of 12000 revolutions/);
});

test("the run is ended, the specimen weighed, and the loss released", async () => {
  assert.match(await awaited(), /Revolutions shown/);
  await types("12000");
  await typesAndGoes("120");
  // The clock says that the jars have turned for less: that is asked about, and answered by keyboard, too.
  assert.match(await words(page), /began to turn 0 min ago/);
  await page.getByLabel("as a deviation: why?").first().focus();
  await page.keyboard.type("its beginning was entered from the bench sheet");
  await tabTo("Record how the run ended");
  await Promise.all([page.waitForEvent("domcontentloaded"), page.keyboard.press("Enter")]);
  assert.match(await awaited(), /Mass after/);
  await typesAndGoes("2.8175 lb");
  assert.match(page.url(), /\/results\/L/);
  // 2.8175 lb × 453.59237 g/lb = 1277.996… g; 100 × (1500.0 − 1277.996…) / 1500.0 = 14.8 %.
  assert.equal(await page.locator(".hero-number").innerText(), "14.8 %");
  // Who tested does not release here: another person sits down at the bench.
  const result = page.url();
  await page.goto("/who");
  await tabTo("Ines Korhola");
  await page.goto(result);
  await tabTo("Release it with my name");
  assert.match(await words(page), /Released by\s+IK/);
});

test("a label is a PDF", async () => {
  const answer = await page.request.get("/labels.pdf?code=JAR-1&code=JAR-2");
  assert.equal(answer.headers()["content-type"], "application/pdf");
  assert.equal((await answer.body()).subarray(0, 4).toString(), "%PDF");
  assert.equal((await page.request.get("/labels.pdf?code=NO-1")).status(), 404);
  assert.equal((await page.request.get("/labels.pdf?code=JAR-1&size=1x1")).status(), 422);
});

test("the browser had nothing to complain of", () => {
  assert.deepEqual(complaints.filter((one) => !/40[04]/.test(one)), []);
});
