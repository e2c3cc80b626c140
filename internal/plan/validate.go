package plan

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"terret/internal/geom"
	"terret/internal/strict"
)

// Problem is one rule that a plan breaks.
type Problem = strict.Problem

const (
	// usualOpening is the narrowest gate a course is built with, m: a way of at
	// least 2.5 m must exist (common practice, from memory of rule texts).
	usualOpening = 2.5
	// lineRoom is how much ground there must be before and behind the In and
	// Out lines for a line to be driven over at all, m. Half a metre is less
	// than any horse needs; how much one turnout needs is the planner's to say.
	lineRoom = 0.5
	// touching is the gap below which a thing counts as standing against a
	// marker, m: a post beside a post, a rail tied to it.
	touching = 0.01
	// localExtent is how far from the origin a point of a local frame lies at
	// most, m; beyond it stands a national grid or a slip of the decimal point.
	localExtent = 10_000.
	// onLine takes a point for standing on an outline, m.
	onLine = 1e-6
)

func isName(s string) bool {
	return strings.TrimSpace(s) != "" && utf8.RuneCountInString(s) <= 200 && !strings.ContainsAny(s, "\n\t")
}

// num writes a length for a message: to the centimetre, without empty zeros.
func num(f float64) string {
	return strconv.FormatFloat(math.Round(f*100)/100, 'f', -1, 64)
}

// checker gathers problems.
type checker struct {
	p    *Plan
	list []Problem
	ids  map[string]string // id → what has it
	far  bool              // a far origin has been told of
}

func (c *checker) err(rule, path, hint, format string, args ...any) {
	c.list = append(c.list, Problem{Rule: rule, Path: path, Message: fmt.Sprintf(format, args...), Hint: hint})
}

func (c *checker) warn(rule, path, hint, format string, args ...any) {
	c.list = append(c.list, Problem{Rule: rule, Path: path, Message: fmt.Sprintf(format, args...), Hint: hint, Warning: true})
}

// Validate checks the rules about a plan's meaning, in the order of the
// document. Its rules:
//
//	ground-outline    at least three points, an area, no crossing of itself
//	coordinate        every point within MaxExtent of the origin
//	coordinate-far    a point more than 10 km from the origin (warning, once)
//	arena-size        width by length in metres
//	thing-id          ids unique, and none that a built point has
//	thing-size        radius and width from 0 to MaxSize
//	thing-shape       a path of two points, an outline with an area that does not cross itself
//	thing-outside     a thing that stands outside the ground (warning)
//	hazard-name       two hazards, or two courses, of one name
//	marker-radius     from 0 to 1 m
//	gate-letter       letters A, B, C … without a hole
//	gate-twice        a letter twice, unless for different classes
//	gate-for          a letter missing for a class (warning)
//	gate-width        an opening between the markers' inner faces
//	gate-narrow       narrower than 2.5 m (warning)
//	gate-outside      every marker on the ground
//	gate-blocked      nothing stands in an opening
//	gate-narrowed     something stands against a marker and takes room (warning)
//	gate-cross        the lines of two gates cross (warning)
//	line-ground       ground before and behind the In and the Out line
//	cone-…            the same for the numbered gates of a course
func (p *Plan) Validate() []Problem {
	c := &checker{p: p, ids: map[string]string{"outline": "the ground's outline"}}
	if !isName(p.Name) {
		c.err("name", "name", "write a name of one line", "the plan has no name")
	}
	c.ground()
	if p.Arena != nil {
		c.arena(p.Arena)
	}
	c.things()
	c.hazards()
	c.courses()
	return c.list
}

// at checks that a point is on Earth, and tells once of a frame whose origin is
// far away.
func (c *checker) at(path string, v geom.Vec) bool {
	far := math.Max(math.Abs(v.X), math.Abs(v.Y))
	if !v.IsFinite() || far > MaxExtent {
		c.err("coordinate", path, "use a local origin, in metres", "the point (%v, %v) is too far away", v.X, v.Y)
		return false
	}
	if far > localExtent && !c.far {
		c.far = true
		c.warn("coordinate-far", path, "use a local origin, in metres", "the point (%v, %v) is more than %d km from the origin", v.X, v.Y, int(localExtent)/1000)
	}
	return true
}

