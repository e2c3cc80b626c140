package survey

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"terret/internal/fault"
	"terret/internal/geom"
)

const (
	// DefaultLevel is the chance that a test calls a tape suspect when none is.
	DefaultLevel = 0.05
	// hardlyChecked is the redundancy below which nothing much checks a tape: nine
	// tenths of an error in it go into the points unseen.
	hardlyChecked = 0.1
	// unseen is the redundancy that rounding makes of none.
	unseen = 1e-8
	// rounding is the least s0 that tau divides by: a hundred-thousandth of σ is no
	// scatter of tapes but of the last digits.
	rounding = 1e-5
	// noFixAt takes a point for not fixed when its standard ellipse, by the given
	// σ, is longer than this many times the largest σ: two arcs that cross flatter
	// than 2.7° are one line on the ground.
	noFixAt = 30
	// settled is the largest move of a coordinate that ends the steps, m.
	settled = 1e-7
	// maxSteps ends steps that do not settle.
	maxSteps = 60
	// maxStarts ends beginning again without points that have no fix. Built layouts
	// need two or three; what needs more than this is no network, and none of it is
	// called fixed.
	maxStarts = 30
)

// seen is a network in numbers: the points that are sought, as unknowns 2k and
// 2k + 1.
type seen struct {
	n       *Network
	index   map[string]int // of points sought, by name
	at      []geom.Vec     // where they are now
	start   []geom.Vec
	fixable []bool
	ends    [][2]int // of each tape: index of a point sought, or −1 − index of one held
	fixed   []geom.Vec
	// unknown is the first unknown of each point, −1 for those without a fix.
	unknown []int
	count   int // unknowns
}

func look(n *Network) *seen {
	s := &seen{n: n, index: make(map[string]int, len(n.Points))}
	for i, p := range n.Points {
		s.index[p.Name] = i
		s.at = append(s.at, p.At)
		s.start = append(s.start, p.At)
		s.fixable = append(s.fixable, true)
	}
	held := make(map[string]int, len(n.Fixed))
	for i, p := range n.Fixed {
		held[p.Name] = i
		s.fixed = append(s.fixed, p.At)
	}
	end := func(name string) int {
		if i, ok := s.index[name]; ok {
			return i
		}
		return -1 - held[name]
	}
	for _, t := range n.Tapes {
		s.ends = append(s.ends, [2]int{end(t.From), end(t.To)})
	}
	s.number()
	return s
}

// number gives unknowns to the points that can be fixed.
func (s *seen) number() {
	s.unknown = make([]int, len(s.at))
	s.count = 0
	for i := range s.at {
		s.unknown[i] = -1
		if s.fixable[i] {
			s.unknown[i] = s.count
			s.count += 2
		}
	}
}

// in reports whether a tape takes part: none of its ends is without a fix.
func (s *seen) in(tape int) bool {
	for _, e := range s.ends[tape] {
		if e >= 0 && !s.fixable[e] {
			return false
		}
	}
	return true
}

func (s *seen) place(end int, at []geom.Vec) geom.Vec {
	if end < 0 {
		return s.fixed[-1-end]
	}
	return at[end]
}

// rows makes one equation of each tape that takes part, about the places at:
// how the length changes with the ends, and what it misses of what was taped.
func (s *seen) rows(at []geom.Vec) []row {
	rows := make([]row, 0, len(s.n.Tapes))
	for i, t := range s.n.Tapes {
		if !s.in(i) {
			continue
		}
		a, b := s.ends[i][0], s.ends[i][1]
		d := s.place(b, at).Sub(s.place(a, at))
		l := d.Len()
		r := row{miss: t.M - l, sigma: s.n.sigma(t)}
		u := d.Unit()
		put := func(end int, sign float64) {
			if end >= 0 {
				r.at[r.n], r.coef[r.n] = s.unknown[end], sign*u.X
				r.at[r.n+1], r.coef[r.n+1] = s.unknown[end]+1, sign*u.Y
				r.n += 2
			}
		}
		put(b, 1)
		put(a, -1)
		rows = append(rows, r)
	}
	return rows
}

// sum is Σ(v/σ)² at the places at.
func (s *seen) sum(at []geom.Vec) float64 {
	var sum float64
	for i, t := range s.n.Tapes {
		if s.in(i) {
			v := (s.place(s.ends[i][1], at).Dist(s.place(s.ends[i][0], at)) - t.M) / s.n.sigma(t)
			sum += v * v
		}
	}
	return sum
}

