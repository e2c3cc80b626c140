package hazardtest

import (
	"context"
	"time"

	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// OracleResult is what the slow search knows of one hazard and one turnout.
type OracleResult struct {
	// Drivable: a drive of arcs was found that keeps every rule but one, that
	// curvature may not jump. False means only that this grain of search found
	// none within its limits, not that there is none.
	Drivable bool
	ArcsS    float64 // s, what the arcs would take, every change of speed at once
	// Route is the drive smoothed, whether or not it passes.
	Route *hazard.Route
	// Comparable: Route passes [Check], so that its time may be held against
	// the planner's. Why says what it fails when it does not.
	Comparable bool
	TimeS      float64
	Why        []string
	Nodes      int           // of the search
	Took       time.Duration // search and smoothing
}

// Oracle searches the hazard on a lattice and smooths what it finds.
//
// The search is a weighted A* over place (0.5 m), heading (7.5°), the gate
// that is due and, in the last tries, the angle of the tow; its steps are arcs
// of 1 m of five curvatures, each body check exact and 0.2 m from the next, 5 cm
// where there is little room. It is tried first with 12 % more radius and 6 cm
// more clearance than the rules ask, so that a smooth drive fits, then with
// less, then with none.
//
// What it cannot do: it is not complete (one node is kept of all that share a
// cell), not optimal (the estimate is weighted by 1.1 and the costs of arcs
// leave out gaining and losing speed), and it smooths one way round only, the
// one its search liked best. Its smoother stops at the nearest minimum.
func Oracle(ctx context.Context, p *plan.Plan, h *plan.Hazard, t *turnout.Turnout, throughLetter string) (OracleResult, error) {
	return oracle(ctx, p, h, t, throughLetter, "")
}

func oracle(ctx context.Context, p *plan.Plan, h *plan.Hazard, t *turnout.Turnout, throughLetter, class string) (OracleResult, error) {
	begun := time.Now()
	var out OracleResult
	c, err := newCourse(h, throughLetter, class)
	if err != nil {
		return out, err
	}
	y := newYard(p, h)
	for _, try := range []struct {
		slack float64
		bins  int
	}{{0.12, 1}, {0.04, 1}, {0.04, 3}, {0, 3}} {
		l := newLattice(y, c, p, t, try.slack, try.bins)
		path := l.search(ctx)
		out.Nodes += len(l.nodes)
		if path == nil {
			if ctx.Err() != nil {
				break
			}
			continue
		}
		if !out.Drivable {
			out.Drivable, out.ArcsS = true, path[len(path)-1].g
		}
		l.nodes, l.best, l.open = nil, nil, nil
		m, ok := smooth(ctx, l, path)
		if !ok {
			out.Why = []string{"smooth: the spline through the arcs drives the gates differently"}
			continue
		}
		r := m.route(p, h)
		why := Check(p, h, t, throughLetter, class, r)
		if out.Route == nil || len(why) < len(out.Why) || len(why) == 0 {
			out.Route, out.Why, out.TimeS = r, why, r.TimeS
		}
		if len(why) == 0 {
			out.Comparable = true
			break
		}
	}
	out.Took = time.Since(begun)
	if !out.Drivable {
		out.Why = []string{"search: no drive of arcs was found"}
		if ctx.Err() != nil {
			out.Why = []string{"search: stopped before a drive was found"}
		}
	}
	return out, nil
}
