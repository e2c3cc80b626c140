package sheet

import (
	"fmt"
	"slices"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
)

// blankRows is how many lines a list has that is to be written by hand.
const blankRows = 20

// orderOfGo lists every phase: times, breaks, gaps, who shares what. Who does not
// start is struck through, so that nobody wonders where the number went.
func orderOfGo(in *DayInput) ([]Scene, error) {
	f := in.flow("Order of go", "", false)
	for _, phase := range in.dayPhases() {
		all := in.goers(phase)
		if len(all) == 0 {
			continue
		}
		gaps := slices.ContainsFunc(all, func(g going) bool { return phase == rules.Cones && g.entry != nil && g.entry.GapCM > 0 })
		f.of = capital(phase)
		if phase != in.dayPhases()[0] {
			f.turn() // each phase hangs at another gate
		}
		cols := []column{{head: "time", width: 19, right: true}, {head: "no.", width: 17, right: true, large: true}, {head: "driver", width: 38}, {head: "horses", width: 33}, {head: "class", width: 15}}
		if gaps {
			cols = append(cols, column{head: "gap", width: 15, right: true})
		}
		cols = append(cols, column{head: "notes"})
		var rows [][]string
		if in.Blank {
			for range blankRows {
				rows = append(rows, make([]string, len(cols)))
			}
		} else {
			for _, g := range all {
				rows = append(rows, in.orderRow(g, phase, gaps))
			}
		}
		f.table(capital(phase), cols, rows, 9.5)
		if !in.Blank && in.Trial.Timetable != nil && !slices.ContainsFunc(all, func(g going) bool { return g.at != "" }) {
			f.words(body, true, "No times are made yet: the entries stand in the order of the list.")
		}
		f.words(body, false, "Be at the gate two before your number. Times are as planned; the steward at the gate has the last word.")
	}
	if len(f.pages) == 0 {
		f.words(13, true, "Nobody starts.")
	}
	return f.pages, nil
}

func (in *DayInput) orderRow(g going, phase string, gaps bool) []string {
	n := 6
	if gaps {
		n++
	}
	row := make([]string, n)
	row[0] = g.at
	if g.entry == nil {
		row[1] = across + g.pause
		return row
	}
	e := g.entry
	row[1], row[2], row[3], row[4] = fmt.Sprint(e.Number), e.Driver, strings.Join(e.Horses, ", "), e.Class
	if gaps && e.GapCM > 0 {
		row[5] = fmt.Sprint(e.GapCM)
	}
	if g.gone {
		for i := 1; i < n-1; i++ {
			if row[i] != "" {
				row[i] = struck + row[i]
			}
		}
		row[n-1] = e.Status
		return row
	}
	row[n-1] = in.shares(e, phase)
	return row
}

// shares says with whom an entry shares a driver, a groom or a horse, of those who
// start in the same phase: the words of the order's notes.
func (in *DayInput) shares(e *trial.Entry, phase string) string {
	var notes []string
	note := func(words string, has func(o *trial.Entry) bool) {
		var who []string
		for i := range in.Trial.Entries {
			o := &in.Trial.Entries[i]
			if o.Number != e.Number && in.starts(o, phase) && !in.gone(o, phase) && has(o) {
				who = append(who, fmt.Sprint(o.Number))
			}
		}
		if len(who) > 0 {
			notes = append(notes, fmt.Sprintf(words, strings.Join(who, ", ")))
		}
	}
	common := func(a, b []string) bool {
		return slices.ContainsFunc(a, func(s string) bool { return slices.Contains(b, s) })
	}
	note("drives %s too", func(o *trial.Entry) bool { return o.Driver == e.Driver })
	note("shares groom with %s", func(o *trial.Entry) bool { return common(e.Grooms, o.Grooms) })
	note("shares horse with %s", func(o *trial.Entry) bool { return common(e.Horses, o.Horses) })
	note("shares vehicle with %s", func(o *trial.Entry) bool { return e.Vehicle != "" && o.Vehicle == e.Vehicle })
	return strings.Join(notes, "; ")
}

