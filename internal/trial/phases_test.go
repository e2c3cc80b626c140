package trial_test

import (
	"fmt"
	"strings"
	"testing"

	"terret/internal/rules"
	"terret/internal/trial"
)

// scoreWith scores a trial under a profile that is no file.
func scoreWith(t testing.TB, p *rules.Profile, text string) *trial.Answer {
	t.Helper()
	tr, _, err := trial.Decode("day.yaml", []byte(text), func(string) (*rules.Profile, error) { return p, nil })
	if err != nil {
		t.Fatal(err)
	}
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// lines joins the arithmetic of a phase.
func lines(e trial.EntryScore, phase string) string { return strings.Join(e.Phases[phase].Lines, "\n") }

// Dressage, value by value: the source is beside each row.
func TestDressage(t *testing.T) {
	const test = "tests: [{id: T, maximum: 100, coefficient: \"1.60\", movements: [{no: 1}, {no: 2}, {no: 3}, {no: 4}, {no: 5}, {no: 6}, {no: 7}, {no: 8, times: 3}]}]\n"
	marks := func(all string) string {
		return `"` + strings.Join(strings.Fields(all), `", "`) + `"`
	}
	six := marks("6 6 6 6 6 6 6 6") // 60 of 100: 160 − 96 = 64
	for _, c := range []struct {
		name, profile, sheets string
		total, out, line      string
		source                string
	}{
		{"one judge", "three-phase", "{entry: 1, judge: C, marks: [" + six + "]}", "64.00", "", "60 × 1.60 = 96", "BCS guide"},
		{"two judges", "three-phase", "{entry: 1, judge: C, marks: [" + six + "]}, {entry: 1, judge: B, marks: [" + marks("7 6 6 6 6 6 6 6") + "]}", "63.20", "", "121 ÷ 2 judges = 60.5", "KNHS 429.1c"},
		{"three judges, an average without an end", "three-phase", "{entry: 1, judge: C, marks: [" + six + "]}, {entry: 1, judge: B, marks: [" + six + "]}, {entry: 1, judge: E, marks: [" + marks("7 6 6 6 6 6 6 6") + "]}", "63.47", "", "181 ÷ 3 judges = 60.3333…", "KNHS 429.1c, d"},
		{"a mark times three", "three-phase", "{entry: 1, judge: C, marks: [" + marks("6 6 6 6 6 6 6 7") + "]}", "59.20", "", "7×3", "arithmetic"},
		{"a forgotten mark, mean 6.14", "three-phase", "{entry: 1, judge: C, marks: [" + marks("7 6 6 6 6 6 6 -") + "]}", "62.40", "", "6 (substituted)×3", "KNHS 429.2"},
		{"a forgotten mark, mean 6.5 goes up", "three-phase", "{entry: 1, judge: C, marks: [" + marks("- 7 7 7 6 6 6 6.5") + "]}", "55.20", "", "7 (substituted)", "KNHS 429.2: .5 and above rounded up"},
		{"one error of course", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 1}}", "69.00", "", "error of course: 5", "KNHS 423, 449"},
		{"two errors of course", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 2}}", "79.00", "", "5 + 10 = 15", "KNHS 423, 449"},
		{"three errors of course", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 3}}", "", "third: error of course", "", "KNHS 423, 449"},
		{"three errors in 2000", "three-phase-2000", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 3}}", "94.00", "", "5 + 10 + 15 = 30", "LU 923.3"},
		{"four errors in 2000", "three-phase-2000", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 4}}", "", "4th: error of course or getting down", "", "LU 923.3"},
		{"errors and getting down are one list in 2000", "three-phase-2000", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 1, groom_down: 1, driver_down: 1}}", "94.00", "", "3 × error of course or getting down: 5 + 10 + 15 = 30", "LU 923.3"},
		{"and apart now", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {course_error: 1, groom_down: 1, driver_down: 1}}", "94.00", "", "driver gets down: 20", "KNHS 423"},
		{"a whip dropped twice", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {whip: 2}}", "69.00", "", "5 + 0 = 5", "KNHS 423: at most once"},
		{"a groom speaks", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {groom_speaks: 3}}", "74.00", "", "", "ADS 19-009: once per test"},
		{"the carriage overturns", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {overturn: 1}}", "", "carriage overturns", "", "KNHS 423"},
		{"errors are not multiplied by the coefficient", "three-phase", "{entry: 1, judge: C, marks: [" + six + "], faults: {groom_on_reins: 1}}", "84.00", "", "", "KNHS 449.1a: after conversion"},
		{"the president alone gives errors", "three-phase", "{entry: 1, judge: C, marks: [" + six + "]}, {entry: 1, judge: B, marks: [" + six + "], faults: {course_error: 1}}", "64.00", "", "", "KNHS 449.1a"},
		{"no coefficient up to 160 marks in the Netherlands", "three-phase-dutch", "{entry: 1, judge: C, marks: [" + six + "]}", "100.00", "", "160 − 60 = 100", "KNHS 429.1c"},
		{"half of what is missing indoors", "indoor", "{entry: 1, judge: C, marks: [" + six + "]}", "20.00", "", "100 − 60 = 40, × 0.5 = 20", "UK indoor club"},
		{"the maximum less the marks at a club", "club-2013", "{entry: 1, judge: C, marks: [" + six + "]}", "40.00", "", "100 − 60 = 40", "UK club notes, July 2013"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := score(t, day(c.profile, "dressage", 1, test+"sheets: {dressage: ["+c.sheets+"]}\n"))
			e := entry(t, a, 1)
			if got := e.Phases["dressage"]; c.out != "" && (got.Eliminated != c.out || e.Status != trial.Eliminated || e.Total != nil) {
				t.Errorf("%s, %s (%s)", got.Eliminated, e.Status, c.source)
			} else if c.out == "" && text(e.Total) != c.total {
				t.Errorf("total %s, want %s (%s)\n%s", text(e.Total), c.total, c.source, lines(e, "dressage"))
			}
			if !strings.Contains(lines(e, "dressage"), c.line) {
				t.Errorf("no line %q:\n%s", c.line, lines(e, "dressage"))
			}
		})
	}
	// A stand-alone test takes errors from the marks of every sheet.
	p := house(t, "three-phase", map[string]string{"dressage.faults": "from marks"})
	a := scoreWith(t, p, day("x", "dressage", 1, test+"sheets: {dressage: [{entry: 1, judge: C, marks: ["+six+"], faults: {course_error: 1}}, {entry: 1, judge: B, marks: ["+six+"]}]}\n"))
	// 55 from each judge, × 1.60 = 88, 160 − 88 = 72 (KNHS 449.1a).
	if e := entry(t, a, 1); text(e.Total) != "72.00" {
		t.Errorf("stand-alone: %s, want 72.00\n%s", text(e.Total), lines(e, "dressage"))
	}
}

