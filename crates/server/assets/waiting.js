// Entries that are made while the laboratory cannot be reached wait on this tablet and are sent in
// their order when it answers. Each has a key, so that it is recorded once however often it is
// sent. Without this file the browser sends forms itself.
"use strict";

(() => {
  const { body } = document;
  const { laboratory, seat = "", keptAt } = body.dataset;
  // A browser may forbid the store; then the browser sends forms, and says itself what fails.
  const store = (() => {
    try { return window.localStorage; } catch { return null; }
  })();
  // Before the laboratory is founded there is nobody whose entry it would be.
  if (!laboratory || !store) return;

  const PREFIX = "stonewear-waiting:";
  const DRAFT = "stonewear-draft:";
  const PATIENCE_MS = 10_000;
  const LONGEST_PAUSE_MS = 30_000;

  const say = (key, values = {}) =>
    Object.entries(values).reduce(
      (text, [name, value]) => text.replace(`{${name}}`, value),
      body.dataset[`say${key}`] ?? "",
    );
  /** An element with its words: what was typed is never taken for markup. */
  const element = (tag, words, attributes = {}) => {
    const made = document.createElement(tag);
    made.textContent = words;
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    return made;
  };
  const button = (words, act) => {
    const made = element("button", words, { type: "button", class: "button second" });
    made.addEventListener("click", act);
    return made;
  };
  const clock = (iso) =>
    new Date(iso).toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit" });
  const words = (node) => {
    const copy = node?.cloneNode(true);
    copy?.querySelectorAll(".optional, .hint").forEach((part) => part.remove());
    return copy?.textContent.replace(/\s+/g, " ").trim() ?? "";
  };
  const newKey = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  };

  // ---- What waits: one entry of the store each, so that two tabs never overwrite each other.

  const everything = () => {
    const found = [];
    for (let index = 0; index < store.length; index += 1) {
      const place = store.key(index);
      if (!place.startsWith(PREFIX)) continue;
      try { found.push({ ...JSON.parse(store.getItem(place)), place }); } catch { /* not ours */ }
    }
    return found.sort((a, b) => (a.place < b.place ? -1 : 1));
  };
  const waiting = () => everything().filter((entry) => entry.laboratory === laboratory);
  // Where people prove who they are, what somebody else entered is not ours to send.
  const proves = body.dataset.accounts !== undefined;
  const isOthers = (entry) => proves && entry.by !== seat;
  const put = ({ place, ...entry }) => store.setItem(place, JSON.stringify(entry));
  const drop = (entry) => store.removeItem(entry.place);
  /** Behind everything that waits, whatever the tablet's clock says. */
  const lastPlace = () => {
    const last = Number(everything().at(-1)?.place.slice(PREFIX.length).split("-")[0] ?? 0);
    const number = Math.max(Date.now(), last + 1);
    return `${PREFIX}${String(number).padStart(15, "0")}-${newKey().slice(0, 6)}`;
  };

  // The time of the laboratory, which this page brought, not of the tablet.
  const arrived = performance.timeOrigin +
    (performance.getEntriesByType("navigation")[0]?.responseStart || 0);
  const offset = Date.parse(body.dataset.now) - (keptAt ? Date.parse(keptAt) : arrived) || 0;
  /** The address of this page, without what only the last sending said. */
  const here = () => {
    const asked = new URLSearchParams(location.search);
    asked.delete("kept");
    return location.pathname + (asked.size ? `?${asked}` : "");
  };

  const isTick = (field) => field.type === "radio" || field.type === "checkbox";
  /** What was typed, in the words of the form. */
  const typedIn = (form) => {
    const typed = [];
    for (const field of form.elements) {
      if (!field.name || field.type === "hidden" || field.tagName === "BUTTON") continue;
      if (isTick(field) ? !field.checked : field.value === "") continue;
      const label = words(field.labels?.[0]);
      const list = field.tagName === "SELECT" ? words(field.selectedOptions[0]) : null;
      const legend = isTick(field) ? words(field.closest("fieldset")?.querySelector("legend")) : label;
      typed.push([legend, list ?? (isTick(field) ? label : field.value)]);
    }
    return typed;
  };

  const entryOf = (form, submitter) => ({
    place: lastPlace(),
    laboratory,
    by: seat,
    path: new URL(form.action).pathname,
    page: here(),
    title: words(document.querySelector("h1")),
    step: words(form.closest(".step")?.querySelector("h2")),
    button: words(submitter),
    typed: typedIn(form),
    body: new URLSearchParams(new FormData(form, submitter)).toString(),
    draft: form.dataset.draft,
    fields: Object.fromEntries([...form.elements]
      .filter((field) => field.name && !field.name.startsWith("_") && field.type !== "hidden" && !isTick(field) && field.value)
      .map((field) => [field.name, field.value])),
    made: new Date(Date.now() + offset).toISOString(),
  });

  // ---- Sending.

  /** What became of it: `recorded`, `refused`, `not-recorded`, or `unreached`. */
  const send = async (entry, isLate) => {
    const sent = new URLSearchParams(entry.body);
    sent.set("_laboratory", entry.laboratory);
    sent.set("_by", entry.by);
    if (isLate) sent.set("_made", entry.made);
    try {
      const answer = await fetch(entry.path, {
        method: "POST",
        headers: { "stonewear-sent": "yes" },
        body: sent,
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      const outcome = answer.headers.get("stonewear-outcome");
      if (outcome === "recorded") {
        return { outcome, onward: answer.headers.get("stonewear-onward") };
      }
      // The session has ended: it waits until its person has signed in again.
      if (outcome === "signed-out") return { outcome };
      // Only the laboratory says this. Anything else that answers is not the laboratory.
      if (!outcome) return { outcome: "unreached" };
      const said = new DOMParser().parseFromString(await answer.text(), "text/html");
      return { outcome, problems: [...said.querySelectorAll("li")].map((problem) => words(problem)) };
    } catch {
      return { outcome: "unreached" };
    }
  };

  /** The same form of the same thing, whatever was typed into it. */
  const isSameForm = (a, b) => a.draft === b.draft && a.path === b.path;

  const signedOut = () => {
    setLine(true);
    document.dispatchEvent(new CustomEvent("stonewear:signed-out"));
  };

  let again;
  let pause = 1000;
  const retry = () => {
    clearTimeout(again);
    again = setTimeout(flush, pause);
    pause = Math.min(pause * 2, LONGEST_PAUSE_MS);
  };

  /** Where the entries lead that were recorded since this page was opened. */
  const landed = new Map();
  const sendAll = async () => {
    for (;;) {
      // Behind an entry that was refused, nothing of its page is sent: it may rest on it.
      const held = new Set();
      const next = waiting().find((entry) => {
        if (entry.refused || isOthers(entry)) held.add(entry.path);
        return !held.has(entry.path);
      });
      if (!next) return;
      const answer = await send(next, true);
      if (answer.outcome === "signed-out") {
        signedOut();
        return;
      }
      if (answer.outcome === "unreached") {
        setLine(false);
        retry();
        return;
      }
      setLine(true);
      // It may have been withdrawn at another page meanwhile.
      const isThere = store.getItem(next.place) !== null;
      if (answer.outcome === "recorded") {
        drop(next);
        landed.set(next.place, answer.onward ?? next.path);
        told(say("Sent", { what: inShort(next) }));
      } else if (isThere && answer.outcome === "refused") {
        put({ ...next, refused: answer.problems });
      } else if (isThere) {
        put({ ...next, trouble: answer.problems.join(" ") });
        draw();
        retry();
        return;
      }
      pause = 1000;
      draw();
    }
  };
  // One tab sends at a time. Where there are no locks the keys alone see to it that each entry is
  // recorded once, and its answer is awaited before the next is sent.
  /** What was entered last on this page, while nothing else has been begun since. */
  let latest = null;
  document.addEventListener("input", () => { latest = null; });
  const flush = async () => {
    if (!waiting().length) return;
    if (!navigator.locks) await sendAll();
    else await navigator.locks.request("stonewear-waiting", { ifAvailable: true }, (lock) => lock && sendAll());
    draw();
    // It was only late: the page goes on as it would have.
    if (landed.has(latest)) location.assign(landed.get(latest));
  };

  // ---- The band: what waits, in words, and what can be done about it.

  const inShort = (entry) => `${entry.title}${entry.step ? `, ${entry.step}` : ""}: ${entry.button}`;
  const band = element("section", "", { class: "waiting", "aria-label": say("WaitingHere"), hidden: "" });
  const status = element("p", "", { role: "status" });
  const list = element("ol", "");
  band.append(status, list);
  document.querySelector("body > header").append(band);

  let isReached = !keptAt;
  // Said once more on the page that follows: it may come before anybody has read it.
  const TOLD = "stonewear-told";
  const TOLD_MS = 20_000;
  let lately = (() => {
    try {
      const last = JSON.parse(sessionStorage.getItem(TOLD));
      return Date.now() - last.at < TOLD_MS ? last.text : "";
    } catch { return ""; }
  })();
  let forget;
  const fade = () => {
    clearTimeout(forget);
    forget = setTimeout(() => { lately = ""; draw(); }, TOLD_MS);
  };
  if (lately) fade();
  const told = (text) => {
    lately = text;
    fade();
    try { sessionStorage.setItem(TOLD, JSON.stringify({ text, at: Date.now() })); } catch { /* read it now */ }
  };

  const withdraw = (entry) => {
    drop(entry);
    // What was typed goes back into its form, as a draft.
    if (Object.keys(entry.fields).length) store.setItem(DRAFT + entry.draft, JSON.stringify(entry.fields));
    told(say("Withdrawn", { what: inShort(entry) }));
    draw();
    if (location.pathname === entry.page.split("?")[0]) location.reload();
    else flush();
  };

  /** The refused entry that was opened in this tab to be mended. */
  const MENDING = "stonewear-mending";
  const mending = () => { try { return sessionStorage.getItem(MENDING); } catch { return null; } };

  /** Shows the form as it was refused, by the laboratory itself. Nothing is recorded by it. */
  const look = (entry) => {
    try { sessionStorage.setItem(MENDING, entry.place); } catch { /* then it is let go by hand */ }
    const form = element("form", "", { method: "post", action: entry.path, hidden: "" });
    for (const [name, value] of [...new URLSearchParams(entry.body), ["_look", "yes"]]) {
      form.append(element("input", "", { type: "hidden", name, value }));
    }
    body.append(form);
    form.submit();
  };

  const line = (entry, isHeld) => {
    const item = element("li", "");
    const what = element("p", "");
    what.append(
      element("b", inShort(entry)),
      ` ${say("MadeBy", { time: clock(entry.made), person: entry.by || "–" })}`,
    );
    item.append(what);
    if (entry.typed.length) {
      item.append(element("p", entry.typed.map(([label, value]) => `${label}: ${value}`).join(" · ")));
    }
    if (entry.refused) {
      item.className = "refused";
      item.append(element("p", `✕ ${say("Refused")} ${entry.refused.join(" ")}`));
    } else if (isOthers(entry)) {
      item.append(element("p", say("WaitsFor", { person: entry.by || "–" })));
    } else if (isHeld) {
      item.append(element("p", say("Held")));
    } else if (entry.trouble) {
      item.append(element("p", entry.trouble));
    }
    const actions = element("div", "", { class: "row" });
    if (entry.refused) actions.append(button(say("Look"), () => look(entry)));
    else if (here() !== entry.page) {
      actions.append(element("a", say("Open"), { class: "button second", href: entry.page }));
    }
    actions.append(button(say(entry.refused ? "LetGo" : "Withdraw"), () => withdraw(entry)));
    item.append(actions);
    return item;
  };

  /** What of this form waits, beside it: so that nobody enters it twice. */
  const markForm = (form, own) => {
    const text = own.map((entry) => {
      const typed = entry.typed.map(([label, value]) => `${label}: ${value}`);
      return say("WaitsHere", { what: [entry.button, ...typed].join(" · ") });
    }).join(" ");
    let mark = form.querySelector("[data-waits-note]");
    if (!text) {
      mark?.remove();
      return;
    }
    if (!mark) {
      mark = element("p", "", { class: "kept", "data-waits-note": "", role: "status" });
      form.prepend(mark);
    }
    if (mark.textContent !== text) mark.textContent = text;
  };

  const draw = () => {
    const mine = waiting();
    const others = everything().length - mine.length;
    const refused = mine.filter((entry) => entry.refused).length;
    const open = mine.length - refused;
    const parts = [];
    if (keptAt && !isReached) parts.push(say("FromTablet", { time: clock(keptAt) }));
    else if (!isReached) parts.push(say("Unreached"));
    if (open) parts.push(say(open === 1 ? "WaitsOne" : "WaitsMany", { number: open }));
    if (refused) parts.push(say(refused === 1 ? "RefusedOne" : "RefusedMany", { number: refused }));
    if (others) parts.push(say("OfAnother", { number: others }));
    if (!mine.length && lately) parts.push(lately);
    const text = parts.join(" ");
    if (status.textContent !== text) status.textContent = text;
    const held = new Set();
    list.replaceChildren(...mine.map((entry) => {
      if (entry.refused || isOthers(entry)) held.add(entry.path);
      return line(entry, !entry.refused && held.has(entry.path));
    }));
    for (const form of document.querySelectorAll("form[data-waits]")) {
      const path = new URL(form.action).pathname;
      markForm(form, mine.filter((entry) => entry.draft === form.dataset.draft && entry.path === path && !entry.refused));
    }
    band.hidden = !text;
    band.classList.toggle("down", !isReached || refused > 0);
    document.dispatchEvent(new CustomEvent("stonewear:waiting", { detail: mine }));
  };

  const setLine = (isUp) => {
    if (isUp === isReached) return;
    isReached = isUp;
    draw();
    if (isUp) {
      pause = 1000;
      flush();
      document.querySelectorAll("[data-line-note]").forEach((note) => note.remove());
      // The page is one that this tablet kept; now there is a newer one, unless it is being used.
      if (keptAt && ![...document.querySelectorAll("main input, main textarea")].some((field) =>
        field.type !== "hidden" && !isTick(field) && field.value !== field.defaultValue)) location.reload();
    }
  };

  // ---- Forms.

  /** The browser's own way, with the button that was pressed. */
  const natively = (form, submitter, extra = []) => {
    const added = [...(submitter?.name ? [[submitter.name, submitter.value]] : []), ...extra]
      .map(([name, value]) => element("input", "", { type: "hidden", name, value }));
    form.append(...added);
    form.submit();
    added.forEach((input) => input.remove());
  };

  const note = (form, text) => {
    let told = form.querySelector("[data-line-note]");
    if (!told) {
      told = element("p", "", { class: "line-note", "data-line-note": "", role: "alert" });
      form.append(told);
    }
    told.textContent = text;
  };

  const isThere = async () => {
    try {
      // Not answered by what the tablet keeps.
      const answer = await fetch("/keeper.js", { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
      return answer.ok;
    } catch {
      return false;
    }
  };

  const takeDown = (form, submitter, entry) => {
    try { put(entry); } catch {
      note(form, say("NotStored"));
      return false;
    }
    latest = entry.place;
    store.removeItem(DRAFT + entry.draft);
    form.reset();
    for (const slot of form.querySelectorAll(".judged")) slot.replaceChildren();
    const key = form.querySelector("[name=_key]");
    // What is entered here next is another entry.
    if (key) key.value = newKey();
    form.querySelector("[data-draft-note]")?.remove();
    form.dispatchEvent(new CustomEvent("stonewear:waits", { bubbles: true, detail: { entry, submitter } }));
    return true;
  };

  const take = async (form, submitter) => {
    if (form.dataset.sending !== undefined) return;
    form.dataset.sending = "";
    form.setAttribute("aria-busy", "true");
    try {
      if (form.dataset.waits === undefined) {
        if (await isThere()) natively(form, submitter);
        else {
          setLine(false);
          const hasFile = form.enctype === "multipart/form-data";
          note(form, say(hasFile ? "FileCannotWait" : "CannotWait"));
          retryLine();
        }
        return;
      }
      const entry = entryOf(form, submitter);
      // Mended, it takes the place of what was refused.
      const mended = waiting().find((one) =>
        one.refused && one.place === mending() && isSameForm(one, entry));
      if (mended) entry.place = mended.place;
      // What was entered before goes before: nothing overtakes what waits.
      const goesBefore = (one) => !one.refused && one.place < entry.place && (!isOthers(one) || one.path === entry.path);
      const isFirst = !waiting().some(goesBefore);
      const answer = isFirst ? await send(entry, false) : { outcome: "unreached" };
      if (answer.outcome === "recorded") {
        if (mended) drop(mended);
        store.removeItem(DRAFT + entry.draft);
        location.assign(answer.onward ?? entry.path);
      } else if (answer.outcome === "signed-out") {
        if (takeDown(form, submitter, entry)) signedOut();
        draw();
      } else if (answer.outcome === "unreached") {
        const kept = takeDown(form, submitter, entry);
        if (isFirst) setLine(false);
        draw();
        if (kept && isFirst) retry();
        else if (kept) flush();
      } else {
        natively(form, submitter, [["_look", "yes"]]);
      }
    } finally {
      delete form.dataset.sending;
      form.removeAttribute("aria-busy");
    }
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || form.method !== "post") return;
    event.preventDefault();
    take(form, event.submitter);
  });

  /** Nothing waits, so nothing is sent that would tell when the line is back: it is asked. */
  let asked;
  const retryLine = () => {
    clearTimeout(asked);
    asked = setTimeout(async () => {
      if (isReached) return;
      if (await isThere()) setLine(true);
      else retryLine();
    }, 3000);
  };

  // ---- When the line comes and goes.

  document.addEventListener("stonewear:line", (event) => {
    setLine(event.detail);
    if (event.detail) flush();
  });
  addEventListener("online", flush);
  addEventListener("storage", (event) => {
    if (event.key === null || event.key.startsWith(PREFIX)) draw();
  });
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) flush();
  });
  addEventListener("pageshow", (event) => {
    if (event.persisted) draw();
  });

  // Pages that were open can be opened again while the line is down; not those of somebody else.
  if (navigator.serviceWorker && window.caches) {
    const owner = `${laboratory}/${seat}`;
    if (!keptAt && store.getItem("stonewear-owner") !== owner) {
      caches.delete("stonewear-pages").catch(() => {});
      store.setItem("stonewear-owner", owner);
    }
    navigator.serviceWorker.register("/keeper.js").catch(() => {});
  }

  // The keys of a kept page may have been used since it was kept.
  if (keptAt) document.querySelectorAll("[name=_key]").forEach((key) => { key.value = newKey(); });

  draw();
  flush();
  if (!isReached) retryLine();
})();
