package turnout

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
)

// A pulse that falls as 36 + 84·2^(−t/3): half of what is over rest goes every
// 3 min; within a tenth of rest (3.6 over) after 3·log2(84/3.6) = 13.6 min.
func TestRecoveryOfAKnownCurve(t *testing.T) {
	var log []Vital
	for m := 0.0; m <= 20; m += 2 {
		log = append(log, Vital{Minute: m, Pulse: 36 + 84*math.Exp2(-m/3), Breaths: 12 + 60*math.Exp2(-m/4)})
	}
	r, err := Recover(log, 36, 12)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "half", *r.Pulse.HalfMinutes, 3, 1e-9)
	near(t, "near rest", *r.Pulse.AtRest, 3*math.Log2(84/3.6), 0.1)
	near(t, "breathing, half", *r.Breaths.HalfMinutes, 4, 1e-9)
	if !strings.Contains(r.Says, "vet decides") || r.Inverted {
		t.Errorf("%+v", r)
	}
}

func TestRecoverySaysWhatItDoesNotKnow(t *testing.T) {
	r, err := Recover([]Vital{{Minute: 0, Pulse: 120, Breaths: 130}}, 0, 0)
	if err != nil || r.Pulse != nil || !r.Inverted || !strings.Contains(r.Says, "no recovery") || !strings.Contains(r.Says, "from a book") {
		t.Errorf("%v %+v", err, r)
	}
	r, err = Recover([]Vital{{Minute: 10, Pulse: 110}, {Minute: 0, Pulse: 100}}, 40, 12)
	if err != nil || r.Pulse.HalfMinutes != nil || r.Pulse.AtRest != nil || r.Pulse.First != 100 || !strings.Contains(r.Says, "not yet near rest") {
		t.Errorf("%v %+v", err, r)
	}
	for name, log := range map[string][]Vital{"none": nil, "minute": {{Minute: -1, Pulse: 60}}, "pulse": {{Pulse: 900}}, "breaths": {{Breaths: math.NaN()}}, "temperature": {{TempC: 98.6}}} {
		var f *fault.Fault
		if r, err := Recover(log, 0, 0); r != nil || !errors.As(err, &f) || f.Hint == "" || f.Place == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestQuickerRecoveryIsSeenAsQuicker(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		half := rapid.Float64Range(1, 8).Draw(t, "half")
		log := func(half float64) (l []Vital) {
			for m := 0.0; m <= 30; m += 3 {
				l = append(l, Vital{Minute: m, Pulse: 40 + 80*math.Exp2(-m/half)})
			}
			return l
		}
		a, err := Recover(log(half), 40, 12)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Recover(log(half/1.5), 40, 12)
		if err != nil || *b.Pulse.HalfMinutes >= *a.Pulse.HalfMinutes || b.Pulse.AtRest == nil || a.Pulse.AtRest != nil && *b.Pulse.AtRest > *a.Pulse.AtRest {
			t.Fatalf("%+v, quicker %+v", a.Pulse, b.Pulse)
		}
	})
}

// FEI endurance rules 2019, art. 821.2.3: at most 64 a minute; 15 s with at most
// 16 beats and 30 s with at most 32 are enough.
func TestCountPulse(t *testing.T) {
	for _, c := range []struct {
		beats, seconds  int
		per             float64
		through, enough bool
	}{{16, 15, 64, true, true}, {17, 15, 68, false, false}, {32, 30, 64, true, true}, {33, 30, 66, false, false}, {64, 60, 64, true, true}, {65, 60, 65, false, true}, {3, 0, 0, false, false}} {
		per, through, enough := CountPulse(c.beats, c.seconds)
		if per != c.per || through != c.through || enough != c.enough {
			t.Errorf("%d in %d s: %v %v %v", c.beats, c.seconds, per, through, enough)
		}
	}
}

// Older five-section marathon (a Swiss private page): 8 km at 15 km/h, 1.2 km at
// 7, 4 km at 19. Heart rates of PMC9592803, table 1: walk 77 ± 13, slow trot
// 110 ± 18.
func TestSectionsAndDrivenPulses(t *testing.T) {
	near(t, "section A", TimeFor(8, 15), 32*60, 1e-9)
	near(t, "walk", TimeFor(1.2, 7), 10*60+17.1, 0.05)
	near(t, "section C", TimeFor(4, 19), 12*60+37.9, 0.05)
	p := DrivenPulses()
	if p[0].Low != 77-13 || p[0].High != 77+13 || p[1].Low != 110-18 || p[1].High != 110+18 {
		t.Errorf("%+v", p)
	}
}
