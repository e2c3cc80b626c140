package cones

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Check is one rule of good building that a course does not keep. Nothing is
// refused for it: a clinic may want just that. Rules:
//
//	count              more obstacles than the profile has
//	length             the course shorter or longer than the profile has
//	multiples          too many multiples, parts of one, or metres of one
//	start-distance     from the start to number 1
//	finish-distance    from the last number to the finish
//	clearance          cones closer to the track, or farther, than the profile has
//	cones-shared       two numbers on one cone
//	pairs-close        unrelated obstacles closer than the profile has
//	next-hidden        something stands between a gate and the next number
//	next-behind        the next number is seen from its back
//	no-straight        the line still turns where the horse should already be straight
//	line-through-pair  the natural line to a gate goes through another pair
//	tight-leg          the builder cannot wheel it round measure_radius
//	bends-uneven       much more turned to one hand than to the other
type Check struct {
	Rule  string     `json:"rule"`
	Gate  string     `json:"gate"` // where: a gate, "start", "finish", or "" for the whole course
	With  string     `json:"with"` // the other gate or thing it is about; "" for none
	At    [2]float64 `json:"at"`
	Has   float64    `json:"has"`
	Wants float64    `json:"wants"`
	Unit  string     `json:"unit"`
	Says  string     `json:"says"`
	Hint  string     `json:"hint"`
}

const (
	// straightLast is the length before a pair, m, in which the builder's line
	// should turn by no more than straightMost: about a single from nose to wheels
	// (estimates).
	straightLast = 4.0
	straightMost = 30 * math.Pi / 180
	// unevenShare is how far the turns to the two hands may differ, as a share of
	// all turning (estimate).
	unevenShare = 1. / 3
	// sharedCone takes two cones for one, m.
	sharedCone = 0.1
	// stout is the least radius of a disc that hides a number, m (estimate).
	stout = 0.2
)

// CheckCourse checks a course against a profile and against what drivers and
// setters need. turnouts are those who will drive it; none is allowed.
func CheckCourse(p *plan.Plan, c *plan.Course, r Rules, turnouts []*turnout.Turnout) []Check {
	l := newLayout(p, c, nil)
	k := &checker{l: l, r: r, b: Measure(p, c), list: []Check{}}
	for _, t := range turnouts {
		k.four = k.four || t.Hitch == turnout.Four
	}
	k.counts()
	k.lines()
	k.gaps()
	k.apart()
	for i := 1; i < len(l.steps); i++ {
		k.sight(i)
		k.leg(i)
	}
	k.hands()
	return k.list
}

type checker struct {
	l    *layout
	r    Rules
	b    *Built
	four bool
	list []Check
}

func (k *checker) say(rule string, st *step, with string, has, wants float64, unit, hint, format string, args ...any) {
	c := Check{Rule: rule, With: with, Has: has, Wants: wants, Unit: unit, Says: fmt.Sprintf(format, args...), Hint: hint}
	if st != nil {
		c.Gate, c.At = st.name, xy(st.pose.At)
	}
	k.list = append(k.list, c)
}

// title is how a sentence names a step.
func (s *step) title() string {
	if s.flags {
		return "the " + s.name
	}
	return s.name
}

// counts looks at numbers, lengths and multiples.
func (k *checker) counts() {
	parts := map[int][]int{} // number → its steps
	var order []int
	for i := range k.l.steps {
		n := k.l.steps[i].number
		if n == 0 {
			continue
		}
		if parts[n] == nil {
			order = append(order, n)
		}
		parts[n] = append(parts[n], i)
	}
	if n := len(order); n > k.r.ObstaclesMost {
		k.say("count", nil, "", float64(n), float64(k.r.ObstaclesMost), "obstacles", "take some out", "the course has %d obstacles, the rules have at most %d", n, k.r.ObstaclesMost)
	}
	switch {
	case k.b.Length < k.r.LengthLeast:
		k.say("length", nil, "", k.b.Length, k.r.LengthLeast, "m", "set pairs farther apart, or take it for a short course", "the course is %.0f m long, the rules have at least %.0f m", k.b.Length, k.r.LengthLeast)
	case k.b.Length > k.r.LengthMost:
		k.say("length", nil, "", k.b.Length, k.r.LengthMost, "m", "set pairs closer", "the course is %.0f m long, the rules have at most %.0f m", k.b.Length, k.r.LengthMost)
	}
	multiples := 0
	for _, n := range order {
		is := parts[n]
		if len(is) < 2 {
			continue
		}
		multiples++
		first := &k.l.steps[is[0]]
		if len(is) > k.r.PartsMost {
			k.say("multiples", first, "", float64(len(is)), float64(k.r.PartsMost), "parts", "leave parts out", "number %d has %d parts, the rules have at most %d", n, len(is), k.r.PartsMost)
		}
		long := 0.0
		for _, i := range is[1:] {
			long += k.b.Legs[i-1].Length
		}
		if long > k.r.MultipleLengthMost {
			k.say("multiples", first, "", long, k.r.MultipleLengthMost, "m", "set its parts closer", "number %d is %.1f m long from its first part to its last, the rules have at most %.0f m", n, long, k.r.MultipleLengthMost)
		}
	}
	if multiples > k.r.MultiplesMost {
		k.say("multiples", nil, "", float64(multiples), float64(k.r.MultiplesMost), "multiples", "make one of them a single pair", "the course has %d multiples, the rules have at most %d", multiples, k.r.MultiplesMost)
	}
}

