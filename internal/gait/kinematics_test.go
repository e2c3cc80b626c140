package gait

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Published speeds, stride lengths and frequencies hang together as v = SL·f.
func TestPublishedStrides(t *testing.T) {
	for _, c := range []struct {
		name                   string
		speed, stride, hz, tol float64 // tol on hz
	}{
		// Clayton 1994, Equine Vet. J. 26(3):230, PubMed 8542844 (read in a note quoting it).
		{"collected trot", 3.20, 2.50, 1.280, 0.005},
		{"working trot", 3.61, 2.73, 1.322, 0.005},
		{"medium trot", 4.47, 3.26, 1.371, 0.005},
		{"extended trot", 4.93, 3.55, 1.389, 0.005},
		// Drevemo et al. 1980, Equine Vet. J. 12(2):60, PubMed 7371611: 12.0 m/s, 5.45 m, 0.455 s.
		{"racing trot", 12.0, 5.45, 1 / 0.455, 0.05 / 5.45},
		// Groppi 2008, Kalamazoo College: Arabians on a treadmill.
		{"Arabians, trot, slowest", 4, 2.718, 88.3 / 60, 0.001},
		{"Arabians, trot, quickest", 4, 2.553, 94.0 / 60, 0.001},
		{"Arabians, canter, slowest", 8, 4.085, 117.5 / 60, 0.001},
		{"Arabians, canter, quickest", 8, 3.887, 123.5 / 60, 0.001},
		// Clayton 1995, Am. J. Vet. Res. 56(7):849, PubMed 7574149.
		{"collected walk", 1.37, 1.57, 1 / 1.159, 0.02 / 1.57},
		{"extended walk", 1.82, 1.93, 1 / 1.064, 0.01 / 1.93},
		// Witte, Hirst & Wilson 2006, J. Exp. Biol. 209:4389.
		{"gallop at 9 m/s", 9, 4.46, 2.02, 0.03},
		{"gallop at 17 m/s", 17, 7.05, 2.41, 0.03},
	} {
		m := Moved{SpeedMPS: c.speed, StrideM: c.stride}
		near(t, c.name, m.StrideHz(), c.hz, c.tol)
	}
	// Strides a minute, same sources: 76.8, 79.3, 82.3, 83.3; walk 51.8, 56.4.
	for _, c := range []struct{ hz, perMinute, tol float64 }{
		{1.280, 76.8, 0.05}, {1.322, 79.3, 0.05}, {1.371, 82.3, 0.05}, {1.389, 83.3, 0.06}, {0.863, 51.8, 0.05}, {0.940, 56.4, 0.05}, {1.590, 95.4, 0.05},
		// Teaching figures of a French horse institute: 1.37, 0.88, 0.65 s a stride.
		{1 / 1.37, 44, 0.5}, {1 / 0.88, 68, 0.5}, {1 / 0.65, 92, 0.5},
	} {
		near(t, "strides a minute", PerMinute(c.hz), c.perMinute, c.tol)
	}
	// Duty factor, driven horses at walk (Animal Research 2006): fore 0.65 of 1.08 s, hind 0.66 of 1.07 s.
	near(t, "duty factor fore", DutyFactor(0.65, 1.08), 0.602, 0.005)
	near(t, "duty factor hind", DutyFactor(0.66, 1.07), 0.617, 0.005)
	// Witte 2006, abstract: fore stance and swing 131 + 364 ms at 9 m/s, 77 + 342 ms at 17 m/s.
	near(t, "gallop stride at 9 m/s", 1/(0.131+0.364), 2.02, 0.03)
	near(t, "gallop stride at 17 m/s", 1/(0.077+0.342), 2.41, 0.03)
}

// Working trot in hand, breed field test, criterion 26 of pax.gfeweb.com: exact limits.
func TestAmplitudeInHand(t *testing.T) {
	for _, c := range []struct {
		stride float64
		want   string
	}{{2.59, "small"}, {2.60, "middling"}, {2.79, "middling"}, {2.80, "good"}, {3.00, "good"}, {3.01, "great"}} {
		if got := AmplitudeInHand(c.stride); got != c.want {
			t.Errorf("%v m: %s, want %s", c.stride, got, c.want)
		}
	}
}

