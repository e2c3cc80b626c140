// The scorer's desk by keyboard alone: Enter moves on from box to box and keeps
// the sheet at the last one; a number, or a beginning of a name, finds its entry.
// Without this script the same form works, a little slower.

const form = /** @type {HTMLFormElement | null} */ (document.getElementById('sheet'));
if (form) begin(form);

/** @param {HTMLFormElement} form */
function begin(form) {
  const number = /** @type {HTMLInputElement} */ (document.getElementById('number'));
  const who = /** @type {HTMLElement} */ (document.getElementById('who'));
  const rows = /** @type {HTMLElement[]} */ ([...document.querySelectorAll('#entries tr')]);
  const laid = form.elements.namedItem('replaces') !== null;
  const first = number.value;
  let sent = false;

  number.removeAttribute('list'); // the list at the side says more
  const focus = form.elements.namedItem(form.dataset.focus ?? 'number');
  if (focus instanceof HTMLElement) {
    focus.focus();
    if (focus instanceof HTMLInputElement) focus.select();
  }

  number.addEventListener('input', () => show());
  form.addEventListener('input', (e) => {
    const box = /** @type {HTMLInputElement} */ (e.target);
    // A number pad in many countries has a comma for the point.
    if (box.inputMode === 'decimal' && box.value.includes(',')) box.value = box.value.replaceAll(',', '.');
  });
  form.addEventListener('focusin', (e) => { if (e.target instanceof HTMLInputElement && e.target !== number) e.target.select(); });
  form.addEventListener('keydown', (e) => {
    if (e.key !== 'Enter' || e.isComposing || !(e.target instanceof HTMLElement) || !e.target.classList.contains('go-on')) return;
    e.preventDefault();
    if (e.target === number && !found()) return;
    const boxes = visible(), i = boxes.indexOf(/** @type {HTMLInputElement} */ (e.target));
    const next = boxes[e.shiftKey ? i - 1 : i + 1];
    // Initials that stand there need no visit.
    if (next && !(next.name === 'by' && next.value && !e.shiftKey)) next.focus();
    else if (!e.shiftKey) form.requestSubmit();
  });
  // Some on-screen keyboards send the press of Enter by itself, to the box that has
  // the focus by then: it must not send the form.
  form.addEventListener('keypress', (e) => {
    if (e.key === 'Enter' && e.target instanceof HTMLElement && e.target.classList.contains('go-on')) e.preventDefault();
  });
  form.addEventListener('submit', (e) => {
    if (sent) e.preventDefault(); // one press of Enter too many
    sent = true;
  });
  addEventListener('pageshow', () => { sent = false; });
  form.dataset.ready = 'yes';

  function visible() {
    return /** @type {HTMLInputElement[]} */ ([...form.querySelectorAll('.go-on')]).filter((b) => b.checkVisibility());
  }
  /** The entries that fit what is typed: a whole number alone, else beginnings. */
  function fit() {
    const typed = number.value.trim().toLowerCase();
    if (!typed) return [];
    const exact = rows.filter((r) => r.dataset.number === typed);
    if (exact.length) return exact;
    return rows.filter((r) => r.dataset.number?.startsWith(typed) || (r.dataset.driver ?? '').toLowerCase().split(/\s+/).some((w) => w.startsWith(typed)));
  }
  function show() {
    const all = fit(), typed = number.value.trim();
    for (const r of rows) {
      r.classList.toggle('here', all.length === 1 && r === all[0]);
      r.hidden = typed !== '' && all.length > 0 && !all.includes(r);
    }
    who.textContent = '';
    if (all.length === 1) {
      const b = document.createElement('b');
      b.textContent = `${all[0].dataset.number} ${all[0].dataset.driver}`;
      who.append(b, document.createElement('br'), all[0].dataset.kind ?? '');
      if (all[0].dataset.in) who.append(document.createElement('br'), 'in already: Enter lays it here');
    } else if (typed) {
      who.textContent = all.length ? `${all.length} begin so` : 'no such entry in this pile';
    }
  }
  /** Takes the one that fits; a sheet that is in is fetched from the laptop. */
  function found() {
    const all = fit();
    if (all.length !== 1) {
      show();
      return false;
    }
    number.value = all[0].dataset.number ?? '';
    show();
    for (const r of rows) r.hidden = false;
    if (all[0].dataset.in && !(laid && number.value === first)) {
      for (const b of visible()) if (b !== number && b.name !== 'by') b.value = '';
      form.requestSubmit();
      return false;
    }
    return true;
  }
}
