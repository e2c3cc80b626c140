package plan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"terret/internal/geom"
)

func isLetter(s string) bool { return len(s) == 1 && s[0] >= 'A' && s[0] <= 'Z' }

func (c *checker) hazards() {
	if n := len(c.p.Hazards); n > MaxLayouts {
		c.err("too-many", "hazards", fmt.Sprintf("at most %d are taken", MaxLayouts), "there are %d hazards", n)
		return
	}
	seen := map[string]int{}
	for i := range c.p.Hazards {
		h := &c.p.Hazards[i]
		path := fmt.Sprintf("hazards[%d]", i)
		c.unique("hazard", path, h.Name, i, seen)
		c.hazard(path, h)
	}
}

// unique reports a hazard or course without a name of its own.
func (c *checker) unique(what, path, name string, i int, seen map[string]int) {
	if !isName(name) {
		c.err(what+"-name", path+".name", "write a name of one line", "the %s has no name", what)
	} else if j, twice := seen[name]; twice {
		c.err(what+"-name", path+".name", "give each a name of its own", "%ss %d and %d are both called %q", what, j+1, i+1, name)
	} else {
		seen[name] = i
	}
}

// opening is a gate, In, Out, Start, Finish or pair of cones to be checked.
type opening struct {
	says string // "gate B", "the In line"
	path string
	pair Pair
	line geom.Seg // between the inner faces
	ok   bool     // finite, on the ground and open
}

// opening checks what every pair of markers must be.
func (c *checker) opening(rule, says, path string, p Pair, radius float64) opening {
	g := opening{says: says, path: path, pair: p}
	if !c.at(path+".right", p.Right) || !c.at(path+".left", p.Left) {
		return g
	}
	if w := p.Opening(radius); w <= 0 {
		c.err(rule+"-width", path, fmt.Sprintf("set their middles more than %s m apart", num(2*radius)),
			"%s: markers %s m apart from middle to middle leave no opening", says, num(p.Right.Dist(p.Left)))
		return g
	} else if w < usualOpening {
		c.warn(rule+"-narrow", path, fmt.Sprintf("usual is %s m or more (from memory of rule texts)", num(usualOpening)), "%s: markers %s m apart from face to face", says, num(w))
	}
	g.line = p.Line(radius)
	g.ok = true
	for _, m := range []struct {
		side string
		at   geom.Vec
	}{{"right", p.Right}, {"left", p.Left}} {
		if !c.onGround(m.at) {
			c.err(rule+"-outside", path+"."+m.side, "move it in, or make the ground larger", "%s: the %s marker at (%s, %s) stands outside the ground", says, m.side, num(m.at.X), num(m.at.Y))
			g.ok = false
		}
	}
	return g
}

// lineGround checks that there is ground before and behind a line that the
// drive begins or ends on.
func (c *checker) lineGround(g opening) {
	if !g.ok {
		return
	}
	mid, f := g.pair.Mid(), g.pair.Forward()
	for _, s := range []struct {
		says string
		at   geom.Vec
	}{{"before", mid.Along(f, -lineRoom)}, {"behind", mid.Along(f, lineRoom)}, {"on", mid}} {
		o := c.p.Ground.Outline
		if len(o) >= 3 && !o.Contains(s.at) {
			c.err("line-ground", g.path, "turn it round (red is on the driver's right), or set it further in: the turnout stands straight through it",
				"%s leads out of the ground: the place %s m %s it, (%s, %s), is outside", g.says, num(lineRoom), s.says, num(s.at.X), num(s.at.Y))
			return
		}
	}
}

func (c *checker) hazard(path string, h *Hazard) {
	r := h.MarkerRadius
	if !(r >= 0 && r <= 1) {
		c.err("marker-radius", path+".marker_radius", "from 0 to 1 m is taken", "the markers' radius is %v m", r)
		return
	}
	in := c.opening("gate", "the In line", path+".in", h.In, r)
	out := c.opening("gate", "the Out line", path+".out", h.Out, r)
	c.lineGround(in)
	c.lineGround(out)
	all := []opening{in, out}
	if len(h.Gates) == 0 {
		c.err("gate-letter", path+".gates", "set gate A", "the hazard has no gates")
	}
	if len(h.Gates) > MaxGates {
		c.err("too-many", path+".gates", fmt.Sprintf("at most %d are taken", MaxGates), "there are %d gates", len(h.Gates))
		return
	}
	for i := range h.Gates {
		g := &h.Gates[i]
		says := "gate " + g.Letter
		if !isLetter(g.Letter) {
			says = fmt.Sprintf("gate %d of the list", i+1)
		}
		all = append(all, c.opening("gate", says, fmt.Sprintf("%s.gates[%d]", path, i), g.Pair, r))
	}
	c.letters(path, h)
	c.inOpenings("gate", all)
	c.markersInOpenings(h, all)
	c.crossings(h, all)
}

