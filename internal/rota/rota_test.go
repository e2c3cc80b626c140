package rota_test

import (
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"terret/internal/rota"
)

const example = "../../examples/hollowmere-rota.yaml"

// base is a small rota with one job too many.
const base = `terret: rota/1
name: Small day
people:
  - {name: Ada, can: [timer]}
  - {name: Bo, from: "10:00", to: "15:00"}
jobs:
  - {id: h1, kind: timer, name: Timer, place: Orchard, skill: timer, from: "12:00", to: "14:00", stops: the Orchard}
  - {id: gate, name: Gate, place: ring, from: "12:30", to: "13:30"}
  - {id: run, name: Runner, from: "13:00", to: "14:00", held: [Bo]}
`

func read(t *testing.T, text string) *rota.Rota {
	t.Helper()
	r, err := rota.Decode("rota.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRemoveATimerAndTheWarningNamesPlaceAndTime is the proof of the user story: the
// job, the place, the time and what stops.
func TestRemoveATimerAndTheWarningNamesPlaceAndTime(t *testing.T) {
	r, err := rota.Load(example)
	if err != nil {
		t.Fatal(err)
	}
	full := r.Filled(r.Propose())
	for i := range full.Jobs {
		if j := &full.Jobs[i]; j.ID == "cones-timers" {
			j.Shifts = []rota.Shift{{From: j.Shifts[0].From, To: j.Shifts[0].To, Held: []string{"Giles Moor"}}}
		}
	}
	a := full.Check()
	if len(a.Open) == 0 || a.Open[0].Job != "cones-timers" || !a.Stops() {
		t.Fatalf("uncovered: %+v", a.Open)
	}
	for _, w := range []string{"Timer at cones", "14:40 to 16:20", "1 of 2 missing", "stops: the cones"} {
		if !strings.Contains(a.Open[0].Says, w) {
			t.Errorf("%q does not say %q", a.Open[0].Says, w)
		}
	}
}

// TestWhatStopsTheDayComesFirst, and then the earlier.
func TestWhatStopsTheDayComesFirst(t *testing.T) {
	r := read(t, strings.ReplaceAll(base, `from: "12:30", to: "13:30"`, `from: "08:00", to: "09:00"`))
	a := r.Check()
	if len(a.Open) != 2 || a.Open[0].Job != "h1" || a.Open[1].Job != "gate" {
		t.Errorf("uncovered in the order %+v", a.Open)
	}
}

// TestTroubleIsNamed, one kind after another.
func TestTroubleIsNamed(t *testing.T) {
	for name, row := range map[string]struct{ was, is, kind, says string }{
		"in two places":     {`to: "13:30"}`, `to: "13:30", held: [Bo]}`, rota.Twice, "Bo is wanted in two places from 13:00 to 13:30"},
		"no time to walk":   {`from: "12:30", to: "13:30"}`, `from: "11:30", to: "12:55", held: [Bo]}`, rota.Walk, "Bo has 5 min"},
		"not there yet":     {`from: "12:30", to: "13:30"}`, `from: "09:30", to: "10:30", held: [Bo]}`, rota.NotThere, "Bo is there from 10:00 to 15:00"},
		"without the skill": {`stops: the Orchard}`, `held: [Bo]}`, rota.Cannot, `wants "timer"`},
		"judges their own":  {"{name: Bo,", "{name: Bo, not_near: [V],", rota.NotNear, "may not judge"},
		"too many":          {`held: [Bo]}`, `held: [Bo, Ada]}`, rota.TooMany, "2 hold it, 1 needed"},
		"no break":          {`from: "13:00", to: "14:00", held`, `from: "10:00", to: "14:00", held`, rota.NoBreak, "Bo has no break of 20 min from 10:00 to 14:00"},
	} {
		text := strings.Replace(base, row.was, row.is, 1)
		if row.kind == rota.NotNear {
			text = strings.Replace(text, `{id: run,`, `{id: run, of: [V],`, 1)
		}
		if text == base {
			t.Fatal(name, ": nothing was changed")
		}
		a := read(t, text).Check()
		if i := slices.IndexFunc(a.Trouble, func(x rota.Trouble) bool { return x.Kind == row.kind }); i < 0 || !strings.Contains(a.Trouble[i].Says, row.says) {
			t.Errorf("%s: %+v; want %q", name, a.Trouble, row.says)
		}
	}
	if a := read(t, base).Check(); len(a.Trouble) != 0 {
		t.Errorf("trouble in a rota without any: %+v", a.Trouble)
	}
}

// TestTheProposalFillsWhatCanBeFilled of the example: nobody else could hold the
// orchard's second watch but Edwin or Prue, and Prue may not near the VSE.
func TestTheProposalFillsWhatCanBeFilled(t *testing.T) {
	r, err := rota.Load(example)
	if err != nil {
		t.Fatal(err)
	}
	p := r.Propose()
	if !p.Exact || len(p.Left) != 0 {
		t.Errorf("exact %v, left %+v", p.Exact, p.Left)
	}
	for _, x := range p.Turns {
		if x.Job == "woodstack-timers" && x.Person != "Edwin Hale" {
			t.Errorf("%s times the Woodstack", x.Person)
		}
	}
	if a := r.Check(); len(a.Trouble) != 0 {
		t.Errorf("the example has trouble: %+v", a.Trouble)
	}
	if a := r.Filled(p).Check(); len(a.Open) != 0 || len(a.Trouble) != 0 {
		t.Errorf("filled: %+v, %+v", a.Open, a.Trouble)
	}
}

// anyRota draws a small rota with nobody holding anything.
func anyRota(t *rapid.T) *rota.Rota {
	r := &rota.Rota{Name: "drawn", ChangeMin: rapid.SampledFrom([]int{0, 15}).Draw(t, "change"), LongestMin: rapid.SampledFrom([]int{0, 120, 180}).Draw(t, "longest"), BreakMin: 20}
	for i := range rapid.IntRange(1, 4).Draw(t, "people") {
		p := rota.Person{Name: fmt.Sprint("p", i)}
		if rapid.Bool().Draw(t, "skilled") {
			p.Can = []string{"timer"}
		}
		if rapid.Bool().Draw(t, "late") {
			p.From = 10 * 60
		}
		if rapid.IntRange(0, 3).Draw(t, "related") == 0 {
			p.NotNear = []string{"V"}
		}
		r.People = append(r.People, p)
	}
	for i := range rapid.IntRange(1, 5).Draw(t, "jobs") {
		j := rota.Job{ID: fmt.Sprint("j", i), Name: "job", Place: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "place"), Need: rapid.IntRange(1, 2).Draw(t, "need")}
		if rapid.Bool().Draw(t, "stops") {
			j.Stops = "the day"
		}
		if rapid.Bool().Draw(t, "wants") {
			j.Skill = "timer"
		}
		if rapid.Bool().Draw(t, "judges") {
			j.Of = []string{"V"}
		}
		from := rota.Time(30 * rapid.IntRange(18, 24).Draw(t, "from"))
		j.Shifts = []rota.Shift{{From: from, To: from + rota.Time(30*rapid.IntRange(1, 4).Draw(t, "long"))}}
		r.Jobs = append(r.Jobs, j)
	}
	return r
}

// worth counts the seats that are filled, those that stop the day first.
func worth(r *rota.Rota) (stops, all int) {
	for _, j := range r.Jobs {
		for _, s := range j.Shifts {
			all += len(s.Held)
			if j.Stops != "" {
				stops += len(s.Held)
			}
		}
	}
	return stops, all
}

// TestNoProposalIsBetter tries every way to fill small rotas, judged by Check alone,
// which shares nothing with the search but what a clash is.
func TestNoProposalIsBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRota(t)
		p := r.Propose()
		full := r.Filled(p)
		if a := full.Check(); len(a.Trouble) > 0 {
			t.Fatalf("the proposal makes trouble: %+v", a.Trouble)
		}
		if !reflect.DeepEqual(p, r.Propose()) {
			t.Fatal("the same rota has two proposals")
		}
		stops, all := worth(full)
		bestStops, bestAll := 0, 0
		try := r.Filled(rota.Proposal{})
		var fill func(job int)
		fill = func(job int) {
			for i := range try.Jobs[:job] { // what is wrong already gets no better
				if len(try.Jobs[i].Shifts[0].Held) > 0 && i+1 == job && len(troubles(try)) > 0 {
					return
				}
			}
			if job == len(try.Jobs) {
				if s, n := worth(try); s > bestStops || s == bestStops && n > bestAll {
					bestStops, bestAll = s, n
				}
				return
			}
			sh := &try.Jobs[job].Shifts[0]
			for set := range 1 << len(r.People) {
				var held []string
				for k := range r.People {
					if set>>k&1 == 1 {
						held = append(held, r.People[k].Name)
					}
				}
				if len(held) > try.Jobs[job].Need {
					continue
				}
				sh.Held = held
				fill(job + 1)
			}
			sh.Held = nil
		}
		fill(0)
		if !p.Exact || stops != bestStops || all != bestAll {
			t.Fatalf("filled %d that stop the day and %d in all (exact %v); %d and %d can be", stops, all, p.Exact, bestStops, bestAll)
		}
	})
}

