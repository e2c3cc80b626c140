package trial_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

// What is wrong is named with its line, and all of it together.
func TestWrongTrials(t *testing.T) {
	const head = "terret: trial/1\nname: Day\nrules: three-phase\n"
	const small = head + `classes: [{id: N, through: C, phases: [dressage, sections, hazards, cones]}]
entries: [{number: 7, class: N}, {number: 8, class: N}]
tests: [{id: T1, maximum: 20, coefficient: "0.80", movements: [{no: 1}, {no: 2}]}]
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, allowed_s: "100"}, {id: A, phase: sections, allowed_s: "100"}]
sheets:
  `
	for name, c := range map[string]struct{ text, rule, place, says string }{
		"a mark over the scale":          {small + `dressage: [{entry: 7, test: T1, judge: C, marks: ["6.5", "11"]}]`, "mark-scale", "day.yaml:9: sheets.dressage[0].marks[1]", "mark 2 is 11"},
		"a mark between the steps":       {small + `dressage: [{entry: 7, test: T1, judge: C, marks: ["6.5", "6.3"]}]`, "mark-step", "marks[1]", "mark 2 is 6.3"},
		"a mark with a comma":            {small + `dressage: [{entry: 7, test: T1, judge: C, marks: ["6,5", "6"]}]`, "mark", "marks[0]", "there is a comma"},
		"a mark too few":                 {small + `dressage: [{entry: 7, test: T1, judge: C, marks: ["6.5"]}]`, "sheet-marks", "day.yaml:9", "there are 1 marks, test T1 has 2 movements"},
		"a number for a mark":            {small + `dressage: [{entry: 7, test: T1, judge: C, marks: [6.5, 6]}]`, "type", "marks[0]", "6.5 stands here, not a text"},
		"no judge":                       {small + `dressage: [{entry: 7, test: T1, marks: ["6", "6"]}]`, "sheet-judge", "day.yaml:9", "does not say its judge"},
		"a test there is not":            {small + `dressage: [{entry: 7, test: T2, judge: C, marks: ["6", "6"]}]`, "sheet-test", "test", `no test "T2"`},
		"a time with a comma":            {small + `cones: [{entry: 7, course: C1, seconds: "148,35"}]`, "seconds", "day.yaml:9: sheets.cones[0].seconds", "there is a comma in the number"},
		"a time in minutes":              {small + `cones: [{entry: 7, course: C1, seconds: "2:28.35"}]`, "seconds", "seconds", "minutes stand in the number"},
		"a negative time":                {small + `cones: [{entry: 7, course: C1, seconds: "-3"}]`, "seconds", "seconds", "no plain decimal number"},
		"a time of years":                {small + `cones: [{entry: 7, course: C1, seconds: "123456789"}]`, "seconds", "seconds", "too large"},
		"a time to the microsecond":      {small + `cones: [{entry: 7, course: C1, seconds: "1.123456"}]`, "seconds", "seconds", "more than three places"},
		"two sheets for one run":         {small + `cones: [{entry: 7, course: C1, seconds: "90"}, {entry: 7, course: C1, seconds: "91"}]`, "sheet-twice", "sheets.cones[1]", "two sheets for entry 7, cones C1"},
		"two sheets of one judge":        {small + `dressage: [{entry: 7, judge: C, marks: ["6", "6"]}, {entry: 7, judge: C, marks: ["7", "6"]}]`, "sheet-twice", "sheets.dressage[1]", "two sheets for entry 7"},
		"two sheets of one ID":           {small + `cones: [{id: s, entry: 7, course: C1, seconds: "90"}, {id: s, entry: 8, course: C1, seconds: "91"}]`, "sheet-id", "sheets.cones[1].id", `two sheets "s"`},
		"a correction of nothing":        {small + `cones: [{entry: 7, course: C1, seconds: "90", replaces: s9}]`, "sheet-replaces", "replaces", `no sheet "s9"`},
		"two corrections of one":         {small + `cones: [{id: s, entry: 7, course: C1, seconds: "90"}, {entry: 7, course: C1, seconds: "91", replaces: s}, {entry: 7, course: C1, seconds: "92", replaces: s}]`, "sheet-replaces", "sheets.cones[2].replaces", "has been replaced by"},
		"an unknown entry":               {small + `cones: [{entry: 9, course: C1, seconds: "90"}]`, "sheet-entry", "sheets.cones[0].entry", "no entry 9"},
		"an unknown course":              {small + `cones: [{entry: 7, course: H1, seconds: "90"}]`, "sheet-course", "course", `no course "H1" in cones`},
		"an unknown fault":               {small + `cones: [{entry: 7, course: C1, seconds: "90", faults: {dislodged: 1}}]`, "fault-name", "faults.dislodged", `no fault "dislodged" in cones; the faults are`},
		"half a fault":                   {small + `cones: [{entry: 7, course: C1, seconds: "90", faults: {refusal: 0.5}}]`, "type", "faults.refusal", "whole number"},
		"balls listed and counted":       {small + `cones: [{entry: 7, course: C1, seconds: "90", knocked: [1], faults: {knocked: 1}}]`, "knocked", "knocked", "both listed and counted"},
		"gates that are none":            {small + `hazards: [{entry: 7, course: H1, gates: "A BC", seconds: "40"}]`, "gates", "gates", `"BC" is no gate`},
		"stops longer than the watch":    {small + `cones: [{entry: 7, course: C1, seconds: "90", stops: ["91"]}]`, "stops", "stops", "stopped for longer"},
		"a key of another phase":         {small + `cones: [{entry: 7, course: C1, seconds: "90", gates: A}]`, "unknown-key", "sheets.cones[0]", `"gates" is not known here`},
		"one number for two entries":     {head + "classes: [{id: N, phases: [cones]}]\nentries: [{number: 7, class: N}, {number: 7, class: N}]", "entry-number", "day.yaml:5: entries[1].number", `two entries called "7"`},
		"a class there is not":           {head + "classes: [{id: N, phases: [cones]}]\nentries: [{number: 7, class: M}]", "entry-class", "entries[0].class", `no class "M"; the classes are N`},
		"a phase the profile has not":    {head + "classes: [{id: N, phases: [timed]}]\nentries: []", "phase-rules", "classes[0].phases[0]", "has no rules for timed; it is for dressage, sections, hazards, cones"},
		"a profile there is not":         {strings.Replace(head, "three-phase", "no-such", 1) + "classes: []\nentries: []", "profile", "day.yaml:3: rules", `no rule profile called "no-such"`},
		"no coefficient":                 {head + "classes: [{id: N, phases: [dressage]}]\nentries: []\ntests: [{id: T, maximum: 200}]", "test-coefficient", "tests[0]", "does not say its coefficient"},
		"movements that do not add up":   {head + "classes: [{id: N, phases: [dressage]}]\nentries: []\ntests: [{id: T, maximum: 200, coefficient: \"0.80\", movements: [{no: 1}]}]", "test-maximum", "tests[0].maximum", "the movements come to 10 marks, the maximum is 200"},
		"a section without its time":     {head + "classes: [{id: N, phases: [sections]}]\nentries: []\ncourses: [{id: A, phase: sections}]", "course-allowed", "courses[0]", "does not say what time is allowed"},
		"cones without time or length":   {head + "classes: [{id: N, phases: [cones]}]\nentries: []\ncourses: [{id: C, phase: cones}]", "course-allowed", "courses[0]", "neither what time is allowed nor how long"},
		"cones without a speed":          {head + "classes: [{id: N, phases: [cones]}]\nentries: []\ncourses: [{id: C, phase: cones, length_m: \"600\"}]", "course-speed", "courses[0]", "does not say its speed"},
		"a limit under the time":         {head + "classes: [{id: N, phases: [cones]}]\nentries: []\ncourses: [{id: C, phase: cones, allowed_s: \"100\", limit_s: \"90\"}]", "course-time", "courses[0].limit_s", "under the 100 s allowed"},
		"letters without the last":       {head + "classes: [{id: N, phases: [hazards]}]\nentries: [{number: 7, class: N}]\ncourses: [{id: H, phase: hazards}]\nsheets: {hazards: [{entry: 7, course: H, gates: A B, seconds: \"40\"}]}", "gates", "sheets.hazards[0].gates", "which letters it drives"},
		"judged added to cones":          {strings.Replace(head, "three-phase", "pleasure", 1) + "classes: [{id: N, phases: [judged, timed]}]\nentries: []", "class-phases", "classes[0].phases", "cannot be added"},
		"a part over its share":          {strings.Replace(head, "three-phase", "pleasure", 1) + "classes: [{id: N, judged: working, phases: [judged]}]\nentries: [{number: 7, class: N}]\nsheets: {judged: [{entry: 7, judge: X, parts: {performance: \"71\", harness and vehicle: \"1\", attire: \"1\"}}]}", "part-scale", "parts.performance", "performance is 71; it has 70 at most"},
		"a part there is not":            {strings.Replace(head, "three-phase", "pleasure", 1) + "classes: [{id: N, judged: working, phases: [judged]}]\nentries: [{number: 7, class: N}]\nsheets: {judged: [{entry: 7, judge: X, parts: {performance: \"7\", turnout: \"1\", harness and vehicle: \"1\", attire: \"1\"}}]}", "part", "parts.turnout", `no part "turnout"`},
		"a status there is not":          {head + "classes: [{id: N, phases: [cones]}]\nentries: [{number: 7, class: N, status: tired}]", "word", "entries[0].status", "one of these is wanted: placed"},
		"a team member there is not":     {head + "classes: [{id: N, phases: [cones]}]\nentries: []\nteams: [{name: T, members: [3]}]", "team-member", "teams[0].members[0]", "no entry 3"},
		"a sheet for a phase not driven": {head + "classes: [{id: N, phases: [cones]}]\nentries: [{number: 7, class: N}]\ncourses: [{id: H, phase: hazards}]\nsheets: {hazards: [{entry: 7, course: H, seconds: \"40\"}]}", "sheet-phase", "sheets.hazards[0].entry", "does not drive hazards"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := trial.Decode("day.yaml", []byte(c.text+"\n"), rules.Load)
			if err == nil {
				t.Fatal("it is taken")
			}
			first := err.Error()
			if l, ok := err.(fault.List); ok && l[0].Rule != c.rule {
				t.Errorf("rule %s, want %s", l[0].Rule, c.rule)
			}
			if !strings.HasPrefix(first, "day.yaml:") || !strings.Contains(first, c.place) || !strings.Contains(first, c.says) {
				t.Errorf("%s\nwant place %q and %q", first, c.place, c.says)
			}
		})
	}
}

