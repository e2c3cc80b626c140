package gait

import (
	"fmt"
	"math"

	"terret/internal/fault"
)

// Tempo is what taps on the beat say.
type Tempo struct {
	StrideHz  float64 `json:"stride_hz"`
	Low       float64 `json:"low_hz"` // 95 % interval of the mean
	High      float64 `json:"high_hz"`
	PerMinute float64 `json:"strides_per_minute"`
	BeatsPM   float64 `json:"beats_per_minute"` // for a metronome
	Steady    float64 `json:"variation"`        // coefficient of variation from tap to tap
	Taps      int     `json:"taps"`
	Missed    int     `json:"missed"` // beats between two taps that were not tapped
	Trot      string  `json:"trot"`   // always cannot tell
	Says      string  `json:"says"`
}

// fewestTaps is how many taps a tempo is told from.
const fewestTaps = 4

// TempoOf is the tempo of taps at these times, s, in order. perStride is how many
// taps make a stride: two at a trot tapped on every beat, one where only one
// foot is tapped. A pause of two or three beats counts as missed taps; a finger
// is a few hundredths of a second early or late, so the mean is worth more than
// any single tap. The error is a fault when the taps are no beat.
func TempoOf(taps []float64, perStride int) (*Tempo, error) {
	bad := func(rule, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: rule, Place: "taps", Message: message, Hint: hint}
	}
	if perStride < 1 || perStride > 4 {
		return nil, bad("per-stride", fmt.Sprintf("%d taps a stride", perStride), "1 to 4: at a trot 2 on every beat, 1 on one foot")
	}
	if len(taps) < fewestTaps {
		return nil, bad("taps", fmt.Sprintf("%d %s no tempo", len(taps), plural(len(taps), "tap is", "taps are")), fmt.Sprintf("tap %d beats or more, better twenty", fewestTaps))
	}
	gaps := make([]float64, len(taps)-1)
	for i := range gaps {
		gaps[i] = taps[i+1] - taps[i]
		if !(gaps[i] > 0.08) {
			return nil, bad("taps", fmt.Sprintf("tap %d comes %v s after the one before", i+2, gaps[i]), "one tap a beat, in order of time, in seconds")
		}
	}
	usual := median(gaps)
	t := &Tempo{Taps: len(taps), Trot: CannotTell}
	var single []float64
	for i, g := range gaps {
		k := max(1, math.Round(g/usual))
		if k > 3 || g < 0.4*usual {
			return nil, bad("taps", fmt.Sprintf("between taps %d and %d are %s s, between others %s s", i+1, i+2, trim(g, 2), trim(usual, 2)), "tap on without a rest, and begin again after one")
		}
		t.Missed += int(k) - 1
		single = append(single, g/k)
	}
	m := MeanInterval(single, 0)
	// Early and late taps of a finger cancel from first to last: the mean is the
	// whole time over the beats.
	beat := (taps[len(taps)-1] - taps[0]) / float64(len(gaps)+t.Missed)
	half := m.High - m.Mean
	n := float64(perStride)
	t.StrideHz, t.Low, t.High = 1/(beat*n), 1/((beat+half)*n), 1/(max(beat-half, beat/10)*n)
	t.PerMinute, t.BeatsPM = PerMinute(t.StrideHz), 60/beat
	t.Steady = m.SD / beat
	t.Says = fmt.Sprintf("%s strides a minute (%s to %s). Which trot it was the beat does not tell: measure prints, or time a distance.", trim(t.PerMinute, 0), trim(PerMinute(t.Low), 0), trim(PerMinute(t.High), 0))
	return t, nil
}
