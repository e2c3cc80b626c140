package survey

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/geom"
	"terret/internal/plan"
)

// Points that the tapes do not fix are said, and the rest is adjusted as if they
// were not there.
func TestNoFix(t *testing.T) {
	for name, c := range map[string]struct {
		points, tapes string
		none          string
	}{
		"three in a line":                  {"A 20 0", "P–A 20, Q–A 20", "A"},
		"nearly in a line":                 {"A 20 0.1", "P–A 20, Q–A 20", "A"},
		"a line the tapes make":            {"A 20 1", "P–A 19.99, Q–A 19.99", "A"},
		"one tape":                         {"A 12 9.5", "P–A 15.31", "A"},
		"no tape":                          {"A 12 9.5, B 20 20", "P–A 15.31, Q–A 29.57", "B"},
		"one that hangs on it":             {"A 20 0, B 20 15", "P–A 20, Q–A 20, A–B 15, P–B 25", "A B"},
		"two that swing together":          {"A 12 9.5, B 20 20", "P–A 15.31, Q–B 28.28, A–B 13.2", "A B"},
		"the same tape twice":              {"A 12 9.5", "P–A 15.31, P–A 15.30", "A"},
		"a good one beside":                {"A 20 0, B 12 9.5", "P–A 20, Q–A 20, P–B 15.31, Q–B 29.57", "A"},
		"a triangle away from all of them": {"A 10 20, B 20 20, C 15 28, D 12 9.5", "A–B 10, B–C 9.43, A–C 9.43, P–D 15.31, Q–D 29.57", "A B C"},
	} {
		t.Run(name, func(t *testing.T) {
			n := &Network{Fixed: pts("P 0 0, Q 40 0"), Points: pts(c.points), Tapes: taped(c.tapes), Sigma: 0.01}
			a, err := n.Adjust(DefaultLevel)
			if err != nil {
				t.Fatal(err)
			}
			if got := strings.Join(a.NoFix, " "); got != c.none || !a.No() {
				t.Errorf("no fix for %q, want %q", got, c.none)
			}
			for name, f := range a.Points {
				none := slices.Contains(a.NoFix, name)
				if f.NoFix != none || (f.Ellipse == nil) != none || (f.SX == nil) != none {
					t.Errorf("%s: %+v", name, f)
				}
			}
			if _, err := json.Marshal(a); err != nil {
				t.Error(err)
			}
			sound(t, n)
		})
	}
}

// One point held and free: the rest turns about it so that all moves together
// are least; the point held stays.
func TestOnePointHeld(t *testing.T) {
	n := &Network{
		Fixed: pts("P 5 5"), Points: pts("A 15 5, B 15 15, C 5 15"),
		Tapes: taped("P–A 10.02, A–B 10.01, B–C 9.99, C–P 10.00, P–B 14.15, A–C 14.16"), Sigma: 0.01, Free: true,
	}
	a := adjusted(t, n)
	// Six tapes, six unknowns, and the turn that they cannot tell.
	if a.SpareTapes != 1 {
		t.Errorf("%d spare tapes", a.SpareTapes)
	}
	turn := 0. // Σ x₀ × (x − x₀) about P
	for _, p := range n.Points {
		f := a.Points[p.Name]
		turn += p.At.Sub(n.Fixed[0].At).Cross(geom.Vec{X: f.X, Y: f.Y}.Sub(p.At))
	}
	near(t, "turn", turn, 0, 1e-6)
	sound(t, n)
}

// Without a spare tape: no scatter, no tau, no suspect; deviations by the given
// σ, and the ellipse of known σ.
func TestNothingToSpare(t *testing.T) {
	n := &Network{Fixed: pts("P 0 0, Q 20 0"), Points: pts("A 10 10"), Tapes: taped("P–A 14.142, Q–A 14.142"), Sigma: 0.01}
	a := adjusted(t, n)
	if a.S0 != nil || a.S0M != nil || a.SpareTapes != 0 || a.Suspect.Any || a.TauLimit != nil || a.No() {
		t.Errorf("%+v", a)
	}
	near(t, "sx", *a.Points["A"].SX, 0.01, 1e-6)
	near(t, "ellipse", a.Points["A"].Ellipse.A, 0.024477, 1e-5)
	for _, c := range a.Tapes {
		if c.Tau != nil || c.W != nil || c.Likely != nil || c.Findable != nil || !c.Hardly {
			t.Errorf("%+v", c)
		}
	}
}

