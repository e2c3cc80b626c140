// Records what the phone feels, where the browser gives it to a page, and hands it
// to the form as the same CSV that a file would be.

const id = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.getElementById(name));
const start = /** @type {HTMLButtonElement} */ (id('record')), stop = /** @type {HTMLButtonElement} */ (id('stop'));
/** @type {string[]} */
let lines = [];
let first = 0, last = 0, waiting = 0;

const able = 'DeviceMotionEvent' in window && window.isSecureContext;
if (!able) {
  start.disabled = true;
  id('can').textContent = window.isSecureContext
    ? 'This browser gives a page no motion. Record with the phone’s own means and bring the file below.'
    : 'A browser gives motion only to a page on this very device or with https, and this one is neither. Record with the phone’s own means and bring the file below.';
} else id('can').textContent = 'The screen must stay on while it records. Put it in the pad’s pocket, start, then put to.';
(document.getElementById('wrong') ?? document.getElementById('result'))?.focus();

start.addEventListener('click', async () => {
  // Some browsers want to be asked from a press.
  const ask = /** @type {{requestPermission?: () => Promise<string>}} */ (/** @type {unknown} */ (DeviceMotionEvent)).requestPermission;
  if (ask && await ask.call(DeviceMotionEvent) !== 'granted') {
    id('can').textContent = 'It was not allowed. Allow motion for this page, or bring a file below.';
    return;
  }
  lines = ['t_s,ax,ay,az'];
  first = last = 0;
  window.addEventListener('devicemotion', felt);
  start.disabled = true;
  stop.disabled = false;
  waiting = setTimeout(() => {
    if (lines.length < 2) id('can').textContent = 'Nothing is felt: this device has no motion sensor, or keeps it from pages.';
  }, 3000);
  try {
    await navigator.wakeLock?.request('screen');
  } catch {
    // The person keeps the screen on.
  }
});
stop.addEventListener('click', () => {
  window.removeEventListener('devicemotion', felt);
  clearTimeout(waiting);
  start.disabled = false;
  stop.disabled = true;
  const file = new File([lines.join('\n') + '\n'], 'recorded.csv', {type: 'text/csv'});
  const save = /** @type {HTMLAnchorElement} */ (id('save'));
  save.href = URL.createObjectURL(file);
  save.download = 'recorded.csv';
  save.hidden = false;
  if (lines.length < 60) {
    id('recorded').textContent = 'Too short to read: ten seconds or more of a steady gait.';
    return;
  }
  const box = /** @type {HTMLInputElement} */ (id('log')), all = new DataTransfer();
  all.items.add(file);
  box.files = all.files;
  /** @type {HTMLFormElement} */ (id('log-form')).requestSubmit();
});

/** @param {DeviceMotionEvent} e */
function felt(e) {
  const a = e.accelerationIncludingGravity;
  if (!a || a.x === null || a.y === null || a.z === null) return;
  const t = e.timeStamp / 1000;
  first ||= t;
  lines.push(`${(t - first).toFixed(4)},${a.x.toFixed(3)},${a.y.toFixed(3)},${a.z.toFixed(3)}`);
  if (t - last > 0.5) {
    last = t;
    const n = lines.length - 1, s = t - first;
    id('recorded').textContent = `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, '0')}, ${(n / Math.max(s, 0.1)).toFixed(0)} a second`;
  }
}
