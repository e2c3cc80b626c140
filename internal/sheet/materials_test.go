package sheet

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
)

// counted is how many of something are in a count, spares apart.
func counted(all []Material, what string) (n int) {
	for _, m := range all {
		if m.What == what && !m.Spare {
			n += m.Count
		}
	}
	return n
}

// TestMaterialsByHand counts a plan whose material was written down by hand:
// paddock has 5 pairs and 3 woven cones.
func TestMaterialsByHand(t *testing.T) {
	p := paddock()
	got := CountMaterials(nil, []*plan.Course{&p.Courses[0]}, p.Arena, p.Things)
	for what, n := range map[string]int{
		"cone": 13, "ball": 13, // 2 × 5 + 3
		"red number (R)": 6, "white number (L)": 7, // 5 pairs; 3b is passed on the right, 3a and 3c on the left
		"red flag (R)": 2, "white flag (L)": 2, "flag stand": 4, "rail": 1, "barrel": 1,
		"corner of the arena": 4, "arena letter": 8,
	} {
		if counted(got, what) != n {
			t.Errorf("%d of %q, want %d", counted(got, what), what, n)
		}
	}
	i := slices.IndexFunc(got, func(m Material) bool { return m.Spare })
	if i < 0 || got[i].Count != 2 || got[i].What != "ball to spare" {
		t.Errorf("spares: %+v; want 2 balls, a tenth of 13 rounded up", got)
	}
	// trade practice gives the sum in words: 18 single pairs, a weave of 4 cones and a
	// zig-zag of 3 pairs are 46 cones (18·2 + 4 + 3·2).
	c := plan.Course{ConeRadius: 0.2, Gap: plan.Gap{ClearanceCM: 30}, Start: p.Courses[0].Start, Finish: p.Courses[0].Finish}
	for i := range 18 {
		c.Gates = append(c.Gates, plan.ConeGate{Number: i + 1, At: geom.Vec{X: float64(10 * i)}})
	}
	for i := range 4 {
		c.Gates = append(c.Gates, plan.ConeGate{Number: 19, Part: string(rune('a' + i)), Cone: &geom.Vec{X: float64(8 * i), Y: 50}, Pass: []string{"left", "right"}[i%2]})
	}
	for i := range 3 {
		c.Gates = append(c.Gates, plan.ConeGate{Number: 20, Part: string(rune('a' + i)), At: geom.Vec{X: float64(10 * i), Y: 90}})
	}
	if n := counted(CountMaterials(nil, []*plan.Course{&c}, nil, nil), "cone"); n != 46 {
		t.Errorf("%d cones, want 46", n)
	}
}

