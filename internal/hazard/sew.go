package hazard

import (
	"math"

	"terret/internal/geom"
)

// Run-in and run-out of the string, m: the line must come straight to In, and
// leaders need line past Out.
const (
	runIn   = 2.0
	runOut  = 2.0
	hook    = 1.5 // straight through a gate before turning back
	clearOf = 1.0 // straight through a gate before turning off sharply
	hookR   = 0.9 // radius of the turn back, before it is grown
)

// sew joins one choice for each leg to a whole string.
func (k *task) sew(cs []choice) []geom.Vec {
	first, last := &k.steps[0], &k.steps[len(k.steps)-1]
	pts := []geom.Vec{first.mid.Along(first.fwd, -runIn), first.mid.Along(first.fwd, -runIn/2)}
	for i := range cs {
		pts = k.leg(pts, i, &cs[i])
	}
	end := runOut + k.t.Ahead
	pts = append(pts, last.mid, last.mid.Along(last.fwd, end/2), last.mid.Along(last.fwd, end))
	return pts
}

// leg appends leg i of the string, from its gate up to but without the next.
func (k *task) leg(pts []geom.Vec, i int, c *choice) []geom.Vec {
	a, b := &k.steps[i], &k.steps[i+1]
	pts = append(pts, a.mid)
	mid := c.str.Points
	if len(mid) >= 2 {
		mid = mid[1 : len(mid)-1]
	}
	to := b.mid
	if c.in != 0 {
		to = b.mid.Along(b.fwd, -hook)
	}
	next := to
	if len(mid) > 0 {
		next = mid[0]
	}
	if c.out != 0 {
		p := a.mid.Along(a.fwd, hook)
		pts = append(pts, a.mid.Along(a.fwd, hook/2), p)
		pts = arc(pts, p, a.fwd, c.out, func(q, d geom.Vec) bool {
			return next.Sub(q).Dot(d) > 0 && math.Abs(d.Cross(next.Sub(q))) < 0.3*next.Sub(q).Len()+0.05
		})
	}
	if c.out == 0 && turnsOff(a.fwd, next.Sub(a.mid)) {
		// Go through before turning off, or rounding the corner leaves the gate.
		pts = append(pts, a.mid.Along(a.fwd, clearOf))
	}
	pts = append(pts, mid...)
	if c.in == 0 && len(pts) > 0 && turnsOff(b.fwd, b.mid.Sub(pts[len(pts)-1])) {
		pts = append(pts, b.mid.Along(b.fwd, -clearOf))
	}
	if c.in != 0 {
		// The same turn, run backwards from the gate.
		prev := a.mid
		if len(mid) > 0 {
			prev = mid[len(mid)-1]
		} else if len(pts) > 0 {
			prev = pts[len(pts)-1]
		}
		var back []geom.Vec
		back = arc(back, to, b.fwd.Mul(-1), -c.in, func(q, d geom.Vec) bool {
			return prev.Sub(q).Dot(d) > 0 && math.Abs(d.Cross(prev.Sub(q))) < 0.3*prev.Sub(q).Len()+0.05
		})
		for j := len(back) - 1; j >= 0; j-- {
			pts = append(pts, back[j])
		}
		pts = append(pts, to, b.mid.Along(b.fwd, -hook/2))
	}
	return pts
}

// turnsOff reports whether a string turns at a gate by about a right angle or more.
func turnsOff(fwd, d geom.Vec) bool { return fwd.Dot(d) < 0.1*d.Len() }

// arc appends a turn to one hand from p along f until done says it points on.
func arc(pts []geom.Vec, p, f geom.Vec, hand float64, done func(q, d geom.Vec) bool) []geom.Vec {
	const stepAngle = 0.25
	c := p.Along(f.Right(), hand*hookR)
	for a := stepAngle; a < 2*math.Pi-0.3; a += stepAngle {
		b := f.Bearing() + geom.Bearing(hand*a)
		d := b.Dir()
		q := c.Along(d.Right(), -hand*hookR)
		pts = append(pts, q)
		if a > 1 && done(q, d) {
			break
		}
	}
	return pts
}
