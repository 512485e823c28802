// What a technician does again and again: register an item, pass its checks, put it into service.
import { fill, follow, press } from "./browser.mjs";

/** A reading that meets the limit written beside the field, as a person would read it off. */
export function readingFor(limit) {
  const numbers = (limit.replaceAll("−", "-").match(/-?\d+(\.\d+)?/g) ?? []).map(Number);
  if (numbers.length === 2 && limit.includes("±")) return String(numbers[0]);
  if (numbers.length >= 2) return String((numbers[0] + numbers[1]) / 2);
  if (numbers.length === 1) return String(numbers[0]);
  return "100";
}

/** Records how a run ended that began a moment ago: the page asks how that can be, and is told. */
export async function endRun(page, fields) {
  await fill(page, fields);
  await press(page, "Record how the run ended");
  const asked = page.locator("[data-problems]");
  if (!(await asked.count())) throw new Error("nobody asked how it can have turned so long");
  const words = await asked.innerText();
  if (!/began to turn \d+ min ago/.test(words)) throw new Error(words);
  await fill(page, { "as a deviation: why?": "its beginning was entered from the bench sheet" });
  await press(page, "Record how the run ended");
}

/** Registers an item by its form; the page of the item is shown then. */
export async function register(page, kind, fields) {
  await page.goto("/equipment/new");
  await follow(page, kind);
  await fill(page, fields);
  await press(page, "Register it");
}

/** Types what meets the limit of the step at hand: one reading, or the two whose difference is judged. */
async function read(steps) {
  // Steps that come later stand there as well, hidden.
  const step = steps.first();
  const limit = step.locator(".limit b");
  const words = (await limit.count()) ? await limit.first().innerText() : "";
  // A limit of a difference says first what it is the difference of.
  const wanted = Number(readingFor(words.split(": ").at(-1)));
  const fields = step.locator("input.reading, .reading input[inputmode]");
  const rounded = (value) => String(Math.round(value * 100) / 100);
  if ((await fields.count()) === 2) {
    await fields.nth(0).fill(rounded(100 + wanted));
    await fields.nth(1).fill("100");
  } else if (words.includes(": ")) {
    const before = Number((await step.locator("p .number").innerText()).match(/-?\d+(\.\d+)?/)[0]);
    await fields.first().fill(rounded(before - wanted));
  } else await fields.first().fill(String(wanted));
}

/** Answers every step of the check on the page as it must be; gives how many there were. */
export async function passCheck(page) {
  let steps = 0;
  for (; ; steps += 1) {
    const step = page.locator("form:has(input[value=observe])");
    if (!(await step.count())) return steps;
    if (steps > 120) throw new Error("the check does not end");
    const yes = step.getByRole("button", { name: "Yes, it is so" });
    if (await yes.count()) await press(page, "Yes, it is so", step);
    else {
      await read(step);
      await press(page, "Record", step);
    }
    if (await page.locator("[data-problems]").count()) {
      throw new Error(await page.locator("[data-problems]").innerText());
    }
  }
}

/** Does every check that the item on the page needs, and puts it into service. */
export async function prove(page) {
  const path = new URL(page.url()).pathname;
  const needed = page.locator("form.offer").filter({ hasText: "needed for service" });
  const titles = await needed.getByRole("button").allInnerTexts();
  for (const title of titles) {
    await press(page, title);
    await passCheck(page);
    await page.goto(path);
  }
  await page.getByLabel("In service", { exact: true }).check();
  await press(page, "Change it");
}
