// Package survey gets a plan onto the ground with tapes, and what was built
// back into the plan. It computes only: nothing here reads a clock or draws.
//
// # Setting out
//
// Two people, one tape and a bag of pegs. Two pegs P and Q are known places (a
// corner of the field, a point along its side); everything else is found by two
// tapes, one from each: the arcs of those radii cross where the cone stands.
//
//	                × the point
//	             .  γ  .
//	        15.31 .     . 29.55        γ: the angle the arcs cross at
//	          .             .
//	P ●──────────────┼──────────● Q    baseline, P → Q
//	    baseline_m   ┊offset_m to the left or right of it, looking from P to Q
//
// With every tape uncertain by σ the point is uncertain by σ√2/sin γ: 1.4 σ where
// the arcs cross square, 2.8 σ at 30°, 4.1 σ at 20°. So a crossing flatter than
// 30° is marked weak, and flatter than 20° is no fix at all. [Stakes] chooses
// pegs that keep crossings steep and tapes within reach, says why it chose them,
// and gives the order of work; see [StakeList] for how a list is walked.
//
// # Taking back what was built
//
// Whoever tapes the built course gets more lengths than the points need. Each
// taped length l between points i and j is an equation
//
//	√((xi − xj)² + (yi − yj)²) = l + v,    weight 1/σ²
//
// and [Network.Adjust] finds the positions that make Σ(v/σ)² least: Gauss–Newton
// steps on the normal equations N = AᵀPA, each halved until the sum falls, until
// no point moves by more than a tenth of a micrometre. Points that are held keep
// their place. A free network (nothing, or one point, held) is placed so that
// the sum of all squared moves from the start values is least: the inner
// constraints Σ(x − x₀) = 0 and Σ x₀ × (x − x₀) = 0.
//
// Signs and terms: a residual v is adjusted − taped; the redundancy r of a tape
// is the share of an error in it that shows in its own residual, from 0 (nothing
// checks it) to 1, and the redundancies sum to the number f of spare tapes;
// w = v/(σ√r) is the standardised residual; tau = w/s0 with s0 = √(Σ(v/σ)²/f), a
// plain number that is 1 when the tapes are as good as their σ says. The likely
// error of a tape is −v/r, taped − true. See Baarda, "A testing procedure for
// use in geodetic networks" (1968), and Pope, "The statistics of residuals and
// the detection of outliers" (1976), both from memory.
//
// # Which tape is wrong
//
// A tape is suspect when |w| passes the normal quantile, or |tau| the quantile
// of Pope's tau, both two-sided at the level shared out over all tapes
// (Bonferroni). w looks at the given σ, tau at the scatter found.
//
// The largest residual is not always the wrong tape: an error leaks into the
// residuals of its neighbours, and with one spare tape all |w| are equal and
// nothing can be told. Setting tape i free takes w² off the sum of squares; so
// among explanations "one tape is wrong, namely i", each weighs exp(w²/2s²), with
// s² the scatter that is left (never below 1). The largest is named only when its
// share of all weights is at least 1 − level, its redundancy is at least 0.1 and
// there are two spare tapes or more. Else the answer is "cannot tell which", and
// the tapes that cannot be told apart are listed.
//
// # What it does not do
//
// The ground is level and the tape is straight: sag, slope, pull and warmth are
// the tape-holder's. Mirror images satisfy the same tapes: the start values (the
// plan) say which side of a line a point is on. Two wrong tapes are found one
// after the other ([Network.Snoop]), which fails when they hide each other.
package survey
