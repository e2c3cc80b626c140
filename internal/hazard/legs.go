package hazard

import (
	"math"
	"sort"

	"terret/internal/geom"
	"terret/internal/shape"
	"terret/internal/taut"
)

// scene is the ground as the strings and the solver meet it.
type scene struct {
	graph *taut.Graph
	discs []shape.Disc
	walls []shape.Wall
}

// gateStep is how far before and behind a gate's line a leg begins and ends, m:
// enough to be off the line, too little to matter.
const gateStep = 0.02

// scene builds the ground with its tangent graph. Posts and walls are grown by
// what the widest part of the turnout needs on a straight: any string narrower
// than that no axle could follow.
func (k *task) scene() *scene {
	s := &scene{}
	grow := k.t.HalfWidth() + k.t.Margin
	s.discs, s.walls = shape.Ground(k.obs, 0)
	discs := make([]taut.Disc, len(s.discs))
	for i, d := range s.discs {
		discs[i] = taut.Disc{At: d.At, R: d.R + grow}
	}
	walls := make([]taut.Wall, len(s.walls))
	for i, w := range s.walls {
		walls[i] = taut.Wall{Seg: w.Seg, R: w.R + grow}
	}
	lines := make([]geom.Seg, len(k.lines))
	for i, l := range k.lines {
		lines[i] = l.posts
	}
	var ends []geom.Vec
	for _, st := range k.steps {
		ends = append(ends, st.mid.Along(st.fwd, gateStep), st.mid.Along(st.fwd, -gateStep))
	}
	s.graph = taut.New(discs, walls, lines, ends)
	return s
}

// choice is one string for one leg, with the hand of the turn where it leaves
// its gate backwards or comes to the next one backwards: −1 left, +1 right, 0
// no such turn.
type choice struct {
	str      taut.String
	out, in  float64
	estimate float64 // m: its length and what its turns will add
}

// Limits on the strings of one leg. Drivers' ways differ by less than this or
// are not worth showing.
const (
	stringsPerLeg = 24
	backwards     = 100 * math.Pi / 180 // a turn at a gate beyond this may go either hand
)

// span is how much longer than the shortest a leg's strings may be: a share and
// metres, whichever is more.
type span struct{ share, metres float64 }

// Drivers seldom go farther round than usual; where nothing usual can be driven,
// as from In to a gate close by that lies across, they go far.
var (
	usual = span{0.35, 9}
	far   = span{2, 40}
)

// legs lists the choices of every leg, the likeliest first.
func (k *task) legs(s *scene, over span) [][]choice {
	out := make([][]choice, len(k.steps)-1)
	for i := range out {
		a, b := &k.steps[i], &k.steps[i+1]
		strs := s.graph.Shortest(2*i, 2*i+3, k.closed(i+1), stringsPerLeg, over.share, over.metres)
		if a.mid.Dist(b.mid) < 1e-9 && a.fwd.Dot(b.fwd) < 0 {
			// Through and straight back: a leg of no length, turned in the
			// open to one hand or the other.
			strs = append([]taut.String{{Points: []geom.Vec{a.mid, b.mid}}}, strs...)
		}
		for _, st := range strs {
			out[i] = append(out[i], k.turned(a, b, st)...)
		}
		sort.SliceStable(out[i], func(x, y int) bool { return out[i][x].estimate < out[i][y].estimate })
	}
	return out
}

// turned gives a string with each hand its turns at the gates may take.
func (k *task) turned(a, b *step, st taut.String) []choice {
	rho := (k.t.Turning.Left + k.t.Turning.Right) / 2
	base := st.Length
	for _, w := range st.Wraps {
		base += turnCost(w.Angle, math.Max(rho-w.R, 0))
	}
	n := len(st.Points)
	ang := func(f, d geom.Vec) float64 { return math.Atan2(d.Cross(f), d.Dot(f)) } // from f to d, positive right
	var ao, ai float64
	if n >= 2 {
		ao = ang(a.fwd, st.Points[1].Sub(st.Points[0]))
		ai = ang(st.Points[n-1].Sub(st.Points[n-2]), b.fwd)
	}
	if st.Length < 1e-6 {
		ao, ai = math.Pi, 0
	}
	hands := func(a float64) []float64 {
		if math.Abs(a) < backwards {
			return []float64{0}
		}
		if a >= 0 {
			return []float64{1, -1}
		}
		return []float64{-1, 1}
	}
	var out []choice
	for _, o := range hands(ao) {
		for _, i := range hands(ai) {
			e := base + turnCost(sweep(ao, o), rho) + turnCost(sweep(ai, i), rho)
			out = append(out, choice{st, o, i, e})
		}
	}
	return out
}

// sweep is the angle turned from 0 to a going to one hand; hand 0 the short way.
func sweep(a, hand float64) float64 {
	if hand == 0 || a*hand >= 0 {
		return math.Abs(a)
	}
	return 2*math.Pi - math.Abs(a)
}

// turnCost is about how many metres a corner of an angle costs a line of radius
// rho more than a string: ρ(tan(a/2) − a/2), straight on beyond 125°.
func turnCost(a, rho float64) float64 {
	const knee = 125 * math.Pi / 180
	if a > knee {
		t := math.Tan(knee / 2)
		slope := (1+t*t)/2 - 0.5
		return rho * (t - knee/2 + slope*(a-knee))
	}
	return rho * (math.Tan(a/2) - a/2)
}
