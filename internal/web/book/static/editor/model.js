// The plan document as the editor holds it: the JSON tree of `terret: plan/1`,
// never changed in place. An edit is a new tree that shares every part that
// stayed as it was, so "has this changed?" is `===`.
//
// Everything that can be pointed at has a *ref*, a short text:
//
//   thing/p1        a thing              thing/r1/0   a point of a rail or an area
//   gate/A          a gate (also gate/in, gate/out)
//   marker/A/right  one marker of it     outline/2    a corner of the ground
//
// Right is the red marker and left the white one, as the driver going the
// gate's way sees them.

import {add, bearingOf, dist, left, mid, same, sub, unit} from './plane.js';

/** @typedef {import('./plane.js').Pt} Pt */
/** @typedef {{right: Pt, left: Pt}} Pair */
/** @typedef {Pair & {letter: string, for?: string[]}} LetterGate */
/**
 * @typedef {Object} Thing
 * @property {string} id
 * @property {string} kind post, tree, rail, or the name of an area: water, bank …
 * @property {Pt} [at] discs
 * @property {number} [radius] discs, m
 * @property {Pt[]} [path] rails
 * @property {number} [width] rails, m
 * @property {Pt[]} [outline] areas
 * @property {boolean} [drivable]
 */
/** @typedef {{name: string, marker_radius?: number, in: Pair, out: Pair, gates?: LetterGate[]}} Hazard */
/** @typedef {{terret: string, name: string, ground: {outline: Pt[]}, arena?: any, things?: Thing[], hazards?: Hazard[], courses?: any[]}} Plan */
/** @typedef {Pair & {key: string, label: string, for?: string[]}} Gate  key is `in`, `out` or the letter */

export const DEFAULT_MARKER_RADIUS = 0.06;

/** @param {string} id */
export const thingRef = (id) => `thing/${encodeURIComponent(id)}`;
/** @param {string} id @param {number} i */
export const pointRef = (id, i) => `thing/${encodeURIComponent(id)}/${i}`;
/** @param {string} key */
export const gateRef = (key) => `gate/${key}`;
/** @param {string} key @param {'right'|'left'} side */
export const markerRef = (key, side) => `marker/${key}/${side}`;
/** @param {number} i */
export const cornerRef = (i) => `outline/${i}`;

/** @param {string} ref @returns {{what: string, id: string, part: string}} */
export function parseRef(ref) {
  const [what, id, part = ''] = ref.split('/');
  return {what, id: decodeURIComponent(id ?? ''), part};
}

/** The gates of hazard h in the order they are driven. @param {Plan} doc @param {number} h @returns {Gate[]} */
export function gatesOf(doc, h) {
  const hz = doc.hazards?.[h];
  if (!hz) return [];
  return [
    {key: 'in', label: 'In', ...hz.in},
    ...(hz.gates ?? []).map((g) => ({key: g.letter, label: g.letter, right: g.right, left: g.left, for: g.for})),
    {key: 'out', label: 'Out', ...hz.out},
  ];
}

/** Whether a gate is for this class; one that names none is for everybody. @param {{for?: string[]}} g @param {string} cls */
export const isFor = (g, cls) => !g.for?.length || g.for.includes(cls);

/** @param {Plan} doc @param {number} h @param {string} key @returns {Pair | undefined} */
export function pairOf(doc, h, key) {
  const hz = doc.hazards?.[h];
  return key === 'in' ? hz?.in : key === 'out' ? hz?.out : hz?.gates?.find((g) => g.letter === key);
}

/** @param {Plan} doc @param {string} id */
export const thingOf = (doc, id) => doc.things?.find((t) => t.id === id);

/** The points that make up a thing. @param {Thing} t @returns {Pt[]} */
export const pointsOf = (t) => t.path ?? t.outline ?? (t.at ? [t.at] : []);

/** The way a pair is driven: red to the right. @param {Pair} p @returns {Pt} */
export const forwardOf = (p) => left(unit(sub(p.right, p.left)));
/** @param {Pair} p */
export const gateBearing = (p) => bearingOf(forwardOf(p));
/** From inner face to inner face, m. @param {Pair} p @param {number} r marker radius */
export const openingOf = (p, r) => dist(p.right, p.left) - 2 * r;
/** @param {Plan} doc @param {number} h */
export const markerRadius = (doc, h) => doc.hazards?.[h]?.marker_radius ?? DEFAULT_MARKER_RADIUS;

