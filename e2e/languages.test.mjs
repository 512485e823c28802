// The page in the reader's language: chosen by hand, kept, judged by, and never in the way of a number.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fill, launch, open, press, words } from "./support/browser.mjs";
import { folder, serve, stonewear, sweep } from "./support/server.mjs";

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

test("the language is chosen at the foot of any page and stays", async () => {
  const { page, context, complaints } = await open(browser, server.url);
  await page.goto("/who");
  await press(page, "Ines Korhola");
  await page.goto("/samples/new");
  await page.getByRole("button", { name: "Français" }).focus();
  await Promise.all([page.waitForEvent("domcontentloaded"), page.keyboard.press("Enter")]);
  // Back at the very page, in French, and so is the next one.
  assert.equal(new URL(page.url()).pathname, "/samples/new");
  assert.equal(await page.locator("html").getAttribute("lang"), "fr");
  assert.match(await page.getByRole("heading", { level: 1 }).innerText(), /échantillon/);
  await page.getByRole("link", { name: "Méthodes", exact: true }).click();
  assert.equal(await page.getByRole("heading", { level: 1 }).innerText(), "Méthodes");
  // Names and codes are nobody's to translate.
  await page.goto("/equipment/MILL-1");
  assert.match(await words(page), /jar mill in bay 1/);
  assert.match(await words(page), /en service/);
  await Promise.all([
    page.waitForEvent("domcontentloaded"),
    page.getByRole("button", { name: "English" }).click(),
  ]);
  assert.match(await words(page), /in service/);
  assert.deepEqual(complaints, []);
  await context.close();
});

test("a page is found by its name in the reader's language", async () => {
  const { page, context } = await open(browser, server.url, { locale: "es-ES" });
  await page.goto("/");
  assert.equal(await page.locator("html").getAttribute("lang"), "es");
  await page.keyboard.press("/");
  await page.keyboard.type("recibir", { delay: 120 });
  const option = page.getByRole("option").first();
  await option.waitFor();
  assert.match(await option.innerText(), /Recibir una muestra/);
  await context.close();
});

test("a number is read as its reader means it, or asked about", async () => {
  const { page, context } = await open(browser, server.url, { locale: "de-DE" });
  await page.goto("/who");
  await press(page, "Ines Korhola");
  await page.goto("/equipment/new?kind=sieve");
  const opening = page.locator("input[name=opening_mm]");
  const verdict = page.locator(`#${await opening.getAttribute("data-judge-slot")}`);
  // While it is typed: a comma is a comma, a point before three digits may be a thousand.
  await opening.fill("1,18");
  await verdict.getByText("1.18").or(verdict.getByText("1,18")).first().waitFor();
  await opening.fill("1.180");
  await verdict.getByText("1180").first().waitFor();
  assert.match(await verdict.innerText(), /1180.*1,180/s);
  await fill(page, { Code: "SV-118" });
  await page.locator("form[data-draft] button[type=submit], main form button.button").first().click();
  await page.locator("[data-problems]").waitFor();
  assert.equal(await opening.inputValue(), "1.180", "what was typed stays");
  await context.close();
});
