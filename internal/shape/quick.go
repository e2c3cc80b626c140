package shape

import (
	"math"

	"terret/internal/geom"
)

// Speeds is how fast the turnout may go, for lines that are to be quick rather
// than short: m/s and m/s².
type Speeds struct{ Cap, Left, Right, Gain, Loss float64 }

// Quicken bends a drivable line so that driving it takes less time, in n steps.
//
// The time of a line is a function of its knots' curvatures and of the lengths
// between them. Each step takes the exact derivative of that function, backwards
// through the forward and backward pass of the speeds, and weighs the line's
// length and curvature by it: metres weigh where they are driven slowly, and
// curvature only where it holds the speed down. Weights are blended from step
// to step, for where curvature is eased the next knot becomes the tightest.
func (s *Solver) Quicken(line geom.Spline, sp Speeds, n int) geom.Spline {
	s.wind, s.more, s.holdA, s.holdZ = nil, false, 0, 0
	s.now = s.Body
	s.c = append(s.c[:0], line...)
	hold, over := s.Knobs.Hold, s.Knobs.Over
	defer func() {
		s.Knobs.Hold, s.Knobs.Over = hold, over
		s.wl, s.wb = nil, nil
	}()
	s.Knobs.Hold, s.Knobs.Over = 3, over*firmly
	s.wl, s.wb = nil, nil
	for range n {
		if s.respace() {
			s.wl, s.wb = nil, nil
		}
		s.refresh()
		s.findPasses()
		s.weigh(sp)
		s.assemble(true)
		if !s.b.solve() {
			break
		}
		s.Iterations++
		s.move(1)
	}
	return append(geom.Spline(nil), s.c...)
}

// Least weights, so that the string keeps some tension and some stiffness
// everywhere.
const (
	leastLength = 0.15
	leastBend   = 2
	mostBend    = 25
	share       = 5 // knots to either side that a tight one shares its weight with
)

// weigh sets the weights of length and curvature at each knot from the
// derivative of the time.
func (s *Solver) weigh(sp Speeds) {
	n := len(s.c)
	fresh := len(s.wl) != n
	if fresh {
		s.wl, s.wb = make([]float64, n), make([]float64, n)
	}
	a, z := s.from, min(s.to, n-2)
	m := z - a + 1
	if m < 3 {
		return
	}
	buf := make([]float64, 5*m)
	v, h, dv, dh, dk := buf[:m], buf[m:2*m], buf[2*m:3*m], buf[3*m:4*m], buf[4*m:]
	const (
		byCap = iota
		byCurve
		byGain
		byLoss
	)
	why := make([]byte, m)
	for i := range m {
		q := &s.k[a+i]
		v[i] = sp.Cap
		f, k := sp.Right, q.kap
		if k < 0 {
			f, k = sp.Left, -k
		}
		if sp.Cap*sp.Cap*k > f {
			v[i], why[i] = math.Sqrt(f/k), byCurve
		}
		if i > 0 {
			h[i-1] = q.p.Dist(s.k[a+i-1].p)
		}
	}
	for i := 1; i < m; i++ {
		if w := v[i-1]*v[i-1] + 2*sp.Gain*h[i-1]; v[i]*v[i] > w {
			v[i], why[i] = math.Sqrt(w), byGain
		}
	}
	for i := m - 2; i >= 0; i-- {
		if w := v[i+1]*v[i+1] + 2*sp.Loss*h[i]; v[i]*v[i] > w {
			v[i], why[i] = math.Sqrt(w), byLoss
		}
	}
	for i := range m - 1 {
		t := v[i] + v[i+1]
		dh[i] += 2 / t
		dv[i] -= 2 * h[i] / (t * t)
		dv[i+1] -= 2 * h[i] / (t * t)
	}
	// Backwards: what came by braking first (it was settled last), then by gaining.
	for i := range m - 1 {
		if why[i] == byLoss {
			dv[i+1] += dv[i] * v[i+1] / v[i]
			dh[i] += dv[i] * sp.Loss / v[i]
		}
	}
	for i := m - 1; i > 0; i-- {
		if why[i] == byGain {
			dv[i-1] += dv[i] * v[i-1] / v[i]
			dh[i-1] += dv[i] * sp.Gain / v[i]
		}
	}
	for i := range m {
		if why[i] == byCurve {
			k := math.Abs(s.k[a+i].kap)
			// dT/dκ = dv·dT, v = √(f/κ); as a square: 2wκh = dT/dκ.
			dk[i] = -dv[i] * 0.5 * v[i] / k / (2 * k * max(s.k[a+i].len, 0.1))
		}
	}
	blend := 0.2
	if fresh {
		blend = 1
	}
	for i := range n {
		l, b := leastLength, s.Knobs.Bend
		if j := i - a; j >= 0 && j < m {
			var sum, cnt float64
			for d := -share; d <= share; d++ { // the tightest knot shares with its neighbours
				if x := j + d; x >= 0 && x < m {
					sum += dk[x]
					cnt++
				}
			}
			b = min(max(sum/cnt*sp.Cap, leastBend), mostBend)
			lo, hi := max(j-1, 0), min(j, m-2)
			l = max((dh[lo]+dh[hi])/2*sp.Cap, leastLength)
		}
		s.wl[i] += blend * (l - s.wl[i])
		s.wb[i] += blend * (b - s.wb[i])
	}
}
