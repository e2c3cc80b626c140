// Package hazard plans a hazard: every different legal way a turnout can drive
// it, the quickest line of each, and why.
//
// # How
//
//  1. The gates in play become steps: In, A, B, …, Out. Between two steps lies
//     a leg; on it the lines still live, and In and Out, are closed.
//  2. Package taut pulls strings tight through each leg: each taut string is one
//     way round (file legs.go).
//  3. One choice of string for each leg, sewn together (sew.go), is made
//     drivable by package shape and measured by package drive (route.go).
//  4. Strings are exchanged leg by leg as long as the driven time falls
//     (choose.go): the shortest string is not always the quickest drive, and
//     every exchange tried is one more way to show.
//  5. What a driver would call the same way is shown once (ways.go).
//
// A route is shown only when it has passed the measure of drive and the gate
// order of this file, neither of which knows how the line was found.
//
// Forward driving only. Ground is taken as level and firm.
package hazard

import (
	"fmt"
	"math"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Question asks for the ways of one turnout through one hazard.
type Question struct {
	Plan    *plan.Plan
	Hazard  string // "" is the plan's only one
	Turnout *turnout.Turnout
	Through string // last letter in play; "" is the last there is
	For     string // class, for gates that are only for some
	Most    int    // routes to show; 0 is 10
	// Progress, when not nil, is told how far the work has come.
	Progress func(done, of int, what string)
}

// step is one required crossing.
type step struct {
	name string // "in", "A" … , "out"
	line int    // index into task.lines
	dir  float64
	mid  geom.Vec
	fwd  geom.Vec
}

// line is one physical gate line: the segment between two markers' inner faces.
type line struct {
	seg   geom.Seg // inner face to inner face
	posts geom.Seg // centre to centre
	fwd   geom.Vec // the direction called +1
	last  int      // the last step that needs it
	ring  bool     // In or Out: closed but for its own step
	names []string
}

// task is a question made ready: what the search, the drive and the judge of
// gate order share.
type task struct {
	q     Question
	h     *plan.Hazard
	t     *turnout.Turnout
	obs   []plan.Obstacle
	steps []step
	lines []line
	last  string // the last letter in play
}

// newTask reads the question.
func newTask(q Question) (*task, error) {
	if q.Plan == nil || q.Turnout == nil {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "question", Message: "a plan and a turnout are needed"}
	}
	h, err := q.Plan.Hazard(q.Hazard)
	if err != nil {
		return nil, err
	}
	k := &task{q: q, h: h, t: q.Turnout, obs: q.Plan.Obstacles(h)}
	var letters []string
	for _, g := range h.Gates {
		if g.Is(q.For) {
			letters = append(letters, g.Letter)
		}
	}
	k.last = q.Through
	if k.last == "" && len(letters) > 0 {
		for _, l := range letters {
			k.last = max(k.last, l)
		}
	}
	found := q.Through == ""
	k.add("in", h.In, true)
	for c := 'A'; c <= 'Z'; c++ {
		for _, g := range h.Gates {
			if g.Letter != string(c) || !g.Is(q.For) || g.Letter > k.last {
				continue
			}
			k.add(g.Letter, g.Pair, false)
			found = found || g.Letter == q.Through
		}
	}
	k.add("out", h.Out, true)
	if !found {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "through", Message: fmt.Sprintf("hazard %q has no gate %q in play", h.Name, q.Through), Hint: "its letters are " + strings.Join(letters, ", ")}
	}
	return k, nil
}

// add appends one required crossing.
func (k *task) add(name string, p plan.Pair, ring bool) {
	s := step{name: name, mid: p.Mid(), fwd: p.Forward(), dir: 1}
	s.line = -1
	for i, l := range k.lines {
		switch {
		case l.posts.A == p.Left && l.posts.B == p.Right:
			s.line = i
		case l.posts.A == p.Right && l.posts.B == p.Left:
			s.line, s.dir = i, -1
		}
	}
	if s.line < 0 {
		s.line = len(k.lines)
		k.lines = append(k.lines, line{seg: p.Line(k.h.MarkerRadius), posts: geom.Seg{A: p.Left, B: p.Right}, fwd: s.fwd})
	}
	l := &k.lines[s.line]
	l.last = len(k.steps)
	l.ring = l.ring || ring
	l.names = append(l.names, name)
	k.steps = append(k.steps, s)
}

// closed is the set of lines that a leg towards step s may not cross.
func (k *task) closed(s int) (mask uint64) {
	for i, l := range k.lines {
		if l.ring || l.last >= s {
			mask |= 1 << i
		}
	}
	return mask
}

