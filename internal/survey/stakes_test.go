package survey

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
)

func load(t *testing.T, file string) *plan.Plan {
	t.Helper()
	p, _, err := plan.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func planOf(t *testing.T, text string) *plan.Plan {
	t.Helper()
	p, _, err := plan.Decode("plan.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func stakesOf(t *testing.T, q Question) *StakeList {
	t.Helper()
	l, err := Stakes(q)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

const posts = `terret: plan/1
name: Posts
ground: {outline: [[0, 0], [100, 0], [100, 60], [0, 60]]}
things:
`

// Closed forms: the 3-4-5 family (6, 8, 10 and 60, 80, 100), either side.
func TestTwoTapesClosedForm(t *testing.T) {
	for _, c := range []struct{ l, r, s, x, y float64 }{{10, 6, 8, 3.6, 4.8}, {100, 80, 60, 64, 48}} {
		p, q, ok := Crossing(geom.Vec{}, geom.Vec{X: c.l}, c.r, c.s)
		if !ok || p.Dist(geom.Vec{X: c.x, Y: c.y}) > 1e-12 || q.Dist(geom.Vec{X: c.x, Y: -c.y}) > 1e-12 {
			t.Errorf("baseline %v, tapes %v and %v: %v and %v", c.l, c.r, c.s, p, q)
		}
	}
	if _, _, ok := Crossing(geom.Vec{}, geom.Vec{X: 10}, 4, 5); ok {
		t.Error("arcs that do not meet are said to")
	}
	l := stakesOf(t, Question{Plan: planOf(t, posts+"  - {id: n, kind: post, at: [64, 48], radius: 0}\n"), From: []geom.Vec{{}, {X: 100}}})
	s := l.Stakes[0]
	near(t, "tape P", s.Tapes["P"], 80, 1e-12)
	near(t, "tape Q", s.Tapes["Q"], 60, 1e-12)
	near(t, "baseline", s.Along, 64, 1e-12)
	near(t, "offset", s.Offset, 48, 1e-12)
	near(t, "crossing", s.Cross, 90, 1e-9)
	if s.Side != "left" || s.Weak || !s.Beyond || s.Check != nil || l.No() {
		t.Errorf("%+v", s)
	}
}

// The error of a crossing is σ√2/sin γ: 1.414, 1.633, 2.828, 4.135 σ (derived;
// the textbook formula of two-distance fixes).
func TestCrossingError(t *testing.T) {
	for deg, want := range map[float64]float64{90: 1.414, 60: 1.633, 30: 2.828, 20: 4.135} {
		g := deg * math.Pi / 180
		p, q := geom.Vec{X: 10}, geom.Vec{X: 10 * math.Cos(g), Y: 10 * math.Sin(g)}
		near(t, "crossing", crossing(p, q, geom.Vec{}), deg, 1e-9)
		e := sure(p, q, geom.Vec{})
		k := ellipseKnown() * math.Hypot(DefaultSigma, printStep/math.Sqrt(12))
		near(t, fmt.Sprintf("error at %v°", deg), math.Hypot(e.A, e.B)/k, want, 5e-4)
	}
}

// Flat crossings are marked, and no fix is a no.
func TestFlatCrossings(t *testing.T) {
	p := planOf(t, posts+`  - {id: square, kind: post, at: [50, 40], radius: 0.06}
  - {id: flat, kind: post, at: [50, 10.5], radius: 0.06}
  - {id: flatter, kind: post, at: [50, 7], radius: 0.06}
  - {id: line, kind: post, at: [50, 0], radius: 0.06}
`)
	l := stakesOf(t, Question{Plan: p, From: []geom.Vec{{X: 10}, {X: 90}}, Tape: 60})
	got := map[string]*Stake{}
	for i := range l.Stakes {
		got[l.Stakes[i].ID] = &l.Stakes[i]
	}
	for id, want := range map[string]struct {
		weak, none bool
		side       string
	}{"square": {side: "left"}, "flat": {true, false, "left"}, "flatter": {true, true, "left"}, "line": {true, true, "on"}} {
		s := got[id]
		if s.Weak != want.weak || (s.Fix() < noFixDeg) != want.none || (s.Sure == nil) != want.none || s.Side != want.side {
			t.Errorf("%s: %+v", id, s)
		}
	}
	if !l.No() {
		t.Error("the answer is not no")
	}
	if l := stakesOf(t, Question{Plan: p}); l.No() {
		t.Error("proposed pegs leave a point without a fix")
	}
}

// Every example plan: ids and places are those of the plan, every point is fixed
// over 20°, both tapes and the check agree with the places, and nothing is used
// before it is set.
func TestStakesOfExamples(t *testing.T) {
	files, _ := filepath.Glob("../../examples/plans/*.yaml")
	demo, _ := filepath.Glob("../../examples/demo/plans/*.yaml")
	files = append(files, demo...)
	if len(files) < 10 {
		t.Fatalf("%d plans", len(files))
	}
	for _, f := range files {
		p := load(t, f)
		var targets []Target
		for _, h := range p.Hazards {
			targets = append(targets, Target{Hazard: h.Name})
		}
		for _, c := range p.Courses {
			targets = append(targets, Target{Course: c.Name})
		}
		for _, target := range targets {
			t.Run(filepath.Base(f)+" "+target.Hazard+target.Course, func(t *testing.T) {
				l := stakesOf(t, Question{Plan: p, Target: target})
				consistent(t, l)
				if l.No() {
					t.Error("a point has no fix")
				}
				if target.Hazard != "" {
					h, _ := p.Hazard(target.Hazard)
					for _, o := range p.Obstacles(h) {
						if strings.Contains(o.ID, ".") && len(o.Path) == 1 && !staked(l, o.ID, o.Path[0]) {
							t.Errorf("%s is not in the list", o.ID)
						}
					}
				}
			})
		}
	}
}

// What DESIGN.md says of the demo field: with a 50 m tape nine pegs beside P and Q bring
// all thirty points within the tape and over 30°. The angle is worked out from the three
// sides of a triangle (law of cosines).
func TestPegsOfTheDemoField(t *testing.T) {
	p := load(t, "../../examples/demo/plans/hollowmere-cones.yaml")
	width, depth := 0., 0.
	for _, v := range p.Ground.Outline {
		width, depth = max(width, v.X), max(depth, v.Y)
	}
	l := stakesOf(t, Question{Plan: p, Tape: 50})
	if width != 170 || depth != 86 || len(l.Pegs) != 2+9 || len(l.Stakes) != 30 {
		t.Errorf("%d pegs for %d points on %v × %v m", len(l.Pegs), len(l.Stakes), width, depth)
	}
	at := map[string]geom.Vec{}
	for _, peg := range l.Pegs {
		at[peg.Name] = peg.At
	}
	for _, s := range l.Stakes {
		tapes := s.Tapes
		if s.Instead != nil {
			tapes = s.Instead.Tapes
		}
		var ends []geom.Vec
		var m []float64
		for peg := range tapes {
			ends, m = append(ends, at[peg]), append(m, math.Hypot(s.X-at[peg].X, s.Y-at[peg].Y))
		}
		if len(ends) != 2 {
			t.Fatalf("%s hangs on %d pegs", s.ID, len(ends))
		}
		between := math.Hypot(ends[0].X-ends[1].X, ends[0].Y-ends[1].Y)
		angle := math.Acos((m[0]*m[0]+m[1]*m[1]-between*between)/(2*m[0]*m[1])) * 180 / math.Pi
		if angle = min(angle, 180-angle); angle <= 30 || max(m[0], m[1]) > 50 {
			t.Errorf("%s: tapes %v, arcs cross at %.1f°", s.ID, tapes, angle)
		}
	}
}

// A point that P and Q reach, and only at a flat angle, is given steeper pegs.
func TestAWeakFixGetsOtherPegs(t *testing.T) {
	l := stakesOf(t, Question{Plan: load(t, "../../examples/plans/cones-twenty.yaml"), Tape: 100})
	weak := 0
	for _, s := range l.Stakes {
		if !s.Weak || s.Beyond {
			continue
		}
		if weak++; s.Cross >= 30 || s.Instead == nil || s.Instead.Cross <= s.Cross {
			t.Errorf("%s crosses at %.1f°, instead %+v", s.ID, s.Cross, s.Instead)
		}
	}
	if weak == 0 {
		t.Error("no point of this field has a weak fix any more: take another field")
	}
}

type fataler interface {
	Helper()
	Errorf(string, ...any)
}

func consistent(t fataler, l *StakeList) {
	t.Helper()
	at := map[string]geom.Vec{}
	for _, p := range l.Pegs {
		at[p.Name] = p.At
	}
	set := map[string]geom.Vec{}
	walked := 0
	for i, s := range l.Stakes {
		here := geom.Vec{X: s.X, Y: s.Y}
		if s.Order != i+1 {
			t.Errorf("%s is number %d in place %d", s.ID, s.Order, i+1)
		}
		if len(s.Tapes) != 2 {
			t.Errorf("%s has %d tapes", s.ID, len(s.Tapes))
		}
		for peg, m := range s.Tapes {
			if p, ok := at[peg]; !ok || math.Abs(p.Dist(here)-m) > 1e-9 {
				t.Errorf("%s: tape %s %v", s.ID, peg, m)
			}
		}
		if s.Instead != nil {
			for peg, m := range s.Instead.Tapes {
				if p, ok := at[peg]; !ok || math.Abs(p.Dist(here)-m) > 1e-9 || m > l.Tape {
					t.Errorf("%s: instead tape %s %v", s.ID, peg, m)
				}
			}
		}
		u := at["Q"].Sub(at["P"]).Unit()
		off := u.Right()
		if s.Side == "left" {
			off = u.Left()
		}
		if at["P"].Along(u, s.Along).Along(off, s.Offset).Dist(here) > 1e-7 {
			t.Errorf("%s: %v along and %v %s of the baseline is elsewhere", s.ID, s.Along, s.Offset, s.Side)
		}
		switch p, ok := set[checkOf(s)]; {
		case s.Check == nil && walked > 0 && !s.peg:
			t.Errorf("%s has no check", s.ID)
		case s.Check != nil && (!ok || math.Abs(p.Dist(here)-s.Check.M) > 1e-9):
			t.Errorf("%s is checked against %+v, which is not set or not there", s.ID, *s.Check)
		}
		if s.Second != nil {
			if p, ok := set[s.Second.To]; !ok || math.Abs(p.Dist(here)-s.Second.M) > 1e-9 || s.Second.To == checkOf(s) {
				t.Errorf("%s has the second check %+v", s.ID, *s.Second)
			}
		} else if walked > 1 && !s.peg {
			t.Errorf("%s has no second check", s.ID)
		}
		if !s.peg {
			set[s.ID] = here
			walked++
		}
	}
}

func checkOf(s Stake) string {
	if s.Check == nil {
		return ""
	}
	return s.Check.To
}

func staked(l *StakeList, id string, at geom.Vec) bool {
	for _, s := range l.Stakes {
		if s.ID == id || slices.Contains(s.Also, id) {
			return math.Hypot(s.X-at.X, s.Y-at.Y) < samePlace
		}
	}
	return false
}

// anyCourse is a ground with a course, a hazard's posts and rails anywhere on it.
func anyCourse(t *rapid.T) *plan.Plan {
	w, h := rapid.Float64Range(20, 180).Draw(t, "width"), rapid.Float64Range(20, 120).Draw(t, "depth")
	turn := rapid.Float64Range(0, 6.28).Draw(t, "turn")
	far := geom.Vec{X: rapid.Float64Range(-1000, 1000).Draw(t, "x"), Y: rapid.Float64Range(-1000, 1000).Draw(t, "y")}
	s, c := math.Sincos(turn)
	at := func(x, y float64) geom.Vec { return far.Add(geom.Vec{X: c*x*w - s*y*h, Y: s*x*w + c*y*h}) }
	spot := func(name string) geom.Vec {
		return at(rapid.Float64Range(0.05, 0.95).Draw(t, name+" x"), rapid.Float64Range(0.05, 0.95).Draw(t, name+" y"))
	}
	gap := plan.Gap{ClearanceCM: 30}
	if rapid.Bool().Draw(t, "fixed gap") {
		gap = plan.Gap{FixedCM: 200}
	}
	k := plan.Course{Name: "C", ConeRadius: 0.2, Gap: gap, MeasureRadius: 5, SpeedMPerMin: map[string]float64{"default": 220}}
	k.Start = plan.Pair{Right: at(0.1, 0.1), Left: at(0.1, 0.2)}
	k.Finish = plan.Pair{Right: at(0.9, 0.2), Left: at(0.9, 0.1)}
	for i := range rapid.IntRange(1, 12).Draw(t, "gates") {
		g := plan.ConeGate{Number: i + 1}
		if rapid.IntRange(0, 4).Draw(t, "single") == 0 {
			v := spot("cone")
			g.Cone, g.Pass = &v, "right"
		} else {
			g.At, g.Bearing = spot("pair"), geom.Degrees(rapid.Float64Range(-180, 180).Draw(t, "bearing"))
		}
		k.Gates = append(k.Gates, g)
	}
	p := &plan.Plan{Name: "Any", Ground: plan.Ground{Outline: geom.Polygon{at(0, 0), at(1, 0), at(1, 1), at(0, 1)}}, Courses: []plan.Course{k}}
	for i := range rapid.IntRange(0, 4).Draw(t, "things") {
		p.Things = append(p.Things, plan.Thing{ID: fmt.Sprintf("p%d", i), Kind: plan.Post, At: spot("post"), Radius: 0.01})
	}
	if rapid.Bool().Draw(t, "rail") {
		p.Things = append(p.Things, plan.Thing{ID: "r", Kind: plan.Rail, Path: []geom.Vec{spot("rail"), spot("rail")}, Width: 0.05})
	}
	return p
}

// Whatever the plan: the list agrees with itself, the order uses nothing that is
// not set, and the stakes put back through the adjustment with tapes without
// error give the plan again to 0.1 mm, from start values a decimetre off.
func TestStakesRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyCourse(t)
		l, err := Stakes(Question{Plan: p, Target: Target{Course: "C"}})
		if err != nil {
			t.Fatal(err)
		}
		consistent(t, l)
		if len(l.Stakes) == 0 || l.No() {
			t.Skip("drawn with a point without a fix: drawn anew")
		}
		n := l.Checks(rapid.Bool().Draw(t, "second"))
		want := map[string]geom.Vec{}
		for i := range n.Points {
			want[n.Points[i].Name] = n.Points[i].At
			n.Points[i].At = n.Points[i].At.Add(geom.Vec{X: 0.1 * math.Sin(float64(i)), Y: 0.1 * math.Cos(float64(i))})
		}
		a, err := n.Adjust(DefaultLevel)
		if err != nil {
			t.Fatal(err)
		}
		if a.No() {
			t.Fatalf("settled %v, no fix %v, suspect %+v", a.Settled, a.NoFix, a.Suspect)
		}
		for name, at := range a.Found() {
			if d := at.Dist(want[name]); d > 1e-4 {
				t.Fatalf("%s comes back %.3g m off", name, d)
			}
		}
		built, err := AsBuilt(p, Target{Course: "C"}, a.Found())
		var broken fault.List
		if err != nil {
			// A drawing at random may break a rule of its own; the same one must be broken.
			if list, ok := err.(fault.List); !ok || len(p.Validate()) == 0 {
				t.Fatalf("as built: %v", err)
			} else {
				broken = list
			}
		}
		if broken == nil {
			again, err := Stakes(Question{Plan: built.Plan, Target: Target{Course: "C"}, From: []geom.Vec{l.Pegs[0].At, l.Pegs[1].At}})
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range again.Stakes {
				if w, ok := want[s.ID]; ok && math.Hypot(s.X-w.X, s.Y-w.Y) > 1e-4 {
					t.Fatalf("as built, %s is %.3g m off", s.ID, math.Hypot(s.X-w.X, s.Y-w.Y))
				}
			}
		}
	})
}

