package main

import (
	"path/filepath"
	"testing"

	"terret/internal/gates"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/turnout"
)

// Two who know nothing of each other must agree: what the planner shows, the
// judge calls clean, gate by gate.
func TestJudgeCallsTheRoutesClean(t *testing.T) {
	p, err := rules.Load("")
	if err != nil {
		t.Fatal(err)
	}
	r := gates.RulesOf(p)
	for _, c := range []struct{ plan, turnout string }{
		{"two-letters", "vse-cart"}, {"in-is-out", "pair"}, {"meadow-trees", "pony-two-wheel"}, {"shared-posts", "pair"}, {"boxes-3m", "vse-cart"},
	} {
		t.Run(c.plan+" with "+c.turnout, func(t *testing.T) {
			ground, _, err := plan.Load(filepath.Join("..", "..", "examples", "plans", c.plan+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			with, _, err := turnout.Load(filepath.Join("..", "..", "examples", "turnouts", c.turnout+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			a, err := hazard.Routes(t.Context(), hazard.Question{Plan: ground, Turnout: with})
			if err != nil {
				t.Fatal(err)
			}
			if len(a.Routes) == 0 {
				t.Fatalf("no route to judge: %s", a.NoneBecause.Text)
			}
			for _, route := range a.Routes {
				var passes []gates.Pass
				for _, x := range route.Passes {
					passes = append(passes, gates.Pass{Gate: x.Gate, Backwards: !x.Forward})
				}
				v := gates.Judge(passes, gates.Letters(a.Through), r)
				if v.Verdict != gates.Clean {
					t.Errorf("way %d, %s: %s", route.Rank, gates.Format(passes), v.Why)
					continue
				}
				for i, step := range v.Steps {
					if step.Was != route.Passes[i].Was {
						t.Errorf("way %d, pass %d of %s: the planner says it was %s, the judge %s", route.Rank, i, step.Gate, route.Passes[i].Was, step.Was)
					}
				}
			}
		})
	}
}
