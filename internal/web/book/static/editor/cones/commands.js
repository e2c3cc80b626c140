// What a person does to a cones course, as commands: plain data that can be
// applied again. The document given is never changed; what a command does not
// touch is shared. Numbers are always left without a hole, and the parts of a
// number always run a, b, c … .

import {add, dot, mmPt, right as rightOf, scale, sub, towards, turned} from '../plane.js';
import {coneName, courseOf, gateId, gateOf, gateUnder, inOrder, middleOf, partsOf, placesOf, thingsWith, NOMINAL_TRACK} from './model.js';

/** @typedef {import('../plane.js').Pt} Pt */
/** @typedef {import('../model.js').Plan} Plan */
/** @typedef {import('../model.js').Thing} Thing */
/** @typedef {import('./model.js').ConeGate} ConeGate */
/** @typedef {import('./model.js').Course} Course */
/** @typedef {import('./model.js').Gap} Gap */
/**
 * @typedef {{do: 'cones-begin', course: Course}
 *   | {do: 'cones-move', c: number, refs: string[], by: Pt, exact?: boolean}
 *   | {do: 'cones-put', c: number, ref: string, at: Pt}
 *   | {do: 'cones-turn', c: number, refs: string[], deg: number, exact?: boolean}
 *   | {do: 'cones-face', c: number, id: string, bearing: number}
 *   | {do: 'cones-other-way', c: number, ref: string}
 *   | {do: 'cones-gap', c: number, id: string, gap: Gap | null}
 *   | {do: 'cones-pass', c: number, id: string, pass: 'right' | 'left'}
 *   | {do: 'cones-add', c: number, gates: ConeGate[], things: Thing[], what: string}
 *   | {do: 'cones-mirror', c: number, number: number}
 *   | {do: 'cones-number', c: number, from: number, to: number}
 *   | {do: 'cones-drop', c: number, refs: string[]}
 *   | {do: 'cones-set', c: number, set: Partial<Course>, what: string}} ConesCommand
 * exact: not rounded to the millimetre, for a cure that is just enough
 */

/** @param {{do: string}} c @returns {c is ConesCommand} */
export const isCones = (c) => c.do.startsWith('cones-');

/** @param {number} v */
const deg2 = (v) => ((Math.round(v * 100) / 100) % 360 + 360) % 360;

/** @param {Plan} doc @param {number} c @param {(k: Course) => Course} f @returns {Plan} */
function withCourse(doc, c, f) {
  const k = courseOf(doc, c);
  if (!k) return doc;
  const next = f(k);
  return next === k ? doc : {...doc, courses: doc.courses?.map((x, i) => (i === c ? next : x))};
}
/** @param {Plan} doc @param {number} c @param {string} id @param {(g: ConeGate) => ConeGate} f */
const withGate = (doc, c, id, f) => withCourse(doc, c, (k) => ({...k, gates: k.gates.map((g) => (gateId(g) === id ? f(g) : g))}));

/** To the millimetre and the hundredth of a degree, so that a document never collects rounding noise. @param {ConeGate} g @returns {ConeGate} */
const rounded = (g) => (g.cone ? {...g, cone: mmPt(g.cone)} : {...g, at: mmPt(/** @type {Pt} */ (g.at)), bearing: deg2(g.bearing ?? 0)});
/** A thing with each of its points somewhere else. @param {Thing} t @param {(p: Pt) => Pt} f @returns {Thing} */
const shifted = (t, f) => ({...t, ...(t.at ? {at: f(t.at)} : {}), ...(t.path ? {path: t.path.map(f)} : {}), ...(t.outline ? {outline: t.outline.map(f)} : {})});

/**
 * Gates, flags and things under some refs put elsewhere, each ref once.
 * @param {Plan} doc @param {number} c @param {string[]} refs @param {(p: Pt) => Pt} at @param {(bearing: number) => number} way @returns {Plan}
 */
