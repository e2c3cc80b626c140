package cones

import (
	"math"

	"terret/internal/geom"
	"terret/internal/shape"
	"terret/internal/turnout"
)

const (
	// feetShare is the width from outside of hoof to outside of hoof of one horse
	// as a share of its body's width (estimate).
	feetShare = 0.6
	// runIn is how much straight line stands before the start and behind the
	// finish, m.
	runIn = 2.0
	// aim is how far before and behind a pair the first string goes straight, m.
	aim = 1.0
	// askRadius and askRoom are a little more than the measure will ask, for the
	// solver looks only every half metre.
	askRadius = 1.006
	askRoom   = 0.02
)

// body is the turnout as the solver meets cones: wheels and feet at the ground.
// What stands higher asks for the more that bodies are wider, see scene.
func body(t *turnout.Turnout) shape.Body {
	v := &t.Vehicle
	b := shape.Body{
		Links: 1, Length: [2]float64{v.Shafts}, Hub: v.Track / 2, Lock: v.Lock, Bend: t.Horse.Bend,
		Nose: t.Horse.Nose, Rump: t.Horse.Rump, Horse: t.Horse.Width * feetShare / 2, Lead: -1,
		Left: t.Turning.Left * askRadius, Right: t.Turning.Right * askRadius,
		Room: t.Margin + askRoom,
	}
	if v.Wheels == 4 {
		b.Links, b.Length[1], b.Width = 2, v.Wheelbase, 0
	}
	if b.Lock <= 0 {
		b.Lock = math.Pi / 2
	}
	b.Lock -= 0.5 * math.Pi / 180
	if t.Abreast() {
		b.Apart = t.Horse.Apart / 2
	}
	if t.HasLeaders() {
		b.Lead = 0
		if t.LeadersAbreast() {
			b.Lead = t.Horse.Apart / 2
		}
	}
	return b
}

// taller is how much wider the turnout is above the cones than at the ground, m.
func taller(t *turnout.Turnout) float64 {
	return max(0, t.HalfWidth()-t.Vehicle.Track/2)
}

// scene readies a solver for a layout and a turnout.
func (l *layout) scene(t *turnout.Turnout) *shape.Solver {
	s := &shape.Solver{Body: body(t), Knobs: shape.DefaultKnobs()}
	first, last := &l.steps[0], &l.steps[len(l.steps)-1]
	s.In, s.Out = first.line(), last.line()
	more := taller(t)
	for i := range l.steps {
		st := &l.steps[i]
		for _, c := range st.cones() {
			// Asking for half the clearance on both sides puts the wheels in the
			// middle, and two axles and a horse in the middle make the line square.
			r := max(st.gap/2+st.radius-s.Body.Hub-s.Body.Room, st.radius)
			s.Discs = append(s.Discs, shape.Disc{At: c, R: r})
		}
	}
	for i := range l.things {
		o := &l.things[i]
		if len(o.Path) == 1 {
			s.Discs = append(s.Discs, shape.Disc{At: o.Path[0], R: o.Radius + more})
			continue
		}
		inside := 0
		if o.Fence {
			inside = 1
			if geom.Polygon(o.Path).Area() > 0 { // anticlockwise: the ground is on the left
				inside = -1
			}
		}
		for seg := range o.Segs {
			s.Walls = append(s.Walls, shape.Wall{Seg: seg, R: o.Radius + more, Inside: inside})
		}
		if !o.Fence {
			for _, c := range o.Path {
				s.Discs = append(s.Discs, shape.Disc{At: c, R: o.Radius + more})
			}
		}
	}
	return s
}

// string lays arcs and straights through every step, for the solver to start
// from.
func (l *layout) str(t *turnout.Turnout) []geom.Vec {
	w := l.newTerrain(t.HalfWidth() + t.Margin)
	radius := max(t.Turning.Left, t.Turning.Right)
	n := len(l.steps)
	pts := []geom.Vec{l.steps[0].pose.At.Along(l.steps[0].pose.Dir, -runIn)}
	put := func(q geom.Vec) {
		if q.Dist(pts[len(pts)-1]) > 1e-6 {
			pts = append(pts, q)
		}
	}
	put(l.steps[0].pose.At)
	for i := 1; i < n; i++ {
		a, b := &l.steps[i-1], &l.steps[i]
		e := min(aim, 0.15*a.pose.At.Dist(b.pose.At))
		from, to := Pose{a.pose.At.Along(a.pose.Dir, e), a.pose.Dir}, Pose{b.pose.At.Along(b.pose.Dir, -e), b.pose.Dir}
		for _, p := range w.leg(from, to, i-1, i, radius) {
			p.points(0.25, put)
		}
		put(b.pose.At)
	}
	last := l.steps[n-1].pose
	put(last.At.Along(last.Dir, runIn))
	return pts
}

// evenly lays points at even distances along a string, its ends kept.
func evenly(pts []geom.Vec, spacing float64) []geom.Vec {
	total := 0.0
	for i := 1; i < len(pts); i++ {
		total += pts[i].Dist(pts[i-1])
	}
	m := max(int(math.Round(total/spacing)), 4)
	h := total / float64(m)
	out := make([]geom.Vec, 0, m+1)
	out = append(out, pts[0])
	at := 0.0
	for i := 1; i < len(pts); i++ {
		d := pts[i].Dist(pts[i-1])
		for want := h * float64(len(out)); len(out) < m && want <= at+d; want = h * float64(len(out)) {
			out = append(out, pts[i-1].Lerp(pts[i], (want-at)/d))
		}
		at += d
	}
	return append(out, pts[len(pts)-1])
}

// solve makes the line that the turnout drives.
func (l *layout) solve(t *turnout.Turnout) geom.Spline {
	s := l.scene(t)
	return s.Settle(geom.Through(evenly(l.str(t), shape.Spacing)), wholeSteps)
}
