// The hand: drags the paper, whatever is under it.

/** @returns {import('./hand.js').Tool} */
export function panTool() {
  /** @type {import('../plane.js').Pt | null} */
  let from = null;
  return {
    name: 'pan', label: 'Hand', key: 'h', how: 'Drag the paper; two fingers or the wheel zoom.',
    down(hand, p) { from = p.px; },
    move(hand, p) { if (from) { hand.pan(p.px[0] - from[0], p.px[1] - from[1]); from = p.px; } },
    up() { from = null; },
    cancel() { from = null; },
  };
}
