// The area that people keep out of while the hazard is driven: worked out by
// the server from the swept room of the largest turnout, wherever it may go.
// It is said as "outside drawn lines"; nothing here calls a place harmless.

import {html, render, nothing} from '../vendor/lit-html/lit-html.js';
import {call} from './ask.js';

/** Rings to draw, whichever way the answer nests them. @param {any} pieces @returns {import('./plane.js').Pt[][]} */
export function ringsOf(pieces) {
  if (!Array.isArray(pieces)) return pieces?.outline ? [pieces.outline] : [];
  if (pieces.length && Array.isArray(pieces[0]) && typeof pieces[0][0] === 'number') return [/** @type {any} */ (pieces)];
  return pieces.flatMap(ringsOf);
}

/**
 * @param {HTMLElement} host
 * @param {{set: (k: any) => void, get: () => any, api: string, more: () => any, say: (w: string) => void}} desk
 */
export function createKeepout(host, desk) {
  let asked = null;
  /** @param {any} s */
  async function fetchFor(s) {
    asked = s.history.now;
    try {
      const a = await call('POST', `${desk.api}/keepout`, {plan: s.history.now, hazard: s.history.now.hazards?.[s.h]?.name ?? '', ...desk.more()});
      if (asked !== desk.get().history.now) return;
      desk.set({pieces: ringsOf(a.pieces), words: a.words, turnout: a.turnout, metres: a.metres, doc: asked});
    } catch {
      desk.set({pieces: null, words: 'The keep-out area cannot be worked out just now.', turnout: '', metres: 0, doc: asked});
    }
  }
  /** @type {any[]} */
  let memo = [];
  return (/** @type {any} */ s) => {
    const k = s.keepout;
    if (k.on && k.doc !== s.history.now && asked !== s.history.now && !s.dragging) void fetchFor(s);
    const now = [k.on, k.words, k.doc === s.history.now];
    if (memo.length && now.every((v, i) => v === memo[i])) return;
    memo = now;
    render(html`<label class="check"><input type="checkbox" .checked=${k.on} @change=${(/** @type {Event} */ e) => desk.set({on: /** @type {HTMLInputElement} */ (e.target).checked})}> Keep-out area for people</label>
      ${k.on ? html`<p class="quiet" role="status">${!k.doc ? 'Working out the room of the largest turnout…' : k.doc === s.history.now ? k.words : 'For the plan as it was; being worked out again.'} People stand outside the drawn lines; local rules and the steward on the ground decide.</p>` : nothing}`, host);
  };
}