// Hazards and sections, value by value.
func TestMarathon(t *testing.T) {
	const courses = `
courses:
  - {id: H1, phase: hazards}
  - {id: H2, phase: hazards}
`
	for _, c := range []struct {
		name, profile, faults string
		total, out, source    string
	}{
		{"clean", "three-phase", `gates: "A B C", seconds: "40"`, "20.00", "", "KNHS 455.6c: 80 s × 0.25"},
		{"an error put right", "three-phase", `gates: "A C B C", seconds: "40"`, "40.00", "", "KNHS 458"},
		{"an error not put right", "three-phase", `gates: "A C", seconds: "40"`, "", "H1: it left by Out with B still owed", "KNHS 458.2b"},
		{"a gate of another class", "three-phase", `gates: "A D B C", seconds: "40"`, "20.00", "", "common reading"},
		{"errors as the sheet counts them", "three-phase", `seconds: "40", faults: {course_error: 2}`, "60.00", "", "KNHS 458"},
		{"two pieces down", "three-phase", `seconds: "40", faults: {dislodged: 2}`, "24.00", "", "KNHS 424"},
		{"a piece kept from falling", "three-phase", `seconds: "40", faults: {held_from_falling: 1}`, "30.00", "", "KNHS 424"},
		{"groom down", "three-phase", `seconds: "40", faults: {groom_down: 2}`, "30.00", "", "Dutch club series: 5 each"},
		{"groom down in 2000", "three-phase-2000", `seconds: "40", faults: {groom_down: 1}`, "26.00", "", "an old list: 10; 80 × 0.2"},
		{"driver down", "three-phase", `seconds: "40", faults: {driver_down: 1}`, "40.00", "", "Dutch club series"},
		{"overturned", "three-phase", `seconds: "40", faults: {overturn: 1}`, "", "H1: carriage overturns", "KNHS 400.15"},
		{"overturned in 2000", "three-phase-2000", `seconds: "40", faults: {overturn: 1}`, "76.00", "", "an old list: 60"},
		{"a trace loose", "three-phase", `seconds: "40", faults: {harness_loose: 1}`, "30.00", "", "Dutch club series"},
		{"no whip needed", "three-phase", `seconds: "40", faults: {whip: 1}`, "20.00", "", "international 964"},
		{"whip down in an old list", "three-phase-2000", `seconds: "40", faults: {whip: 1}`, "21.00", "", "an old list: 5"},
		{"groom on the reins", "three-phase", `seconds: "40", faults: {groom_on_reins: 1}`, "40.00", "", "KNHS 424"},
		{"five minutes", "three-phase", `seconds: "300"`, "85.00", "", "AT 37"},
		{"over five minutes", "three-phase", `seconds: "300.01"`, "", "H1: over the time limit of 300 s", "AT 37"},
		{"one a second indoors, five a piece", "indoor", `seconds: "40", faults: {dislodged: 1}`, "85.00", "", "UK indoor series"},
		{"seconds in the arena, four a part", "arena-seconds", `seconds: "40", faults: {dislodged: 1}`, "84.00", "", "KNHS 476.1"},
		{"the arena's wrong gate", "arena-seconds", `gates: "A C B C", seconds: "40"`, "100.00", "", "KNHS 476.2a: 20 s"},
		{"the watch ran on", "three-phase", `seconds: "70", stops: ["20", "10"]`, "20.00", "", "the clock is stopped for a hold"},
		{"the judge eliminates", "three-phase", `seconds: "40", out: lame`, "", "H1: lame", "the judge's word"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := score(t, day(c.profile, "hazards", 1, courses+"sheets: {hazards: [{entry: 1, course: H1, "+c.faults+`}, {entry: 1, course: H2, seconds: "40"}]}`+"\n"))
			e := entry(t, a, 1)
			if c.out != "" && (e.Phases["hazards"].Eliminated != c.out || e.Total != nil) || c.out == "" && text(e.Total) != c.total {
				t.Errorf("%s %q, want %s %q (%s)\n%s", text(e.Total), e.Phases["hazards"].Eliminated, c.total, c.out, c.source, lines(e, "hazards"))
			}
		})
	}
	for _, c := range []struct {
		name, profile, seconds, faults string
		total, out, source             string
	}{
		{"in time", "three-phase", "1790.00", "", "0.00", "", ""},
		{"late by 10.10 s", "three-phase", "1810.10", "", "2.53", "", "KNHS 455.5a: 0.25 a second"},
		{"early by 10.10 s", "three-phase", "1669.90", "", "2.53", "", "KNHS 455.5b: 0.25 a second"},
		{"late by 10.10 s in 2000", "three-phase-2000", "1810.10", "", "2.20", "", "LU 927: 0.2 for each started second"},
		{"early by 10.10 s in 2000", "three-phase-2000", "1669.90", "", "1.10", "", "LU 927: 0.1 for each started second"},
		{"over the limit the course states", "three-phase", "2160.01", "", "", "A: over the time limit of 2160 s", "KNHS 455.5c"},
		{"stops in the last stretch", "three-phase", "1790.00", "final_stretch: 2", "20.00", "", "international 964.3"},
		{"breaks pace there", "three-phase", "1790.00", "canter: 3", "3.00", "", "international 964.4"},
		{"stops without cause in 2011", "three-phase-2011", "1790.00", "stopped: 3", "3.00", "", "AT 32"},
		{"groom down while moving", "three-phase", "1790.00", "groom_down: 1", "5.00", "", "international 964.5.1"},
		{"shorts", "three-phase", "1790.00", "shorts: 2", "20.00", "", "ADS 18-024: each person"},
		{"a minute late at the start", "three-phase", "1790.00", "late_entry: 1", "", "A: a minute late at the start of a section", "AT 31"},
		{"time sheet lost", "three-phase", "1790.00", "time_sheet: 1", "10.00", "", "KNHS 456.2"},
	} {
		t.Run("section, "+c.name, func(t *testing.T) {
			a := score(t, day(c.profile, "sections", 1, fmt.Sprintf("courses: [{id: A, phase: sections, allowed_s: \"1800\", minimum_s: \"1680\", limit_s: \"2160\"}]\nsheets: {sections: [{entry: 1, course: A, seconds: %q, faults: {%s}}]}\n", c.seconds, c.faults)))
			e := entry(t, a, 1)
			if c.out != "" && (e.Phases["sections"].Eliminated != c.out || e.Total != nil) || c.out == "" && text(e.Total) != c.total {
				t.Errorf("%s %q, want %s %q (%s)\n%s", text(e.Total), e.Phases["sections"].Eliminated, c.total, c.out, c.source, lines(e, "sections"))
			}
		})
	}
	// LU 926.4: twice the time allowed, where the course states no limit.
	a := score(t, day("three-phase-2000", "sections", 2, "courses: [{id: A, phase: sections, allowed_s: \"100\"}]\nsheets: {sections: [{entry: 1, course: A, seconds: \"200\"}, {entry: 2, course: A, seconds: \"200.01\"}]}\n"))
	if x, y := entry(t, a, 1), entry(t, a, 2); text(x.Total) != "20.00" || y.Status != trial.Eliminated {
		t.Errorf("twice the time: %s and %s", text(x.Total), y.Status)
	}
}

