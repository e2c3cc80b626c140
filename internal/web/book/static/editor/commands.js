// Every action a person takes on the plan is one of these commands: plain data
// that can be written down, sent and applied again. `apply` never changes the
// document it is given; what a command does not touch is shared.

import {add, mmPt, mm, scale, towards, turned, unit, sub, dist} from './plane.js';
import {apply as applyCones, isCones, wordsFor as wordsForCones} from './cones/commands.js';
import {DEFAULT_MARKER_RADIUS, nameOf, pairAt, pairOf, parseRef, pointsUnder, midOf, thingOf} from './model.js';

/** @typedef {import('./plane.js').Pt} Pt */
/** @typedef {import('./model.js').Plan} Plan */
/** @typedef {import('./model.js').Thing} Thing */
/** @typedef {import('./model.js').Pair} Pair */
/**
 * @typedef {{do: 'move', h: number, refs: string[], by: Pt}
 *   | {do: 'put', h: number, refs: string[], at: Pt}
 *   | {do: 'turn', h: number, ref: string, deg: number}
 *   | {do: 'add', thing: Thing}
 *   | {do: 'add-many', things: Thing[]}
 *   | {do: 'gate', h: number, letter: string, right: Pt, left: Pt}
 *   | {do: 'hazard', name: string, in: Pair, out: Pair}
 *   | {do: 'open', h: number, key: string, metres: number}
 *   | {do: 'face', h: number, key: string, bearing: number}
 *   | {do: 'swap', h: number, key: string}
 *   | {do: 'size', id: string, metres: number}
 *   | {do: 'kind', id: string, kind: string, drivable?: boolean}
 *   | {do: 'point', id: string, after: number, at: Pt}
 *   | {do: 'part', h: number}
 *   | {do: 'drop', h: number, refs: string[]}
 *   | import('./cones/commands.js').ConesCommand} Command
 */

/** @template T @param {T[]} list @param {number} i @param {T} v @returns {T[]} */
const withAt = (list, i, v) => (list[i] === v ? list : list.map((x, j) => (j === i ? v : x)));

/** @param {Plan} doc @param {string} id @param {(t: Thing) => Thing} f @returns {Plan} */
function withThing(doc, id, f) {
  const things = doc.things ?? [], i = things.findIndex((t) => t.id === id);
  return i < 0 ? doc : {...doc, things: withAt(things, i, f(things[i]))};
}

/** @param {Plan} doc @param {number} h @param {string} key @param {(p: any) => any} f @returns {Plan} */
function withPair(doc, h, key, f) {
  const hz = doc.hazards?.[h];
  if (!hz) return doc;
  const next = key === 'in' ? {...hz, in: f(hz.in)}
    : key === 'out' ? {...hz, out: f(hz.out)}
      : {...hz, gates: (hz.gates ?? []).map((g) => (g.letter === key ? f(g) : g))};
  return {...doc, hazards: withAt(doc.hazards ?? [], h, next)};
}

/** One single point set to a place. @param {Plan} doc @param {number} h @param {string} ref @param {Pt} at @returns {Plan} */
function withPoint(doc, h, ref, at) {
  const p = mmPt(at), {what, id, part} = parseRef(ref);
  switch (what) {
    case 'thing':
      return withThing(doc, id, (t) => (t.at ? {...t, at: p}
        : t.path ? {...t, path: withAt(t.path, +part, p)}
          : {...t, outline: withAt(t.outline ?? [], +part, p)}));
    case 'outline':
      return {...doc, ground: {...doc.ground, outline: withAt(doc.ground.outline, +id, p)}};
    case 'marker':
      return withPair(doc, h, id, (g) => ({...g, [part]: p}));
  }
  return doc;
}

/** Each single point under the refs once. @param {Plan} doc @param {number} h @param {string[]} refs */
function single(doc, h, refs) {
  const seen = new Map();
  for (const r of refs) for (const s of pointsUnder(doc, h, r)) seen.set(s.ref, s.at);
  return seen;
}

