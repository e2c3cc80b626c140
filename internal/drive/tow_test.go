package drive

import (
	"math"
	"testing"

	"terret/internal/geom"
)

const deg = math.Pi / 180

// Steady off-tracking, science sheet §3.1: R² − ΣL² ("sum of squares" form of
// the highway off-tracking literature; 3-4-5 triangles are exact).
func TestSteadyOffTracking(t *testing.T) {
	for _, c := range []struct {
		r              float64
		l              []float64
		axle, off, ang float64
		tol            float64
	}{
		{10, []float64{3}, 9.5394, 0.4606, 17.4576, 1e-4},
		{5, []float64{3}, 4, 1, 36.8699, 1e-4},
		{5, []float64{4}, 3, 2, 53.1301, 1e-4},
		{3.5, []float64{2.8}, 2.1, 1.4, 53.1301, 1e-4},
		{10, []float64{2.8, 1.8}, 9.4297, 0.5703, 16.2602, 1e-4},
		{12.8, []float64{6.1}, 11.2530, 1.5470, 28.4611, 1e-4},
	} {
		got, ok := SteadyRadius(c.r, c.l...)
		if !ok || math.Abs(got-c.axle) > c.tol || math.Abs(c.r-got-c.off) > c.tol {
			t.Errorf("R %v, L %v: axle on %.4f, want %.4f", c.r, c.l, got, c.axle)
		}
		if a := math.Asin(c.l[0]/c.r) / deg; math.Abs(a-c.ang) > 1e-4 {
			t.Errorf("R %v, L %v: hitch %.4f°, want %.4f°", c.r, c.l, a, c.ang)
		}
		// The same by towing round until it settles.
		lead, dirs := geom.Vec{X: -c.r}, make([]geom.Vec, len(c.l))
		for i := range dirs {
			dirs[i] = geom.Vec{Y: 1}
		}
		hitch := lead
		for a := 0.0; a < 12*math.Pi; a += 0.002 {
			next := geom.Vec{X: -c.r * math.Cos(a+0.002), Y: c.r * math.Sin(a+0.002)}
			from, to := hitch, next
			f, g := from, to
			for i, l := range c.l {
				old := dirs[i]
				dirs[i] = Tow(old, g.Sub(f), l)
				f, g = f.Along(old, -l), g.Along(dirs[i], -l)
			}
			hitch = next
		}
		end := hitch
		for i, l := range c.l {
			end = end.Along(dirs[i], -l)
		}
		if math.Abs(end.Len()-c.axle) > 2e-4 {
			t.Errorf("R %v, L %v: towed axle on %.5f, want %.4f", c.r, c.l, end.Len(), c.axle)
		}
	}
	if _, ok := SteadyRadius(3, 2.5, 2); ok {
		t.Error("R 3 with 2.5 + 2.0 m has no steady turn")
	}
}

// Transient off-tracking, science sheet §3.2: closed form of
// dψ/ds = 1/R − sin ψ/L, and the classical tractrix (gudermannian).
func TestTransientOffTracking(t *testing.T) {
	const h = 0.001
	for _, c := range []struct{ r, l, turned, psi, off float64 }{
		{10, 3, 30, 14.25503, 0.29301},
		{10, 3, 90, 17.34389, 0.45465},
		{10, 3, 180, 17.45683, 0.46057},
		{5, 3, 90, 33.01331, 0.79822},
		{5, 3, 180, 36.40509, 0.97566},
		{5, 4, 90, 41.10450, 1.16560},
		{3, 3, 90, 47.48947, 0.82486},
		{2.5, 3, 180, 75.08189, 1.63076},
	} {
		n := int(math.Ceil(c.turned * deg * c.r / h))
		da := c.turned * deg / float64(n)
		dir, lead := geom.Vec{Y: 1}, geom.Vec{X: -c.r}
		for i := 1; i <= n; i++ {
			a := da * float64(i)
			next := geom.Vec{X: -c.r * math.Cos(a), Y: c.r * math.Sin(a)}
			dir = Tow(dir, next.Sub(lead), c.l)
			lead = next
		}
		tangent := geom.Bearing(c.turned * deg).Dir()
		psi := math.Abs(math.Atan2(tangent.Cross(dir), tangent.Dot(dir))) / deg
		if math.Abs(psi-c.psi) > 1e-4 {
			t.Errorf("R %v L %v after %v°: hitch %.5f°, want %.5f°", c.r, c.l, c.turned, psi, c.psi)
		}
		if off := c.r - lead.Along(dir, -c.l).Len(); math.Abs(off-c.off) > 1e-5 {
			t.Errorf("R %v L %v after %v°: off-tracking %.5f, want %.5f", c.r, c.l, c.turned, off, c.off)
		}
	}
	for _, c := range []struct{ l, psi0, s, psi, lateral float64 }{
		{3, 30, 3, 11.2593, 0.5857}, {3, 30, 6, 4.1536, 0.2173}, {3, 30, 9, 1.5286, 0.0800}, {3, 90, 3, 40.3951, -1},
	} {
		dir := Tow(geom.Bearing(c.psi0*deg).Dir(), geom.Vec{Y: c.s}, c.l)
		psi := math.Atan2(dir.X, dir.Y)
		if math.Abs(psi/deg-c.psi) > 1e-4 {
			t.Errorf("straight %v m from %v°: %.4f°, want %.4f°", c.s, c.psi0, psi/deg, c.psi)
		}
		if lat := c.l * math.Sin(psi); c.lateral >= 0 && math.Abs(lat-c.lateral) > 1e-4 {
			t.Errorf("straight %v m from %v°: axle %.4f m aside, want %.4f", c.s, c.psi0, lat, c.lateral)
		}
	}
}