// Sections and hazards are rounded once, together (KNHS 430.1a): 0.33 s over and
// 41.35 s are 0.0825 and 10.3375, shown as 0.08 and 10.34; together 10.42. With
// 0.34 s over and 41.39 s, 0.085 and 10.3475 round to 0.09 and 10.35, and together
// they are 10.4325, 10.43.
func TestMarathonIsRoundedOnce(t *testing.T) {
	text1 := day("three-phase", "sections, hazards", 2, `
courses: [{id: B, phase: sections, allowed_s: "1800"}, {id: H1, phase: hazards}]
sheets:
  sections: [{entry: 1, course: B, seconds: "1800.33"}, {entry: 2, course: B, seconds: "1800.34"}]
  hazards: [{entry: 1, course: H1, seconds: "41.35"}, {entry: 2, course: H1, seconds: "41.39"}]
`)
	a := score(t, text1)
	for n, want := range []string{"10.42", "10.43"} {
		e := entry(t, a, n+1)
		if text(e.Total) != want || text(e.Sums["marathon"].Penalties) != want {
			t.Errorf("entry %d: total %s, marathon %s, want %s", n+1, text(e.Total), text(e.Sums["marathon"].Penalties), want)
		}
	}
	if e := entry(t, a, 2); !strings.Contains(strings.Join(e.Sums["marathon"].Lines, "\n"), "0.085 + hazards 10.3475 = 10.4325, rounded once to 10.43") {
		t.Errorf("%q", e.Sums["marathon"].Lines)
	}
	apart := scoreWith(t, house(t, "three-phase", map[string]string{"score.marathon": "apart"}), text1)
	if e := entry(t, apart, 2); text(e.Total) != "10.44" {
		t.Errorf("rounded apart: %s", text(e.Total))
	}
	// One rounding of the total: dressage, hazards and cones exact until the end.
	exact := house(t, "three-phase", map[string]string{"score.rounded": "the total"})
	b := scoreWith(t, exact, day("x", "hazards, cones", 1, `
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, allowed_s: "100"}]
sheets:
  hazards: [{entry: 1, course: H1, seconds: "41.39"}]
  cones: [{entry: 1, course: C1, seconds: "100.01"}]
`))
	// 10.3475 + 0.005 = 10.3525 → 10.35; each phase alone would be 10.35 + 0.01.
	if e := entry(t, b, 1); text(e.Total) != "10.35" || text(e.Phases["hazards"].Penalties) != "10.3475" {
		t.Errorf("%s, hazards %s", text(e.Total), text(e.Phases["hazards"].Penalties))
	}
}

