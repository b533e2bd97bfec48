// A small drawing of each laminated segment beside its fields, drawn by the server while they are typed. Needs hands.js.
"use strict";

(() => {
  const LATER = 300;
  let waiting = null, asked = 0;

  function places() {
    return [...document.querySelectorAll("#laminates .laminate")].map((fieldset) => {
      let place = fieldset.querySelector(".laminate-swatch");
      if (!place) {
        place = document.createElement("div");
        place.className = "laminate-swatch";
        fieldset.append(place);
      }
      return place;
    });
  }

  async function draw() {
    const found = places();
    if (!found.length) return;
    const mine = ++asked, body = new FormData();
    for (const [name, value] of handFields()) if (/^laminates/.test(name)) body.set(name, value);
    const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
    body.set("csrfmiddlewaretoken", token ? token[1] : typedIn("csrfmiddlewaretoken"));
    const answer = await fetch(board.dataset.swatches, { method: "POST", body, redirect: "manual" });
    if (answer.status !== 200 || mine !== asked) return;
    const { swatches } = await answer.json();
    found.forEach((place, at) => { place.innerHTML = swatches[at] || ""; });
  }
  // Without an answer the old swatch stays; the board itself says that there is no connection.
  const later = () => { clearTimeout(waiting); waiting = setTimeout(() => draw().catch(() => {}), LATER); };

  document.addEventListener("input", ({ target }) => { if (target.closest?.("#laminates")) later(); });
  document.body.addEventListener("htmx:afterSettle", () => {
    if (document.querySelector("#laminates .laminate:not(:has(.laminate-swatch))")) draw().catch(() => {});
  });
  draw().catch(() => {});
})();
