// Nobody has signed in at this tablet: pages that it kept for somebody are forgotten. What was typed
// and not sent stays; it waits for whoever typed it.
"use strict";

(() => {
  if (window.caches) caches.delete("stonewear-pages").catch(() => {});
  // A phrase that is typed with gloves can be looked at.
  for (const field of document.querySelectorAll("input[type=password]")) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button second";
    const name = () => {
      button.textContent = field.type === "password" ? document.body.dataset.sayShowPhrase : document.body.dataset.sayHidePhrase;
    };
    button.addEventListener("click", () => {
      field.type = field.type === "password" ? "text" : "password";
      name();
      field.focus();
    });
    // It is not sent in clear sight.
    field.form?.addEventListener("submit", () => { field.type = "password"; });
    name();
    field.closest(".entry").after(button);
  }
})();
