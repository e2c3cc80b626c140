package sheet

import (
	"fmt"
	"math"
)

// Scene is one page: what is drawn, in order, in millimetres from the upper
// left corner. The zero value is an empty page of no size, which no renderer
// takes.
type Scene struct {
	Width, Height float64 // mm
	Title         string  // of the page, for those who do not see it
	Items         []Item
}

// Item is a Path, a Text or a Group.
type Item interface{ draw(Renderer) }

// Renderer is an output. Its methods are called in the order of drawing, with
// lengths in millimetres, and Begin and End in pairs.
type Renderer interface {
	Path(Path)
	Text(Text)
	Begin(Group) // what follows belongs to the group, and is clipped by it
	End()
}

// Draw replays the page.
func (s *Scene) Draw(r Renderer) {
	for _, it := range s.Items {
		it.draw(r)
	}
}

func (p Path) draw(r Renderer) { r.Path(p) }
func (t Text) draw(r Renderer) { r.Text(t) }
func (g Group) draw(r Renderer) {
	r.Begin(g)
	for _, it := range g.Items {
		it.draw(r)
	}
	r.End()
}

// Ink is one of the few colours there are.
type Ink uint8

// The inks. None draws nothing.
const (
	None  Ink = iota
	Black     // all that must be read
	White     // paper, to keep the ground of a word clear
	Red       // right-hand markers only, #9B1C1C
	Grey      // what helps, and may be lost by a poor copier
	Faint     // grid lines
)

// RGB is the ink as red, green and blue.
func (i Ink) RGB() (r, g, b uint8) {
	switch i {
	case White:
		return 0xff, 0xff, 0xff
	case Red:
		return 0x9b, 0x1c, 0x1c
	case Grey:
		return 0x70, 0x70, 0x70
	case Faint:
		return 0xc4, 0xc4, 0xc4
	}
	return 0, 0, 0
}

// Pt is a place on the page, mm; y runs down.
type Pt struct{ X, Y float64 }

// Add returns p + q.
func (p Pt) Add(q Pt) Pt { return Pt{p.X + q.X, p.Y + q.Y} }

// Sub returns p − q.
func (p Pt) Sub(q Pt) Pt { return Pt{p.X - q.X, p.Y - q.Y} }

// Along returns the point k lengths of d from p.
func (p Pt) Along(d Pt, k float64) Pt { return Pt{p.X + d.X*k, p.Y + d.Y*k} }

// Dist is the distance from p to q, mm.
func (p Pt) Dist(q Pt) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// unit is p at length 1, or zero.
func (p Pt) unit() Pt {
	if l := math.Hypot(p.X, p.Y); l > 0 {
		return Pt{p.X / l, p.Y / l}
	}
	return Pt{}
}

// right is a direction on the page turned a quarter clockwise, as one sees it.
func (p Pt) right() Pt { return Pt{-p.Y, p.X} }

// Style is how a path is drawn. Ends and corners of lines are round.
type Style struct {
	Fill  Ink
	Line  Ink
	Width float64   // mm, of the line
	Dash  []float64 // mm drawn, mm left out, …; nil: solid
}

// Step is one step of a path: to To, by a straight line, by a cubic curve with
// the handles C1 and C2, or without drawing.
type Step struct {
	Op         Op
	C1, C2, To Pt
}

// Op is a kind of step.
type Op uint8

// The steps. A path begins with Move; Close goes straight back to the last Move.
const (
	Move Op = iota
	Line
	Curve
	Close
)

// Path is one or more outlines or lines. Overlapping outlines are filled by the
// nonzero rule.
type Path struct {
	Steps []Step
	Style
}

// MoveTo begins a line at p.
func (p *Path) MoveTo(q Pt) *Path { p.Steps = append(p.Steps, Step{Op: Move, To: q}); return p }

// LineTo draws straight to q.
func (p *Path) LineTo(q Pt) *Path { p.Steps = append(p.Steps, Step{Op: Line, To: q}); return p }

// CurveTo draws a cubic curve to q.
func (p *Path) CurveTo(c1, c2, q Pt) *Path {
	p.Steps = append(p.Steps, Step{Op: Curve, C1: c1, C2: c2, To: q})
	return p
}

// Close goes straight back to where the outline began.
func (p *Path) Close() *Path { p.Steps = append(p.Steps, Step{Op: Close}); return p }

// way adds a line through pts, and closes it when shut.
func (p *Path) way(pts []Pt, shut bool) *Path {
	for i, q := range pts {
		if i == 0 {
			p.MoveTo(q)
		} else {
			p.LineTo(q)
		}
	}
	if shut && len(pts) > 1 {
		p.Close()
	}
	return p
}

