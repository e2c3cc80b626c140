// What stands beside a cones drawing: what is chosen and what can be done to it,
// the room of every turnout at every gate with the cure in words, the checks of
// the course, and the multiple that is made ready to be set.

import {html, render, nothing} from '../../vendor/lit-html/lit-html.js';
import {number} from '../says.js';
import {coneName, coneRef, courseOf, gateId, gateUnder, lastNumber, middleOf, partsOf} from './model.js';

/** Renders only when something it depends on has changed. @param {HTMLElement | null} host @param {(s: any) => any[]} seen @param {(s: any) => any} template */
function panel(host, seen, template) {
  /** @type {any[] | null} */
  let memo = null;
  host?.replaceChildren();
  return (/** @type {any} */ s) => {
    if (!host) return;
    const now = seen(s);
    if (memo && now.every((v, i) => v === memo?.[i])) return;
    memo = now;
    render(template(s), host);
  };
}

/** Spare centimetres, never said larger than they are. @param {number | null | undefined} v */
export const cmOf = (v) => (v === null || v === undefined ? '–' : `${v < 0 ? '−' : ''}${v < 0 ? Math.ceil(-v) : Math.floor(v)}`);
/** @param {number} v */
const square = (v) => (Math.abs(v) < 0.5 ? 'square' : `${Math.round(Math.abs(v))}° ${v < 0 ? 'left' : 'right'}`);
/** @param {any} g */
const least = (g) => Math.min(g.spare_left_cm ?? Infinity, g.spare_right_cm ?? Infinity);

