package hazard

import (
	"testing"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// The gate order of the planner: each situation of the routing note §3.1.
func TestGateOrder(t *testing.T) {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	h := plan.Hazard{Name: "H", MarkerRadius: 0.06,
		In: plan.Pair{Right: v(0, -2), Left: v(0, 2)}, Out: plan.Pair{Right: v(30, -2), Left: v(30, 2)},
		Gates: []plan.Gate{
			{Letter: "A", Pair: plan.Pair{Right: v(10, -2), Left: v(10, 2)}},
			{Letter: "B", Pair: plan.Pair{Right: v(20, -2), Left: v(20, 2)}},
			{Letter: "C", Pair: plan.Pair{Right: v(10, 2), Left: v(10, -2)}}, // A's pair, the other way
		}}
	p := &plan.Plan{Ground: plan.Ground{Outline: geom.Polygon{v(-9, -9), v(40, -9), v(40, 9), v(-9, 9)}}, Hazards: []plan.Hazard{h}}
	k, err := newTask(Question{Plan: p, Turnout: &turnout.Turnout{Name: "t"}})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		walk []geom.Vec
		bad  bool
		done bool
	}{
		"in order":                        {[]geom.Vec{v(-1, 0), v(11, 0), v(21, 0), v(21, 5), v(12, 5), v(12, 0), v(8, 0), v(8, 5), v(25, 5), v(25, 0), v(31, 0)}, false, true},
		"B before A":                      {[]geom.Vec{v(-1, 0), v(5, 0), v(5, 5), v(15, 5), v(15, 0), v(21, 0)}, true, false},
		"B backwards":                     {[]geom.Vec{v(-1, 0), v(11, 0), v(11, 5), v(25, 5), v(25, 0), v(15, 0)}, true, false},
		"A again while C on it is owed":   {[]geom.Vec{v(-1, 0), v(11, 0), v(9, 0)}, true, false},
		"B again when dead":               {[]geom.Vec{v(-1, 0), v(11, 0), v(21, 0), v(19, 0), v(19, 0.5), v(21, 0.5)}, false, false},
		"passing outside a marker counts": {[]geom.Vec{v(-1, 0), v(5, 0), v(5, 2.05), v(15, 2.05)}, false, false},
		"leaving by In":                   {[]geom.Vec{v(-1, 0), v(1, 0), v(-1, 1)}, true, false},
	} {
		j := judge{k: k}
		bad := false
		var buf []crossing
		for i := 1; i < len(c.walk); i++ {
			buf = k.crossings(buf, c.walk[i-1], c.walk[i])
			for _, x := range buf {
				bad = bad || j.pass(x).bad != ""
			}
		}
		if bad != c.bad || j.done() != c.done {
			t.Errorf("%s: bad %v done %v, want %v %v", name, bad, j.done(), c.bad, c.done)
		}
	}
}
