package cones

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/geom"
)

// math angle, anticlockwise from +x, as the sources write poses.
func posed(x, y, a float64) Pose {
	s, c := math.Sincos(a)
	return Pose{geom.Vec{X: x, Y: y}, geom.Vec{X: c, Y: s}}
}

// Lengths of shortest bounded-curvature paths. Sources: the test suite of the
// Dubins.jl library (8.2725 ± 1e-3 and 4.0); the Open Motion Planning Library
// 1.5.2 for the rest.
func TestShortestAgainstPublishedLengths(t *testing.T) {
	pi := math.Pi
	for _, c := range []struct {
		from, to Pose
		r, want  float64
		word     string // "" where two tie
		tol      float64
	}{
		{posed(0, 0, 0), posed(5, 0, 3), 1, 8.272519, "RSL", 1e-6},
		{posed(0, 0, 0), posed(4, 0, 0), 1, 4, "", 1e-9},
		{posed(0, 0, pi/2), posed(4, 0, -pi/2), 1, pi + 2, "RSR", 1e-9},
		{posed(0, 0, 0), posed(0, 2, pi), 1, pi, "", 1e-9},
		{posed(0, 0, 0), posed(0, 0, pi), 1, 7 * pi / 3, "", 1e-9},
		{posed(0, 0, 0), posed(0, 1, pi), 1, 6.032530, "RLR", 1e-6},
		{posed(0, 0, 0), posed(4, 4, 0), 1, 5.854590, "LSR", 1e-6},
		{posed(0, 0, 0), posed(4, 4, pi/2), 1, 5.813437, "LSL", 1e-6},
		{posed(0, 0, 0), posed(-4, 0, 0), 1, 2*pi + 4, "", 1e-9},
		{posed(0, 0, 0), posed(10, 10, pi), 4, 22.764410, "LSL", 1e-6},
	} {
		p := Shortest(c.from, c.to, c.r)
		if math.Abs(p.Length()-c.want) > c.tol || c.word != "" && p.Word() != c.word {
			t.Errorf("%v → %v round %v: %.6f by %s, want %.6f by %s", c.from, c.to, c.r, p.Length(), p.Word(), c.want, c.word)
		}
	}
}

// All words from (0,0,0) to (5,0,3) round 1; the two of three arcs do not exist
// (same sources).
func TestWordsAgainstPublishedLengths(t *testing.T) {
	want := map[string]float64{"RSL": 8.272519, "LSR": 8.814587, "LSL": 14.533784, "RSR": 15.079191}
	for _, p := range words(posed(0, 0, 0), posed(5, 0, 3), 1) {
		if w, ok := want[p.Word()]; !ok || math.Abs(p.Length()-w) > 1e-6 {
			t.Errorf("%s is %.6f long, want %.6f", p.Word(), p.Length(), w)
		}
		delete(want, p.Word())
	}
	if len(want) > 0 {
		t.Errorf("not found: %v", want)
	}
	for _, p := range words(posed(0, 0, 0), posed(10, 0, 0), 1) {
		if p.Word() == "LRL" || p.Word() == "RLR" {
			t.Errorf("a path %s was found over 10 m round 1 m; there is none", p.Word())
		}
	}
}

// Every word ends where it should, facing as it should.
func TestWordsArrive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(n string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, n) }
		p := posed(f("x", -20, 20), f("y", -20, 20), f("a", -4, 4))
		q := posed(f("u", -20, 20), f("v", -20, 20), f("b", -4, 4))
		r := f("r", 0.5, 8)
		for _, w := range words(p, q, r) {
			e := w.At(w.Length())
			if e.At.Dist(q.At) > 1e-6 || e.Dir.Dist(q.Dir) > 1e-6 {
				t.Fatalf("%s ends at %v, want %v", w.Word(), e, q)
			}
		}
	})
}
