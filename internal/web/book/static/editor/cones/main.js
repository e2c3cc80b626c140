// The editor of a cones course, on the same page and with the same drawing as
// that of a hazard (../main.js): one state, the desk, and modules that know the
// rest. An event becomes a command, the command a new document, the document a
// drawing and a question, and the answer a line with its figures.
//
// While a hand drags, a warm session on the server bends the line along
// (cones/follow). Once it rests the line is made as well as it can be
// (cones/drive), then every other turnout is driven for the table, and then, if
// a gate is touched, its cure is looked for: each later, and dropped when the
// drawing has moved on.

import {html, render, nothing} from '../../vendor/lit-html/lit-html.js';
import {done} from '../history.js';
import {apply} from '../commands.js';
import {boxOf, exists} from '../model.js';
import {fitted, panned, toGround, zoomed} from '../port.js';
import {FINGER, MOUSE, hit} from '../hit.js';
import {createView} from '../view.js';
import {createPlay} from '../play.js';
import {listen} from '../pointer.js';
import {call, newestWins, Refused, settled} from '../ask.js';
import {createKeeping, openDraft} from '../keeping.js';
import {picker} from '../picker.js';
import {mmPt} from '../plane.js';
import {boxOfCourse, coneName, courseOf, gateOf, lastNumber, placesOf, stands, NOMINAL_TRACK} from './model.js';
import {curing} from './commands.js';
import {createConesView, hitCones} from './view.js';
import {createConesTable} from './table.js';
import {createChecks, createChosen, createMultiple, createRoom, lookAt, seconds} from './panels.js';
import {chooseTool, coneTool, multipleTool, pairTool, paperTool, together, usualBearing} from './tools.js';
import {HELP, listenKeys} from './keys.js';

/** @typedef {import('../plane.js').Pt} Pt */

/** A line is called stale when it is older than this, ms: less is not seen. */
const STALE_AFTER = 150;
/** The full question goes out this long after the last change, ms. */
const SETTLE = 150;

const json = (/** @type {string} */ id) => { const el = document.getElementById(id); return el?.textContent ? JSON.parse(el.textContent) : null; };
const byId = (/** @type {string} */ id) => document.getElementById(id);
const random = () => [...crypto.getRandomValues(new Uint8Array(9))].map((b) => b.toString(36)).join('');

