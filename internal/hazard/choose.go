package hazard

import (
	"context"
	"math"
	"sort"

	"terret/internal/geom"
	"terret/internal/shape"
)

// Limits of the search, found by trial (DESIGN.md): the quickest class was
// among the first five strings of its leg nearly always.
const (
	topPerLeg  = 7
	rounds     = 3
	repairMost = 16 // strings of a leg to try while nothing is drivable yet
	wholesMost = 8
	givesUp    = 60 // lines shaped without a drivable one among them
)

// search exchanges strings leg by leg.
type search struct {
	k      *task
	sv     *shape.Solver
	legs   [][]choice
	tried  map[string]*route
	found  []*route // drivable or nearly, in the order of finding
	best   *route
	idx    []int
	solves int
	wholes int // of them, whole lines shaped because a window did not do
	ctx    context.Context
}

// key names a combination of strings.
func combo(idx []int) string {
	b := make([]byte, len(idx))
	for i, v := range idx {
		b[i] = byte(v)
	}
	return string(b)
}

// try makes a combination drivable, or recalls what came of it.
func (s *search) try(idx []int) *route {
	key := combo(idx)
	if r, ok := s.tried[key]; ok {
		return r
	}
	cs := make([]choice, len(idx))
	for i, v := range idx {
		cs[i] = s.legs[i][v]
	}
	s.solves++
	r := s.k.realise(s.sv, s.k.sew(cs))
	s.keep(key, r)
	return r
}

// swap makes a combination drivable that differs from b's on one leg only: it
// shapes a window round that leg and keeps the rest of the line.
func (s *search) swap(b *route, idx []int, leg int) *route {
	key := combo(idx)
	if r, ok := s.tried[key]; ok {
		return r
	}
	if b.run == nil || len(b.spots) != len(s.k.steps) {
		return s.try(idx)
	}
	s.solves++
	r := s.k.window(s.sv, b, leg, &s.legs[leg][idx[leg]])
	switch {
	case b.fault != "":
		if r.run != nil && r.miss <= 2 {
			r = s.settled(r)
		}
		if r.fault != "" && r.score() > b.score() && s.wholes < wholesMost {
			// Nothing drivable yet: the whole may need to give way.
			s.solves++
			s.wholes++
			cs := make([]choice, len(idx))
			for i, v := range idx {
				cs[i] = s.legs[i][v]
			}
			if q := s.k.realise(s.sv, s.k.sew(cs)); q.score() < r.score() {
				r = q
			}
		}
	case r.time < s.best.time+promises && r.miss <= hopeless:
		// It may be the quickest: let the whole line give way to it.
		r = s.settled(r)
	}
	s.keep(key, r)
	return r
}

// settled lets a whole line give way to a part shaped anew, and presses it right.
func (s *search) settled(r *route) *route {
	line := s.sv.Settle(r.line, 6)
	q := s.k.measure(line, searchStep)
	if q.run == nil || (q.fault != "" && r.fault == "") {
		return r
	}
	return s.k.mend(s.sv, line, q, 2, 8, searchStep)
}

// What is worth settling: a line that misses by no more than hopeless, and is
// no more than promises seconds slower than the best.
const (
	hopeless = 0.5
	promises = 0.4
)

func (s *search) keep(key string, r *route) {
	s.tried[key] = r
	if r.fault == "" || (r.run != nil && r.miss <= hopeless) {
		s.found = append(s.found, r)
	}
}

// exchange tries other strings on leg i and takes the best; it tells whether
// one was better than what was there.
func (s *search) exchange(i, most int) (better bool) {
	at := s.idx[i]
	for c := 0; c < min(most, len(s.legs[i])); c++ {
		if c == at || s.ctx.Err() != nil {
			continue
		}
		if s.best.fault == "" {
			// The string is a bound, about: what is this much longer even
			// before it is bent will not be shown.
			more := s.legs[i][c].estimate - s.legs[i][at].estimate
			if more/s.k.t.Pace.Speed > 3*(slower(s.best.time)-s.best.time) {
				continue
			}
		}
		idx := append([]int(nil), s.idx...)
		idx[i] = c
		if r := s.swap(s.best, idx, i); r.score() < s.best.score()-1e-3 {
			s.best, better = r, true
			s.idx = idx
		}
	}
	return better
}

// first finds a drivable route, or the best there is without one.
func (s *search) first() {
	s.idx = make([]int, len(s.legs))
	s.best = s.try(s.idx)
	n := len(s.legs)
	for most := topPerLeg; s.best.fault != "" && most <= repairMost && s.solves < givesUp; {
		leg := s.best.leg
		better := false
		for _, i := range []int{leg, leg - 1, leg + 1} {
			if i < 0 || i >= n || s.best.fault == "" || s.ctx.Err() != nil {
				continue
			}
			if s.exchange(i, most) {
				better = true
				if s.best.leg != leg {
					break
				}
			}
		}
		if !better {
			most *= 2
		}
	}
}

// descend exchanges strings on every leg while the time falls.
func (s *search) descend(progress func(done, of int, what string)) {
	n := len(s.legs)
	for round := range rounds {
		better := false
		for i := range n {
			if progress != nil {
				progress(round*n+i, rounds*n, s.k.legName(i+1))
			}
			if s.exchange(i, topPerLeg) {
				better = true
			}
		}
		if !better || s.ctx.Err() != nil {
			break
		}
	}
}

