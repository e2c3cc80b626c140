// Package geom is plane geometry for driving ground: points, bearings,
// segments, discs, polygons and the distances between them.
//
// # Frame
//
// Metres; x east, y north. A [Bearing] is clockwise from north, kept in
// radians and written in degrees at the edges. Curvature and turning are
// positive to the right. There is one convention and it is used everywhere:
//
//	        0° (+y)
//	          |
//	-90° -----+----- 90° (+x)
//	          |
//	        180°
//
// Nothing here knows about hazards, horses or files.
package geom

import "math"

// Vec is a point or a displacement in metres. The zero value is the origin.
type Vec struct{ X, Y float64 }

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y} }

// Sub returns v − w.
func (v Vec) Sub(w Vec) Vec { return Vec{v.X - w.X, v.Y - w.Y} }

// Mul returns v scaled by k.
func (v Vec) Mul(k float64) Vec { return Vec{v.X * k, v.Y * k} }

// Along returns v + w·k: the point k lengths of w from v.
func (v Vec) Along(w Vec, k float64) Vec { return Vec{v.X + w.X*k, v.Y + w.Y*k} }

// Dot is the scalar product.
func (v Vec) Dot(w Vec) float64 { return v.X*w.X + v.Y*w.Y }

// Cross is the z of the vector product: positive when w lies to the left of v.
func (v Vec) Cross(w Vec) float64 { return v.X*w.Y - v.Y*w.X }

// Len is the length of v in metres.
func (v Vec) Len() float64 { return math.Sqrt(v.X*v.X + v.Y*v.Y) }

// Len2 is the squared length of v.
func (v Vec) Len2() float64 { return v.X*v.X + v.Y*v.Y }

// Dist is the distance from v to w in metres.
func (v Vec) Dist(w Vec) float64 { return v.Sub(w).Len() }

// Right is v turned a quarter to the right (clockwise).
func (v Vec) Right() Vec { return Vec{v.Y, -v.X} }

// Left is v turned a quarter to the left (anticlockwise).
func (v Vec) Left() Vec { return Vec{-v.Y, v.X} }

// Unit is v at length 1, or the zero Vec when v has no length.
func (v Vec) Unit() Vec {
	l := v.Len()
	if l == 0 {
		return Vec{}
	}
	return Vec{v.X / l, v.Y / l}
}

// Lerp is the point a share t of the way from v to w.
func (v Vec) Lerp(w Vec, t float64) Vec {
	return Vec{v.X + (w.X-v.X)*t, v.Y + (w.Y-v.Y)*t}
}

// Mid is the point half way between v and w.
func (v Vec) Mid(w Vec) Vec { return Vec{(v.X + w.X) / 2, (v.Y + w.Y) / 2} }

// Bearing is the bearing of the displacement v.
func (v Vec) Bearing() Bearing { return Bearing(math.Atan2(v.X, v.Y)) }

// IsFinite reports whether neither coordinate is NaN or infinite.
func (v Vec) IsFinite() bool {
	return !math.IsNaN(v.X) && !math.IsNaN(v.Y) && !math.IsInf(v.X, 0) && !math.IsInf(v.Y, 0)
}

// Bearing is a direction in radians clockwise from north.
type Bearing float64

// Degrees makes a Bearing from degrees clockwise from north.
func Degrees(d float64) Bearing { return Bearing(d * math.Pi / 180) }

