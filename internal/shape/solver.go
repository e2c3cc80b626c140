package shape

import (
	"math"

	"terret/internal/geom"
)

// Disc is a post as the solver meets it.
type Disc struct {
	At   geom.Vec
	R    float64 // m
	More float64 // m, further room asked after a measure found too little
}

// Wall is a straight side that nothing may pass: a rail, a piece of fence. Its
// ends must also be given as Discs where a line can go round them.
type Wall struct {
	Seg    geom.Seg
	R      float64 // half its thickness, m
	More   float64 // m, further room asked after a measure found too little
	Inside int     // +1: the ground lies to the right of A→B only; −1: to the left; 0: on both sides
}

// Body is the turnout as the solver meets it. Metres and radians.
type Body struct {
	Links        int // 1: two wheels, 2: four
	Length       [2]float64
	Hub          float64 // half the width over the hubs
	Width        float64 // half the width of the body between the axles
	Lock, Bend   float64
	Nose, Rump   float64
	Horse, Apart float64 // half a horse's width; half the distance of two abreast
	Lead         float64 // leaders: half the distance of two abreast; −1: no leaders
	Left, Right  float64 // least radius to each hand
	Room         float64 // clearance to keep
}

// Knobs are the weights of the cost. They were found by trial on random
// hazards; see DESIGN.md.
type Knobs struct {
	Bend  float64 // of curvature squared against length: higher makes rounder, longer lines
	Rate  float64 // of the change of curvature
	Over  float64 // of curvature beyond the least radius, as a share of it
	Room  float64 // of missing clearance
	Lock  float64 // of lock beyond the largest
	Hold  float64 // of moving at all (damping)
	Round float64 // m of line in which the curvature may go from nought to the greatest
}

// Spacing is the distance of control points along the line, m.
const Spacing = 0.5

// Solver shapes lines in one scene for one body. It keeps its buffers; it is
// not for use by several goroutines at once.
type Solver struct {
	Discs []Disc
	Walls []Wall
	Body  Body
	Knobs Knobs

	// In is the start line: the vehicle is straight behind where the line
	// crosses it.
	In geom.Seg
	// Out is the finish line: past it the line goes straight on.
	Out geom.Seg
	// Gates are the lines that must be driven on the way, in order, each from
	// its left to its right marker. A string that goes through a gate and
	// straight back is held by no post; these hold it.
	Gates []geom.Seg

	c          geom.Spline // the line being shaped
	nrm        []geom.Vec  // unit normals (right) of the control points
	k          []knot
	b          band
	from       int        // first knot of the drive
	to         int        // first knot past Out
	head, tail []geom.Vec // control points that join a part to its line
	wind       *Towed     // the bodies where a part starts; nil: straight behind at In
	cosBend    float64
	cosLock    float64
	fade       [2]decays
	now        Body // the body at its present growth
	passes     []pass
	old        geom.Spline // the line before a step that may be taken back
	fast       *Speeds     // not nil: the line is to be quick, and each knot has its speed
	w, oldW    []float64   // fast: speeds squared, as shares of the cap's; before a step that may be taken back
	idle, wake []idle      // one-sided terms that the line does not touch; those of them that a step would
	barrier    float64
	m          int // unknowns for each control point
	Iterations int
}

type knot struct {
	p, d1, d2, t, n geom.Vec
	len, kap        float64
	tow             [2]geom.Vec // unit, axle to hitch
	ax              [2]geom.Vec
	horse           geom.Vec   // direction of the wheel horses
	bent            int        // 1 when the horse's bend is used up
	mid, half       geom.Vec   // half a knot before: the line, and the first body
	byKap           [3]float64 // derivative of kap by the offsets of the control points about it
	step            [3]tract   // to mid and to here of the first body, to here of the second
}

// pass is one going by of a disc: the knots at which the line is near it and on
// one side of it. A line that comes back to the same disc makes another pass;
// opens and ends tell that the line was far off before and after.
type pass struct {
	disc        int
	lo, hi      int
	side        float64 // +1: the disc is on the right
	opens, ends bool
}

// middle is the line half way from knot i to the next.
func (s *Solver) middle(i int) geom.Vec {
	a, b, c, d := s.c[i-1], s.c[i], s.c[i+1], s.c[i+2]
	return geom.Vec{X: (a.X + d.X + 23*(b.X+c.X)) / 48, Y: (a.Y + d.Y + 23*(b.Y+c.Y)) / 48}
}

// decays knows exp(−h/L) for one length of body: steps are all about as long, so
// it is the exponential of a usual step times a short series in the rest.
type decays struct{ h, inv, e float64 }

func decaysOf(h, length float64) decays {
	if length < 1e-6 {
		return decays{}
	}
	return decays{h: h, inv: 1 / length, e: math.Exp(-h / length)}
}

