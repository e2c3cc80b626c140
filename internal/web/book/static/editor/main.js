// The plan editor: takes over the ground page that the server drew. This
// module holds the one state of the page (the desk) and wires the others to
// it; what they know is in them.
//
// The state flows one way: an event becomes a command, the command a new
// document, the document a drawing and a question to the planner, and the
// answer a line on the drawing.

import {html, render, nothing} from '../vendor/lit-html/lit-html.js';
import {done} from './history.js';
import {apply} from './commands.js';
import {boxOf, exists, isFor, nameOf, pairOf, placeOf, thingOf, gateRef, thingRef, markerRef} from './model.js';
import {dist, scale, sub, unit, nearestOn, mmPt} from './plane.js';
import {fitted, panned, toGround, zoomed} from './port.js';
import {hit, FINGER, MOUSE} from './hit.js';
import {snap, targets} from './snap.js';
import {createView} from './view.js';
import {createTable} from './table.js';
import {createWays} from './ways.js';
import {createStrip} from './strip.js';
import {createPlay} from './play.js';
import {createKeepout} from './keepout.js';
import {HELP, listenKeys} from './keys.js';
import {listen} from './pointer.js';
import {call, newestWins, Refused, settled} from './ask.js';
import {createKeeping, openDraft} from './keeping.js';
import {selectTool} from './tools/select.js';
import {panTool} from './tools/pan.js';
import {placeTool} from './tools/place.js';
import {railTool} from './tools/rail.js';
import {gateTool} from './tools/gate.js';
import {turnTool} from './tools/turn.js';
import {eraseTool} from './tools/erase.js';
import {picker} from './picker.js';

/** @typedef {import('./plane.js').Pt} Pt */

/** A line is called stale when it is older than this, ms: less is not seen. */
const STALE_AFTER = 150;
/** The full question goes out this long after the last change, ms. */
const SETTLE = 150;

/** @param {string} id */
const json = (id) => { const el = document.getElementById(id); return el?.textContent ? JSON.parse(el.textContent) : null; };
/** @param {string} id */
const byId = (id) => document.getElementById(id);

