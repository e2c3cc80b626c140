// Where the signs of a gate stand on the screen. Pure: the drawing uses it to
// draw and hit.js to find what is under a finger, so the two cannot disagree.
//
// A sign stands beside its post, away from the opening, so that the opening
// stays clear. Where one post carries a red sign for one gate and a white one
// for another (In and Out on the same two posts), each gate's signs stand on
// the face its own driver sees, so that R and L never contradict each other.

import {add, dot, left, scale, sub, unit, same} from './plane.js';
import {toScreen} from './port.js';

/** @typedef {import('./plane.js').Pt} Pt */
/** @typedef {import('./port.js').Port} Port */
/** @typedef {import('./model.js').Gate} Gate */
/**
 * @typedef {Object} GateSigns all in screen pixels
 * @property {Gate} gate
 * @property {Pt} right post of the red marker
 * @property {Pt} left post of the white marker
 * @property {Pt} rightSign middle of the red square
 * @property {Pt} leftSign middle of the white circle
 * @property {Pt} disc middle of the letter's disc
 * @property {number} discRadius
 * @property {Pt} seconds where the seconds are written
 * @property {Pt} forward unit vector of the way it is driven
 * @property {Pt} across unit vector from left to right
 * @property {Pt} arrow middle of the arrow
 * @property {string} posts key shared by gates on the same two posts
 */

/** Half the diagonal of the red square and the radius of the white circle, px. */
export const SIGN = 12;

/** @param {Pt} p */
const key = (p) => `${p[0]},${p[1]}`;

/** @param {Port} port @param {Gate[]} gates @returns {GateSigns[]} */
export function gateSigns(port, gates) {
  /** @type {Map<string, number>} */
  const stacked = new Map();
  return gates.map((gate) => {
    const r = toScreen(port, gate.right), l = toScreen(port, gate.left);
    const across = unit(sub(r, l));
    // North is up and the screen's y runs down: left of `across` as the driver
    // sees it is its right-hand normal on the screen.
    const forward = scale(left(across), -1);
    const signs = {right: /** @type {Pt} */ ([0, 0]), left: /** @type {Pt} */ ([0, 0])};
    let contested = false, inward = false;
    for (const side of /** @type {const} */ (['right', 'left'])) {
      const out = side === 'right' ? across : scale(across, -1);
      const other = gates.find((o) => o !== gate && same(o[side === 'right' ? 'left' : 'right'], gate[side]));
      const post = side === 'right' ? r : l;
      if (!other) { signs[side] = add(post, scale(out, SIGN)); continue; }
      contested = true;
      const ofwd = scale(left(unit(sub(toScreen(port, other.right), toScreen(port, other.left)))), -1);
      const sameWay = dot(forward, ofwd) > 0;
      if (side === 'right') inward = sameWay;
      signs[side] = sameWay
        ? add(add(post, scale(forward, -SIGN)), scale(out, -SIGN))
        : add(add(post, scale(forward, -SIGN - 3)), scale(out, 3));
    }
    const posts = [key(gate.right), key(gate.left)].sort().join(' '), pile = posts + key(gate.right);
    const n = stacked.get(pile) ?? 0;
    stacked.set(pile, n + 1);
    const discRadius = gate.label.length > 1 ? 16 : 13;
    // A red sign that had to stand inside its opening has its letter behind it,
    // for beside it stands the white sign of the next gate.
    const disc = add(signs.right, inward ? scale(forward, -(SIGN + discRadius + 1 + n * 28)) : scale(across, SIGN + discRadius + 1 + n * 28));
    const m = /** @type {Pt} */ ([(r[0] + l[0]) / 2, (r[1] + l[1]) / 2]);
    return {
      gate, right: r, left: l, rightSign: signs.right, leftSign: signs.left, disc, discRadius, forward, across, posts,
      seconds: add(signs.left, scale(across, -SIGN - 10 - 16 * Math.abs(across[0]))),
      arrow: contested ? add(m, scale(across, 7)) : m,
    };
  });
}
