// Ticks of a setting-out list. They are kept in this browser only, under the
// plan's version and layout, and name nobody.

const list = document.getElementById('stakes');
const next = document.getElementById('next-up');
if (list && next) begin(list, next);

/** @param {HTMLElement} list @param {HTMLElement} next */
function begin(list, next) {
  const key = list.dataset.key ?? '';
  const boxes = /** @type {HTMLInputElement[]} */ ([...list.querySelectorAll('[data-tick]')]);
  const text = /** @type {HTMLElement} */ (next.querySelector('.next-text'));
  const set = /** @type {HTMLButtonElement} */ (document.getElementById('set'));
  const unset = /** @type {HTMLButtonElement} */ (document.getElementById('unset'));
  const said = document.getElementById('ticked');
  /** @type {HTMLInputElement[]} what was changed, for taking it back */
  const done = [];
  let keeps = true;

  for (const id of read()) {
    const box = boxes.find((b) => b.dataset.tick === id);
    if (box) box.checked = true;
  }
  for (const b of boxes) b.addEventListener('change', () => { done.push(b); write(); show(); });
  set.addEventListener('click', () => {
    const b = boxes.find((b) => !b.checked);
    if (!b) return;
    b.checked = true;
    done.push(b);
    write();
    show();
    boxes.find((b) => !b.checked)?.closest('.stake')?.scrollIntoView({block: 'center'});
  });
  unset.addEventListener('click', () => {
    const b = done.pop();
    if (!b) return;
    b.checked = !b.checked;
    write();
    show();
  });
  show();

  function show() {
    const due = boxes.find((b) => !b.checked);
    for (const b of boxes) {
      const card = b.closest('.stake');
      for (const e of [card, document.querySelector(`[data-point="${CSS.escape(b.dataset.tick ?? '')}"]`)]) {
        e?.classList.toggle('done', b.checked);
        e?.classList.toggle('due', b === due);
      }
    }
    const n = boxes.filter((b) => b.checked).length;
    if (said) said.textContent = `${n} of ${boxes.length} set.` + (keeps ? '' : ' This browser keeps nothing: the ticks go when the page is closed.');
    next.hidden = boxes.length === 0;
    set.disabled = !due;
    unset.disabled = done.length === 0;
    if (!due) {
      text.textContent = 'All are set. Walk it once more and tape the checks.';
      return;
    }
    const card = /** @type {HTMLElement} */ (due.closest('.stake'));
    const tapes = [...card.querySelectorAll('.tape')].map((e) => (e.textContent ?? '').trim()).join('  ');
    text.textContent = `${card.dataset.order} · ${card.dataset.id}  ${tapes || 'a peg stands here'}`;
  }

  function read() {
    try {
      const ids = JSON.parse(localStorage.getItem(key) ?? '[]');
      return Array.isArray(ids) ? ids : [];
    } catch {
      return [];
    }
  }
  function write() {
    try {
      localStorage.setItem(key, JSON.stringify(boxes.filter((b) => b.checked).map((b) => b.dataset.tick)));
    } catch {
      keeps = false;
    }
  }
}
