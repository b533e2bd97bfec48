// Reads the piece from its glTF file and lays all segments into one set of arrays, to be drawn in one go.
// The file is this program's own (see estimating/picture/solids.py): one buffer, float attributes, indices of 4 bytes.

const HEAD = 12;
const CHUNK = 8;
const WIDTHS = { SCALAR: 1, VEC2: 2, VEC3: 3 };
// Floats a vertex: where, which way, along and across the grain; layer, segment, middle and half its angle; span; colour.
// And for segments glued up from strips: which laminate (from 1), its strips' angle, their width together, its kind.
const PARTS = { position: 3, normal: 3, grain: 2, body: 4, span: 2, tint: 3, panel: 4 };
const KINDS = ["stripes", "zigzag", "diamond"];
const SHADES = 512;

/** The JSON and the binary part of a .glb file. */
function opened(bytes) {
  const view = new DataView(bytes);
  if (view.getUint32(0, true) !== 0x46546c67) throw new Error("the model is not a glTF file");
  const length = view.getUint32(HEAD, true);
  const text = new TextDecoder().decode(new Uint8Array(bytes, HEAD + CHUNK, length));
  return { json: JSON.parse(text), start: HEAD + CHUNK + length + CHUNK };
}

/** All segments in one: { arrays, indices, strips, layers, low, high, radius }; lengths in metres. */
export function readModel(bytes) {
  const { json, start } = opened(bytes);
  const pieces = [];
  for (const node of json.nodes) {
    for (const primitive of json.meshes[node.mesh].primitives) pieces.push({ extras: node.extras, primitive });
  }
  const values = (number, Kind) => {
    const accessor = json.accessors[number];
    const at = start + json.bufferViews[accessor.bufferView].byteOffset + accessor.byteOffset;
    return new Kind(bytes, at, accessor.count * WIDTHS[accessor.type]);
  };
  const counts = pieces.map(({ primitive }) => json.accessors[primitive.attributes.POSITION].count);
  const vertices = counts.reduce((sum, count) => sum + count, 0);
  const corners = pieces.reduce((sum, { primitive }) => sum + json.accessors[primitive.indices].count, 0);
  const arrays = Object.fromEntries(Object.entries(PARTS).map(([name, width]) => [name, new Float32Array(vertices * width)]));
  const indices = new Uint32Array(corners);
  const laminates = new Map();
  let vertex = 0;
  let corner = 0;
  pieces.forEach(({ extras, primitive }, piece) => {
    const { attributes } = primitive;
    arrays.position.set(values(attributes.POSITION, Float32Array), 3 * vertex);
    arrays.normal.set(values(attributes.NORMAL, Float32Array), 3 * vertex);
    arrays.grain.set(values(attributes.TEXCOORD_0, Float32Array), 2 * vertex);
    const segments = values(attributes._SEGMENT, Float32Array);
    const { pbrMetallicRoughness: { baseColorFactor: tint }, extras: { wood, laminate } } = json.materials[primitive.material];
    if (laminate && !laminates.has(wood)) laminates.set(wood, laminate);
    const panel = laminate ? panelOf(laminate, [...laminates.keys()].indexOf(wood) + 1) : [0, 0, 1, 0];
    for (let i = 0; i < counts[piece]; i += 1) {
      const middle = extras.angle + ((segments[i] - 1) * 2 * Math.PI) / extras.segments;
      arrays.body.set([extras.layer, segments[i], middle, extras.half_angle], 4 * (vertex + i));
      arrays.span.set([extras.lower, extras.upper], 2 * (vertex + i));
      arrays.tint.set(tint.slice(0, 3), 3 * (vertex + i));
      arrays.panel.set(panel, 4 * (vertex + i));
    }
    const faces = values(primitive.indices, Uint32Array);
    for (let i = 0; i < faces.length; i += 1) indices[corner + i] = faces[i] + vertex;
    vertex += counts[piece];
    corner += faces.length;
  });
  return { arrays, indices, strips: stripsOf([...laminates.values()]), ...measured(json.nodes, arrays.position) };
}

function panelOf({ angle, kind, strips }, number) {
  return [number, angle, strips.reduce((sum, { width }) => sum + width, 0), KINDS.indexOf(kind)];
}

/** A row of shades for each laminate, from its first strip to its last: linear light, four floats a shade. */
function stripsOf(laminates) {
  const rows = Math.max(laminates.length, 1);
  const shades = new Float32Array(4 * SHADES * rows);
  laminates.forEach(({ strips }, row) => {
    const all = strips.reduce((sum, { width }) => sum + width, 0);
    for (let i = 0; i < SHADES; i += 1) {
      let rest = ((i + 0.5) / SHADES) * all;
      const at = strips.findIndex(({ width }) => (rest -= width) <= 0);
      shades.set([...strips.at(at).light, 1], 4 * (row * SHADES + i));
    }
  });
  return { shades, width: SHADES, rows };
}

/** The layers that are there (plugs are their segment 0), how low and high they reach, and the largest distance from the axis. */
function measured(nodes, position) {
  const layers = new Map(nodes.filter((node) => !node.extras.plug).map((node) => [node.extras.layer, node.extras]));
  let radius = 0;
  for (let i = 0; i < position.length; i += 3) radius = Math.max(radius, Math.hypot(position[i], position[i + 2]));
  const low = Math.min(...nodes.map((node) => node.extras.lower));
  const high = Math.max(...nodes.map((node) => node.extras.upper));
  return { layers, low, high, radius };
}

export { PARTS };
