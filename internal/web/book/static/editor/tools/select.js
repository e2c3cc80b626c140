// Choose and drag. A press on nothing drags the paper.
import {add, dist, mmPt, sub} from '../plane.js';
import {markersOn, parseRef, placeOf, pointsUnder} from '../model.js';
import {TAP} from './hand.js';

/** @typedef {import('./hand.js').Hand} Hand */
/** @typedef {import('./hand.js').Press} Press */
/** @typedef {import('../plane.js').Pt} Pt */

/**
 * The refs with every marker that shares a post with one of them: a post that
 * carries two signs moves as one post.
 * @param {import('../model.js').Plan} doc @param {number} h @param {string[]} refs
 */
export function withShared(doc, h, refs) {
  const all = new Set(refs);
  for (const r of refs) {
    for (const p of pointsUnder(doc, h, r)) if (parseRef(p.ref).what === 'marker') for (const m of markersOn(doc, h, p.at)) all.add(m);
  }
  return [...all];
}

/** @returns {import('./hand.js').Tool} */
export function selectTool() {
  /** @type {{press: Press, refs: string[], start: Pt, moved: boolean} | null} */
  let drag = null;
  /** @type {Pt | null} */
  let pan = null;
  /** @type {import('../commands.js').Command | null} */
  let last = null;
  return {
    name: 'select', label: 'Choose', key: 'v', how: 'Drag a thing, or the paper. Shift adds to what is chosen; Alt drags without snapping.',
    down(hand, p) {
      last = null;
      if (!p.hit) { pan = p.px; if (!p.shift) hand.choose([]); return; }
      const was = hand.chosen();
      const now = p.shift ? (was.includes(p.hit) ? was.filter((r) => r !== p.hit) : [...was, p.hit]) : was.includes(p.hit) ? was : [p.hit];
      hand.choose(now);
      const start = placeOf(hand.doc(), hand.h(), p.hit);
      if (start) drag = {press: p, refs: withShared(hand.doc(), hand.h(), now.includes(p.hit) ? now : [p.hit]), start, moved: false};
    },
    move(hand, p) {
      if (pan) { hand.pan(p.px[0] - pan[0], p.px[1] - pan[1]); pan = p.px; return; }
      if (!drag) return;
      if (!drag.moved && dist(p.px, drag.press.px) < TAP) return;
      drag.moved = true;
      const want = add(drag.start, sub(p.at, drag.press.at));
      const s = hand.snap({...p, at: want}, drag.refs);
      last = {do: 'move', h: hand.h(), refs: drag.refs, by: mmPt(sub(s.at, drag.start))};
      hand.attempt(last, s.guides, s.words);
    },
    up(hand) {
      const c = last;
      drag = pan = last = null;
      if (c) hand.commit(c);
    },
    cancel(hand) { drag = pan = last = null; hand.attempt(null); },
  };
}
