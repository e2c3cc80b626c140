package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/cones"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/survey"
	"terret/internal/turnout"
)

// said is all that a paper says, in one line.
func said(pages []Scene) string {
	var b strings.Builder
	for i := range pages {
		b.WriteString(words(&pages[i]))
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// kindOf is a kind that must be there.
func kindOf(t testing.TB, name string) Kind {
	t.Helper()
	k, err := KindNamed(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestPapersOfAPaddockSayTheirOwnThings(t *testing.T) {
	length := cones.Measure(paddock(), &paddock().Courses[0]).Length
	for name, must := range map[string][]string{
		ConesDrivers:  {fmt.Sprintf("Course %.0f m", length), "guide; the course on the ground rules", "but 2 track and 40 cm, 5 200 cm whatever the track", "VSE", "Multiples, drawn large", "a–b 8.0, b–c 8.0 m", "Scale 1:"},
		ConesBuilders: {fmt.Sprintf("line to wheel, %.1f m round 5 m", length), "set for a track of 138 cm", "178", "200", "woven", "28.00, 7.96", "28.00, 10.04", "bank start", "wheel 2", "2 % apart"},
		Stakes:        {"Peg P:", "Peg Q:", "P to Q:", "checks, as built", "white marker", "Start", "common practice"},
		Gaps:          {"In order of go", "Bay cob, four wheels", "pair 1, 4a, 4b, cm", "168", "178", "pair 5, cm", "200", "66 in", "78.5 in"},
		ArenaPlan:     {"20 × 40 m", "44.72 m", "34.00", "6.00", "A square corner", "printed in public arena guides"},
		Materials:     {"13 cones", "13 balls", "2 balls to spare", "1 barrel", "start and finish", "common practice"},
	} {
		text := said(paddockPages(t, name))
		for _, m := range must {
			if !strings.Contains(text, m) {
				t.Errorf("%s does not say %q:\n%s", name, m, text)
			}
		}
	}
}

func paddockPages(t *testing.T, name string) []Scene {
	return must(t, name, inputs(t, kindOf(t, name), paddock(), A4)[0])
}

// TestCourseTimesAreThoseOfTheRules: 650 m at 250 m/min are 156 s (report of a
// world singles championship), and 592 m at 220, 161.45 s, are rounded as the
// profile says.
func TestCourseTimesAreThoseOfTheRules(t *testing.T) {
	p := paddock()
	p.Courses[0].SpeedMPerMin = map[string]float64{"default": 250, "four": 220}
	in := inputs(t, kindOf(t, ConesDrivers), p, A4)[0]
	if err := func() error { _, err := Draw(ConesDrivers, in); return err }(); err != nil {
		t.Fatal(err)
	}
	in.Rules = ruled(t, "three-phase")
	if rows := in.timeRows(650); rows[1][2] != "156" || rows[1][3] != "312" || rows[1][0] != "all others" {
		t.Errorf("650 m at 250 m/min: %v", rows[1])
	}
	if rows := in.timeRows(592); rows[0][2] != "162" { // started seconds count there
		t.Errorf("592 m at 220 m/min: %v", rows[0])
	}
}

// TestConesRedIsOnTheDriversRight draws pairs in every direction and looks along
// each arrow.
func TestConesRedIsOnTheDriversRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
		way := geom.Degrees(rapid.Float64Range(0, 360).Draw(t, "bearing"))
		flags := func(at geom.Vec) plan.Pair {
			r := way.Dir().Right()
			return plan.Pair{Right: at.Along(r, 3), Left: at.Along(r, -3)}
		}
		p := &plan.Plan{Name: "Sides", Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(100, 3), v(105, 70), v(20, 64)}},
			Courses: []plan.Course{{Name: "Sides", ConeRadius: 0.2, Gap: plan.Gap{ClearanceCM: 30}, MeasureRadius: 5, SpeedMPerMin: map[string]float64{"default": 200},
				Start: flags(v(22, 14)), Finish: flags(v(82, 52)),
				Gates: []plan.ConeGate{{Number: 1, At: v(50, 20), Bearing: way * 2}, {Number: 2, At: v(84, 20), Bearing: -way}, {Number: 3, At: v(50, 48), Bearing: way + 1}}}}}
		pages, err := Draw(ConesDrivers, Input{Plan: p, Course: &p.Courses[0], PrintedAt: printedAt})
		if err != nil {
			t.Fatal(err)
		}
		d := see(t, &pages[0], p)
		if len(d.reds) != 5 || len(d.whites) != 5 || len(d.arrows) != 5 {
			t.Fatalf("%d red, %d white, %d arrows; want 5 of each", len(d.reds), len(d.whites), len(d.arrows))
		}
		for _, o := range courseOpenings(&p.Courses[0], cones.NominalTrack) {
			mid := d.toPaper(o.Mid())
			a := arrowSeen{tip: Pt{math.Inf(1), 0}}
			for _, b := range d.arrows {
				if b.tip.Dist(mid) < a.tip.Dist(mid) {
					a = b
				}
			}
			red, white := nearest(d.reds, mid), nearest(d.whites, mid)
			side := red.Sub(mid).X*-a.dir.Y + red.Sub(mid).Y*a.dir.X
			other := white.Sub(mid).X*-a.dir.Y + white.Sub(mid).Y*a.dir.X
			if !(side > 0.3 && other < -0.3) {
				t.Errorf("%v: looking along the arrow red is %.1f mm to the right and white %.1f", o.names, side, other)
			}
			f := o.Forward()
			if want := (Pt{f.X, -f.Y}); a.dir.Dist(want) > 1e-6 {
				t.Errorf("%v: the arrow goes %v, the pair %v", o.names, a.dir, want)
			}
		}
	})
}

