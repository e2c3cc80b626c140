// The table beside the drawing: everything that can be dragged can be typed.
// It is the same plan, and the exact view of it. A bad value is marked where
// it was typed, with what would be right; the last good drawing stays.

import {html, render, nothing} from '../vendor/lit-html/lit-html.js';
import {repeat} from '../vendor/lit-html/directives/repeat.js';
import {cornerRef, gateBearing, gateRef, gatesOf, markerRadius, markerRef, openingOf, pointRef, thingRef, nameOf} from './model.js';
import {number} from './says.js';
import {withShared} from './tools/select.js';
import {same} from './plane.js';

/** @typedef {import('./model.js').Plan} Plan */
/** @typedef {import('./commands.js').Command} Command */

/** @typedef {{commit: (c: Command) => void, choose: (refs: string[]) => void, back: (ref: string) => void}} Acts */

/**
 * One number that can be typed.
 * @param {string} label @param {number} value @param {(v: number) => string | null} check null when right, else what would be
 * @param {(v: number) => void} set @param {number} [digits]
 */
export function field(label, value, check, set, digits = 2) {
  const shown = value.toFixed(digits).replace(/(\.\d*?[1-9])0+$|\.0+$/, '$1');
  /** @param {Event} e */
  const change = (e) => {
    const el = /** @type {HTMLInputElement} */ (e.target), v = number(el.value);
    const bad = v === null ? 'A number is wanted, such as 12.5.' : check(v);
    const note = /** @type {HTMLElement} */ (el.closest('.row')?.querySelector('.row-note'));
    if (bad) {
      el.setAttribute('aria-invalid', 'true');
      if (note) note.textContent = `${label}: ${bad}`;
      return;
    }
    el.removeAttribute('aria-invalid');
    if (note) note.textContent = '';
    if (Math.abs(/** @type {number} */ (v) - value) > 1e-9) set(/** @type {number} */ (v)); else el.value = shown;
  };
  return html`<input type="text" inputmode="decimal" autocomplete="off" aria-label=${label} .value=${shown} @change=${change} size="5">`;
}

export const any = () => null;
export const within = (/** @type {number} */ lo, /** @type {number} */ hi) => (/** @type {number} */ v) => (v >= lo && v <= hi ? null : `between ${lo} and ${hi} m would be right.`);

/**
 * @param {Plan} doc @param {number} h @param {string[]} chosen @param {Acts} acts
 */
