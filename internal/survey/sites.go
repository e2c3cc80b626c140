package survey

import (
	"fmt"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
)

const (
	// DefaultTrack is the track cones are set out for where the gap goes by the
	// turnout's and none is named, m: between the least tracks of the rule books,
	// 1.25 to 1.58 m (estimate). The crew sets the gap anew about the middle.
	DefaultTrack = 1.40
	// around is how far beyond a layout's markers things still belong to it, m
	// (estimate).
	around = 10
	// samePlace takes two points for one, m: they are one peg on the ground.
	samePlace = 0.01
)

// Target is what of a plan is set out: one hazard, one course, or the arena.
// The zero Target is the only one there is.
type Target struct {
	Hazard string
	Course string
	Arena  bool
	Track  float64 // m, of the turnout the cones are set for; 0: DefaultTrack
}

// Site is one place to be found on the ground.
type Site struct {
	ID   string   // "A.right", "7.left", "6a.cone", "p1", "r1.1", "corner.AK", "letter.K"
	Also []string // other points of the plan at this place
	What string   // "red marker", "white cone", "post", …
	At   geom.Vec
}

// PairSite is a gate as its two markers make it.
type PairSite struct {
	Gate    string  `json:"gate"` // "7", "A", "start"
	X       float64 `json:"x"`    // the middle
	Y       float64 `json:"y"`
	Bearing float64 `json:"bearing_deg"` // way of driving
	Width   float64 `json:"width_m"`     // between inner faces
}

// layout is a target's sites and what is said of them.
type layout struct {
	name  string
	sites []Site
	pairs []PairSite
	arena *ArenaSite
	track float64 // m; 0 when no gap goes by it
}

// sites lists the places of a target in the order of the plan. Points at one
// place are one site, under the first name.
func sites(p *plan.Plan, t Target) (*layout, error) {
	t, err := t.settle(p)
	if err != nil {
		return nil, err
	}
	l := &layout{}
	if t.Arena {
		if p.Arena == nil {
			return nil, &fault.Fault{Code: fault.NotFound, Rule: "arena-name", Message: "the plan has no arena", Hint: "write `arena: {size: 40x80, at: [x, y], bearing: …}` into the plan"}
		}
		l.name, l.arena = "Arena "+p.Arena.Size, arenaSite(p.Arena)
		if l.arena == nil {
			return nil, &fault.Fault{Code: fault.Input, Rule: "arena-size", Place: "arena.size", Message: fmt.Sprintf("the size %q cannot be read", p.Arena.Size), Hint: "write width by length in metres, such as 40x80"}
		}
		for _, c := range l.arena.Corners {
			l.put(c.ID, "corner", geom.Vec{X: c.X, Y: c.Y})
		}
		for _, c := range l.arena.Letters {
			if c.Side != "centre line" {
				l.put("letter."+c.Letter, "letter", geom.Vec{X: c.X, Y: c.Y}) // P and R alone are pegs
			}
		}
		return l, nil
	}
	switch {
	case t.Hazard != "":
		h, err := p.Hazard(t.Hazard)
		if err != nil {
			return nil, err
		}
		l.name = h.Name
		l.pair("in", h.In, h.MarkerRadius, "marker")
		for _, g := range h.Gates {
			l.pair(g.Letter, g.Pair, h.MarkerRadius, "marker")
		}
		l.pair("out", h.Out, h.MarkerRadius, "marker")
	case t.Course != "":
		c, err := course(p, t.Course)
		if err != nil {
			return nil, err
		}
		l.name = c.Name
		l.course(c, t.Track)
	default:
		l.name = p.Name
	}
	box := geom.EmptyBox()
	for _, s := range l.sites {
		box = box.Add(s.At)
	}
	all := len(l.sites) == 0
	box = box.Grow(around)
	for _, th := range p.Things {
		for _, s := range thingSites(&th) {
			if all || box.Contains(s.At) {
				l.put(s.ID, s.What, s.At)
			}
		}
	}
	if len(l.sites) == 0 {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "nothing-to-set", Message: "the plan has nothing to set out: no hazard, no course, no arena, no post and no rail", Hint: "draw something first"}
	}
	return l, nil
}

