package cones

import (
	"fmt"
	"math"
	"slices"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Kind is a kind of multiple obstacle: parts a, b, c … of one number.
type Kind string

// The kinds, as drivers name them.
const (
	Serpentine Kind = "serpentine" // single cones in a row, woven alternately
	ZigZag     Kind = "zig-zag"    // pairs square to the way, by turns to one side and the other
	Wave       Kind = "wave"       // pairs along a wavy line, each square to it
	Oxer       Kind = "oxer"       // two pairs in line
	LShape     Kind = "L"          // a lane of rails with one corner
	UShape     Kind = "U"          // a lane of rails there and back
	Box        Kind = "box"        // a square of rails, in at one side and out at the next
	Bridge     Kind = "bridge"     // a narrow way between two rails
)

// Kinds lists them in the order in which they are taught.
func Kinds() []Kind { return []Kind{Oxer, Serpentine, ZigZag, Wave, Bridge, LShape, UShape, Box} }

// Hand is the hand to which a multiple turns first.
type Hand string

// The hands.
const (
	ToLeft  Hand = "left"
	ToRight Hand = "right"
)

// Spot says where a multiple is placed: as number Number, with its first part
// at At, come to on Bearing, turning first to Hand.
type Spot struct {
	Number  int
	At      geom.Vec
	Bearing geom.Bearing
	Hand    Hand
}

// Size is how a multiple is built. Which lengths a kind has:
//
//	serpentine  Parts, Spacing from cone to cone
//	zig-zag     Parts, Spacing along the way, Offset to the side
//	wave        Parts, Spacing along the way, Offset of the crests
//	oxer        Spacing from pair to pair
//	L           Spacing of a lane from its mouth to the corner, Width of the lane
//	U           Spacing as L, Width of a lane, Offset from lane to lane, middle to middle
//	box         Spacing of a side, Width of the openings
//	bridge      Spacing of its length, Width between the rails
type Size struct {
	Parts                  int
	Spacing, Offset, Width float64 // m
}

// Multiple is what is placed: gates for the course, and rails and the like for
// the plan's things.
type Multiple struct {
	Gates  []plan.ConeGate
	Things []plan.Thing
}

// railWidth is the thickness of a rail, m, and mouth how far its rails stand
// behind a lane's pair of cones (estimates).
const (
	railWidth = 0.12
	mouth     = 0.6
)

// Usual is the size a kind is commonly built with for a turnout. Serpentine and
// zig-zag: common practice; wave, L and U: from memory; oxer, box, bridge and
// every offset: estimates. All are there to be changed.
func Usual(k Kind, hitch, size string) Size {
	four, vse := hitch == turnout.Four, size == turnout.VSE
	pick := func(small, middle, large float64) float64 {
		switch {
		case four:
			return large
		case vse:
			return small
		}
		return middle
	}
	switch k {
	case Serpentine:
		s := pick(5, 7, 11)
		if hitch == turnout.PairH && size == turnout.HorseSize || hitch == turnout.Tandem {
			s = 9
		}
		return Size{Parts: 4, Spacing: s}
	case ZigZag:
		return Size{Parts: 3, Spacing: pick(8, 9, 11), Offset: pick(1.5, 2, 3)}
	case Wave:
		s := pick(4, 6, 8)
		if size == turnout.Pony && !four {
			s = 5
		}
		return Size{Parts: 3, Spacing: s, Offset: pick(0.3, 0.5, 0.6)}
	case Oxer:
		return Size{Parts: 2, Spacing: pick(1.5, 2, 3)}
	case LShape:
		return Size{Parts: 2, Spacing: pick(6, 8, 12), Width: pick(3, 4.5, 6)}
	case UShape:
		return Size{Parts: 3, Spacing: pick(8, 11, 16), Width: pick(3, 4.5, 6), Offset: pick(6, 10, 16)}
	case Box:
		return Size{Parts: 2, Spacing: pick(8, 12, 18), Width: pick(2.5, 3, 3.5)}
	}
	return Size{Parts: 2, Spacing: pick(3, 5, 6), Width: pick(2, 2.5, 3)}
}

// Place builds a multiple. Red stays on the driver's right whatever the hand.
func Place(k Kind, at Spot, z Size) (Multiple, error) {
	if err := refuse(k, at, z); err != nil {
		return Multiple{}, err
	}
	// Everything is built turning to the right, on bearing 0 from the origin, and
	// is mirrored, turned and shifted then.
	b := builder{number: at.Number}
	switch k {
	case Serpentine:
		for i := range z.Parts {
			b.cone(0, z.Spacing*float64(i), i%2 == 0)
		}
	case ZigZag:
		for i := range z.Parts {
			b.pair(z.Offset*float64(i%2), z.Spacing*float64(i), 0)
		}
	case Wave:
		for i := range z.Parts {
			phase := float64(i) * math.Pi / 2
			slope := z.Offset * math.Pi / 2 / z.Spacing * math.Cos(phase)
			b.pair(z.Offset*math.Sin(phase), z.Spacing*float64(i), geom.Bearing(math.Atan(slope)))
		}
	case Oxer:
		b.pair(0, 0, 0)
		b.pair(0, z.Spacing, 0)
	case LShape:
		w, c := z.Width/2, z.Spacing
		b.pair(0, 0, 0)
		b.pair(c, c, geom.Degrees(90))
		b.rail(geom.Vec{X: -w, Y: mouth}, geom.Vec{X: -w, Y: c + w}, geom.Vec{X: c - mouth, Y: c + w})
		b.rail(geom.Vec{X: w, Y: mouth}, geom.Vec{X: w, Y: c - w}, geom.Vec{X: c - mouth, Y: c - w})
	case UShape:
		w, c, o := z.Width/2, z.Spacing, z.Offset
		b.pair(0, 0, 0)
		b.pair(o/2, c, geom.Degrees(90))
		b.pair(o, 0, geom.Degrees(180))
		b.rail(geom.Vec{X: -w, Y: mouth}, geom.Vec{X: -w, Y: c + w}, geom.Vec{X: o + w, Y: c + w}, geom.Vec{X: o + w, Y: mouth})
		b.rail(geom.Vec{X: o / 2, Y: mouth}, geom.Vec{X: o / 2, Y: c - w})
	case Box:
		h, g, s := z.Spacing/2, z.Width/2, z.Spacing
		b.pair(0, 0, 0)
		b.pair(h, h, geom.Degrees(90))
		b.rail(geom.Vec{X: -g, Y: 0}, geom.Vec{X: -h, Y: 0}, geom.Vec{X: -h, Y: s}, geom.Vec{X: h, Y: s}, geom.Vec{X: h, Y: h + g})
		b.rail(geom.Vec{X: g, Y: 0}, geom.Vec{X: h, Y: 0}, geom.Vec{X: h, Y: h - g})
	case Bridge:
		w, c := z.Width/2, z.Spacing
		b.pair(0, -mouth, 0)
		b.pair(0, c+mouth, 0)
		b.rail(geom.Vec{X: -w}, geom.Vec{X: -w, Y: c})
		b.rail(geom.Vec{X: w}, geom.Vec{X: w, Y: c})
		b.m.Things = append(b.m.Things, plan.Thing{ID: b.id(), Kind: "bridge", Drivable: true,
			Outline: geom.Polygon{{X: -w}, {X: w}, {X: w, Y: c}, {X: -w, Y: c}}})
	}
	m := b.m
	if at.Hand == ToLeft {
		m = Mirror(m, Pose{Dir: geom.Vec{Y: 1}})
	}
	return m.moved(at), nil
}

// refuse says why a multiple cannot be built so.
func refuse(k Kind, at Spot, z Size) error {
	wrong := func(rule, hint, f string, args ...any) error {
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: string(k), Message: fmt.Sprintf(f, args...), Hint: hint}
	}
	if !slices.Contains(Kinds(), k) {
		return wrong("multiple-kind", fmt.Sprintf("there are %v", Kinds()), "%q is no kind of multiple", string(k))
	}
	if at.Hand != ToLeft && at.Hand != ToRight {
		return wrong("multiple-hand", "left or right: the hand it turns to first", "%q is no hand", string(at.Hand))
	}
	if !at.At.IsFinite() || math.IsNaN(float64(at.Bearing)) || math.IsInf(float64(at.Bearing), 0) {
		return wrong("multiple-place", "write metres, and degrees clockwise from north", "its place is no number")
	}
	if at.Number < 1 || at.Number > 999 {
		return wrong("multiple-number", "numbers run 1, 2, 3 …", "%d is no gate's number", at.Number)
	}
	size := func(what string, v, lo, hi float64) error {
		if !(v >= lo && v <= hi) {
			return wrong("multiple-size", fmt.Sprintf("from %v to %v m", lo, hi), "its %s is %v m", what, v)
		}
		return nil
	}
	if err := size("spacing", z.Spacing, 0.5, 50); err != nil {
		return err
	}
	switch k {
	case Serpentine, ZigZag, Wave:
		if z.Parts < 2 || z.Parts > 26 {
			return wrong("multiple-parts", "2 to 26: a letter for each", "it has %d parts", z.Parts)
		}
	}
	switch k {
	case ZigZag, Wave:
		return size("offset", z.Offset, 0, 20)
	case LShape:
		return size("width", z.Width, 1, z.Spacing)
	case UShape:
		if err := size("offset from lane to lane", z.Offset, z.Width, 50); err != nil {
			return err
		}
		return size("width", z.Width, 1, z.Spacing)
	case Box, Bridge:
		return size("width", z.Width, 1, 20)
	}
	return nil
}

