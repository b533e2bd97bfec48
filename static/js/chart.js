// The chart painter: a band unrolled, a row a layer with the top one first, a column a segment, each cell of a wood.
//
// What is painted stands as JSON in the band's hidden field: {"legend": {"m": "maple"}, "rows": ["mm"]}, rows bottom
// up. Its words are in templates/designs/painter.html. Needs hands.js.
"use strict";

const MOST_CELLS = 20000;
const painters = new Map();

class Painter {
  constructor(details) {
    this.details = details;
    this.name = details.dataset.painter;
    this.row = this.name.replace(/-chart$/, "");
    this.band = details.closest(".band");
    details.append(byId("painter-parts").content.cloneNode(true));
    this.find = (part) => details.querySelector(`[data-part="${part}"]`);
    // A new editor brings new painters, which go on where the old ones were.
    const { at, chosen, extra, details: before } = painters.get(this.name) || {};
    Object.assign(this, { at: at || { layer: 0, segment: 0 }, chosen, extra, block: null });
    painters.set(this.name, this);
    this.listen();
    details.hidden = false;
    details.open = Boolean(before?.open);
    details.classList.toggle("lettered", Boolean(before?.classList.contains("lettered")));
    details.querySelector('[data-do="letters"]').setAttribute("aria-pressed", String(details.classList.contains("lettered")));
    this.show();
  }

  get field() { return byId(this.name); }
  get sliced() { return typedIn(`${this.row}-made`) === "sliced"; }
  get layers() { return typedIn(`${this.row}-made`) === "staves" ? 1 : Number(typedIn(`${this.row}-layers`)) || 0; }
  get segments() { return Number(typedIn(`${this.row}-segments`)) || 0; }
  get called() { return (this.band.querySelector("legend span")?.textContent || "band").trim(); }

  /* The woods there are, laminated segments too: key, name and colour. */
  get woods() {
    const select = this.band.querySelector('select[name*="-wood-"]');
    return [...select.options].filter(({ value }) => value).map((option) => ({ key: option.value, name: option.text, colour: option.dataset.colour || "" }));
  }
  woodOf(key) { return this.woods.find((wood) => wood.key === key) || { key, name: key, colour: "" }; }

  // ---- the chart as it stands in the field

  read() {
    this.cells = null;
    this.letters = new Map();
    try {
      const chart = JSON.parse(this.field.value);
      for (const [letter, key] of Object.entries(chart.legend)) this.letters.set(key, letter);
      const rows = chart.rows.map((row) => [...row].map((letter) => chart.legend[letter]));
      this.cells = fitted(rows, this.layers, this.segments);
    } catch { /* none yet, or none that can be read: it can be begun anew */ }
    for (const key of this.extra || []) this.letterOf(key);
  }

  /* The letter of a wood: one it begins with where that is free, else any that is. */
  letterOf(key) {
    if (!this.letters.has(key)) {
      const taken = new Set(this.letters.values());
      const free = [...key, ..."abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"].find((letter) => /[a-z]/i.test(letter) && !taken.has(letter));
      this.letters.set(key, free || String.fromCharCode(0x3b1 + this.letters.size));
    }
    return this.letters.get(key);
  }

  written() {
    const used = new Set(this.cells.flat());
    const legend = Object.fromEntries([...this.letters].filter(([key]) => used.has(key)).map(([key, letter]) => [letter, key]));
    return JSON.stringify({ legend, rows: shortest(this.cells).map((row) => row.map((key) => this.letterOf(key)).join("")) });
  }

  commit(label) {
    if (this.sliced) this.cells = this.cells.map(() => this.cells[this.at.layer] || this.cells[0]);
    const value = this.written();
    if (value !== this.field.value) {
      this.field.value = value;
      handChanged(`${label}, ${this.called}`);
    }
    this.paintAll();
  }

  // ---- what is shown

  show() {
    this.read();
    const much = this.layers * this.segments > MOST_CELLS;
    this.find("start").hidden = Boolean(this.cells) || much;
    this.find("much").hidden = !much;
    this.find("work").hidden = !this.cells || much;
    this.find("sliced").hidden = !this.sliced;
    if (!this.details.open || !this.cells || much) return;
    this.chosen = this.letters.has(this.chosen) ? this.chosen : this.cells[0]?.[0];
    this.at = { layer: Math.min(this.at.layer, this.cells.length - 1), segment: Math.min(this.at.segment, this.segments - 1) };
    this.showPalette();
    this.build();
  }

