package survey

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
)

const (
	// DefaultTape is the tape people have, m.
	DefaultTape = 50.
	// weakDeg is the crossing below which a fix is weak: its error is twice that of
	// a square one.
	weakDeg = 30
	// noFixDeg is the crossing below which it is none.
	noFixDeg = 20
	// sideStep is how far apart places along a side of the ground are tried, m:
	// tapes are marked boldly every ten.
	sideStep = 10
	// mostSpots bounds how many places are tried as pegs.
	mostSpots = 120
	// mostMore is how many further pegs are proposed: R to Z.
	mostMore = 9
)

// Peg is a known place that tapes are held at.
type Peg struct {
	Name string
	At   geom.Vec
	Why  string
}

// spot is a place that could be a peg.
type spot struct {
	at     geom.Vec
	what   string
	corner bool
}

// crossing is the angle at s between the lines to p and q, from 0° to 90°: the
// angle at which the two arcs cross.
func crossing(p, q, s geom.Vec) float64 {
	u, v := p.Sub(s), q.Sub(s)
	return math.Atan2(math.Abs(u.Cross(v)), math.Abs(u.Dot(v))) * 180 / math.Pi
}

// spots are the places a tape can be held at that people find on the ground:
// its corners, and whole tens of metres along its sides; for an arena, which may
// stand anywhere in a field, its own.
func spots(p *plan.Plan, l *layout) []spot {
	outline := p.Ground.Outline
	name := func(i int) string { return "the corner of the ground at " + place(outline[i]) }
	if l.arena != nil {
		outline = l.arena.outline
		name = func(i int) string { return l.arena.names[i] + " of the arena" }
	}
	var out []spot
	var round float64
	n := len(outline)
	for i := range outline {
		round += outline.Edge(i).Len()
		a, b := outline[i].Sub(outline[(i+n-1)%n]).Unit(), outline.Edge(i).B.Sub(outline[i]).Unit()
		if math.Abs(a.Cross(b)) > 0.17 || a.Dot(b) < 0 { // a bend of 10° is a corner
			out = append(out, spot{outline[i], name(i), true})
		}
	}
	// A ground drawn with a hundred bends: as many of them as there is room for,
	// evenly.
	if len(out) > mostSpots/2 {
		few := make([]spot, mostSpots/2)
		for i := range few {
			few[i] = out[i*len(out)/len(few)]
		}
		out = few
	}
	step := sideStep * math.Ceil(round/sideStep/float64(mostSpots/2))
	for i := range outline {
		e := outline.Edge(i)
		for m := step; m < e.Len()-sideStep/2; m += step {
			j := (i + 1) % n
			out = append(out, spot{e.A.Along(e.B.Sub(e.A).Unit(), m), fmt.Sprintf("%s m from %s, along the side to %s", whole(m), name(i), strings.TrimPrefix(name(j), "the corner of the ground at ")), false})
		}
	}
	return out
}

// place writes a point for people.
func place(v geom.Vec) string {
	return fmt.Sprintf("(%s, %s)", strconv.FormatFloat(round2(v.X), 'f', -1, 64), strconv.FormatFloat(round2(v.Y), 'f', -1, 64))
}

func round2(f float64) float64 { return math.Round(f*100)/100 + 0 }

func whole(f float64) string { return strconv.FormatFloat(f, 'f', 0, 64) }

// reach is how well a pair of pegs serves the sites.
type reach struct {
	none, weak, beyond int     // sites with no fix, with a weak one, out of the tape's reach
	flattest           float64 // crossing, degrees
	longest            float64 // tape, m
	rms                float64 // of √2/sin γ
	left               int     // sites left of the line from P to Q
	cost               float64
}

func serve(p, q spot, sites []Site, tape float64) reach {
	r := reach{flattest: 90}
	line := q.at.Sub(p.at)
	count := 0
	for _, s := range sites {
		if s.At.Dist(p.at) < samePlace || s.At.Dist(q.at) < samePlace {
			continue // it is the peg
		}
		count++
		g := crossing(p.at, q.at, s.At)
		far := math.Max(s.At.Dist(p.at), s.At.Dist(q.at))
		switch {
		case g < noFixDeg:
			r.none++
		case g < weakDeg:
			r.weak++
		case far > tape:
			r.beyond++
		}
		r.flattest, r.longest = math.Min(r.flattest, g), math.Max(r.longest, far)
		e := math.Sqrt2 / math.Max(math.Sin(g*math.Pi/180), 0.1)
		r.rms += e * e
		if line.Cross(s.At.Sub(p.at)) > 0 {
			r.left++
		}
	}
	if count == 0 {
		return r
	}
	n := float64(count)
	r.rms = math.Sqrt(r.rms / n)
	// A point without a fix outweighs everything, then weak ones, then those beyond
	// the tape; among pairs alike the steeper crossings, all points on one side
	// (where the two arcs cross only once on the ground that is used), corners, and
	// a baseline that the tape spans.
	r.cost = 200*float64(r.none)/n + 60*float64(r.weak)/n + 15*float64(r.beyond)/n + r.rms
	if r.left > 0 && r.left < count {
		r.cost++
	}
	for _, s := range []spot{p, q} {
		if !s.corner {
			r.cost += 0.25
		}
	}
	if line.Len() > tape {
		r.cost += 0.5
	}
	return r
}

