package cones

import (
	"math"

	"terret/internal/geom"
	"terret/internal/shape"
	"terret/internal/turnout"
)

const (
	// feetShare is the width from outside of hoof to outside of hoof of one horse
	// as a share of its body's width (estimate).
	feetShare = 0.6
	// runIn is how much straight line stands before the start and behind the
	// finish, m.
	runIn = 2.0
	// aim is how far before and behind a pair the first string goes straight, m.
	aim = 1.0
	// askRadius and askRoom are a little more than the measure will ask, for the
	// solver looks only every half metre.
	askRadius = 1.015
	askRoom   = 0.02
)

// body is the turnout as the solver meets cones: wheels and feet at the ground.
// What stands higher asks for the more that bodies are wider, see scene.
func body(t *turnout.Turnout) shape.Body {
	b := shape.BodyOf(t)
	b.Hub, b.Width = t.Vehicle.Track/2, 0
	b.Horse *= feetShare
	b.Left *= askRadius
	b.Right *= askRadius
	b.Room += askRoom
	return b
}

// taller is how much wider the turnout is above the cones than at the ground, m:
// hubs than tyres, a horse than its feet.
func taller(t *turnout.Turnout) float64 {
	return max(0, t.HalfWidth()-t.Vehicle.Track/2, t.Horse.Width*(1-feetShare)/2)
}

// scene readies a solver for a layout and a turnout. ask is the share of half the
// clearance that is asked for beside each step's cones; nil is all of it.
func (l *layout) scene(t *turnout.Turnout, ask []float64) *shape.Solver {
	s := &shape.Solver{Body: body(t), Knobs: shape.DefaultKnobs()}
	first, last := &l.steps[0], &l.steps[len(l.steps)-1]
	s.In, s.Out = first.line(), last.line()
	more := taller(t)
	for i := range l.rest {
		for _, c := range l.rest[i].cones() {
			s.Discs = append(s.Discs, shape.Disc{At: c, R: l.rest[i].radius})
		}
	}
	for i := range l.steps {
		st := &l.steps[i]
		for _, c := range st.cones() {
			// Asking for half the clearance on both sides puts the wheels in the
			// middle, and two axles and a horse in the middle make the line square.
			spare := max(st.gap/2-s.Body.Hub, askRoom)
			if ask != nil {
				spare = max(spare*ask[i], askRoom)
			}
			r := st.radius + spare - s.Body.Room
			s.Discs = append(s.Discs, shape.Disc{At: c, R: r})
		}
	}
	discs, walls := shape.Ground(l.things, more)
	s.Discs, s.Walls = append(s.Discs, discs...), append(s.Walls, walls...)
	return s
}

// str lays arcs and straights through every step, for the solver to start from;
// wider is how much wider than the turnout must, on its worse hand, it turns.
func (l *layout) str(t *turnout.Turnout, wider float64) geom.Spline {
	w := l.newTerrain(t.HalfWidth() + t.Margin)
	radius := max(t.Turning.Left, t.Turning.Right) * wider
	n := len(l.steps)
	pts := []geom.Vec{l.steps[0].pose.At.Along(l.steps[0].pose.Dir, -runIn)}
	put := func(q geom.Vec) {
		if q.Dist(pts[len(pts)-1]) > 1e-6 {
			pts = append(pts, q)
		}
	}
	put(l.steps[0].pose.At)
	for i := 1; i < n; i++ {
		a, b := &l.steps[i-1], &l.steps[i]
		e := min(aim, 0.3*a.pose.At.Dist(b.pose.At))
		from, to := Pose{a.pose.At.Along(a.pose.Dir, e), a.pose.Dir}, Pose{b.pose.At.Along(b.pose.Dir, -e), b.pose.Dir}
		for _, p := range w.leg(from, to, i-1, i, radius) {
			for q := range p.along(0.25) {
				put(q)
			}
		}
		put(b.pose.At)
	}
	last := l.steps[n-1].pose
	put(last.At.Along(last.Dir, runIn))
	return geom.Through(evenly(pts, shape.Spacing))
}

