// Package plan is the ground document: an outline, the things that stand in
// it, hazards of lettered gates and courses of numbered cones. It is pure
// data: nothing here drives, times or draws.
//
// The file format is terret: plan/1, described in docs/files.md. Lengths are
// metres, x east and y north from any local origin; cone gaps are centimetres,
// as the trade says them.
//
// # Sides
//
// Right is the red marker and Left the white one, as the driver going the
// gate's way sees them. A plan that is mirrored must swap them.
package plan

import (
	"fmt"
	"math"
	"slices"

	"terret/internal/geom"
)

// Plan is one ground with what is set out on it. Treat it as immutable: an
// edit is a new Plan.
type Plan struct {
	Name    string
	Ground  Ground
	Arena   *Arena // nil when there is none
	Things  []Thing
	Hazards []Hazard
	Courses []Course
}

// Ground is the outline that every drive must stay inside.
type Ground struct {
	Outline geom.Polygon // at least three points, closed by itself
}

// Arena is an optional dressage arena.
type Arena struct {
	Size    string       // "40x80": width by length in metres
	At      geom.Vec     // where A stands
	Bearing geom.Bearing // from A towards C
}

// Kinds of thing. Posts and trees are discs (At, Radius), rails are paths with
// a width and round ends, the rest are outlines.
const (
	Post = "post"
	Tree = "tree"
	Rail = "rail"
)

// Thing is something that stands, lies or flows on the ground.
type Thing struct {
	ID       string
	Kind     string
	At       geom.Vec     // discs
	Radius   float64      // discs, m
	Path     []geom.Vec   // rails: at least two points
	Width    float64      // rails, m
	Outline  geom.Polygon // areas: at least three points
	Drivable bool         // areas that may be driven over
}

// Pair is a red and a white marker: coordinates are their centres.
type Pair struct {
	Right geom.Vec // the red one, on the driver's right
	Left  geom.Vec // the white one, on the driver's left
}

// Forward is the unit direction in which the pair is driven: red to the right.
func (p Pair) Forward() geom.Vec { return p.Right.Sub(p.Left).Unit().Left() }

// Mid is the middle of the pair.
func (p Pair) Mid() geom.Vec { return p.Right.Mid(p.Left) }

// Line is the opening from inner face to inner face of markers of the given
// radius: the segment from the left marker's face to the right marker's face.
func (p Pair) Line(radius float64) geom.Seg {
	u := p.Right.Sub(p.Left).Unit()
	return geom.Seg{A: p.Left.Along(u, radius), B: p.Right.Along(u, -radius)}
}

// Opening is the length of the gate's line in metres; negative when the
// markers overlap.
func (p Pair) Opening(radius float64) float64 { return p.Right.Dist(p.Left) - 2*radius }

// Hazard is a set of lettered gates between In and Out.
type Hazard struct {
	Name         string
	MarkerRadius float64 // m; every marker is also a thing of this radius
	In, Out      Pair
	Gates        []Gate // in letter order
}

// Gate is one lettered opening.
type Gate struct {
	Letter string // "A" to "Z"
	Pair
	For []string // classes the gate is for; empty: everyone
}

// Is reports whether the gate is in play for the class ("" is no class named).
func (g Gate) Is(class string) bool {
	return len(g.For) == 0 || (class != "" && slices.Contains(g.For, class))
}

// Course is a set of numbered pairs of cones and woven single cones between
// Start and Finish.
type Course struct {
	Name          string
	Start, Finish Pair
	Gates         []ConeGate
	ConeRadius    float64 // m at the ground
	Gap           Gap
	SpeedMPerMin  map[string]float64 // class → m/min; "default" for the rest
	MeasureRadius float64            // m, the radius the course builder wheels round
}

// ConeGate is a numbered pair, or a single cone to be woven.
type ConeGate struct {
	Number  int
	Part    string       // "a", "b", … of one multiple; "" alone
	At      geom.Vec     // middle of a pair
	Bearing geom.Bearing // way of driving; red at Bearing + 90°
	Cone    *geom.Vec    // woven single cone instead of a pair
	Pass    string       // "right" or "left": which side of the driver the woven cone is on
	Gap     *Gap         // this gate's own; nil: the course's
}

