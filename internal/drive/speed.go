package drive

import "math"

// Limits is how fast a turnout may go along a line.
type Limits struct {
	Cap         float64 // m/s
	Left, Right float64 // greatest side force turning to that hand, m/s²
	Gain, Loss  float64 // greatest gain and loss of speed, m/s²
	Start, End  float64 // m/s at the ends; 0 or less: any speed up to the cap
	Stand       bool    // start and end at a stand, whatever Start and End say
}

// Speeds fills v with the quickest speeds, in m/s, along a line given by its
// curvature (per metre, positive right) at points whose distances to the next
// are step, and t with the time in seconds at each point. v and t have the
// length of curvature; step has one less.
//
// Forward and backward pass: each point is capped by the pace and by the side
// force v²κ, then v² may grow by no more than 2·Gain·step and shrink by no
// more than 2·Loss·step. That is exact for a line whose curvature is constant
// on each step, and the time 2h/(v₁+v₂) of a step is exact for a constant gain.
func Speeds(v, t, curvature, step []float64, lim Limits) (total float64) {
	n := len(curvature)
	if n == 0 {
		return 0
	}
	for i, k := range curvature {
		c := lim.Cap
		a := lim.Right
		if k < 0 {
			a, k = lim.Left, -k
		}
		if c*c*k > a {
			c = math.Sqrt(a / k)
		}
		v[i] = c
	}
	switch {
	case lim.Stand:
		v[0], v[n-1] = 0, 0
	default:
		if lim.Start > 0 {
			v[0] = math.Min(v[0], lim.Start)
		}
		if lim.End > 0 {
			v[n-1] = math.Min(v[n-1], lim.End)
		}
	}
	for i := 1; i < n; i++ {
		if m := v[i-1]*v[i-1] + 2*lim.Gain*step[i-1]; v[i]*v[i] > m {
			v[i] = math.Sqrt(m)
		}
	}
	for i := n - 2; i >= 0; i-- {
		if m := v[i+1]*v[i+1] + 2*lim.Loss*step[i]; v[i]*v[i] > m {
			v[i] = math.Sqrt(m)
		}
	}
	t[0] = 0
	for i := 1; i < n; i++ {
		s := v[i-1] + v[i]
		if s > 0 {
			total += 2 * step[i-1] / s
		} else if step[i-1] > 0 {
			total = math.Inf(1)
		}
		t[i] = total
	}
	return total
}
