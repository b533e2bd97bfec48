// The piece in the round, wherever a page has a place for it (templates/designs/solid.html).
//
// The still drawing that stands there stays until the model is shown, and for good in a browser without WebGL.
// A page whose draft has changed sends the figure a `solid-changed` event, with the form's data as its detail:
//   figure.dispatchEvent(new CustomEvent("solid-changed", { detail: new FormData(form) }))
// and the model is asked for again, by POST with that data; without a detail, by GET.
//
// A figure may leave parts out: one without `measures` tells nothing of its segments, one with a `show` button brings
// the model only once that is pressed, and radio buttons with `data-model` choose between several pieces.

const WORDS = {
  loading: "The model is being made …",
  shown: "Drag to turn it; click a segment to see its measures.",
  cannot: "This browser shows no models, so the drawing stands in for it. All measures are with the drawing and the estimate.",
  still: "",
  failed: "The model did not arrive; the drawing stands in for it.",
};
const TURN = Math.PI / 12;

class Solid {
  constructor(figure) {
    this.figure = figure;
    this.find = (name) => figure.querySelector(`[data-part="${name}"]`);
    this.measures = this.read();
    this.canvas = this.find("canvas");
    this.asked = 0;
    this.data = null;
    figure.addEventListener("solid-changed", (event) => {
      // The page has put the measures of the new draft in the place of the old ones.
      this.data = event.detail;
      this.measures = this.read();
      this.load();
    });
    if (this.find("show")) { this.waitToBeAsked(); return; }
    // A hidden figure, or one far down the page, waits: the model and its program are a few hundred kilobytes.
    new IntersectionObserver((seen, watch) => {
      if (!seen.some((entry) => entry.isIntersecting)) return;
      watch.disconnect();
      this.start();
    }, { rootMargin: "200px" }).observe(figure);
  }

  read() {
    const told = this.find("measures")?.querySelector("script");
    return told ? JSON.parse(told.textContent) : { layers: {}, rings: {} };
  }

  waitToBeAsked() {
    const asking = this.find("ask");
    asking.hidden = false;
    this.find("show").addEventListener("click", async () => {
      asking.hidden = true;
      await (this.stage ? this.load() : this.start());
      if (this.figure.dataset.state === "shown") this.canvas.focus();
    });
    this.find("back").addEventListener("click", () => {
      this.asked += 1; // a model that is still on its way is overtaken
      this.say("still");
      asking.hidden = false;
      this.find("show").focus();
    });
  }

  say(state) {
    this.figure.dataset.state = state;
    const shown = state === "shown";
    this.find("said").textContent = (shown && this.figure.dataset.shown) || WORDS[state];
    this.canvas.hidden = this.find("controls").hidden = !shown;
    this.find("still").hidden = shown;
    if (shown) this.stage.resize();
  }

  async start() {
    if (!document.createElement("canvas").getContext("webgl2")) { this.say("cannot"); return; }
    this.say("loading");
    try {
      const [{ Stage }, { readModel }] = await Promise.all([import("./solid/stage.js"), import("./solid/model.js")]);
      this.readModel = readModel;
      const style = getComputedStyle(document.documentElement);
      const [ground, ink, mark] = ["--sheet", "--ink", "--press"].map((name) => style.getPropertyValue(name).trim());
      const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
      this.stage = new Stage(this.canvas, { ground, ink, mark, still });
    } catch (error) {
      console.warn(error);
      this.say("cannot");
      return;
    }
    this.canvas.addEventListener("drawn", ({ detail }) => Object.assign(this.figure.dataset, detail));
    this.canvas.addEventListener("webglcontextlost", () => this.say("cannot"));
    this.listen();
    await this.load();
  }

  /** Asks for the model and shows it; an answer that a newer question has overtaken is left lying. */
  async load() {
    if (!this.stage) return;
    this.asked += 1;
    const mine = this.asked;
    const wanted = [this.fetched(this.figure.dataset.solid)];
    if (this.find("glued")?.checked) wanted.push(this.fetched(this.figure.dataset.glued));
    try {
      const models = await Promise.all(wanted);
      if (mine !== this.asked) return;
      [this.model] = models;
      this.stage.show(...models);
      if (this.find("apart")) this.stage.apart = this.find("apart").value / 100;
      this.pick(this.chosen?.layer, this.chosen?.segment);
      this.say("shown");
    } catch (error) {
      if (mine === this.asked) { console.warn(error); this.say("failed"); }
    }
  }

  async fetched(address) {
    const how = this.data ? { method: "POST", body: this.data } : {};
    const answer = await fetch(address, { ...how, headers: { Accept: "model/gltf-binary" } });
    if (!answer.ok) throw new Error(`the model was answered with ${answer.status}`);
    return this.readModel(await answer.arrayBuffer());
  }

