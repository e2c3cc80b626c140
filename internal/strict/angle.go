package strict

import (
	"math"
	"strconv"
)

// Angles are degrees in every document and radians in the program.

// Angle reads degrees and returns radians.
func (v Value) Angle() float64 { return radians(v.Float()) }

func radians(deg float64) float64 { return deg * math.Pi / 180 }

// InDegrees is the shortest number of degrees that Angle turns into exactly
// this many radians; where there is none (an angle that was never written in
// degrees), the nearest.
func InDegrees(rad float64) float64 {
	d := rad * 180 / math.Pi
	for prec := 1; prec <= 17; prec++ {
		s, err := strconv.ParseFloat(strconv.FormatFloat(d, 'g', prec, 64), 64)
		if err == nil && radians(s) == rad {
			return s
		}
	}
	lo, hi := d, d
	for range 4 { // two roundings move d by an ulp or two
		lo, hi = math.Nextafter(lo, math.Inf(-1)), math.Nextafter(hi, math.Inf(1))
		if radians(lo) == rad {
			return lo
		}
		if radians(hi) == rad {
			return hi
		}
	}
	return d
}
