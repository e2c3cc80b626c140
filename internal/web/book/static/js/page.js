// What the page round the drawing does by itself: another hazard is another
// page, and a version that was kept is named at once.

const form = document.querySelector('form.bar');
for (const id of ['pick-hazard', 'pick-for']) {
  document.getElementById(id)?.addEventListener('change', () => /** @type {HTMLFormElement} */ (form).requestSubmit());
}

document.addEventListener('plan-kept', (e) => {
  const {version, letter} = /** @type {CustomEvent} */ (e).detail, root = document.getElementById('drawing');
  const name = document.getElementById('version-letter'), list = document.getElementById('versions');
  if (name) name.textContent = letter;
  if (!list || !root) return;
  list.querySelector('[aria-current]')?.removeAttribute('aria-current');
  const a = document.createElement('a'), li = document.createElement('li');
  a.href = `/ground/${encodeURIComponent(root.dataset.plan ?? '')}?version=${version}`;
  a.textContent = letter;
  a.setAttribute('aria-current', 'true');
  li.append(a, ` kept ${new Date().toTimeString().slice(0, 5)}`);
  list.prepend(li);
});
