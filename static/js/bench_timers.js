// Timers at the bench: pot life, set, press, cure. Each is two moments that the server keeps; what is left is reckoned
// from the clock whenever it is shown, so that sleep, a reload or a server that was down change nothing.

import * as clock from "./bench_clock.js";
import { isPassive } from "./bench_steps.js";

const MINUTE = 60000;
const WORDS = { set: "Sets", press: "In the press", cure: "Cures", rest: "Rests", dry: "Dries" };
const OVER = { set: "Set", press: "Pressed", cure: "Cured", rest: "Rested", dry: "Dry" };
// What ended longer ago than this was heard, or slept through: it is shown, but no longer sounds.
const LATE = 10 * MINUTE;
const NEWS = 30 * MINUTE;

/* The timers of steps (a Map) as they stand: { key, step, name, words, over, from, until, urgent, more }, times in ms. */
export function timersOf(steps, now, zone) {
  const found = [];
  for (const step of steps.values()) found.push(...(isPassive(step) ? waitOf(step, steps, now) : potLifeOf(step, zone, now)));
  return found.sort((one, other) => other.urgent - one.urgent || one.until - other.until);
}

/* First the working time, and when that is over the pot life. */
function potLifeOf(step, zone, now) {
  if (step.state !== "running" || !step.mixed || !step.pot) return [];
  const about = { step: step.id, name: step.name, from: step.mixed, urgent: true };
  const until = step.mixed + step.working * MINUTE, pot = step.mixed + step.pot * MINUTE;
  if (now < until) return [{ ...about, key: `${step.id} work ${until}`, words: "Close the joints within", until, over: "Working time is over", more: `pot life until ${momentWords(pot, zone)}` }];
  return [{ ...about, key: `${step.id} pot ${pot}`, words: "Working time is over. Pot life", until: pot, over: "Pot life is over: throw the mix away" }];
}

/* `Set: layers 2 to 4` without what the timer says anyway. */
const bare = (name) => name.replace(/^(Set|Press|Cure): /, "");

function waitOf(step, steps, now) {
  if (!step.started || !["running", "done"].includes(step.state) || (step.state === "done" && !isNews(step, steps, now))) return [];
  const until = step.state === "done" ? step.ended : step.started + step.minutes * MINUTE;
  return [{ key: `${step.id} ${step.kind} ${until}`, step: step.id, name: bare(step.name), words: WORDS[step.kind] || "Wait", from: step.started, until, over: OVER[step.kind] || "Over", urgent: false }];
}

/* What has set or cured is shown until somebody goes on with it; where nobody has to, for a while. */
function isNews(step, steps, now) {
  if (now - step.ended < NEWS) return true;
  const next = [...steps.values()].filter((other) => other.after.includes(step.id));
  return next.length > 0 && next.every((other) => other.state === "waiting");
}

/* `1:02:05`, `4:07`; whole seconds, rounded up, so that 0:00 means over. */
export function written(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  const two = (figure) => String(figure).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/* `14:32` in the bench's time zone, with the day where it is another one. */
export function momentWords(ms, zone) {
  const day = (at) => new Intl.DateTimeFormat("en-CA", { timeZone: zone }).format(at);
  const time = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" }).format(ms);
  if (day(ms) === day(clock.now())) return time;
  return `${new Intl.DateTimeFormat("en-GB", { timeZone: zone, weekday: "short", day: "numeric", month: "short" }).format(ms)}, ${time}`;
}

/* Keeps a list (a `ul`) of timers up to date; `rang` is told of each as it ends. */
export function showTimers(list, { zone, rang }) {
  const rows = new Map();
  let timers = [];

  function row(timer) {
    const node = document.createElement("li");
    node.className = "timer";
    const part = (tag, name) => { const made = document.createElement(tag); made.className = name; node.append(made); return made; };
    const parts = { words: part("span", "timer-words"), left: part("strong", "timer-left"), name: part("a", "timer-name"), until: part("span", "timer-until"), bar: part("span", "timer-bar") };
    parts.left.setAttribute("role", "timer");
    parts.bar.append(document.createElement("span"));
    parts.bar.setAttribute("aria-hidden", "true");
    return { node, ...parts };
  }

  function fill(made, timer, at) {
    const left = timer.until - at, over = left <= 0;
    made.node.classList.toggle("over", over);
    made.node.classList.toggle("urgent", timer.urgent);
    made.node.dataset.until = new Date(timer.until).toISOString();
    made.words.textContent = over ? timer.over : timer.words;
    made.left.textContent = over ? `${written(-left)} ago` : written(left);
    made.name.textContent = timer.name;
    made.name.href = `#step-${timer.step}`;
    made.until.textContent = `${over ? "since" : "until"} ${momentWords(timer.until, zone)}${timer.more && !over ? `; ${timer.more}` : ""}`;
    made.bar.firstChild.style.width = `${100 * Math.min(1, Math.max(0, (at - timer.from) / Math.max(1, timer.until - timer.from)))}%`;
  }

  function tick() {
    const at = clock.now();
    for (const timer of timers) {
      fill(rows.get(timer.key), timer, at);
      if (at >= timer.until && !hasRung(timer.key)) {
        setRung(timer.key);
        if (at - timer.until < LATE) rang(timer);
      }
    }
  }

  /* These and no others from now on. */
  function set(wanted) {
    timers = wanted;
    for (const [key, made] of rows) if (!timers.some((timer) => timer.key === key)) { made.node.remove(); rows.delete(key); }
    for (const timer of timers) {
      if (!rows.has(timer.key)) rows.set(timer.key, row(timer));
      list.append(rows.get(timer.key).node);
    }
    list.hidden = timers.length === 0;
    tick();
  }

  setInterval(tick, 250);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
  return { set, running: () => timers.some((timer) => timer.until > clock.now()) };
}

// ---- the bell

const RUNG = "bench rung";
const fresh = () => { try { return new Set(JSON.parse(localStorage.getItem(RUNG))); } catch { return new Set(); } };
const rung = fresh();
// Two windows of one device ring together at the most; a reload does not ring again.
const hasRung = (key) => rung.has(key);
function setRung(key) {
  rung.add(key);
  try { localStorage.setItem(RUNG, JSON.stringify([...rung].slice(-200))); } catch { /* it may ring again after a reload */ }
}

let sound = null;
/* Browsers are silent until something was pressed: called by the first tap. */
export function armBell() {
  try {
    sound ||= new AudioContext();
    if (sound.state === "suspended") sound.resume().catch(() => {});
  } catch { /* then it is seen, not heard */ }
}

/* Three rising strokes, and a shake where the device can. */
export function ring() {
  try { navigator.vibrate?.([300, 150, 300, 150, 600]); } catch { /* not every browser lets a page do that */ }
  if (!sound || sound.state !== "running") return;
  [660, 880, 1100].forEach((pitch, stroke) => {
    const tone = sound.createOscillator(), loudness = sound.createGain(), at = sound.currentTime + stroke * 0.45;
    tone.frequency.value = pitch;
    loudness.gain.setValueAtTime(0.0001, at);
    loudness.gain.exponentialRampToValueAtTime(0.5, at + 0.03);
    loudness.gain.exponentialRampToValueAtTime(0.0001, at + 0.4);
    tone.connect(loudness).connect(sound.destination);
    tone.start(at);
    tone.stop(at + 0.42);
  });
}
