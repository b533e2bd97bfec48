// The drawing board: asks for an answer to each edit, keeps what was typed, undoes and redoes.
"use strict";

const board = document.getElementById("board");
const key = `board:${board.dataset.design}`;
const WAIT = 250;
const MOST_STEPS = 100;

const editor = () => document.getElementById("editor");
const byId = (id) => document.getElementById(id);

/* What is typed, as text: the fields by name, without the token, the revision and the ring looked at. */
const APART = new Set(["csrfmiddlewaretoken", "revision", "ring", "narrow", "part", "do"]);
function snapshot() {
  // A chosen file is no text; it is read once and leaves its curve.
  const fields = [...new FormData(editor())].filter(([name, value]) => !APART.has(name) && typeof value === "string");
  return JSON.stringify(fields);
}

/* A browser that holds nothing back (or is full) still draws; it only forgets on leaving. */
const store = {
  read(where, name) { try { return JSON.parse(where.getItem(name)); } catch { return null; } },
  write(where, name, value) { try { where.setItem(name, JSON.stringify(value)); } catch { /* full or shut */ } },
  drop(where, name) { try { where.removeItem(name); } catch { /* shut */ } },
};

/* On a narrow screen the drawing comes with larger figures and without the bands' names. */
const narrow = window.matchMedia("(max-width: 40rem)");
const sayWidth = () => { byId("narrow").value = narrow.matches ? "yes" : ""; };

let now = snapshot();
let saved = now;
const past = store.read(sessionStorage, `${key}:past`) || [];
const future = [];
let lastField = null;

function remember(label, field) {
  const next = snapshot();
  if (next === now) return;
  // Keys typed in one field without leaving it are one step.
  if (!(field && field === lastField && past.length)) past.push({ fields: now, label });
  if (past.length > MOST_STEPS) past.shift();
  lastField = field;
  future.length = 0;
  now = next;
  keep();
  show();
}

function keep() {
  store.write(sessionStorage, `${key}:past`, past);
  if (now === saved) store.drop(localStorage, key);
  else store.write(localStorage, key, { fields: now, when: Date.now() });
}

function show() {
  const undo = byId("undo"), redo = byId("redo");
  undo.disabled = past.length === 0;
  redo.disabled = future.length === 0;
  undo.textContent = past.length ? `Undo: ${past[past.length - 1].label}` : "Undo";
  redo.textContent = future.length ? `Redo: ${future[future.length - 1].label}` : "Redo";
  byId("state").textContent = now === saved ? (byId("state").dataset.at || "") : "Not saved yet";
}

/* Which part is looked at is no edit: it goes along with each question and is no step to undo. */
const shownPart = () => editor().querySelector('input[name="part"]:checked')?.value || "0";

/* Sends a whole set of fields and takes the editor that comes back. */
function showFields(fields) {
  const values = Object.fromEntries(JSON.parse(fields));
  for (const name of ["csrfmiddlewaretoken", "revision"]) values[name] = editor().elements[name].value;
  const ring = byId("ring");
  if (ring) values.ring = ring.value;
  values.part = shownPart();
  values.narrow = narrow.matches ? "yes" : "";
  values.do = "show";
  return htmx.ajax("POST", editor().getAttribute("action"), { source: "#board", target: "#editor", swap: "outerHTML", values });
}

function step(from, to) {
  if (!from.length || busy) return;
  const wanted = from[from.length - 1];
  busy = true;
  showFields(wanted.fields).then(() => {
    if (failed) return;
    from.pop();
    to.push({ fields: now, label: wanted.label });
    now = snapshot();
    lastField = null;
    keep();
    show();
    const button = byId(from === past ? "undo" : "redo");
    if (!button.disabled) button.focus();
  }).finally(() => { busy = false; });
}

let busy = false;
let failed = false;
let timer = null;
let asking = null;
let askAgain = false;

/* An edit is answered after a short pause. A newer question takes the place of one still on its way. */
function ask() {
  clearTimeout(timer);
  if (busy) { askAgain = true; return; }
  if (asking) htmx.trigger(asking, "htmx:abort");
  htmx.trigger("#asker", "ask");
}

function labelOf(field) {
  const band = field.closest(".band");
  const name = field.dataset.label || field.getAttribute("aria-label") || field.name;
  const of = band && band.querySelector("legend span").textContent.trim();
  return (of ? `${name}, ${of}` : name).toLowerCase();
}

