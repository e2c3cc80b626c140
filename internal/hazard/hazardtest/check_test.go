package hazardtest

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// leg is a piece of line whose curvature runs evenly from k0 to k1.
type leg struct{ length, k0, k1 float64 }

// drawn makes a route by hand: a start, pieces of line, and a steady speed.
// The line comes from the pieces' closed-form bearing; the axles are towed by
// the chord formula of the published "turn theory" page (science.md 3.2), not
// by the tow under test: a body of length L whose front moves by a chord S at
// angle α to it, measured from its front end, turns by 2·atan(sin α / (2L/S + cos α)).
func drawn(tu *turnout.Turnout, p geom.Vec, bearing, speed float64, legs ...leg) *hazard.Route {
	const h = 0.001
	r := &hazard.Route{Rank: 1, Way: "by hand"}
	th := bearing
	front, rear := bearing, bearing
	s := 0.0
	put := func(k float64) {
		x := hazard.Sample{SM: s, TS: s / speed, Lead: hazard.Point{p.X, p.Y}, BearingDeg: geom.Bearing(th).Deg(), SpeedMps: speed, CurvaturePerM: k}
		a := p.Along(dir(front), -tu.Vehicle.Shafts)
		x.Axles = append(x.Axles, hazard.Point{a.X, a.Y})
		x.AxleBearingsDeg = append(x.AxleBearingsDeg, geom.Bearing(front).Deg())
		l := math.Abs(deg(th - front))
		if tu.Vehicle.Wheels == 4 {
			b := a.Along(dir(rear), -tu.Vehicle.Wheelbase)
			x.Axles = append(x.Axles, hazard.Point{b.X, b.Y})
			x.AxleBearingsDeg = append(x.AxleBearingsDeg, geom.Bearing(rear).Deg())
			l = math.Abs(deg(front - rear))
		}
		r.LargestLockDeg = math.Max(r.LargestLockDeg, l)
		r.Samples = append(r.Samples, x)
	}
	chord := func(body, L, S, to float64) float64 {
		a := to - body
		return body + 2*math.Atan(math.Sin(a)/(2*L/S+math.Cos(a)))
	}
	put(legs[0].k0)
	for _, g := range legs {
		n := int(math.Round(g.length / h))
		th0 := th
		every := 0
		for i := 1; i <= n; i++ {
			u, um := float64(i)/float64(n), (float64(i)-0.5)/float64(n)
			at := func(u float64) float64 { return th0 + g.length*(g.k0*u+(g.k1-g.k0)*u*u/2) }
			step := g.length / float64(n)
			ax := p.Along(dir(front), -tu.Vehicle.Shafts)
			p = p.Along(dir(at(um)), step)
			front = chord(front, tu.Vehicle.Shafts, step, at(um))
			ax2 := p.Along(dir(front), -tu.Vehicle.Shafts)
			if tu.Vehicle.Wheels == 4 {
				d := ax2.Sub(ax)
				rear = chord(rear, tu.Vehicle.Wheelbase, d.Len(), rear+geom.Norm(float64(d.Bearing())-rear))
			}
			th = at(u)
			s += step
			if every++; every == 100 || i == n {
				every = 0
				put(g.k0 + (g.k1-g.k0)*u)
			}
		}
		k := math.Max(math.Abs(g.k0), math.Abs(g.k1))
		if turn := deg(g.length * (g.k0 + g.k1) / 2); turn > 0 {
			r.TurnedRightDeg += turn
			if x := 1 / k; r.LeastRadiusRightM == nil || x < *r.LeastRadiusRightM {
				r.LeastRadiusRightM = &x
			}
		} else if turn < 0 {
			r.TurnedLeftDeg -= turn
			if x := 1 / k; r.LeastRadiusLeftM == nil || x < *r.LeastRadiusLeftM {
				r.LeastRadiusLeftM = &x
			}
		}
	}
	r.LengthM, r.TimeS = s, s/speed
	return r
}

func v(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }

// straight is a hazard of three gates in a row, 4 m wide, and the drive
// straight through the middle. Every figure of it is known without towing.
func straight() (*plan.Plan, *turnout.Turnout, *hazard.Route) {
	gate := func(y float64) plan.Pair { return plan.Pair{Left: v(18, y), Right: v(22, y)} }
	p := &plan.Plan{Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(40, 0), v(40, 50), v(0, 50)}}}
	p.Hazards = []plan.Hazard{{Name: "row", MarkerRadius: 0.06, In: gate(10), Out: gate(40),
		Gates: []plan.Gate{{Letter: "A", Pair: gate(20)}, {Letter: "B", Pair: plan.Pair{Left: v(10, 20), Right: v(14, 20)}}}}}
	t := Named("single, four wheels")
	r := drawn(t, v(20, 10), 0, 4, leg{30, 0, 0})
	m := 1.0
	r.OverturnMargin = &m
	// Half of 4 m between centres, less a marker's 6 cm and half the hubs' 1.5 m.
	r.ClearanceM = 2 - 0.06 - 0.75
	// The hubs are beside A's marker when the front axle is: 2.6 m on.
	r.Tight = []hazard.Tight{{Thing: "A.right", Part: "hub", At: hazard.Point{21.94, 20}, SM: 12.6, ClearanceM: r.ClearanceM}}
	r.Passes = []hazard.Pass{
		{Gate: "in", Was: "due", Forward: true},
		{Gate: "A", Was: "live", Forward: true, SM: 10, TS: 2.5},
		{Gate: "out", Was: "due", Forward: true, SM: 30, TS: 7.5},
	}
	return p, t, r
}

// rounds is a drive of two and a half circles to the right, of 5 m, by a cart
// of 3 m: the axle settles on 4 m (the 3-4-5 row of science.md 3.1) and the
// inner hub on 4 − 0.75 m from the middle, where A's right marker stands. A is
// driven three times, of which it is due once.
func rounds() (*plan.Plan, *turnout.Turnout, *hazard.Route) {
	t := Named("single, two wheels")
	t.Vehicle.Shafts = 3
	const straight, ramp, R = 10.0, 2.0, 5.0
	k := 1 / R
	// Five half turns in all, of which each ramp makes ramp·k/2.
	arc := (5*math.Pi - ramp*k) / k
	r := drawn(t, v(12, 18), 0, 3, leg{straight, 0, 0}, leg{ramp, 0, k}, leg{arc, k, k}, leg{ramp, k, 0}, leg{straight, 0, 0})
	// The middle of the circle is a radius to the right of the end of the ramp.
	var mid geom.Vec
	for _, s := range r.Samples {
		if math.Abs(s.SM-(straight+ramp)) < 1e-9 {
			mid = s.Lead.Vec().Along(dir(rad(s.BearingDeg)).Right(), R)
		}
	}
	last := r.Samples[len(r.Samples)-1].Lead.Vec()
	p := &plan.Plan{Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(40, 0), v(40, 50), v(0, 50)}}}
	p.Hazards = []plan.Hazard{{Name: "rounds", MarkerRadius: 0.06,
		In:    plan.Pair{Left: v(7.8, 18), Right: v(16.2, 18)},
		Out:   plan.Pair{Left: last.Add(v(4.2, 0)), Right: last.Add(v(-4.2, 0))},
		Gates: []plan.Gate{{Letter: "A", Pair: plan.Pair{Left: mid.Add(v(0, 10)), Right: mid}}},
	}}
	m := 1 - 9.0/5*2*0.9/(9.80665*1.38)
	r.OverturnMargin = &m
	r.ClearanceM = 3.25 - 0.06
	s1 := straight + ramp + (math.Pi/2-ramp*k/2)*R // a quarter turned
	round := 2 * math.Pi * R
	r.Passes = []hazard.Pass{
		{Gate: "in", Was: "due", Forward: true},
		{Gate: "A", Was: "live", Forward: true, SM: s1, TS: s1 / 3},
		{Gate: "A", Was: "dead", Forward: true, SM: s1 + round, TS: (s1 + round) / 3},
		{Gate: "A", Was: "dead", Forward: true, SM: s1 + 2*round, TS: (s1 + 2*round) / 3},
		{Gate: "out", Was: "due", Forward: true, SM: r.LengthM, TS: r.TimeS},
	}
	// Anywhere in the last round will do: take its middle, where the inner hub
	// lies off the marker in the direction of the axle.
	x := r.Samples[len(r.Samples)*3/5]
	u := x.Axles[0].Vec().Sub(mid).Unit().Mul(0.06)
	at := mid.Add(u)
	r.Tight = []hazard.Tight{{Thing: "A.right", Part: "hub", At: hazard.Point{at.X, at.Y}, SM: x.SM, ClearanceM: r.ClearanceM}}
	return p, t, r
}

