// The drawing. Each object is its own small lit-html root inside a keyed <g>:
// a document shares what did not change, so an object that is the same as in
// the last frame, seen through the same window, is not touched. A drag frame
// therefore sets one group's attributes and the path of the line that follows.

import {html, svg, render, nothing} from '../vendor/lit-html/lit-html.js';
import {add, dist, left, scale, sub, unit, towards, right as rightOf} from './plane.js';
import {cornerRef, gateBearing, gateRef, gatesOf, markerRadius, markerRef, nameOf, openingOf, pointRef, thingRef} from './model.js';
import {gateSigns, SIGN} from './layout.js';
import {toGround, toScreen} from './port.js';
import {footprint, gateStates, sampleAt, tightEnd} from './samples.js';
import {room} from './says.js';

/** @typedef {import('./plane.js').Pt} Pt */
/** @typedef {import('./port.js').Port} Port */
/** @typedef {import('./samples.js').Route} Route */

/** Dashes of the ways after the best, each its own. */
export const DASHES = ['', '9 5', '2 5', '12 4 2 4', '16 5', '5 3 1 3 1 3', '1 4 6 4', '20 4 4 4', '3 3', '14 8'];

/** @param {number} v */
export const n = (v) => Math.round(v * 10) / 10;
/** @param {Pt[]} pts @param {boolean} [shut] */
export const pathOf = (pts, shut) => (pts.length ? 'M' + pts.map((p) => `${n(p[0])} ${n(p[1])}`).join('L') + (shut ? 'Z' : '') : '');

/** A hand-kept list of keyed groups under one parent. @param {SVGGElement} parent */
export function keyed(parent) {
  /** @type {Map<string, {g: SVGGElement, seen: any[]}>} */
  const have = new Map();
  /** @param {{key: string, seen: any[], draw: () => any}[]} items */
  return (items) => {
    const now = new Set();
    /** @type {Element | null} */
    let last = null;
    for (const it of items) {
      now.add(it.key);
      let e = have.get(it.key);
      if (!e) {
        e = {g: document.createElementNS('http://www.w3.org/2000/svg', 'g'), seen: []};
        have.set(it.key, e);
      }
      const place = last ? last.nextSibling : parent.firstChild;
      if (e.g !== place) parent.insertBefore(e.g, place);
      last = e.g;
      if (e.seen.length !== it.seen.length || e.seen.some((s, i) => s !== it.seen[i])) {
        e.seen = it.seen;
        render(it.draw(), e.g);
      }
    }
    for (const [k, e] of have) if (!now.has(k)) { e.g.remove(); have.delete(k); }
  };
}

