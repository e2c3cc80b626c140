package gait

import (
	"math/rand/v2"
)

// walker leaves prints the way a trotting horse does: diagonal after diagonal,
// each a step further on. It knows nothing of over-tracks; what those should be
// follows from its numbers by geometry alone.
type walker struct {
	stride   float64 // m
	diagonal float64 // hind print forward to the fore print of the same diagonal, m
	within   float64 // coefficient of variation of a stride, and of the diagonal
	tape     float64 // standard deviation of a reading, m
	uneven   float64 // the left hind is set down this much further on, m
}

// overTrack is the mean over-track of its two sides.
func (w walker) overTrack() float64 { return w.stride/2 - w.diagonal + w.uneven/2 }

// prints are n strides from a start somewhere on the strip.
func (w walker) prints(r *rand.Rand, n int) []Print {
	var out []Print
	read := func(f Foot, at, across float64) {
		out = append(out, Print{Foot: f, Along: at + w.tape*r.NormFloat64(), Across: across + 0.01*r.NormFloat64(), HasAcross: true})
	}
	at := r.Float64() * w.stride
	first := r.IntN(2)
	for k := range 2 * n {
		// A stride is two steps: each varies by √2 times as much.
		step := w.stride / 2 * (1 + w.within*1.4142135623730951*r.NormFloat64())
		reach := w.diagonal * (1 + w.within*r.NormFloat64())
		if (k+first)%2 == 0 {
			read(LH, at+w.uneven, -0.1)
			read(RF, at+reach, 0.1)
		} else {
			read(RH, at, 0.1)
			read(LF, at+reach, -0.1)
		}
		at += step
	}
	r.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}
