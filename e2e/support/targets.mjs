// Whether a gloved finger meets what it aims at: every link and button that is no part of a sentence is
// at least 44 px high; a link within a sentence is as high as its line (WCAG 2.2, 2.5.5 and 2.5.8).

/** The least height of what is pressed, px. */
const LEAST = 44;

/** What on the page is lower than a finger, each with its height. */
export const lowTargets = (page) =>
  page.evaluate((least) => {
    const words = (text) => (text.match(/[\p{L}\p{N}][^\s]*/gu) ?? []).length;
    /** A sentence around a link: three words or more that are no link. */
    const isInSentence = (link) => {
      const around = link.closest("p, li, dd, td, th, figcaption, blockquote, .hint");
      if (!around) return false;
      const own = around.innerText ?? "";
      const links = [...around.querySelectorAll("a")].reduce((sum, one) => sum + words(one.innerText ?? ""), 0);
      return words(own) - links >= 3;
    };
    const found = new Map();
    for (const target of document.querySelectorAll("a[href], button, summary, select, textarea, input:not([type=hidden])")) {
      if (target.closest("svg, .skip") || target.matches(".skip")) continue;
      if (!target.checkVisibility({ visibilityProperty: true })) continue;
      const tick = target.matches("[type=checkbox], [type=radio]");
      const pressed = (tick && target.closest("label")) || target;
      const { width, height } = pressed.getBoundingClientRect();
      if (width === 0 || height >= least - 0.5) continue;
      if (target.matches("a") && isInSentence(target)) continue;
      const place = `${target.parentElement.localName} > ${target.localName}`;
      if (!found.has(place)) found.set(place, `${Math.round(height)} px: ${place} “${(target.innerText ?? "").trim()}”`);
    }
    return [...found.values()];
  }, LEAST);

/** Tables and drawings that can only be read by moving them sideways. */
export const sideways = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll("main .table, main .scroll")]
      .filter((frame) => frame.scrollWidth > frame.clientWidth + 1)
      .map((frame) => `“${frame.getAttribute("aria-label")}” is ${frame.scrollWidth} px wide in ${frame.clientWidth} px`),
  );

/** Labels of drawings that are lower than a reader's eye, by the kind of drawing. */
export const smallLabels = (page) =>
  page.evaluate(() => {
    const LEAST_PX = 12;
    const smallest = new Map();
    for (const text of document.querySelectorAll("main svg text")) {
      if (!text.textContent.trim()) continue;
      const scale = text.getScreenCTM();
      const size = parseFloat(getComputedStyle(text).fontSize) * Math.hypot(scale.a, scale.b);
      const kind = text.ownerSVGElement.getAttribute("class");
      if (size < LEAST_PX - 0.05 && size < (smallest.get(kind) ?? LEAST_PX)) smallest.set(kind, size);
    }
    return [...smallest].map(([kind, size]) => `labels of ${kind} are ${size.toFixed(1)} px`);
  });
