package web

import (
	"context"
	"maps"
	"slices"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
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

// pacesOf lists the paces from slow to quick.
func pacesOf(t *turnout.Turnout) []string {
	names := slices.Sorted(maps.Keys(t.Paces))
	slices.SortStableFunc(names, func(a, b string) int {
		switch va, vb := t.Paces[a], t.Paces[b]; {
		case va < vb:
			return -1
		case va > vb:
			return 1
		}
		return 0
	})
	return names
}

// place waits for a place among the planners at work; done gives it back.
func (s *server) place(ctx context.Context) (done func(), err error) {
	select {
	case s.solving <- struct{}{}:
		return func() { <-s.solving }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
