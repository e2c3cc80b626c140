package shape

import (
	"math"

	"terret/internal/geom"
)

// DefaultKnobs are the weights used to search; see DESIGN.md for how they were
// found.
func DefaultKnobs() Knobs {
	return Knobs{Bend: 3, Rate: 0.6, Over: 250, Room: 2000, Lock: 200, Hold: 2, Round: 1.3}
}

// startRadius is the least radius that growing starts from, m.
const startRadius = 0.8

// Pace of growing: how many stages for the radius and for the lengths, the most
// steps in each, and the most once grown.
type Pace struct{ Radius, Length, Steps, Refine int }

// The paces of a line or part that does not hold yet, of one that jumped over a
// post when it was grown so, and of a part of a line that does hold.
var (
	Careful = Pace{6, 12, 4, 20}
	Patient = Pace{10, 20, 4, 20}
	Brisk   = Pace{3, 5, 4, 6}
)

// Grow shapes a drivable line from a string of points: the string must start a
// little before In and end a little past Out. It returns the control points;
// whether they are drivable is for package drive to say.
func (s *Solver) Grow(str []geom.Vec, p Pace) geom.Spline {
	s.whole()
	s.c = resample(nil, str)
	s.grow(p)
	return append(geom.Spline(nil), s.c...)
}

// Towed is the state of the towed bodies, as unit directions from axle to hitch.
type Towed [2]geom.Vec

// Window is a part of a line to be shaped anew: a string of points, and how the
// part joins what stays of the line at either end.
type Window struct {
	String []geom.Vec
	// Head and Tail are the three control points of the line about the string's
	// first and last point, where the part joins on; they stay as they are. Nil:
	// the part starts before In, or ends past Out.
	Head, Tail []geom.Vec
	// From is the state of the bodies at the first point; nil with Head nil.
	From *Towed
}

// Part shapes a part of a line. What it returns takes the place of the control
// points from the first of Head to the last of Tail.
func (s *Solver) Part(w Window, p Pace) geom.Spline {
	s.wind, s.head, s.tail = w.From, w.Head, w.Tail
	s.c = resample(nil, w.String)
	s.join()
	s.grow(p)
	return append(geom.Spline(nil), s.c...)
}

// join puts the control points that join on to the line where they belong.
func (s *Solver) join() {
	copy(s.c, s.head)
	copy(s.c[len(s.c)-len(s.tail):], s.tail)
}

// whole makes ready to shape a line from before In to past Out.
func (s *Solver) whole() { s.wind, s.head, s.tail = nil, nil, nil }

// Settle improves a line that is already about right, in at most n steps.
func (s *Solver) Settle(line geom.Spline, n int) geom.Spline {
	s.whole()
	s.now = s.Body
	s.c = append(s.c[:0], line...)
	s.respace()
	s.refine(n)
	return append(geom.Spline(nil), s.c...)
}

func (s *Solver) grow(p Pace) {
	full := s.Body
	defer func() { s.now = full }()
	for i := 0; i <= p.Radius+p.Length; i++ {
		r := min(1, float64(i)/float64(p.Radius))
		l := max(0, float64(i-p.Radius)/float64(p.Length))
		s.now = grown(full, r, l)
		for try := 0; ; try++ {
			s.ends()
			s.refresh()
			s.findPasses()
			s.assemble(true)
			if !s.solve() {
				return
			}
			for i := range s.c {
				y := &s.b.x[i*s.m]
				*y = clamp * math.Tanh(*y/clamp)
			}
			big := s.move(1)
			s.Iterations++
			s.respace()
			if try+1 >= p.Steps || big < 0.12 {
				break
			}
		}
	}
	s.now = full
	s.refine(p.Refine)
}

// grown is the body at a share r of its radius and l of its lengths.
func grown(b Body, r, l float64) Body {
	rad := func(full float64) float64 { return startRadius + (full-startRadius)*r }
	if b.Left > startRadius {
		b.Left = rad(b.Left)
	}
	if b.Right > startRadius {
		b.Right = rad(b.Right)
	}
	b.Length[0] *= l
	b.Length[1] *= l
	b.Nose = b.Horse + max(0, b.Nose-b.Horse)*l
	b.Rump = b.Horse + max(0, b.Rump-b.Horse)*l
	return b
}

// clamp is the most one step moves a control point, m.
const clamp = 0.25

// move takes the solved step, shortened by share, and tells the largest move.
func (s *Solver) move(share float64) (big float64) {
	for i := range s.c {
		y := s.b.x[i*s.m] * share
		big = max(big, math.Abs(y))
		s.c[i] = s.c[i].Along(s.nrm[i], y)
	}
	if s.fast != nil {
		s.hasten(share)
	}
	return big
}

