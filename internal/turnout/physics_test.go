package turnout

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.7g, want %.7g ± %g", what, got, want, tol)
	}
}

// Static stability factor T/2h: NHTSA rollover rule, chapter V. The rows of
// carriages and the tipping speeds √(S·g·r) are own arithmetic.
func TestStaticStability(t *testing.T) {
	for _, c := range []struct{ track, h, s, v3, v5, v10 float64 }{
		{1.30, 1.00, 0.650, 4.373, 5.645, 7.984},
		{1.38, 0.90, 0.7667, 4.749, 6.131, 8.671},
		{1.25, 1.10, 0.5682, 4.089, 5.278, 7.465},
	} {
		s := StaticStability(c.track, c.h)
		near(t, "factor", s, c.s, 1e-4)
		near(t, "tips at r 3", TipSpeed(s, 3), c.v3, 1e-3)
		near(t, "tips at r 5", TipSpeed(s, 5), c.v5, 1e-3)
		near(t, "tips at r 10", TipSpeed(s, 10), c.v10, 1e-3)
	}
	// Ranges of Gillespie's table (Fundamentals of Vehicle Dynamics, chapter 9;
	// from memory): height and tread in inches, threshold in g as printed.
	for _, c := range []struct {
		name                   string
		h, t                   [2]float64
		low, high, tolL, tolUp float64
	}{
		{"sports car", [2]float64{18, 20}, [2]float64{50, 60}, 1.2, 1.7, 0.0501, 0.05},
		{"compact car", [2]float64{20, 23}, [2]float64{50, 60}, 1.1, 1.5, 0.05, 0.05},
		{"luxury car", [2]float64{20, 24}, [2]float64{60, 65}, 1.2, 1.6, 0.06, 0.05},
		{"medium truck", [2]float64{45, 55}, [2]float64{65, 75}, 0.6, 0.8, 0.05, 0.05},
		{"heavy truck", [2]float64{60, 85}, [2]float64{70, 72}, 0.4, 0.6, 0.05, 0.05},
	} {
		near(t, c.name+", least", StaticStability(c.t[0], c.h[1]), c.low, c.tolL)
		near(t, c.name+", most", StaticStability(c.t[1], c.h[0]), c.high, c.tolUp)
	}
}

// On a side slope the limit is that of the tilted force: own derivation, checked
// against the overturning moments written out.
func TestStabilityOnASlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		track, h := rapid.Float64Range(0.8, 2).Draw(t, "track"), rapid.Float64Range(0.5, 1.5).Draw(t, "h")
		slope := rapid.Float64Range(0, 0.4).Draw(t, "slope")
		a := StabilityOnSlope(StaticStability(track, h), slope)
		th := math.Atan(slope)
		// Side force level, weight down; about the lower wheel, in its own frame.
		over := (a*math.Cos(th) + math.Sin(th)) * h
		keep := (math.Cos(th) - a*math.Sin(th)) * track / 2
		if math.Abs(over-keep) > 1e-9 {
			t.Fatalf("a %v: %v against %v", a, over, keep)
		}
	})
}

// Grade resistance: 20 lb a short ton and per cent (Agg 1920); long tons at
// 1:100, 1:50, 1:20: 22, 45, 112 lb (Gregory).
func TestGradeResistance(t *testing.T) {
	const lb = 0.45359237
	pounds := func(mass, slope float64) float64 { return Pull(mass*lb, 0, slope) / gravity / lb }
	near(t, "short ton at 1 %", pounds(2000, 0.01), 20, 1e-9)
	near(t, "long ton at 1:100", pounds(2240, 1.0/100), 22, 0.5)
	near(t, "long ton at 1:50", pounds(2240, 1.0/50), 45, 0.5)
	near(t, "long ton at 1:20", pounds(2240, 1.0/20), 112, 0.5)
	// Own arithmetic: 350 kg at 0.03.
	near(t, "pull level", Pull(350, 0.03, 0), 102.97, 0.01)
	near(t, "of 400 kg", Pull(350, 0.03, 0)/(400*gravity), 0.026, 5e-4)
	near(t, "power at 3.6 m/s", Power(Pull(350, 0.03, 0), 3.6), 370.7, 0.1)
	near(t, "pull at 5 %", Pull(350, 0.03, 0.05), 274.6, 0.1)
	near(t, "of 400 kg", Pull(350, 0.03, 0.05)/(400*gravity), 0.070, 5e-4)
	// Horsepower: 33 000 ft·lb/min is 745.70 W; 150 lb at 2.5 mph is one.
	near(t, "horsepower", Power(150*lb*gravity, 2.5*1609.344/3600), 745.70, 0.01)
	// Average effort, road text-book of 1908: 80 lb at 250 ft/min is 0.606 hp.
	near(t, "average effort", Power(80*lb*gravity, 250*0.3048/60)/745.70, 0.606, 5e-4)
	// Pair of 1725 + 1905 lb pulling 2300 lb (1923): 63.4 % of their weight.
	near(t, "peak of a pair", 2300.0/(1725+1905), 0.634, 5e-4)
}

