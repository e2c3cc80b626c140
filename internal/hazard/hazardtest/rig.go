package hazardtest

import (
	"math"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// tow is the heading of each towed body: the tow line (front axle → lead
// point) and, on four wheels, the body (rear axle → pin). Radians, unwrapped.
type tow struct{ shafts, body float64 }

// dir is the unit displacement along the bearing b.
func dir(b float64) geom.Vec { return geom.Bearing(b).Dir() }

// towRate is the turning of each body per metre that the lead point runs on
// the bearing line: a body whose front runs at an angle φ to it turns by
// sin φ / length (the tractrix), and its axle advances by cos φ.
func towRate(t *turnout.Turnout, w tow, line float64) tow {
	phi := line - w.shafts
	r := tow{shafts: math.Sin(phi) / t.Vehicle.Shafts}
	if t.Vehicle.Wheels == 4 {
		r.body = math.Cos(phi) * math.Sin(w.shafts-w.body) / t.Vehicle.Wheelbase
	}
	return r
}

// towStep tows over h metres of line whose bearing is b0, bm and b1 at its
// start, middle and end: one classical fourth-order Runge-Kutta step. The
// error of a step of 1 cm is far below a micrometre for bodies of a metre.
func towStep(t *turnout.Turnout, w tow, h, b0, bm, b1 float64) tow {
	at := func(k tow, f float64) tow { return tow{w.shafts + k.shafts*f, w.body + k.body*f} }
	k1 := towRate(t, w, b0)
	k2 := towRate(t, at(k1, h/2), bm)
	k3 := towRate(t, at(k2, h/2), bm)
	k4 := towRate(t, at(k3, h), b1)
	return tow{
		w.shafts + h/6*(k1.shafts+2*k2.shafts+2*k3.shafts+k4.shafts),
		w.body + h/6*(k1.body+2*k2.body+2*k3.body+k4.body),
	}
}

// axles are the middles of the front and the rear axle; with two wheels there
// is only one.
func axles(t *turnout.Turnout, lead geom.Vec, w tow) []geom.Vec {
	front := lead.Along(dir(w.shafts), -t.Vehicle.Shafts)
	if t.Vehicle.Wheels != 4 {
		return []geom.Vec{front}
	}
	return []geom.Vec{front, front.Along(dir(w.body), -t.Vehicle.Wheelbase)}
}

// lock is the angle that the vehicle's lock limits, in radians: at the
// turntable of four wheels, between line and shafts of two.
func lock(t *turnout.Turnout, line float64, w tow) float64 {
	if t.Vehicle.Wheels == 4 {
		return math.Abs(w.shafts - w.body)
	}
	return math.Abs(line - w.shafts)
}

// part is one piece of the footprint: a segment with a radius round it.
type part struct {
	name string
	seg  geom.Seg
	r    float64
}

// stance is the turnout at one place of the line.
type stance struct {
	lead    geom.Vec
	line    float64 // bearing of the line there
	tow     tow
	front   geom.Vec // leaders' lead point
	frontOn float64  // and the line's bearing there
}

// horses appends the one or two horses whose lead point is at p.
func horses(out []part, t *turnout.Turnout, name string, p geom.Vec, axis float64, abreast bool) []part {
	d, r := dir(axis), t.Horse.Width/2
	one := func(m geom.Vec) {
		out = append(out, part{name, geom.Seg{A: m.Along(d, -(t.Horse.Rump - r)), B: m.Along(d, t.Horse.Nose-r)}, r})
	}
	if !abreast {
		one(p)
		return out
	}
	one(p.Along(d.Right(), t.Horse.Apart/2))
	one(p.Along(d.Right(), -t.Horse.Apart/2))
	return out
}

// footprint appends the parts of the turnout on the ground. The wheel horse
// lies on the tow line, turned towards the line by at most its bend; leaders
// lie on the tangent of the line.
func footprint(out []part, t *turnout.Turnout, s stance) []part {
	turn := geom.Norm(s.line - s.tow.shafts)
	turn = math.Max(-t.Horse.Bend, math.Min(t.Horse.Bend, turn))
	out = horses(out, t, "wheel horse", s.lead, s.tow.shafts+turn, t.Hitch == turnout.PairH || t.Hitch == turnout.Four)
	if t.Hitch == turnout.Tandem || t.Hitch == turnout.Four {
		out = horses(out, t, "leader", s.front, s.frontOn, t.Hitch == turnout.Four)
	}
	ax := axles(t, s.lead, s.tow)
	across := func(at geom.Vec, b float64) geom.Seg {
		r := dir(b).Right().Mul(t.Vehicle.Hubs / 2)
		return geom.Seg{A: at.Sub(r), B: at.Add(r)}
	}
	out = append(out,
		part{"shafts", geom.Seg{A: s.lead, B: ax[0]}, 0},
		part{"hub", across(ax[0], s.tow.shafts), 0})
	if len(ax) == 2 {
		out = append(out,
			part{"body", geom.Seg{A: ax[0], B: ax[1]}, t.Vehicle.Body / 2},
			part{"rear hub", across(ax[1], s.tow.body), 0})
	}
	return out
}

// yard is the obstacles of one hazard, flattened for distance questions.
type yard struct {
	obs   []plan.Obstacle
	faces []face
}

// face is one straight piece of an obstacle.
type face struct {
	ob  int
	seg geom.Seg
	r   float64
	mid geom.Vec // of the piece, and
	rad float64  // the radius of a disc round it that holds it all
}

func newYard(p *plan.Plan, h *plan.Hazard) *yard {
	y := &yard{obs: p.Obstacles(h)}
	for i := range y.obs {
		for s := range y.obs[i].Segs {
			y.faces = append(y.faces, face{i, s, y.obs[i].Radius, s.A.Mid(s.B), s.Len()/2 + y.obs[i].Radius})
		}
	}
	return y
}

// near is where a footprint comes nearest to something.
type near struct {
	d        float64  // m; negative when something is inside what it may not be
	ob       int      // index in obs, −1 for nothing
	part     int      // index in the footprint
	on, from geom.Vec // on the obstacle's face; on the part's axis
}

// reach is a disc that holds all of the parts.
func reach(parts []part) (mid geom.Vec, r float64) {
	b := geom.EmptyBox()
	for _, p := range parts {
		b = b.Add(p.seg.A).Add(p.seg.B)
	}
	mid = b.Min.Mid(b.Max)
	for _, p := range parts {
		r = math.Max(r, math.Max(mid.Dist(p.seg.A), mid.Dist(p.seg.B))+p.r)
	}
	return mid, r
}

// clearance is the least distance of the parts to any obstacle, as far as it
// is below limit: a result of limit means "at least that". Only faces of the
// obstacle only are looked at, when that is not negative.
func (y *yard) clearance(parts []part, limit float64, only int) near {
	best := near{d: limit, ob: -1}
	mid, r := reach(parts)
	for i := range y.faces {
		f := &y.faces[i]
		if only >= 0 && f.ob != only {
			continue
		}
		if mid.Dist(f.mid)-r-f.rad >= best.d {
			continue
		}
		for j := range parts {
			d, p, q := geom.SegDist(parts[j].seg, f.seg)
			if d -= parts[j].r + f.r; d < best.d {
				u := p.Sub(q).Unit()
				best = near{d, f.ob, j, q.Along(u, f.r), p}
			}
		}
	}
	for i := range y.obs {
		o := &y.obs[i]
		if (!o.Area && !o.Fence) || (only >= 0 && i != only) {
			continue
		}
		for j := range parts {
			for _, p := range [2]geom.Vec{parts[j].seg.A, parts[j].seg.B} {
				if geom.Polygon(o.Path).Contains(p) != o.Fence {
					d := -geom.Polygon(o.Path).EdgeDist(p) - parts[j].r - o.Radius
					if d < best.d {
						best = near{d, i, j, p, p}
					}
				}
			}
		}
	}
	return best
}
