package trial_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// fullSetting is an invented trial in which everything that can name something else
// does so.
func fullSetting(t *rapid.T) *trial.Trial {
	d := &trial.Trial{Name: "Drawn", Rules: rules.Default}
	classes := rapid.IntRange(1, 4).Draw(t, "classes")
	for c := range classes {
		d.Classes = append(d.Classes, trial.Class{ID: fmt.Sprint("K", c), Hitch: "single", Size: "pony", Through: "C", Phases: []string{rules.Dressage, rules.Hazards, rules.Cones}})
	}
	someClasses := func(what string) []string {
		var ids []string
		for c := range classes {
			if rapid.Bool().Draw(t, what) {
				ids = append(ids, fmt.Sprint("K", c))
			}
		}
		return ids
	}
	entries := rapid.IntRange(0, 8).Draw(t, "entries")
	d.Tests = []trial.Test{{ID: "T", Maximum: "20", Coefficient: "8", Movements: []trial.Movement{{No: 1, Times: 1}, {No: 2, Times: 1}}}}
	for h := range 3 {
		d.Courses = append(d.Courses, trial.Course{ID: fmt.Sprint("H", h), Phase: rules.Hazards, Classes: someClasses("of the hazard")})
	}
	d.Courses = append(d.Courses, trial.Course{ID: "C", Phase: rules.Cones, AllowedS: "161", Classes: someClasses("of the cones")})
	d.Timetable = &trial.Timetable{Phases: []trial.Run{{Phase: order.Phase{Name: rules.Hazards, Start: order.At(9, 0), Every: 300}, Classes: someClasses("of the phase")}}}
	team := trial.Team{Name: "Green"}
	for n := 1; n <= entries; n++ {
		e := trial.Entry{Number: n, Class: fmt.Sprint("K", rapid.IntRange(0, classes-1).Draw(t, "class")), Driver: fmt.Sprint("Driver ", n)}
		if n > 1 {
			w := order.Wish{Behind: rapid.IntRange(1, n-1).Draw(t, "behind")}
			if rapid.Bool().Draw(t, "and not before") {
				w.NotBefore = order.At(10, 0)
			}
			e.Wishes = append(e.Wishes, w)
		}
		d.Entries = append(d.Entries, e)
		d.Timetable.Starts = append(d.Timetable.Starts, order.Start{Phase: rules.Hazards, Entry: n, At: order.At(9, 5*n)})
		if rapid.Bool().Draw(t, "in the team") {
			team.Members = append(team.Members, n)
		}
	}
	d.Teams = []trial.Team{team}
	return d
}

func written(t *rapid.T, d *trial.Trial) string {
	b, err := trial.Encode(d)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Whatever is changed, the trial that is asked has the same bytes as before, for
// other versions of it are in use.
func TestAChangeLeavesTheOldVersionAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := fullSetting(t)
		before := written(t, d)
		d.PutClass("K0", trial.Class{ID: "Z", Phases: []string{rules.Cones}})
		d.PutClass("", trial.Class{ID: "Z", Phases: []string{rules.Cones}})
		_, _ = d.DropClass("K0")
		d.PutTest("T", trial.Test{ID: "U", Maximum: "10"})
		d.DropTest("T")
		d.PutCourse("H1", trial.Course{ID: "H9", Phase: rules.Hazards})
		d.PutCourse("", trial.Course{ID: "H9", Phase: rules.Hazards})
		d.DropCourse("H1")
		d.PutEntry(1, trial.Entry{Number: 70, Class: "K0"})
		d.PutEntry(0, trial.Entry{Number: 70, Class: "K0"})
		d.DropEntry(1)
		if after := written(t, d); after != before {
			t.Fatalf("it was\n%s\nand is\n%s", before, after)
		}
	})
}

// A new name and the old one again give the trial as it was; between the two
// nothing names what is no longer there, and nothing is worse.
func TestANewNameIsFollowedEverywhere(t *testing.T) {
	p := profile(t, rules.Default)
	rapid.Check(t, func(t *rapid.T) {
		d := fullSetting(t)
		before := written(t, d)
		c := d.Classes[0]
		c.ID = "Zebra"
		renamed := d.PutClass("K0", c)
		if text := written(t, renamed); strings.Contains(text, "K0") {
			t.Fatalf("something still names K0:\n%s", text)
		}
		if w := d.Worse(renamed, p); w != nil {
			t.Fatalf("worse: %v", w)
		}
		if back := written(t, renamed.PutClass("Zebra", d.Classes[0])); back != before {
			t.Fatalf("there and back gives\n%s\ninstead of\n%s", back, before)
		}
		if len(d.Entries) == 0 {
			return
		}
		e := d.Entries[0]
		was := e.Number
		e.Number = 777
		moved := d.PutEntry(was, e)
		if w := d.Worse(moved, p); w != nil {
			t.Fatalf("worse: %v", w)
		}
		for _, s := range moved.Timetable.Starts {
			if s.Entry == was {
				t.Fatal("the order of go still has the old number")
			}
		}
		if back := written(t, moved.PutEntry(777, d.Entries[0])); back != before {
			t.Fatalf("there and back gives\n%s\ninstead of\n%s", back, before)
		}
	})
}