// propose chooses P and Q, and further pegs for what they serve badly.
func propose(p *plan.Plan, l *layout, tape float64) []Peg {
	all := spots(p, l)
	var best reach
	bi, bk, tried := -1, -1, 0
	for i := range all {
		for k := i + 1; k < len(all); k++ {
			if all[i].at.Dist(all[k].at) < 1 {
				continue
			}
			tried++
			if r := serve(all[i], all[k], l.sites, tape); bi < 0 || r.cost < best.cost-1e-9 {
				best, bi, bk = r, i, k
			}
		}
	}
	if bi < 0 { // an outline of less than a metre
		bi, bk = 0, len(all)-1
	}
	pegs := []Peg{{"P", all[bi].at, all[bi].what}, {"Q", all[bk].at, all[bk].what}}
	pegs[1].Why += "; " + best.says(tried, tape)
	if l.arena != nil {
		pegs[1].Why += fmt.Sprintf("; the arena will lie where these two put it: first P, then Q %.2f m from it", pegs[0].At.Dist(pegs[1].At))
	}
	return append(pegs, further(all, pegs, l.sites, tape)...)
}

// says is why a pair was chosen.
func (r reach) says(tried int, tape float64) string {
	s := fmt.Sprintf("the best of %d pairs looked at: arcs cross at %s° or steeper, tapes up to %.1f m", tried, whole(math.Floor(r.flattest)), r.longest)
	if c := r.none + r.weak; c > 0 {
		s += fmt.Sprintf(", flatter than %d° at %s", weakDeg, points(c))
	}
	if r.beyond > 0 {
		s += fmt.Sprintf(", %s beyond the %s m tape", points(r.beyond), whole(tape))
	}
	return s
}

func points(n int) string {
	if n == 1 {
		return "1 point"
	}
	return fmt.Sprintf("%d points", n)
}

// good reports whether a pair of pegs fixes s well within the tape's reach.
func good(p, q, s geom.Vec, tape float64) bool {
	return s.Dist(p) <= tape && s.Dist(q) <= tape && crossing(p, q, s) >= weakDeg
}

// further proposes more pegs while they give sites a good fix that have none:
// one at a time, or two where one alone helps nothing.
func further(all []spot, pegs []Peg, sites []Site, tape float64) []Peg {
	var wanting []geom.Vec
	for _, s := range sites {
		if s.At.Dist(pegs[0].At) >= samePlace && s.At.Dist(pegs[1].At) >= samePlace && !good(pegs[0].At, pegs[1].At, s.At, tape) {
			wanting = append(wanting, s.At)
		}
	}
	have := []geom.Vec{pegs[0].At, pegs[1].At}
	var more []Peg
	add := func(spots ...spot) {
		before := len(wanting)
		for _, s := range spots {
			have = append(have, s.at)
		}
		wanting = slices.DeleteFunc(wanting, func(w geom.Vec) bool { return fixed(have, w, tape) })
		first := len(more)
		name := func(i int) string { return string(rune('R' + first + i)) }
		for i, s := range spots {
			why := fmt.Sprintf("%s (%.2f m from P, %.2f m from Q); gives %s more a good fix within the tape", s.what, s.at.Dist(pegs[0].At), s.at.Dist(pegs[1].At), points(before-len(wanting)))
			if len(spots) > 1 {
				why += ", with " + name(1-i)
			}
			more = append(more, Peg{name(i), s.at, why})
		}
	}
	for len(more) < mostMore && len(wanting) > 0 {
		one, served := -1, 0
		for i, c := range all {
			if n := count(wanting, func(w geom.Vec) bool { return withOne(have, c.at, w, tape) }); n > served {
				one, served = i, n
			}
		}
		// Two at once where each of them serves more than one alone.
		bi, bk, both := -1, -1, 2*served
		for i := range all {
			for k := i + 1; k < len(all) && len(more)+2 <= mostMore; k++ {
				if n := count(wanting, func(w geom.Vec) bool { return good(all[i].at, all[k].at, w, tape) }); n > both {
					bi, bk, both = i, k, n
				}
			}
		}
		switch {
		case bi >= 0:
			add(all[bi], all[bk])
		case one >= 0:
			add(all[one])
		default:
			return more
		}
	}
	return more
}

// count is how many of the places a test holds for.
func count(places []geom.Vec, holds func(geom.Vec) bool) int {
	n := 0
	for _, v := range places {
		if holds(v) {
			n++
		}
	}
	return n
}

// fixed reports whether any two of the pegs fix s well.
func fixed(pegs []geom.Vec, s geom.Vec, tape float64) bool {
	for i := range pegs {
		if withOne(pegs[:i], pegs[i], s, tape) {
			return true
		}
	}
	return false
}

// withOne reports whether c together with one of the pegs fixes s well.
func withOne(pegs []geom.Vec, c, s geom.Vec, tape float64) bool {
	for _, p := range pegs {
		if good(p, c, s, tape) {
			return true
		}
	}
	return false
}
