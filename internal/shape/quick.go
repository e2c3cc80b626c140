package shape

import (
	"math"

	"terret/internal/geom"
)

// Speeds is how fast the turnout may go, for lines that are to be quick rather
// than short: m/s and m/s².
type Speeds struct{ Cap, Left, Right, Gain, Loss float64 }

// Weights of a line that is to be quick. Its cost is its time, as metres at the
// cap, so length and curvature need no weight of their own but a little, to
// keep it even where neither costs time.
const (
	quickBend = 0.05
	quickRate = 0.1
	unhurried = 0.15 // what a metre before In or past Out weighs
	speedHold = 0.1  // how much a change of speed is damped, against one of place
	slowest   = 0.01 // least speed squared, as a share of the cap's
	slack     = 0.01 // of every limit of speed, kept at first
)

// Barriers keep the speeds within their limits, and are let down in turn. A
// line's cost lies above the best by about the last barrier times the number of
// limits, four a knot.
var (
	Roughly = []float64{3e-3, 3e-4}
	Closely = []float64{1e-2, 2e-3, 4e-4, 1e-4}
)

// Quicken bends a drivable line so that driving it takes less time, in at most n
// steps for each barrier.
//
// The speed at each knot is an unknown beside its offset: squared, as a share w
// of the cap's square, it makes gain and loss of speed linear in the distance
// and the side force a product, w·κ. Limits of speed are kept by barriers, so a
// step that eases a bend knows at once what all the knots that slow down for it
// gain; an interior point method, but for room and radius, which stay
// one-sided squares.
func (s *Solver) Quicken(line geom.Spline, sp Speeds, barriers []float64, n int) geom.Spline {
	s.whole()
	s.now = s.Body
	s.c = append(s.c[:0], line...)
	knobs := s.Knobs
	s.fast, s.w = &sp, s.w[:0]
	defer func() { s.Knobs, s.fast = knobs, nil }()
	s.Knobs.Bend, s.Knobs.Rate = quickBend, quickRate
	s.Knobs.Over *= firmly
	s.respace()
	for _, s.barrier = range barriers {
		s.Knobs.Hold = 0.5
		s.lower(n, 1e-5)
	}
	return append(geom.Spline(nil), s.c...)
}

// hasten takes the solved step in the speeds.
func (s *Solver) hasten(share float64) {
	const most = 0.2
	for i := range s.w {
		s.w[i] += most * math.Tanh(s.b.x[i*s.m+s.m-1]*share/most)
	}
}

// within brings the speeds within their limits, a little inside.
func (s *Solver) within() {
	sp := s.fast
	c2 := sp.Cap * sp.Cap
	n := len(s.c)
	in := 1 - min(slack, s.barrier)
	if len(s.w) != n {
		s.w = s.w[:0]
		for range n {
			s.w = append(s.w, 1)
		}
	}
	for i := 1; i < n-1; i++ {
		q := &s.k[i]
		f, k := sp.Right, q.kap
		if k < 0 {
			f, k = sp.Left, -k
		}
		s.w[i] = max(min(s.w[i], in, in*f/(c2*max(k, 1e-9))), slowest)
	}
	for i := 2; i < n-1; i++ {
		s.w[i] = min(s.w[i], s.w[i-1]+in*2*sp.Gain*s.k[i-1].apart(&s.k[i])/c2)
	}
	for i := n - 3; i > 0; i-- {
		s.w[i] = min(s.w[i], s.w[i+1]+in*2*sp.Loss*s.k[i].apart(&s.k[i+1])/c2)
	}
}

// apart is about the length of line from one knot to the next, m.
func (q *knot) apart(p *knot) float64 { return (q.len + p.len) / 2 }

// pull is what a metre of line costs at knot k: the inverse of its speed.
func (s *Solver) pull(k int) float64 {
	if k < s.from || k >= s.to {
		return unhurried
	}
	return 1 / math.Sqrt(s.w[k])
}

// bar adds a barrier: u must stay below 1. The row holds its derivative. What is
// left to 1 is returned.
func (s *Solver) bar(u float64, r *row, jac bool) (room float64) {
	room = max(1-u, 1e-9)
	if jac {
		s.b.add(r, room, s.barrier/(room*room))
	}
	return room
}

// hurry adds the time by the speeds, and what ties the speeds to the line.
func (s *Solver) hurry(jac bool) (cost float64) {
	sp := s.fast
	m := s.m
	n := len(s.c)
	c2 := sp.Cap * sp.Cap
	at := func(k int) int { return k*m + m - 1 }
	for k := 1; k < n-1; k++ {
		q, w := &s.k[k], s.w[k]
		if k < s.from || k >= s.to {
			// Not driven against the watch: the speed is whatever it was.
			if jac {
				s.b.diag(at(k), 1e3)
			}
			continue
		}
		if jac {
			// The time, by the speed: h·w^−½.
			x := 1 / math.Sqrt(w)
			s.b.g[at(k)] -= 0.5 * q.len * x / w
			s.b.diag(at(k), 0.75*q.len*x/(w*w)+speedHold*s.Knobs.Hold)
		}
		rooms := 1.0
		var r row
		r.n, r.idx[0], r.jac[0] = 1, at(k), 1
		rooms *= s.bar(w, &r, jac)
		for _, f := range [2]float64{sp.Right, -sp.Left} {
			g := c2 / f
			if jac {
				r.n = 4
				for j, v := range q.byKap {
					r.idx[j], r.jac[j] = (k-1+j)*m, v*w*g
				}
				r.idx[3], r.jac[3] = at(k), q.kap*g
			}
			rooms *= s.bar(w*q.kap*g, &r, jac)
		}
		if k+1 >= s.to || k+1 >= n-1 {
			cost -= s.barrier * math.Log(rooms)
			continue
		}
		p := &s.k[k+1]
		h := q.apart(p)
		for _, a := range [2]float64{sp.Gain, -sp.Loss} {
			g := c2 / (2 * a * h)
			u := (s.w[k+1] - w) * g
			if jac {
				// A longer step allows more: du/dh = −u/h.
				z := -u / h / 4
				r.n = 6
				r.idx[0], r.jac[0] = (k-1)*m, -z*q.t.Dot(s.nrm[k-1])
				r.idx[1], r.jac[1] = k*m, -z*p.t.Dot(s.nrm[k])
				r.idx[2], r.jac[2] = (k+1)*m, z*q.t.Dot(s.nrm[k+1])
				r.idx[3], r.jac[3] = (k+2)*m, z*p.t.Dot(s.nrm[k+2])
				r.idx[4], r.jac[4] = at(k), -g
				r.idx[5], r.jac[5] = at(k+1), g
			}
			rooms *= s.bar(u, &r, jac)
		}
		cost -= s.barrier * math.Log(rooms)
	}
	return cost
}
