package cones

import (
	"math"
	"sort"

	"terret/internal/drive"
	"terret/internal/geom"
	"terret/internal/turnout"
)

// Names of what passes a cone at the ground.
const (
	FrontWheels = "front wheels" // of a four-wheeler
	RearWheels  = "rear wheels"
	Wheels      = "wheels" // of a cart
	WheelHorses = "horse's feet"
	Leaders     = "leader's feet"
)

// Spare is the least room at the ground, in metres, that one part has between
// itself and the two cones of a pair; negative when it is over one. A woven
// single cone has one side; the other is +Inf.
type Spare struct {
	Part        string
	Left, Right float64
}

// wide is how far off a woven cone may be passed and still count as passed, m.
const wide = 12

// passage is how one step was driven.
type passage struct {
	driven bool    // through the opening, the right way
	place  int     // the place just before the line is crossed
	s, t   float64 // m along and s, where the lead point crosses
	line   float64 // rad, the line against square, positive when it points to the right
	axles  []float64
	spare  []Spare
	left   float64 // least of all, m
	right  float64
	// Least radius since the step before, m, to each hand; +Inf: never that way.
	beforeLeft, beforeRight float64
}

// least is the least room to either side.
func (p *passage) least() float64 { return math.Min(p.left, p.right) }

// measure drives a line and looks at every step. It knows nothing of how the
// line was made: it follows the places of the run.
func (l *layout) measure(r *drive.Run) []passage {
	out := make([]passage, len(l.steps))
	at := 0
	for i := range l.steps {
		out[i] = l.cross(r, i, at)
		p := &out[i]
		p.beforeLeft, p.beforeRight = leastRadius(r, at, p.place+1)
		if p.driven {
			at = p.place
		}
		if !l.steps[i].flags {
			l.look(r, &l.steps[i], p)
		}
	}
	return out
}

// leastRadius is the least radius to each hand between two places, in metres.
func leastRadius(r *drive.Run, from, to int) (lt, rt float64) {
	var kl, kr float64
	for i := from; i <= to && i < len(r.Places); i++ {
		kl, kr = math.Max(kl, -r.Places[i].K), math.Max(kr, r.Places[i].K)
	}
	lt, rt = math.Inf(1), math.Inf(1)
	if kl > 1e-3 {
		lt = 1 / kl
	}
	if kr > 1e-3 {
		rt = 1 / kr
	}
	return lt, rt
}

// cross finds where the lead point goes through step i, not before place from.
// A step that is never gone through is looked at where the line comes nearest.
func (l *layout) cross(r *drive.Run, i, from int) passage {
	st := &l.steps[i]
	o, fwd, across := st.pose.At, st.pose.Dir, st.pose.Dir.Right()
	half := st.right.Dist(st.left) / 2
	p := passage{left: math.Inf(1), right: math.Inf(1)}
	near, best := from, math.Inf(1)
	d := func(j int) float64 { return r.Places[j].Lead.Sub(o).Dot(fwd) }
	if n := len(r.Places) - 1; i == 0 || i == len(l.steps)-1 { // the run starts and ends on the line
		if i > 0 {
			p.place = n
		}
		q := &r.Places[p.place]
		p.driven = math.Abs(q.Lead.Sub(o).Dot(across)) <= half
		p.s, p.t, p.line = q.S, q.T, angle(fwd, q.Dir)
		return p
	}
	for j := from; j+1 < len(r.Places); j++ {
		q := &r.Places[j]
		if e := q.Lead.Sub(o).Len2(); e < best {
			near, best = j, e
		}
		a, b := d(j), d(j+1)
		if a > 0 || b <= 0 {
			continue
		}
		f := 0.0
		if b != a {
			f = -a / (b - a)
		}
		n := &r.Places[j+1]
		x := q.Lead.Lerp(n.Lead, f).Sub(o).Dot(across)
		ok := math.Abs(x) <= half
		if st.single { // anywhere on the cone's right side
			ok = st.side*x <= half && math.Abs(x) < wide
		}
		if !ok {
			continue
		}
		p.driven, p.place = true, j
		p.s, p.t = q.S+(n.S-q.S)*f, q.T+(n.T-q.T)*f
		p.line = angle(fwd, q.Dir.Lerp(n.Dir, f))
		return p
	}
	p.place = near
	p.s, p.t, p.line = r.Places[near].S, r.Places[near].T, angle(fwd, r.Places[near].Dir)
	return p
}

// NeededGap is the gap, in metres, through which something of the given width
// just passes going straight on at an angle off square, in radians: between two
// points width ÷ cos θ, between round cones a little more.
func NeededGap(width, angle, coneRadius float64) float64 {
	return (width+2*coneRadius)/math.Cos(angle) - 2*coneRadius
}

// angle is from u to v in radians, positive to the right.
func angle(u, v geom.Vec) float64 { return math.Atan2(v.Cross(u), v.Dot(u)) }

