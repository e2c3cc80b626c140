// What is under a finger or the pointer. Pure. The tolerance is in pixels,
// because fingers are, and is turned into metres by the scale of the drawing.

import {dist, inside, nearestOn} from './plane.js';
import {cornerRef, gateRef, markerRef, pointRef, pointsOf, thingRef} from './model.js';
import {toGround, toScreen} from './port.js';
import {SIGN} from './layout.js';

/** @typedef {import('./plane.js').Pt} Pt */
/** @typedef {import('./port.js').Port} Port */
/** @typedef {import('./model.js').Plan} Plan */

/** How far off a pointer may be, px: a mouse and a finger. */
export const MOUSE = 8, FINGER = 22;

/**
 * The ref nearest under a screen point, or null. Signs of gates come before
 * things, small things before large ones, and the inside of an area last.
 * @param {Plan} doc @param {import('./layout.js').GateSigns[]} signs @param {Port} port
 * @param {Pt} px @param {number} tolerance px @param {string[]} chosen refs whose points may be taken singly
 * @returns {string | null}
 */
export function hit(doc, signs, port, px, tolerance, chosen = []) {
  /** @type {{ref: string, off: number}[]} */
  const found = [];
  /** @param {string} ref @param {number} off */
  const offer = (ref, off) => { if (off <= tolerance) found.push({ref, off}); };
  for (const s of signs) {
    for (const side of /** @type {const} */ (['right', 'left'])) {
      const sign = s[side === 'right' ? 'rightSign' : 'leftSign'];
      offer(markerRef(s.gate.key, side), Math.min(dist(px, sign) - SIGN, dist(px, s[side]) - 4));
    }
    offer(gateRef(s.gate.key), dist(px, s.disc) - s.discRadius);
  }
  if (found.length) return least(found);
  const p = toGround(port, px);
  for (const t of doc.things ?? []) {
    const ref = thingRef(t.id), pts = pointsOf(t);
    if (t.at) { offer(ref, (dist(p, t.at) - (t.radius ?? 0)) * port.k); continue; }
    if (chosen.some((c) => c === ref || c.startsWith(ref + '/'))) pts.forEach((q, i) => offer(pointRef(t.id, i), dist(px, toScreen(port, q)) - 6));
    const n = t.path ? pts.length - 1 : pts.length;
    let off = Infinity;
    for (let i = 0; i < n; i++) off = Math.min(off, dist(p, nearestOn(p, pts[i], pts[(i + 1) % pts.length])));
    offer(ref, Math.max(0, off - (t.width ?? 0) / 2) * port.k + 2);
  }
  if (found.length) return least(found);
  for (const t of doc.things ?? []) if (t.outline && inside(p, t.outline)) return thingRef(t.id);
  doc.ground.outline.forEach((q, i) => offer(cornerRef(i), dist(px, toScreen(port, q)) - 4));
  return found.length ? least(found) : null;
}

/** @param {{ref: string, off: number}[]} found */
const least = (found) => found.reduce((a, b) => (b.off < a.off ? b : a)).ref;