/** @param {HTMLElement} host @param {string} title */
export function createView(host, title) {
  render(html`<svg class="ground" role="application" tabindex="0" aria-roledescription="drawing" aria-label="Drawing of ${title}, north up. Arrow keys move the cross; tab goes from thing to thing." aria-describedby="ed-how">
    <defs>
      <pattern id="ed-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(35)"><path d="M0 0V7" class="hatch"/></pattern>
      <pattern id="ed-keep" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path d="M0 0V10" class="keep-hatch"/></pattern>
      <pattern id="ed-water" width="16" height="8" patternUnits="userSpaceOnUse"><path d="M0 5q4-4 8 0t8 0" class="wave"/></pattern>
    </defs>
    <g data-layer="grid"></g><g data-layer="keepout"></g><g data-layer="areas"></g><g data-layer="outline"></g>
    <g data-layer="lines"></g><g data-layer="things"></g><g data-layer="gates"></g><g data-layer="marks"></g>
    <g data-layer="play"></g><g data-layer="hand"></g><g data-layer="furniture"></g>
  </svg>`, host);
  const root = /** @type {SVGSVGElement} */ (host.querySelector('svg.ground'));
  const layer = (/** @type {string} */ name) => /** @type {SVGGElement} */ (root.querySelector(`[data-layer="${name}"]`));
  const sync = {areas: keyed(layer('areas')), things: keyed(layer('things')), gates: keyed(layer('gates')), outline: keyed(layer('outline')), lines: keyed(layer('lines')), marks: keyed(layer('marks'))};
  /** @type {{port: Port | null, gates: any, signs: any[], key: string}} */
  const kept = {port: null, gates: null, signs: [], key: ''};
  /** @type {any[]} */
  let gateMemo = [];
  let still = {grid: /** @type {any[]} */ ([]), keep: /** @type {any[]} */ ([])};

  /** The gates of the shown document, the same array while nothing of them changed. @param {any} doc @param {number} h */
  function gates(doc, h) {
    const hz = doc.hazards?.[h];
    if (!gateMemo.length || gateMemo[0] !== hz) gateMemo = [hz, gatesOf(doc, h)];
    return gateMemo[1];
  }

  /** @param {any} s the desk's state @param {any} doc the document to show */
  function signsFor(s, doc) {
    const list = gates(doc, s.h);
    if (kept.port !== s.port || kept.gates !== list) Object.assign(kept, {port: s.port, gates: list, signs: gateSigns(s.port, list)});
    return kept.signs;
  }

  /** @param {any} s @param {any} doc */
  function draw(s, doc) {
    const {port} = s;
    const see = (/** @type {Pt} */ p) => toScreen(port, p);
    const is = (/** @type {string} */ ref) => s.chosen.includes(ref);
    if (still.grid[0] !== port) {
      still.grid = [port];
      root.setAttribute('viewBox', `0 0 ${port.w} ${port.h}`);
      render(gridTpl(port), layer('grid'));
      render(furnitureTpl(port), layer('furniture'));
    }
    const ring = doc.ground.outline;
    sync.outline([
      {key: 'ring', seen: [ring, port], draw: () => svg`<path d=${pathOf(ring.map(see), true)} class="fence"/><path d=${pathOf(ring.map(see), true)} class="fence-in"/>`},
      ...ring.map((/** @type {Pt} */ p, /** @type {number} */ i) => ({key: `c${i}`, seen: [p, port, is(cornerRef(i))], draw: () => focusable(cornerRef(i), see(p), nameOf(doc, cornerRef(i)) + where(p), is(cornerRef(i)), 8, svg`<circle r="3.5" class="ink"/>`)})),
    ]);
    const things = doc.things ?? [];
    sync.areas(things.filter((/** @type {any} */ t) => t.outline).map((/** @type {any} */ t) => ({key: t.id, seen: [t, port, chosenPart(s, t)], draw: () => areaTpl(doc, t, port, s.chosen)})));
    sync.things(things.filter((/** @type {any} */ t) => !t.outline).map((/** @type {any} */ t) => ({key: t.id, seen: [t, port, chosenPart(s, t)], draw: () => (t.path ? railTpl(doc, t, port, s.chosen) : discTpl(doc, t, port, is(thingRef(t.id))))})));

    drawGates(s, doc);
    drawLines(s, doc, port);
    drawKeepout(s, port);
    drawPlay(s, port);
    drawHand(s, port);
  }

  /** @param {any} s @param {any} doc */
  function drawGates(s, doc) {
    const signs = signsFor(s, doc), route = s.shown;
    const t = s.play.on || s.play.t > 0 ? s.play.t : -1;
    const states = gateStates(gates(doc, s.h), s.through, route, t, s.cls);
    const rank = {due: 3, live: 2, dead: 1, 'out of play': 0};
    /** @type {Map<string, string>} */
    const line = new Map();
    for (const sg of signs) {
      const st = states.get(sg.gate.key) ?? 'live', was = line.get(sg.posts);
      if (!was || rank[/** @type {'due'} */ (st)] > rank[/** @type {'due'} */ (was)]) line.set(sg.posts, st);
    }
    const lined = new Set(), when = new Map();
    if (route && !s.stale) for (const p of route.passes) if (p.forward && p.was !== 'dead' && !when.has(p.gate)) when.set(p.gate, p.t_s);
    const r = markerRadius(doc, s.h);
    sync.gates(signs.map((sg) => {
      const key = sg.gate.key, first = !lined.has(sg.posts);
      lined.add(sg.posts);
      const state = states.get(key) ?? 'live', lineState = first ? line.get(sg.posts) : '';
      const tag = when.has(key) && !s.dragging && key !== 'in' ? `${when.get(key).toFixed(1)} s` : '';
      const mine = s.chosen.filter((/** @type {string} */ c) => c === gateRef(key) || c.startsWith(`marker/${key}/`)).join();
      return {key, seen: [sg, state, lineState, tag, mine, r], draw: () => gateTpl(sg, state, lineState ?? '', tag, s.chosen, r * s.port.k, r)};
    }));
  }

  /** @param {any} s @param {any} doc @param {Port} port */
  function drawLines(s, doc, port) {
    const see = (/** @type {Pt} */ p) => toScreen(port, p);
    const shown = /** @type {Route | null} */ (s.shown), other = /** @type {Route | null} */ (s.compared);
    const t = s.turnout;
    sync.lines([
      {key: 'swept', seen: [s.dragging || s.stale ? null : shown, port, t], draw: () => (s.dragging || s.stale || !shown || !t ? nothing : svg`<path d=${sweptPath(t, shown, port)} class="swept" fill="url(#ed-hatch)"/>`)},
      {key: 'other', seen: [other, port], draw: () => (other ? svg`<path d=${pathOf(other.samples.map((x) => see(x.lead)))} class="way" stroke-dasharray=${DASHES[Math.min(DASHES.length - 1, Math.max(1, other.rank - 1))]}/>` : nothing)},
      {key: 'line', seen: [shown, port, s.stale], draw: () => (shown ? svg`<path d=${pathOf(shown.samples.map((x) => see(x.lead)))} class=${s.stale ? 'best stale' : 'best'} data-line=${s.stale ? 'stale' : 'fresh'}/>` : nothing)},
      {key: 'ticks', seen: [shown, port, s.stale], draw: () => (shown && !s.stale ? svg`<path d=${ticksPath(shown, port)} class="ticks"/>` : nothing)},
    ]);
    const tights = shown && !s.stale && !s.dragging && t ? shown.tight.slice(0, 3).filter((x, i) => i === 0 || x.clearance_m < 0.5) : [];
    const labels = tights.length ? labelsFor(s, doc, tights, port) : [];
    sync.marks([
      {key: 'stale', seen: [s.stale && shown, port], draw: () => {
        if (!s.stale || !shown) return nothing;
        const at = see(clearest(shown, signsFor(s, doc).map((q) => q.gate)));
        return svg`<text x=${n(at[0] + 10)} y=${n(at[1])} class="stale-word">stale</text>`;
      }},
      ...tights.map((x, i) => ({key: `tight${i}`, seen: [x, port, t, kept.signs], draw: () => tightTpl(t, /** @type {Route} */ (shown), x, i, port, labels[i])})),
    ]);
  }

  /**
   * Where the words of the tight places stand: near the place, clear of signs,
   * lines and each other.
   * @param {any} s @param {any} doc @param {any[]} tights @param {Port} port @returns {Pt[]}
   */
  function labelsFor(s, doc, tights, port) {
    const taken = signsFor(s, doc).flatMap((q) => [q.rightSign, q.leftSign, q.disc, q.seconds, q.right, q.left]);
    for (let i = 0; i < s.shown.samples.length; i += 3) taken.push(toScreen(port, s.shown.samples[i].lead));
    for (const th of doc.things ?? []) if (th.at) taken.push(toScreen(port, th.at));
    return tights.map((x) => {
      const a = toScreen(port, x.at);
      let best = a, room = -1;
      for (const far of [1, 1.5]) {
        for (let deg = 0; deg < 360; deg += 45) {
          const d = towards(deg), p = /** @type {Pt} */ ([a[0] + d[0] * 40 * far, a[1] - d[1] * 24 * far]);
          const free = Math.min(22, ...taken.map((q) => Math.max(Math.abs(q[0] - p[0]) - 16, Math.abs(q[1] - p[1])))) - 8 * far;
          if (free > room) { best = p; room = free; }
        }
      }
      taken.push(best, [best[0] - 16, best[1]], [best[0] + 16, best[1]]);
      return best;
    });
  }

  /** The area can have many pieces: its path is made once for a scale and then only shifted. @param {any} s @param {Port} port */
  function drawKeepout(s, port) {
    const k = s.keepout.on ? s.keepout.pieces : null, here = {...port, cx: 0, cy: 0, w: 0, h: 0};
    if (k) layer('keepout').setAttribute('transform', `translate(${toScreen(port, [0, 0]).map(n)})`);
    if (still.keep[0] === k && still.keep[1] === port.k) return;
    still.keep = [k, port.k];
    const d = (k ?? []).map((/** @type {Pt[]} */ ring) => pathOf(ring.map((p) => toScreen(here, p)), true)).join('');
    render(k ? svg`<path d=${d} class="keepout"/><path d=${d} class="keepout-in"/><path d=${d} class="keepout-hatch" fill="url(#ed-keep)"><title>Where people do not stand while it is driven</title></path>` : svg``, layer('keepout'));
  }

  /** @type {any[]} */
  let playMemo = [];
  /** @param {any} s @param {Port} port */
  function drawPlay(s, port) {
    const on = s.shown && s.turnout && !s.stale && (s.play.on || s.play.t > 0);
    const memo = on ? [s.shown, s.turnout, port, s.play.t] : [];
    if (memo.length === playMemo.length && memo.every((m, i) => m === playMemo[i])) return;
    playMemo = memo;
    render(on ? playTpl(s.turnout, s.shown, s.play.t, port) : svg``, layer('play'));
  }

  /** @type {any} */
  let hand = null;
  /** @param {any} s @param {Port} port */
  function drawHand(s, port) {
    const memo = [s.guides, s.cross, port, s.draft];
    if (hand && memo.every((m, i) => m === hand[i])) return;
    hand = memo;
    const see = (/** @type {Pt} */ p) => toScreen(port, p);
    render(svg`${s.guides.map((/** @type {[Pt, Pt]} */ g) => svg`<path d=${pathOf(g.map(see))} class="guide"/>`)}
      ${s.draft ? svg`<path d=${pathOf(s.draft.map(see))} class="draft"/>` : nothing}
      ${s.cross ? svg`<g transform=${`translate(${see(s.cross).map(n)})`} class="cross"><path d="M-14 0H-3M3 0H14M0-14V-3M0 3V14"/></g>` : nothing}`, layer('hand'));
  }

  return {root, draw, signsFor};
}

