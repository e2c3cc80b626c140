package gait

import (
	"math"

	"terret/internal/turnout"
)

// G is the standard acceleration of gravity, m/s².
const G = 9.80665

// TransitionFroude is the Froude number at which horses of any size change
// between walk and trot: 0.35 over nine horses of 90 to 720 kg (Griffin, Kram,
// Wickler & Hoyt 2004, J. Exp. Biol. 207:4215).
const TransitionFroude = 0.35

// Froude is v²/(g·leg), the speed without size: animals of one build trot alike
// at the same Froude number. Speed m/s, leg (standing, hip or elbow to ground) m.
func Froude(speed, leg float64) float64 { return speed * speed / (G * leg) }

// SpeedAt is the speed, m/s, at a Froude number, for a leg in m.
func SpeedAt(froude, leg float64) float64 { return math.Sqrt(froude * G * leg) }

// LegOf is the leg length taken for a size of horse where nobody measured it,
// m (estimate): elbow to ground.
func LegOf(size string) float64 {
	switch size {
	case turnout.VSE:
		return 0.5
	case turnout.Pony:
		return 0.75
	}
	return 1.2
}

// relative are the coefficients of y = a·M^b at one Froude number, M in kg:
// relative stride length (stride over leg) and duty factor of 21 trotting
// horses of 86 to 714 kg (Bullimore & Burn 2006, J. Exp. Biol. 209:455). The
// exponents are printed to two decimals: good to about 3 %, like the scatter
// between horses.
type relative struct{ froude, strideA, strideB, dutyA, dutyB float64 }

func published() []relative {
	return []relative{
		{0.50, 1.43, 0.00, 0.47, 0.00},
		{0.75, 1.49, 0.01, 0.44, -0.01},
		{1.00, 1.66, 0.01, 0.39, 0.00},
	}
}

// TrotLike is the trot to expect of an animal by its size alone.
type TrotLike struct {
	SpeedMPS   float64
	StrideM    float64
	StrideHz   float64
	DutyFactor float64 // share of the stride a foot is on the ground
	Doubt      float64 // share by which one horse differs from this, about
}

// Expect is the trot to expect at a Froude number from 0.5 to 1 of an animal of
// that mass (kg) and leg (m): linear between the three published numbers. ok is
// false outside of them.
func Expect(froude, mass, leg float64) (t TrotLike, ok bool) {
	rows := published()
	if !(froude >= rows[0].froude && froude <= rows[len(rows)-1].froude) || !(mass > 0) || !(leg > 0) {
		return TrotLike{}, false
	}
	i := 0
	for i < len(rows)-2 && froude > rows[i+1].froude {
		i++
	}
	a, b := rows[i], rows[i+1]
	w := (froude - a.froude) / (b.froude - a.froude)
	mix := func(ca, ea, cb, eb float64) float64 {
		return (1-w)*ca*math.Pow(mass, ea) + w*cb*math.Pow(mass, eb)
	}
	t.SpeedMPS = SpeedAt(froude, leg)
	t.StrideM = leg * mix(a.strideA, a.strideB, b.strideA, b.strideB)
	t.StrideHz = t.SpeedMPS / t.StrideM
	t.DutyFactor = mix(a.dutyA, a.dutyB, b.dutyA, b.dutyB)
	t.Doubt = 0.035
	return t, true
}

// Scale carries a trot over to an animal with another leg at the same Froude
// number: speed by the root of the ratio of legs, stride by the ratio,
// frequency by the root of its inverse (dynamic similarity, exact).
func Scale(speed, stride, hz, fromLeg, toLeg float64) (speed2, stride2, hz2 float64) {
	r := toLeg / fromLeg
	return speed * math.Sqrt(r), stride * r, hz / math.Sqrt(r)
}

// Lean is how far a body leans into a turn to stay in balance, radians:
// tan θ = v²/(g·r). Horses on the lunge lean about 1° less (Brocklehurst,
// Weller & Pfau). Speed m/s, radius m.
func Lean(speed, radius float64) float64 { return math.Atan(speed * speed / (G * radius)) }

// GripSpeed is the speed at which a foot slips on a turn, m/s: √(μ·g·r). The
// coefficient of grip of hooves on turf is not known well; Tan & Wilson 2011
// found the form of the law for polo and racing.
func GripSpeed(grip, radius float64) float64 { return math.Sqrt(grip * G * radius) }

// OverTrack is how far a hind print lies ahead of the fore print of its side in
// an even trot, m: half the stride less the distance from a hind print forward
// to the fore print of its diagonal. Exact geometry.
func OverTrack(stride, diagonal float64) float64 { return stride/2 - diagonal }

// Moved is a speed with the stride it was driven in.
type Moved struct {
	SpeedMPS float64
	StrideM  float64
}

// StrideHz is strides a second: speed over stride.
func (m Moved) StrideHz() float64 { return m.SpeedMPS / m.StrideM }

// PerMinute is strides a minute, from strides a second.
func PerMinute(hz float64) float64 { return 60 * hz }

// DutyFactor is the share of a stride that a foot stands: stance over stride,
// both in s.
func DutyFactor(stance, stride float64) float64 { return stance / stride }

// AmplitudeInHand is the class a breed field test gives the stride (m) of a
// working trot in hand: small under 2.60, great over 3.00 (pax.gfeweb.com,
// criterion 26). The words between are ours. It is a scale for the horse, not
// for slow, working and strong.
func AmplitudeInHand(stride float64) string {
	switch {
	case stride < 2.60:
		return "small"
	case stride < 2.80:
		return "middling"
	case stride <= 3.00:
		return "good"
	}
	return "great"
}

// TrotBeats is how many beats a second a sensor feels at a trot of that stride
// frequency: two near-equal ones a stride.
func TrotBeats(strideHz float64) float64 { return 2 * strideHz }

// SecondsToTell is how long a steady stretch must last, s, before two stride
// frequencies can be told apart in its spectrum, which resolves 1/N Hz in N s.
func SecondsToTell(a, b float64) float64 { return 1 / math.Abs(a-b) }

// DiagonalLike is the distance from a hind print forward to the fore print of its
// diagonal to expect of an animal whose leg is that long, m (estimate): half of
// the working stride of published dressage horses, 2.73 m (Clayton 1994), when
// they track up, carried over by the leg from 1.2 m.
func DiagonalLike(leg float64) float64 { return 2.73 / 2 * leg / LegOf(turnout.HorseSize) }

// Wanted is what the prints of a trot would look like, for a lesson.
type Wanted struct {
	Trot        string  `json:"trot"`
	StrideM     float64 `json:"stride_m"`
	OverTrackCM float64 `json:"over_track_cm"`
	StepM       float64 `json:"step_m"` // from one diagonal to the next
}

// ThreeTrots are the three trots as this horse would print them: a slow one
// twice the tolerance short, a working one in the print, a strong one twice
// beyond. Its diagonal (hind print forward to the fore print of the same pair, m)
// is taken as the same in all three, which is from memory; see OverTrack.
func ThreeTrots(diagonal, tolerance float64) [3]Wanted {
	var out [3]Wanted
	for i, w := range []struct {
		trot string
		over float64
	}{{Slow, -2 * tolerance}, {Working, 0}, {Strong, 2 * tolerance}} {
		stride := 2 * (w.over + diagonal)
		out[i] = Wanted{Trot: w.trot, StrideM: stride, OverTrackCM: 100 * w.over, StepM: stride / 2}
	}
	return out
}
