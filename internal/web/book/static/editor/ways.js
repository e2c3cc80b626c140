// The list of ways: what each takes, where it is tight, and one plain sentence
// against the best. Pointing at one, or walking the list with the arrow keys,
// lays it over the best on the drawing with its own dash.

import {html, svg, render, nothing} from '../vendor/lit-html/lit-html.js';
import {DASHES} from './view.js';
import {degrees, metres, more, room, seconds, thing} from './says.js';

/** @typedef {import('./samples.js').Route} Route */

/** A small picture of the way. @param {Route} r @param {number} i */
function picture(r, i) {
  const xs = r.samples.map((s) => s.lead[0]), ys = r.samples.map((s) => s.lead[1]);
  const x0 = Math.min(...xs), x1 = Math.max(...xs), y0 = Math.min(...ys), y1 = Math.max(...ys), k = 42 / Math.max(x1 - x0, y1 - y0, 1);
  const px = (/** @type {number} */ v) => (24 + (v - (x0 + x1) / 2) * k).toFixed(1), py = (/** @type {number} */ v) => (28 - (v - (y0 + y1) / 2) * k).toFixed(1);
  const step = Math.max(1, r.samples.length >> 6);
  const d = 'M' + r.samples.filter((_, j) => j % step === 0 || j === r.samples.length - 1).map((s) => `${px(s.lead[0])} ${py(s.lead[1])}`).join('L');
  return svg`<svg class="way-picture" viewBox="0 0 48 56" aria-hidden="true"><rect x=".5" y=".5" width="47" height="55"/><path d=${d} stroke-dasharray=${DASHES[Math.min(i, DASHES.length - 1)].split(' ').map((v) => (+v ? +v * 0.55 : '')).join(' ')}/></svg>`;
}

/** @param {Route} r */
function turnLines(r) {
  const turns = (r.turns ?? []).filter((t) => t.lost_s >= 0.05);
  const sum = turns.reduce((a, t) => a + t.lost_s, 0);
  return html`<details class="way-more"><summary>${sum >= 0.05 ? `${seconds(sum)} lost in ${turns.length} turn${turns.length === 1 ? '' : 's'}` : 'its turns'}</summary>
    <p>Turns left ${degrees(r.turned_left_deg)}${r.least_radius_left_m ? `, least ${metres(r.least_radius_left_m)}` : ''}; right ${degrees(r.turned_right_deg)}${r.least_radius_right_m ? `, least ${metres(r.least_radius_right_m)}` : ''}.</p>
    ${turns.length ? html`<ul>${turns.map((t) => html`<li>${t.between}: ${t.hand} ${degrees(t.deg)}, least ${metres(t.least_radius_m)}, loses ${seconds(t.lost_s)}</li>`)}</ul>` : nothing}</details>`;
}

/** Whether how a turnout turns, or what side force it takes, is guessed. @param {any} t */
const guesses = (t) => (t?.guessed ?? []).some((/** @type {string} */ g) => /^(turning|pace$|pace\.lateral)/.test(g));

/**
 * @param {HTMLElement} host
 * @param {{compare: (way: string | null) => void, take: (way: string) => void, cure: (r: any) => (() => void) | null, stop: () => void, doubts: () => void}} acts
 */
export function createWays(host, acts) {
  let begun = false;
  /** @type {any[]} */
  let memo = [];
  /** @param {KeyboardEvent} e */
  const walk = (e) => {
    if (e.key !== 'ArrowDown' && e.key !== 'ArrowUp') return;
    const all = /** @type {HTMLElement[]} */ ([...host.querySelectorAll('.way-take')]), i = all.indexOf(/** @type {HTMLElement} */ (document.activeElement));
    if (i < 0) return;
    e.preventDefault();
    all[Math.max(0, Math.min(all.length - 1, i + (e.key === 'ArrowDown' ? 1 : -1)))].focus();
  };
  return (/** @type {any} */ s) => {
    // What the server drew stays until there is something newer to say.
    if (!begun && !s.answer && !s.trouble) return;
    if (!begun) { host.replaceChildren(); host.classList.add('ed-ways'); host.addEventListener('keydown', walk); begun = true; }
    const now = [s.answer, s.compareWay, s.takenWay, s.trouble, s.stale && !s.dragging, s.doubts];
    if (now.length === memo.length && now.every((v, i) => v === memo[i])) return;
    memo = now;
    const routes = /** @type {Route[]} */ (s.answer?.routes ?? []), best = routes[0], none = s.answer?.none_because;
    const cure = none ? acts.cure(none) : null;
    render(html`
      <h2>Ways through${routes.length ? html` · <span class="count">${routes.length} worth knowing</span>` : nothing}</h2>
      ${s.stale && !s.dragging && routes.length ? html`<p class="quiet">For the plan as it was; the new ones are being worked out.</p>` : nothing}
      ${none ? html`<p class="attend"><b>Attend:</b> ${none.text} ${cure ? html`<button type="button" class="link" @click=${cure.do}>${cure.words}</button>` : nothing}</p>` : nothing}
      ${s.trouble ? html`<p class="attend"><b>Attend:</b> ${s.trouble}</p>` : nothing}
      <ol class="way-list" @pointerleave=${() => acts.compare(null)}>
      ${routes.map((r, i) => html`<li class=${(s.takenWay ?? best.way) === r.way ? 'way-item taken' : s.compareWay === r.way ? 'way-item compared' : 'way-item'}
          @pointerenter=${() => acts.compare(r.way)} >
        <button type="button" class="way-take" aria-pressed=${(s.takenWay ?? best.way) === r.way} @focus=${() => acts.compare(r.way)} @click=${() => acts.take(r.way)}>
          ${picture(r, i)}
          <span class="way-text"><b class="way-time">${i === 0 ? seconds(r.time_s) : more(r.time_s - best.time_s)}</b>
          <span class="way-figures">${metres(r.length_m, 0)} · ${room(r.clearance_m)}${r.tight[0] ? ` at ${thing(r.tight[0].thing)}` : ''}</span>
          <span class="way-figures">left ${degrees(r.turned_left_deg)} · right ${degrees(r.turned_right_deg)}</span>
          <span class="way-says">${r.says}</span></span>
        </button>${turnLines(r)}</li>`)}
      </ol>
      ${s.answer?.dropped ? html`<p class="quiet">${s.answer.dropped} more were too slow or too like these to show.</p>` : nothing}
      ${s.answer && guesses(s.turnout) ? html`<div class="way-doubts" role="status">${s.doubts === 'asked' ? html`<p class="quiet">Planning with what is guessed…</p>`
        : Array.isArray(s.doubts) ? s.doubts.map((/** @type {any} */ d) => html`<p class=${d.stops_driving ? 'attend' : ''}>${d.stops_driving ? html`<b>Attend:</b> ` : nothing}${d.says}</p>`)
        : html`<p>How this turnout turns is guessed. <button type="button" class="link" data-act="doubts" @click=${acts.doubts}>What that leaves open</button></p>`}</div>` : nothing}`, host);
  };
}
