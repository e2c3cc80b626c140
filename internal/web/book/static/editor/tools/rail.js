// Rails: from one end to the other, by a drag or by two taps. Ends land on
// posts, where rails are tied.
import {dist, same} from '../plane.js';
import {freeId, thingRef} from '../model.js';
import {TAP} from './hand.js';

/** @typedef {import('../plane.js').Pt} Pt */

/** @param {import('../model.js').Plan} doc @param {Pt} a @param {Pt} b @returns {import('../commands.js').Command} */
export const railing = (doc, a, b) => ({do: 'add', thing: {id: freeId(doc, 'r'), kind: 'rail', path: [a, b], width: 0.12}});

/** @returns {import('./hand.js').Tool} */
export function railTool() {
  /** @type {Pt | null} */
  let from = null;
  /** @type {Pt} */
  let px = [0, 0];
  /** @type {Pt} */
  let end = [0, 0];
  let dragging = false;
  const finish = (/** @type {import('./hand.js').Hand} */ hand) => {
    if (from && !same(from, end)) {
      const c = railing(hand.doc(), from, end);
      hand.commit(c);
      if (c.do === 'add') hand.choose([thingRef(c.thing.id)]);
    }
    from = null;
    dragging = false;
    hand.draft(null);
  };
  return {
    name: 'rail', label: 'Rail', key: 'r', how: 'Drag from end to end, or tap one end and then the other. Ends land on posts.',
    down(hand, p) {
      px = p.px;
      end = hand.snap(p, [], {posts: true}).at;
      dragging = true;
      from ??= end;
      hand.draft([from, end]);
    },
    move(hand, p) {
      if (!from) return;
      const s = hand.snap(p, [], {posts: true});
      end = s.at;
      hand.draft([from, end]);
      hand.say(`${dist(from, end).toFixed(2)} m ${s.words}`);
    },
    up(hand, p) {
      if (!from || !dragging) return;
      dragging = false;
      if (dist(p.px, px) >= TAP || !same(from, end)) finish(hand);
    },
    cancel(hand) { from = null; dragging = false; hand.draft(null); },
  };
}
