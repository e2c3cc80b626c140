package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"terret/internal/cones"
	"terret/internal/geom"
	"terret/internal/plan"
)

// track is what the cones on a drawing are set for, m: that of the first
// turnout, else that of the list of stakes, else the one a course is measured
// with.
func (in *Input) track() float64 {
	switch {
	case len(in.Turnouts) > 0:
		return in.Turnouts[0].Vehicle.Track
	case in.Stakes != nil && in.Stakes.Track != nil:
		return *in.Stakes.Track / 100
	}
	return cones.NominalTrack
}

// inOrder are a course's gates as they are driven.
func inOrder(c *plan.Course) []plan.ConeGate {
	all := slices.Clone(c.Gates)
	slices.SortStableFunc(all, func(a, b plan.ConeGate) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.Part, b.Part))
	})
	return all
}

// gapOf is the gap rule of a gate: its own, or the course's.
func gapOf(c *plan.Course, g *plan.ConeGate) plan.Gap {
	if g.Gap != nil {
		return *g.Gap
	}
	return c.Gap
}

// courseOpenings lists start, gates and finish in the order of driving, with the
// cones set for a track, m. A woven cone is an opening with one marker: the way
// past it is square to the line from the gate before to the gate behind.
func courseOpenings(c *plan.Course, track float64) []opening {
	gates := inOrder(c)
	where := func(i int) geom.Vec {
		switch {
		case i < 0:
			return c.Start.Mid()
		case i >= len(gates):
			return c.Finish.Mid()
		case gates[i].Cone != nil:
			return *gates[i].Cone
		}
		return gates[i].At
	}
	all := []opening{{Pair: c.Start, names: []string{"Start"}, live: true, flags: true}}
	for i := range gates {
		g := &gates[i]
		half := cones.GapM(gapOf(c, g), track)/2 + c.ConeRadius
		o := opening{names: []string{g.String()}, live: true}
		if g.Cone == nil {
			r := g.Bearing.Dir().Right()
			o.Pair = plan.Pair{Right: g.At.Along(r, half), Left: g.At.Along(r, -half)}
		} else {
			dir := where(i + 1).Sub(where(i - 1)).Unit()
			if dir == (geom.Vec{}) {
				dir = where(i).Sub(where(i - 1)).Unit()
			}
			o.only, o.Pair = "right", plan.Pair{Right: *g.Cone, Left: g.Cone.Along(dir.Right(), -2*half)}
			if g.Pass == "left" {
				o.only, o.Pair = "left", plan.Pair{Left: *g.Cone, Right: g.Cone.Along(dir.Right(), 2*half)}
			}
		}
		all = append(all, o)
	}
	return append(all, opening{Pair: c.Finish, names: []string{"Finish"}, live: true, flags: true})
}

// multiple is a number with several parts.
type multiple struct {
	number int
	parts  []plan.ConeGate
}

func (m *multiple) name() string {
	return fmt.Sprintf("%d %s–%s", m.number, m.parts[0].Part, m.parts[len(m.parts)-1].Part)
}

// holds reports whether an opening is a part of it.
func (m *multiple) holds(o *opening) bool {
	return slices.ContainsFunc(m.parts, func(g plan.ConeGate) bool { return g.String() == o.names[0] })
}

// multiples lists them in order.
func multiples(c *plan.Course) []multiple {
	var all []multiple
	for _, g := range inOrder(c) {
		switch n := len(all); {
		case g.Part == "":
		case n > 0 && all[n-1].number == g.Number:
			all[n-1].parts = append(all[n-1].parts, g)
		default:
			all = append(all, multiple{g.Number, []plan.ConeGate{g}})
		}
	}
	return slices.DeleteFunc(all, func(m multiple) bool { return len(m.parts) < 2 })
}

// leastPart is how far apart on paper the parts of a multiple must be for each to
// have signs, arrow and number of its own, mm.
const leastPart = 19.0

// course draws the gates of a course. A multiple whose parts stand too close on
// paper is drawn in a frame with one name: it is drawn large by itself.
func (g *ground) course(in *Input) {
	all := in.openings()
	var small []multiple
	for _, m := range multiples(in.Course) {
		near := math.Inf(1)
		var mids []Pt
		for i := range all {
			if m.holds(&all[i]) {
				q := g.view.at(all[i].Mid())
				for _, p := range mids {
					near = min(near, p.Dist(q))
				}
				mids = append(mids, q)
			}
		}
		if near < leastPart {
			small = append(small, m)
		}
	}
	rest := all[:0:0]
	groups := make([][]opening, len(small))
	for _, o := range all {
		i := slices.IndexFunc(small, func(m multiple) bool { return m.holds(&o) })
		if i < 0 {
			rest = append(rest, o)
		} else {
			groups[i] = append(groups[i], o)
		}
	}
	frames := make([]Rect, len(small))
	for i := range small {
		frames[i] = g.smallMultiple(in.radius(), groups[i])
	}
	g.gates(in.radius(), rest, false)
	for i := range small {
		g.frameName(frames[i], small[i].name())
	}
}

