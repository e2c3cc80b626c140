package drive

import (
	"math"

	"terret/internal/geom"
)

// Tow turns a body of the given length whose unit direction is dir (from its
// axle to its hitch) while its hitch moves by step in a straight line, its
// axle rolling without slip. It returns the new unit direction.
//
// The exact solution of the tractrix over a straight step: with φ the angle
// from the step to the body, tan(φ′/2) = tan(φ/2)·exp(−h/L). Source: the
// classical tractrix; check values stand in the tests.
func Tow(dir, step geom.Vec, length float64) geom.Vec {
	h := step.Len()
	if h == 0 {
		return dir
	}
	u := step.Mul(1 / h)
	if length <= 0 {
		return u
	}
	c, s := u.Dot(dir), u.Cross(dir)
	if 1+c < 1e-12 { // pushed straight backwards: no way to tell which hand
		return dir
	}
	t := s / (1 + c) * math.Exp(-h/length)
	d := 1 / (1 + t*t)
	cn, sn := (1-t*t)*d, 2*t*d
	return geom.Vec{X: u.X*cn - u.Y*sn, Y: u.Y*cn + u.X*sn}
}

// SteadyRadius is the radius on which the last of a chain of towed bodies
// settles when the first is led round radius r: √(r² − ΣL²). ok is false when
// there is no steady turn and the vehicle would fold up.
func SteadyRadius(r float64, lengths ...float64) (radius float64, ok bool) {
	q := r * r
	for _, l := range lengths {
		q -= l * l
	}
	if q <= 0 {
		return 0, false
	}
	return math.Sqrt(q), true
}
