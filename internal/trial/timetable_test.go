package trial_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

const timetabled = `terret: trial/1
name: A day
classes: [{id: N, phases: [dressage, cones]}, {id: P, phases: [cones]}]
entries:
  - {number: 7, class: N, driver: Ann, grooms: [Rob], gap_cm: 165, wishes: [{phase: cones, not_before: "11:00", why: vet}]}
  - {number: 8, class: N, driver: Ida, grooms: [Rob], wishes: [{behind: 9}]}
  - {number: 9, class: N, driver: Tom, status: withdrawn}
  - {number: 10, class: P, driver: Jo, status: retired, in_phase: cones}
  - {number: 11, class: P, driver: Una, wishes: [{phase: dressage, not_after: "09:00"}, {not_after: "12:30:30"}]}
courses: [{id: C1, phase: cones, allowed_s: "161"}]
tests: [{id: T, maximum: 160}]
timetable:
  phases:
    - {name: inspection, start: "08:00", every_min: 5}
    - {name: dressage, start: "09:00", end: "12:00", every_min: 7.5, lasts_min: 6, breaks: [{from: "10:00", to: "10:15", why: tea}], spare: 2}
    - {name: cones, classes: [P, N], start: "11:00", every_min: 4, gaps: true, after: dressage, keep_classes: true, spare: 3}
  rests_min: {groom: 1}
  starts: [{phase: dressage, entry: 7, at: "09:00"}]
  seed: 3
`

func decode(t *testing.T, text string) (*trial.Trial, error) {
	t.Helper()
	tr, _, err := trial.Decode("day.yaml", []byte(text), func(string) (*rules.Profile, error) { return rules.Load("") })
	return tr, err
}

func TestTimetableReadAndWritten(t *testing.T) {
	tr, err := decode(t, timetabled)
	if err != nil {
		t.Fatal(err)
	}
	text, err := trial.Encode(tr)
	if err != nil {
		t.Fatal(err)
	}
	again, err := decode(t, string(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if other, _ := trial.Encode(again); !bytes.Equal(text, other) {
		t.Errorf("written again it is\n%s\nand was\n%s", other, text)
	}
	r := again.Timetable.Phases[1]
	if r.Every != 450 || r.Lasts != 360 || r.Start != order.At(9, 0) || r.Breaks[0].To != order.At(10, 15) || again.Timetable.Rests.Groom != 60 || again.Timetable.Rests.Driver != order.DefaultRests().Driver || again.Entries[4].Wishes[1].NotAfter != order.At(12, 30)+30 {
		t.Errorf("came back as %+v", again.Timetable)
	}
}

// Who starts where: by class, without the scratched, and wishes that mean nothing
// any more left out.
func TestOrderInput(t *testing.T) {
	tr, err := decode(t, timetabled)
	if err != nil {
		t.Fatal(err)
	}
	in, err := tr.OrderInput()
	if err != nil {
		t.Fatal(err)
	}
	got := map[int]string{}
	for _, e := range in.Entries {
		got[e.Number] = strings.Join(e.Phases, " ")
	}
	// 9 is scratched; 10 retired in cones, so it starts nowhere from there on, and
	// an inspection is no phase of its class.
	want := map[int]string{7: "inspection dressage cones", 8: "inspection dressage cones", 11: "inspection cones"}
	if len(got) != len(want) || got[7] != want[7] || got[8] != want[8] || got[11] != want[11] {
		t.Errorf("those who start: %v, want %v", got, want)
	}
	if n := len(in.Entries[1].Wishes); n != 0 {
		t.Errorf("8 still waits for the scratched 9: %+v", in.Entries[1].Wishes)
	}
	if n := len(in.Entries[2].Wishes); n != 1 {
		t.Errorf("11 has %d wishes, want the one that is not for dressage", n)
	}
	plan, err := order.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Broken) != 0 {
		t.Errorf("broken: %+v", plan.Broken)
	}
	_, err = (&trial.Trial{Name: "x"}).OrderInput()
	if !errors.As(err, new(*fault.Fault)) {
		t.Errorf("without a timetable: %v", err)
	}
}

func TestTimetableFaults(t *testing.T) {
	for _, c := range []struct{ old, with, rule, says string }{
		{`start: "09:00"`, `start: "9.30"`, "clock", `"9.30" is no time of day`},
		{`start: "09:00"`, `start: "48:00"`, "clock", "no time of day"},
		{`every_min: 7.5`, `every_min: 7.001`, "minutes", "no whole seconds"},
		{`behind: 9`, `behind: 99`, "wish-behind", "no other entry 99"},
		{`behind: 9`, `why: tired`, "wish", "wishes nothing"},
		{`phase: cones, not_before`, `phase: lunch, not_before`, "wish-phase", `no phase "lunch"`},
		{`classes: [P, N]`, `classes: [P, X]`, "timetable-class", `no class "X"`},
		{`entry: 7, at`, `entry: 70, at`, "timetable-entry", "no entry 70"},
		{`phase: dressage, entry: 7`, `phase: lunch, entry: 7`, "timetable-phase", `no phase "lunch"`},
		{`gap_cm: 165`, `gap_cm: 0`, "", "gap_cm"},
	} {
		if !strings.Contains(timetabled, c.old) {
			t.Fatalf("%q is not in the text", c.old)
		}
		_, err := decode(t, strings.Replace(timetabled, c.old, c.with, 1))
		var f *fault.Fault
		if !errors.As(err, &f) || !strings.Contains(err.Error(), c.says) || !strings.HasPrefix(err.Error(), "day.yaml:") || c.rule != "" && f.Rule != c.rule {
			t.Errorf("%s: %v; want a fault of %s with a line that says %s", c.with, err, c.rule, c.says)
		}
	}
}

func TestParseClock(t *testing.T) {
	for s, want := range map[string]order.Clock{"09:05": order.At(9, 5), "9:05": order.At(9, 5), "23:59:59": 86399, "47:00": 47 * 3600} {
		if c, ok := order.ParseClock(s); !ok || c != want {
			t.Errorf("%s is %d, %v", s, c, ok)
		}
	}
	for _, s := range []string{"", "9", "9:5", "09:60", "09:05:60", "-1:00", "+1:00", "9:05:00:00", "0x:10", "48:00", "109:00", "9:-5"} {
		if _, ok := order.ParseClock(s); ok {
			t.Errorf("%q is a time of day", s)
		}
	}
}
