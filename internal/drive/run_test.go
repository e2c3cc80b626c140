package drive

import (
	"fmt"
	"math"
	"testing"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Past a post on a straight everything is in line, so the room of each part is
// arithmetic: the post's offset, less its radius, less half of what passes
// there. Each part in turn is made the widest.
func TestRoomOnAStraight(t *testing.T) {
	const post = 0.06
	// Places are 5 cm apart, so an axle may stand 2.5 cm before or past the post:
	// √(1.14² + 0.025²) − 1.14 = 0.0003 m.
	const tol = 3e-4
	base := func(hitch string, wheels int) *turnout.Turnout {
		return &turnout.Turnout{Name: "t", Hitch: hitch, Ahead: 3.3,
			Horse:   turnout.Horse{Nose: 1.3, Rump: 1.2, Width: 0.6, Apart: 0.9, Bend: 0.5},
			Vehicle: turnout.Vehicle{Wheels: wheels, Track: 0.3, Hubs: 0.4, Shafts: 2.6, Wheelbase: 1.5, Body: 0.3},
			Turning: turnout.Hands{Left: 3, Right: 3},
			Pace:    turnout.Pace{Speed: 4, Lateral: turnout.Hands{Left: 2, Right: 2}, Gain: 1, Loss: 1}}
	}
	for _, c := range []struct {
		name string
		to   *turnout.Turnout
		part string
		half float64
	}{
		{"single horse", base(turnout.Single, 2), PartHorse, 0.3},
		{"pair: the outer flank of either horse", base(turnout.PairH, 4), PartHorse, 0.45 + 0.3},
		{"hubs of two wheels", with(base(turnout.Single, 2), func(t *turnout.Turnout) { t.Vehicle.Hubs = 1.6 }), PartHub, 0.8},
		{"body of four wheels", with(base(turnout.Single, 4), func(t *turnout.Turnout) { t.Vehicle.Body = 1.8 }), PartBody, 0.9},
		{"tandem: no wider than its horses", base(turnout.Tandem, 2), PartHorse, 0.3},
	} {
		for _, side := range []float64{1, -1} {
			t.Run(fmt.Sprintf("%s, %+.0f", c.name, side), func(t *testing.T) {
				const off = 2.0
				got := pastPost(c.to, plan.Obstacle{ID: "p", Path: []geom.Vec{{X: side * off, Y: 30}}, Radius: post})
				if want := off - post - c.half; math.Abs(got.Room-want) > tol {
					t.Errorf("room %.4f m, want %.4f", got.Room, want)
				}
				if got.Part != c.part && c.to.Hitch != turnout.Tandem {
					t.Errorf("the nearest part is the %s, want the %s", got.Part, c.part)
				}
			})
		}
	}
	// Behind the rump of its wheel horses, leaders are the only thing that
	// reaches a post that stands ahead of where the line ends.
	for hitch, half := range map[string]float64{turnout.Tandem: 0.3, turnout.Four: 0.45 + 0.3} {
		wheels := 2
		if hitch == turnout.Four {
			wheels = 4
		}
		for _, side := range []float64{1, -1} {
			got := pastPost(base(hitch, wheels), plan.Obstacle{ID: "p", Path: []geom.Vec{{X: side * 2, Y: 58 + 3}}, Radius: post})
			if want := 2 - post - half; math.Abs(got.Room-want) > tol || got.Part != PartLeader {
				t.Errorf("%s: %s at %.4f m, want the leader at %.4f", hitch, got.Part, got.Room, want)
			}
		}
	}
}

func with(t *turnout.Turnout, change func(*turnout.Turnout)) *turnout.Turnout {
	change(t)
	return t
}

// pastPost drives from south to north along x = 0, to y = 58, past one thing.
func pastPost(to *turnout.Turnout, o plan.Obstacle) Near {
	var pts []geom.Vec
	for y := 0.0; y <= 66; y += 0.5 {
		pts = append(pts, geom.Vec{Y: y})
	}
	r := Drive(to, geom.Through(pts), Spot{I: 5}, Spot{I: 117}, 0.05)
	return r.Clear([]plan.Obstacle{o}, 5)
}