// letters checks that the letters run A, B, C … and that none stands twice for
// one class.
func (c *checker) letters(path string, h *Hazard) {
	have := map[string][]int{}
	top := byte('A' - 1)
	for i, g := range h.Gates {
		if !isLetter(g.Letter) {
			c.err("gate-letter", fmt.Sprintf("%s.gates[%d].letter", path, i), "one capital letter, A to Z", "the letter %q is none", g.Letter)
			continue
		}
		for _, j := range have[g.Letter] {
			if o := h.Gates[j]; len(g.For) == 0 || len(o.For) == 0 || slices.ContainsFunc(g.For, func(k string) bool { return slices.Contains(o.For, k) }) {
				c.err("gate-twice", fmt.Sprintf("%s.gates[%d].letter", path, i), "give each gate its own letter; two gates may share one when they are `for` different classes",
					"gate %s stands twice, as gates %d and %d of the list", g.Letter, j+1, i+1)
				break
			}
		}
		have[g.Letter] = append(have[g.Letter], i)
		top = max(top, g.Letter[0])
	}
	for l := byte('A'); l <= top; l++ {
		if len(have[string(l)]) == 0 {
			c.err("gate-letter", path+".gates", "letters run A, B, C … without a hole", "gate %c is missing: the letters go to %c", l, top)
		}
	}
	c.lettersPerClass(path, h, have, top)
}

// lettersPerClass warns of a class that is left without one of the letters, or
// has none; the first such class and letter are named.
func (c *checker) lettersPerClass(path string, h *Hazard, have map[string][]int, top byte) {
	classes := []string{""}
	for _, g := range h.Gates {
		for _, k := range g.For {
			if !slices.Contains(classes, k) {
				classes = append(classes, k)
			}
		}
	}
	if len(classes) == 1 {
		return
	}
	for _, class := range classes {
		hole := byte(0)
		for l := byte('A'); l <= top; l++ {
			is := slices.ContainsFunc(have[string(l)], func(i int) bool { return h.Gates[i].Is(class) })
			if !is && hole == 0 {
				hole = l
			}
			if is && hole != 0 {
				who := "class " + strconv.Quote(class)
				if class == "" {
					who = "anyone whose class is not named"
				}
				c.warn("gate-for", path+".gates", "see whether `for` is meant so", "for %s there is no gate %c, but a later one", who, hole)
				break
			}
		}
	}
}

// span is a stretch of a gate's line, in metres from its left face.
type span struct{ from, to float64 }

func (s *span) hold(t float64) { s.from, s.to = min(s.from, t), max(s.to, t) }

// inOpenings looks for things that stand between the inner faces. One that
// leaves room on both its sides, or no room at all, is in the gate; one that
// stands against a marker only makes the gate narrower.
func (c *checker) inOpenings(rule string, gates []opening) {
	type narrowing struct {
		id    string
		spans []span
	}
	for _, g := range gates {
		if !g.ok {
			continue
		}
		length := g.line.Len()
		reach := geom.EmptyBox().Add(g.line.A).Add(g.line.B)
		var narrow []narrowing
		free := span{0, length}
		for i := range c.p.Things {
			t := &c.p.Things[i]
			if t.Drivable {
				continue
			}
			spans := onSegment(g.line, reach, t)
			in := false
			for _, s := range spans {
				in = in || s.from > touching && s.to < length-touching || s.from <= touching && s.to >= length-touching
			}
			if in {
				s := spans[0]
				c.err(rule+"-blocked", g.path, "take it out, or move the gate", "%s: %s %q (things[%d]) stands in the opening, from %s to %s m of its %s m", g.says, t.Kind, t.ID, i, num(max(0, s.from)), num(min(length, s.to)), num(length))
				continue
			}
			took := false
			for _, s := range spans {
				switch {
				case s.from <= touching && s.to > touching:
					free.from, took = max(free.from, s.to), true
				case s.to >= length-touching && s.from < length-touching:
					free.to, took = min(free.to, s.from), true
				}
			}
			if took {
				narrow = append(narrow, narrowing{t.ID, spans})
			}
		}
		if len(narrow) == 0 {
			continue
		}
		ids := make([]string, len(narrow))
		for i, n := range narrow {
			ids[i] = strconv.Quote(n.id)
		}
		if left := free.to - free.from; left <= touching {
			c.err(rule+"-blocked", g.path, "take them out, or move the gate", "%s: %s leave nothing of its %s m", g.says, strings.Join(ids, ", "), num(length))
		} else {
			c.warn(rule+"-narrowed", g.path, "see whether it is meant so", "%s: %s stand against its markers and leave %s m of its %s m", g.says, strings.Join(ids, ", "), num(left), num(length))
		}
	}
}

