// The curve edited on the drawing: its points are handles that are dragged, or moved with the arrow keys.
//
// The drawing is in mm, the axis at x = 0 and the rim at y = 0. The outside's points stand on the left half, which
// is drawn as turned; the inside's on the right half, which is drawn in section. Needs hands.js.
"use strict";

(() => {
  const SVG = "http://www.w3.org/2000/svg";
  const SIDES = { outer: { words: "outside", x: -1 }, inner: { words: "inside", x: 1 } };
  const TOUCH = 24, KNOB = 5.5, APART = 0.1;
  // A hand does not place a point to the tenth: drags go in half millimetres or sixty-fourths, with Alt in tenths of them.
  const DRAG = inInches ? FINE : 0.5;

  const make = (name, attributes = {}) => {
    const node = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    return node;
  };
  const layer = make("svg", { class: "hand-layer", role: "group", "aria-label": "Points of the curve" });
  const lines = Object.fromEntries(Object.keys(SIDES).map((side) => [side, { shown: make("path", { class: "hand-line" }), near: make("path", { class: "hand-near" }) }]));
  for (const { shown, near } of Object.values(lines)) layer.append(near, shown);
  const bar = document.getElementById("hand-bar");
  if (!bar) return;
  const find = (name) => bar.querySelector(`[data-part="${name}"]`);
  const handles = new Map();
  let top = 0, scale = 1, drag = null, chosen = null, seenDrawing = null;

  const picture = () => byId("picture");
  const drawn = () => picture()?.querySelector(".sheet > svg");
  const curveOf = (side) => `parts-${shownPart()}-${side}`;
  const fieldOf = (side, row, what) => byId(`${curveOf(side)}-${row}-${what}`);
  const isSmooth = () => typedIn(`parts-${shownPart()}-curve`) === "smooth";

  /* The points of a side that can be read, bottom up: row, height and diameter in mm, corner. */
  function pointsOf(side) {
    if (side === "inner" && typedIn(`parts-${shownPart()}-inside`) !== "curve") return [];
    const rows = Number(typedIn(curveOf(side))) || 0;
    const found = [];
    for (let row = 0; row < rows; row += 1) {
      const [height, diameter] = ["height", "diameter"].map((what) => readLength(fieldOf(side, row, what)?.value || ""));
      if (!Number.isNaN(height + diameter)) found.push({ side, row, height, diameter, corner: Boolean(fieldOf(side, row, "corner")?.checked) });
    }
    return found;
  }

  // ---- the curve between the points, for the eye until the drawing comes

  /* Slopes of a monotone cubic: Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304. */
  function slopes(steps, chords) {
    if (steps.length === 1) return [chords[0], chords[0]];
    const inner = steps.slice(1).map((step, i) => {
      if (chords[i] * chords[i + 1] <= 0) return 0;
      const [first, second] = [2 * step + steps[i], step + 2 * steps[i]];
      return (first + second) / (first / chords[i] + second / chords[i + 1]);
    });
    const last = steps.length - 1;
    return [endSlope(steps[0], steps[1], chords[0], chords[1]), ...inner, endSlope(steps[last], steps[last - 1], chords[last], chords[last - 1])];
  }
  function endSlope(near, next, chord, beyond) {
    const slope = ((2 * near + next) * chord - near * beyond) / (near + next);
    if (Math.sign(slope) !== Math.sign(chord)) return 0;
    return Math.sign(chord) !== Math.sign(beyond) && Math.abs(slope) > 3 * Math.abs(chord) ? 3 * chord : slope;
  }

  /* Bézier pieces through the points, which a cubic in height is exactly: [from, control, control, to] as [h, r]. */
  function piecesOf(points) {
    const at = points.map((point) => [point.height, point.diameter / 2]);
    if (at.length < 2) return [];
    const corner = points.map((point, i) => !isSmooth() || point.corner || i === 0 || i === points.length - 1);
    const pieces = [];
    for (let start = 0; start < at.length - 1;) {
      let end = start + 1;
      while (!corner[end]) end += 1;
      const run = at.slice(start, end + 1);
      const steps = run.slice(1).map(([h], i) => h - run[i][0]);
      const slope = slopes(steps, run.slice(1).map(([, r], i) => (r - run[i][1]) / steps[i]));
      steps.forEach((step, i) => {
        const [[h0, r0], [h1, r1]] = [run[i], run[i + 1]];
        pieces.push([[h0, r0], [h0 + step / 3, r0 + (slope[i] * step) / 3], [h1 - step / 3, r1 - (slope[i + 1] * step) / 3], [h1, r1]]);
      });
      start = end;
    }
    return pieces;
  }
  function radiusAt(points, height) {
    for (const [[h0, r0], [, r1], [, r2], [h1, r3]] of piecesOf(points)) {
      if (height > h1) continue;
      const t = (height - h0) / (h1 - h0), u = 1 - t;
      return u ** 3 * r0 + 3 * u * u * t * r1 + 3 * u * t * t * r2 + t ** 3 * r3;
    }
    return 0;
  }

  // ---- what stands on the drawing

  const written = (mm) => `${writeLength(mm)} ${board.dataset.unit}`;
  const nameOf = ({ side, row }) => `point ${row + 1} of the ${SIDES[side].words}`;
  const measuresOf = ({ height, diameter, corner }) => `height ${written(height)}, diameter ${written(diameter)}${corner && isSmooth() ? ", a corner" : ""}`;

  function place() {
    const svg = drawn();
    layer.toggleAttribute("hidden", !svg || !find("show").checked);
    if (!svg) return;
    const [box, outer] = [svg.getBoundingClientRect(), picture().getBoundingClientRect()];
    layer.setAttribute("viewBox", svg.getAttribute("viewBox"));
    Object.assign(layer.style, {
      left: `${box.left - outer.left + picture().scrollLeft - picture().clientLeft}px`,
      top: `${box.top - outer.top + picture().scrollTop - picture().clientTop}px`,
      width: `${box.width}px`, height: `${box.height}px`,
    });
    const { width, height } = svg.viewBox.baseVal;
    scale = Math.min(box.width / width, box.height / height) || 1;
  }

  function refresh() {
    const seen = new Set();
    for (const side of Object.keys(SIDES)) {
      const points = pointsOf(side);
      for (const point of points) { seen.add(`${side}-${point.row}`); setHandle(point, points); }
      const d = piecesOf(points).map((piece, i) => {
        const [from, ...to] = piece.map(([h, r]) => `${(SIDES[side].x * r).toFixed(3)},${(top - h).toFixed(3)}`);
        return `${i ? "" : `M${from}`}C${to.join(" ")}`;
      }).join("");
      for (const line of Object.values(lines[side])) line.setAttribute("d", d);
      lines[side].near.style.strokeWidth = 24 / scale;
    }
    for (const [key, handle] of handles) if (!seen.has(key)) { handle.node.remove(); handles.delete(key); }
    showChosen();
  }

  function setHandle(point, points) {
    const key = `${point.side}-${point.row}`;
    if (!handles.has(key)) handles.set(key, newHandle(key));
    const handle = handles.get(key);
    handle.point = point;
    const { node, hit, knob } = handle;
    const size = KNOB / scale;
    node.setAttribute("transform", `translate(${(SIDES[point.side].x * point.diameter) / 2},${top - point.height})`);
    hit.setAttribute("r", TOUCH / scale);
    const square = point.corner && isSmooth();
    knob.setAttribute("d", square ? `M${-size},${-size}H${size}V${size}H${-size}Z` : `M${-size},0a${size},${size} 0 1 1 ${2 * size},0a${size},${size} 0 1 1 ${-2 * size},0Z`);
    node.setAttribute("aria-label", nameOf(point));
    node.setAttribute("aria-valuetext", measuresOf(point));
    node.setAttribute("aria-valuenow", point.height.toFixed(3));
    node.setAttribute("aria-valuemin", "0");
    node.setAttribute("aria-valuemax", Math.max(...points.map(({ height }) => height), point.height).toFixed(3));
  }

  function newHandle(key) {
    const node = make("g", { class: "hand", role: "slider", tabindex: "0", "aria-orientation": "vertical", "data-hand": key });
    const hit = make("circle", { class: "hand-hit" }), knob = make("path", { class: "hand-knob" });
    node.append(hit, knob);
    node.addEventListener("focus", () => { chosen = key; showChosen(); });
    layer.append(node);
    return { node, hit, knob };
  }

  function showChosen() {
    const handle = handles.get(chosen);
    if (!handle) chosen = null;
    for (const [key, { node }] of handles) node.classList.toggle("chosen", key === chosen);
    const side = handle?.point.side;
    for (const [name, { shown }] of Object.entries(lines)) shown.classList.toggle("shown", name === side);
    find("point").textContent = handle ? `${nameOf(handle.point)}: ${measuresOf(handle.point)}`.replace(/^p/, "P") : "Drag a point, or choose one and use the arrow keys. A double click on the curve adds one.";
    for (const name of ["add", "remove", "corner"]) find(name).disabled = !handle;
    find("corner").hidden = !isSmooth();
    find("corner").setAttribute("aria-pressed", String(Boolean(handle?.point.corner)));
  }

  // ---- moving, adding, removing

  /* Writes a point's new place into its fields, kept between its neighbours; says whether anything changed. */
  function move(point, height, diameter) {
    const points = pointsOf(point.side), i = points.findIndex(({ row }) => row === point.row);
    const low = i > 0 ? points[i - 1].height + APART : 0, high = i + 1 < points.length ? points[i + 1].height - APART : Infinity;
    const to = { height: Math.min(Math.max(height, low), high), diameter: Math.max(diameter, 0) };
    let moved = false;
    for (const [what, mm] of Object.entries(to)) {
      if (Math.abs(mm - point[what]) < 1e-6) continue;
      fieldOf(point.side, point.row, what).value = writeLength(mm);
      moved = true;
    }
    if (moved) refresh();
    return moved;
  }

  function rowsChanged(side, label, change) {
    const curve = curveOf(side);
    const entries = handFields().flatMap(([name, value]) => {
      const found = name.startsWith(`${curve}-`) && name.slice(curve.length + 1).match(/^(\d+)-(.+)$/);
      if (!found) return [[name, value]];
      const row = change.rowOf(Number(found[1]));
      return row === null ? [] : [[`${curve}-${row}-${found[2]}`, value]];
    });
    const count = entries.find(([name]) => name === curve);
    count[1] = String(Number(count[1]) + change.by);
    entries.push(...(change.added || []).map(([name, value]) => [`${curve}-${name}`, value]));
    return handReplaced(entries, label);
  }

  function addAt(side, height) {
    const points = pointsOf(side), above = points.findIndex((point) => point.height > height + APART);
    if (above < 1 || height < points[above - 1].height + APART) { say("There is no room for a point there."); return; }
    const row = points[above].row, snapped = Math.round(height / DRAG) * DRAG;
    const at = snapped > points[above - 1].height + APART && snapped < points[above].height - APART ? snapped : height;
    const diameter = Math.round((2 * radiusAt(points, at)) / DRAG) * DRAG;
    const added = [[`${row}-height`, writeLength(at)], [`${row}-diameter`, writeLength(diameter)]];
    rowsChanged(side, "point added", { by: 1, rowOf: (old) => (old < row ? old : old + 1), added }).then((done) => {
      if (!done) return;
      focusOn(`${side}-${row}`);
      say(`Added ${nameOf({ side, row })}, ${measuresOf(handles.get(`${side}-${row}`).point)}.`);
    });
  }

  function addBeside({ side, row }) {
    const points = pointsOf(side), i = points.findIndex((point) => point.row === row);
    const other = points[i + 1] || points[i - 1];
    if (other) addAt(side, (points[i].height + other.height) / 2);
  }

  function remove({ side, row }) {
    if (pointsOf(side).length <= 2) { say("A curve needs two points."); find("point").textContent = "A curve needs two points."; return; }
    rowsChanged(side, "point removed", { by: -1, rowOf: (old) => (old === row ? null : old > row ? old - 1 : old) }).then((done) => {
      if (!done) return;
      focusOn(`${side}-${Math.max(row - 1, 0)}`);
      say(`Removed ${nameOf({ side, row })}.`);
    });
  }

  function toggleCorner(point) {
    const box = fieldOf(point.side, point.row, "corner");
    if (!box || !isSmooth()) return;
    box.checked = !box.checked;
    refresh();
    handChanged(`${box.checked ? "corner at" : "no corner at"} ${nameOf(point)}`);
    say(`${nameOf(point)}: ${box.checked ? "a corner" : "smooth"}`);
  }

  function focusOn(key) {
    refresh();
    handles.get(key)?.node.focus({ preventScroll: true });
  }

  // ---- hands

  const toDrawing = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(layer.getScreenCTM().inverse());
    return { x: at.x, y: at.y };
  };
  /* Where touch targets overlap, the nearest point is meant. */
  function nearest({ x, y }) {
    let best = null, least = Infinity;
    for (const handle of handles.values()) {
      const { side, height, diameter } = handle.point;
      const away = Math.hypot((SIDES[side].x * diameter) / 2 - x, top - height - y);
      if (away < least) [best, least] = [handle, away];
    }
    return best;
  }

  layer.addEventListener("pointerdown", (event) => {
    if (event.button || !event.target.closest(".hand") || drag || busy) return;
    event.preventDefault();
    const at = toDrawing(event), handle = nearest(at), { point } = handle;
    handle.node.focus({ preventScroll: true });
    drag = { id: event.pointerId, key: `${point.side}-${point.row}`, start: { ...point }, from: at, moved: false };
    layer.classList.add("dragging");
  });
  window.addEventListener("pointermove", (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    const handle = handles.get(drag.key);
    if (!handle) { drag = null; return; }
    const at = toDrawing(event), step = event.altKey ? DRAG / 10 : DRAG;
    const snap = (mm) => Math.round(mm / step) * step;
    const { side, height, diameter } = drag.start;
    const [up, wider] = [snap(drag.from.y - at.y), snap(2 * SIDES[side].x * (at.x - drag.from.x))];
    drag.moved = move(handle.point, height + up, diameter + wider) || drag.moved;
  });
  function release(event, keep) {
    if (!drag || (event.pointerId !== undefined && event.pointerId !== drag.id)) return;
    const { key, start, moved } = drag;
    drag = null;
    layer.classList.remove("dragging");
    const handle = handles.get(key);
    if (!moved || !handle) return;
    if (keep) { handChanged(`${nameOf(start)} moved`); return; }
    for (const what of ["height", "diameter"]) fieldOf(start.side, start.row, what).value = writeLength(start[what]);
    refresh();
  }
  window.addEventListener("pointerup", (event) => release(event, true));
  window.addEventListener("pointercancel", (event) => release(event, false));

  layer.addEventListener("dblclick", (event) => {
    const side = Object.keys(SIDES).find((name) => lines[name].near === event.target);
    if (side) addAt(side, top - toDrawing(event).y);
  });

  layer.addEventListener("keydown", (event) => {
    const handle = handles.get(event.target.closest(".hand")?.dataset.hand);
    if (event.key === "Escape" && drag) { release({}, false); return; }
    if (!handle || busy || event.ctrlKey || event.metaKey) return;
    const { point } = handle, step = FINE * (event.shiftKey ? 10 : event.altKey ? 0.1 : 1), out = SIDES[point.side].x;
    const moves = { ArrowUp: [step, 0], ArrowDown: [-step, 0], ArrowLeft: [0, -step * out], ArrowRight: [0, step * out] };
    const acts = { Delete: () => remove(point), Backspace: () => remove(point), c: () => toggleCorner(point), C: () => toggleCorner(point), "+": () => addBeside(point), Insert: () => addBeside(point) };
    if (moves[event.key]) {
      event.preventDefault();
      const [up, wider] = moves[event.key];
      if (move(point, point.height + up, point.diameter + wider)) handChanged(`${nameOf(point)} moved`, `hand-${point.side}-${point.row}`);
    } else if (acts[event.key]) {
      event.preventDefault();
      acts[event.key]();
    }
  });

  const withChosen = (act) => () => { const handle = handles.get(chosen); if (handle && !busy) act(handle.point); };
  find("add").addEventListener("click", withChosen(addBeside));
  find("remove").addEventListener("click", withChosen(remove));
  find("corner").addEventListener("click", withChosen(toggleCorner));
  find("show").addEventListener("change", (event) => { event.stopPropagation(); place(); });
  find("show").addEventListener("input", (event) => event.stopPropagation());

  // ---- keeping up with the page

  const sizes = new ResizeObserver(() => { place(); refresh(); });
  function redrawn() {
    sizes.disconnect();
    if (drawn()) sizes.observe(drawn());
    // A drawing that a refused piece has left standing keeps its own rim.
    if (!drag && drawn() !== seenDrawing) top = Math.max(0, ...pointsOf("outer").map(({ height }) => height));
    seenDrawing = drawn();
    layer.style.visibility = "";
    place();
    refresh();
  }
  keepInPicture(layer, (into) => into.append(layer));
  keepInPicture(bar, (into) => { into.querySelector(".sheet")?.after(bar); bar.hidden = !into.querySelector(".sheet > svg"); });
  document.addEventListener("board:redrawn", redrawn);
  document.body.addEventListener("htmx:afterSettle", () => { if (!drag) redrawn(); });
  board.addEventListener("input", () => { if (!drag) refresh(); });
  board.addEventListener("change", (event) => {
    // The drawing is of the part that was looked at until the other one comes.
    if (event.target.name === "part") layer.style.visibility = "hidden";
    else if (!drag) refresh();
  });
  redrawn();
})();
