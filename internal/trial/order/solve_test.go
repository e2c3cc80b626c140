package order

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// What a change within some slots changes of a list's charge is the same, looked at
// around them and looked at as a whole.
func TestAroundIsThePartThatChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 14).Draw(t, "slots")
		in := &Input{Phases: []Phase{{Name: "cones", Gaps: rapid.Bool().Draw(t, "gaps"), KeepClasses: rapid.Bool().Draw(t, "classes")}}}
		p := &problem{in: in, at: [][]int{nil}}
		for range n {
			if rapid.IntRange(0, 3).Draw(t, "empty") == 0 {
				p.at[0] = append(p.at[0], -1)
				continue
			}
			e := Entry{Number: len(in.Entries) + 1, Class: fmt.Sprint(rapid.IntRange(0, 2).Draw(t, "class")), GapCM: 5 * rapid.IntRange(0, 2).Draw(t, "gap")}
			if e.Class == "0" {
				e.Class = ""
			}
			p.at[0] = append(p.at[0], len(in.Entries))
			p.events = append(p.events, event{entry: len(in.Entries)})
			in.Entries = append(in.Entries, e)
		}
		row := p.at[0]
		for from := range row {
			for to := from; to < n; to++ {
				whole, part, old := p.sequence(0), p.around(0, from, to), slices.Clone(row)
				for what, change := range map[string]func([]int){
					"the other way round": slices.Reverse[[]int],
					"first behind last":   func(in []int) { copy(in, append(slices.Clone(in[1:]), in[0])) },
					"ends change places":  func(in []int) { in[0], in[len(in)-1] = in[len(in)-1], in[0] },
				} {
					change(row[from : to+1])
					if a, b := p.sequence(0)-whole, p.around(0, from, to)-part; math.Abs(a-b) > 1e-9 {
						t.Fatalf("%s from %d to %d: %v is charged %v more, around the change %v: %v", what, from, to, old, a, b, row)
					}
					copy(row, old)
				}
			}
		}
	})
}