func (c *checker) polygon(rule, what, path string, pg geom.Polygon) bool {
	for i, v := range pg {
		if !c.at(fmt.Sprintf("%s[%d]", path, i), v) {
			return false
		}
	}
	if len(pg) < 3 {
		c.err(rule, path, "an outline needs at least three; it closes by itself", "%s has %d points", what, len(pg))
		return false
	}
	if i, j, bad := selfCrossing(pg); bad {
		c.err(rule, path, "go round once without crossing", "%s crosses itself: the side from (%s, %s) and the side from (%s, %s) meet", what, num(pg[i].X), num(pg[i].Y), num(pg[j].X), num(pg[j].Y))
		return false
	}
	if a := math.Abs(pg.Area()); a < 1e-6 {
		c.err(rule, path, "its points must not lie on one line", "%s has no area", what)
		return false
	}
	return true
}

// selfCrossing finds two sides of pg that cross, or touch where they are not
// neighbours. A last point that repeats the first is let pass as a side of no
// length.
func selfCrossing(pg geom.Polygon) (i, j int, bad bool) {
	n := len(pg)
	box := func(s geom.Seg) geom.Box { return geom.EmptyBox().Add(s.A).Add(s.B) }
	boxes := make([]geom.Box, n)
	for i := range pg {
		boxes[i] = box(pg.Edge(i))
	}
	for i := 0; i < n; i++ {
		a := pg.Edge(i)
		if a.A == a.B {
			continue
		}
		for j := i + 1; j < n; j++ {
			p, q := &boxes[i], &boxes[j]
			if p.Min.X > q.Max.X || q.Min.X > p.Max.X || p.Min.Y > q.Max.Y || q.Min.Y > p.Max.Y {
				continue
			}
			b := pg.Edge(j)
			switch {
			case b.A == b.B:
			case a.B == b.A && doublesBack(a, b), b.B == a.A && doublesBack(b, a):
				return i, j, true
			case a.B == b.A || b.B == a.A:
				// neighbours, or points that stand on each other with a side of no length between
			default:
				if d, _, _ := geom.SegDist(a, b); d == 0 {
					return i, j, true
				}
			}
		}
	}
	return 0, 0, false
}

// doublesBack reports whether b, which begins where a ends, runs back along it.
func doublesBack(a, b geom.Seg) bool {
	return geom.Orient(a.A, a.B, b.B) == 0 && b.B.Sub(b.A).Dot(a.A.Sub(a.B)) > 0
}

func (c *checker) ground() {
	c.polygon("ground-outline", "the ground's outline", "ground.outline", c.p.Ground.Outline)
}

// onGround reports whether v is inside the ground or on its outline.
func (c *checker) onGround(v geom.Vec) bool {
	o := c.p.Ground.Outline
	return len(o) < 3 || o.Contains(v) || o.EdgeDist(v) <= onLine
}

func (c *checker) arena(a *Arena) {
	if !c.at("arena.at", a.At) {
		return
	}
	w, l, ok := a.Dims()
	if !ok {
		c.err("arena-size", "arena.size", "write width by length in metres, such as 40x80", "the size %q cannot be read", a.Size)
		return
	}
	if b := float64(a.Bearing); math.IsNaN(b) || math.IsInf(b, 0) {
		c.err("arena-size", "arena.bearing", "write degrees clockwise from north", "the bearing is no number")
		return
	}
	f, r := a.Bearing.Dir(), a.Bearing.Dir().Right()
	for _, v := range []geom.Vec{a.At.Along(r, -w/2), a.At.Along(r, w/2), a.At.Along(f, l).Along(r, w/2), a.At.Along(f, l).Along(r, -w/2)} {
		if !c.onGround(v) {
			c.warn("arena-outside", "arena", "move or turn it, or make the ground larger", "the arena's corner (%s, %s) lies outside the ground", num(v.X), num(v.Y))
			return
		}
	}
}

// Dims is the arena's width and length in metres, from its size.
func (a *Arena) Dims() (width, length float64, ok bool) {
	ws, ls, found := strings.Cut(strings.ReplaceAll(a.Size, "×", "x"), "x")
	w, err1 := strconv.ParseFloat(strings.TrimSpace(ws), 64)
	l, err2 := strconv.ParseFloat(strings.TrimSpace(ls), 64)
	if !found || err1 != nil || err2 != nil || !(w > 0 && l > 0 && w <= 1000 && l <= 1000) {
		return 0, 0, false
	}
	return w, l, true
}

