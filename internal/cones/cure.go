package cones

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Kinds of cure.
const (
	Widen = "widen" // set the pair wider
	Move  = "move"  // set it elsewhere, facing as before
	Turn  = "turn"  // turn it about its middle; positive to the right
)

// Cure is a change of the plan after which a gate is not touched any more, and
// nothing else is that was not before. It is about the smallest of its kind:
// four fifths of it do not do. Both were found by driving the changed plan anew.
type Cure struct {
	Kind  string      `json:"kind"`
	Gate  string      `json:"gate"` // the one to change: this one or the one before
	ByCM  *float64    `json:"by_cm,omitempty"`
	ByM   *[2]float64 `json:"by_m,omitempty"`
	ByDeg *float64    `json:"by_deg,omitempty"`
}

// Says tells the cure in words.
func (c *Cure) Says() string {
	switch {
	case c.ByCM != nil:
		return fmt.Sprintf("set %s wider by %s cm", c.Gate, up(*c.ByCM))
	case c.ByM != nil:
		v := geom.Vec{X: c.ByM[0], Y: c.ByM[1]}
		return fmt.Sprintf("move %s by %.2f m on bearing %.0f°", c.Gate, math.Ceil(v.Len()*100-1e-9)/100, v.Bearing().Deg())
	case c.ByDeg != nil && *c.ByDeg < 0:
		return fmt.Sprintf("turn %s by %s° to the left", c.Gate, up(-*c.ByDeg))
	case c.ByDeg != nil:
		return fmt.Sprintf("turn %s by %s° to the right", c.Gate, up(*c.ByDeg))
	}
	return ""
}

// Apply is the plan with a cure made: a new plan, the old one stays.
func (c *Cure) Apply(p *plan.Plan, course string) (*plan.Plan, error) {
	k, err := FindCourse(p, course)
	if err != nil {
		return nil, err
	}
	n := *k
	n.Gates = slices.Clone(k.Gates)
	for i := range n.Gates {
		if g := &n.Gates[i]; g.String() == c.Gate {
			c.change(&n, g)
		}
	}
	q := *p
	q.Courses = slices.Clone(p.Courses)
	for i := range q.Courses {
		if q.Courses[i].Name == k.Name {
			q.Courses[i] = n
		}
	}
	return &q, nil
}

// change makes the cure on one gate.
func (c *Cure) change(k *plan.Course, g *plan.ConeGate) {
	switch {
	case c.ByCM != nil:
		gap := k.Gap
		if g.Gap != nil {
			gap = *g.Gap
		}
		if gap.FixedCM > 0 {
			gap.FixedCM += *c.ByCM
		} else {
			gap.ClearanceCM += *c.ByCM
		}
		g.Gap = &gap
	case c.ByM != nil:
		v := geom.Vec{X: c.ByM[0], Y: c.ByM[1]}
		if g.Cone != nil {
			at := g.Cone.Add(v)
			g.Cone = &at
		} else {
			g.At = g.At.Add(v)
		}
	case c.ByDeg != nil:
		g.Bearing += geom.Degrees(*c.ByDeg)
	}
}

// How far cures are looked for (estimates): a pair set much wider than the others
// is no test any more, one moved or turned further makes another course.
const (
	mostWider = 0.2 // m
	mostTurn  = 40. // °
	mostMove  = 6.  // m
	rungs     = 5   // the first try is mostX/2^(rungs−1)
	closer    = 4   // halvings between a try that fails and one that does
	// Cures are looked for at mostSought gates of one drive, and at none when more
	// than mostTouched are touched: that wants another course or another turnout.
	mostSought  = 6
	mostTouched = 12
	// wholeSteps is how many gates a course may have for a cure to be driven in the
	// whole of it; of a longer one, this many round about are.
	wholeSteps = 40
	around     = 2 // gates before and after the one in question, while searching
)

