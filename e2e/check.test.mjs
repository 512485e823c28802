// A check at the bench and at the desk, by two people at once, and with the line cut in its middle;
// the screen stays on, and a run that ends while the tablet sleeps is called when it wakes.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { follow, launch, open, press, words } from "./support/browser.mjs";
import { line } from "./support/line.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, wire, one, other;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  wire = await line(server.url);
  browser = await launch();
  one = (await open(browser, server.url)).page;
  other = (await open(browser, wire.url)).page;
  for (const [page, name] of [[one, "Davit Osgrave"], [other, "Ines Korhola"]]) {
    await page.goto("/who");
    await press(page, name);
  }
});

after(async () => {
  await browser?.close();
  wire?.close();
  await server?.stop();
  sweep(dir);
});

const steps = (page) => page.locator("[data-step]:visible");
const atHand = (page) => steps(page).first().locator("h2").innerText();

/** Begins a check of the balance, and opens it on both tablets. */
async function begin() {
  await one.goto("/equipment/BAL-1");
  await press(one, "Balance check");
  const path = new URL(one.url()).pathname;
  await other.goto(path);
  return path;
}

/** Ends the check on the page, so that another can begin. */
async function giveUp(page, path) {
  await page.goto(path);
  await page.getByText("It cannot be passed").click();
  await page.locator("#give-up-check-reason").fill("the test of the page is over");
  await press(page, "End the check and hold the item");
}

test("at the bench one step fills the page; at the desk all of them stand there, and it is remembered", async () => {
  const path = await begin();
  assert.equal(await steps(one).count(), 1);
  await follow(one, "Desk: all steps");
  assert.equal(await steps(one).count(), 5);
  assert.match(await words(one), /Allowed: 999.*1001.* g.*Allowed: 4999.*5001.* g/s);
  await one.goto(path);
  assert.equal(await steps(one).count(), 5, "the choice is remembered");
  await press(one, "Yes, it is so");
  // What was done stands with who did it; the next step has the cursor.
  assert.match(await words(one), /Step 1 of 5.*done.*✓ yes.*DO/s);
  assert.match(await one.evaluate(() => document.activeElement.labels[0].textContent), /reading without load/i);
  // Enter records and leads on.
  await one.keyboard.type("0.0");
  await one.keyboard.press("Enter");
  await one.keyboard.press("Enter");
  await Promise.all([one.waitForEvent("domcontentloaded"), one.keyboard.press("Enter")]);
  assert.match(await one.evaluate(() => document.activeElement.labels[0].textContent), /1000 g/);
  await follow(one, "Bench: one step");
  assert.equal(await steps(one).count(), 1);
  // The other tablet has followed without being asked.
  await other.locator("[data-step]:visible h2", { hasText: "1000 g" }).waitFor();
  await giveUp(one, path);
});

test("bench and desk work without scripts", async () => {
  const path = await begin();
  const { page, context } = await open(browser, server.url, { javaScriptEnabled: false });
  await page.goto("/who");
  await press(page, "Davit Osgrave");
  await page.goto(path);
  await follow(page, "Desk: all steps");
  await press(page, "Yes, it is so");
  assert.match(await words(page), /✓ yes/);
  assert.equal(await steps(page).count(), 4);
  await context.close();
  await giveUp(one, path);
});

test("two answers to one step are both shown, and neither is lost", async () => {
  const path = await begin();
  await press(one, "Yes, it is so");
  await other.locator("[data-step]:visible h2", { hasText: "Returns to zero" }).waitFor();
  await other.getByLabel("reading without load").first().fill("0.05");
  // The first person is quicker.
  await one.getByLabel("reading without load").first().fill("0.1");
  await press(one, "Record");
  await other.getByText("Something here was changed at another place.").waitFor();
  assert.equal(await other.getByLabel("reading without load").first().inputValue(), "0.05");
  await Promise.all([
    other.waitForEvent("domcontentloaded"),
    other.getByRole("button", { name: "Show it" }).click(),
  ]);
  const conflict = other.locator(".conflict");
  assert.match(await conflict.innerText(), /Recorded\s+0\.1 .*DO.*Typed here\s+0\.05 g/s);
  // Nothing was recorded by looking.
  await one.reload();
  assert.ok(!(await words(one)).includes("(2 times)"));
  await press(other, "Record it as a second observation");
  assert.equal(await atHand(other), "1000 g");
  assert.match(await words(other), /0\.05 ✓\s+\(2 times\)/);
  await one.getByText("(2 times)").first().waitFor();
  await giveUp(one, path);
});

