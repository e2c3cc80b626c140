package hazard_test

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"terret/internal/hazard"
	"terret/internal/hazard/hazardtest"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// one is a hazard to be driven by one turnout.
type one struct {
	name string
	plan *plan.Plan
	with *turnout.Turnout
}

// kindOf is the options for a seed: shared posts, two-letter gates and In = Out
// are mixed in by the seed, so that 60 seeds hold every mixture.
func kindOf(seed uint64, t *turnout.Turnout) hazardtest.Options {
	return hazardtest.Options{
		Roomy:      t.HasLeaders(),
		SharedPost: seed%3 == 0,
		TwoLetters: seed%4 == 0,
		InIsOut:    seed%5 == 0,
	}
}

// TestRandomHazardsNoRejectedRoute asks for the routes of 60 random hazards,
// each with one of the six turnouts in turn, and has every route of every
// answer judged from its samples by code that shares nothing with the planner
// but geometry. A hazard without a route must have a reason in words.
func TestRandomHazardsNoRejectedRoute(t *testing.T) {
	seeds := uint64(60)
	if testing.Short() {
		seeds = 12
	}
	all := hazardtest.Turnouts()
	cases := []one{}
	for seed := range seeds {
		tu := all[int(seed)%len(all)]
		cases = append(cases, one{fmt.Sprintf("seed %d, %s", seed, tu.Name), hazardtest.Random(seed, kindOf(seed, tu)), tu})
	}
	for _, tu := range all[:3] {
		cases = append(cases,
			one{"H1, " + tu.Name, hazardtest.H1(), tu},
			one{"H2, " + tu.Name, hazardtest.H2(), tu})
	}
	var routes, empty atomic.Int64
	t.Run("judged", func(t *testing.T) {
		for _, c := range cases {
			t.Run(c.name, func(t *testing.T) {
				t.Parallel()
				a, err := hazard.Routes(context.Background(), hazard.Question{Plan: c.plan, Turnout: c.with})
				if err != nil {
					t.Fatal(err)
				}
				routes.Add(int64(len(a.Routes)))
				if len(a.Routes) == 0 {
					empty.Add(1)
				}
				if a.NoneBecause != nil {
					t.Logf("none, because %s", a.NoneBecause.Text)
				}
				if wrong := hazardtest.CheckAnswer(c.plan, &c.plan.Hazards[0], c.with, "", a); len(wrong) > 0 {
					t.Errorf("rejected:\n  %s", strings.Join(wrong, "\n  "))
				}
			})
		}
	})
	t.Logf("%d routes of %d hazards judged; %d hazards without a route", routes.Load(), len(cases), empty.Load())
	if int(routes.Load()) < len(cases) {
		t.Errorf("only %d routes over %d hazards: too few for the test to mean anything", routes.Load(), len(cases))
	}
}
