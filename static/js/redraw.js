// The drawing comes first: each question of the board is preceded by a light one that only draws. Needs board.js.
"use strict";

let drawing = null;
// The figures take the server longer than a drawing: they are asked for when the edits pause.
const QUIET = 400;
let pause = null;

document.body.addEventListener("htmx:confirm", (event) => {
  if (event.detail.elt.id !== "asker") return;
  event.preventDefault();
  clearTimeout(pause);
  drawing?.abort();
  const mine = new AbortController();
  drawing = mine;
  drawFirst(mine.signal)
    .then((svg) => { if (svg && mine === drawing) putDrawing(svg); })
    // Whatever keeps the drawing away, the whole answer tells it.
    .catch(() => {})
    .finally(() => {
      if (mine !== drawing) return;
      drawing = null;
      pause = setTimeout(() => event.detail.issueRequest(true), QUIET);
    });
});

/* An edit that brings a whole editor draws by itself. */
document.body.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.elt.id === "asker") return;
  clearTimeout(pause);
  if (!drawing) return;
  const overtaken = drawing;
  drawing = null;
  overtaken.abort();
});

async function drawFirst(signal) {
  const body = new FormData(editor());
  for (const [name, value] of [...body]) if (typeof value !== "string") body.delete(name);
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
  if (token) body.set("csrfmiddlewaretoken", token[1]);
  const answer = await fetch(board.dataset.redraw, { method: "POST", body, signal, redirect: "manual" });
  return answer.status === 200 ? answer.text() : "";
}

function putDrawing(svg) {
  const old = document.querySelector("#picture .sheet > svg");
  const holder = document.createElement("template");
  holder.innerHTML = svg;
  const drawn = holder.content.querySelector("svg");
  if (!old || !drawn) return;
  old.replaceWith(drawn);
  document.dispatchEvent(new CustomEvent("board:redrawn"));
}
