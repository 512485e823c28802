// A control chart is read by keyboard and by pointer, its windows are addresses, and without
// scripts it is the same chart.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, follow, launch, open, press } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

const CHART = "/control/RA-2/MILL-1";
let browser, dir, server;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

const readout = (page) => page.locator(".reading-off").first();
const drawn = (page) => page.locator("main svg.series-chart").first().locator("[data-says]");

test("arrow keys move over the values, and Enter opens the result", async () => {
  const { page, context, complaints } = await open(browser, server.url);
  await page.goto(CHART);
  const points = drawn(page);
  const many = await points.count();
  assert.ok(many > 5, `${many} values`);
  assert.match(await readout(page).innerText(), /Arrow keys/);
  // Tab leads into the frame that scrolls, then to the newest value: one stop for all of them.
  await page.locator(".scroll").first().focus();
  await page.keyboard.press("Tab");
  const focused = () => page.evaluate(() => document.activeElement.dataset.says);
  const order = await points.evaluateAll((all) =>
    all.sort((a, b) => a.dataset.x - b.dataset.x).map((one) => one.dataset.says));
  assert.equal(await focused(), order.at(-1));
  assert.match(await readout(page).innerText(), /\d{4}-\d\d-\d\d, .+: [\d.]+ %/);
  await page.keyboard.press("ArrowLeft");
  assert.equal(await focused(), order.at(-2));
  assert.ok((await readout(page).innerText()).startsWith(order.at(-2)));
  await page.keyboard.press("Home");
  assert.equal(await focused(), order[0]);
  await page.keyboard.press("ArrowLeft");
  assert.equal(await focused(), order[0]);
  await page.keyboard.press("ArrowRight");
  assert.equal(await focused(), order[1]);
  await page.keyboard.press("End");
  // The ring lies on the value.
  const [ring, value] = await page.evaluate(() => {
    const at = document.activeElement;
    const ring = at.ownerSVGElement.querySelector(".cursor-ring");
    return [[ring.getAttribute("cx"), ring.getAttribute("cy")], [at.dataset.x, at.dataset.y]];
  });
  assert.deepEqual(ring, value);
  const href = await page.evaluate(() => document.activeElement.dataset.href);
  assert.match(href, /^\/results\/L/);
  await Promise.all([page.waitForURL(`**${href}`), page.keyboard.press("Enter")]);
  // Shift and Tab leave the chart without going through every value.
  await page.goBack();
  assert.deepEqual(complaints, []);
  await context.close();
});

test("the pointer reads the value that is nearest", async () => {
  const { page, context } = await open(browser, server.url);
  await page.goto(CHART);
  const point = drawn(page).nth(2);
  const says = await point.getAttribute("data-says");
  await point.scrollIntoViewIfNeeded();
  const box = await point.boundingBox();
  await page.mouse.move(box.x + box.width / 2 + 4, box.y + box.height / 2 + 3);
  await page.waitForFunction((says) => document.querySelector(".reading-off").innerText.startsWith(says), says);
  await context.close();
});

test("the windows of a chart are addresses, with and without scripts", async () => {
  for (const javaScriptEnabled of [true, false]) {
    const { page, context } = await open(browser, server.url, { javaScriptEnabled });
    await page.goto("/who");
    await press(page, "Ines Korhola");
    await page.goto(CHART);
    await follow(page, /^All \d+/);
    const all = await drawn(page).count();
    const days = await drawn(page).evaluateAll((all) => all.map((one) => one.dataset.says.slice(0, 10)).sort());
    await page.goto(`${CHART}?last=3`);
    assert.equal(await drawn(page).count(), 3);
    assert.match(await page.locator("main").innerText(), new RegExp(`3 of ${all} results are drawn`));
    await page.goBack();
    assert.equal(await drawn(page).count(), all);
    // Between two days: the form makes the address.
    await page.getByText("Draw the results between two days").click();
    await fill(page, { From: days[1], To: days[3] });
    await press(page, "Draw them");
    assert.match(page.url(), new RegExp(`from=${days[1]}&to=${days[3]}`));
    const within = days.filter((day) => day >= days[1] && day <= days[3]);
    assert.equal(await drawn(page).count(), within.length);
    await page.goto(`${CHART}?from=last+week`);
    assert.match(await page.locator("main").innerText(), /this is no day/);
    await context.close();
  }
});