board.addEventListener("input", (event) => {
  if (["ring", "part"].includes(event.target.name)) return;
  clearTimeout(timer);
  const field = event.target;
  const head = field.name.endsWith("-name") && (field.closest(".band")?.querySelector("legend span") || field.closest(".part")?.querySelector(".tab span"));
  if (head && field.value.trim()) head.textContent = field.value.trim();
  timer = setTimeout(() => { remember(labelOf(field), field.name); ask(); }, WAIT);
});
board.addEventListener("change", (event) => {
  const field = event.target;
  clearTimeout(timer);
  if (["ring", "part"].includes(field.name)) { ask(); return; }
  remember(labelOf(field), field.name);
  lastField = null;
  // A wood chosen in the last place leaves room for the next one; one set to none closes the gap.
  if (field.closest(".wood, .strips") && field.matches("select")) whole();
  else ask();
});

/* A row added, moved or taken away comes back as a new editor. */
function whole() {
  if (busy) return;
  busy = true;
  const name = document.activeElement && document.activeElement.id;
  showFields(snapshot()).finally(() => {
    busy = false;
    now = snapshot();
    keep();
    show();
    const again = name && byId(name);
    if (again) again.focus();
  });
}

document.body.addEventListener("htmx:beforeRequest", (event) => {
  const from = event.detail.elt;
  failed = false;
  if (from.id === "asker") { asking = from; byId("working").dataset.on = "yes"; setTimeout(showWorking, 400); return; }
  if (asking) htmx.trigger(asking, "htmx:abort");
  clearTimeout(timer);
  if (from.id === "editor") {
    const what = event.detail.requestConfig.parameters.do || "";
    from.dataset.doing = what;
    from.dataset.focus = document.activeElement ? document.activeElement.id : "";
    // The editor is about to be replaced: nothing may be typed into the old one.
    if (brings(what)) { busy = true; from.setAttribute("inert", ""); }
  }
});

const brings = (what) => !what.startsWith("save") && what !== "try";
function showWorking() { const sign = byId("working"); if (sign.dataset.on) sign.hidden = false; }
function hideWorking() { const sign = byId("working"); if (sign) { delete sign.dataset.on; sign.hidden = true; } }

/* Errors stand at their fields as well as in the list. */
function placeErrors() {
  for (const holder of board.querySelectorAll("#editor [data-field-of]")) {
    holder.classList.remove("wrong");
    for (const entry of holder.querySelectorAll("[aria-invalid]")) entry.removeAttribute("aria-invalid");
  }
  for (const list of board.querySelectorAll("#editor .errorlist")) list.replaceChildren();
  for (const item of board.querySelectorAll("#problems li[data-field]")) {
    const name = item.dataset.field, list = byId(`${name}-error`), entry = byId(name);
    if (!list) continue;
    const line = document.createElement("li");
    line.textContent = item.querySelector("span").textContent;
    list.append(line);
    const holder = entry && entry.closest("[data-field-of]");
    if (holder) holder.classList.add("wrong");
    if (entry && entry.matches("input, select, textarea")) entry.setAttribute("aria-invalid", "true");
  }
  const problems = byId("problems"), stale = document.querySelector(".stale");
  if (stale) stale.hidden = !problems.hasAttribute("data-wrong") || Boolean(problems.querySelector(".warning"));
}

/* What changed is marked for a moment. */
const figures = () => new Map([...document.querySelectorAll("[data-figure]")].map((spot) => [spot.dataset.figure, spot.textContent]));
let before = figures();
function markChanges() {
  for (const spot of document.querySelectorAll("[data-figure]")) {
    const was = before.get(spot.dataset.figure);
    if (was !== undefined && was !== spot.textContent) spot.classList.add("changed");
  }
  before = figures();
}

document.body.addEventListener("htmx:afterSettle", () => { placeErrors(); sayWidth(); });
document.body.addEventListener("htmx:afterRequest", (event) => {
  // Who asked, even where the answer has taken its place on the page.
  const from = event.detail.requestConfig.elt;
  hideWorking();
  if (from.id === "asker") asking = null;
  if (!event.detail.successful) {
    if (from.id === "editor") { busy = false; from.removeAttribute("inert"); }
    return;
  }
  byId("lost").hidden = true;
  markChanges();
  if (from.id === "editor") finish(from);
  if (askAgain) { askAgain = false; ask(); }
});

function finish(from) {
  const what = from.dataset.doing || "";
  const problems = byId("problems");
  if (what.startsWith("save")) {
    if (problems.dataset.saved) {
      saved = now = snapshot();
      // By the maker's own clock: the server may stand in another time zone.
      byId("state").dataset.at = `Saved at ${new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`;
      keep();
    } else {
      const first = problems.querySelector("a, button");
      if (first) first.focus();
    }
  } else if (brings(what)) {
    busy = false;
    const edit = readEdit(what);
    remember(wordsOf(edit, what), null);
    settleFocus(edit, from.dataset.focus);
  }
  show();
}

