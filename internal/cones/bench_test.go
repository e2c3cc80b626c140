package cones

import (
	"math"
	"testing"

	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/turnout"
)

// load reads an example plan.
func load(tb testing.TB, name string) *plan.Plan {
	tb.Helper()
	p, _, err := plan.Load("../../examples/plans/" + name + ".yaml")
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// rig reads an example turnout.
func rig(tb testing.TB, name string) *turnout.Turnout {
	tb.Helper()
	t, _, err := turnout.Load("../../examples/turnouts/" + name + ".yaml")
	if err != nil {
		tb.Fatal(err)
	}
	return t
}

// profile reads the usual rules.
func profile(tb testing.TB) Rules {
	tb.Helper()
	p, err := rules.Load("")
	if err != nil {
		tb.Fatal(err)
	}
	return RulesOf(p)
}

// all are the example turnouts, from small to large.
var all = []string{"vse-cart", "pony-two-wheel", "single-four-wheel", "pair", "tandem", "four-in-hand"}

// Twenty pairs, one turnout, everything that the command answers. Wanted: under
// 40 ms.
func BenchmarkDriveTwenty(b *testing.B) {
	p, r := load(b, "cones-twenty"), profile(b)
	for _, name := range all {
		t := rig(b, name)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Drive(b.Context(), Question{Plan: p, Turnouts: []*turnout.Turnout{t}, Rules: r, Cures: true}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The workshop driven by the four, which touches one pair: the cures of it.
func BenchmarkCures(b *testing.B) {
	q := Question{Plan: load(b, "cones-workshop"), Turnouts: []*turnout.Turnout{rig(b, "four-in-hand")}, Rules: profile(b), Cures: true}
	for b.Loop() {
		a, err := Drive(b.Context(), q)
		if err != nil {
			b.Fatal(err)
		}
		if !a.Touches() {
			b.Fatal("nothing is touched")
		}
	}
}

// One pair of twenty is dragged to and fro, 10 cm a frame.
func BenchmarkFollow(b *testing.B) {
	p, r := load(b, "cones-twenty"), profile(b)
	for _, name := range []string{"pony-two-wheel", "single-four-wheel", "four-in-hand"} {
		t := rig(b, name)
		b.Run(name, func(b *testing.B) {
			v, err := NewLive(Question{Plan: p, Turnouts: []*turnout.Turnout{t}, Rules: r})
			if err != nil {
				b.Fatal(err)
			}
			i := 0
			for b.Loop() {
				i++
				f, err := v.Follow(dragged(p, 8, math.Sin(float64(i)/20)*2))
				if err != nil {
					b.Fatal(err)
				}
				if !f.Followed {
					b.Fatal("the line was made anew")
				}
			}
		})
	}
}

// dragged is a plan with one gate moved east by d metres.
func dragged(p *plan.Plan, gate int, d float64) *plan.Plan {
	q := *p
	q.Courses = append([]plan.Course(nil), p.Courses...)
	c := &q.Courses[0]
	c.Gates = append([]plan.ConeGate(nil), c.Gates...)
	c.Gates[gate].At.X += d
	return &q
}