// troubles is what is wrong, without asking for a proposal again and again.
func troubles(r *rota.Rota) []rota.Trouble { return r.Trouble() }

// TestTheProposalOfALargeDayIsSound and comes in time: 60 people, 120 jobs.
func TestTheProposalOfALargeDayIsSound(t *testing.T) {
	r := &rota.Rota{Name: "large", ChangeMin: 10, LongestMin: 150, BreakMin: 20}
	for i := range 60 {
		p := rota.Person{Name: fmt.Sprint("p", i)}
		if i%3 == 0 {
			p.Can = []string{"timer"}
		}
		r.People = append(r.People, p)
	}
	for i := range 120 {
		j := rota.Job{ID: fmt.Sprint("j", i), Place: fmt.Sprint(i % 9), Need: 1 + i%2, Shifts: []rota.Shift{{From: rota.Time(480 + 30*(i%16)), To: rota.Time(570 + 30*(i%16))}}}
		if i%4 == 0 {
			j.Skill, j.Stops = "timer", "the day"
		}
		r.Jobs = append(r.Jobs, j)
	}
	p := r.Propose()
	full := r.Filled(p)
	if tr := full.Trouble(); len(tr) > 0 {
		t.Fatalf("trouble: %+v", tr[0])
	}
	stops, all := worth(full)
	t.Logf("%d seats that stop the day and %d in all are filled; exact %v, %d left", stops, all, p.Exact, len(p.Left))
	if stops < 25 {
		t.Errorf("only %d of 30 seats that stop the day are filled", stops)
	}
}

