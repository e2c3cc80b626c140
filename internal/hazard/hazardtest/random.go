package hazardtest

import (
	"fmt"
	"math"
	"math/rand/v2"

	"terret/internal/geom"
	"terret/internal/plan"
)

// Options choose a kind of random hazard. The zero value is the common kind:
// 40 × 50 m, gates of 2.8–4.2 m, In and Out one pair of posts in a quarter.
type Options struct {
	Roomy      bool // 60 × 80 m, gates of 3.5–5 m: for tandem and four-in-hand
	SharedPost bool // one gate stands on a marker of another
	TwoLetters bool // one pair of markers carries two letters
	InIsOut    bool // In and Out are one pair, whatever the seed says
}

// The sizes of random hazards, in metres.
const (
	marker     = 0.06
	clearGate  = 3.0 // free ground before and behind each gate
	behindIn   = 8.5 // from the In line to the outline behind it, and from Out
	clearStart = 5.5 // free ground on the hazard's side of In and Out
)

// strip is ground to be kept free: a segment and a half width.
type strip struct {
	seg geom.Seg
	r   float64
}

// maker is the state of one random hazard in the making.
type maker struct {
	rng    *rand.Rand
	p      *plan.Plan
	h      *plan.Hazard
	strips []strip
}

// Random makes one hazard; the same seed and options give the same one. The
// ground is a fence of six to eight sides; inside stand 12–40 posts and trees,
// 3–6 gates and up to 7 rails. Ground is kept free 3 m before and behind each
// gate, and where the turnout stands at In and leaves at Out. Nothing promises
// that it can be driven.
func Random(seed uint64, o Options) *plan.Plan {
	rng := rand.New(rand.NewPCG(seed, 0x7465727265740000))
	m := &maker{rng: rng}
	w, l := 40.0, 50.0
	if o.Roomy {
		w, l = 60, 80
	}
	m.p = &plan.Plan{Name: fmt.Sprintf("random %d", seed), Ground: plan.Ground{Outline: m.outline(w, l)}}
	m.h = &plan.Hazard{Name: "H", MarkerRadius: marker}
	m.ends(w, l, o.InIsOut || rng.IntN(4) == 0, o.Roomy)
	lo, hi := 2.8, 4.2
	if o.Roomy {
		lo, hi = 3.5, 5
	}
	m.gates(3+rng.IntN(4), lo, hi, o)
	m.rails(rng.IntN(8))
	m.discs(12 + rng.IntN(29))
	m.p.Hazards = []plan.Hazard{*m.h}
	return m.p
}

func (m *maker) span(lo, hi float64) float64 { return lo + (hi-lo)*m.rng.Float64() }

// outline is a w × l rectangle with two to four corners cut.
func (m *maker) outline(w, l float64) geom.Polygon {
	cut := func() float64 { return m.span(3, 7) }
	corners := [4]geom.Vec{{X: 0, Y: 0}, {X: w, Y: 0}, {X: w, Y: l}, {X: 0, Y: l}}
	whole := m.rng.IntN(4)
	other := m.rng.IntN(4)
	var out geom.Polygon
	for i, c := range corners {
		if i == whole || i == other {
			out = append(out, c)
			continue
		}
		back := corners[(i+3)%4].Sub(c).Unit()
		on := corners[(i+1)%4].Sub(c).Unit()
		out = append(out, c.Along(back, cut()), c.Along(on, cut()))
	}
	return out
}

// pairAt sets markers an opening apart about a middle, to be driven along b.
func pairAt(mid geom.Vec, b, opening float64) plan.Pair {
	r := dir(b).Right().Mul(opening/2 + marker)
	return plan.Pair{Right: mid.Add(r), Left: mid.Sub(r)}
}

