package cones

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

const (
	// NominalTrack stands for every turnout where the course itself is measured,
	// m: the least track of presentation carriages in Dutch rules, article
	// K440.1a (read).
	NominalTrack = 1.40
	// nominalHalf is half the width that the builder's own line keeps clear of
	// what stands about, m (estimate).
	nominalHalf = 0.9
	// markerRadius is that of the flags at start and finish, m (estimate: the
	// format gives them none).
	markerRadius = 0.05
)

// step is one thing to be driven, in order: the start, each gate, the finish.
type step struct {
	name   string // "start", "1", "6a", "finish"
	number int    // 0 for start and finish
	flags  bool   // start and finish: no cones
	pose   Pose   // middle of the pair, way of driving
	gap    float64
	single bool    // one cone to be woven
	side   float64 // of a single cone: +1 on the driver's right, −1 on the left
	own    int     // index into the course's gates; −1 for start and finish
	// left and right are the centres of the two cones; of a single cone only its
	// own side is set, and the other stands as far off as a pair's would.
	left, right geom.Vec
	radius      float64 // of the cones at the ground, m
}

// line is the opening from centre to centre.
func (s *step) line() geom.Seg { return geom.Seg{A: s.left, B: s.right} }

// layout is a course as one turnout (or the builder) finds it on the ground.
type layout struct {
	plan   *plan.Plan
	course *plan.Course
	steps  []step
	rest   []step          // a part of a course: the steps that are not in it
	things []plan.Obstacle // the outline, things, flags of start and finish
}

// FindCourse finds a course by name; "" is the only one.
func FindCourse(p *plan.Plan, name string) (*plan.Course, error) {
	if name == "" && len(p.Courses) == 1 {
		return &p.Courses[0], nil
	}
	names := make([]string, len(p.Courses))
	for i := range p.Courses {
		if names[i] = p.Courses[i].Name; names[i] == name {
			return &p.Courses[i], nil
		}
	}
	if len(names) == 0 {
		return nil, &fault.Fault{Code: fault.Input, Rule: "course", Message: "the plan has no cones course", Hint: "a course stands under `courses`"}
	}
	f := &fault.Fault{Code: fault.NotFound, Rule: "course", Message: fmt.Sprintf("the plan has no course called %q", name), Hint: fmt.Sprintf("it has %q", names)}
	if name == "" {
		f.Code, f.Message = fault.Usage, "the plan has several courses"
		f.Hint = fmt.Sprintf("name one of %q", names)
	}
	return nil, f
}

// GapM is the distance from inner face to inner face of a pair's cones at the
// ground for a turnout of the given track, in metres.
func GapM(g plan.Gap, track float64) float64 {
	if g.FixedCM > 0 {
		return g.FixedCM / 100
	}
	return track + g.ClearanceCM/100
}

// newLayout sets the course out for a track; t nil is the builder.
func newLayout(p *plan.Plan, c *plan.Course, t *turnout.Turnout) *layout {
	track := NominalTrack
	if t != nil {
		track = t.Vehicle.Track
	}
	l := &layout{plan: p, course: c, things: p.Obstacles(nil)}
	flags := func(name string, pr plan.Pair) step {
		for _, m := range []struct {
			id string
			at geom.Vec
		}{{name + ".right", pr.Right}, {name + ".left", pr.Left}} {
			l.things = append(l.things, plan.Obstacle{ID: m.id, Path: []geom.Vec{m.at}, Radius: markerRadius})
		}
		return step{name: name, flags: true, pose: Pose{pr.Mid(), pr.Forward()}, left: pr.Left, right: pr.Right, radius: markerRadius, gap: pr.Opening(markerRadius), own: -1}
	}
	l.steps = append(l.steps, flags("start", c.Start))
	order := make([]int, len(c.Gates))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &c.Gates[a], &c.Gates[b]
		return cmp.Or(cmp.Compare(x.Number, y.Number), cmp.Compare(x.Part, y.Part))
	})
	// Where a step stands, for the way past single cones.
	where := func(i int) geom.Vec {
		switch {
		case i < 0:
			return c.Start.Mid()
		case i >= len(order):
			return c.Finish.Mid()
		}
		if g := &c.Gates[order[i]]; g.Cone != nil {
			return *g.Cone
		}
		return c.Gates[order[i]].At
	}
	for i, o := range order {
		g := &c.Gates[o]
		s := step{name: g.String(), number: g.Number, own: o, radius: c.ConeRadius}
		gap := c.Gap
		if g.Gap != nil {
			gap = *g.Gap
		}
		s.gap = GapM(gap, track)
		half := s.gap/2 + s.radius
		if g.Cone == nil {
			s.pose = Pose{g.At, g.Bearing.Dir()}
		} else {
			s.single, s.side = true, 1
			if g.Pass == "left" {
				s.side = -1
			}
			dir := where(i + 1).Sub(where(i - 1)).Unit()
			if dir == (geom.Vec{}) {
				dir = where(i).Sub(where(i - 1)).Unit()
			}
			s.pose = Pose{g.Cone.Along(dir.Right(), -s.side*half), dir}
		}
		r := s.pose.Dir.Right()
		s.left, s.right = s.pose.At.Along(r, -half), s.pose.At.Along(r, half)
		l.steps = append(l.steps, s)
	}
	l.steps = append(l.steps, flags("finish", c.Finish))
	return l
}