// TestTheProposalComesInTime for the largest rota a file may hold, where far more is
// wanted than there are people: the search gives up, and says so.
func TestTheProposalComesInTime(t *testing.T) {
	r := &rota.Rota{Name: "too large", ChangeMin: 10, LongestMin: 150, BreakMin: 20}
	for i := range rota.MaxPeople {
		r.People = append(r.People, rota.Person{Name: fmt.Sprint("p", i)})
	}
	for i := range 100 {
		r.Jobs = append(r.Jobs, rota.Job{ID: fmt.Sprint("j", i), Place: fmt.Sprint(i % 7), Need: 20, Shifts: []rota.Shift{{From: rota.Time(500 + i%40), To: rota.Time(580 + i%50)}}})
	}
	begun := time.Now()
	p := r.Propose()
	took := time.Since(begun)
	t.Logf("%d seats, %d filled in %v, exact %v", 2000, len(p.Turns), took, p.Exact)
	if len(p.Turns) < rota.MaxPeople || p.Exact {
		t.Errorf("%d are filled, exact %v", len(p.Turns), p.Exact)
	}
	if took > 10*time.Second {
		t.Errorf("it took %v", took)
	}
}

// TestClinicOnlyTightens where nobody has to wait: the widest first, breaks kept free,
// change-overs between, and who has no slot is named.
func TestClinicOnlyTightens(t *testing.T) {
	r := read(t, `terret: rota/1
name: Clinic
jobs: []
clinic:
  start: "09:00"
  end: "12:15"
  slot_min: 40
  change_min: 10
  breaks: [{from: "10:30", to: "10:50", why: tea}]
  bookings:
    - {driver: Ada, track_cm: 110}
    - {driver: Bo, track_cm: 140}
    - {driver: Cy}
    - {driver: Di, track_cm: 125}
    - {driver: Ed, track_cm: 120}
`)
	s := r.Clinic.Slots()
	var got []string
	for _, x := range s.Slots {
		got = append(got, fmt.Sprintf("%s %s %g", x.From, x.Driver, x.Tighten))
	}
	// By hand: 9:00–9:40, 9:50–10:30, tea to 10:50, 10:50–11:30, 11:40–12:20 is past
	// 12:15.
	if want := []string{"09:00 Bo 0", "09:50 Di 15", "10:50 Ed 5"}; !slices.Equal(got, want) {
		t.Errorf("slots %v, want %v", got, want)
	}
	if len(s.LeftOut) != 2 || !strings.Contains(s.LeftOut[0], "Ada") || !strings.Contains(s.LeftOut[1], "Cy") {
		t.Errorf("left out: %v", s.LeftOut)
	}
}

