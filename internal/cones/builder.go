package cones

import (
	"math"
	"slices"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Built is the course builder's line: what is wheeled to measure the course,
// the same for every turnout.
type Built struct {
	Length float64 // m, from the start line to the finish line
	Legs   []Leg   // one from each step to the next
}

// Leg is the builder's line from one step to the next.
type Leg struct {
	From, To string // "start", "1", "6a", "finish"
	Length   float64
	Radius   float64 // m, round which it is wheeled: measure_radius, or less where there is no room
	Left     float64 // rad turned to the left
	Right    float64
	paths    []Path
}

// Measure wheels the course: through the middle of every pair square to it, by
// the shortest arcs and straights of measure_radius, round what stands about.
// Where two parts stand so close that such a line would need a whole circle it
// is wheeled tighter, and the leg says so.
func Measure(p *plan.Plan, c *plan.Course) *Built {
	return measureAgain(nil, nil, newLayout(p, c, nil))
}

// measureAgain wheels a layout, taking over the legs of an earlier one whose two
// ends have not moved.
func measureAgain(old *layout, was *Built, l *layout) *Built {
	w := l.newTerrain(nominalHalf)
	b := &Built{}
	for i := 1; i < len(l.steps); i++ {
		from, to := &l.steps[i-1], &l.steps[i]
		if was != nil && old.steps[i-1].pose == from.pose && old.steps[i].pose == to.pose {
			b.Legs = append(b.Legs, was.Legs[i-1])
			b.Length += was.Legs[i-1].Length
			continue
		}
		radius := l.course.MeasureRadius
		leg := Leg{From: from.name, To: to.name, Radius: radius}
		leg.paths = w.leg(from.pose, to.pose, i-1, i, radius)
		for j := range leg.paths {
			q := &leg.paths[j]
			leg.Length += q.Length()
			lt, rt := q.Turned()
			leg.Left, leg.Right = leg.Left+lt, leg.Right+rt
			if lt+rt > 0 {
				leg.Radius = math.Min(leg.Radius, q.radius)
			}
		}
		b.Length += leg.Length
		b.Legs = append(b.Legs, leg)
	}
	return b
}

// Points are places along the builder's line, at most step metres apart.
func (b *Built) Points(step float64) (out []geom.Vec) {
	for i := range b.Legs {
		for j := range b.Legs[i].paths {
			for q := range b.Legs[i].paths[j].along(step) {
				out = append(out, q)
			}
		}
	}
	return out
}

// SpeedOf is the speed of a turnout's class in m/min, and the class's name in
// the course: its size and hitch together ("pony pair"), else its hitch, its
// size, "default". Where both hitch and size have a speed the lower counts.
func SpeedOf(c *plan.Course, t *turnout.Turnout) (class string, mPerMin float64, err error) {
	if v, ok := c.SpeedMPerMin[t.Size+" "+t.Hitch]; ok {
		return t.Size + " " + t.Hitch, v, nil
	}
	for _, k := range []string{t.Hitch, t.Size} {
		if v, ok := c.SpeedMPerMin[k]; ok && (class == "" || v < mPerMin) {
			class, mPerMin = k, v
		}
	}
	if class != "" {
		return class, mPerMin, nil
	}
	if v, ok := c.SpeedMPerMin["default"]; ok {
		return "default", v, nil
	}
	var has []string
	for k := range c.SpeedMPerMin {
		has = append(has, k)
	}
	slices.Sort(has)
	return "", 0, &fault.Fault{Code: fault.Input, Rule: "cone-speed", Place: c.Name + ": speed_m_per_min",
		Message: "there is no speed for a " + t.Size + " " + t.Hitch, Hint: "write one for " + t.Hitch + ", for " + t.Size + ", or a default"}
}
