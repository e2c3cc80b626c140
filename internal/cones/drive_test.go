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
	"terret/internal/rules"
	"terret/internal/turnout"
)

// Time allowed is length ÷ speed. 650 m at 250 m/min: the worked example of a
// world championship's course sheet of 2022 (156 s); the others are arithmetic
// that tells one rounding from another.
func TestTimeAllowed(t *testing.T) {
	for _, c := range []struct {
		length, speed float64
		rounding      string
		want          float64
	}{
		{650, 250, rules.RoundUp, 156},
		{650, 250, rules.RoundNearest, 156},
		{650, 250, rules.RoundNot, 156},
		{592, 220, rules.RoundUp, 162}, // 161.45 s
		{592, 220, rules.RoundNearest, 161},
		{592, 220, rules.RoundNot, 592. * 60 / 220},
		{600, 220, rules.RoundNearest, 164}, // 163.6
		{600, 250, rules.RoundUp, 144},
		{590, 220, rules.RoundNearest, 161}, // 160.9
		{622, 220, rules.RoundNearest, 170}, // 169.6
		{650.00000001, 250, rules.RoundUp, 156},
		{650.1, 250, rules.RoundUp, 157},
	} {
		if got := (Rules{Rounding: c.rounding}).TimeAllowed(c.length, c.speed); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v m at %v m/min, rounded %s: %v s, want %v", c.length, c.speed, c.rounding, got, c.want)
		}
	}
}