  showPalette() {
    const keys = [...this.letters.keys()];
    this.find("woods").replaceChildren(...keys.map((key) => {
      const button = document.createElement("button"), swatch = document.createElement("span"), wood = this.woodOf(key);
      Object.assign(button, { type: "button", className: "painter-wood" });
      swatch.className = "swatch";
      swatch.style.background = wood.colour;
      button.dataset.wood = key;
      button.setAttribute("aria-pressed", String(key === this.chosen));
      button.append(swatch, `${wood.name}, ${this.letterOf(key)}`);
      return button;
    }));
    const rest = this.woods.filter(({ key }) => !this.letters.has(key)).map(({ key, name }) => new Option(name, key));
    this.find("another").replaceChildren(new Option("another wood …", ""), ...rest);
  }

  build() {
    const grid = this.find("grid");
    grid.setAttribute("aria-label", `${this.called}, ${this.cells.length} layers of ${this.segments} segments, the top layer first`);
    const head = document.createElement("tr");
    head.append(document.createElement("td"), ...Array.from({ length: this.segments }, (_, i) => headed(i + 1, "col")));
    const rows = [...this.cells.keys()].reverse().map((layer) => {
      const line = document.createElement("tr");
      line.append(headed(layer + 1, "row"), ...this.cells[layer].map((_, segment) => {
        const cell = document.createElement("td");
        Object.assign(cell.dataset, { layer, segment });
        cell.setAttribute("role", "gridcell");
        cell.append(document.createElement("span"));
        return cell;
      }));
      return line;
    });
    grid.replaceChildren(head, ...rows);
    this.spots = new Map([...grid.querySelectorAll("[data-layer]")].map((cell) => [`${cell.dataset.layer}-${cell.dataset.segment}`, cell]));
    this.paintAll();
  }

  spot({ layer, segment }) { return this.spots?.get(`${layer}-${segment}`); }

  paintAll() {
    this.cells.forEach((row, layer) => row.forEach((_, segment) => this.paintSpot(layer, segment)));
    this.showPalette();
  }

  paintSpot(layer, segment) {
    const cell = this.spot({ layer, segment }), key = this.cells[layer][segment];
    if (!cell) return;
    if (cell.dataset.wood !== key) {
      const wood = this.woodOf(key), letter = this.letterOf(key);
      cell.dataset.wood = key;
      cell.style.background = wood.colour;
      cell.classList.toggle("dark", isDark(wood.colour));
      cell.firstChild.textContent = letter;
      cell.setAttribute("aria-label", `layer ${layer + 1}, segment ${segment + 1}: ${wood.name}, ${letter}`);
    }
    cell.tabIndex = layer === this.at.layer && segment === this.at.segment ? 0 : -1;
    const { block } = this;
    const marked = Boolean(block) && inside(layer, block.layers) && inside(segment, block.segments);
    cell.classList.toggle("marked", marked);
    if (block) cell.setAttribute("aria-selected", String(marked));
    else cell.removeAttribute("aria-selected");
  }

  goTo(layer, segment, { mark = false, focus = true } = {}) {
    const to = { layer: Math.min(Math.max(layer, 0), this.cells.length - 1), segment: Math.min(Math.max(segment, 0), this.segments - 1) };
    if (mark) {
      this.from = this.block ? this.from : { ...this.at };
      this.block = { layers: ordered(this.from.layer, to.layer), segments: ordered(this.from.segment, to.segment) };
    }
    this.at = to;
    this.paintAll();
    if (focus) this.spot(to)?.focus();
  }

  set(layer, segment, key = this.chosen) {
    for (const each of this.sliced ? this.cells.keys() : [layer]) {
      this.cells[each][segment] = key;
      this.paintSpot(each, segment);
    }
  }

  tell(words) { this.find("said").textContent = words; }

  // ---- what can be done

  get area() { return this.block || { layers: [this.at.layer, this.at.layer], segments: [this.at.segment, this.at.segment] }; }
  fill(layers, segments) { each(layers, (layer) => each(segments, (segment) => this.set(layer, segment))); }

