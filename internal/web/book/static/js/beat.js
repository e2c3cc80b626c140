// Taps on the beat, and a metronome. Times are the browser's own for each press;
// the server works the tempo out, with its doubt.

const id = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.getElementById(name));
const bpm = /** @type {HTMLInputElement} */ (id('bpm'));
const per = /** @type {HTMLSelectElement} */ (id('per'));
/** @type {number[]} */
let taps = [];
let asking = false, beats = 0;

id('tap').addEventListener('pointerdown', (e) => {
  e.preventDefault();
  tap(e.timeStamp / 1000);
});
id('tap').addEventListener('keydown', (e) => {
  if ((e.key === ' ' || e.key === 'Enter') && !e.repeat) {
    e.preventDefault();
    tap(e.timeStamp / 1000);
  }
});
id('again').addEventListener('click', again);
per.addEventListener('change', ask);

/** @param {number} t */
function tap(t) {
  if (taps.length && t - taps[taps.length - 1] > 4) again(); // a rest begins anew
  taps.push(t);
  if (taps.length < 4) id('tempo').textContent = `${taps.length} ${taps.length === 1 ? 'tap' : 'taps'}`;
  else ask();
}
function again() {
  taps = [];
  id('tempo').textContent = 'Four taps or more; twenty are better.';
  id('tempo-says').textContent = '';
}
async function ask() {
  if (asking || taps.length < 4) return;
  asking = true;
  const n = taps.length;
  try {
    const r = await fetch('/api/gait/tempo', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({taps, per_stride: Number(per.value)})});
    const a = await r.json();
    if (!r.ok) id('tempo-says').textContent = a.faults?.[0] ? `${a.faults[0].message}; ${a.faults[0].hint}.` : 'It could not be worked out.';
    else {
      beats = a.beats_per_minute;
      id('tempo').textContent = `${a.strides_per_minute.toFixed(0)} strides a minute, ${a.beats_per_minute.toFixed(0)} taps, from ${a.taps}`;
      id('tempo-says').textContent = a.says;
      /** @type {HTMLButtonElement} */ (id('to-metronome')).disabled = false;
    }
  } catch {
    id('tempo-says').textContent = 'The laptop was not reached; your taps are still here. Tap on.';
  }
  asking = false;
  if (taps.length > n) ask();
}

// The metronome: clicks are set ahead on the sound's own clock, so that they do
// not stumble when the page is busy.
/** @type {AudioContext | null} */
let sound = null;
let next = 0, timer = 0;
id('to-metronome').addEventListener('click', () => {
  bpm.value = String(Math.round(beats));
  if (!timer) toggle();
});
id('click').addEventListener('click', toggle);
id('slower').addEventListener('click', () => { bpm.value = String(Math.max(30, Number(bpm.value) - 2)); });
id('quicker').addEventListener('click', () => { bpm.value = String(Math.min(400, Number(bpm.value) + 2)); });

function toggle() {
  if (timer) {
    clearInterval(timer);
    timer = 0;
    id('click').textContent = 'Start';
    return;
  }
  sound ??= new AudioContext();
  void sound.resume();
  next = sound.currentTime + 0.1;
  timer = setInterval(ahead, 40);
  id('click').textContent = 'Stop';
}
function ahead() {
  if (!sound) return;
  const step = 60 / Math.min(400, Math.max(30, Number(bpm.value) || 160));
  while (next < sound.currentTime + 0.2) {
    const o = sound.createOscillator(), g = sound.createGain();
    o.frequency.value = 880;
    g.gain.setValueAtTime(0.5, next);
    g.gain.exponentialRampToValueAtTime(0.001, next + 0.05);
    o.connect(g).connect(sound.destination);
    o.start(next);
    o.stop(next + 0.06);
    const wait = (next - sound.currentTime) * 1000;
    setTimeout(() => {
      id('flash').classList.add('on');
      setTimeout(() => id('flash').classList.remove('on'), 90);
    }, wait);
    next += step;
  }
}
