package hazardtest

import (
	"math"

	"terret/internal/turnout"
)

// Turnouts are the six turnouts of the planner's tests, invented but of
// plausible size. Widths, lengths and turning room are estimates; the side
// force and the gain and loss of speed are guesses, the same for all.
func Turnouts() []*turnout.Turnout {
	bend, lock := 40*math.Pi/180, 60*math.Pi/180
	pace := func(v float64) turnout.Pace {
		return turnout.Pace{Speed: v, Lateral: turnout.Hands{Left: 2, Right: 2}, Gain: 0.8, Loss: 1.0}
	}
	single := turnout.Horse{Nose: 1.3, Rump: 1.2, Width: 0.65, Bend: bend}
	pony := turnout.Horse{Nose: 1.0, Rump: 0.95, Width: 0.55, Bend: bend}
	abreast := single
	abreast.Apart = 0.9
	return []*turnout.Turnout{
		{
			Name: "single, two wheels", Hitch: turnout.Single, Size: "horse", Horse: single,
			Vehicle: turnout.Vehicle{Wheels: 2, Track: 1.38, Hubs: 1.50, Shafts: 2.6, Lock: 75 * math.Pi / 180, CGHeight: 0.9},
			Turning: turnout.Hands{Left: 3.5, Right: 3.5}, Pace: pace(4.6), Margin: 0.05,
		}, {
			Name: "pony, two wheels", Hitch: turnout.Single, Size: "pony", Horse: pony,
			Vehicle: turnout.Vehicle{Wheels: 2, Track: 1.20, Hubs: 1.30, Shafts: 2.1, Lock: 75 * math.Pi / 180},
			Turning: turnout.Hands{Left: 2.5, Right: 2.8}, Pace: pace(4.0), Margin: 0.05,
		}, {
			Name: "single, four wheels", Hitch: turnout.Single, Size: "horse", Horse: single,
			Vehicle: turnout.Vehicle{Wheels: 4, Track: 1.38, Hubs: 1.50, Shafts: 2.6, Wheelbase: 1.4, Body: 1.1, Lock: lock, CGHeight: 0.9},
			Turning: turnout.Hands{Left: 3.5, Right: 3.5}, Pace: pace(4.6), Margin: 0.05,
		}, {
			Name: "pair", Hitch: turnout.PairH, Size: "horse", Horse: abreast,
			Vehicle: turnout.Vehicle{Wheels: 4, Track: 1.48, Hubs: 1.60, Shafts: 2.7, Wheelbase: 1.6, Body: 1.1, Lock: lock, CGHeight: 0.95},
			Turning: turnout.Hands{Left: 3.8, Right: 3.8}, Pace: pace(4.6), Margin: 0.05,
		}, {
			Name: "tandem", Hitch: turnout.Tandem, Size: "horse", Horse: single, Ahead: 3.3,
			Vehicle: turnout.Vehicle{Wheels: 2, Track: 1.38, Hubs: 1.50, Shafts: 2.6, Lock: 75 * math.Pi / 180, CGHeight: 1.0},
			Turning: turnout.Hands{Left: 4.0, Right: 4.0}, Pace: pace(4.2), Margin: 0.05,
		}, {
			Name: "four-in-hand", Hitch: turnout.Four, Size: "horse", Horse: abreast, Ahead: 3.4,
			Vehicle: turnout.Vehicle{Wheels: 4, Track: 1.50, Hubs: 1.62, Shafts: 2.8, Wheelbase: 1.7, Body: 1.15, Lock: lock, CGHeight: 1.0},
			Turning: turnout.Hands{Left: 4.2, Right: 4.2}, Pace: pace(4.4), Margin: 0.05,
		},
	}
}

// Named is the test turnout of that name; it panics when there is none.
func Named(name string) *turnout.Turnout {
	for _, t := range Turnouts() {
		if t.Name == name {
			return t
		}
	}
	panic("hazardtest: no turnout " + name)
}