// Rolling resistance, as the ratio printed or pounds over pounds.
func TestPublishedResistances(t *testing.T) {
	for _, c := range []struct {
		name             string
		lb, of, want, to float64
	}{
		// Morin, quoted 1874, pull of 9 000 lb.
		{"gravel newly repaired", 1000, 9000, 0.111, 5e-4},
		{"best gravel", 310, 9000, 0.0344, 5e-5},
		{"broken stone", 166 + 1.0/3, 9000, 0.0185, 5e-5},
		{"good pavement", 138 + 2.0/3, 9000, 0.0154, 5e-5},
		// Agg 1920, pounds a short ton.
		{"asphalt good", 20.4, 2000, 0.0102, 1e-9},
		{"asphalt poor", 22.6, 2000, 0.0113, 1e-9},
		{"granite block", 40.3, 2000, 0.020, 5e-4},
		{"gravel fair", 30.4, 2000, 0.0152, 1e-9},
		{"tar macadam very poor", 52.4, 2000, 0.026, 5e-4},
	} {
		near(t, c.name, c.lb/c.of, c.want, c.to)
		inside := false
		for _, g := range Grounds() {
			inside = inside || g.Low <= c.want && c.want <= g.High+5e-4
		}
		if !inside {
			t.Errorf("%s: %v is in no range of ours", c.name, c.want)
		}
	}
	for name, want := range map[string][2]float64{"road": {0.01, 0.02}, "soil": {0.08, 0.08}, "gravel": {0.012, 0.06}, "sand": {0.1, 0.2}} {
		for _, g := range Grounds() {
			if g.Name == name && (g.Low > want[0] || g.High < want[1]) {
				t.Errorf("%s: %v to %v does not hold %v", name, g.Low, g.High, want)
			}
		}
	}
}

// Loads on grades: Rensselaer Union 1874, Southern Good Roads 1915, Historic
// Highways of America 15. At 5 % they differ.
func TestGradeLoads(t *testing.T) {
	for grade, want := range map[float64][2]float64{0.01: {0.90, 0.90}, 0.02: {0.80, 0.81}, 0.025: {0.72, 0.72}, 0.04: {0.52, 0.52}, 0.05: {0.40, 0.50}, 0.10: {0.25, 0.25}} {
		low, high, ok := GradeShare(grade)
		if !ok || math.Abs(low-want[0]) > 1e-12 || math.Abs(high-want[1]) > 1e-12 {
			t.Errorf("%v: %v to %v, want %v", grade, low, high, want)
		}
	}
	// μ/(μ + i) with μ 1/30 gives the first table at 5 and 10 %, not lower down.
	near(t, "model at 5 %", Pull(1, 1.0/30, 0)/Pull(1, 1.0/30, 0.05), 0.400, 1e-3)
	near(t, "model at 10 %", Pull(1, 1.0/30, 0)/Pull(1, 1.0/30, 0.10), 0.250, 1e-3)
	if _, _, ok := GradeShare(0.2); ok {
		t.Error("nothing is published for 20 %")
	}
}

// Weight tape: girth² × length / 330, inches to pounds; rows are its arithmetic.
func TestTapeWeight(t *testing.T) {
	const lb = 0.45359237
	near(t, "72 × 65 in", TapeWeight(72*2.54, 65*2.54)/lb, 1021.1, 0.1)
	near(t, "50 × 45 in", TapeWeight(50*2.54, 45*2.54)/lb, 340.9, 0.1)
}

// Balance, own arithmetic: 200 kg on the axle, its centre 0.02 m ahead and 0.5 m
// above the axle, tugs 2.2 m ahead.
func TestTugWeight(t *testing.T) {
	loads := []Mass{{"cart and driver", 200, 0.02, 1.0}}
	near(t, "level", TugWeight(loads, 0.5, 2.2, 0), 1.818, 1e-3)
	near(t, "10 % downhill", TugWeight(loads, 0.5, 2.2, -0.10), 6.364, 1e-3)
	near(t, "10 % uphill lifts", TugWeight(loads, 0.5, 2.2, 0.10), -2.727, 1e-3)
}

func randomLoads(t *rapid.T) []Mass {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Mass {
		return Mass{"x", rapid.Float64Range(1, 200).Draw(t, "kg"), rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(0.2, 1.5).Draw(t, "h")}
	}), 1, 6).Draw(t, "loads")
}

func TestBalanceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loads := randomLoads(t)
		axle, tugs, slope := rapid.Float64Range(0.3, 0.7).Draw(t, "axle"), rapid.Float64Range(1.2, 3).Draw(t, "tugs"), rapid.Float64Range(-0.2, 0.2).Draw(t, "slope")
		f := TugWeight(loads, axle, tugs, slope)
		// The moments close.
		sum := -f * tugs
		total := 0.0
		for _, l := range loads {
			sum += l.Weight * (l.FromAxle - (l.Height-axle)*slope)
			total += l.Weight
		}
		if math.Abs(sum) > 1e-9 {
			t.Fatalf("moments do not close: %v", sum)
		}
		// Weight moved back lightens the tugs.
		i := rapid.IntRange(0, len(loads)-1).Draw(t, "which")
		by := rapid.Float64Range(0.01, 0.5).Draw(t, "back")
		back := append([]Mass{}, loads...)
		back[i].FromAxle -= by
		if g := TugWeight(back, axle, tugs, slope); !(g < f) {
			t.Fatalf("moved back %v m: %v, was %v", by, g, f)
		}
		// Moving the seat as told gives what was wanted.
		const want = 2.0
		moved := append([]Mass{}, loads...)
		moved[i].FromAxle += MoveLoad(f, want, tugs, loads[i].Weight)
		if g := TugWeight(moved, axle, tugs, slope); math.Abs(g-want) > 1e-9 {
			t.Fatalf("moved the seat: %v", g)
		}
		// So does moving the axle.
		if total > 10 {
			d := MoveAxle(Moment(loads, axle, slope), total, want, tugs)
			axled := append([]Mass{}, loads...)
			for i := range axled {
				axled[i].FromAxle -= d
			}
			if g := TugWeight(axled, axle, tugs-d, slope); math.Abs(g-want) > 1e-9*math.Max(1, 1/math.Abs(tugs-d)) {
				t.Fatalf("moved the axle %v: %v", d, g)
			}
		}
		// In inches and pounds the answer is the same weight.
		imperial := make([]Mass, len(loads))
		const inch, lb = 0.0254, 0.45359237
		for i, l := range loads {
			imperial[i] = Mass{l.What, l.Weight / lb, l.FromAxle / inch, l.Height / inch}
		}
		if g := TugWeight(imperial, axle/inch, tugs/inch, slope) * lb; math.Abs(g-f) > 1e-9*math.Max(1, math.Abs(f)) {
			t.Fatalf("in inches and pounds %v, in metres and kilograms %v", g, f)
		}
		// Uphill lightens what stands above the axle.
		high := []Mass{{"x", 100, 0, axle + 0.4}}
		if TugWeight(high, axle, tugs, 0.1) >= 0 || TugWeight(high, axle, tugs, -0.1) <= 0 {
			t.Fatal("the slope works the wrong way")
		}
	})
}

// Steady circles: 3-4-5 triangles, and the "sum of squares" of off-tracking.
func TestLeastCircle(t *testing.T) {
	for _, c := range []struct{ shafts, base, lock, want float64 }{
		{3, 0, 90, 3}, {3, 4, 90, 5}, {3, 0, 36.86989764584402, 5}, {2.8, 0, 53.13010235415598, 3.5}, {2.8, 1.8, 90, math.Sqrt(2.8*2.8 + 1.8*1.8)},
	} {
		got, _ := LeastCircle(c.shafts, c.base, c.lock*math.Pi/180)
		near(t, "radius", got, c.want, 1e-9)
	}
	rapid.Check(t, func(t *rapid.T) {
		s, b, lock := rapid.Float64Range(1, 4).Draw(t, "shafts"), rapid.Float64Range(0.5, 2).Draw(t, "base"), rapid.Float64Range(0.2, 1.5).Draw(t, "lock")
		r, _ := LeastCircle(s, b, lock)
		// On that circle the turntable stands at the lock exactly.
		if front := math.Sqrt(r*r - s*s); math.Abs(math.Asin(math.Min(1, b/front))-lock) > 1e-6 {
			t.Fatalf("turntable at %v, lock %v", math.Asin(b/front), lock)
		}
	})
}

// Traces at right angles to a shoulder that lies 14 to 15° off the vertical fall
// 14 to 15° towards the vehicle (old lectures on natural philosophy).
func TestDraughtAngle(t *testing.T) {
	near(t, "angle", DraughtAngle(1.15, 1.15-2*math.Sin(14.5*math.Pi/180), 2)*180/math.Pi, 14.5, 1e-9)
}
