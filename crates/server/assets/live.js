// A page that is open hears how far the journal has come. When what it shows has changed it is
// shown anew; where somebody is typing it only says so, and nothing that was typed is touched.
"use strict";

(() => {
  const body = document.body;
  const main = document.getElementById("main");
  let known = Number(body.dataset.position);
  let heard = known;
  if (!main || !Number.isFinite(known) || !window.EventSource) return;
  // A refused form shows what was typed and what is wrong with it. It is the answer to a sending:
  // showing it anew would send it again. Sent once more, it is judged by the laboratory of then.
  if (main.querySelector("[data-problems]")) return;

  // What a page says, without what its own clock keeps changing.
  const said = (root) => {
    const copy = root.cloneNode(true);
    for (const moving of copy.querySelectorAll("svg, [data-started-at], .judged")) moving.remove();
    return copy.textContent.replace(/\s+/g, " ");
  };
  // This runs before drafts and clocks are filled in: it is what the server said.
  const shown = said(main);

  const page = async () => {
    const answer = await fetch(location.href, { headers: { accept: "text/html" } });
    if (!answer.ok) throw new Error(String(answer.status));
    return new DOMParser().parseFromString(await answer.text(), "text/html");
  };

  const isTouched = () =>
    [...main.querySelectorAll("input, textarea, select")].some((field) => {
      if (field.type === "hidden") return false;
      if (field.type === "checkbox" || field.type === "radio") {
        return field.checked !== field.defaultChecked;
      }
      if (field.tagName === "SELECT") {
        const proposed = [...field.options].findIndex((option) => option.defaultSelected);
        return field.selectedIndex !== Math.max(0, proposed);
      }
      return field.value !== field.defaultValue;
    });

  const note = () => {
    if (main.querySelector(".live-note")) return;
    const band = document.createElement("div");
    band.className = "live-note";
    band.setAttribute("role", "status");
    const words = document.createElement("p");
    words.textContent =
      body.dataset.sayNews || "Something here was changed at another place. What you typed is kept.";
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button second";
    button.textContent = body.dataset.sayShow || "Show it";
    button.addEventListener("click", () => location.reload());
    band.append(words, button);
    main.prepend(band);
  };

  // A form that is on its way, or a link that was followed, is not to be cut off by showing anew.
  let leaving = false;
  window.addEventListener("beforeunload", () => {
    leaving = true;
    // A download leaves the page where it is.
    setTimeout(() => (leaving = false), 10000);
  });

  // What is under a finger must not move: whoever is at it finishes first.
  const QUIET_MS = 1500;
  let acted = -Infinity;
  for (const kind of ["pointerdown", "keydown", "wheel", "touchmove"]) {
    document.addEventListener(kind, () => (acted = Date.now()), { capture: true, passive: true });
  }

  let asking = false;
  let again;
  const look = async () => {
    clearTimeout(again);
    again = undefined;
    if (asking) return;
    asking = true;
    try {
      const fresh = await page();
      known = Math.max(known, Number(fresh.body.dataset.position) || 0);
      if (said(fresh.getElementById("main")) !== shown) {
        const wait = QUIET_MS - (Date.now() - acted);
        if (leaving) return;
        if (isTouched()) note();
        else if (wait > 0) again = setTimeout(look, wait);
        else location.reload();
      }
    } catch {
      // The line is down. What was missed is still later than what is known: it is asked again.
      again = setTimeout(look, 3000);
    } finally {
      asking = false;
    }
    // News may have come while it was asked.
    if (heard > known && !again) look();
  };

  let source;
  const listen = () => {
    source?.close();
    source = new EventSource("/events");
    source.addEventListener("journal", (event) => {
      const position = Number(event.data);
      heard = Math.max(heard, position || 0);
      if (heard > known) look();
    });
  };
  listen();
  // A tablet that slept may hold a dead line without knowing it.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) listen();
  });
  window.addEventListener("pagehide", () => source?.close());
  // A page that the browser kept listens again, and hears at once how far the journal is.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) listen();
  });
})();