// stride is the share of the solved step that moves no control point by more
// than clamp.
func (s *Solver) stride() float64 {
	big := 0.0
	for i := range s.c {
		big = max(big, math.Abs(s.b.x[i*s.m]))
	}
	return min(1, clamp/big)
}

// firmly is how much more the least radius weighs once the turnout is grown.
const firmly = 4

// refine lowers the cost of a line that is grown, in at most n steps.
func (s *Solver) refine(n int) {
	hold, over := s.Knobs.Hold, s.Knobs.Over
	defer func() { s.Knobs.Hold, s.Knobs.Over = hold, over }()
	s.Knobs.Over *= firmly
	s.Knobs.Hold = min(hold, 0.5)
	s.respace()
	s.lower(n, 3e-5)
}

// look works out everything that follows from the control points.
func (s *Solver) look() {
	s.refresh()
	s.findPasses()
	if s.fast != nil {
		s.within()
	}
}

// lower takes Levenberg–Marquardt steps that lower the cost, at most n, until one
// lowers it by less than the share least. Knobs.Hold is the damping to begin with.
func (s *Solver) lower(n int, least float64) {
	s.ends()
	s.look()
	cost := s.assemble(true)
	for range n {
		if !s.solve() {
			return
		}
		s.Iterations++
		s.keep()
		share, next := s.stride(), 0.0
		tries := 0
		for ; tries < 3; tries++ {
			big := s.move(share)
			s.look()
			// The first try is mostly taken: build the next system with it.
			if next = s.assemble(tries == 0); next < cost {
				if cost-next < least*cost && big < 0.02 {
					return
				}
				break
			}
			s.back()
			share *= 0.35
		}
		switch tries {
		case 0:
			s.Knobs.Hold = max(s.Knobs.Hold/4, 0.05)
		case 1:
		case 2:
			s.Knobs.Hold *= 3
		default:
			if s.Knobs.Hold *= 10; s.Knobs.Hold > 2000 {
				return
			}
			next = cost
		}
		if s.respace() {
			s.ends()
			s.look()
			next = s.assemble(true)
		} else if tries > 0 {
			s.findPasses()
			s.assemble(true)
		}
		cost = next
	}
}

// keep remembers the line before a step; back goes back to it.
func (s *Solver) keep() {
	s.old = append(s.old[:0], s.c...)
	s.oldW = append(s.oldW[:0], s.w...)
}

func (s *Solver) back() {
	copy(s.c, s.old)
	copy(s.w, s.oldW)
	s.refresh()
}

// respace sets the control points anew when they have drifted together or apart.
func (s *Solver) respace() bool {
	n := len(s.c)
	lo, hi := math.Inf(1), 0.0
	for i := 2; i < n-1; i++ {
		d := s.c[i].Dist(s.c[i-1])
		lo, hi = min(lo, d), max(hi, d)
	}
	if lo > 0.8*Spacing && hi < 1.25*Spacing {
		return false
	}
	s.c = resample(s.c, nil)
	s.w = s.w[:0]
	s.join()
	return true
}

// resample lays control points evenly, about Spacing apart, along a spline or a
// string of points.
func resample(old geom.Spline, str []geom.Vec) geom.Spline {
	const sub = 6
	pts := str
	if old != nil {
		pts = make([]geom.Vec, 0, len(old)*sub)
		for i := 1; i+2 < len(old); i++ {
			for j := range sub {
				p, _, _ := old.At(i, float64(j)/sub)
				pts = append(pts, p)
			}
		}
		pts = append(pts, old.Knot(len(old)-2))
	}
	total := 0.0
	for i := 1; i < len(pts); i++ {
		total += pts[i].Dist(pts[i-1])
	}
	m := max(int(math.Round(total/Spacing)), 4)
	h := total / float64(m)
	even := make([]geom.Vec, 0, m+1)
	even = append(even, pts[0])
	at, want := 0.0, h
	for i := 1; i < len(pts); i++ {
		d := pts[i].Dist(pts[i-1])
		for d > 0 && at+d >= want-1e-9 && len(even) < m {
			f := (want - at) / d
			p := pts[i-1].Lerp(pts[i], f)
			if old != nil { // on the curve, not on its chord
				j := i - 1
				p, _, _ = old.At(1+j/sub, (float64(j%sub)+f)/sub)
			}
			even = append(even, p)
			want += h
		}
		at += d
	}
	even = append(even, pts[len(pts)-1])
	if old != nil {
		return geom.Through(even)
	}
	// A string has corners: round them a little first, keeping the ends.
	for range 2 {
		prev := even[0]
		for i := 1; i+1 < len(even); i++ {
			p := even[i]
			even[i] = prev.Add(even[i+1]).Mul(0.25).Along(p, 0.5)
			prev = p
		}
	}
	return geom.Through(even)
}