// cones lists the cones of a step that really stand.
func (s *step) cones() []geom.Vec {
	switch {
	case s.flags:
		return nil
	case s.single && s.side > 0:
		return []geom.Vec{s.right}
	case s.single:
		return []geom.Vec{s.left}
	}
	return []geom.Vec{s.left, s.right}
}

// part is the course from step lo to step hi as a course of its own: it starts
// straight and square at the one and ends square at the other.
func (l *layout) part(lo, hi int) *layout {
	p := *l
	p.steps = slices.Clone(l.steps[lo : hi+1])
	box := geom.EmptyBox()
	for i := range p.steps {
		box = box.Add(p.steps[i].pose.At)
	}
	box = box.Grow(15)
	p.rest = nil
	for i := range l.steps {
		if (i < lo || i > hi) && box.Contains(l.steps[i].pose.At) {
			p.rest = append(p.rest, l.steps[i])
		}
	}
	return &p
}

// Mark is one cone as it is set for a turnout of some track.
type Mark struct {
	ID     string // "7.left", "6a.cone"
	Gate   string // "7", "6a"
	At     geom.Vec
	Radius float64 // m at the ground
	Right  bool    // it is on the driver's right
}

// Marks lists the cones of a course in number order, right before left, set for a
// track in metres; NominalTrack is what the course is measured with.
func Marks(p *plan.Plan, c *plan.Course, track float64) (out []Mark) {
	l := newLayout(p, c, &turnout.Turnout{Vehicle: turnout.Vehicle{Track: track}})
	for i := range l.steps {
		s := &l.steps[i]
		switch {
		case s.flags:
		case s.single:
			out = append(out, Mark{s.name + ".cone", s.name, s.cones()[0], s.radius, s.side > 0})
		default:
			out = append(out, Mark{plan.MarkerID(s.name, true), s.name, s.right, s.radius, true}, Mark{plan.MarkerID(s.name, false), s.name, s.left, s.radius, false})
		}
	}
	return out
}

// terrain is what a path may not go through, made quick to ask.
type terrain struct {
	fence   geom.Polygon
	discs   []disc
	things  []plan.Obstacle // rails and areas
	shut    []shut
	half    float64
	corners [][]geom.Vec // of things, for ways round them
}

type disc struct {
	at   geom.Vec
	r    float64
	step int // −1: a thing
}

// shut is the line of a pair, closed but for its own step.
type shut struct {
	seg  geom.Seg
	step int
}

// newTerrain readies a layout for paths of a turnout half so wide.
func (l *layout) newTerrain(half float64) *terrain {
	w := &terrain{half: half, fence: l.plan.Ground.Outline}
	for i := range l.steps {
		s := &l.steps[i]
		for _, c := range s.cones() {
			w.discs = append(w.discs, disc{c, s.radius, i})
		}
		if !s.single {
			w.shut = append(w.shut, shut{s.line(), i})
		}
	}
	for i := range l.rest {
		s := &l.rest[i]
		for _, c := range s.cones() {
			w.discs = append(w.discs, disc{c, s.radius, -1})
		}
		if !s.single {
			w.shut = append(w.shut, shut{s.line(), -1})
		}
	}
	for i := range l.things {
		o := &l.things[i]
		switch {
		case o.Fence:
		case len(o.Path) == 1:
			w.discs = append(w.discs, disc{o.Path[0], o.Radius, -1})
		default:
			w.things = append(w.things, *o)
			w.corners = append(w.corners, o.Path)
		}
	}
	return w
}

// worth is how many metres of way round a metre of way through something costs.
const worth = 30

// near narrows the terrain to what is within reach of a box.
func (w *terrain) near(b geom.Box) *terrain {
	n := &terrain{fence: w.fence, half: w.half, things: w.things, corners: w.corners}
	b = b.Grow(w.half + 1)
	for _, d := range w.discs {
		if b.Grow(d.r).Contains(d.at) {
			n.discs = append(n.discs, d)
		}
	}
	for _, s := range w.shut {
		if b.Contains(s.seg.A) || b.Contains(s.seg.B) {
			n.shut = append(n.shut, s)
		}
	}
	return n
}

// bump is the worst thing that a path runs into.
type bump struct {
	deep float64
	at   []geom.Vec // corners to go round; nil: the outline
	r    float64
}

