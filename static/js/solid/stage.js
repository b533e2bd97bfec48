// The piece on its stage: where one looks from, what is cut, apart or seen through. Draws when something has changed.

import * as THREE from "../../node_modules/three/build/three.module.js";
import { PARTS } from "./model.js";
import { CUT, PICKED, PLACING, SURFACE } from "./shading.js";

const LENS = 30; // degrees
const FRONT = { turn: 0.5, tilt: 0.32, near: 1 };
const MOST_TILT = 1.5;
const STEP_MS = 280;
// A share of the radius, more than neighbouring arcs lie apart (LOOKS in estimating/picture/segments.py) ...
const HAIR = 0.003;
// ... and an angle that keeps the cut out of the joints' own planes.
const ASIDE = 0.002;

export class Stage {
  /** A stage on a canvas; throws where the browser has no WebGL. `colours` are the page's: ground, ink and mark. */
  constructor(canvas, { ground, ink, mark, still }) {
    this.canvas = canvas;
    this.still = still;
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: true });
    this.renderer.setClearColor(new THREE.Color(ground));
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(LENS, 1, 0.01, 100);
    this.view = { ...FRONT };
    this.cutting = { on: false, turn: 0 };
    this.models = [];
    this.shared = {
      apart: { value: 0 },
      cut: { value: new THREE.Vector2() },
      light: { value: new THREE.Vector3() },
      chosen: { value: new THREE.Vector2() },
      ink: { value: new THREE.Color(ink) },
      paper: { value: new THREE.Color(ground) },
      mark: { value: new THREE.Color(mark) },
      through: { value: 0 },
    };
    new ResizeObserver(() => this.resize()).observe(canvas.parentElement);
    this.resize();
  }

  /** Puts the piece on the stage, and beside it, where there is one, the stack as glued. */
  show(...read) {
    for (const model of this.models) this.#takeDown(model);
    this.models = read.filter(Boolean).map((model) => this.#setUp(model));
    const widths = this.models.map(({ read: model }) => model.radius);
    const across = 2.3 * widths.reduce((sum, radius) => sum + radius, 0);
    let x = -across / 2;
    for (const model of this.models) {
      x += 1.15 * model.read.radius;
      model.beside = this.models.length > 1 ? x : 0;
      x += 1.15 * model.read.radius;
    }
    this.draw();
  }

  #setUp(read) {
    const geometry = new THREE.BufferGeometry();
    for (const [name, floats] of Object.entries(PARTS)) {
      geometry.setAttribute(name, new THREE.BufferAttribute(read.arrays[name], floats));
    }
    geometry.setIndex(new THREE.BufferAttribute(read.indices, 1));
    const { shades, width, rows } = read.strips;
    const strips = new THREE.DataTexture(shades, width, rows, THREE.RGBAFormat, THREE.FloatType);
    strips.needsUpdate = true;
    const uniforms = { ...this.shared, eye: { value: new THREE.Vector3() }, strips: { value: strips }, laminates: { value: rows } };
    const made = (fragmentShader, more, lift = 0) => new THREE.ShaderMaterial({
      uniforms: { ...uniforms, lift: { value: lift } }, vertexShader: PLACING, fragmentShader, ...more,
    });
    const materials = {
      surface: made(SURFACE),
      glass: made(SURFACE, {
        blending: THREE.CustomBlending, blendSrc: THREE.ZeroFactor, blendDst: THREE.SrcColorFactor,
        depthTest: false, depthWrite: false,
      }),
      // The backs of joints lie in their neighbours' faces, and arcs beside those of a plug: the cut comes before both.
      cut: made(CUT, { side: THREE.BackSide }, HAIR * read.radius),
      picked: made(PICKED, { blending: THREE.NoBlending }),
    };
    const group = new THREE.Group();
    const surface = new THREE.Mesh(geometry, materials.surface);
    const cut = new THREE.Mesh(geometry, materials.cut);
    for (const mesh of [surface, cut]) mesh.frustumCulled = false;
    group.add(surface, cut);
    this.scene.add(group);
    return { read, geometry, materials, strips, group, surface, cut, eye: uniforms.eye };
  }

  #takeDown(model) {
    this.scene.remove(model.group);
    model.geometry.dispose();
    model.strips.dispose();
    for (const material of Object.values(model.materials)) material.dispose();
  }

  /** How far layers are lifted apart, from 0 to 1. */
  set apart(share) {
    const layers = this.models[0]?.read.layers;
    if (!layers) return;
    const { low, high } = this.models[0].read;
    this.shared.apart.value = (1.6 * share * (high - low)) / Math.max(layers.size - 1, 1);
    this.draw();
  }

  set through(on) { this.shared.through.value = on ? 1 : 0; this.draw(); }

  /** The cut through the axis: whether there is one, and its angle round the axis in degrees. */
  cutAt(on, degrees) { this.cutting = { on, turn: (degrees * Math.PI) / 180 }; this.draw(); }

  choose(layer, segment) { this.shared.chosen.value.set(layer, segment); this.draw(); }

  /** Turns, tilts and comes nearer by so much; to a fixed view where `to` is given. Eased unless motion is unwelcome. */
  move({ turn = 0, tilt = 0, near = 1, to = null }) {
    const from = { ...this.view };
    const goal = to ?? { turn: from.turn + turn, tilt: from.tilt + tilt, near: from.near * near };
    goal.tilt = Math.max(-MOST_TILT, Math.min(MOST_TILT, goal.tilt));
    goal.near = Math.max(0.25, Math.min(4, goal.near));
    if (this.still) { this.view = goal; this.draw(); return; }
    const start = performance.now();
    const step = (now) => {
      const share = Math.min((now - start) / STEP_MS, 1);
      const eased = 1 - (1 - share) ** 3;
      for (const name of Object.keys(goal)) this.view[name] = from[name] + (goal[name] - from[name]) * eased;
      this.render();
      if (share < 1 && this.moving === step) requestAnimationFrame(step);
    };
    this.moving = step;
    requestAnimationFrame(step);
  }

  /** Follows a hand: at once, and whatever was under way stops. */
  drag(turn, tilt, near = 1) {
    this.moving = null;
    const { view } = this;
    view.turn += turn;
    view.tilt = Math.max(-MOST_TILT, Math.min(MOST_TILT, view.tilt + tilt));
    view.near = Math.max(0.25, Math.min(4, view.near * near));
    this.draw();
  }

  front() { this.moving = null; this.move({ to: { ...FRONT } }); }

  above() { this.move({ to: { turn: 0, tilt: MOST_TILT, near: 1 } }); }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement;
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.draw();
  }

  /** Asks for a drawing at the next chance; nothing is drawn in between. */
  draw() {
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; this.render(); });
  }

  #look() {
    if (!this.models.length) return;
    const { camera, view } = this;
    const lifted = this.shared.apart.value * Math.max(...this.models.map(({ read }) => Math.max(...read.layers.keys()) - 1));
    const low = Math.min(...this.models.map(({ read }) => read.low));
    const high = Math.max(...this.models.map(({ read }) => read.high)) + lifted;
    const wide = Math.max(...this.models.map(({ beside, read }) => Math.abs(beside) + read.radius));
    const deep = Math.max(...this.models.map(({ read }) => read.radius));
    const half = Math.tan((LENS * Math.PI) / 360);
    // Far enough for the height and for the width, the nearest point of the piece included.
    const tall = (high - low) / 2;
    const fit = Math.max(Math.hypot(tall, deep * Math.abs(Math.sin(view.tilt))) / half, wide / half / camera.aspect) + deep;
    const away = (1.06 * fit) / view.near;
    const middle = (low + high) / 2;
    camera.position.set(
      away * Math.sin(view.turn) * Math.cos(view.tilt), middle + away * Math.sin(view.tilt),
      away * Math.cos(view.turn) * Math.cos(view.tilt),
    );
    camera.lookAt(0, middle, 0);
    // Two models stand side by side wherever one looks from.
    for (const { group, beside } of this.models) group.position.set(beside * Math.cos(view.turn), 0, -beside * Math.sin(view.turn));
    camera.near = Math.max(away - 2 * (tall + wide), away / 200);
    camera.far = away + 2 * (tall + wide);
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
    // The light comes over the viewer's left shoulder, wherever they stand.
    this.shared.light.value.set(-0.55, 0.65, 0.75).normalize().applyQuaternion(camera.quaternion);
    const { on } = this.cutting;
    const turn = this.cutting.turn + ASIDE;
    this.shared.cut.value.set(on ? Math.sin(turn) : 0, on ? Math.cos(turn) : 0);
    for (const { eye, group } of this.models) eye.value.copy(camera.position).sub(group.position);
  }

  render() {
    this.#look();
    const through = this.shared.through.value > 0.5;
    for (const { surface, cut, materials } of this.models) {
      surface.material = through ? materials.glass : materials.surface;
      cut.visible = this.cutting.on && !through;
    }
    this.renderer.render(this.scene, this.camera);
    const { calls, triangles } = this.renderer.info.render;
    this.canvas.dispatchEvent(new CustomEvent("drawn", { detail: { calls, triangles } }));
  }

  /** The layer and segment (0 for a plug) at a point of the canvas, in CSS pixels from its corner; null beside the piece. */
  at(x, y) {
    this.#look();
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const target = new THREE.WebGLRenderTarget(1, 1);
    const found = new Uint8Array(4);
    this.camera.setViewOffset(width, height, x, y, 1, 1);
    for (const { surface, cut, materials } of this.models) { surface.material = materials.picked; cut.visible = false; }
    const ground = this.renderer.getClearColor(new THREE.Color());
    this.renderer.setClearColor(0x000000, 0);
    this.renderer.setRenderTarget(target);
    this.renderer.clear();
    this.renderer.render(this.scene, this.camera);
    this.renderer.readRenderTargetPixels(target, 0, 0, 1, 1, found);
    this.renderer.setRenderTarget(null);
    this.renderer.setClearColor(ground, 1);
    this.camera.clearViewOffset();
    target.dispose();
    const [layer, segment] = [256 * found[0] + found[1], 256 * found[2] + found[3]];
    return layer ? { layer, segment } : null;
  }
}