// Cones, value by value.
func TestCones(t *testing.T) {
	for _, c := range []struct {
		name, profile, sheet string
		total, out, source   string
	}{
		{"both balls of one", "three-phase", `seconds: "150", knocked: [3, 3]`, "3.00", "", "KNHS 461.1b"},
		{"parts of a multiple", "three-phase", `seconds: "150", knocked: ["5a", "5b", 7]`, "9.00", "", "KNHS 461.2c"},
		{"balls by count", "three-phase", `seconds: "150", faults: {knocked: 2}`, "6.00", "", "KNHS 461.1b"},
		{"in 2000", "three-phase-2000", `seconds: "150", knocked: [3]`, "5.00", "", "LU 933"},
		{"one still to come is rebuilt", "three-phase", `seconds: "150", knocked: [9], faults: {rebuilt: 1}`, "5.00", "", "KNHS 463.2c: 3, and 160 s are 4 over × 0.5"},
		{"a multiple taken down by a refusal", "three-phase", `seconds: "150", faults: {rebuilt: 1, refusal: 1}`, "7.00", "", "AT 52: the disobedience and 10 s, no balls"},
		{"over by 2.14 s", "three-phase", `seconds: "158.14"`, "1.07", "", "set A"},
		{"over by 2.14 s, started seconds", "three-phase-dutch", `seconds: "158.14"`, "1.50", "", "KNHS 462.1g"},
		{"over by whole seconds, started seconds", "three-phase-dutch", `seconds: "158.00"`, "1.00", "", "KNHS 462.1g"},
		{"the time limit itself", "three-phase", `seconds: "312.00"`, "78.00", "", "KNHS 462.1d: exceeding"},
		{"over the time limit", "three-phase", `seconds: "312.01"`, "", "over the time limit of 312 s", "KNHS 462.1d"},
		{"refusals", "three-phase", `seconds: "150", faults: {refusal: 2}`, "15.00", "", "from memory: 5 + 10"},
		{"three refusals", "three-phase", `seconds: "150", faults: {refusal: 3}`, "", "third: refusal, run-out, stop or step back", "from memory"},
		{"harness broken after two refusals", "three-phase", `seconds: "150", faults: {refusal: 2, harness_loose: 1}`, "", "third: refusal, run-out, stop or step back", "AT 52: as a disobedience"},
		{"groom not seated, each time", "three-phase", `seconds: "150", faults: {not_seated: 2}`, "10.00", "", "KNHS 463.1f"},
		{"whip at most once", "three-phase", `seconds: "150", faults: {whip: 2}`, "5.00", "", "KNHS 425"},
		{"before the bell", "three-phase", `seconds: "150", faults: {early_start: 1}`, "10.00", "", "KNHS 463.1b"},
		{"groom on the reins", "three-phase", `seconds: "150", faults: {groom_on_reins: 1}`, "20.00", "", "KNHS 425"},
		{"wrong course", "three-phase", `seconds: "150", faults: {course_error: 1}`, "", "wrong course, completely driven", "KNHS 463.2a"},
		{"the bell stopped the course, the watch ran on", "three-phase", `seconds: "185", stops: ["30"]`, "0.00", "", "KNHS 463.2c: the clock is stopped"},
		{"indoors 5.5 s under the target", "indoor", `seconds: "150.5"`, "5.50", "", "UK indoor: 1 a second both ways"},
		{"indoors 5.5 s over the target", "indoor", `seconds: "161.5", knocked: [2]`, "10.50", "", "UK indoor: 5 a knock-down"},
		{"the arena counts seconds", "arena-seconds", `seconds: "92.10", knocked: [2, 4]`, "102.10", "", "KNHS 476: 5 s"},
		{"the arena counts a second ball at another moment", "arena-seconds", `seconds: "92.10", knocked: [2, 2]`, "102.10", "", "KNHS 477.3"},
		{"the arena's obstacle still to come, 15 s", "arena-seconds", `seconds: "92.10", knocked: [8], faults: {rebuilt: 1}`, "107.10", "", "KNHS 477.4: 5 + 10"},
		{"lost at a clinic", "clinic", `seconds: "150", faults: {course_error: 2}`, "20.00", "", "a teacher's choice"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := score(t, day(c.profile, "cones", 1, "courses: [{id: C1, phase: cones, allowed_s: \"156\"}]\nsheets: {cones: [{entry: 1, course: C1, "+c.sheet+"}]}\n"))
			e := entry(t, a, 1)
			if c.out != "" && c.profile != "clinic" && (e.Phases["cones"].Eliminated != c.out || e.Total != nil) || c.out == "" && text(e.Total) != c.total {
				t.Errorf("%s %q, want %s %q (%s)\n%s", text(e.Total), e.Phases["cones"].Eliminated, c.total, c.out, c.source, lines(e, "cones"))
			}
		})
	}
	// K476.1 and K477.4 of one text: 14 s and 15 s; both are an edit of one value.
	p := house(t, "arena-seconds", map[string]string{"cones.ball": "4"})
	a := scoreWith(t, p, day("x", "cones", 1, "courses: [{id: C1, phase: cones}]\nsheets: {cones: [{entry: 1, course: C1, seconds: \"92.10\", knocked: [8], faults: {rebuilt: 1}}]}\n"))
	if got := text(entry(t, a, 1).Total); got != "106.10" {
		t.Errorf("the 14 s reading: %s, want 106.10", got)
	}
	// A competition by time turns penalties into seconds (ADS 17-051).
	byTime := house(t, "three-phase", map[string]string{"cones.competition": "time"})
	b := scoreWith(t, byTime, day("x", "cones", 2, "courses: [{id: C1, phase: cones, allowed_s: \"156\"}]\nsheets: {cones: [{entry: 1, course: C1, seconds: \"140.00\", knocked: [1]}, {entry: 2, course: C1, seconds: \"144.00\", faults: {not_seated: 1}}]}\n"))
	if x, y := entry(t, b, 1), entry(t, b, 2); text(x.Total) != "143.00" || text(y.Total) != "149.00" || *x.Place != 1 {
		t.Errorf("by time: %s, %s", text(x.Total), text(y.Total))
	}
}

