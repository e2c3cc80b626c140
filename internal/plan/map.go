package plan

import "terret/internal/geom"

// Map is the plan with every point put through f, which must keep distances.
// mirror says that f turns the plane over: then the two markers of every pair
// change sides, so that red stays on the driver's right, and bearings are not
// kept. Arena and courses are left out: Map is for planning a hazard in another
// frame.
func (p *Plan) Map(f func(geom.Vec) geom.Vec, mirror bool) *Plan {
	pts := func(in []geom.Vec) []geom.Vec {
		if in == nil {
			return nil
		}
		out := make([]geom.Vec, len(in))
		for i, v := range in {
			out[i] = f(v)
		}
		return out
	}
	pair := func(q Pair) Pair {
		q.Right, q.Left = f(q.Right), f(q.Left)
		if mirror {
			q.Right, q.Left = q.Left, q.Right
		}
		return q
	}
	q := &Plan{Name: p.Name, Ground: Ground{Outline: pts(p.Ground.Outline)}}
	for _, t := range p.Things {
		t.At, t.Path, t.Outline = f(t.At), pts(t.Path), pts(t.Outline)
		q.Things = append(q.Things, t)
	}
	for _, h := range p.Hazards {
		h.In, h.Out = pair(h.In), pair(h.Out)
		gates := make([]Gate, len(h.Gates))
		for i, g := range h.Gates {
			g.Pair = pair(g.Pair)
			gates[i] = g
		}
		h.Gates = gates
		q.Hazards = append(q.Hazards, h)
	}
	return q
}