// evenly lays points at even distances along a string, its ends kept.
func evenly(pts []geom.Vec, spacing float64) []geom.Vec {
	total := 0.0
	for i := 1; i < len(pts); i++ {
		total += pts[i].Dist(pts[i-1])
	}
	m := max(int(math.Round(total/spacing)), 4)
	h := total / float64(m)
	out := make([]geom.Vec, 0, m+1)
	out = append(out, pts[0])
	at := 0.0
	for i := 1; i < len(pts); i++ {
		d := pts[i].Dist(pts[i-1])
		for want := h * float64(len(out)); len(out) < m && want <= at+d; want = h * float64(len(out)) {
			out = append(out, pts[i-1].Lerp(pts[i], (want-at)/d))
		}
		at += d
	}
	return append(out, pts[len(pts)-1])
}

// How a line is solved: first asking for wheels in the middle of every pair. When
// that turns too tight or touches something, it is begun again from the arcs and
// straights with less room asked for where the trouble is, so that what room
// there is goes where it is needed.
const (
	firstSteps = 25
	moreSteps  = 40
	fewSteps   = 8
	// hopeless is the number of steps in trouble from which on a line is not begun
	// again: the course is not one for this turnout.
	hopeless = 20
	// firm is the weight of the least radius. The radius is the turnout's and
	// cannot be helped, room between cones is what is asked.
	firm = 800
)

// goes are the ways of beginning again: from a string so much wider than the
// turnout must turn, with shares of the room asked for at the steps in trouble
// and at those next to them.
var goes = []struct{ wider, trouble, beside float64 }{
	{1.2, 0.25, 0.5},
	{1.5, 0.1, 0.5},
	{1, 0.1, 0.25},
	{1.35, 0.05, 0.1},
}

// wider is the first string's.
const wider = 1.2

// solve makes the line that the turnout drives.
func (l *layout) solve(t *turnout.Turnout) geom.Spline { return l.best(t, false).line }

// best keeps the best of several lines; hasty takes fewer.
func (l *layout) best(t *turnout.Turnout, hasty bool) trial {
	bend := func(line geom.Spline, ask []float64, steps int) trial {
		s := l.scene(t, ask)
		s.Knobs.Over = firm
		c := l.trial(t, s.Settle(line, steps))
		if c.bad > 0 {
			c = better(c, l.trial(t, l.ease(c.line, t)))
		}
		if c.bad > 0 && c.least >= 0 { // only the radius
			s.Knobs.Over *= 5
			s.Body.Left *= askRadius
			s.Body.Right *= askRadius
			c = better(c, l.trial(t, l.ease(s.Settle(halfOn(c.line), firstSteps), t)))
		}
		c.ask = ask
		return c
	}
	best := bend(l.str(t, wider), nil, firstSteps)
	if best.bad == 0 {
		return best
	}
	// The first go may only have been short of steps.
	most := 1
	if !hasty {
		most = len(goes)
		best = better(best, bend(halfOn(best.line), nil, moreSteps))
	}
	if best.troubled() > hopeless {
		return best
	}
	for _, g := range goes[:most] {
		if best.bad == 0 {
			break
		}
		ask := make([]float64, len(l.steps))
		for i := range ask {
			ask[i] = 1
		}
		for i, w := range best.where {
			if w == 0 {
				continue
			}
			for j := max(i-1, 0); j <= min(i+1, len(ask)-1); j++ {
				ask[j] = min(ask[j], g.beside)
			}
		}
		for i, w := range best.where {
			if w > 0 {
				ask[i] = g.trouble
			}
		}
		next := bend(l.str(t, g.wider), ask, moreSteps)
		if !hasty && next.bad > 0 {
			// It may do where the best line did not, and fail where that did: take
			// the good of both.
			if mixed, ok := l.graft(best, next); ok {
				next = better(next, l.trial(t, l.ease(mixed, t)))
				next = better(next, bend(halfOn(mixed), ask, fewSteps))
			}
		}
		if best = better(best, next); next.bad == 0 && !hasty { // it goes: now with as much room as can be
			for i := range ask {
				ask[i] = min(1, 2*ask[i])
			}
			best = better(best, bend(next.line, ask, moreSteps))
		}
	}
	return best
}

// troubled counts the steps at which a line fails.
func (c *trial) troubled() (n int) {
	for _, w := range c.where {
		if w > 0 {
			n++
		}
	}
	return n
}

// better is the line that fails less, or has more room.
func better(a, b trial) trial {
	if b.bad < a.bad || b.bad == a.bad && b.least > a.least {
		return b
	}
	return a
}

