package cones

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Whatever stands wherever (pairs on one another, back to front, against the
// fence, too close for any turnout), there is an answer, with numbers in it that
// JSON can write, and gates in it that are all ruled on.
func TestAnyCourseHasAnAnswer(t *testing.T) {
	r := profile(t)
	rigs := []*turnout.Turnout{rig(t, "vse-cart"), rig(t, "pair"), rig(t, "four-in-hand")}
	const most = 25 // what cannot be driven takes the solver longest: a few will do
	tried := 0
	rapid.Check(t, func(rt *rapid.T) {
		if tried++; tried > most {
			return
		}
		at := func(n string) geom.Vec { // on a coarse grid, so that things coincide
			return geom.Vec{X: 2 + 4*float64(rapid.IntRange(0, 13).Draw(rt, n)), Y: 2 + 4*float64(rapid.IntRange(0, 8).Draw(rt, n))}
		}
		pair := func(n string) plan.Pair {
			c, u := at(n), geom.Degrees(45*float64(rapid.IntRange(0, 7).Draw(rt, n))).Dir().Right()
			return plan.Pair{Right: c.Along(u, 1.5), Left: c.Along(u, -1.5)}
		}
		p := &plan.Plan{Name: "any", Ground: plan.Ground{Outline: geom.Polygon{{}, {X: 58}, {X: 58, Y: 40}, {Y: 40}}}}
		c := plan.Course{Name: "any", Start: pair("start"), Finish: pair("finish"), ConeRadius: 0.2, MeasureRadius: 5,
			Gap: plan.Gap{ClearanceCM: float64(rapid.IntRange(0, 60).Draw(rt, "gap"))}, SpeedMPerMin: map[string]float64{"default": 220}}
		for n := range rapid.IntRange(1, 6).Draw(rt, "gates") {
			g := plan.ConeGate{Number: n + 1, At: at("gate"), Bearing: geom.Degrees(45 * float64(rapid.IntRange(0, 7).Draw(rt, "bearing")))}
			if rapid.IntRange(0, 3).Draw(rt, "single") == 0 {
				g.Cone, g.Pass = &g.At, rapid.SampledFrom([]string{"left", "right"}).Draw(rt, "pass")
			}
			c.Gates = append(c.Gates, g)
		}
		if rapid.Bool().Draw(rt, "tree") {
			p.Things = append(p.Things, plan.Thing{ID: "t", Kind: plan.Tree, At: at("tree"), Radius: 0.5})
		}
		if rapid.Bool().Draw(rt, "rail") {
			p.Things = append(p.Things, plan.Thing{ID: "r", Kind: plan.Rail, Path: []geom.Vec{at("rail"), at("rail").Add(geom.Vec{X: 1})}, Width: 0.12})
		}
		p.Courses = []plan.Course{c}
		tt := rapid.SampledFrom(rigs).Draw(rt, "turnout")
		a, err := Drive(t.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{tt}, Rules: r})
		if err != nil {
			rt.Fatal(err)
		}
		if _, err := json.Marshal(a); err != nil {
			rt.Fatal(err)
		}
		d := &a.Turnouts[0]
		if len(d.Gates) != len(c.Gates) || !(a.CourseLengthM >= 0) || math.IsInf(a.CourseLengthM, 0) || !(d.DrivenM > 0) || len(d.Samples) < 2 {
			rt.Fatalf("%d of %d gates, course %v m, driven %v m, %d samples", len(d.Gates), len(c.Gates), a.CourseLengthM, d.DrivenM, len(d.Samples))
		}
		for _, g := range d.Gates {
			if g.Verdict != Fits && g.Verdict != Tight && g.Verdict != Touches || (g.Verdict == Fits) != (g.Why == "") {
				rt.Fatalf("gate %s: %q because %q", g.Gate, g.Verdict, g.Why)
			}
		}
	})
}