// TestMaterialsNeverExceedThePlan: whatever a plan has, no line but the spares is
// more than it uses, and what is shared is counted once.
func TestMaterialsNeverExceedThePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Places on a coarse grid meet often.
		at := rapid.Custom(func(t *rapid.T) geom.Vec {
			return geom.Vec{X: float64(rapid.IntRange(0, 6).Draw(t, "x")) * 4, Y: float64(rapid.IntRange(0, 6).Draw(t, "y")) * 4}
		})
		pair := rapid.Custom(func(t *rapid.T) plan.Pair { return plan.Pair{Right: at.Draw(t, "r"), Left: at.Draw(t, "l")} })
		var hazards []*plan.Hazard
		places := map[geom.Vec]bool{}
		gates := 0
		for range rapid.IntRange(0, 3).Draw(t, "hazards") {
			h := &plan.Hazard{In: pair.Draw(t, "in"), Out: pair.Draw(t, "out"), MarkerRadius: 0.06}
			for i := range rapid.IntRange(0, 6).Draw(t, "gates") {
				h.Gates = append(h.Gates, plan.Gate{Letter: string(rune('A' + i)), Pair: pair.Draw(t, "gate")})
			}
			for _, q := range append([]plan.Pair{h.In, h.Out}, func() (all []plan.Pair) {
				for _, g := range h.Gates {
					all = append(all, g.Pair)
				}
				return all
			}()...) {
				places[q.Right], places[q.Left] = true, true
			}
			gates += len(h.Gates) + 2
			hazards = append(hazards, h)
		}
		var courses []*plan.Course
		cones, pairs, right, left := 0, 0, 0, 0
		for range rapid.IntRange(0, 2).Draw(t, "courses") {
			c := &plan.Course{Start: pair.Draw(t, "start"), Finish: pair.Draw(t, "finish"), ConeRadius: 0.2, Gap: plan.Gap{ClearanceCM: 30}}
			for i := range rapid.IntRange(0, 8).Draw(t, "numbers") {
				g := plan.ConeGate{Number: i + 1, At: at.Draw(t, "at"), Bearing: geom.Degrees(float64(rapid.IntRange(0, 3).Draw(t, "way")) * 90)}
				if rapid.Bool().Draw(t, "woven") {
					v := g.At
					g.Cone, g.Pass = &v, rapid.SampledFrom([]string{"left", "right"}).Draw(t, "pass")
					cones++
					if g.Pass == "right" {
						right++
					} else {
						left++
					}
				} else {
					cones, pairs = cones+2, pairs+1
				}
				c.Gates = append(c.Gates, g)
			}
			courses = append(courses, c)
		}
		var things []plan.Thing
		kinds := map[string]int{}
		for i := range rapid.IntRange(0, 10).Draw(t, "things") {
			th := plan.Thing{ID: fmt.Sprint(i), Kind: rapid.SampledFrom([]string{plan.Post, plan.Tree, "barrel", plan.Rail, "water", "bridge"}).Draw(t, "kind"), At: at.Draw(t, "at"), Radius: 0.1}
			switch th.Kind {
			case plan.Rail:
				th.Path = []geom.Vec{th.At, at.Draw(t, "end")}
			case "water", "bridge":
				th.Outline = geom.Polygon{th.At, at.Draw(t, "b"), at.Draw(t, "c")}
			case plan.Post:
				places[th.At] = true
			}
			kinds[th.Kind]++
			things = append(things, th)
		}
		got := CountMaterials(hazards, courses, nil, things)
		most := func(what string, n int) {
			if c := counted(got, what); c > n {
				t.Fatalf("%d of %q, the plan uses %d", c, what, n)
			}
		}
		most("cone", cones)
		if counted(got, "ball") != counted(got, "cone") {
			t.Fatal("a cone without a ball, or a ball without a cone")
		}
		most("red number (R)", pairs+right)
		most("white number (L)", pairs+left)
		most("red flag (R)", 2*len(courses))
		most("white flag (L)", 2*len(courses))
		most("flag stand", 4*len(courses))
		most("red letter (R)", gates)
		most("white letter (L)", gates)
		if n := counted(got, "post for a marker") + counted(got, "further post"); n != len(places) {
			t.Fatalf("%d posts for %d places", n, len(places))
		}
		for _, k := range []string{"barrel", plan.Rail, "bridge"} {
			most(k, kinds[k])
		}
		for _, k := range []string{plan.Tree, "water"} {
			most(k, 0)
		}
		for _, m := range got {
			if m.Count <= 0 || m.Spare && m.Count > cones/spareShare+1 {
				t.Fatalf("%+v", m)
			}
		}
		// The same hazard or course once more needs no post and no cone more.
		twice := CountMaterials(append(hazards, hazards...), append(courses, courses...), nil, things)
		for _, what := range []string{"cone", "ball", "post for a marker", "further post", "flag stand", "red flag (R)", "white flag (L)"} {
			if a, b := counted(got, what), counted(twice, what); a != b {
				t.Fatalf("%q: %d, and with everything shared %d", what, a, b)
			}
		}
	})
}

// TestArenaLettersAreThoseSetOut holds the count against package survey's list.
func TestArenaLettersAreThoseSetOut(t *testing.T) {
	for _, size := range []string{"15x20", "20x40", "20x50", "20x60", "30x60", "40x80", "40x100"} {
		p := paddock()
		p.Arena.Size = size
		l, err := survey.Stakes(survey.Question{Plan: p, Target: survey.Target{Arena: true}})
		if err != nil {
			t.Fatal(err)
		}
		var want []string
		for _, s := range l.Arena.Letters {
			if s.Side != "centre line" {
				want = append(want, s.Letter)
			}
		}
		got := arenaLetters(p.Arena)
		slices.Sort(want)
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("%s: %v, set out are %v", size, got, want)
		}
	}
}

func TestRanges(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "1": "1", "1 2": "1, 2", "1 2 3": "1–3", "1 2 3 5a 5b 5c 5d 6": "1–3, 5a–5d, 6", "1 3 4 5": "1, 3–5", "2a 2b 3": "2a, 2b, 3", "9 10 11": "9–11",
	} {
		if got := ranges(strings.Fields(in)); got != want {
			t.Errorf("%q is written %q, want %q", in, got, want)
		}
	}
}
