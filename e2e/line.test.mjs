// The line to the laboratory drops: what is entered waits on the tablet, in words, and is recorded
// once, in its order, when the line is back.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { line } from "./support/line.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

let browser, dir, server, wire, tablet, page, specimen, direct;

before(async () => {
  dir = folder();
  stonewear("demo", "--dir", dir, "--found-only");
  server = await serve(dir, "demo");
  wire = await line(server.url);
  browser = await launch();
  tablet = await open(browser, wire.url);
  page = tablet.page;
  direct = (await open(browser, server.url)).page;
  for (const one of [page, direct]) {
    await one.goto("/who");
    await press(one, "Davit Osgrave");
  }
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
  wire?.close();
  await server?.stop();
  sweep(dir);
});

const band = () => page.locator(".waiting");
/** The facts of the journal as another page shows them: the program has it open. */
const kinds = async () => {
  const answer = await direct.request.get("/journal");
  return (await answer.text()).replace(/<[^>]+>/g, " ");
};

test("a form that is sent while the line is down waits, in words", async () => {
  await page.goto(specimen);
  wire.cut();
  await fill(page, { "19.0 to 16.0 mm": "375.1", "16.0 to 12.5 mm": "375.3", "12.5 to 9.5 mm": "749.8" });
  await page.getByRole("button", { name: "Record the masses" }).click();
  await band().getByText("1 entry waits on this tablet").waitFor();
  const said = await band().innerText();
  assert.match(said, /cannot be reached/);
  assert.match(said, /Record the masses/);
  assert.match(said, /19.0 to 16.0 mm.*375.1/s);
  assert.match(said, /by DO/);
  // The form is empty, and says where its numbers are.
  assert.equal(await page.getByLabel("19.0 to 16.0 mm").inputValue(), "");
  assert.match(await words(page), /Waits on this tablet: Record the masses.*749\.8/);
});

test("the page that was open can be opened again, and says that it is from the tablet", async () => {
  await page.reload();
  await band().getByText("This page is from this tablet, as of").waitFor();
  assert.equal(new URL(page.url()).pathname, specimen);
  assert.match(await band().innerText(), /1 entry waits/);
});

test("a second entry, at another page, waits behind the first; both are sent when the line is back", async () => {
  // It was opened before the line was lost, so this tablet has it.
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Quarry while away",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("2 entries wait on this tablet").waitFor();
  assert.match(await band().innerText(), /Record the masses.*Receive the sample/s);
  wire.mend();
  await band().getByText("Recorded: Receive a sample").waitFor();
  const found = await (await direct.request.get(specimen)).text();
  for (const mass of ["375.1", "375.3", "749.8"]) assert.ok(found.includes(mass), mass);
  const samples = await (await direct.request.get("/samples")).text();
  assert.equal(samples.split("Quarry while away").length - 1, 1);
});

test("an entry whose answer was lost is recorded once", async () => {
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Quarry of the lost answer",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  wire.loseAnswers();
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("1 entry waits").waitFor();
  wire.mend();
  await band().getByText("Recorded: Receive a sample").waitFor();
  const list = await (await direct.request.get("/samples")).text();
  assert.equal(list.split("Quarry of the lost answer").length - 1, 1);
  // Nothing else was begun meanwhile, so the page has gone on to what was recorded.
  await page.waitForURL(/\/samples\/S/);
});

test("an entry that waited stays that of the person who made it", async () => {
  await page.goto("/samples/new");
  await fill(page, {
    "Where it comes from": "Quarry of another shift",
    "What it is": "crushed stone",
    "Nominal maximum size": "19.0",
  });
  wire.cut();
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("1 entry waits").waitFor();
  // Somebody else sits down at this browser before the line is back.
  await tablet.context.addCookies([{ name: "stonewear-person", value: "IK", url: wire.url }]);
  wire.mend();
  await band().getByText("Recorded:").waitFor();
  await direct.goto("/samples");
  const sample = direct.locator("tr", { hasText: "Quarry of another shift" }).getByRole("link").first();
  await sample.click();
  await direct.waitForURL(/\/samples\/S/);
  assert.match(await words(direct), /Received\s.*by\s*DO/);
  await tablet.context.addCookies([{ name: "stonewear-person", value: "DO", url: wire.url }]);
});

