// A cones course on the drawing: each pair with a red R on the driver's right and
// a white L on the left, its number, the way it is driven, and a word where there
// is little room. The rest of the drawing is the editor's own (../view.js), which
// this one adds two layers to. Where signs stand is worked out here for the
// drawing and for what is under a finger, so that the two cannot disagree.

import {svg, render, nothing} from '../../vendor/lit-html/lit-html.js';
import {add, dist, left as leftOf, scale, sub, unit} from '../plane.js';
import {toScreen} from '../port.js';
import {focusable, keyed, n, pathOf} from '../view.js';
import {bearingAt} from './model.js';

/** @typedef {import('../plane.js').Pt} Pt */
/** @typedef {import('./model.js').Place} Place */
/**
 * @typedef {Object} Signs where the signs of a gate stand, px
 * @property {Place} place
 * @property {Pt} right @property {Pt} left the cones themselves
 * @property {Pt} rightSign @property {Pt} leftSign
 * @property {Pt} disc middle of the number @property {number} discRadius
 * @property {Pt | null} lead where a line from a number that stands apart leads
 * @property {Pt} mid @property {Pt} across unit vector, left to right @property {Pt} forward unit vector
 * @property {Pt} handle middle of the turning handle
 * @property {Pt} word where the verdict is written
 * @property {number} size half the diagonal of the red square
 */

/** Signs shrink when the paper is far away, px. */
const SMALL = 5, LARGE = 12;
/** How far before the pair its turning handle stands, px. */
const REACH = 46;
/** Half the side of a finger's target on the handle, px. */
const KNOB = 11;

/** @param {import('../port.js').Port} port @param {Place[]} places @returns {Signs[]} */
export function signsOf(port, places) {
  const size = Math.max(SMALL, Math.min(LARGE, port.k * 1.15));
  /** Numbers placed so far. @type {Pt[]} */
  const numbers = [];
  return places.map((place) => {
    const right = toScreen(port, place.right), left = toScreen(port, place.left), mid = toScreen(port, place.mid);
    const across = unit(sub(right, left));
    // The screen's y runs down: the way ahead is the right-hand normal there.
    const forward = scale(leftOf(across), -1);
    const rightSign = add(right, scale(across, size)), leftSign = add(left, scale(across, -size));
    const discRadius = place.label.length > 3 ? 0 : place.label.length > 2 ? 15 : 12;
    const flat = place.label.length > 3 ? 26 : discRadius;
    const reach = size + (Math.abs(across[0]) * flat + Math.abs(across[1]) * (discRadius || 12)) + 1;
    const onLeft = place.single === 'left';
    // Beside the red cone, as on the ground; where another number stands, farther out, or beside the white one.
    const from = onLeft ? leftSign : rightSign, away = onLeft ? -1 : 1;
    const spots = [add(from, scale(across, away * reach)), add(from, scale(across, away * (reach + 26)))];
    if (!place.single) spots.push(add(leftSign, scale(across, -reach)));
    spots.push(add(from, scale(across, away * (reach + 52))));
    const disc = spots.find((q) => numbers.every((o) => dist(o, q) > 25)) ?? spots[0];
    numbers.push(disc);
    return {
      place, right, left, rightSign, leftSign, mid, across, forward, size, discRadius,
      disc, lead: disc === spots[0] ? null : from,
      handle: add(mid, scale(forward, REACH)),
      word: onLeft ? add(rightSign, scale(across, 8)) : add(leftSign, scale(across, -size - 6)),
    };
  });
}

/**
 * The ref of a gate, a flag or a handle under a screen point, or null.
 * @param {Signs[]} signs @param {Pt} px @param {number} tolerance px @param {string[]} chosen
 */
