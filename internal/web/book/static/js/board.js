// The board follows by itself: it asks every three seconds whether something has
// changed, and says quietly when the laptop is not reached.

const board = /** @type {HTMLElement} */ (document.getElementById('board'));
const says = /** @type {HTMLElement} */ (document.getElementById('follows'));
const turn = Number(new URLSearchParams(location.search).get('turn')) || 0;
const every = 3000;
let tag = '', seen = Date.now(), at = 0;

/** @param {number} ms */
const clock = (ms) => new Date(ms).toTimeString().slice(0, 5);

async function look() {
  try {
    const r = await fetch(location.href, {cache: 'no-store', headers: tag ? {'If-None-Match': tag} : {}, signal: AbortSignal.timeout(10000)});
    if (r.status === 200) {
      const fresh = new DOMParser().parseFromString(await r.text(), 'text/html').getElementById('board');
      if (fresh && fresh.innerHTML !== board.innerHTML) board.replaceChildren(...fresh.childNodes);
      tag = r.headers.get('ETag') ?? '';
      show();
    } else if (r.status !== 304) {
      throw new Error(String(r.status));
    }
    seen = Date.now();
    says.textContent = `Follows by itself. As of ${clock(seen)}.`;
    says.classList.remove('lost');
  } catch {
    says.textContent = `Not reached since ${clock(seen)}: what stands here may be old.`;
    says.classList.add('lost');
  }
  setTimeout(look, every);
}

/** One class after the other, for a screen that nobody scrolls. */
function show() {
  const all = /** @type {HTMLElement[]} */ ([...board.querySelectorAll('.board-class')]);
  all.forEach((c, i) => { c.hidden = turn > 0 && i !== at % all.length; });
}

if (turn > 0) setInterval(() => { at++; show(); }, Math.max(3, turn) * 1000);
show();
look();
