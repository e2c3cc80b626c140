package plan

import (
	"terret/internal/geom"
	"terret/internal/strict"
)

// Format is the name and version this package reads and writes.
const Format = "plan/1"

// Bounds of what is taken. The first two are the format's own; the others keep
// every rule quick and stand far above any ground that is driven.
const (
	MaxThings   = 2000   // things on one ground
	MaxGates    = 26     // gates of one hazard: letters A to Z
	MaxLayouts  = 50     // hazards, and courses, of one plan
	MaxCones    = 200    // gates of one course
	MaxPoints   = 2000   // points of one outline or path
	MaxAllPoint = 20_000 // points of all things together
	MaxExtent   = 1e7    // m from the origin: further than a quarter of the Earth's round
	MaxSize     = 100.   // m: radius of a disc, width of a rail
)

// Warning is something odd but possible in a plan.
type Warning = strict.Warning

// Load reads and checks a plan from a file. The error is a fault.Fault or
// fault.List when the file is wrong, else the disk's.
func Load(path string) (*Plan, []Warning, error) {
	data, err := strict.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	return Decode(path, data)
}

// Decode reads and checks a plan: [Parse], then [Plan.Validate]. name is the
// file's name for the places of faults. Odd but possible things are warnings.
func Decode(name string, data []byte) (*Plan, []Warning, error) {
	doc, p, err := parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	odd, err := doc.Judge(p.Validate())
	if err != nil {
		return nil, nil, err
	}
	return p, odd, nil
}

// Parse reads the shape of a plan without the rules about its meaning: for a
// drawing that is still being made.
func Parse(name string, data []byte) (*Plan, error) {
	_, p, err := parse(name, data)
	return p, err
}

func parse(name string, data []byte) (*strict.Doc, *Plan, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	p := &Plan{}
	top := doc.Root().Object("terret", "name", "ground", "arena", "things", "hazards", "courses")
	top.Need("terret").OneOf(Format)
	p.Name = words(top.Need("name"))
	ground := top.Need("ground").Object("outline")
	p.Ground.Outline = outline(ground.Need("outline"))
	if v := top.Get("arena"); v.Ok() {
		p.Arena = arena(v)
	}
	for _, v := range top.Get("things").ListOf(MaxThings, "things") {
		p.Things = append(p.Things, thing(v))
	}
	for _, v := range top.Get("hazards").ListOf(MaxLayouts, "hazards") {
		p.Hazards = append(p.Hazards, hazard(v))
	}
	for _, v := range top.Get("courses").ListOf(MaxLayouts, "courses") {
		p.Courses = append(p.Courses, course(v))
	}
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	return doc, p, nil
}

// words reads a name: a text of one line that says something.
func words(v strict.Value) string {
	s := v.Text()
	if v.IsText() && !isName(s) {
		v.Fault("name", "the name is empty, longer than 200 characters or more than one line", "write a name of one line")
	}
	return s
}

func point(v strict.Value) geom.Vec {
	l := v.List()
	if v.IsList() && len(l) != 2 {
		v.Fault("type", "a point is two numbers", "write [x, y] in metres")
		return geom.Vec{}
	}
	if len(l) != 2 {
		return geom.Vec{}
	}
	return geom.Vec{X: l[0].Float(), Y: l[1].Float()}
}

func points(v strict.Value) []geom.Vec {
	var ps []geom.Vec
	for _, e := range v.ListOf(MaxPoints, "points") {
		ps = append(ps, point(e))
	}
	return ps
}

func outline(v strict.Value) geom.Polygon { return geom.Polygon(points(v)) }

func bearing(v strict.Value) geom.Bearing { return geom.Bearing(v.Angle()) }

func arena(v strict.Value) *Arena {
	o := v.Object("size", "at", "bearing")
	return &Arena{Size: o.Need("size").Text(), At: point(o.Need("at")), Bearing: bearing(o.Need("bearing"))}
}

func thing(v strict.Value) Thing {
	o := v.Object("id", "kind", "at", "radius", "path", "width", "outline", "drivable")
	t := Thing{ID: words(o.Need("id")), Kind: words(o.Need("kind")), Drivable: o.Get("drivable").Bool()}
	shapes := 0
	for _, k := range []string{"at", "path", "outline"} {
		if o.Has(k) {
			shapes++
		}
	}
	switch {
	case !o.Ok():
	case shapes != 1:
		v.Fault("thing-shape", "a thing has exactly one of at, path, outline", "a disc has at and radius, a rail path and width, an area outline")
	case o.Has("at"):
		t.At, t.Radius = point(o.Get("at")), o.Need("radius").Float()
		refuse(o, "width")
	case o.Has("path"):
		t.Path, t.Width = points(o.Get("path")), o.Need("width").Float()
		refuse(o, "radius")
	default:
		t.Outline = outline(o.Get("outline"))
		refuse(o, "radius", "width")
	}
	return t
}

