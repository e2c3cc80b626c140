package ground

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
)

// drawing is a plan as SVG, drawn by the server: what stands on the page before
// (or without) the editor's script, on a phone, and small in the list. It has
// the signs of the editor and shares its style sheet.
type drawing struct {
	plan    *plan.Plan
	hazard  *plan.Hazard  // whose gates are signed; nil: none
	through string        // later letters are not in play; "" is all
	route   *hazard.Route // nil: no line
	width   float64       // px
	height  float64       // px, at most; the drawing is as high as it needs
	small   bool          // for the list: no words, no tags
	course  *plan.Course  // a cones course to be drawn instead of a hazard; nil: none
	driven  []geom.Vec    // lead points of the line through the cones
	track   float64       // m, for which the cones are set; 0: the nominal one
}

// sign is half the diagonal of the red square and the radius of the white
// circle, px.
const sign = 12.0

// pen writes SVG with the ground turned onto the screen: north up, so y runs
// against it. This is the only place that turns it over.
type pen struct {
	strings.Builder
	min geom.Vec // ground at the lower left
	k   float64  // px per metre
	pad float64
	h   float64
}

func (p *pen) at(v geom.Vec) geom.Vec {
	return geom.Vec{X: p.pad + (v.X-p.min.X)*p.k, Y: p.h - p.pad - (v.Y-p.min.Y)*p.k}
}

// turn is a ground direction on the screen.
func turn(v geom.Vec) geom.Vec { return geom.Vec{X: v.X, Y: -v.Y} }

