// How numbers are said. Answers carry them in full; only here are they rounded.

/** "3.2 m" @param {number} v */
export const metres = (v, digits = 1) => `${v.toFixed(digits)} m`;
/** "14 cm", or metres from one metre up @param {number} v */
export const room = (v) => (v < 1 ? `${Math.round(v * 100)} cm` : `${v.toFixed(1)} m`);
/** "22.9 s" @param {number} v */
export const seconds = (v) => `${v.toFixed(1)} s`;
/** "+0.4 s" @param {number} v */
export const more = (v) => `${v < 0 ? '−' : '+'}${Math.abs(v).toFixed(1)} s`;
/** "270°" @param {number} v */
export const degrees = (v) => `${Math.round(v)}°`;

/** A number as someone typed it, with point or comma; null when it is none. @param {string} text */
export function number(text) {
  const t = text.trim().replace(',', '.').replace('−', '-');
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(t)) return null;
  return Number(t);
}

/** A thing's id as people say it in a sentence. @param {string} id */
export function thing(id) {
  if (id === 'outline') return 'the edge';
  const m = /^(in|out|[A-Z])\.(right|left)$/.exec(id);
  if (m) return `the ${m[2] === 'right' ? 'red' : 'white'} marker of ${m[1] === 'in' ? 'In' : m[1] === 'out' ? 'Out' : m[1]}`;
  return id;
}
