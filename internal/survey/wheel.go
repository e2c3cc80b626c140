package survey

import (
	"fmt"
	"math"

	"terret/internal/fault"
)

// wheelSpread is how far apart two wheel readings of one length may be, as a
// share of their mean: beyond it the course is wheeled again (common practice:
// 1 to 2 %).
const wheelSpread = 0.02

// Wheeled is what two wheel readings of one length say.
type Wheeled struct {
	Mean   float64 // m
	Spread float64 // between the readings, as a share of the mean
	Again  bool    // more than 2 % apart: wheel it again
	Off    float64 // the mean less the plan's length, m; 0 when there is no plan
}

// Wheel takes two readings of a course's length, m, and the length the plan has,
// 0 for none.
func Wheel(first, second, planned float64) (Wheeled, error) {
	for _, v := range []float64{first, second} {
		if !(v > 0 && v <= MaxLength) {
			return Wheeled{}, &fault.Fault{Code: fault.Input, Rule: "wheel", Message: fmt.Sprintf("a wheel reading of %v m", v), Hint: fmt.Sprintf("more than 0 and at most %v m", MaxLength)}
		}
	}
	if !(planned >= 0 && planned <= MaxLength) {
		return Wheeled{}, &fault.Fault{Code: fault.Input, Rule: "wheel", Message: fmt.Sprintf("a planned length of %v m", planned), Hint: fmt.Sprintf("from 0 (none) to %v m", MaxLength)}
	}
	w := Wheeled{Mean: (first + second) / 2}
	w.Spread = math.Abs(first-second) / w.Mean
	w.Again = w.Spread > wheelSpread
	if planned > 0 {
		w.Off = w.Mean - planned
	}
	return w, nil
}
