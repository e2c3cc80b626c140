package demo_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"terret/examples/demo"
	"terret/internal/rules"
	"terret/internal/testkit"
	"terret/internal/trial"
)

// The example file is the demo's day, to the byte.
func TestExampleIsTheDemoDay(t *testing.T) {
	tr, err := demo.Trial()
	if err != nil {
		t.Fatal(err)
	}
	text, err := trial.Encode(tr)
	if err != nil {
		t.Fatal(err)
	}
	head := "# The driving day of the demo, with all its sheets: marks and times are a\n# simulation, made by examples/demo. Nobody in it exists.\n"
	testkit.Golden(t, "../../hollowmere-trial.yaml", []byte(head+string(text)))
	if _, _, err := trial.Load("../hollowmere-trial.yaml"); err != nil {
		t.Error(err)
	}
}

// The day holds what it is there to show.
func TestDayHasWhatItShows(t *testing.T) {
	tr, err := demo.Trial()
	if err != nil {
		t.Fatal(err)
	}
	p, err := rules.Load(tr.Rules)
	if err != nil {
		t.Fatal(err)
	}
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	if len(tr.Entries) != 12 || len(a.Missing) != 0 {
		t.Errorf("%d entries, missing %v", len(tr.Entries), a.Missing)
	}
	drivers, grooms := map[string]int{}, map[string]map[string]bool{}
	for _, e := range tr.Entries {
		drivers[e.Driver]++
		for _, g := range e.Grooms {
			if grooms[g] == nil {
				grooms[g] = map[string]bool{}
			}
			grooms[g][e.Driver] = true
		}
		if e.Turnout == "" {
			continue
		}
		if _, err := os.Stat("../" + e.Turnout); err != nil {
			t.Errorf("entry %d: %v", e.Number, err)
		}
	}
	if drivers["Hazel Fenn"] != 2 || len(drivers) != 11 {
		t.Errorf("drivers: %v", drivers)
	}
	shared := 0
	for _, d := range grooms {
		if len(d) > 1 {
			shared++
		}
	}
	if shared != 1 {
		t.Errorf("%d grooms are shared, want one", shared)
	}
	status, corrected, errors := map[string]int{}, 0, 0
	for _, e := range a.Entries {
		status[e.Status]++
		if strings.Contains(strings.Join(e.Phases[rules.Hazards].Lines, " "), "rror") {
			errors++
		}
	}
	for _, s := range tr.Sheets {
		if s.Replaces != "" {
			corrected++
		}
	}
	if status[trial.Withdrawn] != 1 || status[trial.Retired] != 1 || status[trial.Placed] != 10 || corrected != 1 || errors == 0 {
		t.Errorf("statuses %v, %d corrected, %d errors of course", status, corrected, errors)
	}
}

// As kept, every mark is taken, two sheets are out, a clock is running and a query is
// open, at any time of day.
func TestMoment(t *testing.T) {
	p, err := rules.Load("")
	if err != nil {
		t.Fatal(err)
	}
	for _, now := range []time.Time{time.Date(2026, 10, 17, 9, 0, 0, 0, time.UTC), time.Date(2026, 10, 17, 22, 30, 0, 0, time.UTC)} {
		setting, marks, err := demo.Moment(now)
		if err != nil {
			t.Fatal(err)
		}
		l := &trial.Ledger{}
		for _, m := range marks {
			if err := l.Append(m); err != nil {
				t.Fatal(err)
			}
			if m.At > now.UnixMilli() {
				t.Errorf("mark %s is of the future", m.ID)
			}
		}
		b, wrong, err := l.Open(setting, p)
		if err != nil || wrong != nil {
			t.Fatal(wrong, err)
		}
		if n := len(b.Answer().Missing); n != 2 {
			t.Errorf("%d sheets are out, want 2: %v", n, b.Answer().Missing)
		}
		if s := l.Stands(setting, "V", now.UnixMilli()); s.State != trial.Provisional || s.Over || s.Stale || len(s.Open) != 1 {
			t.Errorf("class V stands %+v", s)
		}
		if d := l.Disputes(); len(d) != 0 {
			t.Errorf("disputes: %v", d)
		}
	}
}
