// The form for taped lengths: Enter goes to the next box, and what is typed is
// kept in this browser until it has been worked out, so that nothing is typed
// twice.

const form = /** @type {HTMLFormElement | null} */ (document.getElementById('tapes'));
if (form) begin(form);

/** @param {HTMLFormElement} form */
function begin(form) {
  const key = form.dataset.key ?? '';
  const boxes = () => /** @type {HTMLInputElement[]} */ ([...form.querySelectorAll('.tape-row input:not([type=hidden])')]);
  const work = document.getElementById('work');
  const said = document.getElementById('draft');

  form.addEventListener('keydown', (e) => {
    const at = /** @type {HTMLElement} */ (e.target);
    if (e.key !== 'Enter' || !at.closest('.tape-row') || e.isComposing) return;
    e.preventDefault();
    const all = boxes(), i = all.indexOf(/** @type {HTMLInputElement} */ (at));
    const next = e.shiftKey ? all[i - 1] : all[i + 1];
    if (next) {
      next.focus();
      next.select();
    } else work?.focus();
  });

  // Some on-screen keyboards send the press of Enter by itself, to the box that has
  // the focus by then: it must not send the form.
  form.addEventListener('keypress', (e) => {
    if (e.key === 'Enter' && /** @type {HTMLElement} */ (e.target).closest('.tape-row')) e.preventDefault();
  });

  document.getElementById('more-rows')?.addEventListener('click', (e) => {
    const button = /** @type {HTMLElement} */ (e.target);
    const rows = button.parentElement?.querySelectorAll('.tape-row') ?? [];
    const last = /** @type {HTMLElement} */ (rows[rows.length - 1]);
    const row = /** @type {HTMLElement} */ (last.cloneNode(true));
    row.className = 'tape-row';
    for (const note of row.querySelectorAll('.row-note')) note.remove();
    const n = form.querySelectorAll('.tape-row').length + 1;
    for (const box of row.querySelectorAll('input')) {
      box.value = '';
      box.removeAttribute('aria-invalid');
      box.removeAttribute('aria-describedby');
      if (box.id) box.id = `m-${n}`;
      const label = box.getAttribute('aria-label');
      if (label) box.setAttribute('aria-label', label.replace(/\d+/, String(n)));
    }
    last.after(row);
    row.querySelector('input')?.focus();
  });

  // The draft. A row is known by its two ends.
  const rows = () => [...form.querySelectorAll('.tape-row')].map((row) => {
    const box = (/** @type {string} */ name) => /** @type {HTMLInputElement} */ (row.querySelector(`[name=${name}]`));
    return {from: box('from'), to: box('to'), m: box('m')};
  });
  if (rows().every((r) => r.m.value === '')) {
    let back = 0;
    for (const [from, to, m] of read()) {
      const all = rows();
      const own = all.find((r) => r.from.value === from && r.to.value === to && r.m.value === '') ??
        all.find((r) => r.from.type !== 'hidden' && r.from.value === '' && r.m.value === '');
      if (!own || typeof m !== 'string') continue;
      if (own.from.type !== 'hidden') [own.from.value, own.to.value] = [String(from), String(to)];
      own.m.value = m;
      back++;
    }
    if (back && said) said.textContent = `${back} typed earlier in this browser ${back === 1 ? 'is' : 'are'} back.`;
  } else write();
  form.addEventListener('input', write);

  const result = document.getElementById('result');
  result?.scrollIntoView({block: 'start'});
  result?.focus({preventScroll: true});

  function read() {
    try {
      const kept = JSON.parse(localStorage.getItem(key) ?? '[]');
      return Array.isArray(kept) ? kept.filter(Array.isArray) : [];
    } catch {
      return [];
    }
  }
  function write() {
    try {
      const full = rows().filter((r) => r.m.value !== '').map((r) => [r.from.value, r.to.value, r.m.value]);
      localStorage.setItem(key, JSON.stringify(full));
    } catch {
      // A browser that keeps nothing: the form itself still holds it.
    }
  }
}