// The profile's speed for a class, where the course states none; and the marks of
// values that nobody looked up.
func TestConesSpeedOfTheClass(t *testing.T) {
	for size, want := range map[string]string{"pony": "single pony: 260", "vse": "200"} {
		a := score(t, fmt.Sprintf("terret: trial/1\nname: x\nrules: three-phase\nclasses: [{id: N, hitch: single, size: %s, phases: [cones]}]\nentries: [{number: 1, class: N}]\ncourses: [{id: C1, phase: cones, length_m: \"590\"}]\nsheets: {cones: [{entry: 1, course: C1, seconds: \"100\"}]}\n", size))
		got := lines(entry(t, a, 1), "cones")
		speed := want[strings.LastIndexByte(want, ' ')+1:]
		if !strings.Contains(got, "590 m at "+speed+" m/min") {
			t.Errorf("%s: %s", size, got)
		}
		if size == "vse" != strings.Contains(got, "[from memory]") {
			t.Errorf("%s: marked wrongly: %s", size, got)
		}
	}
}

// Pleasure driving: by time, in points, in percent.
func TestPleasure(t *testing.T) {
	for _, c := range []struct {
		name, course, sheet string
		total, out, source  string
	}{
		{"faults are seconds", "{id: F1, phase: timed}", `seconds: "92.10", faults: {knocked: 2}`, "102.10", "", "ADS PD 247; 5 s each"},
		{"disobediences", "{id: F1, phase: timed}", `seconds: "92.10", faults: {refusal: 2}`, "107.10", "", "5 + 10"},
		{"three disobediences", "{id: F1, phase: timed}", `seconds: "92.10", faults: {refusal: 3}`, "", "third: disobedience", "5, 10, eliminated"},
		{"off course", "{id: F1, phase: timed}", `seconds: "92.10", faults: {course_error: 1}`, "", "off course and not put right", "miniature-horse club"},
		{"the driver's own way", "{id: F1, phase: timed, kind: free order}", `seconds: "80.00", faults: {knocked: 1}`, "85.00", "", "ADS PD 248.5"},
		{"fault and out, the one more clear", "{id: F1, phase: timed, kind: fault and out}", `seconds: "95.00", cleared: 9, extra: clear`, "19.00", "", "American mule rulebook: 9 × 2 + 1"},
		{"fault and out, the one more missed", "{id: F1, phase: timed, kind: fault and out}", `seconds: "95.00", cleared: 9, extra: missed`, "18.00", "", "American mule rulebook"},
		{"choice by points", `{id: F1, phase: timed, kind: choice by points, points: {"1": "10", "2": "30", "3": "20"}}`, `seconds: "110", driven: [1, 2, 2, 1, 2, 1, 3]`, "100.00", "", "each at most twice and not in succession: 10 + 30 + 10 + 30 + 20"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := score(t, day("pleasure", "timed", 1, "courses: ["+c.course+"]\nsheets: {timed: [{entry: 1, course: F1, "+c.sheet+"}]}\n"))
			e := entry(t, a, 1)
			if c.out != "" && (e.Phases["timed"].Eliminated != c.out || e.Total != nil) || c.out == "" && text(e.Total) != c.total {
				t.Errorf("%s %q, want %s %q (%s)\n%s", text(e.Total), e.Phases["timed"].Eliminated, c.total, c.out, c.source, lines(e, "timed"))
			}
		})
	}
	// Most points win; equal points go by time (American mule rulebook).
	a := score(t, day("pleasure", "timed", 3, `
courses: [{id: F1, phase: timed, kind: fault and out}]
sheets: {timed: [{entry: 1, course: F1, seconds: "95", cleared: 5}, {entry: 2, course: F1, seconds: "90", cleared: 5}, {entry: 3, course: F1, seconds: "99", cleared: 8}]}
`))
	for n, want := range map[int]int{3: 1, 2: 2, 1: 3} {
		if e := entry(t, a, n); e.Place == nil || *e.Place != want {
			t.Errorf("points: entry %d has place %v", n, e.Place)
		}
	}
	// Working: 70, 20, 10 (breed handbook 2012, p. 65), two judges averaged.
	a = score(t, `
terret: trial/1
name: Show
rules: pleasure
classes: [{id: W, judged: working, phases: [judged]}]
entries: [{number: 1, class: W, driver: Ann}, {number: 2, class: W, driver: Bea}]
sheets:
  judged:
    - {entry: 1, class: W, judge: X, parts: {performance: "52", harness and vehicle: "17", attire: "8"}}
    - {entry: 1, class: W, judge: Y, parts: {performance: "53", harness and vehicle: "17", attire: "8"}}
    - {entry: 2, class: W, judge: X, parts: {performance: "60", harness and vehicle: "15", attire: "7.5"}}
    - {entry: 2, class: W, judge: Y, parts: {performance: "58", harness and vehicle: "15", attire: "7.5"}}
`)
	if x, y := entry(t, a, 1), entry(t, a, 2); text(x.Total) != "77.50" || text(y.Total) != "81.50" || *y.Place != 1 || *x.Place != 2 {
		t.Errorf("judged: %s and %s", text(x.Total), text(y.Total))
	}
}

