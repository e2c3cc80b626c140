// Posts and trees: put one where the finger is lifted.
import {freeId, thingRef} from '../model.js';

/** Radii are common practice for a stout post and a young tree, m; both can be typed over. */
const KINDS = {post: {prefix: 'p', radius: 0.06}, tree: {prefix: 't', radius: 0.3}};

/** The command that puts a post or a tree. @param {import('../model.js').Plan} doc @param {'post'|'tree'} kind @param {import('../plane.js').Pt} at @returns {import('../commands.js').Command} */
export function placing(doc, kind, at) {
  const {prefix, radius} = KINDS[kind];
  return {do: 'add', thing: {id: freeId(doc, prefix), kind, at, radius}};
}

/** @param {'post'|'tree'} kind @param {string} key @returns {import('./hand.js').Tool} */
export function placeTool(kind, key) {
  /** @type {import('../commands.js').Command | null} */
  let next = null;
  const aim = (/** @type {import('./hand.js').Hand} */ hand, /** @type {import('./hand.js').Press} */ p) => {
    const s = hand.snap(p, []);
    next = placing(hand.doc(), kind, s.at);
    hand.attempt(next, s.guides, s.words);
  };
  return {
    name: kind, label: kind === 'post' ? 'Post' : 'Tree', key, how: `Press where the ${kind} stands; drag before you let go to set it right.`,
    down: aim,
    move(hand, p) { if (next) aim(hand, p); },
    up(hand) {
      const c = next;
      next = null;
      if (c?.do === 'add') { hand.commit(c); hand.choose([thingRef(c.thing.id)]); }
    },
    cancel(hand) { next = null; hand.attempt(null); },
  };
}
