// The choices in the toolbar, whether the server drew them as a list to choose
// from or as a row of words: one value, and a call when it changes.

import {html, render} from '../vendor/lit-html/lit-html.js';

/** @typedef {{value: string, label: string}} Choice */

/**
 * @param {HTMLElement | null} el @param {Choice[]} choices @param {string} value @param {(v: string) => void} change
 * @returns {{fill: (choices: Choice[], value?: string) => void}}
 */
export function picker(el, choices, value, change) {
  if (!el) return {fill() {}};
  let now = value;
  if (el instanceof HTMLSelectElement) {
    const fill = (/** @type {Choice[]} */ list, v = now) => {
      const had = [...el.options].map((o) => `${o.value}=${o.text}`).join('|'), want = list.map((c) => `${c.value}=${c.label}`).join('|');
      if (had !== want) el.replaceChildren(...list.map((c) => new Option(c.label, c.value)));
      el.value = now = v;
      if (el.selectedIndex < 0 && list.length) { el.selectedIndex = 0; now = el.value; }
    };
    fill(choices);
    el.addEventListener('change', () => { now = el.value; change(now); });
    return {fill};
  }
  const name = `${el.id}-choice`;
  let host = /** @type {HTMLElement | null} */ (null);
  const fill = (/** @type {Choice[]} */ list, v = now) => {
    now = v;
    if (!host) {
      // What the server drew goes, but for its legend.
      for (const n of [...el.childNodes]) if (!(n instanceof HTMLLegendElement)) n.remove();
      host = document.createElement('span');
      host.className = 'choice-row';
      el.append(host);
      el.addEventListener('change', (e) => { now = /** @type {HTMLInputElement} */ (e.target).value; change(now); });
    }
    render(html`${list.map((c) => html`<label class="choice"><input type="radio" name=${name} value=${c.value} .checked=${c.value === now}><span>${c.label}</span></label>`)}`, host);
  };
  fill(choices);
  return {fill};
}
