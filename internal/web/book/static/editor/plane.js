// Plane geometry for the drawing. Metres; x east, y north. A bearing is
// degrees clockwise from north: 0 is +y, 90 is +x. Turning is positive to the
// right. The screen's y runs the other way: only port.js knows that.

/** @typedef {[number, number]} Pt  [x, y] in metres, x east and y north */

/** @param {Pt} a @param {Pt} b @returns {Pt} */
export const add = (a, b) => [a[0] + b[0], a[1] + b[1]];
/** @param {Pt} a @param {Pt} b @returns {Pt} */
export const sub = (a, b) => [a[0] - b[0], a[1] - b[1]];
/** @param {Pt} a @param {number} k @returns {Pt} */
export const scale = (a, k) => [a[0] * k, a[1] * k];
/** @param {Pt} a @param {Pt} b */
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
/** @param {Pt} a */
export const len = (a) => Math.hypot(a[0], a[1]);
/** @param {Pt} a @param {Pt} b */
export const dist = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
/** @param {Pt} a @param {Pt} b @returns {Pt} */
export const mid = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
/** The point a part f of the way from a to b. @param {Pt} a @param {Pt} b @param {number} f @returns {Pt} */
export const between = (a, b, f) => [a[0] + (b[0] - a[0]) * f, a[1] + (b[1] - a[1]) * f];
/** A vector of length 1; [0, 0] stays as it is. @param {Pt} a @returns {Pt} */
export const unit = (a) => { const l = len(a); return l > 0 ? [a[0] / l, a[1] / l] : [0, 0]; };
/** A quarter turn to the left, seen from above. @param {Pt} a @returns {Pt} */
export const left = (a) => [-a[1], a[0]];
/** A quarter turn to the right, seen from above. @param {Pt} a @returns {Pt} */
export const right = (a) => [a[1], -a[0]];
/** @param {Pt} a @param {Pt} b */
export const same = (a, b) => a[0] === b[0] && a[1] === b[1];

/** The bearing of a direction, 0 up to 360. @param {Pt} v */
export const bearingOf = (v) => (Math.atan2(v[0], v[1]) * 180 / Math.PI + 360) % 360;
/** The direction of a bearing. @param {number} deg @returns {Pt} */
export const towards = (deg) => [Math.sin(deg * Math.PI / 180), Math.cos(deg * Math.PI / 180)];
/** The turn from bearing a to bearing b, -180 to 180, positive to the right. @param {number} a @param {number} b */
export const turnFrom = (a, b) => ((b - a) % 360 + 540) % 360 - 180;

/** p turned about c by deg to the right. @param {Pt} p @param {Pt} c @param {number} deg @returns {Pt} */
export function turned(p, c, deg) {
  const r = deg * Math.PI / 180, cos = Math.cos(r), sin = Math.sin(r), x = p[0] - c[0], y = p[1] - c[1];
  return [c[0] + x * cos + y * sin, c[1] - x * sin + y * cos];
}

/** To the millimetre, so that a document never collects rounding noise. @param {number} v */
export const mm = (v) => Math.round(v * 1000) / 1000 + 0;
/** @param {Pt} p @returns {Pt} */
export const mmPt = (p) => [mm(p[0]), mm(p[1])];

/** The place on the segment a–b nearest to p. @param {Pt} p @param {Pt} a @param {Pt} b @returns {Pt} */
export function nearestOn(p, a, b) {
  const d = sub(b, a), l2 = dot(d, d);
  if (l2 === 0) return a;
  return add(a, scale(d, Math.min(1, Math.max(0, dot(sub(p, a), d) / l2))));
}

/** Whether p is inside the polygon (even-odd). @param {Pt} p @param {Pt[]} ring */
export function inside(p, ring) {
  let is = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const a = ring[i], b = ring[j];
    if ((a[1] > p[1]) !== (b[1] > p[1]) && p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0]) is = !is;
  }
  return is;
}
