package hazard_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/hazard/hazardtest"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// alley is a ground 13 m wide, driven up through A and back down: the turn at its
// end takes twice the least radius, and about 1.7 m of turnout beside it.
func alley() *plan.Plan {
	pair := func(right, left, y float64) plan.Pair {
		return plan.Pair{Right: geom.Vec{X: right, Y: y}, Left: geom.Vec{X: left, Y: y}}
	}
	return &plan.Plan{
		Name: "Alley", Ground: plan.Ground{Outline: geom.Polygon{{X: 0, Y: 0}, {X: 13, Y: 0}, {X: 13, Y: 45}, {X: 0, Y: 45}}},
		Hazards: []plan.Hazard{{Name: "H", MarkerRadius: 0.06, In: pair(8.5, 4.5, 5), Out: pair(4.5, 8.5, 5), Gates: []plan.Gate{{Letter: "A", Pair: pair(8.5, 4.5, 18)}}}},
	}
}

// A guessed radius gives a range of times that holds the best time; where the
// worse end does not fit into the ground, that is said instead.
func TestAGuessedRadiusGivesARangeOfTimes(t *testing.T) {
	for _, c := range []struct {
		radius float64
		drives bool
		stops  bool
		says   string // with the least and the most of the range for {least} and {most}
	}{
		{4, true, false, ", and the best way takes {least} to {most} s."},
		{6, true, true, ": at the worse end no way was found, at the better the best takes {least} s. Measure it."},
		{6.4, false, true, ", and at the better end it can be driven, in {least} s. Measure it."},
		{7, false, true, " changes nothing, no way was found."},
	} {
		to := guessedRadius(c.radius)
		q := hazard.Question{Plan: alley(), Turnout: to}
		a, err := hazard.Routes(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		best := 0.0
		if len(a.Routes) > 0 {
			best = a.Routes[0].TimeS
		}
		ds, err := hazard.Doubts(context.Background(), q, best, hazard.Routes)
		if err != nil || len(ds) != 1 {
			t.Fatalf("%d doubts, %v", len(ds), err)
		}
		d := ds[0]
		if !slices.Equal(d.Guessed, []string{"turning.left", "turning.right"}) || d.Stops != c.stops || best > 0 != c.drives {
			t.Errorf("%v m, best %.2f s: %+v", c.radius, best, d)
		}
		if c.drives && !(len(d.BestS) == 2 && d.BestS[0] <= best && best <= d.BestS[1] && d.BestS[0] < d.BestS[1]) {
			t.Errorf("%v m: best %.2f s, range %v", c.radius, best, d.BestS)
		}
		want := "The least radius is guessed: 0.5 m either way" + c.says
		if len(d.BestS) == 2 {
			want = strings.NewReplacer("{least}", fmt.Sprintf("%.1f", d.BestS[0]), "{most}", fmt.Sprintf("%.1f", d.BestS[1])).Replace(want)
		}
		if d.Says != want {
			t.Errorf("%v m:\n%s\nwant\n%s", c.radius, d.Says, want)
		}
	}
	plain := hazardtest.Named("single, two wheels")
	if ds, err := hazard.Doubts(context.Background(), hazard.Question{Plan: hazardtest.Random(0, hazardtest.Options{}), Turnout: plain}, 1, hazard.Routes); err != nil || len(ds) != 0 {
		t.Errorf("nothing is guessed, and %d doubts are told, %v", len(ds), err)
	}
}

// Each end is asked about by itself, for the best way alone; times a tenth of a second
// apart are no doubt, and a planner that fails is no answer.
func TestDoubtsAskThePlannerAtBothEnds(t *testing.T) {
	q := hazard.Question{Plan: alley(), Turnout: guessedRadius(4), Most: 10}
	var asked []float64
	takes := func(_ context.Context, q hazard.Question) (*hazard.Answer, error) {
		if asked = append(asked, q.Turnout.Turning.Left); q.Most != 1 {
			t.Errorf("asked for %d ways", q.Most)
		}
		return &hazard.Answer{Routes: []hazard.Route{{TimeS: 20 + q.Turnout.Turning.Left/100}}}, nil
	}
	ds, err := hazard.Doubts(context.Background(), q, 20.04, takes)
	if err != nil || len(ds) != 1 || ds[0].Stops || !strings.HasSuffix(ds[0].Says, ", and the best way takes as long, to a tenth of a second.") {
		t.Errorf("a hundredth apart: %+v, %v", ds, err)
	}
	if !slices.Equal(asked, []float64{3.5, 4.5}) {
		t.Errorf("asked about radii of %v m, want 3.5 and 4.5", asked)
	}
	cut := errors.New("cut short")
	broken := func(context.Context, hazard.Question) (*hazard.Answer, error) { return nil, cut }
	if ds, err := hazard.Doubts(context.Background(), q, 20, broken); !errors.Is(err, cut) || ds != nil {
		t.Errorf("a planner that fails: %+v, %v", ds, err)
	}
}

// guessedRadius is a gig whose least radius, m, is a guess.
func guessedRadius(m float64) *turnout.Turnout {
	to := *hazardtest.Named("single, two wheels")
	to.Turning = turnout.Hands{Left: m, Right: m}
	to.Extra = turnout.Extra{"guessed": []any{"turning"}}
	return &to
}
