// Undo and redo: a stack of documents that share what did not change, each
// with the command that led to it. Pure; a history is never changed in place.

import {apply, wordsFor} from './commands.js';

/** @typedef {import('./model.js').Plan} Plan */
/** @typedef {import('./commands.js').Command} Command */
/** @typedef {{doc: Plan, cmd: Command, words: string}} Step  the document before, and what was then done */
/** @typedef {{now: Plan, past: Step[], future: Step[]}} History */

/** How many steps can be taken back. */
export const DEPTH = 500;

/** @param {Plan} doc @returns {History} */
export const begin = (doc) => ({now: doc, past: [], future: []});

/** The history after a command; the same history when it changed nothing. @param {History} h @param {Command} cmd @returns {History} */
export function done(h, cmd) {
  const now = apply(h.now, cmd);
  if (now === h.now) return h;
  return {now, past: [...h.past, {doc: h.now, cmd, words: wordsFor(h.now, cmd)}].slice(-DEPTH), future: []};
}

/** @param {History} h @returns {History} */
export function undone(h) {
  const last = h.past.at(-1);
  if (!last) return h;
  return {now: last.doc, past: h.past.slice(0, -1), future: [{...last, doc: h.now}, ...h.future]};
}

/** @param {History} h @returns {History} */
export function redone(h) {
  const [next, ...rest] = h.future;
  if (!next) return h;
  return {now: next.doc, past: [...h.past, {...next, doc: h.now}], future: rest};
}
