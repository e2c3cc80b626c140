package trialday_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"terret/examples/demo"
	"terret/internal/rota"
	"terret/internal/rota/trialday"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// TestJobsOfTheDemo: the jobs that the demo's day wants reach over its starts, can be
// written and read, and nobody's shift is too long.
func TestJobsOfTheDemo(t *testing.T) {
	day, err := demo.Trial()
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(){"with its order made": func() {}, "before it is made": func() { day.Timetable.Starts = nil }} {
		change()
		r, err := trialday.Jobs(day)
		if err != nil {
			t.Fatal(err)
		}
		if trouble := r.Against(trialday.Of(day)); len(trouble) > 0 {
			t.Errorf("%s: %+v", name, trouble)
		}
		doc, err := rota.Encode(r)
		if err != nil {
			t.Fatal(err)
		}
		back, err := rota.Decode("jobs", doc)
		if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, doc)
		}
		if d := cmp.Diff(r, back, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%s: came back otherwise:\n%s", name, d)
		}
		var ids []string
		for _, j := range r.Jobs {
			ids = append(ids, j.ID)
			for i, s := range j.Shifts {
				if s.To-s.From > rota.DefaultLongestMin || i > 0 && s.From != j.Shifts[i-1].To {
					t.Errorf("%s: %s from %s to %s", name, j.ID, s.From, s.To)
				}
			}
		}
		want := []string{"safety", "clinic", "dressage-judge", "dressage-scribe", "dressage-steward", "orchard-observer", "orchard-timer", "orchard-hold", "woodstack-observer", "woodstack-timer", "woodstack-hold", "cones-judge", "cones-scribe", "cones-timer", "cones-setter", "runner", "scorer"}
		if !slices.Equal(ids, want) {
			t.Errorf("%s: %q", name, ids)
		}
		if j, err := r.JobNamed("orchard-timer"); err != nil || j.Need != 2 || j.Skill != "timer" || j.Stops != "Orchard" || j.Phase != rules.Hazards {
			t.Errorf("%s: %+v, %v", name, j, err)
		}
		if j, err := r.JobNamed("orchard-observer"); err != nil || !slices.Equal(j.Of, []string{"V", "P", "H", "T", "M"}) {
			t.Errorf("%s: %+v, %v", name, j, err)
		}
	}
}

// TestJobsOfAnOddDay: no timetable is a fault; names that are long, alike or strange, and
// hours at the edges of the day, still make a rota that can be read.
func TestJobsOfAnOddDay(t *testing.T) {
	if _, err := trialday.Jobs(&trial.Trial{Name: "x"}); err == nil {
		t.Error("jobs of a day without a timetable")
	}
	long := strings.Repeat("Ü", 100)
	odd := &trial.Trial{
		Name:    "odd",
		Classes: []trial.Class{{ID: "P", Phases: []string{rules.Hazards}}},
		Courses: []trial.Course{{ID: "runner", Phase: rules.Hazards}, {ID: "Runner", Phase: rules.Hazards}, {ID: "C", Name: long, Phase: rules.Hazards, Classes: []string{"P"}}},
		Timetable: &trial.Timetable{Phases: []trial.Run{
			{Phase: order.Phase{Name: rules.Hazards, Start: 0, Every: 60}},
			{Phase: order.Phase{Name: long, Start: order.At(47, 0), Every: 24 * 3600}},
			{Phase: order.Phase{Name: "runner", Start: order.At(23, 50), Every: 60}},
		}},
	}
	for n := 1; n <= 30; n++ {
		odd.Entries = append(odd.Entries, trial.Entry{Number: n, Class: "P", Driver: "D"})
	}
	r, err := trialday.Jobs(odd)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := rota.Encode(r)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rota.Decode("jobs", doc); err != nil {
		t.Errorf("%v\n%s", err, doc)
	}
}
