package sheet

import (
	"fmt"
	"math"
	"slices"

	"terret/internal/geom"
	"terret/internal/plan"
)

// view turns ground (m, y north) into paper (mm, y down). It is the only place
// that does: a drawing cannot be mirrored by a slip elsewhere.
type view struct {
	frame Rect     // on paper
	mid   geom.Vec // of the ground, in the middle of the frame
	k     float64  // mm per m
	One   float64  // the scale: 1 to One
}

func (v view) at(g geom.Vec) Pt {
	c := v.frame.mid()
	return Pt{c.X + (g.X-v.mid.X)*v.k, c.Y - (g.Y-v.mid.Y)*v.k}
}

// dir is a direction of the ground on paper.
func (v view) dir(g geom.Vec) Pt { return Pt{g.X, -g.Y} }

func (v view) all(g []geom.Vec) []Pt {
	out := make([]Pt, len(g))
	for i := range g {
		out[i] = v.at(g[i])
	}
	return out
}

// scales are the round scales of one decade that a ruler or an engineer's scale
// can read.
var scales = []float64{1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5, 8}

// roundScale is the least round scale that is not under n.
func roundScale(n float64) float64 {
	for d := 1.0; d < 1e12; d *= 10 {
		for _, s := range scales {
			if s*d >= n*(1-1e-9) {
				return s * d
			}
		}
	}
	return n
}

// least is the largest a drawing is made: 1:20, where a post has its own size.
const leastScale = 20

// look fits the ground of b into the frame, with pad mm round it for signs.
func look(b geom.Box, frame Rect, pad float64) view {
	size := b.Max.Sub(b.Min)
	w, h := math.Max(1, frame.W-2*pad), math.Max(1, frame.H-2*pad)
	one := roundScale(math.Max(leastScale, 1000*math.Max(size.X/w, size.Y/h)))
	return view{frame: frame, mid: b.Min.Mid(b.Max), k: 1000 / one, One: one}
}

// extent is all of the ground that a drawing must show.
func (in *Input) extent() geom.Box {
	b := geom.EmptyBox()
	for _, v := range in.Plan.Ground.Outline {
		b = b.Add(v)
	}
	for _, o := range in.openings() {
		b = b.Add(o.Right).Add(o.Left)
	}
	for _, t := range in.Plan.Things {
		switch {
		case len(t.Outline) > 0:
			for _, v := range t.Outline {
				b = b.Add(v)
			}
		case len(t.Path) > 0:
			for _, v := range t.Path {
				b = b.Add(v)
			}
		default:
			b = b.Add(t.At)
		}
	}
	return in.withPegs(b)
}

// withPegs adds the arena and the pegs P and Q, where they are drawn.
func (in *Input) withPegs(b geom.Box) geom.Box {
	if in.Arena {
		for _, v := range arenaCorners(in.Plan.Arena) {
			b = b.Add(v)
		}
	}
	if in.Stakes != nil {
		for _, p := range in.Stakes.Pegs[:min(2, len(in.Stakes.Pegs))] {
			b = b.Add(p.At)
		}
	}
	return b
}

// ground draws what stands on the ground, and remembers where.
type ground struct {
	scene *Scene // a group's items on the way
	view  view
	room  *room
	grid  float64 // metres between grid lines; 0: none
}

// Pens of the ground. Widths are mm, chosen so that they survive a copier.
var (
	thin  = Style{Line: Black, Width: 0.25}
	pen   = Style{Line: Black, Width: 0.4}
	thick = Style{Line: Black, Width: 0.7}
	fill  = Style{Fill: Black}
)

const (
	leastPost = 0.7 // mm: a post is a dot of this radius where its own is smaller
	leastRail = 1.2 // mm wide
)

// nice is a round length in metres that is about mm millimetres on paper.
func (g *ground) nice(mmLong float64) float64 {
	want := mmLong / g.view.k
	d := math.Pow(10, math.Floor(math.Log10(want)))
	for _, m := range []float64{1, 2, 5} {
		if m*d >= want*0.7 {
			return m * d
		}
	}
	return 10 * d
}

// metres writes a round number of metres.
func metres(m float64) string {
	if m == 0 {
		return "0" // and never "-0"
	}
	if m >= 1 {
		return fmt.Sprintf("%g", math.Round(m*100)/100)
	}
	return fmt.Sprintf("%g", math.Round(m*1000)/1000)
}