/** The place of the line farthest from any gate, where a word can stand. @param {Route} route @param {any[]} gates @returns {Pt} */
function clearest(route, gates) {
  const off = (/** @type {Pt} */ p) => Math.min(...gates.flatMap((g) => [dist(p, g.right), dist(p, g.left)]));
  return route.samples.map((q) => q.lead).reduce((a, b) => (off(b) > off(a) ? b : a));
}

/** @param {any} s @param {any} t */
const chosenPart = (s, t) => s.chosen.filter((/** @type {string} */ c) => c === thingRef(t.id) || c.startsWith(thingRef(t.id) + '/')).join();

/** @param {Pt} p */
const where = (p) => `, ${p[0].toFixed(2)} m east, ${p[1].toFixed(2)} m north`;

/** A group that can be reached by keyboard. Its middle is at (0, 0). @param {string} ref @param {Pt} at @param {string} label @param {boolean} chosen @param {number} r @param {any} inner */
export const focusable = (ref, at, label, chosen, r, inner) => svg`<g class=${chosen ? 'obj chosen' : 'obj'} data-ref=${ref} role="button" tabindex="0" aria-label=${label} aria-pressed=${chosen} transform=${`translate(${n(at[0])} ${n(at[1])})`}>
  <circle r=${r + 4} class="halo"/>${inner}</g>`;

