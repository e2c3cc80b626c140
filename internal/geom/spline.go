package geom

// Spline is a uniform cubic B-spline given by its control points, at least
// four. The curve has continuous curvature: position, direction and curvature
// at any place depend on four neighbouring control points only.
//
// Knot i, for 1 ≤ i ≤ len−2, is the point of the curve that belongs to control
// point i. The curve runs from knot 1 to knot len−2.
type Spline []Vec

// Knot is the point of the curve at control point i.
func (s Spline) Knot(i int) Vec {
	a, b, c := s[i-1], s[i], s[i+1]
	return Vec{(a.X + 4*b.X + c.X) / 6, (a.Y + 4*b.Y + c.Y) / 6}
}

// KnotDeriv gives the first and second derivative by parameter at knot i; one
// unit of parameter is one knot.
func (s Spline) KnotDeriv(i int) (d1, d2 Vec) {
	a, b, c := s[i-1], s[i], s[i+1]
	return Vec{(c.X - a.X) / 2, (c.Y - a.Y) / 2}, Vec{a.X - 2*b.X + c.X, a.Y - 2*b.Y + c.Y}
}

// At is the curve a share f of the way from knot i to knot i+1, with its
// derivatives by parameter. 1 ≤ i ≤ len−3.
func (s Spline) At(i int, f float64) (p, d1, d2 Vec) {
	a, b, c, d := s[i-1], s[i], s[i+1], s[i+2]
	g := 1 - f
	w0, w3 := g*g*g/6, f*f*f/6
	w1, w2 := (3*f*f*f-6*f*f+4)/6, (3*g*g*g-6*g*g+4)/6
	p = Vec{w0*a.X + w1*b.X + w2*c.X + w3*d.X, w0*a.Y + w1*b.Y + w2*c.Y + w3*d.Y}
	v0, v3 := -g*g/2, f*f/2
	v1, v2 := (3*f*f-4*f)/2, -(3*g*g-4*g)/2
	d1 = Vec{v0*a.X + v1*b.X + v2*c.X + v3*d.X, v0*a.Y + v1*b.Y + v2*c.Y + v3*d.Y}
	d2 = Vec{g*(a.X-2*b.X+c.X) + f*(b.X-2*c.X+d.X), g*(a.Y-2*b.Y+c.Y) + f*(b.Y-2*c.Y+d.Y)}
	return p, d1, d2
}

// Curvature is the curvature per metre, positive to the right, of a curve with
// the given derivatives.
func Curvature(d1, d2 Vec) float64 {
	l2 := d1.Len2()
	if l2 == 0 {
		return 0
	}
	return d2.Dot(d1.Right()) / (l2 * d1.Len())
}

// Through makes the spline whose knots are the given points, at least two,
// straight at both ends (second derivative nought there).
func Through(points []Vec) Spline {
	n := len(points)
	c := make(Spline, n+2)
	// Interior control points solve c[i-1] + 4c[i] + c[i+1] = 6p[i]; with a
	// straight end the end control points are the end points themselves.
	w := make([]float64, n)
	q := make([]Vec, n)
	q[0], q[n-1] = points[0], points[n-1]
	for i := 1; i < n-1; i++ {
		m := 1 / (4 - w[i-1])
		w[i] = m
		q[i] = points[i].Mul(6).Sub(q[i-1]).Mul(m)
	}
	for i := n - 2; i >= 1; i-- {
		q[i] = q[i].Sub(q[i+1].Mul(w[i]))
	}
	copy(c[1:], q)
	c[0] = points[0].Mul(2).Sub(c[2])
	c[n+1] = points[n-1].Mul(2).Sub(c[n-1])
	return c
}