// TestCheckAcceptsStraight: the drive whose every figure is known by hand.
func TestCheckAcceptsStraight(t *testing.T) {
	p, tu, r := straight()
	if got := Check(p, &p.Hazards[0], tu, "A", "", r); len(got) > 0 {
		t.Errorf("a faultless straight drive is rejected:\n%s", strings.Join(got, "\n"))
	}
}

// kinds are the words before the colon of each violation.
func kinds(list []string) []string {
	var out []string
	for _, s := range list {
		k, _, _ := strings.Cut(s, ":")
		out = append(out, k)
	}
	return out
}

// TestCheckRejects plants one fault after another in the faultless drive; each
// must be called by its name.
func TestCheckRejects(t *testing.T) {
	each := func(r *hazard.Route, do func(i int, s *hazard.Sample)) {
		for i := range r.Samples {
			do(i, &r.Samples[i])
		}
	}
	cases := []struct {
		name, kind string
		spoil      func(p *plan.Plan, tu *turnout.Turnout, r *hazard.Route)
	}{
		{"one place shifted 2 cm sideways", "position", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[100].Lead[0] += 0.02 }},
		{"one bearing 1° off", "bearing", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[100].BearingDeg += 1 }},
		{"one sample missing", "", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			r.Samples = slices.Delete(r.Samples, 100, 101)
		}},
		{"three samples missing", "spacing", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			r.Samples = slices.Delete(r.Samples, 100, 103)
		}},
		{"the whole drive shifted 1.16 m sideways", "clearance", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			each(r, func(_ int, s *hazard.Sample) {
				s.Lead[0] += 1.16
				s.Axles[0][0] += 1.16
				s.Axles[1][0] += 1.16
			})
		}},
		{"gate A skipped: it stands elsewhere", "gates", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			p.Hazards[0].Gates[0].Pair = plan.Pair{Left: v(26, 20), Right: v(30, 20)}
		}},
		{"gate A driven backwards", "gates", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			g := &p.Hazards[0].Gates[0]
			g.Left, g.Right = g.Right, g.Left
		}},
		{"the drive runs the other way", "start", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			h := &p.Hazards[0]
			h.In.Left, h.In.Right = h.In.Right, h.In.Left
		}},
		{"Out faces the other way", "end", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			h := &p.Hazards[0]
			h.Out.Left, h.Out.Right = h.Out.Right, h.Out.Left
		}},
		{"Out stands 20 cm on", "end", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			h := &p.Hazards[0]
			h.Out.Left.Y += 0.2
			h.Out.Right.Y += 0.2
		}},
		{"a live B across the line out of turn", "gates", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			h := &p.Hazards[0]
			h.Gates[0], h.Gates[1] = plan.Gate{Letter: "A", Pair: plan.Pair{Left: v(18, 25), Right: v(22, 25)}}, plan.Gate{Letter: "A", Pair: h.Gates[0].Pair}
			h.Gates[0].Letter, h.Gates[1].Letter = "Z", "A" // Z is first, A the one asked through
		}},
		{"a tree 3 cm from the hub", "clearance", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			p.Things = append(p.Things, plan.Thing{ID: "t", Kind: plan.Tree, At: v(20.75+0.03+0.3, 30), Radius: 0.3})
		}},
		{"a pond under the line", "clearance", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			p.Things = append(p.Things, plan.Thing{ID: "w", Kind: "water", Outline: geom.Polygon{v(15, 25), v(25, 25), v(25, 37), v(15, 37)}})
		}},
		{"the outline behind In too near", "clearance", func(p *plan.Plan, _ *turnout.Turnout, _ *hazard.Route) {
			p.Ground.Outline = geom.Polygon{v(0, 6.02), v(40, 6.02), v(40, 50), v(0, 50)}
		}},
		{"clearance told 2 cm too great", "clearance told", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.ClearanceM += 0.02 }},
		{"the tight place on another thing", "tight", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Tight[0].Thing = "in.left" }},
		{"the tight place with another part", "tight", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Tight[0].Part = "shafts" }},
		{"2 % over the pace", "speed", func(_ *plan.Plan, tu *turnout.Turnout, _ *hazard.Route) { tu.Pace.Speed = 4 / 1.02 }},
		{"a jump of speed", "gain", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			each(r, func(i int, s *hazard.Sample) {
				if i > 100 {
					s.SpeedMps += 0.1
				}
			})
		}},
		{"a sudden stop", "loss", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			each(r, func(i int, s *hazard.Sample) {
				if i > 100 {
					s.SpeedMps -= 0.1
				}
			})
		}},
		{"all times 2 % short", "times", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			each(r, func(_ int, s *hazard.Sample) { s.TS *= 0.98 })
			r.TimeS *= 0.98
			r.Passes[1].TS *= 0.98
			r.Passes[2].TS *= 0.98
		}},
		{"time_s 0.1 s short", "time", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.TimeS -= 0.1 }},
		{"length_m 1 m short", "length", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.LengthM-- }},
		{"the front axle 3 cm off", "axle", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[50].Axles[0][0] += 0.03 }},
		{"the rear axle 3 cm off", "axle", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[50].Axles[1][1] += 0.03 }},
		{"the body's bearing 2° off", "axle bearing", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[50].AxleBearingsDeg[1] += 2 }},
		{"a pass too many", "passes", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			r.Passes = append(r.Passes, r.Passes[1])
		}},
		{"a pass called dead", "passes", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Passes[1].Was = "dead" }},
		{"a pass 10 cm off", "passes", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Passes[1].SM += 0.1 }},
		{"degrees turned on a straight line", "turned", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.TurnedLeftDeg = 5 }},
		{"no overturn margin told", "overturn margin", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.OverturnMargin = nil }},
		{"leaders where there are none", "leaders", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) {
			r.Samples[3].Leaders = &hazard.Leaders{}
		}},
		{"a sample that is not a number", "samples", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[3].Lead[0] = math.NaN() }},
		{"standing still", "forward", func(_ *plan.Plan, _ *turnout.Turnout, r *hazard.Route) { r.Samples[3].SpeedMps = 0 }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, tu, r := straight()
			c.spoil(p, tu, r)
			got := Check(p, &p.Hazards[0], tu, "A", "", r)
			if c.kind == "" {
				if len(got) > 0 {
					t.Errorf("wrongly rejected: %s", strings.Join(got, "\n"))
				}
				return
			}
			if !slices.Contains(kinds(got), c.kind) {
				t.Errorf("want %q, got %q", c.kind, got)
			}
		})
	}
}

