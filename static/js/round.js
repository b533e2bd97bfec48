// The piece in the round on the drawing board, in place of the flat drawing: of what is typed, saved or not.
// The figure and its model come from the server (js/solid.js shows them). Needs hands.js.
"use strict";

(() => {
  const LATER = 400;
  const views = byId("views");
  if (!views) return;
  const holder = byId("round");
  const [flat, round] = ["flat", "round"].map((name) => views.querySelector(`[data-view="${name}"]`));
  let isRound = false, waiting = null, shown = null;

  const sheet = () => byId("picture")?.querySelector(".sheet:not(.solid)");
  const figure = () => holder.querySelector("[data-solid]");

  function draft() {
    const body = new FormData(editor());
    for (const [name, value] of [...body]) if (typeof value !== "string") body.delete(name);
    const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
    if (token) body.set("csrfmiddlewaretoken", token[1]);
    return body;
  }

  /* The figure of the draft; one that stands already keeps its model and its view, and takes the new measures. */
  async function bring() {
    const answer = await fetch(board.dataset.round, { method: "POST", body: draft(), redirect: "manual" });
    if (answer.status !== 200) throw new Error(`the figure was answered with ${answer.status}`);
    const words = await answer.text(), old = figure();
    const brought = document.createElement("template");
    brought.innerHTML = words;
    const fresh = brought.content.querySelector("[data-solid]");
    if (old && fresh) {
      for (const part of ["measures", "still"]) old.querySelector(`[data-part="${part}"]`).replaceChildren(...fresh.querySelector(`[data-part="${part}"]`).childNodes);
    } else if (fresh || !old) {
      holder.replaceChildren(brought.content);
      if (fresh) (await import(board.dataset.solidJs)).start(fresh);
    }
    // By POST from the first on: what is saved is not what is shown.
    figure()?.dispatchEvent(new CustomEvent("solid-changed", { detail: draft() }));
  }

  function refresh() {
    if (!isRound) return;
    const now = snapshot();
    if (now === shown) return;
    shown = now;
    bring().catch(() => {
      shown = null;
      if (!figure()) holder.textContent = "The model did not arrive. Go back to the drawing and try again.";
    });
  }

  function show() {
    flat.setAttribute("aria-pressed", String(!isRound));
    round.setAttribute("aria-pressed", String(isRound));
    byId("picture").classList.toggle("in-round", isRound);
    holder.hidden = !isRound;
    refresh();
    document.dispatchEvent(new CustomEvent("board:redrawn"));
  }

  flat.addEventListener("click", () => { isRound = false; show(); });
  round.addEventListener("click", () => { isRound = true; show(); });
  keepInPicture(holder, (into) => { into.prepend(holder); into.classList.toggle("in-round", isRound); });
  keepInPicture(views, (into) => { into.prepend(views); views.hidden = !sheet(); });
  document.body.addEventListener("htmx:afterRequest", (event) => {
    if (!event.detail.successful || !isRound) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => { if (!byId("problems").hasAttribute("data-wrong")) refresh(); }, LATER);
  });
  // What is chosen in the model is no field of the design.
  for (const kind of ["input", "change"]) holder.addEventListener(kind, (event) => event.stopPropagation());
})();