/** @param {HTMLElement | null} host @param {any} desk */
export function createChosen(host, desk) {
  host?.classList.add('ed-chosen');
  return panel(host, (s) => [s.chosen, s.history.now, s.run, s.runSeq === s.seq, s.whole, s.c], (s) => {
    const doc = s.history.now, k = courseOf(doc, s.c);
    if (!k) return html`<h2>No course yet</h2><p>Start and finish come first; then each press with Pair sets the next number.</p><button type="button" class="press main" data-act="begin" @click=${desk.begin}>Begin a course</button>`;
    const refs = s.chosen.filter((/** @type {string} */ r) => /^(cone|line|flag)\//.test(r)), one = refs.length === 1 ? refs[0] : '';
    if (!refs.length) return html`<h2>Nothing chosen</h2><p class="quiet">Press on a pair to turn it, mirror it or give it another number. ${k.gates.length ? '' : 'Choose Pair and press where number 1 goes.'}</p>`;
    const g = one ? gateUnder(doc, s.c, one) : undefined, parts = g ? partsOf(k, g.number) : [], many = parts.length > 1, whole = many && s.whole;
    const turn = (/** @type {number} */ deg) => desk.commit({do: 'cones-turn', c: s.c, refs: desk.moving(refs), deg});
    const run = s.runSeq === s.seq && g ? s.run?.gates.find((/** @type {any} */ x) => x.gate === gateId(g)) : null;
    const last = lastNumber(k);
    return html`<h2>${one ? (whole && g ? `Number ${g.number}, ${parts.length} parts` : coneName(doc, s.c, one).replace(/^./, (/** @type {string} */ ch) => ch.toUpperCase())) : `${refs.length} gates`}</h2>
      ${many ? html`<label class="check"><input type="checkbox" .checked=${s.whole} @change=${(/** @type {any} */ e) => desk.whole(e.target.checked)}><span>Move all of number ${g?.number} as one piece</span></label>` : nothing}
      <div class="acts-row">
        <button type="button" class="press" @click=${() => turn(-5)}>↶ 5° left</button><button type="button" class="press" @click=${() => turn(5)}>↷ 5° right</button>
        ${one && !(g?.cone && many) ? html`<button type="button" class="press" @click=${() => desk.commit({do: 'cones-other-way', c: s.c, ref: one.startsWith('flag/') ? `line/${one.split('/')[1]}` : one})}>${g?.cone ? 'Other side' : 'Other way'}</button>` : nothing}
        ${g && many ? html`<button type="button" class="press" data-act="mirror" @click=${() => desk.commit({do: 'cones-mirror', c: s.c, number: g.number})}>Other hand</button>` : nothing}
        ${g && g.number > 1 ? html`<button type="button" class="press" @click=${() => desk.commit({do: 'cones-number', c: s.c, from: g.number, to: g.number - 1})}>Make it ${g.number - 1}</button>` : nothing}
        ${g && g.number < last ? html`<button type="button" class="press" @click=${() => desk.commit({do: 'cones-number', c: s.c, from: g.number, to: g.number + 1})}>Make it ${g.number + 1}</button>` : nothing}
        ${refs.some((/** @type {string} */ r) => r.startsWith('cone/')) ? html`<button type="button" class="press" data-act="drop" @click=${() => desk.drop(desk.moving(refs))}>Take away</button>` : nothing}
      </div>
      ${run ? html`<p class="quiet">${s.turnout?.name}: line ${square(run.approach_deg.line)}${run.approach_deg.axles?.length ? html`, ${run.approach_deg.axles.length > 1 ? html`front axle ${square(run.approach_deg.axles[0])}, rear axle ${square(run.approach_deg.axles[1])}` : html`axle ${square(run.approach_deg.axles[0])}`}` : nothing} against square.${run.gap_cm ? ` Gap ${Math.round(run.gap_cm)} cm.` : ''}</p>
      <table class="room-parts"><thead><tr><th scope="col">Room, cm</th><th scope="col">left</th><th scope="col">right</th></tr></thead><tbody>
        ${run.room.map((/** @type {any} */ r) => html`<tr><th scope="row">${r.part}</th><td>${cmOf(r.spare_left_cm)}</td><td>${cmOf(r.spare_right_cm)}</td></tr>`)}</tbody></table>` : nothing}`;
  });
}

/** @param {HTMLElement | null} host @param {any} desk */
export function createRoom(host, desk) {
  host?.classList.add('ed-room');
  return panel(host, (s) => [s.klass, s.klassSeq === s.seq, s.run, s.runSeq === s.seq, s.cures, s.curing, s.turnout, s.trouble, s.chosen], (s) => {
    const fresh = s.runSeq === s.seq, run = s.run;
    if (!run) return html`<h2>Room between the cones</h2><p class="quiet">${s.trouble || (s.turnout ? 'Working it out…' : 'There is no turnout yet. Bring one in on the Turnouts page.')}</p>`;
    const bad = run.gates.filter((/** @type {any} */ g) => g.verdict === 'touches'), list = s.klassSeq === s.seq && s.klass ? s.klass : null;
    return html`<h2>Room between the cones</h2>
      ${fresh ? html`<p class="verdict-line"><b>${s.turnout?.name}: ${run.verdict}.</b> ${bad.length ? `${bad.length} of ${run.gates.length} gates ${bad.length === 1 ? 'is' : 'are'} touched.` : ''}</p>
        ${run.trouble.map((/** @type {string} */ w) => html`<p class="attend"><b>Attend:</b> ${w}.</p>`)}
        <ul class="cures">${bad.map((/** @type {any} */ g) => cureTpl(s, g, desk))}</ul>` : html`<p class="quiet">The course has changed; it is driven again…</p>`}
      ${list ? html`<div class="room-scroll" tabindex="0" role="region" aria-label="Room of every turnout at every gate, centimetres to the nearer cone"><table class="room-table"><caption>Least room to a cone in cm, by turnout</caption>
        <thead><tr><th scope="col">Gate</th>${list.map((/** @type {any} */ t) => html`<th scope="col" class=${t.id === s.turnout?.id ? 'mine' : ''}><button type="button" class="link" aria-label=${`Show ${t.turnout}`} @click=${() => desk.turnout(t.id)}>${t.turnout}</button></th>`)}</tr></thead>
        <tbody><tr><th scope="row">All</th>${list.map((/** @type {any} */ t) => html`<td class=${t.verdict}>${t.verdict}</td>`)}</tr>
        <tr><th scope="row">Allowed</th>${list.map((/** @type {any} */ t) => html`<td>${seconds(t.time_allowed_s)} s</td>`)}</tr>
        <tr><th scope="row">Drives</th>${list.map((/** @type {any} */ t) => html`<td>${t.driven_m.toFixed(0)} m<br>${t.driven_s.toFixed(0)} s</td>`)}</tr>
        ${run.gates.map((/** @type {any} */ r, /** @type {number} */ i) => html`<tr><th scope="row"><button type="button" class="link" aria-label=${`Show gate ${r.gate}`} @click=${() => desk.show(coneRef(r.gate))}>${r.gate}</button></th>
          ${list.map((/** @type {any} */ t) => { const g = t.gates[i]; return html`<td class=${g?.verdict ?? ''}>${g ? html`${g.verdict}${Number.isFinite(least(g)) ? html` <span class="cm">${cmOf(least(g))}</span>` : nothing}` : '–'}</td>`; })}</tr>`)}</tbody></table></div>` : html`<p class="quiet">${s.trouble || 'The other turnouts are being driven…'}</p>`}`;
  });
}

/** A time allowed, with decimals only where the rules leave any. @param {number} v */
export const seconds = (v) => (Number.isInteger(v) ? String(v) : v.toFixed(2));

/** @param {any} s @param {any} g @param {any} desk */
function cureTpl(s, g, desk) {
  const found = s.cures?.get(g.gate);
  const words = (/** @type {string} */ w) => w.replace(/^./, (ch) => ch.toUpperCase());
  return html`<li><b>Touches ${g.gate}:</b> ${g.why}.
    ${found?.length ? html`<div class="cure-acts">${found.map((/** @type {any} */ c, /** @type {number} */ i) => html`<button type="button" class=${i ? 'press' : 'press main'} data-act="cure" @click=${() => desk.cure(c)}>${words(c.says)}</button>`)}</div><p class="quiet">Each by itself cures it: it was driven again with that change${found.length > 1 ? ', the smallest first' : ''}.</p>`
    : s.curing ? html`<p class="quiet">Looking for the smallest change that cures it…</p>`
      : found ? html`<p class="quiet">No small change of this pair or the one before cures it. Move it by hand, or leave it out for this turnout.</p>` : html`<p class="quiet">Too many gates are touched to look for a cure of each.</p>`}
    <div class="cure-acts"><button type="button" class="press" data-act="show" @click=${() => desk.show(coneRef(g.gate))}>Show ${g.gate}</button></div></li>`;
}

/** @param {HTMLElement | null} host @param {any} desk */
export function createChecks(host, desk) {
  return panel(host, (s) => [s.checks, s.checksSeq === s.seq], (s) => {
    if (!s.checks) return html`<p class="quiet">Not looked at yet.</p>`;
    if (!s.checks.length) return html`<p class="quiet">Nothing to say: count, length, distances, sight, turns and hands keep to the rules chosen.</p>`;
    return html`<ul class="check-list">${s.checks.map((/** @type {any} */ c) => html`<li><b>${title(c.rule)}.</b> ${c.says.replace(/^./, (/** @type {string} */ ch) => ch.toUpperCase())}; ${c.hint}.
      ${c.gate ? html`<button type="button" class="link" data-rule=${c.rule} @click=${() => desk.show(/^(start|finish)$/.test(c.gate) ? `line/${c.gate}` : coneRef(c.gate), c.with)}>Show ${c.gate}${c.with && gateUnder(s.history.now, s.c, coneRef(c.with)) ? ` and ${c.with}` : ''}</button>` : nothing}
      ${c.unit && c.rule !== 'bends-uneven' ? html`<span class="quiet">${figure(c.has, c.unit)}; the limit is ${figure(c.wants, c.unit)}</span>` : nothing}</li>`)}</ul>`;
  });
}
const figure = (/** @type {number} */ v, /** @type {string} */ unit) => `${Math.abs(v - Math.round(v)) < 0.05 ? v.toFixed(0) : v.toFixed(1)}${unit === '°' ? '' : ' '}${unit}`;
/** @type {Record<string, string>} */
const TITLES = {
  count: 'Number of obstacles', length: 'Length', multiples: 'Multiples', 'start-distance': 'Start to number 1', 'finish-distance': 'Last number to finish', clearance: 'Gap over the track',
  'cones-shared': 'One cone for two numbers', 'pairs-close': 'Pairs close together', 'next-hidden': 'Next number hidden', 'next-behind': 'Next number seen from its back', 'no-straight': 'No straight before it',
  'line-through-pair': 'Way leads through another pair', 'tight-leg': 'Tight to wheel', 'bends-uneven': 'Uneven hands',
};
const title = (/** @type {string} */ rule) => TITLES[rule] ?? rule;

/** Which lengths a kind of multiple has, and what they are called. @type {Record<string, [key: string, words: string][]>} */
const SIZES = {
  serpentine: [['parts', 'cones'], ['spacing_m', 'from cone to cone']],
  'zig-zag': [['parts', 'pairs'], ['spacing_m', 'from pair to pair'], ['offset_m', 'to the side']],
  wave: [['parts', 'pairs'], ['spacing_m', 'from pair to pair'], ['offset_m', 'crest to the side']],
  oxer: [['spacing_m', 'from pair to pair']],
  L: [['spacing_m', 'mouth to corner'], ['width_m', 'lane wide']],
  U: [['spacing_m', 'mouth to bend'], ['width_m', 'lane wide'], ['offset_m', 'from lane to lane']],
  box: [['spacing_m', 'side'], ['width_m', 'openings']],
  bridge: [['spacing_m', 'long'], ['width_m', 'between the rails']],
};

/** @param {HTMLElement | null} host @param {any} desk @param {string[]} kinds */
export function createMultiple(host, desk, kinds) {
  host?.classList.add('ed-multiple');
  return panel(host, (s) => [s.multiple, s.history.now, s.tool, s.turnout], (s) => {
    const m = s.multiple, k = courseOf(s.history.now, s.c), top = lastNumber(k) + 1;
    const set = desk.multiple;
    const typed = (/** @type {string} */ key, /** @type {any} */ e) => {
      const v = number(e.target.value), ok = v !== null && v > 0;
      e.target.setAttribute('aria-invalid', String(!ok));
      if (ok) set({typed: true, size: {...m.size, [key]: v}});
    };
    if (!k) return html`<p class="quiet">Begin a course first.</p>`;
    return html`<fieldset class="pick"><legend>Kind</legend><span class="choice-row">${kinds.map((kind) => html`<label class="choice"><input type="radio" name="multiple-kind" .checked=${m.kind === kind} @change=${() => set({kind, size: null, typed: false})}><span>${kind}</span></label>`)}</span></fieldset>
      <fieldset class="pick"><legend>Turns first to the</legend><span class="choice-row">${['left', 'right'].map((hand) => html`<label class="choice"><input type="radio" name="multiple-hand" .checked=${m.hand === hand} @change=${() => set({hand})}><span>${hand}</span></label>`)}</span></fieldset>
      <p class="sizes">${m.size ? (SIZES[m.kind] ?? []).map(([key, words]) => html`<label><span>${words}${key === 'parts' ? '' : ', m'}</span><input type="text" inputmode="decimal" autocomplete="off" size="4" .value=${String(m.size[key])} @change=${(/** @type {any} */ e) => typed(key, e)}></label>`) : html`<span class="quiet">The usual size for ${s.turnout?.name ?? 'the turnout'}…</span>`}
        <label><span>as number</span><input type="text" inputmode="numeric" autocomplete="off" size="4" .value=${String(Math.min(m.number || top, top))} @change=${(/** @type {any} */ e) => { const v = number(e.target.value), ok = v !== null && Number.isInteger(v) && v >= 1 && v <= top; e.target.setAttribute('aria-invalid', String(!ok)); if (ok) set({number: v === top ? 0 : v}); }}></label></p>
      <div class="acts-row"><button type="button" class=${s.tool === 'multiple' ? 'press main' : 'press'} data-act="ready" @click=${() => desk.tool('m')}>${s.tool === 'multiple' ? 'Now press on the drawing' : 'Set it on the drawing'}</button>
      <button type="button" class="press" data-act="at-cross" @click=${() => desk.placeAtCross()}>Set it at the cross</button></div>
      ${m.wrong ? html`<p class="attend" role="alert"><b>Attend:</b> ${m.wrong}</p>` : nothing}
      <p class="quiet">The usual sizes are common practice or estimates; your rule book decides.</p>`;
  });
}

/** The middle of a ref of a course, for looking at. @param {any} s @param {string} ref */
export function lookAt(s, ref) {
  const k = courseOf(s.history.now, s.c), line = /^line\/(start|finish)$/.exec(ref)?.[1];
  if (line && k) { const p = k[/** @type {'start'} */ (line)]; return /** @type {[number, number]} */ ([(p.right[0] + p.left[0]) / 2, (p.right[1] + p.left[1]) / 2]); }
  const g = gateUnder(s.history.now, s.c, ref);
  return g ? middleOf(g) : null;
}