// scratches lists who does not start, and has lines for what changes on the day.
func scratches(in *DayInput) ([]Scene, error) {
	f := in.flow("Scratches and changes", "", false)
	f.words(body, false, "Whoever hears of a change writes it here first, then tells the starter, the cones steward and the scorer. Strike through, never rub out.")
	cols := []column{{head: "time", width: 20}, {head: "no.", width: 18, right: true, large: true}, {head: "driver", width: 44}, {head: "what changes, and why"}, {head: "told", width: 26}}
	var rows [][]string
	if !in.Blank {
		for i := range in.Trial.Entries {
			e := &in.Trial.Entries[i]
			if e.Status == "" || e.Status == trial.Placed || !in.wanted(e) {
				continue
			}
			what := e.Status
			if e.InPhase != "" {
				what += " in the " + e.InPhase
			}
			if e.Why != "" {
				what += ": " + e.Why
			}
			rows = append(rows, []string{"", fmt.Sprint(e.Number), e.Driver, what, ""})
		}
	}
	for len(rows) < 16 {
		rows = append(rows, make([]string, len(cols)))
	}
	f.table("Changes", cols, rows, 10.5)
	return f.pages, nil
}

// hazardList is what the team at a hazard ticks.
func hazardList(in *DayInput) ([]Scene, error) {
	var pages []Scene
	for _, c := range in.coursesOf(rules.Hazards) {
		if in.Course != "" && c.ID != in.Course {
			continue
		}
		f := in.flow("Hazard team's list", courseName(c), true)
		f.words(body, true, "Stand where no line can go, chairs away from the posts. Nobody steps in while a horse is coming. Ask before you help.")
		cols := []column{{head: "time", width: 19, right: true}, {head: "no.", width: 18, right: true, large: true}, {head: "driver", width: 44}, {head: "kind", width: 46}, {head: "letters", width: 22}, {head: "sheet", width: 16}, {head: "fetched", width: 20}, {head: "held from, how long; remarks"}}
		var rows [][]string
		for _, g := range in.goers(rules.Hazards) {
			if g.entry == nil {
				rows = append(rows, []string{g.at, across + g.pause, "", "", "", "", "", ""})
				continue
			}
			e := g.entry
			cl := in.classOf(e)
			if !cl.Drives(c) {
				continue
			}
			row := []string{g.at, fmt.Sprint(e.Number), e.Driver, in.hitchOf(e), lettersWords(cl, in.Rules), tick, tick, ""}
			if g.gone {
				row = []string{g.at, struck + row[1], struck + row[2], "", "", "", "", e.Status}
			}
			rows = append(rows, row)
		}
		if in.Blank {
			rows = nil
			for range blankRows {
				rows = append(rows, []string{"", "", "", "", "", tick, tick, ""})
			}
		}
		f.words(body, false, "Team: ______________________________________________    Sheets: ______ written, ______ fetched.")
		f.table("In order of go", cols, rows, 9.5)
		pages = append(pages, f.pages...)
	}
	if len(pages) == 0 {
		return nil, in.noHazard(HazardList)
	}
	return pages, nil
}

// lettersWords is "A to C".
func lettersWords(c *trial.Class, p *rules.Profile) string {
	l := c.Letters(p)
	switch len(l) {
	case 0:
		return "all"
	case 1:
		return l[0]
	}
	return l[0] + " to " + l[len(l)-1]
}

