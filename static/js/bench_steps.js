// The steps as the page has them, and with the taps on top that the page does not show yet.

const PASSIVE = new Set(["set", "press", "cure", "rest", "dry"]);
const field = (tap, name) => tap.fields.find(([key]) => key === name)?.[1] ?? "";
const moment = (text) => (text ? Date.parse(text) : 0);

/* The steps of a page by id; `after` are those that one waits for, as far as the page has them. */
export function stepsOf(page) {
  const found = new Map();
  for (const node of page.querySelectorAll("section.step")) {
    const { step, state, kind, name, minutes, started, mixed, ended, working, pot, after } = node.dataset;
    found.set(step, {
      id: step, state, kind, name, minutes: Number(minutes) || 0, started: moment(started), mixed: moment(mixed), ended: moment(ended),
      working: Number(working) || 0, pot: Number(pot) || 0, after: (after || "").split(" ").filter(Boolean),
      // Somebody has to begin it, or something that is not on the page comes first.
      held: "attended" in node.dataset || "blocked" in node.dataset,
    });
  }
  return found;
}

const endOf = (step) => step.started + step.minutes * 60000;
export const isPassive = (step) => PASSIVE.has(step.kind);

/* What the clock alone does: what is left alone ends by its minutes, and what is left alone next begins. As the server does it. */
function goOn(steps, now) {
  for (let moved = true; moved;) {
    moved = false;
    for (const step of steps.values()) {
      if (!isPassive(step)) continue;
      if (step.state === "running" && endOf(step) <= now) {
        Object.assign(step, { state: "done", ended: endOf(step) });
        moved = true;
      } else if (step.state === "waiting" && !step.held && step.after.length) {
        const before = step.after.map((id) => steps.get(id));
        if (!before.every((one) => one?.state === "done")) continue;
        Object.assign(step, { state: "running", started: Math.max(...before.map((one) => one.ended)) });
        moved = true;
      }
    }
  }
}

const ACTS = {
  start: (step, at) => Object.assign(step, { state: "running", started: at }),
  mixed: (step, at) => Object.assign(step, { mixed: at }),
  end: (step, at) => Object.assign(step, { state: "done", started: step.started || at, ended: at }),
  wrong: (step) => Object.assign(step, { state: "lost" }),
};

/* What a tap that the page shows already had done, taken back. */
function takenBack(act, step, steps) {
  if (act === "start") Object.assign(step, { state: "waiting", started: 0, mixed: 0 });
  if (act === "mixed") Object.assign(step, { mixed: 0 });
  if (act !== "end") return;
  Object.assign(step, { state: "running", ended: 0 });
  for (const other of steps.values()) {
    if (other.after.includes(step.id) && isPassive(other)) Object.assign(other, { state: "waiting", started: 0, ended: 0 });
  }
}

/* The steps after these taps, in their order, at this moment; a tap and its undo cancel out. */
export function stepsAfter(base, taps, now) {
  const steps = new Map([...base].map(([id, step]) => [id, { ...step }]));
  const here = new Set(taps.map((tap) => tap.id));
  const undone = new Set(taps.filter((tap) => field(tap, "act") === "undo").map((tap) => field(tap, "tap")));
  for (const tap of taps) {
    const act = field(tap, "act"), step = steps.get(field(tap, "step")), at = Date.parse(tap.at);
    if (!step || undone.has(tap.id)) continue;
    goOn(steps, at);
    if (act === "undo") {
      if (!here.has(field(tap, "tap"))) takenBack(field(tap, "undoes_act"), step, steps);
    } else ACTS[act]?.(step, at);
  }
  goOn(steps, now);
  return steps;
}

/* Marks the page with the steps as they stand, for the style sheet to show what can be pressed. */
export function mark(page, steps, words) {
  for (const node of page.querySelectorAll("[data-step]")) {
    const step = steps.get(node.dataset.step);
    if (!step) continue;
    node.dataset.state = step.state;
    if (!node.matches("section.step")) continue;
    node.dataset.mixed = step.mixed ? new Date(step.mixed).toISOString() : "";
    for (const name of ["started", "mixed", "ended"]) {
      for (const place of node.querySelectorAll(`[data-at="${name}"]`)) place.textContent = step[name] ? words(step[name]) : "";
    }
  }
}

export const actOf = (tap) => field(tap, "act");
export const stepOf = (tap) => field(tap, "step");