// A tape between two held points moves nothing and is checked in full.
func TestTapeBetweenHeldPoints(t *testing.T) {
	n := &Network{Fixed: pts("P 0 0, Q 20 0"), Points: pts("A 10 10"), Tapes: taped("P–A 14.142, Q–A 14.142, P–Q 20.05"), Sigma: 0.01}
	a := adjusted(t, n)
	near(t, "redundancy", a.Tapes[2].Redundancy, 1, 1e-12)
	near(t, "residual", *a.Tapes[2].Residual, -0.05, 1e-12)
	if !a.Suspect.Any || a.Suspect.Named {
		t.Errorf("one spare tape: %+v", a.Suspect)
	}
}

// The form of the suspect in JSON: null, two names, or words.
func TestSuspectJSON(t *testing.T) {
	for want, s := range map[string]Suspect{
		`null`:                  {},
		`{"from":"P","to":"A"}`: {Any: true, Named: true, From: "P", To: "A"},
		`"cannot tell which"`:   {Any: true},
	} {
		got, err := json.Marshal(s)
		if err != nil || string(got) != want {
			t.Errorf("%s %v, want %s", got, err, want)
		}
	}
}

// A gross slip of the decimal point is found, and taking it out leaves nothing.
func TestSnoop(t *testing.T) {
	n := large()
	n.Tapes[100].M *= 10
	n.Tapes[7].M += 0.5
	a, err := n.Snoop(DefaultLevel)
	if err != nil {
		t.Fatal(err)
	}
	if a.Suspect.Any || len(a.Removed) != 2 || a.Removed[0].To != n.Tapes[100].To || a.Removed[1].To != n.Tapes[7].To {
		t.Errorf("removed %+v, then %+v", a.Removed, a.Suspect)
	}
	near(t, "second slip", *a.Removed[1].Likely, 0.5, 0.06)
	for _, level := range []float64{0, 1, -1, math.NaN()} {
		if _, err := n.Snoop(level); err == nil {
			t.Errorf("level %v is taken", level)
		}
	}
}

// Turning, moving or mirroring all points and starts changes no residual, no
// redundancy and no suspect; scaling σ scales w alone.
func TestFrameDoesNotMatter(t *testing.T) {
	base := large()
	base.Tapes[31].M += 0.3
	want := adjusted(t, base)
	rapid.Check(t, func(t *rapid.T) {
		turn := rapid.Float64Range(-7, 7).Draw(t, "turn")
		off := geom.Vec{X: rapid.Float64Range(-1e5, 1e5).Draw(t, "x"), Y: rapid.Float64Range(-1e5, 1e5).Draw(t, "y")}
		flip := 1.
		if rapid.Bool().Draw(t, "mirror") {
			flip = -1
		}
		s, c := math.Sincos(turn)
		put := func(ps []Point) (out []Point) {
			for _, p := range ps {
				x, y := p.At.X, flip*p.At.Y
				out = append(out, Point{p.Name, off.Add(geom.Vec{X: c*x - s*y, Y: s*x + c*y})})
			}
			return out
		}
		n := &Network{Fixed: put(base.Fixed), Points: put(base.Points), Tapes: base.Tapes, Sigma: 0.01}
		a := n.adjust(DefaultLevel)
		if a.Suspect != want.Suspect {
			t.Fatalf("suspect %+v, want %+v", a.Suspect, want.Suspect)
		}
		for i, k := range a.Tapes {
			if math.Abs(*k.Residual-*want.Tapes[i].Residual) > 1e-6 || math.Abs(k.Redundancy-want.Tapes[i].Redundancy) > 1e-6 {
				t.Fatalf("tape %d: %v, want %v", i, k, want.Tapes[i])
			}
		}
	})
}

const builtPlan = `terret: plan/1
name: Two
ground: {outline: [[0, 0], [60, 0], [60, 40], [0, 40]]}
arena: {size: 20x40, at: [12, 20], bearing: 90}
things:
  - {id: p1, kind: post, at: [14, 10], radius: 0.06}
  - {id: r1, kind: rail, path: [[10, 9], [12, 9]], width: 0.1}
hazards:
  - name: H
    marker_radius: 0.06
    in: {right: [5, 18], left: [5, 22]}
    out: {right: [5, 22], left: [5, 18]}
    gates:
      - {letter: A, right: [14, 10], left: [14, 13]}
      - {letter: B, right: [20, 10], left: [20, 13]}
courses:
  - {name: C, start: {right: [5, 5], left: [5, 9]}, finish: {right: [50, 9], left: [50, 5]}, gates: [{number: 1, at: [20, 7], bearing: 90}, {number: 2, cone: [30, 7], pass: left}], cone_radius: 0.2, gap: {fixed_cm: 200}, speed_m_per_min: 220, measure_radius: 5}
`