// smallMultiple draws a multiple without signs, its first part's arrow only, in a
// dashed frame.
func (g *ground) smallMultiple(radius float64, parts []opening) Rect {
	lo, hi := Pt{math.Inf(1), math.Inf(1)}, Pt{math.Inf(-1), math.Inf(-1)}
	for i := range parts {
		o := &parts[i]
		for _, m := range o.markers() {
			q, r := g.view.at(m), math.Max(leastPost, radius*g.view.k)
			g.scene.add(disc(q, r, fill))
			lo, hi = Pt{math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)}, Pt{math.Max(hi.X, q.X), math.Max(hi.Y, q.Y)}
		}
		if o.only == "" {
			g.scene.add(line(g.view.at(o.Right), g.view.at(o.Left), pen))
		}
	}
	b := Rect{lo.X, lo.Y, hi.X - lo.X, hi.Y - lo.Y}.in(-2.2)
	g.scene.add(box(b, Style{Line: Black, Width: 0.3, Dash: []float64{1.6, 1.2}}))
	g.room.box(b, 2)
	// The way in, from outside the frame.
	f, m := g.view.dir(parts[0].Forward()), g.view.at(parts[0].Mid())
	if f != (Pt{}) {
		out := math.Inf(1) // back along the way to the frame's side
		for _, d := range [][3]float64{{f.X, m.X - b.X, b.X + b.W - m.X}, {f.Y, m.Y - b.Y, b.Y + b.H - m.Y}} {
			if d[0] > 1e-9 {
				out = math.Min(out, d[1]/d[0])
			} else if d[0] < -1e-9 {
				out = math.Min(out, d[2]/-d[0])
			}
		}
		if out > 60 {
			out = 0
		}
		tip := m.Along(f, -out)
		g.scene.add(arrow(tip.Along(f, -8), tip, true)...)
		g.room.line(tip.Along(f, -8), tip, 1.3, 1)
	}
	return b
}

// frameName writes a multiple's name in a pill beside its frame.
func (g *ground) frameName(r Rect, words string) {
	const pt = 14.0
	w, h := measure(words, pt, true)+5, 7.0
	c := r.mid()
	var cand []Rect
	for _, d := range []float64{0.8, 4, 9} {
		cand = append(cand, Rect{c.X - w/2, r.Y - h - d, w, h}, Rect{c.X - w/2, r.Y + r.H + d, w, h}, Rect{r.X - w - d, c.Y - h/2, w, h}, Rect{r.X + r.W + d, c.Y - h/2, w, h},
			Rect{r.X, r.Y - h - d, w, h}, Rect{r.X + r.W - w, r.Y + r.H + d, w, h})
	}
	i, _ := g.room.best(cand)
	b := cand[i]
	g.scene.add(path(Style{Fill: White, Line: Black, Width: 0.5}, func(p *Path) { p.pill(b) }))
	g.scene.add(Text{At: Pt{b.X + w/2, b.Y + h/2 + capHeight(pt)/2}, Size: pt, Bold: true, Anchor: Middle, Ink: Black, Words: words})
	g.room.box(b.in(-0.4), 2)
}

// multiplePages draws every multiple large, four to a page.
func (in *Input) multiplePages(title string) []Scene {
	all := multiples(in.Course)
	var pages []Scene
	for len(all) > 0 {
		n := min(4, len(all))
		s, r := in.heading(title).page(in.Paper, true)
		r = s.paragraph(r, 13, true, "Multiples, drawn large")
		w, h := (r.W-6)/2, (r.H-6)/2
		if n <= 2 {
			h = r.H
		}
		if n == 1 {
			w = r.W
		}
		for i, m := range all[:n] {
			f := Rect{r.X + float64(i%2)*(w+6), r.Y + float64(i/2)*(h+6), w, h}
			in.multiple(&s, f, m)
		}
		pages, all = append(pages, s), all[n:]
	}
	return pages
}

