// A table that is typed into: Enter goes to the next box, more rows come at the
// end, and what is typed stays in this browser until it is read or kept.

const form = /** @type {HTMLFormElement | null} */ (document.getElementById('rows'));
if (form) begin(form);

/** @param {HTMLFormElement} form */
function begin(form) {
  const list = /** @type {HTMLElement} */ (document.getElementById('row-list'));
  const rows = () => /** @type {HTMLTableRowElement[]} */ ([...list.querySelectorAll('.typed-row')]);
  const boxes = (/** @type {ParentNode} */ p) => /** @type {HTMLInputElement[]} */ ([...p.querySelectorAll('.typed-row input')]);
  const key = form.dataset.draft ?? '', said = document.getElementById('draft');

  form.addEventListener('keydown', (e) => {
    const at = /** @type {HTMLInputElement} */ (e.target);
    if (e.key !== 'Enter' || !at.closest('.typed-row') || e.isComposing) return;
    e.preventDefault();
    // Down the same column: that is how a tape is read out.
    const all = boxes(list).filter((b) => b.name === at.name), i = all.indexOf(at);
    let next = all[i + (e.shiftKey ? -1 : 1)];
    if (!next && !e.shiftKey) {
      more();
      next = boxes(list).filter((b) => b.name === at.name)[i + 1];
    }
    next?.focus();
    next?.select();
  });
  form.addEventListener('keypress', (e) => {
    if (e.key === 'Enter' && /** @type {HTMLElement} */ (e.target).closest('.typed-row')) e.preventDefault();
  });
  document.getElementById('more-rows')?.addEventListener('click', () => {
    const n = rows().length;
    more();
    rows()[n]?.querySelector('input')?.focus();
  });

  /** Four rows more, each with the foot of the row four before it. */
  function more() {
    for (let k = 0; k < 4; k++) {
      const all = rows(), n = all.length + 1;
      const row = /** @type {HTMLElement} */ (all[Math.max(0, all.length - 4)].cloneNode(true));
      const old = /** @type {HTMLSelectElement | null} */ (all[Math.max(0, all.length - 4)].querySelector('select'));
      row.classList.remove('bad');
      for (const w of row.querySelectorAll('.wrong')) w.remove();
      for (const b of row.querySelectorAll('input, select')) {
        b.setAttribute('aria-label', (b.getAttribute('aria-label') ?? '').replace(/\d+/, String(n)));
        b.removeAttribute('aria-invalid');
        b.removeAttribute('aria-describedby');
        if (b instanceof HTMLInputElement) b.value = '';
        else if (old) /** @type {HTMLSelectElement} */ (b).value = old.value;
      }
      list.append(row);
    }
  }

  if (boxes(list).every((b) => b.value === '')) {
    let back = 0;
    for (const kept of read()) {
      while (rows().length <= back) more();
      const row = rows()[back];
      for (const b of /** @type {(HTMLInputElement | HTMLSelectElement)[]} */ ([...row.querySelectorAll('input, select')])) {
        if (typeof kept[b.name] === 'string') b.value = kept[b.name];
      }
      back++;
    }
    if (back && said) said.textContent = `${back} typed earlier in this browser ${back === 1 ? 'is' : 'are'} back.`;
  } else write();
  form.addEventListener('input', write);
  form.addEventListener('written', write);

  const wrong = document.getElementById('wrong') ?? document.getElementById('result');
  wrong?.scrollIntoView({block: 'start'});
  wrong?.focus({preventScroll: true});

  function read() {
    try {
      const kept = JSON.parse(localStorage.getItem(key) ?? '[]');
      return Array.isArray(kept) ? kept : [];
    } catch {
      return [];
    }
  }
  function write() {
    try {
      const full = rows().map((r) => Object.fromEntries(/** @type {HTMLInputElement[]} */ ([...r.querySelectorAll('input, select')]).map((b) => [b.name, b.value])));
      localStorage.setItem(key, JSON.stringify(full.filter((r) => Object.entries(r).some(([k, v]) => k !== 'foot' && v !== ''))));
    } catch {
      // A browser that keeps nothing: the form itself still holds it.
    }
  }
}