/** @param {HTMLElement} root */
export function start(root) {
  const opts = json('page-opts') ?? {}, turnouts = json('turnouts-doc') ?? [], loaded = json('plan-doc');
  const api = opts.api ?? '/api';
  let session = random();

  root.classList.add('ed');
  root.replaceChildren();
  const part = (/** @type {string} */ tag, /** @type {string} */ cls) => { const el = document.createElement(tag); el.className = cls; root.append(el); return el; };
  const toolRow = part('div', 'ed-tools'), paper = part('div', 'ed-paper'), figures = part('div', 'ed-figures'), words = part('p', 'ed-words'), playHost = part('div', 'ed-play');
  words.setAttribute('role', 'status');
  words.setAttribute('aria-live', 'polite');
  const how = part('p', 'unseen');
  how.id = 'ed-how';
  how.textContent = HELP;
  byId('figures')?.remove();

  const draft = openDraft(root, loaded);
  const courseIndex = (/** @type {any} */ d) => (d.courses ?? []).findIndex((/** @type {any} */ k) => k.name === opts.course);

  /** @type {any} */
  const s = {
    history: draft.history, preview: null, h: -1, c: courseIndex(draft.history.now), seq: 1, turnout: turnouts.find((/** @type {any} */ t) => t.id === opts.turnout) ?? turnouts[0] ?? null, pace: opts.pace ?? '', rules: opts.rules ?? '',
    port: {cx: 0, cy: 0, k: 10, w: 0, h: 0}, chosen: [], tool: 'choose', whole: true, guides: [], cross: null, draft: null, look: null,
    shown: null, shownSeq: 0, freshAt: 0, stale: false, compared: null, dragging: false, gates: [], figures: null,
    run: null, runSeq: 0, klass: null, klassSeq: 0, cures: null, curing: false, checks: null, checksSeq: 0, trouble: '',
    // size: the usual one for the turnout as last answered, or as typed.
    multiple: {kind: 'serpentine', hand: 'right', number: 0, size: null, typed: false, wrong: ''},
    play: {on: false, t: 0}, keepout: {on: false, pieces: null}, faults: [], warnings: [], says: '', waiting: false, handled: false,
    lost: false,
  };
  if (s.c < 0) s.c = (s.history.now.courses ?? []).length;
  const track = () => s.turnout?.vehicle?.track ?? NOMINAL_TRACK;
  /** @type {any[]} */
  let docMemo = [], placeMemo = [];
  const docNow = () => { if (docMemo[0] !== s.history.now || docMemo[1] !== s.preview) docMemo = [s.history.now, s.preview, s.preview ? apply(s.history.now, s.preview) : s.history.now]; return docMemo[2]; };
  /** Where the gates stand, the same array while the course is the same. @param {any} doc */
  const places = (doc) => { const k = courseOf(doc, s.c); if (placeMemo[0] !== k || placeMemo[1] !== track()) placeMemo = [k, track(), placesOf(doc, s.c, track())]; return placeMemo[2]; };

  // ---- drawing, at most once a frame ----------------------------------------
  const view = createView(paper, loaded.name ?? 'the ground'), cones = createConesView(view.root);
  let asked = false;
  const redraw = () => { if (!asked) { asked = true; requestAnimationFrame(frame); } };
  /** Script time of the last frames, ms, for measuring. @type {number[]} */
  const frames = [];
  function frame() {
    asked = false;
    const started = performance.now(), doc = docNow();
    s.stale = Boolean(s.shown) && s.shownSeq < s.seq && started - s.freshAt > STALE_AFTER;
    if (s.port.w > 0) {
      // A line bent along has no horses on it yet: no swept room is drawn of it.
      view.draw(s.shown?.bare ? {...s, dragging: true} : s, doc);
      cones.draw(s, places(doc));
    }
    drawFigures();
    drawPlay(s.shown?.bare ? {...s, shown: null} : s);
    if (!s.dragging) { drawTable(s); drawChosen(s); drawRoom(s); drawCourseChecks(s); drawMultiple(s); drawTools(); drawFaults(); }
    const now = s.waiting ? `Driving the course with ${s.turnout?.name ?? 'the turnout'}…` : s.says;
    if (words.textContent !== now) words.textContent = now;
    if (s.shown && s.shownSeq < s.seq && !s.stale) setTimeout(redraw, STALE_AFTER);
    frames.push(performance.now() - started);
    if (frames.length > 600) frames.shift();
  }
  const say = (/** @type {string} */ w) => { s.says = w; redraw(); };

  /** The figures that change while a hand drags: text only, no layout round them. */
  const cells = ['Length', 'Allowed', 'It drives', 'In', 'Verdict'].map((name) => {
    const cell = document.createElement('div'), dt = document.createElement('span'), dd = document.createElement('b');
    dt.textContent = name;
    cell.append(dt, dd);
    figures.append(cell);
    return dd;
  });
  figures.setAttribute('role', 'group');
  figures.setAttribute('aria-label', 'The course in figures');
  function drawFigures() {
    const f = s.figures, text = f ? [`${f.length.toFixed(1)} m`, `${seconds(f.allowed)} s`, `${f.driven.toFixed(1)} m`, `${f.time.toFixed(1)} s`, f.verdict] : ['–', '–', '–', '–', '–'];
    cells.forEach((el, i) => { if (el.textContent !== text[i]) el.textContent = text[i]; });
    figures.classList.toggle('stale', s.stale);
  }

  // ---- questions --------------------------------------------------------------
  const question = () => ({plan: docNow(), course: courseOf(docNow(), s.c)?.name ?? '', rules: s.rules, pace: s.pace});
  const drivable = () => s.turnout && (courseOf(docNow(), s.c)?.gates.length ?? 0) > 0;
  /** @param {any} job @param {AbortSignal} signal */
  const drive = (job, signal) => call('POST', `${api}/cones/drive`, job, signal);

  const driving = newestWins(drive, {
    cut: true,
    waiting(on) { s.waiting = on; redraw(); },
    took(a, job) {
      s.lost = false;
      if (job.seq !== s.seq) return;
      const t = a.turnouts[0];
      Object.assign(s, {run: t, runSeq: job.seq, checks: a.checks, checksSeq: job.seq, trouble: '', faults: [], cures: null, curing: false});
      shown({samples: t.samples, passes: t.gates.map((/** @type {any} */ g) => ({gate: g.gate, was: 'live', forward: true, s_m: g.s_m, t_s: g.t_s})), tight: [], rank: 1, way: '', says: '', time_s: t.driven_s, length_m: t.driven_m}, job.seq);
      s.gates = t.gates;
      s.figures = {length: a.course_length_m, allowed: t.time_allowed_s, driven: t.driven_m, time: t.driven_s, verdict: t.verdict};
      if (s.dragging) { redraw(); return; }
      session = random();
      const bad = t.gates.filter((/** @type {any} */ g) => g.verdict === 'touches');
      say(`${a.course_length_m.toFixed(0)} m, ${seconds(t.time_allowed_s)} s allowed. ${s.turnout.name}: ${bad.length ? `touches at ${bad.map((/** @type {any} */ g) => g.gate).join(', ')}` : t.verdict === 'touches' ? t.trouble[0] : t.verdict}.`);
      classing.ask({...question(), turnouts: turnouts.map((/** @type {any} */ x) => x.id), seq: s.seq});
      if (bad.length) { s.curing = true; curingAsk.ask({...question(), turnouts: [s.turnout.id], cures: true, seq: s.seq}); }
    },
    failed(why, job) {
      if (job.seq !== s.seq) return;
      if (why instanceof Refused && why.body?.faults) {
        s.faults = why.body.faults;
        s.trouble = `${s.faults[0]?.message ?? 'The course cannot be driven as it is'}.`;
        say('The course cannot be driven as it stands; see the checks. The last good line stays.');
      } else if (why instanceof Refused) s.trouble = 'The course could not be driven; the last good line stays.';
      else lost();
      redraw();
    },
  });
  const classing = newestWins(drive, {
    took(a, job) {
      if (job.seq !== s.seq) return;
      // The one that is shown stands first.
      s.klass = a.turnouts.map((/** @type {any} */ t, /** @type {number} */ i) => ({...t, id: job.turnouts[i]})).sort((/** @type {any} */ x, /** @type {any} */ y) => Number(y.id === s.turnout.id) - Number(x.id === s.turnout.id));
      s.klassSeq = job.seq;
      redraw();
    },
    failed(why, job) { if (job.seq === s.seq && why instanceof Refused) { s.trouble = why.body?.faults?.[0]?.message ?? ''; redraw(); } },
  });
  const curingAsk = newestWins(drive, {
    took(a, job) {
      if (job.seq !== s.seq) return;
      s.curing = false;
      s.cures = new Map(a.turnouts[0].gates.filter((/** @type {any} */ g) => g.cure_sought).map((/** @type {any} */ g) => [g.gate, g.cures]));
      redraw();
    },
    failed(_, job) { if (job.seq === s.seq) { s.curing = false; redraw(); } },
  });
  const following = newestWins((job, signal) => call('POST', `${api}/cones/follow`, job, signal), {
    took(a, job) {
      s.lost = false;
      if (!a.fresh || job.seq < s.shownSeq || s.runSeq === job.seq) return;
      shown({samples: a.line.map((/** @type {Pt} */ lead) => ({lead})), passes: [], tight: [], time_s: 0, length_m: a.driven_m, bare: true}, job.seq);
      s.gates = a.gates;
      s.figures = {length: a.course_length_m, allowed: a.time_allowed_s, driven: a.driven_m, time: a.driven_s, verdict: a.verdict};
      redraw();
    },
    failed(why) { if (!(why instanceof Refused)) lost(); },
  });
  const checking = newestWins((job, signal) => call('POST', `${api}/check`, job.body, signal), {
    took(a, job) { if (job.doc === s.history.now) { s.faults = a.faults ?? []; s.warnings = a.warnings ?? []; redraw(); } },
    failed() {},
  });
  const settle = settled(SETTLE, () => {
    if (drivable()) driving.ask({...question(), turnouts: [s.turnout.id], lines: true, seq: s.seq});
    if (!s.preview) checking.ask({body: {plan: s.history.now}, doc: s.history.now});
  });
  function lost() { s.lost = true; setTimeout(() => { if (s.lost) settle.soon(); }, 5000); redraw(); }
  /** @param {any} route @param {number} seq */
  function shown(route, seq) {
    s.shown = route;
    s.shownSeq = seq;
    s.freshAt = performance.now();
  }
  const follow = () => { if (drivable()) following.ask({...question(), turnout: s.turnout.id, session, seq: s.seq}); };
  /** The document or the question has changed: the old answers are for something else. @param {boolean} moving */
  function changed(moving) {
    if (s.shownSeq === s.seq) s.freshAt = performance.now();
    s.seq++;
    s.play = {on: false, t: 0};
    if (!drivable()) { s.shown = s.run = s.figures = s.klass = s.checks = null; s.gates = []; }
    if (moving) follow();
    settle.soon();
    redraw();
  }

  // ---- acts -------------------------------------------------------------------
  /** @param {any} c */
  function commit(c) {
    const was = s.preview;
    Object.assign(s, {preview: null, draft: null, dragging: false, look: null});
    const next = done(s.history, c);
    if (next === s.history) { if (was) changed(false); redraw(); return; }
    setHistory(next);
    say(next.past.at(-1)?.words ?? '');
  }
  /** @param {import('../history.js').History} next */
  function setHistory(next) {
    s.history = next;
    s.chosen = s.chosen.filter((/** @type {string} */ r) => stands(next.now, s.c, r) || exists(next.now, -1, r));
    keeping.put();
    changed(true);
  }
  const choose = (/** @type {string[]} */ refs) => { if (refs.join() !== s.chosen.join()) { s.chosen = refs; redraw(); } };
  /** The whole ground, or at first the course alone where that is much larger to see. @param {boolean} [all] */
  const fit = (all = true) => {
    const whole = fitted(boxOf(s.history.now), s.port.w, s.port.h, 46), box = boxOfCourse(s.history.now, s.c), near = box && !all ? fitted(box, s.port.w, s.port.h, 60) : whole;
    s.port = near.k > 1.2 * whole.k && whole.k < 14 ? near : whole;
    redraw();
  };
  /** Shows a place: chosen, ringed, and in the middle if it was out of sight. @param {string} ref @param {string} [also] */
  function show(ref, also) {
    const at = lookAt(s, ref);
    if (!at) return;
    choose([ref, ...(also && gateOf(s.history.now, s.c, also) ? [`cone/${also}`] : [])]);
    s.look = at;
    s.handled = true;
    s.port = {...s.port, k: Math.max(s.port.k, 9), cx: at[0], cy: at[1]};
    root.scrollIntoView({block: 'nearest'});
    say(`Shown: ${coneName(s.history.now, s.c, ref)}.`);
  }
  function drop(/** @type {string[]} */ refs) {
    const gone = refs.filter((r) => !/^(line|flag)\//.test(r));
    if (!gone.length) { if (refs.length) say('Start and finish stay: every course has both.'); return; }
    commit({do: 'cones-drop', c: s.c, refs: gone});
    choose([]);
  }
  /** Start and finish 5 m wide, at a third and two thirds of the ground's west side, driven eastwards and back. */
  function beginCourse() {
    const b = boxOf(s.history.now), x = b.x0 + Math.min(6, (b.x1 - b.x0) / 6), y1 = b.y0 + (b.y1 - b.y0) / 4, y2 = b.y1 - (b.y1 - b.y0) / 4;
    commit({do: 'cones-begin', course: {name: opts.course || 'Cones', start: {right: mmPt([x, y1 - 2.5]), left: mmPt([x, y1 + 2.5])}, finish: {right: mmPt([x, y2 + 2.5]), left: mmPt([x, y2 - 2.5])}, gates: [], cone_radius: 0.2, gap: {clearance_cm: 30}, speed_m_per_min: {default: 220}, measure_radius: 5}});
    setTool('pair');
  }
  const multipleAsk = newestWins((job, signal) => call('POST', `${api}/cones/multiple`, job.body, signal), {
    took(a, job) {
      if (job.body.kind === s.multiple.kind && !s.multiple.typed) s.multiple = {...s.multiple, size: a.size, wrong: ''};
      if (job.set) {
        const n = job.body.number;
        commit({do: 'cones-add', c: s.c, gates: a.gates, things: a.things, what: `${job.body.kind} ${n}`});
        choose([`cone/${n}a`]);
        setTool('choose');
      }
      redraw();
    },
    failed(why) { s.multiple = {...s.multiple, wrong: why instanceof Refused ? `${why.body?.faults?.[0]?.message ?? 'it cannot be built so'}; ${why.body?.faults?.[0]?.hint ?? ''}.` : 'the laptop cannot be reached.'}; redraw(); },
  });
  /** @param {Pt} at @param {number | null} bearing @param {boolean} set put it into the plan, or only ask its size */
  function build(at, bearing, set) {
    const k = courseOf(s.history.now, s.c), m = s.multiple, top = lastNumber(k) + 1;
    if (!k || !s.turnout) return;
    multipleAsk.ask({set, body: {kind: m.kind, number: Math.min(m.number || top, top), at, bearing_deg: bearing ?? usualBearing(s.history.now, s.c, at), hand: m.hand, size: m.typed ? m.size : null, turnout: s.turnout.id}});
  }
  const keeping = createKeeping(root, s, draft, {api, redraw, say, turn: setHistory}), {undo, redo, keep} = keeping;

  // ---- hands ------------------------------------------------------------------
  /** @type {import('./tools.js').Hand} */
  const hand = {
    doc: () => s.history.now, c: () => s.c, chosen: () => s.chosen, choose, whole: () => s.whole, commit,
    begin: follow,
    attempt(c, w = '') { s.preview = c; s.dragging = c !== null; if (w) s.says = w; changed(c !== null); },
    draft(pts) { s.draft = pts; redraw(); },
    pan(dx, dy) { s.handled = true; s.port = panned(s.port, dx, dy); redraw(); },
    place: (at, bearing) => build(at, bearing, true),
  };
  const tools = [chooseTool(), paperTool(), pairTool(), coneTool(), multipleTool()];
  const tool = () => tools.find((t) => t.name === s.tool) ?? tools[0];
  const setTool = (/** @type {string} */ name) => {
    tool().cancel(hand);
    s.tool = name;
    const box = /** @type {HTMLDetailsElement | null} */ (byId('multiple-box'));
    if (name === 'multiple' && box && !box.open) box.open = true;
    say(tool().how);
  };
  const refAt = (/** @type {Pt} */ px, /** @type {number} */ tolerance) => hitCones(cones.signs(s.port, places(s.history.now)), px, tolerance, s.chosen) ?? hit(s.history.now, [], s.port, px, tolerance, []);
  /** @param {Pt} px @param {PointerEvent} e @param {boolean} look */
  const press = (px, e, look) => {
    const finger = e.pointerType === 'touch', ref = look ? refAt(px, finger ? FINGER : MOUSE) : null;
    // Of things, only the rails of a multiple move here; the rest of the ground is drawn with the hazards.
    return {at: toGround(s.port, px), px, shift: e.shiftKey, alt: e.altKey, finger, hit: ref?.startsWith('thing/') ? owner(ref) : ref?.startsWith('outline/') ? null : ref};
  };
  /** The first part of the multiple that a thing was placed with. @param {string} ref */
  const owner = (ref) => { const n = /^thing\/m(\d+)-\d+$/.exec(ref)?.[1]; return n && gateOf(s.history.now, s.c, `${n}a`) ? `cone/${n}a` : null; };
  listen(view.root, {
    press(px, e) { view.root.focus({preventScroll: true}); tool().down(hand, press(px, e, true)); },
    move(px, e) { tool().move(hand, press(px, e, false)); },
    lift(px, e) { tool().up(hand, press(px, e, false)); s.dragging = false; redraw(); },
    cancel() { tool().cancel(hand); Object.assign(s, {dragging: false, preview: null}); redraw(); },
    hover() {},
    pan(dx, dy) { hand.pan(dx, dy); },
    zoom(by, at) { s.handled = true; s.port = zoomed(s.port, by, at); redraw(); },
  });
  view.root.addEventListener('focusin', (e) => {
    const el = /** @type {Element} */ (e.target), ref = el.closest?.('[data-ref]')?.getAttribute('data-ref');
    if (ref && !ref.startsWith('turn/') && !s.chosen.includes(ref) && el.matches(':focus-visible')) choose([ref]);
  });
  const middle = () => s.cross ?? mmPt([Math.round(s.port.cx), Math.round(s.port.cy)]);
  const desk = {
    get: () => s, commit, choose, undo, redo, keep, say, drop, show,
    fit() { s.handled = true; fit(); },
    begin: beginCourse,
    cross(/** @type {Pt} */ p) { s.cross = p; redraw(); },
    zoom(/** @type {number} */ by) { s.handled = true; s.port = zoomed(s.port, by, [s.port.w / 2, s.port.h / 2]); redraw(); },
    cancel() { tool().cancel(hand); },
    tool(/** @type {string} */ key) { const t = tools.find((x) => x.key === key); if (t) setTool(t.name); },
    moving: (/** @type {string[]} */ refs) => together(s.history.now, s.c, refs, s.whole),
    whole(/** @type {boolean} */ on) { s.whole = on; redraw(); },
    place: (/** @type {Pt} */ at, /** @type {number} */ bearing) => build(at, bearing, true),
    placeAtCross() { desk.cross(middle()); build(middle(), null, true); },
    /** Changes what is made ready; what is usual is asked again until it is typed. @param {any} part */
    multiple(part) { s.multiple = {...s.multiple, ...part, wrong: ''}; if (!s.multiple.typed) build([0, 0], 0, false); redraw(); },
    cure(/** @type {any} */ cure) { const c = curing(s.history.now, s.c, cure); if (c) { commit(c); choose([`cone/${cure.gate}`]); } },
    turnout(/** @type {string} */ id) { pickTurnout.fill(names, id); setTurnout(id); },
    numbers(/** @type {string} */ ref) {
      const box = /** @type {HTMLDetailsElement | null} */ (byId('things')?.closest('details'));
      if (box) box.open = true;
      const row = ref.startsWith('flag/') ? `line/${ref.split('/')[1]}` : ref;
      /** @type {HTMLElement | null} */ (byId('things')?.querySelector(`[data-row="${CSS.escape(row)}"] input`))?.focus();
    },
  };
  listenKeys(view.root, desk);

  // ---- panels -----------------------------------------------------------------
  const drawTable = createConesTable(/** @type {HTMLElement} */ (byId('things')), {commit, choose, drop, back(ref) { /** @type {SVGElement | null} */ (view.root.querySelector(`[data-ref="${CSS.escape(ref)}"]`))?.focus(); }});
  const drawChosen = createChosen(byId('chosen'), desk), drawRoom = createRoom(byId('room'), desk), drawCourseChecks = createChecks(byId('course-checks'), desk);
  const drawMultiple = createMultiple(byId('multiple'), desk, opts.kinds ?? []);
  const drawPlay = createPlay(playHost, byId('drive'), {get: () => (s.shown?.bare ? {...s, shown: null} : s), play(p) { s.play = p; redraw(); }, say});
  /** @type {any[]} */
  let faultMemo = [], toolMemo = [];
  function drawFaults() {
    const host = byId('checks');
    if (!host || (faultMemo[0] === s.faults && faultMemo[1] === s.warnings)) return;
    if (!faultMemo.length) host.replaceChildren();
    faultMemo = [s.faults, s.warnings];
    host.classList.add('ed-checks');
    const line = (/** @type {any} */ f, /** @type {string} */ word) => {
      const m = /courses\[(\d+)\]\.gates\[(\d+)\]/.exec(f.place ?? ''), g = m && +m[1] === s.c ? courseOf(s.history.now, s.c)?.gates[+m[2]] : null, ref = g ? `cone/${g.number}${g.part ?? ''}` : '';
      return html`<li><b>${word}:</b> ${ref ? html`<button type="button" class="link" @click=${() => show(ref)}>${coneName(s.history.now, s.c, ref)}</button>: ` : f.place ? `${f.place}: ` : ''}${f.message}${f.hint ? `; ${f.hint}` : ''}.</li>`;
    };
    render(s.faults.length + s.warnings.length ? html`<ul class="check-list">${s.faults.map((/** @type {any} */ f) => line(f, 'Attend'))}${s.warnings.map((/** @type {any} */ f) => line(f, 'Look'))}</ul>` : nothing, host);
  }
  function drawTools() {
    const now = [s.tool, s.history, s.saved, s.savedWords, s.conflict, s.lost, s.c];
    if (now.every((v, i) => v === toolMemo[i])) return;
    toolMemo = now;
    const has = Boolean(courseOf(s.history.now, s.c));
    render(html`
      <div class="tool-set" role="group" aria-label="Tools">${tools.map((t) => html`<button type="button" class=${t.name === 'paper' ? 'tool hands-free' : 'tool'} aria-pressed=${s.tool === t.name} ?disabled=${!has && t.name !== 'choose' && t.name !== 'paper'} title=${`${t.how} (${t.key.toUpperCase()})`} @click=${() => setTool(t.name)}>${t.label}</button>`)}</div>
      <div class="tool-set" role="group" aria-label="Window"><button type="button" class="tool" aria-label="Nearer" @click=${() => desk.zoom(1.3)}>+</button><button type="button" class="tool" aria-label="Farther" @click=${() => desk.zoom(1 / 1.3)}>−</button><button type="button" class="tool" @click=${() => desk.fit()}>All</button></div>
      ${keeping.row()}`, toolRow);
  }

  // ---- the toolbar the server drew --------------------------------------------
  const names = turnouts.map((/** @type {any} */ t) => ({value: t.id, label: t.name}));
  const paces = () => [{value: '', label: 'its own'}, ...Object.entries(s.turnout?.paces ?? {}).sort((a, b) => Number(a[1]) - Number(b[1])).map(([k]) => ({value: k, label: k.replace(' trot', '')}))];
  function setTurnout(/** @type {string} */ id) {
    s.turnout = turnouts.find((/** @type {any} */ t) => String(t.id) === id) ?? s.turnout;
    if (s.pace && !(s.pace in (s.turnout?.paces ?? {}))) s.pace = '';
    pickPace.fill(paces(), s.pace);
    desk.multiple({});
    changed(false);
  }
  const pickTurnout = picker(byId('pick-turnout'), names, s.turnout?.id ?? '', setTurnout);
  const pickPace = picker(byId('pick-pace'), paces(), s.pace, (v) => { s.pace = v; changed(false); });
  const rules = /** @type {HTMLSelectElement | null} */ (byId('pick-rules'));
  if (rules) { s.rules = rules.value; rules.addEventListener('change', () => { s.rules = rules.value; changed(false); }); }
  if (draft.since) say(`Your unkept changes of ${draft.since} are back. Undo shows the kept plan.`);

  new ResizeObserver(() => {
    const w = paper.clientWidth, h = paper.clientHeight;
    if (w === 0 || (w === s.port.w && h === s.port.h)) return;
    const first = s.port.w === 0;
    s.port = {...s.port, w, h};
    // Until a hand has moved the paper it is fitted anew when the window changes.
    if (first || !s.handled) fit(false); else redraw();
  }).observe(paper);
  window.addEventListener('online', () => settle.soon());
  settle.soon();
  desk.multiple({});
  redraw();
  // For measuring and for tests only: what the desk holds and how long frames took.
  Object.assign(window, {terretDesk: {state: s, frames, commit, doc: docNow}});
}

const root = byId('drawing');
if (root) start(root);
