package hazard_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/hazard/hazardtest"
	"terret/internal/plan"
	"terret/internal/turnout"
)

func routes(tb testing.TB, p *plan.Plan, to *turnout.Turnout) *hazard.Answer {
	tb.Helper()
	a, err := hazard.Routes(context.Background(), hazard.Question{Plan: p, Turnout: to})
	if err != nil {
		tb.Fatal(err)
	}
	return a
}

// The mirrored question has the mirrored answer: the same best time to 0.1 % and
// the turning hands exchanged. Shifting and turning the plan changes nothing.
func TestMirrorTurnAndShift(t *testing.T) {
	to := *hazardtest.Named("single, two wheels")
	to.Turning = turnout.Hands{Left: 3.2, Right: 4.1}
	to.Pace.Lateral = turnout.Hands{Left: 2.2, Right: 1.6}
	other := to
	other.Turning = turnout.Hands{Left: 4.1, Right: 3.2}
	other.Pace.Lateral = turnout.Hands{Left: 1.6, Right: 2.2}
	sin, cos := math.Sincos(0.7)
	for seed := uint64(0); seed < 5; seed++ {
		p := hazardtest.Random(seed, hazardtest.Options{SharedPost: seed == 1, TwoLetters: seed == 2, InIsOut: seed == 3})
		a := routes(t, p, &to)
		if len(a.Routes) == 0 {
			t.Fatalf("seed %d: no route: %s", seed, a.NoneBecause.Text)
		}
		best := a.Routes[0]
		mirror := routes(t, p.Map(func(v geom.Vec) geom.Vec { return geom.Vec{X: 40 - v.X, Y: v.Y} }, true), &other)
		turned := routes(t, p.Map(func(v geom.Vec) geom.Vec {
			return geom.Vec{X: v.X*cos - v.Y*sin + 300, Y: v.X*sin + v.Y*cos - 70}
		}, false), &to)
		for what, b := range map[string]*hazard.Answer{"mirrored": mirror, "turned and shifted": turned} {
			if len(b.Routes) == 0 {
				t.Errorf("seed %d %s: no route", seed, what)
				continue
			}
			if len(b.Routes) != len(a.Routes) {
				t.Errorf("seed %d %s: %d ways, were %d", seed, what, len(b.Routes), len(a.Routes))
				continue
			}
			for i := range a.Routes {
				if d := math.Abs(b.Routes[i].TimeS/a.Routes[i].TimeS - 1); d > 1e-3 {
					t.Errorf("seed %d %s, way %d: %.3f s, was %.3f (%.2f %%)", seed, what, i, b.Routes[i].TimeS, a.Routes[i].TimeS, 100*d)
				}
			}
		}
		if len(mirror.Routes) > 0 {
			m := mirror.Routes[0]
			if math.Abs(m.TurnedLeftDeg-best.TurnedRightDeg) > 5 || math.Abs(m.TurnedRightDeg-best.TurnedLeftDeg) > 5 {
				t.Errorf("seed %d: turned left %.0f right %.0f, mirrored left %.0f right %.0f", seed, best.TurnedLeftDeg, best.TurnedRightDeg, m.TurnedLeftDeg, m.TurnedRightDeg)
			}
		}
		if len(turned.Routes) > 0 && turned.Routes[0].Way != best.Way {
			t.Errorf("seed %d: turning the plan changed the way\n %s\n %s", seed, best.Way, turned.Routes[0].Way)
		}
	}
}

// The straight distances from gate to gate are never beaten: each leg must at
// least join two openings.
func TestNoRouteBeatsTheStraightDistance(t *testing.T) {
	to := hazardtest.Named("pony, two wheels")
	for seed := uint64(0); seed < 8; seed++ {
		p := hazardtest.Random(seed, hazardtest.Options{})
		h := &p.Hazards[0]
		var bound float64
		lines := []geom.Seg{h.In.Line(h.MarkerRadius)}
		for _, g := range h.Gates {
			lines = append(lines, g.Line(h.MarkerRadius))
		}
		lines = append(lines, h.Out.Line(h.MarkerRadius))
		for i := 1; i < len(lines); i++ {
			d, _, _ := geom.SegDist(lines[i-1], lines[i])
			bound += d
		}
		for _, r := range routes(t, p, to).Routes {
			if r.LengthM < bound || r.TimeS < bound/to.Pace.Speed {
				t.Errorf("seed %d: %.2f m in %.2f s, the bound is %.2f m", seed, r.LengthM, r.TimeS, bound)
			}
		}
	}
}

