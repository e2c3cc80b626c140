// Gates: a pair of markers, from the white one to the red one. The first pair
// on a plan without a hazard is In, and Out on the same two posts the other way.
import {dist, same} from '../plane.js';
import {freeLetter, gateRef, pairAt} from '../model.js';
import {TAP} from './hand.js';

/** @typedef {import('../plane.js').Pt} Pt */

/** Opening of a gate put down by a tap, m: common practice for an obedient single. */
const OPENING = 3;

/**
 * @param {import('../model.js').Plan} doc @param {number} h @param {Pt} left @param {Pt} right
 * @returns {import('../commands.js').Command | null} null after the letter Z
 */
export function gating(doc, h, left, right) {
  if (!doc.hazards?.[h]) return {do: 'hazard', name: `Hazard ${(doc.hazards?.length ?? 0) + 1}`, in: {right, left}, out: {right: left, left: right}};
  const letter = freeLetter(doc, h);
  return letter ? {do: 'gate', h, letter, right, left} : null;
}

/** @returns {import('./hand.js').Tool} */
export function gateTool() {
  /** @type {Pt | null} */
  let from = null;
  /** @type {Pt} */
  let px = [0, 0];
  /** @type {import('../commands.js').Command | null} */
  let next = null;
  const aim = (/** @type {import('./hand.js').Hand} */ hand, /** @type {import('./hand.js').Press} */ p) => {
    if (!from) return;
    const s = hand.snap(p, [], {posts: true}), tap = dist(p.px, px) < TAP * 2 || same(s.at, from);
    const pair = tap ? pairAt(from, [0, 1], OPENING) : {left: from, right: s.at};
    next = gating(hand.doc(), hand.h(), pair.left, pair.right);
    hand.attempt(next, s.guides, tap ? 'Drag to the red marker, on the driver\'s right.' : `${dist(from, s.at).toFixed(2)} m from white to red`);
  };
  return {
    name: 'gate', label: 'Gate', key: 'g', how: 'Press at the white marker (driver\'s left), drag to the red one (driver\'s right). A tap puts a 3 m gate driven north.',
    down(hand, p) { px = p.px; from = hand.snap(p, [], {posts: true}).at; aim(hand, p); },
    move(hand, p) { aim(hand, p); },
    up(hand) {
      const c = next;
      from = next = null;
      if (!c) { hand.attempt(null); hand.say('All letters from A to Z are given.'); return; }
      hand.commit(c);
      if (c.do === 'gate') hand.choose([gateRef(c.letter)]);
    },
    cancel(hand) { from = next = null; hand.attempt(null); },
  };
}
