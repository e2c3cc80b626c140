// The table of a course: every gate, its start and finish and its settings, to
// be typed. The same plan as the drawing, and the exact view of it.

import {html, render, nothing} from '../../vendor/lit-html/lit-html.js';
import {repeat} from '../../vendor/lit-html/directives/repeat.js';
import {any, field, within} from '../table.js';
import {coneName, coneRef, courseOf, gateId, inOrder, lastNumber, middleOf} from './model.js';

/** @typedef {import('../plane.js').Pt} Pt */
/** @typedef {{commit: (c: import('./commands.js').ConesCommand) => void, choose: (refs: string[]) => void, back: (ref: string) => void, drop: (refs: string[]) => void}} Acts */

const wholeNumber = (/** @type {number} */ most) => (/** @type {number} */ v) => (Number.isInteger(v) && v >= 1 && v <= most ? null : `a whole number from 1 to ${most} would be right.`);
const between = (/** @type {number} */ lo, /** @type {number} */ hi, /** @type {string} */ unit) => (/** @type {number} */ v) => (v >= lo && v <= hi ? null : `between ${lo} and ${hi} ${unit} would be right.`);

/** @param {import('../model.js').Plan} doc @param {number} c @param {string[]} chosen @param {Acts} acts */
function template(doc, c, chosen, acts) {
  const k = courseOf(doc, c);
  if (!k) return html`<p class="quiet">No course yet.</p>`;
  const row = (/** @type {string} */ ref, /** @type {any} */ head, /** @type {any} */ body) => html`<div class=${chosen.includes(ref) ? 'row chosen' : 'row'} data-row=${ref}
      @focusin=${() => { if (ref && !chosen.includes(ref)) acts.choose([ref]); }}
      @keydown=${(/** @type {KeyboardEvent} */ e) => { if (e.key === 'Escape') { e.stopPropagation(); acts.back(ref); } }}>
      <div class="row-head">${head}</div><div class="row-body">${body}</div><p class="row-note" role="alert"></p></div>`;
  const xy = (/** @type {string} */ ref, /** @type {string} */ name, /** @type {Pt} */ p) => html`<span class="cell">
    <i>east</i>${field(`${name}, metres east`, p[0], any, (v) => acts.commit({do: 'cones-put', c, ref, at: [v, p[1]]}))}
    <i>north</i>${field(`${name}, metres north`, p[1], any, (v) => acts.commit({do: 'cones-put', c, ref, at: [p[0], v]}))}</span>`;
  const last = lastNumber(k);
  const gap = k.gap.fixed_cm ? 'fixed' : 'over';
  const speed = typeof k.speed_m_per_min === 'number' ? {default: k.speed_m_per_min} : k.speed_m_per_min;
  const settle = (/** @type {any} */ set, /** @type {string} */ what) => acts.commit({do: 'cones-set', c, set, what});
  return html`
    <h3>Gates</h3>
    ${k.gates.length ? nothing : html`<p class="quiet">No gate yet. Choose Pair and press on the drawing where number 1 goes.</p>`}
    ${repeat(inOrder(k), gateId, (g) => {
    const id = gateId(g), ref = coneRef(id), own = g.gap?.fixed_cm ?? g.gap?.clearance_cm;
    return row(ref, html`<b class="tag">${id}</b> <span>${g.cone ? `one cone, on the driver's ${g.pass}` : 'pair'}</span>
        <button type="button" class="mini" aria-label=${g.cone ? `Pass cone ${id} on the other side` : `Drive pair ${id} the other way`} @click=${() => acts.commit({do: 'cones-other-way', c, ref})}>⇄ ${g.cone ? 'side' : 'way'}</button>
        <button type="button" class="mini" aria-label=${`Take away ${id}`} @click=${() => acts.drop([ref])}>×</button>`, html`
        ${xy(ref, id, middleOf(g))}
        ${g.cone ? nothing : html`<span class="cell"><i>bearing</i>${field(`${id}, bearing it is driven on, degrees from north`, g.bearing ?? 0, between(0, 360, '°'), (v) => acts.commit({do: 'cones-face', c, id, bearing: v}))}°
          <i>${g.gap?.fixed_cm ? 'gap' : 'over track'}</i>${field(`${id}, ${g.gap?.fixed_cm ? 'fixed gap' : 'clearance over the track'} in centimetres`, own ?? (gap === 'fixed' ? k.gap.fixed_cm ?? 0 : k.gap.clearance_cm ?? 0), between(0, 1000, 'cm'),
    (v) => acts.commit({do: 'cones-gap', c, id, gap: (g.gap ?? k.gap).fixed_cm ? {fixed_cm: v} : {clearance_cm: v}}))}cm${g.gap ? html` <button type="button" class="mini" aria-label=${`Give ${id} the gap of the course again`} @click=${() => acts.commit({do: 'cones-gap', c, id, gap: null})}>as the course</button>` : nothing}</span>`}
        ${g.part && g.part !== 'a' ? nothing : html`<span class="cell"><i>number</i>${field(`Number of ${id}`, g.number, wholeNumber(last), (v) => acts.commit({do: 'cones-number', c, from: g.number, to: v}), 0)}</span>`}`);
  })}
    <h3>Start and finish</h3>
    ${/** @type {const} */ (['start', 'finish']).map((key) => row(`line/${key}`, html`<b class="tag">${key === 'start' ? 'Start' : 'Finish'}</b>
        <button type="button" class="mini" aria-label=${`Drive ${coneName(doc, c, `line/${key}`)} the other way`} @click=${() => acts.commit({do: 'cones-other-way', c, ref: `line/${key}`})}>⇄ way</button>`, html`
        <span class="cell"><i class="r-sign" aria-hidden="true">R</i></span>${xy(`flag/${key}/red`, `${key}, red flag`, k[key].right)}
        <span class="cell"><i class="l-sign" aria-hidden="true">L</i></span>${xy(`flag/${key}/white`, `${key}, white flag`, k[key].left)}`))}
    <h3>The course</h3>
    ${row('', html`<b class="tag">Gap</b>`, html`<span class="cell">
      ${gap === 'over' ? html`<i>over the track</i>${field('Clearance of every pair over the track, in centimetres', k.gap.clearance_cm ?? 0, between(0, 1000, 'cm'), (v) => settle({gap: {clearance_cm: v}}, 'set the gap'))}cm <button type="button" class="mini" @click=${() => settle({gap: {fixed_cm: 200}}, 'set one gap for all')}>one gap for all</button>`
    : html`<i>for all</i>${field('Gap of every pair, in centimetres', k.gap.fixed_cm ?? 0, between(50, 2000, 'cm'), (v) => settle({gap: {fixed_cm: v}}, 'set the gap'))}cm <button type="button" class="mini" @click=${() => settle({gap: {clearance_cm: 30}}, 'set the gap over the track')}>over the track</button>`}</span>`)}
    ${row('', html`<b class="tag">Measured</b>`, html`<span class="cell"><i>turns wheeled round</i>${field('Radius round which the builder wheels the turns, in metres', k.measure_radius, within(1, 100), (v) => settle({measure_radius: v}, 'set the measuring radius'))}m</span>
      <span class="cell"><i>cone radius</i>${field('Radius of a cone at the ground, in metres', k.cone_radius, within(0.02, 1), (v) => settle({cone_radius: v}, 'set the size of the cones'))}m</span>`)}
    ${row('', html`<b class="tag">Speed</b>`, Object.entries(speed).map(([name, v]) => html`<span class="cell"><i>${name === 'default' ? 'all others' : name}</i>${field(`Speed for ${name === 'default' ? 'all others' : name}, metres a minute`, v, between(1, 1000, 'm/min'), (to) => settle({speed_m_per_min: {...speed, [name]: to}}, `set the speed for ${name === 'default' ? 'all others' : name}`))}m/min</span>`))}`;
}

/** @param {HTMLElement} host @param {Acts} acts */
export function createConesTable(host, acts) {
  host.replaceChildren();
  host.classList.add('ed-table');
  /** @type {any[]} */
  let memo = [];
  return (/** @type {any} */ s) => {
    const now = [s.history.now, s.c, s.chosen];
    if (now.every((v, i) => v === memo[i])) return;
    memo = now;
    render(template(s.history.now, s.c, s.chosen, acts), host);
  };
}
