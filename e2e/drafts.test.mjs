// What is typed is judged while it is typed, and is not lost.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, page, specimen;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  ({ page } = await open(browser, server.url));
  await page.goto("/who");
  await press(page, "Davit Osgrave");
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Invented quarry",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  await press(page, "Receive the sample");
  await press(page, "Make up a specimen");
  specimen = new URL(page.url()).pathname;
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

/** What stands below a field that is judged. */
const verdictOf = async (field) =>
  page.locator(`[id="${await field.getAttribute("data-judge-slot")}"]`);

test("what was typed survives a reload, and is forgotten once it is recorded", async () => {
  await page.goto(specimen);
  await fill(page, { "19.0 to 16.0 mm": "375.1", "16.0 to 12.5 mm": "375.3" });
  await page.getByText("Kept on this tablet, not yet sent.").waitFor();
  await page.reload();
  assert.equal(await page.getByLabel("19.0 to 16.0 mm").inputValue(), "375.1");
  assert.equal(await page.getByLabel("16.0 to 12.5 mm").inputValue(), "375.3");
  await page.getByText("Kept on this tablet, not yet sent.").waitFor();
  await fill(page, { "12.5 to 9.5 mm": "749.8" });
  await press(page, "Record the masses");
  const kept = await page.evaluate(() =>
    Object.keys(localStorage).filter((key) => key !== "stonewear-owner"));
  assert.deepEqual(kept, []);
});

test("a mass is judged against its limits as it is typed, with a decimal comma too", async () => {
  await page.goto(specimen);
  const mass = page.getByLabel("Mass before, oven-dry");
  const verdict = await verdictOf(mass);
  await mass.pressSequentially("1510");
  await verdict.getByText("the method wants 1495 to 1505 g").waitFor();
  await verdict.locator("svg").first().waitFor();
  await mass.fill("");
  await mass.pressSequentially("1499,8");
  await verdict.getByText("as it must be").waitFor();
  await mass.fill("1,500");
  await verdict.getByText("write 1500 or 1.500").waitFor();
});

test("a refused form shows what was typed, and the problem leads to its field", async () => {
  await page.goto(specimen);
  const mass = page.getByLabel("Mass before, oven-dry");
  await mass.fill("1,500");
  await press(page, "Record the mass before");
  assert.equal(await mass.inputValue(), "1,500");
  assert.equal(await mass.getAttribute("aria-invalid"), "true");
  // The summary has the focus, so that it is heard first; its link leads to the field.
  assert.ok(await page.locator("[data-problems]").evaluate((it) => it === document.activeElement));
  await page.locator("[data-problems] a").first().click();
  assert.ok(await mass.evaluate((it) => it === document.activeElement));
  await mass.fill("1499,8");
  await press(page, "Record the mass before");
  assert.match(await words(page), /1499\.8/);
  assert.match(await words(page), /ready to run/);
});

test("a departure is asked for its reason in place, and the reason survives", async () => {
  await page.goto(specimen);
  await page.getByText("Correct the mass before").click();
  await fill(page, { "Mass before, oven-dry": "1511", "Why the recorded mass is replaced": "misread" });
  await press(page, "Record the mass before");
  assert.match(await page.locator("[data-problems]").innerText(), /the method wants 1495 to 1505 g/);
  assert.equal(await page.getByLabel("Why the recorded mass is replaced").inputValue(), "misread");
  await fill(page, { "as a deviation: why?": "all that the client sent" });
  await page.getByLabel("Mass before, oven-dry").fill("15x1");
  await press(page, "Record the mass before");
  const why = page.getByLabel("as a deviation: why?");
  assert.equal(await why.inputValue(), "all that the client sent");
});
