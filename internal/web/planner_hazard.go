package web

import (
	"context"

	"terret/internal/hazard"
	"terret/internal/plan"
)

// hazardPlanner is the planner of package hazard.
type hazardPlanner struct{}

func (hazardPlanner) Routes(ctx context.Context, q hazard.Question) (*hazard.Answer, error) {
	return hazard.Routes(ctx, q)
}

// Live follows a drag by planning anew each frame.
func (hazardPlanner) Live(q hazard.Question) (Follower, error) {
	q.Most = 1
	return &anew{q}, nil
}

// anew answers each frame from nothing.
type anew struct{ q hazard.Question }

func (f *anew) Follow(ctx context.Context, p *plan.Plan) (Followed, error) {
	q := f.q
	q.Plan = p
	a, err := hazard.Routes(ctx, q)
	if err != nil {
		return Followed{}, err
	}
	if len(a.Routes) == 0 {
		why := ""
		if a.NoneBecause != nil {
			why = a.NoneBecause.Text
		}
		return Followed{Why: why}, nil
	}
	return Followed{Route: &a.Routes[0], Fresh: true}, nil
}