// settle finds the only target where none is named.
func (t Target) settle(p *plan.Plan) (Target, error) {
	named := 0
	for _, is := range []bool{t.Hazard != "", t.Course != "", t.Arena} {
		if is {
			named++
		}
	}
	switch {
	case named > 1:
		return t, &fault.Fault{Code: fault.Usage, Rule: "target", Message: "more than one thing to set out is named", Hint: "name a hazard, a course or the arena"}
	case named == 1:
		return t, nil
	}
	var have []string
	for _, h := range p.Hazards {
		t.Hazard = h.Name
		have = append(have, "hazard "+strconv.Quote(h.Name))
	}
	for _, c := range p.Courses {
		t.Course = c.Name
		have = append(have, "course "+strconv.Quote(c.Name))
	}
	if len(have) == 0 {
		t.Arena = p.Arena != nil
	}
	if len(have) > 1 {
		return t, &fault.Fault{Code: fault.Usage, Rule: "target", Message: fmt.Sprintf("the plan has %d layouts", len(have)), Hint: "name one: " + strings.Join(have, ", ")}
	}
	return t, nil
}

// course finds a course by name.
func course(p *plan.Plan, name string) (*plan.Course, error) {
	var have []string
	for i := range p.Courses {
		if p.Courses[i].Name == name {
			return &p.Courses[i], nil
		}
		have = append(have, p.Courses[i].Name)
	}
	f := &fault.Fault{Code: fault.NotFound, Rule: "course-name", Message: fmt.Sprintf("the plan has no course called %q", name)}
	if len(have) > 0 {
		f.Hint = "it has " + strings.Join(have, ", ")
	}
	return nil, f
}

// put adds a site, or another name to one that is at the place already.
func (l *layout) put(id, what string, at geom.Vec) {
	for i := range l.sites {
		if s := &l.sites[i]; s.At.Dist(at) < samePlace {
			s.Also = append(s.Also, id)
			return
		}
	}
	l.sites = append(l.sites, Site{ID: id, What: what, At: at})
}

func (l *layout) pair(gate string, p plan.Pair, radius float64, what string) {
	l.put(plan.MarkerID(gate, true), "red "+what, p.Right)
	l.put(plan.MarkerID(gate, false), "white "+what, p.Left)
	mid := p.Mid()
	l.pairs = append(l.pairs, PairSite{Gate: gate, X: mid.X, Y: mid.Y, Bearing: p.Forward().Bearing().Deg(), Width: p.Opening(radius)})
}

// course adds a course's cones. Its start and finish are markers of no size.
func (l *layout) course(c *plan.Course, track float64) {
	if track == 0 {
		track = DefaultTrack
	}
	l.pair("start", c.Start, 0, "marker")
	for i := range c.Gates {
		g := &c.Gates[i]
		if g.Cone != nil {
			l.put(g.String()+".cone", "cone", *g.Cone)
			continue
		}
		l.pair(g.String(), cones(c, g, track), c.ConeRadius, "cone")
		if gapOf(c, g).FixedCM == 0 {
			l.track = track
		}
	}
	l.pair("finish", c.Finish, 0, "marker")
}

// gapOf is the gap rule of a gate: its own, or the course's.
func gapOf(c *plan.Course, g *plan.ConeGate) plan.Gap {
	if g.Gap != nil {
		return *g.Gap
	}
	return c.Gap
}

// cones are where the two cones of a numbered gate stand for a track, m.
func cones(c *plan.Course, g *plan.ConeGate, track float64) plan.Pair {
	gap := gapOf(c, g)
	half := (track+gap.ClearanceCM/100)/2 + c.ConeRadius
	if gap.FixedCM > 0 {
		half = gap.FixedCM/200 + c.ConeRadius
	}
	right := g.Bearing.Dir().Right()
	return plan.Pair{Right: g.At.Along(right, half), Left: g.At.Along(right, -half)}
}

// thingSites are the places of a thing that people set: posts and what else
// stands on one spot, and the two ends and bends of a rail. Trees, water and
// areas are there already.
func thingSites(t *plan.Thing) []Site {
	switch {
	case t.Drivable || len(t.Outline) > 0 || t.Kind == plan.Tree:
		return nil
	case len(t.Path) > 0:
		var out []Site
		for i, v := range t.Path {
			out = append(out, Site{ID: fmt.Sprintf("%s.%d", t.ID, i+1), What: "end of " + t.Kind, At: v})
		}
		return out
	}
	return []Site{{ID: t.ID, What: t.Kind, At: t.At}}
}
