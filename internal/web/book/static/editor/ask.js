// Asking the planner. One request is in flight at a time and the newest wins;
// every answer carries the sequence number of the document it was asked for,
// and an answer for an older document is dropped by whoever takes it. Over
// half a second the person is told what is being worked out and may stop it.

/** What the server said no to: faults with a place, or a lost connection. */
export class Refused extends Error {
  /** @param {number} status @param {any} body */
  constructor(status, body) { super(`status ${status}`); this.status = status; this.body = body; }
}

/** @param {string} method @param {string} url @param {any} body @param {AbortSignal} [signal] */
export async function call(method, url, body, signal) {
  const r = await fetch(url, {method, headers: {'Content-Type': 'application/json'}, body: JSON.stringify(body), signal});
  const text = await r.text();
  let doc = null;
  try { doc = text ? JSON.parse(text) : null; } catch { /* not ours; the status says enough */ }
  if (!r.ok) throw new Refused(r.status, doc);
  return doc;
}

/**
 * A queue of one: `ask(job)` starts at once when nothing is under way, else
 * waits as the only one waiting. With cut, what is under way is given up.
 * @template J, A
 * @param {(job: J, signal: AbortSignal) => Promise<A>} send
 * @param {{took: (answer: A, job: J) => void, failed: (why: any, job: J) => void, waiting?: (on: boolean) => void, cut?: boolean}} how
 */
export function newestWins(send, {took, failed, waiting = () => {}, cut = false}) {
  /** @type {AbortController | null} */
  let under = null;
  /** @type {{job: J} | null} */
  let next = null;
  async function pump() {
    while (next) {
      const {job} = next;
      next = null;
      const ctl = under = new AbortController();
      const timer = setTimeout(() => waiting(true), 500);
      try {
        const answer = await send(job, ctl.signal);
        if (!ctl.signal.aborted) took(answer, job);
      } catch (e) {
        if (!ctl.signal.aborted) failed(e, job);
      } finally {
        clearTimeout(timer);
        waiting(false);
      }
    }
    under = null;
  }
  return {
    /** @param {J} job */
    ask(job) {
      next = {job};
      if (under) { if (cut) under.abort(); } else void pump();
    },
    stop() { next = null; under?.abort(); },
    busy: () => under !== null,
  };
}

/** Calls f once nothing has asked again for ms. @param {number} ms @param {() => void} f */
export function settled(ms, f) {
  /** @type {any} */
  let timer = null;
  return {soon() { clearTimeout(timer); timer = setTimeout(f, ms); }, drop() { clearTimeout(timer); }};
}