/** @param {any} doc @param {any} t @param {Port} port @param {boolean} chosen */
function discTpl(doc, t, port, chosen) {
  const r = Math.max(3, (t.radius ?? 0.06) * port.k);
  const inner = t.kind === 'tree'
    ? svg`<circle r=${n(Math.max(9, r + 4))} class="canopy"/><circle r=${n(r)} class="ink"/>`
    : svg`<circle r=${n(r)} class="ink"/>`;
  return focusable(thingRef(t.id), toScreen(port, t.at), nameOf(doc, thingRef(t.id)) + where(t.at), chosen, t.kind === 'tree' ? Math.max(9, r + 4) : r, inner);
}

/** @param {any} doc @param {any} t @param {Port} port @param {string[]} chosen */
function railTpl(doc, t, port, chosen) {
  const ref = thingRef(t.id), pts = t.path.map((/** @type {Pt} */ p) => toScreen(port, p)), d = pathOf(pts), w = Math.max(4.5, (t.width ?? 0.12) * port.k);
  const mine = chosen.some((c) => c === ref || c.startsWith(ref + '/'));
  return svg`<g class=${mine ? 'obj chosen' : 'obj'} data-ref=${ref} role="button" tabindex="0" aria-label=${`${nameOf(doc, ref)}, from ${t.path[0].join(', ')} to ${t.path.at(-1).join(', ')}`} aria-pressed=${mine}>
    <path d=${d} class="halo-line" stroke-width=${n(w + 9)}/><path d=${d} class="rail" stroke-width=${n(w)}/><path d=${d} class="rail-in" stroke-width=${n(w - 2.6)}/>
    </g>${pts.map((/** @type {Pt} */ p, /** @type {number} */ i) => (mine
    ? focusable(pointRef(t.id, i), p, nameOf(doc, pointRef(t.id, i)) + where(t.path[i]), chosen.includes(pointRef(t.id, i)), 6, svg`<circle r="5" class="handle"/>`)
    : svg`<circle cx=${n(p[0])} cy=${n(p[1])} r=${n(Math.max(3, w / 2))} class="ink"/>`))}`;
}