// TestAWrongFileIsNamedWithItsPlace.
func TestAWrongFileIsNamedWithItsPlace(t *testing.T) {
	for name, row := range map[string]struct{ was, is, says string }{
		"unknown key":        {"name: Gate,", "nmae: Gate,", "nmae"},
		"time with a point":  {`"12:30"`, `"12.30"`, "no time of day"},
		"ends before":        {`to: "13:30"`, `to: "12:30"`, "it ends at 12:30 and begins at 12:30"},
		"midnight as an end": {`to: "13:30"`, `to: "00:00"`, "it ends at 00:00"},
		"nobody of the name": {"held: [Bo]", "held: [Bob]", `nobody is called "Bob"`},
		"twice in one shift": {"held: [Bo]", "held: [Bo, Bo]", "twice"},
		"two of one name":    {"{name: Bo,", "{name: Ada,", "twice"},
		"two of one id":      {"{id: gate,", "{id: h1,", `two jobs "h1"`},
		"no such kind":       {"kind: timer", "kind: timekeeper", "timekeeper"},
		"wish for no job":    {"can: [timer]}", "can: [timer], wishes: [h9]}", "people[0].wishes[0]"},
		"no seats":           {"{id: gate,", "{id: gate, need: 0,", "0"},
		"too long a name":    {"name: Gate,", "name: " + strings.Repeat("g", 81) + ",", "81 letters"},
		"other format":       {"rota/1", "rota/2", "rota/1"},
		"shifts and a time":  {"{id: gate,", `{id: gate, shifts: [{from: "08:00", to: "09:00"}],`, "one of the two"},
	} {
		text := strings.Replace(base, row.was, row.is, 1)
		if _, err := rota.Decode("rota.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), row.says) || !strings.Contains(err.Error(), "rota.yaml") {
			t.Errorf("%s: %v; want %q", name, err, row.says)
		}
	}
}

// TestEveryKindHasACard with somewhere to stand and something to watch, and no word
// of a verdict.
func TestEveryKindHasACard(t *testing.T) {
	for _, k := range rota.Kinds() {
		c := rota.CardOf(&rota.Job{Kind: k})
		if c["stand"] == "" || c["watch"] == "" {
			t.Errorf("%s: %v", k, c)
		}
		for _, v := range c {
			if strings.Contains(strings.ToLower(v), "safe") {
				t.Errorf("%s: %q", k, v)
			}
		}
	}
	if c := rota.CardOf(&rota.Job{Kind: "timer", Card: map[string]string{"stand": "By the oak."}}); c["stand"] != "By the oak." || c["watch"] == "" {
		t.Errorf("the organiser's own words: %v", c)
	}
}

func FuzzDecode(f *testing.F) {
	text, err := os.ReadFile(example)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(base))
	f.Add([]byte("terret: rota/1\nname: x\njobs: []\nclinic: {start: \"23:00\", slot_min: 5, change_min: 0, bookings: [{driver: a, not_before: \"24:00\"}]}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := rota.Decode("f", data)
		if err != nil {
			return
		}
		doc, err := rota.Encode(r)
		if err != nil {
			t.Fatalf("it was read and cannot be written: %v", err)
		}
		back, err := rota.Decode("back", doc)
		if err != nil {
			t.Fatalf("it was written and cannot be read: %v\n%s", err, doc)
		}
		if d := cmp.Diff(r, back, cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("it came back otherwise (-was +is):\n%s", d)
		}
		if len(r.Jobs) > 20 || len(r.People) > 20 {
			return // the search is bounded, but not for a fuzzer's patience
		}
		if tr := r.Filled(r.Check().Proposal).Trouble(); len(r.Trouble()) == 0 && len(tr) > 0 {
			t.Errorf("the proposal makes trouble: %+v", tr)
		}
	})
}