// lines draws the grid with its metres along the frame's edge.
func (g *ground) lines() {
	step := g.nice(20)
	f := g.view.frame
	mid := f.mid()
	toGround := func(p Pt) geom.Vec {
		return geom.Vec{X: g.view.mid.X + (p.X-mid.X)/g.view.k, Y: g.view.mid.Y - (p.Y-mid.Y)/g.view.k}
	}
	lo, hi := toGround(Pt{f.X, f.Y + f.H}), toGround(Pt{f.X + f.W, f.Y})
	st := Style{Line: Faint, Width: 0.2}
	for i := math.Ceil(lo.X / step); i*step <= hi.X; i++ {
		q := g.view.at(geom.Vec{X: i * step, Y: lo.Y})
		g.scene.add(line(Pt{q.X, f.Y}, Pt{q.X, f.Y + f.H - 6}, st))
		words := metres(i * step)
		if w := measure(words, body, false); q.X-w/2 > f.X+8 && q.X+w/2 < f.X+f.W {
			t := Text{At: Pt{q.X, f.Y + f.H - 1}, Size: body, Anchor: Middle, Ink: Black, Words: words}
			g.scene.add(t)
			g.room.box(textBox(t).in(-0.5), 1)
		}
	}
	for i := math.Ceil(lo.Y / step); i*step <= hi.Y; i++ {
		q := g.view.at(geom.Vec{X: lo.X, Y: i * step})
		words := metres(i * step)
		w := measure(words, body, false)
		g.scene.add(line(Pt{f.X + w + 2, q.Y}, Pt{f.X + f.W, q.Y}, st))
		if q.Y > f.Y+4 && q.Y < f.Y+f.H-8 {
			t := Text{At: Pt{f.X, q.Y + capHeight(body)/2}, Size: body, Ink: Black, Words: words}
			g.scene.add(t)
			g.room.box(textBox(t).in(-0.5), 1)
		}
	}
	g.grid = step
}

// textBox is the room a text takes, from its base line to the top of capitals.
func textBox(t Text) Rect {
	w := measure(t.Words, t.Size, t.Bold)
	h := capHeight(t.Size)
	x := t.At.X
	switch t.Anchor {
	case Middle:
		x -= w / 2
	case End:
		x -= w
	}
	return Rect{x, t.At.Y - h, w, h}
}

// fence draws the outline of the ground as a double line.
func (g *ground) fence(o geom.Polygon) {
	pts := g.view.all(o)
	g.scene.add(path(Style{Line: Black, Width: 1.1}, func(p *Path) { p.way(pts, true) }))
	g.scene.add(path(Style{Line: White, Width: 0.5}, func(p *Path) { p.way(pts, true) }))
	for i := range pts {
		g.room.line(pts[i], pts[(i+1)%len(pts)], 0.8, 0.3)
	}
}

// arena draws the rectangle of a dressage arena. Its letters are left out: on a
// hazard's paper a letter is a gate.
func (g *ground) arena(a *plan.Arena, named bool) {
	pts := g.view.all(arenaCorners(a))
	if len(pts) == 0 {
		return
	}
	g.scene.add(path(Style{Line: Grey, Width: 0.35, Dash: []float64{3, 1}}, func(p *Path) { p.way(pts, true) }))
	for i := range pts {
		g.room.line(pts[i], pts[(i+1)%4], 0.3, 0.2)
	}
	if named {
		g.areaName(pts, "arena "+a.Size)
	}
}

// arenaCorners are the four corners: left and right of A, then right and left
// of C, as one looks from A to C; nil where there is no arena, or its size
// cannot be read.
func arenaCorners(a *plan.Arena) []geom.Vec {
	if a == nil {
		return nil
	}
	w, l, ok := a.Dims()
	if !ok {
		return nil
	}
	u := a.Bearing.Dir()
	r := u.Right()
	c := []geom.Vec{a.At.Along(r, -w/2), a.At.Along(r, w/2)}
	return append(c, c[1].Along(u, l), c[0].Along(u, l))
}