  acts = {
    start: () => {
      const woods = [...this.band.querySelectorAll('.woods select')].map(({ value }) => value).filter(Boolean);
      if (!this.layers || !this.segments || !woods.length || this.segments % woods.length) {
        this.tell("Give the band layers, segments and woods that divide them first.");
        return;
      }
      for (const key of woods) this.letterOf(key);
      this.cells = fitted([woods], this.layers, this.segments);
      this.field.value = this.written();
      handChanged(`made a chart, ${this.called}`);
      this.show();
      this.spot(this.at)?.focus();
    },
    plain: () => {
      const pattern = shortest([this.cells[0]])[0];
      const entries = handFields().filter(([name]) => !name.startsWith(`${this.row}-wood-`)).map(([name, value]) => {
        if (name === this.name) return [name, ""];
        return name === `${this.row}-woods` ? [name, String(pattern.length + 1)] : [name, value];
      });
      entries.push(...pattern.map((key, number) => [`${this.row}-wood-${number}`, key]));
      handReplaced(entries, `plain woods, ${this.called}`);
    },
    row: () => { each(this.area.layers, (layer) => this.fill([layer, layer], [0, this.segments - 1])); this.commit("row filled"); },
    column: () => { this.fill([0, this.cells.length - 1], this.area.segments); this.commit("column filled"); },
    block: () => { this.fill(this.area.layers, this.area.segments); this.commit("block filled"); },
    all: () => { this.fill([0, this.cells.length - 1], [0, this.segments - 1]); this.commit("all cleared"); },
    on: () => this.shift(1),
    back: () => this.shift(-1),
    round: () => {
      const { layers, segments: [first, last] } = this.area, wide = last - first + 1;
      each(layers, (layer) => {
        const part = this.cells[layer].slice(first, last + 1);
        this.cells[layer] = this.cells[layer].map((_, segment) => part[(((segment - first) % wide) + wide) % wide]);
      });
      this.commit("repeated round");
      if (this.segments % wide) this.tell(`${wide} segments do not go evenly into ${this.segments}: the last repeat is cut short.`);
    },
    up: () => {
      const { layers: [first, last], segments } = this.area, tall = last - first + 1;
      for (let layer = last + 1; layer < this.cells.length; layer += 1) {
        each(segments, (segment) => { this.cells[layer][segment] = this.cells[first + ((layer - first) % tall)][segment]; });
      }
      this.commit("repeated upwards");
    },
    letters: () => {
      const on = this.details.classList.toggle("lettered");
      this.details.querySelector('[data-do="letters"]').setAttribute("aria-pressed", String(on));
    },
    mark: () => {
      this.marking = !this.marking;
      if (!this.marking) this.block = null;
      this.details.querySelector('[data-do="mark"]').setAttribute("aria-pressed", String(this.marking));
      this.paintAll();
    },
    save: () => savedChart(this),
  };

  shift(by) {
    each(this.area.layers, (layer) => {
      const row = this.cells[layer];
      this.cells[layer] = row.map((_, segment) => row[(segment - by + row.length) % row.length]);
    });
    this.commit(by > 0 ? "row moved on" : "row moved back");
  }

  choose(key) {
    this.chosen = key;
    this.showPalette();
    this.tell(`${this.woodOf(key).name} is chosen.`);
  }

  takeIn(chart, label) {
    this.cells = chart;
    this.commit(label);
    this.show();
  }

  // ---- hands and keys

