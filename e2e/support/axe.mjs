// The checker of accessibility, put into a page that was opened with `bypassCSP`: the policy of our
// pages forbids foreign scripts, the checker's too.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const checker = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Widths of a phone, a bench tablet and a desk. */
export const WIDTHS = [390, 768, 1280];

/** What the checker finds on the page; `rules` narrows it down. */
export async function violations(page, rules) {
  await page.evaluate(checker);
  const options = rules ? { runOnly: rules } : {};
  const found = await page.evaluate((it) => window.axe.run(it), options);
  return found.violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).slice(0, 2).join(" ")}`);
}

/** By how many pixels the page is wider than its window. */
export const overflow = (page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

/** Everything that is wrong with how a page stands there, light and dark. */
export async function faults(page, path) {
  const over = await overflow(page);
  const light = (await violations(page)).map((violation) => `${path}: ${violation}`);
  // Only colours depend on the theme, so only they are checked again.
  await page.emulateMedia({ colorScheme: "dark" });
  const dark = (await violations(page, ["color-contrast"])).map((violation) => `${path}, dark: ${violation}`);
  await page.emulateMedia({ colorScheme: "light" });
  return [...(over > 0 ? [`${path}: ${over} px wider than its window`] : []), ...light, ...dark];
}