// Deg is b in degrees, in [0, 360).
func (b Bearing) Deg() float64 {
	d := math.Mod(float64(b)*180/math.Pi, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 { // a tiny negative rounds up to 360 exactly
		d = 0
	}
	return d
}

// Dir is the unit displacement along b.
func (b Bearing) Dir() Vec {
	s, c := math.Sincos(float64(b))
	return Vec{s, c}
}

// Norm brings an angle in radians into (−π, π].
func Norm(a float64) float64 {
	if a > -math.Pi && a <= math.Pi {
		return a
	}
	a = math.Mod(a, 2*math.Pi)
	if a <= -math.Pi {
		a += 2 * math.Pi
	} else if a > math.Pi {
		a -= 2 * math.Pi
	}
	return a
}

// Seg is the straight segment from A to B. A == B is a point.
type Seg struct{ A, B Vec }

// Len is the length of s in metres.
func (s Seg) Len() float64 { return s.A.Dist(s.B) }

// At is the point a share t of the way from A to B.
func (s Seg) At(t float64) Vec { return s.A.Lerp(s.B, t) }

// Nearest returns the point of s nearest to p and its share t in [0, 1].
func (s Seg) Nearest(p Vec) (q Vec, t float64) {
	d := s.B.Sub(s.A)
	l2 := d.Len2()
	if l2 == 0 {
		return s.A, 0
	}
	t = p.Sub(s.A).Dot(d) / l2
	if t < 0 {
		t = 0
	} else if t > 1 {
		t = 1
	}
	return s.A.Along(d, t), t
}

// Dist is the distance from p to s in metres.
func (s Seg) Dist(p Vec) float64 {
	q, _ := s.Nearest(p)
	return q.Dist(p)
}

// Orient is the turn a → b → c: +1 to the left, −1 to the right, 0 when it is
// straight to within the rounding of the arithmetic. The bound is Shewchuk's
// static filter for the 2-D orientation (3 + 16ε)ε.
func Orient(a, b, c Vec) int {
	l := (b.X - a.X) * (c.Y - a.Y)
	r := (b.Y - a.Y) * (c.X - a.X)
	det := l - r
	const eps = 1.1102230246251565e-16
	bound := (3 + 16*eps) * eps * (math.Abs(l) + math.Abs(r))
	switch {
	case det > bound:
		return 1
	case det < -bound:
		return -1
	}
	return 0
}

// Cross reports whether s and t meet in one point inside both, and where: the
// shares along s and along t. Touching ends and overlapping lines are not
// crossings.
func (s Seg) Cross(t Seg) (u, v float64, ok bool) {
	d, e := s.B.Sub(s.A), t.B.Sub(t.A)
	den := d.Cross(e)
	if den == 0 {
		return 0, 0, false
	}
	w := t.A.Sub(s.A)
	u = w.Cross(e) / den
	v = w.Cross(d) / den
	return u, v, u > 0 && u < 1 && v > 0 && v < 1
}

// SegDist is the least distance between two segments, 0 when they meet, and
// the points p on s and q on t where it is taken.
func SegDist(s, t Seg) (d float64, p, q Vec) {
	if u, _, ok := s.Cross(t); ok {
		x := s.At(u)
		return 0, x, x
	}
	d = math.Inf(1)
	try := func(a, b Vec) {
		if e := a.Dist(b); e < d {
			d, p, q = e, a, b
		}
	}
	x, _ := s.Nearest(t.A)
	try(x, t.A)
	x, _ = s.Nearest(t.B)
	try(x, t.B)
	x, _ = t.Nearest(s.A)
	try(s.A, x)
	x, _ = t.Nearest(s.B)
	try(s.B, x)
	return d, p, q
}

// Polygon is a closed outline; the last point joins the first by itself. It
// may run either way round.
type Polygon []Vec

// Edge is the i-th side, from point i to the next.
func (p Polygon) Edge(i int) Seg {
	j := i + 1
	if j == len(p) {
		j = 0
	}
	return Seg{p[i], p[j]}
}

// Area is the signed area in m²: positive when the outline runs anticlockwise.
func (p Polygon) Area() float64 {
	var a float64
	for i := range p {
		e := p.Edge(i)
		a += e.A.Cross(e.B)
	}
	return a / 2
}

// Contains reports whether q is inside p. A point on the outline is decided
// one way or the other by the half-open ray test, never both.
func (p Polygon) Contains(q Vec) bool {
	in := false
	for i := range p {
		e := p.Edge(i)
		if (e.A.Y > q.Y) != (e.B.Y > q.Y) {
			x := e.A.X + (q.Y-e.A.Y)*(e.B.X-e.A.X)/(e.B.Y-e.A.Y)
			if q.X < x {
				in = !in
			}
		}
	}
	return in
}

// EdgeDist is the distance from q to the outline of p, whichever side q is on.
func (p Polygon) EdgeDist(q Vec) float64 {
	d := math.Inf(1)
	for i := range p {
		if e := p.Edge(i).Dist(q); e < d {
			d = e
		}
	}
	return d
}

// Box is an upright rectangle. The zero value is empty only after [EmptyBox].
type Box struct{ Min, Max Vec }

// EmptyBox holds nothing; adding a point makes it that point.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Vec{inf, inf}, Vec{-inf, -inf}}
}

// Add grows b to hold p.
func (b Box) Add(p Vec) Box {
	return Box{
		Vec{math.Min(b.Min.X, p.X), math.Min(b.Min.Y, p.Y)},
		Vec{math.Max(b.Max.X, p.X), math.Max(b.Max.Y, p.Y)},
	}
}

// Grow pushes every side of b out by d metres.
func (b Box) Grow(d float64) Box {
	return Box{Vec{b.Min.X - d, b.Min.Y - d}, Vec{b.Max.X + d, b.Max.Y + d}}
}

// Contains reports whether p is in b or on its sides.
func (b Box) Contains(p Vec) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y
}