function moved(doc, c, refs, at, way) {
  const is = new Set(refs);
  /** @param {'start' | 'finish'} key @param {import('./model.js').Pair} p */
  const line = (key, p) => {
    const all = is.has(`line/${key}`);
    return all || is.has(`flag/${key}/red`) || is.has(`flag/${key}/white`)
      ? {right: all || is.has(`flag/${key}/red`) ? at(p.right) : p.right, left: all || is.has(`flag/${key}/white`) ? at(p.left) : p.left} : p;
  };
  doc = withCourse(doc, c, (k) => ({
    ...k, start: line('start', k.start), finish: line('finish', k.finish),
    gates: k.gates.map((g) => (!is.has(`cone/${gateId(g)}`) ? g : g.cone ? {...g, cone: at(g.cone)} : {...g, at: at(/** @type {Pt} */ (g.at)), bearing: way(g.bearing ?? 0)})),
  }));
  if (![...is].some((r) => r.startsWith('thing/'))) return doc;
  return {...doc, things: (doc.things ?? []).map((t) => (is.has(`thing/${encodeURIComponent(t.id)}`) ? shifted(t, at) : t))};
}

/** The middle of what some refs stand for. @param {Plan} doc @param {number} c @param {string[]} refs @returns {Pt | null} */
export function middleOfRefs(doc, c, refs) {
  /** @type {Pt[]} */
  const pts = [];
  for (const p of placesOf(doc, c, NOMINAL_TRACK)) {
    if (!refs.includes(p.ref)) {
      if (refs.includes(`flag/${p.key}/red`)) pts.push(p.right);
      if (refs.includes(`flag/${p.key}/white`)) pts.push(p.left);
      continue;
    }
    const g = gateUnder(doc, c, p.ref);
    pts.push(g ? middleOf(g) : p.mid);
  }
  if (!pts.length) for (const t of doc.things ?? []) if (refs.includes(`thing/${encodeURIComponent(t.id)}`)) pts.push(...(t.path ?? t.outline ?? (t.at ? [t.at] : [])));
  if (!pts.length) return null;
  return scale(pts.reduce(add), 1 / pts.length);
}

/**
 * Gives gates new numbers, and the things placed with them the names that go with it.
 * @param {Plan} doc @param {number} c @param {(n: number) => number} to @returns {Plan}
 */
function renumbered(doc, c, to) {
  const k = courseOf(doc, c);
  if (!k) return doc;
  const things = doc.things ?? [], ours = new Map();
  for (const n of new Set(k.gates.map((g) => g.number))) if (to(n) !== n && partsOf(k, n).length > 1) for (const t of thingsWith(doc, n)) ours.set(t.id, to(n));
  const taken = new Set(things.filter((t) => !ours.has(t.id)).map((t) => t.id));
  const named = things.map((t) => {
    if (!ours.has(t.id)) return t;
    let i = 1;
    while (taken.has(`m${ours.get(t.id)}-${i}`)) i++;
    const id = `m${ours.get(t.id)}-${i}`;
    taken.add(id);
    return {...t, id};
  });
  const next = withCourse(doc, c, (x) => ({...x, gates: x.gates.map((g) => (to(g.number) === g.number ? g : {...g, number: to(g.number)}))}));
  return ours.size ? {...next, things: named} : next;
}

/** Numbers without a hole, parts a, b, c …; a part that is left alone has no letter. @param {Plan} doc @param {number} c */
function closed(doc, c) {
  const k = courseOf(doc, c);
  if (!k) return doc;
  const have = [...new Set(inOrder(k).map((g) => g.number))];
  const next = renumbered(doc, c, (n) => have.indexOf(n) + 1);
  return withCourse(next, c, (x) => ({...x, gates: inOrder(x).map((g) => {
    const parts = partsOf(x, g.number), {part: _, ...rest} = g;
    if (parts.length === 1) return g.part ? rest : g;
    const part = String.fromCharCode(97 + parts.indexOf(g));
    return g.part === part ? g : {...rest, part};
  })}));
}

