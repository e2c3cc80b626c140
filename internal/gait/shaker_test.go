package gait

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// shaker makes the log of a phone on a horse's pad from its feet up: every foot
// pushes while it stands, the trunk is the sum of the pushes less gravity, and
// pitches; the phone is turned and held loosely, its clock is uneven, samples go
// missing and all of it is noisy. It knows nothing of beats, bands and
// autocorrelations.
type shaker struct {
	gait     string
	strideHz float64
	within   float64 // coefficient of variation of the stride
	strength float64 // of all pushes about the mean, 1 usual
	uneven   float64 // the left feet are set down later by this share of the stride
	rate     float64 // samples a second
	jitter   float64 // of the clock, as a share of the step
	lost     float64 // share of single samples that are missing
	bursts   float64 // holes of 0.1 to 0.4 s, a second
	noise    float64 // m/s², each axis
	flat     bool    // without gravity
}

// limb is when a foot lands, as a share of the stride, and how it pushes.
type limb struct{ at, side, weight float64 }

func (s shaker) limbs() (limbs []limb, duty float64) {
	const fore, hind = 0.35, 0.15 // how much of a foot's push the pad feels
	switch s.gait {
	case Walk: // four beats, hind before fore of one side
		return []limb{{0, -1, hind}, {0.25 + s.uneven, -1, fore}, {0.5, 1, hind}, {0.75, 1, fore}}, 0.61
	case TrotG: // two, by diagonals; the hind foot a little before
		return []limb{{0, -1, hind}, {0.02, 1, fore}, {0.5 + s.uneven, 1, hind}, {0.52 + s.uneven, -1, fore}}, 0.40
	case Canter: // three, right lead
		return []limb{{0, -1, hind}, {0.26, 1, hind}, {0.28, -1, fore}, {0.52, 1, fore}}, 0.32
	}
	return nil, 0
}

// log is seconds of motion from a time on; strides counts how many strides go by
// in a span.
func (s shaker) log(r *rand.Rand, from, seconds float64) (m *Motion, strides func(a, b float64) float64) {
	turn := rotation(r) // first, so that one seed means one way up
	var starts []float64
	for t := from - 3*r.Float64() - 2; t < from+seconds+4; {
		starts = append(starts, t)
		if s.strideHz == 0 {
			t++
			continue
		}
		t += (1 + s.within*r.NormFloat64()) / s.strideHz
	}
	spin, spinAt := 0.05*r.NormFloat64(), r.Float64()*6
	limbs, duty := s.limbs()
	m = &Motion{}
	hole := 0.0
	for i := 0; ; i++ {
		t := from + float64(i)/s.rate + s.jitter/s.rate*(r.Float64()-0.5)
		if t > from+seconds {
			break
		}
		if r.Float64() < s.bursts/s.rate {
			hole = t + 0.1 + 0.3*r.Float64()
		}
		if t < hole || r.Float64() < s.lost {
			continue
		}
		a := s.trunk(starts, limbs, duty, t)
		if s.flat {
			a[2] -= G
		}
		// Held loosely: the phone sways slowly about one axis.
		w := spin * math.Sin(2*math.Pi*t/17+spinAt)
		a = [3]float64{a[0]*math.Cos(w) - a[2]*math.Sin(w), a[1], a[0]*math.Sin(w) + a[2]*math.Cos(w)}
		var out [3]float64
		for c := range 3 {
			out[c] = dot(turn[c], a) + s.noise*r.NormFloat64()
		}
		m.T, m.A = append(m.T, t), append(m.A, out)
	}
	return m, func(a, b float64) float64 { return phase(starts, b) - phase(starts, a) }
}

// phase is how many strides have begun by t, and the part of the one under way.
func phase(starts []float64, t float64) float64 {
	for k := 1; k < len(starts); k++ {
		if t < starts[k] {
			return float64(k-1) + (t-starts[k-1])/(starts[k]-starts[k-1])
		}
	}
	return float64(len(starts))
}

// trunk is what a level phone feels: forward, to the right, up, m/s².
func (s shaker) trunk(starts []float64, limbs []limb, duty, t float64) (a [3]float64) {
	if len(limbs) == 0 {
		return [3]float64{0.15 * math.Sin(t), 0.1 * math.Sin(1.7*t), G} // shifting its weight
	}
	k := int(phase(starts, t))
	for _, l := range limbs {
		for j := max(0, k-1); j <= min(k+1, len(starts)-2); j++ {
			whole := starts[j+1] - starts[j]
			u := (t - starts[j] - l.at*whole) / (duty * whole)
			if u < 0 || u >= 1 {
				continue
			}
			push := math.Pi / 2 / duty * math.Sin(math.Pi*u) * l.weight * G // its mean over a stride is weight·g
			a[2] += push
			a[1] -= 0.15 * l.side * push
			a[0] -= 0.2 * push * math.Cos(math.Pi*u) // brakes, then drives
			a[2] += 1.5 * l.weight * math.Exp(-u*30) * math.Sin(40*u)
		}
	}
	a[2] = G + s.strength*(a[2]-G)
	a[0], a[1] = s.strength*a[0], s.strength*a[1]
	// The trunk pitches once a stride at a canter, hardly at a trot.
	pitch := map[string]float64{Walk: 0.02, TrotG: 0.01, Canter: 0.07}[s.gait]
	p := pitch * math.Sin(2*math.Pi*phase(starts, t)+1)
	return [3]float64{a[0]*math.Cos(p) - a[2]*math.Sin(p), a[1], a[0]*math.Sin(p) + a[2]*math.Cos(p)}
}

// rotation is any way up, evenly drawn (a random unit quaternion).
func rotation(r *rand.Rand) [3][3]float64 {
	var q [4]float64
	n := 0.0
	for i := range q {
		q[i] = r.NormFloat64()
		n += q[i] * q[i]
	}
	n = math.Sqrt(n)
	w, x, y, z := q[0]/n, q[1]/n, q[2]/n, q[3]/n
	return [3][3]float64{
		{1 - 2*(y*y+z*z), 2 * (x*y - w*z), 2 * (x*z + w*y)},
		{2 * (x*y + w*z), 1 - 2*(x*x+z*z), 2 * (y*z - w*x)},
		{2 * (x*z - w*y), 2 * (y*z + w*x), 1 - 2*(x*x+y*y)},
	}
}

// csv writes a log as its file.
func (m *Motion) csv() string {
	var b strings.Builder
	b.WriteString("t_s,ax,ay,az\n")
	for i, t := range m.T {
		fmt.Fprintf(&b, "%.4f,%.3f,%.3f,%.3f\n", t, m.A[i][0], m.A[i][1], m.A[i][2])
	}
	return b.String()
}
