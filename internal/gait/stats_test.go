package gait

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

// Student's t/√n; quantiles of any statistical table.
func TestFactorOfTheInterval(t *testing.T) {
	for n, want := range map[int]float64{3: 2.484, 4: 1.591, 5: 1.242, 6: 1.049, 8: 0.836, 10: 0.715, 12: 0.635, 20: 0.468} {
		near(t, "t/√n", tFactor(n), want, 5.1e-4)
	}
	// Over-track readings with s = 3 cm, n = 10: ± 2.146 cm (own arithmetic).
	near(t, "half-width", 3*tFactor(10), 2.146, 1e-3)
}

// One-sided sign test: binomial sums, exact fractions of 2ⁿ.
func TestSignTest(t *testing.T) {
	near(t, "9 of 10", SignTest(9, 10), 0.010742, 1e-6)
	near(t, "8 of 10, not enough at 5 %", SignTest(8, 10), 0.054688, 1e-6)
	near(t, "5 of 5", SignTest(5, 5), 0.03125, 1e-12)
	near(t, "0 of 7", SignTest(0, 7), 1, 1e-12)
}

// Wilson's score interval (Wilson 1927), values of the closed form.
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
	}{{8, 10, 0.4902, 0.9433}, {9, 10, 0.5958, 0.9821}, {5, 5, 0.5655, 1}, {10, 10, 0.7225, 1}} {
		low, high := Wilson(c.k, c.n)
		near(t, "low", low, c.low, 1e-4)
		near(t, "high", high, c.high, 1e-4)
	}
}

func TestMeanIntervalOfFewReadings(t *testing.T) {
	if got := MeanInterval(nil, 0); got != (Interval{}) {
		t.Errorf("no reading: %+v", got)
	}
	if got := MeanInterval([]float64{2}, 0); !math.IsInf(got.Low, -1) || !math.IsInf(got.High, 1) || got.Mean != 2 {
		t.Errorf("one reading: %+v", got)
	}
	got := MeanInterval([]float64{1, 1, 1, 1}, 0.5)
	near(t, "agreeing readings keep the least spread", got.High-got.Mean, 0.5*1.591, 1e-3)
	near(t, "and say they agree", got.SD, 0, 0)
}

func TestShiftingReadingsShiftsTheInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64Range(-1, 1), 2, 30).Draw(t, "xs")
		by := rapid.Float64Range(-5, 5).Draw(t, "by")
		moved := make([]float64, len(xs))
		for i := range xs {
			moved[i] = xs[i] + by
		}
		a, b := MeanInterval(xs, 0.01), MeanInterval(moved, 0.01)
		if math.Abs(a.Low+by-b.Low) > 1e-9 || math.Abs(a.High+by-b.High) > 1e-9 || a.Low > a.Mean || a.High < a.Mean {
			t.Fatalf("%+v moved by %v is %+v", a, by, b)
		}
	})
}
