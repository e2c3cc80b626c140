package turnout

import "math"

// Formulas of the checks. Plain numbers in, plain numbers out; who asks carries
// the doubt.

// gravity is the standard acceleration of gravity, m/s².
const gravity = 9.80665

// StaticStability is the side force, in multiples of gravity, at which a rigid
// vehicle begins to tip on the level: track over twice the height of the centre
// of mass (static stability factor, NHTSA rollover rule, chapter V). Lengths m.
func StaticStability(track, height float64) float64 { return track / (2 * height) }

// StabilityOnSlope is the same on ground that falls away to the outside of the
// turn by slope (rise over run): (S − i)/(1 + S·i). Own derivation.
func StabilityOnSlope(stability, slope float64) float64 {
	return (stability - slope) / (1 + stability*slope)
}

// TipSpeed is the speed at which a vehicle of that stability tips on a turn of
// that radius, m/s. 0 for one that tips standing.
func TipSpeed(stability, radius float64) float64 {
	return math.Sqrt(max(0, stability*gravity*radius))
}

// Pull is the force along the road, N, that moves a mass (kg) steadily over
// ground of rolling resistance mu up a slope (rise over run, negative downhill):
// m·g·(μ + i). Taking i for its sine is 0.5 % at 10 %. Less than 0 pushes.
func Pull(mass, mu, slope float64) float64 { return mass * gravity * (mu + slope) }

// TugWeight is the weight, kg, that a two-wheeler lays on its tugs: the moments
// of all loads about the axle over the distance from axle to tugs, on ground
// that rises ahead by slope (rise over run; negative downhill). Tugs are taken at
// the height of the axle along the shafts, the traces as pulling through it.
// Below 0 the shafts lift.
//
//	F·l = Σ mᵢ·(xᵢ − hᵢ·slope)
func TugWeight(loads []Mass, axleHeight, tugs, slope float64) float64 {
	return Moment(loads, axleHeight, slope) / tugs
}

// Moment is Σ mᵢ·(xᵢ − (hᵢ − axle)·slope), kg·m, about the axle.
func Moment(loads []Mass, axleHeight, slope float64) float64 {
	sum := 0.0
	for _, l := range loads {
		sum += l.Weight * (l.FromAxle - (l.Height-axleHeight)*slope)
	}
	return sum
}

// Mass is one mass in or on the vehicle, the vehicle itself among them.
type Mass struct {
	What     string
	Weight   float64 // kg
	FromAxle float64 // of its centre ahead of the (front) axle, m
	Height   float64 // of its centre above the ground, m
}

// MoveLoad is how far to move a load of that weight (kg) forward, m, so that the
// weight on the tugs becomes want instead of have (kg). Negative is back.
func MoveLoad(have, want, tugs, weight float64) float64 { return (want - have) * tugs / weight }

// MoveAxle is how far to move the axle forward under everything else, m, for the
// same: every load then lies that much less ahead of it and the tugs too.
// moment is kg·m about the axle as it is, total all of the mass.
func MoveAxle(moment, total, want, tugs float64) float64 {
	return (moment - want*tugs) / (total - want)
}

// TapeWeight is a grown horse's weight from a tape: girth² × length / 330, inches
// to pounds (weight tape formula, carriagemachineshop.com). Lengths in cm, kg.
func TapeWeight(girthCM, lengthCM float64) float64 {
	const inch, pound = 2.54, 0.45359237
	g, l := girthCM/inch, lengthCM/inch
	return g * g * l / 330 * pound
}

// LeastCircle is the least radius of the lead point, m, at which a turn can be
// kept up: the steady circle of bodies towed without slip, R² = ΣL² + (what is
// left for the last axle)², with the angle at the turntable (or, on two wheels,
// between line and shafts) within the lock. folds is whether the vehicle would
// fold up before it comes on the lock.
func LeastCircle(shafts, wheelbase, lock float64) (radius float64, folds bool) {
	fold := math.Hypot(shafts, wheelbase)
	if lock >= math.Pi/2 {
		return fold, true
	}
	locked := shafts / math.Sin(lock)
	if wheelbase > 0 {
		locked = math.Hypot(shafts, wheelbase/math.Sin(lock))
	}
	return max(fold, locked), locked <= fold
}

// DraughtAngle is how much traces fall towards the vehicle, radians: from the
// height of draught at the collar to the hook, over the length of the traces, m.
func DraughtAngle(collar, hook, traces float64) float64 { return math.Asin((collar - hook) / traces) }

// Power is the power of a pull (N) at a speed (m/s), W.
func Power(pull, speed float64) float64 { return pull * speed }