// The walk is never longer than the plan's own order, and for few points never
// more than 5 % longer than the shortest of all.
func TestWalkIsShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 7).Draw(t, "n")
		var ps []geom.Vec
		for range n {
			ps = append(ps, geom.Vec{X: rapid.Float64Range(0, 100).Draw(t, "x"), Y: rapid.Float64Range(0, 60).Draw(t, "y")})
		}
		order := shortest(geom.Vec{}, ps)
		if got := slices.Sorted(slices.Values(order)); len(got) != n {
			t.Fatalf("order %v", order)
		} else {
			for i, v := range got {
				if i != v {
					t.Fatalf("order %v", order)
				}
			}
		}
		length := func(order []int) float64 {
			at, sum := geom.Vec{}, 0.
			for _, i := range order {
				sum += at.Dist(ps[i])
				at = ps[i]
			}
			return sum
		}
		best := math.Inf(1)
		var all func(k int, order []int)
		all = func(k int, order []int) {
			if k == len(order) {
				best = math.Min(best, length(order))
				return
			}
			for i := k; i < len(order); i++ {
				order[k], order[i] = order[i], order[k]
				all(k+1, order)
				order[k], order[i] = order[i], order[k]
			}
		}
		plain := make([]int, n)
		for i := range plain {
			plain[i] = i
		}
		all(0, plain)
		if got := length(order); got > 1.05*best+1e-9 {
			t.Fatalf("walk %v, shortest %v", got, best)
		}
	})
}