// motions are the orthonormal motions of the points about the places at that no
// tape can see: all of the network as one, where nothing or one point holds it.
func (s *seen) motions(at []geom.Vec) [][]float64 {
	if !s.n.Free || len(s.fixed) >= 2 || s.count == 0 {
		return nil
	}
	var middle geom.Vec
	k := 0
	for i := range at {
		if s.fixable[i] {
			middle = middle.Add(at[i])
			k++
		}
	}
	middle = middle.Mul(1 / float64(k))
	if len(s.fixed) == 1 {
		middle = s.fixed[0]
	}
	x, y, turn := make([]float64, s.count), make([]float64, s.count), make([]float64, s.count)
	var length float64
	for i := range at {
		if u := s.unknown[i]; u >= 0 {
			d := at[i].Sub(middle)
			x[u], y[u+1] = 1/math.Sqrt(float64(k)), 1/math.Sqrt(float64(k))
			turn[u], turn[u+1] = -d.Y, d.X
			length += d.Len2()
		}
	}
	if length == 0 {
		return [][]float64{x, y}
	}
	for i := range turn {
		turn[i] /= math.Sqrt(length)
	}
	if len(s.fixed) == 1 {
		return [][]float64{turn}
	}
	return [][]float64{x, y, turn}
}

// equations are the normal equations about the places at. A free network's moves
// are counted from the start values.
func (s *seen) equations(at []geom.Vec) *normals {
	datum := s.motions(s.start)
	off := make([]float64, len(datum))
	for d, move := range datum {
		for i := range at {
			if u := s.unknown[i]; u >= 0 {
				gone := at[i].Sub(s.start[i])
				off[d] -= move[u]*gone.X + move[u+1]*gone.Y
			}
		}
	}
	return gather(s.count, s.rows(at), datum, off)
}

// moved is at with the unknowns' step x taken a share of the way.
func (s *seen) moved(at []geom.Vec, x []float64, share float64) []geom.Vec {
	out := make([]geom.Vec, len(at))
	for i := range at {
		out[i] = at[i]
		if u := s.unknown[i]; u >= 0 {
			out[i] = at[i].Add(geom.Vec{X: x[u] * share, Y: x[u+1] * share})
		}
	}
	return out
}

// let notes that points have no fix, and begins again from the start values
// without them.
func (s *seen) let(which func(point int) bool) {
	for i := range s.at {
		if s.fixable[i] && which(i) {
			s.fixable[i] = false
		}
	}
	copy(s.at, s.start)
	s.number()
}

// settle takes Gauss–Newton steps until the points stand still. It gives the
// cofactors of the unknowns and whether the steps settled. Points that the tapes
// do not fix are let go on the way.
func (s *seen) settle() (q *mat.SymDense, done bool) {
	for range maxStarts {
		q, done, again := s.steps()
		if !again {
			return q, done
		}
	}
	s.let(func(int) bool { return true })
	return nil, false
}

func (s *seen) steps() (q *mat.SymDense, done, again bool) {
	if s.count == 0 {
		return nil, true, false
	}
	var e *normals
	for range maxSteps {
		e = s.equations(s.at)
		if !e.factor() {
			s.drop(e)
			return nil, false, true
		}
		x := e.solve()
		largest := 0.
		for _, v := range x {
			largest = math.Max(largest, math.Abs(v))
		}
		before := s.sum(s.at)
		next := s.moved(s.at, x, 1)
		for share := 1.; share > 1e-3 && s.sum(next) > before+1e-9*(1+before); {
			share /= 2
			next = s.moved(s.at, x, share)
		}
		s.at = next
		if largest < settled {
			done = true
			break
		}
	}
	// The last equations are of where it came to rest, but for a step too small to
	// count; a free network's spread is about there, not about its start.
	if datum := s.motions(s.at); datum != nil {
		e = gather(s.count, s.rows(s.at), datum, make([]float64, len(datum)))
		if !e.factor() {
			s.drop(e)
			return nil, false, true
		}
	}
	q = e.inverse()
	most := 0.
	for i, t := range s.n.Tapes {
		if s.in(i) {
			most = math.Max(most, s.n.sigma(t))
		}
	}
	flat := func(i int) bool {
		a, _, _ := axes(q.At(s.unknown[i], s.unknown[i]), q.At(s.unknown[i]+1, s.unknown[i]+1), q.At(s.unknown[i], s.unknown[i]+1))
		return a > noFixAt*most
	}
	for i := range s.at {
		if s.fixable[i] && flat(i) {
			s.let(flat)
			return nil, false, true
		}
	}
	return q, done, false
}

// drop lets go the points that take part in a motion which no tape sees.
func (s *seen) drop(e *normals) {
	loose := e.loose()
	any := false
	for _, l := range loose {
		any = any || l
	}
	s.let(func(i int) bool { u := s.unknown[i]; return !any || loose[u] || loose[u+1] })
}

