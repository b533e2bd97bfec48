// How a segment looks: its wood with a hint of grain, its joints as fine lines, and the cut as wood right through.

// What a corner hands on to each point of its face.
const CARRIED = `
varying vec3 at;
varying vec3 facing;
varying vec4 which;
varying vec2 reach;
varying vec2 fibre;
varying vec3 wood;
varying vec4 glued;`;

/** Places each segment, its layer lifted from the one below by `apart`. */
export const PLACING = `
attribute vec4 body;
attribute vec2 span;
attribute vec2 grain;
attribute vec3 tint;
attribute vec4 panel;
uniform float apart;
uniform float lift;    // how far all is brought nearer along the viewer's rays, which changes no outline
uniform vec3 eye;
${CARRIED}
void main() {
  at = position;
  facing = normal;
  which = body;
  reach = span;
  fibre = grain;
  wood = tint;
  glued = panel;
  vec3 placed = position + vec3(0.0, apart * (body.x - 1.0), 0.0);
  placed += lift * normalize(eye - placed);
  gl_Position = projectionMatrix * modelViewMatrix * vec4(placed, 1.0);
}`;

const SHARED = `
uniform vec2 cut;      // which way the cut faces, on the ground; 0, 0 for none
${CARRIED}
bool cutAway() { return dot(at.xz, cut) > 0.0; }`;

const LOOKING = `
uniform vec3 eye;      // in the model's own place
uniform vec3 light;
uniform float apart;
uniform vec2 chosen;   // layer and segment; 0 for none
uniform vec3 ink;
uniform vec3 paper;
uniform vec3 mark;
uniform sampler2D strips; // a row of shades a laminate
uniform float laminates;
uniform float through; // 1 where one looks through the wood

// A whole number of two, shuffled by odd factors and shifts, as a share of 1: no sine, which repeats far from 0.
float hash(vec2 p) {
  uint n = uint(int(p.x) + 32768) * 747796405u + uint(int(p.y) + 32768) * 2891336453u;
  n = (n ^ (n >> 15u)) * 277803737u;
  n = (n ^ (n >> 13u)) * 1103515245u;
  return float((n ^ (n >> 16u)) & 0xffffu) / 65535.0;
}
float noise(vec2 p) {
  vec2 cell = floor(p), part = fract(p);
  part = part * part * (3.0 - 2.0 * part);
  return mix(
    mix(hash(cell), hash(cell + vec2(1.0, 0.0)), part.x),
    mix(hash(cell + vec2(0.0, 1.0)), hash(cell + vec2(1.0, 1.0)), part.x), part.y);
}

// Stripes along the grain, faded out where they would be finer than the screen.
float stripes(vec2 fibres, float seed) {
  float sum = 0.0;
  for (int i = 0; i < 2; i++) {
    vec2 p = fibres * (i == 0 ? vec2(14.0, 500.0) : vec2(40.0, 1700.0));
    float fine = 1.0 - smoothstep(0.25, 0.9, fwidth(p.y));
    sum += (noise(p + floor(seed * vec2(311.0, 1730.0))) - 0.5) * fine * (i == 0 ? 1.0 : 0.7);
  }
  return sum;
}

float lineAt(float away, float width) {
  float pixels = away / max(fwidth(away), 1e-9);
  return 1.0 - smoothstep(width - 0.5, width + 0.5, pixels);
}

// Whether the surface is one of the segment's own joints.
bool isJoint(vec3 n) {
  float start = which.z - which.w, end = which.z + which.w;
  return max(abs(n.x * cos(start) - n.z * sin(start)), abs(n.x * cos(end) - n.z * sin(end))) > 0.999;
}

// How far the point is from the nearer joint of its segment, where it is not on one.
float fromJoint(vec3 p, vec3 n) {
  if (which.w > 3.0 || isJoint(n)) return 1.0;
  float c = cos(which.z), s = sin(which.z);
  float across = p.x * c - p.z * s, outwards = p.x * s + p.z * c;
  return max(outwards * sin(which.w) - abs(across) * cos(which.w), 0.0);
}

// The strip that shows in a segment glued up from them; they run square through it. As estimating/shape/laminates.py.
vec3 stripAt(vec3 p) {
  float x = p.x * cos(which.z) - p.z * sin(which.z);
  float tall = reach.y - reach.x, y = p.y - reach.x;
  if (glued.w > 0.5 && mod(floor(which.y + 0.5), 2.0) < 0.5) x = -x;
  if (glued.w > 1.5) { tall *= 0.5; y = y > tall ? 2.0 * tall - y : y; }
  float along = x * sin(glued.y) + (y - 0.5 * tall) * cos(glued.y);
  return texture2D(strips, vec2(0.5 + along / glued.z, (floor(glued.x + 0.5) - 0.5) / laminates)).rgb;
}

vec3 woodAt(vec3 p, vec3 n, vec2 fibres, bool isChosen) {
  float joint = fromJoint(p, n);
  float seam = abs(n.y) > 0.98 ? 1.0 : max(min(p.y - reach.x, reach.y - p.y), 0.0);
  float seed = hash(floor(which.xy + 0.5));  // interpolated, so not quite whole
  vec3 colour = (glued.x > 0.5 ? stripAt(p) : wood) * (1.0 + 0.09 * (seed - 0.5) + 0.26 * stripes(fibres, seed));
  // Where segments are only a few pixels wide their joints would cover them.
  float room = smoothstep(3.0, 9.0, (reach.y - reach.x) / max(fwidth(seam), 1e-9));
  float wide = smoothstep(3.0, 9.0, 2.0 * length(p.xz) * sin(min(which.w, 1.57)) / max(fwidth(joint), 1e-9));
  float thick = isChosen ? 2.0 : 0.8;
  float lines = max(lineAt(joint, thick) * wide, lineAt(seam, thick) * room);
  if (!isChosen) return mix(colour, ink, 0.5 * lines);
  // Seen on light and on dark wood: a light line within the coloured one.
  float halo = max(lineAt(joint, 3.8), lineAt(seam, 3.8));
  return mix(mix(colour * 1.1, paper, halo), mark, lines);
}

vec3 lit(vec3 colour, vec3 n) {
  float key = max(dot(n, light), 0.0), sky = 0.5 + 0.5 * n.y;
  vec3 shine = normalize(light + normalize(eye - at));
  return colour * (0.34 + 0.2 * sky + 0.62 * key) + 0.05 * pow(max(dot(n, shine), 0.0), 24.0);
}`;

