// The keyboard on a cones drawing: everything a finger can do.

import {add, mmPt} from '../plane.js';
import {gateUnder, lastNumber, courseOf, stands} from './model.js';
import {pairing, together, usualBearing, weaving} from './tools.js';
import {middleOfRefs} from './commands.js';

/** @typedef {import('../plane.js').Pt} Pt */
/** @type {Record<string, Pt>} */
const ARROWS = {ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0]};

export const HELP = 'On the drawing: arrows move the cross 0.1 m, Shift 1 m, Alt 1 cm. P sets a pair at the cross, O one cone, M the multiple that is made ready beside the drawing. Tab reaches each gate; arrows move it, [ and ] turn it 5°, with Shift 1°, W drives it the other way, Y turns it to the other hand, Enter opens its numbers, Space adds it to what is chosen, Delete takes it away. Plus and minus zoom, 0 shows all. Ctrl+Z undoes, Ctrl+Shift+Z does again, Ctrl+S keeps.';

/** @param {SVGSVGElement} svg @param {any} desk */
export function listenKeys(svg, desk) {
  svg.ownerDocument.addEventListener('keydown', (e) => {
    const typing = e.target instanceof HTMLInputElement && e.target.type === 'text';
    if (!(e.ctrlKey || e.metaKey) || e.altKey) return;
    const k = e.key.toLowerCase();
    if (k === 's') { e.preventDefault(); desk.keep(); return; }
    if (typing) return;
    if (k === 'z' && !e.shiftKey) { e.preventDefault(); desk.undo(); } else if ((k === 'z' && e.shiftKey) || k === 'y') { e.preventDefault(); desk.redo(); }
  });
  svg.addEventListener('keydown', (e) => {
    if (e.ctrlKey || e.metaKey) return;
    const s = desk.get(), doc = s.history.now, raw = /** @type {Element} */ (e.target).closest?.('[data-ref]')?.getAttribute('data-ref') ?? null;
    const ref = raw?.startsWith('turn/') ? raw.replace('turn/', 'cone/') : raw, own = ref && (stands(doc, s.c, ref) || ref.startsWith('thing/'));
    const refs = () => together(doc, s.c, ref && !s.chosen.includes(ref) ? [ref] : s.chosen.length ? s.chosen : ref ? [ref] : [], s.whole);
    const arrow = ARROWS[e.key];
    if (arrow && raw?.startsWith('turn/')) {
      e.preventDefault();
      if (arrow[0]) desk.commit({do: 'cones-turn', c: s.c, refs: [ref], deg: arrow[0] * (e.altKey ? 0.1 : e.shiftKey ? 5 : 1)});
      return;
    }
    if (arrow) {
      e.preventDefault();
      const k = e.altKey ? 0.01 : e.shiftKey ? 1 : 0.1, by = mmPt([arrow[0] * k, arrow[1] * k]);
      if (own && ref) {
        if (!s.chosen.includes(ref)) desk.choose([ref]);
        desk.commit({do: 'cones-move', c: s.c, refs: refs(), by});
        const p = middleOfRefs(desk.get().history.now, s.c, [ref]);
        if (p) desk.say(`${p[0].toFixed(2)} m east, ${p[1].toFixed(2)} m north`);
      } else {
        const at = mmPt(add(s.cross ?? mmPt([Math.round(s.port.cx), Math.round(s.port.cy)]), by));
        desk.cross(at);
        desk.say(`cross at ${at[0].toFixed(2)} m east, ${at[1].toFixed(2)} m north`);
      }
      return;
    }
    switch (e.key) {
      case 'Enter': e.preventDefault(); if (ref) desk.numbers(ref); return;
      case ' ':
        e.preventDefault();
        if (ref) desk.choose(s.chosen.includes(ref) ? s.chosen.filter((/** @type {string} */ r) => r !== ref) : [...s.chosen, ref]);
        return;
      case 'Delete': case 'Backspace': e.preventDefault(); desk.drop(refs()); return;
      case 'Escape': desk.choose([]); desk.cancel(); if (ref) svg.focus(); return;
      case '[': case ']': case '{': case '}': {
        const fine = e.shiftKey || e.key === '{' || e.key === '}', hand = e.key === '[' || e.key === '{' ? -1 : 1;
        if (refs().length) desk.commit({do: 'cones-turn', c: s.c, refs: refs(), deg: hand * (fine ? 1 : 5)});
        return;
      }
      case '+': case '=': desk.zoom(1.25); return;
      case '-': desk.zoom(0.8); return;
      case '0': desk.fit(); return;
    }
    if (e.altKey) return;
    const k = e.key.toLowerCase(), cross = s.cross ?? mmPt([Math.round(s.port.cx), Math.round(s.port.cy)]);
    if (k === 'w' && ref && stands(doc, s.c, ref)) { desk.commit({do: 'cones-other-way', c: s.c, ref}); return; }
    if (k === 'y') { const g = ref ? gateUnder(doc, s.c, ref) : undefined; if (g) desk.commit({do: 'cones-mirror', c: s.c, number: g.number}); return; }
    if ('pom'.includes(k)) {
      e.preventDefault();
      if (!courseOf(doc, s.c)) { desk.say('Begin a course first.'); return; }
      desk.cross(cross);
      if (k === 'm') desk.place(cross, usualBearing(doc, s.c, cross));
      else {
        const n = lastNumber(courseOf(doc, s.c)) + 1;
        desk.commit(k === 'p' ? pairing(doc, s.c, cross, null) : weaving(doc, s.c, cross));
        desk.choose([`cone/${n}`]);
      }
    } else if ('vh'.includes(k)) desk.tool(k);
  });
}