// axes are the half axes of the ellipse of a point's cofactors, and the bearing
// of the longer one in [0°, 180°).
func axes(xx, yy, xy float64) (a, b, bearing float64) {
	mean, half := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
	a, b = math.Sqrt(mean+half), math.Sqrt(math.Max(0, mean-half))
	return a, b, math.Mod(geom.Bearing(math.Atan2(2*xy, yy-xx)/2).Deg(), 180)
}

// Adjust finds the places that fit the tapes best, how sure they are, and which
// tape may be wrong at the given level. A network that breaks a rule is a
// fault.List.
func (n *Network) Adjust(level float64) (*Adjustment, error) {
	if err := checkLevel(level); err != nil {
		return nil, err
	}
	var list fault.List
	for _, p := range n.Validate() {
		list = append(list, &fault.Fault{Code: fault.Input, Rule: p.Rule, Place: p.Path, Message: p.Message, Hint: p.Hint})
	}
	if err := list.Err(); err != nil {
		return nil, err
	}
	return n.adjust(level), nil
}

func checkLevel(level float64) error {
	if level > 0 && level < 1 {
		return nil
	}
	return &fault.Fault{Code: fault.Usage, Rule: "level", Place: "level", Message: fmt.Sprintf("%v is no level of a test", level), Hint: "write a share between 0 and 1, such as 0.05"}
}

// adjust is Adjust for a network that has been checked.
func (n *Network) adjust(level float64) *Adjustment {
	s := look(n)
	q, done := s.settle()
	a := &Adjustment{Points: make(map[string]Fix, len(n.Points)), Level: level, Settled: done}
	used := 0
	for i := range n.Tapes {
		if s.in(i) {
			used++
		}
	}
	a.SpareTapes = used - s.count + len(s.motions(s.at))
	sum := s.sum(s.at)
	by := 1. // standard deviations are scaled by it
	if a.SpareTapes > 0 {
		by = math.Sqrt(sum / float64(a.SpareTapes))
		a.S0 = number(by)
		if n.Sigma > 0 {
			a.S0M = number(by * n.Sigma)
		}
	}
	for i, p := range n.Points {
		a.Points[p.Name] = s.fix(i, q, by, a.SpareTapes)
		if !s.fixable[i] {
			a.NoFix = append(a.NoFix, p.Name)
		}
	}
	a.Tapes = s.checks(q, by, a.SpareTapes, level)
	a.judge(sum)
	return a
}

// fix is what is known of a point.
func (s *seen) fix(i int, q *mat.SymDense, by float64, spare int) Fix {
	f := Fix{X: s.at[i].X, Y: s.at[i].Y}
	if !s.fixable[i] {
		f.NoFix = true
		return f
	}
	u := s.unknown[i]
	xx, yy, xy := q.At(u, u)*by*by, q.At(u+1, u+1)*by*by, q.At(u, u+1)*by*by
	a, b, bearing := axes(xx, yy, xy)
	k := ellipseKnown()
	if spare > 0 {
		k = ellipseFound(spare)
	}
	f.SX, f.SY = number(math.Sqrt(xx)), number(math.Sqrt(yy))
	if !s.n.alone {
		f.Moved = number(s.at[i].Dist(s.start[i]))
	}
	f.Ellipse = &Ellipse{A: k * a, B: k * b, Bearing: bearing, Share: ellipseShare, Standard: Axes{a, b}}
	return f
}

// checks are the tapes in the order given, with what the points say of them.
func (s *seen) checks(q *mat.SymDense, by float64, spare int, level float64) []TapeCheck {
	alpha := level / float64(len(s.n.Tapes))
	delta := findable(alpha)
	rows := s.rows(s.at)
	out := make([]TapeCheck, len(s.n.Tapes))
	next := 0
	for i, t := range s.n.Tapes {
		c := TapeCheck{From: t.From, To: t.To, M: t.M}
		if s.in(i) {
			r := &rows[next]
			next++
			share := 1.
			if r.n > 0 {
				share = 1 - r.cofactor(q)/(r.sigma*r.sigma)
			}
			share = math.Min(1, math.Max(0, share))
			v := -r.miss
			c.Residual, c.Redundancy = number(v), share
			if share > unseen {
				w := v / (r.sigma * math.Sqrt(share))
				c.W = number(w)
				if spare > 0 {
					c.Tau = number(w / math.Max(by, rounding))
				}
				c.Findable = number(delta * r.sigma / math.Sqrt(share))
				c.Likely = number(-v / share)
			}
			c.Hardly = share < hardlyChecked
		} else {
			c.Hardly = true
		}
		out[i] = c
	}
	return out
}

func number(v float64) *float64 { return &v }
