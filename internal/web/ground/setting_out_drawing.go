package ground

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
)

// stakesDrawing is a layout with its pegs and numbered points: the plan's own
// drawing, close up, without a line.
type stakesDrawing struct {
	plan *plan.Plan
	list *survey.StakeList
}

// Sizes of the drawing, px. It is drawn as wide as a phone and grows from there,
// so that its words are never smaller than they are there.
const (
	stakesWidth  = 358.
	stakesHeight = 460.
	stakesPad    = 30.
)

// frameFor is a pen for a drawing that holds the box.
func frameFor(box geom.Box) (p *pen, width float64) {
	size := box.Max.Sub(box.Min)
	k := math.Min((stakesWidth-2*stakesPad)/math.Max(size.X, 1), (stakesHeight-2*stakesPad)/math.Max(size.Y, 1))
	p = &pen{min: box.Min, k: k, pad: stakesPad}
	p.h = size.Y*k + 2*stakesPad
	return p, math.Max(size.X*k+2*stakesPad, 160)
}

// groundFor draws what stands there already, outline, arena, things.
func groundFor(p *pen, pl *plan.Plan, width float64) {
	d := drawing{plan: pl}
	d.grid(p, width)
	ring := way(p.on(pl.Ground.Outline), true)
	p.f(`<path d="%v" class="fence"/><path d="%v" class="fence-in"/>`, ring, ring)
	d.arena(p)
	d.things(p)
}

// point draws one place with the sign of its kind, at a screen point.
func (p *pen) point(id string, q geom.Vec) {
	const r = 6.5
	switch signOf(id) {
	case "right":
		p.f(`<path d="%v" class="red-sign"/>`, diamond(q, r+1))
	case "left":
		p.f(`<circle cx="%v" cy="%v" r="%v" class="white-sign"/>`, q.X, q.Y, r-1)
	default:
		if letter, ok := strings.CutPrefix(id, "letter."); ok {
			p.f(`<circle cx="%v" cy="%v" r="10" class="ring"/><text x="%v" y="%v" class="ring-letter">%v</text>`, q.X, q.Y, q.X, q.Y+5, letter)
			return
		}
		p.f(`<circle cx="%v" cy="%v" r="%v" class="ink"/>`, q.X, q.Y, r-2.5)
	}
}

// apart is how far the two signs of a gate are drawn from each other at least, px.
const apart = 14.

// signsAt is where the signs of points are drawn: in their places, but the two of
// a gate that would lie on each other are moved away from its middle.
func (p *pen) signsAt(places map[string]geom.Vec) map[string]geom.Vec {
	out := map[string]geom.Vec{}
	for id, v := range places {
		out[id] = p.at(v)
	}
	for id := range places {
		gate, ok := strings.CutSuffix(id, ".right")
		left, both := out[gate+".left"]
		right := out[id]
		if d := right.Sub(left); ok && both && d.Len() > 0 && d.Len() < apart {
			mid := right.Lerp(left, 0.5)
			out[id], out[gate+".left"] = mid.Along(d.Unit(), apart/2), mid.Along(d.Unit(), -apart/2)
		}
	}
	return out
}

// labels finds room for short words beside points.
type labels struct {
	taken []geom.Vec
	width float64
	high  float64
}

// newLabels keeps clear of the north arrow and of the scale.
func newLabels(p *pen, width float64) *labels {
	l := &labels{width: width, high: p.h}
	for x := 20.; x < 140; x += 16 {
		l.taken = append(l.taken, geom.Vec{X: x, Y: p.h - 10})
	}
	l.taken = append(l.taken, geom.Vec{X: width - 26, Y: 24}, geom.Vec{X: width - 14, Y: 12})
	return l
}

// beside is the middle of a word's place near q: the freest of eight.
func (l *labels) beside(q geom.Vec, out float64) geom.Vec {
	best, room := q, math.Inf(-1)
	for i := range 8 {
		d := geom.Degrees(float64(45 * i)).Dir()
		c := q.Along(turn(d), out)
		if c.X < 10 || c.X > l.width-10 || c.Y < 10 || c.Y > l.high-6 {
			continue
		}
		near := math.Inf(1)
		for _, t := range l.taken {
			near = math.Min(near, math.Hypot((t.X-c.X)/1.6, t.Y-c.Y)) // words are wider than high
		}
		if near > room+0.5 {
			best, room = c, near
		}
	}
	l.taken = append(l.taken, best)
	return best
}

// SVG draws it. All text is escaped here.
func (d stakesDrawing) SVG() template.HTML {
	box := geom.EmptyBox()
	for _, peg := range d.list.Pegs {
		box = box.Add(peg.At)
	}
	for _, s := range d.list.Stakes {
		box = box.Add(geom.Vec{X: s.X, Y: s.Y})
	}
	p, w := frameFor(box)
	fmt.Fprintf(p, `<svg xmlns="http://www.w3.org/2000/svg" class="ground still stakes" role="img" viewBox="0 0 %s %s" aria-label="%s">`,
		px(w), px(p.h), html.EscapeString(fmt.Sprintf("%s, north up: pegs %s and %s with the line between them, and %s numbered in working order.", d.list.What, d.list.Pegs[0].Name, d.list.Pegs[1].Name, count(len(d.list.Stakes), "point"))))
	groundFor(p, d.plan, w)
	l := newLabels(p, w)
	p.f(`<path d="%v" class="baseline"/>`, way(p.on([]geom.Vec{d.list.Pegs[0].At, d.list.Pegs[1].At}), false))
	places := map[string]geom.Vec{}
	for _, s := range d.list.Stakes {
		places[s.ID] = geom.Vec{X: s.X, Y: s.Y}
	}
	at := p.signsAt(places)
	for _, q := range at {
		l.taken = append(l.taken, q)
	}
	for _, peg := range d.list.Pegs {
		q := p.at(peg.At)
		l.taken = append(l.taken, q)
		p.f(`<path d="M%v %vl-7 -13h14z" class="peg"/>`, q.X, q.Y)
	}
	for _, peg := range d.list.Pegs {
		c := l.beside(p.at(peg.At), 20)
		p.f(`<text x="%v" y="%v" class="peg-name">%v</text>`, c.X, c.Y+6, peg.Name)
	}
	for _, s := range d.list.Stakes {
		q := at[s.ID]
		p.f(`<g data-point="%v"><circle cx="%v" cy="%v" r="12" class="due-ring"/>`, s.ID, q.X, q.Y)
		p.point(s.ID, q)
		out := 17.
		if strings.HasPrefix(s.ID, "letter.") {
			out = 21
		}
		c := l.beside(q, out)
		p.f(`<text x="%v" y="%v" class="when">%v</text></g>`, c.X, c.Y+5, strconv.Itoa(s.Order))
	}
	drawing{width: w}.furniture(p, w)
	p.WriteString("</svg>")
	return template.HTML(p.String()) // every text went through f
}