/** @param {any} doc @param {any} t @param {Port} port @param {string[]} chosen */
function areaTpl(doc, t, port, chosen) {
  const ref = thingRef(t.id), pts = t.outline.map((/** @type {Pt} */ p) => toScreen(port, p)), d = pathOf(pts, true);
  const mine = chosen.some((c) => c === ref || c.startsWith(ref + '/'));
  const c = pts.reduce((/** @type {Pt} */ a, /** @type {Pt} */ p) => [a[0] + p[0] / pts.length, a[1] + p[1] / pts.length], [0, 0]);
  // The name stands inside where there is room for it, else below.
  const xs = pts.map((/** @type {Pt} */ p) => p[0]), low = Math.max(...pts.map((/** @type {Pt} */ p) => p[1]));
  const fits = Math.max(...xs) - Math.min(...xs) > 8 * (t.kind.length + (t.drivable ? 10 : 0)) + 8;
  return svg`<g class=${mine ? 'obj chosen' : 'obj'} data-ref=${ref} role="button" tabindex="0" aria-label=${`${nameOf(doc, ref)}${t.drivable ? ', may be driven over' : ''}`} aria-pressed=${mine}>
    <path d=${d} class=${t.drivable ? 'area drivable' : 'area'} fill=${t.kind === 'water' ? 'url(#ed-water)' : 'none'}/><path d=${d} class="halo-line" stroke-width="8"/></g>
    <text aria-hidden="true" x=${n(c[0])} y=${n(fits ? c[1] + 5 : low + 18)} class="area-name">${t.kind}${t.drivable ? ', drivable' : ''}</text>
    ${mine ? pts.map((/** @type {Pt} */ p, /** @type {number} */ i) => focusable(pointRef(t.id, i), p, nameOf(doc, pointRef(t.id, i)), chosen.includes(pointRef(t.id, i)), 6, svg`<circle r="5" class="handle"/>`)) : nothing}`;
}

