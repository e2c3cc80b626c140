package turnout

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"terret/internal/fault"
)

// Vital is one reading at a halt. A value that was not taken is 0.
type Vital struct {
	Minute  float64 `json:"minute"`  // after the halt began
	Pulse   float64 `json:"pulse"`   // beats a minute
	Breaths float64 `json:"breaths"` // a minute
	TempC   float64 `json:"temp_c"`
}

// Recovery is what a log of readings shows. It informs; the vet decides.
type Recovery struct {
	Readings []Vital `json:"readings"` // by minute
	Pulse    *Curve  `json:"pulse"`    // null with fewer than two readings
	Breaths  *Curve  `json:"breaths"`
	// Inverted is whether a horse breathed quicker than its heart beat at any reading.
	Inverted bool     `json:"inverted"`
	Says     string   `json:"says"`
	Cautions []string `json:"cautions"`
}

// Curve is how one value came down towards the horse's own at rest.
type Curve struct {
	First float64 `json:"first"`
	Last  float64 `json:"last"`
	Rest  float64 `json:"rest"`
	// HalfMinutes is in how many minutes what is over rest halves: a straight
	// line through its logarithm, least squares. Null where it did not come down.
	HalfMinutes *float64 `json:"half_minutes"`
	// AtRest is the minute it was within a tenth of rest, between readings by a
	// straight line; null when it was not.
	AtRest *float64 `json:"at_rest_minute"`
}

// usualRecovery is the time to the horse's own normal after work, minutes, about
// (conditioning articles).
const usualRecovery = 10.0

// Recover reads a log. restPulse and restBreaths are this horse's own at rest, a
// minute; 0 takes 36 and 12, the middle of 30 to 40 and 8 to 15 (conditioning
// articles), which is worth less. The error is a fault when a reading is none.
func Recover(log []Vital, restPulse, restBreaths float64) (*Recovery, error) {
	own := restPulse > 0
	if restPulse == 0 {
		restPulse = 36
	}
	if restBreaths == 0 {
		restBreaths = 12
	}
	bad := func(i int, message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: "vitals", Place: fmt.Sprintf("reading %d", i+1), Message: message, Hint: hint}
	}
	if len(log) == 0 {
		return nil, bad(0, "there is no reading", "minute, pulse, breaths: at the halt, and again every few minutes")
	}
	for i, v := range log {
		switch {
		case !(v.Minute >= 0 && v.Minute <= 600):
			return nil, bad(i, fmt.Sprintf("minute %v", v.Minute), "minutes since the halt began, 0 to 600")
		case v.Pulse != 0 && !(v.Pulse >= 15 && v.Pulse <= 260):
			return nil, bad(i, fmt.Sprintf("a pulse of %v", v.Pulse), "beats a minute, 15 to 260: counted over 15 s, times four")
		case v.Breaths != 0 && !(v.Breaths >= 3 && v.Breaths <= 250):
			return nil, bad(i, fmt.Sprintf("%v breaths", v.Breaths), "breaths a minute, 3 to 250")
		case v.TempC != 0 && !(v.TempC >= 34 && v.TempC <= 44):
			return nil, bad(i, fmt.Sprintf("%v °C", v.TempC), "°C, 34 to 44")
		}
	}
	if !(restPulse >= 15 && restPulse <= 100 && restBreaths >= 3 && restBreaths <= 60) {
		return nil, bad(0, fmt.Sprintf("rest values of %v and %v", restPulse, restBreaths), "this horse's own, counted in the stable")
	}
	r := &Recovery{Readings: slices.Clone(log), Cautions: []string{
		"Walk before standing after hard work (from memory); shade, water, and somebody who knows the horse beside it.",
		"Numbers inform; the vet decides. Call for help when the horse seems unwell whatever they are.",
	}}
	slices.SortStableFunc(r.Readings, func(a, b Vital) int { return cmp.Compare(a.Minute, b.Minute) })
	r.Pulse = curve(r.Readings, restPulse, func(v Vital) float64 { return v.Pulse })
	r.Breaths = curve(r.Readings, restBreaths, func(v Vital) float64 { return v.Breaths })
	for _, v := range r.Readings {
		r.Inverted = r.Inverted || v.Pulse > 0 && v.Breaths > v.Pulse
	}
	switch p := r.Pulse; {
	case p == nil:
		r.Says = "One pulse is no recovery: take it again in two minutes, and at ten."
	case p.AtRest != nil:
		r.Says = fmt.Sprintf("The pulse came from %s to %s and was near rest after %s min; about %s min is usual.", num(p.First), num(p.Last), oneDigit(*p.AtRest), num(usualRecovery))
	default:
		r.Says = fmt.Sprintf("The pulse came from %s to %s and is not yet near rest (%s) after %s min; about %s min is usual.", num(p.First), num(p.Last), num(p.Rest), num(r.Readings[len(r.Readings)-1].Minute), num(usualRecovery))
	}
	if !own {
		r.Says += " Rest is taken from a book, not from this horse."
	}
	if r.Inverted {
		r.Says += " At one reading it breathed quicker than its heart beat: tell the vet."
	}
	r.Says += " The vet decides."
	return r, nil
}

