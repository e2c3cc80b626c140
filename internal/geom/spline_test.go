package geom

import (
	"math"
	"testing"
)

// The curve through points on a circle has the circle's curvature (defining
// property of the circle; the interpolation error of a cubic spline is O(h⁴)).
func TestSplineThroughACircleHasItsCurvature(t *testing.T) {
	const r = 4.0
	var pts []Vec
	for i := range 60 {
		pts = append(pts, Degrees(float64(i)*6).Dir().Mul(r)) // clockwise: turning right
	}
	s := Through(pts)
	for i := 20; i < 40; i++ {
		for _, f := range []float64{0, 0.3, 0.7} {
			p, d1, d2 := s.At(i, f)
			if k := Curvature(d1, d2); math.Abs(k-1/r) > 2e-3 {
				t.Fatalf("knot %d+%.1f: curvature %.5f, want %.5f to the right", i, f, k, 1/r)
			}
			if math.Abs(p.Len()-r) > 1e-4 {
				t.Fatalf("knot %d+%.1f: %.6f m from the centre, want %.1f", i, f, p.Len(), r)
			}
		}
	}
	for i, p := range pts {
		if s.Knot(i+1).Dist(p) > 1e-12 {
			t.Fatalf("knot %d does not pass through its point", i+1)
		}
	}
}

// Derivatives against central differences.
func TestSplineDerivatives(t *testing.T) {
	s := Spline{{0, 0}, {1, 0.2}, {2, -0.5}, {3.3, 1}, {4, 3}}
	const h = 1e-5
	for _, f := range []float64{0.2, 0.5, 0.9} {
		a, _, _ := s.At(1, f-h)
		b, d1, d2 := s.At(1, f)
		c, _, _ := s.At(1, f+h)
		if got := c.Sub(a).Mul(1 / (2 * h)); got.Dist(d1) > 1e-8 {
			t.Errorf("first derivative at %.1f: %v, differences give %v", f, d1, got)
		}
		if got := c.Sub(b).Sub(b.Sub(a)).Mul(1 / (h * h)); got.Dist(d2) > 1e-4 {
			t.Errorf("second derivative at %.1f: %v, differences give %v", f, d2, got)
		}
	}
}
