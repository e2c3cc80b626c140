package survey

import (
	"maps"
	"math"
	"slices"

	"terret/internal/geom"
)

// Alone makes a free network of the tapes by themselves: the start values are
// built from the lengths, in a frame of their own (one point at the
// origin, a second one east of it, a third one north of their line). Which tape is
// wrong does not depend on the frame; where points are does, so moves say
// nothing. Points that no two placed ones reach are put beside it, and will have
// no fix.
func (l *List) Alone() (*Network, error) {
	index := map[string]int{}
	var names []string
	var links []map[int]float64 // of each point: the points taped to it; of two tapes the first
	id := func(name string) int {
		i, ok := index[name]
		if !ok {
			i = len(names)
			index[name], names, links = i, append(names, name), append(links, map[int]float64{})
		}
		return i
	}
	for _, t := range l.Tapes {
		a, b := id(t.From), id(t.To)
		if _, twice := links[a][b]; !twice {
			links[a][b], links[b][a] = t.M, t.M
		}
	}
	f := frame{links: links, at: make([]geom.Vec, len(names)), known: make([]bool, len(names))}
	if len(names) <= MaxPoints { // more are refused below
		f.build()
	}
	at, known := f.at, f.known
	n := &Network{Tapes: l.Tapes, Sigma: DefaultSigma, Free: true, alone: true}
	for i, name := range names {
		if !known[i] {
			at[i] = geom.Vec{X: -1 - float64(i), Y: -1 - 0.5*float64(i%7)}
		}
		n.Points = append(n.Points, Point{name, at[i]})
	}
	return n, l.check(n)
}

// frame is points that are being placed by their tapes.
type frame struct {
	links []map[int]float64
	at    []geom.Vec
	known []bool
}

// build places what can be placed: first the triangle whose sides cross
// steepest, then always the point with the steepest crossing from points placed
// before.
func (f *frame) build() {
	n := len(f.links)
	best := 0.
	var a, b int
	for i := range n {
		for _, k := range slices.Sorted(maps.Keys(f.links[i])) {
			for _, third := range slices.Sorted(maps.Keys(f.links[i])) {
				r := f.links[i][third]
				s, ok := f.links[k][third]
				if k < i || !ok {
					continue
				}
				// The sine at the third point, by the area of the triangle.
				c, _, ok := Crossing(geom.Vec{}, geom.Vec{X: f.links[i][k]}, r, s)
				if sin := math.Abs(c.Y) * f.links[i][k] / (r * s); ok && sin > best+1e-9 {
					best, a, b = sin, i, k
				}
			}
		}
	}
	if best == 0 {
		return
	}
	place, steep := make([]geom.Vec, n), make([]float64, n)
	put := func(i int, at geom.Vec) {
		f.known[i], f.at[i] = true, at
		for k := range f.links[i] {
			if !f.known[k] {
				place[k], steep[k] = f.cross(k)
			}
		}
	}
	put(a, geom.Vec{})
	put(b, geom.Vec{X: f.links[a][b]})
	for {
		next := -1
		for i := range n {
			if !f.known[i] && steep[i] > 0 && (next < 0 || steep[i] > steep[next]) {
				next = i
			}
		}
		if next < 0 {
			return
		}
		put(next, place[next])
	}
}

// cross is where point i lies from the placed points taped to it: of all pairs
// the one whose arcs cross steepest, of both sides the one that the other tapes
// like better.
func (f *frame) cross(i int) (place geom.Vec, steep float64) {
	var from []int
	for _, k := range slices.Sorted(maps.Keys(f.links[i])) {
		if f.known[k] {
			from = append(from, k)
		}
	}
	var left, right geom.Vec
	for x, a := range from {
		for _, b := range from[:x] {
			p, q, ok := Crossing(f.at[a], f.at[b], f.links[i][a], f.links[i][b])
			if s := math.Abs(f.at[a].Sub(p).Unit().Cross(f.at[b].Sub(p).Unit())); ok && s > steep {
				left, right, steep = p, q, s
			}
		}
	}
	miss := func(c geom.Vec) float64 {
		sum := 0.
		for _, k := range from {
			sum += math.Abs(f.at[k].Dist(c) - f.links[i][k])
		}
		return sum
	}
	if miss(right) < miss(left)-1e-9 {
		return right, steep
	}
	return left, steep
}

// Crossing is where the arc of radius r round a meets the arc of radius s round
// b: p to the left of the line from a to b, q to the right of it. ok is false
// when they do not meet; p and q are then the nearest there is, on the line.
func Crossing(a, b geom.Vec, r, s float64) (p, q geom.Vec, ok bool) {
	d := b.Sub(a)
	l := d.Len()
	if l == 0 {
		return a, a, false
	}
	u := d.Mul(1 / l)
	along := (r*r - s*s + l*l) / (2 * l)
	h2 := r*r - along*along
	h := math.Sqrt(math.Max(0, h2))
	foot := a.Along(u, along)
	return foot.Along(u.Left(), h), foot.Along(u.Right(), h), h2 >= 0
}
