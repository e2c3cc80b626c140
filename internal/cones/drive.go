package cones

import (
	"context"
	"fmt"
	"math"

	"terret/internal/drive"
	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Question asks how turnouts drive a cones course.
type Question struct {
	Plan     *plan.Plan
	Course   string // "" is the plan's only one
	Turnouts []*turnout.Turnout
	Rules    Rules
	Tight    float64 // share of the clearance under which a gate is tight; 0 is DefaultTight
	Cures    bool    // look for cures of what touches; takes a second or so for each
}

// DefaultTight is the share of the clearance (gap less track) under which the
// least spare room to one side counts as tight (estimate).
const DefaultTight = 0.25

const (
	measureStep = 0.1  // m between places of a measured run
	radiusGrace = 0.99 // a line is refused below this share of the turnout's radius
)

// Drive answers the question. It ends early with the context's error: one
// turnout takes some 40 ms, a search for cures seconds.
func Drive(ctx context.Context, q Question) (*Answer, error) {
	if q.Plan == nil || len(q.Turnouts) == 0 {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "question", Message: "a plan and at least one turnout are needed"}
	}
	c, err := FindCourse(q.Plan, q.Course)
	if err != nil {
		return nil, err
	}
	if q.Tight == 0 {
		q.Tight = DefaultTight
	}
	b := Measure(q.Plan, c)
	a := &Answer{Course: c.Name, Rules: q.Rules.Name, CourseLengthM: b.Length, Checks: CheckCourse(q.Plan, c, q.Rules, q.Turnouts)}
	for _, t := range q.Turnouts {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		l := newLayout(q.Plan, c, t)
		d := l.judge(t, l.solve(t), q.Tight)
		if q.Cures {
			if err := cure(ctx, q, c, t, d); err != nil {
				return nil, err
			}
		}
		class, speed, err := SpeedOf(c, t)
		if err != nil {
			return nil, err
		}
		d.Class, d.SpeedMPerMin = class, speed
		d.TimeAllowedS = q.Rules.TimeAllowed(b.Length, speed)
		d.TimeLimitS = d.TimeAllowedS * q.Rules.LimitFactor
		a.Turnouts = append(a.Turnouts, *d)
	}
	same := true
	for i := range a.Turnouts {
		same = same && a.Turnouts[i].TimeAllowedS == a.Turnouts[0].TimeAllowedS
	}
	if same {
		a.TimeAllowedS, a.TimeLimitS = &a.Turnouts[0].TimeAllowedS, &a.Turnouts[0].TimeLimitS
	} else if speed, ok := c.SpeedMPerMin["default"]; ok {
		allowed := q.Rules.TimeAllowed(b.Length, speed)
		limit := allowed * q.Rules.LimitFactor
		a.TimeAllowedS, a.TimeLimitS = &allowed, &limit
	}
	return a, nil
}

// Touches reports whether any turnout touches anything.
func (a *Answer) Touches() bool {
	for i := range a.Turnouts {
		if a.Turnouts[i].Verdict == Touches {
			return true
		}
	}
	return false
}

// run drives a line from the start line to the finish line.
func (l *layout) run(t *turnout.Turnout, line geom.Spline) *drive.Run {
	return l.runAt(t, line, measureStep)
}

// runAt is run with places so far apart.
func (l *layout) runAt(t *turnout.Turnout, line geom.Spline, step float64) *drive.Run {
	first, last := &l.steps[0], &l.steps[len(l.steps)-1]
	from := crossing(line, first.pose, 1, 1)
	to := crossing(line, last.pose, len(line)-3, -1)
	return drive.Drive(t, line, from, to, step)
}

// crossing finds where the line goes over the line of a pose, looking from knot
// i on, or back.
func crossing(line geom.Spline, p Pose, i, way int) drive.Spot {
	d := func(i int, f float64) float64 {
		q, _, _ := line.At(i, f)
		return q.Sub(p.At).Dot(p.Dir)
	}
	for ; i >= 1 && i+2 < len(line); i += way {
		if d(i, 0) <= 0 && d(i, 1) > 0 {
			lo, hi := 0.0, 1.0
			for range 40 {
				if m := (lo + hi) / 2; d(i, m) <= 0 {
					lo = m
				} else {
					hi = m
				}
			}
			return drive.Spot{I: i, F: hi}
		}
	}
	if way > 0 {
		return drive.Spot{I: 1}
	}
	return drive.Spot{I: len(line) - 3, F: 1}
}