// multiple draws one multiple into a frame: its own gates, and what else stands
// there.
func (in *Input) multiple(s *Scene, f Rect, m multiple) {
	var mine []opening
	b := geom.EmptyBox()
	for _, o := range in.openings() {
		if m.holds(&o) {
			mine = append(mine, o)
			for _, v := range o.markers() {
				b = b.Add(v)
			}
		}
	}
	s.add(box(f, Style{Line: Grey, Width: 0.3}))
	name := fmt.Sprintf("%d", m.number)
	s.add(Text{At: Pt{f.X + 3, f.Y + 8}, Size: 17, Bold: true, Ink: Black, Words: name})
	inner := Rect{f.X + 1, f.Y + 2, f.W - 2, f.H - 9}
	var at Scene
	g := &ground{scene: &at, view: look(b.Grow(1.5), inner, signPad), room: newRoom(inner)}
	g.room.box(Rect{f.X, f.Y, 12, 10}, 2)
	g.fence(in.Plan.Ground.Outline)
	g.things(in.Plan.Things)
	g.gates(in.radius(), mine, false)
	s.add(Group{Name: "Multiple " + m.name() + ", north up", Clip: &inner, Items: at.Items})
	var apart []string
	for i := 1; i < len(mine); i++ {
		p, q := mine[i-1].Mid(), mine[i].Mid()
		if mine[i-1].only != "" && mine[i].only != "" { // cone to cone, as it is taped
			p, q = mine[i-1].markers()[0], mine[i].markers()[0]
		}
		apart = append(apart, fmt.Sprintf("%s–%s %.1f", strings.TrimLeft(mine[i-1].names[0], "0123456789"), strings.TrimLeft(mine[i].names[0], "0123456789"), p.Dist(q)))
	}
	left := fmt.Sprintf("%s m", strings.Join(apart, ", "))
	one := fmt.Sprintf("1:%g", g.view.One)
	s.add(Text{At: Pt{f.X + 3, f.Y + f.H - 2}, Size: body, Ink: Black, Words: fit(left, body, false, f.W-measure(one, body, false)-10)})
	s.add(Text{At: Pt{f.X + f.W - 3, f.Y + f.H - 2}, Size: body, Anchor: End, Ink: Black, Words: one})
}

// gapWords says how wide the pairs are set.
func gapWords(c *plan.Course) string {
	say := func(g plan.Gap) string {
		if g.FixedCM > 0 {
			return fmt.Sprintf("%g cm whatever the track", g.FixedCM)
		}
		return fmt.Sprintf("track and %g cm", g.ClearanceCM)
	}
	words := "Gap between the cones: " + say(c.Gap)
	var own []string
	for _, g := range inOrder(c) {
		if g.Gap != nil && *g.Gap != c.Gap && g.Cone == nil {
			own = append(own, g.String()+" "+say(*g.Gap))
		}
	}
	if len(own) > 0 {
		words += "; but " + strings.Join(own, ", ")
	}
	return fit(words, body, false, 1500) + "."
}

// groundSize says how large the ground is, east by north.
func (in *Input) groundSize() string {
	b := geom.EmptyBox()
	for _, v := range in.Plan.Ground.Outline {
		b = b.Add(v)
	}
	if b.Min.X > b.Max.X {
		return ""
	}
	size := b.Max.Sub(b.Min)
	return fmt.Sprintf("Ground %.0f × %.0f m. ", size.X, size.Y)
}

// speeds lists the classes of a course with their speeds, "default" last.
func speeds(c *plan.Course) []string {
	var all []string
	for k := range c.SpeedMPerMin {
		if k != "default" {
			all = append(all, k)
		}
	}
	slices.Sort(all)
	if _, ok := c.SpeedMPerMin["default"]; ok {
		all = append(all, "default")
	}
	return all
}

// className is a class as people say it.
func className(key string, alone bool) string {
	switch {
	case key == "default" && alone:
		return "everyone"
	case key == "default":
		return "all others"
	case key == "vse":
		return "VSE"
	}
	return key
}

// wholeSeconds writes seconds as they are timed: whole, or to the hundredth.
func wholeSeconds(s float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.2f", s), ".00")
}

// timeRows are the lines of the table of times.
func (in *Input) timeRows(length float64) [][]string {
	r := cones.RulesOf(in.Rules)
	all := speeds(in.Course)
	var rows [][]string
	for _, k := range all {
		v := in.Course.SpeedMPerMin[k]
		if !(v > 0) {
			continue
		}
		allowed := r.TimeAllowed(length, v)
		rows = append(rows, []string{className(k, len(all) == 1), fmt.Sprintf("%g", v), wholeSeconds(allowed), wholeSeconds(allowed * r.LimitFactor)})
	}
	return rows
}

var timeColumns = []column{{head: "Class"}, {head: "m/min", width: 24, right: true}, {head: "allowed, s", width: 32, right: true}, {head: "limit, s", width: 28, right: true}}

// measured is the builder's line of the course.
func (in *Input) measured() *cones.Built { return cones.Measure(in.Plan, in.Course) }

// capital begins a sentence.
func capital(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return string(unicode.ToUpper(r[0])) + string(r[1:])
}
