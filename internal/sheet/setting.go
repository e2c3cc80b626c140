package sheet

import (
	"terret/internal/geom"
)

// heading is the heading of the input's pages.
func (in *Input) heading(title string) heading {
	return heading{Title: title, Of: in.of(), Plan: in.Plan.Name, Event: in.Event, Date: in.Date, Version: in.Version, Printed: in.PrintedAt}
}

// setting is a drawing with words beside it: below it on an upright page, to its
// right on a wide one, whichever lets the drawing be larger.
type setting struct {
	wide   bool
	frame  Rect // of the drawing
	strip  Rect // under it: north and scale
	words  Rect
	ground geom.Box // what is drawn of the ground
	part   bool     // that is not all of it
	scale  float64
}

const (
	stripHeight = 15.0
	signPad     = 12.0 // mm round the ground for signs that stand outside
)

// pad is the room round the ground for signs, mm. The gates of a course stand well
// inside it.
func (in *Input) pad() float64 {
	if in.Subject() == OfCourse {
		return 5
	}
	return signPad
}

// worthwhile is how much larger the hazard alone must come out before the rest
// of a large ground is left off.
const worthwhile = 1.3

// set chooses the page. wordsTall gives the height that the words need at a
// width. near is the hazard with some room round it, which is drawn alone where
// the ground is so large that this makes the gates much larger; the empty box
// always draws the whole ground.
func (in *Input) set(near geom.Box, wordsTall func(width float64, wide bool) float64) setting {
	all := in.extent()
	best := in.setFor(all, wordsTall)
	if near.Min.X <= near.Max.X {
		if s := in.setFor(near, wordsTall); best.scale >= worthwhile*s.scale {
			best, best.part = s, true
		}
	}
	return best
}

func (in *Input) setFor(ground geom.Box, wordsTall func(width float64, wide bool) float64) setting {
	var best setting
	for _, way := range []struct{ wide, beside bool }{{false, false}, {true, true}, {true, false}} {
		_, r := heading{Printed: in.PrintedAt}.page(in.Paper, way.wide)
		s := setting{wide: way.wide, ground: ground}
		if way.beside {
			w := 84.0
			s.words = Rect{r.X + r.W - w, r.Y + 2, w, r.H - 3}
			s.frame = Rect{r.X, r.Y, r.W - w - 5, r.H - stripHeight - 1}
			if wordsTall(w, true) > s.words.H {
				continue // they do not fit beside the drawing
			}
		} else {
			h := wordsTall(r.W, false)
			if way.wide && r.H-h-stripHeight-4 < 60 {
				continue
			}
			s.frame = Rect{r.X, r.Y, r.W, max(60, r.H-h-stripHeight-4)}
			y := s.frame.Y + s.frame.H + stripHeight + 3
			s.words = Rect{r.X, y, r.W, r.Y + r.H - y} // h, or what the page has
		}
		s.strip = Rect{s.frame.X, s.frame.Y + s.frame.H, s.frame.W, stripHeight}
		s.scale = look(ground, s.frame, in.pad()).One
		if best.scale == 0 || s.scale < best.scale {
			best = s
		}
	}
	return best
}

// draw draws the ground and what stands on it into the frame of a page. lines is
// called between the ground and the gates, for lines that are driven, and notes
// after the gates, for words about them. missed is how many names found no room.
func (in *Input) draw(s *Scene, set setting, grid, ids bool, lines, notes func(*ground)) (missed int) {
	var inner Scene
	g := &ground{scene: &inner, view: look(set.ground, set.frame, in.pad()), room: newRoom(set.frame)}
	if grid {
		g.lines()
	}
	g.fence(in.Plan.Ground.Outline)
	g.arena(in.Plan.Arena, !in.Arena)
	g.things(in.Plan.Things)
	if lines != nil {
		lines(g)
	}
	switch in.Subject() {
	case OfHazard:
		g.gates(in.radius(), in.openings(), lines != nil)
	case OfCourse:
		g.course(in)
	}
	if notes != nil {
		notes(g)
	}
	missed = g.names(in.Plan.Things, ids)
	f := set.frame
	s.add(Group{Name: "Plan of " + in.of() + ", north up", Clip: &f, Items: inner.Items})
	g.scene = s
	from := g.northAndScale(set.strip, in.Paper.Name)
	if set.part {
		s.keyPlan(Rect{from, set.strip.Y + 1, 24, set.strip.H - 2}, in, set.ground)
	}
	return missed
}

// keyPlan shows small where on the ground the drawing lies: a black rectangle in
// the outline.
func (s *Scene) keyPlan(r Rect, in *Input, part geom.Box) {
	all := in.extent()
	size := all.Max.Sub(all.Min)
	v := view{frame: r, mid: all.Min.Mid(all.Max), k: min(r.W/max(size.X, 1e-9), r.H/max(size.Y, 1e-9))}
	a, b := v.at(geom.Vec{X: part.Min.X, Y: part.Max.Y}), v.at(geom.Vec{X: part.Max.X, Y: part.Min.Y})
	s.add(Group{Name: "Where on the ground the drawing lies", Items: []Item{
		box(Rect{a.X, a.Y, max(b.X-a.X, 0.8), max(b.Y-a.Y, 0.8)}, Style{Fill: Black}),
		path(thin, func(p *Path) { p.way(v.all(in.Plan.Ground.Outline), true) }),
	}})
}
