package cones

import (
	"math"

	"terret/internal/geom"
	"terret/internal/turnout"
)

const (
	// easeTo is the share of the least radius that a line is eased to, a little
	// more than the measure will ask.
	easeTo = 0.998
	// easeMost is how far beyond the least radius a bend may be and still be eased:
	// more is not a hair, and belongs to the solver.
	easeMost = 1.15
	// easeHold and easeHoldFar weigh moving a control point within easeNear metres of
	// a pair, and elsewhere, beside easeFirm, which weighs curvature.
	easeHold    = 30.
	easeHoldFar = 1.
	easeNear    = 3.
	easeFirm    = 1e6
	easeRounds  = 20
)

// ease takes off what a line bends beyond the least radius, moving it as little
// as can be, and next to nothing near the pairs. The solver looks at wheels only
// at its knots; where a wheel comes into view and goes between two knots it may
// stop a hair short of the radius. This is a smooth problem in the line alone:
// offsets y of the control points with least Σ h·y² + firm·Σ (κ − κmax)₊², by
// Gauss–Newton with five diagonals.
func (l *layout) ease(line geom.Spline, t *turnout.Turnout) geom.Spline {
	kl, kr := 1/(t.Turning.Left*easeTo), 1/(t.Turning.Right*easeTo)
	n := len(line)
	c := append(geom.Spline(nil), line...)
	over := make([]float64, n)
	look := func() bool {
		found := false
		for i := 1; i+1 < n; i++ {
			k := geom.Curvature(c.KnotDeriv(i))
			over[i] = 0
			switch {
			case k > kr && k < kr*easeMost:
				over[i] = k - kr
			case k < -kl && k > -kl*easeMost:
				over[i] = k + kl
			}
			found = found || over[i] != 0
		}
		return found
	}
	if !look() {
		return c
	}
	hold := make([]float64, n)
	for i := range hold {
		hold[i] = easeHoldFar
		for j := range l.steps {
			if l.steps[j].pose.At.Sub(c[i]).Len2() < easeNear*easeNear {
				hold[i] = easeHold
				break
			}
		}
	}
	var m five
	for range easeRounds {
		m.reset(hold)
		for i := 2; i+2 < n; i++ {
			if over[i] == 0 {
				continue
			}
			d1, _ := c.KnotDeriv(i)
			q := 1 / d1.Len2()
			m.add(i, q, -2*q, q, over[i], easeFirm)
		}
		y := m.solve()
		for i := 2; i+2 < n; i++ {
			d1, _ := c.KnotDeriv(i)
			c[i] = c[i].Along(d1.Unit().Right(), math.Max(-0.1, math.Min(0.1, y[i])))
		}
		if !look() {
			break
		}
	}
	return c
}

// five is a symmetric positive definite system with five diagonals: d on the
// main one, e next to it, f beside that.
type five struct{ d, e, f, g []float64 }

func (m *five) reset(diag []float64) {
	n := len(diag)
	m.d = append(m.d[:0], diag...)
	if len(m.e) != n {
		m.e, m.f, m.g = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	clear(m.e)
	clear(m.f)
	clear(m.g)
}

// add puts weight·(a·y[i−1] + b·y[i] + c·y[i+1] + residual)² into the system.
func (m *five) add(i int, a, b, c, residual, weight float64) {
	m.d[i-1] += weight * a * a
	m.d[i] += weight * b * b
	m.d[i+1] += weight * c * c
	m.e[i-1] += weight * a * b // between i−1 and i
	m.e[i] += weight * b * c
	m.f[i-1] += weight * a * c // between i−1 and i+1
	m.g[i-1] -= weight * a * residual
	m.g[i] -= weight * b * residual
	m.g[i+1] -= weight * c * residual
}

// solve factors the system as L·D·Lᵀ in place and returns the unknowns.
func (m *five) solve() []float64 {
	n := len(m.d)
	for i := range n {
		if i+1 < n {
			p := m.e[i] / m.d[i]
			q := 0.0
			if i+2 < n {
				q = m.f[i] / m.d[i]
				m.e[i+1] -= q * m.e[i]
				m.d[i+2] -= q * m.f[i]
				m.g[i+2] -= q * m.g[i]
			}
			m.d[i+1] -= p * m.e[i]
			m.g[i+1] -= p * m.g[i]
			m.e[i], m.f[i] = p, q
		}
	}
	for i := n - 1; i >= 0; i-- {
		m.g[i] /= m.d[i]
		if i+1 < n {
			m.g[i] -= m.e[i] * m.g[i+1]
		}
		if i+2 < n {
			m.g[i] -= m.f[i] * m.g[i+2]
		}
	}
	return m.g
}
