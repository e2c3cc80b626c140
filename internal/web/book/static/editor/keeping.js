// The plan in hand: what was drawn and not kept, undo and redo, keeping it as
// the next version, and the buttons for all that. Both editors hold one.

import {html, nothing} from '../vendor/lit-html/lit-html.js';
import {begin, redone, undone} from './history.js';
import {draftOf, dropDraft, keep as keepOn, putDraft} from './save.js';

/** @typedef {import('./history.js').History} History */

/** @param {number} at ms @returns {string} hours and minutes */
const clock = (at) => new Date(at).toTimeString().slice(0, 5);

/**
 * The draft of this browser, or the plan as it was loaded. A look at an old
 * version has a draft of its own, so that it never takes the place of the work
 * in hand; a draft keeps the version it was made from, so that keeping it asks
 * if another was kept since.
 * @param {HTMLElement} root with the plan's id and version @param {any} loaded
 * @returns {{plan: string, id: string, base: string, history: History, since: string}} since: when the draft was left, empty where there is none
 */
export function openDraft(root, loaded) {
  const plan = root.dataset.plan ?? '', old = new URLSearchParams(location.search).get('version'), id = old ? `${plan}@${old}` : plan;
  const rest = draftOf(id), history = begin(loaded), base = root.dataset.version ?? '';
  if (!rest?.plan || JSON.stringify(rest.plan) === JSON.stringify(loaded)) return {plan, id, base, history, since: ''};
  const back = {doc: loaded, cmd: /** @type {any} */ ({do: 'move', h: -1, refs: [], by: [0, 0]}), words: 'bring back the draft'};
  return {plan, id, base: rest.base, history: {now: rest.plan, past: [back], future: []}, since: clock(rest.at)};
}

/**
 * @param {HTMLElement} root @param {any} s the desk's state @param {ReturnType<typeof openDraft>} draft
 * @param {{api: string, redraw: () => void, say: (words: string) => void, turn: (next: History) => void}} desk turn takes another document in hand
 */
export function createKeeping(root, s, draft, desk) {
  let base = draft.base;
  Object.assign(s, {saved: draft.since ? 'draft' : 'kept', savedWords: '', conflict: null});
  const buttons = ['undo', 'redo'].map((id) => /** @type {HTMLButtonElement | null} */ (document.getElementById(id)));

  /** Leaves the plan in hand in this browser. */
  function put() { s.saved = putDraft(draft.id, {base, plan: s.history.now, at: Date.now()}) ? 'draft' : 'unkept'; }
  function undo() { const w = s.history.past.at(-1)?.words; if (w) { desk.turn(undone(s.history)); desk.say(`Undone: ${w}.`); } }
  function redo() { const w = s.history.future[0]?.words; if (w) { desk.turn(redone(s.history)); desk.say(`Done again: ${w}.`); } }

  async function keep() {
    s.savedWords = 'Keeping…';
    desk.redraw();
    const plan = s.history.now, r = await keepOn(desk.api, draft.plan, base, plan, '');
    if (r.ok) {
      base = root.dataset.version = String(r.version);
      if (s.history.now === plan) { dropDraft(draft.id); s.saved = 'kept'; }
      s.savedWords = `Kept as version ${r.letter}, ${clock(Date.now())}.`;
      s.conflict = null;
      document.dispatchEvent(new CustomEvent('plan-kept', {detail: {version: r.version, letter: r.letter}}));
    } else if (r.why === 'conflict') {
      s.conflict = r.body ?? {};
      s.savedWords = '';
    } else if (r.why === 'faults') {
      s.faults = r.body?.faults ?? s.faults;
      s.savedWords = `Not kept: ${s.faults[0]?.message ?? 'the plan has a fault'}. It stays as a draft in this browser.`;
    } else {
      s.savedWords = 'Not kept: the laptop cannot be reached. It stays as a draft in this browser.';
    }
    desk.redraw();
  }

  function state() {
    if (s.lost) return 'No connection to the laptop; trying again. Changes stay in this browser.';
    if (s.savedWords) return s.savedWords;
    return s.saved === 'draft' ? 'Draft in this browser, not kept yet.' : s.saved === 'unkept' ? 'Not kept, and this browser keeps no draft.' : '';
  }
  const mine = () => { base = String(s.conflict.newest ?? base); s.conflict = null; void keep(); };
  const theirs = () => { dropDraft(draft.id); location.reload(); };

  buttons[0]?.addEventListener('click', undo);
  buttons[1]?.addEventListener('click', redo);
  return {
    put, undo, redo, keep,
    /** What the row of tools ends with: keeping, where the plan lies now, and a conflict with its two ways out. */
    row() {
      [s.history.past, s.history.future].forEach((steps, i) => { const b = buttons[i]; if (b) b.disabled = !steps.length; });
      return html`
      <div class="tool-set keep-set"><button type="button" class="tool" data-act="keep" ?disabled=${s.saved === 'kept'} @click=${keep}>Keep</button>
      <span class="keep-words" role="status">${state()}</span></div>
      ${s.conflict ? html`<div class="conflict" role="alert"><b>Attend:</b> somebody kept ${s.conflict.letter ? `version ${s.conflict.letter}` : 'another version'} while you were drawing. Both can stay.
        <button type="button" @click=${mine}>Keep mine as the next version</button>
        <button type="button" @click=${theirs}>Take theirs, leave mine</button></div>` : nothing}`;
    },
  };
}
