package sheet

import (
	"fmt"
	"math"
	"strings"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/turnout"
)

// Pens of the ways: the first is solid, the second has a dash of its own.
var wayPens = [2]Style{
	{Line: Black, Width: 0.8},
	{Line: Black, Width: 0.6, Dash: []float64{3.2, 1.8}},
}

// two picks the ways to draw: the quickest, and of the others the one that runs
// furthest from it on the average; a way counts less the longer it takes.
func two(a *hazard.Answer) []*hazard.Route {
	if len(a.Routes) == 0 {
		return nil
	}
	best := &a.Routes[0]
	var other *hazard.Route
	most := -1.0
	for i := 1; i < len(a.Routes); i++ {
		r := &a.Routes[i]
		far := apart(r, best)
		if best.TimeS > 0 && r.TimeS > 0 {
			far *= best.TimeS / r.TimeS
		}
		if far > most*(1+1e-9) {
			most, other = far, r
		}
	}
	if other == nil {
		return []*hazard.Route{best}
	}
	return []*hazard.Route{best, other}
}

// apart is how far r runs from best on the average, m: from each of at most 200
// places on r to the nearest place on best.
func apart(r, best *hazard.Route) float64 {
	n := len(r.Samples)
	if n == 0 || len(best.Samples) == 0 {
		return 0
	}
	step := max(1, n/200)
	var sum, count float64
	for i := 0; i < n; i += step {
		q := r.Samples[i].Lead.Vec()
		d := math.Inf(1)
		for j := 1; j < len(best.Samples); j++ {
			d = math.Min(d, geom.Seg{A: best.Samples[j-1].Lead.Vec(), B: best.Samples[j].Lead.Vec()}.Dist(q))
		}
		if len(best.Samples) == 1 {
			d = best.Samples[0].Lead.Vec().Dist(q)
		}
		sum += d
		count++
	}
	return sum / count
}

// ways draws the driven lines: the room that the first takes as a hatch, then
// the second, then the first with a tick for each second.
func (g *ground) ways(rs []*hazard.Route, t *turnout.Turnout) {
	g.swept(rs[0], t)
	for i := len(rs) - 1; i >= 0; i-- {
		pts := make([]Pt, len(rs[i].Samples))
		for j, s := range rs[i].Samples {
			pts[j] = g.view.at(s.Lead.Vec())
			if j > 0 {
				g.room.line(pts[j-1], pts[j], 0.5, 0.5)
			}
		}
		g.scene.add(path(wayPens[i], func(p *Path) { p.way(pts, false) }))
	}
	g.ticks(rs[0])
}

// swept hatches the room that a way takes: strokes as wide as the horses and
// the hubs, square across each of them, half a metre or more apart.
func (g *ground) swept(r *hazard.Route, t *turnout.Turnout) {
	if t == nil {
		return
	}
	horses := t.Horse.Width
	if t.Abreast() {
		horses += t.Horse.Apart
	}
	leaders := t.Horse.Width
	if t.LeadersAbreast() {
		leaders += t.Horse.Apart
	}
	step := math.Max(0.5, 1.2/g.view.k)
	one := Path{Style: Style{Line: Grey, Width: 0.15}}
	across := func(at geom.Vec, deg, width float64) {
		x := geom.Degrees(deg).Dir().Right()
		one.MoveTo(g.view.at(at.Along(x, width/2))).LineTo(g.view.at(at.Along(x, -width/2)))
	}
	next := 0.0
	for _, s := range r.Samples {
		if s.SM < next {
			continue
		}
		next = s.SM + step
		across(s.Lead.Vec(), s.BearingDeg, horses)
		for i := range min(len(s.Axles), len(s.AxleBearingsDeg)) {
			across(s.Axles[i].Vec(), s.AxleBearingsDeg[i], t.Vehicle.Hubs)
		}
		if s.Leaders != nil {
			across(s.Leaders.At.Vec(), s.Leaders.BearingDeg, leaders)
		}
	}
	if len(one.Steps) > 0 {
		g.scene.add(one)
	}
}

// ticks marks each second of a way, each fifth with a longer tick.
func (g *ground) ticks(r *hazard.Route) {
	short := Path{Style: Style{Line: Black, Width: 0.35}}
	long := Path{Style: Style{Line: Black, Width: 0.6}}
	next := 1.0
	for i := 1; i < len(r.Samples); i++ {
		a, b := r.Samples[i-1], r.Samples[i]
		for ; b.TS >= next && b.TS > a.TS; next++ {
			at := a.Lead.Vec().Lerp(b.Lead.Vec(), (next-a.TS)/(b.TS-a.TS))
			x := g.view.dir(geom.Degrees(b.BearingDeg).Dir().Right())
			q := g.view.at(at)
			p, half := &short, 1.2
			if math.Mod(next, 5) == 0 {
				p, half = &long, 2.2
			}
			p.MoveTo(q.Along(x, half)).LineTo(q.Along(x, -half))
		}
	}
	for _, p := range []Path{short, long} {
		if len(p.Steps) > 0 {
			g.scene.add(p)
		}
	}
}

