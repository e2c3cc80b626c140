package sheet

import (
	"math"
	"testing"
)

// TestNoMinusNought holds that nothing on paper reads "-0": grid lines are
// counted up from below, and -0.3 rounds up to a nought with a sign.
func TestNoMinusNought(t *testing.T) {
	for _, c := range []struct {
		f    func(float64) string
		m    float64
		want string
	}{
		{metres, math.Ceil(-0.3), "0"},
		{metres, -10, "-10"},
		{metres, 20, "20"},
		{metres, 0.125, "0.125"},
		{coordinate, math.Copysign(0, -1), "0.00"},
		{coordinate, -0.004, "0.00"},
		{coordinate, -0.006, "-0.01"},
		{coordinate, 12.345678, "12.35"},
	} {
		if got := c.f(c.m); got != c.want {
			t.Errorf("%v is written %q, want %q", c.m, got, c.want)
		}
	}
}