// crossing is one crossing of a gate line by the lead point.
type crossing struct {
	line    int
	forward bool    // in the line's +1 direction
	f       float64 // share of the piece
}

// crossings lists where the straight piece a→b crosses gate lines, in order. A
// piece that starts exactly on a line has crossed it before; one that ends
// exactly on it crosses it now: so each passage counts once.
func (k *task) crossings(buf []crossing, a, b geom.Vec) []crossing {
	buf = buf[:0]
	for i := range k.lines {
		l := &k.lines[i]
		o := l.seg.A
		da, db := a.Sub(o).Dot(l.fwd), b.Sub(o).Dot(l.fwd)
		if !(da < 0 && db >= 0) && !(da >= 0 && db < 0) {
			continue
		}
		f := da / (da - db)
		x := a.Lerp(b, f).Sub(o)
		e := l.seg.B.Sub(l.seg.A)
		if t := x.Dot(e); t < 0 || t > e.Len2() {
			continue
		}
		buf = append(buf, crossing{i, db >= 0, f})
		for j := len(buf) - 1; j > 0 && buf[j].f < buf[j-1].f; j-- {
			buf[j], buf[j-1] = buf[j-1], buf[j]
		}
	}
	return buf
}

// judge is the gate order: the next step that is owed.
type judge struct {
	k *task
	s int
}

// ruling is what one crossing was.
type ruling struct {
	name    string
	was     string // "due", "live", "dead"
	forward bool
	bad     string // why it is not allowed; "" when it is
}

// pass takes one crossing.
func (j *judge) pass(c crossing) ruling {
	k := j.k
	l := &k.lines[c.line]
	dir := -1.0
	if c.forward {
		dir = 1
	}
	if j.s < len(k.steps) {
		if st := &k.steps[j.s]; st.line == c.line && st.dir == dir {
			j.s++
			was := "live"
			if l.ring && (st.name == "in" || st.name == "out") {
				was = "due"
			}
			return ruling{name: st.name, was: was, forward: true}
		}
	}
	name := l.names[len(l.names)-1]
	fwd := c.forward
	for i := range k.steps {
		if k.steps[i].name == name {
			fwd = k.steps[i].dir == dir
		}
	}
	switch {
	case l.ring:
		return ruling{name: name, was: "live", forward: fwd, bad: fmt.Sprintf("%s may be crossed only in its turn", name)}
	case l.last >= j.s:
		return ruling{name: name, was: "live", forward: fwd, bad: fmt.Sprintf("%s was still live", name)}
	}
	return ruling{name: name, was: "dead", forward: fwd}
}

// done reports whether Out has been driven.
func (j *judge) done() bool { return j.s == len(j.k.steps) }

// tooNarrow finds a gate whose opening the turnout cannot pass at all.
func (k *task) tooNarrow() *Reason {
	need := 2 * (k.t.HalfWidth() + k.t.Margin)
	for _, s := range k.steps {
		l := &k.lines[s.line]
		if has := l.seg.Len(); has < need || l.seg.B.Sub(l.seg.A).Dot(l.posts.B.Sub(l.posts.A)) < 0 {
			name := s.name
			return &Reason{Gate: name, Needs: need, Has: has,
				Between: []string{plan.MarkerID(name, false), plan.MarkerID(name, true)},
				Text:    fmt.Sprintf("%s needs %s m between its markers, there are %s m.", gateName(name), needM(need), hasM(has))}
		}
	}
	return nil
}

// gateName is how a sentence names a step.
func gateName(name string) string {
	switch name {
	case "in":
		return "In"
	case "out":
		return "Out"
	}
	return name
}

// thingName is how a sentence names what stands: things by their id, markers by
// gate and side.
func thingName(id string) string {
	if g, ok := strings.CutSuffix(id, ".right"); ok {
		return gateName(g) + "'s right marker"
	}
	if g, ok := strings.CutSuffix(id, ".left"); ok {
		return gateName(g) + "'s left marker"
	}
	if id == "outline" {
		return "the edge of the ground"
	}
	return id
}

// needM and hasM write metres to the centimetre, a need rounded up and what
// there is rounded down, so that a sentence never says that 3.03 m is short of
// 3.03 m.
func needM(m float64) string { return fmt.Sprintf("%.2f", math.Ceil(m*100-1e-6)/100) }
func hasM(m float64) string  { return fmt.Sprintf("%.2f", math.Floor(m*100+1e-6)/100) }
