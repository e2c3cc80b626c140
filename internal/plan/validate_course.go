package plan

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"terret/internal/geom"
)

func (c *checker) courses() {
	if n := len(c.p.Courses); n > MaxLayouts {
		c.err("too-many", "courses", fmt.Sprintf("at most %d are taken", MaxLayouts), "there are %d courses", n)
		return
	}
	seen := map[string]int{}
	for i := range c.p.Courses {
		k := &c.p.Courses[i]
		path := fmt.Sprintf("courses[%d]", i)
		c.unique("course", path, k.Name, i, seen)
		c.course(path, k)
	}
}

func (c *checker) gap(path string, g Gap) {
	if !(g.ClearanceCM >= 0 && g.ClearanceCM <= 1000 && g.FixedCM >= 0 && g.FixedCM <= 2000) {
		c.err("cone-gap", path, "clearance from 0 to 1000 cm over the track, or a fixed width up to 2000 cm", "a gap of %v cm over the track, or %v cm fixed, cannot be set", g.ClearanceCM, g.FixedCM)
	} else if g.ClearanceCM > 0 && g.FixedCM > 0 {
		c.err("cone-gap", path, "write clearance_cm or fixed_cm", "a gap is either over the track or fixed")
	}
}

func (c *checker) course(path string, k *Course) {
	if !(k.ConeRadius > 0 && k.ConeRadius <= 1) {
		c.err("cone-radius", path+".cone_radius", "more than 0, at most 1 m", "the cones' radius is %v m", k.ConeRadius)
	}
	if !(k.MeasureRadius > 0 && k.MeasureRadius <= 100) {
		c.err("cone-measure", path+".measure_radius", "more than 0, at most 100 m", "the radius the builder wheels round is %v m", k.MeasureRadius)
	}
	c.gap(path+".gap", k.Gap)
	if len(k.SpeedMPerMin) == 0 {
		c.err("cone-speed", path+".speed_m_per_min", "write a number, or one for each class and a default", "the course has no speed")
	}
	for _, class := range slices.Sorted(maps.Keys(k.SpeedMPerMin)) {
		if v := k.SpeedMPerMin[class]; !(v > 0 && v <= 1000) {
			c.err("cone-speed", path+".speed_m_per_min", "metres a minute, more than 0", "the speed of %q is %v m/min", class, v)
		}
	}
	c.lineGround(c.opening("line", "the Start line", path+".start", k.Start, 0))
	c.lineGround(c.opening("line", "the Finish line", path+".finish", k.Finish, 0))
	if len(k.Gates) > MaxCones {
		c.err("too-many", path+".gates", fmt.Sprintf("at most %d are taken", MaxCones), "there are %d gates", len(k.Gates))
		return
	}
	if len(k.Gates) == 0 {
		c.err("cone-number", path+".gates", "set number 1", "the course has no gates")
	}
	c.numbers(path, k)
	for i := range k.Gates {
		g := &k.Gates[i]
		gp := fmt.Sprintf("%s.gates[%d]", path, i)
		at := g.At
		if g.Cone != nil {
			at = *g.Cone
			if g.Pass != "right" && g.Pass != "left" {
				c.err("cone-pass", gp+".pass", "right or left: the side of the driver the cone is on", "cone %s does not say how it is passed", g)
			}
		} else if b := float64(g.Bearing); math.IsNaN(b) || math.IsInf(b, 0) {
			c.err("cone-shape", gp+".bearing", "write degrees clockwise from north", "gate %s: the bearing is no number", g)
			continue
		}
		if !c.at(gp, at) {
			continue
		}
		if g.Gap != nil {
			c.gap(gp+".gap", *g.Gap)
		}
		if !c.onGround(at) {
			c.err("cone-outside", gp, "move it in, or make the ground larger", "gate %s at (%s, %s) stands outside the ground", g, num(at.X), num(at.Y))
			continue
		}
		for j := range c.p.Things {
			if t := &c.p.Things[j]; !t.Drivable && covers(t, at) {
				c.err("cone-blocked", gp, "take it out, or move the gate", "gate %s: %s %q stands on its place", g, t.Kind, t.ID)
			}
		}
	}
}

// covers reports whether v lies on the thing.
func covers(t *Thing, v geom.Vec) bool {
	switch {
	case len(t.Outline) > 0:
		return t.Outline.Contains(v)
	case len(t.Path) > 0:
		for i := 0; i+1 < len(t.Path); i++ {
			if (geom.Seg{A: t.Path[i], B: t.Path[i+1]}).Dist(v) < t.Width/2 {
				return true
			}
		}
		return false
	}
	return t.At.Dist(v) < t.Radius
}

// numbers checks that numbers run 1, 2, 3 … without a hole and that parts of
// one number run a, b, c …
func (c *checker) numbers(path string, k *Course) {
	parts := map[int][]string{}
	top := 0
	for i, g := range k.Gates {
		gp := fmt.Sprintf("%s.gates[%d]", path, i)
		if g.Number < 1 || g.Number > 999 {
			c.err("cone-number", gp+".number", "numbers run 1, 2, 3 …", "%d is no gate's number", g.Number)
			continue
		}
		if g.Part != "" && (len(g.Part) != 1 || g.Part[0] < 'a' || g.Part[0] > 'z') {
			c.err("cone-part", gp+".part", "one small letter, a to z", "the part %q is none", g.Part)
			continue
		}
		if slices.Contains(parts[g.Number], g.Part) {
			c.err("cone-twice", gp, "give each gate its own number, and each part of a multiple its own letter", "gate %s stands twice", g)
			continue
		}
		parts[g.Number] = append(parts[g.Number], g.Part)
		top = max(top, g.Number)
	}
	for n := 1; n <= top; n++ {
		ps := parts[n]
		if len(ps) == 0 {
			c.err("cone-number", path+".gates", "numbers run 1, 2, 3 … without a hole", "gate %d is missing: the numbers go to %d", n, top)
			continue
		}
		slices.Sort(ps)
		if len(ps) == 1 && ps[0] == "" {
			continue
		}
		for i, p := range ps {
			if want := string(rune('a' + i)); p != want {
				c.err("cone-part", path+".gates", "parts of one multiple run a, b, c …", "gate %d has the parts %q", n, ps)
				break
			}
		}
	}
}
