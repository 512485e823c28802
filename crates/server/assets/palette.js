// The field at the top as a palette: what is found is listed while it is typed (combobox with a list,
// WAI-ARIA Authoring Practices). The server draws the list. Without this file the field leads to a
// page with the same list; a whole code opens its thing in both.
"use strict";

(() => {
  const find = document.querySelector("[data-find]");
  if (!find) return;
  const { body } = document;
  const say = (key, number) => (body.dataset[`say${key}`] ?? "").replace("{number}", number);

  const list = document.createElement("ul");
  list.id = "find-list";
  list.className = "found";
  list.hidden = true;
  list.setAttribute("role", "listbox");
  list.setAttribute("aria-label", find.labels[0]?.textContent ?? "");
  const status = document.createElement("p");
  status.className = "off-page";
  status.setAttribute("role", "status");
  find.after(list, status);
  for (const [name, value] of Object.entries({
    role: "combobox", "aria-expanded": "false", "aria-controls": list.id, "aria-autocomplete": "list",
  })) find.setAttribute(name, value);

  let active = -1;
  const options = () => [...list.children];

  const choose = (index) => {
    const all = options();
    active = all.length ? (index + all.length) % all.length : -1;
    all.forEach((option, at) => option.setAttribute("aria-selected", String(at === active)));
    if (active < 0) find.removeAttribute("aria-activedescendant");
    else {
      find.setAttribute("aria-activedescendant", all[active].id);
      all[active].scrollIntoView({ block: "nearest" });
    }
  };

  const close = () => {
    stop?.abort();
    clearTimeout(timer);
    list.hidden = true;
    active = -1;
    find.setAttribute("aria-expanded", "false");
    find.removeAttribute("aria-activedescendant");
  };

  let stop;
  let timer;
  const look = async () => {
    stop?.abort();
    stop = new AbortController();
    const { signal } = stop;
    const typed = find.value.trim();
    if (!typed) {
      close();
      return;
    }
    try {
      const answer = await fetch(`/find?as=list&q=${encodeURIComponent(typed)}`, { signal });
      if (!answer.ok) throw new Error(String(answer.status));
      const html = await answer.text();
      if (signal.aborted) return;
      list.innerHTML = html;
      choose(-1 - options().length);
      active = -1;
      options().forEach((option) => option.setAttribute("aria-selected", "false"));
      find.removeAttribute("aria-activedescendant");
      const number = options().length;
      status.textContent = number ? say("Finding", number) : say("FoundNothing");
      list.hidden = number === 0;
      find.setAttribute("aria-expanded", String(number > 0));
    } catch (error) {
      if (error.name !== "AbortError") close();
    }
  };
  const lookSoon = () => {
    clearTimeout(timer);
    timer = setTimeout(look, 120);
  };

  const go = (option) => location.assign(option.dataset.href);

  // Where the cursor was, so that Escape leads back.
  let from = null;
  find.addEventListener("focus", (event) => { from = event.relatedTarget ?? from; });
  find.addEventListener("input", lookSoon);
  find.addEventListener("blur", close);
  list.addEventListener("pointerdown", (event) => event.preventDefault());
  list.addEventListener("click", (event) => {
    const option = event.target.closest("[role=option]");
    if (option) go(option);
  });
  find.addEventListener("keydown", (event) => {
    if (event.isComposing) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      if (list.hidden) look();
      else if (active < 0) choose(event.key === "ArrowDown" ? 0 : -1);
      else choose(active + (event.key === "ArrowDown" ? 1 : -1));
    } else if (event.key === "Enter" && active >= 0 && !list.hidden) {
      event.preventDefault();
      go(options()[active]);
    } else if (event.key === "Escape") {
      event.preventDefault();
      const wasOpen = !list.hidden;
      close();
      if (wasOpen) return;
      find.value = "";
      if (from?.isConnected) from.focus();
      else find.blur();
      from = null;
    }
  });

  document.addEventListener("keydown", (event) => {
    if (event.key.toLowerCase() !== "k" || !(event.ctrlKey || event.metaKey) || event.altKey || event.shiftKey) return;
    event.preventDefault();
    if (document.activeElement !== find) from = document.activeElement === body ? null : document.activeElement;
    find.focus();
    find.select();
  });
})();