// One wrong sheet at the desk takes nothing from the rest.
func TestWrongSheetKeepsTheRest(t *testing.T) {
	tr, p, err := trial.Decode("day.yaml", []byte(day("three-phase", "cones", 3, "courses: [{id: C1, phase: cones, allowed_s: \"100\"}]\n")), rules.Load)
	if err != nil {
		t.Fatal(err)
	}
	b, err := trial.NewBoard(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []trial.Sheet{
		{ID: "a", Phase: "cones", Entry: 1, Course: "C1", Seconds: "104"},
		{ID: "b", Phase: "cones", Entry: 2, Course: "C1", Seconds: "90"},
	} {
		if err := b.Put(s); err != nil {
			t.Fatal(err)
		}
	}
	before := encode(t, b.Answer())
	for name, c := range map[string]struct {
		s    trial.Sheet
		says string
		code fault.Code
	}{
		"an unknown entry":     {trial.Sheet{ID: "x", Phase: "cones", Entry: 9, Course: "C1", Seconds: "90"}, "no entry 9", fault.Input},
		"a comma":              {trial.Sheet{ID: "x", Phase: "cones", Entry: 3, Course: "C1", Seconds: "9,5"}, "comma", fault.Input},
		"a run twice":          {trial.Sheet{ID: "x", Phase: "cones", Entry: 1, Course: "C1", Seconds: "95"}, "replaces: a", fault.Input},
		"an ID twice":          {trial.Sheet{ID: "a", Phase: "cones", Entry: 3, Course: "C1", Seconds: "95"}, "already", fault.Input},
		"a correction of none": {trial.Sheet{ID: "x", Phase: "cones", Entry: 3, Course: "C1", Seconds: "95", Replaces: "q"}, "no sheet q", fault.Input},
		"a phase of no name":   {trial.Sheet{ID: "x", Phase: "show", Entry: 3}, "does not drive", fault.Input},
	} {
		err := b.Put(c.s)
		code, known := fault.CodeOf(err)
		if err == nil || !known || code != c.code || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if after := encode(t, b.Answer()); after != before {
		t.Errorf("wrong sheets changed the board:\n%s\n%s", before, after)
	}
	// A correction; and a second one of the same, which somebody else was quicker with.
	if err := b.Put(trial.Sheet{ID: "c", Phase: "cones", Entry: 1, Course: "C1", Seconds: "102", Replaces: "a"}); err != nil {
		t.Fatal(err)
	}
	if got := text(entry(t, b.Answer(), 1).Total); got != "1.00" {
		t.Errorf("after the correction: %s", got)
	}
	if code, _ := fault.CodeOf(b.Put(trial.Sheet{ID: "d", Phase: "cones", Entry: 1, Course: "C1", Seconds: "99", Replaces: "a"})); code != fault.Conflict {
		t.Errorf("a correction that comes too late: %v", code)
	}
	// It was written under the wrong number.
	if err := b.Put(trial.Sheet{ID: "e", Phase: "cones", Entry: 3, Course: "C1", Seconds: "102", Replaces: "c"}); err != nil {
		t.Fatal(err)
	}
	a := b.Answer()
	if x, y := entry(t, a, 1), entry(t, a, 3); x.Total != nil || text(y.Total) != "1.00" {
		t.Errorf("moved to another entry: %s and %s", text(x.Total), text(y.Total))
	}
}

// comesBack writes a trial in both forms, reads it again, and compares.
func comesBack(t testing.TB, tr *trial.Trial, p *rules.Profile, answer string) {
	t.Helper()
	for name, write := range map[string]func(*trial.Trial) ([]byte, error){"t.yaml": trial.Encode, "t.json": trial.EncodeJSON} {
		data, err := write(tr)
		if err != nil {
			t.Fatal(err)
		}
		back, _, err := trial.Decode(name, data, func(string) (*rules.Profile, error) { return p, nil })
		if err != nil {
			t.Fatalf("what was written is not read: %v\n%s", err, data)
		}
		a, err := trial.Score(back, p)
		if err != nil || encode(t, a) != answer {
			t.Fatalf("%s: written and read, it is scored otherwise (%v)\n%s", name, err, data)
		}
		if twice, _ := write(back); string(twice) != string(data) {
			t.Fatalf("%s: written twice, it differs:\n%s\n%s", name, data, twice)
		}
	}
}

// The examples and a random day come back as they were written.
func TestRoundTrip(t *testing.T) {
	for _, file := range []string{"hollowmere.yaml", "pleasure-show.yaml"} {
		tr, p, err := trial.Load("../../examples/trials/" + file)
		if err != nil {
			t.Fatal(err)
		}
		a, err := trial.Score(tr, p)
		if err != nil {
			t.Fatal(err)
		}
		comesBack(t, tr, p, encode(t, a))
	}
	tr := randomTrial(rand.New(rand.NewPCG(9, 9)), 20)
	p := profile(t, "three-phase")
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	comesBack(t, tr, p, encode(t, a))
}

// Whatever is read is scored without a panic, and twice the same.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(day("three-phase", "dressage, hazards, cones", 2, `
tests: [{id: T, maximum: 20, coefficient: "0.80", movements: [{no: 1}, {no: 2}]}]
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, length_m: "600"}]
sheets:
  dressage: [{entry: 1, judge: C, marks: ["6", "-"], faults: {whip: 2}}]
  hazards: [{id: a, entry: 1, course: H1, gates: "A B< C", seconds: "99999.999", faults: {dislodged: 999}}, {entry: 1, course: H1, seconds: "1", replaces: a}]
  cones: [{entry: 1, course: C1, seconds: "0.001", knocked: [1, "7b"], faults: {rebuilt: 999}}]