test("what is refused keeps its words and its reason, and holds back only its own page", async () => {
  await page.goto("/samples/new");
  await fill(page, { "Where it comes from": "Quarry without a size" });
  wire.cut();
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("1 entry waits").waitFor();
  await fill(page, { "Where it comes from": "Held behind it", "What it is": "stone", "Nominal maximum size": "19" });
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("2 entries wait").waitFor();
  wire.mend();
  await band().getByText("1 entry that waited was refused").waitFor();
  assert.match(await band().innerText(), /✕ Refused:.*Waits behind the refused entry/s);
  const list = async () => (await direct.request.get("/samples")).text();
  assert.ok(!(await list()).includes("Held behind it"));
  // At its page it stands as it was typed, with what is wrong.
  await Promise.all([
    page.waitForEvent("load"),
    band().getByRole("button", { name: "Look at it" }).click(),
  ]);
  assert.ok(await page.locator("[data-problems]").count());
  assert.equal(await page.getByLabel("Where it comes from").inputValue(), "Quarry without a size");
  await fill(page, { "What it is": "crushed stone", "Nominal maximum size": "19.0" });
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await page.waitForURL(/\/samples\/S/);
  await band().getByText("Recorded:").waitFor();
  for (const source of ["Quarry without a size", "Held behind it"]) {
    assert.equal((await list()).split(source).length - 1, 1, source);
  }
});

test("an entry is withdrawn, and what was typed is a draft again", async () => {
  await page.goto("/samples/new");
  await fill(page, { "Where it comes from": "Quarry of second thoughts" });
  wire.cut();
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("1 entry waits").waitFor();
  await band().getByRole("button", { name: "Withdraw it" }).click();
  await page.waitForFunction(
    () => document.querySelector("[name=source]")?.value === "Quarry of second thoughts");
  wire.mend();
  await page.goto("/samples");
  await page.waitForTimeout(500);
  assert.ok(!(await words(page)).includes("second thoughts"));
});

test("a file and a release do not wait, and say so", async () => {
  await page.goto("/equipment/JAR-1");
  await page.getByText("Add a photo or a file").click();
  await page.getByLabel("Or choose photos and files").setInputFiles({
    name: "jar.txt", mimeType: "text/plain", buffer: Buffer.from("the lid fits"),
  });
  wire.cut();
  await page.getByRole("button", { name: "Attach" }).click();
  await page.getByText("a file cannot wait on this tablet").waitFor();
  assert.equal(await band().locator("li").count(), 0);
  wire.mend();
  await press(page, "Attach");
  assert.match(await words(page), /jar\.txt/);
  // Who releases must have the laboratory in view.
  await page.goto("/results");
  await page.locator("tr", { hasText: "to be released" }).getByRole("link").first().click();
  await page.getByRole("button", { name: "Release it with my name" }).waitFor();
  wire.cut();
  await page.getByRole("button", { name: "Release it with my name" }).click();
  await page.getByText("This does not wait").waitFor();
  assert.equal(await band().locator("li").count(), 0);
  wire.mend();
  await page.getByText("The laboratory cannot be reached.", { exact: false }).first().waitFor({ state: "hidden" });
});

test("what was entered for one laboratory is never sent to another", async () => {
  await page.goto("/samples/new");
  await fill(page, { "Where it comes from": "Quarry of the first", "What it is": "stone", "Nominal maximum size": "19" });
  wire.cut();
  await page.getByRole("button", { name: "Receive the sample" }).click();
  await band().getByText("1 entry waits").waitFor();
  const other = folder();
  stonewear("found", "--dir", other, "--name", "Another Laboratory", "--address", "Elsewhere",
    "--founder", "DO", "--founder-name", "Dora Other");
  const second = await serve(other);
  try {
    wire.leadTo(second.url);
    wire.mend();
    // The page that is open still knows its own laboratory; the other refuses the entry.
    await band().getByText("another laboratory").waitFor();
    const list = await (await page.request.get(`${second.url}/samples`)).text();
    assert.ok(!list.includes("Quarry of the first"));
    // A page of the other keeps it for the first.
    await page.goto("/samples");
    await band().getByText("Kept here for another laboratory").waitFor();
  } finally {
    await second.stop();
    sweep(other);
    wire.leadTo(server.url);
  }
});