// curve follows one value; nil with fewer than two readings of it.
func curve(log []Vital, rest float64, value func(Vital) float64) *Curve {
	var t, y []float64
	for _, v := range log {
		if x := value(v); x > 0 {
			t, y = append(t, v.Minute), append(y, x)
		}
	}
	if len(y) < 2 {
		return nil
	}
	c := &Curve{First: y[0], Last: y[len(y)-1], Rest: rest}
	near := 1.1 * rest
	for i := range y {
		if y[i] > near {
			continue
		}
		at := t[i]
		if i > 0 && y[i-1] > near {
			at = t[i-1] + (t[i]-t[i-1])*(y[i-1]-near)/(y[i-1]-y[i])
		}
		c.AtRest = &at
		break
	}
	var n, st, sl, stt, stl float64
	for i := range y {
		if over := y[i] - rest; over > 0 {
			l := math.Log(over)
			n, st, sl, stt, stl = n+1, st+t[i], sl+l, stt+t[i]*t[i], stl+t[i]*l
		}
	}
	if d := n*stt - st*st; n >= 2 && d > 0 {
		if slope := (n*stl - st*sl) / d; slope < 0 {
			half := math.Ln2 / -slope
			c.HalfMinutes = &half
		}
	}
	return c
}

// CountPulse turns beats counted into beats a minute as endurance rules count
// (FEI endurance rules 2019, art. 821.2.3): a horse is through after 15 s with at
// most 16 beats, after 30 s with at most 32; otherwise the whole minute is
// counted. through is whether it is at most 64; enough whether the count may
// stop. Endurance is not driving; the way to count is the same.
func CountPulse(beats int, seconds int) (perMinute float64, through, enough bool) {
	if beats < 0 || seconds <= 0 {
		return 0, false, false
	}
	perMinute = float64(beats) * 60 / float64(seconds)
	through = perMinute <= 64
	return perMinute, through, through && (seconds == 15 || seconds == 30) || seconds >= 60
}

// DrivenPulse is a heart rate that was measured in driven horses.
type DrivenPulse struct {
	Work      string
	Low, High float64 // mean ± standard deviation, or the range of means
}

// DrivenPulses are of Standardbreds in a sulky (PMC9592803, table 1, read).
func DrivenPulses() []DrivenPulse {
	return []DrivenPulse{{"walk", 64, 90}, {"slow trot", 92, 128}, {"trot on 20 m circles", 131, 156}, {"fast trot", 175, 196}, {"walk after fast work", 132, 134}}
}

// TimeFor is how long a distance takes at a speed, s, from km and km/h.
func TimeFor(km, kmh float64) float64 { return km / kmh * 3600 }
