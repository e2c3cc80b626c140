package trial_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"terret/internal/rules"
	"terret/internal/trial"
)

// randomTrial is an invented day: entries in classes of 20, three phases, six
// hazards, two judges. full: every sheet is in and nobody is eliminated by the
// letters as driven.
func randomTrial(r *rand.Rand, entries int) *trial.Trial {
	t := &trial.Trial{Name: "Random", Rules: "three-phase"}
	t.Tests = []trial.Test{{ID: "T", Maximum: "220", Coefficient: "0.73"}}
	for i := range 22 {
		t.Tests[0].Movements = append(t.Tests[0].Movements, trial.Movement{No: i + 1, Times: 1})
	}
	hazards := 6
	for h := 1; h <= hazards; h++ {
		t.Courses = append(t.Courses, trial.Course{ID: fmt.Sprintf("H%d", h), Phase: rules.Hazards})
	}
	t.Courses = append(t.Courses, trial.Course{ID: "C", Phase: rules.Cones, AllowedS: "161"})
	for c := range (entries + 19) / 20 {
		t.Classes = append(t.Classes, trial.Class{ID: fmt.Sprintf("N%d", c), Hitch: "single", Size: "pony", Through: "D", Phases: []string{rules.Dressage, rules.Hazards, rules.Cones}})
	}
	for n := 1; n <= entries; n++ {
		t.Entries = append(t.Entries, trial.Entry{Number: n, Class: fmt.Sprintf("N%d", (n-1)/20), Driver: fmt.Sprintf("Driver %d", n)})
		for _, judge := range []string{"C", "B"} {
			t.Sheets = append(t.Sheets, randomSheet(r, rules.Dressage, n, judge))
		}
		for h := 1; h <= hazards; h++ {
			t.Sheets = append(t.Sheets, randomSheet(r, rules.Hazards, n, fmt.Sprintf("H%d", h)))
		}
		t.Sheets = append(t.Sheets, randomSheet(r, rules.Cones, n, "C"))
	}
	t.NameSheets()
	return t
}

func randomSheet(r *rand.Rand, phase string, number int, what string) trial.Sheet {
	s := trial.Sheet{Phase: phase, Entry: number, Faults: map[string]int{}}
	maybe := func(fault string, one, most int) {
		if r.IntN(one) == 0 {
			s.Faults[fault] = 1 + r.IntN(most)
		}
	}
	switch phase {
	case rules.Dressage:
		s.Judge, s.Test = what, "T"
		for range 22 {
			s.Marks = append(s.Marks, decimalOf(r.IntN(21), 2, 1))
		}
		if what == "C" {
			maybe("course_error", 8, 3)
			maybe("driver_down", 20, 1)
		}
	case rules.Hazards:
		s.Course, s.Seconds = what, decimalOf(2500+r.IntN(8000), 100, 2)
		s.Gates = []string{"A B C D", "A B C D", "A B C D", "A C B C D", "A B A< C D", "B A A< B C D"}[r.IntN(6)]
		maybe("dislodged", 6, 2)
		maybe("groom_down", 12, 2)
		maybe("held_from_falling", 30, 1)
	case rules.Cones:
		s.Course, s.Seconds = what, decimalOf(13000+r.IntN(8000), 100, 2)
		for g := 1; g <= 20; g++ {
			if r.IntN(10) == 0 {
				s.Knocked = append(s.Knocked, fmt.Sprint(g))
			}
		}
		maybe("refusal", 12, 3)
		maybe("rebuilt", 20, 2)
		maybe("groom_on_reins", 30, 1)
	}
	return s
}

// decimalOf writes n ÷ d with places behind the point.
func decimalOf(n, d, places int) string {
	whole, part := n/d, n%d
	for range places {
		part *= 10
	}
	return strings.TrimSuffix(fmt.Sprintf("%d.%0*d", whole, places, part/d), ".")
}

func profile(t testing.TB, name string) *rules.Profile {
	t.Helper()
	p, err := rules.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Speeds the project wants: 500 entries × 3 phases from marks in memory in under
// 10 ms; one new mark to new placings in under 1 ms.
func BenchmarkRescore500(b *testing.B) {
	t := randomTrial(rand.New(rand.NewPCG(1, 2)), 500)
	board, err := trial.NewBoard(t, profile(b, "three-phase"))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		board.Recount()
		board.Answer()
	}
}

// The same with every sheet read and checked again.
func BenchmarkScore500(b *testing.B) {
	t := randomTrial(rand.New(rand.NewPCG(1, 2)), 500)
	p := profile(b, "three-phase")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := trial.Score(t, p); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOneMark(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	t := randomTrial(r, 500)
	board, err := trial.NewBoard(t, profile(b, "three-phase"))
	if err != nil {
		b.Fatal(err)
	}
	board.Answer()
	b.ReportAllocs()
	for b.Loop() {
		s := randomSheet(r, rules.Cones, 1+r.IntN(500), "C")
		s.ID = "again"
		if err := board.Set(s); err != nil {
			b.Fatal(err)
		}
		board.Answer()
	}
}
