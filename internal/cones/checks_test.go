package cones

import (
	"slices"
	"strings"
	"testing"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// row is a course that has nothing against it: three pairs in a row on a field.
func row() *plan.Plan {
	return &plan.Plan{
		Name:   "row",
		Ground: plan.Ground{Outline: geom.Polygon{{X: -20, Y: -60}, {X: 200, Y: -60}, {X: 200, Y: 60}, {X: -20, Y: 60}}},
		Courses: []plan.Course{{
			Name: "Cones", ConeRadius: 0.2, MeasureRadius: 5, Gap: plan.Gap{ClearanceCM: 30}, SpeedMPerMin: map[string]float64{"default": 220},
			Start:  plan.Pair{Right: geom.Vec{Y: -3}, Left: geom.Vec{Y: 3}},
			Finish: plan.Pair{Right: geom.Vec{X: 150, Y: -3}, Left: geom.Vec{X: 150, Y: 3}},
			Gates:  []plan.ConeGate{pairAt(1, 30, 0, 90), pairAt(2, 75, 0, 90), pairAt(3, 120, 0, 90)},
		}},
	}
}

func pairAt(n int, x, y, bearing float64) plan.ConeGate {
	return plan.ConeGate{Number: n, At: geom.Vec{X: x, Y: y}, Bearing: geom.Degrees(bearing)}
}

// Each rule is broken once, and said with its place and numbers; the same course
// unbroken has nothing said.
func TestChecks(t *testing.T) {
	r := profile(t)
	r.LengthLeast = 100 // a short course, for the test
	for _, c := range []struct {
		rule, gate, says string
		change           func(p *plan.Plan, c *plan.Course)
	}{
		{"", "", "", func(*plan.Plan, *plan.Course) {}},
		{"length", "", "the course is 90 m long, the rules have at least 100 m", func(_ *plan.Plan, c *plan.Course) {
			c.Finish = plan.Pair{Right: geom.Vec{X: 90, Y: -3}, Left: geom.Vec{X: 90, Y: 3}}
			c.Gates = c.Gates[:1]
			c.Gates = append(c.Gates, pairAt(2, 60, 0, 90))
		}},
		{"count", "", "the course has 21 obstacles, the rules have at most 20", func(p *plan.Plan, c *plan.Course) {
			p.Ground.Outline = geom.Polygon{{X: -20, Y: -60}, {X: 700, Y: -60}, {X: 700, Y: 60}, {X: -20, Y: 60}}
			c.Gates = nil
			for i := range 21 {
				c.Gates = append(c.Gates, pairAt(i+1, 30+30*float64(i), 0, 90))
			}
			c.Finish = plan.Pair{Right: geom.Vec{X: 660, Y: -3}, Left: geom.Vec{X: 660, Y: 3}}
		}},
		{"start-distance", "start", "from the start to 1 are 10.0 m, the rules have 20 to 40 m", func(_ *plan.Plan, c *plan.Course) { c.Gates[0].At.X = 10 }},
		{"finish-distance", "finish", "from 3 to the finish are 45.0 m, the rules have 20 to 40 m", func(_ *plan.Plan, c *plan.Course) { c.Gates[2].At.X = 105 }},
		{"clearance", "2", "the cones of 2 stand 10 cm over the track, the rules have 20 to 60 cm", func(_ *plan.Plan, c *plan.Course) { c.Gates[1].Gap = &plan.Gap{ClearanceCM: 10} }},
		{"pairs-close", "1", "1 and 2 are 9.9 m apart, singles and pairs want 12 m", func(_ *plan.Plan, c *plan.Course) { c.Gates[1].At.X = 39.99 }},
		{"cones-shared", "1", "1 and 4 stand on one cone", func(_ *plan.Plan, c *plan.Course) {
			c.Gates = append(c.Gates, pairAt(4, 30, 0, 270))
			c.Finish = plan.Pair{Right: geom.Vec{X: 0, Y: 3}, Left: geom.Vec{X: 0, Y: -3}}
		}},
		{"next-hidden", "2", "from 1 the number 2 is hidden by shed", func(p *plan.Plan, _ *plan.Course) {
			p.Things = []plan.Thing{{ID: "shed", Kind: "building", Outline: geom.Polygon{{X: 50, Y: -4}, {X: 54, Y: -4}, {X: 54, Y: 4}, {X: 50, Y: 4}}}}
		}},
		{"next-behind", "2", "from 1 the number 2 is seen from its back: the gate is turned 180° away", func(_ *plan.Plan, c *plan.Course) { c.Gates[1].Bearing = geom.Degrees(270) }},
		{"no-straight", "2", "the line to 2 still turns", func(_ *plan.Plan, c *plan.Course) { c.Gates[1].Bearing = geom.Degrees(0) }},
		{"tight-leg", "2", "from 1 to 2 the line turns round", func(_ *plan.Plan, c *plan.Course) { c.Gates[1] = pairAt(2, 34, 2, 0) }},
		{"line-through-pair", "3", "the natural line from 2 to 3 goes through 1", func(_ *plan.Plan, c *plan.Course) {
			c.Gates = []plan.ConeGate{pairAt(1, 75, 0, 90), pairAt(2, 30, 0, 90), pairAt(3, 120, 0, 90)}
		}},
		{"multiples", "2a", "number 2 has 5 parts, the rules have at most 4", func(_ *plan.Plan, c *plan.Course) {
			m, err := Place(Serpentine, Spot{2, geom.Vec{X: 60}, geom.Degrees(90), ToLeft}, Size{Parts: 5, Spacing: 7})
			if err != nil {
				t.Fatal(err)
			}
			c.Gates = append([]plan.ConeGate{c.Gates[0], c.Gates[2]}, m.Gates...)
		}},
		{"multiples", "2a", "number 2 is 36.0 m long from its first part to its last, the rules have at most 30 m", func(_ *plan.Plan, c *plan.Course) {
			c.Gates[1] = plan.ConeGate{Number: 2, Part: "a", At: geom.Vec{X: 60}, Bearing: geom.Degrees(90)}
			c.Gates = append(c.Gates, plan.ConeGate{Number: 2, Part: "b", At: geom.Vec{X: 96}, Bearing: geom.Degrees(90)})
		}},
		{"bends-uneven", "", "to the left and 0° to the right", func(_ *plan.Plan, c *plan.Course) {
			c.Gates = []plan.ConeGate{pairAt(1, 30, 0, 90), pairAt(2, 90, 25, 270), pairAt(3, 60, -20, 90), pairAt(4, 100, 30, 270)}
			c.Finish = plan.Pair{Right: geom.Vec{X: 70, Y: 33}, Left: geom.Vec{X: 70, Y: 27}}
		}},
	} {
		p := row()
		c.change(p, &p.Courses[0])
		list := CheckCourse(p, &p.Courses[0], r, nil)
		if c.rule == "" {
			for _, k := range list {
				t.Errorf("nothing is wrong, and it says %s: %s", k.Rule, k.Says)
			}
			continue
		}
		i := slices.IndexFunc(list, func(k Check) bool { return k.Rule == c.rule && strings.Contains(k.Says, c.says) })
		if i < 0 {
			t.Errorf("%s is not said; %+v", c.rule, list)
			continue
		}
		if list[i].Gate != c.gate || list[i].Hint == "" {
			t.Errorf("%s is said of %q, want %q; hint %q", c.rule, list[i].Gate, c.gate, list[i].Hint)
		}
	}
}

// Fours want more room between unrelated pairs than singles.
func TestPairsCloseForFours(t *testing.T) {
	p := row()
	p.Courses[0].Gates[1].At.X = 43.5
	r := profile(t)
	said := func(hitch string) bool {
		return slices.ContainsFunc(CheckCourse(p, &p.Courses[0], r, []*turnout.Turnout{{Hitch: hitch}}), func(c Check) bool { return c.Rule == "pairs-close" })
	}
	if said(turnout.Single) || !said(turnout.Four) {
		t.Errorf("13.5 m between two pairs: said for a single %v, for a four %v", said(turnout.Single), said(turnout.Four))
	}
}
