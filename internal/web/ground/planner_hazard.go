package ground

import (
	"context"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
)

// hazardPlanner is the planner of package hazard.
type hazardPlanner struct{}

func (hazardPlanner) Routes(ctx context.Context, q hazard.Question) (*hazard.Answer, error) {
	return hazard.Routes(ctx, q)
}

func (hazardPlanner) Live(q hazard.Question, line []geom.Vec) (Follower, error) {
	l, err := hazard.NewLive(q, line)
	if err != nil {
		return nil, err
	}
	return hazardFollower{l}, nil
}

type hazardFollower struct{ live *hazard.Live }

func (f hazardFollower) Follow(ctx context.Context, p *plan.Plan) (Followed, error) {
	got, err := f.live.Follow(ctx, p)
	return Followed(got), err
}
