// A sample is sieved: the sum runs along while the masses are typed, the curve is drawn, and the
// grading follows from it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, follow, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, page, complaints, sample;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  ({ page, complaints } = await open(browser, server.url));
  await page.goto("/who");
  await press(page, "Davit Osgrave");
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Invented quarry",
    "What it is": "crushed stone",
    "Nominal maximum size": "12.5",
  });
  await press(page, "Receive the sample");
  sample = new URL(page.url()).pathname;
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

const MASSES = {
  "Dry mass before": "10000",
  "25.0 mm (1 in.)": "0",
  "19.0 mm (3/4 in.)": "400",
  "16.0 mm (5/8 in.)": "1100",
  "12.5 mm (1/2 in.)": "2000",
  "9.5 mm (3/8 in.)": "2500",
  "6.3 mm (1/4 in.)": "2000",
  "4.75 mm (No. 4)": "1200",
};

test("the sum runs along as the masses are typed", async () => {
  await follow(page, "Sieve analysis");
  await fill(page, { "Dry mass before": "10000", "25.0 mm (1 in.)": "0" });
  const mass = page.getByLabel("19.0 mm (3/4 in.)");
  await mass.pressSequentially("400");
  const verdict = page.locator(`[id="${await mass.getAttribute("data-judge-slot")}"]`);
  await verdict.getByText("400 g of 10000 g so far; 9600 g still to be found").waitFor();
});

test("a draft for one stack of sieves is not put into the fields of another", async () => {
  await page.getByText("Kept on this tablet, not yet sent.").waitFor();
  await follow(page, "fine, US set (ASTM E11)");
  assert.equal(await page.getByLabel("4.75 mm (No. 4)").inputValue(), "");
  assert.equal(await page.getByLabel("2.36 mm (No. 8)").inputValue(), "");
  await follow(page, "coarse, US set (ASTM E11)");
  assert.equal(await page.getByLabel("19.0 mm (3/4 in.)").inputValue(), "400");
});

test("the closing check stops a sieve that was forgotten, and the right sum is drawn", async () => {
  await fill(page, { ...MASSES, "9.5 mm (3/8 in.)": "", Pan: "800" });
  await press(page, "Record the analysis");
  assert.match(await words(page), /25\.00 % lost/);
  await fill(page, { "9.5 mm (3/8 in.)": "2500" });
  await press(page, "Record the analysis");
  const text = await words(page);
  assert.match(text, /19\.0 mm/);
  assert.match(text, /Sieve at least 3750 g/);
  await page.locator("svg.grading").waitFor();
});

test("the grading follows from the analysis and not from what was declared", async () => {
  await page.goto(sample);
  await press(page, "Make up a specimen");
  assert.match(await words(page), /Grading 19\.0: the nominal maximum size by the sieve analysis is 19\.0 mm/);
  assert.deepEqual(complaints, []);
});
