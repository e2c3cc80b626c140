// A cones course as the editor holds it: the part of the plan's JSON tree under
// `courses`, never changed in place. Its refs, besides those of model.js:
//
//   cone/5a         a gate: a pair, or a woven single cone
//   line/start      the start line (also line/finish)
//   flag/start/red  one of its two flags; red is on the driver's right
//   turn/5a         the handle by which a gate is turned
//
// Where the two cones of a pair stand depends on the track of the turnout they
// are set for; the plan keeps the middle and the way of driving.

import {add, bearingOf, left as leftOf, right as rightOf, scale, sub, towards, unit} from '../plane.js';

/** @typedef {import('../plane.js').Pt} Pt */
/** @typedef {import('../model.js').Plan} Plan */
/** @typedef {import('../model.js').Pair} Pair */
/** @typedef {{clearance_cm?: number, fixed_cm?: number}} Gap  over the track, or whatever the track */
/** @typedef {{number: number, part?: string, at?: Pt, bearing?: number, cone?: Pt, pass?: 'right'|'left', gap?: Gap}} ConeGate */
/** @typedef {{name: string, start: Pair, finish: Pair, gates: ConeGate[], cone_radius: number, gap: Gap, speed_m_per_min: number | Record<string, number>, measure_radius: number}} Course */
/**
 * @typedef {Object} Place where one gate stands on the ground, in metres
 * @property {string} key `5a`, `start` or `finish`
 * @property {string} label what people call it
 * @property {string} ref
 * @property {number} number 0 for start and finish
 * @property {Pt} mid @property {Pt} dir unit vector of the way of driving
 * @property {Pt} right @property {Pt} left middles of the two cones, or flags
 * @property {number} radius of a cone at the ground, m
 * @property {number} gap from inner face to inner face, m
 * @property {'' | 'right' | 'left'} single which side of the driver a woven cone is on
 */

/** The track that stands for every turnout when none is chosen, m (as package cones has it). */
export const NOMINAL_TRACK = 1.4;
const FLAG = 0.05;

/** @param {Plan} doc @param {number} c @returns {Course | undefined} */
export const courseOf = (doc, c) => doc.courses?.[c];
/** @param {ConeGate} g */
export const gateId = (g) => `${g.number}${g.part ?? ''}`;
/** @param {string} id */
export const coneRef = (id) => `cone/${id}`;

/** The gates in number order. @param {Course} k */
export const inOrder = (k) => [...k.gates].sort((a, b) => a.number - b.number || ((a.part ?? '') < (b.part ?? '') ? -1 : 1));

/** @param {Plan} doc @param {number} c @param {string} id */
export const gateOf = (doc, c, id) => courseOf(doc, c)?.gates.find((g) => gateId(g) === id);

/** The gate of a ref, or nothing. @param {Plan} doc @param {number} c @param {string} ref */
export const gateUnder = (doc, c, ref) => (/^(cone|turn)\//.test(ref) ? gateOf(doc, c, ref.slice(5)) : undefined);

/** The parts of a number. @param {Course} k @param {number} number */
export const partsOf = (k, number) => inOrder(k).filter((g) => g.number === number);

/** Rails and the like that were placed with a multiple are called m5-1, m5-2 … @param {Plan} doc @param {number} number */
export const thingsWith = (doc, number) => (doc.things ?? []).filter((t) => new RegExp(`^m${number}-\\d+$`).test(t.id));

/** The greatest number. @param {Course | undefined} k */
export const lastNumber = (k) => Math.max(0, ...(k?.gates ?? []).map((g) => g.number));

/** @param {ConeGate} g @returns {Pt} */
export const middleOf = (g) => /** @type {Pt} */ (g.cone ?? g.at);

/** @param {Pair} p @returns {Pt} */
const middle = (p) => scale(add(p.right, p.left), 0.5);

/** From inner face to inner face for a track, m. @param {Gap} gap @param {number} track */
export const gapFor = (gap, track) => (gap.fixed_cm ? gap.fixed_cm / 100 : track + (gap.clearance_cm ?? 0) / 100);

/**
 * Start, gates and finish as they stand for a track. A woven cone has no way of
 * its own: it is from the gate before to the one after.
 * @param {Plan} doc @param {number} c @param {number} track m @returns {Place[]}
 */
export function placesOf(doc, c, track) {
  const k = courseOf(doc, c);
  if (!k) return [];
  /** @param {'start' | 'finish'} key @returns {Place} */
  const line = (key) => {
    const p = k[key], dir = leftOf(unit(sub(p.right, p.left)));
    return {key, label: key === 'start' ? 'Start' : 'Finish', ref: `line/${key}`, number: 0, mid: middle(p), dir, right: p.right, left: p.left, radius: FLAG, gap: Math.hypot(...sub(p.right, p.left)) - 2 * FLAG, single: ''};
  };
  const gates = inOrder(k);
  const where = (/** @type {number} */ i) => (i < 0 ? middle(k.start) : i >= gates.length ? middle(k.finish) : middleOf(gates[i]));
  return [line('start'), ...gates.map((g, i) => {
    const gap = gapFor(g.gap ?? k.gap, track), half = gap / 2 + k.cone_radius, key = gateId(g);
    let mid = middleOf(g), dir = towards(g.bearing ?? 0);
    if (g.cone) {
      dir = unit(sub(where(i + 1), where(i - 1)));
      if (!dir[0] && !dir[1]) dir = unit(sub(where(i), where(i - 1)));
      mid = add(g.cone, scale(rightOf(dir), g.pass === 'left' ? half : -half));
    }
    const across = scale(rightOf(dir), half);
    return /** @type {Place} */ ({key, label: key, ref: coneRef(key), number: g.number, mid, dir, right: add(mid, across), left: sub(mid, across), radius: k.cone_radius, gap, single: g.cone ? g.pass : ''});
  }), line('finish')];
}

/** Whether a ref of a course still points at something. @param {Plan} doc @param {number} c @param {string} ref */
export function stands(doc, c, ref) {
  if (ref.startsWith('line/') || ref.startsWith('flag/')) return Boolean(courseOf(doc, c));
  return Boolean(gateUnder(doc, c, ref));
}

/** What people call a ref of a course. @param {Plan} doc @param {number} c @param {string} ref */
export function coneName(doc, c, ref) {
  const [what, id, side] = ref.split('/');
  if (what === 'line') return `the ${id} line`;
  if (what === 'flag') return `the ${side} flag of the ${id}`;
  const g = gateUnder(doc, c, ref);
  return g?.cone ? `cone ${id}` : `pair ${id}`;
}

/** The bearing of a way, for tables. @param {Place} p */
export const bearingAt = (p) => bearingOf(p.dir);

/** The box that holds a course, or undefined when there is none. @param {Plan} doc @param {number} c */
export function boxOfCourse(doc, c) {
  const pts = placesOf(doc, c, NOMINAL_TRACK).flatMap((p) => [p.right, p.left]);
  if (!pts.length) return undefined;
  const xs = pts.map((p) => p[0]), ys = pts.map((p) => p[1]);
  return {x0: Math.min(...xs), y0: Math.min(...ys), x1: Math.max(...xs), y1: Math.max(...ys)};
}
