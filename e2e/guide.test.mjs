// The guide, walked in the real program from an empty folder: what it prints in bold is met on the
// page, and its pictures are made here. UPDATE_PICTURES=1 writes them to docs/guide/pictures.
import assert from "node:assert/strict";
import { existsSync, mkdirSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { fill, follow, launch, open, press, words } from "./support/browser.mjs";
import { endRun, passCheck, prove, register } from "./support/bench.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

const GUIDE = resolve(dirname(fileURLToPath(import.meta.url)), "../docs/guide");
const PICTURES = join(GUIDE, "pictures");
const isUpdating = process.env.UPDATE_PICTURES === "1";
const VIEW = { viewport: { width: 900, height: 900 }, colorScheme: "light" };

let browser, dir, server, page, complaints;
/** Everything that could be read on any page of the walk. */
const met = new Set();
const made = new Set();

before(async () => {
  dir = folder();
  server = await serve(dir);
  browser = await launch();
  ({ page, complaints } = await open(browser, server.url, VIEW));
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

/** Reads the page as its reader does: headings, buttons, links, labels, marks, folded or not. */
async function meet(at = page) {
  const texts = await at.evaluate(() => {
    for (const folded of document.querySelectorAll("details")) folded.open = true;
    const read = "h1, h2, h3, button, a, label, legend, summary, th, b, strong, .mark, .standing-line";
    return [...document.querySelectorAll(read)].map((element) => element.innerText);
  });
  for (const text of texts) met.add(text.replace(/\s+/g, " ").trim());
}

/** Takes a picture of what the window shows, or of the height that is named. */
async function picture(name, { at = page, height = 900, of } = {}) {
  made.add(`${name}.png`);
  if (!isUpdating) return;
  mkdirSync(PICTURES, { recursive: true });
  await at.setViewportSize({ width: 900, height });
  if (of) await at.locator(of).first().scrollIntoViewIfNeeded();
  await at.waitForTimeout(200);
  await at.screenshot({ path: join(PICTURES, `${name}.png`), animations: "disabled" });
  await at.setViewportSize(VIEW.viewport);
}

/** What a chapter prints in bold. */
function bold(chapter) {
  const text = readFileSync(join(GUIDE, `${chapter}.md`), "utf8").replace(/\s+/g, " ");
  return [...text.matchAll(/\*\*([^*]+)\*\*/g)].map(([, words]) => words);
}

const isMet = (words) => [...met].some((text) => text.includes(words));

test("the first chapter is walked from the empty folder to a machine in service", async () => {
  await page.goto("/");
  assert.match(await words(page), /stonewear demo --listen/);
  await meet();
  await picture("founding");
  await fill(page, {
    "Name of the laboratory": "Invented Stone Laboratory",
    "Postal address": "1 Invented Street",
    "Your name": "Ada Brook",
    "Your initials": "AB",
  });
  await press(page, "Found the laboratory");
  await meet();
  await picture("first-steps");

  await follow(page, "Add the people");
  await meet();
  await page.getByLabel("Name", { exact: true }).fill("Cyd Dell");
  await fill(page, { Initials: "CD", "test: receive": true, "release results": true });
  await press(page, "Add");

  await follow(page, "Benches");
  await meet();
  await follow(page, "Choose the method");
  await meet();
  await follow(page, "ASTM D6928");
  await meet();
  await press(page, "Take it into use");

  await follow(page, "Benches");
  await meet();
  await follow(page, "Register the apparatus");
  await meet();
  await fill(page, { "Code marked on it": "MILL-1", "What people call it": "jar mill in bay 1" });
  await press(page, "Register it");
  await meet();
  await picture("machine");
  const machine = new URL(page.url()).pathname;

  await press(page, "Begin the function check");
  // The first step that can hurt and the first that is read are shown.
  await meet();
  await picture("step", { height: 1250 });
  // The first page leads back to it.
  await page.goto("/");
  await meet();
  await follow(page, "Go on with the check of MILL-1");
  const why = page.locator("main details.why").first();
  await why.locator("summary").click();
  assert.match(await why.innerText(), /Common practice, no published source/);
  assert.match(await why.innerText(), /If it is not so/);
  assert.ok((await passCheck(page)) > 20);
  await meet();
  assert.match(await words(page), /passed/);
  await follow(page, "On with MILL-1");
  assert.equal(new URL(page.url()).pathname, machine);
  await meet();
  await press(page, "Put it into service");
  await meet();
  await picture("in-service");
  assert.match(await page.locator(".standing-line").innerText(), /in service/);
  await follow(page, "On with the way to your first loss");
  assert.match(await words(page), /The same for the balance/);
  const button = page.locator("section.empty a.button").first();
  assert.match(await button.innerText(), /Register the balance/);
});

test("the everyday test of the guide ends with a released loss", async () => {
  const items = [
    ["Balance", { "Code marked on it": "BAL-1", "What people call it": "bench balance" }],
    ["Oven", { "Code marked on it": "OVEN-1", "What people call it": "drying oven" }],
    ["Sieve", { "Code marked on it": "SV-1.18", "What people call it": "sieve 1.18 mm", Opening: "1.18" }],
    ["Jar", { "Code marked on it": "JAR-1", "What people call it": "jar 1" }],
    ["Ball charge", { "Code marked on it": "BC-1", "What people call it": "charge 1" }],
  ];
  for (const [kind, fields] of items) {
    await register(page, kind, fields);
    await prove(page);
  }
  // Everything is there: the machine is ready, and the way leads on to the sample.
  await page.goto("/");
  assert.match(await words(page), /ready for ASTM D6928 until/);
  assert.match(await page.locator("section.empty a.button").first().innerText(), /Receive a sample/);
  await meet();
  await follow(page, "Receive a sample");
  await meet();
  await fill(page, {
    "Where it comes from": "Invented quarry, face 3",
    "What it is": "crushed dolerite 10/20",
    "Nominal maximum size": "19.0",
    "Most loss that is allowed": "18",
    "Document that sets this limit": "invented contract 4",
  });
  await press(page, "Receive the sample");
  await meet();
  await press(page, "Make up a specimen");
  await meet();
  await page.getByLabel("19.0 to 16.0 mm").first().fill("375.2");
  await picture("make-up");
  await fill(page, { "16.0 to 12.5 mm": "374.9", "12.5 to 9.5 mm": "750.1" });
  await press(page, "Record the masses");
  await fill(page, { "Mass before, oven-dry": "1500.0" });
  await meet();
  await press(page, "Record the mass before");
  await meet();
  await follow(page, "Start its run");
  await meet();
  await fill(page, { "Temperature of the water": "20", "Mass of the charge": "5000.5", "Soaked for": "1" });
  await page.getByLabel("Water", { exact: true }).fill("2.00");
  await press(page, "start the run");
  await meet();
  await picture("run");
  await endRun(page, { "Revolutions shown": "12000", "Minutes turned": "120" });
  await follow(page, /^On with/);
  await meet();
  await fill(page, { "Mass after, oven-dry": "1278.0" });
  await press(page, "Record the mass after");
  await meet();
  await picture("result");
  await press(page, "Release it with my name");
  assert.match(await words(page), /Released by\s+AB/);
});

for (const chapter of ["first-machine", "everyday-test"]) {
  test(`what “${chapter}” prints in bold stands on the page`, () => {
    const missing = bold(chapter).filter((words) => words !== "bold" && !isMet(words));
    assert.deepEqual(missing, []);
  });
}

test("the chapters about an older laboratory have their pictures from the demo", async () => {
  const demo = folder();
  stonewear("demo", "--dir", demo, "--found-only");
  const old = await serve(demo, "demo");
  try {
    const { page: at, context } = await open(browser, old.url, VIEW);
    await at.goto("/who");
    await press(at, "Ines Korhola");
    for (const [name, path, height, of] of [
      ["benches", "/", 1100],
      ["doubt-new", "/doubts/new?item=BAL-1&found=1.5", 900],
      ["doubt", "/doubts/D26-001", 900],
      ["chart", "/control/RA-2/MILL-1", 900],
      ["papers", "/papers", 800],
      ["person", "/people/DO", 900],
    ]) {
      const answer = await at.goto(path);
      assert.equal(answer.status(), 200, path);
      await meet(at);
      await at.reload();
      await picture(name, { at, height, of });
    }
    for (const path of ["/due", "/checks/C26-036", "/equipment/BAL-1"]) {
      await at.goto(path);
      await meet(at);
    }
    await context.close();
  } finally {
    await old.stop();
    sweep(demo);
  }
  const links = ["It cannot be passed", "End the check and hold the item", "Which results stand on it?", "Open the doubt", "What is due", "In control", "People"];
  assert.deepEqual(links.filter((words) => !isMet(words)), []);
});

test("each picture of the guide is made by this walk, and each that is made is shown", () => {
  const text = readdirSync(GUIDE)
    .filter((file) => file.endsWith(".md"))
    .map((file) => readFileSync(join(GUIDE, file), "utf8"))
    .join("\n");
  const shown = [...text.matchAll(/!\[[^\]]+\]\(pictures\/([^)]+)\)/g)].map(([, name]) => name);
  assert.deepEqual([...new Set(shown)].sort(), [...made].sort());
  for (const name of shown) assert.ok(existsSync(join(PICTURES, name)), name);
  assert.deepEqual(readdirSync(PICTURES).sort(), [...made].sort());
});

test("the guide is read in the program: contents, chapter, next, and the whole for print", async () => {
  await page.goto("/");
  await follow(page, /^Guide$/);
  assert.equal(await page.locator("ol.contents li").count(), 8);
  await follow(page, "Your first proved machine in 30 minutes");
  // Every picture is there.
  const broken = await page.$$eval("article img", (all) =>
    Promise.all(all.map((one) => one.decode().then(() => null, () => one.src))).then((all) => all.filter(Boolean)));
  assert.deepEqual(broken, []);
  await follow(page, "Next: The everyday test");
  await page.goto("/guide/whole");
  assert.equal(await page.locator("article.guide").count(), 8);
  // Every link within the whole leads to a place in it.
  const dead = await page.$$eval("main a[href^='#']", (all) =>
    all.map((a) => a.getAttribute("href").slice(1)).filter((id) => !document.getElementById(id)));
  assert.deepEqual(dead, []);
  await page.emulateMedia({ media: "print" });
  const [cover, second] = await page.$$eval(".guide-cover, .guide-chapter", (all) =>
    [getComputedStyle(all[0]).breakAfter, getComputedStyle(all[2]).breakBefore]);
  assert.deepEqual([cover, second], ["page", "page"]);
  await page.emulateMedia({ media: "screen" });
  assert.deepEqual(complaints, []);
});