// refuse faults keys that belong to another shape.
func refuse(o strict.Object, keys ...string) {
	for _, k := range keys {
		o.Get(k).Fault("thing-shape", "a "+k+" does not belong to this shape", "a disc has at and radius, a rail path and width, an area outline")
	}
}

func pair(v strict.Value) Pair {
	o := v.Object("right", "left")
	return Pair{Right: point(o.Need("right")), Left: point(o.Need("left"))}
}

func hazard(v strict.Value) Hazard {
	o := v.Object("name", "marker_radius", "in", "out", "gates")
	h := Hazard{
		Name:         words(o.Need("name")),
		MarkerRadius: o.Need("marker_radius").Float(),
		In:           pair(o.Need("in")),
		Out:          pair(o.Need("out")),
	}
	for _, e := range o.Need("gates").ListOf(MaxGates, "gates") {
		g := e.Object("letter", "right", "left", "for")
		gate := Gate{Letter: g.Need("letter").Text(), Pair: Pair{Right: point(g.Need("right")), Left: point(g.Need("left"))}}
		for _, c := range g.Get("for").ListOf(100, "classes") {
			gate.For = append(gate.For, words(c))
		}
		if g.Has("for") && g.Get("for").IsList() && len(gate.For) == 0 {
			g.Get("for").Fault("gate-for", "the list of classes is empty", "name a class, or leave the key out")
		}
		h.Gates = append(h.Gates, gate)
	}
	return h
}

func course(v strict.Value) Course {
	o := v.Object("name", "start", "finish", "gates", "cone_radius", "gap", "speed_m_per_min", "measure_radius")
	c := Course{
		Name:          words(o.Need("name")),
		Start:         pair(o.Need("start")),
		Finish:        pair(o.Need("finish")),
		ConeRadius:    o.Need("cone_radius").Float(),
		Gap:           gap(o.Need("gap")),
		MeasureRadius: o.Need("measure_radius").Float(),
	}
	if s := o.Need("speed_m_per_min"); s.IsMapping() {
		c.SpeedMPerMin = map[string]float64{}
		for _, e := range s.Entries() {
			c.SpeedMPerMin[e.Key] = e.Float()
		}
	} else if s.Ok() {
		c.SpeedMPerMin = map[string]float64{"default": s.Float()}
	}
	for _, e := range o.Need("gates").ListOf(MaxCones, "gates") {
		c.Gates = append(c.Gates, coneGate(e))
	}
	return c
}

func coneGate(v strict.Value) ConeGate {
	o := v.Object("number", "part", "at", "bearing", "cone", "pass", "gap")
	g := ConeGate{Number: o.Need("number").Int(1, 999), Part: o.Get("part").Text()}
	if o.Has("gap") {
		own := gap(o.Get("gap"))
		g.Gap = &own
	}
	switch {
	case !o.Ok():
	case o.Has("cone") == o.Has("at"):
		v.Fault("cone-shape", "a gate is either a pair (at, bearing) or a single cone (cone, pass)", "write one of them")
	case o.Has("cone"):
		at := point(o.Get("cone"))
		g.Cone, g.Pass = &at, o.Need("pass").OneOf("right", "left")
		for _, k := range []string{"bearing", "gap"} {
			o.Get(k).Fault("cone-shape", "a single cone has no "+k, "leave it out")
		}
	default:
		g.At, g.Bearing = point(o.Get("at")), bearing(o.Need("bearing"))
		o.Get("pass").Fault("cone-shape", "a pair has no pass", "leave it out")
	}
	return g
}

func gap(v strict.Value) Gap {
	o := v.Object("clearance_cm", "fixed_cm")
	if o.Ok() && o.Has("clearance_cm") == o.Has("fixed_cm") {
		v.Fault("cone-gap", "a gap is either a clearance over the track or a fixed width", "write clearance_cm or fixed_cm")
	}
	return Gap{ClearanceCM: o.Get("clearance_cm").Float(), FixedCM: o.Get("fixed_cm").Float()}
}