// way is one kind of change, growing with an amount.
type way struct {
	kind string
	gate string
	most float64
	cost float64 // m that a cone is shifted for each unit of the amount
	make func(amount float64) Cure

	fails, amount float64 // one that does not do, and one that does
}

// ways lists what may be changed to cure step k.
func (l *layout) ways(k int) (out []way) {
	for _, i := range []int{k, k - 1} {
		st := &l.steps[i]
		if st.flags {
			continue
		}
		name := st.name
		half := st.gap/2 + st.radius
		if !st.single {
			if i == k {
				out = append(out, way{kind: Widen, gate: name, most: mostWider, cost: 0.5, make: func(a float64) Cure {
					cm := a * 100
					return Cure{Kind: Widen, Gate: name, ByCM: &cm}
				}})
			}
			for _, hand := range [2]float64{1, -1} {
				out = append(out, way{kind: Turn, gate: name, most: mostTurn, cost: half * math.Pi / 180, make: func(a float64) Cure {
					d := hand * a
					return Cure{Kind: Turn, Gate: name, ByDeg: &d}
				}})
			}
		}
		for d := range 8 {
			u := (st.pose.Dir.Bearing() + geom.Bearing(float64(d)*math.Pi/4)).Dir()
			out = append(out, way{kind: Move, gate: name, most: mostMove, cost: 1, make: func(a float64) Cure {
				return Cure{Kind: Move, Gate: name, ByM: &[2]float64{u.X * a, u.Y * a}}
			}})
		}
	}
	return out
}

// curer looks for cures of one turnout's drive.
type curer struct {
	plan   *plan.Plan
	course *plan.Course
	t      *turnout.Turnout
	tight  float64
	was    map[string]bool // gates that are touched already
}

// cure fills in the cures of every gate that is touched. It fails with the
// context's error only.
func cure(ctx context.Context, q Question, c *plan.Course, t *turnout.Turnout, d *TurnoutRun) error {
	x := curer{q.Plan, c, t, q.Tight, map[string]bool{}}
	for i := range d.Gates {
		if d.Gates[i].Verdict == Touches {
			x.was[d.Gates[i].Gate] = true
		}
	}
	if len(x.was) > mostTouched {
		return nil
	}
	for i, n := 0, 0; i < len(d.Gates) && n < mostSought; i++ {
		if g := &d.Gates[i]; x.was[g.Gate] {
			n++
			g.Sought = true
			var err error
			if g.Cures, err = x.search(ctx, g.Gate); err != nil {
				return err
			}
			if len(g.Cures) > 0 {
				g.Cure = &g.Cures[0]
			}
		}
	}
	return nil
}

