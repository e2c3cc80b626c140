// The window through which the ground is seen: which metres lie under which
// pixels. North is up, so the screen's y runs against the ground's. This is
// the only place that turns it over; a mirrored drawing is a bug that hurts
// people, and it has one place to be looked for.

/** @typedef {import('./plane.js').Pt} Pt */
/**
 * @typedef {Object} Port
 * @property {number} cx metres east at the middle of the window
 * @property {number} cy metres north at the middle of the window
 * @property {number} k  pixels per metre
 * @property {number} w  width of the window, px
 * @property {number} h  height of the window, px
 */

/** Least and greatest pixels per metre. */
export const NEAREST = 200, FARTHEST = 1.5;

/** Ground to screen. @param {Port} v @param {Pt} p @returns {Pt} */
export const toScreen = (v, p) => [(p[0] - v.cx) * v.k + v.w / 2, (v.cy - p[1]) * v.k + v.h / 2];
/** Screen to ground. @param {Port} v @param {Pt} q @returns {Pt} */
export const toGround = (v, q) => [(q[0] - v.w / 2) / v.k + v.cx, v.cy - (q[1] - v.h / 2) / v.k];

/** The window moved by pixels, as a hand moves paper. @param {Port} v @param {number} dx @param {number} dy @returns {Port} */
export const panned = (v, dx, dy) => ({...v, cx: v.cx - dx / v.k, cy: v.cy + dy / v.k});

/** The window zoomed about a pixel, which stays over its place. @param {Port} v @param {number} by @param {Pt} at @returns {Port} */
export function zoomed(v, by, at) {
  const k = Math.min(NEAREST, Math.max(FARTHEST, v.k * by));
  const g = toGround(v, at);
  return {...v, k, cx: g[0] - (at[0] - v.w / 2) / k, cy: g[1] + (at[1] - v.h / 2) / k};
}

/**
 * A window of w × h pixels that shows the box with pad pixels of paper round it.
 * @param {{x0: number, y0: number, x1: number, y1: number}} box metres
 * @param {number} w @param {number} h @param {number} pad @returns {Port}
 */
export function fitted(box, w, h, pad) {
  const kx = (w - 2 * pad) / Math.max(1, box.x1 - box.x0), ky = (h - 2 * pad) / Math.max(1, box.y1 - box.y0);
  const k = Math.min(NEAREST, Math.max(FARTHEST, Math.min(kx, ky)));
  return {cx: (box.x0 + box.x1) / 2, cy: (box.y0 + box.y1) / 2, k, w, h};
}