// ends sets In and Out: each faces across the ground from near one side.
func (m *maker) ends(w, l float64, same, roomy bool) {
	side := func(i int) (geom.Vec, float64) {
		u := m.span(0.3, 0.7)
		b := [4]float64{0, -math.Pi / 2, math.Pi, math.Pi / 2}[i] + rad(m.span(-8, 8))
		at := [4]geom.Vec{{X: w * u, Y: 0}, {X: w, Y: l * u}, {X: w * u, Y: l}, {X: 0, Y: l * u}}[i]
		return at.Along(dir(b), behindIn+1), b
	}
	opening := func() float64 {
		if roomy {
			return m.span(4.5, 6)
		}
		return m.span(3.5, 5)
	}
	i := m.rng.IntN(4)
	at, b := side(i)
	m.h.In = pairAt(at, b, opening())
	m.h.Out = plan.Pair{Right: m.h.In.Left, Left: m.h.In.Right}
	m.keep(at, b, behindIn, clearStart, 2)
	if same {
		return
	}
	for {
		at2, b2 := side((i + 1 + m.rng.IntN(3)) % 4)
		if at2.Dist(at) < 14 {
			continue
		}
		m.h.Out = pairAt(at2, b2+math.Pi, opening())
		m.keep(at2, b2, behindIn, clearStart, 2)
		return
	}
}

// keep marks ground as free: back metres behind and on metres beyond a place
// on bearing b, r to either side.
func (m *maker) keep(at geom.Vec, b, back, on, r float64) {
	m.strips = append(m.strips, strip{geom.Seg{A: at.Along(dir(b), -back), B: at.Along(dir(b), on)}, r})
}

// keepGate marks the ground before and behind a gate.
func (m *maker) keepGate(g plan.Pair) {
	half := g.Opening(marker) / 2
	m.keep(g.Mid(), float64(g.Forward().Bearing()), clearGate, clearGate, half*0.9)
}

// free reports whether a segment with a radius leaves every kept strip free.
func (m *maker) free(s geom.Seg, r float64) bool {
	for _, k := range m.strips {
		if d, _, _ := geom.SegDist(s, k.seg); d < k.r+r {
			return false
		}
	}
	return true
}

// inside reports whether a place is at least r inside the outline.
func (m *maker) inside(p geom.Vec, r float64) bool {
	return m.p.Ground.Outline.Contains(p) && m.p.Ground.Outline.EdgeDist(p) >= r
}

// standing reports whether a disc keeps the distance gap to all markers.
func (m *maker) standing(p geom.Vec, r, gap float64) bool {
	ok := true
	m.markers(func(q geom.Vec) { ok = ok && p.Dist(q) >= r+marker+gap })
	return ok
}

func (m *maker) markers(see func(geom.Vec)) {
	for _, p := range []plan.Pair{m.h.In, m.h.Out} {
		see(p.Right)
		see(p.Left)
	}
	for _, g := range m.h.Gates {
		see(g.Right)
		see(g.Left)
	}
}

// fits reports whether a new gate may stand: inside, its own ground free of
// markers, its markers off everybody's ground. shared is a marker it may use.
func (m *maker) fits(g plan.Pair, shared *geom.Vec) bool {
	f := g.Forward()
	for _, s := range []float64{-clearGate - 1, 0, clearGate + 1} {
		if !m.inside(g.Mid().Along(f, s), 2.5) {
			return false
		}
	}
	own := geom.Seg{A: g.Mid().Along(f, -clearGate), B: g.Mid().Along(f, clearGate)}
	half := g.Opening(marker) / 2 * 0.9
	ok := true
	m.markers(func(q geom.Vec) {
		if shared != nil && q == *shared {
			return
		}
		ok = ok && own.Dist(q) >= half+marker
		ok = ok && (q.Dist(g.Right) > 1.5 && q.Dist(g.Left) > 1.5)
	})
	for _, q := range []geom.Vec{g.Right, g.Left} {
		if shared == nil || q != *shared {
			ok = ok && m.free(geom.Seg{A: q, B: q}, marker)
		}
	}
	for _, x := range m.h.Gates {
		if shared == nil {
			ok = ok && x.Mid().Dist(g.Mid()) > 5
		}
		_, _, cut := geom.Seg{A: x.Right, B: x.Left}.Cross(geom.Seg{A: g.Right, B: g.Left})
		ok = ok && !cut
	}
	return ok
}