/** @param {HTMLElement} root */
export function start(root) {
  const opts = json('page-opts') ?? {}, turnouts = json('turnouts-doc') ?? [];
  const api = opts.api ?? '/api';
  const loaded = json('plan-doc');
  const session = [...crypto.getRandomValues(new Uint8Array(9))].map((b) => b.toString(36)).join('');

  root.classList.add('ed');
  render(nothing, root);
  root.replaceChildren();
  const part = (/** @type {string} */ tag, /** @type {string} */ cls, /** @type {Element} */ into) => { const el = document.createElement(tag); el.className = cls; into.append(el); return /** @type {HTMLElement} */ (el); };
  const toolRow = part('div', 'ed-tools', root), paper = part('div', 'ed-paper', root);
  const words = part('p', 'ed-words', root);
  words.setAttribute('role', 'status');
  words.setAttribute('aria-live', 'polite');
  const playHost = part('div', 'ed-play', root), stripHost = part('div', 'ed-strip', root);
  const how = part('p', 'unseen', root);
  how.id = 'ed-how';
  how.textContent = HELP;
  const waysHost = byId('ways') ?? part('div', 'ed-side', root);
  const thingsHost = byId('things') ?? part('div', 'ed-side', root);
  const checksHost = byId('checks') ?? part('div', 'ed-side', root);
  const keepHost = document.createElement('div');
  keepHost.className = 'ed-keepout';
  waysHost.after(keepHost);

  const h0 = Math.max(0, (loaded.hazards ?? []).findIndex((/** @type {any} */ z) => z.name === opts.hazard));
  const draft = openDraft(root, loaded);

  /** @type {any} */
  const s = {
    history: draft.history, preview: /** @type {any} */ (null), h: h0, seq: 1,
    turnout: turnouts.find((/** @type {any} */ t) => t.id === opts.turnout) ?? turnouts[0] ?? null,
    pace: opts.pace ?? '', through: opts.through ?? '', cls: opts.for ?? '',
    port: {cx: 0, cy: 0, k: 10, w: 0, h: 0}, chosen: [], tool: 'select', guides: [], cross: null, draft: null,
    answer: null, answerSeq: 0, shown: null, shownSeq: 0, freshAt: 0, stale: false, trouble: '',
    doubts: null, compareWay: null, takenWay: null, compared: null, dragging: false,
    play: {on: false, t: 0}, keepout: {on: false, pieces: null, words: '', doc: null},
    faults: [], warnings: [], says: '', waiting: false, handled: false, lost: false,
  };
  const doc = () => (s.preview ? apply(s.history.now, s.preview) : s.history.now);
  let shownDoc = s.history.now;

  // ---- drawing, at most once a frame --------------------------------------
  const view = createView(paper, loaded.name ?? 'the ground');
  let asked = false;
  const redraw = () => { if (!asked) { asked = true; requestAnimationFrame(frame); } };
  /** @type {any[]} */
  let docMemo = [];
  function frame() {
    asked = false;
    const started = performance.now();
    if (docMemo[0] !== s.history.now || docMemo[1] !== s.preview) { docMemo = [s.history.now, s.preview]; shownDoc = doc(); }
    s.stale = Boolean(s.shown) && s.shownSeq < s.seq && performance.now() - s.freshAt > STALE_AFTER;
    s.compared = s.compareWay && s.answer && !s.stale ? s.answer.routes.find((/** @type {any} */ r) => r.way === s.compareWay && r.way !== s.shown?.way) ?? null : null;
    if (s.port.w > 0) view.draw(s, shownDoc);
    drawStrip(s);
    drawPlay(s);
    if (!s.dragging) { drawTable(s); drawWays(s); drawKeep(s); drawTools(); drawChecks(); }
    drawWords();
    if (s.shown && s.shownSeq < s.seq && !s.stale) setTimeout(redraw, STALE_AFTER);
    frames.push(performance.now() - started);
    if (frames.length > 600) frames.shift();
  }
  /** Script time of the last frames, ms, for measuring. @type {number[]} */
  const frames = [];

  let said = '';
  function drawWords() {
    words.classList.toggle('unseen', s.play.t > 0 && !s.stale && !s.waiting);
    const now = s.waiting ? `Working out the ways of ${s.turnout?.name ?? 'the turnout'}…` : s.says;
    if (now === said) return;
    said = words.textContent = now;
    if (!s.waiting) return;
    const b = document.createElement('button');
    b.type = 'button';
    b.textContent = 'Stop';
    b.onclick = () => { solving.stop(); s.waiting = false; say('Stopped. The line is the last one worked out.'); };
    words.append(' ', b);
  }

  const say = (/** @type {string} */ w) => { s.says = w; redraw(); };

  // ---- the planner ---------------------------------------------------------
  const question = () => ({for: s.cls, plan: docNow(), hazard: docNow().hazards?.[s.h]?.name ?? '', turnout: s.turnout?.id ?? '', pace: s.pace, through: s.through});
  function docNow() { if (docMemo[0] !== s.history.now || docMemo[1] !== s.preview) { docMemo = [s.history.now, s.preview]; shownDoc = doc(); } return shownDoc; }

  const solving = newestWins((job, signal) => call('POST', `${api}/solve`, job, signal), {
    cut: true,
    waiting(on) { s.waiting = on; redraw(); },
    took(a, job) {
      s.lost = false;
      if (job.seq !== s.seq) return;
      s.answer = a;
      s.answerSeq = job.seq;
      s.doubts = null;
      s.trouble = '';
      s.faults = [];
      show(a.routes.find((/** @type {any} */ r) => r.way === s.takenWay) ?? a.routes[0] ?? null, job.seq);
      if (s.takenWay && s.shown?.way !== s.takenWay) s.takenWay = null;
      const best = a.routes[0];
      say(a.none_because ? a.none_because.text : best ? `Best ${best.time_s.toFixed(1)} s, ${best.length_m.toFixed(0)} m, ${Math.round(best.clearance_m * 100)} cm at the tightest. ${a.routes.length} ${a.routes.length === 1 ? 'way' : 'ways'}.` : 'No way through.');
      redraw();
    },
    failed(why, job) {
      if (job.seq !== s.seq) return;
      if (why instanceof Refused && why.body?.faults) {
        s.faults = why.body.faults;
        s.trouble = `${s.faults[0]?.place ?? ''}${s.faults[0]?.place ? ': ' : ''}${s.faults[0]?.message ?? 'the plan cannot be driven as it is'}.`;
        say('The plan cannot be worked out as it stands; see the checks. The last good line stays.');
      } else if (why instanceof Refused) {
        s.trouble = 'The planner could not answer; the last good line stays.';
      } else lost();
      redraw();
    },
  });
  const following = newestWins((job, signal) => call('POST', `${api}/follow`, job, signal), {
    took(a, job) {
      s.lost = false;
      if (job.seq < s.shownSeq) return;
      if (a.route && a.fresh !== false) show(a.route, job.seq);
      if (a.why && s.dragging) s.says = a.why;
      redraw();
    },
    failed(why) { if (!(why instanceof Refused)) lost(); },
  });
  const doubting = newestWins(({seq: _, ...job}, signal) => call('POST', `${api}/doubts`, job, signal), {
    took(a, job) { if (job.seq === s.seq) { s.doubts = a.doubts; redraw(); } },
    failed(_, job) { if (job.seq === s.seq) { s.doubts = null; redraw(); } },
  });
  const checking = newestWins((job, signal) => call('POST', `${api}/check`, job.body, signal), {
    took(a, job) { if (job.doc === s.history.now) { s.faults = a.faults ?? []; s.warnings = a.warnings ?? []; redraw(); } },
    failed(why, job) { if (why instanceof Refused && why.body?.faults && job.doc === s.history.now) { s.faults = why.body.faults; redraw(); } },
  });
  const settle = settled(SETTLE, () => {
    if (!s.turnout || !s.history.now.hazards?.[s.h]) return;
    solving.ask({...question(), most: 10, seq: s.seq});
    if (!s.preview) checking.ask({body: {plan: s.history.now}, doc: s.history.now});
  });
  function lost() {
    s.lost = true;
    setTimeout(() => { if (s.lost) settle.soon(); }, 5000);
    redraw();
  }
  /** @param {any} route @param {number} seq */
  function show(route, seq) {
    if (route === null && s.dragging) return;
    s.shown = route;
    s.shownSeq = seq;
    s.freshAt = performance.now();
    if (route && s.play.t > route.time_s) s.play = {on: false, t: 0};
  }
  /** The document or the question changed: the old answers are for something else. @param {boolean} moving */
  function changed(moving) {
    if (s.shownSeq === s.seq) s.freshAt = performance.now();
    s.seq++;
    s.play = {on: false, t: 0};
    if (moving && s.turnout && docNow().hazards?.[s.h]) following.ask({session, seq: s.seq, ...question(), way: s.takenWay ?? s.shown?.way ?? s.answer?.routes?.[0]?.way ?? ''});
    settle.soon();
    redraw();
  }

  // ---- acts ----------------------------------------------------------------
  /** @param {import('./commands.js').Command} c */
  function commit(c) {
    const was = s.preview;
    s.preview = null;
    s.guides = [];
    s.draft = null;
    s.dragging = false;
    const next = done(s.history, c);
    if (next === s.history) { if (was) changed(false); redraw(); return; }
    setHistory(next);
    if (c.do === 'hazard') { s.h = s.history.now.hazards.length - 1; }
    say(next.past.at(-1)?.words ?? '');
  }
  /** @param {import('./history.js').History} next */
  function setHistory(next) {
    s.history = next;
    s.chosen = s.chosen.filter((/** @type {string} */ r) => exists(next.now, s.h, r));
    keeping.put();
    const letters = throughs();
    // With no letter left to drive through, or with the first one given, it is the last.
    if (!letters.some((/** @type {any} */ l) => l.value === s.through)) s.through = letters.at(-1)?.value ?? '';
    pickThrough.fill(letters, s.through);
    changed(true);
  }
  const choose = (/** @type {string[]} */ refs) => { if (refs.join() !== s.chosen.join()) { s.chosen = refs; redraw(); } };
  const fit = (/** @type {boolean} */ all = true) => {
    // First the whole ground; the hazard alone where that is much larger to see.
    const whole = fitted(boxOf(s.history.now), s.port.w, s.port.h, 46), near = fitted(boxOf(s.history.now, s.h), s.port.w, s.port.h, 64);
    s.port = !all && near.k > 1.35 * whole.k && whole.k < 14 ? near : whole;
    if (all) s.handled = true;
    redraw();
  };
  const keeping = createKeeping(root, s, draft, {api, redraw, say, turn: setHistory}), {undo, redo, keep} = keeping;

  /** @type {import('./tools/hand.js').Hand} */
  const hand = {
    doc: () => s.history.now, h: () => s.h, chosen: () => s.chosen, choose,
    attempt(c, guides = [], w = '') {
      s.preview = c;
      s.guides = guides;
      s.dragging = c !== null;
      if (w) s.says = w;
      changed(true);
    },
    commit,
    draft(pts) { s.draft = pts; redraw(); },
    pan(dx, dy) { s.handled = true; s.port = panned(s.port, dx, dy); redraw(); },
    snap(p, without, how = {}) {
      if (p.alt) return {at: mmPt([Math.round(p.at[0] * 100) / 100, Math.round(p.at[1] * 100) / 100]), guides: [], words: ''};
      return snap(p.at, targets(s.history.now, s.h, without), (p.finger ? 14 : 9) / s.port.k, {step: s.port.k > 60 ? 0.05 : 0.1, ...how});
    },
    say(w) { s.says = w; redraw(); },
  };
  const tools = [selectTool(), panTool(), placeTool('post', 'p'), placeTool('tree', 't'), railTool(), gateTool(), turnTool(), eraseTool()];
  const tool = () => tools.find((t) => t.name === s.tool) ?? tools[0];
  const setTool = (/** @type {string} */ name) => { tool().cancel(hand); s.tool = name; say(tool().how); };

  listen(view.root, (() => {
    /** @param {Pt} px @param {PointerEvent} e @param {boolean} look */
    const press = (px, e, look) => {
      const finger = e.pointerType === 'touch';
      return {at: toGround(s.port, px), px, shift: e.shiftKey, alt: e.altKey, finger,
        hit: look ? hit(s.history.now, view.signsFor(s, s.history.now), s.port, px, finger ? FINGER : MOUSE, s.chosen) : null};
    };
    return {
      press(px, e) { view.root.focus({preventScroll: true}); tool().down(hand, press(px, e, true)); },
      move(px, e) { tool().move(hand, press(px, e, false)); },
      lift(px, e) { tool().up(hand, press(px, e, false)); s.dragging = false; redraw(); },
      cancel() { tool().cancel(hand); s.dragging = false; s.preview = null; redraw(); },
      hover() {},
      pan(dx, dy) { hand.pan(dx, dy); },
      zoom(by, at) { s.handled = true; s.port = zoomed(s.port, by, at); redraw(); },
    };
  })());
  view.root.addEventListener('focusin', (e) => {
    const ref = /** @type {Element} */ (e.target).closest?.('[data-ref]')?.getAttribute('data-ref');
    if (ref && !s.chosen.includes(ref) && /** @type {Element} */ (e.target).matches(':focus-visible')) choose([ref]);
  });

  const desk = {
    get: () => s, commit, choose, undo, redo, keep, say, fit,
    cross(/** @type {Pt} */ p) { s.cross = p; redraw(); },
    draft(/** @type {Pt[] | null} */ p) { s.draft = p; redraw(); },
    zoom(/** @type {number} */ by) { s.handled = true; s.port = zoomed(s.port, by, [s.port.w / 2, s.port.h / 2]); redraw(); },
    cancel() { tool().cancel(hand); },
    tool(/** @type {string} */ key) { const t = tools.find((x) => x.key === key); if (t) setTool(t.name); },
    numbers(/** @type {string} */ ref) {
      const box = /** @type {HTMLDetailsElement | null} */ (thingsHost.closest('details'));
      if (box) box.open = true;
      /** @type {HTMLElement | null} */ (thingsHost.querySelector(`[data-row="${CSS.escape(ref)}"] input`))?.focus();
    },
  };
  listenKeys(view.root, root, desk);

  // ---- panels --------------------------------------------------------------
  const drawTable = createTable(thingsHost, {commit, choose, back(ref) {
    /** @type {SVGElement | null} */ (view.root.querySelector(`[data-ref="${CSS.escape(ref)}"]`))?.focus();
  }});
  const drawWays = createWays(waysHost, {
    compare(way) { s.compareWay = way; redraw(); },
    take(way) {
      const r = s.answer?.routes.find((/** @type {any} */ x) => x.way === way);
      if (!r) return;
      s.takenWay = way;
      s.compareWay = null;
      show(r, s.answerSeq);
      s.play = {on: false, t: 0};
      say(r.says);
    },
    cure: (r) => cureFor(r),
    stop: () => solving.stop(),
    doubts() { s.doubts = 'asked'; doubting.ask({...question(), seq: s.seq}); redraw(); },
  });
  const drawStrip = createStrip(stripHost);
  const drawPlay = createPlay(playHost, byId('drive'), {get: () => s, play(p) { s.play = p; redraw(); }, say});
  const drawKeep = createKeepout(keepHost, {get: () => s, api, say, more: () => ({through: s.through, for: s.cls}), set(k) { s.keepout = {...s.keepout, ...k}; redraw(); }});

  /** A move that would make the room that is wanting: the first thing that is one point, away from the other. @param {any} r none_because */
  function cureFor(r) {
    const d = s.history.now, lack = r.needs - r.has;
    if (!(lack > 0) || !Array.isArray(r.between) || r.between.length < 2) return null;
    const refs = r.between.map((/** @type {string} */ id) => {
      const m = /^(in|out|[A-Z])\.(right|left)$/.exec(id);
      return m ? markerRef(m[1], /** @type {'right'|'left'} */ (m[2])) : thingRef(id);
    });
    const i = refs.findIndex((/** @type {string} */ ref) => ref.startsWith('thing/') && thingOf(d, decodeURIComponent(ref.slice(6)))?.at);
    if (i < 0) return null;
    const at = placeOf(d, s.h, refs[i]), other = refs[1 - i] ?? refs[0];
    const pts = other.startsWith('thing/') ? thingOf(d, decodeURIComponent(other.slice(6)))?.path : null;
    const from = at && pts ? pts.slice(1).map((b, j) => nearestOn(at, pts[j], b)).reduce((a, b) => (dist(b, at) < dist(a, at) ? b : a)) : placeOf(d, s.h, other);
    if (!at || !from || dist(at, from) === 0) return null;
    const by = mmPt(scale(unit(sub(at, from)), Math.ceil(lack * 10) / 10));
    return {words: `Move ${nameOf(d, refs[i])} by ${(Math.ceil(lack * 10) / 10).toFixed(1)} m`, do: () => commit({do: 'move', h: s.h, refs: [refs[i]], by})};
  }

  /** @type {any[]} */
  let toolMemo = [];
  function drawTools() {
    const now = [s.tool, s.history, s.saved, s.savedWords, s.conflict, s.lost, s.chosen];
    if (now.every((v, i) => v === toolMemo[i])) return;
    toolMemo = now;
    render(html`
      <div class="tool-set draws" role="group" aria-label="Tools">${tools.map((t) => html`<button type="button" class="tool" aria-pressed=${s.tool === t.name} title=${`${t.how} (${t.key.toUpperCase()})`} @click=${() => setTool(t.name)}>${t.label}</button>`)}</div>
      <div class="tool-set" role="group" aria-label="Window"><button type="button" class="tool" aria-label="Nearer" @click=${() => desk.zoom(1.3)}>+</button><button type="button" class="tool" aria-label="Farther" @click=${() => desk.zoom(1 / 1.3)}>−</button><button type="button" class="tool" @click=${() => fit()}>All</button></div>
      ${keeping.row()}`, toolRow);
  }

  /** @type {any[]} */
  let checkMemo = [];
  function drawChecks() {
    const now = [s.faults, s.warnings];
    if (now.every((v, i) => v === checkMemo[i])) return;
    const first = checkMemo.length === 0;
    checkMemo = now;
    if (first && !s.faults.length && !s.warnings.length) return;
    if (!checksHost.classList.contains('ed-checks')) { checksHost.replaceChildren(); checksHost.classList.add('ed-checks'); }
    const line = (/** @type {any} */ f, /** @type {string} */ word) => {
      const ref = refAt(f.place ?? '');
      return html`<li><b>${word}:</b> ${ref ? html`<button type="button" class="link" @click=${() => { choose([ref]); desk.numbers(ref); }}>${nameOf(s.history.now, ref)}</button>` : f.place ?? ''}${f.place ? ': ' : ''}${f.message}${f.hint ? html`; ${f.hint}` : ''}</li>`;
    };
    render(html`${s.faults.length + s.warnings.length ? html`<ul class="check-list">${s.faults.map((/** @type {any} */ f) => line(f, 'Attend'))}${s.warnings.map((/** @type {any} */ f) => line(f, 'Look'))}</ul>` : html`<p class="quiet">The plan reads well: every gate has its two markers and nothing stands in one.</p>`}`, checksHost);
  }
  /** The ref of a fault's place, when it names something that is drawn. @param {string} place */
  function refAt(place) {
    const d = s.history.now;
    let m = /hazards\[(\d+)\]\.(in|out)\b/.exec(place);
    if (m) return gateRef(m[2]);
    m = /hazards\[(\d+)\]\.gates\[(\d+)\]/.exec(place);
    if (m) { const g = d.hazards?.[+m[1]]?.gates?.[+m[2]]; return g ? gateRef(g.letter) : null; }
    m = /things\[(\d+)\]/.exec(place);
    if (m) { const t = d.things?.[+m[1]]; return t ? thingRef(t.id) : null; }
    m = /^gate ([A-Z])\b/.exec(place);
    if (m && pairOf(d, s.h, m[1])) return gateRef(m[1]);
    return thingOf(d, place) ? thingRef(place) : null;
  }

  // ---- the toolbar the server drew ------------------------------------------
  const throughs = () => (s.history.now.hazards?.[s.h]?.gates ?? []).filter((/** @type {any} */ g) => !g.for?.length || g.for.includes(opts.for)).map((/** @type {any} */ g) => ({value: g.letter, label: g.letter === 'A' ? 'A' : `A–${g.letter}`}));
  const paces = () => [{value: '', label: 'its own'}, ...Object.entries(s.turnout?.paces ?? {}).sort((a, b) => Number(a[1]) - Number(b[1])).map(([k]) => ({value: k, label: k.replace(' trot', '')}))];
  picker(byId('pick-turnout'), turnouts.map((/** @type {any} */ t) => ({value: t.id, label: t.name})), s.turnout?.id ?? '', (v) => {
    s.turnout = turnouts.find((/** @type {any} */ t) => String(t.id) === v) ?? s.turnout;
    if (s.pace && !(s.pace in (s.turnout?.paces ?? {}))) s.pace = '';
    pickPace.fill(paces(), s.pace);
    s.takenWay = null;
    changed(false);
  });
  const pickPace = picker(byId('pick-pace'), paces(), s.pace, (v) => { s.pace = v; changed(false); });
  if (!s.through) s.through = throughs().at(-1)?.value ?? '';
  const pickThrough = picker(byId('pick-through'), throughs(), s.through, (v) => { s.through = v; s.takenWay = null; changed(false); });
  if (draft.since) say(`Your unkept changes of ${draft.since} are back. Undo shows the kept plan.`);

  new ResizeObserver(() => {
    const w = paper.clientWidth, hgt = paper.clientHeight;
    if (w === 0 || (w === s.port.w && hgt === s.port.h)) return;
    const first = s.port.w === 0;
    s.port = {...s.port, w, h: hgt};
    // Until a hand has moved the paper it is fitted anew when the window changes.
    if (first && window.innerWidth <= 760) s.tool = 'pan'; // a phone is for looking
    if (first || !s.handled) fit(false); else redraw();
  }).observe(paper);
  window.addEventListener('online', () => settle.soon());
  settle.soon();
  checking.ask({body: {plan: s.history.now}, doc: s.history.now});
  redraw();
  // For measuring and for tests only: what the desk holds and how long frames took.
  Object.assign(window, {terretDesk: {state: s, frames, commit, doc: docNow}});
}

const root = byId('drawing');
if (root) start(root);