// The usual arenas. 20 × 40 and 20 × 60 are printed in public arena guides: 6 m
// from the corners, 14 m and 12 m between letters; clockwise from A they run A K
// V E S H C M R B P F.
func TestArena(t *testing.T) {
	for size, want := range map[string]string{
		"20x40":  "K 6 E 20 H 34",
		"20x60":  "K 6 V 18 E 30 S 42 H 54",
		"40x80":  "K 10 V 25 E 40 S 55 H 70", // from memory
		"40x100": "K 10 V 30 E 50 S 70 H 90", // from memory
		"20x50":  "K 6 E 25 H 44",            // estimate
		"30x60":  "K 6 V 18 E 30 S 42 H 54",  // estimate
		"40×80":  "K 10 V 25 E 40 S 55 H 70",
	} {
		t.Run(size, func(t *testing.T) {
			p := planOf(t, "terret: plan/1\nname: A\nground: {outline: [[0, 0], [200, 0], [200, 200], [0, 200]]}\narena: {size: "+size+", at: [100, 50], bearing: 0}\n")
			l := stakesOf(t, Question{Plan: p, Target: Target{Arena: true}})
			consistent(t, l)
			if l.No() {
				t.Error("a point has no fix")
			}
			a := l.Arena
			var left, round []string
			for _, s := range a.Letters {
				switch s.Side {
				case "left":
					left = append(left, fmt.Sprintf("%s %v", s.Letter, s.Along))
					near(t, s.Letter+" x", s.X, 100-a.Width/2, 1e-9)
					near(t, s.Letter+" y", s.Y, 50+s.Along, 1e-9)
				case "right":
					near(t, s.Letter+" x", s.X, 100+a.Width/2, 1e-9)
				}
				if s.Side != "centre line" {
					round = append(round, s.Letter)
				}
			}
			if got := strings.Join(left, " "); got != want {
				t.Errorf("left side %s, want %s", got, want)
			}
			if got := strings.Join(round, ""); got != "AKVESHCMRBPF" && got != "AKEHCMBF" {
				t.Errorf("clockwise %s", got)
			}
			near(t, "diagonal", a.Diagonal, math.Hypot(a.Width, a.Length), 1e-12)
			near(t, "square", math.Hypot(a.Square[0], a.Square[1]), a.Square[2], 1e-12)
			if a.Square[2] <= 0 || a.Square[2] > l.Tape {
				t.Errorf("square corner %v", a.Square)
			}
		})
	}
}

