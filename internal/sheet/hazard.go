package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// The papers of a hazard.
const (
	Drivers  = "hazard-drivers"  // course plan for drivers: no line
	Clinic   = "hazard-clinic"   // two ways through with their figures
	Builders = "hazard-builders" // every post with its coordinates
)

// Kinds lists the papers that Hazard draws.
func Kinds() []string { return []string{Drivers, Clinic, Builders} }

// HazardInput is what a paper of a hazard is drawn from.
type HazardInput struct {
	Plan   *plan.Plan
	Hazard *plan.Hazard // of Plan
	// Answer is what Turnout may drive; for the clinic plan only. Its quickest
	// way is drawn, and with it the one of the others that runs most differently.
	Answer  *hazard.Answer
	Turnout *turnout.Turnout

	Through string // last letter in play; "" is all, or Answer's
	Class   string // class, for gates that are only for some

	Event     string // "" leaves a line to write on
	Date      string // the day it is for, as it shall be printed; "" is the day of printing
	Version   string // of the plan: "C"; "" leaves a line to write on
	PrintedAt time.Time
	Paper     Paper // the zero value is A4
}

// Hazard draws a paper of a hazard, page by page. A kind it does not know, a
// clinic plan without an answer and a plan without a hazard are faults.
func Hazard(kind string, in HazardInput) ([]Scene, error) {
	if in.Plan == nil || in.Hazard == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-hazard", Place: kind, Message: "there is no hazard to draw", Hint: "name a plan with a hazard"}
	}
	if in.Paper == (Paper{}) {
		in.Paper = A4
	}
	if in.Through == "" && in.Answer != nil {
		in.Through = in.Answer.Through
	}
	var pages []Scene
	var err error
	switch kind {
	case Drivers:
		pages = drivers(&in)
	case Clinic:
		pages, err = clinic(&in)
	case Builders:
		pages = builders(&in)
	default:
		return nil, &fault.Fault{Code: fault.Usage, Rule: "sheet-kind", Place: kind, Message: fmt.Sprintf("there is no paper %q", kind), Hint: "there are " + strings.Join(Kinds(), ", ")}
	}
	if err != nil {
		return nil, err
	}
	number(pages)
	for i := range pages {
		if err := pages[i].check(); err != nil {
			return nil, err
		}
	}
	return pages, nil
}

// heading is the heading of the input's pages.
func (in *HazardInput) heading(title string) heading {
	return heading{Title: title, Of: in.Hazard.Name, Plan: in.Plan.Name, Event: in.Event, Date: in.Date, Version: in.Version, Printed: in.PrintedAt}
}