// A class of two runs counts as its profile says.
func TestTwoRuns(t *testing.T) {
	const sheets = `
courses: [{id: F1, phase: timed}, {id: F2, phase: timed}]
sheets: {timed: [{entry: 1, course: F1, seconds: "80"}, {entry: 1, course: F2, seconds: "70"}, {entry: 2, course: F1, seconds: "60"}, {entry: 2, course: F2, seconds: "75", faults: {course_error: 1}}]}
`
	for runs, want := range map[string][2]string{"sum": {"150.00", "none"}, "best": {"70.00", "60.00"}, "last": {"70.00", "none"}} {
		a := scoreWith(t, house(t, "pleasure", map[string]string{"timed.two_runs": runs}), day("x", "timed", 2, sheets))
		if x, y := entry(t, a, 1), entry(t, a, 2); text(x.Total) != want[0] || text(y.Total) != want[1] {
			t.Errorf("%s: %s and %s, want %v", runs, text(x.Total), text(y.Total), want)
		}
	}
}

// Statuses: who is placed, who has a total, who is shown how far.
func TestStatuses(t *testing.T) {
	a := score(t, `
terret: trial/1
name: Day
rules: three-phase
classes: [{id: N, through: B, phases: [hazards, cones]}]
entries:
  - {number: 1, class: N, driver: placed}
  - {number: 2, class: N, driver: out, status: retired, in_phase: cones, why: shoe lost}
  - {number: 3, class: N, driver: never came, status: withdrawn}
  - {number: 4, class: N, driver: for fun, status: hors concours}
  - {number: 5, class: N, driver: lost}
  - {number: 6, class: N, driver: rude, status: disqualified}
  - {number: 7, class: N, driver: paper lost}
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, allowed_s: "100"}]
sheets:
  hazards:
    - {entry: 1, course: H1, gates: A B, seconds: "60"}
    - {entry: 2, course: H1, gates: A B, seconds: "40"}
    - {entry: 4, course: H1, gates: A B, seconds: "20"}
    - {entry: 5, course: H1, gates: B A, seconds: "44"}
    - {entry: 6, course: H1, gates: A B, seconds: "44"}
    - {entry: 7, course: H1, gates: A B, seconds: "48"}
  cones:
    - {entry: 1, course: C1, seconds: "90"}
    - {entry: 4, course: C1, seconds: "90"}
`)
	for _, c := range []struct {
		number        int
		status, total string
		place         int
		why           string
	}{
		{1, trial.Placed, "15.00", 1, ""},
		{2, trial.Retired, "none", 0, "shoe lost"},
		{3, trial.Withdrawn, "none", 0, ""},
		{4, trial.HorsConcours, "5.00", 0, ""},
		{5, trial.Eliminated, "none", 0, "in hazards: H1: it left by Out with B still owed"},
		{6, trial.Disqualified, "none", 0, ""},
		{7, trial.Placed, "none", 0, "missing: cones C1"},
	} {
		e := entry(t, a, c.number)
		place := 0
		if e.Place != nil {
			place = *e.Place
		}
		if e.Status != c.status || text(e.Total) != c.total || place != c.place || !strings.Contains(e.Why, c.why) {
			t.Errorf("%d: %s, total %s, place %d, %q; want %+v", c.number, e.Status, text(e.Total), place, e.Why, c)
		}
	}
	if len(a.Missing) != 1 || a.Missing[0].Entry != 7 || a.Missing[0].Course != "C1" {
		t.Errorf("missing %v", a.Missing)
	}
	// The retired one's hazards still count for the running places (2.: 10, 7.: 12).
	if e := entry(t, a, 2); e.Running["hazards"] != 1 || text(e.Phases["hazards"].Penalties) != "10.00" {
		t.Errorf("retired: %v", e.Running)
	}
	for _, tally := range a.Sheets {
		if tally.Phase == "cones" && (tally.In != 2 || tally.Of != 3 || fmt.Sprint(tally.Missing) != "[7]") {
			t.Errorf("tally %+v", tally)
		}
	}
}

// An elimination in one phase gets a substitute where the profile says so.
func TestSubstitute(t *testing.T) {
	a := score(t, day("clinic", "hazards, cones", 3, `
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, allowed_s: "100"}]
sheets:
  hazards: [{entry: 1, course: H1, gates: A B C, seconds: "40"}, {entry: 2, course: H1, gates: A B C, seconds: "60"}, {entry: 3, course: H1, gates: A B, seconds: "30"}]
  cones: [{entry: 1, course: C1, seconds: "90"}, {entry: 2, course: C1, seconds: "90"}, {entry: 3, course: C1, seconds: "90"}]
`))
	// 60 s × 0.25 is the worst, 15; plus 20.
	e := entry(t, a, 3)
	if text(e.Total) != "35.00" || e.Status != trial.Placed || *e.Place != 3 || !strings.Contains(lines(e, "hazards"), "scored 15, the worst of the class, + 20 = 35.00") {
		t.Errorf("%s %s %q\n%s", text(e.Total), e.Status, e.Why, lines(e, "hazards"))
	}
}