// claim takes an id, and reports it when it is taken.
func (c *checker) claim(rule, path, id, what string) {
	if has, taken := c.ids[id]; taken {
		c.err(rule, path, "give each thing an id of its own", "the id %q is that of %s already", id, has)
		return
	}
	c.ids[id] = what
}

func (c *checker) things() {
	if n := len(c.p.Things); n > MaxThings {
		c.err("too-many", "things", fmt.Sprintf("at most %d are taken", MaxThings), "there are %d things", n)
		return
	}
	total := 0
	for i := range c.p.Things {
		t := &c.p.Things[i]
		total += len(t.Path) + len(t.Outline)
		path := fmt.Sprintf("things[%d]", i)
		if !isName(t.ID) {
			c.err("thing-id", path+".id", "give it a name of one line", "the thing has no id")
		} else if builtID(t.ID) {
			c.err("thing-id", path+".id", "ids like A.right, in.left, 7.left, 6a.cone and outline belong to built points", "the id %q is that of a built point", t.ID)
		} else {
			c.claim("thing-id", path+".id", t.ID, path)
		}
		c.thing(path, t)
	}
	if total > MaxAllPoint {
		c.err("too-many", "things", fmt.Sprintf("at most %d are taken; leave out points that are nearly on a line", MaxAllPoint), "the things have %d points together", total)
	}
}

// builtID reports whether the id has the form of a point that the plan itself
// makes: a gate's, In's or Out's markers, a course's cones, the outline.
func builtID(id string) bool {
	if id == "outline" {
		return true
	}
	name, side, ok := strings.Cut(id, ".")
	if !ok || side != "right" && side != "left" && side != "cone" {
		return false
	}
	switch name {
	case "in", "out", "start", "finish":
		return true
	}
	if isLetter(name) {
		return true
	}
	digits := strings.TrimRight(name, "abcdefghijklmnopqrstuvwxyz")
	_, err := strconv.Atoi(digits)
	return err == nil && len(name)-len(digits) <= 1
}

func (c *checker) size(rule, path, what string, v, most float64) {
	if !(v >= 0 && v <= most) {
		c.err(rule, path, fmt.Sprintf("from 0 to %s m is taken", num(most)), "the %s is %v m", what, v)
	}
}

func (c *checker) thing(path string, t *Thing) {
	var on []geom.Vec
	switch {
	case len(t.Outline) > 0:
		if !c.polygon("thing-shape", "the outline of "+strconv.Quote(t.ID), path+".outline", t.Outline) {
			return
		}
		on = t.Outline
	case len(t.Path) > 0:
		c.size("thing-size", path+".width", "width", t.Width, MaxSize)
		for i, v := range t.Path {
			if !c.at(fmt.Sprintf("%s.path[%d]", path, i), v) {
				return
			}
		}
		if len(t.Path) < 2 {
			c.err("thing-shape", path+".path", "a path needs two; a single place is a disc with at and radius", "the path of %q has one point", t.ID)
		}
		on = t.Path
	default:
		c.size("thing-size", path+".radius", "radius", t.Radius, MaxSize)
		if !c.at(path+".at", t.At) {
			return
		}
		on = []geom.Vec{t.At}
	}
	if !c.meetsGround(on, max(t.Radius, t.Width/2)) {
		c.warn("thing-outside", path, "take it away, or make the ground larger", "%s %q stands wholly outside the ground", t.Kind, t.ID)
	}
}

// meetsGround reports whether any of a thing's points or sides is on the ground.
func (c *checker) meetsGround(on []geom.Vec, r float64) bool {
	o := c.p.Ground.Outline
	if len(o) < 3 {
		return true
	}
	for i, v := range on {
		if o.Contains(v) || o.EdgeDist(v) <= r+onLine {
			return true
		}
		if i > 0 {
			s := geom.Seg{A: on[i-1], B: v}
			for k := range o {
				if _, _, ok := s.Cross(o.Edge(k)); ok {
					return true
				}
			}
		}
	}
	// An area may lie round the whole ground.
	return len(on) > 2 && geom.Polygon(on).Contains(o[0])
}
