package hazard

import (
	"math"

	"terret/internal/geom"
	"terret/internal/turnout"
)

// frame is where a task is planned: In at the origin, driven north, turned over
// if need be so that the first gate off that line lies to the right, and every
// coordinate snapped. A plan that is shifted, turned or mirrored is then planned
// with the very same numbers, so that it has the very same ways.
type frame struct {
	o      geom.Vec
	east   geom.Vec // of the frame, in the plan
	north  geom.Vec
	mirror bool
}

// snap is how coarse the frame's coordinates are, m: far below what can be
// measured, far above the rounding of turning a plan (1e-13 m).
const snap = 1e-7

// frame chooses the task's frame.
func (k *task) frame() frame {
	in := &k.steps[0]
	f := frame{o: in.mid, north: in.fwd, east: in.fwd.Right()}
	for i := range k.steps[1:] {
		if x := k.steps[i+1].mid.Sub(f.o).Dot(f.east); math.Abs(x) > 1e-3 {
			if x < 0 {
				f.east, f.mirror = f.east.Mul(-1), true
			}
			break
		}
	}
	return f
}

// to brings a point of the plan into the frame.
func (f *frame) to(v geom.Vec) geom.Vec {
	d := v.Sub(f.o)
	return geom.Vec{X: math.Round(d.Dot(f.east)/snap) * snap, Y: math.Round(d.Dot(f.north)/snap) * snap}
}

// back brings a line of the frame into the plan.
func (f *frame) back(line geom.Spline) geom.Spline {
	out := make(geom.Spline, len(line))
	for i, v := range line {
		out[i] = f.o.Along(f.east, v.X).Along(f.north, v.Y)
	}
	return out
}

// in is the task in its frame.
func (k *task) in(f *frame) (*task, error) {
	q := k.q
	q.Plan = q.Plan.Map(f.to, f.mirror)
	if f.mirror {
		t := *k.t
		swap := func(h turnout.Hands) turnout.Hands { return turnout.Hands{Left: h.Right, Right: h.Left} }
		t.Turning, t.Pace.Lateral = swap(t.Turning), swap(t.Pace.Lateral)
		q.Turnout = &t
	}
	return newTask(q)
}
