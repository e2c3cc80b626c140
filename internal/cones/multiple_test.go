package cones

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

func placed(t *testing.T, k Kind, hand Hand, z Size) Multiple {
	t.Helper()
	m, err := Place(k, Spot{Number: 4, At: geom.Vec{X: 10, Y: 20}, Bearing: geom.Degrees(90), Hand: hand}, z)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Where the parts of each kind stand, come to on bearing 90 (east) at (10, 20)
// and turning to the right (south) first.
func TestPlace(t *testing.T) {
	type at struct{ x, y, bearing float64 }
	for _, c := range []struct {
		kind   Kind
		size   Size
		want   []at // pairs; bearing −1, −2: a cone on the right, on the left
		things int
	}{
		{Oxer, Size{Spacing: 2}, []at{{10, 20, 90}, {12, 20, 90}}, 0},
		{Serpentine, Size{Parts: 4, Spacing: 7}, []at{{10, 20, -1}, {17, 20, -2}, {24, 20, -1}, {31, 20, -2}}, 0},
		{ZigZag, Size{Parts: 3, Spacing: 9, Offset: 2}, []at{{10, 20, 90}, {19, 18, 90}, {28, 20, 90}}, 0},
		{Wave, Size{Parts: 3, Spacing: 6, Offset: 0.5}, []at{{10, 20, 90 + deg(math.Atan(0.5*math.Pi/12))}, {16, 19.5, 90}, {22, 20, 90 - deg(math.Atan(0.5*math.Pi/12))}}, 0},
		{LShape, Size{Spacing: 8, Width: 4}, []at{{10, 20, 90}, {18, 12, 180}}, 2},
		{UShape, Size{Spacing: 12, Width: 4, Offset: 10}, []at{{10, 20, 90}, {22, 15, 180}, {10, 10, 270}}, 2},
		{Box, Size{Spacing: 12, Width: 3}, []at{{10, 20, 90}, {16, 14, 180}}, 2},
		{Bridge, Size{Spacing: 5, Width: 2.5}, []at{{10 - mouth, 20, 90}, {15 + mouth, 20, 90}}, 3},
	} {
		m := placed(t, c.kind, ToRight, c.size)
		if len(m.Gates) != len(c.want) || len(m.Things) != c.things {
			t.Fatalf("%s: %d gates and %d things, want %d and %d", c.kind, len(m.Gates), len(m.Things), len(c.want), c.things)
		}
		for i, g := range m.Gates {
			w := c.want[i]
			pos := g.At
			if g.Cone != nil {
				pos = *g.Cone
			}
			if pos.Dist(geom.Vec{X: w.x, Y: w.y}) > 1e-9 {
				t.Errorf("%s %s stands at %v, want (%v, %v)", c.kind, g, pos, w.x, w.y)
			}
			switch {
			case w.bearing == -1 && g.Pass != "right", w.bearing == -2 && g.Pass != "left":
				t.Errorf("%s %s is passed on the %s", c.kind, g, g.Pass)
			case w.bearing >= 0 && math.Abs(geom.Norm(float64(g.Bearing-geom.Degrees(w.bearing)))) > 1e-9:
				t.Errorf("%s %s is driven on bearing %v, want %v", c.kind, g, g.Bearing.Deg(), w.bearing)
			}
			if g.Number != 4 || g.Part != string(rune('a'+i)) {
				t.Errorf("%s: part %d is called %s", c.kind, i+1, g)
			}
		}
	}
}

// The same to the left is the mirror image, and red is still on the driver's
// right: what was the place of the white cone is now that of the red one.
func TestToTheLeft(t *testing.T) {
	axis := Pose{At: geom.Vec{X: 10, Y: 20}, Dir: geom.Degrees(90).Dir()}
	mirrored := func(v geom.Vec) geom.Vec { return geom.Vec{X: v.X, Y: 40 - v.Y} }
	for _, k := range Kinds() {
		z := Usual(k, turnout.PairH, turnout.HorseSize)
		r, l := placed(t, k, ToRight, z), placed(t, k, ToLeft, z)
		both := func(m Multiple) *layout {
			p := &plan.Plan{Ground: plan.Ground{Outline: geom.Polygon{{X: -99, Y: -99}, {X: 99, Y: -99}, {X: 99, Y: 99}, {X: -99, Y: 99}}}}
			c := plan.Course{ConeRadius: 0.2, Gap: plan.Gap{FixedCM: 180}, Gates: m.Gates,
				Start: plan.Pair{Right: geom.Vec{X: -20, Y: 17}, Left: geom.Vec{X: -20, Y: 23}}, Finish: plan.Pair{Right: geom.Vec{X: 90, Y: 17}, Left: geom.Vec{X: 90, Y: 23}}}
			return newLayout(p, &c, nil)
		}
		a, b := both(r), both(l)
		for i := range a.steps {
			s, q := &a.steps[i], &b.steps[i]
			if s.flags {
				continue
			}
			if q.right.Dist(mirrored(s.left)) > 1e-9 || q.left.Dist(mirrored(s.right)) > 1e-9 || s.side != -q.side {
				t.Errorf("%s %s: cones at %v and %v, mirrored at %v and %v", k, s.name, s.left, s.right, q.left, q.right)
			}
			if q.pose.Dir.Right().Dot(q.right.Sub(q.left)) <= 0 {
				t.Errorf("%s %s: red is not on the driver's right", k, s.name)
			}
		}
		for i := range r.Things {
			for j, v := range r.Things[i].Path {
				if l.Things[i].Path[j].Dist(mirrored(v)) > 1e-9 {
					t.Errorf("%s: rail %d is not mirrored", k, i+1)
				}
			}
		}
		twice := Mirror(Mirror(r, axis), axis)
		for i := range r.Gates {
			if twice.Gates[i].At.Dist(r.Gates[i].At) > 1e-9 || twice.Gates[i].Pass != r.Gates[i].Pass {
				t.Errorf("%s: mirrored twice it is another", k)
			}
		}
	}
}

// The usual sizes are within what is read or remembered of them.
func TestUsual(t *testing.T) {
	for _, c := range []struct {
		kind        Kind
		hitch, size string
		lo, hi      float64
	}{
		{Serpentine, turnout.Single, turnout.HorseSize, 6, 8},
		{Serpentine, turnout.PairH, turnout.HorseSize, 8, 10},
		{Serpentine, turnout.Four, turnout.HorseSize, 10, 12},
		{Serpentine, turnout.Single, turnout.VSE, 4, 6},
		{ZigZag, turnout.Four, turnout.HorseSize, 10, 12},
		{ZigZag, turnout.Single, turnout.Pony, 8, 9},
		{Wave, turnout.Single, turnout.Pony, 3, 6},
		{Wave, turnout.Four, turnout.HorseSize, 4, 8},
	} {
		if s := Usual(c.kind, c.hitch, c.size).Spacing; s < c.lo || s > c.hi {
			t.Errorf("%s for a %s %s: %v m, want %v to %v m", c.kind, c.size, c.hitch, s, c.lo, c.hi)
		}
	}
	for _, k := range Kinds() {
		for _, h := range []string{turnout.Single, turnout.PairH, turnout.Tandem, turnout.Four} {
			for _, s := range []string{turnout.VSE, turnout.Pony, turnout.HorseSize} {
				if _, err := Place(k, Spot{1, geom.Vec{}, 0, ToLeft}, Usual(k, h, s)); err != nil {
					t.Errorf("the usual %s for a %s %s: %v", k, s, h, err)
				}
			}
		}
	}
}

func TestPlaceRefuses(t *testing.T) {
	good := Spot{Number: 1, Hand: ToRight}
	nan := math.NaN()
	for want, c := range map[string]struct {
		kind Kind
		spot Spot
		size Size
	}{
		"no kind of multiple":        {"spiral", good, Size{Spacing: 5}},
		"no hand":                    {Oxer, Spot{Number: 1, Hand: "up"}, Size{Spacing: 5}},
		"its spacing is NaN m":       {Oxer, good, Size{Spacing: nan}},
		"its spacing is 0 m":         {Serpentine, good, Size{Parts: 4}},
		"it has 30 parts":            {Serpentine, good, Size{Parts: 30, Spacing: 7}},
		"it has 1 parts":             {ZigZag, good, Size{Parts: 1, Spacing: 7}},
		"its offset is -1 m":         {ZigZag, good, Size{Parts: 3, Spacing: 7, Offset: -1}},
		"its width is 9 m":           {LShape, good, Size{Spacing: 8, Width: 9}},
		"its offset from lane":       {UShape, good, Size{Spacing: 8, Width: 4, Offset: 3}},
		"0 is no gate's number":      {Oxer, Spot{Hand: ToLeft}, Size{Spacing: 5}},
		"its place is no number":     {Oxer, Spot{Number: 1, At: geom.Vec{X: nan}, Hand: ToLeft}, Size{Spacing: 5}},
		"its width is 0 m":           {Bridge, good, Size{Spacing: 5}},
		"its width is +Inf m":        {Box, good, Size{Spacing: 5, Width: math.Inf(1)}},
		"its spacing is -3 m":        {Wave, good, Size{Parts: 3, Spacing: -3}},
		"its offset is 1e+99 m":      {Wave, good, Size{Parts: 3, Spacing: 3, Offset: 1e99}},
		"1000 is no gate's number":   {Oxer, Spot{Number: 1000, Hand: ToLeft}, Size{Spacing: 5}},
		"its offset from lane to la": {UShape, good, Size{Spacing: 8, Width: 4, Offset: 99}},
	} {
		m, err := Place(c.kind, c.spot, c.size)
		var f *fault.Fault
		if !errors.As(err, &f) || !strings.Contains(f.Message, want) || f.Hint == "" || m.Gates != nil {
			t.Errorf("%q: %v", want, err)
		}
	}
}

// Whatever is not refused is a course that a plan takes.
func TestWhatIsPlacedCanBePlanned(t *testing.T) {
	tried, taken := 0, 0
	defer func() {
		if taken*20 < tried || taken == 0 {
			t.Errorf("only %d of %d were not refused: next to nothing was tried", taken, tried)
		}
	}()
	rapid.Check(t, func(rt *rapid.T) {
		tried++
		f := func(n string) float64 { return rapid.Float64Range(-5, 60).Draw(rt, n) }
		k := rapid.SampledFrom(Kinds()).Draw(rt, "kind")
		h := rapid.SampledFrom([]Hand{ToLeft, ToRight}).Draw(rt, "hand")
		m, err := Place(k, Spot{1, geom.Vec{X: f("x"), Y: f("y")}, geom.Degrees(f("b") * 6), h},
			Size{rapid.IntRange(1, 28).Draw(rt, "parts"), rapid.Float64Range(0, 52).Draw(rt, "spacing"), rapid.Float64Range(-1, 22).Draw(rt, "offset"), rapid.Float64Range(0, 12).Draw(rt, "width")})
		if err != nil {
			return
		}
		taken++
		p := &plan.Plan{Name: "p", Ground: plan.Ground{Outline: geom.Polygon{{X: -2000, Y: -2000}, {X: 2000, Y: -2000}, {X: 2000, Y: 2000}, {X: -2000, Y: 2000}}}, Things: m.Things}
		p.Courses = []plan.Course{{Name: "c", ConeRadius: 0.2, Gap: plan.Gap{FixedCM: 180}, MeasureRadius: 5, SpeedMPerMin: map[string]float64{"default": 220}, Gates: m.Gates,
			Start: plan.Pair{Right: geom.Vec{X: -1500, Y: -3}, Left: geom.Vec{X: -1500, Y: 3}}, Finish: plan.Pair{Right: geom.Vec{X: 1500, Y: -3}, Left: geom.Vec{X: 1500, Y: 3}}}}
		for _, q := range p.Validate() {
			if !q.Warning {
				rt.Fatalf("%s %+v: %s: %s", k, m, q.Path, q.Message)
			}
		}
	})
}