// TestOpeningsAreTheConesThatAreDriven holds what is drawn against the layout that
// package cones drives.
func TestOpeningsAreTheConesThatAreDriven(t *testing.T) {
	for name, p := range examples(t) {
		for i := range p.Courses {
			c := &p.Courses[i]
			for _, track := range []float64{1.1, 1.4, 1.6} {
				var got []geom.Vec
				for _, o := range courseOpenings(c, track) {
					if !o.flags {
						got = append(got, o.markers()...)
					}
				}
				marks := cones.Marks(p, c, track)
				if len(got) != len(marks) {
					t.Fatalf("%s: %d cones are drawn, %d stand", name, len(got), len(marks))
				}
				for k, m := range marks {
					if got[k].Dist(m.At) > 1e-9 {
						t.Errorf("%s: %s is drawn at %v, stands at %v", name, m.ID, got[k], m.At)
					}
				}
			}
		}
	}
}

// TestDriversPlanOfConesDrawsNoLine: the line to wheel is the builder's.
func TestDriversPlanOfConesDrawsNoLine(t *testing.T) {
	long := func(name string) (n int) {
		pages := must(t, name, inputs(t, kindOf(t, name), paddock(), A4)[0])
		for i := range pages {
			for _, q := range record(&pages[i]).paths {
				if len(q.Steps) > 60 && q.Fill == None {
					n++
				}
			}
		}
		return n
	}
	if n := long(ConesDrivers); n != 0 {
		t.Errorf("%d long lines on the drivers' plan", n)
	}
	if n := long(ConesBuilders); n != 1 {
		t.Errorf("%d long lines on the builder's plan, want the one to wheel", n)
	}
}

// TestEveryStakeIsListed: each point once, in order, with its tapes to the
// centimetre as package survey has them.
func TestEveryStakeIsListed(t *testing.T) {
	every(t, func(t *testing.T, kind string, in Input, pages []Scene) {
		if kind != Stakes {
			return
		}
		// A row begins with its number at the left margin.
		var rows [][]string
		for i := range pages[1:] {
			for _, x := range record(&pages[1+i]).texts {
				if x.At.X == margin && x.Size == 16 {
					rows = append(rows, nil)
				}
				if n := len(rows); n > 0 {
					rows[n-1] = append(rows[n-1], x.Words)
				}
			}
		}
		if len(rows) != len(in.Stakes.Stakes) {
			t.Fatalf("%d rows for %d points", len(rows), len(in.Stakes.Stakes))
		}
		for i := range in.Stakes.Stakes {
			s := &in.Stakes.Stakes[i]
			tapes := s.Tapes
			if s.Instead != nil {
				tapes = s.Instead.Tapes
			}
			if rows[i][0] != fmt.Sprint(s.Order) || s.Order != i+1 {
				t.Errorf("row %d is no. %s, of point %d", i+1, rows[i][0], s.Order)
			}
			if s.Cross == 90 && s.Check == nil && s.Sure == nil {
				continue // a peg stands there
			}
			for peg, m := range tapes {
				if want := fmt.Sprintf("%.2f", m); !slices.Contains(rows[i], want) {
					t.Errorf("%s: no tape of %s m from %s in %q", s.ID, want, peg, rows[i])
				}
			}
			if s.Check != nil && !slices.Contains(rows[i], fmt.Sprintf("%.2f", s.Check.M)) {
				t.Errorf("%s: its check of %.2f m is missing", s.ID, s.Check.M)
			}
		}
	})
}

