package sheet

import (
	"math"
	"slices"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
)

// opening is one way through one pair of markers, with every name it has: two
// letters on one pair are one opening.
type opening struct {
	plan.Pair
	names []string // "In", "A", "Out"
	live  bool     // any of them is in play
	only  string   // "right" or "left": a woven cone; the other marker is not there
	flags bool     // start or finish of a course: markers of no size
}

// markers are those that stand.
func (o *opening) markers() []geom.Vec {
	switch o.only {
	case "right":
		return []geom.Vec{o.Right}
	case "left":
		return []geom.Vec{o.Left}
	}
	return []geom.Vec{o.Right, o.Left}
}

// openings lists the hazard's gates in their order, In first and Out last.
// through is the last letter in play, "" all; class chooses the gates that are
// only for some.
func openings(h *plan.Hazard, through, class string) []opening {
	var all []opening
	put := func(p plan.Pair, name string, live bool) {
		for i := range all {
			if all[i].Pair == p {
				all[i].names = append(all[i].names, name)
				all[i].live = all[i].live || live
				return
			}
		}
		all = append(all, opening{Pair: p, names: []string{name}, live: live})
	}
	put(h.In, "In", true)
	for _, g := range h.Gates {
		put(g.Pair, g.Letter, inPlay(g, through, class))
	}
	put(h.Out, "Out", true)
	return all
}

// inPlay reports whether a gate is to be driven.
func inPlay(g plan.Gate, through, class string) bool {
	return (through == "" || g.Letter <= through) && g.Is(class)
}

// lettersInPlay are the letters to be driven, in order.
func lettersInPlay(h *plan.Hazard, through, class string) []string {
	var all []string
	for _, g := range h.Gates {
		if inPlay(g, through, class) {
			all = append(all, g.Letter)
		}
	}
	return all
}

// Sizes of the signs, mm: the least half diagonal and the one that holds a
// letter of body size.
const (
	signSize  = 3.9
	leastSign = 2.5
)

// redSign is the marker on the driver's right: a solid square on its corner.
func redSign(c Pt, r float64) []Item {
	return []Item{
		path(Style{Fill: Red, Line: Black, Width: 0.3}, func(p *Path) {
			p.way([]Pt{{c.X, c.Y - r}, {c.X + r, c.Y}, {c.X, c.Y + r}, {c.X - r, c.Y}}, true)
		}),
		signLetter(c, r, "R", White),
	}
}

// whiteSign is the marker on the driver's left: a white circle with a rim.
func whiteSign(c Pt, r float64) []Item {
	return []Item{disc(c, r*0.8, Style{Fill: White, Line: Black, Width: 0.5}), signLetter(c, r, "L", Black)}
}

func signLetter(c Pt, r float64, words string, ink Ink) Item {
	size := body * r / signSize
	return Text{At: Pt{c.X, c.Y + capHeight(size)/2}, Size: size, Bold: true, Anchor: Middle, Ink: ink, Words: words}
}

// arrow is a way through: a shaft from a to b with a head at b.
func arrow(a, b Pt, bold bool) []Item {
	d := b.Sub(a).unit()
	r := d.right()
	st, head := thick, 2.8
	if !bold {
		st, head = thin, 2.0
	}
	neck := b.Along(d, -head)
	return []Item{
		line(a, neck, st),
		path(fill, func(p *Path) { p.way([]Pt{b, neck.Along(r, head*0.55), neck.Along(r, -head*0.55)}, true) }),
	}
}

// gates draws every opening: the posts at their true places, the line between
// them, the signs, the arrow and its letter. lead says that a driven line goes
// through the gates, so that letters stand beside them.
func (g *ground) gates(radius float64, all []opening, lead bool) {
	size := g.signsFit(all)
	v := g.view
	for _, o := range all {
		seg := o.Line(radius)
		a, b := v.at(seg.A), v.at(seg.B)
		st := Style{Line: Black, Width: 0.6}
		if !o.live {
			st = Style{Line: Black, Width: 0.4, Dash: []float64{0.3, 1.2}}
		}
		if o.only == "" {
			if o.Opening(radius) > 0 {
				g.scene.add(line(a, b, st))
			}
			g.room.line(a, b, 0.5, 0.5)
		}
		for _, m := range o.markers() {
			q, r := v.at(m), math.Max(leastPost, radius*v.k)
			g.scene.add(disc(q, r, fill))
			g.room.disc(q, r+0.2, 1)
		}
	}
	// The arrows stand before the signs look for room: they cannot move.
	type shaft struct{ a, b Pt }
	shafts := make([]shaft, len(all))
	for i, o := range all {
		f, m := v.dir(o.Forward()), v.at(o.Mid())
		if contested(all, i) { // two ways through one pair: side by side
			m = m.Along(f.right(), 2)
		}
		shafts[i] = shaft{m.Along(f, -4.5), m.Along(f, 5.5)}
		g.room.line(shafts[i].a, shafts[i].b, 1.3, 1)
	}
	for _, s := range g.signs(all, size) {
		g.scene.add(s...)
	}
	for i, o := range all {
		g.scene.add(arrow(shafts[i].a, shafts[i].b, o.live)...)
	}
	for i, o := range all {
		f := v.dir(o.Forward())
		g.letter(o, shafts[i].a, f, v.at(o.Right), v.at(o.Left), size, lead, alone(all, i))
	}
}

