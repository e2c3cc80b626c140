package hazard_test

import (
	"context"
	"math"
	"sort"
	"testing"
	"time"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/hazard/hazardtest"
	"terret/internal/plan"
)

// dragged is the plan with one gate's right marker moved by d.
func dragged(p *plan.Plan, gate int, d geom.Vec) *plan.Plan {
	q := *p
	q.Hazards = append([]plan.Hazard(nil), p.Hazards...)
	h := &q.Hazards[0]
	h.Gates = append([]plan.Gate(nil), h.Gates...)
	h.Gates[gate].Right = h.Gates[gate].Right.Add(d)
	return &q
}

// drag drags a gate's marker on a curve of 0.6 m over 60 frames.
func drag(tb testing.TB, p *plan.Plan, name string, each func(took time.Duration, f hazard.Frame, now *plan.Plan)) {
	tb.Helper()
	to := hazardtest.Named(name)
	q := hazard.Question{Plan: p, Turnout: to, Most: 1}
	a, err := hazard.Routes(context.Background(), q)
	if err != nil {
		tb.Fatal(err)
	}
	if len(a.Routes) == 0 {
		return
	}
	l, err := hazard.NewLive(q, a.Routes[0].Leads())
	if err != nil {
		tb.Fatal(err)
	}
	for i := range 60 {
		x := float64(i) / 59
		d := geom.Vec{X: 0.5 * x, Y: 0.3 * math.Sin(math.Pi*x)}
		now := dragged(p, 0, d)
		t0 := time.Now()
		f, err := l.Follow(context.Background(), now)
		if err != nil {
			tb.Fatal(err)
		}
		each(time.Since(t0), f, now)
	}
}

// Every frame that claims to be fresh passes the independent checker, and most
// frames of a small drag are fresh.
func TestFollowedFramesAreVerified(t *testing.T) {
	fresh, all := 0, 0
	for seed := uint64(0); seed < 6; seed++ {
		p := hazardtest.Random(seed, hazardtest.Options{})
		i := 0
		drag(t, p, "single, two wheels", func(_ time.Duration, f hazard.Frame, now *plan.Plan) {
			all++
			if !f.Fresh {
				t.Logf("seed %d: %s", seed, f.Why)
				return
			}
			fresh++
			if i++; i%10 != 0 {
				return
			}
			if bad := hazardtest.Check(now, &now.Hazards[0], hazardtest.Named("single, two wheels"), "", "", f.Route); len(bad) > 0 {
				t.Errorf("seed %d: fresh frame rejected: %v", seed, bad)
			}
		})
	}
	t.Logf("%d of %d frames fresh", fresh, all)
	if fresh*10 < all*9 {
		t.Errorf("only %d of %d frames are fresh", fresh, all)
	}
}

// BenchmarkDragFrame is one frame of a drag: everything rebuilt, re-solved,
// measured and written, on one core.
func BenchmarkDragFrame(b *testing.B) {
	for _, name := range []string{"single, two wheels", "pair"} {
		b.Run(name, func(b *testing.B) {
			var took []float64
			stale := 0
			for b.Loop() {
				for seed := uint64(0); seed < 20; seed++ {
					drag(b, hazardtest.Random(seed, hazardtest.Options{}), name, func(d time.Duration, f hazard.Frame, _ *plan.Plan) {
						took = append(took, float64(d.Microseconds())/1000)
						if !f.Fresh {
							stale++
						}
					})
				}
			}
			sort.Float64s(took)
			b.ReportMetric(took[len(took)/2], "median-ms")
			b.ReportMetric(took[len(took)*95/100], "p95-ms")
			b.ReportMetric(took[len(took)-1], "max-ms")
			b.ReportMetric(100*float64(stale)/float64(len(took)), "stale-%")
		})
	}
}