// Every line that may be shown is bent to be quick, roughly; of those the
// quickest few closely, so often.
const (
	closest     = 3
	closeRounds = 4
)

// While searching a line is asked for a little more than it must have, so that
// it holds at once; a line to be shown may come as near as it can.
const (
	finalRadius = 0.997
	finalRound  = 0.8 // m
)

// quickSteps is how many steps a line is bent to be quick, at a time.
const quickSteps = 8

// promising is how many strings of a leg are tried together with those of the
// next leg, after no single exchange helps any more.
const promising = 2

// pairs exchanges two legs that meet at once: how a gate is left hangs on how it
// is come to, and a better way of both may begin with a worse way of either.
func (s *search) pairs() (better bool) {
	n := len(s.legs)
	for i := 0; i+1 < n; i++ {
		a, b := s.nearly(i), s.nearly(i+1)
		for _, x := range a {
			for _, y := range b {
				if s.ctx.Err() != nil {
					return better
				}
				idx := append([]int(nil), s.idx...)
				idx[i], idx[i+1] = x, y
				if _, ok := s.tried[combo(idx)]; ok {
					continue
				}
				// From the line that has the first of the two, where there is one.
				half := append([]int(nil), s.idx...)
				half[i] = x
				from, ok := s.tried[combo(half)]
				if !ok || len(from.spots) != len(s.k.steps) || from.run == nil {
					continue
				}
				if r := s.swap(from, idx, i+1); r.score() < s.best.score()-1e-3 {
					s.best, s.idx, better = r, idx, true
				}
			}
		}
	}
	return better
}

// nearly lists the strings of a leg that came nearest to the best when
// exchanged alone, the likeliest first; those not tried count by their estimate.
func (s *search) nearly(leg int) []int {
	type cand struct {
		c int
		v float64
	}
	var cs []cand
	base := s.legs[leg][s.idx[leg]].estimate
	for c := range min(topPerLeg, len(s.legs[leg])) {
		if c == s.idx[leg] {
			continue
		}
		idx := append([]int(nil), s.idx...)
		idx[leg] = c
		v := s.best.time + (s.legs[leg][c].estimate-base)/s.k.t.Pace.Speed
		if r, ok := s.tried[combo(idx)]; ok && !math.IsInf(r.time, 1) {
			v = r.likely()
		}
		cs = append(cs, cand{c, v})
	}
	sort.SliceStable(cs, func(i, j int) bool { return cs[i].v < cs[j].v })
	var out []int
	for _, c := range cs[:min(promising, len(cs))] {
		out = append(out, c.c)
	}
	return out
}

// polish bends a shown line until driving it gets no quicker: the shortest line
// is not the quickest.
func (s *search) polish(r *route, barriers []float64, rounds int) *route {
	best := s.k.fine(r.line)
	line := r.line
	knobs := s.sv.Knobs
	defer func() { s.sv.Knobs = knobs }()
	s.sv.Body = s.k.body()
	s.sv.Body.Left *= finalRadius / askRadius
	s.sv.Body.Right *= finalRadius / askRadius
	s.sv.Knobs.Round = finalRound
	s.sv.Gates = s.k.gates(1, len(s.k.steps)-1)
	relax(s.sv)
	p := &s.k.t.Pace
	sp := shape.Speeds{Cap: p.Speed, Left: p.Lateral.Left, Right: p.Lateral.Right, Gain: p.Gain, Loss: p.Loss}
	for pressed := 0; rounds > 0; rounds-- {
		was := best.score()
		line = s.sv.Quicken(line, sp, barriers, quickSteps)
		q := s.k.fine(line)
		if q.score() < best.score() {
			best = q
		}
		switch {
		case q.run == nil:
			return best
		case q.fault != "" && pressed < presses:
			// Nearly: ask for what it lacks, and once more.
			s.k.press(s.sv, q)
			pressed++
			rounds++
		case best.score() > was*0.999:
			return best
		}
	}
	return best
}

// presses is how often a line that is bent to be quick is asked for what it lacks.
const presses = 3

// newSearch makes a search ready. It is nil, with the leg, when a leg has no way
// round at all.
func (k *task) newSearch(ctx context.Context, sc *scene, over span) (s *search, bare int) {
	s = &search{k: k, ctx: ctx, tried: map[string]*route{}, legs: k.legs(sc, over)}
	for i := range s.legs {
		if len(s.legs[i]) == 0 {
			return nil, i
		}
	}
	s.sv = &shape.Solver{Discs: sc.discs, Walls: sc.walls, Body: k.body(), Knobs: shape.DefaultKnobs(), In: k.directed(0), Out: k.directed(len(k.steps) - 1)}
	return s, 0
}

// directed is a step's line from its left to its right marker.
func (k *task) directed(step int) geom.Seg {
	s := &k.steps[step]
	l := k.lines[s.line].seg
	if s.dir < 0 {
		l.A, l.B = l.B, l.A
	}
	return l
}

// byTime sorts routes, quickest first.
func byTime(rs []*route) {
	sort.SliceStable(rs, func(i, j int) bool { return rs[i].time < rs[j].time })
}
