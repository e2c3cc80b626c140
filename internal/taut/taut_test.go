package taut

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/geom"
)

// Science sheet §6.4: shortest way round discs, closed forms; the disc at (8,1)
// was checked there against the hull of a 200 000-gon.
func TestShortestRoundOneDisc(t *testing.T) {
	for _, c := range []struct {
		a, b geom.Vec
		d    Disc
		want []float64
	}{
		{geom.Vec{X: -10}, geom.Vec{X: 10}, Disc{R: 3}, []float64{20.906940, 20.906940}},
		{geom.Vec{X: -6}, geom.Vec{X: 6}, Disc{R: 2}, []float64{12.673056, 12.673056}},
		{geom.Vec{X: -5}, geom.Vec{X: 5}, Disc{R: 1}, []float64{10.200675, 10.200675}},
		{geom.Vec{}, geom.Vec{X: 20}, Disc{geom.Vec{X: 8, Y: 1}, 3}, []float64{20.421920, 21.666898}},
	} {
		g := New([]Disc{c.d}, nil, nil, []geom.Vec{c.a, c.b})
		got := g.Shortest(0, 1, 0, 5, 10, 100)
		if len(got) < 2 {
			t.Fatalf("%v: %d strings, want both sides", c.d, len(got))
		}
		for i, w := range c.want {
			if math.Abs(got[i].Length-w) > 1e-6 {
				t.Errorf("%v: string %d is %.6f m, want %.6f", c.d, i, got[i].Length, w)
			}
		}
		if got[0].Wraps[0].Right == got[1].Wraps[0].Right {
			t.Errorf("%v: both strings go the same way round", c.d)
		}
	}
}

// Science sheet §6.4: tangents of discs of 3 m and 2 m, centres 10 m apart:
// outer 9.949874, inner 8.660254 (5√3).
func TestTangentsOfTwoDiscs(t *testing.T) {
	g := New([]Disc{{geom.Vec{}, 3}, {geom.Vec{X: 10}, 2}}, nil, nil, nil)
	var got []float64
	for _, n := range g.nodes {
		if n.depart && n.disc == 0 {
			got = append(got, n.length)
		}
	}
	if len(got) != 4 {
		t.Fatalf("%d tangents, want 4", len(got))
	}
	var outer, inner int
	for _, l := range got {
		switch {
		case math.Abs(l-9.949874) < 1e-6:
			outer++
		case math.Abs(l-8.660254) < 1e-6:
			inner++
		}
	}
	if outer != 2 || inner != 2 {
		t.Errorf("tangents %v, want two of 9.949874 and two of 8.660254", got)
	}
}

// Science sheet §6.6: n posts met one after another, no loops: 2ⁿ classes.
func TestPostsInARowGiveTwoToTheNClasses(t *testing.T) {
	for n := 1; n <= 5; n++ {
		var discs []Disc
		for i := range n {
			// Staggered, so that no tangent touches a third disc by accident.
			discs = append(discs, Disc{geom.Vec{X: float64(i+1) * 10, Y: 0.1 * float64(i%3)}, 1})
		}
		g := New(discs, nil, nil, []geom.Vec{{}, {X: float64(n+1) * 10}})
		// Loops cost at least the rim, 2π m; the plain ways differ by less.
		got := g.Shortest(0, 1, 0, 200, 0, 2.5)
		keys := map[string]bool{}
		for _, s := range got {
			key := make([]byte, n)
			for i, d := range discs {
				// Which side: the string's height where it goes by.
				for j := 1; j < len(s.Points); j++ {
					a, b := s.Points[j-1], s.Points[j]
					if a.X <= d.At.X && b.X > d.At.X {
						y := a.Y + (b.Y-a.Y)*(d.At.X-a.X)/(b.X-a.X)
						key[i] = 'a'
						if y < d.At.Y {
							key[i] = 'b'
						}
					}
				}
			}
			keys[string(key)] = true
		}
		if len(keys) != 1<<n || len(got) != 1<<n {
			t.Errorf("%d posts: %d strings in %d classes, want %d", n, len(got), len(keys), 1<<n)
		}
	}
}

func TestClosedLineIsNotCrossed(t *testing.T) {
	line := geom.Seg{A: geom.Vec{X: 5, Y: -2}, B: geom.Vec{X: 5, Y: 2}}
	discs := []Disc{{line.A, 0.5}, {line.B, 0.5}}
	g := New(discs, nil, []geom.Seg{line}, []geom.Vec{{}, {X: 10}})
	if got := g.Shortest(0, 1, 0, 1, 1, 10); math.Abs(got[0].Length-10) > 1e-9 {
		t.Errorf("open: %.3f m, want straight through", got[0].Length)
	}
	got := g.Shortest(0, 1, 1, 2, 1, 10)
	for _, s := range got {
		if s.Length < 10.5 {
			t.Errorf("closed: %.3f m goes through", s.Length)
		}
	}
	if len(got) < 2 {
		t.Errorf("closed: %d ways, want round either post", len(got))
	}
}

// Whatever stands about, no string crosses a closed line, and the open line is
// crossed where that is shorter: the tangents of a disc that is left by an arc
// are looked at too, not only those first met.
func TestNoStringCrossesAClosedLine(t *testing.T) {
	crossed := 0
	rapid.Check(t, func(t *rapid.T) {
		line := geom.Seg{A: geom.Vec{X: 10, Y: -3}, B: geom.Vec{X: 10, Y: 3}}
		discs := []Disc{{line.A, 0.5}, {line.B, 0.5}}
		for i := range rapid.IntRange(1, 4).Draw(t, "discs") {
			// On either side of the line, clear of it and of the ends.
			x := rapid.Float64Range(3, 8).Draw(t, fmt.Sprint("x", i))
			if rapid.Bool().Draw(t, fmt.Sprint("beyond", i)) {
				x += 9
			}
			discs = append(discs, Disc{geom.Vec{X: x, Y: rapid.Float64Range(-4, 4).Draw(t, fmt.Sprint("y", i))}, rapid.Float64Range(0.2, 0.9).Draw(t, fmt.Sprint("r", i))})
		}
		g := New(discs, nil, []geom.Seg{line}, []geom.Vec{{}, {X: 20}})
		crosses := func(s String) bool {
			for j := 1; j < len(s.Points); j++ {
				a, b := s.Points[j-1], s.Points[j]
				if (a.X-10)*(b.X-10) >= 0 {
					continue
				}
				if y := a.Y + (b.Y-a.Y)*(10-a.X)/(b.X-a.X); math.Abs(y) < 3 {
					return true
				}
			}
			return false
		}
		for _, s := range g.Shortest(0, 1, 1, 20, 1, 10) {
			if crosses(s) {
				t.Fatalf("a string of %.3f m crosses the closed line: %v", s.Length, s.Points)
			}
		}
		for _, s := range g.Shortest(0, 1, 0, 20, 1, 10) {
			if crosses(s) {
				crossed++
			}
		}
	})
	if crossed == 0 {
		t.Error("no string crossed the open line: nothing was tried")
	}
}
