// A check at the bench: the steps after the one at hand while the line is down, an answer to a step
// that somebody else has recorded meanwhile, and a screen that stays on.
"use strict";

(() => {
  const { body } = document;
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const say = (key, values = {}) =>
    Object.entries(values).reduce(
      (text, [name, value]) => text.replace(`{${name}}`, value),
      body.dataset[`say${key}`] ?? "",
    );
  const store = (() => {
    try { return window.localStorage; } catch { return null; }
  })();
  const button = (words, act) => {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: "button second", textContent: words });
    made.addEventListener("click", act);
    return made;
  };

  // ---- An answer waits: what comes next is shown. Nobody has judged it, so whoever reads the
  // limit says that the check may go on; the laboratory judges each answer when it arrives.

  const steps = all("[data-step]");
  const formOf = (step) => step.querySelector("form[data-waits]");
  const show = (step) => {
    if (!step) return;
    step.hidden = false;
    const field = step.querySelector("input:not([type=hidden]), button.button");
    field?.focus();
    step.scrollIntoView({ block: "start" });
  };

  document.addEventListener("stonewear:waiting", (event) => {
    for (const [index, step] of steps.entries()) {
      const form = formOf(step);
      if (!form) continue;
      const own = event.detail.filter((entry) => entry.draft === form.dataset.draft && !entry.refused);
      const failed = step.querySelector("[data-on-failure]");
      step.querySelector("[data-go-on]")?.remove();
      const last = own.at(-1);
      const seen = last && new URLSearchParams(last.body).get("seen");
      if (failed) failed.hidden = seen !== "no";
      // An answer that waits is changed by withdrawing it.
      for (const part of form.children) {
        if (!part.matches("[data-waits-note], input")) part.hidden = Boolean(last) && seen !== "no";
      }
      const next = steps[index + 1];
      if (!last || seen === "no" || !next || !next.hidden) continue;
      const limit = form.querySelector(".limit b")?.textContent;
      if (seen === "yes" || !limit) {
        show(next);
        continue;
      }
      const goOn = document.createElement("div");
      goOn.dataset.goOn = "";
      goOn.className = "go-on";
      const words = document.createElement("p");
      words.textContent = say("GoOnIf", { limit });
      goOn.append(words, button(say("GoOn"), () => {
        goOn.remove();
        show(next);
      }));
      step.querySelector(".step").append(goOn);
      goOn.querySelector("button").focus();
    }
  });

  // ---- What was typed here for a step that is passed now: its form is gone, the draft is not.

  const PREFIX = `stonewear-draft:${location.pathname}:observe:`;
  const shownDrafts = new Set(all("form[data-draft]").map((form) => form.dataset.draft));
  const check = /^\/checks\/([^/]+)$/.exec(location.pathname)?.[1];
  const orphans = check && store && !document.querySelector("[data-problems]")
    ? Object.keys(store).filter((key) => key.startsWith(PREFIX) &&
      !shownDrafts.has(key.slice("stonewear-draft:".length)))
    : [];
  for (const key of orphans) {
    const step = key.slice(PREFIX.length);
    let typed = {};
    try { typed = JSON.parse(store.getItem(key)); } catch { /* not ours */ }
    // A list alone says nothing that anybody typed.
    if (step.includes(":") || !(typed.seen || typed.note)) {
      store.removeItem(key);
      continue;
    }
    const note = document.createElement("div");
    note.className = "live-note";
    const words = document.createElement("p");
    const readings = [typed.seen, typed.less].filter(Boolean).join(" − ");
    words.textContent = say("AnsweredElsewhere", { typed: readings || typed.note, step });
    const form = document.createElement("form");
    form.method = "post";
    form.action = location.pathname;
    const fields = { ...typed, request: "observe", check, step, _look: "yes" };
    for (const [name, value] of Object.entries(fields)) {
      const input = document.createElement("input");
      Object.assign(input, { type: "hidden", name, value });
      form.append(input);
    }
    form.append(button(say("ShowBoth"), () => form.submit()));
    note.append(words, form, button(say("LetGo"), () => {
      store.removeItem(key);
      note.remove();
    }));
    document.getElementById("main").prepend(note);
  }

  // ---- The screen stays on while a check or a run is open: wet hands do not wake a tablet.

  const place = document.querySelector("[data-awake]");
  if (!place || !navigator.wakeLock) return;
  const OFF = "stonewear-may-sleep";
  let lock = null;
  const isWanted = () => store?.getItem(OFF) !== "yes";

  const draw = () => {
    const words = document.createElement("p");
    words.setAttribute("role", "status");
    words.textContent = say(lock ? "Awake" : "NotAwake");
    place.replaceChildren(words, button(say(lock ? "LetSleep" : "KeepAwake"), async () => {
      try { store.setItem(OFF, lock ? "yes" : "no"); } catch { /* it holds for this page */ }
      if (lock) await lock.release();
      else await hold(true);
    }));
  };

  const hold = async (isAsked) => {
    if (lock || document.hidden || !(isAsked || isWanted())) {
      draw();
      return;
    }
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => {
        lock = null;
        draw();
      });
    } catch { /* the battery is low, or the browser does not allow it */ }
    draw();
  };
  // A lock ends when the page is hidden.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) hold(false);
  });
  hold(false);
})();
