package ground

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
)

// builtDrawing is the plan with an arrow from where each point was wanted to
// where it stands, many times too long, and the ellipse of its doubt about the
// arrow's head, as many times too large.
type builtDrawing struct {
	plan     *plan.Plan
	list     *survey.StakeList
	view     *builtView
	network  *survey.Network
	suspects []survey.Check
}

const (
	longestArrow = 44. // px
	mostTimes    = 200 // the largest exaggeration
)

// times is how many times too long the arrows are: a round number.
func (d builtDrawing) times(k float64) float64 {
	longest := 0.
	for _, b := range d.view.Points {
		if !b.Fix.NoFix {
			longest = math.Max(longest, b.At.Dist(b.Plan))
		}
	}
	best := 1.
	for _, t := range []float64{2, 5, 10, 20, 50, 100, mostTimes} {
		if longest*k*t <= longestArrow {
			best = t
		}
	}
	return best
}

// SVG draws it. All text is escaped here.
func (d builtDrawing) SVG() template.HTML {
	box := geom.EmptyBox()
	where := map[string]geom.Vec{}
	for _, b := range d.view.Points {
		box = box.Add(b.Plan)
		where[b.ID] = b.Plan
	}
	for _, f := range d.network.Fixed {
		where[f.Name] = f.At
	}
	var pegs []survey.Point
	for _, peg := range d.list.Pegs {
		if at, held := where[peg.Name]; held {
			box = box.Add(at)
			pegs = append(pegs, survey.Point{Name: peg.Name, At: at})
		}
	}
	p, w := frameFor(box.Grow(1))
	times := d.times(p.k)
	fmt.Fprintf(p, `<svg xmlns="http://www.w3.org/2000/svg" class="ground still stakes" role="img" viewBox="0 0 %s %s" aria-label="%s">`,
		px(w), px(p.h), html.EscapeString(fmt.Sprintf("%s as built against the plan, north up; arrows and ellipses %.0f times too large. The table says the same in numbers.", d.list.What, times)))
	groundFor(p, d.plan, w)
	for _, c := range d.suspects {
		a, okA := where[c.From]
		b, okB := where[c.To]
		if okA && okB {
			p.f(`<path d="%v" class="wrong-tape"/>`, way(p.on([]geom.Vec{a, b}), false))
		}
	}
	l := newLabels(p, w)
	l.taken = append(l.taken, geom.Vec{X: 40, Y: 14})
	places := map[string]geom.Vec{}
	for _, b := range d.view.Points {
		places[b.ID] = b.Plan
	}
	at := p.signsAt(places)
	for _, q := range at {
		l.taken = append(l.taken, q)
	}
	for _, peg := range pegs {
		q := p.at(peg.At)
		l.taken = append(l.taken, q)
		p.f(`<path d="M%v %vl-7 -13h14z" class="peg"/>`, q.X, q.Y)
	}
	for _, b := range d.view.Points {
		q := at[b.ID]
		p.point(b.ID, q)
		if b.Fix.NoFix {
			p.f(`<circle cx="%v" cy="%v" r="12" class="no-fix"/>`, q.X, q.Y)
			continue
		}
		tip := q.Along(turn(b.At.Sub(b.Plan)), p.k*times)
		l.taken = append(l.taken, tip)
		if e := b.Fix.Ellipse; e != nil && e.A*p.k*times < 2*longestArrow {
			fmt.Fprintf(p, `<ellipse cx="%s" cy="%s" rx="%s" ry="%s" transform="rotate(%s %s %s)" class="doubt"/>`,
				px(tip.X), px(tip.Y), px(math.Max(1, e.A*p.k*times)), px(math.Max(1, e.B*p.k*times)), px(e.Bearing-90), px(tip.X), px(tip.Y))
		}
		if b.Far {
			p.f(`<path d="%v" class="move"/>`, way([]geom.Vec{q, tip}, false))
			if u := tip.Sub(q); u.Len() > 5 {
				u = u.Unit()
				p.f(`<path d="%v" class="move-head"/>`, way([]geom.Vec{tip, tip.Along(u, -8).Along(u.Right(), 4), tip.Along(u, -8).Along(u.Right(), -4)}, true))
			}
		}
	}
	for _, b := range d.view.Points {
		c := l.beside(at[b.ID], 17)
		p.f(`<text x="%v" y="%v" class="when">%v</text>`, c.X, c.Y+5, strconv.Itoa(b.Order))
	}
	for _, peg := range pegs {
		c := l.beside(p.at(peg.At), 20)
		p.f(`<text x="%v" y="%v" class="peg-name">%v</text>`, c.X, c.Y+6, peg.Name)
	}
	drawing{width: w}.furniture(p, w)
	p.f(`<text x="%v" y="20" class="times">moves × %v</text>`, 8.0, strconv.Itoa(int(times)))
	p.WriteString("</svg>")
	return template.HTML(p.String()) // every text went through f
}
