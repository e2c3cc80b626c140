package hazardtest

import (
	"fmt"
	"math"

	"terret/internal/geom"
	"terret/internal/plan"
)

// crossing is one passage of the lead point through a gate's line.
type crossing struct {
	door  int // index in the course's doors
	along geom.Vec
	s, t  float64
}

// door is one physical opening with every name it goes by.
type door struct {
	line  geom.Seg
	names []name
}

// name is a step that a door serves: 0 is In, 1… the letters in play, last Out.
type name struct {
	step    int
	letter  string
	forward geom.Vec
}

// course is what must be driven, in order, and through which doors.
type course struct {
	doors []door
	steps []string // "in", letters, "out"
}

// newCourse lists the gates in play: those for the class, up to the letter
// through ("" is the last). Gates with the same two markers, in either order,
// are one door. The line of a door runs from inner face to inner face.
func newCourse(h *plan.Hazard, through, class string) (*course, error) {
	c := &course{}
	at := map[[2]geom.Vec]int{}
	put := func(letter string, p plan.Pair) {
		key := [2]geom.Vec{p.Right, p.Left}
		if p.Left.X < p.Right.X || (p.Left.X == p.Right.X && p.Left.Y < p.Right.Y) {
			key = [2]geom.Vec{p.Left, p.Right}
		}
		i, ok := at[key]
		if !ok {
			i = len(c.doors)
			at[key] = i
			u := key[1].Sub(key[0]).Unit()
			c.doors = append(c.doors, door{line: geom.Seg{
				A: key[0].Along(u, h.MarkerRadius), B: key[1].Along(u, -h.MarkerRadius)}})
		}
		// Red on the driver's right: forward is the way that has it there.
		f := p.Right.Sub(p.Left).Unit()
		f = geom.Vec{X: -f.Y, Y: f.X}
		c.doors[i].names = append(c.doors[i].names, name{len(c.steps), letter, f})
		c.steps = append(c.steps, letter)
	}
	put("in", h.In)
	found := through == ""
	for _, g := range h.Gates {
		if !g.Is(class) {
			continue
		}
		put(g.Letter, g.Pair)
		if g.Letter == through {
			found = true
			break
		}
	}
	if !found {
		return nil, fmt.Errorf("no gate %q in play for class %q", through, class)
	}
	put("out", h.Out)
	return c, nil
}

// cross says how far along the step a → b the door's line is passed. The test
// is half open in the step, so that a point on the line counts once.
func (d *door) cross(a, b geom.Vec) (share float64, ok bool) {
	n := d.line.B.Sub(d.line.A)
	da, db := n.Cross(a.Sub(d.line.A)), n.Cross(b.Sub(d.line.A))
	if (da < 0) == (db < 0) {
		return 0, false
	}
	share = da / (da - db)
	p := a.Lerp(b, share)
	u := p.Sub(d.line.A).Dot(n) / n.Len2()
	return share, u >= 0 && u <= 1
}

// pass is one judged passage, as the answer lists it: any of names will do.
type pass struct {
	names   []name
	was     string
	along   geom.Vec
	s, t    float64
	ofs     int    // step driven by it, −1 when none
	illegal string // why, or ""
}

// judge is the state of a drive on the course: the step that is due.
type judge struct {
	c   *course
	due int
}

// drive advances the state by one passage of door i in the direction along.
func (j *judge) drive(i int, along geom.Vec) (p pass) {
	d := &j.c.doors[i]
	p = pass{names: d.names, along: along, ofs: -1, was: "dead"}
	for _, n := range d.names {
		if n.step == j.due && n.forward.Dot(along) > 0 {
			p.was, p.ofs, p.names = "live", j.due, []name{n}
			if n.letter == "in" || n.letter == "out" {
				p.was = "due"
			}
			j.due++
			return p
		}
	}
	for _, n := range d.names {
		switch {
		case n.letter == "in" || n.letter == "out":
			p.illegal = fmt.Sprintf("the %s line is driven while %s is due", n.letter, j.want())
		case n.step >= j.due && n.forward.Dot(along) <= 0:
			p.illegal = fmt.Sprintf("gate %s is driven backwards while live (%s is due)", n.letter, j.want())
		case n.step >= j.due:
			p.illegal = fmt.Sprintf("gate %s is driven while %s is due", n.letter, j.want())
		}
		if p.illegal != "" {
			p.was = "live"
			return p
		}
	}
	return p
}

func (j *judge) want() string {
	if j.due < len(j.c.steps) {
		return j.c.steps[j.due]
	}
	return "nothing more"
}

// done reports whether everything has been driven.
func (j *judge) done() bool { return j.due == len(j.c.steps) }

// doorOf is the door that serves a step.
func (c *course) doorOf(step int) (i int, n name) {
	for i := range c.doors {
		for _, n := range c.doors[i].names {
			if n.step == step {
				return i, n
			}
		}
	}
	panic("hazardtest: a step without a door")
}

// endGap is the length of line at either end, in metres, in which a passage of
// the In or Out line is the start or the end of the drive itself: the drive
// stands on the line there to within rounding.
const endGap = 0.05

// passages lists every passage of a door's line over the fine points, in the
// order driven, the start on In and the end on Out included.
func (c *course) passages(pts []fine) []crossing {
	first, last := pts[0], pts[len(pts)-1]
	in, _ := c.doorOf(0)
	out, _ := c.doorOf(len(c.steps) - 1)
	list := []crossing{{in, dir(first.b), first.s, first.t}}
	var here []crossing
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		here = here[:0]
		for k := range c.doors {
			f, ok := c.doors[k].cross(a.p, b.p)
			if !ok {
				continue
			}
			s := a.s + f*(b.s-a.s)
			if (k == in || k == out) && (s-first.s < endGap || last.s-s < endGap) {
				continue
			}
			here = append(here, crossing{k, b.p.Sub(a.p), s, a.t + f*(b.t-a.t)})
		}
		for len(here) > 0 { // two lines in one step: nearer first
			m := 0
			for k := range here {
				if here[k].s < here[m].s {
					m = k
				}
			}
			list = append(list, here[m])
			here = append(here[:m], here[m+1:]...)
		}
	}
	return append(list, crossing{out, dir(last.b), last.s, last.t})
}

// offLine is how far p is from the door's line, in metres.
func (d *door) offLine(p geom.Vec) float64 {
	q, _ := d.line.Nearest(p)
	return math.Hypot(p.X-q.X, p.Y-q.Y)
}
