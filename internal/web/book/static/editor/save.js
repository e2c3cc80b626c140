// Keeping the plan. A plan is kept by version on the laptop that serves the
// page; until then every change lies as a draft in this browser, so that a
// closed lid loses nothing. When somebody else kept a version first, both are
// offered; nothing is overwritten without being asked.

import {call, Refused} from './ask.js';

/** @typedef {{base: string, plan: any, at: number}} Draft */

/** @param {string} id */
const key = (id) => `terret-draft-${id}`;

/** @param {string} id @returns {Draft | null} */
export function draftOf(id) {
  try { return JSON.parse(localStorage.getItem(key(id)) ?? 'null'); } catch { return null; }
}
/** @param {string} id @param {Draft} d @returns {boolean} whether it is kept */
export function putDraft(id, d) {
  try { localStorage.setItem(key(id), JSON.stringify(d)); return true; } catch { return false; }
}
/** @param {string} id */
export function dropDraft(id) { try { localStorage.removeItem(key(id)); } catch { /* no storage: no draft to drop */ } }

/**
 * Keeps the plan as the next version.
 * @param {string} api @param {string} id @param {string} base version it was made from @param {any} plan @param {string} note
 * @returns {Promise<{ok: true, version: any, letter: string} | {ok: false, why: 'conflict' | 'faults' | 'lost', body: any}>}
 */
export async function keep(api, id, base, plan, note) {
  const asNumber = /^\d+$/.test(base) ? Number(base) : base;
  try {
    const r = await call('PUT', `${api}/plans/${encodeURIComponent(id)}`, {base_version: asNumber, plan, note});
    return {ok: true, version: r.version, letter: r.letter};
  } catch (e) {
    if (e instanceof Refused) return {ok: false, why: e.status === 409 ? 'conflict' : 'faults', body: e.body};
    return {ok: false, why: 'lost', body: null};
  }
}
