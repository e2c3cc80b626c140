package survey

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// normalLimit is the two-sided quantile of the standard normal distribution:
// |w| passes it with probability alpha when nothing is wrong.
func normalLimit(alpha float64) float64 { return distuv.UnitNormal.Quantile(1 - alpha/2) }

// tauLimit is the two-sided quantile of Pope's tau with f spare tapes,
//
//	τ = √f·t / √(f − 1 + t²),   t Student's quantile with f − 1,
//
// and +Inf below two spare tapes: with one, |tau| is 1 whatever is wrong.
func tauLimit(alpha float64, f int) float64 {
	if f < 2 {
		return math.Inf(1)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(f - 1)}.Quantile(1 - alpha/2)
	n := float64(f)
	return math.Sqrt(n) * t / math.Sqrt(n-1+t*t)
}

// power is the chance with which the smallest findable error is to be found.
const power = 0.80

// findable is how many standard deviations (of a residual) an error must have to
// be found by the two-sided test at alpha with the chance power: 4.13 for 0.001.
func findable(alpha float64) float64 { return normalLimit(alpha) + distuv.UnitNormal.Quantile(power) }

// ellipseShare is the share of all cases in which an ellipse is to hold the true
// place.
const ellipseShare = 0.95

// ellipseKnown is how many times the standard ellipse holds that share when σ is
// known: √χ²(2), 2.4477 for 95 %.
func ellipseKnown() float64 { return math.Sqrt(-2 * math.Log(1-ellipseShare)) }

// ellipseFound is the same when the scatter has been found from f spare tapes:
// √(2·F(2, f)). F's quantile has a closed form for two degrees above.
func ellipseFound(f int) float64 {
	n := float64(f)
	return math.Sqrt(n * (math.Pow(1-ellipseShare, -2/n) - 1))
}
