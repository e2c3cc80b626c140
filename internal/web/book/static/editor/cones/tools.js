// What a hand does to a course: choose and drag, turn by the handle, set pairs,
// single cones and multiples. Small state machines that know the plan and nothing
// of browser events, as in ../tools.

import {add, bearingOf, dist, mmPt, sub, turnFrom, unit} from '../plane.js';
import {TAP} from '../tools/hand.js';
import {courseOf, gateUnder, inOrder, lastNumber, middleOf, partsOf, thingsWith} from './model.js';
import {middleOfRefs} from './commands.js';

/** @typedef {import('../plane.js').Pt} Pt */
/** @typedef {import('../model.js').Plan} Plan */
/** @typedef {import('../tools/hand.js').Press} Press */
/** @typedef {import('./commands.js').ConesCommand} ConesCommand */
/**
 * @typedef {Object} Hand what the desk gives a tool
 * @property {() => Plan} doc the kept document @property {() => number} c which course
 * @property {() => string[]} chosen @property {(refs: string[]) => void} choose
 * @property {() => boolean} whole a multiple moves as one piece
 * @property {() => void} begin the hand has come down on something that may move
 * @property {(c: ConesCommand | null, words?: string) => void} attempt show what the command would do
 * @property {(c: ConesCommand) => void} commit do it as one step
 * @property {(pts: Pt[] | null) => void} draft a pencil line that is not in the plan
 * @property {(dx: number, dy: number) => void} pan
 * @property {(at: Pt, bearing: number | null) => void} place put the multiple there
 */
/** @typedef {{name: string, label: string, key: string, how: string, down: (h: Hand, p: Press) => void, move: (h: Hand, p: Press) => void, up: (h: Hand, p: Press) => void, cancel: (h: Hand) => void}} Tool */

/**
 * All that moves with some refs: as one piece, every part of a multiple and the
 * rails that were placed with it.
 * @param {Plan} doc @param {number} c @param {string[]} refs @param {boolean} whole
 */