// An entry that is taken out is named nowhere, and the trial is as sound as before.
func TestAnEntryTakenOutIsNamedNowhere(t *testing.T) {
	p := profile(t, rules.Default)
	rapid.Check(t, func(t *rapid.T) {
		d := fullSetting(t)
		if len(d.Entries) == 0 {
			t.Skip("drawn without entries: drawn anew")
		}
		gone := d.Entries[rapid.IntRange(0, len(d.Entries)-1).Draw(t, "who")].Number
		next := d.DropEntry(gone)
		if w := d.Worse(next, p); w != nil {
			t.Fatalf("worse: %v", w)
		}
		if len(next.Entries) != len(d.Entries)-1 {
			t.Fatalf("%d entries are left of %d", len(next.Entries), len(d.Entries))
		}
		for _, e := range next.Entries {
			for _, w := range e.Wishes {
				if w.Behind == gone || w.Behind == 0 && w.NotBefore == 0 && w.NotAfter == 0 {
					t.Fatalf("entry %d wishes %+v", e.Number, w)
				}
			}
		}
		for _, s := range next.Timetable.Starts {
			if s.Entry == gone {
				t.Fatal("it still has a start")
			}
		}
		for _, n := range next.Teams[0].Members {
			if n == gone {
				t.Fatal("it is still in a team")
			}
		}
	})
}

// A class is taken out only when nothing would come to be for everybody instead.
func TestAClassIsTakenOutOnlyWhenNothingNeedsIt(t *testing.T) {
	d := &trial.Trial{
		Classes: []trial.Class{{ID: "P", Phases: []string{rules.Cones}}, {ID: "N", Phases: []string{rules.Cones}}, {ID: "O", Phases: []string{rules.Cones}}},
		Entries: []trial.Entry{{Number: 7, Class: "P"}},
		Courses: []trial.Course{{ID: "C1", Phase: rules.Cones, Classes: []string{"N"}}, {ID: "C2", Phase: rules.Cones, Classes: []string{"P", "O"}}},
	}
	for id, says := range map[string]string{"P": "entry 7 is in it", "N": "course C1 is for it alone"} {
		next, err := d.DropClass(id)
		if code, _ := fault.CodeOf(err); next != nil || code != fault.Input || !strings.Contains(err.Error(), says) {
			t.Errorf("class %s: %v, want a fault that says %q", id, err, says)
		}
	}
	next, err := d.DropClass("O")
	if err != nil || len(next.Classes) != 2 || strings.Join(next.Courses[1].Classes, " ") != "P" {
		t.Errorf("class O: %+v, %v", next, err)
	}
	d.Timetable = &trial.Timetable{Phases: []trial.Run{{Phase: order.Phase{Name: "inspection"}, Classes: []string{"O"}}}}
	if _, err := d.DropClass("O"); err == nil || !strings.Contains(err.Error(), "inspection in the timetable is for it alone") {
		t.Errorf("with an inspection of its own: %v", err)
	}
}

// What a change would break is told, what was broken before is not, and sheets that
// nobody could look at before are not held against the change that lets them be read.
func TestWorseTellsOnlyWhatIsNew(t *testing.T) {
	p := profile(t, rules.Default)
	d := twoClasses()
	rule := func(next *trial.Trial) string {
		var b bytes.Buffer
		for _, w := range d.Worse(next, p) {
			fmt.Fprintf(&b, "%s %s;", w.Rule, w.Path)
		}
		return b.String()
	}
	section := trial.Course{ID: "A", Phase: rules.Sections}
	if got := rule(d.PutCourse("", section)); got != fmt.Sprintf("course-allowed courses[%d];", len(d.Courses)) {
		t.Errorf("a section without its time: %q", got)
	}
	d = d.PutCourse("", section)
	if got := rule(d.PutCourse("", trial.Course{ID: "H9", Phase: rules.Hazards})); got != "" {
		t.Errorf("a sound hazard beside it: %q", got)
	}
	if got := rule(d.PutCourse("", section)); !strings.Contains(got, "course-id") || !strings.Contains(got, "course-allowed") {
		t.Errorf("a second one like it: %q", got)
	}
	d.Sheets = []trial.Sheet{{Phase: rules.Hazards, Entry: 99, Course: "H1", Seconds: "41"}}
	d.NameSheets()
	if got := rule(d.DropCourse("A")); got != "" {
		t.Errorf("a sheet of nobody, unread before: %q", got)
	}
	d = d.DropCourse("A")
	if got := rule(d.PutCourse("", trial.Course{ID: "H9", Phase: rules.Hazards})); got != "" {
		t.Errorf("a sheet of nobody, known before: %q", got)
	}
	d.Sheets[0].Entry = 7
	if got := rule(d.DropCourse("H1")); got != "sheet-course .course;" {
		t.Errorf("the course of a sheet taken out: %q", got)
	}
}