func (d *decays) at(h float64) float64 {
	x := (d.h - h) * d.inv
	if x > 0.1 || x < -0.1 {
		return math.Exp(-h * d.inv)
	}
	// Six terms: 2e-9 at the ends.
	return d.e * (1 + x*(1+x*(1.0/2+x*(1.0/6+x*(1.0/24+x*(1.0/120))))))
}

// refresh recomputes normals, knots and the towing from the control points.
func (s *Solver) refresh() {
	n := len(s.c)
	s.cosBend, s.cosLock = math.Cos(s.now.Bend), math.Cos(s.now.Lock)
	s.fade = [2]decays{decaysOf(Spacing/2, s.now.Length[0]), decaysOf(Spacing, s.now.Length[1])}
	if cap(s.nrm) < n {
		s.nrm = make([]geom.Vec, n+64)
		s.k = make([]knot, n+64)
	}
	s.nrm, s.k = s.nrm[:n], s.k[:n]
	for i := 1; i < n-1; i++ {
		q := &s.k[i]
		q.p = s.c.Knot(i)
		q.d1, q.d2 = s.c.KnotDeriv(i)
		q.len = q.d1.Len()
		q.t = q.d1.Mul(1 / q.len)
		q.n = q.t.Right()
		q.kap = q.d2.Dot(q.n) / (q.len * q.len)
		s.nrm[i] = q.n
	}
	s.nrm[0], s.nrm[n-1] = s.nrm[1], s.nrm[n-2]
	for i := s.from; i < n-1; i++ {
		s.tow(i)
	}
}

// ends finds the knots at which the drive begins and ends. They stay while a line
// is bent, or its cost would jump whenever a knot slid over In or Out.
func (s *Solver) ends() {
	n := len(s.c)
	s.from = 1
	if s.wind == nil {
		mid, fwd := s.In.A.Mid(s.In.B), s.In.B.Sub(s.In.A).Unit().Left()
		for i := 1; i < min(16, n-1); i++ {
			if s.c.Knot(i).Sub(mid).Dot(fwd) < 0 {
				s.from = i + 1
			} else {
				break
			}
		}
		s.from = min(s.from, n-2)
	}
	s.to = n
	if s.tail == nil {
		mid, fwd := s.Out.A.Mid(s.Out.B), s.Out.B.Sub(s.Out.A).Unit().Left()
		for i := n - 2; i > s.from && s.c.Knot(i).Sub(mid).Dot(fwd) > 0; i-- {
			s.to = i
		}
	}
}

// tow lays the bodies behind knot i, from those behind knot i−1.
func (s *Solver) tow(i int) {
	q := &s.k[i]
	b := &s.now
	hitch := q.p
	for l := range b.Links {
		if i == s.from {
			if s.wind != nil {
				q.tow[l] = s.wind[l]
			} else {
				q.tow[l] = q.t
			}
		} else {
			p := &s.k[i-1]
			if l == 0 {
				q.mid = s.middle(i - 1)
				q.half = q.step[0].tow(p.tow[0], q.mid.Sub(p.p), b.Length[0], &s.fade[0])
				q.tow[0] = q.step[1].tow(q.half, q.p.Sub(q.mid), b.Length[0], &s.fade[0])
			} else {
				q.tow[1] = q.step[2].tow(p.tow[1], q.ax[0].Sub(p.ax[0]), b.Length[1], &s.fade[1])
			}
		}
		q.ax[l] = hitch.Along(q.tow[l], -b.Length[l])
		hitch = q.ax[l]
	}
	q.horse, q.bent = q.t, 0
	if c := q.tow[0].Dot(q.t); c < s.cosBend {
		sb, cb := math.Sincos(math.Copysign(b.Bend, q.tow[0].Cross(q.t)))
		w := q.tow[0]
		q.horse = geom.Vec{X: w.X*cb - w.Y*sb, Y: w.Y*cb + w.X*sb}
		q.bent = 1
	}
}

// tract is one step of a towed body, kept for its derivative.
type tract struct {
	u       geom.Vec // direction of the step
	h       float64  // its length, m
	e, t    float64  // exp(−h/L), tan(φ/2) before
	length  float64
	t2, inv float64 // tan(φ/2) after, 1/(1 + t2²)
}

