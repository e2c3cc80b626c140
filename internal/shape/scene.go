package shape

import (
	"math"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// BodyOf is the whole turnout as the solver meets it, at its own least radii and
// with its own margin. Whoever shapes a line asks for a little more.
func BodyOf(t *turnout.Turnout) Body {
	v := &t.Vehicle
	b := Body{
		Links: 1, Length: [2]float64{v.Shafts}, Hub: v.Hubs / 2, Lock: v.Lock, Bend: t.Horse.Bend,
		Nose: t.Horse.Nose, Rump: t.Horse.Rump, Horse: t.Horse.Width / 2, Lead: -1,
		Left: t.Turning.Left, Right: t.Turning.Right, Room: t.Margin,
	}
	if v.Wheels == 4 {
		b.Links, b.Length[1], b.Width = 2, v.Wheelbase, v.Body/2
	}
	if b.Lock <= 0 {
		b.Lock = math.Pi / 2
	}
	b.Lock -= spareLock
	if t.Abreast() {
		b.Apart = t.Horse.Apart / 2
	}
	if t.HasLeaders() {
		b.Lead = 0
		if t.LeadersAbreast() {
			b.Lead = t.Horse.Apart / 2
		}
	}
	return b
}

// spareLock is kept of the largest lock, rad: between two knots it may pass what
// it is at either.
const spareLock = 0.5 * math.Pi / 180

// Ground lists what stands as the solver meets it, each thing thicker all round
// by more metres.
func Ground(obs []plan.Obstacle, more float64) (discs []Disc, walls []Wall) {
	for i := range obs {
		o := &obs[i]
		r := o.Radius + more
		if len(o.Path) == 1 {
			discs = append(discs, Disc{At: o.Path[0], R: r})
			continue
		}
		inside := 0
		if o.Fence {
			inside = -1 // anticlockwise: the ground is on the left
			if geom.Polygon(o.Path).Area() < 0 {
				inside = 1
			}
		}
		n := len(o.Path)
		for j, p := range o.Path {
			if o.Fence {
				// Only a corner that points into the ground can be gone round.
				a, b := o.Path[(j+n-1)%n], o.Path[(j+1)%n]
				if geom.Orient(a, p, b)*-inside >= 0 {
					continue
				}
			}
			discs = append(discs, Disc{At: p, R: r})
		}
		for seg := range o.Segs {
			walls = append(walls, Wall{Seg: seg, R: r, Inside: inside})
		}
	}
	return unique(discs), walls
}

// unique drops discs that lie in another one.
func unique(ds []Disc) []Disc {
	var out []Disc
next:
	for i, d := range ds {
		for j, e := range ds {
			if i != j && (d.At.Dist(e.At)+d.R < e.R || (d == e && j < i)) {
				continue next
			}
		}
		out = append(out, d)
	}
	return out
}
