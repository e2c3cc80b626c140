package cones

import (
	"math"
	"slices"

	"terret/internal/drive"
	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/shape"
	"terret/internal/turnout"
)

const (
	// liveSteps of the solver are taken for each frame; what is left over comes
	// with the next.
	liveSteps = 3
	// A gate that has moved or turned further than this since the last frame is
	// not followed: the line is made anew, in haste.
	liveMove = 4.0 // m
	liveTurn = 45 * math.Pi / 180
	// liveStep is the distance of places of the measure while following, m.
	liveStep = 0.2
	// liveReach is how many gates before and behind a moved one the line is bent.
	liveReach = 2
)

// still shapes a part that is about right already: nothing is grown.
var still = shape.Pace{Length: -1, Refine: liveSteps}

// Live follows a course while it is edited: it keeps one turnout's line and
// bends it along. It is not for use by several goroutines at once.
type Live struct {
	course string
	t      *turnout.Turnout
	rules  Rules
	tight  float64
	l      *layout
	line   geom.Spline
	ask    []float64 // shares of the room that the line was made with
	run    *drive.Run
	nom    *layout // as the builder finds the course
	built  *Built
}

// Frame is what a page shows while a gate is dragged.
type Frame struct {
	CourseLengthM float64
	TimeAllowedS  float64
	DrivenM       float64
	DrivenS       float64
	Line          []geom.Vec // of the lead point, some 0.5 m apart
	Gates         []Gate     // without cures
	Verdict       string
	// Followed reports that the line was bent along and not made anew. It is then
	// as good as a few steps make it: ask Rest once nothing moves any more.
	Followed bool
}

// NewLive makes the line of one turnout; q.Turnouts must hold just one.
func NewLive(q Question) (*Live, error) {
	if q.Plan == nil || len(q.Turnouts) != 1 {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "question", Message: "a plan and one turnout are needed"}
	}
	c, err := FindCourse(q.Plan, q.Course)
	if err != nil {
		return nil, err
	}
	if q.Tight == 0 {
		q.Tight = DefaultTight
	}
	v := &Live{course: q.Course, t: q.Turnouts[0], rules: q.Rules, tight: q.Tight}
	v.anew(q.Plan, c, false)
	v.run = v.l.runAt(v.t, v.line, liveStep)
	return v, nil
}

func (v *Live) anew(p *plan.Plan, c *plan.Course, hasty bool) {
	v.l = newLayout(p, c, v.t)
	best := v.l.best(v.t, hasty)
	v.line, v.ask = best.line, best.ask
	v.nom, v.built = nil, nil
}

// Rest makes the line of the plan as well as it can be made, for when nothing
// moves any more.
func (v *Live) Rest(p *plan.Plan) (*Frame, error) {
	c, err := FindCourse(p, v.course)
	if err != nil {
		return nil, err
	}
	v.anew(p, c, false)
	return v.frame(p, c, false)
}

// Follow bends the line along with an edited plan.
func (v *Live) Follow(p *plan.Plan) (*Frame, error) {
	c, err := FindCourse(p, v.course)
	if err != nil {
		return nil, err
	}
	l := newLayout(p, c, v.t)
	lo, hi, ok := v.moved(l)
	if !ok {
		v.anew(p, c, true)
		return v.frame(p, c, false)
	}
	if lo <= hi {
		v.line = l.ease(v.part(l, v.bent(l), lo, hi), v.t)
	}
	v.l = l
	return v.frame(p, c, true)
}

// moved tells the first and the last step that are not where they were, or not
// as wide; ok is false when that is more than can be followed. Where nothing has
// moved the whole line is looked after.
func (v *Live) moved(l *layout) (lo, hi int, ok bool) {
	old := v.l
	if len(old.steps) != len(l.steps) || len(old.things) != len(l.things) {
		return 0, 0, false
	}
	lo, hi = len(l.steps), -1
	for i := range l.steps {
		a, b := &old.steps[i], &l.steps[i]
		if a.name != b.name || a.single != b.single || a.side != b.side ||
			a.pose.At.Dist(b.pose.At) > liveMove || math.Abs(angle(a.pose.Dir, b.pose.Dir)) > liveTurn {
			return 0, 0, false
		}
		if a.pose != b.pose || a.gap != b.gap {
			lo, hi = min(lo, i), i
		}
	}
	if hi < 0 {
		return 0, len(l.steps) - 1, true
	}
	return lo, hi, true
}