// halfOn is the same line with its knots moved on by half a step. The solver
// looks at wheels only at knots; where it is stuck between two wishes because a
// wheel comes into view and goes, other knots see it otherwise.
func halfOn(line geom.Spline) geom.Spline {
	pts := make([]geom.Vec, 0, len(line))
	for i := 1; i+2 < len(line); i++ {
		p, _, _ := line.At(i, 0.5)
		pts = append(pts, p)
	}
	return geom.Through(pts)
}

// graft puts the stretches of one line that fail less into another: from the
// gate before the trouble to the gate behind it.
func (l *layout) graft(into, from trial) (line geom.Spline, ok bool) {
	n := len(l.steps)
	take := make([]bool, n) // of the leg that ends at step i
	for i := 0; i < n; i++ {
		if into.where[i] == 0 {
			continue
		}
		lo, hi := max(i-1, 0), min(i+1, n-1)
		sum := 0.0
		for j := lo; j <= hi; j++ {
			sum += from.where[j] - into.where[j]
		}
		if sum < 0 {
			ok = true
			for j := lo + 1; j <= min(hi+1, n-1); j++ {
				take[j] = true
			}
		}
	}
	if !ok {
		return nil, false
	}
	a, b := l.cuts(into.line), l.cuts(from.line)
	knots := []geom.Vec{}
	put := func(s geom.Spline, lo, hi int) {
		for i := lo; i < hi; i++ {
			knots = append(knots, s.Knot(i))
		}
	}
	put(into.line, 1, a[0])
	for i := 1; i < n; i++ {
		if take[i] {
			put(from.line, b[i-1], b[i])
		} else {
			put(into.line, a[i-1], a[i])
		}
	}
	put(into.line, a[n-1], len(into.line)-1)
	return spaced(geom.Through(knots)), true
}

// spaced is the same line with its knots at even distances: where they stand
// together and apart the curvature between them does as it likes.
func spaced(line geom.Spline) geom.Spline {
	const fine = 16
	pts := make([]geom.Vec, 0, fine*len(line))
	for i := 1; i+2 < len(line); i++ {
		for j := range fine {
			p, _, _ := line.At(i, float64(j)/fine)
			pts = append(pts, p)
		}
	}
	pts = append(pts, line.Knot(len(line)-2))
	return geom.Through(evenly(pts, shape.Spacing))
}

// cuts are the first knots of a line past each step.
func (l *layout) cuts(line geom.Spline) []int {
	out := make([]int, len(l.steps))
	at := 1
	for i := range l.steps {
		st := &l.steps[i]
		near, best := at, math.Inf(1)
		for j := at; j+1 < len(line); j++ {
			p := line.Knot(j)
			if p.Sub(st.pose.At).Dot(st.pose.Dir) <= 0 {
				continue
			}
			if d := p.Dist(st.pose.At); d < best {
				near, best = j, d
			} else if best < 2 && d > best+3 {
				break // past it
			}
		}
		at = near
		out[i] = near
	}
	return out
}

// trial is a line and how badly it fails.
type trial struct {
	line  geom.Spline
	ask   []float64 // that it was made with; nil: all of the room
	pass  []passage
	bad   float64   // room missing in metres and radius missing as a share; 0: it is driven
	where []float64 // the same at each step
	least float64   // m, least room at any cone
}

// trial measures a line.
func (l *layout) trial(t *turnout.Turnout, line geom.Spline) trial {
	r := l.run(t, line)
	pass := l.measure(r)
	c := trial{line: line, pass: pass, where: make([]float64, len(pass)), least: math.Inf(1)}
	for i := range pass {
		p := &pass[i]
		c.least = min(c.least, p.least())
		w := max(0, -p.least())
		if !p.driven {
			w += 3
		}
		tight := max(t.Turning.Left*radiusGrace/p.beforeLeft, t.Turning.Right*radiusGrace/p.beforeRight) - 1
		if tight > 0 {
			w += tight
			if i > 0 {
				c.where[i-1] += tight
			}
		}
		c.where[i] += w
		c.bad += w
	}
	if n := r.Clear(l.things, t.Margin); n.Room < t.Margin { // some thing is too near
		c.bad += t.Margin - n.Room
	}
	return c
}

// tooTight reports whether the line up to a step turns tighter than the turnout
// can.
func (p *passage) tooTight(t *turnout.Turnout) bool {
	return p.beforeLeft < t.Turning.Left*radiusGrace || p.beforeRight < t.Turning.Right*radiusGrace
}
