// Package shape makes a line drivable: from a taut string round posts it bends
// a curvature-continuous line along which a turnout, its axles cutting in
// behind, keeps clear of everything.
//
// # Method
//
// The line is a uniform cubic B-spline with control points about half a metre
// apart. Unknown at each are the control point's offset along its normal and
// the heading of each towed body. The cost is length and curvature, with
// one-sided penalties for too small a radius, too much lock and too little
// room; the no-slip towing rows tie the headings to the line. Each step solves
// the banded normal equations (Gauss–Newton).
//
// Asked for everything at once such a solver jumps over posts. So the turnout
// is grown: first the least radius, from nearly nothing, then the lengths of
// the shafts and the body, one step per increment (continuation). And a step is
// solved again with the one-sided penalties that it would itself bring about.
//
// [Solver.Quicken] then bends a line by its time rather than its length, with the
// speed at each knot as one more unknown.
//
// Which side of the line a post must stay on is read off the string at the
// start and from then on off the line itself; a result is only a proposal until
// package drive has measured it.
package shape
