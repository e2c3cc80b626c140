// Package taut pulls strings tight round posts: it finds the k shortest taut
// strings between two points among discs and walls.
//
// On the tangent graph (straight tangents of the discs, arcs round them) every
// taut string is exactly one class of ways round: one cannot be slid into
// another without lifting it over a post. So k shortest taut strings are the k
// shortest classes. Source: Eriksson-Bique, Hershberger, Polishchuk, Speckmann,
// Suri, Talvitie, Verbeek, Yıldız, "Geometric k shortest paths", SODA 2015,
// carried from the visibility graph of points to the tangent graph of discs.
//
// The graph is built once; each search may close some of the marked lines.
package taut

import (
	"math"
	"slices"

	"terret/internal/geom"
)

// Disc is a post grown by what must pass it.
type Disc struct {
	At geom.Vec
	R  float64
}

// Wall is a straight side grown to R on both sides; a string may run along it
// but not cross it. Its ends are Discs where a string can go round them.
type Wall struct {
	Seg geom.Seg
	R   float64
}

// touch is how near a string may come to a third disc and still count as
// touching it, m: touching blocks, for the chain by way of the touched disc
// gives the same class once. Far above rounding (1e-13 at 100 m), far below
// what a tape can read.
const touch = 1e-7

// Graph is the tangent graph of one scene. Points are terminals: strings start
// and end there.
type Graph struct {
	discs []Disc
	walls []Wall
	lines []geom.Seg
	nodes []node
	first []int32 // per terminal: its departure nodes are first[t] … first[t+1]−1 of out
	out   []int32
	in    [][]int32 // per terminal: arrival nodes
	n     int       // discs proper; terminals follow
	rev   [][]int32 // arcs and tangents backwards, by node
}

// node is a tangent point on a disc, going round it one way.
type node struct {
	disc    int32
	ccw     bool
	depart  bool
	angle   float64 // of the tangent point from the centre, in the sense of travel
	at      geom.Vec
	next    int32   // next node round the disc, −1 when the arc is blocked
	arc     float64 // rad to next
	arcLen  float64
	arcMask uint64
	to      int32 // the other end of the tangent, for departures
	length  float64
	mask    uint64
}

// New builds the graph. Lines are marked: a search may close any of the first
// 64.
func New(discs []Disc, walls []Wall, lines []geom.Seg, terminals []geom.Vec) *Graph {
	g := &Graph{walls: walls, lines: lines}
	g.discs = dedupe(discs)
	g.n = len(g.discs)
	for _, t := range terminals {
		g.discs = append(g.discs, Disc{At: t})
	}
	g.tangents()
	g.rings()
	return g
}

// dedupe drops discs that lie wholly in another.
func dedupe(discs []Disc) []Disc {
	var out []Disc
next:
	for i, d := range discs {
		for j, e := range discs {
			if i == j {
				continue
			}
			dist := d.At.Dist(e.At)
			if dist+d.R < e.R-touch || (math.Abs(dist+d.R-e.R) <= touch && j < i) {
				continue next
			}
		}
		out = append(out, d)
	}
	return out
}

