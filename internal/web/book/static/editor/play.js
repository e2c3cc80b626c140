// Playing the drive: a clock that runs in the time of the drive, a slider to
// scrub it, and a step from gate to gate. Where motion is not wanted, playing
// steps from gate to gate instead of moving.

import {html, render, nothing} from '../vendor/lit-html/lit-html.js';
import {sampleAt} from './samples.js';

/** @param {() => boolean} [ask] */
export const stillness = (ask = () => matchMedia('(prefers-reduced-motion: reduce)').matches) => ask();

/** The second of the next gate driven after t, or of the end. @param {import('./samples.js').Route} route @param {number} t */
export function nextGate(route, t) {
  const p = route.passes.find((q) => q.t_s > t + 0.01);
  return p ? p.t_s : route.time_s;
}

/** What can be said of the drive at t. @param {import('./samples.js').Route} route @param {number} t */
export function wordsAt(route, t) {
  const s = sampleAt(route.samples, 't_s', t), last = route.passes.filter((p) => p.t_s <= t + 0.01).at(-1);
  const k = s.curvature_per_m, turning = Math.abs(k) < 0.02 ? 'straight' : `turning ${k > 0 ? 'right' : 'left'}, radius ${(1 / Math.abs(k)).toFixed(1)} m`;
  const at = !last ? '' : last.gate === 'in' ? 'through In' : last.gate === 'out' ? 'through Out' : `${last.was === 'dead' ? 'over dead' : 'through'} ${last.gate}`;
  return {at, line: `${t.toFixed(1)} s · ${s.s_m.toFixed(0)} m · ${s.speed_mps.toFixed(1)} m/s · ${turning}`};
}

/**
 * @param {HTMLElement} host @param {HTMLElement | null} button the toolbar's Drive it
 * @param {{get: () => any, play: (p: {on: boolean, t: number}) => void, say: (w: string) => void}} desk
 */
export function createPlay(host, button, desk) {
  let last = 0;
  /** @param {number} now */
  function frame(now) {
    const s = desk.get();
    if (!s.play.on || !s.shown) return;
    const t = s.play.t + Math.min(0.1, (now - last) / 1000);
    last = now;
    if (t >= s.shown.time_s) { desk.play({on: false, t: s.shown.time_s}); return; }
    desk.play({on: true, t});
    requestAnimationFrame(frame);
  }
  function step() {
    const s = desk.get();
    if (!s.shown) return;
    const t = nextGate(s.shown, s.play.t >= s.shown.time_s ? 0 : s.play.t);
    desk.play({on: false, t});
    const w = wordsAt(s.shown, t);
    desk.say(`${w.at}. ${w.line}`);
  }
  function toggle() {
    const s = desk.get();
    if (!s.shown || s.stale) { desk.say('No line to drive yet.'); return; }
    if (s.play.on) { desk.play({on: false, t: s.play.t}); return; }
    if (stillness()) { step(); return; }
    desk.play({on: true, t: s.play.t >= s.shown.time_s ? 0 : s.play.t});
    last = performance.now();
    requestAnimationFrame(frame);
  }
  button?.addEventListener('click', toggle);
  const label = button ? [...button.childNodes] : [];
  /** @type {any[]} */
  let memo = [];
  return (/** @type {any} */ s) => {
    const now = [s.shown, s.play.on, s.play.t, s.stale];
    if (now.every((v, i) => v === memo[i]) && memo.length) return;
    memo = now;
    if (button) button.replaceChildren(...(s.play.on ? ['Hold'] : label));
    const r = s.shown;
    render(!r || s.stale || !(s.play.on || s.play.t > 0) ? nothing : html`
      <div class="play-bar">
        <button type="button" @click=${toggle}>${s.play.on ? 'Hold' : 'Go on'}</button>
        <button type="button" @click=${step}>Next gate</button>
        <label class="scrub"><span class="unseen">Second of the drive</span><input type="range" min="0" max=${r.time_s} step="0.05" .value=${String(s.play.t)} aria-valuetext=${wordsAt(r, s.play.t).line}
          @input=${(/** @type {Event} */ e) => desk.play({on: false, t: Math.max(0.001, +/** @type {HTMLInputElement} */ (e.target).value)})}></label>
        <p class="play-words"><b>${wordsAt(r, s.play.t).at}</b><br>${wordsAt(r, s.play.t).line}</p>
        <button type="button" @click=${() => desk.play({on: false, t: 0})}>Back to the plan</button>
      </div>`, host);
  };
}
