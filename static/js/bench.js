// The bench page: one step a screen, timers, and taps that are kept here until the server has them.
//
// The server draws the page, whole; this lays what it does not know yet on top, and puts the server's next page in its
// place once that knows. Without this script every button is a plain form.

import * as clock from "./bench_clock.js";
import { showLots } from "./bench_lots.js";
import { keepPhoto, shrunk } from "./bench_photos.js";
import { newId, openQueue } from "./bench_queue.js";
import { actOf, mark, stepOf, stepsAfter, stepsOf } from "./bench_steps.js";
import { armBell, momentWords, ring, showTimers, timersOf } from "./bench_timers.js";

const bench = document.getElementById("bench");
const byId = (id) => document.getElementById(id);
const { who, zone, taps: TAPS, state: STATE, page: PAGE, login: LOGIN } = bench.dataset;
const ASK_EVERY = 30000, LOOK_EVERY = 5000, FIRST_RETRY = 3000, LAST_RETRY = 60000, ANSWER_WITHIN = 10000;
const WORDS = { start: "Start", end: "End", mixed: "Mixed", note: "Note", photo: "Photo", measure: "Measured", wrong: "It went wrong", lot: "Lot", undo: "Undo" };

let base = new Map();
let away = false, loggedOut = false, held = null, asking = null;
let retry = FIRST_RETRY, retryTimer = null;
const toldTaps = new Set();

const page = () => byId("bench-page");
const rendered = () => Date.parse(page().dataset.now);
const at = (ms) => momentWords(ms, zone);
const queue = openQueue({ who, address: TAPS, state: STATE, changed: refresh });
byId("timers").replaceChildren();
const timers = showTimers(byId("timers"), { zone, rang });

// ---- what is shown

function refresh() {
  const now = clock.now(), taps = queue.unseen(rendered()), steps = stepsAfter(base, taps, now);
  mark(page(), steps, at);
  showLots(page(), taps);
  timers.set(timersOf(steps, now, zone));
  tellState();
  tellRefused();
  keepAwake();
}

function part(tag, words, options = {}) {
  const made = document.createElement(tag);
  made.textContent = words;
  Object.assign(made, options);
  return made;
}
function button(words, act) {
  return part("button", words, { type: "button", className: "plain", onclick: act });
}

const nameOf = (tap) => {
  const act = WORDS[actOf(tap)] || "Tap", step = base.get(stepOf(tap));
  return `${act}${step ? `: ${step.name}` : tap.words ? `: ${tap.words}` : ""}, ${at(Date.parse(tap.at))}`;
};

/* One line: is there a connection, what is kept here, is there another plan. Nothing to say: nothing shown. */
function tellState() {
  const waiting = queue.waiting(), trouble = queue.trouble(), said = [];
  if (loggedOut || trouble === "login") {
    said.push(part("span", "You are logged out.", { className: "away" }), part("a", "Log in", { href: LOGIN }));
  } else if (away || trouble === "connection") {
    said.push(part("span", "No connection.", { className: "away" }), part("span", `The plan is as it stood at ${at(rendered())}.`));
  } else if (trouble === "server") {
    said.push(part("span", "The server did not take it; it is tried again.", { className: "away" }));
    const [first] = waiting;
    if (first?.failures > 2) said.push(button(`Set aside: ${nameOf(first)}`, () => { queue.setAside(first); queue.send(); }));
  }
  if (waiting.length) {
    said.push(part("strong", `Kept here, not sent yet: ${waiting.length}`));
    if (!queue.kept()) said.push(part("span", "This browser keeps nothing by itself: leave the page open until it is sent."));
    const last = waiting.at(-1);
    said.push(button(`Undo ${nameOf(last)}`, () => undo(last)));
  }
  if (held) said.push(part("span", "The plan has changed."), button("Show the new one", () => swap(held)));
  const line = byId("bench-state");
  // Said again only when it is something else: a screen reader would read it each time.
  const words = said.map((one) => one.textContent).join(" ");
  if (line.dataset.said === words) return;
  line.dataset.said = words;
  line.replaceChildren(...said);
}

