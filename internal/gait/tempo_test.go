package gait

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"terret/internal/fault"
)

// Clayton's trots beat 76.8, 79.3, 82.3 and 83.3 times a minute. A finger 3 cs
// early or late finds the beat, and by it no trot is named.
func TestTempoOfTaps(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 3))
	for _, want := range []float64{76.8, 79.3, 82.3, 83.3} {
		held := 0
		for range 200 {
			var taps []float64
			for k := range 41 {
				if k == 17 {
					continue // one is missed
				}
				taps = append(taps, 60/want/2*float64(k)+0.03*r.NormFloat64())
			}
			got, err := TempoOf(taps, 2)
			if err != nil {
				t.Fatal(err)
			}
			if got.Missed != 1 || got.Trot != CannotTell || math.Abs(got.PerMinute/want-1) > 0.02 {
				t.Fatalf("%v: %+v", want, got)
			}
			if PerMinute(got.Low) <= want && want <= PerMinute(got.High) {
				held++
			}
		}
		if held < 190 {
			t.Errorf("%v: the interval holds it in %d of 200", want, held)
		}
	}
}

func TestTapsThatAreNoBeat(t *testing.T) {
	for name, c := range map[string]struct {
		taps []float64
		per  int
	}{
		"none": {nil, 2}, "three": {[]float64{0, 1, 2}, 2}, "backwards": {[]float64{0, 1, 0.5, 2}, 2},
		"a rest": {[]float64{0, 0.4, 0.8, 1.2, 9, 9.4}, 2}, "no number": {[]float64{0, math.NaN(), 1, 2}, 2}, "per stride": {[]float64{0, 1, 2, 3}, 0},
	} {
		got, err := TempoOf(c.taps, c.per)
		var f *fault.Fault
		if got != nil || !errors.As(err, &f) || f.Hint == "" {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
}