// The bearing is from A to C: an arena turned to the east has K on the north side.
func TestArenaTurned(t *testing.T) {
	p := planOf(t, "terret: plan/1\nname: A\nground: {outline: [[0, 0], [200, 0], [200, 200], [0, 200]]}\narena: {size: 40x80, at: [10, 50], bearing: 90}\n")
	l := stakesOf(t, Question{Plan: p, Target: Target{Arena: true}, From: []geom.Vec{{X: 0, Y: 0}, {X: 0, Y: 100}}})
	for _, s := range l.Stakes {
		if s.ID == "letter.K" {
			near(t, "K x", s.X, 20, 1e-9)
			near(t, "K y", s.Y, 70, 1e-9)
		}
	}
}

// What is asked wrongly is named.
func TestStakesRefused(t *testing.T) {
	two := planOf(t, `terret: plan/1
name: Two
ground: {outline: [[0, 0], [60, 0], [60, 40], [0, 40]]}
hazards:
  - {name: H, marker_radius: 0.06, in: {right: [5, 18], left: [5, 22]}, out: {right: [5, 22], left: [5, 18]}, gates: [{letter: A, right: [14, 10], left: [14, 13]}]}
courses:
  - {name: C, start: {right: [5, 5], left: [5, 9]}, finish: {right: [50, 9], left: [50, 5]}, gates: [{number: 1, at: [20, 7], bearing: 90}], cone_radius: 0.2, gap: {fixed_cm: 200}, speed_m_per_min: 220, measure_radius: 5}
`)
	empty := planOf(t, "terret: plan/1\nname: E\nground: {outline: [[0, 0], [60, 0], [60, 40], [0, 40]]}\n")
	pegs := []geom.Vec{{}, {X: 60}}
	for name, c := range map[string]struct {
		q    Question
		rule string
	}{
		"which of two":       {Question{Plan: two}, "target"},
		"two at once":        {Question{Plan: two, Target: Target{Hazard: "H", Course: "C"}}, "target"},
		"no such hazard":     {Question{Plan: two, Target: Target{Hazard: "X"}}, "hazard-name"},
		"no such course":     {Question{Plan: two, Target: Target{Course: "X"}}, "course-name"},
		"no arena":           {Question{Plan: two, Target: Target{Arena: true}}, "arena-name"},
		"nothing to set":     {Question{Plan: empty}, "nothing-to-set"},
		"one peg":            {Question{Plan: two, Target: Target{Hazard: "H"}, From: pegs[:1]}, "pegs"},
		"pegs at one place":  {Question{Plan: two, Target: Target{Hazard: "H"}, From: []geom.Vec{{X: 1}, {X: 1}}}, "pegs"},
		"a peg that is none": {Question{Plan: two, Target: Target{Hazard: "H"}, From: []geom.Vec{{X: math.NaN()}, {X: 1}}}, "pegs"},
		"a tape of nothing":  {Question{Plan: two, Target: Target{Hazard: "H"}, Tape: -1}, "tape"},
		"a track of 9 m":     {Question{Plan: two, Target: Target{Course: "C", Track: 9}}, "track"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Stakes(c.q)
			f, ok := err.(*fault.Fault)
			if !ok || f.Rule != c.rule || f.Message == "" || f.Hint == "" {
				t.Errorf("got %v, want the rule %s", err, c.rule)
			}
		})
	}
}