// builder gathers a multiple in its own frame: y the way in, x to the right.
type builder struct {
	number int
	m      Multiple
}

func (b *builder) part() string { return string(rune('a' + len(b.m.Gates))) }

func (b *builder) pair(x, y float64, bearing geom.Bearing) {
	b.m.Gates = append(b.m.Gates, plan.ConeGate{Number: b.number, Part: b.part(), At: geom.Vec{X: x, Y: y}, Bearing: bearing})
}

// cone sets one cone to be woven; onRight: it is on the driver's right.
func (b *builder) cone(x, y float64, onRight bool) {
	pass := "left"
	if onRight {
		pass = "right"
	}
	b.m.Gates = append(b.m.Gates, plan.ConeGate{Number: b.number, Part: b.part(), Cone: &geom.Vec{X: x, Y: y}, Pass: pass})
}

func (b *builder) id() string { return fmt.Sprintf("m%d-%d", b.number, len(b.m.Things)+1) }

func (b *builder) rail(path ...geom.Vec) {
	b.m.Things = append(b.m.Things, plan.Thing{ID: b.id(), Kind: plan.Rail, Path: path, Width: railWidth})
}

// Mirror is a multiple seen in a mirror that stands along the way of a pose: every
// turn to one hand becomes a turn to the other. A pair keeps red on the driver's
// right, a woven cone changes its side.
func Mirror(m Multiple, axis Pose) Multiple {
	at := func(v geom.Vec) geom.Vec {
		d := v.Sub(axis.At)
		return axis.At.Along(axis.Dir, 2*d.Dot(axis.Dir)).Sub(d)
	}
	b := axis.Dir.Bearing()
	return m.each(at, func(x geom.Bearing) geom.Bearing { return 2*b - x }, true)
}

