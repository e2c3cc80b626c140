// Reading an answer's samples: where the turnout is at a second or a metre,
// and the outline of its parts there. Nothing is driven here: the places come
// from the answer, and only the drawing of them is worked out.

import {add, bearingOf, dist, nearestOn, right, scale, sub, towards, turnFrom, unit, between} from './plane.js';

import {isFor} from './model.js';

/** @typedef {import('./plane.js').Pt} Pt */
/**
 * @typedef {Object} Sample
 * @property {number} s_m @property {number} t_s @property {Pt} lead @property {number} bearing_deg
 * @property {number} speed_mps @property {number} curvature_per_m
 * @property {Pt[]} axles @property {number[]} axle_bearings_deg
 * @property {{at: Pt, bearing_deg: number} | null} leaders
 */
/**
 * @typedef {Object} Route
 * @property {number} rank @property {string} way @property {string} says @property {number} time_s @property {number} length_m
 * @property {number} clearance_m @property {{thing: string, part: string, at: Pt, s_m: number, clearance_m: number}[]} tight
 * @property {number} turned_left_deg @property {number} turned_right_deg
 * @property {number | null} least_radius_left_m @property {number | null} least_radius_right_m
 * @property {{gate: string, was: string, forward: boolean, s_m: number, t_s: number}[]} passes
 * @property {{hand: string, deg: number, least_radius_m: number, from_m: number, to_m: number, lost_s: number, between: string}[]} [turns]
 * @property {Sample[]} samples
 */
/** @typedef {{part: string, a: Pt, b: Pt, r: number}} Piece  a segment with a radius: a capsule, a bar or a line */

/** The sample at a value of key, by straight parts between the two nearest. @param {Sample[]} list @param {'t_s'|'s_m'} key @param {number} v @returns {Sample} */
export function sampleAt(list, key, v) {
  let lo = 0, hi = list.length - 1;
  if (v <= list[0][key]) return list[0];
  if (v >= list[hi][key]) return list[hi];
  while (hi - lo > 1) { const m = (lo + hi) >> 1; if (list[m][key] <= v) lo = m; else hi = m; }
  const a = list[lo], b = list[hi], f = (v - a[key]) / (b[key] - a[key] || 1);
  const num = (/** @type {number} */ x, /** @type {number} */ y) => x + (y - x) * f;
  const deg = (/** @type {number} */ x, /** @type {number} */ y) => x + turnFrom(x, y) * f;
  return {
    s_m: num(a.s_m, b.s_m), t_s: num(a.t_s, b.t_s), lead: between(a.lead, b.lead, f), bearing_deg: deg(a.bearing_deg, b.bearing_deg),
    speed_mps: num(a.speed_mps, b.speed_mps), curvature_per_m: num(a.curvature_per_m, b.curvature_per_m),
    axles: a.axles.map((p, i) => between(p, b.axles[i], f)),
    axle_bearings_deg: a.axle_bearings_deg.map((d, i) => deg(d, b.axle_bearings_deg[i])),
    leaders: a.leaders && b.leaders ? {at: between(a.leaders.at, b.leaders.at, f), bearing_deg: deg(a.leaders.bearing_deg, b.leaders.bearing_deg)} : null,
  };
}

/** @param {any} t turnout */
const abreast = (t) => t.hitch === 'pair' || t.hitch === 'four';

/** One horse, or two abreast, about a lead point. @param {any} t @param {string} part @param {Pt} at @param {number} deg @param {boolean} two @returns {Piece[]} */
function horses(t, part, at, deg, two) {
  const d = towards(deg), w = t.horse.width / 2;
  const offs = two ? [-t.horse.apart / 2, t.horse.apart / 2] : [0];
  return offs.map((o) => {
    const c = add(at, scale(right(d), o));
    return {part, a: add(c, scale(d, t.horse.nose - w)), b: sub(c, scale(d, t.horse.rump - w)), r: w};
  });
}

/** The footprint of the turnout at a sample, as files.md describes it. @param {any} t turnout/1 @param {Sample} s @returns {Piece[]} */
export function footprint(t, s) {
  /** @type {Piece[]} */
  const list = [];
  const front = s.axles[0], tow = front ? bearingOf(sub(s.lead, front)) : s.bearing_deg, bend = t.horse.bend ?? 40;
  const turn = Math.max(-bend, Math.min(bend, turnFrom(tow, s.bearing_deg)));
  if (s.leaders) list.push(...horses(t, 'leader', s.leaders.at, s.leaders.bearing_deg, t.hitch === 'four'));
  list.push(...horses(t, 'wheel horse', s.lead, tow + turn, abreast(t)));
  if (front) list.push({part: 'shafts', a: s.lead, b: front, r: 0});
  s.axles.forEach((p, i) => {
    const x = scale(right(towards(s.axle_bearings_deg[i])), t.vehicle.hubs / 2);
    list.push({part: i === 0 ? 'hub' : 'rear hub', a: sub(p, x), b: add(p, x), r: 0});
  });
  if (s.axles[1]) list.push({part: 'body', a: front, b: s.axles[1], r: (t.vehicle.body ?? 0) / 2});
  return list;
}

/** The end on the turnout of a tight place's dimension. @param {any} t @param {Sample} s @param {{part: string, at: Pt}} tight @returns {Pt | null} */
export function tightEnd(t, s, tight) {
  let best = null, off = Infinity;
  for (const p of footprint(t, s)) {
    if (p.part !== tight.part) continue;
    const n = nearestOn(tight.at, p.a, p.b), d = Math.abs(dist(n, tight.at) - p.r);
    if (d < off) { off = d; best = add(n, scale(unit(sub(tight.at, n)), Math.min(p.r, dist(n, tight.at)))); }
  }
  return best;
}

/** What each gate is at second t: due, live, dead, or not in play. @param {import('./model.js').Gate[]} gates @param {string} through @param {Route | null} route @param {number} t @param {string} [cls] class driven for @returns {Map<string, 'due'|'live'|'dead'|'out of play'>} */
export function gateStates(gates, through, route, t, cls = '') {
  const states = new Map(), driven = new Set();
  if (route) for (const p of route.passes) if (p.t_s <= t + 1e-9 && p.forward && p.was !== 'dead') driven.add(p.gate);
  let due = '';
  for (const g of gates) {
    const later = g.key.length === 1 && ((through && g.key > through) || !isFor(g, cls));
    const st = later ? 'out of play' : driven.has(g.key) ? 'dead' : 'live';
    if (st === 'live' && !due && (g.key !== 'in' || !route)) { due = g.key; states.set(g.key, 'due'); } else states.set(g.key, st);
  }
  return states;
}
