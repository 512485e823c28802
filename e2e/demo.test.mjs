// Every main page of the demo laboratory: accessible, inside its frame, at every width and in both
// themes, and readable without any script.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { WIDTHS, faults, overflow, violations } from "./support/axe.mjs";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { lowTargets, sideways, smallLabels } from "./support/targets.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, paths;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  paths = await mainPages();
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

/** One page of each kind, found as a person finds them: by following links. */
async function mainPages() {
  const { page, context } = await open(browser, server.url);
  const first = async (list, prefix) => {
    await page.goto(list);
    return page.locator(`main a[href^="${prefix}"]`).first().getAttribute("href");
  };
  const check = await first("/", "/checks/");
  const sample = await first("/samples", "/samples/S");
  const found = [
    "/",
    "/who",
    "/samples",
    "/samples/new",
    sample,
    `${sample}/sieving`,
    `${sample}/sieving/table`,
    await first(sample, "/specimens/"),
    await first("/", "/runs/R"),
    "/runs/new",
    "/results",
    await first("/", "/results/"),
    "/equipment",
    "/equipment/new",
    "/equipment/new?kind=apparatus",
    "/equipment/MILL-1",
    check,
    `${check}?mode=desk`,
    "/equipment?standing=held",
    "/results?state=released&words=quarry",
    "/find?q=control",
    "/methods",
    "/papers",
    "/policies",
    "/policies/decision-rule",
    "/methods/astm-d6928",
    "/people",
    "/journal?verify=now",
    "/doubts",
    "/doubts/D26-001",
    "/doubts/new?item=BAL-1&found=1.5",
    "/control",
    "/control/new",
    "/control/RA-2",
    "/control/RA-2/MILL-1",
    await first("/control", "/control/investigations/"),
    "/due",
    "/duplicates",
    "/equipment/BC-1/wear",
    "/experiments",
    await first("/experiments", "/experiments/X"),
    "/people/DO",
    "/proficiency",
    "/programs",
    "/rounds",
    "/rounds/new",
    await first("/rounds", "/rounds/B"),
    "/studies",
    "/studies/new",
    await first("/studies", "/studies/Y"),
    "/guide",
    "/guide/first-machine",
    "/guide/whole",
    "/look",
    "/control/RA-2/MILL-1?last=all",
    "/nowhere",
  ];
  await context.close();
  return found;
}

for (const width of WIDTHS) {
  test(`every page holds at ${width} px, light and dark`, async () => {
    const { page, context, complaints } = await open(browser, server.url, {
      viewport: { width, height: 900 },
      colorScheme: "light",
      bypassCSP: true,
    });
    await page.goto("/who");
    await press(page, "Ines Korhola");
    const wrong = [];
    for (const path of paths) {
      await page.goto(path);
      wrong.push(...(await faults(page, path)));
      const low = await lowTargets(page);
      // On a phone a wide table moves in its frame; from a tablet on all of it is seen at once.
      const hidden = width < 768 ? [] : [...(await sideways(page)), ...(await smallLabels(page))];
      wrong.push(...[...low, ...hidden].map((words) => `${path}: ${words}`));
    }
    const unexpected = complaints.filter((complaint) => !complaint.includes("404"));
    assert.deepEqual([...wrong, ...unexpected], []);
    await context.close();
  });
}

test("every page holds in the other languages, whose words are longer", async () => {
  for (const [language, width] of [["de", 390], ["fr", 768], ["es", 1280]]) {
    const { page, context } = await open(browser, server.url, {
      viewport: { width, height: 900 },
      bypassCSP: true,
    });
    await context.addCookies([
      { name: "stonewear-language", value: language, url: server.url },
      { name: "stonewear-person", value: "IK", url: server.url },
    ]);
    const wrong = [];
    for (const path of paths) {
      await page.goto(path);
      const over = await overflow(page);
      if (over > 0) wrong.push(`${path}, ${language}: ${over} px wider than its window`);
      assert.equal(await page.locator("html").getAttribute("lang"), language, path);
      for (const violation of await violations(page)) wrong.push(`${path}, ${language}: ${violation}`);
    }
    assert.deepEqual(wrong, []);
    await context.close();
  }
});

