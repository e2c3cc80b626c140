package sheet

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/survey"
	"terret/internal/turnout"
)

// printedAt is the clock of the tests.
var printedAt = time.Date(2026, 10, 3, 7, 40, 0, 0, time.UTC)

// meadow is a small plan with one of everything that has a sign of its own, one
// pair for In and Out, a post that is red for B and white for C, and a gate
// that is for one class only.
func meadow() *plan.Plan {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	pair := func(rx, ry, lx, ly float64) plan.Pair { return plan.Pair{Right: v(rx, ry), Left: v(lx, ly)} }
	return &plan.Plan{
		Name:   "Lower field",
		Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(60, 0), v(60, 40), v(0, 44)}},
		Things: []plan.Thing{
			{ID: "p1", Kind: plan.Post, At: v(20, 10), Radius: 0.06},
			{ID: "oak", Kind: plan.Tree, At: v(44, 33), Radius: 0.4},
			{ID: "r1", Kind: plan.Rail, Path: []geom.Vec{v(50, 20), v(54, 20), v(54, 24)}, Width: 0.12},
			{ID: "pond", Kind: "water", Outline: geom.Polygon{v(44, 4), v(52, 3), v(52, 9), v(45, 10)}},
			{ID: "ford", Kind: "water", Outline: geom.Polygon{v(24, 34), v(32, 34), v(32, 38)}, Drivable: true},
			{ID: "b1", Kind: "barrel", At: v(12, 32), Radius: 0.3},
		},
		Hazards: []plan.Hazard{{
			Name: "Hazard 1", MarkerRadius: 0.06,
			In: pair(6, 18, 6, 22), Out: pair(6, 22, 6, 18),
			Gates: []plan.Gate{
				{Letter: "A", Pair: pair(20, 14, 20, 18)},
				{Letter: "B", Pair: pair(38, 18, 34, 18)},
				{Letter: "C", Pair: pair(42, 18, 38, 18)},
				{Letter: "D", Pair: pair(30, 30, 30, 26), For: []string{"VSE"}},
			},
		}},
	}
}

// cob is an invented single with four wheels.
func cob() *turnout.Turnout {
	return &turnout.Turnout{
		Name: "Bay cob, four wheels", Hitch: turnout.Single, Size: turnout.HorseSize,
		Horse:   turnout.Horse{Nose: 1.3, Rump: 1.2, Width: 0.65},
		Vehicle: turnout.Vehicle{Wheels: 4, Track: 1.38, Hubs: 1.5, Shafts: 2.6, Wheelbase: 1.5, Body: 1.1, Lock: 1},
		Turning: turnout.Hands{Left: 3.5, Right: 4}, Pace: turnout.Pace{Speed: 3.6}, Margin: 0.05,
	}
}

// driven makes a way along straight pieces at 3 m/s, for drawing only: no
// turnout drives such corners. passes are the gates at the given points.
func driven(rank int, says string, passes []string, pts ...geom.Vec) hazard.Route {
	r := hazard.Route{Rank: rank, Way: fmt.Sprint(rank), Says: says, TurnedLeftDeg: 250, TurnedRightDeg: 90, ClearanceM: 0.14}
	s := 0.0
	for i := range pts {
		if i < len(passes) && passes[i] != "" {
			was := "live"
			if passes[i] == "in" || passes[i] == "out" {
				was = "due"
			}
			r.Passes = append(r.Passes, hazard.Pass{Gate: passes[i], Was: was, Forward: true, SM: s, TS: s / 3})
		}
		if i+1 == len(pts) {
			break
		}
		e := geom.Seg{A: pts[i], B: pts[i+1]}
		n := int(math.Ceil(e.Len() / 0.25))
		d := e.B.Sub(e.A).Unit()
		for k := range n {
			q := e.At(float64(k) / float64(n))
			at := s + e.Len()*float64(k)/float64(n)
			r.Samples = append(r.Samples, hazard.Sample{
				SM: at, TS: at / 3, Lead: hazard.Point{q.X, q.Y}, BearingDeg: d.Bearing().Deg(), SpeedMps: 3,
				Axles:           []hazard.Point{{q.X - 2.6*d.X, q.Y - 2.6*d.Y}, {q.X - 4.1*d.X, q.Y - 4.1*d.Y}},
				AxleBearingsDeg: []float64{d.Bearing().Deg(), d.Bearing().Deg()},
			})
		}
		s += e.Len()
	}
	last := pts[len(pts)-1]
	end := r.Samples[len(r.Samples)-1]
	end.SM, end.TS, end.Lead = s, s/3, hazard.Point{last.X, last.Y}
	r.Samples = append(r.Samples, end)
	r.LengthM, r.TimeS = s, s/3
	r.Tight = []hazard.Tight{{Thing: "A.right", Part: "rear hub", At: hazard.Point{20, 14.06}, SM: 17, ClearanceM: 0.14}}
	r.Turns = []hazard.Turn{{Hand: "left", Deg: 160, LeastRadiusM: 4.7, FromM: 20, ToM: 35, LostS: 0.4, Between: "A to B"}, {Hand: "right", Deg: 90, LeastRadiusM: 6.1, FromM: 40, ToM: 48, LostS: 0.1, Between: "C to out"}}
	return r
}