teams: [{name: x, members: [1, 2]}]
series: [{name: s, days: [{name: d, final: true, places: {Ann: 1}}]}]
`)))
	f.Add([]byte(day("arena-seconds", "hazards, cones", 2, "courses: [{id: C1, phase: cones, limit_s: \"9\"}]\nsheets: {cones: [{entry: 1, course: C1, seconds: \"5\", stops: [\"4\"]}]}\n")))
	f.Add([]byte(day("pleasure", "timed", 2, "courses: [{id: F, phase: timed, kind: choice by points, points: {\"1\": \"5\"}}]\nsheets: {timed: [{entry: 1, course: F, seconds: \"5\", driven: [1, 1]}]}\n")))
	f.Add([]byte(day("pleasure", "judged", 1, "sheets: {judged: [{entry: 1, judge: X, parts: {a: \"50\", b: \"49.999\"}}]}\n")))
	f.Add([]byte(day("three-phase-2000", "sections", 1, "courses: [{id: B, phase: sections, allowed_s: \"99999\", minimum_s: \"0.001\"}]\nsheets: {sections: [{entry: 1, course: B, seconds: \"99999.999\"}]}\n")))
	loaded := map[string]*rules.Profile{} // reading one takes longer than the rest
	for _, name := range rules.Names() {
		loaded[name] = profile(f, name)
	}
	byName := func(name string) (*rules.Profile, error) {
		if p := loaded[name]; p != nil {
			return p, nil
		}
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "profile", Message: "there is no such profile"}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		tr, p, err := trial.Decode("f", data, byName)
		if err != nil {
			if _, ok := fault.CodeOf(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		a, err := trial.Score(tr, p)
		if err != nil {
			t.Fatalf("read and not scored: %v", err)
		}
		again, err := trial.Score(tr, p)
		if err != nil || encode(t, a) != encode(t, again) {
			t.Fatal("twice is not the same")
		}
		comesBack(t, tr, p, encode(t, a))
		for _, e := range a.Entries {
			if e.Place != nil && (e.Total == nil || e.Status != trial.Placed) {
				t.Fatalf("a place without a total: %+v", e)
			}
		}
	})
}