// toll adds up what a path goes through between two steps, in metres of way,
// until that is more than the path may cost.
func (w *terrain) toll(p *Path, from, to int, most float64) (cost float64, worst bump) {
	const pace = 0.5
	var prev geom.Vec
	first := true
	for q := range p.along(pace) {
		if cost > most {
			break
		}
		deep := 0.0
		hit := func(d float64, at []geom.Vec, r float64) {
			if d <= 0 {
				return
			}
			deep = max(deep, d)
			if d > worst.deep {
				worst = bump{d, at, r}
			}
		}
		for i := range w.discs {
			d := &w.discs[i]
			half := w.half
			if d.step == from || d.step == to {
				half = min(half, 0.4) // its own cones stand closer
			}
			r := d.r + half
			if e := q.Sub(d.at); e.X < r && e.X > -r {
				hit(r-e.Len(), d.only(), d.r)
			}
		}
		for i := range w.things {
			o := &w.things[i]
			hit(w.half-o.Dist(q), w.corners[i], o.Radius)
		}
		if len(w.fence) > 0 {
			e := w.fence.EdgeDist(q)
			if !w.fence.Contains(q) {
				e = -e
			}
			hit(w.half-e, nil, 0)
		}
		if deep > 0 {
			cost += pace * worth * (0.2 + deep)
		}
		if !first {
			for _, s := range w.shut {
				if s.step == from || s.step == to {
					continue
				}
				if through(s.seg, prev, q) {
					cost += worth
					if worst.deep < 0.5 {
						worst = bump{0.5, []geom.Vec{s.seg.A, s.seg.B}, 0.2}
					}
				}
			}
		}
		prev, first = q, false
	}
	return cost, worst
}

// through reports whether the piece from a to b goes over a line. A piece that
// starts exactly on it has gone over before, so that each passage counts once.
func through(line geom.Seg, a, b geom.Vec) bool {
	e := line.B.Sub(line.A)
	da, db := e.Cross(a.Sub(line.A)), e.Cross(b.Sub(line.A))
	if (da < 0) == (db < 0) {
		return false
	}
	x := a.Lerp(b, da/(da-db)).Sub(line.A).Dot(e)
	return x > 0 && x < e.Len2()
}

func (d disc) only() []geom.Vec { return []geom.Vec{d.at} }

// The shares of the radius that a leg is tried at, and what each costs in metres.
// A smaller one is looked at only where the full radius would need a whole circle
// between two pairs, or would go through something: a driver would rather turn
// tighter than that (estimate).
var tries = []struct{ share, cost float64 }{{1, 0}, {0.75, 3}, {0.55, 7}, {0.4, 13}, {0.28, 22}, {0.2, 34}}

// viaTries is how many of them are tried by way of a point.
const viaTries = 2

// circle is how far a leg turns in all, to both hands, before it counts as
// holding a whole circle.
const circle = 1.9 * math.Pi

// leg finds the way from one pose to another: arcs and straights round what
// stands about, one path, or more by way of a point beside it.
func (w *terrain) leg(from, to Pose, a, b int, radius float64) []Path {
	best, cost, bump := w.direct(from, to, a, b, radius, len(tries))
	if bump.deep == 0 {
		return []Path{best}
	}
	list := []Path{best}
	for depth := 0; depth < 2 && bump.deep > 0 && bump.at != nil; depth++ {
		found := false
		next := bump
		for _, c := range bump.at {
			dir := to.At.Sub(from.At).Unit()
			if dir == (geom.Vec{}) {
				dir = from.Dir
			}
			for _, side := range [2]float64{1, -1} {
				via := Pose{c.Along(dir.Right(), side*(w.half+bump.r+0.3)), dir}
				p, cp, bp := w.direct(from, via, a, -2, radius, viaTries)
				q, cq, bq := w.direct(via, to, -2, b, radius, viaTries)
				if cp+cq < cost-1e-9 {
					cost, list, found = cp+cq, []Path{p, q}, true
					next = bp
					if bq.deep > bp.deep {
						next = bq
					}
				}
			}
		}
		if !found {
			break
		}
		bump = next
	}
	return list
}

// direct finds the cheapest single path among the first few shares of the radius.
func (w *terrain) direct(from, to Pose, a, b int, radius float64, most int) (best Path, cost float64, worst bump) {
	near := w.near(geom.EmptyBox().Add(from.At).Add(to.At).Grow(2.5 * radius))
	cost = math.Inf(1)
	for _, t := range tries[:most] {
		list := words(from, to, radius*t.share)
		slices.SortStableFunc(list, func(x, y Path) int { return cmp.Compare(x.Length(), y.Length()) })
		plain := false
		for i := range list {
			p := &list[i]
			c := p.Length() + t.cost
			if c >= cost {
				break
			}
			toll, bump := near.toll(p, a, b, cost-c)
			if c += toll; c < cost-1e-9 {
				best, cost, worst = *p, c, bump
				lt, rt := p.Turned()
				plain = toll == 0 && lt+rt < circle
			}
		}
		if plain {
			break
		}
	}
	return best, cost, worst
}
