// Take away what is tapped. In and Out stay: a hazard has both.
import {TAP} from './hand.js';
import {dist} from '../plane.js';
import {whole} from './turn.js';
import {parseRef} from '../model.js';

/** What a taking-away takes: a marker goes with its gate. @param {string[]} refs */
export const taking = (refs) => [...new Set(refs.map((r) => (parseRef(r).what === 'marker' ? whole(r) : r)))];

/** @returns {import('./hand.js').Tool} */
export function eraseTool() {
  /** @type {{ref: string, px: import('../plane.js').Pt} | null} */
  let on = null;
  return {
    name: 'erase', label: 'Take away', key: 'x', how: 'Tap what should go. Undo brings it back.',
    down(hand, p) { on = p.hit ? {ref: p.hit, px: p.px} : null; },
    move() {},
    up(hand, p) {
      if (on && dist(on.px, p.px) < TAP * 2) {
        const refs = taking([on.ref]);
        if (refs.some((r) => r === 'gate/in' || r === 'gate/out')) hand.say('In and Out stay: every hazard has both.');
        else { hand.commit({do: 'drop', h: hand.h(), refs}); hand.choose([]); }
      }
      on = null;
    },
    cancel() { on = null; },
  };
}