// lines looks at the ways from the start and to the finish.
func (k *checker) lines() {
	n := len(k.l.steps)
	one := func(rule string, st *step, long float64, what string) {
		switch {
		case long < k.r.LineLeast:
			k.say(rule, st, "", long, k.r.LineLeast, "m", "move the line or the pair", "from %s are %.1f m, the rules have %.0f to %.0f m", what, long, k.r.LineLeast, k.r.LineMost)
		case long > k.r.LineMost:
			k.say(rule, st, "", long, k.r.LineMost, "m", "move the line or the pair", "from %s are %.1f m, the rules have %.0f to %.0f m", what, long, k.r.LineLeast, k.r.LineMost)
		}
	}
	one("start-distance", &k.l.steps[0], k.b.Legs[0].Length, "the start to "+k.l.steps[1].name)
	one("finish-distance", &k.l.steps[n-1], k.b.Legs[n-2].Length, k.l.steps[n-2].name+" to the finish")
}

// gaps looks at the clearance over the track.
func (k *checker) gaps() {
	c := k.l.course
	one := func(st *step, g plan.Gap, what string) {
		if g.FixedCM > 0 {
			return
		}
		lo, hi := k.r.ClearanceLeastCM, k.r.ClearanceMostCM
		if g.ClearanceCM < lo || g.ClearanceCM > hi {
			wants := lo
			if g.ClearanceCM > hi {
				wants = hi
			}
			k.say("clearance", st, "", g.ClearanceCM, wants, "cm", "set another clearance", "%s stand %.0f cm over the track, the rules have %.0f to %.0f cm", what, g.ClearanceCM, lo, hi)
		}
	}
	one(nil, c.Gap, "the cones")
	for i := range k.l.steps {
		st := &k.l.steps[i]
		if st.own >= 0 && c.Gates[st.own].Gap != nil {
			one(st, *c.Gates[st.own].Gap, "the cones of "+st.name)
		}
	}
}

// apart looks at obstacles that stand too close to each other.
func (k *checker) apart() {
	least, who := k.r.ApartLeast, "singles and pairs"
	if k.four {
		least, who = k.r.ApartLeastFour, "fours"
	}
	for i := range k.l.steps {
		a := &k.l.steps[i]
		if a.flags {
			continue
		}
		for j := i + 1; j < len(k.l.steps); j++ {
			b := &k.l.steps[j]
			if b.flags || a.number == b.number {
				continue
			}
			near := math.Inf(1)
			for _, x := range a.cones() {
				for _, y := range b.cones() {
					near = math.Min(near, x.Dist(y))
				}
			}
			switch {
			case near < sharedCone:
				k.say("cones-shared", a, b.name, near, least, "m", "give each number its own cones", "%s and %s stand on one cone", a.name, b.name)
			case near < least:
				k.say("pairs-close", a, b.name, near, least, "m", "setters of one stand in the way of the other: move one, or make them parts of one multiple", "%s and %s are %.1f m apart, %s want %.0f m", a.name, b.name, math.Floor(near*10)/10, who, least)
			}
		}
	}
}

