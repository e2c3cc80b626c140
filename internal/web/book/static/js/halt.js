// The clock of a halt: when it began, a row for a reading now, fifteen seconds to
// count in.

const id = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.getElementById(name));
const form = /** @type {HTMLFormElement} */ (id('rows'));
const key = `${form.dataset.draft} · began`;
let began = Number(store()) || 0, until = 0;

id('halt-now').addEventListener('click', () => {
  began = Date.now();
  store(String(began));
  reading();
});
id('reading-now').addEventListener('click', reading);
id('fifteen').addEventListener('click', () => { until = Date.now() + 15000; });
setInterval(show, 250);

/** A row whose minute is now; the pulse is typed. */
function reading() {
  if (!began) began = Date.now();
  const rows = [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll('.typed-row'))];
  let row = rows.find((r) => [...r.querySelectorAll('input')].every((b) => b.value === ''));
  if (!row) {
    id('more-rows').click();
    row = [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll('.typed-row'))].find((r) => [...r.querySelectorAll('input')].every((b) => b.value === ''));
  }
  const minute = /** @type {HTMLInputElement | null | undefined} */ (row?.querySelector('[name=minute]'));
  if (minute) minute.value = ((Date.now() - began) / 60000).toFixed(1);
  /** @type {HTMLInputElement | null | undefined} */ (row?.querySelector('[name=pulse]'))?.focus();
  form.dispatchEvent(new Event('written'));
}
function show() {
  const left = Math.ceil((until - Date.now()) / 1000);
  let text = '';
  if (left > 0) text = `count: ${left} s`;
  else if (until && left > -6) text = 'stop: take it four times';
  else if (began && Date.now() - began < 6 * 3600e3) {
    const s = Math.floor((Date.now() - began) / 1000);
    text = `${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')} of the halt`;
  }
  if (id('halt-clock').textContent !== text) id('halt-clock').textContent = text;
}
/** @param {string} [value] */
function store(value) {
  try {
    if (value) localStorage.setItem(key, value);
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}