function tellRefused() {
  byId("refused").replaceChildren(...queue.refused().map((tap) => {
    const row = document.createElement("li");
    const typed = tap.fields.filter(([name, value]) => (["note", "text", "height", "run_out"].includes(name) || /^(lot|use_by)_/.test(name)) && value).map(([, value]) => `“${value}”`);
    row.append(part("strong", nameOf(tap)), part("p", `Not done: ${tap.reason}`));
    if (typed.length) row.append(part("p", `You wrote ${typed.join(", ")}.`));
    row.append(button("I have read this", () => { queue.drop(tap); refresh(); }));
    return row;
  }));
}

/* What the server had to say: the last answer, and a verdict or a new date until it was read. */
function tellAnswers() {
  for (const tap of queue.unseen(0)) {
    if (tap.state !== "answered" || !tap.told || toldTaps.has(tap.id)) continue;
    toldTaps.add(tap.id);
    // What is to be thought about stays until it was read.
    const lasts = ["measure", "wrong"].includes(actOf(tap)) || tap.told.includes("past its use-by date");
    for (const old of byId("told").querySelectorAll(".brief")) old.remove();
    const notice = part("div", "", { className: lasts ? "notice" : "notice brief" });
    notice.append(part("p", tap.told));
    if (lasts) notice.append(button("I have read this", () => notice.remove()));
    byId("told").append(notice);
  }
}

// ---- one step a screen

function show(id, { focus = false } = {}) {
  const step = page().querySelector(`section.step[data-step="${CSS.escape(id)}"]`);
  for (const node of page().querySelectorAll(".shown")) node.classList.remove("shown");
  const target = step || byId("today");
  target.classList.add("shown");
  if (!focus) return;
  window.scrollTo(0, 0);
  target.focus({ preventScroll: true });
}
const wanted = () => location.hash.match(/^#step-(\d+)$/)?.[1] || "";

// ---- tapping

async function tapped(form, pressed) {
  armBell();
  const data = new FormData(form, pressed), file = data.get("photo"), id = newId();
  const fields = [...data].filter(([name, value]) => typeof value === "string" && !["csrfmiddlewaretoken", "uuid"].includes(name));
  const photo = file instanceof File && file.size > 0;
  if (photo) {
    try { await keepPhoto(id, await shrunk(file)); } catch {
      form.prepend(part("p", "This browser could not keep the photo. Nothing was sent; it is still chosen here.", { className: "notice error" }));
      return;
    }
  }
  queue.add(fields, { id, photo, words: form.dataset.words || "" });
  form.reset();
  form.closest("details")?.removeAttribute("open");
  send();
}

/* A tap that never left this device is simply taken out; of one that may have, the server is told. */
function undo(tap) {
  if (tap.tried) {
    queue.add([["act", "undo"], ["step", stepOf(tap)], ["tap", tap.id]], { words: nameOf(tap) });
    send();
  } else {
    queue.drop(tap);
    refresh();
  }
}

async function send() {
  clearTimeout(retryTimer);
  const had = queue.waiting().length > 0;
  await queue.send();
  tellAnswers();
  if (queue.waiting().length) {
    if (queue.trouble() !== "login") { retryTimer = setTimeout(send, retry); retry = Math.min(2 * retry, LAST_RETRY); }
  } else {
    retry = FIRST_RETRY;
    if (had) await renew();
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-tap]");
  if (!form) return;
  // Before the page's other script, which holds a form back without a connection.
  event.preventDefault();
  event.stopPropagation();
  tapped(form, event.submitter);
}, true);

// ---- keeping up with the server

const asks = { cache: "no-store", headers: { "HX-Request": "true" } };

