// Boxes of measurements: the same number in the other system follows what is
// typed. The server reads it again, strictly.

const inch = 0.0254, pound = 0.45359237;
const form = /** @type {HTMLFormElement | null} */ (document.getElementById('record'));
if (form) {
  const inches = /** @type {HTMLInputElement} */ (form.elements.namedItem('units'))?.value === 'inches';
  form.addEventListener('input', (e) => {
    const box = /** @type {HTMLInputElement} */ (e.target);
    const says = box.parentElement?.querySelector('.other');
    if (says && box.dataset.unit) says.textContent = other(box.value, box.dataset.unit, inches);
    box.closest('.box')?.classList.toggle('guess', /** @type {HTMLInputElement | null} */ (box.closest('.box')?.querySelector('.guess-tick input'))?.checked ?? false);
  });
}
document.getElementById('wrong')?.focus();

/**
 * The other system's number, or nothing where the text is no number.
 * @param {string} text
 * @param {string} unit
 * @param {boolean} inches
 */
export function other(text, unit, inches) {
  const t = text.trim().replaceAll(',', '.').replace('−', '-');
  const show = (/** @type {number} */ x, /** @type {number} */ most) => String(+x.toFixed(most));
  let m; // metres
  const ft = /^(-?\d+(?:\.\d+)?)\s*(?:'|ft)\s*(?:(\d+(?:\.\d+)?)\s*(?:"|in)?)?$/.exec(t);
  const hh = /^(\d+)(?:\.([0-3]))?\s*hh$/.exec(t);
  const one = /^([-+]?\d*\.?\d+)\s*(m|cm|mm|in|"|kg|lb|km\/h)?$/.exec(t);
  if (ft) m = (12 * +ft[1] + +(ft[2] ?? 0)) * inch;
  else if (hh) m = (4 * +hh[1] + +(hh[2] ?? 0)) * inch;
  else if (!one) return '';
  else {
    const x = +one[1], u = one[2] ?? (inches && unit === 'kg' ? 'lb' : inches && (unit === 'm' || unit === 'cm') ? 'in' : unit);
    if (unit === 'kg') return u === 'lb' ? `${show(x * pound, 1)} kg` : `${show(x / pound, 0)} lb`;
    if (unit === 'm/s') return u === 'km/h' ? `${show(x / 3.6, 2)} m/s` : `${show(x * 3.6, 1)} km/h`;
    /** @type {Record<string, number>} */
    const scale = {m: 1, cm: 0.01, mm: 0.001, in: inch, '"': inch};
    if (!(u in scale)) return '';
    m = x * scale[u];
    if (!['m', 'cm'].includes(unit)) return '';
    if (u !== 'in' && u !== '"') return `${show(m / inch, 1)} in`;
  }
  return unit === 'cm' ? `${show(m * 100, 1)} cm` : unit === 'm' ? `${show(m, 3)} m` : '';
}
