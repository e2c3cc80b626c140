package cones

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/drive"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// cart is a two-wheeler drawn by a horse so slim that only wheels count.
func cart(track, shafts float64) *turnout.Turnout {
	return &turnout.Turnout{
		Name: "cart", Hitch: turnout.Single, Size: turnout.HorseSize,
		Horse:   turnout.Horse{Nose: 0.1, Rump: 0.1, Width: 0.1, Bend: 1},
		Vehicle: turnout.Vehicle{Wheels: 2, Track: track, Hubs: track, Shafts: shafts, Lock: 1.5},
		Turning: turnout.Hands{Left: 2, Right: 2},
		Pace:    turnout.Pace{Speed: 3, Lateral: turnout.Hands{Left: 2, Right: 2}, Gain: 1, Loss: 1},
	}
}

// onePair is a course of one pair with a fixed gap.
func onePair(at geom.Vec, bearing geom.Bearing, gapM, radius float64) *plan.Plan {
	u := bearing.Dir()
	flags := func(d float64) plan.Pair {
		c := at.Along(u, d)
		return plan.Pair{Right: c.Along(u.Right(), 30), Left: c.Along(u.Right(), -30)}
	}
	return &plan.Plan{
		Name:   "one pair",
		Ground: plan.Ground{Outline: geom.Polygon{{X: -500, Y: -500}, {X: 500, Y: -500}, {X: 500, Y: 500}, {X: -500, Y: 500}}},
		Courses: []plan.Course{{
			Name: "Cones", Start: flags(-20), Finish: flags(20), ConeRadius: radius, MeasureRadius: 5,
			Gap: plan.Gap{FixedCM: gapM * 100}, SpeedMPerMin: map[string]float64{"default": 220},
			Gates: []plan.ConeGate{{Number: 1, At: at, Bearing: bearing}},
		}},
	}
}

// measured drives a line of points through the plan's one pair.
func measured(t *turnout.Turnout, p *plan.Plan, pts []geom.Vec) passage {
	l := newLayout(p, &p.Courses[0], t)
	line := geom.Through(pts)
	r := drive.Drive(t, line, drive.Spot{I: 1}, drive.Spot{I: len(line) - 3, F: 1}, 0.02)
	q := l.cross(r, 1, 0)
	l.look(r, &l.steps[1], &q)
	return q
}

// straightOn is a line on a bearing through the origin.
func straightOn(b geom.Bearing) (pts []geom.Vec) {
	for s := -25.0; s <= 25; s += 0.5 {
		pts = append(pts, b.Dir().Mul(s))
	}
	return pts
}

// The gap that a straight drive at an angle needs: track ÷ cos θ. The rows are
// printed to the millimetre in the trade notes (140 and 125 cm of track); a
// drive through just that gap must have nothing to spare, and one through 1 cm
// less must touch.
func TestGapIsTrackOverCosine(t *testing.T) {
	angles := []float64{0, 10, 15, 20, 25, 30}
	for track, row := range map[float64][]float64{
		1.40: {140.0, 142.2, 144.9, 149.0, 154.5, 161.7},
		1.25: {125.0, 126.9, 129.4, 133.0, 137.9, 144.3},
	} {
		for i, want := range row {
			a := geom.Degrees(angles[i])
			if got := 100 * NeededGap(track, float64(a), 0); math.Abs(got-want) > 0.05 {
				t.Errorf("%v m at %v°: %.2f cm, want %.1f", track, angles[i], got, want)
			}
			tt := cart(track, 2.5)
			for _, hand := range []geom.Bearing{1, -1} {
				p := measured(tt, onePair(geom.Vec{}, 0, want/100, 1e-9), straightOn(hand*a))
				if math.Abs(p.left) > 5e-4 || math.Abs(p.right) > 5e-4 {
					t.Errorf("%v m at %v° through %.1f cm: spare %.5f and %.5f m, want none", track, angles[i], want, p.left, p.right)
				}
				if math.Abs(deg(math.Abs(p.line))-angles[i]) > 1e-6 || math.Abs(deg(math.Abs(p.axles[0]))-angles[i]) > 1e-6 {
					t.Errorf("%v° off square is measured as line %v°, axle %v°", angles[i], deg(p.line), deg(p.axles[0]))
				}
			}
		}
	}
}

// The worked case of the trade notes: 140 of track, 20° crooked, in a gap of 148:
// no, 1 cm short.
func TestTwentyDegreesInAGapOf148(t *testing.T) {
	tt := cart(1.40, 2.5)
	pl := onePair(geom.Vec{}, 0, 1.48, 1e-9)
	p := measured(tt, pl, straightOn(geom.Degrees(20)))
	l := newLayout(pl, &pl.Courses[0], tt)
	g := gateOf(&l.steps[1], &p, tt, DefaultTight)
	if g.Verdict != Touches {
		t.Errorf("the verdict is %q", g.Verdict)
	}
	if short := *g.NeededCM - *g.GapCM; math.Abs(short-1.0) > 0.05 {
		t.Errorf("it is %.2f cm short, want 1.0", short)
	}
}

