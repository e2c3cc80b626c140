// Snapping: the place a hand meant. Pure. A point goes to a post that stands
// there, else into line east or north with another point, else to the tenth
// of a metre. What it was drawn to is returned as guides and in words.

import {dist, mm} from './plane.js';
import {gatesOf, nameOf, markerRef, pointsOf, thingRef} from './model.js';

/** @typedef {import('./plane.js').Pt} Pt */
/** @typedef {import('./model.js').Plan} Plan */
/** @typedef {{at: Pt, name: string}} Target */
/** @typedef {{at: Pt, guides: [Pt, Pt][], words: string}} Snapped */

/** Places a point may be drawn to. Single posts of the refs left out. @param {Plan} doc @param {number} h @param {string[]} without @returns {Target[]} */
export function targets(doc, h, without) {
  /** @type {Target[]} */
  const list = [];
  for (const t of doc.things ?? []) {
    if (without.some((w) => w === thingRef(t.id) || w.startsWith(thingRef(t.id) + '/'))) continue;
    for (const at of pointsOf(t)) list.push({at, name: `${t.kind} ${t.id}`});
  }
  for (const g of gatesOf(doc, h)) {
    for (const side of /** @type {const} */ (['right', 'left'])) {
      const ref = markerRef(g.key, side);
      if (!without.includes(ref) && !without.includes(`gate/${g.key}`)) list.push({at: g[side], name: nameOf(doc, ref)});
    }
  }
  return list;
}

/**
 * @param {Pt} p metres @param {Target[]} to @param {number} tolerance metres
 * @param {{step?: number, posts?: boolean}} [how] step to round to; whether to land on a post
 * @returns {Snapped}
 */
export function snap(p, to, tolerance, {step = 0.1, posts = false} = {}) {
  if (posts) {
    const near = to.filter((t) => dist(p, t.at) <= tolerance).sort((a, b) => dist(p, a.at) - dist(p, b.at))[0];
    if (near) return {at: near.at, guides: [], words: `on ${near.name}`};
  }
  /** @type {[Pt, Pt][]} */
  const guides = [];
  const words = [];
  /** @type {Pt} */
  const at = [mm(Math.round(p[0] / step) * step), mm(Math.round(p[1] / step) * step)];
  const aligned = [0, 1].map((axis) => {
    /** @type {Target | null} */
    let best = null;
    for (const t of to) {
      const off = Math.abs(t.at[axis] - p[axis]);
      if (off > tolerance / 2) continue;
      if (!best || off < Math.abs(best.at[axis] - p[axis]) - 1e-9
        || (off < Math.abs(best.at[axis] - p[axis]) + 1e-9 && dist(t.at, p) < dist(best.at, p))) best = t;
    }
    if (best) at[axis] = best.at[axis];
    return best;
  });
  aligned.forEach((t, axis) => {
    if (!t) return;
    guides.push([t.at, at]);
    words.push(`${axis === 0 ? 'north–south' : 'east–west'} in line with ${t.name}, ${dist(t.at, at).toFixed(2)} m off`);
  });
  return {at, guides, words: words.join('; ')};
}