// As built: ids and pairs are kept, what shares a place moves along, and the old
// plan is left alone.
func TestAsBuiltHazard(t *testing.T) {
	p := planOf(t, builtPlan)
	before := fmt.Sprintf("%+v", p)
	b, err := AsBuilt(p, Target{Hazard: "H"}, map[string]geom.Vec{"A.right": {X: 14.1, Y: 10.2}, "in.right": {X: 5.1, Y: 17.9}, "r1.2": {X: 12.5, Y: 9.2}})
	if err != nil {
		t.Fatal(err)
	}
	q := b.Plan
	h := q.Hazards[0]
	if h.Gates[0].Right != (geom.Vec{X: 14.1, Y: 10.2}) || h.Gates[0].Left != (geom.Vec{X: 14, Y: 13}) || q.Things[0].At != h.Gates[0].Right {
		t.Errorf("gate A %+v, post %+v", h.Gates[0], q.Things[0])
	}
	if h.In.Right != (geom.Vec{X: 5.1, Y: 17.9}) || h.Out.Left != h.In.Right || h.Out.Right != h.In.Left {
		t.Errorf("in %+v out %+v", h.In, h.Out)
	}
	if q.Things[1].Path[1] != (geom.Vec{X: 12.5, Y: 9.2}) || q.Things[1].Path[0] != p.Things[1].Path[0] {
		t.Errorf("rail %+v", q.Things[1])
	}
	if len(b.Moves) != 3 {
		t.Errorf("%+v", b.Moves)
	}
	if fmt.Sprintf("%+v", p) != before {
		t.Error("the old plan has changed")
	}
}

// A pair's middle, bearing and fixed gap follow from its cones.
func TestAsBuiltCourse(t *testing.T) {
	p := planOf(t, builtPlan)
	b, err := AsBuilt(p, Target{Course: "C"}, map[string]geom.Vec{"1.right": {X: 20.2, Y: 5.8}, "1.left": {X: 20, Y: 8.2}, "2.cone": {X: 30.1, Y: 7}})
	if err != nil {
		t.Fatal(err)
	}
	g := b.Plan.Courses[0].Gates
	if g[0].At.Dist(geom.Vec{X: 20.1, Y: 7}) > 1e-12 || *g[1].Cone != (geom.Vec{X: 30.1, Y: 7}) {
		t.Errorf("%+v %+v", g[0], *g[1].Cone)
	}
	l := stakesOf(t, Question{Plan: b.Plan, Target: Target{Course: "C"}})
	for id, at := range map[string]geom.Vec{"1.right": {X: 20.2, Y: 5.8}, "1.left": {X: 20, Y: 8.2}, "2.cone": {X: 30.1, Y: 7}} {
		if !staked(l, id, at) {
			t.Errorf("%s is not at %v", id, at)
		}
	}
	near(t, "gap", g[0].Gap.FixedCM, 100*math.Hypot(0.2, 2.4)-40, 1e-9)
	if *p.Courses[0].Gates[1].Cone != (geom.Vec{X: 30, Y: 7}) {
		t.Error("the old plan has changed")
	}
}

// An arena is put where its found corners lie, with its right angles.
func TestAsBuiltArena(t *testing.T) {
	p := planOf(t, builtPlan)
	c := p.Arena
	s := arenaSite(c)
	turn := geom.Degrees(3)
	moved := *c
	moved.At, moved.Bearing = geom.Vec{X: 11, Y: 19}, c.Bearing+turn
	want := arenaSite(&moved)
	found := map[string]geom.Vec{}
	for i := range s.Corners {
		found[s.Corners[i].ID] = geom.Vec{X: want.Corners[i].X, Y: want.Corners[i].Y}
	}
	b, err := AsBuilt(p, Target{Arena: true}, found)
	if err != nil {
		t.Fatal(err)
	}
	if a := b.Plan.Arena; a.At.Dist(moved.At) > 1e-9 || math.Abs(float64(a.Bearing-moved.Bearing)) > 1e-12 || a.Size != c.Size || *p.Arena != *c {
		t.Errorf("%+v, want %+v", a, moved)
	}
}

func TestAsBuiltRefuses(t *testing.T) {
	p := planOf(t, builtPlan)
	_, err := AsBuilt(p, Target{Hazard: "H"}, map[string]geom.Vec{"Z.right": {X: 1, Y: 1}})
	named(t, err, "point", "Z.right")
	_, err = AsBuilt(p, Target{Hazard: "H"}, map[string]geom.Vec{"A.right": {X: -30, Y: 10}})
	named(t, err, "gate-outside", "hazards[0].gates[0].right")
	_, err = AsBuilt(p, Target{Hazard: "H"}, map[string]geom.Vec{"A.right": {X: math.Inf(1), Y: 10}})
	named(t, err, "coordinate", "A.right")
	var none *plan.Plan
	if b, err := AsBuilt(p, Target{Hazard: "H"}, nil); err != nil || b.Plan == none || len(b.Moves) != 0 {
		t.Errorf("nothing moved: %+v %v", b, err)
	}
}
