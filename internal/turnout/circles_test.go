package turnout

import (
	"math"
	"testing"
)

// TestCircles against low-speed off-tracking by hand: an axle 3 m behind a point
// on radius 5 m runs on 4 m (3-4-5 triangle); with a further 2.4 m of wheelbase,
// on √(25 − 9 − 5.76) = 3.2 m.
func TestCircles(t *testing.T) {
	two := &Turnout{Vehicle: Vehicle{Wheels: 2, Track: 1.4, Shafts: 3}}
	four := &Turnout{Vehicle: Vehicle{Wheels: 4, Track: 1.4, Shafts: 3, Wheelbase: 2.4}}
	for name, row := range map[string]struct {
		t           *Turnout
		hoof, wheel float64
		inner, off  float64
	}{
		"two wheels":                      {two, 10, 6.6, 3.3, 0},
		"four wheels":                     {four, 10, 5.0, 2.5, 0},
		"a wheel that ran 20 cm further":  {two, 10, 7.0, 3.3, 0.2},
		"a turn that cannot be kept up":   {two, 6, 2, math.NaN(), math.NaN()},
		"a wheel that nobody taped":       {two, 10, 0, 3.3, math.NaN()},
		"nothing measured on this hand":   {two, 0, 0, math.NaN(), math.NaN()},
		"an axle exactly on the last one": {two, 2 * 3, 1, math.NaN(), math.NaN()},
	} {
		left, right := Circles{HoofLeft: row.hoof, WheelLeft: row.wheel, HoofRight: 10}.Read(row.t)
		if left.Radius != row.hoof/2 || right.Radius != 5 {
			t.Errorf("%s: radii %v and %v", name, left.Radius, right.Radius)
		}
		same := func(a, b float64) bool { return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) < 1e-9 }
		if !same(left.Inner, row.inner) {
			t.Errorf("%s: inner wheel on %v, want %v", name, left.Inner, row.inner)
		}
		if got := left.Off; got == nil != math.IsNaN(row.off) || got != nil && !same(*got, row.off) {
			t.Errorf("%s: off by %v, want %v", name, got, row.off)
		}
		if left.Says == "" {
			t.Errorf("%s: nothing is said", name)
		}
	}
}