// tow turns a body whose hitch makes a straight step: the exact tractrix,
// tan(φ′/2) = tan(φ/2)·exp(−h/L).
func (r *tract) tow(dir, step geom.Vec, length float64, fade *decays) geom.Vec {
	h := step.Len()
	r.h, r.length = h, length
	if h < 1e-12 {
		return dir
	}
	u := step.Mul(1 / h)
	r.u = u
	if length < 1e-6 {
		return u
	}
	c, sn := u.Dot(dir), u.Cross(dir)
	if 1+c < 1e-9 {
		c = -1 + 1e-9
	}
	r.e = fade.at(h)
	r.t = sn / (1 + c)
	t := r.t * r.e
	d := 1 / (1 + t*t)
	r.t2, r.inv = t, d
	return geom.Vec{X: u.X*(1-t*t)*d - u.Y*2*t*d, Y: u.Y*(1-t*t)*d + u.X*2*t*d}
}

// deriv is the derivative of the body's new bearing by its old one (g) and by
// the displacement of its hitch (a vector to dot with).
func (r *tract) deriv() (g float64, by geom.Vec) {
	if r.h < 1e-12 {
		return 1, geom.Vec{}
	}
	rt := r.u.Right()
	if r.length < 1e-6 {
		return 0, rt.Mul(1 / r.h)
	}
	g = r.e * (1 + r.t*r.t) * r.inv
	// dψ′/dβ = 1 − g, dβ = right·dΔ/h; dψ′/dh = −sin φ′/L, dh = u·dΔ; φ is
	// positive to the right, t to the left.
	sn2 := -2 * r.t2 * r.inv
	return g, rt.Mul((1-g)/r.h).Along(r.u, -sn2/r.length)
}

// findPasses lists where the line goes by the discs. While the line is near a
// disc it may go by more than once; between two nearest places the farthest one
// parts the passes.
func (s *Solver) findPasses() {
	s.passes = s.passes[:0]
	n := len(s.c)
	reach := s.reach()
	for d := range s.Discs {
		o := s.Discs[d].At
		far := reach + s.Discs[d].R
		far2 := far * far
		for i := 1; i < n-1; i++ {
			d2 := s.k[i].p.Sub(o).Len2()
			if d2 >= far2 {
				// Far off: the next knots cannot be near either.
				if skip := int((math.Sqrt(d2) - far) / (1.3 * Spacing)); skip > 1 {
					i += skip - 1
				}
				continue
			}
			start := len(s.passes)
			lo, near, least := i, i, d2
			falling := true
			peak, top := i, d2
			j := i + 1
			for ; j < n-1; j++ {
				d2 = s.k[j].p.Sub(o).Len2()
				if d2 >= far2 {
					break
				}
				if falling {
					if d2 < least {
						least, near = d2, j
					} else if d2 > least+0.5 { // clearly going away again
						falling, peak, top = false, j, d2
					}
				} else {
					if d2 >= top {
						top, peak = d2, j
					} else if d2 < top-0.5 { // and back
						s.passes = append(s.passes, s.passAt(d, lo, peak, near))
						lo, near, least, falling = peak+1, j, d2, true
					}
				}
			}
			s.passes = append(s.passes, s.passAt(d, lo, j-1, near))
			s.passes[start].opens = true
			s.passes[len(s.passes)-1].ends = true
			// Neighbours on one side are one pass.
			for m := len(s.passes) - 1; m > start; m-- {
				if s.passes[m].side == s.passes[m-1].side {
					s.passes[m-1].hi, s.passes[m-1].ends = s.passes[m].hi, s.passes[m].ends
					s.passes = append(s.passes[:m], s.passes[m+1:]...)
				}
			}
			i = j - 1
		}
	}
}

func (s *Solver) passAt(d, lo, hi, near int) pass {
	p := pass{disc: d, lo: lo, hi: hi, side: 1}
	if s.Discs[d].At.Sub(s.k[near].p).Dot(s.k[near].n) < 0 {
		p.side = -1
	}
	return p
}

// folded is the most the shafts may stand off the line at all, about 80°.
const (
	folded    = 1.4
	cosFolded = 0.16996714290024104
)

// square weighs coming to In more than 26° off square, 30° being the most: a turn
// on the least radius goes on by some degrees to the nearest knot.
const (
	square = 10000
	sinIn  = 0.4383711467890774
)

// kinked is how much more a change of curvature weighs that is too quick for
// the road to be felt as round.
const kinked = 60

// straightOn weighs curvature past Out.
const straightOn = 300

// reach is how far from the line a post can matter, m.
func (s *Solver) reach() float64 {
	b := &s.now
	rho := min(b.Left, b.Right)
	q := rho*rho - b.Length[0]*b.Length[0]
	if b.Links == 2 {
		q -= b.Length[1] * b.Length[1]
	}
	cut := rho - math.Sqrt(max(q, 0))
	cut = min(cut, 3)
	return cut + max(b.Hub, b.Horse+max(b.Apart, b.Lead)) + b.Room + 0.6
}

