// Small help for every page: nothing here is needed for a page to work.
"use strict";

// A refused form is read out and stands where it can be seen.
const wrong = document.querySelector("[data-focus]");
if (wrong) wrong.focus({ preventScroll: false });

// Without a connection the page stays, and with it all that was typed.
function offline(form) {
  const notice = document.createElement("div");
  notice.className = "notice warning";
  notice.setAttribute("role", "alert");
  notice.textContent = "There is no connection, so nothing was sent. All you typed is still here: send it again when you are back.";
  form.querySelector(":scope > .notice[role=alert]")?.remove();
  form.prepend(notice);
  notice.scrollIntoView({ block: "center" });
}

// A second press of a button that saves does not save twice.
for (const form of document.querySelectorAll('form[method="post"]:not(#editor)')) {
  form.addEventListener("submit", (event) => {
    if (!navigator.onLine) { event.preventDefault(); offline(form); return; }
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, 5000);
  });
}
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

// The bench page is kept in the browser for times without a connection, but not for whoever comes after a log-out.
document.querySelector("form.who")?.addEventListener("submit", () => { window.caches?.delete("bench").catch(() => {}); });

// Paper cannot be unfolded: the boards' strips are open in print and folded again afterwards.
const folds = () => document.querySelectorAll(".boards > details");
window.addEventListener("beforeprint", () => {
  for (const fold of folds()) if (!fold.open) { fold.open = true; fold.dataset.folded = "yes"; }
});
window.addEventListener("afterprint", () => {
  for (const fold of folds()) if (fold.dataset.folded) { fold.open = false; delete fold.dataset.folded; }
});

// A table too wide for the screen is scrolled within itself, by keyboard as well.
const tables = document.querySelectorAll(".wide-table");
function reachable() {
  for (const table of tables) {
    if (table.scrollWidth > table.clientWidth) table.setAttribute("tabindex", "0");
    else table.removeAttribute("tabindex");
  }
}
window.addEventListener("resize", reachable);
document.addEventListener("toggle", reachable, true);
reachable();
