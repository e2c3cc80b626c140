// The check card on a phone: the next line stands at the bottom with its three
// buttons, so that a thumb in a glove goes through the card. Marks stay in this
// browser until the laptop has them.

const form = /** @type {HTMLFormElement | null} */ (document.getElementById('check'));
if (form) begin(form);

/** @param {HTMLFormElement} form */
function begin(form) {
  const {turnout = '', version = '', again = ''} = form.dataset;
  const key = `terret check · ${turnout} · ${version} · ${again}`;
  const id = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.getElementById(name));
  const box = (/** @type {string} */ name) => /** @type {HTMLInputElement} */ (form.elements.namedItem(name));
  const lines = /** @type {HTMLFieldSetElement[]} */ ([...form.querySelectorAll('.line')]);
  const radios = (/** @type {HTMLElement} */ l) => /** @type {HTMLInputElement[]} */ ([...l.querySelectorAll('[type=radio]')]);
  const markOf = (/** @type {HTMLElement} */ l) => radios(l).find((r) => r.checked)?.value ?? '';
  const folded = (/** @type {HTMLElement} */ l) => l.closest('details:not([open])') !== null;
  /** @type {HTMLElement[]} */
  const done = []; // in the order they were marked, for undo
  let began = 0, chosen = false;

  const text = (/** @type {HTMLElement} */ l) => l.querySelector('legend')?.textContent ?? '';
  const due = () => lines.find((l) => markOf(l) === '' && !folded(l));

  restore();
  show();
  id('next').hidden = false;
  setInterval(clock, 1000);
  document.getElementById('wrong')?.focus();
  // Where the card is signed the buttons would be in the way.
  new IntersectionObserver(([e]) => id('next').classList.toggle('away', e.isIntersecting), {rootMargin: '0px 0px -45% 0px'}).observe(id('finish'));

  form.addEventListener('change', (e) => {
    const at = /** @type {HTMLInputElement} */ (e.target);
    const line = /** @type {HTMLElement | null} */ (at.closest('.line'));
    if (at.type === 'radio' && line) marked(line);
    if (at.name === 'result') chosen = true;
    show();
  });
  form.addEventListener('input', keep);
  // A second press on what is pressed takes the mark away.
  for (const l of lines) {
    for (const r of radios(l)) {
      let was = false;
      r.parentElement?.addEventListener('pointerdown', () => { was = r.checked; });
      r.addEventListener('click', () => {
        if (!was) return;
        r.checked = was = false;
        show();
      });
    }
  }
  for (const b of /** @type {HTMLElement[]} */ ([...id('next').querySelectorAll('[data-mark]')])) {
    b.addEventListener('click', () => {
      const l = due();
      const r = l && radios(l).find((x) => x.value === b.dataset.mark);
      if (!l || !r) {
        id('finish').scrollIntoView({block: 'start'});
        return;
      }
      r.checked = true;
      marked(l);
      show();
      if (r.value === 'looked at') due()?.scrollIntoView({block: 'nearest'});
      else l.scrollIntoView({block: 'center'});
    });
  }
  id('undo').addEventListener('click', () => {
    const l = done.pop();
    if (!l) return;
    for (const r of radios(l)) r.checked = false;
    show();
    l.scrollIntoView({block: 'center'});
  });
  id('begin-again').addEventListener('click', (e) => {
    const b = /** @type {HTMLElement} */ (e.target);
    if (b.dataset.sure !== 'yes') { // one press asks, the second does it
      b.dataset.sure = 'yes';
      b.textContent = 'Press once more: every mark is taken away';
      return;
    }
    forget();
    location.replace(location.pathname + location.search);
  });
  form.addEventListener('submit', async (e) => {
    e.preventDefault();
    box('seconds').value = began ? ((Date.now() - began) / 1000).toFixed(1) : '';
    keep();
    id('here').textContent = 'Sending …';
    try {
      await fetch('/healthz', {cache: 'no-store'});
    } catch {
      id('here').textContent = 'Kept on this phone, not sent: the laptop was not reached. Go nearer and press again.';
      return;
    }
    form.submit();
  });

  /** @param {HTMLElement} l */
  function marked(l) {
    if (!began) began = Date.now();
    const i = done.indexOf(l);
    if (i >= 0) done.splice(i, 1);
    if (markOf(l)) done.push(l);
  }
  function show() {
    const l = due();
    for (const x of lines) x.classList.toggle('due', x === l);
    id('next-part').textContent = l ? l.closest('.part')?.querySelector('h2, summary')?.textContent ?? '' : '';
    id('next-text').textContent = l ? text(l) : 'Every line is marked. Keep the card below.';
    for (const b of /** @type {HTMLButtonElement[]} */ ([...id('next').querySelectorAll('[data-mark]')])) b.disabled = !l;
    const all = lines.map(markOf), n = (/** @type {string} */ m) => all.filter((x) => x === m).length;
    id('count').textContent = `${n('looked at')} good, ${n('fix')} to fix, ${n('refuse')} refused, ${lines.filter((l) => markOf(l) === '' && !folded(l)).length} not looked at.`;
    if (!chosen && all.some((m) => m !== '')) {
      const want = n('refuse') ? 'not today' : n('fix') ? 'fix and show again' : 'looked over';
      for (const r of /** @type {NodeListOf<HTMLInputElement>} */ (form.querySelectorAll('[name=result]'))) r.checked = r.value === want;
    }
    clock();
    keep();
  }
  function clock() {
    const s = began ? Math.floor((Date.now() - began) / 1000) : 0;
    const asked = lines.filter((l) => markOf(l) !== '' || !folded(l));
    const marks = asked.filter((l) => markOf(l) !== '').length;
    id('clock').textContent = `${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')} · ${marks} of ${asked.length}`;
  }

  // The draft: marks, notes, names; the checker's name is kept for the next card too.
  function keep() {
    const fields = Object.fromEntries([...new FormData(form)].filter(([k]) => k !== 'seconds' && k !== 'began' && k !== 'version'));
    try {
      localStorage.setItem(key, JSON.stringify({began, chosen, fields}));
      localStorage.setItem('terret checker', box('checker').value);
      id('here').textContent = began ? 'Kept on this phone as you mark; not sent yet.' : '';
    } catch {
      id('here').textContent = 'This browser keeps nothing: send the card before you close it.';
    }
  }
  function restore() {
    try {
      const first = lines.every((l) => markOf(l) === '');
      const kept = JSON.parse(localStorage.getItem(key) ?? 'null');
      if (kept?.fields && first) {
        for (const [name, value] of Object.entries(kept.fields)) {
          const own = form.elements.namedItem(name);
          if (own instanceof RadioNodeList) own.value = String(value);
          else if (own instanceof HTMLInputElement && own.type === 'checkbox') own.checked = true;
          else if (own instanceof HTMLInputElement || own instanceof HTMLTextAreaElement) own.value = String(value);
        }
        chosen = kept.chosen === true;
      }
      if (kept?.began > 0) began = kept.began;
      if (!box('checker').value) box('checker').value = localStorage.getItem('terret checker') ?? '';
      if (!first) chosen = true; // the page came back with faults: what was chosen stays
    } catch {
      // A browser that keeps nothing: the form itself still holds it.
    }
  }
  function forget() {
    try {
      localStorage.removeItem(key);
    } catch {
      // Nothing was kept.
    }
  }
}