func (g *Graph) tangents() {
	n := len(g.discs)
	g.nodes = make([]node, 0, 2*n*n) // about a third of the tangents are free
	last := -1                       // the last blocker is the likeliest
	lastWall := -1
	clear := func(a, b geom.Vec, i, j int) bool {
		ab := b.Sub(a)
		l2 := ab.Len2()
		near := func(k int) bool {
			d := &g.discs[k]
			ac := d.At.Sub(a)
			t := ac.Dot(ab)
			var e2 float64
			switch {
			case t <= 0:
				e2 = ac.Len2()
			case t >= l2:
				e2 = d.At.Sub(b).Len2()
			default:
				c := ac.Cross(ab)
				e2 = c * c / l2
			}
			r := d.R + touch
			return e2 < r*r
		}
		if last >= 0 && last != i && last != j && near(last) {
			return false
		}
		s := geom.Seg{A: a, B: b}
		hit := func(w *Wall) bool {
			// Quick no: far from the wall's line on one side.
			u := w.Seg.B.Sub(w.Seg.A)
			x, y := u.Cross(a.Sub(w.Seg.A)), u.Cross(b.Sub(w.Seg.A))
			lim := (w.R - touch) * u.Len()
			if (x >= lim && y >= lim) || (x <= -lim && y <= -lim) {
				return false
			}
			d, _, _ := geom.SegDist(s, w.Seg)
			return d < w.R-touch
		}
		if lastWall >= 0 && hit(&g.walls[lastWall]) {
			return false
		}
		for k := 0; k < g.n; k++ {
			if k != i && k != j && near(k) {
				last = k
				return false
			}
		}
		for k := range g.walls {
			if hit(&g.walls[k]) {
				lastWall = k
				return false
			}
		}
		return true
	}
	for i := 0; i < n; i++ {
		for j := i + 1; j < n; j++ {
			a, b := &g.discs[i], &g.discs[j]
			dv := b.At.Sub(a.At)
			d := dv.Len()
			if d < 1e-9 {
				continue
			}
			w := dv.Mul(1 / d)
			for _, o := range [4][2]float64{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
				oi, oj := o[0], o[1]
				if (a.R == 0 && oi < 0) || (b.R == 0 && oj < 0) {
					continue
				}
				sin := -(oj*b.R - oi*a.R) / d
				if math.Abs(sin) >= 1 {
					continue
				}
				cos := math.Sqrt(1 - sin*sin)
				u := geom.Vec{X: w.X*cos - w.Y*sin, Y: w.Y*cos + w.X*sin}
				nl := u.Left()
				p, q := a.At.Along(nl, -oi*a.R), b.At.Along(nl, -oj*b.R)
				if !clear(p, q, i, j) {
					continue
				}
				mask := g.cross(p, q)
				length := p.Dist(q)
				g.edge(i, oi > 0, j, oj > 0, p, q, length, mask)
				g.edge(j, oj < 0, i, oi < 0, q, p, length, mask)
			}
		}
	}
}

// edge adds one tangent, one way.
func (g *Graph) edge(i int, ci bool, j int, cj bool, p, q geom.Vec, length float64, mask uint64) {
	k := int32(len(g.nodes))
	g.nodes = append(g.nodes,
		node{disc: int32(i), ccw: ci, depart: true, at: p, to: k + 1, length: length, mask: mask, next: -1},
		node{disc: int32(j), ccw: cj, at: q, to: -1, next: -1})
}

// cross is the set of marked lines that a straight piece crosses.
func (g *Graph) cross(a, b geom.Vec) (mask uint64) {
	s := geom.Seg{A: a, B: b}
	for i, l := range g.lines {
		if _, _, ok := s.Cross(l); ok {
			mask |= 1 << i
		}
	}
	return mask
}