/** @param {import('./layout.js').GateSigns} sg @param {string} state @param {string} lineState @param {string} tag @param {string[]} chosen @param {number} rpx @param {number} r */
function gateTpl(sg, state, lineState, tag, chosen, rpx, r) {
  const {gate, across, forward} = sg, name = gate.label.length > 1 ? gate.label : `Gate ${gate.label}`;
  const a = add(sg.left, scale(across, rpx)), b = add(sg.right, scale(across, -rpx));
  const off = (/** @type {number} */ k) => pathOf([add(a, scale(forward, k)), add(b, scale(forward, k))]);
  const d = lineState === 'due' ? off(2.3) + off(-2.3) : lineState ? off(0) : '';
  const m = sg.arrow, tip = add(m, scale(forward, 15)), wing = (/** @type {number} */ k) => add(add(tip, scale(forward, -7)), scale(across, k));
  const arrow = pathOf([add(m, scale(forward, -13)), tip]) + pathOf([wing(-6), tip, wing(6)]);
  const post = Math.max(2.5, rpx);
  const sign = (/** @type {'right'|'left'} */ side, /** @type {Pt} */ at, /** @type {any} */ inner) => focusable(markerRef(gate.key, side), at,
    `${side === 'right' ? 'Red marker, right' : 'White marker, left'} of ${name}${where(gate[side])}`, chosen.includes(markerRef(gate.key, side)), SIGN, inner);
  const says = `${name}, ${state}, driven on bearing ${Math.round(gateBearing(gate))}°, opening ${openingOf(gate, r).toFixed(2)} m`;
  return svg`<g data-gate=${gate.key} data-state=${state}>
    <path d=${d} class=${`gate-line ${lineState.replaceAll(' ', '-')}`}/><path d=${arrow} class="arrow"/>
    <circle cx=${n(sg.right[0])} cy=${n(sg.right[1])} r=${n(post)} class="ink"/><circle cx=${n(sg.left[0])} cy=${n(sg.left[1])} r=${n(post)} class="ink"/>
    ${sign('left', sg.leftSign, svg`<circle r=${SIGN - 1.5} class="white-sign"/><text y="5" class="side">L</text>`)}
    ${sign('right', sg.rightSign, svg`<path d=${`M0-${SIGN + 1}L${SIGN + 1} 0L0 ${SIGN + 1}L-${SIGN + 1} 0Z`} class="red-sign"/><text y="5" class="side on-red">R</text>`)}
    ${focusable(gateRef(gate.key), sg.disc, says, chosen.includes(gateRef(gate.key)), sg.discRadius, svg`<circle r=${sg.discRadius} class="disc"/><text y=${gate.label.length > 1 ? 5 : 6} class=${gate.label.length > 1 ? 'word' : 'letter'}>${gate.label}</text>`)}
    ${tag ? svg`<text x=${n(sg.seconds[0])} y=${n(sg.seconds[1] + 5)} class="when">${tag}</text>` : nothing}
  </g>`;
}

/** The room that the turnout sweeps: one strip a horse and an axle, wound the same way so that they add up. @param {any} t @param {Route} route @param {Port} port */
function sweptPath(t, route, port) {
  /** @type {Map<number, [Pt[], Pt[]]>} */
  const strips = new Map();
  for (const s of route.samples) {
    footprint(t, s).forEach((p, i) => {
      const strip = strips.get(i) ?? [[], []];
      strips.set(i, strip);
      if (p.part === 'shafts' || p.part === 'body') return;
      const wide = p.part.endsWith('hub');
      const l = wide ? p.a : add(p.b, scale(left(unit(sub(p.a, p.b))), p.r)), r = wide ? p.b : add(p.b, scale(rightOf(unit(sub(p.a, p.b))), p.r));
      strip[0].push(toScreen(port, l));
      strip[1].push(toScreen(port, r));
    });
  }
  return [...strips.values()].map(([l, r]) => pathOf([...l, ...r.reverse()], true)).join('');
}

/** A tick across the line each second, a longer one each fifth. @param {Route} route @param {Port} port */
function ticksPath(route, port) {
  let d = '';
  for (let t = 1; t < route.time_s; t++) {
    const s = sampleAt(route.samples, 't_s', t), c = toScreen(port, s.lead), x = towards(s.bearing_deg + 90), k = t % 5 === 0 ? 9 : 5;
    d += pathOf([[c[0] + x[0] * k, c[1] - x[1] * k], [c[0] - x[0] * k, c[1] + x[1] * k]]);
  }
  return d;
}

/** @param {any} t @param {Route} route @param {any} x @param {number} i @param {Port} port @param {Pt} at where its words stand */
function tightTpl(t, route, x, i, port, at) {
  const s = sampleAt(route.samples, 's_m', x.s_m), end = tightEnd(t, s, x) ?? s.lead;
  const a = toScreen(port, x.at), b = toScreen(port, end), u = dist(a, b) > 0.5 ? unit(sub(b, a)) : /** @type {Pt} */ ([1, 0]), c = left(u);
  const bar = (/** @type {Pt} */ p) => pathOf([add(p, scale(c, 5)), add(p, scale(c, -5))]);
  return svg`<g class=${i === 0 ? 'tight first' : 'tight'}><path d=${bar(a) + bar(b) + pathOf([add(a, scale(u, -8)), add(b, scale(u, 8))])}/>
    <text x=${n(at[0])} y=${n(at[1] + 5)} text-anchor="middle">${room(x.clearance_m)}</text></g>`;
}

