package turnout

import (
	"fmt"
	"math"
)

// Circles are the four numbers of a turnout driven round in raked sand, both
// ways: across the circle of the hoof prints (midway between the prints of the
// two sides; between the two horses of a pair) and across the circle of the
// inner (hind) wheel, m. Zero is not measured.
type Circles struct {
	HoofLeft, HoofRight   float64
	WheelLeft, WheelRight float64
}

// Circled is what one hand's circle says.
type Circled struct {
	Radius   float64  // of the lead point, m: half of the hoof circle
	Inner    float64  // radius the inner hind wheel should have run on, m; NaN where no turn so short can be kept up
	Measured float64  // radius it did run on, m; NaN without
	Off      *float64 // measured less expected, m; nil without either
	Says     string
}

// circleDoubt is how far a circle of prints and one of a wheel may differ from
// geometry before the measurements are looked at again, m (estimate: sand read to
// 5 cm on both, and no tread runs quite true).
const circleDoubt = 0.15

// Read holds both hands against the turnout's own lengths. Towed without slip an
// axle L behind a point that runs on radius R runs on √(R² − L²) (exact), the
// inner wheel half a track further in.
func (c Circles) Read(t *Turnout) (left, right Circled) {
	return circled(t, c.HoofLeft, c.WheelLeft), circled(t, c.HoofRight, c.WheelRight)
}

func circled(t *Turnout, hoof, wheel float64) Circled {
	c := Circled{Radius: hoof / 2, Inner: math.NaN(), Measured: math.NaN()}
	if wheel > 0 {
		c.Measured = wheel / 2
	}
	v := t.Vehicle
	if in := c.Radius*c.Radius - v.Shafts*v.Shafts - v.Wheelbase*v.Wheelbase; in > 0 {
		c.Inner = math.Sqrt(in) - v.Track/2
	}
	switch {
	case !(hoof > 0):
		c.Says = "not measured"
	case math.IsNaN(c.Inner):
		c.Says = fmt.Sprintf("%s m across cannot be kept up with shafts of %s m%s: measure the shafts again, or the turn was not held.", num(hoof), num(v.Shafts), map[bool]string{true: " and that wheelbase"}[v.Wheels == 4])
	case math.IsNaN(c.Measured):
		c.Says = fmt.Sprintf("The inner wheel should have run %s m across; it was not taped.", num(2*c.Inner))
	default:
		off := c.Measured - c.Inner
		c.Off = &off
		if math.Abs(off) <= circleDoubt {
			c.Says = fmt.Sprintf("The inner wheel ran %s m across, %s m by the lengths in the record: they agree.", num(wheel), num(2*c.Inner))
		} else {
			c.Says = fmt.Sprintf("The inner wheel ran %s m across, %s m by the lengths in the record: %s cm of radius apart. Measure shafts, wheelbase and track again.", num(wheel), num(2*c.Inner), num(math.Round(math.Abs(100*off))))
		}
	}
	return c
}