export function hitCones(signs, px, tolerance, chosen) {
  let best = null, off = tolerance;
  const offer = (/** @type {string} */ ref, /** @type {number} */ d) => { if (d <= off) { off = d; best = ref; } };
  for (const s of signs) if (s.place.number && !s.place.single && chosen.includes(s.place.ref)) offer(`turn/${s.place.key}`, dist(px, s.handle) - KNOB);
  if (best) return best;
  for (const s of signs) {
    const {place} = s;
    if (place.number === 0 && chosen.some((r) => r === place.ref || r.startsWith(`flag/${place.key}/`))) {
      offer(`flag/${place.key}/red`, dist(px, s.rightSign) - s.size);
      offer(`flag/${place.key}/white`, dist(px, s.leftSign) - s.size);
      if (best) continue;
    }
    if (place.single !== 'left') offer(place.ref, dist(px, s.rightSign) - s.size);
    if (place.single !== 'right') offer(place.ref, dist(px, s.leftSign) - s.size);
    if (!place.single) offer(place.ref, Math.max(0, dist(px, s.mid) - dist(s.left, s.right) / 2));
    offer(place.ref, dist(px, s.disc) - (s.discRadius || 14));
  }
  return best;
}

/** What the drawing says of a gate: `tight 4`, `touches 3.1`, or nothing. @param {any} g a gate of an answer */
export function tagOf(g) {
  if (!g || g.verdict === 'fits') return '';
  const least = Math.min(g.spare_left_cm ?? Infinity, g.spare_right_cm ?? Infinity);
  if (!Number.isFinite(least)) return g.verdict;
  return g.verdict === 'tight' ? `tight ${Math.floor(least)}` : least < 0 ? `touches ${(-least).toFixed(1)}` : 'touches';
}

/** @param {SVGSVGElement} root the editor's drawing */
export function createConesView(root) {
  const layer = document.createElementNS('http://www.w3.org/2000/svg', 'g'), ring = document.createElementNS('http://www.w3.org/2000/svg', 'g');
  layer.dataset.layer = 'cones';
  ring.dataset.layer = 'ring';
  root.querySelector('[data-layer="gates"]')?.before(layer);
  root.querySelector('[data-layer="hand"]')?.before(ring);
  const sync = keyed(layer);
  /** @type {any[]} */
  let memo = [], ringMemo = [];
  /** @type {Signs[]} */
  let kept = [];

  /** @param {import('../port.js').Port} port @param {Place[]} places */
  function signs(port, places) {
    if (memo[0] !== port || memo[1] !== places) { memo = [port, places]; kept = signsOf(port, places); }
    return kept;
  }
  return {
    signs,
    /** @param {any} s the desk's state @param {Place[]} places */
    draw(s, places) {
      const tags = new Map((s.gates ?? []).map((/** @type {any} */ g) => [g.gate, tagOf(g)]));
      sync(signs(s.port, places).map((sg) => {
        const p = sg.place, on = s.chosen.includes(p.ref), flags = s.chosen.filter((/** @type {string} */ r) => r.startsWith(`flag/${p.key}/`)).join(), tag = s.stale ? '' : tags.get(p.key) ?? '';
        const one = s.chosen.length === 1;
        return {key: p.key, seen: [s.port, p.right[0], p.right[1], p.left[0], p.left[1], sg.disc[0], sg.disc[1], p.mid[0], p.mid[1], p.single, on, flags, tag, one], draw: () => gateTpl(sg, on, flags, tag, one)};
      }));
      if (ringMemo[0] === s.look && ringMemo[1] === s.port) return;
      ringMemo = [s.look, s.port];
      const at = s.look ? toScreen(s.port, s.look) : null;
      render(at ? svg`<circle cx=${n(at[0])} cy=${n(at[1])} r="34" class="look"/>` : svg``, ring);
    },
  };
}

