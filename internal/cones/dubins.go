package cones

import (
	"iter"
	"math"

	"terret/internal/geom"
)

// Pose is a place with a way of facing: a unit direction.
type Pose struct {
	At  geom.Vec
	Dir geom.Vec
}

// A turn is one hand: left or right round a circle, or straight on.
type turn int

const (
	left     turn = 1
	straight turn = 0
	right    turn = -1
)

// piece is an arc or a straight of a path.
type piece struct {
	turn turn
	len  float64 // m
}

// Path is a line of arcs of one radius and straights, three pieces at most: the
// shortest that a thing which cannot turn tighter than the radius can go from
// one pose to another (Dubins 1957). Its curvature jumps where pieces meet, so
// that no horse follows it to the letter; it is what a builder with a measuring
// wheel walks, and where the search for a drivable line starts.
type Path struct {
	from   Pose
	radius float64
	pieces [3]piece
}

// Length is the path's length in metres.
func (p *Path) Length() float64 { return p.pieces[0].len + p.pieces[1].len + p.pieces[2].len }

// Word names the hands of the pieces: "LSR".
func (p *Path) Word() string {
	w := make([]byte, 3)
	for i, c := range p.pieces {
		w[i] = "RSL"[c.turn+1]
	}
	return string(w)
}

// Turned is how far the path turns to the left and to the right, in radians.
func (p *Path) Turned() (l, r float64) {
	for _, c := range p.pieces {
		switch c.turn {
		case left:
			l += c.len / p.radius
		case right:
			r += c.len / p.radius
		}
	}
	return l, r
}

// advance goes d metres along an arc or a straight.
func advance(q Pose, t turn, radius, d float64) Pose {
	if t == straight {
		return Pose{q.At.Along(q.Dir, d), q.Dir}
	}
	k := float64(t)
	c := q.At.Along(q.Dir.Left(), k*radius)
	sn, cs := math.Sincos(k * d / radius)
	dir := geom.Vec{X: q.Dir.X*cs - q.Dir.Y*sn, Y: q.Dir.X*sn + q.Dir.Y*cs}
	return Pose{c.Along(dir.Left(), -k*radius), dir}
}

// At is the pose s metres along the path.
func (p *Path) At(s float64) Pose {
	q := p.from
	for i, c := range p.pieces {
		if s <= c.len || i == 2 {
			return advance(q, c.turn, p.radius, s)
		}
		q = advance(q, c.turn, p.radius, c.len)
		s -= c.len
	}
	return q
}

// along gives places at most step apart along the path, both ends included.
func (p *Path) along(step float64) iter.Seq[geom.Vec] {
	return func(yield func(geom.Vec) bool) { p.points(step, yield) }
}

// points calls yield with places at most step apart along the path, both ends
// included, until it says no.
func (p *Path) points(step float64, yield func(geom.Vec) bool) {
	q := p.from
	if !yield(q.At) {
		return
	}
	for _, c := range p.pieces {
		n := int(math.Ceil(c.len/step - 1e-9))
		for i := 1; i <= n; i++ {
			if !yield(advance(q, c.turn, p.radius, c.len*float64(i)/float64(n)).At) {
				return
			}
		}
		q = advance(q, c.turn, p.radius, c.len)
	}
}

// swept is the angle from u to v turning to one hand, in [0, 2π); a whole turn
// but for rounding counts as none.
func swept(u, v geom.Vec, t turn) float64 {
	a := float64(t) * math.Atan2(u.Cross(v), u.Dot(v))
	if a < 0 {
		a += 2 * math.Pi
	}
	if 2*math.Pi-a < 1e-9 {
		a = 0
	}
	return a
}

// words lists every path of three pieces from p to q; which ones there are
// depends on the poses.
func words(p, q Pose, radius float64) (list []Path) {
	center := func(x Pose, t turn) geom.Vec { return x.At.Along(x.Dir.Left(), float64(t)*radius) }
	add := func(a, b, c piece) { list = append(list, Path{p, radius, [3]piece{a, b, c}}) }
	// An arc, a straight, an arc: the tangent u of two circles obeys
	// D = l·u + k·left(u), D from centre to centre.
	for _, h := range [4][2]turn{{left, left}, {left, right}, {right, left}, {right, right}} {
		d := center(q, h[1]).Sub(center(p, h[0]))
		k := float64(h[1]-h[0]) * radius
		l2 := d.Len2() - k*k
		if l2 < 0 {
			continue
		}
		l := math.Sqrt(l2)
		u := p.Dir
		if d2 := d.Len2(); d2 > 1e-18 {
			u = d.Mul(l/d2).Along(d.Left(), -k/d2)
		}
		add(piece{h[0], swept(p.Dir, u, h[0]) * radius}, piece{straight, l}, piece{h[1], swept(u, q.Dir, h[1]) * radius})
	}
	// Three arcs: the middle circle touches both.
	for _, t := range [2]turn{left, right} {
		a, b := center(p, t), center(q, t)
		d := b.Sub(a)
		l := d.Len()
		if l > 4*radius || l < 1e-9 {
			continue
		}
		up := math.Sqrt(4*radius*radius - l*l/4)
		for _, side := range [2]float64{1, -1} {
			m := a.Mid(b).Along(d.Left().Unit(), side*up)
			// On a circle of centre c the direction at x is square to x − c.
			at := func(c geom.Vec, t turn) geom.Vec { return m.Sub(c).Unit().Left().Mul(float64(t)) }
			u, v := at(a, t), at(b, t)
			add(piece{t, swept(p.Dir, u, t) * radius}, piece{-t, swept(u, v, -t) * radius}, piece{t, swept(v, q.Dir, t) * radius})
		}
	}
	return list
}

// Shortest is the shortest path from p to q that turns no tighter than radius
// metres.
func Shortest(p, q Pose, radius float64) Path {
	list := words(p, q, radius)
	best := 0
	for i := range list {
		if list[i].Length() < list[best].Length() {
			best = i
		}
	}
	return list[best]
}