// search finds the smallest change of each kind, measured by how far a cone is
// shifted, the smallest first. It ends with the context's error.
func (x *curer) search(ctx context.Context, gate string) ([]Cure, error) {
	l := newLayout(x.plan, x.course, x.t)
	k := slices.IndexFunc(l.steps, func(s step) bool { return s.name == gate })
	ways := l.ways(k)
	var found []way
	for _, kind := range []string{Widen, Turn, Move} {
		of := slices.DeleteFunc(slices.Clone(ways), func(w way) bool { return w.kind != kind })
		for _, w := range x.smallest(ctx, of, gate) {
			if x.settle(ctx, &w, gate) {
				found = append(found, w)
				break
			}
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(found, leastShift)
	out := make([]Cure, len(found))
	for i := range found {
		out[i] = found[i].make(found[i].amount)
	}
	return out, nil
}

// leastShift orders ways by how far each shifts a cone.
func leastShift(a, b way) int { return cmp.Compare(a.amount*a.cost, b.amount*b.cost) }

// smallest gives the ways of one kind that do, near by, the least shift first.
// Small changes are tried before large ones, all directions of one size
// together. Those that do are brought down by halves, step by step side by side,
// and one that could not become less than another already is is left as it is.
func (x *curer) smallest(ctx context.Context, ways []way, gate string) []way {
	var do []way
	lo := 0.0 // share of the most that none of them does with
	for r := rungs - 1; r >= 0 && len(do) == 0 && ctx.Err() == nil; r-- {
		share := math.Pow(2, -float64(r))
		did := together(len(ways), func(i int) bool { return x.does(ways[i].make(ways[i].most*share), gate, true) })
		for i, ok := range did {
			if ok {
				w := ways[i]
				w.fails, w.amount = w.most*lo, w.most*share
				do = append(do, w)
			}
		}
		lo = share
	}
	for range closer {
		if len(do) == 0 || ctx.Err() != nil {
			break
		}
		best := slices.MinFunc(do, leastShift)
		did := together(len(do), func(i int) bool {
			w := &do[i]
			return w.fails*w.cost > best.amount*best.cost || x.does(w.make((w.fails+w.amount)/2), gate, true)
		})
		for i, ok := range did {
			w := &do[i]
			switch half := (w.fails + w.amount) / 2; {
			case w.fails*w.cost > best.amount*best.cost:
			case ok:
				w.amount = half
			default:
				w.fails = half
			}
		}
	}
	slices.SortStableFunc(do, leastShift)
	return do
}

// together answers a question for each of n, as many at once as there are
// processors.
func together(n int, f func(i int) bool) []bool {
	out := make([]bool, n)
	var wait sync.WaitGroup
	room := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		room <- struct{}{}
		wait.Go(func() {
			defer func() { <-room }()
			out[i] = f(i)
		})
	}
	wait.Wait()
	return out
}

// settle drives the whole course with a change until one does and four fifths of
// it do not; that is then the way's amount.
func (x *curer) settle(ctx context.Context, w *way, gate string) bool {
	for !x.does(w.make(w.amount), gate, false) {
		if w.amount *= 1.5; w.amount > w.most || ctx.Err() != nil {
			return false
		}
	}
	for range 20 {
		if ctx.Err() != nil {
			return false
		}
		if !x.does(w.make(0.8*w.amount), gate, false) {
			return true
		}
		w.amount *= 0.8
	}
	return false
}

// does reports whether a change leaves the gate untouched, and no other touched
// that was not before. Near by only the gates round about are driven.
func (x *curer) does(c Cure, gate string, near bool) bool {
	k := *x.course
	k.Gates = slices.Clone(x.course.Gates)
	for i := range k.Gates {
		if g := &k.Gates[i]; g.String() == c.Gate {
			c.change(&k, g)
		}
	}
	l := newLayout(x.plan, &k, x.t)
	for i := range l.steps {
		if l.steps[i].name == c.Gate && !l.stands(&l.steps[i]) {
			return false
		}
	}
	reach := wholeSteps / 2
	if near {
		reach = around
	}
	part := near || len(l.steps) > wholeSteps
	if part {
		i := slices.IndexFunc(l.steps, func(s step) bool { return s.name == gate })
		l = l.part(max(0, i-reach-1), min(len(l.steps)-1, i+reach))
	}
	pass := l.best(x.t, near).pass
	for i := range l.steps {
		st := &l.steps[i]
		if st.flags || part && (i == 0 || i == len(l.steps)-1) || x.was[st.name] && st.name != gate {
			continue
		}
		if v, _ := judge(st, &pass[i], x.t, x.tight); v == Touches {
			return false
		}
	}
	return true
}

// stands reports whether a step's cones stand on the ground and on nothing else.
func (l *layout) stands(st *step) bool {
	for _, c := range st.cones() {
		for i := range l.things {
			if l.things[i].Dist(c) < st.radius {
				return false
			}
		}
		for i := range l.steps {
			for _, o := range l.steps[i].cones() {
				if l.steps[i].name != st.name && o.Dist(c) < st.radius+l.steps[i].radius {
					return false
				}
			}
		}
	}
	return true
}