// circle adds a circle of four cubic curves; it strays from a true one by less
// than 0.03 % of its radius (handle length 4/3·(√2 − 1)).
func (p *Path) circle(c Pt, r float64) *Path {
	const k = 0.5522847498307936
	h := k * r
	p.MoveTo(Pt{c.X + r, c.Y})
	p.CurveTo(Pt{c.X + r, c.Y + h}, Pt{c.X + h, c.Y + r}, Pt{c.X, c.Y + r})
	p.CurveTo(Pt{c.X - h, c.Y + r}, Pt{c.X - r, c.Y + h}, Pt{c.X - r, c.Y})
	p.CurveTo(Pt{c.X - r, c.Y - h}, Pt{c.X - h, c.Y - r}, Pt{c.X, c.Y - r})
	p.CurveTo(Pt{c.X + h, c.Y - r}, Pt{c.X + r, c.Y - h}, Pt{c.X + r, c.Y})
	return p.Close()
}

// rect adds an upright rectangle.
func (p *Path) rect(b Rect) *Path {
	return p.way([]Pt{{b.X, b.Y}, {b.X + b.W, b.Y}, {b.X + b.W, b.Y + b.H}, {b.X, b.Y + b.H}}, true)
}

// Rect is an upright rectangle, mm: its upper left corner and its size.
type Rect struct{ X, Y, W, H float64 }

// in makes r smaller by d on every side.
func (r Rect) in(d float64) Rect { return Rect{r.X + d, r.Y + d, r.W - 2*d, r.H - 2*d} }

// mid is the middle of r.
func (r Rect) mid() Pt { return Pt{r.X + r.W/2, r.Y + r.H/2} }

// has reports whether p is in r or on its sides.
func (r Rect) has(p Pt) bool {
	return p.X >= r.X && p.X <= r.X+r.W && p.Y >= r.Y && p.Y <= r.Y+r.H
}

// Anchor is which end of a text stands at its place.
type Anchor uint8

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of words.
type Text struct {
	At     Pt // on the base line
	Size   float64
	Bold   bool
	Anchor Anchor
	Ink    Ink
	Words  string
}

// Group holds items that belong together.
type Group struct {
	Name  string // for those who do not see it; "" is none
	Clip  *Rect  // nothing outside is drawn; nil: all is
	Items []Item
}

func (s *Scene) add(it ...Item) { s.Items = append(s.Items, it...) }

// path adds a new path, filled in by f.
func path(st Style, f func(*Path)) Path {
	p := Path{Style: st}
	f(&p)
	return p
}

// line is a straight line.
func line(a, b Pt, st Style) Path {
	return path(st, func(p *Path) { p.MoveTo(a).LineTo(b) })
}

// disc is a filled circle, a ring or both.
func disc(c Pt, r float64, st Style) Path {
	return path(st, func(p *Path) { p.circle(c, r) })
}

// box is an upright rectangle.
func box(r Rect, st Style) Path {
	return path(st, func(p *Path) { p.rect(r) })
}

// check finds what no page can hold: a number that is none, or no size.
func (s *Scene) check() error {
	if !(s.Width > 0 && s.Height > 0 && s.Width < 5000 && s.Height < 5000) {
		return fmt.Errorf("sheet: a page of %g by %g mm", s.Width, s.Height)
	}
	var c checker
	s.Draw(&c)
	if c.bad != "" {
		return fmt.Errorf("sheet: page %q: %s", s.Title, c.bad)
	}
	return nil
}

// checker is a renderer that draws nothing and looks at every number.
type checker struct {
	bad  string
	open int
}

func (c *checker) num(what string, v ...float64) {
	for _, x := range v {
		if c.bad == "" && (math.IsNaN(x) || math.IsInf(x, 0) || math.Abs(x) > 1e7) {
			c.bad = fmt.Sprintf("%s has the coordinate or size %g", what, x)
		}
	}
}

func (c *checker) Path(p Path) {
	if len(p.Steps) > 0 && p.Steps[0].Op != Move && c.bad == "" {
		c.bad = "a path begins without a place"
	}
	c.num("a path", p.Width)
	c.num("a path", p.Dash...)
	for _, s := range p.Steps {
		c.num("a path", s.C1.X, s.C1.Y, s.C2.X, s.C2.Y, s.To.X, s.To.Y)
	}
}

func (c *checker) Text(t Text) { c.num("the text "+t.Words, t.At.X, t.At.Y, t.Size) }

func (c *checker) Begin(g Group) {
	if g.Clip != nil {
		c.num("a group", g.Clip.X, g.Clip.Y, g.Clip.W, g.Clip.H)
	}
	c.open++
}

func (c *checker) End() { c.open-- }
