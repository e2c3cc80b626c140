package turnout

import (
	"math"
	"testing"
)

// A guessed least radius is half a metre either way, a guessed side force a
// quarter; what is not guessed stays, and so does the turnout asked about.
func TestDoubtsAreOfWhatIsGuessed(t *testing.T) {
	base := Turnout{Turning: Hands{Left: 3.5, Right: 4}, Pace: Pace{Speed: 3.6, Lateral: Hands{Left: 2, Right: 1.6}}}
	for name, c := range map[string]struct {
		guessed        []any
		keys           [][]string
		easier, harder Hands // turning of the first
	}{
		"nothing":         {},
		"a pace's speed":  {guessed: []any{"pace.speed"}},
		"both hands":      {guessed: []any{"turning"}, keys: [][]string{{"turning.left", "turning.right"}}, easier: Hands{Left: 3, Right: 3.5}, harder: Hands{Left: 4, Right: 4.5}},
		"one hand":        {guessed: []any{"turning.left"}, keys: [][]string{{"turning.left"}}, easier: Hands{Left: 3, Right: 4}, harder: Hands{Left: 4, Right: 4}},
		"radius and pace": {guessed: []any{"pace", "turning.right"}, keys: [][]string{{"turning.right"}, {"pace.lateral.left", "pace.lateral.right"}}, easier: Hands{Left: 3.5, Right: 3.5}, harder: Hands{Left: 3.5, Right: 4.5}},
	} {
		to := base
		to.Extra = Extra{"guessed": c.guessed}
		got := to.Doubts()
		if len(got) != len(c.keys) {
			t.Errorf("%s: %d doubts, want %d", name, len(got), len(c.keys))
			continue
		}
		for i, d := range got {
			if len(d.Keys) != len(c.keys[i]) || d.Keys[0] != c.keys[i][0] {
				t.Errorf("%s: doubt of %v, want %v", name, d.Keys, c.keys[i])
			}
		}
		if len(got) > 0 && (got[0].Easier.Turning != c.easier || got[0].Harder.Turning != c.harder) {
			t.Errorf("%s: turns %v to %v, want %v to %v", name, got[0].Easier.Turning, got[0].Harder.Turning, c.easier, c.harder)
		}
		near := func(h Hands, left, right float64) bool {
			return math.Abs(h.Left-left) < 1e-9 && math.Abs(h.Right-right) < 1e-9
		}
		if len(got) > 1 && !(near(got[1].Easier.Pace.Lateral, 2.5, 2) && near(got[1].Harder.Pace.Lateral, 1.5, 1.2)) {
			t.Errorf("%s: side force %v to %v", name, got[1].Harder.Pace.Lateral, got[1].Easier.Pace.Lateral)
		}
		if to.Turning != base.Turning || to.Pace != base.Pace {
			t.Errorf("%s: the turnout asked about was changed", name)
		}
	}
}