/* The server's time, and whether the plan is still the one shown here. */
async function ask() {
  if (asking) return asking;
  asking = (async () => {
    const asked = Date.now();
    try {
      const answer = await fetch(STATE, { ...asks, signal: AbortSignal.timeout(ANSWER_WITHIN) });
      loggedOut = answer.status === 401 || answer.redirected;
      if (!answer.ok || loggedOut) return;
      const told = await answer.json();
      clock.heard(told.now, asked, Date.now());
      away = false;
      if (told.mark !== page().dataset.mark) await renew();
      if (queue.waiting().length) send();
    } catch { away = true; } finally { asking = null; refresh(); }
  })();
  return asking;
}

/* The page as the server has it now, in the place of this one; not under the hand of someone who is writing. */
async function renew() {
  let fresh = null;
  try {
    const answer = await fetch(PAGE, { cache: "no-store", signal: AbortSignal.timeout(ANSWER_WITHIN) });
    if (answer.redirected) { loggedOut = true; return; }
    if (!answer.ok) return;
    const whole = new DOMParser().parseFromString(await answer.text(), "text/html");
    // Somebody else has logged in here since: this page, and what waits on it, is not theirs.
    loggedOut = whole.getElementById("bench")?.dataset.who !== who;
    if (loggedOut) return;
    fresh = whole.getElementById("bench-page");
  } catch { away = true; return; } finally { refresh(); }
  // Without a connection the service worker hands out what it has kept, which is no news.
  if (!fresh || Date.parse(fresh.dataset.now) <= rendered()) return;
  const shown = page().querySelector("section.step.shown");
  const gone = shown && !fresh.querySelector(`section.step[data-step="${shown.dataset.step}"]`);
  if (!isWriting() && !gone) swap(fresh);
  else if (fresh.dataset.mark !== page().dataset.mark) { held = fresh; tellState(); }
}

function swap(fresh) {
  const open = page().querySelector("section.step.shown")?.dataset.step || "";
  const top = window.scrollY;
  held = null;
  page().replaceWith(document.adoptNode(fresh));
  taken();
  show(open);
  window.scrollTo(0, top);
}

function taken() {
  queue.seen(rendered());
  base = stepsOf(page());
  refresh();
}

function isWriting() {
  const typed = [...page().querySelectorAll("textarea, input:not([type=hidden], [type=radio], [type=checkbox])")].some((entry) => entry.value !== entry.defaultValue);
  return typed || Boolean(page().querySelector("details.more[open] form"));
}

// ---- bell and screen

function rang(timer) {
  ring();
  byId("bell").textContent = `${timer.over}: ${timer.name}`;
}

let lock = null;
/* The screen stays on while glue is open, where the browser lets a page ask for that. */
async function keepAwake() {
  const wanted = !document.hidden && timers.running() && byId("timers").querySelector(".urgent:not(.over)");
  try {
    if (wanted && !lock) {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } else if (!wanted && lock) await lock.release();
  } catch { /* then it sleeps, and the timers are right when it wakes */ }
}

// ---- begin

document.documentElement.classList.add("scripted");
window.addEventListener("hashchange", () => show(wanted(), { focus: true }));
window.addEventListener("online", () => { retry = FIRST_RETRY; ask(); });
window.addEventListener("offline", () => { away = true; refresh(); });
window.addEventListener("storage", (event) => { if (queue.isTap(event.key)) refresh(); });
document.addEventListener("visibilitychange", () => { if (!document.hidden) ask(); });
setInterval(() => { if (!document.hidden) ask(); }, ASK_EVERY);
// What sets ends, and what cures begins, without anybody tapping.
setInterval(refresh, LOOK_EVERY);
taken();
show(wanted() || page().querySelector('section.step[data-mine][data-state="running"]')?.dataset.step || "");
ask();
navigator.serviceWorker?.register(bench.dataset.worker, { scope: PAGE }).catch(() => {});