// Ties: the rule that broke them is named.
func TestTies(t *testing.T) {
	a := score(t, day("three-phase", "hazards, cones", 4, `
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, allowed_s: "100"}]
sheets:
  hazards: [{entry: 1, course: H1, seconds: "40"}, {entry: 2, course: H1, seconds: "52"}, {entry: 3, course: H1, seconds: "40"}, {entry: 4, course: H1, seconds: "99"}]
  cones: [{entry: 1, course: C1, seconds: "90", knocked: [1]}, {entry: 2, course: C1, seconds: "90"}, {entry: 3, course: C1, seconds: "91", knocked: [2]}, {entry: 4, course: C1, seconds: "90"}]
`))
	// 1, 2 and 3 have 13.00; better hazards decide; 1 and 3 are level in all the
	// rule asks and share the first place; 2 is third.
	for n, place := range map[int]int{1: 1, 3: 1, 2: 3, 4: 4} {
		if e := entry(t, a, n); e.Place == nil || *e.Place != place {
			t.Errorf("%d: place %v, want %d", n, e.Place, place)
		}
	}
	if e := entry(t, a, 2); e.Tie == nil || !strings.Contains(*e.Tie, "level with 1, 3 on 13.00: the better marathon decides, 10.00 before 13.00 (ties.total)") {
		t.Errorf("%s", text(e.Tie))
	}
	if e := entry(t, a, 1); e.Tie == nil || !strings.Contains(*e.Tie, "shared place") {
		t.Errorf("%s", text(e.Tie))
	}
	if e := entry(t, a, 4); e.Tie != nil {
		t.Errorf("4 is level with nobody: %s", *e.Tie)
	}
	if fmt.Sprint(a.FromMemory) != "[ties.total]" {
		t.Errorf("the tie rule is from memory and should say so: %v", a.FromMemory)
	}
	// KNHS 430.1c: equal marathons, fewer penalties in section B. Both 30.00:
	// 10 in A and 20 in B against 5 in A and 25 in B.
	b := score(t, day("three-phase", "sections, hazards", 2, `
courses: [{id: A, phase: sections, allowed_s: "1000"}, {id: B, phase: sections, allowed_s: "1000"}, {id: H1, phase: hazards}]
sheets:
  sections: [{entry: 1, course: A, seconds: "1020"}, {entry: 1, course: B, seconds: "1000"}, {entry: 2, course: A, seconds: "1040"}, {entry: 2, course: B, seconds: "1000"}]
  hazards: [{entry: 1, course: H1, seconds: "100"}, {entry: 2, course: H1, seconds: "80"}]
`))
	if x, y := entry(t, b, 1), entry(t, b, 2); text(x.Total) != "30.00" || text(y.Total) != "30.00" || *y.Place != 1 || *x.Place != 2 || !strings.Contains(text(y.Tie), "fewer penalties in section B decide, 20 before 25") {
		t.Errorf("%s %s: %s", text(x.Total), text(y.Total), text(y.Tie))
	}
}

// Teams, as each profile may say, and series.
func TestTeamsAndSeries(t *testing.T) {
	text1 := `
terret: trial/1
name: Day
rules: three-phase
classes:
  - {id: S, hitch: single, through: A, phases: [hazards, cones]}
  - {id: P, hitch: pair, through: A, phases: [hazards, cones]}
entries: [{number: 1, class: S, driver: a}, {number: 2, class: S, driver: b}, {number: 3, class: P, driver: c}, {number: 4, class: S, driver: d}, {number: 5, class: P, driver: e}]
courses: [{id: H1, phase: hazards}, {id: C1, phase: cones, allowed_s: "100"}]
sheets:
  hazards: [{entry: 1, course: H1, seconds: "40"}, {entry: 2, course: H1, seconds: "60"}, {entry: 3, course: H1, seconds: "80"}, {entry: 4, course: H1, seconds: "44"}, {entry: 5, course: H1, seconds: "44"}]
  cones: [{entry: 1, course: C1, seconds: "90", knocked: [1, 2]}, {entry: 2, course: C1, seconds: "90"}, {entry: 3, course: C1, seconds: "90"}, {entry: 4, course: C1, seconds: "90"}, {entry: 5, course: C1, seconds: "300"}]
teams: [{name: Green, members: [1, 2, 3]}, {name: Blue, members: [4, 5]}]
series:
  - name: League
    days:
      - {name: d1, places: {Ann: 1, Bea: 2, Cis: 3}}
      - {name: d2, places: {Ann: 4, Bea: 2, Cis: 1}}
      - {name: d3, places: {Ann: 1, Bea: 2}}
      - {name: d4, places: {Ann: 2, Bea: 2}}
      - {name: d5, places: {Ann: 3, Bea: 2}}
      - {name: final, final: true, places: {Ann: 2, Bea: 1}}
`
	for method, want := range map[string][2]string{
		// Singles: hazards 10 and 15, cones 6 and 0; pair 20 and 0. Best single in
		// hazards 10, in cones 0; the pair 20 and 0: 30 (2019 pony championship).
		"best of each hitch per phase": {"30.00", "none"},
		// Totals 16, 15 and 20: the best two.
		"best totals": {"31.00", "none"},
		// Hazards 10 + 15, cones 0 + 0.
		"best per phase": {"25.00", "none"},
	} {
		a := scoreWith(t, house(t, "three-phase", map[string]string{"team.method": method}), text1)
		got := map[string]string{}
		for _, team := range a.Teams {
			got[team.Name] = text(team.Total)
		}
		// Blue's pair was eliminated (300 s, over twice the time): a single alone.
		wantBlue := want[1]
		if method == "best of each hitch per phase" {
			wantBlue = "11.00"
		}
		if got["Green"] != want[0] || got["Blue"] != wantBlue {
			t.Errorf("%s: %v, want %v", method, got, want)
		}
	}
	// Dutch indoor league: the best four count and the final always. Ann 1+1+2+3
	// and 2 = 9; Bea 2+2+2+2 and 1 = 9: the final decides. Cis drove two days.
	a := score(t, text1)
	s := a.Series[0].Drivers
	if s[0].Driver != "Bea" || *s[0].Points != 9 || *s[0].Place != 1 || s[1].Driver != "Ann" || *s[1].Points != 9 || *s[1].Place != 2 || s[2].Points != nil || s[2].Why == "" {
		t.Errorf("%+v", s)
	}
	if s[0].Tie == nil || !strings.Contains(*s[0].Tie, "the final decides") {
		t.Errorf("tie: %v", s[0].Tie)
	}
}

