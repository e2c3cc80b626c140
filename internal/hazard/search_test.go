package hazard

import (
	"context"
	"fmt"
	"sort"
	"testing"
	"time"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// grid is the practice grid of trade practice §5.2: 6 × 6 posts 3 m apart.
func grid() (*plan.Plan, *turnout.Turnout) {
	p := &plan.Plan{Name: "grid", Ground: plan.Ground{Outline: geom.Polygon{{}, {X: 45}, {X: 45, Y: 45}, {Y: 45}}}}
	for i := range 6 {
		for j := range 6 {
			p.Things = append(p.Things, plan.Thing{ID: fmt.Sprintf("p%d%d", i, j), Kind: plan.Post, At: geom.Vec{X: 15 + 3*float64(i), Y: 15 + 3*float64(j)}, Radius: 0.06})
		}
	}
	g := func(l string, x, y float64, fwd float64) plan.Gate {
		d := geom.Degrees(fwd).Dir().Right().Mul(1.5)
		m := geom.Vec{X: x, Y: y}
		return plan.Gate{Letter: l, Pair: plan.Pair{Right: m.Add(d), Left: m.Sub(d)}}
	}
	p.Hazards = []plan.Hazard{{Name: "grid", MarkerRadius: 0.06,
		In:    plan.Pair{Right: geom.Vec{X: 24.5, Y: 9}, Left: geom.Vec{X: 20.5, Y: 9}},
		Out:   plan.Pair{Right: geom.Vec{X: 9, Y: 24.5}, Left: geom.Vec{X: 9, Y: 20.5}},
		Gates: []plan.Gate{g("A", 22.5, 15, 0), g("B", 30, 22.5, 90), g("C", 22.5, 30, 0)}}}
	h := turnout.Hands{Left: 2.5, Right: 2.5}
	return p, &turnout.Turnout{Name: "cart", Hitch: turnout.Single, Horse: turnout.Horse{Nose: 1, Rump: 0.9, Width: 0.5, Bend: 0.7},
		Vehicle: turnout.Vehicle{Wheels: 2, Track: 1.1, Hubs: 1.2, Shafts: 2, Lock: 1.3}, Turning: h,
		Pace: turnout.Pace{Speed: 3.5, Lateral: turnout.Hands{Left: 2, Right: 2}, Gain: 0.8, Loss: 1}, Margin: 0.05}
}

// BenchmarkLegWays is the tangent graph and every leg's strings.
func BenchmarkLegWays(b *testing.B) {
	p, to := grid()
	k, err := newTask(Question{Plan: p, Turnout: to})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		k.legs(k.scene(), usual)
	}
}

// BenchmarkFirstRoute is from a cold start to the first drivable route.
func BenchmarkFirstRoute(b *testing.B) {
	p, to := grid()
	var took []float64
	for b.Loop() {
		t0 := time.Now()
		k, err := newTask(Question{Plan: p, Turnout: to})
		if err != nil {
			b.Fatal(err)
		}
		s, bare := k.newSearch(context.Background(), k.scene(), usual)
		if s == nil {
			b.Fatal("no way on ", k.legName(bare+1))
		}
		s.first()
		took = append(took, float64(time.Since(t0).Microseconds())/1000)
	}
	sort.Float64s(took)
	b.ReportMetric(took[len(took)/2], "median-ms")
}

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