/** @param {Signs} sg @param {boolean} on @param {string} flags @param {string} tag @param {boolean} one */
function gateTpl(sg, on, flags, tag, one) {
  const {place: p, across, forward, size, mid} = sg, line = p.number === 0, r = sg.size, letters = size >= 9;
  const tip = add(mid, scale(forward, size + 4)), wing = (/** @type {number} */ k) => add(add(tip, scale(forward, -6)), scale(across, k));
  const arrow = pathOf([add(mid, scale(forward, -size)), tip]) + pathOf([wing(-5), tip, wing(5)]);
  const square = `M0-${n(r + 1)}L${n(r + 1)} 0L0 ${n(r + 1)}L-${n(r + 1)} 0Z`;
  const at = (/** @type {Pt} */ q) => `translate(${n(q[0])} ${n(q[1])})`;
  const red = svg`<path d=${square} class="red-sign"/>${letters ? svg`<text y="5" class="side on-red" aria-hidden="true">R</text>` : nothing}`;
  const white = svg`<circle r=${n(r - 1)} class="white-sign"/>${letters ? svg`<text y="5" class="side" aria-hidden="true">L</text>` : nothing}`;
  const sign = (/** @type {Pt} */ q, /** @type {any} */ inner, /** @type {'red'|'white'} */ side) => (line
    ? focusable(`flag/${p.key}/${side}`, q, `${side === 'red' ? 'Red flag, right' : 'White flag, left'} of the ${p.key}`, flags.includes(side), r, inner)
    : svg`<g transform=${at(q)}>${inner}</g>`);
  const says = line ? `${p.label} line, driven on bearing ${Math.round(bearingAt(p))}°`
    : p.single ? `Cone ${p.label}, kept on the driver's ${p.single}, ${n(p.single === 'right' ? p.right[0] : p.left[0])} m east, ${n(p.single === 'right' ? p.right[1] : p.left[1])} m north${tag ? `, ${tag} cm` : ''}`
      : `Pair ${p.label}, driven on bearing ${Math.round(bearingAt(p))}°, gap ${Math.round(p.gap * 100)} cm, ${p.mid[0].toFixed(1)} m east, ${p.mid[1].toFixed(1)} m north${tag ? `, ${tag} cm` : ''}`;
  const anchor = across[0] > 0.3 !== (p.single === 'left') ? 'end' : across[0] < -0.3 !== (p.single === 'left') ? 'start' : 'middle';
  const disc = sg.discRadius ? svg`<circle r=${sg.discRadius} class="disc"/><text y="5" class="number">${p.label}</text>` : svg`<rect x="-27" y="-12" width="54" height="24" rx="12" class="disc"/><text y="5" class="number">${p.label}</text>`;
  return svg`<g data-gate=${p.key} class=${tag.startsWith('touches') ? 'pair is-touched' : tag ? 'pair is-close' : 'pair'}>
    ${p.single ? nothing : svg`<path d=${pathOf([sg.left, sg.right])} class="gate-line live"/>`}<path d=${arrow} class="arrow"/>
    ${sg.lead ? svg`<path d=${pathOf([sg.disc, sg.lead])} class="number-lead"/>` : nothing}
    ${p.single === 'right' ? nothing : sign(sg.leftSign, white, 'white')}${p.single === 'left' ? nothing : sign(sg.rightSign, red, 'red')}
    ${focusable(p.ref, sg.disc, says, on, sg.discRadius || 20, disc)}
    ${tag && (letters || !tag.startsWith('tight')) ? svg`<text x=${n(sg.word[0])} y=${n(sg.word[1] + 5)} text-anchor=${anchor} class="verdict" aria-hidden="true">${tag} cm</text>` : nothing}
    ${on && one && !line && !p.single ? svg`<path d=${pathOf([mid, sg.handle])} class="turn-arm"/>${focusable(`turn/${p.key}`, sg.handle, `Turn pair ${p.label}: arrow left and right`, false, KNOB, svg`<circle r=${KNOB} class="turn-knob"/><path d="M-5-2A5.5 5.5 0 1 1-3 5M-8-3L-4.600-3.200L-4.500-6.500" class="turn-sign"/>`)}` : nothing}
  </g>`;
}