// put adds a one-sided residual that depends on knot k's position (gp), its
// tangent derivative (gd) and the headings there.
func (s *Solver) put(k int, gp, gd geom.Vec, psi1, psi2, residual, weight float64) {
	var r row
	m := s.m
	i := (k - 1) * m
	r.idx[0], r.jac[0] = i, (gp.Mul(1.0/6).Along(gd, -0.5)).Dot(s.nrm[k-1])
	r.idx[1], r.jac[1] = i+m, gp.Mul(4.0/6).Dot(s.nrm[k])
	r.n = 2
	if psi1 != 0 {
		r.idx[r.n], r.jac[r.n] = i+m+1, psi1
		r.n++
	}
	if psi2 != 0 {
		r.idx[r.n], r.jac[r.n] = i+m+2, psi2
		r.n++
	}
	r.idx[r.n], r.jac[r.n] = i+2*m, (gp.Mul(1.0/6).Along(gd, 0.5)).Dot(s.nrm[k+1])
	r.n++
	s.oneSided(&r, residual, weight)
}

// assemble adds up the cost; with jac it also builds the system.
func (s *Solver) assemble(jac bool) (cost float64) {
	n := len(s.c)
	b := &s.now
	kn := &s.Knobs
	s.m = 1 + b.Links
	if s.fast != nil {
		s.m++
	}
	m := s.m
	if jac {
		for k := 1; k < n-1; k++ {
			s.k[k].byKap = s.kapDeriv(k)
		}
		s.idle = s.idle[:0]
		s.b.reset(n*m, 3*m) // a row reaches over four control points
	}
	kl, kr := 1/b.Left, 1/b.Right
	rate := max(kl, kr) / max(kn.Round, 1e-3)
	first, last := 1, n-2
	for k := first; k <= last; k++ {
		q := &s.k[k]
		h := q.len
		// Length: tension of the string.
		wl := 1.0
		if s.fast != nil {
			wl = s.pull(k)
		}
		cost += wl * h
		if jac {
			var r row
			i := (k - 1) * m
			t0, t1 := q.t.Dot(s.nrm[k-1])*0.5, q.t.Dot(s.nrm[k+1])*0.5
			s.b.g[i] -= wl * t0
			s.b.g[i+2*m] += wl * t1
			r.n = 2
			r.idx[0], r.jac[0] = i, -0.5*q.n.Dot(s.nrm[k-1])
			r.idx[1], r.jac[1] = i+2*m, 0.5*q.n.Dot(s.nrm[k+1])
			s.b.add(&r, 0, wl/h)
		}
		// Curvature, and curvature beyond the least radius to that hand.
		bend := kn.Bend
		if k >= s.to {
			bend = straightOn
		}
		w := 2 * bend * h
		cost += bend * h * q.kap * q.kap
		over, sg, wo := q.kap-kr, 1.0, kn.Over*b.Right*b.Right
		if q.kap < 0 {
			over, sg, wo = -kl-q.kap, -1, kn.Over*b.Left*b.Left
		}
		if over > 0 {
			cost += wo * over * over
		}
		if jac {
			r := s.kapRow(k, 1)
			s.b.add(&r, q.kap, w)
			if over > -0.5*max(kl, kr) {
				r = s.kapRow(k, sg)
				s.oneSided(&r, over, 2*wo)
			}
		}
		if k < last {
			p := &s.k[k+1]
			dk := (p.kap - q.kap) / h
			w := 2 * kn.Rate * h
			e := math.Abs(dk) - rate
			cost += kn.Rate * h * dk * dk
			if e > 0 {
				cost += kinked * h * e * e
			}
			if jac {
				r := s.rateRow(k, 1/h)
				s.b.add(&r, dk, w)
				if e > -0.5*rate {
					r = s.rateRow(k, math.Copysign(1/h, dk))
					s.oneSided(&r, e, 2*kinked*h)
				}
			}
		}
		if jac {
			s.b.diag(k*m, kn.Hold)
		}
	}
	// Towing rows and lock.
	for k := s.from; k <= last; k++ {
		q := &s.k[k]
		if jac {
			s.putTow(k)
		}
		// The lock: two wheels between line and shafts, four at the turntable.
		var a, c geom.Vec
		lim := b.Lock
		if b.Links == 2 {
			a, c = q.tow[0], q.tow[1]
		} else {
			a, c = q.t, q.tow[0]
		}
		if c.Dot(a) < s.cosLock+0.1 {
			ang := math.Atan2(c.Cross(a), c.Dot(a)) // positive: a lies to the left of c
			o := math.Abs(ang) - lim
			cost += kn.Lock * pos(o)
			if jac {
				sg := math.Copysign(1, ang)
				// d|ang|: bearings are positive to the right, so ang falls as a's bearing grows.
				if b.Links == 2 {
					s.put(k, geom.Vec{}, geom.Vec{}, -sg, sg, o, 2*kn.Lock)
				} else {
					s.put(k, geom.Vec{}, q.n.Mul(-sg/q.len), sg, 0, o, 2*kn.Lock)
				}
			}
		}
		if b.Links == 2 { // the shafts against the line: never beyond 80°
			if q.tow[0].Dot(q.t) < cosFolded+0.1 {
				ang := math.Atan2(q.tow[0].Cross(q.t), q.tow[0].Dot(q.t))
				o := math.Abs(ang) - folded
				sg := math.Copysign(1, ang)
				cost += kn.Lock * pos(o)
				if jac {
					s.put(k, geom.Vec{}, q.n.Mul(-sg/q.len), sg, 0, o, 2*kn.Lock)
				}
			}
		}
	}
	// The start: within 30° of square at the knot nearest to where the line
	// crosses In.
	if s.wind == nil {
		mid, fwd := s.In.A.Mid(s.In.B), s.In.B.Sub(s.In.A).Unit().Left()
		k := s.from
		if k > 1 && -s.k[k-1].p.Sub(mid).Dot(fwd) < s.k[k].p.Sub(mid).Dot(fwd) {
			k--
		}
		q := &s.k[k]
		sn := fwd.Dot(q.n)
		if o := math.Abs(sn) - sinIn; o > -0.3 {
			cost += square * pos(o)
			if jac {
				// d(fwd·n) = −fwd·t dθ
				sg := math.Copysign(1, sn)
				s.put(k, geom.Vec{}, q.n.Mul(-sg*fwd.Dot(q.t)/q.len), 0, 0, o, 2*square)
			}
		}
	}
	if s.fast != nil {
		cost += s.hurry(jac)
	}
	cost += s.clear(jac)
	cost += s.through(jac)
	if jac {
		for i := range n {
			if i < len(s.head) || i >= n-len(s.tail) {
				s.b.diag(i*m, 1e9)
			}
			s.b.diag(i*m, 1e-3)
			for l := 1; l < m; l++ {
				s.b.diag(i*m+l, 1e-3)
			}
		}
	}
	return cost
}