// seconds writes the time at each gate of a way, where it is driven.
func (g *ground) seconds(r *hazard.Route) {
	for _, p := range r.Passes {
		if p.Was == "dead" || !p.Forward || p.Gate == "in" {
			continue
		}
		at, ok := placeAt(r, p.SM)
		if !ok {
			continue
		}
		g.flag(g.view.at(at), fmt.Sprintf("%.1f s", p.TS))
	}
}

// placeAt is the lead point s metres into a way.
func placeAt(r *hazard.Route, s float64) (geom.Vec, bool) {
	for i := 1; i < len(r.Samples); i++ {
		a, b := r.Samples[i-1], r.Samples[i]
		if b.SM >= s && b.SM > a.SM {
			return a.Lead.Vec().Lerp(b.Lead.Vec(), math.Max(0, (s-a.SM)/(b.SM-a.SM))), true
		}
	}
	if n := len(r.Samples); n > 0 {
		return r.Samples[n-1].Lead.Vec(), true
	}
	return geom.Vec{}, false
}

// flag writes words near a place, with a thin line to it.
func (g *ground) flag(c Pt, words string) {
	w, h := measure(words, body, true)+1.4, capHeight(body)+1.6
	cand := around(c, 2.5, w, h, 0, 2, 4, 7, 10, 14, 18)
	i, _ := g.room.best(cand)
	b := cand[i]
	// To the nearest point of the box's side.
	q := Pt{math.Max(b.X, math.Min(c.X, b.X+b.W)), math.Max(b.Y, math.Min(c.Y, b.Y+b.H))}
	g.scene.add(line(c, q, thin), box(b, Style{Fill: White}))
	g.scene.add(Text{At: Pt{b.X + b.W/2, b.Y + b.H - 0.8}, Size: body, Bold: true, Anchor: Middle, Ink: Black, Words: words})
	g.room.box(b, 2)
	g.room.line(c, q, 0.2, 0.4)
}

// tight draws the least room of a way as a dimension with its centimetres: a bar
// across the gap with a stop at each end.
func (g *ground) tight(r *hazard.Route) {
	if len(r.Tight) == 0 {
		return
	}
	t := r.Tight[0]
	at := g.view.at(t.At.Vec())
	to := g.view.at(nearPart(r, t))
	d := to.Sub(at).unit()
	if d == (Pt{}) {
		d = Pt{1, 0}
	}
	// A gap of some centimetres is a hair on paper: the stops stand where the gap
	// ends, and arrows outside point at them.
	end := at.Along(d, math.Max(0.4, t.ClearanceM*g.view.k))
	x := d.right()
	st := Style{Line: Black, Width: 0.4}
	for _, e := range []struct {
		p   Pt
		dir float64
	}{{at, -1}, {end, 1}} {
		g.scene.add(line(e.p.Along(x, 1.6), e.p.Along(x, -1.6), st))
		tail := e.p.Along(d, e.dir*4)
		g.scene.add(arrow(tail, e.p.Along(d, e.dir*0.2), false)...)
	}
	g.room.line(at.Along(d, -4), end.Along(d, 4), 1.6, 1)
	g.flag(at.Along(d, -1), centimetres(t.ClearanceM))
}

// nearPart is about where the part was that came nearest: the hub's end, or the
// nearest place on the line from axle to horse.
func nearPart(r *hazard.Route, t hazard.Tight) geom.Vec {
	var s hazard.Sample
	near := math.Inf(1)
	for _, q := range r.Samples {
		if d := math.Abs(q.SM - t.SM); d < near {
			near, s = d, q
		}
	}
	chain := []geom.Vec{s.Lead.Vec()}
	for _, a := range s.Axles {
		chain = append(chain, a.Vec())
	}
	if t.Part == "rear hub" && len(chain) > 2 {
		return chain[2]
	}
	if t.Part == "hub" && len(chain) > 1 {
		return chain[1]
	}
	if s.Leaders != nil && t.Part == "leader" {
		return s.Leaders.At.Vec()
	}
	at, best, d := t.At.Vec(), chain[0], math.Inf(1)
	for i := 1; i < len(chain); i++ {
		if q, _ := (geom.Seg{A: chain[i-1], B: chain[i]}).Nearest(at); q.Dist(at) < d {
			best, d = q, q.Dist(at)
		}
	}
	return best
}

// centimetres writes a small length as people say it.
func centimetres(m float64) string { return fmt.Sprintf("%.0f cm", m*100) }

// sayID turns the id of a built marker into words: "A.right" is "A red (R)".
func sayID(id string) string {
	if id == "outline" {
		return "the outline"
	}
	gate, side, ok := strings.Cut(id, ".")
	if !ok {
		return id
	}
	switch side {
	case "right":
		return sayGate(gate) + " red (R)"
	case "left":
		return sayGate(gate) + " white (L)"
	}
	return id
}

// sayGate is a gate's name as it stands on the drawing.
func sayGate(gate string) string {
	switch gate {
	case "in":
		return "In"
	case "out":
		return "Out"
	}
	return gate
}
