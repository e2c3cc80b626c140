package rota_test

import (
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"terret/internal/fault"
	"terret/internal/rota"
)

// TestChangesAreMadeToACopy: every change gives another rota, and refuses what would not
// be read back.
func TestChangesAreMadeToACopy(t *testing.T) {
	r := read(t, base)
	was := read(t, base)
	code := func(err error) fault.Code { c, _ := fault.CodeOf(err); return c }

	next, err := r.Hold("h1", 0, []string{"Ada"})
	if err != nil || !slices.Equal(next.Jobs[0].Shifts[0].Held, []string{"Ada"}) {
		t.Fatalf("%+v, %v", next, err)
	}
	if empty, err := next.Hold("h1", 0, nil); err != nil || len(empty.Jobs[0].Shifts[0].Held) != 0 {
		t.Errorf("taken out again: %+v, %v", empty, err)
	}
	for name, c := range map[string]struct {
		job   string
		shift int
		names []string
		want  fault.Code
	}{
		"no such job":    {"zebra", 0, nil, fault.NotFound},
		"no such shift":  {"h1", 1, nil, fault.NotFound},
		"a shift before": {"h1", -1, nil, fault.NotFound},
		"a stranger":     {"h1", 0, []string{"Zed"}, fault.Input},
		"one twice":      {"h1", 0, []string{"Ada", "Ada"}, fault.Input},
		"a whole crowd":  {"h1", 0, slices.Repeat([]string{"Ada"}, 21), fault.Input},
	} {
		if _, err := r.Hold(c.job, c.shift, c.names); code(err) != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
	if longer, err := r.WithShift("h1", 0, rota.Shift{From: 690, To: 900, Held: []string{"Ada"}}); err != nil || longer.Jobs[0].Shifts[0].To != 900 || longer.Jobs[0].Shifts[0].Held[0] != "Ada" {
		t.Errorf("%+v, %v", longer, err)
	}
	for _, s := range []rota.Shift{{From: 900, To: 900}, {From: 901, To: 900}, {From: 900, To: 1441}, {From: -1, To: 900}} {
		if _, err := r.WithShift("h1", 0, s); code(err) != fault.Input {
			t.Errorf("from %d to %d: %v", s.From, s.To, err)
		}
	}
	if more, err := r.WithNeed("h1", 3); err != nil || more.Jobs[0].Need != 3 {
		t.Errorf("%+v, %v", more, err)
	}
	for job, need := range map[string]int{"h1": 0, "gate": 21} {
		if _, err := r.WithNeed(job, need); code(err) != fault.Input {
			t.Errorf("%d in %s: %v", need, job, err)
		}
	}
	if _, err := r.WithNeed("zebra", 1); code(err) != fault.NotFound {
		t.Errorf("%v", err)
	}
	plus, err := r.WithJob(rota.Job{Kind: "hold", Place: "Woodstack", Need: 1}, 600, 660)
	if err != nil || plus.Jobs[3].ID != "hold-woodstack" || plus.Jobs[3].Name != "Hold" {
		t.Fatalf("%+v, %v", plus, err)
	}
	if again, err := plus.WithJob(rota.Job{Name: "Hold", Place: "Woodstack", Need: 1}, 600, 660); err != nil || again.Jobs[4].ID != "hold-woodstack-2" {
		t.Errorf("%+v, %v", again, err)
	}
	if _, err := plus.WithJob(rota.Job{ID: "h1", Name: "x", Need: 1}, 600, 660); code(err) != fault.Input {
		t.Errorf("an id twice: %v", err)
	}
	if _, err := plus.WithJob(rota.Job{Name: "x", Kind: "juggler", Need: 1}, 600, 660); code(err) != fault.Input {
		t.Errorf("a kind that is none: %v", err)
	}
	wishing, err := r.WithPerson(rota.Person{Name: "Di", Wishes: []string{"gate", "run"}})
	if err != nil {
		t.Fatal(err)
	}
	if less, err := wishing.WithoutJob("gate"); err != nil || len(less.Jobs) != 2 || !slices.Equal(less.People[2].Wishes, []string{"run"}) || len(wishing.People[2].Wishes) != 2 {
		t.Errorf("%+v, %v", less, err)
	}
	if _, err := r.WithoutJob("zebra"); code(err) != fault.NotFound {
		t.Errorf("%v", err)
	}
	with, err := r.WithPerson(rota.Person{Name: " Cy ", Can: []string{"timer"}, From: 600})
	if err != nil || with.People[2].Name != "Cy" {
		t.Fatalf("%+v, %v", with, err)
	}
	for name, p := range map[string]rota.Person{"nobody": {Name: " "}, "twice": {Name: "Ada"}, "too long": {Name: strings.Repeat("a", 81)}, "gone before they come": {Name: "Di", From: 700, To: 600}} {
		if _, err := r.WithPerson(p); code(err) != fault.Input {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := r.WithPerson(rota.Person{Name: "Di", Wishes: []string{"zebra"}}); code(err) != fault.NotFound {
		t.Errorf("a wish for no job: %v", err)
	}
	without, left, err := r.WithoutPerson("Bo")
	if err != nil || left != 1 || len(without.People) != 1 || len(without.Jobs[2].Shifts[0].Held) != 0 {
		t.Errorf("%+v, %d, %v", without, left, err)
	}
	if _, _, err := r.WithoutPerson("Zed"); code(err) != fault.NotFound {
		t.Errorf("%v", err)
	}
	if d := cmp.Diff(was, r); d != "" {
		t.Errorf("the rota itself changed:\n%s", d)
	}
}

// TestFitSaysWhatTroubleWouldSay: for every person and shift of the example, Fit is empty
// exactly when putting them there makes no new trouble.
func TestFitSaysWhatTroubleWouldSay(t *testing.T) {
	r, err := rota.Load(example)
	if err != nil {
		t.Fatal(err)
	}
	free, not := 0, 0
	for _, p := range r.People {
		for _, j := range r.Jobs {
			for n, s := range j.Shifts {
				if slices.Contains(s.Held, p.Name) || len(s.Held) >= j.Need {
					continue
				}
				next, err := r.Hold(j.ID, n, append(slices.Clone(s.Held), p.Name))
				if err != nil {
					t.Fatal(err)
				}
				more := len(next.Trouble()) > len(r.Trouble())
				if why := r.Fit(rota.Day{}, p.Name, j.ID, n); (why != "") != more {
					t.Errorf("%s in %s: Fit says %q, trouble is %v", p.Name, j.ID, why, next.Trouble())
				}
				if more {
					not++
				} else {
					free++
				}
			}
		}
	}
	if free == 0 || not == 0 {
		t.Errorf("%d fit and %d do not: nothing was tried", free, not)
	}
}

// TestHoursAreHeldAgainstTheDay: what the hours of a job miss of the phase it is for.
func TestHoursAreHeldAgainstTheDay(t *testing.T) {
	starts := func(from, every, n int) (all []rota.Stretch) {
		for i := range n {
			all = append(all, rota.StretchOf(60*(from+i*every), 60*every))
		}
		return all
	}
	day := rota.Day{Phases: []rota.Run{{Phase: "hazards", Starts: starts(12*60+30, 9, 15)}, {Phase: "cones"}}} // the last at 14:36
	for name, c := range map[string]struct {
		hours string
		says  []string
	}{
		"covered":            {`from: "12:15", to: "14:45"`, nil},
		"too short":          {`from: "12:15", to: "14:20"`, []string{"Judge at H1 is held until 14:20; the last start of hazards is 14:36"}},
		"the last one cut":   {`from: "12:15", to: "14:40"`, []string{"Judge at H1 is held until 14:40; the last start of hazards is 14:36, done by 14:45"}},
		"too late":           {`from: "12:45", to: "15:00"`, []string{"Judge at H1 is wanted from 12:45; the first start of hazards is 12:30"}},
		"in two, touching":   {`shifts: [{from: "13:30", to: "15:00"}, {from: "12:00", to: "13:30"}]`, nil},
		"in two with a gap":  {`shifts: [{from: "12:00", to: "13:15"}, {from: "13:40", to: "15:00"}]`, []string{"Judge at H1 has a gap between its shifts, and 3 starts of hazards from 13:15 to 13:42"}},
		"not made yet":       {`from: "08:00", to: "09:00", phase: cones`, nil},
		"a phase of no day":  {`from: "08:00", to: "09:00", phase: clinic`, []string{"Judge at H1 is for clinic, which the timetable has not got; it has hazards, cones"}},
		"of no phase at all": {`from: "08:00", to: "09:00", phase: ""`, nil},
	} {
		if got := read(t, "terret: rota/1\nname: x\njobs: [{id: j, phase: x, "+strings.Split(c.hours, ", phase")[0]+"}]\n").Against(rota.Day{}); len(got) > 0 {
			t.Errorf("%s: a day that is not known yet says %+v", name, got)
		}
		phase := ", phase: hazards"
		if strings.Contains(c.hours, "phase:") {
			phase = ""
		}
		r := read(t, "terret: rota/1\nname: x\njobs: [{id: j, kind: judge, place: H1, "+c.hours+phase+"}]\n")
		var got []string
		for _, v := range r.Against(day) {
			if v.Kind != rota.OffHours {
				t.Errorf("%s: %+v", name, v)
			}
			got = append(got, v.Says)
		}
		if !slices.Equal(got, c.says) {
			t.Errorf("%s: says %q, want %q", name, got, c.says)
		}
	}
}

// TestNobodyHoldsAJobWhileTheyDrive: a driver or groom who is out in that time is named.
func TestNobodyHoldsAJobWhileTheyDrive(t *testing.T) {
	r := read(t, base)
	r, err := r.Hold("h1", 0, []string{"Ada"})
	if err != nil {
		t.Fatal(err)
	}
	day := rota.Day{Drives: []rota.Drive{
		{"Ada", "drives dressage with 7", rota.StretchOf(11*3600+50*60, 600)}, // done at 12:00, when the job begins
		{"Ada", "drives hazards with 7", rota.StretchOf(13*3600+55*60, 600)},
		{"Bo", "is groom to 7 in hazards", rota.StretchOf(12*3600, 600)},
		{"BO", "drives cones with 9", rota.StretchOf(13*3600, 60)}, // written otherwise, the same name
		{"Zed", "drives hazards with 8", rota.StretchOf(13*3600, 600)},
	}}
	got := r.Against(day)
	if len(got) != 2 || got[1].Person != "Bo" || got[0].Kind != rota.Driving || got[0].Person != "Ada" || got[0].Says != "Ada drives hazards with 7 at 13:55, and holds Timer at Orchard from 12:00 to 14:00" {
		t.Errorf("%+v", got)
	}
}

// TestNobodyJudgesTheClassTheyAreIn: whoever drives in a class, or is groom there, does not
// hold a job that judges it.
func TestNobodyJudgesTheClassTheyAreIn(t *testing.T) {
	r := read(t, "terret: rota/1\nname: x\npeople: [{name: Ada}]\njobs:\n  - {id: j, kind: judge, place: H1, of: [P, V], from: \"08:00\", to: \"09:00\", held: [Ada]}\n  - {id: r, kind: runner, from: \"10:00\", to: \"11:00\", held: [Ada]}\n")
	got := r.Against(rota.Day{Entered: []rota.Entered{{"Ada", "P", "drives 7"}, {"Ada", "H", "drives 9"}, {"Bo", "V", "drives 8"}}})
	if len(got) != 1 || got[0].Kind != rota.NotNear || got[0].Says != "Ada drives 7 in class P, and holds Judge at H1, which judges P" {
		t.Errorf("%+v", got)
	}
}

// TestNobodyIsProposedWhoDrives: a proposal on a day that is known makes no trouble with
// it, and leaves a seat empty before it takes a driver off their carriage.
func TestNobodyIsProposedWhoDrives(t *testing.T) {
	r := read(t, base)
	at := func(h, m int) rota.Stretch { return rota.StretchOf(3600*h+60*m, 480) }
	for name, c := range map[string]struct {
		day  rota.Day
		want bool // Ada, who alone can, is proposed for the Orchard's watch, 12:00 to 14:00
	}{
		"nobody drives":             {rota.Day{}, true},
		"she drives in the morning": {rota.Day{Drives: []rota.Drive{{"Ada", "drives", at(11, 40)}}}, true},
		"she drives in between":     {rota.Day{Drives: []rota.Drive{{"ADA", "drives", at(13, 0)}}}, false},
		"she has yet to walk over":  {rota.Day{Drives: []rota.Drive{{"Ada", "drives", at(11, 45)}}}, false},
		"another drives":            {rota.Day{Drives: []rota.Drive{{"Zed", "drives", at(13, 0)}}}, true},
	} {
		a := r.CheckOn(c.day)
		got := slices.ContainsFunc(a.Proposal.Turns, func(v rota.Turn) bool { return v.Job == "h1" && v.Person == "Ada" })
		if got != c.want {
			t.Errorf("%s: proposed %v", name, a.Proposal.Turns)
		}
		if why := r.Fit(c.day, "Ada", "h1", 0); (why == "") != c.want {
			t.Errorf("%s: Fit says %q", name, why)
		}
		if trouble := r.Filled(a.Proposal).Against(c.day); len(trouble) > 0 {
			t.Errorf("%s: the proposal makes trouble: %+v", name, trouble)
		}
	}
	judges := read(t, "terret: rota/1\nname: x\npeople: [{name: Ada}]\njobs: [{id: j, of: [P], from: \"08:00\", to: \"09:00\"}]\n")
	if p := judges.ProposeOn(rota.Day{Entered: []rota.Entered{{"Ada", "P", "drives 7"}}}); len(p.Turns) > 0 {
		t.Errorf("proposed to judge her own class: %v", p.Turns)
	}
	if p := judges.ProposeOn(rota.Day{Entered: []rota.Entered{{"Ada", "H", "drives 7"}}}); len(p.Turns) != 1 {
		t.Errorf("not proposed for another class: %v", p)
	}
}

// FuzzChanges: whatever is asked of a rota is refused, or can be written and read again.
func FuzzChanges(f *testing.F) {
	f.Add("Cy", "00 1", "timer", "Water", "stables", "nothing", 600, 700, 2)
	f.Add("Ada", "", "", "", "", "", 0, 1440, 1)
	f.Add(" Cy\n", "\t", "- a", "# x", ": y", "'\"", -1, 1441, 21)
	r, err := rota.Decode("rota.yaml", []byte(base))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, name, phone, can, job, place, stops string, from, to, need int) {
		for _, s := range []string{name, phone, can, job, place, stops} {
			if !utf8.ValidString(s) || strings.ContainsFunc(s, func(c rune) bool { return unicode.IsControl(c) && c != '\n' && c != '\t' }) {
				return // the pages refuse it as they read the form
			}
		}
		kept := func(r *rota.Rota, err error) {
			if err != nil {
				if _, ok := fault.CodeOf(err); !ok {
					t.Fatalf("refused, and not by a fault: %v", err)
				}
				return
			}
			doc, err := rota.Encode(r)
			if err != nil {
				t.Fatal(err)
			}
			back, err := rota.Decode("back", doc)
			if err != nil {
				t.Fatalf("taken, and cannot be read: %v\n%s", err, doc)
			}
			if d := cmp.Diff(r, back, cmpopts.EquateEmpty()); d != "" {
				t.Fatalf("taken, and comes back otherwise:\n%s", d)
			}
		}
		person := rota.Person{Name: name, Phone: phone, From: rota.Time(from), To: rota.Time(to)}
		if can != "" {
			person.Can = []string{can}
		}
		kept(r.WithPerson(person))
		kept(r.WithJob(rota.Job{Name: job, Place: place, Stops: stops, Skill: can, Need: need}, rota.Time(from), rota.Time(to)))
		kept(r.WithShift("h1", 0, rota.Shift{From: rota.Time(from), To: rota.Time(to), Held: []string{name}}))
		kept(r.WithNeed("h1", need))
	})
}