// beyond is how far past a gate's line the line must reach before it may come
// back, m.
const beyond = 0.4

// through holds the line in the gates that it drives and leaves by the way it
// came.
func (s *Solver) through(jac bool) (cost float64) {
	g := 0
	n := len(s.c)
	for k := 2; k < n-1 && g < len(s.Gates); {
		l := s.Gates[g]
		e := l.B.Sub(l.A)
		fwd := e.Unit().Left()
		depth := func(i int) float64 { return s.k[i].p.Sub(l.A).Dot(fwd) }
		a, b := depth(k-1), depth(k)
		if a >= 0 || b < 0 {
			k++
			continue
		}
		x := s.k[k-1].p.Lerp(s.k[k].p, a/(a-b)).Sub(l.A).Dot(e)
		if x < 0 || x > e.Len2() {
			k++
			continue
		}
		most, at, j := b, k, k+1
		for ; j < n-1 && most < beyond; j++ {
			d := depth(j)
			if d < 0 {
				break
			}
			if d > most {
				most, at = d, j
			}
		}
		if o := beyond - most; o > 0 && j < n-1 {
			w := s.Knobs.Room
			cost += w * o * o
			if jac {
				s.put(at, fwd.Mul(-1), geom.Vec{}, 0, 0, o, 2*w)
			}
		}
		g++ // the same piece may drive the next gate too
	}
	return cost
}

// kapDeriv is the derivative of knot k's curvature by the offsets of control
// points k−1, k, k+1.
func (s *Solver) kapDeriv(k int) (by [3]float64) {
	q := &s.k[k]
	i2 := 1 / (q.len * q.len)
	// κ = D2·right(D1)/|D1|³
	by2 := q.n.Mul(i2)
	by1 := q.d2.Left().Mul(i2/q.len).Along(q.t, -3*q.kap/q.len)
	by[0] = by2.Along(by1, -0.5).Dot(s.nrm[k-1])
	by[1] = -2 * by2.Dot(s.nrm[k])
	by[2] = by2.Along(by1, 0.5).Dot(s.nrm[k+1])
	return by
}

// kapRow is the row of by times knot k's curvature.
func (s *Solver) kapRow(k int, by float64) (r row) {
	r.n = 3
	for i, v := range s.k[k].byKap {
		r.idx[i], r.jac[i] = (k-1+i)*s.m, v*by
	}
	return r
}