// A point of the plan that a peg stands on is set with it, and can be taped to
// under its own name; two at one place are one stake.
func TestOnePeg(t *testing.T) {
	p := planOf(t, posts+"  - {id: a, kind: post, at: [10, 10], radius: 0.06}\n  - {id: b, kind: post, at: [40, 30], radius: 0.06}\n  - {id: c, kind: barrel, at: [40, 30], radius: 0.3}\n  - {id: t, kind: tree, at: [50, 30], radius: 0.3}\n")
	l := stakesOf(t, Question{Plan: p, From: []geom.Vec{{X: 10, Y: 10}, {X: 60, Y: 10}}})
	if len(l.Stakes) != 2 || l.Stakes[0].ID != "a" || !slices.Equal(l.Stakes[0].Also, []string{"P"}) || l.No() || l.Stakes[1].ID != "b" || !slices.Equal(l.Stakes[1].Also, []string{"c"}) || !strings.Contains(l.Pegs[0].Why, "a stands here") {
		t.Errorf("%+v %+v", l.Pegs, l.Stakes)
	}
	table, err := DecodeCSV("t.csv", []byte("from,to,m\na,b,36.06\nQ,b,28.28\nP,b,36.05\n"))
	if err != nil {
		t.Fatal(err)
	}
	n, err := table.On(l.Places())
	if err != nil || len(n.Fixed) != 3 {
		t.Fatalf("%+v %v", n, err)
	}
	if a := adjusted(t, n); a.SpareTapes != 1 || a.Suspect.Any {
		t.Errorf("%+v", a)
	}
}