// things draws posts, trees, rails and areas.
func (g *ground) things(all []plan.Thing) {
	for i := range all { // areas first: they lie under the rest
		if t := &all[i]; len(t.Outline) > 0 && g.shows(t) {
			g.area(t)
		}
	}
	for i := range all {
		switch t := &all[i]; {
		case len(t.Outline) > 0 || !g.shows(t):
		case len(t.Path) > 0:
			pts := g.view.all(t.Path)
			w := math.Max(leastRail, t.Width*g.view.k)
			g.scene.add(path(Style{Line: Black, Width: w}, func(p *Path) { p.way(pts, false) }))
			g.scene.add(path(Style{Line: White, Width: w - 0.6}, func(p *Path) { p.way(pts, false) }))
			for j := 1; j < len(pts); j++ {
				g.room.line(pts[j-1], pts[j], w/2+0.4, 0.8)
			}
		default:
			q := g.view.at(t.At)
			r := math.Max(leastPost, t.Radius*g.view.k)
			if t.Kind == plan.Tree {
				ring := math.Max(2.2, r+1.2)
				g.scene.add(disc(q, ring, Style{Line: Black, Width: 0.25, Dash: []float64{0.6, 0.9}}))
				g.scene.add(disc(q, r, fill))
				g.room.disc(q, ring+0.4, 0.8)
				continue
			}
			if r > 1.5 { // a barrel has a size: a ring with a cross
				g.scene.add(disc(q, r, Style{Fill: White, Line: Black, Width: 0.4}))
				k := r * math.Sqrt2 / 2
				g.scene.add(line(Pt{q.X - k, q.Y - k}, Pt{q.X + k, q.Y + k}, thin), line(Pt{q.X - k, q.Y + k}, Pt{q.X + k, q.Y - k}, thin))
			} else {
				g.scene.add(disc(q, r, fill))
			}
			g.room.disc(q, r+0.4, 0.8)
		}
	}
}

// shows reports whether anything of a thing can be in the drawing.
func (g *ground) shows(t *plan.Thing) bool {
	pts := []geom.Vec{t.At}
	r := t.Radius
	if len(t.Path) > 0 {
		pts, r = t.Path, t.Width/2
	}
	if len(t.Outline) > 0 {
		pts, r = t.Outline, 0
	}
	b := geom.EmptyBox()
	for _, v := range pts {
		b = b.Add(v)
	}
	b = b.Grow(r)
	lo, hi := g.view.at(geom.Vec{X: b.Min.X, Y: b.Max.Y}), g.view.at(geom.Vec{X: b.Max.X, Y: b.Min.Y})
	f := g.view.frame.in(-3)
	return hi.X >= f.X && lo.X <= f.X+f.W && hi.Y >= f.Y && lo.Y <= f.Y+f.H
}

// area draws an outline: what may not be driven is hatched, what may is dashed
// and left open.
func (g *ground) area(t *plan.Thing) {
	pts := g.view.all(t.Outline)
	st := pen
	if t.Drivable {
		st.Dash = []float64{2, 1.4}
	} else {
		g.hatch(pts)
	}
	g.scene.add(path(st, func(p *Path) { p.way(pts, true) }))
	for i := range pts {
		g.room.line(pts[i], pts[(i+1)%len(pts)], 0.4, 0.3)
	}
}

// hatch fills an outline with slanting lines: each is cut where it crosses the
// outline, and drawn between the first and second crossing, the third and the
// fourth, …
func (g *ground) hatch(pts []Pt) {
	const step = 2.2
	f := g.view.frame
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		lo, hi = math.Min(lo, p.X+p.Y), math.Max(hi, p.X+p.Y)
	}
	lo, hi = math.Max(lo, f.X+f.Y), math.Min(hi, f.X+f.W+f.Y+f.H)
	one := Path{Style: Style{Line: Grey, Width: 0.2}}
	for c := math.Ceil(lo/step)*step + 1e-7; c < hi; c += step {
		var xs []float64
		for i, a := range pts {
			b := pts[(i+1)%len(pts)]
			da, db := a.X+a.Y-c, b.X+b.Y-c
			if (da > 0) != (db > 0) {
				xs = append(xs, a.X+(b.X-a.X)*da/(da-db))
			}
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			one.MoveTo(Pt{xs[i], c - xs[i]}).LineTo(Pt{xs[i+1], c - xs[i+1]})
		}
	}
	if len(one.Steps) > 0 {
		g.scene.add(one)
	}
}

// names writes the areas' names, then as many ids of posts, trees and rails as
// find room. It gives how many did not.
func (g *ground) names(all []plan.Thing, ids bool) (missed int) {
	for i := range all {
		t := &all[i]
		if len(t.Outline) == 0 {
			continue
		}
		words := t.ID
		if t.Kind != t.ID && !ids {
			words = t.Kind
		}
		if t.Drivable {
			words += " (may be driven)"
		}
		if !g.areaName(g.view.all(t.Outline), words) {
			missed++
		}
	}
	if !ids {
		return missed
	}
	for i := range all {
		t := &all[i]
		if len(t.Outline) > 0 {
			continue
		}
		q, r := g.view.at(t.At), math.Max(leastPost, t.Radius*g.view.k)
		if len(t.Path) > 0 {
			m := len(t.Path) / 2
			q, r = g.view.at(t.Path[m-1].Mid(t.Path[m])), leastRail/2
		}
		if t.Kind == plan.Tree {
			r = math.Max(2.2, r+1.2)
		}
		if !g.label(q, r+0.8, t.ID, body) && !g.label(q, r+0.6, t.ID, small) {
			missed++
		}
	}
	return missed
}

