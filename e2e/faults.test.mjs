// What goes wrong in a laboratory, at the page: a jar leaks, a release is refused, results come into
// doubt and out of it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { readingFor } from "./support/bench.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, page, complaints;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  browser = await launch();
  ({ page, complaints } = await open(browser, server.url));
});

after(async () => {
  await browser?.close();
  await server?.stop();
  sweep(dir);
});

const sit = async (name) => {
  await page.goto("/who");
  await press(page, name);
};

/** The step at hand. */
const step = () => page.locator("[data-step]:visible").first();

/** Answers as it must be until the step at hand is called so. */
async function answerUntil(title) {
  for (let many = 0; (await step().locator("h2").innerText()) !== title; many += 1) {
    assert.ok(many < 60, `no step is called ${title}`);
    const yes = step().getByRole("button", { name: "Yes, it is so" });
    if (await yes.count()) await press(page, "Yes, it is so", step());
    else {
      const limit = step().locator(".limit b");
      const reading = readingFor((await limit.count()) ? await limit.first().innerText() : "");
      await step().locator(".reading input[inputmode]").first().fill(reading);
      await press(page, "Record", step());
    }
    assert.equal(await page.locator("[data-problems]").count(), 0, await words(page));
  }
}

test("a jar that leaks leads the check back to its seals, and both answers stay on record", async () => {
  const leaks = "Watertight upside down";
  await sit("Ines Korhola");
  await page.goto("/equipment/MILL-2");
  await Promise.all([
    page.waitForEvent("domcontentloaded"),
    page.locator('main a[href^="/checks/"]').first().click(),
  ]);
  const path = new URL(page.url()).pathname;
  await answerUntil(leaks);
  await press(page, "No", step());
  // It begins again where a leak is mended, says why, and says how.
  assert.equal(await step().locator("h2").innerText(), "Gaskets and seats");
  assert.match(await step().innerText(), /Led back by “Watertight upside down”/);
  assert.match(await step().innerText(), /damaged gasket/);
  await page.goto("/equipment/MILL-2");
  assert.match(await words(page), /being proved/);
  // A new seal, and once more.
  await page.goto(path);
  await step().getByLabel("Note", { exact: false }).first().fill("gasket of JAR-2 renewed");
  await answerUntil(leaks);
  await press(page, "Yes, it is so", step());
  assert.notEqual(await step().locator("h2").innerText(), leaks);
  const row = (title) => page.locator("table tr").filter({ hasText: title }).first();
  assert.match(await row(leaks).innerText(), /2 times/);
  assert.match(await row("Gaskets and seats").innerText(), /gasket of JAR-2 renewed/);
});

test("who tested is refused the release, the words stay, and another releases", async () => {
  await page.goto("/results?state=to-be-released");
  const path = await page.locator('main a[href^="/results/L"]').first().getAttribute("href");
  await sit("Davit Osgrave");
  await page.goto(path);
  await fill(page, { "Anything that the report should say": "tested as received" });
  await press(page, "Release it with my name");
  const refused = page.locator("[data-problems]").first();
  await refused.waitFor();
  assert.match(await words(page), /Nothing was recorded/);
  assert.equal(await page.getByLabel("Anything that the report should say", { exact: false }).inputValue(), "tested as received");
  await page.goto("/results?state=to-be-released");
  assert.equal(await page.locator(`main a[href="${path}"]`).count(), 1, "it waits still");
  await sit("Tomas Reyl");
  await page.goto(path);
  await press(page, "Release it with my name");
  assert.equal(await page.locator("[data-problems]").count(), 0, await words(page));
  assert.match(await words(page), /Released by[\s\S]*Tomas Reyl/);
});

test("a balance that reads wrong puts its results in doubt, and each is dealt with", async () => {
  await sit("Ines Korhola");
  await page.goto("/doubts/new?item=BAL-1&attribute=indication&found=1.5");
  await fill(page, { "What happened": "the balance reads 1.5 g heavy, seen with the 1 kg weight" });
  await press(page, "Open the doubt");
  const doubt = new URL(page.url()).pathname;
  assert.match(doubt, /^\/doubts\/D/);
  const choice = page.getByLabel("Result", { exact: true });
  const result = await choice.locator("option:not([value=''])").first().getAttribute("value");
  // The page of the result says so for whoever reads it.
  await page.goto(`/results/${result}`);
  assert.match(await words(page), /in doubt/);
  // No reason, no closing.
  await page.goto(doubt);
  await choice.selectOption(result);
  await page.locator("form:has(select[name=result])").evaluate((form) => { form.noValidate = true; });
  await press(page, "Close the doubt for it");
  await page.locator("[data-problems]").first().waitFor();
  assert.equal(await page.getByLabel("Result", { exact: true }).inputValue(), result);
  await fill(page, { "What was decided, and why": "without the error the decision is the same" });
  await press(page, "Close the doubt for it");
  assert.equal(await page.locator("[data-problems]").count(), 0, await words(page));
  const row = page.locator("table tr").filter({ hasText: result }).first();
  assert.match(await row.innerText(), /dealt with/);
});

test("the browser had nothing to complain of", () => {
  assert.deepEqual(complaints, []);
});