// look measures the room of wheels and feet at one step.
func (l *layout) look(r *drive.Run, st *step, p *passage) {
	t := r.Turnout
	v := &t.Vehicle
	s0 := p.s
	lo := sort.Search(len(r.Places), func(i int) bool { return r.Places[i].S >= s0-t.Ahead-t.Horse.Nose-1 })
	hi := sort.Search(len(r.Places), func(i int) bool { return r.Places[i].S > s0+v.Shafts+v.Wheelbase+t.Horse.Rump+1.5 })
	inf := math.Inf(1)
	cones := [2]*geom.Vec{&st.left, &st.right}
	if st.single {
		if st.side > 0 {
			cones[0] = nil
		} else {
			cones[1] = nil
		}
	}
	add := func(part string, each func(c geom.Vec, side float64) float64) {
		sp := Spare{part, inf, inf}
		if cones[0] != nil {
			sp.Left = each(*cones[0], -1) - st.radius
		}
		if cones[1] != nil {
			sp.Right = each(*cones[1], 1) - st.radius
		}
		p.left, p.right = math.Min(p.left, sp.Left), math.Min(p.right, sp.Right)
		p.spare = append(p.spare, sp)
	}
	axle := func(part string, at func(q *drive.Place) (geom.Vec, geom.Vec)) {
		p.axles = append(p.axles, l.axleAngle(r, st, lo, hi, at))
		add(part, func(c geom.Vec, side float64) float64 { return wheelRoom(r, lo, hi, at, c, side, v.Track/2) })
	}
	front := func(q *drive.Place) (geom.Vec, geom.Vec) { return q.Axle, q.Tow }
	if v.Wheels == 4 {
		axle(FrontWheels, front)
		axle(RearWheels, func(q *drive.Place) (geom.Vec, geom.Vec) { return q.Rear, q.Body })
	} else {
		axle(Wheels, front)
	}
	feet := func(part string, abreast bool, at func(i int) (geom.Vec, geom.Vec)) {
		w := t.Horse.Width * feetShare / 2
		if abreast {
			w += t.Horse.Apart / 2
		}
		add(part, func(c geom.Vec, side float64) float64 {
			best := inf
			for i := lo; i < hi; i++ {
				o, u := at(i)
				best = math.Min(best, feetRoom(t, o, u, w, c, side))
			}
			return best
		})
	}
	feet(WheelHorses, t.Abreast(), func(i int) (geom.Vec, geom.Vec) {
		q := &r.Places[i]
		return q.Lead, drive.HorseDir(q.Dir, q.Tow, t.Horse.Bend)
	})
	if t.HasLeaders() {
		feet(Leaders, t.LeadersAbreast(), func(i int) (geom.Vec, geom.Vec) {
			o, u, _ := r.Leaders(i)
			return o, u
		})
	}
}

// axleAngle is the body's heading against square as its axle crosses the line.
func (l *layout) axleAngle(r *drive.Run, st *step, lo, hi int, at func(q *drive.Place) (geom.Vec, geom.Vec)) float64 {
	for i := lo; i+1 < hi; i++ {
		a, u := at(&r.Places[i])
		b, w := at(&r.Places[i+1])
		d, e := a.Sub(st.pose.At).Dot(st.pose.Dir), b.Sub(st.pose.At).Dot(st.pose.Dir)
		if d <= 0 && e > 0 {
			return angle(st.pose.Dir, u.Lerp(w, -d/(e-d)))
		}
	}
	if hi > lo {
		_, u := at(&r.Places[hi-1])
		return angle(st.pose.Dir, u)
	}
	return 0
}

// wheelRoom is the least distance from a cone's centre to the outside of the
// tyre that goes by it, negative when the tyre goes by on the cone's other side.
func wheelRoom(r *drive.Run, lo, hi int, at func(q *drive.Place) (geom.Vec, geom.Vec), c geom.Vec, side, half float64) float64 {
	best, sign := math.Inf(1), 1.0
	var prev geom.Vec
	for i := lo; i < hi; i++ {
		o, u := at(&r.Places[i])
		w := o.Along(u.Right(), side*half)
		if i > lo {
			q, _ := geom.Seg{A: prev, B: w}.Nearest(c)
			if d := q.Dist(c); d < best {
				best, sign = d, math.Copysign(1, side*c.Sub(q).Dot(u.Right()))
			}
		}
		prev = w
	}
	return sign * best
}

// feetRoom is the distance from a cone's centre to the ground on which a row of
// horses puts its feet, as far as one side of it goes: from under the nose to
// under the rump, inwards without end. It is negative inside, by the shortest way
// out.
func feetRoom(t *turnout.Turnout, o, u geom.Vec, half float64, c geom.Vec, side float64) float64 {
	d := c.Sub(o)
	lon, lat := d.Dot(u), side*d.Dot(u.Right())-half
	x := math.Max(lon-t.Horse.Nose, -t.Horse.Rump-lon) // positive before the nose and behind the rump
	if lat > 0 && x > 0 {
		return math.Hypot(x, lat)
	}
	return math.Max(lat, x)
}