function template(doc, h, chosen, acts) {
  const gates = gatesOf(doc, h), r = markerRadius(doc, h);
  const put = (/** @type {string} */ ref, /** @type {import('./plane.js').Pt} */ at) => acts.commit({do: 'put', h, refs: withShared(doc, h, [ref]), at});
  const xy = (/** @type {string} */ ref, /** @type {string} */ name, /** @type {import('./plane.js').Pt} */ p) => html`
    ${field(`${name}, metres east`, p[0], any, (v) => put(ref, [v, p[1]]))}${field(`${name}, metres north`, p[1], any, (v) => put(ref, [p[0], v]))}`;
  const row = (/** @type {string} */ ref, /** @type {any} */ head, /** @type {any} */ body) => html`<div class=${chosen.some((c) => c === ref || c.startsWith(ref + '/') || (ref.startsWith('gate/') && c.startsWith(ref.replace('gate/', 'marker/') + '/'))) ? 'row chosen' : 'row'} data-row=${ref}
      @focusin=${() => { if (!chosen.includes(ref)) acts.choose([ref]); }}
      @keydown=${(/** @type {KeyboardEvent} */ e) => { if (e.key === 'Escape') { e.stopPropagation(); acts.back(ref); } }}>
      <div class="row-head">${head}</div><div class="row-body">${body}</div><p class="row-note" role="alert"></p></div>`;
  const away = (/** @type {string} */ ref) => html`<button type="button" class="mini" aria-label=${`Take away ${nameOf(doc, ref)}`} @click=${() => acts.commit({do: 'drop', h, refs: [ref]})}>×</button>`;
  const shared = gates.length > 1 && same(gates[0].right, gates[gates.length - 1].left) && same(gates[0].left, gates[gates.length - 1].right);

  return html`
    <h3>Gates</h3>
    ${gates.length ? nothing : html`<p class="quiet">No gate yet. The first pair you draw is In, and Out on the same posts.</p>`}
    ${repeat(gates, (g) => g.key, (g) => row(gateRef(g.key), html`<b class="tag">${g.label}</b>
        <button type="button" class="mini" @click=${() => acts.commit({do: 'swap', h, key: g.key})} aria-label=${`Drive ${g.label} the other way: red and white change places`}>⇄ way</button>
        ${g.key === 'out' && shared ? html`<button type="button" class="mini" @click=${() => acts.commit({do: 'part', h})}>own posts</button>` : nothing}
        ${g.key === 'in' || g.key === 'out' ? nothing : away(gateRef(g.key))}`, html`
      <span class="cell"><i class="r-sign" aria-hidden="true">R</i>${xy(markerRef(g.key, 'right'), `${g.label}, red marker`, g.right)}</span>
      <span class="cell"><i class="l-sign" aria-hidden="true">L</i>${xy(markerRef(g.key, 'left'), `${g.label}, white marker`, g.left)}</span>
      <span class="cell"><i>opens</i>${field(`${g.label}, opening in metres`, openingOf(g, r), within(0.5, 30), (v) => acts.commit({do: 'open', h, key: g.key, metres: v}))}m
        <i>bearing</i>${field(`${g.label}, bearing it is driven on, degrees from north`, gateBearing(g), (v) => (v >= 0 && v <= 360 ? null : '0 to 360 would be right.'), (v) => acts.commit({do: 'face', h, key: g.key, bearing: v}), 1)}°</span>`))}
    <h3>Things</h3>
    ${doc.things?.length ? nothing : html`<p class="quiet">Nothing stands here yet. Choose Post, Tree or Rail and press on the drawing.</p>`}
    ${repeat(doc.things ?? [], (t) => t.id, (t) => {
    const ref = thingRef(t.id), pts = t.path ?? t.outline;
    const size = t.outline ? nothing : html`<i>${t.path ? 'wide' : 'radius'}</i>${field(`${t.id}, ${t.path ? 'width' : 'radius'} in metres`, t.path ? t.width ?? 0.12 : t.radius ?? 0.06, within(0.01, 10), (v) => acts.commit({do: 'size', id: t.id, metres: v}))}`;
    return row(ref, html`<b class="tag">${t.id}</b> <span>${t.kind}${t.drivable ? ', drivable' : ''}</span>${away(ref)}`,
      t.at ? html`<span class="cell">${xy(ref, t.id, t.at)}${size}</span>`
        : html`${(pts ?? []).map((p, i) => html`<span class="cell"><i>${i + 1}</i>${xy(pointRef(t.id, i), `${t.id} point ${i + 1}`, p)}</span>`)}<span class="cell">${size}</span>`);
  })}
    <h3>Edge of the ground</h3>
    ${doc.ground.outline.map((p, i) => row(cornerRef(i), html`<b class="tag">${i + 1}</b>`, html`<span class="cell">${xy(cornerRef(i), `Corner ${i + 1}`, p)}</span>`))}`;
}

/** @param {HTMLElement} host @param {Acts} acts */
export function createTable(host, acts) {
  host.replaceChildren();
  host.classList.add('ed-table');
  /** @type {any[]} */
  let memo = [];
  return (/** @type {any} */ s) => {
    const now = [s.history.now, s.h, s.chosen];
    if (now.every((v, i) => v === memo[i])) return;
    memo = now;
    render(template(s.history.now, s.h, s.chosen, acts), host);
  };
}