  listen() {
    const { details } = this;
    // Nothing here is a field of the design but the hidden one, which says itself when it has changed.
    for (const kind of ["input", "change"]) details.addEventListener(kind, (event) => event.stopPropagation());
    details.addEventListener("toggle", () => this.show());
    details.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button || busy) return;
      if (button.dataset.wood) {
        const { wood } = button.dataset;
        this.choose(wood);
        [...this.find("woods").children].find((other) => other.dataset.wood === wood)?.focus();
      } else this.acts[button.dataset.do]?.();
    });
    this.find("another").addEventListener("change", ({ target }) => {
      if (!target.value) return;
      this.extra = [...(this.extra || []), target.value];
      this.letterOf(target.value);
      this.choose(target.value);
    });
    this.find("csv").addEventListener("change", ({ target }) => { readCsv(this, target.files[0]).finally(() => { target.value = ""; }); });
    this.find("picture").addEventListener("change", ({ target }) => { readPicture(this, target.files[0]).finally(() => { target.value = ""; }); });
    this.find("grid").addEventListener("keydown", (event) => this.key(event));
    this.find("grid").addEventListener("focusin", ({ target }) => {
      const { layer, segment } = target.dataset;
      if (layer !== undefined) this.at = { layer: Number(layer), segment: Number(segment) };
    });
    this.find("grid").addEventListener("pointerdown", (event) => this.press(event));
  }

  press(event) {
    const cell = event.target.closest("[data-layer]");
    if (!cell || event.button || busy) return;
    event.preventDefault();
    const mark = event.shiftKey || this.marking, label = mark ? "" : "painted";
    const at = (spot) => [Number(spot.dataset.layer), Number(spot.dataset.segment)];
    if (mark && !event.shiftKey) this.block = null;
    if (!mark) this.block = null;
    if (mark && !this.block) this.goTo(...at(cell), { focus: false });
    this.goTo(...at(cell), { mark });
    if (!mark) this.set(...at(cell));
    const move = (moved) => {
      const under = document.elementFromPoint(moved.clientX, moved.clientY)?.closest("[data-layer]");
      if (!under || !this.find("grid").contains(under)) return;
      if (mark) this.goTo(...at(under), { mark: true, focus: false });
      else this.set(...at(under));
    };
    const done = () => {
      window.removeEventListener("pointermove", move);
      for (const kind of ["pointerup", "pointercancel"]) window.removeEventListener(kind, done);
      if (label) this.commit(label);
    };
    window.addEventListener("pointermove", move);
    for (const kind of ["pointerup", "pointercancel"]) window.addEventListener(kind, done);
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || busy || !event.target.closest("[data-layer]")) return;
    const { layer, segment } = this.at;
    const places = {
      ArrowUp: [layer + 1, segment], ArrowDown: [layer - 1, segment], ArrowLeft: [layer, segment - 1], ArrowRight: [layer, segment + 1],
      Home: [layer, 0], End: [layer, this.segments - 1], PageUp: [layer + 10, segment], PageDown: [layer - 10, segment],
    };
    const wood = [...this.letters].find(([, letter]) => letter === event.key);
    if (places[event.key]) {
      if (!event.shiftKey) this.block = null;
      this.goTo(...places[event.key], { mark: event.shiftKey });
    } else if (event.key === " " || event.key === "Enter") {
      if (this.block) this.acts.block();
      else { this.set(layer, segment); this.commit("painted"); }
    } else if (event.key === "Escape" && this.block) { this.block = null; this.paintAll(); }
    else if (wood) this.choose(wood[0]);
    else return;
    event.preventDefault();
  }
}

// ---- rows

/* Rows repeated upwards and round, or cut, to so many layers and segments. */
function fitted(rows, layers, segments) {
  if (!rows.length || rows.some((row) => !row.length)) return null;
  return Array.from({ length: layers }, (_, layer) => {
    const row = rows[layer % rows.length];
    return Array.from({ length: segments }, (__, segment) => row[segment % row.length]);
  });
}

/* As much of the rows as begins again round the ring: a chart then stands other numbers of segments. */
function shortest(rows) {
  const wide = rows[0].length;
  const repeats = (length) => rows.every((row) => row.every((key, i) => key === row[i % length]));
  for (let length = 1; length < wide; length += 1) if (wide % length === 0 && repeats(length)) return rows.map((row) => row.slice(0, length));
  return rows;
}

function headed(number, scope) {
  const head = document.createElement("th");
  head.scope = scope;
  head.setAttribute("role", scope === "row" ? "rowheader" : "columnheader");
  head.textContent = number;
  return head;
}

// ---- on the page

function findPainters() {
  for (const details of document.querySelectorAll("details[data-painter]:not([data-ready])")) {
    details.dataset.ready = "yes";
    new Painter(details);
  }
}

/* Other numbers of layers or segments: the chart goes along, in the same step. What was cut comes back while typing goes on. */
let uncut = null;
document.addEventListener("focusin", () => { uncut = null; });
document.addEventListener("input", ({ target }) => {
  const found = target.name?.match(/^(parts-\d+-bands-\d+)-(layers|segments)$/);
  const painter = found && painters.get(`${found[1]}-chart`);
  if (!painter?.field?.value) return;
  uncut ??= JSON.parse(JSON.stringify(painter.cells || []));
  if (!painter.layers || !painter.segments || !uncut.length) return;
  painter.cells = fitted(shortest(uncut), painter.layers, painter.segments);
  painter.field.value = painter.written();
  painter.show();
}, true);
board.addEventListener("change", ({ target }) => {
  if (/^parts-\d+-bands-\d+-made$/.test(target.name || "")) painters.get(target.name.replace(/made$/, "chart"))?.show();
});
document.body.addEventListener("htmx:afterSettle", findPainters);
