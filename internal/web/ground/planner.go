package ground

import (
	"context"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
)

// Planner works out what a turnout may drive.
type Planner interface {
	// Routes gives every way worth knowing. A hazard that cannot be driven is an
	// answer with NoneBecause, not an error.
	Routes(context.Context, hazard.Question) (*hazard.Answer, error)
	// Live begins a session that follows one drawing while it is dragged, from
	// the lead points of the line that is shown; nil finds one by itself.
	Live(q hazard.Question, line []geom.Vec) (Follower, error)
}

// Follower re-solves one question as its plan changes a little. It is used by
// one goroutine at a time.
type Follower interface {
	Follow(context.Context, *plan.Plan) (Followed, error)
}

// Followed is one frame of a drag.
type Followed struct {
	Route *hazard.Route // the line now, or the last that held; nil when there is none
	Fresh bool          // the line was verified on this very plan
	Why   string        // when it is not fresh: in words
}