// A cart on a steady circle: its axle runs inside the lead point's circle by
// R − √(R² − L²). Source of the rows: exact geometry; 5 and 3, 4 are the 3-4-5
// triangle. The pair stands about where the axle goes, so the spare is the same
// on both sides; where it stands about the lead point's line the two differ by
// twice the off-tracking.
func TestSteadyOffTracking(t *testing.T) {
	for _, c := range []struct{ r, l, off float64 }{{10, 3, 0.4606}, {5, 3, 1}, {5, 4, 2}} {
		tt := cart(1.0, c.l)
		var pts []geom.Vec
		for a := 0.0; a < 6*math.Pi; a += 0.2 / c.r { // to the right, clockwise about the origin
			pts = append(pts, geom.Bearing(a).Dir().Mul(c.r))
		}
		// Far round, on the axis east: all is settled there.
		lookAt := func(at float64) passage {
			pl := onePair(geom.Vec{X: at}, geom.Degrees(180), 1.4, 1e-9)
			l := newLayout(pl, &pl.Courses[0], tt)
			line := geom.Through(pts)
			r := drive.Drive(tt, line, drive.Spot{I: 1}, drive.Spot{I: len(line) - 3, F: 1}, 0.02)
			from := 0
			for i := range r.Places {
				if r.Places[i].S < r.Length()*0.6 {
					from = i
				}
			}
			p := l.cross(r, 1, from)
			l.look(r, &l.steps[1], &p)
			return p
		}
		p := lookAt(c.r - c.off)
		if w := p.spare[0]; math.Abs(w.Left-w.Right) > 2e-3 || math.Abs(w.Left-0.2) > 0.02 {
			t.Errorf("R %v, L %v: %.4f m to the left of the wheels and %.4f m to the right, want the same", c.r, c.l, w.Left, w.Right)
		}
		if c.off < 0.5 {
			p = lookAt(c.r)
			if w := p.spare[0]; math.Abs((w.Left-w.Right)/2-c.off) > 2e-3 {
				t.Errorf("R %v, L %v: off-tracking of %.4f m is measured, want %.4f", c.r, c.l, (w.Left-w.Right)/2, c.off)
			}
		}
	}
}

// The transient: from a straight into a quarter of a circle of 10 m with 3 m of
// shafts the body stands at 17.34389° to the line and the axle has cut in by
// 0.45465 m (closed form of the tractrix). A pair square to the body where its
// axle then is has the same room on both sides.
func TestTransientOffTracking(t *testing.T) {
	const r, l, psi, off = 10.0, 3.0, 17.34389, 0.45465
	tt := cart(1.0, l)
	var pts []geom.Vec
	const h = 0.1
	for y := -20.0; y < -h/2; y += h {
		pts = append(pts, geom.Vec{Y: y})
	}
	centre := geom.Vec{X: r}
	for a := 0.0; a < math.Pi; a += h / r {
		pts = append(pts, centre.Along(geom.Bearing(a-math.Pi/2).Dir(), r))
	}
	// At a quarter the lead point is at (r, r), facing east; the body points psi
	// to the left of that: the axle is inside.
	dir := geom.Degrees(90 - psi).Dir()
	axle := geom.Vec{X: r, Y: r}.Along(dir, -l)
	if d := r - axle.Dist(centre); math.Abs(d-off) > 1e-4 {
		t.Fatalf("the two published numbers disagree: %.5f and %.5f", d, off)
	}
	p := measured(tt, onePair(axle, dir.Bearing(), 1.3, 1e-9), pts)
	if w := p.spare[0]; math.Abs(w.Left-w.Right) > 4e-3 {
		t.Errorf("%.4f m to the left of the wheels and %.4f m to the right, want the same", w.Left, w.Right)
	}
	if a := deg(p.axles[0]); math.Abs(a) > 0.1 {
		t.Errorf("the axle crosses %.3f° off square, want square", a)
	}
}