// gapList is the gaps in order of go, large: read off a clipboard in the rain.
func gapList(in *DayInput) ([]Scene, error) {
	f := in.flow("Gaps in order of go", "Cones", false)
	f.words(13, true, "Inner face to inner face at the ground, evenly about the middle of the pair. Read every gap back before it is set.")
	cols := []column{{head: "time", width: 20, right: true}, {head: "no.", width: 21, right: true, large: true}, {head: "driver", width: 46}, {head: "gap, cm", width: 28, right: true, large: true}, {head: "change", width: 21, right: true}, {head: "inches", width: 26, right: true}, {head: "set"}}
	var rows [][]string
	before := 0
	for _, g := range in.goers(rules.Cones) {
		switch {
		case in.Blank:
		case g.entry == nil:
			rows = append(rows, []string{g.at, across + g.pause, "", "", "", "", ""})
		case g.gone:
			rows = append(rows, []string{g.at, struck + fmt.Sprint(g.entry.Number), struck + g.entry.Driver, "", "", "", ""})
		default:
			e := g.entry
			row := []string{g.at, fmt.Sprint(e.Number), e.Driver, "", "", "", tick}
			if e.GapCM > 0 {
				row[3], row[5] = fmt.Sprint(e.GapCM), inches(float64(e.GapCM))
				switch {
				case before == 0:
					row[4] = "set"
				case before == e.GapCM:
					row[4] = "–"
				default:
					row[4] = fmt.Sprintf("%+d", e.GapCM-before)
				}
				before = e.GapCM
			}
			rows = append(rows, row)
		}
	}
	if in.Blank {
		for range blankRows - 4 {
			rows = append(rows, []string{"", "", "", "", "", "", tick})
		}
	}
	f.tableOf("“–” is the same as before", cols, rows, 11, 13)
	f.words(body, false, "Pairs of each setter: ______________________________________________")
	f.need(lineStep(body))
	f.words(body, false, "Measured by ______________________  Cones steward ______________________")
	return f.pages, nil
}

// sectionTimes lists start and finish of every entry, section by section.
func sectionTimes(in *DayInput) ([]Scene, error) {
	var pages []Scene
	for _, c := range in.coursesOf(rules.Sections) {
		if in.Course != "" && c.ID != in.Course {
			continue
		}
		f := in.flow("Section times", "Section "+courseName(c), true)
		var says []string
		for _, k := range []struct{ word, s string }{{"time allowed", c.AllowedS}, {"least time", c.MinimumS}, {"time limit", c.LimitS}} {
			if k.s != "" {
				says = append(says, k.word+" "+minutesOf(k.s))
			}
		}
		if c.LengthM != "" {
			says = append(says, c.LengthM+" m")
		}
		if len(says) > 0 {
			f.words(13, true, capital(strings.Join(says, ", "))+".")
		}
		f.words(body, false, "Clock time to the second. Start and finish by the nose at the line. Two watches at the finish.")
		cols := []column{{head: "no.", width: 20, right: true, large: true}, {head: "driver", width: 48}, {head: "kind", width: 38}, {head: "start  h : min : s", width: 42}, {head: "finish  h : min : s", width: 42}, {head: "time", width: 28, right: true}, {head: "faults, remarks"}}
		var rows [][]string
		for _, g := range in.goers(rules.Sections) {
			if g.entry == nil || !in.classOf(g.entry).Drives(c) {
				continue
			}
			e := g.entry
			row := []string{fmt.Sprint(e.Number), e.Driver, in.hitchOf(e), ":          :", ":          :", "", ""}
			if s := in.sheetOf(rules.Sections, e.Number, c.ID); s != nil {
				row[3], row[4], row[5], row[6] = "", "", minutesOf(s.Seconds), faultWords(rules.Sections, s)
			}
			if g.gone {
				row = []string{struck + row[0], struck + row[1], "", "", "", "", e.Status}
			}
			rows = append(rows, row)
		}
		f.table("In order of go", cols, rows, 11)
		f.need(lineStep(body))
		f.words(body, false, "Timer ______________________  Second watch ______________________")
		pages = append(pages, f.pages...)
	}
	if len(pages) == 0 {
		return nil, in.none(SectionTimes, "the trial has no section", "write courses: [{id: A, phase: sections, allowed_s: …}]")
	}
	return pages, nil
}