// rateRow is the row of by times the change of curvature from knot k to the next.
func (s *Solver) rateRow(k int, by float64) (r row) {
	p, q := &s.k[k].byKap, &s.k[k+1].byKap
	r.n = 4
	for i := range 4 {
		r.idx[i] = (k - 1 + i) * s.m
	}
	r.jac[0], r.jac[1], r.jac[2], r.jac[3] = -p[0]*by, (q[0]-p[1])*by, (q[1]-p[2])*by, q[2]*by
	return r
}

// oneSided adds what costs only while its residual is above nought. What is not
// there yet but near is remembered, in case the step would go beyond.
func (s *Solver) oneSided(r *row, residual, weight float64) {
	if residual > 0 {
		s.b.add(r, residual, weight)
	} else {
		s.idle = append(s.idle, idle{*r, residual, weight})
	}
}

// idle is a one-sided term that costs nothing as the line lies.
type idle struct {
	row
	residual, weight float64
}

// solve finds the step that lowers the cost most, as far as the linearised terms
// tell, one-sided ones that the step itself would wake included.
func (s *Solver) solve() bool {
	if len(s.idle) > 0 {
		s.b.save()
	}
	if !s.b.solve() {
		return false
	}
	for range foresight {
		for i := 0; i < len(s.idle); i++ {
			d := &s.idle[i]
			e := d.residual
			for j, v := range d.jac[:d.n] {
				e += v * s.b.x[d.idx[j]]
			}
			if e <= 0 {
				continue
			}
			s.wake = append(s.wake, *d)
			s.idle[i] = s.idle[len(s.idle)-1]
			s.idle = s.idle[:len(s.idle)-1]
			i--
		}
		if len(s.wake) == 0 {
			break
		}
		s.b.restore()
		for i := range s.wake {
			d := &s.wake[i]
			s.b.add(&d.row, d.residual, d.weight)
		}
		s.wake = s.wake[:0]
		s.b.save()
		if !s.b.solve() {
			return false
		}
	}
	return true
}

// foresight is how often the step is looked at for what it would wake.
const foresight = 2

// towWeight makes the towing rows all but exact beside the room weight.
const towWeight = 1e7

// putTow ties the headings at knot k to those at knot k−1 and to the line.
func (s *Solver) putTow(k int) {
	b := &s.now
	m := s.m
	q := &s.k[k]
	if k == s.from {
		for l := range b.Links {
			var r row
			r.n = 1
			r.idx[0], r.jac[0] = k*m+1+l, 1
			if s.wind == nil {
				// straight behind: the heading is the tangent's
				g := q.n.Mul(1 / q.len)
				r.n = 3
				r.idx[1], r.jac[1] = (k-1)*m, 0.5*g.Dot(s.nrm[k-1])
				r.idx[2], r.jac[2] = (k+1)*m, -0.5*g.Dot(s.nrm[k+1])
			}
			s.b.add(&r, 0, towWeight)
		}
		return
	}
	p := &s.k[k-1]
	// First body: two half steps p → mid → q.
	g0, by0 := q.step[0].deriv()
	g1, by1 := q.step[1].deriv()
	// ψ′ = g1·(g0·ψ + by0·(dM − dP)) + by1·(dQ − dM)
	by0 = by0.Mul(g1)
	gp, gm, gq := by0.Mul(-1), by0.Sub(by1), by1
	// control points k−2 … k+1: P = (1,4,1,0)/6, M = (1,23,23,1)/48, Q = (0,1,4,1)/6
	w := [4]geom.Vec{
		gp.Mul(1.0/6).Along(gm, 1.0/48),
		gp.Mul(4.0/6).Along(gm, 23.0/48).Along(gq, 1.0/6),
		gp.Mul(1.0/6).Along(gm, 23.0/48).Along(gq, 4.0/6),
		gm.Mul(1.0/48).Along(gq, 1.0/6),
	}
	var r row
	r.n = 6
	for i := range 4 {
		r.idx[i], r.jac[i] = (k-2+i)*m, -w[i].Dot(s.nrm[k-2+i])
	}
	r.idx[4], r.jac[4] = (k-1)*m+1, -g0*g1
	r.idx[5], r.jac[5] = k*m+1, 1
	s.b.add(&r, 0, towWeight)
	if b.Links < 2 {
		return
	}
	// Second body: its hitch is the pin over the front axle.
	g, by := q.step[2].deriv()
	// dpin = dQ − dP − L(r_q dψ1q − r_p dψ1p)
	l := b.Length[0]
	var r2 row
	w = [4]geom.Vec{by.Mul(-1.0 / 6), by.Mul(1.0/6 - 4.0/6), by.Mul(4.0/6 - 1.0/6), by.Mul(1.0 / 6)}
	for i := range 4 {
		r2.idx[i], r2.jac[i] = (k-2+i)*m, -w[i].Dot(s.nrm[k-2+i])
	}
	r2.idx[4], r2.jac[4] = (k-1)*m+1, -l*by.Dot(p.tow[0].Right())
	r2.idx[5], r2.jac[5] = k*m+1, l*by.Dot(q.tow[0].Right())
	r2.idx[6], r2.jac[6] = (k-1)*m+2, -g
	r2.idx[7], r2.jac[7] = k*m+2, 1
	r2.n = 8
	s.b.add(&r2, 0, towWeight)
}

