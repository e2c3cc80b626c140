// The gate's page follows by itself: every ten seconds what is out, next and late
// is fetched anew, unless somebody is typing there.

const running = document.getElementById('running');
if (running) setInterval(async () => {
  if (document.hidden || running.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement) return;
  try {
    const r = await fetch(location.href, {cache: 'no-store', signal: AbortSignal.timeout(8000)});
    if (!r.ok) return;
    const page = new DOMParser().parseFromString(await r.text(), 'text/html'), fresh = page.getElementById('running');
    if (!fresh || running.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement) return;
    // What was typed before stays.
    const by = /** @type {HTMLInputElement | null} */ (running.querySelector('#by'))?.value;
    const at = document.activeElement?.closest('form')?.className;
    running.replaceChildren(...fresh.childNodes);
    const box = /** @type {HTMLInputElement | null} */ (running.querySelector('#by'));
    if (box && by) box.value = by;
    if (at) /** @type {HTMLElement | null} */ (running.querySelector(`form.${CSS.escape(at)} button`))?.focus();
    const says = document.querySelector('.says'), now = page.querySelector('.says');
    if (says && now) says.replaceChildren(...now.childNodes);
  } catch {
    // The laptop is not reached: what stands here stays, and the clock shows how old it is.
  }
}, 10000);
