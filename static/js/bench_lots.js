// Lots of adhesive at the bench that the server does not have yet: shown where they were typed, and offered on the next card.

const field = (tap, name) => tap.fields.find(([key]) => key === name)?.[1]?.trim() ?? "";
const PARTS = ["a", "b", "one"];

/* What waiting taps keep, in their order: { step, part, lot, useBy }; those that were taken back are left out. */
export function waitingLots(taps) {
  const undone = new Set(taps.filter((tap) => field(tap, "act") === "undo").map((tap) => field(tap, "tap")));
  return taps.filter((tap) => field(tap, "act") === "lot" && !undone.has(tap.id)).flatMap((tap) =>
    PARTS.map((part) => ({ step: field(tap, "step"), part, lot: field(tap, `lot_${part}`), useBy: field(tap, `use_by_${part}`) })).filter((one) => one.lot));
}

const labelOf = (section, part) => section.querySelector(`[data-part="${part}"] label`)?.textContent || "Lot";

function row({ part, lot, useBy }, section) {
  const made = document.createElement("li");
  made.textContent = `${labelOf(section, part)}: ${lot}${useBy ? `, use by ${useBy}` : ""} (kept here)`;
  const { today } = section.querySelector("form[data-adhesive]").dataset;
  if (useBy && useBy < today) {
    const past = document.createElement("p");
    past.className = "caution warning";
    past.textContent = "This is past its use-by date. Take a fresh one, unless its maker says that it may still be used.";
    made.append(past);
  }
  return made;
}

/* A field that nobody has typed into takes what was typed on another card. */
function offer(input, words) {
  if (!input || input.value !== input.defaultValue || input === document.activeElement) return;
  input.defaultValue = words;
  input.value = words;
}

/* Lays the lots that wait on the page: on their own card, and as an offer on those of the same adhesive. */
export function showLots(page, taps) {
  const lots = waitingLots(taps), forms = [...page.querySelectorAll("form[data-adhesive]")];
  const adhesiveOf = (step) => forms.find((form) => form.elements.step.value === step)?.dataset.adhesive;
  for (const form of forms) {
    const section = form.closest("section.lots"), mine = lots.filter((one) => one.step === form.elements.step.value);
    const list = section.querySelector("[data-lots-waiting]");
    list.replaceChildren(...mine.map((one) => row(one, section)));
    list.hidden = mine.length === 0;
    for (const one of lots.filter((other) => adhesiveOf(other.step) === form.dataset.adhesive)) {
      const fields = form.querySelector(`[data-part="${one.part}"]`);
      if (!fields) continue;
      offer(fields.querySelector(`[name="lot_${one.part}"]`), one.lot);
      offer(fields.querySelector(`[name="use_by_${one.part}"]`), one.useBy);
      form.querySelector("[data-offered]").hidden = false;
    }
  }
}