// judge measures a line and writes it down.
func (l *layout) judge(t *turnout.Turnout, line geom.Spline, tight float64) *TurnoutRun {
	r := l.run(t, line)
	st := r.Strain()
	d := &TurnoutRun{
		Turnout: t.Name, DrivenM: r.Length(), DrivenS: r.Time(),
		LeastRadiusLeftM: finite(st.LeastLeft), LeastRadiusRightM: finite(st.LeastRight),
		TurnedLeftDeg: deg(st.TurnedLeft), TurnedRightDeg: deg(st.TurnedRight), LargestLockDeg: deg(st.Lock),
		Verdict: Fits, Trouble: []string{}, Samples: samples(r),
	}
	pass := l.measure(r)
	for i := range l.steps {
		if !l.steps[i].flags {
			g := gateOf(&l.steps[i], &pass[i], t, tight)
			d.Verdict = worse(d.Verdict, g.Verdict)
			d.Gates = append(d.Gates, g)
		}
	}
	for _, s := range l.trouble(r, &st, &pass[len(pass)-1]) {
		d.Trouble = append(d.Trouble, s)
		d.Verdict = Touches
	}
	return d
}

// judge rules on one gate.
func judge(st *step, p *passage, t *turnout.Turnout, tight float64) (verdict, why string) {
	clearance := st.gap - t.Vehicle.Track
	least, side := p.left, "left"
	if p.right < p.left {
		least, side = p.right, "right"
	}
	part := ""
	for _, s := range p.spare {
		if s.Left == least || s.Right == least {
			part = s.Part
		}
	}
	switch {
	case !p.driven:
		return Touches, "the line does not come through it"
	case p.tooTight(t):
		return Touches, "before it " + p.turns(t)
	case least < 0:
		why = fmt.Sprintf("the %s would be over the %s cone by %s cm", part, side, up(-least*100))
		if a := p.crooked(); a < steep && !st.single {
			if need := NeededGap(t.Vehicle.Track, a, st.radius); need > st.gap {
				why += fmt.Sprintf("; %.0f° off square the track needs a gap of %s cm, there are %s", deg(a), up(need*100), down(st.gap*100))
			}
		}
		return Touches, why
	case least < tight*clearance:
		return Tight, fmt.Sprintf("the %s have %s cm beside the %s cone", part, down(least*100), side)
	}
	return Fits, ""
}

// steep is the angle off square from which on a needed gap says nothing, rad.
const steep = 1.4

// crooked is the most that an axle stands off square, in radians.
func (p *passage) crooked() (most float64) {
	for _, a := range p.axles {
		most = math.Max(most, math.Abs(a))
	}
	return most
}

// turns says which turn is too tight.
func (p *passage) turns(t *turnout.Turnout) string {
	need, may, hand := p.beforeLeft, t.Turning.Left, "left"
	if p.beforeRight/t.Turning.Right < need/may {
		need, may, hand = p.beforeRight, t.Turning.Right, "right"
	}
	return fmt.Sprintf("a turn to the %s of %.2f m radius would be needed; its least is %.2f m", hand, need, may)
}

// up and down write a number of centimetres with one decimal, so that what is
// missing is never said too small and what is there never too large.
func up(f float64) string   { return fmt.Sprintf("%.1f", math.Ceil(f*10-1e-9)/10) }
func down(f float64) string { return fmt.Sprintf("%.1f", math.Floor(f*10+1e-9)/10) }

// trouble says what a drive lacks besides room between the cones.
func (l *layout) trouble(r *drive.Run, st *drive.Strain, finish *passage) (out []string) {
	t := r.Turnout
	if finish.tooTight(t) {
		out = append(out, "before the finish "+finish.turns(t))
	}
	if !finish.driven {
		out = append(out, "the line does not come through the finish")
	}
	if t.Vehicle.Lock > 0 && st.Lock > t.Vehicle.Lock {
		out = append(out, fmt.Sprintf("it needs a lock of %.0f°, and has %.0f°", deg(st.Lock), deg(t.Vehicle.Lock)))
	}
	for _, n := range r.Nearest(l.things, t.Margin) {
		if n.Room < t.Margin {
			what := n.Thing
			if what == "outline" {
				what = "the edge of the ground"
			}
			out = append(out, fmt.Sprintf("the %s has %.0f cm beside %s, %.0f m into the drive", n.Part, n.Room*100, what, n.S))
		}
	}
	return out
}
