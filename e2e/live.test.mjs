// Two tablets on one laboratory: each sees what the other records, and neither loses what is typed.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, one, other;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  one = await open(browser, server.url);
  other = await open(browser, server.url);
  for (const { page } of [one, other]) {
    await page.goto("/who");
    await press(page, "Davit Osgrave");
  }
  // A page that is about to be shown anew is not one to be led elsewhere by a program.
  await other.page.goto("/methods");
  await one.page.goto("/samples/new");
  await fill(one.page, {
    "Where it comes from": "Invented quarry",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  await press(one.page, "Receive the sample");
  await press(one.page, "Make up a specimen");
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

test("what one tablet records the other shows without being asked", async () => {
  const specimen = new URL(one.page.url()).pathname;
  await other.page.goto(specimen);
  await fill(one.page, { "19.0 to 16.0 mm": "375.1" });
  await press(one.page, "Record the masses");
  await other.page.getByRole("cell", { name: "375.1" }).first().waitFor();
});

test("what is being typed on the other is kept, and the news is said beside it", async () => {
  const specimen = new URL(one.page.url()).pathname;
  await other.page.goto(specimen);
  await other.page.getByLabel("12.5 to 9.5 mm").fill("749.8");
  await fill(one.page, { "16.0 to 12.5 mm": "375.3" });
  await press(one.page, "Record the masses");
  await other.page.getByText("Something here was changed at another place.").waitFor();
  assert.equal(await other.page.getByLabel("12.5 to 9.5 mm").inputValue(), "749.8");
  await Promise.all([
    other.page.waitForEvent("domcontentloaded"),
    other.page.getByRole("button", { name: "Show it" }).click(),
  ]);
  assert.equal(await other.page.getByLabel("12.5 to 9.5 mm").inputValue(), "749.8");
  assert.match(await words(other.page), /375\.3/);
});

test("a run that turns does not make its page show itself anew at every news", async () => {
  await other.page.goto("/");
  const run = await other.page.locator('a[href^="/runs/R"]').first().getAttribute("href");
  await other.page.goto(run);
  await other.page.evaluate(() => (window.untouched = true));
  // Long enough for the clock of the run to show other numbers.
  await other.page.waitForTimeout(2500);
  const answer = await one.page.request.post("/samples/new", {
    form: {
      request: "receive-sample",
      source: "Invented quarry, face 9",
      material: "crushed stone",
      nominal_maximum_mm: "19.0",
    },
    headers: { cookie: "stonewear-person=IK", origin: server.url },
  });
  assert.ok(answer.ok(), String(answer.status()));
  await other.page.waitForTimeout(800);
  assert.equal(await other.page.evaluate(() => window.untouched), true);
  // Whoever is at a page finishes first; then it is shown anew.
  await other.page.goto("/methods");
});

test("a page that nothing was done to stays as it is while others work", async () => {
  await other.page.goto("/methods");
  await other.page.evaluate(() => (window.untouched = true));
  await one.page.goto("/samples/new");
  await fill(one.page, {
    "Where it comes from": "Another invented quarry",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  await press(one.page, "Receive the sample");
  await other.page.waitForTimeout(800);
  assert.equal(await other.page.evaluate(() => window.untouched), true);
});

test("a refused form keeps what was typed and is not sent again by news", async () => {
  await other.page.goto("/samples/new");
  await fill(other.page, { "Where it comes from": "Typed and refused" });
  await press(other.page, "Receive the sample");
  await other.page.locator("[data-problems]").waitFor();
  await other.page.evaluate(() => (window.untouched = true));
  await one.page.goto("/samples/new");
  await fill(one.page, {
    "Where it comes from": "A third invented quarry",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  await press(one.page, "Receive the sample");
  await other.page.waitForTimeout(800);
  assert.equal(await other.page.evaluate(() => window.untouched), true);
  assert.equal(await other.page.getByLabel("Where it comes from").inputValue(), "Typed and refused");
});

test("a line that breaks is taken up again, and what was missed is shown", async () => {
  await other.page.goto("/samples");
  await other.context.setOffline(true);
  await one.page.goto("/samples/new");
  await fill(one.page, {
    "Where it comes from": "Quarry behind the hill",
    "What it is": "crushed stone",
    "Nominal maximum size": "12.5",
  });
  await press(one.page, "Receive the sample");
  await other.context.setOffline(false);
  // A tablet that wakes up looks again.
  await other.page.evaluate(() => document.dispatchEvent(new Event("visibilitychange")));
  await other.page.getByText("Quarry behind the hill").first().waitFor();
});

test("the program stops at once although pages listen", async () => {
  await other.page.goto("/");
  const began = Date.now();
  await server.stop();
  assert.ok(Date.now() - began < 5_000, "open streams hold the program up");
});