// answer has three ways through meadow: the third runs furthest from the first.
func answer() *hazard.Answer {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	gates := []string{"in", "A", "", "B", "", "", "C", "", "out"}
	way := func(d float64) []geom.Vec {
		return []geom.Vec{v(6, 20), v(20, 16), v(34, 12), v(36, 18), v(38, 24+d), v(46, 14), v(40, 18), v(34, 28+d), v(6, 20)}
	}
	a := &hazard.Answer{Hazard: "Hazard 1", Turnout: "Bay cob, four wheels", Through: "C", Routes: []hazard.Route{
		driven(1, "Quickest. Its sharpest turn is left of 4.7 m between A and B.", gates, way(0)...),
		driven(2, "Nearly the same: 1 m longer, 0.2 s slower.", gates, way(0.5)...),
		driven(3, "Wider out: 8 m longer, 2.7 s slower.", gates, way(5)...),
	}}
	return a
}

// input is the whole of an input for any kind.
func input(p *plan.Plan, paper Paper) Input {
	return Input{
		Plan: p, Hazard: &p.Hazards[0], Answer: answer(), Turnout: cob(),
		Event: "Hollowmere autumn schooling day", Version: "C", PrintedAt: printedAt, Paper: paper,
	}
}

// hazardKinds are the papers of a hazard alone.
var hazardKinds = []string{Drivers, Clinic, Builders}

// paddock is a small plan with a course of everything a course can have, and an
// arena: a pair with a gap of its own, one with a fixed gap, a weave, an oxer.
func paddock() *plan.Plan {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	woven := func(part string, x, y float64, pass string) plan.ConeGate {
		at := v(x, y)
		return plan.ConeGate{Number: 3, Part: part, Cone: &at, Pass: pass}
	}
	return &plan.Plan{
		Name:   "Home paddock",
		Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(90, 0), v(90, 50), v(0, 50)}},
		Arena:  &plan.Arena{Size: "20x40", At: v(20, 5)},
		Things: []plan.Thing{
			{ID: "bank", Kind: plan.Rail, Path: []geom.Vec{v(60, 30), v(66, 30)}, Width: 0.12},
			{ID: "barrel", Kind: "barrel", At: v(30, 25), Radius: 0.3},
		},
		Courses: []plan.Course{{
			Name: "Cones", ConeRadius: 0.2, Gap: plan.Gap{ClearanceCM: 30}, MeasureRadius: 5,
			SpeedMPerMin: map[string]float64{"default": 220, "vse": 180, "four": 200},
			Start:        plan.Pair{Right: v(6, 6), Left: v(6, 12)}, Finish: plan.Pair{Right: v(6, 46), Left: v(6, 40)},
			Gates: []plan.ConeGate{
				{Number: 2, At: v(75, 14), Bearing: geom.Degrees(80), Gap: &plan.Gap{ClearanceCM: 40}},
				{Number: 1, At: v(28, 9), Bearing: geom.Degrees(90)},
				woven("a", 70, 25, "left"), woven("b", 62, 25, "right"), woven("c", 54, 25, "left"),
				{Number: 4, Part: "a", At: v(30, 34), Bearing: geom.Degrees(275)},
				{Number: 4, Part: "b", At: v(27, 34.2), Bearing: geom.Degrees(275)},
				{Number: 5, At: v(50, 43), Bearing: geom.Degrees(270), Gap: &plan.Gap{FixedCM: 200}},
			},
		}},
	}
}