  listen() {
    const { stage } = this;
    const on = (name, kind, act) => this.find(name)?.addEventListener(kind, act);
    const moves = {
      left: { turn: -TURN }, right: { turn: TURN }, up: { tilt: TURN }, down: { tilt: -TURN },
      nearer: { near: 1.25 }, farther: { near: 0.8 },
    };
    for (const [name, move] of Object.entries(moves)) on(name, "click", () => stage.move(move));
    on("front", "click", () => stage.front());
    on("above", "click", () => stage.above());
    const cut = () => {
      this.find("cut-turn").disabled = !this.find("cut").checked;
      stage.cutAt(this.find("cut").checked, Number(this.find("cut-turn").value));
    };
    on("cut", "change", cut);
    on("cut-turn", "input", cut);
    on("apart", "input", (event) => { stage.apart = event.target.value / 100; });
    on("through", "change", (event) => { stage.through = event.target.checked; });
    on("glued", "change", () => this.load());
    for (const which of this.figure.querySelectorAll("[data-model]")) {
      which.addEventListener("change", () => { this.figure.dataset.solid = which.dataset.model; this.load(); });
    }
    for (const name of ["layer", "segment"]) {
      on(name, "input", () => this.pick(Number(this.find("layer").value), Number(this.find("segment").value || 1)));
    }
    this.listenToHands();
    this.listenToKeys();
  }

  /** One finger or the mouse turns, two fingers come nearer, a click chooses. */
  listenToHands() {
    const { canvas, stage } = this;
    const down = new Map();
    let moved = 0;
    const spread = () => {
      const [a, b] = [...down.values()];
      return Math.hypot(a.x - b.x, a.y - b.y);
    };
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (down.size === 1) moved = 0;
    });
    canvas.addEventListener("pointermove", (event) => {
      const last = down.get(event.pointerId);
      if (!last) return;
      const before = down.size === 2 ? spread() : 0;
      const [x, y] = [event.clientX - last.x, event.clientY - last.y];
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      moved += Math.abs(x) + Math.abs(y);
      if (down.size === 2) stage.drag(0, 0, spread() / Math.max(before, 1));
      else if (moved > 4) stage.drag(-x * 0.008, y * 0.008);
    });
    const up = (event) => {
      if (!down.delete(event.pointerId) || down.size || moved > 4 || event.type === "pointercancel") return;
      const box = canvas.getBoundingClientRect();
      const found = stage.at(event.clientX - box.left, event.clientY - box.top);
      this.pick(found?.layer, found?.segment);
    };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    // The wheel is the page's, until the model has been taken up with a click or the keyboard.
    canvas.addEventListener("wheel", (event) => {
      if (document.activeElement !== canvas && !event.ctrlKey) return;
      event.preventDefault();
      stage.drag(0, 0, Math.exp(-event.deltaY * 0.001));
    }, { passive: false });
  }

  listenToKeys() {
    const { stage } = this;
    const keys = {
      ArrowLeft: { turn: -TURN }, ArrowRight: { turn: TURN }, ArrowUp: { tilt: TURN }, ArrowDown: { tilt: -TURN },
      "+": { near: 1.25 }, "-": { near: 0.8 },
    };
    this.canvas.addEventListener("keydown", (event) => {
      const move = keys[event.key];
      if (!move || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      stage.move(move);
    });
  }

  /** Chooses a segment, or the plug by 0, and tells its measures; none where there is no such layer. */
  pick(layer, segment) {
    if (!this.find("chosen")) return;
    const of = layer && this.model.layers.get(layer);
    const told = of && this.measures.layers[layer];
    this.chosen = of ? { layer, segment: this.counted(segment, of.segments, told?.plug) } : null;
    this.find("chosen").hidden = !of;
    this.stage.choose(this.chosen?.layer ?? 0, this.chosen?.segment ?? -1);
    if (!of) return;
    this.find("layer").value = this.chosen.layer;
    this.find("segment").value = this.chosen.segment;
    const ring = this.measures.rings[told?.ring];
    const rows = [["layer", layer]];
    if (this.chosen.segment === 0) {
      rows.push(...told.plug);
    } else {
      rows.push(["segment", of.segments > 1 ? `${this.chosen.segment} of ${of.segments}` : "a disc"]);
      if (ring) rows.push(["wood", ring.woods[this.chosen.segment - 1]], ...told.rows, ...ring.rows);
    }
    this.find("chosen").replaceChildren(...rows.flatMap(([name, value]) => {
      const [term, text] = [document.createElement("dt"), document.createElement("dd")];
      [term.textContent, text.textContent] = [name, value];
      return [term, text];
    }));
  }

  /** The number that is meant: counts run round at their ends, over the plug where there is one. */
  counted(segment, segments, plug) {
    if (!Number.isInteger(segment)) return 1;
    if (plug) return (segment + segments + 1) % (segments + 1);
    return ((segment - 1 + segments) % segments) + 1;
  }
}

const started = new WeakSet();

/** Show the model in a figure, once. */
export function start(figure) {
  if (started.has(figure)) return;
  started.add(figure);
  new Solid(figure);
}

for (const figure of document.querySelectorAll("[data-solid]")) start(figure);
