// The keyboard. Everything a finger can do on the drawing: arrows move what is
// focused by 0.1 m (Shift 1 m, Alt 1 cm), or the cross when nothing is; letters
// put things at the cross; Enter opens the numbers; Delete takes away.

import {add, mmPt} from './plane.js';
import {freeId, parseRef, pointsUnder, thingRef, thingOf, pointsOf} from './model.js';
import {placing} from './tools/place.js';
import {railing} from './tools/rail.js';
import {gating} from './tools/gate.js';
import {taking} from './tools/erase.js';
import {whole} from './tools/turn.js';
import {withShared} from './tools/select.js';
import {snap, targets} from './snap.js';

/** @typedef {import('./plane.js').Pt} Pt */

/** @type {Record<string, Pt>} */
const ARROWS = {ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0]};

export const HELP = 'On the drawing: arrows move the cross 0.1 m, Shift 1 m, Alt 1 cm. P post, T tree, R rail and G gate at the cross (rails and gates: once for each end, gates white then red). Tab reaches each thing; arrows move it, [ and ] turn it, Enter opens its numbers, Space adds it to what is chosen, Delete takes it away, Ctrl+D copies. Plus and minus zoom, 0 shows all. Ctrl+Z undoes, Ctrl+Shift+Z does again, Ctrl+S keeps.';

/**
 * @param {SVGSVGElement} svg @param {HTMLElement} page
 * @param {any} desk
 */