// On a fixed line a pair that is wider by 2 cm never gets less spare room, on
// either side, for any part: on lines that a horse can go, for one that wriggled
// about a cone could come back to it from behind.
func TestWiderIsNeverWorse(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := func(n string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(rt, n) }
		tt := cart(f("track", 0.9, 1.6), f("shafts", 1.5, 3))
		tt.Horse.Width, tt.Horse.Nose, tt.Horse.Rump = 0.6, 1.2, 1.1
		if rapid.Bool().Draw(rt, "four wheels") {
			tt.Vehicle.Wheels, tt.Vehicle.Wheelbase = 4, f("wheelbase", 1, 2)
		}
		// A wavy line through about the middle, no tighter than the smallest
		// turnout turns.
		wave, shift := f("wave", 8, 30), f("shift", -0.5, 0.5)
		amp := f("amp", 0, 1) * math.Min(1.5, math.Pow(wave/(2*math.Pi), 2)/2.5)
		var pts []geom.Vec
		for y := -25.0; y <= 25; y += 0.5 {
			pts = append(pts, geom.Vec{X: shift + amp*math.Sin(2*math.Pi*y/wave), Y: y})
		}
		gap := f("gap", 1, 2)
		steep := math.Atan(amp*2*math.Pi/wave) * 180 / math.Pi
		most := math.Min(40, 60-steep)
		b := geom.Degrees(f("bearing", -most, most))
		p := measured(tt, onePair(geom.Vec{}, b, gap, 0.2), pts)
		q := measured(tt, onePair(geom.Vec{}, b, gap+0.02, 0.2), pts)
		for i := range p.spare {
			if q.spare[i].Left < p.spare[i].Left-1e-9 || q.spare[i].Right < p.spare[i].Right-1e-9 {
				rt.Fatalf("%s: %.4f and %.4f m in a gap of %.3f, %.4f and %.4f m in one 2 cm wider", p.spare[i].Part, p.spare[i].Left, p.spare[i].Right, gap, q.spare[i].Left, q.spare[i].Right)
			}
		}
	})
}

// The room of an answer once more from its samples alone: the bodies are towed
// by a stepping formula of another source (hawsedc.com, "turn theory": a body of
// length L whose front goes a chord S at an angle α to it, measured from the back
// end, turns by 2·atan(sin α ÷ (2L/S − cos α))), the wheels are set out from them,
// and their distance to the cones is taken.
func TestRoomFromSamplesAlone(t *testing.T) {
	p, r := load(t, "cones-twelve"), profile(t)
	for _, name := range all {
		tt := rig(t, name)
		a, err := Drive(t.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{tt}, Rules: r})
		if err != nil {
			t.Fatal(err)
		}
		d := &a.Turnouts[0]
		lengths := []float64{tt.Vehicle.Shafts}
		if tt.Vehicle.Wheels == 4 {
			lengths = append(lengths, tt.Vehicle.Wheelbase)
		}
		wheels := map[string][]geom.Vec{}
		head := make([]float64, len(lengths)) // mathematical angles
		for i := range head {
			head[i] = math.Pi/2 - d.Samples[0].BearingDeg*math.Pi/180
		}
		var prev []geom.Vec
		for i, s := range d.Samples {
			front := geom.Vec{X: s.Lead[0], Y: s.Lead[1]}
			var hitches []geom.Vec
			for k, l := range lengths {
				hitches = append(hitches, front)
				if i > 0 {
					step := front.Sub(prev[k])
					alpha := math.Pi - (math.Atan2(step.Y, step.X) - head[k])
					head[k] += 2 * math.Atan(math.Sin(alpha)/(2*l/step.Len()-math.Cos(alpha)))
				}
				u := geom.Vec{X: math.Cos(head[k]), Y: math.Sin(head[k])}
				axle := front.Along(u, -l)
				if want := (geom.Vec{X: s.Axles[k][0], Y: s.Axles[k][1]}); axle.Dist(want) > 0.005 {
					t.Fatalf("%s: at %.1f m axle %d is at %v, the other formula has %v", name, s.SM, k+1, want, axle)
				}
				for _, side := range []float64{1, -1} {
					id := fmt.Sprint(k, side)
					wheels[id] = append(wheels[id], axle.Along(u.Right(), side*tt.Vehicle.Track/2))
				}
				front = axle
			}
			prev = hitches
		}
		gates := p.Courses[0].Gates
		for i, g := range d.Gates {
			if gates[i].Cone != nil {
				continue
			}
			half := *g.GapCM/200 + p.Courses[0].ConeRadius
			for side, got := range map[float64]*float64{1: g.SpareRightCM, -1: g.SpareLeftCM} {
				cone := gates[i].At.Along(gates[i].Bearing.Dir().Right(), side*half)
				least := math.Inf(1)
				for k := range lengths {
					w := wheels[fmt.Sprint(k, side)]
					for j := 1; j < len(w); j++ {
						least = math.Min(least, geom.Seg{A: w[j-1], B: w[j]}.Dist(cone)-p.Courses[0].ConeRadius)
					}
				}
				// Horses' feet may have still less: the answer is at most the wheels'.
				if *got/100 > least+0.005 {
					t.Errorf("%s, gate %s: %.1f cm to spare are said, the wheels have %.1f", name, g.Gate, *got, least*100)
				}
				own := math.Inf(1)
				for _, room := range g.Room {
					if room.Part == FrontWheels || room.Part == RearWheels || room.Part == Wheels {
						own = math.Min(own, map[float64]float64{1: *room.SpareRightCM, -1: *room.SpareLeftCM}[side])
					}
				}
				if math.Abs(own/100-least) > 0.005 {
					t.Errorf("%s, gate %s: the wheels have %.1f cm to spare, from the samples %.1f", name, g.Gate, own, least*100)
				}
			}
		}
	}
}