// signsFit makes signs smaller where gates stand close together on paper.
func (g *ground) signsFit(all []opening) float64 {
	var pts []Pt
	var of []int // the opening a marker was met at first
	for i := range all {
		for _, m := range all[i].markers() {
			if q := g.view.at(m); !slices.Contains(pts, q) {
				pts, of = append(pts, q), append(of, i)
			}
		}
	}
	near := math.Inf(1)
	for i := range pts {
		for j := range i {
			// The two signs of one pair stand outside it, away from one another.
			if of[i] != of[j] || contested(all, of[i]) {
				near = math.Min(near, pts[i].Dist(pts[j]))
			}
		}
	}
	return math.Max(leastSign, math.Min(signSize, near*0.58))
}

// contested reports whether opening i has a post that is red for one way and
// white for another.
func contested(all []opening, i int) bool {
	for j := range all {
		if j != i && (all[j].Left == all[i].Right || all[j].Right == all[i].Left) {
			return true
		}
	}
	return false
}

// alone reports whether no other opening uses a post of opening i.
func alone(all []opening, i int) bool {
	for j, o := range all {
		for _, m := range []geom.Vec{o.Right, o.Left} {
			if j != i && (m == all[i].Right || m == all[i].Left) {
				return false
			}
		}
	}
	return true
}

// want is a sign that looks for its place.
type want struct {
	post  Pt
	out   Pt // away from the openings
	back  Pt // towards the driver who comes
	red   bool
	faced bool // stands on the driver's side of the post
}

// signs places the signs. A post that has one colour for all gets one sign,
// outside the openings. A post that is red for one way and white for another
// gets one for each way, on the side that way's driver comes from.
func (g *ground) signs(all []opening, size float64) [][]Item {
	var wants []want
	for i, o := range all {
		for _, red := range []bool{true, false} {
			post, partner := o.Right, o.Left
			if !red {
				post, partner = o.Left, o.Right
			}
			if red && o.only == "left" || !red && o.only == "right" {
				continue
			}
			out := g.view.dir(post.Sub(partner)).unit()
			back := g.view.dir(o.Forward().Mul(-1))
			faced, merged := false, false
			for j, p := range all {
				faced = faced || j != i && (red && p.Left == post || !red && p.Right == post)
			}
			q := g.view.at(post)
			if !faced {
				for k := range wants {
					if w := &wants[k]; w.post == q && w.red == red && !w.faced {
						w.out, merged = w.out.Add(out), true
					}
				}
			}
			if !merged {
				wants = append(wants, want{q, out, back, red, faced})
			}
		}
	}
	items := make([][]Item, 0, len(wants))
	for _, w := range wants {
		c := g.signPlace(w, size)
		g.room.disc(c, size*0.85, 2)
		var it []Item
		if d := c.Dist(w.post); d > size*1.3 {
			it = append(it, line(w.post, c, thin))
		}
		if w.red {
			it = append(it, redSign(c, size)...)
		} else {
			it = append(it, whiteSign(c, size)...)
		}
		items = append(items, it)
	}
	return items
}

// signPlace finds the middle of a sign: touching its post where it can.
func (g *ground) signPlace(w want, size float64) Pt {
	if w.back == (Pt{}) {
		// Two markers at one place have no way of driving; the plan is faulty,
		// but a sheet of it is drawn all the same.
		w.back, w.faced = Pt{0, 1}, false
	}
	out := w.out.unit()
	if out == (Pt{}) {
		out = w.back
	}
	first := out
	if w.faced {
		// Leaning towards its own opening, so that two gates in a row do not
		// swap their signs.
		first = w.back.Along(out, -0.45).unit()
	}
	var cand []Rect
	for _, d := range []float64{size + 0.4, size + 2, size + 4.5, size + 8} {
		for _, turn := range []float64{0, 20, -20, 40, -40, 60, -60, 80, -80} {
			s, c := math.Sincos(turn * math.Pi / 180)
			dir := Pt{first.X*c - first.Y*s, first.X*s + first.Y*c}
			if w.faced && dir.X*w.back.X+dir.Y*w.back.Y < 0.3 {
				continue // it would leave its driver's side
			}
			q := w.post.Along(dir, d)
			k := size * 0.75
			cand = append(cand, Rect{q.X - k, q.Y - k, 2 * k, 2 * k})
		}
	}
	i, _ := g.room.best(cand)
	return cand[i].mid()
}

