// Ready turns of layers on one another, written into a band's offset field. Needs hands.js.
"use strict";

/* Offsets of each layer on the one below, in segments. The first layer of a band turns on the one below the band. */
const TURNS = {
  straight: () => [0],
  brick: () => [0.5, -0.5],
  left: ({ share }) => [share],
  right: ({ share }) => [-share],
  waves: ({ share, steps }) => [...Array(steps).fill(share), ...Array(steps).fill(-share)],
};
const MOST_STEPS_ONE_WAY = 500;

function setTurns(place) {
  const find = (part) => place.querySelector(`[data-part="${part}"]`);
  const kind = find("kind").value;
  find("share").closest("label").hidden = ["", "straight", "brick"].includes(kind);
  find("steps").closest("label").hidden = kind !== "waves";
  if (!kind) return;
  const share = Number(find("share").value.replace(",", ".")), steps = Math.min(Math.round(Number(find("steps").value)), MOST_STEPS_ONE_WAY);
  if (!(share > 0 && share < 360) || (kind === "waves" && !(steps > 0))) return;
  const field = byId(place.dataset.turns), written = TURNS[kind]({ share, steps }).map((turn) => Number(turn.toFixed(5))).join(", ");
  if (field.value === written) return;
  field.value = written;
  const band = place.closest(".band").querySelector("legend span").textContent.trim();
  handChanged(`offset, ${band}`);
}

for (const kind of ["input", "change"]) {
  document.addEventListener(kind, (event) => {
    const place = event.target.closest?.("[data-turns]");
    if (!place) return;
    event.stopPropagation();
    if (kind === "change") setTurns(place);
  }, true);
}