// Griffin et al. 2004, J. Exp. Biol. 207:4215: walk changes to trot at Froude
// 0.35 over legs of 0.7 to 1.4 m; observed 1.6 to 2.3 m/s.
func TestWalkTrotChange(t *testing.T) {
	near(t, "leg 0.7", SpeedAt(TransitionFroude, 0.7), 1.550, 1e-3)
	near(t, "leg 1.4", SpeedAt(TransitionFroude, 1.4), 2.192, 1e-3)
	near(t, "leg 0.7 observed", SpeedAt(TransitionFroude, 0.7), 1.6, 0.1)
	near(t, "leg 1.4 observed", SpeedAt(TransitionFroude, 1.4), 2.3, 0.15)
	// Own arithmetic, for regression.
	near(t, "leg 0.6", SpeedAt(TransitionFroude, 0.6), 1.435, 1e-3)
	near(t, "leg 1.0", SpeedAt(TransitionFroude, 1.0), 1.853, 1e-3)
	near(t, "leg 1.2", SpeedAt(TransitionFroude, 1.2), 2.030, 1e-3)
}

// Bullimore & Burn 2006, J. Exp. Biol. 209:455: relative stride and duty factor
// hardly depend on mass. The second fit, without horses 18 to 21, is another
// estimate of the same thing and differs by up to 3.5 %.
func TestDynamicSimilarity(t *testing.T) {
	for _, c := range []struct{ froude, a, b float64 }{{0.50, 1.30, 0.01}, {0.75, 1.37, 0.03}, {1.00, 1.61, 0.02}} {
		for _, mass := range []float64{300, 500, 700} {
			got, ok := Expect(c.froude, mass, 1)
			if want := c.a * math.Pow(mass, c.b); !ok || math.Abs(got.StrideM/want-1) > 0.085 {
				t.Errorf("Froude %v, %v kg: relative stride %.3f, the other fit has %.3f", c.froude, mass, got.StrideM, want)
			}
		}
	}
	for _, c := range []struct{ froude, mass, stride, duty float64 }{
		{0.50, 86, 1.43, 0.47}, {0.50, 714, 1.43, 0.47},
		{0.75, 400, 1.582, 0.414}, {1.00, 400, 1.763, 0.39},
	} {
		got, ok := Expect(c.froude, c.mass, 1)
		if !ok || math.Abs(got.StrideM/c.stride-1) > 0.035 || math.Abs(got.DutyFactor/c.duty-1) > 0.035 {
			t.Errorf("Froude %v, %v kg: %+v, want stride %v, duty %v", c.froude, c.mass, got, c.stride, c.duty)
		}
	}
	got, _ := Expect(0.75, 400, 1.20)
	near(t, "speed", got.SpeedMPS, 2.971, 1e-3)
	near(t, "stride", got.StrideM, 1.898, 1.898*0.035)
	near(t, "frequency", got.StrideHz, 1.565, 1.565*0.035)
	if _, ok := Expect(1.2, 400, 1.2); ok {
		t.Error("nothing is published beyond Froude 1")
	}
}

func TestScalingKeepsTheFroudeNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := rapid.Float64Range(0.3, 1.5).Draw(t, "from"), rapid.Float64Range(0.3, 1.5).Draw(t, "to")
		v, sl := rapid.Float64Range(1, 6).Draw(t, "v"), rapid.Float64Range(0.5, 4).Draw(t, "sl")
		v2, sl2, f2 := Scale(v, sl, v/sl, from, to)
		if math.Abs(Froude(v, from)-Froude(v2, to)) > 1e-9 || math.Abs(v2-sl2*f2) > 1e-9 {
			t.Fatalf("%v %v %v", v2, sl2, f2)
		}
	})
}