// lost is how far on the wrong side a post may be and still pull the line back;
// farther, the reading of its side is not believed.
const lost = 1.2

// ahead is how near a thing is before a step may run into it, m: somewhat more
// than the most a step moves.
const ahead = 0.3

// pos is e squared if e is above nought.
func pos(e float64) float64 {
	if e > 0 {
		return e * e
	}
	return 0
}

// clear adds the missing room.
func (s *Solver) clear(jac bool) (cost float64) {
	b := &s.now
	n := len(s.c)
	w := s.Knobs.Room
	front := int(math.Ceil((b.Nose+0.3)/Spacing)) + 1
	rump := int(math.Ceil((b.Rump+0.3)/Spacing)) + 1
	// An axle is about where the lead point was its distance ago.
	lag1 := int(math.Round(b.Length[0] / Spacing))
	lag2 := int(math.Round((b.Length[0] + b.Length[1]) / Spacing))
	for _, ps := range s.passes {
		o, rad := s.Discs[ps.disc].At, s.Discs[ps.disc].R+s.Discs[ps.disc].More+b.Room
		// Knots for the horses, the first and the second body.
		h0, h1 := ps.lo, ps.hi
		a0, a1, c0, c1 := ps.lo+lag1, ps.hi+lag1, ps.lo+lag2, ps.hi+lag2
		if ps.opens {
			h0, a0, c0 = h0-front, ps.lo-1, ps.lo-1
		}
		if ps.ends {
			h1, a1, c1 = h1+rump, a1+2, c1+2
		}
		for k := max(h0, 1); k <= min(max(h1, a1, c1), n-2); k++ {
			q := &s.k[k]
			rel := o.Sub(q.p)
			// Leaders, on the tangent.
			if b.Lead >= 0 && k <= h1 {
				lon, lat := rel.Dot(q.t), rel.Dot(q.n)*ps.side
				if need, ok := capsule(lon, b, rad); ok {
					if e := need + b.Lead - lat; e > -ahead && e < need+b.Lead+lost {
						cost += w * pos(e)
						if jac {
							s.put(k, q.n.Mul(ps.side), q.n.Mul(ps.side*lon/q.len), 0, 0, e, 2*w)
						}
					}
				}
			}
			if k < s.from {
				continue
			}
			// Wheel horses.
			u, r := q.horse, q.horse.Right()
			lon, lat := rel.Dot(u), rel.Dot(r)*ps.side
			if need, ok := capsule(lon, b, rad); ok && k <= h1 {
				if e := need + b.Apart - lat; e > -ahead && e < need+b.Apart+lost {
					cost += w * pos(e)
					if jac {
						if q.bent == 0 {
							s.put(k, r.Mul(ps.side), r.Mul(ps.side*lon/q.len), 0, 0, e, 2*w)
						} else {
							s.put(k, r.Mul(ps.side), geom.Vec{}, ps.side*lon, 0, e, 2*w)
						}
					}
				}
			}
			// Shafts and the front axle.
			t1, r1 := q.tow[0], q.tow[0].Right()
			lon = rel.Dot(t1) // from the lead point
			if need, ok := bar(lon+b.Length[0], b.Length[0], 0, b.Hub, rad); ok && k >= a0 && k <= a1 {
				lat = rel.Dot(r1) * ps.side
				if e := need - lat; e > -ahead && e < need+lost {
					cost += w * pos(e)
					if jac {
						s.put(k, r1.Mul(ps.side), geom.Vec{}, ps.side*lon, 0, e, 2*w)
					}
				}
			}
			if b.Links == 2 {
				t2, r2 := q.tow[1], q.tow[1].Right()
				rp := o.Sub(q.ax[0])
				lon = rp.Dot(t2)
				if need, ok := bar(lon+b.Length[1], b.Length[1], b.Width, b.Hub, rad); ok && k >= c0 && k <= c1 {
					lat = rp.Dot(r2) * ps.side
					if e := need - lat; e > -ahead && e < need+lost {
						cost += w * pos(e)
						if jac {
							s.put(k, r2.Mul(ps.side), geom.Vec{}, -ps.side*b.Length[0]*r1.Dot(r2), ps.side*lon, e, 2*w)
						}
					}
				}
			}
		}
	}
	return cost + s.walls(jac)
}