/** The document after the command. @param {Plan} doc @param {ConesCommand} c @returns {Plan} */
export function apply(doc, c) {
  switch (c.do) {
    case 'cones-begin':
      return {...doc, courses: [...(doc.courses ?? []), c.course]};
    case 'cones-move':
      if (c.by[0] === 0 && c.by[1] === 0) return doc;
      return moved(doc, c.c, c.refs, (p) => (c.exact ? add(p, c.by) : mmPt(add(p, c.by))), (b) => b);
    case 'cones-put': {
      const was = middleOfRefs(doc, c.c, [c.ref]);
      return was ? moved(doc, c.c, [c.ref], (p) => mmPt(add(p, sub(c.at, was))), (b) => b) : doc;
    }
    case 'cones-turn': {
      const about = middleOfRefs(doc, c.c, c.refs);
      if (!about || c.deg === 0) return doc;
      // One pair keeps its middle to the last digit.
      const one = c.refs.length === 1 && c.refs[0].startsWith('cone/');
      return moved(doc, c.c, c.refs, (p) => (one ? p : mmPt(turned(p, about, c.deg))), (b) => (c.exact ? b + c.deg : deg2(b + c.deg)));
    }
    case 'cones-face':
      return withGate(doc, c.c, c.id, (g) => (g.cone ? g : {...g, bearing: deg2(c.bearing)}));
    case 'cones-other-way': {
      const line = /^line\/(start|finish)$/.exec(c.ref)?.[1];
      if (line) return withCourse(doc, c.c, (k) => ({...k, [line]: {right: k[/** @type {'start'} */ (line)].left, left: k[/** @type {'start'} */ (line)].right}}));
      return withGate(doc, c.c, c.ref.slice(5), (g) => (g.cone ? {...g, pass: g.pass === 'right' ? 'left' : 'right'} : {...g, bearing: deg2((g.bearing ?? 0) + 180)}));
    }
    case 'cones-gap':
      return withGate(doc, c.c, c.id, (g) => { const {gap: _, ...rest} = g; return c.gap && !g.cone ? {...rest, gap: c.gap} : rest; });
    case 'cones-pass':
      return withGate(doc, c.c, c.id, (g) => (g.cone ? {...g, pass: c.pass} : g));
    case 'cones-add': {
      const at = Math.min(...c.gates.map((g) => g.number));
      const next = renumbered(doc, c.c, (n) => (n >= at ? n + 1 : n));
      const taken = new Set((next.things ?? []).map((t) => t.id));
      const things = c.things.map((t) => { let i = 1; while (taken.has(`m${at}-${i}`)) i++; taken.add(`m${at}-${i}`); return {...shifted(t, mmPt), id: `m${at}-${i}`}; });
      const full = things.length ? {...next, things: [...(next.things ?? []), ...things]} : next;
      return closed(withCourse(full, c.c, (k) => ({...k, gates: inOrder({...k, gates: [...k.gates, ...c.gates.map(rounded)]})})), c.c);
    }
    case 'cones-mirror':
      return mirrored(doc, c.c, c.number);
    case 'cones-number': {
      const {from, to} = c;
      if (from === to) return doc;
      return closed(renumbered(doc, c.c, (n) => (n === from ? to : from < to && n > from && n <= to ? n - 1 : from > to && n >= to && n < from ? n + 1 : n)), c.c);
    }
    case 'cones-drop': {
      const k = courseOf(doc, c.c), ids = c.refs.filter((r) => r.startsWith('cone/')).map((r) => r.slice(5)), gone = new Set(c.refs.filter((r) => r.startsWith('thing/')).map((r) => decodeURIComponent(r.slice(6))));
      if (!k || !(ids.length || gone.size)) return doc;
      const next = gone.size ? {...doc, things: (doc.things ?? []).filter((t) => !gone.has(t.id))} : doc;
      return closed(withCourse(next, c.c, (x) => ({...x, gates: x.gates.filter((g) => !ids.includes(gateId(g)))})), c.c);
    }
    case 'cones-set':
      return withCourse(doc, c.c, (k) => ({...k, ...c.set}));
  }
  throw new Error(`no command ${/** @type {any} */ (c).do}`);
}

/**
 * One number turned the other way by hand of turn: seen in a mirror along the way
 * of its first part. Red stays on the driver's right; a woven cone changes sides.
 * @param {Plan} doc @param {number} c @param {number} number @returns {Plan}
 */
