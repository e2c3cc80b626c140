package sheet

import (
	"strings"

	"terret/internal/geom"
	"terret/internal/hazard"
)

// classWords says which gates are to be driven.
func (in *Input) classWords() string {
	letters := lettersInPlay(in.Hazard, in.Through, in.Class)
	who := "Gates to drive"
	if in.Class != "" {
		who = "Gates for class " + fit(in.Class, 13, true, 60)
	}
	if len(letters) == 0 {
		return who + ": none. In, then Out."
	}
	return who + ": In, " + strings.Join(letters, ", ") + ", Out, in this order."
}

// near is the gates and the driven lines with room round them, as far as the
// ground goes.
func (in *Input) near(rs []*hazard.Route) geom.Box {
	b := geom.EmptyBox()
	for _, o := range in.openings() {
		b = b.Add(o.Right).Add(o.Left)
	}
	for _, r := range rs {
		for _, s := range r.Samples {
			b = b.Add(s.Lead.Vec())
		}
	}
	b = in.withPegs(b)
	size := b.Max.Sub(b.Min)
	b = b.Grow(max(6, 0.1*max(size.X, size.Y)))
	all := in.extent()
	return geom.Box{
		Min: geom.Vec{X: max(b.Min.X, all.Min.X), Y: max(b.Min.Y, all.Min.Y)},
		Max: geom.Vec{X: min(b.Max.X, all.Max.X), Y: min(b.Max.Y, all.Max.Y)},
	}
}