// part bends the line from some steps before lo to some behind hi.
func (v *Live) part(l *layout, line geom.Spline, lo, hi int) geom.Spline {
	s := l.scene(v.t, v.ask)
	s.Knobs.Over = firm
	cuts := l.cuts(line)
	n := len(line)
	first, last := 1, n-2 // knots
	w := shape.Window{}
	if i := lo - liveReach; i > 0 {
		first = max(cuts[i], 2)
		w.Head = slices.Clone(line[first-1 : first+2])
		w.From = v.towed(line.Knot(first))
	}
	if i := hi + liveReach; i < len(cuts)-1 {
		last = min(cuts[i], n-3)
		w.Tail = slices.Clone(line[last-1 : last+2])
	}
	if w.Head == nil && w.Tail == nil || last-first < 8 {
		return s.Settle(line, liveSteps)
	}
	for i := first; i <= last; i++ {
		w.String = append(w.String, line.Knot(i))
	}
	out := slices.Clone(line[:first-1])
	out = append(out, s.Part(w, still)...)
	return append(out, line[last+2:]...)
}

// towed is how the bodies stood when the lead point was last nearest to a point.
func (v *Live) towed(p geom.Vec) *shape.Towed {
	best, d := 0, math.Inf(1)
	for i := range v.run.Places {
		if e := v.run.Places[i].Lead.Sub(p).Len2(); e < d {
			best, d = i, e
		}
	}
	q := &v.run.Places[best]
	return &shape.Towed{q.Tow, q.Body}
}

// bent carries the line with the steps that have moved or turned, each fading
// out towards the steps before and after it.
func (v *Live) bent(l *layout) geom.Spline {
	old := v.l
	c := slices.Clone(v.line)
	cuts := old.cuts(v.line)
	n := len(cuts)
	for i := range l.steps {
		a, b := &old.steps[i], &l.steps[i]
		if a.pose == b.pose {
			continue
		}
		lo, mid, hi := 0, cuts[i], len(c)-1
		if i > 0 {
			lo = cuts[i-1]
		}
		if i+1 < n {
			hi = cuts[i+1]
		}
		for j := lo; j <= hi; j++ {
			f := 1.0
			if j < mid && i > 0 {
				f = float64(j-lo) / float64(max(mid-lo, 1))
			} else if j > mid && i+1 < n {
				f = float64(hi-j) / float64(max(hi-mid, 1))
			}
			f = f * f * (3 - 2*f)
			d := v.line[j].Sub(a.pose.At)
			to := b.pose.At.Along(b.pose.Dir, d.Dot(a.pose.Dir)).Along(b.pose.Dir.Right(), d.Dot(a.pose.Dir.Right()))
			c[j] = c[j].Along(to.Sub(v.line[j]), f)
		}
	}
	return c
}

// frame measures the line.
func (v *Live) frame(p *plan.Plan, c *plan.Course, followed bool) (*Frame, error) {
	_, speed, err := SpeedOf(c, v.t)
	if err != nil {
		return nil, err
	}
	nom := newLayout(p, c, nil)
	v.built = measureAgain(v.nom, v.built, nom)
	v.nom = nom
	b := v.built
	r := v.l.runAt(v.t, v.line, liveStep)
	v.run = r
	f := &Frame{CourseLengthM: b.Length, TimeAllowedS: v.rules.TimeAllowed(b.Length, speed), DrivenM: r.Length(), DrivenS: r.Time(), Verdict: Fits, Followed: followed}
	pass := v.l.measure(r)
	for i := range v.l.steps {
		if !v.l.steps[i].flags {
			g := gateOf(&v.l.steps[i], &pass[i], v.t, v.tight)
			f.Verdict = worse(f.Verdict, g.Verdict)
			f.Gates = append(f.Gates, g)
		}
	}
	last := math.Inf(-1)
	for i := range r.Places {
		if q := &r.Places[i]; q.S-last >= 0.5 || i+1 == len(r.Places) {
			f.Line = append(f.Line, q.Lead)
			last = q.S
		}
	}
	st := r.Strain()
	if len(v.l.trouble(r, &st, &pass[len(pass)-1])) > 0 {
		f.Verdict = Touches
	}
	return f, nil
}

// worse is the worse of two verdicts.
func worse(a, b string) string {
	if a == Touches || b == Touches {
		return Touches
	}
	if a == Tight || b == Tight {
		return Tight
	}
	return Fits
}