// sight looks from a step to the next number.
func (k *checker) sight(i int) {
	a, b := &k.l.steps[i-1], &k.l.steps[i]
	if b.flags || b.number == a.number {
		return
	}
	var hid []string
	for j := range k.l.things {
		o := &k.l.things[j]
		if o.Fence || !k.hides(o) {
			continue
		}
		both := true
		for _, c := range b.cones() {
			blocked := o.Area && geom.Polygon(o.Path).Contains(a.pose.At)
			for s := range o.Segs {
				d, _, _ := geom.SegDist(s, geom.Seg{A: a.pose.At, B: c})
				blocked = blocked || d < o.Radius || d == 0
			}
			both = both && blocked
		}
		if both {
			hid = append(hid, o.ID)
		}
	}
	if len(hid) > 0 {
		k.say("next-hidden", b, hid[0], 0, 0, "", "move the gate, or set a second number where it is seen", "from %s the number %s is hidden by %s", a.title(), b.name, strings.Join(hid, " and "))
	}
	if to := b.pose.At.Sub(a.pose.At); !b.single && to.Dot(b.pose.Dir) < 0 {
		d := deg(math.Abs(angle(b.pose.Dir, to)))
		k.say("next-behind", b, a.name, d, 90, "°", "turn the gate, or set a second number", "from %s the number %s is seen from its back: the gate is turned %.0f° away", a.title(), b.name, d)
	}
}

// hides reports whether a thing stands high enough to hide a number. Rails, posts
// and water do not; what else has an outline is taken to.
func (k *checker) hides(o *plan.Obstacle) bool {
	i := slices.IndexFunc(k.l.plan.Things, func(t plan.Thing) bool { return t.ID == o.ID })
	if i < 0 {
		return false
	}
	t := &k.l.plan.Things[i]
	switch {
	case t.Kind == plan.Rail || t.Kind == plan.Post || strings.Contains(t.Kind, "water") || strings.Contains(t.Kind, "ditch") || strings.Contains(t.Kind, "pond"):
		return false
	case len(t.Outline) > 0:
		return true
	}
	return t.Radius >= stout
}

// leg looks at the builder's line to a step.
func (k *checker) leg(i int) {
	a, b := &k.l.steps[i-1], &k.l.steps[i]
	leg := &k.b.Legs[i-1]
	if r := k.l.course.MeasureRadius; leg.Radius < r-1e-9 {
		k.say("tight-leg", b, a.name, leg.Radius, r, "m", "give it more room, or turn it", "from %s to %s the line turns round %.1f m, the course is wheeled round %.0f m", a.title(), b.title(), leg.Radius, r)
	}
	if b.number == a.number || b.flags {
		return
	}
	// Straight before it: how far the last metres still turn.
	last := &leg.paths[len(leg.paths)-1]
	if n := last.Length(); n > 0 && !b.single {
		turned := math.Abs(angle(last.At(math.Max(0, n-straightLast)).Dir, last.At(n).Dir))
		if turned > straightMost {
			k.say("no-straight", b, a.name, deg(turned), deg(straightMost), "°", "turn it towards "+a.title()+", or set it farther off", "the line to %s still turns %.0f° in its last %.0f m", b.name, deg(turned), straightLast)
		}
	}
	// The natural line: what one would drive if nothing else stood there.
	open := &terrain{half: 0}
	p, _, _ := open.direct(a.pose, b.pose, i-1, i, k.l.course.MeasureRadius, len(tries))
	var prev geom.Vec
	first := true
	meets := map[int]bool{}
	for q := range p.along(0.5) {
		for j := range k.l.steps {
			s := &k.l.steps[j]
			if j == i || j == i-1 || s.flags || s.single || first {
				continue
			}
			if through(s.line(), prev, q) {
				meets[j] = true
			}
		}
		prev, first = q, false
	}
	for j := range k.l.steps {
		if meets[j] {
			k.say("line-through-pair", b, k.l.steps[j].name, 0, 0, "", "move one of them", "the natural line from %s to %s goes through %s", a.title(), b.name, k.l.steps[j].name)
		}
	}
}

// hands compares the turning to the two hands.
func (k *checker) hands() {
	var lt, rt float64
	for i := range k.b.Legs {
		lt, rt = lt+k.b.Legs[i].Left, rt+k.b.Legs[i].Right
	}
	if all := lt + rt; all > 2*math.Pi && math.Abs(lt-rt) > unevenShare*all {
		k.say("bends-uneven", nil, "", deg(lt), deg(rt), "°", "turn some of it round", "the course turns %.0f° to the left and %.0f° to the right", deg(lt), deg(rt))
	}
}
