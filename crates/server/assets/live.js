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
    const answer = await fetch(location.href, { headers: { accept: "text/html", "stonewear-by-itself": "yes" } });
    if (!answer.ok) throw new Error(String(answer.status));
    if (new URL(answer.url).pathname === "/sign-in") {
      signedOut();
      throw new Error("signed out");
    }
    return new DOMParser().parseFromString(await answer.text(), "text/html");
  };

  const isTouched = (within) =>
    [...within.querySelectorAll("input, textarea, select")].some((field) => {
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

  // What was typed for a step that was recorded meanwhile belongs to no form of the new page: the
  // laboratory shows both answers, and records nothing by it.
  const showIt = (fresh) => {
    const drafts = new Set([...fresh.querySelectorAll("form[data-draft]")].map((form) => form.dataset.draft));
    const past = [...main.querySelectorAll("form[data-draft]")].find((form) =>
      form.elements.step?.type === "hidden" && !drafts.has(form.dataset.draft) && isTouched(form));
    if (!past) {
      location.reload();
      return;
    }
    const look = document.createElement("input");
    Object.assign(look, { type: "hidden", name: "_look", value: "yes" });
    past.append(look);
    past.submit();
  };

  const note = (fresh) => {
    main.querySelector(".live-note")?.remove();
    const band = document.createElement("div");
    band.className = "live-note";
    band.setAttribute("role", "status");
    const words = document.createElement("p");
    words.textContent = body.dataset.sayNews;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button second";
    button.textContent = body.dataset.sayShow;
    button.addEventListener("click", () => showIt(fresh));
    band.append(words, button);
    main.prepend(band);
  };

  // The session of this page has ended. The page stays as it is: something may be typed in it.
  let isOut = false;
  const signedOut = () => {
    if (isOut) return;
    isOut = true;
    source?.close();
    const band = document.createElement("div");
    band.className = "live-note";
    band.setAttribute("role", "alert");
    const words = document.createElement("p");
    words.textContent = body.dataset.saySignedOut;
    const link = document.createElement("a");
    link.className = "button";
    link.href = `/sign-in?${new URLSearchParams({ back: location.pathname + location.search })}`;
    link.textContent = body.dataset.saySignIn;
    band.append(words, link);
    main.prepend(band);
  };
  document.addEventListener("stonewear:signed-out", signedOut);

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
  let source;
  const look = async () => {
    clearTimeout(again);
    again = undefined;
    if (asking || isOut) return;
    asking = true;
    try {
      const fresh = await page();
      known = Math.max(known, Number(fresh.body.dataset.position) || 0);
      if (said(fresh.getElementById("main")) !== shown) {
        const wait = QUIET_MS - (Date.now() - acted);
        if (leaving) return;
        if (isTouched(main)) note(fresh);
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

  const tell = (isUp) => document.dispatchEvent(new CustomEvent("stonewear:line", { detail: isUp }));
  const listen = () => {
    source?.close();
    if (isOut) return;
    source = new EventSource("/events");
    source.addEventListener("signed-out", () => {
      tell(true);
      signedOut();
    });
    source.addEventListener("open", () => tell(true));
    // It is taken up again by itself at once; what lasts longer is said.
    source.addEventListener("error", () => {
      const broken = source;
      setTimeout(() => {
        if (source !== broken || broken.readyState === EventSource.OPEN || leaving || isOut) return;
        tell(false);
        // After some failures a browser gives up.
        if (broken.readyState === EventSource.CLOSED) listen();
      }, 2500);
    });
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
