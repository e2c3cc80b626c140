package hazard_test

import (
	"context"
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
		says   string
	}{
		{4, true, false, "takes"},
		{6, true, true, "at the worse end no way was found"},
		{6.4, false, true, "at the better end it can be driven"},
		{7, false, true, "changes nothing"},
	} {
		to := *hazardtest.Named("single, two wheels")
		to.Turning = turnout.Hands{Left: c.radius, Right: c.radius}
		to.Extra = turnout.Extra{"guessed": []any{"turning"}}
		q := hazard.Question{Plan: alley(), Turnout: &to}
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
		if !slices.Equal(d.Guessed, []string{"turning.left", "turning.right"}) || d.Stops != c.stops || best > 0 != c.drives || !strings.Contains(d.Says, c.says) {
			t.Errorf("%v m, best %.2f s: %+v", c.radius, best, d)
		}
		if c.drives && !(len(d.BestS) == 2 && d.BestS[0] <= best && best <= d.BestS[1] && d.BestS[0] < d.BestS[1]) {
			t.Errorf("%v m: best %.2f s, range %v", c.radius, best, d.BestS)
		}
	}
	plain := hazardtest.Named("single, two wheels")
	if ds, err := hazard.Doubts(context.Background(), hazard.Question{Plan: hazardtest.Random(0, hazardtest.Options{}), Turnout: plain}, 1, hazard.Routes); err != nil || len(ds) != 0 {
		t.Errorf("nothing is guessed, and %d doubts are told, %v", len(ds), err)
	}
}