// TestCheckRejectsOnBends plants faults that need a bend to be seen.
func TestCheckRejectsOnBends(t *testing.T) {
	cases := []struct {
		name, kind string
		spoil      func(tu *turnout.Turnout, r *hazard.Route)
	}{
		{"the turnout turns 2 % less tightly", "radius", func(tu *turnout.Turnout, _ *hazard.Route) { tu.Turning.Right = 5.1 }},
		{"side force of the right hand 3 % over", "side force", func(tu *turnout.Turnout, _ *hazard.Route) { tu.Pace.Lateral.Right = 1.8 / 1.03 }},
		{"lock 1° short", "lock", func(tu *turnout.Turnout, _ *hazard.Route) { tu.Vehicle.Lock = rad(35.8) }},
		{"a curvature reported as straight", "curvature", func(_ *turnout.Turnout, r *hazard.Route) {
			for i := range r.Samples {
				r.Samples[i].CurvaturePerM = 0
			}
		}},
		{"the least radius told 10 % great", "least radius", func(_ *turnout.Turnout, r *hazard.Route) { x := 5.5; r.LeastRadiusRightM = &x }},
		{"axles that run in the horse's track", "axle", func(tu *turnout.Turnout, r *hazard.Route) {
			for i := range r.Samples {
				s := &r.Samples[i]
				a := s.Lead.Vec().Along(dir(rad(s.BearingDeg)), -tu.Vehicle.Shafts)
				s.Axles[0] = hazard.Point{a.X, a.Y}
			}
		}},
		{"the lock told 2° small", "largest lock", func(_ *turnout.Turnout, r *hazard.Route) { r.LargestLockDeg -= 2 }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, tu, r := rounds()
			c.spoil(tu, r)
			if got := Check(p, &p.Hazards[0], tu, "", "", r); !slices.Contains(kinds(got), c.kind) {
				t.Errorf("want %q, got %q", c.kind, got)
			}
		})
	}
	t.Run("a circle without an easement", func(t *testing.T) {
		p, tu, _ := rounds()
		r := drawn(tu, v(12, 25), 0, 3, leg{4, 0, 0}, leg{10, 0.2, 0.2})
		if got := Check(p, &p.Hazards[0], tu, "", "", r); !slices.Contains(kinds(got), "curvature jump") {
			t.Errorf("want a curvature jump, got %q", got)
		}
	})
}

