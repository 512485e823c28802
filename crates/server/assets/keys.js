// Keyboard, scanner and balance. A scanner types a code and Enter, a balance its print line and
// Enter, both faster than a hand; neither knows where the cursor is. Without this file the fields
// take the same texts, and Enter sends the form, which the server judges.
"use strict";

(() => {
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const isTick = (field) => field.type === "radio" || field.type === "checkbox";
  const isShown = (field) => !field.closest("details:not([open])") && field.getClientRects().length > 0;
  const isBench = (form) => form?.dataset.bench !== undefined;
  /** Text is typed into it. */
  const takesText = (element) =>
    element.tagName === "TEXTAREA" ||
    (element.tagName === "INPUT" && !isTick(element) && !["submit", "button", "file"].includes(element.type));

  // Enter leads to the next empty field; where none is left, to a needed one that was passed over;
  // and only where none is left at all it sends the form: nothing goes half filled by accident.
  const nextOpen = (field) => {
    const fields = [...field.form.elements].filter((f) =>
      f.matches("input:not([type=hidden]), select, textarea") && !f.disabled && !f.readOnly && isShown(f));
    const at = fields.indexOf(field);
    const isOpen = (f) => (isTick(f)
      ? f.required && !fields.some((other) => other.name === f.name && other.checked)
      : f.value === "" && (f.required || f.tagName === "INPUT"));
    const isNeeded = (f) => f.required && takesText(f) && f.value === "";
    return fields.slice(at + 1).find(isOpen) ?? fields.slice(0, at).find(isNeeded);
  };

  const goTo = (field) => {
    field.focus();
    field.select?.();
  };

  const goOn = (field) => {
    const next = nextOpen(field) ?? field.form.querySelector("button[type=submit], button:not([type])");
    if (next) goTo(next);
  };

  const say = (field, words) => {
    const place = field.closest(".field") ?? field.form;
    let note = place.querySelector("[data-scan-note]");
    if (!note) {
      note = document.createElement("p");
      note.className = "scan-note";
      note.dataset.scanNote = "";
      note.setAttribute("role", "status");
      place.append(note);
    }
    note.textContent = words;
  };

  const tell = (field) => {
    for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
  };

  /** The code in what was scanned: a label may hold the address of a page. */
  const codeIn = (typed) => (/\/find\?q=(.+)$/i.exec(typed)?.[1] ?? typed).trim().toUpperCase();
  const offered = (list, code) => [...list.options].find((option) => option.value !== "" && option.value.toUpperCase() === code);
  const isMass = (typed) => /^[A-Z,\s]*[+\-−]?\s*\d+([.,]\d+)?(\s*(g|kg|lbs?))?\b/i.test(typed) && /\d[.,]\d|\d\s*(g|kg|lbs?)\b/i.test(typed);

  const choose = (list, option) => {
    list.value = option.value;
    list.dataset.scanned = "";
    say(list, `${option.value} scanned.`);
    tell(list);
  };

  /** The list of this form that awaits the code: near to the field at hand, not yet scanned. */
  const listFor = (form, code, near) => {
    const lists = all("select", form).filter((list) => isShown(list) && offered(list, code));
    const panel = near?.closest(".panel");
    const wanted = (list) => (list.dataset.scanned === undefined ? 0 : 2) + (panel?.contains(list) ? 0 : 1);
    return lists.sort((a, b) => wanted(a) - wanted(b))[0];
  };

  // What was scanned or printed while no field for text had the cursor.
  const arrived = (typed, at) => {
    const code = codeIn(typed);
    if (at.tagName === "SELECT" && isBench(at.form)) {
      const option = offered(at, code);
      if (option) {
        choose(at, option);
        goOn(at);
      } else {
        const label = at.labels?.[0]?.textContent.trim() || "this field";
        say(at, `${typed.trim()} is not a choice for ${label}; nothing was changed.`);
      }
      return;
    }
    const forms = all("form[data-bench]").filter((form) => form.getClientRects().length > 0);
    for (const form of forms) {
      const list = listFor(form, code, null);
      if (list) {
        choose(list, offered(list, code));
        goOn(list);
        return;
      }
    }
    if (isMass(typed)) {
      const open = all(".reading input[inputmode]").find((field) => isShown(field) && field.value === "");
      if (open) {
        open.value = typed.trim();
        tell(open);
        goOn(open);
      }
      return;
    }
    location.assign(`/find?q=${encodeURIComponent(code)}`);
  };

  // Letters that follow each other faster than anybody types are a scanner or a balance.
  const FAST_MS = 60;
  let burst = "";
  let last = -Infinity;
  let before = "";
  const inBurst = (event) => burst !== "" && event.timeStamp - last < FAST_MS;

  document.addEventListener("keydown", (event) => {
    const at = event.target;
    if (event.isComposing || event.ctrlKey || event.altKey || event.metaKey || takesText(at)) return;
    if (event.key.length === 1) {
      if (event.key === "/" && !inBurst(event)) {
        const find = document.querySelector("[data-find]");
        if (!find) return;
        event.preventDefault();
        goTo(find);
        return;
      }
      if (!inBurst(event)) {
        burst = "";
        before = at.value;
      }
      // A space within a print line must not press the button that has the focus.
      if (event.key === " " && burst) event.preventDefault();
      burst += event.key;
      last = event.timeStamp;
    } else if (event.key === "Enter") {
      const typed = burst;
      const isScan = inBurst(event) && typed.trim().length > 1;
      burst = "";
      if (isScan) {
        event.preventDefault();
        event.stopImmediatePropagation();
        // The list may have jumped to what the first letters fit.
        if (at.tagName === "SELECT" && at.value !== before) at.value = before;
        arrived(typed, at);
      }
    } else if (event.key !== "Shift") {
      burst = "";
    }
  }, true);
  document.addEventListener("keyup", (event) => {
    if (event.key === " " && inBurst(event) && burst.trim() && !takesText(event.target)) event.preventDefault();
  }, true);

  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || event.isComposing || !isBench(field.form)) return;
    const isList = field.tagName === "SELECT";
    if (!isList && (field.tagName !== "INPUT" || ["submit", "button"].includes(field.type))) return;
    // A code that was scanned while a reading was awaited goes where it belongs; the reading is
    // still awaited.
    const list = !isList && !isTick(field) && listFor(field.form, codeIn(field.value), field);
    if (list) {
      event.preventDefault();
      choose(list, offered(list, codeIn(field.value)));
      field.value = "";
      tell(field);
      return;
    }
    const next = nextOpen(field);
    if (next) goTo(next);
    else if (isList) goOn(field);
    if (next || isList) event.preventDefault();
  });

  // The field that is awaited has the cursor when the page is shown.
  if (!location.hash) all("[data-autofocus]").find(isShown)?.focus();
  document.querySelector("[data-problems]")?.focus();
})();