/** The turned surface, or the glued one. */
export const SURFACE = `${SHARED}${LOOKING}
void main() {
  if (cutAway()) discard;
  vec3 n = normalize(facing);
  bool isChosen = distance(which.xy, chosen) < 0.5;
  vec3 colour = woodAt(at, n, fibre, isChosen);
  if (through > 0.5) {
    // Tinted glass: it darkens what is behind it, more so where one looks along it.
    float edge = 1.0 - abs(dot(n, normalize(eye - vec3(at.x, at.y + apart * (which.x - 1.0), at.z))));
    colour = mix(vec3(1.0), colour, isChosen ? 0.85 : isJoint(n) ? 0.06 : 0.1 + 0.4 * edge * edge);
  } else {
    colour = lit(colour, n);
  }
  gl_FragColor = vec4(colour, 1.0);
  #include <colorspace_fragment>
}`;

/** The cut: wherever the inside of a segment shows, the wood that the cut goes through there. */
export const CUT = `${SHARED}${LOOKING}
void main() {
  vec3 from = eye - vec3(0.0, apart * (which.x - 1.0), 0.0);
  if (cutAway() || dot(from.xz, cut) <= 0.0) discard;
  vec3 ray = at - from;
  vec3 p = from - ray * (dot(from.xz, cut) / dot(ray.xz, cut));
  vec3 n = vec3(cut.x, 0.0, cut.y);
  bool isChosen = distance(which.xy, chosen) < 0.5;
  float along = p.x * cos(which.z) - p.z * sin(which.z);
  vec3 colour = woodAt(p, n, vec2(along, p.y), isChosen);
  gl_FragColor = vec4(colour * 0.94, 1.0);
  #include <colorspace_fragment>
}`;

/** Layer and segment as a colour, to find what is under the pointer. */
export const PICKED = `${SHARED}
void main() {
  if (cutAway()) discard;
  vec2 n = floor(which.xy + 0.5);
  gl_FragColor = vec4(floor(n.x / 256.0), mod(n.x, 256.0), floor(n.y / 256.0), mod(n.y, 256.0)) / 255.0;
}`;