// TestAWeakStakeSaysSo: pegs close together give flat arcs, and none.
func TestAWeakStakeSaysSo(t *testing.T) {
	p := paddock()
	l, err := survey.Stakes(survey.Question{Plan: p, Target: survey.Target{Course: "Cones"}, From: []geom.Vec{{X: 0, Y: 0}, {X: 30, Y: 0}}})
	if err != nil {
		t.Fatal(err)
	}
	text := said(must(t, Stakes, Input{Plan: p, Course: &p.Courses[0], Stakes: l, PrintedAt: printedAt}))
	none, weak := 0, 0
	for i := range l.Stakes {
		switch f := l.Stakes[i].Fix(); {
		case f < 20:
			none++
		case f < 30:
			weak++
		}
	}
	if n := strings.Count(text, "NO FIX: the arcs cross at"); n != none || none == 0 {
		t.Errorf("%d points without a fix, %d said", none, n)
	}
	if n := strings.Count(text, "WEAK: the arcs cross at"); n != weak || weak == 0 {
		t.Errorf("%d weak points, %d said", weak, n)
	}
}

// TestGapsFollowTheTrack: gap = track + clearance, or what is fixed.
func TestGapsFollowTheTrack(t *testing.T) {
	p := paddock()
	cart := cob()
	cart.Name, cart.Vehicle.Track = "VSE cart", 1.10
	in := Input{Plan: p, Course: &p.Courses[0], Turnouts: []*turnout.Turnout{cart, cob(), cob()}, PrintedAt: printedAt}
	text := said(must(t, Gaps, in))
	// Rows of pairs 1, 4a, 4b: 110 + 30, 138 + 30, the same again.
	for _, row := range []string{"1 VSE cart 110 140 set 55 in", "2 Bay cob, four wheels 138 168 +28 66 in", "3 Bay cob, four wheels 138 168 – 66 in"} {
		if !strings.Contains(text, row) {
			t.Errorf("no row %q in: %s", row, text)
		}
	}
	in.Turnouts = nil
	if text = said(must(t, Gaps, in)); !strings.Contains(text, "140 170 67 in 180 71 in") {
		t.Errorf("by track: %s", text)
	}
	// The least tracks of the profile have rows: Luxembourg rules of 2000, article
	// 904: 138 cm for a single, 148 for a pair of horses, 158 for four.
	simple := paddock()
	simple.Courses[0].Gates = simple.Courses[0].Gates[1:2]
	in.Plan, in.Course, in.Rules = simple, &simple.Courses[0], ruled(t, "three-phase")
	text = said(must(t, Gaps, in))
	for _, row := range []string{"138 168 66 in least: pony single, pair, tandem, four; horse single", "148 178 70 in least: horse pair, tandem", "158 188 74 in least: horse four"} {
		if !strings.Contains(text, row) {
			t.Errorf("no row %q in: %s", row, text)
		}
	}
	in.Plan, in.Course = p, &p.Courses[0]
	p.Courses[0].Gap.ClearanceCM = 15
	if text = said(must(t, Gaps, in)); !strings.Contains(text, "Look: the profile three-phase has 20 to 60 cm over the track; here 15 cm") {
		t.Errorf("too tight a gap is not said: %s", text)
	}
}

// TestPapersNeedTheirInput: a kind says what it needs, and misses it in words.
func TestPapersNeedTheirInput(t *testing.T) {
	p := paddock()
	for _, k := range Kinds() {
		if k.For(OfPlan) {
			continue
		}
		if pages, err := Draw(k.Name, Input{Plan: p, PrintedAt: printedAt}); err == nil {
			t.Errorf("%s was drawn of nothing: %d pages", k.Name, len(pages))
		}
		if !k.Stakes {
			continue
		}
		if _, err := Draw(k.Name, Input{Plan: p, Arena: true, PrintedAt: printedAt}); err == nil {
			t.Errorf("%s was drawn without a list of stakes", k.Name)
		}
	}
}

