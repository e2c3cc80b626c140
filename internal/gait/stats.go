package gait

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a mean of N readings with its 95 % interval and the readings'
// standard deviation, all in the unit of the readings.
type Interval struct {
	Mean float64 `json:"mean"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	SD   float64 `json:"sd"`
	N    int     `json:"n"`
}

// MeanInterval is the mean of xs with Student's 95 % interval, mean ± t·s/√n.
// least is the smallest standard deviation that is believed: readings to the
// centimetre that all agree still have the rounding in them. One reading has no
// spread: its interval reaches from −∞ to +∞. No reading gives N = 0.
func MeanInterval(xs []float64, least float64) Interval {
	n := len(xs)
	if n == 0 {
		return Interval{}
	}
	mean := 0.0
	for _, x := range xs {
		mean += x
	}
	mean /= float64(n)
	if n == 1 {
		return Interval{Mean: mean, Low: math.Inf(-1), High: math.Inf(1), N: 1}
	}
	ss := 0.0
	for _, x := range xs {
		ss += (x - mean) * (x - mean)
	}
	sd := math.Sqrt(ss / float64(n-1))
	half := tFactor(n) * max(sd, least)
	return Interval{Mean: mean, Low: mean - half, High: mean + half, SD: sd, N: n}
}

// tFactor is t/√n with the two-sided 95 % quantile of Student's t for n−1
// degrees of freedom. n is 2 or more.
func tFactor(n int) float64 {
	return tQuantile(float64(n-1)) / math.Sqrt(float64(n))
}

// tQuantile is the 0.975 quantile of Student's t with df degrees of freedom.
func tQuantile(df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975)
}

// difference is the mean of a less the mean of b, with Welch's 95 % interval.
// Both have two readings or more.
func difference(a, b Interval, least float64) Interval {
	va, vb := square(max(a.SD, least))/float64(a.N), square(max(b.SD, least))/float64(b.N)
	df := square(va+vb) / (va*va/float64(a.N-1) + vb*vb/float64(b.N-1))
	d := a.Mean - b.Mean
	half := tQuantile(df) * math.Sqrt(va+vb)
	return Interval{Mean: d, Low: d - half, High: d + half, SD: math.Sqrt(va + vb), N: a.N + b.N}
}

func square(x float64) float64 { return x * x }

// SignTest is the chance of k or more of n on one side when both sides are as
// likely (one-sided sign test). 0 ≤ k ≤ n.
func SignTest(k, n int) float64 {
	p := 0.0
	for i := k; i <= n; i++ {
		lf, _ := math.Lgamma(float64(n + 1))
		li, _ := math.Lgamma(float64(i + 1))
		lr, _ := math.Lgamma(float64(n - i + 1))
		p += math.Exp(lf - li - lr - float64(n)*math.Ln2)
	}
	return min(p, 1)
}

// Wilson is Wilson's 95 % score interval for a share of k in n, n ≥ 1.
func Wilson(k, n int) (low, high float64) {
	const z = 1.959963984540054 // 0.975 quantile of the normal distribution
	p, m := float64(k)/float64(n), float64(n)
	mid := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return max(0, mid-half), min(1, mid+half)
}