test("an answer that was typed and not sent is offered again after the page was opened anew", async () => {
  const path = await begin();
  await press(one, "Yes, it is so");
  await other.locator("[data-step]:visible h2", { hasText: "Returns to zero" }).waitFor();
  await other.getByLabel("reading without load").first().fill("0.07");
  await one.getByLabel("reading without load").first().fill("0.0");
  await press(one, "Record");
  await other.goto(path);
  await other.getByText("You typed 0.07").waitFor();
  // It is not in the field of the step that is next now.
  assert.equal(await other.locator("[data-step]:visible input.reading, [data-step]:visible .reading input[inputmode]").first().inputValue(), "");
  await other.getByRole("button", { name: "Let it go", exact: true }).click();
  await other.reload();
  assert.ok(!(await words(other)).includes("You typed"));
  await giveUp(one, path);
});

test("a check goes on while the line is cut, and every answer arrives in its order", async () => {
  const path = await begin();
  await other.reload();
  wire.cut();
  await other.getByRole("button", { name: "Yes, it is so" }).first().click();
  await other.getByText("1 entry waits on this tablet").waitFor();
  // What needs no judgement leads on at once.
  await other.locator("[data-step=zero]").waitFor();
  await other.locator("[data-step=zero] .reading input[inputmode]").fill("0.0");
  await other.locator("[data-step=zero]").getByRole("button", { name: "Record" }).click();
  await other.getByText("2 entries wait").waitFor();
  // A reading was not judged: whoever reads the limit says that it may go on.
  const goOn = other.locator("[data-step=zero] [data-go-on]");
  assert.match(await goOn.innerText(), /Not judged yet.*-?0\.1 to 0\.1/s);
  assert.ok(!(await other.locator("[data-step=mass-1000]").isVisible()));
  await goOn.getByRole("button").click();
  await other.locator("[data-step=mass-1000] .reading input[inputmode]").fill("1000.0");
  await other.locator("[data-step=mass-1000]").getByRole("button", { name: "Record" }).click();
  await other.getByText("3 entries wait").waitFor();
  wire.mend();
  await other.locator("[data-step]:visible h2", { hasText: "5000 g" }).waitFor();
  await one.goto(path);
  const said = await words(one);
  for (const seen of [/✓ yes/, /0\.0 ✓/, /1000\.0 ✓/]) assert.match(said, seen);
  assert.ok(!said.includes("times)"));
  await giveUp(one, path);
});

test("a No does not lead on while the line is cut", async () => {
  const path = await begin();
  await other.reload();
  wire.cut();
  await other.getByRole("button", { name: "No", exact: true }).first().click();
  await other.getByText("1 entry waits").waitFor();
  await other.locator(".on-failure").filter({ hasText: "Level it or find it another place" }).first().waitFor();
  assert.ok(!(await other.locator("[data-step=zero]").isVisible()));
  wire.mend();
  await other.getByText("It was not as it must be").waitFor();
  await giveUp(one, path);
});

test("the screen stays on during a check, and may be let go dark", async () => {
  const path = await begin();
  await one.getByText("The screen stays on.").waitFor();
  await one.getByRole("button", { name: /go dark$/ }).click();
  await one.getByText("The screen may go dark.").waitFor();
  await one.reload();
  await one.getByText("The screen may go dark.").waitFor();
  await one.getByRole("button", { name: /^Keep .* on$/ }).click();
  await one.getByText("The screen stays on.").waitFor();
  await giveUp(one, path);
});

test("a run that ends while the tablet sleeps is called when it wakes", async () => {
  const { page, context } = await open(browser, server.url);
  await page.addInitScript(() => {
    window.tones = 0;
    class Sound {
      currentTime = 0;
      destination = {};
      resume() {}
      createOscillator() {
        return { frequency: {}, connect: (to) => to, start: () => (window.tones += 1), stop() {} };
      }
      createGain() {
        return { gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} }, connect() {} };
      }
    }
    window.AudioContext = Sound;
    // While a tablet sleeps no timer fires, but its clock goes on.
    const now = Date.now.bind(Date);
    window.slept = 0;
    Date.now = () => now() + window.slept;
  });
  await page.goto("/");
  const run = await page.locator("a[href^='/runs/R']").first().getAttribute("href");
  await page.goto(run);
  // A browser lets a page sound only after a touch.
  await page.locator("h1").click();
  const left = page.locator("main [data-clock-left]").first();
  await page.waitForFunction(() => /min/.test(document.querySelector("main [data-clock-left]").textContent));
  assert.equal(await page.evaluate(() => window.tones), 0);
  // The lid is closed for half a day, and opened.
  await page.evaluate(() => {
    window.slept = 12 * 3_600_000;
    document.dispatchEvent(new Event("visibilitychange"));
  });
  assert.match(await page.title(), /^✓ done by the clock/);
  assert.match(await left.innerText(), /done by the clock/);
  assert.equal(await page.evaluate(() => window.tones), 3);
  // It is called once.
  await page.waitForTimeout(2500);
  assert.equal(await page.evaluate(() => window.tones), 3);
  await context.close();
});