// letter writes the name of an opening in a ring at the tail of its arrow, or
// beside the gate where the tail is taken. lead says that a driven line comes
// along the arrow's tail, alone that no other gate uses this one's posts.
func (g *ground) letter(o opening, tail, f, right, left Pt, size float64, lead, alone bool) {
	words := strings.Join(o.names, ", ")
	const pt = 14.0
	w := math.Max(7, measure(words, pt, true)+3)
	h := 7.0
	reach := func(d Pt) float64 { // from the middle of the ring to its rim
		return math.Min(w/2/math.Max(1e-9, math.Abs(d.X)), h/2/math.Max(1e-9, math.Abs(d.Y)))
	}
	across := right.Sub(left).unit()
	// Places by their worth, with the mark that ties the ring to its gate there.
	const (
		onShaft = iota // behind the arrow: the shaft is drawn to the ring
		onSign         // touching a sign that is this gate's alone
		apart          // a dashed line to the arrow's tail
	)
	var cand []Rect
	var ties []int
	put := func(c Pt, tie int) {
		cand = append(cand, Rect{c.X - w/2, c.Y - h/2, w, h})
		ties = append(ties, tie)
	}
	const gap = 1.4 // the arrow's shaft keeps this room round itself
	shaft := func(more float64) { put(tail.Along(f, -reach(f)-gap-more), onShaft) }
	beside := func(more float64, tie int) {
		side := 2*size + reach(across) + 0.8 + more
		put(right.Along(across, side), tie)
		put(left.Along(across, -side), tie)
	}
	if !lead {
		shaft(0)
		shaft(1.5)
		shaft(3)
	}
	if alone {
		beside(0, onSign)
	}
	if !lead || !alone {
		for _, more := range []float64{5, 7, 9, 12} {
			shaft(more)
		}
	}
	for _, more := range []float64{0, 3, 7, 12} {
		beside(more, apart)
	}
	for _, more := range []float64{1, 5, 10} {
		for _, p := range []Pt{right, left} {
			for _, deg := range []float64{90, -90, 45, -45, 135, -135} {
				s, c := math.Sincos(deg * math.Pi / 180)
				d := Pt{across.X*c - across.Y*s, across.X*s + across.Y*c}
				put(p.Along(d, size+reach(d)+more), apart)
			}
		}
	}
	i, _ := g.room.best(cand)
	b := cand[i]
	d := tail.Sub(b.mid()).unit()
	rim := b.mid().Along(d, reach(d))
	switch {
	case ties[i] == onShaft && o.live:
		g.scene.add(line(rim, tail, thick))
	case ties[i] == onShaft:
		g.scene.add(line(rim, tail, thin))
	case ties[i] == apart:
		g.scene.add(line(rim, tail, Style{Line: Black, Width: 0.3, Dash: []float64{0.9, 0.9}}))
		g.room.line(rim, tail, 0.3, 0.3)
	}
	st := Style{Fill: White, Line: Black, Width: 0.5}
	if !o.live {
		st.Width, st.Dash = 0.3, []float64{0.3, 1}
	}
	g.scene.add(path(st, func(p *Path) { p.pill(b) }))
	g.scene.add(Text{At: Pt{b.X + w/2, b.Y + h/2 + capHeight(pt)/2}, Size: pt, Bold: true, Anchor: Middle, Ink: Black, Words: words})
	g.room.box(b.in(-0.4), 2)
}

// pill adds a rectangle with round ends; a square one is a circle.
func (p *Path) pill(b Rect) *Path {
	r := math.Min(b.W, b.H) / 2
	if b.W-b.H < 1e-6 {
		return p.circle(b.mid(), r)
	}
	const k = 0.5522847498307936
	x0, x1, y0, y1, h := b.X+r, b.X+b.W-r, b.Y, b.Y+b.H, k*r
	p.MoveTo(Pt{x0, y0}).LineTo(Pt{x1, y0})
	p.CurveTo(Pt{x1 + h, y0}, Pt{x1 + r, y0 + r - h}, Pt{x1 + r, y0 + r})
	p.CurveTo(Pt{x1 + r, y1 - r + h}, Pt{x1 + h, y1}, Pt{x1, y1})
	p.LineTo(Pt{x0, y1})
	p.CurveTo(Pt{x0 - h, y1}, Pt{x0 - r, y1 - r + h}, Pt{x0 - r, y1 - r})
	p.CurveTo(Pt{x0 - r, y0 + r - h}, Pt{x0 - h, y0}, Pt{x0, y0})
	return p.Close()
}
