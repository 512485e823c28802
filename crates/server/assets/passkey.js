// Passkeys: the browser asks the device, and the form carries its answer. Without this script the pass
// phrase does all of it.
"use strict";

(() => {
  if (!window.PublicKeyCredential || !navigator.credentials) return;

  const bytes = (text) =>
    Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (sign) => sign.charCodeAt(0));
  const text = (buffer) =>
    btoa(Array.from(new Uint8Array(buffer ?? new ArrayBuffer(0)), (byte) => String.fromCharCode(byte)).join(""))
      .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
  const named = (list) => (list ?? []).map((one) => ({ ...one, id: bytes(one.id) }));
  const send = (path, fields) => fetch(path, { method: "POST", body: new URLSearchParams(fields) });

  /** What a passkey of this page answers to a question. */
  const use = async (asked) => {
    const publicKey = { ...asked, challenge: bytes(asked.challenge), allowCredentials: named(asked.allowCredentials) };
    const { rawId, response } = await navigator.credentials.get({ publicKey });
    const parts = [rawId, response.clientDataJSON, response.authenticatorData, response.signature, response.userHandle];
    return parts.map(text).join(".");
  };

  /** What the device says of a new one. */
  const make = async (asked) => {
    const user = { ...asked.user, id: bytes(asked.user.id) };
    const publicKey = { ...asked, user, challenge: bytes(asked.challenge), excludeCredentials: named(asked.excludeCredentials) };
    const { response } = await navigator.credentials.create({ publicKey });
    return [response.clientDataJSON, response.attestationObject].map(text).join(".");
  };

  /** A form that is sent with what a passkey answers. */
  const carries = (form, path, answer) => {
    const note = form.querySelector("[role=status]");
    let isAsking = false;
    form.hidden = false;
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      if (isAsking) return;
      isAsking = true;
      note.textContent = "";
      try {
        const question = await send(path, new FormData(form));
        // What is wrong is said by the page that comes back.
        if (question.ok) form.elements.passkey.value = await answer(await question.json());
        form.submit();
      } catch {
        note.textContent = form.dataset.sayNotUsed;
      }
      isAsking = false;
    });
  };

  for (const form of document.querySelectorAll("form[data-passkey=add]")) carries(form, "/account/passkeys/question", make);
  for (const form of document.querySelectorAll("form[data-passkey=sign-in]")) carries(form, "/sign-in/passkey/question", use);

  for (const place of document.querySelectorAll("[data-passkey=prove]")) {
    const note = place.querySelector("[role=status]");
    const button = place.querySelector("button");
    place.hidden = false;
    button.addEventListener("click", async () => {
      button.disabled = true;
      note.textContent = "";
      try {
        const question = await send("/account/prove/question", {});
        const passkey = await use(await question.json());
        const proved = await send("/account/prove", { passkey });
        if (proved.ok) {
          // It holds for the whole page.
          for (const field of document.querySelectorAll("input[name=_phrase]")) (field.closest(".entry")?.parentElement ?? field).remove();
          for (const one of document.querySelectorAll("[data-passkey=prove]")) {
            one.querySelector("button").remove();
            one.querySelector("[role=status]").textContent = one === place ? place.dataset.sayProved : "";
          }
          return;
        }
        note.textContent = place.dataset.sayRefused;
      } catch {
        note.textContent = place.dataset.sayNotUsed;
      }
      button.disabled = false;
    });
  }
})();