// classWords says which gates are to be driven.
func (in *HazardInput) classWords() string {
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

// worthwhile is how much larger the hazard alone must come out before the rest
// of a large ground is left off.
const worthwhile = 1.3

// set chooses the page. wordsTall gives the height that the words need at a
// width. near is the hazard with some room round it, which is drawn alone where
// the ground is so large that this makes the gates much larger; the empty box
// always draws the whole ground.
func (in *HazardInput) set(near geom.Box, wordsTall func(width float64, wide bool) float64) setting {
	all := extent(in.Plan, in.Hazard)
	best := in.setFor(all, wordsTall)
	if near.Min.X <= near.Max.X {
		if s := in.setFor(near, wordsTall); best.scale >= worthwhile*s.scale {
			best, best.part = s, true
		}
	}
	return best
}

func (in *HazardInput) setFor(ground geom.Box, wordsTall func(width float64, wide bool) float64) setting {
	var best setting
	for _, wide := range []bool{false, true} {
		_, r := heading{Printed: in.PrintedAt}.page(in.Paper, wide)
		s := setting{wide: wide, ground: ground}
		if wide {
			w := 84.0
			s.words = Rect{r.X + r.W - w, r.Y + 2, w, r.H - 3}
			s.frame = Rect{r.X, r.Y, r.W - w - 5, r.H - stripHeight - 1}
			if wordsTall(w, true) > s.words.H {
				continue // they do not fit beside the drawing
			}
		} else {
			h := wordsTall(r.W, false)
			s.frame = Rect{r.X, r.Y, r.W, max(60, r.H-h-stripHeight-4)}
			y := s.frame.Y + s.frame.H + stripHeight + 3
			s.words = Rect{r.X, y, r.W, r.Y + r.H - y} // h, or what the page has
		}
		s.strip = Rect{s.frame.X, s.frame.Y + s.frame.H, s.frame.W, stripHeight}
		s.scale = look(ground, s.frame, signPad).One
		if best.scale == 0 || s.scale < best.scale {
			best = s
		}
	}
	return best
}

// near is the gates and the driven lines with room round them, as far as the
// ground goes.
func (in *HazardInput) near(rs []*hazard.Route) geom.Box {
	b := geom.EmptyBox()
	for _, o := range openings(in.Hazard, "", "") {
		b = b.Add(o.Right).Add(o.Left)
	}
	for _, r := range rs {
		for _, s := range r.Samples {
			b = b.Add(s.Lead.Vec())
		}
	}
	size := b.Max.Sub(b.Min)
	b = b.Grow(max(6, 0.1*max(size.X, size.Y)))
	all := extent(in.Plan, in.Hazard)
	return geom.Box{
		Min: geom.Vec{X: max(b.Min.X, all.Min.X), Y: max(b.Min.Y, all.Min.Y)},
		Max: geom.Vec{X: min(b.Max.X, all.Max.X), Y: min(b.Max.Y, all.Max.Y)},
	}
}

// draw draws the ground and what stands on it into the frame of a page. lines is
// called between the ground and the gates, for lines that are driven, and notes
// after the gates, for words about them. missed is how many names found no room.
func (in *HazardInput) draw(s *Scene, set setting, grid, ids bool, lines, notes func(*ground)) (missed int) {
	var inner Scene
	g := &ground{scene: &inner, view: look(set.ground, set.frame, signPad), room: newRoom(set.frame)}
	if grid {
		g.lines()
	}
	g.fence(in.Plan.Ground.Outline)
	g.arena(in.Plan.Arena)
	g.things(in.Plan.Things)
	if lines != nil {
		lines(g)
	}
	g.gates(in.Hazard, openings(in.Hazard, in.Through, in.Class), lines != nil)
	if notes != nil {
		notes(g)
	}
	missed = g.names(in.Plan.Things, ids)
	f := set.frame
	s.add(Group{Name: "Plan of " + in.Hazard.Name + ", north up", Clip: &f, Items: inner.Items})
	g.scene = s
	from := g.northAndScale(set.strip, in.Paper.Name)
	if set.part {
		s.keyPlan(Rect{from, set.strip.Y + 1, 24, set.strip.H - 2}, in, set.ground)
	}
	return missed
}

// keyPlan shows small where on the ground the drawing lies: a black rectangle in
// the outline.
func (s *Scene) keyPlan(r Rect, in *HazardInput, part geom.Box) {
	all := extent(in.Plan, in.Hazard)
	size := all.Max.Sub(all.Min)
	v := view{frame: r, mid: all.Min.Mid(all.Max), k: min(r.W/max(size.X, 1e-9), r.H/max(size.Y, 1e-9))}
	a, b := v.at(geom.Vec{X: part.Min.X, Y: part.Max.Y}), v.at(geom.Vec{X: part.Max.X, Y: part.Min.Y})
	s.add(Group{Name: "Where on the ground the drawing lies", Items: []Item{
		box(Rect{a.X, a.Y, max(b.X-a.X, 0.8), max(b.Y-a.Y, 0.8)}, Style{Fill: Black}),
		path(thin, func(p *Path) { p.way(v.all(in.Plan.Ground.Outline), true) }),
	}})
}

// entry is one line of the key: a sign and what it means.
type entry struct {
	sign  func(c Pt) []Item
	words string
}

// key lists what is on the drawing, and nothing else.
func (in *HazardInput) key() []entry {
	all := []entry{
		{func(c Pt) []Item { return redSign(c, signSize) }, "Red, square on its corner, R: on your right"},
		{func(c Pt) []Item { return whiteSign(c, signSize) }, "White, round, L: on your left"},
		{func(c Pt) []Item { return arrow(Pt{c.X - 5, c.Y}, Pt{c.X + 5, c.Y}, true) }, "Way through the gate"},
	}
	for _, o := range openings(in.Hazard, in.Through, in.Class) {
		if !o.live {
			all = append(all, entry{func(c Pt) []Item {
				return []Item{line(Pt{c.X - 5, c.Y}, Pt{c.X + 5, c.Y}, Style{Line: Black, Width: 0.4, Dash: []float64{0.3, 1.2}})}
			}, "Dotted gate: not in play here"})
			break
		}
	}
	has := map[string]bool{}
	var other []string
	for _, t := range in.Plan.Things {
		switch {
		case len(t.Outline) > 0 && t.Drivable:
			has["open"] = true
		case len(t.Outline) > 0:
			has["shut"] = true
		case len(t.Path) > 0:
			has["rail"] = true
		case t.Kind == plan.Tree:
			has["tree"] = true
		default:
			has["post"] = true
			if t.Kind != plan.Post && !slices.Contains(other, t.Kind) {
				other = append(other, t.Kind)
			}
		}
	}
	if has["post"] {
		words := "Post"
		if len(other) > 0 {
			slices.Sort(other)
			words = fit("Post, "+strings.Join(other, ", "), body, false, 100)
		}
		all = append(all, entry{func(c Pt) []Item { return []Item{disc(c, 1, fill)} }, words})
	}
	if has["rail"] {
		all = append(all, entry{func(c Pt) []Item {
			a, b := Pt{c.X - 5, c.Y}, Pt{c.X + 5, c.Y}
			return []Item{line(a, b, Style{Line: Black, Width: 1.4}), line(a, b, Style{Line: White, Width: 0.8})}
		}, "Rail"})
	}
	if has["tree"] {
		all = append(all, entry{func(c Pt) []Item {
			return []Item{disc(c, 2.4, Style{Line: Black, Width: 0.25, Dash: []float64{0.6, 0.9}}), disc(c, 0.9, fill)}
		}, "Tree"})
	}
	area := func(drivable bool) func(c Pt) []Item {
		return func(c Pt) []Item {
			var s Scene
			r := Rect{c.X - 5, c.Y - 2.5, 10, 5}
			pts := []Pt{{r.X, r.Y}, {r.X + r.W, r.Y}, {r.X + r.W, r.Y + r.H}, {r.X, r.Y + r.H}}
			st := pen
			if drivable {
				st.Dash = []float64{2, 1.4}
			} else {
				(&ground{scene: &s, view: view{frame: r}}).hatch(pts)
			}
			s.add(path(st, func(p *Path) { p.way(pts, true) }))
			return s.Items
		}
	}
	if has["shut"] {
		all = append(all, entry{area(false), "Not to be driven"})
	}
	if has["open"] {
		all = append(all, entry{area(true), "May be driven"})
	}
	return all
}

const keySign = 14.0 // mm of a key line that the sign takes

// keyTall is how high the key is in n columns of a width.
func keyTall(k []entry, width float64, n int) float64 {
	cols := keyColumns(k, n)
	var h float64
	for _, c := range cols {
		var one float64
		for _, e := range c {
			one += keyStep(e, width/float64(n))
		}
		h = max(h, one)
	}
	return h
}

func keyStep(e entry, width float64) float64 {
	return max(8.6, tall(e.words, body, false, width-keySign-2)+1)
}

// keyColumns deals the lines out over n columns in reading order.
func keyColumns(k []entry, n int) [][]entry {
	per := (len(k) + n - 1) / n
	var cols [][]entry
	for len(k) > 0 {
		m := min(per, len(k))
		cols = append(cols, k[:m])
		k = k[m:]
	}
	return cols
}

// writeKey writes the key and gives what is left below it.
func (s *Scene) writeKey(r Rect, k []entry, n int) Rect {
	w := r.W / float64(n)
	for i, col := range keyColumns(k, n) {
		y := r.Y
		for _, e := range col {
			step := keyStep(e, w)
			x := r.X + float64(i)*w
			s.add(e.sign(Pt{x + 5.5, y + step/2})...)
			lines := wrap(e.words, body, false, w-keySign-2)
			ty := y + step/2 - float64(len(lines)-1)*lineStep(body)/2 + capHeight(body)/2
			for _, l := range lines {
				s.add(Text{At: Pt{x + keySign, ty}, Size: body, Ink: Black, Words: l})
				ty += lineStep(body)
			}
			y += step
		}
	}
	h := keyTall(k, r.W, n)
	return Rect{r.X, r.Y + h, r.W, r.H - h}
}