// The same question has the same answer, to the last digit.
func TestDeterministic(t *testing.T) {
	p, to := hazardtest.Random(3, hazardtest.Options{}), hazardtest.Named("pair")
	a, b := routes(t, p, to), routes(t, p, to)
	if len(a.Routes) != len(b.Routes) {
		t.Fatalf("%d routes, then %d", len(a.Routes), len(b.Routes))
	}
	for i := range a.Routes {
		if a.Routes[i].TimeS != b.Routes[i].TimeS || a.Routes[i].Way != b.Routes[i].Way {
			t.Errorf("route %d: %v s, then %v s", i, a.Routes[i].TimeS, b.Routes[i].TimeS)
		}
	}
}

// The seconds lost at a route's turns are all it loses against driving the same
// metres at the cap: turns share the line out without gap or overlap.
func TestSecondsLostAddUp(t *testing.T) {
	n := 0
	for _, name := range []string{"single, two wheels", "pair"} {
		to := hazardtest.Named(name)
		for seed := uint64(0); seed < 4; seed++ {
			for _, r := range routes(t, hazardtest.Random(seed, hazardtest.Options{}), to).Routes {
				lost := 0.0
				for _, turn := range r.Turns {
					lost += turn.LostS
				}
				if want := r.TimeS - r.LengthM/to.Pace.Speed; math.Abs(lost-want) > 0.01 {
					t.Errorf("%s, seed %d: %.3f s lost at %d turns, %.3f s on the whole", name, seed, lost, len(r.Turns), want)
				}
				n++
			}
		}
	}
	if n == 0 {
		t.Error("no route was looked at")
	}
}