// moved turns a multiple from bearing 0 at the origin to its spot.
func (m Multiple) moved(to Spot) Multiple {
	u := to.Bearing.Dir()
	return m.each(func(v geom.Vec) geom.Vec { return to.At.Along(u, v.Y).Along(u.Right(), v.X) },
		func(x geom.Bearing) geom.Bearing { return x + to.Bearing }, false)
}

// each makes a new multiple of this one's points and bearings.
func (m Multiple) each(at func(geom.Vec) geom.Vec, turned func(geom.Bearing) geom.Bearing, swap bool) Multiple {
	out := Multiple{Gates: slices.Clone(m.Gates), Things: slices.Clone(m.Things)}
	for i := range out.Gates {
		g := &out.Gates[i]
		if g.Cone == nil {
			g.At, g.Bearing = at(g.At), geom.Degrees(turned(g.Bearing).Deg())
			continue
		}
		c := at(*g.Cone)
		g.Cone = &c
		if swap {
			g.Pass = map[string]string{"left": "right", "right": "left"}[g.Pass]
		}
	}
	points := func(list []geom.Vec) (out []geom.Vec) {
		for _, v := range list {
			out = append(out, at(v))
		}
		return out
	}
	for i := range out.Things {
		t := &out.Things[i]
		t.Path, t.Outline = points(t.Path), points(t.Outline)
		if t.Radius > 0 {
			t.At = at(t.At)
		}
	}
	return out
}

// MirrorPlan is a plan with its courses seen in a mirror along the way of a pose:
// every left turn becomes a right turn. Red stays on the driver's right. A
// dressage arena is left out: its letters have no mirror image.
func MirrorPlan(p *plan.Plan, axis Pose) *plan.Plan {
	at := func(v geom.Vec) geom.Vec {
		d := v.Sub(axis.At)
		return axis.At.Along(axis.Dir, 2*d.Dot(axis.Dir)).Sub(d)
	}
	q := p.Map(at, true)
	flags := func(r plan.Pair) plan.Pair { return plan.Pair{Right: at(r.Left), Left: at(r.Right)} }
	for _, c := range p.Courses {
		c.Start, c.Finish = flags(c.Start), flags(c.Finish)
		c.Gates = Mirror(Multiple{Gates: c.Gates}, axis).Gates
		q.Courses = append(q.Courses, c)
	}
	return q
}