// inputs are what a paper can be drawn from of a plan.
func inputs(t testing.TB, k Kind, p *plan.Plan, paper Paper) (all []Input) {
	t.Helper()
	in := Input{Plan: p, Event: "Hollowmere autumn schooling day", Version: "C", PrintedAt: printedAt, Paper: paper}
	switch k.Turnouts {
	case OneTurnout:
		in.Answer, in.Turnout = answer(), cob()
	case AnyTurnouts:
		in.Turnouts = []*turnout.Turnout{cob()}
	}
	put := func(one Input, to survey.Target) {
		if k.Stakes {
			var err error
			if one.Stakes, err = survey.Stakes(survey.Question{Plan: p, Target: to}); err != nil {
				t.Fatal(err)
			}
		}
		all = append(all, one)
	}
	for i := range p.Hazards {
		if one := in; k.For(OfHazard) {
			one.Hazard = &p.Hazards[i]
			put(one, survey.Target{Hazard: p.Hazards[i].Name})
		}
	}
	for i := range p.Courses {
		if one := in; k.For(OfCourse) {
			one.Course = &p.Courses[i]
			put(one, survey.Target{Course: p.Courses[i].Name})
		}
	}
	if one := in; k.For(OfArena) && p.Arena != nil {
		one.Arena = true
		put(one, survey.Target{Arena: true})
	}
	if k.For(OfPlan) {
		put(in, survey.Target{})
	}
	return all
}

// recorder is a renderer that keeps what it is told.
type recorder struct {
	paths  []Path
	texts  []Text
	groups []Group
	depth  int
	inside []bool // of each text: whether a clip is open
}

func (r *recorder) Path(p Path) { r.paths = append(r.paths, p) }
func (r *recorder) Text(t Text) {
	r.texts = append(r.texts, t)
	r.inside = append(r.inside, r.depth > 0)
}
func (r *recorder) Begin(g Group) { r.groups = append(r.groups, g); r.depth++ }
func (r *recorder) End()          { r.depth-- }

func record(s *Scene) *recorder {
	var r recorder
	s.Draw(&r)
	return &r
}

// words are all words of a page, joined by lines.
func words(s *Scene) string {
	var b strings.Builder
	for _, t := range record(s).texts {
		b.WriteString(t.Words + "\n")
	}
	return b.String()
}

// examples are the plans that people start from.
func examples(t testing.TB) map[string]*plan.Plan {
	t.Helper()
	all := map[string]*plan.Plan{"meadow of the tests": meadow(), "paddock of the tests": paddock()}
	for _, glob := range []string{"../../examples/plans/*.yaml", "../../examples/demo/plans/*.yaml"} {
		files, err := filepath.Glob(glob)
		if err != nil || len(files) == 0 {
			t.Fatalf("no plans in %s (%v)", glob, err)
		}
		for _, f := range files {
			p, _, err := plan.Load(f)
			if err != nil {
				t.Fatal(err)
			}
			all[filepath.Base(f)] = p
		}
	}
	return all
}

// must gives the pages of a paper.
func must(t testing.TB, kind string, in Input) []Scene {
	t.Helper()
	pages, err := Draw(kind, in)
	if err != nil {
		t.Fatalf("%s: %v", kind, err)
	}
	if len(pages) == 0 {
		t.Fatalf("%s: no pages", kind)
	}
	return pages
}

// ruled is one of the profiles there are.
func ruled(t testing.TB, name string) *rules.Profile {
	t.Helper()
	p, err := rules.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
