// Pointer events, and nothing else: one pointer is handed to the tool in use,
// two are a pinch that moves and zooms the paper, the wheel zooms.

/** @typedef {import('./plane.js').Pt} Pt */

/**
 * @param {SVGSVGElement} svg
 * @param {{
 *   press: (px: Pt, e: PointerEvent) => void, move: (px: Pt, e: PointerEvent) => void, lift: (px: Pt, e: PointerEvent) => void, cancel: () => void,
 *   hover: (px: Pt) => void, pan: (dx: number, dy: number) => void, zoom: (by: number, at: Pt) => void,
 * }} on
 */
export function listen(svg, on) {
  /** @type {Map<number, Pt>} */
  const down = new Map();
  /** @type {number | null} */
  let tool = null;
  let middle = false;
  const at = (/** @type {MouseEvent} */ e) => { const r = svg.getBoundingClientRect(); return /** @type {Pt} */ ([e.clientX - r.left, e.clientY - r.top]); };

  svg.addEventListener('pointerdown', (e) => {
    if (e.button === 2) return;
    svg.setPointerCapture(e.pointerId);
    down.set(e.pointerId, at(e));
    middle = e.button === 1;
    if (down.size === 1 && !middle) { tool = e.pointerId; on.press(at(e), e); return; }
    if (tool !== null) { tool = null; on.cancel(); }
    e.preventDefault();
  });
  svg.addEventListener('pointermove', (e) => {
    const p = at(e), was = down.get(e.pointerId);
    if (!was) { on.hover(p); return; }
    if (e.pointerId === tool) { down.set(e.pointerId, p); on.move(p, e); return; }
    if (middle && down.size === 1) { down.set(e.pointerId, p); on.pan(p[0] - was[0], p[1] - was[1]); return; }
    if (down.size !== 2) return;
    const other = /** @type {Pt} */ ([...down].find(([id]) => id !== e.pointerId)?.[1]);
    const before = Math.hypot(was[0] - other[0], was[1] - other[1]), after = Math.hypot(p[0] - other[0], p[1] - other[1]);
    down.set(e.pointerId, p);
    on.pan((p[0] - was[0]) / 2, (p[1] - was[1]) / 2);
    if (before > 1 && after > 1) on.zoom(after / before, [(p[0] + other[0]) / 2, (p[1] + other[1]) / 2]);
  });
  svg.addEventListener('pointerup', (e) => {
    down.delete(e.pointerId);
    if (e.pointerId === tool) { tool = null; on.lift(at(e), e); }
  });
  svg.addEventListener('pointercancel', (e) => {
    down.delete(e.pointerId);
    if (e.pointerId === tool) { tool = null; on.cancel(); }
  });
  svg.addEventListener('wheel', (e) => {
    e.preventDefault();
    on.zoom(Math.exp(-e.deltaY * (e.deltaMode === 1 ? 0.05 : 0.0015)), at(e));
  }, {passive: false});
}