// TestCheckAcceptsRounds: a curved drive whose clearance, lock and passages
// are known from the circle.
func TestCheckAcceptsRounds(t *testing.T) {
	p, tu, r := rounds()
	if got := Check(p, &p.Hazards[0], tu, "", "", r); len(got) > 0 {
		t.Errorf("a faultless drive in circles is rejected:\n%s", strings.Join(got, "\n"))
	}
	// sin ψ = L/R: 36.87° for 3 m on 5 m.
	if math.Abs(r.LargestLockDeg-36.8699) > 0.01 {
		t.Errorf("the tow by hand settles at %.4f°, not 36.8699°", r.LargestLockDeg)
	}
}

// TestTow holds the check's own towing to science.md 3.1 (steady turns) and
// 3.2 (transients; closed form there checked against an ODE solver).
func TestTow(t *testing.T) {
	run := func(R, L, turned float64) tow {
		tu := &turnout.Turnout{Vehicle: turnout.Vehicle{Wheels: 2, Shafts: L}}
		n := int(math.Ceil(R * turned / fineStep))
		h, k := R*turned/float64(n), 1/R
		var w tow
		for i := 0; i < n; i++ {
			b := float64(i) * h * k
			w = towStep(tu, w, h, b, b+h*k/2, b+h*k)
		}
		w.shafts = turned - w.shafts
		return w
	}
	for _, c := range []struct{ R, L, turned, psi, off float64 }{
		{10, 3, 30, 14.25503, 0.29301},
		{10, 3, 90, 17.34389, 0.45465},
		{10, 3, 180, 17.45683, 0.46057},
		{5, 3, 90, 33.01331, 0.79822},
		{5, 3, 180, 36.40509, 0.97566},
		{5, 4, 90, 41.10450, 1.16560},
		{3, 3, 90, 47.48947, 0.82486},
		{2.5, 3, 180, 75.08189, 1.63076},
	} {
		psi := run(c.R, c.L, rad(c.turned)).shafts
		if math.Abs(deg(psi)-c.psi) > 1e-5 {
			t.Errorf("R %g L %g turned %g°: hitch %.6f°, want %.5f°", c.R, c.L, c.turned, deg(psi), c.psi)
		}
		off := c.R - math.Sqrt(c.R*c.R+c.L*c.L-2*c.R*c.L*math.Sin(psi))
		if math.Abs(off-c.off) > 1e-5 {
			t.Errorf("R %g L %g turned %g°: off-tracking %.6f m, want %.5f", c.R, c.L, c.turned, off, c.off)
		}
	}
	for _, c := range []struct{ R, L1, L2, axle float64 }{
		{10, 3, 0, 9.5394}, {5, 3, 0, 4}, {5, 4, 0, 3}, {3.5, 2.8, 0, 2.1}, {10, 2.8, 1.8, 9.4297}, {12.8, 6.1, 0, 11.2530},
	} {
		tu := &turnout.Turnout{Vehicle: turnout.Vehicle{Wheels: 2, Shafts: c.L1}}
		if c.L2 > 0 {
			tu.Vehicle.Wheels, tu.Vehicle.Wheelbase = 4, c.L2
		}
		var w tow
		b, h := 0.0, fineStep
		for s := 0.0; s < 40*c.R; s += h {
			w = towStep(tu, w, h, b, b+h/2/c.R, b+h/c.R)
			b += h / c.R
		}
		// On bearing b round the origin, turning right, the lead point is a radius to the left.
		ax := axles(tu, dir(b).Left().Mul(c.R), w)
		if got := ax[len(ax)-1].Len(); math.Abs(got-c.axle) > 1e-4 {
			t.Errorf("R %g, %g + %g: axle settles on %.5f m, want %.4f", c.R, c.L1, c.L2, got, c.axle)
		}
	}
	tu := &turnout.Turnout{Vehicle: turnout.Vehicle{Wheels: 2, Shafts: 3}}
	w := tow{shafts: rad(30)}
	for i, want := range []float64{11.2593, 4.1536, 1.5286} {
		for range 300 {
			w = towStep(tu, w, 0.01, 0, 0, 0)
		}
		if math.Abs(deg(w.shafts)-want) > 1e-4 {
			t.Errorf("straightening from 30° over %d m: %.5f°, want %.4f°", 3*(i+1), deg(w.shafts), want)
		}
	}
}