// A field drawn with 2,000 posts is answered in good time.
func TestManyPosts(t *testing.T) {
	var b strings.Builder
	b.WriteString(posts)
	for i := range plan.MaxThings {
		fmt.Fprintf(&b, "  - {id: p%d, kind: post, at: [%d.5, %d.5], radius: 0.06}\n", i, 1+i%90, 1+i/90*2)
	}
	l := stakesOf(t, Question{Plan: planOf(t, b.String())})
	if len(l.Stakes) != plan.MaxThings {
		t.Errorf("%d stakes", len(l.Stakes))
	}
	consistent(t, l)
}

// Two wheel readings: the worked figures are the trade's own, 590 planned and 622
// measured.
func TestWheel(t *testing.T) {
	w, err := Wheel(618, 626, 590)
	if err != nil || w.Mean != 622 || w.Again || w.Off != 32 {
		t.Errorf("%+v %v", w, err)
	}
	near(t, "spread", w.Spread, 8./622, 1e-12)
	if w, _ := Wheel(600, 615, 0); !w.Again || w.Off != 0 {
		t.Errorf("%+v", w)
	}
	if w, _ := Wheel(99, 101, 0); w.Again { // 2 % exactly
		t.Errorf("%+v", w)
	}
	for _, bad := range [][3]float64{{0, 1, 1}, {1, -1, 1}, {1, math.NaN(), 1}, {1, 1, math.Inf(1)}} {
		if _, err := Wheel(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("%v is taken", bad)
		}
	}
}

func BenchmarkStakes(b *testing.B) {
	data, err := os.ReadFile("../../examples/plans/cones-twenty.yaml")
	if err != nil {
		b.Fatal(err)
	}
	p, _, err := plan.Decode("", data)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Stakes(Question{Plan: p}); err != nil {
			b.Fatal(err)
		}
	}
}
