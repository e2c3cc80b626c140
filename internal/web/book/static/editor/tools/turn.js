// Turn a gate, a rail or an area about its middle.
import {bearingOf, sub, turnFrom} from '../plane.js';
import {placeOf, parseRef, gateRef} from '../model.js';

/** @typedef {import('../plane.js').Pt} Pt */

/** The whole thing that a single point belongs to. @param {string} ref */
export const whole = (ref) => {
  const {what, id} = parseRef(ref);
  return what === 'marker' ? gateRef(id) : what === 'thing' ? `thing/${encodeURIComponent(id)}` : ref;
};

/** @returns {import('./hand.js').Tool} */
export function turnTool() {
  /** @type {{ref: string, about: Pt, from: number} | null} */
  let turn = null;
  /** @type {import('../commands.js').Command | null} */
  let last = null;
  return {
    name: 'turn', label: 'Turn', key: 'u', how: 'Press on a gate, rail or area and drag round its middle. By keyboard: [ and ] turn by 5°, with Shift by 1°.',
    down(hand, p) {
      last = null;
      if (!p.hit) return;
      const ref = whole(p.hit), about = placeOf(hand.doc(), hand.h(), ref);
      hand.choose([ref]);
      if (about) turn = {ref, about, from: bearingOf(sub(p.at, about))};
    },
    move(hand, p) {
      if (!turn) return;
      const raw = turnFrom(turn.from, bearingOf(sub(p.at, turn.about))), deg = p.alt ? Math.round(raw * 10) / 10 : Math.round(raw);
      last = {do: 'turn', h: hand.h(), ref: turn.ref, deg};
      hand.attempt(last, [], `turned ${Math.abs(deg)}° to the ${deg < 0 ? 'left' : 'right'}`);
    },
    up(hand) { const c = last; turn = last = null; if (c) hand.commit(c); },
    cancel(hand) { turn = last = null; hand.attempt(null); },
  };
}