// capsule is the lateral room that one horse needs beside its middle line at
// lon metres ahead of the lead point from something of radius rad.
func capsule(lon float64, b *Body, rad float64) (need float64, ok bool) {
	r := b.Horse + rad
	x := 0.0
	if f := b.Nose - b.Horse; lon > f {
		x = lon - f
	} else if g := -(b.Rump - b.Horse); lon < g {
		x = g - lon
	}
	// Between two knots the end of the horse goes on by half a spacing.
	if x -= Spacing / 2; x <= 0 {
		return r, true
	}
	if x >= r {
		return 0, false
	}
	return math.Sqrt(r*r - x*x), true
}

// bar is the room needed beside a towed body at lon metres ahead of its axle:
// its width between axle and hitch, its hubs near the axle.
func bar(lon, length, width, hub, rad float64) (need float64, ok bool) {
	const near = 0.3 // more than half a spacing, so that no axle slips past between knots
	switch {
	case math.Abs(lon) <= near:
		return hub + rad, true
	case lon > 0 && lon < length:
		return width + rad, true
	}
	return 0, false
}

// walls adds the missing room to straight sides.
func (s *Solver) walls(jac bool) (cost float64) {
	b := &s.now
	n := len(s.c)
	w := s.Knobs.Room
	far := max(s.reach(), b.Nose+b.Room+0.3)
	for wi := range s.Walls {
		wall := &s.Walls[wi]
		ab := wall.Seg.B.Sub(wall.Seg.A)
		length := ab.Len()
		if length == 0 {
			continue
		}
		u := ab.Mul(1 / length)
		nw := u.Right()
		need := wall.R + wall.More + b.Room
		for k := 1; k < n-1; k++ {
			q := &s.k[k]
			rel := q.p.Sub(wall.Seg.A)
			lon, lead := rel.Dot(u), rel.Dot(nw)
			dx := max(max(-lon, lon-length), 0)
			if d := max(math.Abs(lead), dx); d > far {
				if skip := int((d-far)/(1.3*Spacing)) - 1; skip > 0 {
					k += skip
				}
				continue
			}
			// corner tests one point of the footprint: gp, gd and the headings'
			// derivatives are along the wall's normal.
			corner := func(c geom.Vec, rad float64, by geom.Vec, kind int, by1, by2 geom.Vec) {
				cr := c.Sub(wall.Seg.A)
				x := cr.Dot(u)
				if x < 0 || x > length {
					return
				}
				sd := cr.Dot(nw)
				var side float64
				switch {
				case wall.Inside != 0:
					side = float64(wall.Inside)
				case sd*lead < 0:
					// Lead point and corner on opposite sides: through the wall, or round its end?
					f := lead / (lead - sd)
					if y := lon + (x-lon)*f; y >= 0 && y <= length {
						side = math.Copysign(1, lead)
					} else {
						side = math.Copysign(1, sd)
					}
				default:
					side = math.Copysign(1, sd)
				}
				e := need + rad - side*sd
				if e <= -ahead || (wall.Inside == 0 && e > need+rad+lost) {
					return
				}
				cost += w * pos(e)
				if jac {
					g := nw.Mul(-side)
					gd := geom.Vec{}
					if kind == 0 { // turns with the tangent
						gd = q.n.Mul(g.Dot(by) / q.len)
					}
					s.put(k, g, gd, g.Dot(by1), g.Dot(by2), e, 2*w)
				}
			}
			var zero geom.Vec
			row := func(u, r geom.Vec, half float64, tangent bool) {
				for _, a := range [2]float64{b.Nose - b.Horse, -(b.Rump - b.Horse)} {
					for _, o := range [2]float64{half, -half} {
						c := q.p.Along(u, a).Along(r, o)
						by := r.Mul(a).Along(u, -o)
						if tangent {
							corner(c, b.Horse, by, 0, zero, zero)
						} else {
							corner(c, b.Horse, zero, 1, by, zero)
						}
						if half == 0 {
							break
						}
					}
				}
			}
			if b.Lead >= 0 {
				row(q.t, q.n, b.Lead, true)
			}
			if k < s.from {
				continue
			}
			row(q.horse, q.horse.Right(), b.Apart, q.bent == 0)
			t1, r1 := q.tow[0], q.tow[0].Right()
			for _, o := range [2]float64{b.Hub, -b.Hub} {
				corner(q.ax[0].Along(r1, o), 0, zero, 1, r1.Mul(-b.Length[0]).Along(t1, -o), zero)
				if b.Links == 2 {
					t2, r2 := q.tow[1], q.tow[1].Right()
					corner(q.ax[1].Along(r2, o), 0, zero, 1, r1.Mul(-b.Length[0]), r2.Mul(-b.Length[1]).Along(t2, -o))
				}
			}
		}
	}
	return cost
}
