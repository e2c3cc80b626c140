package hazard

import (
	"context"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/shape"
)

// Live follows one route while the plan is changed a little at a time, as when
// a post is dragged. The way round stays the same; only the line gives way. It
// is for one goroutine at a time.
type Live struct {
	q     Question
	line  geom.Spline
	last  *Route
	sv    shape.Solver
	left  float64 // what more than the least radius the last frames had to ask
	right float64
}

// Frame is what became of the route on the plan as it is now.
type Frame struct {
	Route *Route // the line now, or the last one that held; nil when there never was one
	Fresh bool   // the route was verified on this very plan
	Why   string // when not: what is in the way
}

// Steps of a frame. A drag moves a post by centimetres between frames; what is
// left over the next frame takes up.
const (
	frameSteps = 6
	frameMends = 2
)

// NewLive begins to follow. line is the lead points of the route that is shown,
// with the way it had; nil lets the first frame find a route by itself.
func NewLive(q Question, line []geom.Vec) (*Live, error) {
	k, err := newTask(q)
	if err != nil {
		return nil, err
	}
	l := &Live{q: q}
	if len(line) > 4 {
		l.line = k.extend(line)
	}
	return l, nil
}

// extend gives a line from In to Out the run-in and run-out that the solver keeps.
func (k *task) extend(line []geom.Vec) geom.Spline {
	n := len(line)
	back, on := line[0].Sub(line[1]).Unit(), line[n-1].Sub(line[n-2]).Unit()
	end := runOut + k.t.Ahead
	pts := make([]geom.Vec, 0, n+8)
	for s := runIn; s > 0.1; s -= shape.Spacing {
		pts = append(pts, line[0].Along(back, s))
	}
	next := 0.0
	for i, p := range line {
		if i > 0 {
			next -= p.Dist(line[i-1])
		}
		if next <= 1e-9 || i == n-1 {
			pts = append(pts, p)
			next = shape.Spacing
		}
	}
	for s := shape.Spacing; s <= end; s += shape.Spacing {
		pts = append(pts, line[n-1].Along(on, s))
	}
	return geom.Through(pts)
}

// Follow works the route out on a changed plan.
func (l *Live) Follow(ctx context.Context, p *plan.Plan) (Frame, error) {
	q := l.q
	q.Plan = p
	k, err := newTask(q)
	if err != nil {
		return Frame{}, err
	}
	if why := k.tooNarrow(); why != nil {
		return Frame{Route: l.last, Why: why.Text}, nil
	}
	if l.line == nil {
		s, bare := k.newSearch(ctx, k.scene(), usual)
		if s == nil {
			return Frame{Why: k.noWay(bare).Text}, nil
		}
		s.first()
		if s.best.fault != "" {
			return Frame{Why: k.because(s.best).Text}, ctx.Err()
		}
		return l.show(k, s.best), nil
	}
	l.sv.Discs, l.sv.Walls = shape.Ground(k.obs, 0)
	l.sv.Body, l.sv.Knobs = k.body(), followKnobs()
	// A tight turn is tight in the next frame too: ask at once what had to be
	// asked in the last one, a little less each time.
	const ease = 0.9
	l.sv.Body.Left *= 1 + l.left*ease
	l.sv.Body.Right *= 1 + l.right*ease
	l.sv.In, l.sv.Out = k.directed(0), k.directed(len(k.steps)-1)
	l.sv.Gates = k.gates(1, len(k.steps)-1)
	line := l.sv.Settle(l.line, frameSteps)
	r := k.measure(line, searchStep)
	if r.fault != "" {
		r = k.mend(&l.sv, line, r, frameMends, 12, searchStep)
	}
	b := k.body()
	l.left, l.right = l.sv.Body.Left/b.Left-1, l.sv.Body.Right/b.Right-1
	if r.fault != "" {
		// Keep the bent line to go on from while it is nearly right: the next
		// frame may finish what this one began.
		if r.run != nil && r.miss < 0.5 {
			l.line = r.line
		}
		return Frame{Route: l.last, Why: k.because(r).Text}, nil
	}
	return l.show(k, r), nil
}

// followKnobs are the weights while following: those that the shown lines were
// settled with, about.
func followKnobs() shape.Knobs {
	kn := shape.DefaultKnobs()
	kn.Bend = 8
	return kn
}

func (l *Live) show(k *task, r *route) Frame {
	l.line = r.line
	turns := k.bends(r)
	out := k.write(r, turns)
	out.Rank, out.Way = 1, k.way(r).key()
	out.Says = k.says(r, r, nil, nil, turns)
	l.last = &out
	return Frame{Route: &out, Fresh: true}
}

// Leads are the lead points of a route's samples, for NewLive.
func (r *Route) Leads() []geom.Vec {
	out := make([]geom.Vec, len(r.Samples))
	for i := range r.Samples {
		out[i] = r.Samples[i].Lead.Vec()
	}
	return out
}