// onSegment is where t covers the line l.
func onSegment(l geom.Seg, reach geom.Box, t *Thing) []span {
	var out []span
	clear := func(b geom.Box) bool {
		return b.Min.X > reach.Max.X || b.Max.X < reach.Min.X || b.Min.Y > reach.Max.Y || b.Max.Y < reach.Min.Y
	}
	add := func(s span) {
		if s.from < s.to && s.to > 0 && s.from < l.Len() {
			out = append(out, s)
		}
	}
	switch {
	case len(t.Outline) > 0:
		b := geom.EmptyBox()
		for _, v := range t.Outline {
			b = b.Add(v)
		}
		if !clear(b) {
			for _, s := range inPolygon(l, t.Outline) {
				add(s)
			}
		}
	case len(t.Path) > 0:
		for i := 0; i+1 < len(t.Path); i++ {
			a, b := t.Path[i], t.Path[i+1]
			if !clear(geom.EmptyBox().Add(a).Add(b).Grow(t.Width / 2)) {
				add(inCapsule(l, geom.Seg{A: a, B: b}, t.Width/2))
			}
		}
	default:
		if !clear(geom.EmptyBox().Add(t.At).Grow(t.Radius)) {
			add(inCapsule(l, geom.Seg{A: t.At, B: t.At}, t.Radius))
		}
	}
	return join(out)
}

// join merges spans that meet, so that a rail of several pieces is one.
func join(s []span) []span {
	slices.SortFunc(s, func(a, b span) int {
		switch {
		case a.from < b.from:
			return -1
		case a.from > b.from:
			return 1
		}
		return 0
	})
	var out []span
	for _, x := range s {
		if n := len(out); n > 0 && x.from <= out[n-1].to {
			out[n-1].to = max(out[n-1].to, x.to)
		} else {
			out = append(out, x)
		}
	}
	return out
}

// inCapsule is the stretch of l nearer than r to s. A capsule is convex, so it
// is one stretch: the hull of those of its two discs and its rectangle.
func inCapsule(l, s geom.Seg, r float64) span {
	out := span{math.Inf(1), math.Inf(-1)}
	u := l.B.Sub(l.A).Unit()
	if r == 0 { // a bare line: where it is crossed, as a stretch that shows
		if a, _, ok := l.Cross(s); ok {
			t := a * l.Len()
			return span{t - 1e-9, t + 1e-9}
		}
		return out
	}
	for _, m := range []geom.Vec{s.A, s.B} {
		w := m.Sub(l.A)
		along, off := w.Dot(u), w.Cross(u)
		if h := r*r - off*off; h > 0 {
			h = math.Sqrt(h)
			out.hold(along - h)
			out.hold(along + h)
		}
	}
	d := s.B.Sub(s.A)
	if d.Len2() == 0 {
		return out
	}
	n := d.Unit().Left().Mul(r)
	rect := geom.Polygon{s.A.Add(n), s.B.Add(n), s.B.Sub(n), s.A.Sub(n)}
	for _, x := range inPolygon(l, rect) {
		out.hold(x.from)
		out.hold(x.to)
	}
	return out
}

// inPolygon is where l runs inside pg: between its crossings of the sides.
func inPolygon(l geom.Seg, pg geom.Polygon) []span {
	length := l.Len()
	cuts := []float64{0, length}
	for i := range pg {
		if u, v, _ := l.Cross(pg.Edge(i)); u > 0 && u < 1 && v >= 0 && v <= 1 {
			cuts = append(cuts, u*length)
		}
	}
	slices.Sort(cuts)
	var out []span
	for i := 0; i+1 < len(cuts); i++ {
		if cuts[i+1] > cuts[i] && pg.Contains(l.At((cuts[i]+cuts[i+1])/2/length)) {
			out = append(out, span{cuts[i], cuts[i+1]})
		}
	}
	return join(out)
}

// markersInOpenings warns of a marker of one gate that stands between those of
// another: possible where gates share posts, and easily a slip.
func (c *checker) markersInOpenings(h *Hazard, gates []opening) {
	for i, g := range gates {
		if !g.ok {
			continue
		}
		for j, o := range gates {
			if i == j || !o.ok {
				continue
			}
			for _, m := range []struct {
				side string
				at   geom.Vec
			}{{"right", o.pair.Right}, {"left", o.pair.Left}} {
				s := inCapsule(g.line, geom.Seg{A: m.at, B: m.at}, h.MarkerRadius)
				if s.from < s.to && s.from > touching && s.to < g.line.Len()-touching {
					c.warn("gate-marker", g.path, "see whether it is meant so", "%s: the %s marker of %s stands in the opening", g.says, m.side, o.says)
				}
			}
		}
	}
}

// crossings warns of gates whose lines cross: driving one drives part of the
// other.
func (c *checker) crossings(h *Hazard, gates []opening) {
	for i, g := range gates {
		for j := i + 1; j < len(gates); j++ {
			o := gates[j]
			if !g.ok || !o.ok || i >= 2 && apart(h.Gates[i-2], h.Gates[j-2]) {
				continue
			}
			if _, _, cross := g.line.Cross(o.line); cross {
				c.warn("gate-cross", o.path, "see whether it is meant so", "the line of %s crosses that of %s", o.says, g.says)
			}
		}
	}
}

// apart reports whether two gates are never in play together.
func apart(a, b Gate) bool {
	return len(a.For) > 0 && len(b.For) > 0 && !slices.ContainsFunc(a.For, func(k string) bool { return slices.Contains(b.For, k) })
}
