package hazardtest

import (
	"context"
	"math"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// smoother turns the arcs of a lattice search into a curvature-continuous
// drive: a uniform cubic B-spline whose control points start on the arcs and
// are pushed about, sideways and in bumps of several lengths, as long as the
// time plus what each broken rule costs grows less. No gradients: each push is
// tried and towed. Slow, plain, and unlike any band solver.
type smoother struct {
	t    *turnout.Turnout
	c    *course
	y    *yard
	near *lattice // for its list of faces near each metre

	ctrl []geom.Vec
	now  curve
	try  curve
	spd  []float64
	dear float64 // factor on every fee, grown when rules stay broken
}

// curve is a spline in points, perSpan to each span.
type curve struct {
	p   []geom.Vec
	b   []float64 // bearing, unwrapped
	k   []float64
	ds  []float64 // from the point before
	w   []tow
	fee []float64 // s, what the point's broken rules cost

	start, end int     // first point after In, last before Out
	cost       float64 // s
	time       float64 // s
	legal      bool
}

const (
	ctrlStep = 0.8 // m between control points
	perSpan  = 8
	runOn    = 6 // straight control points added before In and after Out

	// What a broken rule costs, in seconds per metre of line: linear, so that
	// a rule is kept in the end and not only nearly.
	roomFee  = 60.0 // for each metre of clearance missing
	bendFee  = 15.0 // for each unit of curvature × radius over 1
	steerFee = 4.0  // for each unit of curvature change over its limit
	lockFee  = 30.0 // for each radian over the lock
	spare    = 0.006
)

func (c *curve) size(n int) {
	if cap(c.p) < n {
		c.p, c.b, c.k = make([]geom.Vec, n), make([]float64, n), make([]float64, n)
		c.ds, c.w, c.fee = make([]float64, n), make([]tow, n), make([]float64, n)
	}
	c.p, c.b, c.k, c.ds, c.w, c.fee = c.p[:n], c.b[:n], c.k[:n], c.ds[:n], c.w[:n], c.fee[:n]
}

func (c *curve) copyFrom(o *curve) {
	c.size(len(o.p))
	copy(c.p, o.p)
	copy(c.b, o.b)
	copy(c.k, o.k)
	copy(c.ds, o.ds)
	copy(c.w, o.w)
	copy(c.fee, o.fee)
	c.start, c.end, c.cost, c.time, c.legal = o.start, o.end, o.cost, o.time, o.legal
}

// along lists points of the lattice's drive every step metres, with straight
// pieces before and after.
func along(path []lnode, step float64) []geom.Vec {
	var out []geom.Vec
	first, last := path[0], path[len(path)-1]
	for i := runOn; i > 0; i-- {
		out = append(out, first.p.Along(dir(first.b), -float64(i)*step))
	}
	total := last.s
	n := int(math.Round(total / step))
	j := 0
	for i := 0; i <= n; i++ {
		s := total * float64(i) / float64(n)
		for j+2 < len(path) && path[j+1].s < s {
			j++
		}
		p, _ := onArc(path[j].p, path[j].b, path[j+1].curve, s-path[j].s)
		out = append(out, p)
	}
	for i := 1; i <= runOn; i++ {
		out = append(out, last.p.Along(dir(last.b), float64(i)*step))
	}
	return out
}

// through makes the spline pass through its given points, by the usual
// repeated correction (the matrix 1/6·[1 4 1] is diagonally dominant).
func through(q []geom.Vec) []geom.Vec {
	p := append([]geom.Vec(nil), q...)
	for range 30 {
		for i := 1; i+1 < len(p); i++ {
			at := p[i-1].Add(p[i].Mul(4)).Add(p[i+1]).Mul(1.0 / 6)
			p[i] = p[i].Add(q[i].Sub(at))
		}
	}
	return p
}

// draw fills points from to to (of the whole spline) from the control points.
func (m *smoother) draw(c *curve, from, to int) {
	for i := from; i < to; i++ {
		j, u := i/perSpan, float64(i%perSpan)/perSpan
		if j+3 >= len(m.ctrl) { // the very last point
			j, u = j-1, 1
		}
		P := m.ctrl[j : j+4]
		v, u2, u3 := 1-u, u*u, u*u*u
		p := P[0].Mul(v * v * v / 6).Add(P[1].Mul((3*u3 - 6*u2 + 4) / 6)).Add(P[2].Mul((-3*u3 + 3*u2 + 3*u + 1) / 6)).Add(P[3].Mul(u3 / 6))
		d := P[0].Mul(-v * v / 2).Add(P[1].Mul((3*u2 - 4*u) / 2)).Add(P[2].Mul((-3*u2 + 2*u + 1) / 2)).Add(P[3].Mul(u2 / 2))
		a := P[0].Mul(v).Add(P[1].Mul(3*u - 2)).Add(P[2].Mul(1 - 3*u)).Add(P[3].Mul(u))
		l := d.Len()
		c.p[i], c.k[i] = p, -d.Cross(a)/(l*l*l)
		b := float64(d.Bearing())
		if i > 0 {
			b = c.b[i-1] + geom.Norm(b-c.b[i-1])
		}
		c.b[i] = b
	}
	for i := max(from, 1); i < min(to+1, len(c.p)); i++ {
		h := c.p[i].Dist(c.p[i-1])
		k := (c.k[i] + c.k[i-1]) / 2
		c.ds[i] = h * (1 + k*k*h*h/24) // the arc on a chord
	}
}

// judgeFrom tows and prices the points from index on; changed is the last one
// whose place has changed. It stops when the tow is back to what it was.
func (m *smoother) judgeFrom(c *curve, from, changed int) {
	for i := from; i < len(c.p); i++ {
		var w tow
		if i <= c.start {
			w = tow{c.b[i], c.b[i]}
		} else {
			// Curvature runs evenly over the step, near enough.
			bm := (c.b[i-1]+c.b[i])/2 + (c.k[i-1]-c.k[i])*c.ds[i]/8
			w = towStep(m.t, c.w[i-1], c.ds[i], c.b[i-1], bm, c.b[i])
		}
		if i > changed && math.Abs(w.shafts-c.w[i].shafts) < 1e-7 && math.Abs(w.body-c.w[i].body) < 1e-7 && i > c.start+1 {
			return
		}
		c.w[i] = w
		c.fee[i] = m.price(c, i)
	}
}

// price is what the point's broken rules cost.
func (m *smoother) price(c *curve, i int) float64 {
	if i < c.start || i > c.end+1 {
		return 0
	}
	t := m.t
	fee := 0.0
	least := t.Turning.Right
	if c.k[i] < 0 {
		least = t.Turning.Left
	}
	fee += bendFee * math.Max(0, math.Abs(c.k[i])*least-1)
	if i > 0 && c.ds[i] > 0 {
		rate := math.Abs(c.k[i]-c.k[i-1]) / c.ds[i] * math.Min(t.Turning.Left, t.Turning.Right) * SteerLength
		fee += steerFee * math.Max(0, rate-0.9)
	}
	fee += lockFee * math.Max(0, lock(t, c.b[i], c.w[i])-t.Vehicle.Lock)
	s := stance{lead: c.p[i], line: c.b[i], tow: c.w[i]}
	if t.HasLeaders() {
		s.front, s.frontOn = m.front(c, i)
	}
	want := t.Margin + spare
	m.near.parts = footprint(m.near.parts[:0], t, s)
	if short := m.near.short(m.near.parts, want+graze/2); short > 0 {
		short -= graze / 2
		for f := 0.25; f < 1 && i > c.start && short > -graze/2; f += 0.25 { // a post is passed within centimetres
			mid := stance{lead: c.p[i-1].Lerp(c.p[i], f), line: c.b[i-1] + (c.b[i]-c.b[i-1])*f,
				tow: tow{c.w[i-1].shafts + (c.w[i].shafts-c.w[i-1].shafts)*f, c.w[i-1].body + (c.w[i].body-c.w[i-1].body)*f}}
			if t.HasLeaders() {
				// The leaders' own points lie as close; half-way places matter for
				// the towed parts, which turn and swing.
				mid.front, mid.frontOn = s.front, s.frontOn
			}
			m.near.parts = footprint(m.near.parts[:0], t, mid)
			short = math.Max(short, m.near.short(m.near.parts, want))
		}
		fee += roomFee * math.Max(0, short)
	}
	return m.dear * fee * c.ds[i]
}

// front is the leaders' place for point i: Ahead metres on, straight on from
// the end of the line.
func (m *smoother) front(c *curve, i int) (geom.Vec, float64) {
	left := m.t.Ahead
	for j := i + 1; j <= c.end && j < len(c.p); j++ {
		if c.ds[j] >= left {
			u := left / c.ds[j]
			return c.p[j-1].Lerp(c.p[j], u), c.b[j-1] + (c.b[j]-c.b[j-1])*u
		}
		left -= c.ds[j]
	}
	e := min(max(c.end, i), len(c.p)-1)
	return c.p[e].Along(dir(c.b[e]), left), c.b[e]
}

// ends finds In and Out on the curve and whether the gates are driven in order.
func (m *smoother) ends(c *curve) bool {
	in, name := m.c.doorOf(0)
	out, outName := m.c.doorOf(len(m.c.steps) - 1)
	c.start, c.end = -1, -1
	for i := 1; i < len(c.p)/2; i++ {
		if _, ok := m.c.doors[in].cross(c.p[i-1], c.p[i]); ok && name.forward.Dot(dir(c.b[i])) > 0 {
			c.start = i
			break
		}
	}
	for i := len(c.p) - 1; i > len(c.p)/2; i-- {
		if _, ok := m.c.doors[out].cross(c.p[i-1], c.p[i]); ok && outName.forward.Dot(dir(c.b[i])) > 0 {
			c.end = i - 1
			break
		}
	}
	if c.start < 0 || c.end < 0 {
		return false
	}
	j := judge{c: m.c, due: 1}
	l := lattice{c: m.c}
	due := j.due
	for i := c.start + 1; i <= c.end; i++ {
		next, ok := l.step(c.p[i-1], c.p[i], due)
		if !ok {
			return false
		}
		due = next
	}
	return due == len(m.c.steps)-1
}

// sum prices the whole curve.
func (m *smoother) sum(c *curve) {
	n := c.end - c.start + 1
	if cap(m.spd) < n {
		m.spd = make([]float64, 2*n)
	}
	v := m.spd[:n]
	c.time = profile(m.t, c.k[c.start:c.end+1], c.ds[c.start:c.end+1], v)
	_, name := m.c.doorOf(0)
	slant := 0.0
	for _, b := range c.b[c.start-1 : c.start+1] { // In lies between the two
		slant = math.Max(slant, math.Abs(geom.Norm(b-float64(name.forward.Bearing())))-rad(startWithin-0.2))
	}
	c.cost = c.time + m.dear*40*slant
	for i := c.start; i <= c.end; i++ {
		c.cost += c.fee[i]
	}
}

// profile fills v with the quickest speeds along points of curvature k, ds[i]
// from point i−1, by one pass forward and one back, and returns the seconds.
func profile(t *turnout.Turnout, k, ds, v []float64) float64 {
	for i := range v {
		v[i] = speedOn(t, k[i])
		if i > 0 {
			v[i] = math.Min(v[i], math.Sqrt(v[i-1]*v[i-1]+2*t.Pace.Gain*ds[i]))
		}
	}
	sum := 0.0
	for i := len(v) - 2; i >= 0; i-- {
		v[i] = math.Min(v[i], math.Sqrt(v[i+1]*v[i+1]+2*t.Pace.Loss*ds[i+1]))
		sum += 2 * ds[i+1] / (v[i] + v[i+1])
	}
	return sum
}

// whole draws, tows and prices everything anew.
func (m *smoother) whole(c *curve) bool {
	n := (len(m.ctrl)-3)*perSpan + 1
	c.size(n)
	m.draw(c, 0, n)
	c.legal = m.ends(c)
	if !c.legal {
		return false
	}
	m.judgeFrom(c, 0, n)
	m.sum(c)
	return true
}

// bump pushes the control points about j sideways by d, least at width away.
func (m *smoother) bump(j, width int, d float64) (lo, hi int) {
	lo, hi = max(0, j-width+1), min(len(m.ctrl)-1, j+width-1)
	a, b := m.ctrl[max(0, j-1)], m.ctrl[min(len(m.ctrl)-1, j+1)]
	side := b.Sub(a).Unit().Right()
	for i := lo; i <= hi; i++ {
		f := math.Cos(math.Pi / 2 * float64(i-j) / float64(width))
		m.ctrl[i] = m.ctrl[i].Along(side, d*f*f)
	}
	return lo, hi
}

// relax improves the curve until ctx ends, rounds run out or nothing helps.
func (m *smoother) relax(ctx context.Context, rounds int) {
	widths := []int{1, 2, 3, 5, 8, 13}
	size := make([][]float64, len(widths))
	for i := range size {
		size[i] = make([]float64, len(m.ctrl))
		for j := range size[i] {
			size[i][j] = 0.08
		}
	}
	saved := make([]geom.Vec, len(m.ctrl))
	for range rounds {
		before := m.now.cost
		for wi := len(widths) - 1; wi >= 0; wi-- {
			width := widths[wi]
			for j := 2; j < len(m.ctrl)-2; j += max(1, width/2) {
				if ctx.Err() != nil {
					return
				}
				d := size[wi][j]
				if math.Abs(d) < 4e-4 {
					size[wi][j] = 8e-4 // asleep for this round
					continue
				}
				copy(saved, m.ctrl)
				ok := m.attempt(j, width, d)
				if !ok {
					copy(m.ctrl, saved)
					ok = m.attempt(j, width, -d)
					d = -d
				}
				if ok {
					m.now, m.try = m.try, m.now
					size[wi][j] = math.Max(-0.5, math.Min(0.5, d*1.6))
				} else {
					copy(m.ctrl, saved)
					size[wi][j] = d * 0.4
				}
			}
		}
		if before-m.now.cost < 2e-4*m.now.time {
			return
		}
	}
}

// attempt bumps and keeps the result in try; it reports an improvement.
func (m *smoother) attempt(j, width int, d float64) bool {
	lo, hi := m.bump(j, width, d)
	c := &m.try
	c.copyFrom(&m.now)
	n := len(c.p)
	from, to := max(0, (lo-3)*perSpan), min(n, (hi+1)*perSpan+1)
	m.draw(c, from, to)
	// The bearing is unwrapped from its forerunner: beyond the bump it may
	// only differ by whole turns.
	if to < n {
		if turn := math.Round((c.b[to-1] + geom.Norm(c.b[to]-c.b[to-1]) - c.b[to]) / (2 * math.Pi)); turn != 0 {
			return false // it has curled up
		}
	}
	if m.byDoor(c, from, to) || m.byDoor(&m.now, from, to) {
		if !m.ends(c) {
			return false
		}
	}
	back := from
	if m.t.HasLeaders() { // the wheel horses stand further back than the change
		for left := m.t.Ahead; left > 0 && back > 0; back-- {
			left -= c.ds[back]
		}
	}
	if c.start != m.now.start || c.end != m.now.end {
		back = min(back, c.start, m.now.start)
		to = max(to, c.end+2, m.now.end+2)
	}
	m.judgeFrom(c, back, min(to, n))
	// The bump cannot save more time than its own metres take; what breaks
	// more rules than that is not worth a new profile.
	var dearer, most float64
	for i := c.start; i <= c.end; i++ {
		dearer += c.fee[i] - m.now.fee[i]
	}
	for i := from; i < to; i++ {
		most += m.now.ds[i] / speedOn(m.t, math.Abs(1/m.t.Turning.Left))
	}
	if c.start == m.now.start && c.end == m.now.end && dearer > most {
		return false
	}
	m.sum(c)
	return c.cost < m.now.cost-1e-7
}

// byDoor reports whether any of the points may drive a door's line.
func (m *smoother) byDoor(c *curve, from, to int) bool {
	b := geom.EmptyBox()
	for i := max(0, from-1); i < min(len(c.p), to+1); i++ {
		b = b.Add(c.p[i])
	}
	for i := range m.c.doors {
		l := m.c.doors[i].line
		x := geom.EmptyBox().Add(l.A).Add(l.B)
		if x.Min.X <= b.Max.X && x.Max.X >= b.Min.X && x.Min.Y <= b.Max.Y && x.Max.Y >= b.Min.Y {
			return true
		}
	}
	return false
}

// respace sets the control points evenly along the curve again.
func (m *smoother) respace() bool {
	c := &m.now
	total := 0.0
	for i := 1; i < len(c.p); i++ {
		total += c.ds[i]
	}
	n := int(math.Round(total / ctrlStep))
	q := []geom.Vec{}
	s, j := 0.0, 1
	for i := 0; i <= n; i++ {
		want := total * float64(i) / float64(n)
		for j < len(c.p)-1 && s+c.ds[j] < want {
			s += c.ds[j]
			j++
		}
		q = append(q, c.p[j-1].Lerp(c.p[j], math.Min(1, (want-s)/c.ds[j])))
	}
	// One more at each end, straight on, for the spline to begin on the first.
	q = append([]geom.Vec{q[0].Mul(2).Sub(q[1])}, q...)
	q = append(q, q[len(q)-1].Mul(2).Sub(q[len(q)-2]))
	old := m.ctrl
	m.ctrl = through(q)
	if !m.whole(&m.try) {
		m.ctrl = old
		return false
	}
	m.now, m.try = m.try, m.now
	return true
}

// smooth draws a drive along the lattice's path, or says that it could not
// even begin.
func smooth(ctx context.Context, near *lattice, path []lnode) (*smoother, bool) {
	m := &smoother{t: near.t, c: near.c, y: near.y, near: near, dear: 1}
	m.ctrl = through(along(path, ctrlStep))
	if !m.whole(&m.now) {
		return m, false
	}
	for round := range 4 {
		m.relax(ctx, 12)
		if ctx.Err() != nil || round == 3 || !m.respace() {
			break
		}
	}
	// What is still broken costs ever more.
	for range 2 {
		if m.now.cost-m.now.time < 1e-3*m.dear {
			break
		}
		m.dear *= 5
		if !m.whole(&m.now) {
			break
		}
		m.relax(ctx, 12)
	}
	return m, true
}

// route writes the curve as a route, cut off on the In and Out lines.
func (m *smoother) route(p *plan.Plan, h *plan.Hazard) *hazard.Route {
	c := &m.now
	in, _ := m.c.doorOf(0)
	out, _ := m.c.doorOf(len(m.c.steps) - 1)
	type pt struct {
		p    geom.Vec
		b, k float64
	}
	var pts []pt
	cut := func(i, door int) pt {
		f, _ := m.c.doors[door].cross(c.p[i-1], c.p[i])
		// On the Hermite piece, found by a few secant steps.
		a, b := c.p[i-1], c.p[i]
		da, db := dir(c.b[i-1]).Mul(c.ds[i]), dir(c.b[i]).Mul(c.ds[i])
		pos := func(u float64) geom.Vec {
			u2, u3 := u*u, u*u*u
			return a.Mul(2*u3 - 3*u2 + 1).Add(da.Mul(u3 - 2*u2 + u)).Add(b.Mul(3*u2 - 2*u3)).Add(db.Mul(u3 - u2))
		}
		n := m.c.doors[door].line.B.Sub(m.c.doors[door].line.A).Unit()
		off := func(u float64) float64 { return n.Cross(pos(u).Sub(m.c.doors[door].line.A)) }
		rise := off(1) - off(0)
		for range 20 {
			f -= off(f) / rise
		}
		k := c.k[i-1] + (c.k[i]-c.k[i-1])*f
		return pt{pos(f), c.b[i-1] + c.ds[i]*(c.k[i-1]*f+(c.k[i]-c.k[i-1])*f*f/2), k}
	}
	pts = append(pts, cut(c.start, in))
	for i := c.start; i <= c.end; i++ {
		if q := (pt{c.p[i], c.b[i], c.k[i]}); q.p.Dist(pts[len(pts)-1].p) > 0.01 {
			pts = append(pts, q)
		}
	}
	e := cut(c.end+1, out)
	if len(pts) > 1 && pts[len(pts)-1].p.Dist(e.p) < 0.01 {
		pts = pts[:len(pts)-1]
	}
	pts = append(pts, e)
	n := len(pts)
	k, ds, v := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range pts {
		k[i] = pts[i].k
		if i > 0 {
			d := pts[i].p.Dist(pts[i-1].p)
			x := pts[i].b - pts[i-1].b
			ds[i] = d * (1 + x*x/24)
		}
	}
	r := &hazard.Route{Rank: 1, Way: "oracle"}
	profile(m.t, k, ds, v)
	s, t := 0.0, 0.0
	for i := range pts {
		if i > 0 {
			s += ds[i]
			t += 2 * ds[i] / (v[i] + v[i-1])
		}
		r.Samples = append(r.Samples, hazard.Sample{SM: s, TS: t, Lead: hazard.Point{pts[i].p.X, pts[i].p.Y},
			BearingDeg: geom.Bearing(pts[i].b).Deg(), SpeedMps: v[i], CurvaturePerM: k[i]})
	}
	r.LengthM, r.TimeS = s, t
	dress(p, h, m.t, m.c, r)
	return r
}

// dress fills in what follows from the line and the speeds of a route: axles,
// leaders, turns, passages and clearance, by the check's own means.
func dress(p *plan.Plan, h *plan.Hazard, t *turnout.Turnout, c *course, r *hazard.Route) {
	pts, at := trace(t, r.Samples)
	for i := range r.Samples {
		x, q := &r.Samples[i], pts[at[i]]
		x.Axles, x.AxleBearingsDeg = nil, nil
		for k, a := range axles(t, q.p, q.w) {
			x.Axles = append(x.Axles, hazard.Point{a.X, a.Y})
			x.AxleBearingsDeg = append(x.AxleBearingsDeg, geom.Bearing([]float64{q.w.shafts, q.w.body}[k]).Deg())
		}
		if t.HasLeaders() {
			x.Leaders = &hazard.Leaders{}
		}
	}
	front := leaders(newFaults(), t, r, pts, at)
	for i := range r.Samples {
		if front != nil {
			f := front[at[i]]
			r.Samples[i].Leaders = &hazard.Leaders{At: hazard.Point{f.front.X, f.front.Y}, BearingDeg: geom.Bearing(f.frontOn).Deg()}
		}
	}
	var side float64
	for i, q := range pts {
		r.LargestLockDeg = math.Max(r.LargestLockDeg, deg(lock(t, q.b, q.w)))
		if i > 0 {
			if d := deg(q.b - pts[i-1].b); d > 0 {
				r.TurnedRightDeg += d
			} else {
				r.TurnedLeftDeg -= d
			}
		}
	}
	for _, x := range r.Samples {
		k := x.CurvaturePerM
		side = math.Max(side, x.SpeedMps*x.SpeedMps*math.Abs(k))
		to := &r.LeastRadiusRightM
		if k < 0 {
			to, k = &r.LeastRadiusLeftM, -k
		}
		if R := 1 / k; k > 0 && (*to == nil || R < **to) {
			*to = &R
		}
	}
	if t.Vehicle.CGHeight > 0 {
		x := 1 - side*2*t.Vehicle.CGHeight/(9.80665*t.Vehicle.Track)
		r.OverturnMargin = &x
	}
	j := judge{c: c}
	for _, x := range c.passages(pts) {
		q := j.drive(x.door, x.along)
		r.Passes = append(r.Passes, hazard.Pass{Gate: q.names[0].letter, Was: q.was, Forward: q.names[0].forward.Dot(x.along) > 0, SM: x.s, TS: x.t})
	}
	w := &sweep{t: t, y: newYard(p, h), pts: pts, front: front}
	n, i := w.least()
	r.ClearanceM = n.d
	if n.ob >= 0 {
		r.Tight = []hazard.Tight{{Thing: w.y.obs[n.ob].ID, Part: w.pose(i)[n.part].name, At: hazard.Point{n.on.X, n.on.Y}, SM: pts[i].s, ClearanceM: n.d}}
	}
}