// Gap says how far apart the cones of a pair are set.
type Gap struct {
	ClearanceCM float64 // over the turnout's track
	FixedCM     float64 // instead, when not 0
}

// Hazard finds a hazard by name; "" is the only one.
func (p *Plan) Hazard(name string) (*Hazard, error) {
	if name == "" && len(p.Hazards) == 1 {
		return &p.Hazards[0], nil
	}
	names := make([]string, len(p.Hazards))
	for i := range p.Hazards {
		if names[i] = p.Hazards[i].Name; names[i] == name {
			return &p.Hazards[i], nil
		}
	}
	return nil, notNamed("hazard", name, names)
}

// Obstacle is one thing as a drive meets it: nothing of the footprint may come
// nearer than the turnout's margin to it.
type Obstacle struct {
	ID     string     // "p7", "A.right", "outline"
	Path   []geom.Vec // 1 point: a disc; more: a path with round ends
	Closed bool       // the last point joins the first
	Radius float64    // m round the path
	Area   bool       // closed, and its inside is forbidden as well
	Fence  bool       // closed, and its outside is forbidden: the ground's outline
}

// Obstacles lists what a drive through h must keep clear of, in a fixed order:
// the ground's outline, the things that are not drivable, then h's markers.
// Two markers at one place are listed once, under the first name.
func (p *Plan) Obstacles(h *Hazard) []Obstacle {
	obs := p.standing()
	if h == nil {
		return obs
	}
	seen := map[geom.Vec]bool{}
	put := func(name string, at geom.Vec) {
		if seen[at] {
			return
		}
		seen[at] = true
		obs = append(obs, Obstacle{ID: name, Path: []geom.Vec{at}, Radius: h.MarkerRadius})
	}
	pair := func(name string, pr Pair) {
		put(name+".right", pr.Right)
		put(name+".left", pr.Left)
	}
	pair("in", h.In)
	pair("out", h.Out)
	for _, g := range h.Gates {
		pair(g.Letter, g.Pair)
	}
	return obs
}

// standing lists the outline and the things that are not drivable.
func (p *Plan) standing() []Obstacle {
	obs := make([]Obstacle, 0, len(p.Things)+16)
	obs = append(obs, Obstacle{ID: "outline", Path: p.Ground.Outline, Closed: true, Fence: true})
	for _, t := range p.Things {
		switch {
		case t.Drivable:
		case len(t.Outline) > 0:
			obs = append(obs, Obstacle{ID: t.ID, Path: t.Outline, Closed: true, Area: true})
		case len(t.Path) > 0:
			obs = append(obs, Obstacle{ID: t.ID, Path: t.Path, Radius: t.Width / 2})
		default:
			obs = append(obs, Obstacle{ID: t.ID, Path: []geom.Vec{t.At}, Radius: t.Radius})
		}
	}
	return obs
}

// Segs calls yield with each straight piece of the obstacle's path; a disc
// gives one piece of no length.
func (o *Obstacle) Segs(yield func(geom.Seg) bool) {
	n := len(o.Path)
	if n == 1 {
		yield(geom.Seg{A: o.Path[0], B: o.Path[0]})
		return
	}
	for i := 0; i+1 < n; i++ {
		if !yield(geom.Seg{A: o.Path[i], B: o.Path[i+1]}) {
			return
		}
	}
	if o.Closed && n > 2 {
		yield(geom.Seg{A: o.Path[n-1], B: o.Path[0]})
	}
}

// Dist is the distance from q to the obstacle's face in metres, negative
// inside it (or outside the outline).
func (o *Obstacle) Dist(q geom.Vec) float64 {
	d := math.Inf(1)
	for s := range o.Segs {
		d = math.Min(d, s.Dist(q))
	}
	if o.Closed && geom.Polygon(o.Path).Contains(q) != o.Fence && (o.Area || o.Fence) {
		d = -d
	}
	return d - o.Radius
}

// MarkerID is the id of a built marker: MarkerID("A", true) is "A.right".
func MarkerID(gate string, right bool) string {
	if right {
		return gate + ".right"
	}
	return gate + ".left"
}

// String names a cone gate as people call it: "6a".
func (g ConeGate) String() string { return fmt.Sprintf("%d%s", g.Number, g.Part) }