// The usual profile, and an overlay that rounds otherwise: the same course has
// another time.
func TestTimeAllowedByProfile(t *testing.T) {
	r := profile(t)
	if r.Rounding != rules.RoundUp || r.LimitFactor != 2 {
		t.Errorf("the usual profile rounds %q and limits at %v times", r.Rounding, r.LimitFactor)
	}
	over, err := rules.Decode("club", []byte(`{"terret": "rules/1", "name": "club", "extends": "three-phase", "values": {"cones.time_allowed_rounding": {"value": "nearest", "edition": "spring", "source": "club minutes", "confidence": "read"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	if a, b := r.TimeAllowed(592, 220), RulesOf(over).TimeAllowed(592, 220); a != 162 || b != 161 {
		t.Errorf("592 m at 220 m/min is allowed %v s and by the club %v s, want 162 and 161", a, b)
	}
}

// Every built-in profile can be asked about cones.
func TestEveryProfile(t *testing.T) {
	for _, name := range rules.Names() {
		p, err := rules.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		r := RulesOf(p)
		if r.Rounding == "" || r.LimitFactor < 1 || r.ObstaclesMost < 1 || r.LengthMost <= r.LengthLeast || r.LineMost <= r.LineLeast || r.ClearanceMostCM <= r.ClearanceLeastCM {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

func TestSpeedOfClass(t *testing.T) {
	c := &plan.Course{Name: "C", SpeedMPerMin: map[string]float64{"default": 220, "pair": 210, "vse": 180, "pony four": 230, "four": 200}}
	for _, k := range []struct {
		hitch, size, class string
		speed              float64
	}{
		{turnout.Single, turnout.HorseSize, "default", 220},
		{turnout.PairH, turnout.HorseSize, "pair", 210},
		{turnout.PairH, turnout.VSE, "vse", 180}, // the lower of the two
		{turnout.Four, turnout.Pony, "pony four", 230},
		{turnout.Four, turnout.HorseSize, "four", 200},
	} {
		class, speed, err := SpeedOf(c, &turnout.Turnout{Hitch: k.hitch, Size: k.size})
		if err != nil || class != k.class || speed != k.speed {
			t.Errorf("%s %s: %q at %v, %v; want %q at %v", k.size, k.hitch, class, speed, err, k.class, k.speed)
		}
	}
	delete(c.SpeedMPerMin, "default")
	if _, _, err := SpeedOf(c, &turnout.Turnout{Hitch: turnout.Single, Size: turnout.HorseSize}); err == nil || !strings.Contains(err.Error(), "no speed for a horse single") {
		t.Errorf("a class without a speed: %v", err)
	}
}

// The builder's line: straight pairs are as far apart as they stand; a tree on
// the way makes it longer; it does not know the turnout.
func TestBuildersLine(t *testing.T) {
	p := &plan.Plan{
		Ground: plan.Ground{Outline: geom.Polygon{{X: -10, Y: -40}, {X: 110, Y: -40}, {X: 110, Y: 40}, {X: -10, Y: 40}}},
		Courses: []plan.Course{{
			Name: "Cones", Start: plan.Pair{Right: geom.Vec{Y: -3}, Left: geom.Vec{Y: 3}}, Finish: plan.Pair{Right: geom.Vec{X: 100, Y: -3}, Left: geom.Vec{X: 100, Y: 3}},
			ConeRadius: 0.2, MeasureRadius: 5, Gap: plan.Gap{ClearanceCM: 30}, SpeedMPerMin: map[string]float64{"default": 220},
			Gates: []plan.ConeGate{{Number: 2, At: geom.Vec{X: 75}, Bearing: geom.Degrees(90)}, {Number: 1, At: geom.Vec{X: 25}, Bearing: geom.Degrees(90)}},
		}},
	}
	if b := Measure(p, &p.Courses[0]); math.Abs(b.Length-100) > 1e-9 {
		t.Errorf("100 m straight on are wheeled as %v m", b.Length)
	}
	p.Things = []plan.Thing{{ID: "t1", Kind: plan.Tree, At: geom.Vec{X: 50, Y: 0.1}, Radius: 0.5}}
	b := Measure(p, &p.Courses[0])
	if b.Length < 100.1 || b.Length > 103 {
		t.Errorf("round a tree in the way it is wheeled as %v m", b.Length)
	}
	for _, q := range b.Points(0.25) {
		if d := q.Dist(p.Things[0].At) - 0.5; d < nominalHalf-0.1 {
			t.Errorf("the builder walks %.2f m from the tree", d)
		}
	}
	// Back on one's own line: a half turn of 5 m to either hand at least.
	p.Things = nil
	p.Courses[0].Gates[0].At = geom.Vec{X: 75, Y: 10}
	p.Courses[0].Gates[0].Bearing = geom.Degrees(270)
	p.Courses[0].Finish = plan.Pair{Right: geom.Vec{X: 0, Y: 13}, Left: geom.Vec{X: 0, Y: 7}}
	if b, want := Measure(p, &p.Courses[0]), 25+50+5*math.Pi+75; math.Abs(b.Length-want) > 1e-6 {
		t.Errorf("there, a half turn of 5 m and back: %v m, want %v", b.Length, want)
	}
}

// The legal demo: twelve obstacles, one a serpentine, nothing to say against it,
// driven by six turnouts from VSE to four-in-hand.
func TestTwelveObstacles(t *testing.T) {
	p, r := load(t, "cones-twelve"), profile(t)
	q := Question{Plan: p, Rules: r, Cures: true}
	for _, name := range all {
		q.Turnouts = append(q.Turnouts, rig(t, name))
	}
	a, err := Drive(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range a.Checks {
		t.Errorf("%s: %s", c.Rule, c.Says)
	}
	if a.CourseLengthM < 500 || a.CourseLengthM > 800 {
		t.Errorf("it is %v m long", a.CourseLengthM)
	}
	numbers := map[int]int{}
	for _, g := range p.Courses[0].Gates {
		numbers[g.Number]++
	}
	if len(numbers) != 12 || numbers[5] != 4 {
		t.Errorf("its numbers and their parts: %v", numbers)
	}
	for i := range a.Turnouts {
		d := &a.Turnouts[i]
		if d.Verdict != Fits || len(d.Trouble) > 0 {
			t.Errorf("%s: %s %v", d.Turnout, d.Verdict, d.Trouble)
		}
		if math.Abs(d.DrivenM-a.CourseLengthM) > 0.05*a.CourseLengthM {
			t.Errorf("%s drives %.1f m of a course of %.1f m", d.Turnout, d.DrivenM, a.CourseLengthM)
		}
		held(t, p, q.Turnouts[i], d)
	}
}

// held checks what any drive must keep: gates in order, radius, samples close
// together, the ground's outline.
func held(t *testing.T, p *plan.Plan, tt *turnout.Turnout, d *TurnoutRun) {
	t.Helper()
	last := -1.0
	for _, g := range d.Gates {
		if g.SM <= last {
			t.Errorf("%s: gate %s at %.1f m comes after one at %.1f m", d.Turnout, g.Gate, g.SM, last)
		}
		last = g.SM
	}
	for i := 1; i < len(d.Samples); i++ {
		a, b := &d.Samples[i-1], &d.Samples[i]
		if b.SM-a.SM > 0.25 || b.SM <= a.SM || b.TS <= a.TS {
			t.Fatalf("%s: samples at %.3f and %.3f m", d.Turnout, a.SM, b.SM)
		}
		// Curvature once more, from three points.
		if i+1 < len(d.Samples) && i > 1 {
			c := &d.Samples[i+1]
			u, v := geom.Vec{X: b.Lead[0] - a.Lead[0], Y: b.Lead[1] - a.Lead[1]}, geom.Vec{X: c.Lead[0] - b.Lead[0], Y: c.Lead[1] - b.Lead[1]}
			k := 2 * u.Cross(v) / (u.Len() * v.Len() * u.Add(v).Len())
			least := tt.Turning.Left
			if k < 0 {
				least = tt.Turning.Right
			}
			if r := 1 / math.Abs(k); r < 0.97*least {
				t.Errorf("%s: at %.1f m three points turn round %.2f m, its least is %.2f m", d.Turnout, b.SM, r, least)
			}
		}
		if !p.Ground.Outline.Contains(geom.Vec{X: b.Lead[0], Y: b.Lead[1]}) {
			t.Errorf("%s: at %.1f m it is off the ground", d.Turnout, b.SM)
		}
	}
}

// The workshop has every kind of multiple. Five turnouts drive it; a pair fails
// for the four, its cure makes it fit, and four fifths of the cure does not.
func TestWorkshopAndCure(t *testing.T) {
	p, r := load(t, "cones-workshop"), profile(t)
	q := Question{Plan: p, Rules: r, Cures: true}
	for _, name := range all {
		q.Turnouts = append(q.Turnouts, rig(t, name))
	}
	a, err := Drive(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.Turnouts[:5] {
		if d := &a.Turnouts[i]; d.Verdict != Fits {
			t.Errorf("%s: %s %v", d.Turnout, d.Verdict, d.Trouble)
		}
	}
	four := &a.Turnouts[5]
	cured := 0
	for _, g := range four.Gates {
		if g.Verdict != Touches {
			if g.Cure != nil {
				t.Errorf("gate %s needs no cure and has one", g.Gate)
			}
			continue
		}
		if g.Cure == nil {
			t.Errorf("no cure for gate %s: %s", g.Gate, g.Why)
			continue
		}
		for _, c := range g.Cures {
			for _, share := range []float64{1, 0.8} {
				part := c
				switch {
				case c.ByCM != nil:
					v := *c.ByCM * share
					part.ByCM = &v
				case c.ByDeg != nil:
					v := *c.ByDeg * share
					part.ByDeg = &v
				default:
					part.ByM = &[2]float64{c.ByM[0] * share, c.ByM[1] * share}
				}
				changed, err := part.Apply(p, "")
				if err != nil {
					t.Fatal(err)
				}
				b, err := Drive(t.Context(), Question{Plan: changed, Turnouts: q.Turnouts[5:], Rules: r})
				if err != nil {
					t.Fatal(err)
				}
				for _, h := range b.Turnouts[0].Gates {
					if h.Gate == g.Gate && (h.Verdict == Touches) == (share == 1) {
						t.Errorf("%v of the cure %q of gate %s: %s %s", share, part.Says(), g.Gate, h.Verdict, h.Why)
					}
				}
			}
			cured++
		}
	}
	if cured == 0 {
		t.Error("nothing fails for the four, or nothing was cured")
	}
}

// Each hand has its own radius: one that turns tighter to the left does so, and
// only there.
func TestEachHandItsRadius(t *testing.T) {
	p := load(t, "cones-twelve")
	tt := rig(t, "pony-two-wheel")
	for _, h := range []turnout.Hands{{Left: 3, Right: 6}, {Left: 6, Right: 3}} {
		tt.Turning = h
		a, err := Drive(t.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{tt}, Rules: profile(t)})
		if err != nil {
			t.Fatal(err)
		}
		d := &a.Turnouts[0]
		if d.Verdict != Fits {
			t.Errorf("%v: %s", h, d.Verdict)
		}
		if *d.LeastRadiusLeftM < h.Left*0.99 || *d.LeastRadiusRightM < h.Right*0.99 {
			t.Errorf("turning %v it turns %.2f m to the left and %.2f m to the right", h, *d.LeastRadiusLeftM, *d.LeastRadiusRightM)
		}
		if small := math.Min(*d.LeastRadiusLeftM, *d.LeastRadiusRightM); small > 5 {
			t.Errorf("turning %v it never turns tighter than %.2f m", h, small)
		}
		held(t, p, tt, d)
	}
}

// Round what stands in the way: a tree between two pairs, and a pair of another
// number that is not due.
func TestRoundThings(t *testing.T) {
	p := row()
	p.Things = []plan.Thing{{ID: "t1", Kind: plan.Tree, At: geom.Vec{X: 52, Y: 0.3}, Radius: 0.5}, {ID: "r1", Kind: plan.Rail, Path: []geom.Vec{{X: 97, Y: -2}, {X: 97, Y: 1}}, Width: 0.12}}
	for _, name := range all {
		tt := rig(t, name)
		a, err := Drive(t.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{tt}, Rules: profile(t)})
		if err != nil {
			t.Fatal(err)
		}
		d := &a.Turnouts[0]
		if d.Verdict != Fits || len(d.Trouble) > 0 {
			t.Errorf("%s: %s %v", name, d.Verdict, d.Trouble)
		}
		for _, s := range d.Samples {
			at := geom.Vec{X: s.Lead[0], Y: s.Lead[1]}
			if r := at.Dist(p.Things[0].At) - 0.5; r < tt.Horse.Width/2 {
				t.Errorf("%s: %.2f m from the tree", name, r)
				break
			}
		}
		held(t, p, tt, d)
	}
	// 3 stands between 1 and 2: the line to 2 goes round it.
	p = row()
	c := &p.Courses[0]
	c.Gates = []plan.ConeGate{pairAt(1, 30, 0, 90), pairAt(3, 60, 0, 270), pairAt(2, 95, 0, 90)}
	c.Finish = plan.Pair{Right: geom.Vec{X: 30, Y: 15}, Left: geom.Vec{X: 30, Y: 9}}
	tt := rig(t, "single-four-wheel")
	a, err := Drive(t.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{tt}, Rules: profile(t)})
	if err != nil {
		t.Fatal(err)
	}
	g := a.Turnouts[0].Gates
	between := func(s float64) bool { return s > g[0].SM+1 && s < g[1].SM-1 }
	for i := 1; i < len(a.Turnouts[0].Samples); i++ {
		u, v := &a.Turnouts[0].Samples[i-1], &a.Turnouts[0].Samples[i]
		if between(v.SM) && (u.Lead[0] < 60) != (v.Lead[0] < 60) && math.Abs(v.Lead[1]) < 1 {
			t.Errorf("on the way from 1 to 2 it goes through 3, at %v", v.Lead)
		}
	}
	if v := a.Turnouts[0].Verdict; v != Fits {
		t.Errorf("it %s", v)
	}
}

// The cones of a course for a track, by the ids of the format.
func TestMarks(t *testing.T) {
	p := row()
	c := &p.Courses[0]
	c.Gates[1] = plan.ConeGate{Number: 2, Cone: &geom.Vec{X: 75}, Pass: "left"}
	m := Marks(p, c, 1.38)
	want := []Mark{
		{"1.right", "1", geom.Vec{X: 30, Y: -1.04}, 0.2, true}, {"1.left", "1", geom.Vec{X: 30, Y: 1.04}, 0.2, false},
		{"2.cone", "2", geom.Vec{X: 75}, 0.2, false},
		{"3.right", "3", geom.Vec{X: 120, Y: -1.04}, 0.2, true}, {"3.left", "3", geom.Vec{X: 120, Y: 1.04}, 0.2, false},
	}
	if len(m) != len(want) {
		t.Fatalf("%d cones, want %d", len(m), len(want))
	}
	for i := range m {
		if m[i].At.Dist(want[i].At) > 1e-9 {
			t.Errorf("%s stands at %v, want %v", m[i].ID, m[i].At, want[i].At)
		}
		m[i].At = want[i].At
		if m[i] != want[i] {
			t.Errorf("%+v, want %+v", m[i], want[i])
		}
	}
}

// A mirrored plan, driven by the turnout with its sides swapped, has the
// mirrored line: the length within 0.1 %, the line within 2 cm, each gate's room on the other
// side.
func TestMirror(t *testing.T) {
	base := load(t, "cones-ten")
	tt := rig(t, "pony-two-wheel")
	tt.Turning = turnout.Hands{Left: 3.2, Right: 3.6}
	other := *tt
	other.Turning = turnout.Hands{Left: tt.Turning.Right, Right: tt.Turning.Left}
	other.Pace.Lateral = turnout.Hands{Left: tt.Pace.Lateral.Right, Right: tt.Pace.Lateral.Left}
	rapid.Check(t, func(rt *rapid.T) {
		p := *base
		c := p.Courses[0]
		c.Gates = append([]plan.ConeGate(nil), c.Gates...)
		for i := range c.Gates {
			d := geom.Vec{X: rapid.Float64Range(-0.7, 0.7).Draw(rt, "dx"), Y: rapid.Float64Range(-0.7, 0.7).Draw(rt, "dy")}
			if c.Gates[i].Cone != nil {
				at := c.Gates[i].Cone.Add(d)
				c.Gates[i].Cone = &at
				continue
			}
			c.Gates[i].At = c.Gates[i].At.Add(d)
		}
		p.Courses = []plan.Course{c}
		axis := Pose{At: geom.Vec{X: 40, Y: 20}, Dir: geom.Degrees(rapid.Float64Range(0, 180).Draw(rt, "axis")).Dir()}
		m := MirrorPlan(&p, axis)
		if a, b := Measure(&p, &p.Courses[0]).Length, Measure(m, &m.Courses[0]).Length; math.Abs(a-b) > 1e-6 {
			rt.Fatalf("the course is %.6f m long and its mirror image %.6f m", a, b)
		}
		drive := func(p *plan.Plan, t *turnout.Turnout) *TurnoutRun {
			a, err := Drive(rt.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{t}, Rules: Rules{LimitFactor: 2}})
			if err != nil {
				rt.Fatal(err)
			}
			return &a.Turnouts[0]
		}
		a, b := drive(&p, tt), drive(m, &other)
		if math.Abs(a.DrivenM-b.DrivenM) > 1e-3*a.DrivenM {
			rt.Fatalf("%.3f m and mirrored %.3f m are driven", a.DrivenM, b.DrivenM)
		}
		// The line itself: every tenth sample lies on the other's mirror image.
		image := make([]geom.Vec, len(b.Samples))
		for i := range b.Samples {
			d := (geom.Vec{X: b.Samples[i].Lead[0], Y: b.Samples[i].Lead[1]}).Sub(axis.At)
			image[i] = axis.At.Along(axis.Dir, 2*d.Dot(axis.Dir)).Sub(d)
		}
		for i := 0; i < len(a.Samples); i += 10 {
			at, off := geom.Vec{X: a.Samples[i].Lead[0], Y: a.Samples[i].Lead[1]}, math.Inf(1)
			for j := 1; j < len(image); j++ {
				off = math.Min(off, geom.Seg{A: image[j-1], B: image[j]}.Dist(at))
			}
			if off > 0.02 {
				rt.Fatalf("at %.1f m the mirrored line runs %.3f m beside the mirror image", a.Samples[i].SM, off)
			}
		}
		for i := range a.Gates {
			g, h := &a.Gates[i], &b.Gates[i]
			if !near(g.SpareLeftCM, h.SpareRightCM, 0.5) || !near(g.SpareRightCM, h.SpareLeftCM, 0.5) {
				rt.Fatalf("gate %s: what is to spare does not change sides", g.Gate)
			}
		}
	})
}

func near(a, b *float64, tol float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= tol
}

// Following a dragged pair ends where making the line anew does.
func TestFollow(t *testing.T) {
	p, r := load(t, "cones-twelve"), profile(t)
	for _, name := range []string{"pony-two-wheel", "single-four-wheel", "pair"} {
		tt := rig(t, name)
		v, err := NewLive(Question{Plan: p, Turnouts: []*turnout.Turnout{tt}, Rules: r})
		if err != nil {
			t.Fatal(err)
		}
		var f *Frame
		const gate = 6 // number 5d is woven; this is a part of the serpentine's neighbour
		for i := 1; i <= 20; i++ {
			if f, err = v.Follow(dragged(p, gate+2, 0.1*float64(i))); err != nil {
				t.Fatal(err)
			}
			if !f.Followed {
				t.Fatalf("%s: frame %d was made anew", name, i)
			}
		}
		for range 8 { // nothing moves: the line comes to rest
			if f, err = v.Follow(dragged(p, gate+2, 2)); err != nil {
				t.Fatal(err)
			}
		}
		g, err := v.Rest(dragged(p, gate+2, 2))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.DrivenM-g.DrivenM) > 0.01*g.DrivenM || f.CourseLengthM != g.CourseLengthM || f.Verdict != g.Verdict {
			t.Errorf("%s: followed %.2f m, %s; anew %.2f m, %s", name, f.DrivenM, f.Verdict, g.DrivenM, g.Verdict)
		}
		for i := range f.Gates {
			if a, b := f.Gates[i].Verdict, g.Gates[i].Verdict; a != b {
				t.Errorf("%s: gate %s followed %s, anew %s", name, f.Gates[i].Gate, a, b)
			}
		}
		// A leap is not followed.
		if f, err = v.Follow(dragged(p, gate+2, -8)); err != nil || f.Followed {
			t.Errorf("%s: a leap of ten metres: followed %v, %v", name, f != nil && f.Followed, err)
		}
	}
}

// What cannot be asked is refused in words.
func TestAskedWrongly(t *testing.T) {
	p := load(t, "cones-ten")
	tt := rig(t, "pair")
	for want, q := range map[string]Question{
		"a plan and at least one turnout are needed": {Plan: p},
		`no course called "Cone"`:                    {Plan: p, Course: "Cone", Turnouts: []*turnout.Turnout{tt}},
		"the plan has no cones course":               {Plan: load(t, "spiral"), Turnouts: []*turnout.Turnout{tt}},
	} {
		_, err := Drive(t.Context(), q)
		var f *fault.Fault
		if !errors.As(err, &f) || !strings.Contains(f.Message, want) || f.Hint == "" && want != "a plan and at least one turnout are needed" {
			t.Errorf("%q: %v", want, err)
		}
	}
}