// The example of shared posts, one gate of which is left by the way it was
// entered, is driven by all six example turnouts.
func TestExampleOfSharedPosts(t *testing.T) {
	const dir = "../../examples/"
	doc, err := os.ReadFile(dir + "plans/shared-posts.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := plan.Parse("shared-posts.yaml", doc)
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(dir + "turnouts/*.yaml")
	if err != nil || len(files) != 6 {
		t.Fatalf("%d example turnouts, want 6 (%v)", len(files), err)
	}
	for _, f := range files {
		doc, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		to, _, err := turnout.Decode(f, doc)
		if err != nil {
			t.Fatal(err)
		}
		if a := routes(t, p, to); len(a.Routes) == 0 {
			t.Errorf("%s: no route: %s", to.Name, a.NoneBecause.Text)
		}
	}
}

// open is a bare field with In on the west, Out on the east and the gates given.
func open(gates ...plan.Gate) *plan.Plan {
	v := func(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }
	return &plan.Plan{Name: "open", Ground: plan.Ground{Outline: geom.Polygon{v(0, 0), v(70, 0), v(70, 50), v(0, 50)}},
		Hazards: []plan.Hazard{{Name: "H", MarkerRadius: 0.06,
			In:    plan.Pair{Right: v(10, 23), Left: v(10, 27)},
			Out:   plan.Pair{Right: v(60, 23), Left: v(60, 27)},
			Gates: gates}}}
}

func gate(letter string, rx, ry, lx, ly float64) plan.Gate {
	return plan.Gate{Letter: letter, Pair: plan.Pair{Right: geom.Vec{X: rx, Y: ry}, Left: geom.Vec{X: lx, Y: ly}}}
}

// One gate with two letters, driven through and straight back, and the same way
// twice: legs of no length and legs round a post.
func TestOneGateTwice(t *testing.T) {
	for name, p := range map[string]*plan.Plan{
		"through and straight back": open(gate("A", 35, 23, 35, 27), gate("B", 35, 27, 35, 23)),
		"the same way twice":        open(gate("A", 35, 23, 35, 27), gate("B", 35, 23, 35, 27)),
	} {
		for _, to := range hazardtest.Turnouts() {
			a := routes(t, p, to)
			if len(a.Routes) == 0 {
				t.Errorf("%s, %s: no route: %s", name, to.Name, a.NoneBecause.Text)
				continue
			}
			if bad := hazardtest.CheckAnswer(p, &p.Hazards[0], to, "", a); len(bad) > 0 {
				t.Errorf("%s, %s: %v", name, to.Name, bad)
			}
		}
	}
}

// Nothing drivable: the gate, the need and what there is.
func TestNoneBecauseOfTwoPosts(t *testing.T) {
	p := open(gate("A", 35, 24.4, 35, 25.6))
	a := routes(t, p, hazardtest.Named("pair"))
	if a.NoneBecause == nil || len(a.Routes) != 0 {
		t.Fatal("a pair drives a gate of 1.08 m")
	}
	w := a.NoneBecause
	if w.Gate != "A" || math.Abs(w.Has-1.08) > 1e-9 || w.Needs <= w.Has || len(w.Between) != 2 {
		t.Errorf("reason %+v", w)
	}
	// A gap beyond the gate is too narrow: a fence across the whole ground but for 1 m.
	q := open(gate("A", 25, 23, 25, 27))
	q.Things = []plan.Thing{
		{ID: "north", Kind: "rail", Path: []geom.Vec{{X: 45, Y: 25.5}, {X: 45, Y: 50}}, Width: 0.1},
		{ID: "south", Kind: "rail", Path: []geom.Vec{{X: 45, Y: 0}, {X: 45, Y: 24.5}}, Width: 0.1},
	}
	a = routes(t, q, hazardtest.Named("single, two wheels"))
	if a.NoneBecause == nil {
		t.Fatal("drives a gap of 0.9 m")
	}
	w = a.NoneBecause
	if w.Gate != "out" || math.Abs(w.Has-0.9) > 0.02 || strings.Join(w.Between, " ") != "north south" && strings.Join(w.Between, " ") != "south north" {
		t.Errorf("reason %+v", w)
	}
}

func percentiles(b *testing.B, took []float64) {
	sort.Float64s(took)
	b.ReportMetric(took[len(took)/2], "median-ms")
	b.ReportMetric(took[len(took)*95/100], "p95-ms")
	b.ReportMetric(0, "ns/op")
}

// over60 times a question on 60 random hazards.
func over60(b *testing.B, ask func(q hazard.Question)) {
	for _, name := range []string{"single, two wheels", "pair"} {
		b.Run(name, func(b *testing.B) {
			to := hazardtest.Named(name)
			var took []float64
			for b.Loop() {
				for seed := uint64(0); seed < 60; seed++ {
					q := hazard.Question{Plan: hazardtest.Random(seed, hazardtest.Options{}), Turnout: to}
					t0 := time.Now()
					ask(q)
					took = append(took, float64(time.Since(t0).Microseconds())/1000)
				}
			}
			percentiles(b, took)
		})
	}
}

// BenchmarkLegWays is the tangent graph and every leg's strings.
func BenchmarkLegWays(b *testing.B) {
	over60(b, func(q hazard.Question) {
		if n, err := hazard.LegWays(q); err != nil || n == 0 {
			b.Fatal(n, err)
		}
	})
}

// BenchmarkFirstRoute is from a cold start to the first route that can be
// driven, or to knowing of none on the usual ways.
func BenchmarkFirstRoute(b *testing.B) {
	over60(b, func(q hazard.Question) {
		if _, err := hazard.First(q); err != nil {
			b.Fatal(err)
		}
	})
}

// BenchmarkBestRoute is the whole answer: the best route with the ways to show.
func BenchmarkBestRoute(b *testing.B) {
	over60(b, func(q hazard.Question) { routes(b, q.Plan, q.Turnout) })
}

// BenchmarkFleet is 200 turnouts through 8 hazards, each from the best line of a
// turnout of its own hitch, on all cores there are.
func BenchmarkFleet(b *testing.B) {
	const hazards, fleet = 8, 200
	kinds := hazardtest.Turnouts()
	type start struct {
		p    *plan.Plan
		line [][]geom.Vec // by kind; nil where there is none
	}
	var starts []start
	for seed := uint64(0); seed < hazards; seed++ {
		s := start{p: hazardtest.Random(seed, hazardtest.Options{Roomy: true})}
		for _, to := range kinds {
			var line []geom.Vec
			if a := routes(b, s.p, to); len(a.Routes) > 0 {
				line = a.Routes[0].Leads()
			}
			s.line = append(s.line, line)
		}
		starts = append(starts, s)
	}
	drives := 0
	for b.Loop() {
		var wg sync.WaitGroup
		var fresh atomic.Int64
		jobs := make(chan int)
		for range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				for j := range jobs {
					i, s := j/hazards, starts[j%hazards]
					to := *kinds[i%len(kinds)]
					x := float64(i) / fleet // every turnout a little different
					to.Turning.Left *= 1 + 0.1*x
					to.Turning.Right *= 1.1 - 0.1*x
					to.Vehicle.Hubs *= 0.95 + 0.08*x
					line := s.line[i%len(kinds)]
					if line == nil {
						continue
					}
					l, err := hazard.NewLive(hazard.Question{Plan: s.p, Turnout: &to}, line)
					if err != nil {
						b.Error(err)
						continue
					}
					f, err := l.Follow(context.Background(), s.p)
					if err != nil {
						b.Error(err)
					}
					if f.Fresh {
						fresh.Add(1)
					}
				}
			})
		}
		for j := range hazards * fleet {
			jobs <- j
		}
		close(jobs)
		wg.Wait()
		drives = int(fresh.Load())
	}
	b.ReportMetric(float64(drives), "of-1600-verified")
}
