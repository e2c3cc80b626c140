package taut

import (
	"math"

	"terret/internal/geom"
)

// Wrap is a piece of a string that lies round a disc.
type Wrap struct {
	At    geom.Vec
	R     float64
	Right bool    // the disc is on the right: the string turns right round it
	Angle float64 // rad, 0 or more
}

// String is one taut string.
type String struct {
	Length float64 // m
	Points []geom.Vec
	Wraps  []Wrap
}

// heap is a heap of labels by key, four to a parent; ties by age, so that the
// order is always the same.
type heap []label

type label struct {
	key float64
	id  int32
}

func (a label) before(b label) bool { return a.key < b.key || (a.key == b.key && a.id < b.id) }

func (h *heap) push(k float64, id int32) {
	l := label{k, id}
	a := append(*h, l)
	i := len(a) - 1
	for i > 0 {
		p := (i - 1) / 4
		if !l.before(a[p]) {
			break
		}
		a[i] = a[p]
		i = p
	}
	a[i] = l
	*h = a
}

func (h *heap) pop() (float64, int32) {
	a := *h
	top, l := a[0], a[len(a)-1]
	a = a[:len(a)-1]
	*h = a
	for i := 0; len(a) > 0; {
		c := 4*i + 1
		if c >= len(a) {
			a[i] = l
			break
		}
		for d := c + 1; d < min(c+4, len(a)); d++ {
			if a[d].before(a[c]) {
				c = d
			}
		}
		if !a[c].before(l) {
			a[i] = l
			break
		}
		a[i] = a[c]
		i = c
	}
	return top.key, top.id
}

// reverse lists, for each node, the nodes that lead to it.
func (g *Graph) reverse() {
	if g.rev != nil {
		return
	}
	count := make([]int32, len(g.nodes)+1)
	each := func(f func(from, to int32)) {
		for k := range g.nodes {
			q := &g.nodes[k]
			if q.next >= 0 {
				f(int32(k), q.next)
			}
			if q.depart {
				f(int32(k), q.to)
			}
		}
	}
	each(func(_, to int32) { count[to+1]++ })
	for i := 1; i < len(count); i++ {
		count[i] += count[i-1]
	}
	flat := make([]int32, count[len(count)-1])
	fill := append([]int32(nil), count...)
	each(func(from, to int32) { flat[fill[to]] = from; fill[to]++ })
	g.rev = make([][]int32, len(g.nodes))
	for i := range g.rev {
		g.rev[i] = flat[count[i]:count[i+1]]
	}
}

// Shortest lists up to k taut strings from one terminal to another, shortest
// first, crossing no closed line, none longer than the shortest by both a share
// over and more metres. No string goes round a disc by a whole turn.
func (g *Graph) Shortest(from, to int, closed uint64, k int, over, more float64) []String {
	g.reverse()
	n := len(g.nodes)
	// Exact distance to go, backwards from the end (A* by the straight distance
	// from the start), as far as a string that is listed can reach. What is
	// farther keeps a distance that is too long, if any: no harm, for it is out of
	// reach either way.
	togo := make([]float64, n)
	done := make([]bool, n)
	for i := range togo {
		togo[i] = math.Inf(1)
	}
	start := g.discs[g.n+from].At
	var h heap
	reach := func(v int32, d float64) {
		if d < togo[v] {
			togo[v] = d
			h.push(d+g.nodes[v].at.Dist(start), v)
		}
	}
	for _, e := range g.in[to] {
		reach(e, 0)
	}
	limit := math.Inf(1)
	longest := func(least float64) float64 { return math.Max(least*(1+over), least+more) }
	for len(h) > 0 {
		f, v := h.pop()
		if f > limit {
			break
		}
		if done[v] {
			continue
		}
		done[v] = true
		d := togo[v]
		if q := &g.nodes[v]; q.depart && int(q.disc) == g.n+from && math.IsInf(limit, 1) {
			limit = longest(d) + touch
		}
		for _, p := range g.rev[v] {
			q := &g.nodes[p]
			switch {
			case q.depart && q.to == v:
				if q.mask&closed == 0 {
					reach(p, d+q.length)
				}
			case q.arcMask&closed == 0:
				reach(p, d+q.arcLen)
			}
		}
	}
	// Forwards with that exact bound: each node at most k times.
	type walk struct {
		node, from int32
		g, turned  float64
	}
	var ls []walk
	h = h[:0]
	push := func(l walk) {
		if f := l.g + togo[l.node]; !math.IsInf(f, 1) {
			ls = append(ls, l)
			h.push(f, int32(len(ls)-1))
		}
	}
	for _, e := range g.out[g.first[from]:g.first[from+1]] {
		push(walk{node: e, from: -1})
	}
	pops := make([]uint16, n)
	var out []String
	limit = math.Inf(1)
	for len(h) > 0 && len(out) < k {
		f, id := h.pop()
		if f > limit {
			break
		}
		l := ls[id]
		q := &g.nodes[l.node]
		if int(pops[l.node]) >= k {
			continue
		}
		pops[l.node]++
		if !q.depart && int(q.disc) == g.n+to {
			if len(out) == 0 {
				limit = longest(f)
			}
			var path []int32
			for i := id; i >= 0; i = ls[i].from {
				path = append(path, ls[i].node)
			}
			out = append(out, g.str(path, f))
			continue
		}
		if q.depart && q.mask&closed == 0 {
			push(walk{node: q.to, from: id, g: l.g + q.length})
		}
		if q.next >= 0 && q.arcMask&closed == 0 && l.turned+q.arc < 2*math.Pi {
			push(walk{node: q.next, from: id, g: l.g + q.arcLen, turned: l.turned + q.arc})
		}
	}
	return out
}

// str draws a string from its nodes, last first.
func (g *Graph) str(path []int32, length float64) String {
	s := String{Length: length}
	for i := len(path) - 1; i >= 0; {
		q := &g.nodes[path[i]]
		d := g.discs[q.disc]
		if d.R == 0 {
			s.Points = append(s.Points, q.at)
			i--
			continue
		}
		// A run of nodes on one disc, one way round: from arrival to departure.
		j, turned := i, 0.0
		for j-1 >= 0 && g.nodes[path[j]].next == path[j-1] && g.nodes[path[j-1]].disc == q.disc && !(g.nodes[path[j]].depart && g.nodes[path[j]].to == path[j-1]) {
			turned += g.nodes[path[j]].arc
			j--
		}
		a0 := q.at.Sub(d.At)
		m := int(math.Ceil(turned / 0.35))
		s.Points = append(s.Points, q.at)
		for k := 1; k < m; k++ {
			a := turned * float64(k) / float64(m)
			if !q.ccw {
				a = -a
			}
			sn, cs := math.Sincos(a)
			s.Points = append(s.Points, d.At.Add(geom.Vec{X: a0.X*cs - a0.Y*sn, Y: a0.Y*cs + a0.X*sn}))
		}
		if j != i {
			s.Points = append(s.Points, g.nodes[path[j]].at)
		}
		s.Wraps = append(s.Wraps, Wrap{At: d.At, R: d.R, Right: !q.ccw, Angle: turned})
		i = j - 1
	}
	return s
}
