package plan

import (
	"maps"
	"slices"

	"terret/internal/geom"
	"terret/internal/strict"
)

// Encode writes p as YAML, keys in the order of docs/files.md, numbers in full:
// what Decode reads back is p again.
func Encode(p *Plan) ([]byte, error) { return strict.YAML(tree(p)) }

// EncodeJSON writes the same tree as JSON.
func EncodeJSON(p *Plan) ([]byte, error) { return strict.JSON(tree(p)) }

func tree(p *Plan) strict.Map {
	var m strict.Map
	m.Put("terret", Format)
	m.Put("name", p.Name)
	m.Put("ground", strict.Map{{Key: "outline", Value: pts(p.Ground.Outline)}})
	if a := p.Arena; a != nil {
		m.Put("arena", strict.Map{{Key: "size", Value: a.Size}, {Key: "at", Value: pt(a.At)}, {Key: "bearing", Value: strict.InDegrees(float64(a.Bearing))}})
	}
	put := func(key string, l strict.List) {
		if len(l) > 0 {
			m.Put(key, l)
		}
	}
	put("things", each(p.Things, thingTree))
	put("hazards", each(p.Hazards, hazardTree))
	put("courses", each(p.Courses, courseTree))
	return m
}

func each[T any](from []T, f func(T) strict.Map) strict.List {
	l := make(strict.List, len(from))
	for i := range from {
		l[i] = f(from[i])
	}
	return l
}

func pt(v geom.Vec) strict.List { return strict.List{v.X, v.Y} }

func pts(vs []geom.Vec) strict.List {
	l := make(strict.List, len(vs))
	for i, v := range vs {
		l[i] = pt(v)
	}
	return l
}

func thingTree(t Thing) strict.Map {
	m := strict.Map{{Key: "id", Value: t.ID}, {Key: "kind", Value: t.Kind}}
	switch {
	case len(t.Outline) > 0:
		m.Put("outline", pts(t.Outline))
	case len(t.Path) > 0:
		m.Put("path", pts(t.Path))
		m.Put("width", t.Width)
	default:
		m.Put("at", pt(t.At))
		m.Put("radius", t.Radius)
	}
	if t.Drivable {
		m.Put("drivable", true)
	}
	return m
}

func pairTree(p Pair) strict.Map {
	return strict.Map{{Key: "right", Value: pt(p.Right)}, {Key: "left", Value: pt(p.Left)}}
}

func hazardTree(h Hazard) strict.Map {
	gates := each(h.Gates, func(g Gate) strict.Map {
		m := append(strict.Map{{Key: "letter", Value: g.Letter}}, pairTree(g.Pair)...)
		if len(g.For) > 0 {
			l := make(strict.List, len(g.For))
			for i, c := range g.For {
				l[i] = c
			}
			m.Put("for", l)
		}
		return m
	})
	return strict.Map{
		{Key: "name", Value: h.Name}, {Key: "marker_radius", Value: h.MarkerRadius},
		{Key: "in", Value: pairTree(h.In)}, {Key: "out", Value: pairTree(h.Out)}, {Key: "gates", Value: gates},
	}
}

func courseTree(c Course) strict.Map {
	gates := each(c.Gates, func(g ConeGate) strict.Map {
		m := strict.Map{{Key: "number", Value: g.Number}}
		if g.Part != "" {
			m.Put("part", g.Part)
		}
		if g.Cone != nil {
			m.Put("cone", pt(*g.Cone))
			m.Put("pass", g.Pass)
			return m
		}
		m.Put("at", pt(g.At))
		m.Put("bearing", strict.InDegrees(float64(g.Bearing)))
		if g.Gap != nil {
			m.Put("gap", gapTree(*g.Gap))
		}
		return m
	})
	m := strict.Map{
		{Key: "name", Value: c.Name}, {Key: "start", Value: pairTree(c.Start)}, {Key: "finish", Value: pairTree(c.Finish)},
		{Key: "gates", Value: gates}, {Key: "cone_radius", Value: c.ConeRadius}, {Key: "gap", Value: gapTree(c.Gap)},
	}
	if v, ok := c.SpeedMPerMin["default"]; ok && len(c.SpeedMPerMin) == 1 {
		m.Put("speed_m_per_min", v)
	} else {
		var s strict.Map
		for _, k := range slices.Sorted(maps.Keys(c.SpeedMPerMin)) {
			s.Put(k, c.SpeedMPerMin[k])
		}
		m.Put("speed_m_per_min", s)
	}
	m.Put("measure_radius", c.MeasureRadius)
	return m
}

func gapTree(g Gap) strict.Map {
	if g.FixedCM != 0 {
		return strict.Map{{Key: "fixed_cm", Value: g.FixedCM}}
	}
	return strict.Map{{Key: "clearance_cm", Value: g.ClearanceCM}}
}
