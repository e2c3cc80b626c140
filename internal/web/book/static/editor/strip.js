// Under the drawing: speed against distance, the gates passed, and the bends
// by hand (right above the line, left below it) with the seconds each loses.

import {svg, render, nothing} from '../vendor/lit-html/lit-html.js';
import {sampleAt} from './samples.js';

/** @param {HTMLElement} host */
export function createStrip(host) {
  /** @type {any[]} */
  let memo = [];
  /** @type {((s_m: number) => number) | null} */
  let across = null;
  /** @param {any} s */
  function draw(s) {
    const w = host.clientWidth, route = s.dragging ? memo[0] : s.shown;
    const now = [route, w, s.turnout, s.stale && !s.dragging];
    if (!now.every((v, i) => v === memo[i]) || now.length !== memo.length) {
      memo = now;
      full(route, w, s);
    }
    const cur = host.querySelector('.cursor');
    if (cur && across && route) {
      const on = s.play.on || s.play.t > 0;
      cur.setAttribute('d', on ? `M${across(sampleAt(route.samples, 't_s', s.play.t).s_m).toFixed(1)} 12V124` : '');
    }
  }
  /** @param {any} route @param {number} w @param {any} s */
  function full(route, w, s) {
    if (!route || w < 50) { across = null; render(svg``, host); return; }
    const L = 44, R = w > 600 ? 116 : 14, top = 24, floor = 86, mid = 112;
    const list = route.samples, end = route.length_m || list.at(-1).s_m;
    const paces = Object.entries(s.turnout?.paces ?? {});
    const peak = Math.max(...list.map((/** @type {any} */ x) => x.speed_mps), ...paces.map(([, v]) => /** @type {number} */ (v)), 1) * 1.05;
    const x = across = (/** @type {number} */ m) => L + (w - L - R) * m / end;
    const y = (/** @type {number} */ v) => floor - (floor - top) * v / peak;
    const d = 'M' + list.map((/** @type {any} */ q) => `${x(q.s_m).toFixed(1)} ${y(q.speed_mps).toFixed(1)}`).join('L');
    let right = '', left = '';
    const step = 5 * end / (w - L - R);
    for (let m = 0; m <= end; m += step) {
      const k = sampleAt(list, 's_m', m).curvature_per_m, hgt = Math.min(15, Math.abs(k) * 50);
      if (hgt < 1.5) continue;
      if (k > 0) right += `M${x(m).toFixed(1)} ${mid}V${(mid - hgt).toFixed(1)}`; else left += `M${x(m).toFixed(1)} ${mid}V${(mid + hgt).toFixed(1)}`;
    }
    const marks = route.passes.filter((/** @type {any} */ p) => p.gate !== 'in' && p.gate !== 'out');
    const lost = (route.turns ?? []).filter((/** @type {any} */ t) => t.lost_s >= 0.1);
    let lastLabel = -99;
    const worded = [...paces].sort((a, b) => /** @type {number} */ (b[1]) - /** @type {number} */ (a[1])).map(([k, v]) => {
      const yy = y(/** @type {number} */ (v)), at = Math.max(yy + 4, lastLabel + 15);
      lastLabel = at;
      return {k, yy, at};
    });
    render(svg`<svg class=${s.stale && !s.dragging ? 'strip stale' : 'strip'} viewBox=${`0 0 ${w} 132`} width=${w} height="132" role="img" aria-label=${`Speed along the line: ${route.length_m.toFixed(0)} m in ${route.time_s.toFixed(1)} s. ${marks.map((/** @type {any} */ p) => `${p.gate} at ${p.s_m.toFixed(0)} m`).join(', ')}.`}>
      <text x="4" y=${y(0) - 22} class="axis">m/s</text><text x=${L - 6} y=${y(0) + 4} class="axis" text-anchor="end">0</text><text x=${L - 6} y=${y(peak / 1.05) + 5} class="axis" text-anchor="end">${(peak / 1.05).toFixed(1)}</text>
      <path d=${`M${L} ${floor}H${w - R}`} class="rule"/>
      ${worded.map((p) => svg`<path d=${`M${L} ${p.yy.toFixed(1)}H${w - R}`} class="rule"/>${R > 50 ? svg`<text x=${w - R + 6} y=${p.at.toFixed(1)} class="axis">${p.k.replace(' trot', '')}</text>` : nothing}`)}
      ${marks.map((/** @type {any} */ p) => svg`<path d=${`M${x(p.s_m).toFixed(1)} 12V124`} class=${p.was === 'dead' ? 'gate-mark dead' : 'gate-mark'}/><text x=${x(p.s_m) + 4} y="16" class="gate-name">${p.gate}${p.was === 'dead' ? ' dead' : ''}</text>`)}
      <path d=${d} class="speed"/><path d=${`M${L} ${mid}H${w - R}`} class="rule"/>
      <text x=${L - 6} y=${mid - 3} class="axis" text-anchor="end">R</text><text x=${L - 6} y=${mid + 13} class="axis" text-anchor="end">L</text>
      <path d=${right} class="bend right"/><path d=${left} class="bend left"/>
      ${lost.map((/** @type {any} */ t) => svg`<text x=${x((t.from_m + t.to_m) / 2).toFixed(1)} y=${t.hand === 'right' ? mid + 14 : mid - 5} text-anchor="middle" class="lost">−${t.lost_s.toFixed(1)} s</text>`)}
      <path class="cursor"/></svg>`, host);
  }
  return draw;
}