// A class that names a level drives the letters its profile gives the level
// (training to C): D is not in play for it.
func TestLevels(t *testing.T) {
	for level, want := range map[string]string{"training": "10.00", "preliminary": "none"} {
		a := score(t, "terret: trial/1\nname: x\nrules: clinic\nclasses: [{id: N, level: "+level+", phases: [hazards]}]\nentries: [{number: 1, class: N}]\ncourses: [{id: H1, phase: hazards}]\nsheets: {hazards: [{entry: 1, course: H1, gates: A B D C, seconds: \"40\"}]}\n")
		e := entry(t, a, 1)
		got := text(e.Total)
		if e.Phases["hazards"].Eliminated != "" {
			got = "none"
		}
		if got != want {
			t.Errorf("%s: %s, want %s", level, got, want)
		}
	}
}

// One who retires in a phase is not placed in it, however far it went.
func TestRetiredInPhase(t *testing.T) {
	a := score(t, "terret: trial/1\nname: x\nrules: three-phase\nclasses: [{id: N, through: A, phases: [hazards, cones]}]\nentries: [{number: 1, class: N, status: retired, in_phase: hazards}, {number: 2, class: N}]\ncourses: [{id: H1, phase: hazards}, {id: H2, phase: hazards}, {id: C1, phase: cones, allowed_s: \"100\"}]\nsheets: {hazards: [{entry: 1, course: H1, seconds: \"20\"}, {entry: 2, course: H1, seconds: \"40\"}, {entry: 2, course: H2, seconds: \"40\"}]}\n")
	x, y := entry(t, a, 1), entry(t, a, 2)
	if x.Phases["hazards"].Place != nil || len(x.Running) != 0 || *y.Phases["hazards"].Place != 1 || y.Running["hazards"] != 1 {
		t.Errorf("%v %v, %v %v", x.Phases["hazards"].Place, x.Running, *y.Phases["hazards"].Place, y.Running)
	}
	if len(a.Missing) != 1 || a.Missing[0].Entry != 2 {
		t.Errorf("missing %v", a.Missing)
	}
}

// Two watches on one line: the profile says which counts, and a difference over
// half a second wants a reason (trade estimate).
func TestTwoWatches(t *testing.T) {
	const sheets = "courses: [{id: H1, phase: hazards}, {id: H2, phase: hazards}]\nsheets: {hazards: [{entry: 1, course: H1, seconds: \"40.00\", backup: \"40.40\"}, {entry: 1, course: H2, seconds: \"40.00\", backup: \"39.40\"}]}\n"
	for which, want := range map[string]string{"the official one": "20.00", "the mean": "19.98", "the slower": "20.10"} {
		a := scoreWith(t, house(t, "three-phase", map[string]string{"score.watches": which}), day("x", "hazards", 1, sheets))
		if got := text(entry(t, a, 1).Total); got != want {
			t.Errorf("%s: %s, want %s\n%s", which, got, want, lines(entry(t, a, 1), "hazards"))
		}
		if len(a.Remarks) != 1 || !strings.Contains(a.Remarks[0], "H2: watches 40.00 s and 39.40 s are 0.60 s apart") {
			t.Errorf("remarks %q", a.Remarks)
		}
	}
}

// A later sheet corrects an earlier one; nothing else may be written twice.
func TestCorrection(t *testing.T) {
	a := score(t, day("three-phase", "cones", 1, `
courses: [{id: C1, phase: cones, allowed_s: "100"}]
sheets:
  cones:
    - {id: s1, entry: 1, course: C1, seconds: "120"}
    - {id: s2, entry: 1, course: C1, seconds: "110", replaces: s1}
    - {entry: 1, course: C1, seconds: "104", replaces: s2}
`))
	if got := text(entry(t, a, 1).Total); got != "2.00" {
		t.Errorf("%s", got)
	}
}