// gates sets n lettered gates, the shared post and the second letter among
// them. Fewer are set when the ground is full.
func (m *maker) gates(n int, lo, hi float64, o Options) {
	box := geom.EmptyBox()
	for _, v := range m.p.Ground.Outline {
		box = box.Add(v)
	}
	letter := func() string { return string(rune('A' + len(m.h.Gates))) }
	put := func(g plan.Pair) {
		m.h.Gates = append(m.h.Gates, plan.Gate{Letter: letter(), Pair: g})
		m.keepGate(g)
	}
	shareAt, twiceAt := -1, -1
	if o.SharedPost {
		shareAt = 1 + m.rng.IntN(n-1)
	}
	if o.TwoLetters {
		n++
		twiceAt = 2 + m.rng.IntN(n-2)
	}
	for try := 0; len(m.h.Gates) < n && try < 4000; try++ {
		k := len(m.h.Gates)
		if k == twiceAt {
			g := m.h.Gates[m.rng.IntN(k-1)].Pair
			if m.rng.IntN(2) == 0 {
				g = plan.Pair{Right: g.Left, Left: g.Right}
			}
			m.h.Gates = append(m.h.Gates, plan.Gate{Letter: letter(), Pair: g})
			continue
		}
		open := m.span(lo, hi)
		if k == shareAt && try < 2000 {
			from := m.h.Gates[m.rng.IntN(k)].Pair
			post := from.Right
			if m.rng.IntN(2) == 0 {
				post = from.Left
			}
			away := dir(m.span(0, 2*math.Pi))
			g := plan.Pair{Right: post, Left: post.Along(away, open+2*marker)}
			if m.rng.IntN(2) == 0 {
				g.Right, g.Left = g.Left, g.Right
			}
			if m.fits(g, &post) {
				put(g)
			}
			continue
		}
		at := geom.Vec{X: m.span(box.Min.X, box.Max.X), Y: m.span(box.Min.Y, box.Max.Y)}
		g := pairAt(at, m.span(0, 2*math.Pi), open)
		if m.fits(g, nil) {
			put(g)
		}
	}
}

// rails lays n rails, some from a gate's marker outwards.
func (m *maker) rails(n int) {
	for try := 0; n > 0 && try < 400; try++ {
		from := geom.Vec{X: m.span(3, 57), Y: m.span(3, 77)}
		if k := m.rng.IntN(3 * len(m.h.Gates)); k < len(m.h.Gates) {
			g := m.h.Gates[k].Pair
			out := g.Right.Sub(g.Left).Unit()
			from = g.Right.Along(out, 0.1)
		}
		b := m.span(0, 2*math.Pi)
		path := []geom.Vec{from, from.Along(dir(b), m.span(2, 4))}
		if m.rng.IntN(3) == 0 {
			path = append(path, path[1].Along(dir(b+m.span(-1.2, 1.2)), m.span(1.5, 3)))
		}
		ok := true
		for i := 1; i < len(path); i++ {
			s := geom.Seg{A: path[i-1], B: path[i]}
			ok = ok && m.inside(path[i], 1) && m.inside(path[i-1], 1) && m.free(s, 0.06)
			for _, g := range m.h.Gates {
				if d, _, _ := geom.SegDist(s, geom.Seg{A: g.Left, B: g.Right}); d < 0.02 {
					ok = false
				}
			}
		}
		if ok {
			m.p.Things = append(m.p.Things, plan.Thing{ID: fmt.Sprintf("r%d", n), Kind: plan.Rail, Path: path, Width: 0.12})
			n--
		}
	}
}

// discs stands n posts and trees.
func (m *maker) discs(n int) {
	box := geom.EmptyBox()
	for _, v := range m.p.Ground.Outline {
		box = box.Add(v)
	}
	for try := 0; n > 0 && try < 4000; try++ {
		at := geom.Vec{X: m.span(box.Min.X, box.Max.X), Y: m.span(box.Min.Y, box.Max.Y)}
		t := plan.Thing{ID: fmt.Sprintf("p%d", n), Kind: plan.Post, At: at, Radius: 0.06}
		if m.rng.IntN(3) == 0 {
			t = plan.Thing{ID: fmt.Sprintf("t%d", n), Kind: plan.Tree, At: at, Radius: m.span(0.15, 0.45)}
		}
		if !m.inside(at, 0.6) || !m.free(geom.Seg{A: at, B: at}, t.Radius) || !m.standing(at, t.Radius, 0.3) {
			continue
		}
		ok := true
		for _, x := range m.p.Things {
			if x.Kind == plan.Rail {
				continue
			}
			ok = ok && x.At.Dist(at) > x.Radius+t.Radius+0.2
		}
		if ok {
			m.p.Things = append(m.p.Things, t)
			n--
		}
	}
}
