package hazardtest

import (
	"container/heap"
	"context"
	"math"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// The lattice: what is searched, in which grain. Coarser misses narrow ways,
// finer takes longer; all are this oracle's own choice.
const (
	cell      = 0.5  // m, of place
	headings  = 48   // of the line
	arcLen    = 1.0  // m, of one step of the search
	subLen    = 0.2  // m, of one body check within it
	changeFee = 0.03 // s, for a change of curvature: keeps lines calm, no more
	graze     = 0.05 // m, more room than this at both ends of a check is room between
	maxNodes  = 2_500_000
	weight    = 1.1 // of the estimate of what is still to do
)

// lattice is one search: the foremost point of the line is what moves. For a
// tandem or a four that is the leaders' lead point, and the wheel horses and
// the vehicle stand on the line that is already driven, Ahead metres back; so
// the leaders run the same line, exactly. Without leaders the two are one.
type lattice struct {
	t      *turnout.Turnout
	c      *course
	y      *yard
	margin float64
	curves []float64 // curvatures of the arcs
	bins   int       // of the tow's angle told apart at one place and heading
	weight float64   // of the estimate of what is still to do

	min    geom.Vec
	nx, ny int
	close_ [][]int32 // faces near each metre of ground
	mx, my int
	togo   [][]float64 // by step due: seconds from each cell at least

	nodes []lnode
	best  map[int64]float64
	open  lheap
	parts []part
}

// lnode is a place of the search.
type lnode struct {
	p      geom.Vec
	b      float64
	s      float64 // length of line so far
	g      float64 // s, time so far
	w      tow     // of the vehicle, Ahead metres back
	parent int32
	curve  float64 // of the arc that led here
	due    int8
	length float64 // of that arc: the last one ends on Out
}

type lopen struct {
	f float64
	i int32
}
type lheap []lopen

func (h lheap) Len() int           { return len(h) }
func (h lheap) Less(i, j int) bool { return h[i].f < h[j].f }
func (h lheap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *lheap) Push(x any)        { *h = append(*h, x.(lopen)) }
func (h *lheap) Pop() any {
	o := *h
	x := o[len(o)-1]
	*h = o[:len(o)-1]
	return x
}

// newLattice prepares a search. slack makes it harder than the rules by that
// share of the radius, and by half a metre times it of clearance, so that a
// smooth line can be drawn through what it finds.
func newLattice(y *yard, c *course, p *plan.Plan, t *turnout.Turnout, slack float64, bins int) *lattice {
	l := &lattice{t: t, c: c, y: y, margin: t.Margin + slack/2, bins: bins, weight: weight, best: map[int64]float64{}}
	r, q := 1/(t.Turning.Right*(1+slack)), 1/(t.Turning.Left*(1+slack))
	l.curves = []float64{0, r / 2, -q / 2, r, -q}
	box := geom.EmptyBox()
	for _, v := range p.Ground.Outline {
		box = box.Add(v)
	}
	l.min = box.Min
	l.nx, l.ny = int((box.Max.X-box.Min.X)/cell)+1, int((box.Max.Y-box.Min.Y)/cell)+1
	l.mx, l.my = int(box.Max.X-box.Min.X)+1, int(box.Max.Y-box.Min.Y)+1
	l.close_ = make([][]int32, l.mx*l.my)
	// No part is longer than this from its middle, and no face further off matters.
	reach := l.margin + graze + 0.05 + math.Max(math.Max(t.Vehicle.Shafts, t.Vehicle.Wheelbase), t.Horse.Nose+t.Horse.Rump)/2 + t.Horse.Width + t.Vehicle.Body
	for i := range l.close_ {
		m := l.min.Add(geom.Vec{X: float64(i%l.mx) + 0.5, Y: float64(i/l.mx) + 0.5})
		for k := range y.faces {
			if y.faces[k].seg.Dist(m)-y.faces[k].r < reach+math.Sqrt2/2 {
				l.close_[i] = append(l.close_[i], int32(k))
			}
		}
	}
	l.estimate()
	return l
}

func (l *lattice) cellOf(p geom.Vec) int {
	x, y := int((p.X-l.min.X)/cell), int((p.Y-l.min.Y)/cell)
	if x < 0 || y < 0 || x >= l.nx || y >= l.ny {
		return -1
	}
	return y*l.nx + x
}

// free reports whether the footprint keeps the margin everywhere.
func (l *lattice) free(s stance) bool {
	l.parts = footprint(l.parts[:0], l.t, s)
	return l.short(l.parts, l.margin) <= 0
}

// short is by how much the parts miss the distance want, 0 when they keep it.
// Something outside the outline or in an area misses it by at least want.
func (l *lattice) short(parts []part, want float64) float64 {
	worst := 0.0
	for i := range parts {
		q := &parts[i]
		m := q.seg.A.Mid(q.seg.B)
		x, y := int(m.X-l.min.X), int(m.Y-l.min.Y)
		if m.X < l.min.X || m.Y < l.min.Y || x >= l.mx || y >= l.my {
			return math.Max(worst, want+1)
		}
		for _, k := range l.close_[y*l.mx+x] {
			f := &l.y.faces[k]
			d, _, _ := geom.SegDist(q.seg, f.seg)
			worst = math.Max(worst, want-(d-q.r-f.r))
		}
	}
	for i := range l.y.obs {
		o := &l.y.obs[i]
		if !o.Fence && !o.Area {
			continue
		}
		// One point of each part is enough: a part that is half over the side
		// crosses it, and was seen above.
		for k := range parts {
			if geom.Polygon(o.Path).Contains(parts[k].seg.A) != o.Fence {
				worst = math.Max(worst, want+0.5+geom.Polygon(o.Path).EdgeDist(parts[k].seg.A))
			}
		}
	}
	return worst
}

// estimate fills togo: for each step due, the least seconds from each cell to
// Out for a point with the width of the horses at the pace's cap, on a grid of
// 16 directions (up to 2.7 % longer than the straight way, so the estimate is
// not quite a lower bound).
func (l *lattice) estimate() {
	half := l.t.Horse.Width / 2
	if l.t.Abreast() {
		half += l.t.Horse.Apart / 2
	}
	n := l.nx * l.ny
	blocked := make([]bool, n)
	mid := func(i int) geom.Vec {
		return l.min.Add(geom.Vec{X: (float64(i%l.nx) + 0.5) * cell, Y: (float64(i/l.nx) + 0.5) * cell})
	}
	for i := range blocked {
		for k := range l.y.obs {
			// A quarter cell less: the line may pass between cells' middles.
			if l.y.obs[k].Dist(mid(i)) < half-cell/4 {
				blocked[i] = true
			}
		}
	}
	var moves []struct {
		dx, dy int
		d      float64
	}
	for dx := -2; dx <= 2; dx++ {
		for dy := -2; dy <= 2; dy++ {
			a, b := dx*dx, dy*dy
			if (a == 4 && b != 1) || (b == 4 && a != 1) || a+b == 0 {
				continue
			}
			moves = append(moves, struct {
				dx, dy int
				d      float64
			}{dx, dy, math.Hypot(float64(dx), float64(dy)) * cell})
		}
	}
	steps := len(l.c.steps)
	l.togo = make([][]float64, steps+1)
	l.togo[steps] = make([]float64, n)
	for due := steps - 1; due >= 1; due-- {
		d := make([]float64, n)
		for i := range d {
			d[i] = math.Inf(1)
		}
		var h lheap
		for round := 0; round < 2; round++ {
			// First seed with the cells from which one move drives the step that
			// is due, then spread over moves that drive nothing.
			relax := func(from int, base float64) {
				x, y := from%l.nx, from/l.nx
				for _, m := range moves {
					u, w := x+m.dx, y+m.dy
					if u < 0 || w < 0 || u >= l.nx || w >= l.ny {
						continue
					}
					to := w*l.nx + u
					if blocked[to] {
						continue
					}
					// The drive goes to → from.
					next, ok := l.step(mid(to), mid(from), due)
					want := due
					if round == 0 {
						want = due + 1
					}
					if !ok || next != want {
						continue
					}
					if c := base + m.d/l.t.Pace.Speed; c < d[to] {
						d[to] = c
						heap.Push(&h, lopen{c, int32(to)})
					}
				}
			}
			if round == 0 {
				for i := 0; i < n; i++ {
					if !blocked[i] && !math.IsInf(l.togo[due+1][i], 1) && l.nearDoor(due, mid(i)) {
						base := l.togo[due+1][i]
						relax(i, base)
					}
				}
				continue
			}
			for len(h) > 0 {
				x := heap.Pop(&h).(lopen)
				if x.f > d[x.i] {
					continue
				}
				relax(int(x.i), x.f)
			}
		}
		l.togo[due] = d
	}
}

func (l *lattice) nearDoor(due int, p geom.Vec) bool {
	i, _ := l.c.doorOf(due)
	return l.c.doors[i].offLine(p) < 3*cell
}

// step drives the point from a to b: the step due afterwards, and whether that
// was allowed.
func (l *lattice) step(a, b geom.Vec, due int) (int, bool) {
	type hit struct {
		at   float64
		door int
	}
	var hits [8]hit
	n := 0
	for k := range l.c.doors {
		if u, ok := l.c.doors[k].cross(a, b); ok && n < len(hits) {
			hits[n] = hit{u, k}
			n++
		}
	}
	for i := 1; i < n; i++ {
		for k := i; k > 0 && hits[k].at < hits[k-1].at; k-- {
			hits[k], hits[k-1] = hits[k-1], hits[k]
		}
	}
	j := judge{c: l.c, due: due}
	for _, h := range hits[:n] {
		if j.drive(h.door, b.Sub(a)).illegal != "" {
			return j.due, false
		}
	}
	return j.due, true
}

// onArc is the place and bearing u metres along the arc that leaves p on b.
func onArc(p geom.Vec, b, k, u float64) (geom.Vec, float64) {
	if k == 0 {
		return p.Along(dir(b), u), b
	}
	// The chord of the arc lies half its turn to the side.
	half := k * u / 2
	return p.Along(dir(b+half), 2*math.Sin(half)/k), b + k*u
}

// speedOn is the speed that the side force allows on a curvature.
func speedOn(t *turnout.Turnout, k float64) float64 {
	lat := t.Pace.Lateral.Right
	if k < 0 {
		lat, k = t.Pace.Lateral.Left, -k
	}
	if k == 0 {
		return t.Pace.Speed
	}
	return math.Min(t.Pace.Speed, math.Sqrt(lat/k))
}

// back finds the place on the line m metres behind the place u metres along
// the arc of curvature k that leaves node i. ok is false before the start.
func (l *lattice) back(i int32, k, u, m float64) (p geom.Vec, b float64, ok bool) {
	if m <= u {
		n := &l.nodes[i]
		p, b = onArc(n.p, n.b, k, u-m)
		return p, b, true
	}
	m -= u
	for {
		n := &l.nodes[i]
		if n.parent < 0 {
			return n.p, n.b, m < 1e-9
		}
		if L := n.length; m <= L {
			q := &l.nodes[n.parent]
			p, b = onArc(q.p, q.b, n.curve, L-m)
			return p, b, true
		}
		m -= float64(n.length)
		i = n.parent
	}
}

// run moves the tip on from node i along an arc, checking the turnout and the
// gates. It returns the new node; end reports that Out has been driven.
func (l *lattice) run(i int32, k float64) (out lnode, end, ok bool) {
	from := l.nodes[i]
	ahead := l.t.Ahead
	w, due := from.w, int(from.due)
	p, _ := from.p, from.b
	n := int(math.Round(arcLen / subLen))
	u := 0.0
	for s := 1; s <= n; s++ {
		u1 := float64(s) * subLen
		q, _ := onArc(from.p, from.b, k, u1)
		next, legal := l.step(p, q, due)
		if !legal {
			return out, false, false
		}
		if next == len(l.c.steps) { // Out: the line ends where it is driven
			door, _ := l.c.doorOf(due)
			f, _ := l.c.doors[door].cross(p, q)
			u1 = u + f*(u1-u)
			end = true
		}
		if w, ok = l.body(i, k, u, u1, w); !ok {
			return out, false, false
		}
		p, u, due = q, u1, next
		if end {
			break
		}
	}
	out = lnode{s: from.s + u, g: from.g + u/speedOn(l.t, k), w: w, parent: i, curve: k, due: int8(due), length: u}
	out.p, out.b = onArc(from.p, from.b, k, out.length)
	if k != from.curve {
		out.g += changeFee
	}
	if out.b > math.Pi {
		out.b -= 2 * math.Pi
		out.w.shafts -= 2 * math.Pi
		out.w.body -= 2 * math.Pi
	} else if out.b <= -math.Pi {
		out.b += 2 * math.Pi
		out.w.shafts += 2 * math.Pi
		out.w.body += 2 * math.Pi
	}
	if end && ahead > 0 { // the leaders go straight on until the wheel horses are out
		l.nodes = append(l.nodes, out)
		j := int32(len(l.nodes) - 1)
		w = out.w
		for u := 0.0; u < ahead && ok; u += subLen {
			w, ok = l.body(j, 0, u, math.Min(ahead, u+subLen), w)
		}
		l.nodes = l.nodes[:j]
		if !ok {
			return out, false, false
		}
	}
	return out, end, true
}

// body tows the vehicle while the tip goes from u0 to u1 along the arc k that
// leaves node i, and looks whether it is free at the end.
func (l *lattice) body(i int32, k, u0, u1 float64, w tow) (tow, bool) {
	ahead := l.t.Ahead
	p, b1, on := l.back(i, k, u1, ahead)
	if !on {
		return w, true // the wheel horses have not reached In yet
	}
	_, b0, started := l.back(i, k, u0, ahead)
	_, bm, _ := l.back(i, k, (u0+u1)/2, ahead)
	h := u1 - u0
	if !started { // the first piece after In is shorter than the step
		h = l.nodes[i].s + u1 - ahead
		w = tow{b0, b0}
	}
	bm = b0 + geom.Norm(bm-b0)
	b1 = bm + geom.Norm(b1-bm)
	turn := b0 - geom.Norm(b0-w.shafts) - w.shafts // whole turns between the two
	w.shafts += turn
	w.body += turn
	was := w
	w = towStep(l.t, w, h, b0, bm, b1)
	if lock(l.t, b1, w) > l.t.Vehicle.Lock {
		return w, false
	}
	tip, tipOn := onArc(l.nodes[i].p, l.nodes[i].b, k, u1)
	l.parts = footprint(l.parts[:0], l.t, stance{lead: p, line: b1, tow: w, front: tip, frontOn: tipOn})
	switch short := l.short(l.parts, l.margin+graze); {
	case short <= 0:
		return w, true
	case short > graze:
		return w, false
	}
	// Something is near: the end of a hub passes a post within a few
	// centimetres of line, so look between as well.
	for f := 0.25; f < 1; f += 0.25 {
		q, bq, on := l.back(i, k, u0+(u1-u0)*f, ahead)
		if !on {
			continue
		}
		tip, tipOn := onArc(l.nodes[i].p, l.nodes[i].b, k, u0+(u1-u0)*f)
		mid := tow{was.shafts + (w.shafts-was.shafts)*f, was.body + (w.body-was.body)*f}
		if !l.free(stance{lead: q, line: bq, tow: mid, front: tip, frontOn: tipOn}) {
			return w, false
		}
	}
	return w, true
}

// key is the state that two nodes share when only the quicker is kept.
func (l *lattice) key(n *lnode) int64 {
	c := l.cellOf(n.p)
	if c < 0 {
		return -1
	}
	b := int(math.Floor(n.b/(2*math.Pi)*headings+0.5)+2*headings) % headings
	k := (int64(c)*headings+int64(b))*32 + int64(n.due)
	if l.bins > 1 {
		q := int(math.Floor(geom.Norm(n.b-n.w.shafts)/rad(100)*float64(l.bins) + float64(l.bins)/2))
		k = k*int64(l.bins) + int64(max(0, min(l.bins-1, q)))
	}
	return k
}

// search returns the nodes from In to Out, or nil.
func (l *lattice) search(ctx context.Context) []lnode {
	push := func(n lnode) {
		c := l.cellOf(n.p)
		if c < 0 || math.IsInf(l.togo[n.due][c], 1) {
			// The cell's middle may be blocked where the place is not.
			if c < 0 || !l.nearOpen(int(n.due), c) {
				return
			}
		}
		key := l.key(&n)
		if g, ok := l.best[key]; ok && g <= n.g+1e-9 {
			return
		}
		l.best[key] = n.g
		l.nodes = append(l.nodes, n)
		heap.Push(&l.open, lopen{n.g + l.weight*l.guess(int(n.due), n.p), int32(len(l.nodes) - 1)})
	}
	door, in := l.c.doorOf(0)
	line := l.c.doors[door].line
	square := float64(in.forward.Bearing())
	for n, i := int(line.Len()/0.4)+1, 0; i <= n; i++ {
		for _, a := range []float64{0, 9, -9, 18, -18, 27, -27} {
			b := square + rad(a)
			p := line.At(float64(i) / float64(n))
			s := stance{lead: p, line: b, tow: tow{b, b}, front: p.Along(dir(b), l.t.Ahead), frontOn: b}
			if l.t.Ahead == 0 && !l.free(s) {
				continue
			}
			// A hair over the line, so that In is not driven again.
			push(lnode{p: p.Along(in.forward, 1e-6), b: geom.Norm(b), w: tow{geom.Norm(b), geom.Norm(b)}, parent: -1, due: 1})
		}
	}
	goal, goalG := int32(-1), math.Inf(1)
	for k := 0; len(l.open) > 0; k++ {
		if k%1024 == 0 && ctx.Err() != nil {
			break
		}
		x := heap.Pop(&l.open).(lopen)
		if x.f >= goalG || len(l.nodes) > maxNodes {
			break
		}
		n := l.nodes[x.i]
		if key := l.key(&n); l.best[key] < n.g-1e-9 {
			continue
		}
		for _, c := range l.curves {
			m, end, ok := l.run(x.i, c)
			switch {
			case !ok:
			case end:
				if m.g < goalG {
					l.nodes = append(l.nodes, m)
					goal, goalG = int32(len(l.nodes)-1), m.g
				}
			default:
				push(m)
			}
		}
	}
	if goal < 0 {
		return nil
	}
	var path []lnode
	for i := goal; i >= 0; i = l.nodes[i].parent {
		path = append(path, l.nodes[i])
	}
	for i, j := 0, len(path)-1; i < j; i, j = i+1, j-1 {
		path[i], path[j] = path[j], path[i]
	}
	return path
}

// guess is the estimate at a place, from the best of the cells about it.
func (l *lattice) guess(due int, p geom.Vec) float64 {
	c := l.cellOf(p)
	if d := l.togo[due][c]; !math.IsInf(d, 1) {
		return d
	}
	best := math.Inf(1)
	l.about(c, func(i int) { best = math.Min(best, l.togo[due][i]) })
	return best
}

func (l *lattice) nearOpen(due, c int) bool {
	open := false
	l.about(c, func(i int) { open = open || !math.IsInf(l.togo[due][i], 1) })
	return open
}

func (l *lattice) about(c int, see func(int)) {
	x, y := c%l.nx, c/l.nx
	for dx := -1; dx <= 1; dx++ {
		for dy := -1; dy <= 1; dy++ {
			if u, w := x+dx, y+dy; u >= 0 && w >= 0 && u < l.nx && w < l.ny {
				see(w*l.nx + u)
			}
		}
	}
}
