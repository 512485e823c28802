// The real browser, and what a person does with it: fill the field of this label, press this button.
import { chromium } from "playwright-core";

/** Starts the browser of the system. */
export const launch = () =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });

/** A page that remembers every complaint of the browser, such as a forbidden script. */
export async function open(browser, url, options = {}) {
  const context = await browser.newContext({ baseURL: url, ...options });
  const page = await context.newPage();
  // Long enough for a machine that is busy with other work.
  page.setDefaultTimeout(8_000);
  const complaints = [];
  page.on("console", (message) => {
    // A refused form is answered by 422, which the browser reports as an error of the network.
    const isRefusal = message.text().includes("422");
    if (["error", "warning"].includes(message.type()) && !isRefusal) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  return { page, context, complaints };
}

/** Fills fields by their labels: texts are typed, choices are chosen, `true` ticks a box. */
export async function fill(within, fields) {
  for (const [label, value] of Object.entries(fields)) {
    const field = within.getByLabel(label, { exact: false }).first();
    if (value === true) await field.check();
    else if ((await field.evaluate((element) => element.tagName)) === "SELECT") {
      await field.selectOption(value);
    } else await field.fill(value);
  }
}

/** Presses a button and waits for the page that follows. */
async function press0(page, name, within = page) {
  await Promise.all([
    page.waitForEvent("domcontentloaded"),
    within.getByRole("button", { name, exact: false }).first().click(),
  ]);
}

/** Follows a link and waits for its page. */
export async function follow(page, name) {
  await Promise.all([
    page.waitForEvent("domcontentloaded"),
    page.getByRole("link", { name }).first().click(),
  ]);
}

/** The words of the content. */
export const words = (page) => page.locator("main").innerText();
export async function press(page, name, within = page) {
  const log=[]; const on=r=>log.push(r.request().method()+" "+r.status()+" "+r.url()+" "+(r.headers()["stonewear-outcome"]??"")); const fail=r=>log.push("FAILED "+r.url()+" "+r.failure()?.errorText);
  page.on("response",on); page.on("requestfailed",fail);
  try { return await press0(page,name,within); } catch(e) { console.log("PRESS", name, page.url(), log, await page.locator(".waiting").innerText().catch(String), await page.evaluate(()=>[...document.querySelectorAll("form")].map(f=>f.dataset.draft+" "+f.getAttribute("aria-busy")))); await page.screenshot({path:"/tmp/w-fail.png",fullPage:true}); throw e; }
  finally { page.off("response",on); page.off("requestfailed",fail); }
}