export function listenKeys(svg, page, desk) {
  /** First end of a rail or gate begun with the keyboard. @type {{key: string, at: Pt} | null} */
  let begun = null;

  page.ownerDocument.addEventListener('keydown', (e) => {
    const typing = e.target instanceof HTMLInputElement && e.target.type === 'text' || e.target instanceof HTMLTextAreaElement;
    if (!(e.ctrlKey || e.metaKey) || e.altKey) return;
    const k = e.key.toLowerCase();
    if (k === 's') { e.preventDefault(); desk.keep(); return; }
    if (typing) return;
    if (k === 'z' && !e.shiftKey) { e.preventDefault(); desk.undo(); } else if ((k === 'z' && e.shiftKey) || k === 'y') { e.preventDefault(); desk.redo(); }
  });

  svg.addEventListener('keydown', (e) => {
    const s = desk.get(), ref = /** @type {Element} */ (e.target).closest?.('[data-ref]')?.getAttribute('data-ref') ?? null;
    const arrow = ARROWS[e.key];
    if (arrow) {
      e.preventDefault();
      const k = e.altKey ? 0.01 : e.shiftKey ? 1 : 0.1;
      const by = /** @type {Pt} */ (mmPt([arrow[0] * k, arrow[1] * k]));
      if (ref) {
        const refs = withShared(s.history.now, s.h, s.chosen.includes(ref) ? s.chosen : [ref]);
        if (!s.chosen.includes(ref)) desk.choose([ref]);
        desk.commit({do: 'move', h: s.h, refs, by});
        const p = pointsUnder(desk.get().history.now, s.h, ref)[0]?.at;
        if (p) desk.say(`${p[0].toFixed(2)} east, ${p[1].toFixed(2)} north`);
      } else {
        const at = mmPt(add(s.cross ?? mmPt([Math.round(s.port.cx), Math.round(s.port.cy)]), by));
        desk.cross(at);
        if (begun) desk.draft([begun.at, at]);
        desk.say(`cross at ${at[0].toFixed(2)} east, ${at[1].toFixed(2)} north`);
      }
      return;
    }
    if (e.ctrlKey || e.metaKey) {
      if (e.key.toLowerCase() === 'd') { e.preventDefault(); copy(s); }
      return;
    }
    switch (e.key) {
      case 'Enter':
        e.preventDefault();
        if (ref) desk.numbers(whole(ref)); else if (begun) end(begun.key);
        return;
      case ' ':
        e.preventDefault();
        if (ref) desk.choose(s.chosen.includes(ref) ? s.chosen.filter((/** @type {string} */ r) => r !== ref) : [...s.chosen, ref]);
        return;
      case 'Delete': case 'Backspace': {
        e.preventDefault();
        const refs = taking(s.chosen.length && (!ref || s.chosen.includes(ref)) ? s.chosen : ref ? [ref] : []);
        if (refs.some((r) => r === 'gate/in' || r === 'gate/out')) { desk.say('In and Out stay: every hazard has both.'); return; }
        if (refs.length) { desk.commit({do: 'drop', h: s.h, refs}); desk.choose([]); svg.focus(); }
        return;
      }
      case 'Escape':
        begun = null;
        desk.draft(null);
        desk.choose([]);
        desk.cancel();
        if (ref) svg.focus();
        return;
      case '[': case ']': case '{': case '}': {
        const target = ref ?? s.chosen[0];
        if (!target) return;
        const fine = e.shiftKey || e.key === '{' || e.key === '}', deg = (e.key === '[' || e.key === '{' ? -1 : 1) * (fine ? 1 : 5);
        desk.commit({do: 'turn', h: s.h, ref: whole(target), deg});
        return;
      }
      case '+': case '=': desk.zoom(1.25); return;
      case '-': desk.zoom(0.8); return;
      case '0': desk.fit(); return;
    }
    const k = e.key.toLowerCase();
    if (e.altKey) return;
    if ('ptrg'.includes(k)) { e.preventDefault(); end(k); } else if ('vhux'.includes(k)) desk.tool(k);
  });

  /** Puts what the key says at the cross. @param {string} k */
  function end(k) {
    const s = desk.get(), doc = s.history.now;
    const raw = s.cross ?? mmPt([Math.round(s.port.cx), Math.round(s.port.cy)]);
    if (!s.cross) desk.cross(raw);
    if (k === 'p' || k === 't') {
      const c = placing(doc, k === 'p' ? 'post' : 'tree', raw);
      desk.commit(c);
      if (c.do === 'add') desk.choose([thingRef(c.thing.id)]);
      return;
    }
    // Ends land on a post within a hand's breadth.
    const at = snap(raw, targets(doc, s.h, []), 0.15, {posts: true, step: 0.01}).at;
    if (!begun || begun.key !== k) {
      begun = {key: k, at};
      desk.draft([at, at]);
      desk.say(k === 'r' ? 'Rail begun: move the cross to its other end and press R.' : 'White marker (driver\'s left) set: move the cross to the red one (driver\'s right) and press G.');
      return;
    }
    if (begun.at[0] === at[0] && begun.at[1] === at[1]) { desk.say('The other end cannot be the same place.'); return; }
    const c = k === 'r' ? railing(doc, begun.at, at) : gating(doc, s.h, begun.at, at);
    begun = null;
    desk.draft(null);
    if (c) desk.commit(c); else desk.say('All letters from A to Z are given.');
  }

  /** Copies the chosen things a metre north-east; the copies are then chosen. @param {any} s */
  function copy(s) {
    /** @type {any[]} */
    const made = [];
    let doc = s.history.now;
    for (const r of s.chosen) {
      const {what, id} = parseRef(r), t = what === 'thing' ? thingOf(doc, id) : undefined;
      if (!t || made.some((m) => m.from === id)) continue;
      const shift = (/** @type {Pt} */ p) => mmPt(add(p, [1, 1]));
      const prefix = /^[a-z]+/i.exec(t.id)?.[0] ?? 'x';
      const nid = freeId(doc, prefix);
      const n = {...t, id: nid, ...(t.at ? {at: shift(t.at)} : t.path ? {path: pointsOf(t).map(shift)} : {outline: pointsOf(t).map(shift)})};
      made.push({from: id, thing: n});
      doc = {...doc, things: [...(doc.things ?? []), n]};
    }
    if (!made.length) { desk.say('Choose posts, trees, rails or areas to copy.'); return; }
    desk.commit({do: 'add-many', things: made.map((m) => m.thing)});
    desk.choose(made.map((m) => thingRef(m.thing.id)));
  }
}