func px(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func (p *pen) f(format string, args ...any) {
	for i, a := range args {
		switch a := a.(type) {
		case float64:
			args[i] = px(a)
		case string:
			args[i] = html.EscapeString(a)
		}
	}
	fmt.Fprintf(p, format, args...)
}

// way is the d of a path through screen points.
func way(pts []geom.Vec, shut bool) string {
	var b strings.Builder
	for i, q := range pts {
		b.WriteString([]string{"M", "L"}[min(i, 1)])
		b.WriteString(px(q.X) + " " + px(q.Y))
	}
	if shut {
		b.WriteString("Z")
	}
	return b.String()
}

func (p *pen) on(pts []geom.Vec) []geom.Vec {
	out := make([]geom.Vec, len(pts))
	for i, v := range pts {
		out[i] = p.at(v)
	}
	return out
}

// SVG draws it. All text is escaped here.
func (d drawing) SVG() template.HTML {
	box := geom.EmptyBox()
	for _, v := range d.plan.Ground.Outline {
		box = box.Add(v)
	}
	if d.hazard != nil {
		for _, g := range d.gates() {
			box = box.Add(g.Right).Add(g.Left)
		}
	}
	pad := 38.0
	if d.small {
		pad = 8
	}
	size := box.Max.Sub(box.Min)
	k := math.Min((d.width-2*pad)/math.Max(size.X, 1), (d.height-2*pad)/math.Max(size.Y, 1))
	p := &pen{min: box.Min, k: k, pad: pad}
	w := size.X*k + 2*pad
	p.h = size.Y*k + 2*pad

	class := "ground still"
	if d.small {
		class = "ground still small"
	}
	fmt.Fprintf(p, `<svg xmlns="http://www.w3.org/2000/svg" class="%s" role="img" viewBox="0 0 %s %s" width="%s" height="%s" aria-label="%s">`,
		class, px(w), px(p.h), px(w), px(p.h), html.EscapeString(d.says()))
	if !d.small {
		d.grid(p, w)
	}
	ring := way(p.on(d.plan.Ground.Outline), true)
	p.f(`<path d="%v" class="fence"/><path d="%v" class="fence-in"/>`, ring, ring)
	d.arena(p)
	d.things(p)
	if d.route != nil {
		d.line(p)
	}
	if d.hazard != nil {
		d.signs(p)
	}
	if d.course != nil {
		d.cones(p)
	}
	if d.route != nil && !d.small {
		d.tight(p)
	}
	if !d.small {
		d.furniture(p, w)
	}
	p.WriteString("</svg>")
	return template.HTML(p.String()) // every text went through f
}

// says is the drawing in words, for those who do not see it.
func (d drawing) says() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Plan of %s, north up, with %s", d.plan.Name, count(len(d.plan.Things), "thing"))
	if d.hazard != nil {
		fmt.Fprintf(&b, " and the hazard %s of %s", d.hazard.Name, count(len(d.hazard.Gates), "gate"))
	}
	if d.course != nil {
		fmt.Fprintf(&b, " and the cones course %s of %s", d.course.Name, count(len(d.course.Gates), "gate"))
	}
	if d.route != nil {
		fmt.Fprintf(&b, ". The line drawn takes %.1f s over %.0f m", d.route.TimeS, d.route.LengthM)
	}
	return b.String() + "."
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// signed is a gate with the name on its disc.
type signed struct {
	plan.Pair
	key, label string
}

func (d drawing) gates() []signed {
	h := d.hazard
	all := []signed{{h.In, "in", "In"}}
	for _, g := range h.Gates {
		all = append(all, signed{g.Pair, g.Letter, g.Letter})
	}
	return append(all, signed{h.Out, "out", "Out"})
}

func (d drawing) grid(p *pen, w float64) {
	step := 5.0
	if p.k < 5 {
		step = 10
	}
	if p.k < 1.5 {
		step = 50
	}
	var b strings.Builder
	for x := math.Ceil((p.min.X-p.pad/p.k)/step) * step; ; x += step {
		q := p.at(geom.Vec{X: x, Y: p.min.Y})
		if q.X > w {
			break
		}
		fmt.Fprintf(&b, "M%s 0V%s", px(q.X), px(p.h))
	}
	for y := math.Ceil((p.min.Y-p.pad/p.k)/step) * step; ; y += step {
		q := p.at(geom.Vec{X: p.min.X, Y: y})
		if q.Y < 0 {
			break
		}
		fmt.Fprintf(&b, "M0 %sH%s", px(q.Y), px(w))
	}
	p.f(`<path d="%v" class="grid"/>`, b.String())
}

// arena draws the rectangle of the dressage arena with A and C.
func (d drawing) arena(p *pen) {
	a := d.plan.Arena
	if a == nil {
		return
	}
	var width, length float64
	if _, err := fmt.Sscanf(a.Size, "%fx%f", &width, &length); err != nil {
		return
	}
	u := a.Bearing.Dir()
	r := u.Right()
	c := []geom.Vec{a.At.Along(r, -width/2), a.At.Along(r, width/2)}
	c = append(c, c[1].Along(u, length), c[0].Along(u, length))
	p.f(`<path d="%v" class="arena"/>`, way(p.on(c), true))
	if d.small {
		return
	}
	for name, at := range map[string]geom.Vec{"A": a.At, "C": a.At.Along(u, length)} {
		q := p.at(at)
		p.f(`<circle cx="%v" cy="%v" r="9" class="ring"/><text x="%v" y="%v" class="ring-letter">%v</text>`, q.X, q.Y, q.X, q.Y+4.5, name)
	}
}

func (d drawing) things(p *pen) {
	least := 3.0
	if d.small {
		least = 1.2
	}
	for _, t := range d.plan.Things {
		switch {
		case len(t.Outline) > 0:
			pts := p.on(t.Outline)
			class := "area"
			if t.Drivable {
				class = "area drivable"
			}
			p.f(`<path d="%v" class="%v"/>`, way(pts, true), class)
			if !d.small {
				var c geom.Vec
				for _, q := range pts {
					c = c.Add(q.Mul(1 / float64(len(pts))))
				}
				name := t.Kind
				if t.Drivable {
					name += ", drivable"
				}
				p.f(`<text x="%v" y="%v" class="area-name">%v</text>`, c.X, c.Y+5, name)
			}
		case len(t.Path) > 0:
			w := math.Max(least+1.5, t.Width*p.k)
			l := way(p.on(t.Path), false)
			p.f(`<path d="%v" class="rail" stroke-width="%v"/>`, l, w)
			if !d.small {
				p.f(`<path d="%v" class="rail-in" stroke-width="%v"/>`, l, w-2.6)
			}
		default:
			q, r := p.at(t.At), math.Max(least, t.Radius*p.k)
			if t.Kind == plan.Tree {
				p.f(`<circle cx="%v" cy="%v" r="%v" class="canopy"/>`, q.X, q.Y, math.Max(least*2.6, r+least))
			}
			p.f(`<circle cx="%v" cy="%v" r="%v" class="ink"/>`, q.X, q.Y, r)
		}
	}
}

// line draws the way driven, with a tick each second.
func (d drawing) line(p *pen) {
	pts := make([]geom.Vec, len(d.route.Samples))
	for i, s := range d.route.Samples {
		pts[i] = p.at(s.Lead.Vec())
	}
	p.f(`<path d="%v" class="best"/>`, way(pts, false))
	if d.small {
		return
	}
	var b strings.Builder
	next := 1.0
	for i, s := range d.route.Samples {
		if s.TS < next {
			continue
		}
		k := 4.0
		if math.Mod(next, 5) == 0 {
			k = 8
		}
		x := turn(geom.Degrees(s.BearingDeg).Dir().Right())
		b.WriteString(way([]geom.Vec{pts[i].Along(x, k), pts[i].Along(x, -k)}, false))
		next++
	}
	p.f(`<path d="%v" class="ticks"/>`, b.String())
}

// tight draws the least clearance as a short dimension with its centimetres.
func (d drawing) tight(p *pen) {
	if len(d.route.Tight) == 0 {
		return
	}
	t := d.route.Tight[0]
	q := p.at(t.At.Vec())
	words := fmt.Sprintf("%.0f cm", t.ClearanceM*100)
	anchor, dx := "start", 9.0
	if q.X > p.pad+(d.width-2*p.pad)*0.7 {
		anchor, dx = "end", -9
	}
	p.f(`<g class="tight first"><circle cx="%v" cy="%v" r="6"/><text x="%v" y="%v" text-anchor="%v">%v</text></g>`, q.X, q.Y, q.X+dx, q.Y+5, anchor, words)
}

// signs draws each gate: the line between its markers, the arrow of its way,
// its R and L, and its letter. Where one post is red for one gate and white for
// another (In and Out on the same posts), each gate's signs stand on the face
// that its own driver sees.
func (d drawing) signs(p *pen) {
	gates := d.gates()
	when := map[string]float64{}
	if d.route != nil {
		for _, q := range d.route.Passes {
			if q.Forward && q.Was != "dead" {
				when[q.Gate] = q.TS
			}
		}
	}
	stacked := map[plan.Pair]int{}
	taken := d.busy(p)
	for _, g := range gates {
		right, left := p.at(g.Right), p.at(g.Left)
		across := right.Sub(left).Unit()
		forward := turn(g.Forward())
		mid := right.Mid(left)
		state := "live"
		if len(g.key) == 1 && d.through != "" && g.key > d.through {
			state = "out-of-play"
		}
		rs, ls, contested := d.faces(gates, g, right, left, across, forward)
		r := d.hazard.MarkerRadius * p.k
		p.f(`<path d="%v" class="gate-line %v"/>`, way([]geom.Vec{left.Along(across, r), right.Along(across, -r)}, false), state)
		if d.small {
			p.f(`<circle cx="%v" cy="%v" r="2.6" class="white-sign"/><path d="%v" class="red-sign"/>`, left.X, left.Y, diamond(right, 3.4))
			continue
		}
		arrow := mid
		if contested {
			arrow = mid.Along(across, 7)
		}
		tip := arrow.Along(forward, 15)
		wing := func(k float64) geom.Vec { return tip.Along(forward, -7).Along(across, k) }
		p.f(`<path d="%v%v" class="arrow"/>`, way([]geom.Vec{arrow.Along(forward, -13), tip}, false), way([]geom.Vec{wing(-6), tip, wing(6)}, false))
		for _, m := range []geom.Vec{right, left} {
			p.f(`<circle cx="%v" cy="%v" r="%v" class="ink"/>`, m.X, m.Y, math.Max(2.5, r))
		}
		p.f(`<g><title>White marker, left of %v</title><circle cx="%v" cy="%v" r="%v" class="white-sign"/><text x="%v" y="%v" class="side">L</text></g>`, g.label, ls.X, ls.Y, sign-1.5, ls.X, ls.Y+5)
		p.f(`<g><title>Red marker, right of %v</title><path d="%v" class="red-sign"/><text x="%v" y="%v" class="side on-red">R</text></g>`, g.label, diamond(rs, sign+1), rs.X, rs.Y+5)
		n := stacked[g.Pair]
		stacked[g.Pair]++
		radius, class := 13.0, "letter"
		if len(g.label) > 1 {
			radius, class = 16, "word"
		}
		c := clearest(taken, rs, ls, across, forward, radius, float64(n)*28)
		taken = append(taken, c)
		p.f(`<circle cx="%v" cy="%v" r="%v" class="disc"/><text x="%v" y="%v" class="%v">%v</text>`, c.X, c.Y, radius, c.X, c.Y+5.5, class, g.label)
		if t, ok := when[g.key]; ok && g.key != "in" {
			at := ls.Along(across, -sign-20)
			p.f(`<text x="%v" y="%v" class="when">%v</text>`, at.X, at.Y+5, fmt.Sprintf("%.1f s", t))
		}
	}
}

// faces places a gate's signs: beside the posts, away from the opening, unless a
// post is shared with the other colour.
func (d drawing) faces(gates []signed, g signed, right, left, across, forward geom.Vec) (rs, ls geom.Vec, contested bool) {
	place := func(post, out geom.Vec, isRight bool) geom.Vec {
		for _, o := range gates {
			shared := o.Left == g.Right
			if !isRight {
				shared = o.Right == g.Left
			}
			if shared && o.key != g.key {
				contested = true
				return post.Along(forward, -sign-3).Along(out, 3)
			}
		}
		return post.Along(out, sign)
	}
	rs, ls = place(right, across, true), place(left, across.Mul(-1), false)
	return rs, ls, contested
}

// busy lists screen points that a letter's disc would hide: things and the line.
func (d drawing) busy(p *pen) []geom.Vec {
	var pts []geom.Vec
	for _, t := range d.plan.Things {
		if len(t.Outline) == 0 && len(t.Path) == 0 {
			pts = append(pts, p.at(t.At))
		}
		for i := range t.Path {
			pts = append(pts, p.at(t.Path[i]))
			if i > 0 {
				pts = append(pts, p.at(t.Path[i].Mid(t.Path[i-1])))
			}
		}
	}
	for _, g := range d.gates() {
		pts = append(pts, p.at(g.Right), p.at(g.Left))
	}
	if d.route != nil {
		for i := 0; i < len(d.route.Samples); i += 4 {
			pts = append(pts, p.at(d.route.Samples[i].Lead.Vec()))
		}
	}
	return pts
}

// clearest picks the place for a letter: outside the red marker, outside the
// white one, or on either face of them, whichever hides least. The first wins
// when it is good enough.
func clearest(taken []geom.Vec, rs, ls, across, forward geom.Vec, radius, shift float64) geom.Vec {
	out := sign + radius + 1 + shift
	var best geom.Vec
	room := -1.0
	for _, c := range []geom.Vec{
		rs.Along(across, out), ls.Along(across, -out),
		rs.Along(forward, out), rs.Along(forward, -out), ls.Along(forward, out), ls.Along(forward, -out),
	} {
		near := math.Inf(1)
		for _, q := range taken {
			near = math.Min(near, q.Dist(c))
		}
		if near > radius+4 {
			return c
		}
		if near > room {
			room, best = near, c
		}
	}
	return best
}

// diamond is a square standing on its corner.
func diamond(c geom.Vec, r float64) string {
	return way([]geom.Vec{{X: c.X, Y: c.Y - r}, {X: c.X + r, Y: c.Y}, {X: c.X, Y: c.Y + r}, {X: c.X - r, Y: c.Y}}, true)
}

// furniture is the north arrow and the scale.
func (d drawing) furniture(p *pen, w float64) {
	length := 100.0
	for _, m := range []float64{1, 2, 5, 10, 20, 50, 100} {
		if m*p.k >= 60 {
			length = m
			break
		}
	}
	x, y := 12.0, p.h-8
	p.f(`<g class="furniture" aria-hidden="true"><path d="M%v 30V12M%v 18L%v 10L%v 18"/><text x="%v" y="30" text-anchor="end">N</text>`, w-14, w-19, w-14, w-9, w-22)
	p.f(`<path d="M%v %vV%vH%vV%v"/><text x="%v" y="%v">%v m</text></g>`, x, y-6, y, x+length*p.k, y-6, x+length*p.k+6, y, length)
}