function mirrored(doc, c, number) {
  const k = courseOf(doc, c), parts = k ? partsOf(k, number) : [];
  if (!parts.length) return doc;
  const at = middleOf(parts[0]);
  // A row of woven cones lies along its own line.
  const dir = parts[0].cone ? (parts[1] ? sub(middleOf(parts[1]), at) : placesOf(doc, c, NOMINAL_TRACK).find((p) => p.key === gateId(parts[0]))?.dir ?? [0, 1]) : towards(parts[0].bearing ?? 0);
  const l = Math.hypot(dir[0], dir[1]) || 1, u = /** @type {Pt} */ ([dir[0] / l, dir[1] / l]), across = rightOf(u);
  const bearing = Math.atan2(u[0], u[1]) * 180 / Math.PI;
  const flip = (/** @type {Pt} */ p) => mmPt(sub(p, scale(across, 2 * dot(sub(p, at), across))));
  const refs = [...parts.map((g) => `cone/${gateId(g)}`), ...(parts.length > 1 ? thingsWith(doc, number).map((t) => `thing/${encodeURIComponent(t.id)}`) : [])];
  const next = moved(doc, c, refs, flip, (b) => deg2(2 * bearing - b));
  return withCourse(next, c, (x) => ({...x, gates: x.gates.map((g) => (g.number === number && g.cone ? {...g, pass: g.pass === 'right' ? 'left' : 'right'} : g))}));
}

/** What a command did, in words. @param {Plan} doc the document it was applied to @param {ConesCommand} c */
export function wordsFor(doc, c) {
  const name = (/** @type {string[]} */ refs, /** @type {number} */ i) => {
    const own = refs.filter((r) => !r.startsWith('thing/'));
    if (!own.length) return refs.length === 1 ? decodeURIComponent(refs[0].slice(6)) : `${refs.length} things`;
    return own.length === 1 ? coneName(doc, i, own[0]) : `${own.length} gates`;
  };
  switch (c.do) {
    case 'cones-begin': return 'begin a course';
    case 'cones-move': return `move ${name(c.refs, c.c)}`;
    case 'cones-put': return `move ${name([c.ref], c.c)}`;
    case 'cones-turn': return `turn ${name(c.refs, c.c)} by ${Math.round(Math.abs(c.deg) * 10) / 10}° to the ${c.deg < 0 ? 'left' : 'right'}`;
    case 'cones-face': return `turn pair ${c.id}`;
    case 'cones-other-way': return `drive ${name([c.ref], c.c)} the other way`;
    case 'cones-gap': return `set the gap of ${c.id}`;
    case 'cones-pass': return `pass cone ${c.id} on the ${c.pass === 'right' ? 'driver\'s right' : 'driver\'s left'}`;
    case 'cones-add': return `add ${c.what}`;
    case 'cones-mirror': return `turn ${c.number} to the other hand`;
    case 'cones-number': return `make ${c.from} number ${c.to}`;
    case 'cones-drop': return `take away ${name(c.refs, c.c)}`;
    case 'cones-set': return c.what;
  }
  return '';
}

/** The gate that a cure of the planner changes, as a command. @param {Plan} doc @param {number} c @param {any} cure @returns {ConesCommand | null} */
export function curing(doc, c, cure) {
  const g = gateOf(doc, c, cure.gate), k = courseOf(doc, c);
  if (!g || !k) return null;
  if (cure.by_m) return {do: 'cones-move', c, refs: [`cone/${cure.gate}`], by: cure.by_m, exact: true};
  if (cure.by_deg !== undefined) return {do: 'cones-turn', c, refs: [`cone/${cure.gate}`], deg: cure.by_deg, exact: true};
  const gap = g.gap ?? k.gap;
  return {do: 'cones-gap', c, id: cure.gate, gap: gap.fixed_cm ? {fixed_cm: gap.fixed_cm + cure.by_cm} : {clearance_cm: (gap.clearance_cm ?? 0) + cure.by_cm}};
}