test("a refused form is accessible as well", async () => {
  const { page, context } = await open(browser, server.url, { bypassCSP: true });
  await page.goto("/who");
  await press(page, "Ines Korhola");
  for (const [path, button] of [
    ["/samples/new", "Receive the sample"],
    ["/runs/new", "start the run"],
    ["/equipment/new?kind=apparatus", "Register it"],
  ]) {
    await page.goto(path);
    await press(page, button);
    assert.ok(await page.locator("[data-problems]").count(), path);
    assert.deepEqual(await violations(page), [], path);
  }
  await context.close();
});

test("the first page and all that it loads weigh less than 150 kB", async () => {
  const { page, context } = await open(browser, server.url);
  await page.goto("/who");
  await press(page, "Ines Korhola");
  const loaded = [];
  const fresh = await browser.newContext({ baseURL: server.url, storageState: await context.storageState() });
  const first = await fresh.newPage();
  first.on("response", async (response) => {
    // The stream of events does not end.
    if (response.url().endsWith("/events")) return;
    // As it travels: files come packed. What was loaded already and is taken from there again weighs nothing.
    const path = new URL(response.url()).pathname;
    const sizes = response.finished().then(() => response.request().sizes());
    loaded.push(sizes.then(({ responseBodySize }) => [path, Math.max(0, responseBodySize)]));
  });
  await first.goto("/");
  await first.evaluate(() => document.fonts.ready);
  await first.waitForTimeout(500);
  const sizes = await Promise.all(loaded);
  const weight = sizes.reduce((sum, [, bytes]) => sum + bytes, 0);
  for (const wanted of [".css", ".js", ".woff2"]) {
    assert.ok(sizes.some(([path, bytes]) => path.endsWith(wanted) && bytes > 1_000), `${wanted}: ${sizes.join(" ")}`);
  }
  assert.ok(weight < 150_000, `${weight} bytes: ${sizes.join(" ")}`);
  await fresh.close();
  await context.close();
});

test("no script of the page is held back by its own policy", async () => {
  const { page, context, complaints } = await open(browser, server.url);
  for (const path of paths.filter((path) => path !== "/nowhere")) await page.goto(path);
  assert.deepEqual(complaints, []);
  await context.close();
});

test("a sample is received with scripts switched off", async () => {
  const { page, context } = await open(browser, server.url, { javaScriptEnabled: false });
  await page.goto("/who");
  await press(page, "Davit Osgrave");
  await page.goto("/samples/new");
  await fill(page, { "Where it comes from": "Invented pit", "Nominal maximum size": "1,500" });
  await press(page, "Receive the sample");
  assert.match(await words(page), /write 1500 or 1\.500/);
  await fill(page, { "What it is": "crushed stone", "Nominal maximum size": "19" });
  await press(page, "Receive the sample");
  assert.match(await words(page), /Make up the first specimen/);
  await page.goto("/");
  assert.match(await words(page), /revolutions/);
  await context.close();
});

test("the jar wall turns while it is watched", async () => {
  const { page, context } = await open(browser, server.url);
  await page.goto("/");
  const left = page.locator("main [data-clock-left]").first();
  const ring = page.locator("main [data-clock-ring]").first();
  const seen = async () => ({
    left: await left.innerText(),
    ring: await ring.getAttribute("stroke-dasharray"),
    title: await page.title(),
  });
  const seconds = (text) => {
    const [, hours = 0, minutes = 0, rest = 0] =
      /(?:(\d+) h )?(?:(\d+) min)?(?: (\d+) s)?/.exec(text).map((part) => part && Number(part));
    return hours * 3600 + minutes * 60 + rest;
  };
  const first = await seen();
  await page.waitForFunction(
    (was) => document.querySelector("main [data-clock-ring]").getAttribute("stroke-dasharray") !== was,
    first.ring,
  );
  await page.waitForTimeout(2100);
  const later = await seen();
  assert.ok(seconds(later.left) < seconds(first.left), `${first.left} → ${later.left}`);
  assert.notEqual(later.ring, first.ring);
  assert.match(first.title, /min .* – Benches/);
  assert.notEqual(later.title, first.title);
  // The server says the same when it is asked again.
  await page.reload();
  assert.ok(seconds(await left.innerText()) <= seconds(later.left));
  await context.close();
});
