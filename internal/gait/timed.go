package gait

import (
	"fmt"
	"math"

	"terret/internal/fault"
)

// Timed is what a stop-watch over a measured distance says, with the strides
// somebody counted on it.
type Timed struct {
	SpeedMPS float64    `json:"speed_mps"`
	KMH      float64    `json:"speed_km_h"`
	RangeMPS [2]float64 `json:"speed_range_mps"` // a hand's timing earlier or later
	StrideM  *float64   `json:"stride_m"`        // null where no stride was counted
	StrideHz *float64   `json:"stride_hz"`
	Froude   float64    `json:"froude"`
	LegM     float64    `json:"leg_m"`
	Trot     string     `json:"trot"` // always cannot tell
	Says     string     `json:"says"`
}

// TimedOf works out a distance (m) that took a time (s), with strides counted on
// it; 0 strides is none. leg is the standing leg, elbow to ground, m. The error is
// a fault when no turnout goes so.
func TimedOf(metres, seconds, strides, leg float64) (*Timed, error) {
	bad := func(place, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: "timed", Place: place, Message: message, Hint: hint}
	}
	switch {
	case !(metres >= 5 && metres <= 5000):
		return nil, bad("metres", fmt.Sprintf("a distance of %v m", metres), "5 to 5000 m; 30 m and more on the straight is better")
	case !(seconds > 0 && seconds <= 7200):
		return nil, bad("seconds", fmt.Sprintf("a time of %v s", seconds), "seconds, such as 8.3")
	case !(strides >= 0 && strides <= 5000):
		return nil, bad("strides", fmt.Sprintf("%v strides", strides), "how often one foot came down; two beats are one stride at a trot")
	case !(leg >= 0.2 && leg <= 2):
		return nil, bad("leg", fmt.Sprintf("a leg of %v m", leg), "elbow to ground, 0.2 to 2 m")
	}
	v := metres / seconds
	if v > 20 || v < 0.2 {
		return nil, bad("seconds", fmt.Sprintf("%s m in %s s is %s m/s", trim(metres, 2), trim(seconds, 2), trim(v, 2)), "a walk is 1 to 2 m/s, a trot 1.5 to 13: check the seconds and the metres")
	}
	t := &Timed{SpeedMPS: v, KMH: 3.6 * v, RangeMPS: [2]float64{metres / (seconds + handTiming), metres / math.Max(seconds-handTiming, seconds/2)}, Froude: Froude(v, leg), LegM: leg, Trot: CannotTell}
	t.Says = fmt.Sprintf("%s m/s, %s km/h (%s to %s m/s with a hand's timing).", trim(v, 2), trim(t.KMH, 1), trim(t.RangeMPS[0], 2), trim(t.RangeMPS[1], 2))
	if strides > 0 {
		stride := metres / strides
		hz := v / stride
		if stride > 8 || stride < 0.3 {
			return nil, bad("strides", fmt.Sprintf("%s strides in %s m make a stride of %s m", trim(strides, 1), trim(metres, 2), trim(stride, 2)), "how often one foot came down; two beats are one stride at a trot")
		}
		t.StrideM, t.StrideHz = &stride, &hz
		t.Says += fmt.Sprintf(" Stride %s m, %s a minute.", trim(stride, 2), trim(PerMinute(hz), 0))
	}
	t.Says += fmt.Sprintf(" Froude number %s for a leg of %s m", trim(t.Froude, 2), trim(leg, 2))
	if t.Froude < TransitionFroude {
		t.Says += fmt.Sprintf("; horses of all sizes change from walk to trot at about %s.", trim(TransitionFroude, 2))
	} else {
		t.Says += "."
	}
	t.Says += " Which trot it was a speed does not tell: measure prints."
	return t, nil
}