/** Where a ref stands: its point, or the middle of its points. @param {Plan} doc @param {number} h @param {string} ref @returns {Pt | null} */
export function placeOf(doc, h, ref) {
  const pts = pointsUnder(doc, h, ref).map((r) => r.at);
  if (!pts.length) return null;
  return /** @type {Pt} */ ([0, 1].map((i) => pts.reduce((a, p) => a + p[i], 0) / pts.length));
}

/**
 * The single points a ref is made of, each with its own ref.
 * @param {Plan} doc @param {number} h @param {string} ref
 * @returns {{ref: string, at: Pt}[]}
 */
export function pointsUnder(doc, h, ref) {
  const {what, id, part} = parseRef(ref);
  if (what === 'thing') {
    const t = thingOf(doc, id);
    if (!t) return [];
    if (part !== '') { const at = pointsOf(t)[+part]; return at ? [{ref, at}] : []; }
    return t.at ? [{ref, at: t.at}] : pointsOf(t).map((at, i) => ({ref: pointRef(id, i), at}));
  }
  if (what === 'outline') { const at = doc.ground.outline[+id]; return at ? [{ref, at}] : []; }
  const p = pairOf(doc, h, id);
  if (!p) return [];
  if (what === 'marker') return [{ref, at: p[/** @type {'right'|'left'} */ (part)]}];
  return [{ref: markerRef(id, 'right'), at: p.right}, {ref: markerRef(id, 'left'), at: p.left}];
}

/**
 * The markers that stand on the very same post as the given one, itself
 * included: moving one moves the post, and so all of them.
 * @param {Plan} doc @param {number} h @param {Pt} at @returns {string[]}
 */
export function markersOn(doc, h, at) {
  const refs = [];
  for (const g of gatesOf(doc, h)) {
    for (const side of /** @type {const} */ (['right', 'left'])) if (same(g[side], at)) refs.push(markerRef(g.key, side));
  }
  return refs;
}

/** @param {Plan} doc @param {string} prefix */
export function freeId(doc, prefix) {
  const taken = new Set((doc.things ?? []).map((t) => t.id));
  for (let n = 1; ; n++) if (!taken.has(prefix + n)) return prefix + n;
}

/** The next letter a hazard has not got; null after Z. @param {Plan} doc @param {number} h */
export function freeLetter(doc, h) {
  const taken = new Set((doc.hazards?.[h]?.gates ?? []).map((g) => g.letter));
  for (let c = 65; c <= 90; c++) if (!taken.has(String.fromCharCode(c))) return String.fromCharCode(c);
  return null;
}

/** What people call a ref. @param {Plan} doc @param {string} ref */
export function nameOf(doc, ref) {
  const {what, id, part} = parseRef(ref);
  const gate = id === 'in' ? 'In' : id === 'out' ? 'Out' : `gate ${id}`;
  switch (what) {
    case 'thing': {
      const t = thingOf(doc, id), name = t ? `${t.kind} ${t.id}` : id;
      return part === '' ? name : `point ${+part + 1} of ${name}`;
    }
    case 'outline': return `corner ${+id + 1} of the ground`;
    case 'marker': return `${part} marker of ${gate} (${part === 'right' ? 'red' : 'white'})`;
    default: return gate;
  }
}

/** Whether the ref still points at something. @param {Plan} doc @param {number} h @param {string} ref */
export const exists = (doc, h, ref) => pointsUnder(doc, h, ref).length > 0;

/** Box round the ground, or round a hazard when `only` says so. @param {Plan} doc @param {number} [h] hazard to fit, or all the ground */
export function boxOf(doc, h) {
  /** @type {Pt[]} */
  let pts = [];
  if (h !== undefined) pts = gatesOf(doc, h).flatMap((g) => [g.right, g.left]);
  if (pts.length < 3) pts = doc.ground.outline;
  const xs = pts.map((p) => p[0]), ys = pts.map((p) => p[1]);
  return {x0: Math.min(...xs), y0: Math.min(...ys), x1: Math.max(...xs), y1: Math.max(...ys)};
}

/** @param {Pair} p @returns {Pt} */
export const midOf = (p) => mid(p.right, p.left);

/** A pair centred on a point, driven on a bearing, so far from centre to centre. @param {Pt} at @param {Pt} forward unit @param {number} apart @returns {Pair} */
export function pairAt(at, forward, apart) {
  /** @type {Pt} */
  const r = [forward[1] * apart / 2, -forward[0] * apart / 2];
  return {right: add(at, r), left: sub(at, r)};
}
