// What only the browser can do at the bench. Every page works without it: forms are sent and
// judged by the server, the ring shows where the run stood when the page was made.
"use strict";

(() => {
  const body = document.body;
  const say = (key) => body.dataset[key] ?? "";
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];

  // Judging as it is typed: the form goes to the field's address, the answer into its slot.
  const waiting = new Map();

  const slotOf = (input) => document.getElementById(input.dataset.judgeSlot);

  const stale = (input, words) => {
    const slot = slotOf(input);
    if (!slot) return;
    slot.dataset.stale = "";
    let note = slot.querySelector(".judged-note");
    if (!note) {
      note = document.createElement("p");
      note.className = "judged-note";
      slot.append(note);
    }
    if (note.textContent !== words) note.textContent = words;
  };

  // What is under a finger must not move before it is lifted, or the press goes beside its button.
  let lifted = Promise.resolve();
  document.addEventListener("pointerdown", () => {
    lifted = new Promise((go) => {
      for (const kind of ["pointerup", "pointercancel"]) {
        addEventListener(kind, () => setTimeout(go), { once: true, capture: true });
      }
    });
  }, true);

  const judge = async (input) => {
    const slot = slotOf(input);
    if (!slot || !input.form) return;
    const before = waiting.get(input);
    clearTimeout(before?.timer);
    before?.stop.abort();
    const stop = new AbortController();
    waiting.set(input, { stop });
    try {
      const answer = await fetch(input.dataset.judge, {
        method: "POST",
        body: new URLSearchParams(new FormData(input.form)),
        signal: stop.signal,
      });
      if (!answer.ok) throw new Error(String(answer.status));
      const html = await answer.text();
      await lifted;
      // A later keystroke has begun its own question: its answer counts, not this one.
      if (waiting.get(input)?.stop !== stop) return;
      slot.innerHTML = html;
      delete slot.dataset.stale;
    } catch (error) {
      if (error.name !== "AbortError") {
        stale(input, say("sayOffline"));
      }
    }
  };

  const judgeSoon = (input) => {
    const before = waiting.get(input);
    clearTimeout(before?.timer);
    before?.stop.abort();
    stale(input, say("sayJudging"));
    const timer = setTimeout(() => judge(input), 250);
    waiting.set(input, { stop: new AbortController(), timer });
  };

  document.addEventListener("input", (event) => {
    if (!event.target.dataset?.judge) return;
    judgeSoon(event.target);
    // A difference is judged by both of its readings.
    const others = all("[data-judge-with-all]", event.target.form ?? document);
    others.filter((other) => other !== event.target && other.value).forEach(judgeSoon);
  });
  document.addEventListener("change", (event) => {
    if (event.target.dataset?.judge) judge(event.target);
  });
  addEventListener("online", () => all("[data-judge]").filter((i) => i.value).forEach(judge));

  // Drafts: what was typed stays on this tablet until the laboratory has accepted it.
  const PREFIX = "stonewear-draft:";
  // A browser may forbid the store; then there are no drafts, and nothing else changes.
  const store = (() => {
    try { return window.localStorage; } catch { return null; }
  })();
  const keepable = (field) =>
    field.name && !field.disabled && !field.name.startsWith("_") &&
    !["hidden", "password", "file", "submit", "button"].includes(field.type);
  const isTick = (field) => field.type === "radio" || field.type === "checkbox";

  const note = (form, words) => {
    let line = form.querySelector("[data-draft-note]");
    if (!line) {
      line = document.createElement("p");
      line.className = "kept";
      line.dataset.draftNote = "";
      line.setAttribute("role", "status");
      form.append(line);
    }
    line.hidden = !words;
    if (line.textContent !== words) line.textContent = words;
  };

  const keep = (form) => {
    const kept = {};
    for (const field of form.elements) {
      if (!keepable(field)) continue;
      if (!isTick(field)) { if (field.value) kept[field.name] = field.value; }
      else if (field.checked) (kept[field.name] ||= []).push(field.value);
    }
    try {
      if (Object.keys(kept).length) {
        store.setItem(PREFIX + form.dataset.draft, JSON.stringify(kept));
        note(form, say("sayKept"));
      } else {
        store.removeItem(PREFIX + form.dataset.draft);
        note(form, "");
      }
    } catch {
      note(form, say("sayNotKept"));
    }
  };

  const restore = (form) => {
    let kept;
    try { kept = JSON.parse(store.getItem(PREFIX + form.dataset.draft)); } catch { return; }
    if (!kept) return;
    const answered = new Set(
      [...form.elements].filter((f) => isTick(f) && f.checked).map((f) => f.name));
    let restored = false;
    for (const field of form.elements) {
      if (!keepable(field) || !Object.hasOwn(kept, field.name)) continue;
      const value = kept[field.name];
      if (isTick(field)) {
        if (!answered.has(field.name) && value.includes(field.value)) field.checked = restored = true;
      } else if (field.value === "" || (field.tagName === "SELECT" && !field.querySelector("[selected]"))) {
        field.value = value;
        restored = true;
        if (field.dataset.judge) judge(field);
      }
    }
    if (restored) note(form, say("sayKept"));
  };

  for (const meta of all('meta[name="draft-clear"]')) {
    try { store.removeItem(PREFIX + meta.content); } catch { /* nothing was kept */ }
  }
  all("form[data-draft]").forEach(restore);
  for (const kind of ["input", "change"]) {
    document.addEventListener(kind, (event) => {
      const form = event.target.form;
      if (form?.dataset.draft) keep(form);
    });
  }

  // The run's clock: counted from when it started, never by ticks, so that a tablet that slept
  // wakes up right. It says what is expected; what was turned is read off the machine's counter.
  const clocks = all("[data-started-at]");
  if (clocks.length) {
    // The tablet's own clock may be wrong: the page brings the server's, as it was when made.
    const arrived = performance.timeOrigin +
      (performance.getEntriesByType("navigation")[0]?.responseStart || 0);
    // A page that the tablet kept was made when it was kept.
    const madeAt = body.dataset.keptAt ? Date.parse(body.dataset.keptAt) : arrived;
    const offset = Number(body.dataset.clockOffsetMs ?? Date.parse(body.dataset.now) - madeAt) || 0;
    const title = document.title;
    let sound = null;
    const ready = () => { sound ||= new (window.AudioContext || window.webkitAudioContext)(); };
    // A browser lets a page make a sound only after a touch.
    for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, ready, { once: true });

    const ring = () => {
      if (!sound) return;
      sound.resume();
      for (const [after, pitch] of [[0, 660], [0.22, 880], [0.44, 660]]) {
        const tone = sound.createOscillator();
        const loud = sound.createGain();
        const at = sound.currentTime + after;
        tone.frequency.value = pitch;
        loud.gain.setValueAtTime(0.0001, at);
        loud.gain.exponentialRampToValueAtTime(0.3, at + 0.02);
        loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.18);
        tone.connect(loud).connect(sound.destination);
        tone.start(at);
        tone.stop(at + 0.2);
      }
    };

    const put = (element, selector, words) => {
      for (const target of all(selector, element)) {
        if (target.textContent !== words) target.textContent = words;
      }
    };

    const left = (seconds) => {
      const whole = Math.ceil(seconds);
      const hours = Math.floor(whole / 3600);
      const minutes = Math.floor((whole % 3600) / 60);
      const two = (n) => String(n).padStart(2, "0");
      return hours ? `${hours} h ${two(minutes)} min` : `${minutes} min ${two(whole % 60)} s`;
    };

    let first = true;
    const tick = () => {
      let done = 0;
      let turning = Infinity;
      let news = false;
      for (const element of clocks) {
        const { startedAt, rpm, wanted, turnedBefore } = element.dataset;
        const minutes = Math.max(0, Date.now() + offset - Date.parse(startedAt)) / 60000;
        const goal = Number(wanted);
        const turned = Math.min(goal, Number(turnedBefore || 0) + minutes * Number(rpm));
        if (!(goal > 0) || !Number.isFinite(turned)) continue;
        const part = turned / goal;
        for (const circle of all("[data-clock-ring]", element)) {
          const around = Number(circle.dataset.clockRing);
          circle.setAttribute("stroke-dasharray", `${(part * around).toFixed(2)} ${around}`);
        }
        put(element, "[data-clock-percent]", `${Math.floor(part * 100)}\u00a0%`);
        put(element, "[data-clock-turned]", String(Math.floor(turned)));
        if (turned >= goal) {
          done += 1;
          put(element, "[data-clock-left]", say("sayDone"));
          if (element.dataset.clockDone === undefined) {
            element.dataset.clockDone = "";
            news = true;
          }
        } else {
          const seconds = ((goal - turned) / Number(rpm)) * 60;
          turning = Math.min(turning, seconds);
          put(element, "[data-clock-left]", left(seconds));
        }
      }
      // Nobody is called for a run that was over before the page was opened.
      if (news && !first) ring();
      first = false;
      document.title = done ? `\u2713 ${say("sayDone")} \u2013 ${title}`
        : Number.isFinite(turning) ? `${left(turning)} \u2013 ${title}` : title;
    };
    tick();
    setInterval(tick, 1000);
    document.addEventListener("visibilitychange", tick);
  }
})();
