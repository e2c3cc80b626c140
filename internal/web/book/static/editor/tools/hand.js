// What every tool is given, and what it is asked for. A tool is a small state
// machine that knows the plan and nothing of browser events; pointer.js knows
// events and nothing of the plan.

/** @typedef {import('../plane.js').Pt} Pt */
/** @typedef {import('../commands.js').Command} Command */
/** @typedef {{at: Pt, px: Pt, hit: string | null, shift: boolean, alt: boolean, finger: boolean}} Press */
/**
 * @typedef {Object} Hand
 * @property {() => import('../model.js').Plan} doc the kept document, without what is only being tried
 * @property {() => number} h which hazard
 * @property {() => string[]} chosen
 * @property {(refs: string[]) => void} choose
 * @property {(c: Command | null, guides?: [Pt, Pt][], words?: string) => void} attempt show what the command would do
 * @property {(c: Command) => void} commit do it, as one step that can be undone
 * @property {(pts: Pt[] | null) => void} draft a pencil line that is not in the plan yet
 * @property {(dx: number, dy: number) => void} pan
 * @property {(p: Press, without: string[], how?: {posts?: boolean, from?: Pt}) => import('../snap.js').Snapped} snap
 * @property {(words: string) => void} say
 */
/**
 * @typedef {Object} Tool
 * @property {string} name @property {string} label @property {string} key @property {string} how one line of help
 * @property {(hand: Hand, p: Press) => void} down
 * @property {(hand: Hand, p: Press) => void} move
 * @property {(hand: Hand, p: Press) => void} up
 * @property {(hand: Hand) => void} cancel
 */

/** Pixels a press may wander and still be a tap. */
export const TAP = 4;