/* `parts-0-bands-up-1`: in which part, what, and which row of it. */
function readEdit(what) {
  const [, part, kind, action, row] = what.match(/^(?:parts-(\d+)-)?([a-z]+)-([a-z]+)(?:-(\d+))?$/) || [];
  return { list: part === undefined ? kind : `parts-${part}-${kind}`, kind, action, row: Number(row) };
}

const NOUNS = { bands: "band", outer: "point", inner: "point", parts: "part", laminates: "laminated segment" };
const DONE = { add: "added", remove: "removed", up: "moved up", down: "moved down", split: "split", merge: "merged", copy: "copied", mirror: "mirrored" };
const WHOLE = { lay: "layers laid", resize: "another size", profile: "profile taken", part: "part added" };
function wordsOf({ kind, action }, what) {
  const whole = WHOLE[what.split("-").pop()];
  if (whole) return whole;
  return NOUNS[kind] && DONE[action] ? `${NOUNS[kind]} ${DONE[action]}` : "change";
}

/* The keyboard goes on where it was: in the new row, on the moved one, or at the list. */
function settleFocus({ list, kind, action, row }, before) {
  if (action === undefined) { const again = byId(before) || byId(`parts-${shownPart()}-name`); if (again) again.focus(); return; }
  const moved = { up: row + 1, down: row - 1 }[action];
  const first = { bands: "name", parts: "name", laminates: "key" }[kind] || "height";
  const wanted = action === "add" ? byId(`${list}-${row}-${first}`)
    : moved !== undefined ? (usable(byId(`${list}-${action}-${moved}`)) || byId(`${list}-${moved}-${first}`))
    : byId(list);
  if (wanted) wanted.focus();
}
const usable = (button) => (button && !button.disabled ? button : null);

for (const trouble of ["htmx:sendError", "htmx:responseError", "htmx:timeout", "htmx:swapError"]) {
  document.body.addEventListener(trouble, (event) => {
    failed = true;
    busy = false;
    hideWorking();
    const loggedOut = event.detail.xhr && [401, 403].includes(event.detail.xhr.status);
    byId("lost-words").hidden = loggedOut;
    byId("out-words").hidden = !loggedOut;
    byId("lost").hidden = false;
    keep();
  });
}

/* Logging in anew, in another tab, changes the token that proves who asks: the newest one goes along. */
document.body.addEventListener("htmx:configRequest", (event) => {
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/);
  if (token) event.detail.parameters.csrfmiddlewaretoken = token[1];
});
window.addEventListener("online", () => { if (!byId("lost").hidden) ask(); });

/* A field that is wrong may stand in a part that is not looked at. */
function showPartOf(name) {
  const number = name.match(/^parts-(\d+)/);
  const tab = number && byId(`part-${number[1]}`);
  if (tab && !tab.checked) tab.checked = true;
}

board.addEventListener("click", (event) => {
  const link = event.target.closest('#problems a[href^="#"]');
  if (link) showPartOf(link.getAttribute("href").slice(1));
  const button = event.target.closest("button");
  if (button) {
    if (button.id === "undo") step(past, future);
    if (button.id === "redo") step(future, past);
    if (button.id === "again") ask();
    if (button.id === "bring-back") bringBack();
    if (button.id === "throw-away") { store.drop(localStorage, key); byId("kept").hidden = true; }
    return;
  }
  const drawn = event.target.closest("#picture [data-ring]"), ring = byId("ring");
  if (drawn && ring) { ring.value = drawn.dataset.ring; ask(); }
});

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.matches("input, textarea")) return;
  const letter = event.key.toLowerCase();
  if (letter === "z" && !event.shiftKey) { event.preventDefault(); step(past, future); }
  if (letter === "y" || (letter === "z" && event.shiftKey)) { event.preventDefault(); step(future, past); }
});

/* What an earlier visit typed and did not save. */
const kept = store.read(localStorage, key);
if (kept && kept.fields !== now) {
  byId("kept-words").textContent = `There are changes from ${new Date(kept.when).toLocaleString()} that were not saved.`;
  byId("kept").hidden = false;
}
narrow.addEventListener("change", () => { sayWidth(); ask(); });
function bringBack() {
  past.push({ fields: now, label: "what was brought back" });
  busy = true;
  showFields(kept.fields).finally(() => { busy = false; now = snapshot(); lastField = null; keep(); show(); });
}
show();
sayWidth();
if (narrow.matches) window.addEventListener("load", ask);
