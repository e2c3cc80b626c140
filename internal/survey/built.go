package survey

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
)

// Built is a plan as it really stands.
type Built struct {
	Plan  *plan.Plan     // a new one; the old is left as it was
	Moves []Move         // in the order of the plan
	Odd   []plan.Problem // warnings the new plan gives
}

// Move is a point that stands elsewhere than planned.
type Move struct {
	ID       string
	From, To geom.Vec
}

// AsBuilt is the plan with a target's points where they were found to stand, by
// the ids of [Stakes]; Points of an [Adjustment] are such. Points that are not
// named stay. Ids and pairs are kept: a gate's middle and way of driving follow
// from its two cones, its gap too where the plan says a fixed one; a gap over
// the track stays the rule it is. Whatever stood at one place with a moved point
// (a post two letters share, a thing that is a marker) moves with it. An arena
// keeps its size and right angles: it is put where it fits its found corners and
// letters best.
//
// An id that is none is a fault, and so is a new plan that breaks a rule.
func AsBuilt(p *plan.Plan, t Target, found map[string]geom.Vec) (*Built, error) {
	t, err := t.settle(p)
	if err != nil {
		return nil, err
	}
	lay, err := sites(p, t)
	if err != nil {
		return nil, err
	}
	b := &Built{}
	known := map[string]bool{}
	for _, s := range lay.sites {
		for _, id := range append([]string{s.ID}, s.Also...) {
			known[id] = true
			if to, ok := found[id]; ok {
				if !to.IsFinite() || math.Max(math.Abs(to.X), math.Abs(to.Y)) > MaxCoordinate {
					return nil, &fault.Fault{Code: fault.Input, Rule: "coordinate", Place: id, Message: fmt.Sprintf("the place (%v, %v) is too far away", to.X, to.Y), Hint: "look at the tapes to it"}
				}
				b.Moves = append(b.Moves, Move{id, s.At, to})
				break
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(found)) {
		if !known[id] {
			return nil, &fault.Fault{Code: fault.NotFound, Rule: "point", Place: id, Message: fmt.Sprintf("%s has no point %q", lay.name, id), Hint: "its points are those of its stake list"}
		}
	}
	q := *p
	b.Plan = &q
	if t.Arena {
		a := *p.Arena
		a.At, a.Bearing = rigid(b.Moves, a.At, a.Bearing)
		q.Arena = &a
	} else {
		b.rebuild(p, t)
	}
	var list fault.List
	for _, pr := range q.Validate() {
		if pr.Warning {
			b.Odd = append(b.Odd, pr)
		} else {
			list = append(list, &fault.Fault{Code: fault.Input, Rule: pr.Rule, Place: pr.Path, Message: "as built, " + pr.Message, Hint: pr.Hint})
		}
	}
	if err := list.Err(); err != nil {
		return nil, err
	}
	return b, nil
}

// now is where a point of the plan is found; ok is false for one that stays.
func (b *Built) now(v geom.Vec) (to geom.Vec, ok bool) {
	for _, m := range b.Moves {
		if m.From.Dist(v) < samePlace {
			return m.To.Add(v.Sub(m.From)), true
		}
	}
	return v, false
}

func (b *Built) pair(p plan.Pair) (plan.Pair, bool) {
	r, movedR := b.now(p.Right)
	l, movedL := b.now(p.Left)
	return plan.Pair{Right: r, Left: l}, movedR || movedL
}

// rebuild puts every point of the new plan where it is found.
func (b *Built) rebuild(p *plan.Plan, t Target) {
	q := b.Plan
	q.Things = slices.Clone(p.Things)
	for i := range q.Things {
		th := &q.Things[i]
		if len(thingSites(th)) == 0 {
			continue
		}
		if len(th.Path) == 0 {
			th.At, _ = b.now(th.At)
			continue
		}
		th.Path = slices.Clone(th.Path)
		for k, v := range th.Path {
			th.Path[k], _ = b.now(v)
		}
	}
	q.Hazards = slices.Clone(p.Hazards)
	for i := range q.Hazards {
		h := &q.Hazards[i]
		h.In, _ = b.pair(h.In)
		h.Out, _ = b.pair(h.Out)
		h.Gates = slices.Clone(h.Gates)
		for k := range h.Gates {
			h.Gates[k].Pair, _ = b.pair(h.Gates[k].Pair)
		}
	}
	q.Courses = slices.Clone(p.Courses)
	for i := range q.Courses {
		c := &q.Courses[i]
		c.Start, _ = b.pair(c.Start)
		c.Finish, _ = b.pair(c.Finish)
		c.Gates = slices.Clone(c.Gates)
		for k := range c.Gates {
			g := &c.Gates[k]
			switch {
			case g.Cone != nil:
				at, _ := b.now(*g.Cone)
				g.Cone = &at
			case c.Name == t.Course:
				b.gate(c, g, t.Track)
			}
		}
	}
}

// gate makes a numbered gate of the two cones as they stand.
func (b *Built) gate(c *plan.Course, g *plan.ConeGate, track float64) {
	if track == 0 {
		track = DefaultTrack
	}
	pair, moved := b.pair(cones(c, g, track))
	if !moved {
		return
	}
	g.At, g.Bearing = pair.Mid(), pair.Forward().Bearing()
	if gapOf(c, g).FixedCM > 0 {
		g.Gap = &plan.Gap{FixedCM: 100 * pair.Opening(c.ConeRadius)}
	}
}

// rigid puts a place and a bearing where the moves, taken as one turn and one
// shift of a stiff body, bring them: least squares over the moved points.
func rigid(moves []Move, at geom.Vec, bearing geom.Bearing) (geom.Vec, geom.Bearing) {
	if len(moves) == 0 {
		return at, bearing
	}
	var from, to geom.Vec
	for _, m := range moves {
		from, to = from.Add(m.From.Mul(1/float64(len(moves)))), to.Add(m.To.Mul(1/float64(len(moves))))
	}
	var s, c float64
	for _, m := range moves {
		u, v := m.From.Sub(from), m.To.Sub(to)
		s += u.Cross(v)
		c += u.Dot(v)
	}
	turn := math.Atan2(s, c) // anticlockwise; 0 for one point alone
	sin, cos := math.Sincos(turn)
	d := at.Sub(from)
	return to.Add(geom.Vec{X: d.X*cos - d.Y*sin, Y: d.X*sin + d.Y*cos}), geom.Bearing(geom.Norm(float64(bearing) - turn))
}

// Found are the adjusted points as [AsBuilt] takes them; points without a fix
// are left out.
func (a *Adjustment) Found() map[string]geom.Vec {
	out := make(map[string]geom.Vec, len(a.Points))
	for name, f := range a.Points {
		if !f.NoFix {
			out[name] = geom.Vec{X: f.X, Y: f.Y}
		}
	}
	return out
}

// Checks are the tapes of a stake list as a network to be filled in: what a
// person types back. Lengths are those of the plan, to full precision. Every
// stake has the tapes from its pegs and its check, and with second its second
// check too. One check shows a slip; two let it be named.
func (l *StakeList) Checks(second bool) *Network {
	n := &Network{Sigma: l.Sigma}
	for _, p := range l.Pegs {
		n.Fixed = append(n.Fixed, Point{p.Name, p.At})
	}
	for i := range l.Stakes {
		s := &l.Stakes[i]
		if s.peg { // held with it, under its own name
			n.Fixed = append(n.Fixed, Point{s.ID, s.at})
			continue
		}
		n.Points = append(n.Points, Point{s.ID, s.at})
		for _, k := range []int{s.from, s.to} {
			n.Tapes = append(n.Tapes, Tape{From: l.Pegs[k].Name, To: s.ID, M: l.Pegs[k].At.Dist(s.at)})
		}
		if s.Check != nil {
			n.Tapes = append(n.Tapes, Tape{From: s.Check.To, To: s.ID, M: s.Check.M})
		}
		if second && s.Second != nil {
			n.Tapes = append(n.Tapes, Tape{From: s.Second.To, To: s.ID, M: s.Second.M})
		}
	}
	return n
}

// Places are a stake list's pegs and points, for [List.On]. A point that a peg
// stands on is held like the peg.
func (l *StakeList) Places() (pegs, points []Point) {
	for _, p := range l.Pegs {
		pegs = append(pegs, Point{p.Name, p.At})
	}
	for i := range l.Stakes {
		if s := &l.Stakes[i]; s.peg {
			pegs = append(pegs, Point{s.ID, s.at})
		} else {
			points = append(points, Point{s.ID, s.at})
		}
	}
	return pegs, points
}

// Says is a peg's place for people.
func (p Peg) Says() string { return p.Name + " " + place(p.At) + ": " + strings.TrimSpace(p.Why) }