/** @param {any} t @param {Route} route @param {number} time @param {Port} port */
function playTpl(t, route, time, port) {
  const see = (/** @type {Pt} */ p) => toScreen(port, p), s = sampleAt(route.samples, 't_s', time), parts = footprint(t, s);
  /** @type {Pt[][]} */
  const traces = [[], []];
  for (const x of [...route.samples.filter((q) => q.t_s <= time), s]) {
    const i = x.axles.length - 1, side = scale(rightOf(towards(x.axle_bearings_deg[i])), t.vehicle.track / 2);
    traces[0].push(see(sub(x.axles[i], side)));
    traces[1].push(see(add(x.axles[i], side)));
  }
  const wheels = s.axles.map((p, i) => {
    const d = towards(s.axle_bearings_deg[i]), x = scale(rightOf(d), t.vehicle.track / 2), f = scale(d, 0.4);
    return [-1, 1].map((k) => { const c = add(p, scale(x, k)); return pathOf([see(sub(c, f)), see(add(c, f))]); }).join('');
  }).join('');
  const one = parts.map((p) => {
    const d = pathOf([see(p.a), see(p.b)]);
    if (p.r > 0 && p.part !== 'body') return svg`<path d=${d} class="horse-edge" stroke-width=${n(2 * p.r * port.k + 2)}/><path d=${d} class="horse" stroke-width=${n(2 * p.r * port.k)}/><circle cx=${n(see(p.a)[0])} cy=${n(see(p.a)[1])} r="2" class="poll"/>`;
    if (p.part === 'body') return svg`<path d=${d} class="body" stroke-width=${n(Math.max(4, 2 * p.r * port.k))}/>`;
    return svg`<path d=${d} class=${p.part === 'shafts' ? 'shafts' : 'axle'}/>`;
  });
  const poles = t.hitch === 'four' || t.hitch === 'tandem' ? svg`<path d=${s.leaders ? pathOf([see(s.lead), see(s.leaders.at)]) : ''} class="traces"/>` : nothing;
  return svg`<path d=${pathOf(traces[0]) + pathOf(traces[1])} class="wheel-trace"/>${poles}<g class="turnout">${one}<path d=${wheels} class="wheel"/></g>`;
}

/** Ruled paper: a line each five metres, or wider when far away. @param {Port} port */
function gridTpl(port) {
  const step = port.k > 40 ? 1 : port.k > 7 ? 5 : port.k > 3 ? 10 : 50;
  const a = toGround(port, [0, port.h]), b = toGround(port, [port.w, 0]);
  let d = '';
  for (let x = Math.ceil(a[0] / step) * step; x <= b[0]; x += step) { const p = toScreen(port, [x, 0]); d += `M${n(p[0])} 0V${port.h}`; }
  for (let y = Math.ceil(a[1] / step) * step; y <= b[1]; y += step) { const p = toScreen(port, [0, y]); d += `M0 ${n(p[1])}H${port.w}`; }
  return svg`<path d=${d} class="grid"/>`;
}

/** North arrow and scale bar. @param {Port} port */
function furnitureTpl(port) {
  const len = [1, 2, 5, 10, 20, 50, 100].find((m) => m * port.k >= 70) ?? 100, w = len * port.k, y = port.h - 14;
  return svg`<g class="furniture" aria-hidden="true"><path d=${`M${port.w - 26} 52V22M${port.w - 32} 31L${port.w - 26} 20L${port.w - 20} 31`}/><text x=${port.w - 26} y="15" text-anchor="middle">N</text>
    <path d=${`M14 ${y - 7}V${y}H${n(14 + w)}V${y - 7}M${n(14 + w / 2)} ${y - 4}V${y}`}/><text x="14" y=${y - 11} text-anchor="middle">0</text><text x=${n(14 + w)} y=${y - 11} text-anchor="middle">${len} m</text></g>`;
}