// rings chains the nodes of each disc, each way round, by arcs.
func (g *Graph) rings() {
	per := make([][]int32, 2*g.n)
	terms := len(g.discs) - g.n
	outs := make([][]int32, terms)
	g.in = make([][]int32, terms)
	for k := range g.nodes {
		q := &g.nodes[k]
		if t := int(q.disc) - g.n; t >= 0 {
			if q.depart {
				outs[t] = append(outs[t], int32(k))
			} else {
				g.in[t] = append(g.in[t], int32(k))
			}
			continue
		}
		d := q.at.Sub(g.discs[q.disc].At)
		q.angle = math.Atan2(d.Y, d.X)
		r := 2 * int(q.disc)
		if !q.ccw {
			q.angle = -q.angle
			r++
		}
		if q.angle < 0 {
			q.angle += 2 * math.Pi
		}
		if !q.depart {
			q.angle -= 1e-9 // arrival before departure, or the walk needs a whole circle
		}
		per[r] = append(per[r], int32(k))
	}
	g.first = make([]int32, terms+1)
	for t := range outs {
		g.out = append(g.out, outs[t]...)
		g.first[t+1] = int32(len(g.out))
	}
	for d := 0; d < g.n; d++ {
		if len(per[2*d])+len(per[2*d+1]) == 0 {
			continue
		}
		shut := g.shut(d)
		marks := g.marks(d)
		for o := range 2 {
			ring := per[2*d+o]
			slices.SortFunc(ring, func(a, b int32) int {
				x, y := g.nodes[a].angle, g.nodes[b].angle
				switch {
				case x < y:
					return -1
				case x > y:
					return 1
				}
				return int(a - b)
			})
			for i, k := range ring {
				q := &g.nodes[k]
				nx := ring[(i+1)%len(ring)]
				arc := g.nodes[nx].angle - q.angle
				if i == len(ring)-1 {
					arc += 2 * math.Pi
				}
				if len(ring) == 1 || blocked(shut, q.angle, arc, o == 0) {
					continue
				}
				q.next, q.arc, q.arcLen = nx, arc, arc*g.discs[d].R
				for _, m := range marks {
					a := m.angle
					if o == 1 {
						a = -a
					}
					if a = wrap(a - q.angle); a < arc {
						q.arcMask |= 1 << m.line
					}
				}
			}
		}
	}
}

func wrap(a float64) float64 {
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a
}

// span is a closed piece of a disc's rim: from a over w radians anticlockwise.
type span struct{ a, w float64 }

// shut lists the pieces of the rim of disc d that something else covers.
func (g *Graph) shut(d int) []span {
	var out []span
	c := g.discs[d]
	for k := 0; k < g.n; k++ {
		o := g.discs[k]
		dv := o.At.Sub(c.At)
		l := dv.Len()
		if k == d || l >= c.R+o.R-touch || l < 1e-9 {
			continue
		}
		x := (c.R*c.R + l*l - o.R*o.R) / (2 * c.R * l)
		if x >= 1 {
			continue
		}
		h := math.Acos(math.Max(x, -1))
		out = append(out, span{math.Atan2(dv.Y, dv.X) - h, 2 * h})
	}
	for _, w := range g.walls {
		if w.Seg.Dist(c.At) >= c.R+w.R-touch {
			continue
		}
		// Sampled: a wall covers a piece of rim much wider than a sample.
		const m = 72
		for i := range m {
			a := 2 * math.Pi * float64(i) / m
			p := c.At.Add(geom.Vec{X: math.Cos(a), Y: math.Sin(a)}.Mul(c.R))
			if w.Seg.Dist(p) < w.R-1e-6 {
				out = append(out, span{a, 0})
			}
		}
	}
	return out
}

// blocked reports whether going round from angle by arc meets a shut piece.
func blocked(shut []span, angle, arc float64, ccw bool) bool {
	const eps = 1e-6
	for _, s := range shut {
		a := s.a
		if !ccw {
			a = -(s.a + s.w)
		}
		// Does (angle, angle+arc) meet [a, a+w]?
		x := wrap(a - angle)
		if x < arc-eps && (x > eps || s.w > eps) {
			if x+s.w > eps {
				return true
			}
		}
		if x+s.w > 2*math.Pi+eps {
			return true
		}
	}
	return false
}

type mark struct {
	angle float64
	line  int
}

// marks lists where the marked lines meet the rim of disc d.
func (g *Graph) marks(d int) []mark {
	var out []mark
	c := g.discs[d]
	for i, l := range g.lines {
		e := l.B.Sub(l.A)
		f := l.A.Sub(c.At)
		a, b, cc := e.Len2(), 2*f.Dot(e), f.Len2()-c.R*c.R
		disc := b*b - 4*a*cc
		if disc <= 0 || a == 0 {
			continue
		}
		sq := math.Sqrt(disc)
		for _, t := range [2]float64{(-b - sq) / (2 * a), (-b + sq) / (2 * a)} {
			if t > 0 && t < 1 {
				p := f.Along(e, t)
				out = append(out, mark{math.Atan2(p.Y, p.X), i})
			}
		}
	}
	return out
}