// Lean and grip. Speeds measured on 20 m circles with a sulky: PMC9592803,
// table 1; trots of Clayton 1994; the angles are own arithmetic of tan θ = v²/gr.
func TestLeanAndGrip(t *testing.T) {
	for _, c := range []struct{ v, r, lean, g float64 }{
		{5.5, 10, 17.143, 0.3085}, {5.6, 10, 17.733, 0.3198}, {3.20, 10, 5.961, 0.1044}, {3.61, 10, 7.570, 0.1329}, {3.20, 5, 11.796, 0.2088}, {3.61, 5, 14.884, 0.2658},
	} {
		near(t, "lean", Lean(c.v, c.r)*180/math.Pi, c.lean, 1e-3)
		near(t, "side force in g", math.Tan(Lean(c.v, c.r)), c.g, 1e-4)
	}
	for _, c := range []struct{ mu, r, v float64 }{{0.4, 3, 3.430}, {0.4, 5, 4.429}, {0.4, 10, 6.263}, {0.6, 3, 4.201}, {0.6, 5, 5.424}, {0.6, 10, 7.671}} {
		near(t, "grip", GripSpeed(c.mu, c.r), c.v, 1e-3)
	}
}

// Own geometry, exact; strides of Clayton 1994.
func TestOverTrackGeometry(t *testing.T) {
	near(t, "collected", OverTrack(2.50, 1.365), -0.115, 1e-9)
	near(t, "working tracks up", OverTrack(2.73, 1.365), 0, 1e-9)
	near(t, "extended", OverTrack(3.55, 1.365), 0.410, 1e-9)
	near(t, "collected to extended", OverTrack(3.55, 1.365)-OverTrack(2.50, 1.365), 0.525, 0.01)
}

// A trot has two beats a stride: 2.56 to 2.78 a second for Clayton's horses, 4
// to 5 for a pony of 0.6 m leg; telling 1.28 from 1.39 Hz wants about ten
// seconds; neighbouring trots are 3.3, 3.7 and 1.3 % apart in frequency, 42 % in
// stride from end to end and 8 % in frequency.
func TestFrequencyIsAPoorSeparator(t *testing.T) {
	near(t, "collected beats", TrotBeats(1.280), 2.56, 1e-9)
	near(t, "extended beats", TrotBeats(1.389), 2.78, 0.005)
	pony, ok := Expect(0.75, 100, 0.6)
	if b := TrotBeats(pony.StrideHz); !ok || b < 4 || b > 5 {
		t.Errorf("a pony of 0.6 m leg beats %v times a second", b)
	}
	if s := SecondsToTell(1.28, 1.39); s < 9 || s > 10 {
		t.Errorf("%v s", s)
	}
	hz := []float64{3.20 / 2.50, 3.61 / 2.73, 4.47 / 3.26, 4.93 / 3.55}
	for i, want := range []float64{3.3, 3.7, 1.3} {
		near(t, "neighbours, %", 100*(hz[i+1]/hz[i]-1), want, 0.05)
	}
	near(t, "stride, %", 100*(3.55/2.50-1), 42, 0.5)
	near(t, "frequency, %", 100*(hz[3]/hz[0]-1), 8, 0.6)
}

func TestTheThreeTrotsReadAsThemselves(t *testing.T) {
	for _, w := range ThreeTrots(1.36, 0.065) {
		var prints []Print
		for k := range 8 {
			at := w.StrideM * float64(k)
			prints = append(prints, Print{Foot: LH, Along: at}, Print{Foot: RF, Along: at + 1.36}, Print{Foot: RH, Along: at + w.StepM}, Print{Foot: LF, Along: at + w.StepM + 1.36})
		}
		if a := read(t, Question{Prints: prints}); a.Trot != w.Trot || math.Abs(a.OverTrack.Mean-w.OverTrackCM) > 1e-9 {
			t.Errorf("%+v reads as %s, %v cm", w, a.Trot, a.OverTrack.Mean)
		}
	}
}
