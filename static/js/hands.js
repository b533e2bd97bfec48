// Edits made by hand, on the drawing or a chart: each is one step to undo and is answered as a typed one is.
// Needs board.js, which keeps the steps and asks.
"use strict";

/* The fields have been changed. Changes of the same `run`, one after another, are one step. */
function handChanged(label, run = null) {
  clearTimeout(timer);
  remember(label, run);
  if (!run) { lastField = null; ask(); return; }
  timer = setTimeout(ask, WAIT);
}

/* Rows come or go: the whole set of fields is sent and comes back as a new editor, which is one step. */
function handReplaced(entries, label) {
  if (busy) return Promise.resolve(false);
  busy = true;
  clearTimeout(timer);
  return showFields(JSON.stringify(entries))
    .then(() => {
      if (failed) return false;
      remember(label, null);
      lastField = null;
      return true;
    })
    .finally(() => { busy = false; });
}

const handFields = () => JSON.parse(snapshot());

/* What is typed in a field; empty where there is no such field. */
const typedIn = (name) => editor().elements.namedItem(name)?.value ?? "";

/* Each answer brings a new picture. What these scripts have put there is taken along, with the keyboard's place. */
const stays = [];
function keepInPicture(node, put) {
  stays.push({ node, put });
  if (byId("picture")) put(byId("picture"));
}
let focused = null;
document.body.addEventListener("htmx:oobBeforeSwap", (event) => {
  if (event.detail.target.id !== "picture") return;
  const active = document.activeElement;
  focused = stays.some(({ node }) => node.contains(active)) ? active : null;
  for (const { node } of stays) node.remove();
});
document.body.addEventListener("htmx:oobAfterSwap", () => {
  const picture = byId("picture");
  if (!picture || stays.every(({ node }) => picture.contains(node))) return;
  for (const { put } of stays) put(picture);
  document.dispatchEvent(new CustomEvent("board:redrawn"));
  if (focused?.isConnected) focused.focus({ preventScroll: true });
  focused = null;
});

/* Said to those who do not see it. */
function say(words) {
  const place = byId("hand-said");
  if (place) place.textContent = words;
}

/* Lengths as the studio writes them. */
const INCH = 25.4;
const inInches = board.dataset.unit === "in";
const FINE = inInches ? INCH / 64 : 1;

/* Millimetres of what is typed; NaN where it is no length. */
function readLength(text) {
  const plain = text.normalize("NFKD").replaceAll("⁄", "/").replaceAll("″", '"').replace(",", ".").trim();
  const found = plain.match(/^(?:(\d*\.?\d+|\d+\.)(?:[ -]+(\d+)\/(\d+))?|(\d+)\/(\d+))\s*(mm|cm|in|inch|inches|")?$/);
  if (!found) return NaN;
  const [, whole, over, under, alone, below, unit] = found;
  const number = whole === undefined ? alone / below : Number(whole) + (over === undefined ? 0 : over / under);
  const each = unit === undefined ? (inInches ? INCH : 1) : { mm: 1, cm: 10 }[unit] || INCH;
  return number * each;
}

/* A length as it stands in a field. */
function writeLength(mm) {
  if (!inInches) return String(Number(mm.toFixed(3)));
  const parts = (mm / INCH) * 64;
  if (board.dataset.inches !== "fraction" || Math.abs(parts - Math.round(parts)) > 1e-3) return String(Number((mm / INCH).toFixed(4)));
  let [over, under] = [Math.round(parts) % 64, 64];
  const whole = Math.floor(Math.round(parts) / 64);
  if (!over) return String(whole);
  while (over % 2 === 0) { over /= 2; under /= 2; }
  return whole ? `${whole} ${over}/${under}` : `${over}/${under}`;
}

/* Whether ink would be lost on the colour. Relative luminance: WCAG 2.2. */
function isDark(colour) {
  if (!colour) return false;
  const [red, green, blue] = [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16) / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue < 0.18;
}

/* Runs of whole numbers, [low, high]. */
const inside = (number, [low, high]) => number >= low && number <= high;
const ordered = (one, other) => [Math.min(one, other), Math.max(one, other)];
const each = ([low, high], act) => { for (let number = low; number <= high; number += 1) act(number); };