// TestRandom: the same seed gives the same hazard, and a hazard is what it is
// said to be: clear before and behind each gate, inside its fence, all ends
// free for a turnout to stand and to leave.
func TestRandom(t *testing.T) {
	same := 0
	for seed := range uint64(60) {
		for _, o := range []Options{{}, {SharedPost: true, TwoLetters: true}, {Roomy: true}} {
			p, q := Random(seed, o), Random(seed, o)
			if !reflect.DeepEqual(p, q) {
				t.Fatalf("seed %d gives two hazards", seed)
			}
			h := &p.Hazards[0]
			if o == (Options{}) && h.In.Right == h.Out.Left {
				same++
			}
			if n := len(h.Gates); n < 3 || n > 7 {
				t.Errorf("seed %d %+v: %d gates", seed, o, n)
			}
			if n := len(p.Things); n < 12 || n > 47 {
				t.Errorf("seed %d %+v: %d things", seed, o, n)
			}
			y := newYard(p, h)
			for _, g := range h.Gates {
				f := g.Forward()
				run := []part{{"", geom.Seg{A: g.Mid().Along(f, -clearGate), B: g.Mid().Along(f, clearGate)}, 0}}
				if n := y.clearance(run, 1.2, -1); n.ob >= 0 {
					t.Errorf("seed %d %+v: gate %s has %s %.2f m off the line before and behind it", seed, o, g.Letter, y.obs[n.ob].ID, n.d)
				}
			}
			for _, b := range []plan.Pair{h.In, {Right: h.Out.Left, Left: h.Out.Right}} {
				f := b.Forward()
				run := []part{{"", geom.Seg{A: b.Mid().Along(f, -8), B: b.Mid().Along(f, clearStart)}, 0}}
				if n := y.clearance(run, 1, -1); n.ob >= 0 && y.obs[n.ob].ID != "outline" {
					t.Errorf("seed %d %+v: %s stands %.2f m off the way in or out", seed, o, y.obs[n.ob].ID, n.d)
				} else if n.ob >= 0 && n.d < 0.4 {
					t.Errorf("seed %d %+v: the fence is %.2f m off the way in or out", seed, o, n.d)
				}
			}
		}
	}
	if same < 8 || same > 24 {
		t.Errorf("In and Out are one pair in %d of 60, wanted about a quarter", same)
	}
}

// BenchmarkCheck judges the drive in circles: 103 m, one sample each 0.1 m.
func BenchmarkCheck(b *testing.B) {
	p, tu, r := rounds()
	for b.Loop() {
		Check(p, &p.Hazards[0], tu, "", "", r)
	}
}
