package drive

import (
	"math"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Names of the parts of a footprint, as answers and sheets say them.
const (
	PartHorse   = "wheel horse"
	PartLeader  = "leader"
	PartShafts  = "shafts"
	PartBody    = "body"
	PartHub     = "hub"
	PartRearHub = "rear hub"
)

// part is one piece of the footprint: everything within r of a segment.
type part struct {
	name string
	seg  geom.Seg
	r    float64
}

// maxParts is the most parts one place can have: two horses, shafts, body and
// two axles; leaders are looked at by themselves.
const maxParts = 6

// horses lists the capsules of the horses of one row, whose lead point is at p
// and whose bodies point along u.
func horses(ps []part, t *turnout.Turnout, abreast bool, name string, p, u geom.Vec) []part {
	h := &t.Horse
	r := h.Width / 2
	front, back := math.Max(h.Nose-r, 0), math.Max(h.Rump-r, 0)
	one := func(off float64) {
		c := p.Along(u.Right(), off)
		ps = append(ps, part{name, geom.Seg{A: c.Along(u, front), B: c.Along(u, -back)}, r})
	}
	if abreast {
		one(-h.Apart / 2)
		one(h.Apart / 2)
	} else {
		one(0)
	}
	return ps
}

// HorseDir is the direction of the wheel horses: the tow line turned towards
// the line's tangent by at most the horse's bend (docs/files.md, Footprint).
func HorseDir(tangent, tow geom.Vec, bend float64) geom.Vec {
	c, s := tow.Dot(tangent), tow.Cross(tangent)
	if math.Atan2(math.Abs(s), c) <= bend {
		return tangent
	}
	sb, cb := math.Sincos(math.Copysign(bend, s))
	return geom.Vec{X: tow.X*cb - tow.Y*sb, Y: tow.Y*cb + tow.X*sb}
}

// parts lists the footprint at a place, without leaders.
func parts(ps []part, t *turnout.Turnout, q *Place) []part {
	v := &t.Vehicle
	ps = horses(ps, t, t.Abreast(), PartHorse, q.Lead, HorseDir(q.Dir, q.Tow, t.Horse.Bend))
	ps = append(ps,
		part{PartShafts, geom.Seg{A: q.Lead, B: q.Axle}, 0},
		part{PartHub, across(q.Axle, q.Tow, v.Hubs), 0})
	if v.Wheels == 4 {
		ps = append(ps,
			part{PartBody, geom.Seg{A: q.Axle, B: q.Rear}, v.Body / 2},
			part{PartRearHub, across(q.Rear, q.Body, v.Hubs), 0})
	}
	return ps
}

// across is a segment of the given length square to dir, its middle at p.
func across(p, dir geom.Vec, length float64) geom.Seg {
	r := dir.Right()
	return geom.Seg{A: p.Along(r, -length/2), B: p.Along(r, length/2)}
}

// gap is the least distance from the parts to an obstacle's face, with the
// part and the point of the face; 0 or less when they meet.
func gap(ps []part, o *plan.Obstacle) (d float64, which int, at geom.Vec) {
	d = math.Inf(1)
	if len(o.Path) == 1 {
		c := o.Path[0]
		for i := range ps {
			q, _ := ps[i].seg.Nearest(c)
			if e := q.Dist(c) - ps[i].r - o.Radius; e < d {
				d, which, at = e, i, c.Along(q.Sub(c).Unit(), o.Radius)
			}
		}
		return d, which, at
	}
	for s := range o.Segs {
		for i := range ps {
			e, p, q := geom.SegDist(ps[i].seg, s)
			if e -= ps[i].r + o.Radius; e < d {
				d, which, at = e, i, q.Along(p.Sub(q).Unit(), o.Radius)
			}
		}
	}
	return d, which, at
}
