// From an empty folder to a released loss on paper, as somebody would do it who has just unpacked
// the machine.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { fill, follow, launch, open, press, words } from "./support/browser.mjs";
import { endRun, prove, register } from "./support/bench.mjs";
import { folder, serve, sweep } from "./support/server.mjs";

let browser, dir, server, page, complaints;

before(async () => {
  dir = folder();
  server = await serve(dir);
  browser = await launch();
  ({ page, complaints } = await open(browser, server.url));
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

/** The words of a report, as its reader sees them. */
async function paper(path) {
  const answer = await page.request.get(path);
  assert.equal(answer.headers()["content-type"], "application/pdf");
  const bytes = await answer.body();
  assert.equal(bytes.subarray(0, 4).toString(), "%PDF");
  const file = join(dir, "report.pdf");
  writeFileSync(file, bytes);
  return execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
}

/** Weighs in the 19.0 grading and the whole specimen; ends at the offer of a run. */
async function specimenReadyToRun(samplePath) {
  await page.goto(samplePath);
  await press(page, "Make up a specimen");
  await fill(page, { "19.0 to 16.0 mm": "375.2", "16.0 to 12.5 mm": "374.9", "12.5 to 9.5 mm": "750.1" });
  await press(page, "Record the masses");
  await fill(page, { "Mass before, oven-dry": "1500.0" });
  await press(page, "Record the mass before");
  await follow(page, "Start its run");
}

const placed = { "Temperature of the water": "20", "Mass of the charge": "5000.5", "Soaked for": "1" };

async function fillPlace() {
  await fill(page, placed);
  await page.getByLabel("Water", { exact: true }).fill("2.00");
}

test("the laboratory is founded by keyboard alone", async () => {
  await page.goto("/");
  assert.match(await words(page), /Nothing is kept here yet/);
  // The first field has the focus; Enter leads to the next and at last sends the form.
  for (const typed of ["Testbed laboratory", "1 Invented Street", "", "Ada Brook", "AB"]) {
    await page.keyboard.type(typed);
    if (typed === "") await page.keyboard.press("Tab");
    else if (typed === "AB") {
      await Promise.all([page.waitForURL(/\?kept=/), page.keyboard.press("Enter")]);
    } else await page.keyboard.press("Enter");
  }
  assert.match(await page.locator("header").innerText(), /Ada Brook/);
  assert.match(await words(page), /The way to your first loss/);
});

test("a technician is added, and says that she is at the bench now", async () => {
  await page.goto("/people");
  await fill(page, { "Initials": "CD", "test: receive": true });
  await page.getByLabel("Name", { exact: true }).fill("Cyd Dell");
  await press(page, "Add");
  await page.goto("/who");
  await press(page, "Cyd Dell");
  assert.match(await page.locator("header").innerText(), /Cyd Dell/);
  // She may test, but not register equipment, and is told who may.
  await register(page, "Jar", { "Code marked on it": "JAR-1", "What people call it": "jar 1" });
  assert.match(await words(page), /Cyd Dell may not manage .*AB/s);
  await page.goto("/who");
  await press(page, "Ada Brook");
});

test("everything that a coarse test needs is registered, proved and put into service", async () => {
  const items = [
    ["Balance", { "Code marked on it": "BAL-1", "What people call it": "bench balance" }],
    ["Sieve", { "Code marked on it": "SV-1.18", "What people call it": "sieve 1.18 mm", "Opening": "1.18" }],
    ["Ball charge", { "Code marked on it": "BC-1", "What people call it": "charge 1" }],
    ["Jar", { "Code marked on it": "JAR-1", "What people call it": "jar 1" }],
    ["Apparatus", { "Code marked on it": "MILL-1", "What people call it": "jar mill" }],
  ];
  for (const [kind, fields] of items) {
    await register(page, kind, fields);
    assert.match(await words(page), /being proved/, kind);
    await prove(page);
    assert.match(await page.locator(".standing-line").innerText(), /in service/, kind);
  }
});

let samplePath, resultPath;

test("a sample is received, and the grading that fits it is proposed", async () => {
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Invented quarry, face 3",
    "What it is": "crushed dolerite 10/20",
    "Nominal maximum size": "19,0",
    "Most loss that is allowed": "18",
    "Document that sets this limit": "invented contract 4",
  });
  await press(page, "Receive the sample");
  samplePath = new URL(page.url()).pathname;
  assert.ok(await page.getByLabel("19.0: nominal maximum size").isChecked());
});

test("the specimen is weighed, run, and weighed again", async () => {
  await specimenReadyToRun(samplePath);
  await fillPlace();
  await press(page, "start the run");
  assert.match(await words(page), /of 12000 revolutions/);
  await endRun(page, { "Revolutions shown": "12000", "Minutes turned": "120" });
  await follow(page, /^On with/);
  await fill(page, { "Mass after, oven-dry": "1278.0" });
  await press(page, "Record the mass after");
  resultPath = new URL(page.url()).pathname;
  assert.match(resultPath, /^\/results\/L/);
});

test("the loss stands there with its formula, and is released with a name", async () => {
  // WE-8 (derived from the published formula): A = 1500, B = 1278, loss 14.8 %.
  assert.equal(await page.locator(".hero-number").innerText(), "14.8 %");
  const said = await words(page);
  assert.match(said, /100 × \(1500\.0 − 1278\.0\) \/ 1500\.0 = 14\.8 %/);
  assert.match(said, /conforms: at most 18 %/);
  assert.match(await paper(`${resultPath}/report.pdf`), /draft/i);
  await press(page, "Release it with my name");
  assert.match(await words(page), /Released by\s+AB/);
  const printed = await paper(`${resultPath}/report.pdf`);
  assert.match(printed, /14\.8/);
  assert.match(printed, /Ada Brook/);
  assert.doesNotMatch(printed, /draft/i);
});

test("a run on a held apparatus is refused, goes through with a reason, and the report says so", async () => {
  await page.goto("/equipment/MILL-1");
  await page.getByLabel("Held: not to be used").check();
  await fill(page, { Reason: "a roller is noisy" });
  await press(page, "Change it");
  await specimenReadyToRun(samplePath);
  await fillPlace();
  await press(page, "start the run");
  assert.match(await words(page), /MILL-1 is not in service: it is held/);
  assert.equal(await page.getByLabel("Mass of the charge").inputValue(), "5000.5");
  await fill(page, { "as a deviation: why?": "the client agreed to a trial run" });
  await press(page, "start the run");
  await endRun(page, { "Revolutions shown": "12000", "Minutes turned": "120" });
  await follow(page, /^On with/);
  await fill(page, { "Mass after, oven-dry": "1281.0" });
  await press(page, "Record the mass after");
  assert.match(await words(page), /the client agreed to a trial run/);
  await press(page, "Release it with my name");
  const printed = await paper(`${new URL(page.url()).pathname}/report.pdf`);
  assert.match(printed, /the client agreed to a trial run/);
  assert.match(printed.replaceAll(/\s+/g, " "), /MILL-1 is not in service/);
});

test("the browser had nothing to complain of", () => {
  assert.deepEqual(complaints, []);
});
