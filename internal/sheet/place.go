package sheet

import "math"

// room keeps what is drawn already, so that words find a place that hides
// nothing. Places are looked up by cells of a few millimetres.
type room struct {
	within Rect // nothing is put outside
	shapes []shape
	cells  map[[2]int][]int
}

// shape is a thick line (A == B: a disc) or an upright rectangle.
type shape struct {
	a, b  Pt
	r     float64
	rect  Rect
	isBox bool
	cost  float64 // how bad it is to hide it; 1 is a word, less is a line
}

const cellSize = 8.0 // mm

func newRoom(within Rect) *room { return &room{within: within, cells: map[[2]int][]int{}} }

func (m *room) put(s shape, b Rect) {
	// Far outside nobody looks; it also keeps a long line from filling the map.
	x0, y0 := math.Max(b.X, m.within.X-20), math.Max(b.Y, m.within.Y-20)
	x1, y1 := math.Min(b.X+b.W, m.within.X+m.within.W+20), math.Min(b.Y+b.H, m.within.Y+m.within.H+20)
	if x1 < x0 || y1 < y0 {
		return
	}
	m.shapes = append(m.shapes, s)
	for i := int(math.Floor(x0 / cellSize)); i <= int(math.Floor(x1/cellSize)); i++ {
		for j := int(math.Floor(y0 / cellSize)); j <= int(math.Floor(y1/cellSize)); j++ {
			c := [2]int{i, j}
			m.cells[c] = append(m.cells[c], len(m.shapes)-1)
		}
	}
}

// line takes the ground of a thick line.
func (m *room) line(a, b Pt, r, cost float64) {
	n := int(a.Dist(b)/20) + 1 // in pieces, so that a slanting line fills few cells
	n = min(n, 400)
	for i := range n {
		p := a.Along(b.Sub(a), float64(i)/float64(n))
		q := a.Along(b.Sub(a), float64(i+1)/float64(n))
		x0, x1 := math.Min(p.X, q.X)-r, math.Max(p.X, q.X)+r
		y0, y1 := math.Min(p.Y, q.Y)-r, math.Max(p.Y, q.Y)+r
		m.put(shape{a: p, b: q, r: r, cost: cost}, Rect{x0, y0, x1 - x0, y1 - y0})
	}
}

// disc takes the ground of a disc.
func (m *room) disc(c Pt, r, cost float64) { m.line(c, c, r, cost) }

// box takes the ground of a rectangle.
func (m *room) box(b Rect, cost float64) { m.put(shape{rect: b, isBox: true, cost: cost}, b) }

// hides says how much a word in b would hide; 0 is nothing.
func (m *room) hides(b Rect) float64 {
	var sum float64
	if b.X < m.within.X || b.Y < m.within.Y || b.X+b.W > m.within.X+m.within.W || b.Y+b.H > m.within.Y+m.within.H {
		sum += 50
	}
	seen := map[int]bool{}
	for i := int(math.Floor(b.X / cellSize)); i <= int(math.Floor((b.X+b.W)/cellSize)); i++ {
		for j := int(math.Floor(b.Y / cellSize)); j <= int(math.Floor((b.Y+b.H)/cellSize)); j++ {
			for _, k := range m.cells[[2]int{i, j}] {
				if seen[k] {
					continue
				}
				seen[k] = true
				s := &m.shapes[k]
				var deep float64
				if s.isBox {
					w := math.Min(b.X+b.W, s.rect.X+s.rect.W) - math.Max(b.X, s.rect.X)
					h := math.Min(b.Y+b.H, s.rect.Y+s.rect.H) - math.Max(b.Y, s.rect.Y)
					deep = math.Min(w, h)
				} else {
					deep = s.r - segRect(s.a, s.b, b)
				}
				if deep > 0 {
					sum += s.cost * (1 + deep)
				}
			}
		}
	}
	return sum
}

// best picks the candidate that hides least; the first wins where several hide
// nothing. hid is how much it hides.
func (m *room) best(cand []Rect) (i int, hid float64) {
	hid = math.Inf(1)
	for k, c := range cand {
		if h := m.hides(c); h < hid {
			i, hid = k, h
			if h == 0 {
				break
			}
		}
	}
	return i, hid
}

// segRect is the distance from a segment to an upright rectangle, 0 when they
// meet.
func segRect(a, b Pt, r Rect) float64 {
	if clips(a, b, r) {
		return 0
	}
	d := math.Min(pointRect(a, r), pointRect(b, r))
	for _, c := range []Pt{{r.X, r.Y}, {r.X + r.W, r.Y}, {r.X, r.Y + r.H}, {r.X + r.W, r.Y + r.H}} {
		d = math.Min(d, pointSeg(c, a, b))
	}
	return d
}

func pointRect(p Pt, r Rect) float64 {
	dx := math.Max(0, math.Max(r.X-p.X, p.X-r.X-r.W))
	dy := math.Max(0, math.Max(r.Y-p.Y, p.Y-r.Y-r.H))
	return math.Hypot(dx, dy)
}

func pointSeg(p, a, b Pt) float64 {
	d := b.Sub(a)
	l := d.X*d.X + d.Y*d.Y
	if l == 0 {
		return p.Dist(a)
	}
	t := math.Max(0, math.Min(1, ((p.X-a.X)*d.X+(p.Y-a.Y)*d.Y)/l))
	return p.Dist(a.Along(d, t))
}

// clips reports whether a segment meets a rectangle, by cutting the segment at
// the rectangle's four sides.
func clips(a, b Pt, r Rect) bool {
	t0, t1 := 0.0, 1.0
	d := b.Sub(a)
	for _, s := range [][2]float64{{-d.X, a.X - r.X}, {d.X, r.X + r.W - a.X}, {-d.Y, a.Y - r.Y}, {d.Y, r.Y + r.H - a.Y}} {
		switch p, q := s[0], s[1]; {
		case p == 0 && q < 0:
			return false
		case p < 0:
			t0 = math.Max(t0, q/p)
		case p > 0:
			t1 = math.Min(t1, q/p)
		}
	}
	return t0 <= t1
}

// around lists places for a word of size w × h beside a disc at c, nearest
// first, then further off: right, left, above, below, the corners.
func around(c Pt, r, w, h float64, rings ...float64) []Rect {
	if rings == nil {
		rings = []float64{0, 2.5, 6}
	}
	var all []Rect
	for _, more := range rings {
		d := r + more
		k := d * math.Sqrt2 / 2
		for _, q := range []Pt{
			{c.X + d, c.Y - h/2}, {c.X - d - w, c.Y - h/2}, {c.X - w/2, c.Y - d - h}, {c.X - w/2, c.Y + d},
			{c.X + k, c.Y - k - h}, {c.X + k, c.Y + k}, {c.X - k - w, c.Y - k - h}, {c.X - k - w, c.Y + k},
		} {
			all = append(all, Rect{q.X, q.Y, w, h})
		}
	}
	return all
}