/** The document after the command. @param {Plan} doc @param {Command} c @returns {Plan} */
export function apply(doc, c) {
  if (isCones(c)) return applyCones(doc, c);
  switch (c.do) {
    case 'move':
      if (c.by[0] === 0 && c.by[1] === 0) return doc;
      for (const [ref, at] of single(doc, c.h, c.refs)) doc = withPoint(doc, c.h, ref, add(at, c.by));
      return doc;
    case 'put':
      for (const [ref] of single(doc, c.h, c.refs)) doc = withPoint(doc, c.h, ref, c.at);
      return doc;
    case 'turn': {
      if (c.deg === 0) return doc;
      const pts = [...single(doc, c.h, [c.ref])], about = /** @type {Pt} */ ([0, 1].map((i) => pts.reduce((a, p) => a + p[1][i], 0) / pts.length));
      for (const [ref, at] of pts) doc = withPoint(doc, c.h, ref, turned(at, about, c.deg));
      return doc;
    }
    case 'add':
      return {...doc, things: [...(doc.things ?? []), c.thing]};
    case 'add-many':
      return {...doc, things: [...(doc.things ?? []), ...c.things]};
    case 'gate': {
      const hz = doc.hazards?.[c.h];
      if (!hz) return doc;
      const gates = [...(hz.gates ?? []), {letter: c.letter, right: mmPt(c.right), left: mmPt(c.left)}]
        .sort((a, b) => (a.letter < b.letter ? -1 : 1));
      return {...doc, hazards: withAt(doc.hazards ?? [], c.h, {...hz, gates})};
    }
    case 'hazard':
      return {...doc, hazards: [...(doc.hazards ?? []), {
        name: c.name, marker_radius: DEFAULT_MARKER_RADIUS, gates: [],
        in: {right: mmPt(c.in.right), left: mmPt(c.in.left)}, out: {right: mmPt(c.out.right), left: mmPt(c.out.left)},
      }]};
    case 'open': {
      const p = pairOf(doc, c.h, c.key);
      if (!p) return doc;
      const r = doc.hazards?.[c.h].marker_radius ?? DEFAULT_MARKER_RADIUS;
      const u = unit(sub(p.right, p.left)), m = midOf(p), half = c.metres / 2 + r;
      return withPair(doc, c.h, c.key, (g) => ({...g, right: mmPt(add(m, scale(u, half))), left: mmPt(sub(m, scale(u, half)))}));
    }
    case 'face': {
      const p = pairOf(doc, c.h, c.key);
      if (!p) return doc;
      const q = pairAt(midOf(p), towards(c.bearing), dist(p.right, p.left));
      return withPair(doc, c.h, c.key, (g) => ({...g, right: mmPt(q.right), left: mmPt(q.left)}));
    }
    case 'swap':
      return withPair(doc, c.h, c.key, (g) => ({...g, right: g.left, left: g.right}));
    case 'size':
      return withThing(doc, c.id, (t) => (t.path ? {...t, width: mm(c.metres)} : {...t, radius: mm(c.metres)}));
    case 'kind':
      return withThing(doc, c.id, (t) => {
        const {drivable: _, ...rest} = t;
        return {...rest, kind: c.kind, ...(c.drivable ? {drivable: true} : {})};
      });
    case 'point':
      return withThing(doc, c.id, (t) => {
        const key = t.path ? 'path' : 'outline', pts = t[key] ?? [];
        return {...t, [key]: [...pts.slice(0, c.after + 1), mmPt(c.at), ...pts.slice(c.after + 1)]};
      });
    case 'part': {
      // Out leaves In's posts and stands a metre beside them, on its own right.
      const hz = doc.hazards?.[c.h];
      if (!hz) return doc;
      const u = unit(sub(hz.out.right, hz.out.left)), by = scale(u, dist(hz.out.right, hz.out.left) + 1);
      return withPair(doc, c.h, 'out', (g) => ({...g, right: mmPt(add(g.right, by)), left: mmPt(add(g.left, by))}));
    }
    case 'drop':
      return dropped(doc, c.h, c.refs);
  }
  throw new Error(`no command ${/** @type {any} */ (c).do}`);
}

/** Takes away what can be taken away: In, Out and the last three corners stay. @param {Plan} doc @param {number} h @param {string[]} refs @returns {Plan} */
function dropped(doc, h, refs) {
  // Points go last first, so that the numbers of the others still hold.
  for (const ref of [...refs].sort().reverse()) {
    const {what, id, part} = parseRef(ref);
    if (what === 'thing') {
      const t = thingOf(doc, id);
      if (!t) continue;
      const pts = t.path ?? t.outline ?? [], least = t.path ? 2 : 3;
      if (part !== '' && pts.length > least) {
        doc = withThing(doc, id, (x) => ({...x, [t.path ? 'path' : 'outline']: pts.filter((_, i) => i !== +part)}));
      } else {
        doc = {...doc, things: (doc.things ?? []).filter((x) => x.id !== id)};
      }
    } else if (what === 'outline') {
      if (doc.ground.outline.length > 3) doc = {...doc, ground: {...doc.ground, outline: doc.ground.outline.filter((_, i) => i !== +id)}};
    } else if (id !== 'in' && id !== 'out' && doc.hazards?.[h]) {
      const hz = doc.hazards[h];
      doc = {...doc, hazards: withAt(doc.hazards, h, {...hz, gates: (hz.gates ?? []).filter((g) => g.letter !== id)})};
    }
  }
  return doc;
}

/** What a command did, in words. @param {Plan} doc the document it was applied to @param {Command} c */
export function wordsFor(doc, c) {
  if (isCones(c)) return wordsForCones(doc, c);
  switch (c.do) {
    case 'move': case 'put':
      return c.refs.length > 2 ? `move ${c.refs.length} things` : `move ${nameOf(doc, c.refs[0])}`;
    case 'turn': return `turn ${nameOf(doc, c.ref)} by ${Math.round(c.deg)}°`;
    case 'add': return `add ${c.thing.kind} ${c.thing.id}`;
    case 'add-many': return `copy ${c.things.length} things`;
    case 'gate': return `add gate ${c.letter}`;
    case 'hazard': return 'add In and Out';
    case 'open': return `open ${nameOf(doc, `gate/${c.key}`)} to ${c.metres} m`;
    case 'face': return `turn ${nameOf(doc, `gate/${c.key}`)}`;
    case 'swap': return `drive ${nameOf(doc, `gate/${c.key}`)} the other way`;
    case 'size': case 'kind': return `change ${c.id}`;
    case 'point': return `add a point to ${c.id}`;
    case 'part': return 'give Out its own posts';
    case 'drop': return c.refs.length === 1 ? `take away ${nameOf(doc, c.refs[0])}` : `take away ${c.refs.length} things`;
  }
  return '';
}