// areaName writes an area's name in its middle or close outside.
func (g *ground) areaName(pts []Pt, words string) bool {
	lo, hi := Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}
	for _, p := range pts {
		lo = Pt{math.Min(lo.X, p.X), math.Min(lo.Y, p.Y)}
		hi = Pt{math.Max(hi.X, p.X), math.Max(hi.Y, p.Y)}
	}
	c := Pt{(lo.X + hi.X) / 2, (lo.Y + hi.Y) / 2}
	if !g.view.frame.has(c) {
		return true // not in this drawing
	}
	words = fit(words, body, false, 60)
	w, h := measure(words, body, false)+1, capHeight(body)+2
	cand := []Rect{
		{c.X - w/2, c.Y - h/2, w, h}, {c.X - w/2, hi.Y + 1, w, h}, {c.X - w/2, lo.Y - h - 1, w, h},
		{hi.X + 1, c.Y - h/2, w, h}, {lo.X - w - 1, c.Y - h/2, w, h},
		{lo.X, hi.Y + 1, w, h}, {hi.X - w, hi.Y + 1, w, h}, {lo.X, lo.Y - h - 1, w, h}, {hi.X - w, lo.Y - h - 1, w, h},
	}
	i, hid := g.room.best(cand)
	if hid > 8 {
		return false
	}
	b := cand[i]
	g.scene.add(box(b, Style{Fill: White}))
	g.scene.add(Text{At: Pt{b.X + b.W/2, b.Y + b.H - 1}, Size: body, Anchor: Middle, Ink: Black, Words: words})
	g.room.box(b, 1)
	return true
}

// label writes words beside a place where they hide nothing that counts, or
// leaves them out and says so.
func (g *ground) label(c Pt, r float64, words string, size float64) bool {
	if !g.view.frame.has(c) {
		return true // not in this drawing
	}
	words = fit(words, size, false, 45)
	w, h := measure(words, size, false)+0.6, capHeight(size)+1
	cand := around(c, r, w, h, 0, 1.5)
	i, hid := g.room.best(cand)
	if hid >= 0.8 {
		return false
	}
	b := cand[i]
	g.scene.add(box(b, Style{Fill: White}))
	g.scene.add(Text{At: Pt{b.X + b.W/2, b.Y + b.H - 0.5}, Size: size, Anchor: Middle, Ink: Black, Words: words})
	g.room.box(b, 1)
	return true
}

// northAndScale draws the north arrow and the scale bar into a strip that is
// 15 mm high, and states the scale. It gives the x where the strip is free.
func (g *ground) northAndScale(r Rect, paper string) (free float64) {
	s := g.scene
	x, y := r.X+4, r.Y+r.H-2
	s.add(line(Pt{x, y}, Pt{x, y - 10}, thick))
	s.add(path(fill, func(p *Path) { p.way([]Pt{{x, y - 12}, {x + 2, y - 7}, {x - 2, y - 7}}, true) }))
	s.add(Text{At: Pt{x + 3, y - 6}, Size: body, Bold: true, Ink: Black, Words: "N"})

	long := g.nice(50)
	bar := long * g.view.k
	x0 := r.X + 18
	half := path(fill, func(p *Path) { p.rect(Rect{x0, y - 2.5, bar / 2, 2.5}) })
	s.add(half, box(Rect{x0, y - 2.5, bar, 2.5}, pen))
	num := func(x float64, words string) {
		s.add(Text{At: Pt{x, y - 4.2}, Size: body, Anchor: Middle, Ink: Black, Words: words})
	}
	num(x0, "0")
	num(x0+bar, metres(long)+" m")
	num(x0+bar/2, metres(long/2))
	says := fmt.Sprintf("Scale 1:%.0f on %s", g.view.One, paper)
	if g.view.One != math.Trunc(g.view.One) {
		says = fmt.Sprintf("Scale 1:%g on %s", g.view.One, paper)
	}
	room := r.X + r.W - (x0 + bar + 14)
	if measure(says, body, false) > room {
		says = fmt.Sprintf("1:%g", g.view.One)
	}
	s.add(Text{At: Pt{r.X + r.W, y}, Size: body, Anchor: End, Ink: Black, Words: says})
	return x0 + bar + 16
}