// TestAnythingACourseMayHoldIsDrawn: sizes, names and numbers at their ends.
func TestAnythingACourseMayHoldIsDrawn(t *testing.T) {
	name := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"", "日本語の馬", strings.Repeat("Long name ", 40), strings.Repeat("x", 400), "<svg onload=\"alert(1)\">", "a\x00b\nc"}))
	rapid.Check(t, func(t *rapid.T) {
		size := math.Pow(10, rapid.Float64Range(0, 3).Draw(t, "size"))
		at := rapid.Custom(func(t *rapid.T) geom.Vec {
			return geom.Vec{X: rapid.Float64Range(-size, size).Draw(t, "x"), Y: rapid.Float64Range(-size, size).Draw(t, "y")}
		})
		pair := rapid.Custom(func(t *rapid.T) plan.Pair { return plan.Pair{Right: at.Draw(t, "r"), Left: at.Draw(t, "l")} })
		c := plan.Course{Name: name.Draw(t, "course"), Start: pair.Draw(t, "start"), Finish: pair.Draw(t, "finish"), ConeRadius: rapid.Float64Range(0.01, 1).Draw(t, "cone"),
			Gap: plan.Gap{ClearanceCM: rapid.Float64Range(0, 200).Draw(t, "gap")}, MeasureRadius: rapid.Float64Range(1, 30).Draw(t, "radius"), SpeedMPerMin: map[string]float64{"default": 200, name.Draw(t, "class"): rapid.Float64Range(-5, 500).Draw(t, "speed")}}
		for i := range rapid.IntRange(0, 8).Draw(t, "gates") {
			g := plan.ConeGate{Number: i/2 + 1, Part: rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "part"), At: at.Draw(t, "at"), Bearing: geom.Degrees(rapid.Float64Range(0, 360).Draw(t, "bearing"))}
			if i%3 == 2 {
				v := g.At
				g.Cone, g.Pass = &v, rapid.SampledFrom([]string{"left", "right"}).Draw(t, "pass")
			}
			c.Gates = append(c.Gates, g)
		}
		p := &plan.Plan{Name: name.Draw(t, "plan"), Ground: plan.Ground{Outline: rapid.SliceOfN(at, 3, 6).Draw(t, "outline")}, Courses: []plan.Course{c},
			Arena: &plan.Arena{Size: rapid.SampledFrom([]string{"40x80", "20x40", "0.1x900", "wide"}).Draw(t, "arena"), At: at.Draw(t, "a"), Bearing: 1}}
		for _, k := range Kinds() {
			in := Input{Plan: p, Event: name.Draw(t, "event"), Version: name.Draw(t, "version"), PrintedAt: printedAt}
			to := survey.Target{Course: c.Name}
			switch {
			case k.For(OfCourse):
				in.Course = &p.Courses[0]
			case k.For(OfArena):
				in.Arena, to = true, survey.Target{Arena: true}
			default:
				continue
			}
			if k.Stakes {
				l, err := survey.Stakes(survey.Question{Plan: p, Target: to})
				if err != nil {
					continue // package survey says what is wrong
				}
				in.Stakes = l
			}
			pages, err := Draw(k.Name, in)
			if err != nil || len(pages) == 0 {
				t.Fatalf("%s: %d pages, %v", k.Name, len(pages), err)
			}
			if len(pages) > 40 {
				t.Fatalf("%s takes %d pages", k.Name, len(pages))
			}
		}
	})
}

// TestEveryProfileHasATableOfGaps: none lacks a number that the table asks for.
func TestEveryProfileHasATableOfGaps(t *testing.T) {
	p := paddock()
	for _, name := range rules.Names() {
		in := Input{Plan: p, Course: &p.Courses[0], Rules: ruled(t, name), PrintedAt: printedAt}
		if text := said(must(t, Gaps, in)); !strings.Contains(text, "rules "+name) {
			t.Errorf("%s is not named on its gaps", name)
		}
		must(t, ConesDrivers, in)
	}
}