export function together(doc, c, refs, whole) {
  const k = courseOf(doc, c), all = new Set(refs.map((r) => r.replace(/^turn\//, 'cone/')));
  if (!whole || !k) return [...all];
  for (const r of [...all]) {
    const n = gateUnder(doc, c, r)?.number ?? (Number(/^thing\/m(\d+)-\d+$/.exec(r)?.[1] ?? 0) || 0), parts = n ? partsOf(k, n) : [];
    if (parts.length < 2) continue;
    for (const g of parts) all.add(`cone/${g.number}${g.part ?? ''}`);
    for (const t of thingsWith(doc, n)) all.add(`thing/${encodeURIComponent(t.id)}`);
  }
  return [...all];
}

/** The bearing a new gate has when nobody says: on from the last one. @param {Plan} doc @param {number} c @param {Pt} at */
export function usualBearing(doc, c, at) {
  const k = courseOf(doc, c), last = k && inOrder(k).at(-1);
  if (!k) return 0;
  const from = last ? middleOf(last) : /** @type {Pt} */ ([(k.start.right[0] + k.start.left[0]) / 2, (k.start.right[1] + k.start.left[1]) / 2]);
  return dist(from, at) > 0 ? Math.round(bearingOf(sub(at, from))) : 0;
}

/** @param {Plan} doc @param {number} c @param {Pt} at @param {number | null} bearing @returns {ConesCommand} */
export function pairing(doc, c, at, bearing) {
  const number = lastNumber(courseOf(doc, c)) + 1;
  return {do: 'cones-add', c, gates: [{number, at: mmPt(at), bearing: bearing ?? usualBearing(doc, c, at)}], things: [], what: `pair ${number}`};
}
/** @param {Plan} doc @param {number} c @param {Pt} at @returns {ConesCommand} */
export function weaving(doc, c, at) {
  const number = lastNumber(courseOf(doc, c)) + 1;
  return {do: 'cones-add', c, gates: [{number, cone: mmPt(at), pass: 'right'}], things: [], what: `cone ${number}`};
}

/** @param {Pt} p @param {boolean} fine @returns {Pt} */
const onStep = (p, fine) => { const k = fine ? 100 : 10; return mmPt([Math.round(p[0] * k) / k, Math.round(p[1] * k) / k]); };

/** @returns {Tool} */
export function chooseTool() {
  /** @type {{press: Press, refs: string[], start: Pt, moved: boolean} | null} */
  let drag = null;
  /** @type {{ref: string, about: Pt, from: number} | null} */
  let turn = null;
  /** @type {Pt | null} */
  let pan = null;
  /** @type {ConesCommand | null} */
  let last = null;
  /** A finger on what is not chosen yet. @type {Press | null} */
  let tap = null;
  const drop = () => { drag = turn = pan = last = tap = null; };
  return {
    name: 'choose', label: 'Choose', key: 'v', how: 'Press on a pair, then drag it, drag its round handle to turn it, or drag the paper. Alt: to the centimetre.',
    down(hand, p) {
      drop();
      if (!p.hit) { pan = p.px; if (!p.shift) hand.choose([]); return; }
      if (p.hit.startsWith('turn/')) {
        const ref = p.hit.replace('turn/', 'cone/'), about = middleOfRefs(hand.doc(), hand.c(), [ref]);
        if (about) { turn = {ref, about, from: bearingOf(sub(p.at, about))}; hand.begin(); }
        return;
      }
      const was = hand.chosen();
      // A finger first chooses and then moves: a glove that lands on a pair while it
      // pushes the paper must not carry the pair along.
      if (p.finger && !was.includes(p.hit)) { pan = p.px; tap = p; return; }
      const now = p.shift ? (was.includes(p.hit) ? was.filter((r) => r !== p.hit) : [...was, p.hit]) : was.includes(p.hit) ? was : [p.hit];
      hand.choose(now);
      const start = middleOfRefs(hand.doc(), hand.c(), [p.hit]);
      if (!start) return;
      drag = {press: p, refs: together(hand.doc(), hand.c(), now.includes(p.hit) ? now : [p.hit], hand.whole()), start, moved: false};
      hand.begin();
    },
    move(hand, p) {
      if (tap && dist(p.px, tap.px) < 3 * TAP) return;
      tap = null;
      if (pan) { hand.pan(p.px[0] - pan[0], p.px[1] - pan[1]); pan = p.px; return; }
      if (turn) {
        const raw = turnFrom(turn.from, bearingOf(sub(p.at, turn.about))), deg = p.alt ? Math.round(raw * 10) / 10 : Math.round(raw);
        last = {do: 'cones-turn', c: hand.c(), refs: [turn.ref], deg};
        hand.attempt(last, `turned ${Math.abs(deg)}° to the ${deg < 0 ? 'left' : 'right'}`);
        return;
      }
      if (!drag || (!drag.moved && dist(p.px, drag.press.px) < TAP)) return;
      drag.moved = true;
      const to = onStep(add(drag.start, sub(p.at, drag.press.at)), p.alt);
      last = {do: 'cones-move', c: hand.c(), refs: drag.refs, by: mmPt(sub(to, drag.start))};
      hand.attempt(last, `${to[0].toFixed(2)} m east, ${to[1].toFixed(2)} m north`);
    },
    up(hand) {
      const c = last, on = tap;
      drop();
      if (on?.hit) hand.choose(on.shift ? [...hand.chosen(), on.hit] : [on.hit]);
      if (c) hand.commit(c);
    },
    cancel(hand) { drop(); hand.attempt(null); },
  };
}

/** A press sets it; a drag gives the way it is driven. @param {string} name @param {string} label @param {string} key @param {string} how @param {(h: Hand, at: Pt, bearing: number | null) => void} set @returns {Tool} */
function setTool(name, label, key, how, set) {
  /** @type {Press | null} */
  let press = null;
  return {
    name, label, key, how,
    down(_, p) { press = p; },
    move(hand, p) { if (press && dist(p.px, press.px) >= TAP) hand.draft([onStep(press.at, press.alt), p.at]); },
    up(hand, p) {
      if (!press) return;
      const at = onStep(press.at, press.alt), way = sub(p.at, press.at), bearing = dist(p.px, press.px) >= 3 * TAP ? Math.round(bearingOf(unit(way))) : null;
      press = null;
      hand.draft(null);
      set(hand, at, bearing);
    },
    cancel(hand) { press = null; hand.draft(null); },
  };
}
export const pairTool = () => setTool('pair', 'Pair', 'p', 'Press where the pair goes; drag the way it is driven.', (h, at, b) => h.commit(pairing(h.doc(), h.c(), at, b)));
export const coneTool = () => setTool('cone', 'One cone', 'o', 'Press where a single cone goes that is woven round.', (h, at) => h.commit(weaving(h.doc(), h.c(), at)));
export const multipleTool = () => setTool('multiple', 'Multiple', 'm', 'Press where its first part goes; drag the way it is driven. Its kind and size are beside the drawing.', (h, at, b) => h.place(at, b));

/** @returns {Tool} */
export function paperTool() {
  /** @type {Pt | null} */
  let at = null;
  return {
    name: 'paper', label: 'Move paper', key: 'h', how: 'Drag the paper. Two fingers zoom.',
    down(_, p) { at = p.px; },
    move(hand, p) { if (at) { hand.pan(p.px[0] - at[0], p.px[1] - at[1]); at = p.px; } },
    up() { at = null; },
    cancel() { at = null; },
  };
}
