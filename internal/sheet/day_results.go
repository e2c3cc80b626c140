package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"terret/internal/rules"
	"terret/internal/trial"
)

// dash writes what may not be there.
func dash(s *string) string {
	if s == nil {
		return "–"
	}
	return *s
}

// results lists the placings class by class. A blank one is a board to write on.
func results(in *DayInput) ([]Scene, error) {
	f := in.flow("Results", "", true)
	for i := range in.Trial.Classes {
		c := &in.Trial.Classes[i]
		if in.Class != "" && c.ID != in.Class {
			continue
		}
		f.of = classTitle(c)
		if len(f.pages) > 0 {
			f.turn() // each class is pinned up by itself
		}
		in.classResults(f, c)
	}
	if len(f.pages) == 0 {
		return nil, in.none(Results, "the trial has no class to place", "add its classes first")
	}
	if in.Class == "" && !in.Blank {
		in.teamResults(f)
	}
	return f.pages, nil
}

func (in *DayInput) classResults(f *flow, c *trial.Class) {
	cols := []column{{head: "place", width: 19, right: true, large: true}, {head: "no.", width: 18, right: true, large: true}, {head: "driver", width: 44}, {head: "horses", width: 36}}
	for _, p := range c.Phases {
		cols = append(cols, column{head: p, width: 25, right: true})
		if p != c.Phases[0] && p != c.Phases[len(c.Phases)-1] {
			cols = append(cols, column{head: "so far", width: 18, right: true}) // running place
		}
	}
	cols = append(cols, column{head: "total", width: 32, right: true, large: true}, column{head: "remarks"})
	var rows [][]string
	var notes []string
	if in.Blank {
		for range max(6, len(in.Trial.Entries)/max(1, len(in.Trial.Classes))+3) {
			rows = append(rows, make([]string, len(cols)))
		}
	} else {
		f.words(13, true, in.standWords(c))
		for i := range in.Answer.Entries {
			if e := &in.Answer.Entries[i]; e.Class == c.ID {
				row, note := resultRow(c, e)
				rows = append(rows, row)
				if note != "" {
					notes = append(notes, note)
				}
			}
		}
	}
	name := "Counted in " + in.countedIn(c)
	if in.Answer != nil {
		name += ", by the rule profile " + in.Answer.Rules
	}
	f.table(name, cols, rows, 10)
	for _, n := range notes {
		f.words(body, false, n)
	}
	if !in.Blank {
		in.missingWords(f, c)
		in.memoryWords(f)
	}
	window := in.Rules.Get("score.query_window_min")
	f.words(body, false, fmt.Sprintf("Queries to the organiser within %s minutes of posting%s. Every number's working is at the scorer's. Where your event has a rulebook, that one counts.", window.Value, memoryMark(window)))
	f.need(9)
	f.gap(3)
	f.words(body, false, "Posted at ________   Queries until ________   Final at ________   Signed ______________________")
}

// countedIn is what a class is counted in.
func (in *DayInput) countedIn(c *trial.Class) string {
	if in.Answer != nil {
		for i := range in.Answer.Entries {
			if e := &in.Answer.Entries[i]; e.Class == c.ID {
				for _, p := range c.Phases {
					if ps, ok := e.Phases[p]; ok && ps.CountedIn != "" {
						return ps.CountedIn
					}
				}
			}
		}
	}
	return in.Rules.Get(rules.CountedIn).Value
}

// resultRow is one line of the placings; note is what has no room in it.
func resultRow(c *trial.Class, e *trial.EntryScore) (row []string, note string) {
	place := "–"
	if e.Place != nil {
		place = fmt.Sprint(*e.Place)
	}
	row = []string{place, fmt.Sprint(e.Number), e.Driver, strings.Join(e.Horses, ", ")}
	for _, p := range c.Phases {
		ps := e.Phases[p]
		value := dash(ps.Penalties)
		if ps.Eliminated != "" && ps.Penalties == nil {
			value = "E"
		}
		for _, l := range ps.Lines {
			if strings.Contains(l, "[from memory]") {
				value += " *"
				break
			}
		}
		row = append(row, value)
		if p != c.Phases[0] && p != c.Phases[len(c.Phases)-1] {
			running := ""
			if n := e.Running[p]; n > 0 {
				running = fmt.Sprint(n)
			}
			row = append(row, running)
		}
	}
	said := e.Why
	if e.Status != trial.Placed {
		said = strings.TrimSuffix(e.Status+": "+said, ": ")
	}
	short := said
	if len(said) > 24 || e.Tie != nil {
		short = "see below"
		if e.Status != trial.Placed {
			short = e.Status + ", see below"
		}
		if e.Tie != nil {
			said = strings.TrimPrefix(said+"; "+*e.Tie, "; ")
		}
		note = fmt.Sprintf("No. %d: %s.", e.Number, said)
	}
	return append(row, dash(e.Total), short), note
}

// standWords says whether the placings are provisional or final.
func (in *DayInput) standWords(c *trial.Class) string {
	s, known := in.Stands[c.ID]
	if !known || s.State == "" {
		return "Not posted yet: as the sheets stand at the time of printing."
	}
	clock := func(ms int64) string {
		return time.UnixMilli(ms).In(in.PrintedAt.Location()).Format("15:04")
	}
	words := "PROVISIONAL"
	if s.State == trial.Final {
		words = "FINAL"
	}
	if s.Mark != nil {
		words += ", posted " + clock(s.Mark.At) + " by " + s.Mark.By
	}
	if s.State == trial.Provisional && s.Until > 0 {
		words += ", queries until " + clock(s.Until)
	}
	if s.Stale {
		words += ". Sheets came in after that: to be posted anew"
	}
	return words + "."
}

// missingWords says which sheets of a class are not in.
func (in *DayInput) missingWords(f *flow, c *trial.Class) {
	for _, t := range in.Answer.Sheets {
		if t.Class == c.ID && len(t.Missing) > 0 {
			f.words(body, true, fmt.Sprintf("%s: %d of %d sheets in; missing: %s.", capital(t.Phase), t.In, t.Of, strings.Join(numbers(t.Missing), ", ")))
		}
	}
}

// memoryMark is behind a value nobody looked up.
func memoryMark(v rules.Value) string {
	if v.Confidence == rules.FromMemory {
		return " (from memory)"
	}
	return ""
}

// memoryWords says what the stars mean.
func (in *DayInput) memoryWords(f *flow) {
	if in.Answer == nil || len(in.Answer.FromMemory) == 0 {
		return
	}
	table := rules.KeyTable()
	var says []string
	for _, k := range in.Answer.FromMemory {
		says = append(says, table[k].Says)
	}
	f.words(body, true, "* Rests on rules that are from memory and were never looked up; check them before this is final: "+strings.Join(says, "; ")+".")
}

func numbers(all []int) []string {
	words := make([]string, len(all))
	for i, n := range all {
		words[i] = fmt.Sprint(n)
	}
	return words
}

// teamResults are the teams and the series, where there are any.
func (in *DayInput) teamResults(f *flow) {
	if len(in.Answer.Teams) == 0 {
		return
	}
	f.of = "Teams"
	f.turn()
	var rows [][]string
	for _, t := range in.Answer.Teams {
		place := "–"
		if t.Place != nil {
			place = fmt.Sprint(*t.Place)
		}
		rows = append(rows, []string{place, t.Name, dash(t.Total), t.Why})
	}
	f.table("Teams", []column{{head: "place", width: 19, right: true, large: true}, {head: "team", width: 70}, {head: "total", width: 34, right: true, large: true}, {head: "remarks"}}, rows, 10)
}

// working is one entry's score, line by line: what its driver takes home.
func working(in *DayInput) ([]Scene, error) {
	var pages []Scene
	for i := range in.Trial.Entries {
		e := &in.Trial.Entries[i]
		sc := in.score(e.Number)
		if !in.wanted(e) || sc == nil {
			continue
		}
		c := in.classOf(e)
		f := in.flow("Score with its working", fmt.Sprintf("No. %d, %s", e.Number, e.Driver), false)
		head := classTitle(c)
		if h := strings.Join(e.Horses, ", "); h != "" {
			head += "; " + h
		}
		f.words(13, false, head+".")
		memory := false
		for _, p := range c.Phases {
			ps := sc.Phases[p]
			f.need(3 * lineStep(13))
			f.gap(2)
			what := capital(p) + ": " + dash(ps.Penalties)
			if ps.Eliminated != "" {
				what = capital(p) + ": eliminated, " + ps.Eliminated
			}
			if ps.Place != nil {
				what += fmt.Sprintf("   (place %d in this phase)", *ps.Place)
			}
			f.words(14, true, what)
			for _, l := range ps.Lines {
				f.words(13, false, l)
				memory = memory || strings.Contains(l, "[from memory]")
			}
			if len(ps.Lines) == 0 {
				f.words(13, false, "No sheet is in.")
			}
		}
		for _, name := range slices.Sorted(func(yield func(string) bool) {
			for k := range sc.Sums {
				if !yield(k) {
					return
				}
			}
		}) {
			f.words(13, false, capital(name)+": "+strings.Join(sc.Sums[name].Lines, "; "))
		}
		f.gap(3)
		total := "Total: " + dash(sc.Total)
		if sc.Place != nil {
			total += fmt.Sprintf(", place %d", *sc.Place)
		}
		if sc.Status != trial.Placed {
			total += ", " + sc.Status
		}
		f.words(17, true, total)
		for _, l := range sc.Lines {
			f.words(13, false, l)
		}
		if sc.Why != "" {
			f.words(13, false, capital(sc.Why)+".")
		}
		if sc.Tie != nil {
			f.words(13, false, "Tie: "+*sc.Tie+".")
		}
		if memory {
			f.words(body, true, "[from memory]: the rule was never looked up; check it.")
		}
		f.words(body, false, "By the rule profile "+in.Answer.Rules+". Where your event has a rulebook, that one counts.")
		pages = append(pages, f.pages...)
	}
	if len(pages) == 0 {
		hint := "add its entries first"
		if in.Blank {
			hint = "leave out --blank; blank sheets are of the phases"
		}
		return nil, in.none(Working, "there is no score to open", hint)
	}
	return pages, nil
}

// querySlip is the paper of one query: who doubts what, what was heard and decided.
func querySlip(in *DayInput) ([]Scene, error) {
	s, r := in.heading("Query", "").page(in.Paper, false)
	fm := form{in: in, s: &s, r: r}
	fm.who(in.entry(in.Entry), nil)
	fm.gap(3)
	fm.lines([]string{"received at", "by"}, []string{"phase, hazard or obstacle", "class posted at"}, []string{"sheets attached"})
	fm.area("What is doubted, in the driver's own words", 38)
	fm.lines([]string{"rule, with its number"}, []string{"who was heard"}, []string{"who was heard"})
	fm.area("Decided, and why", 38)
	fm.lines([]string{"the number was", "and is now"}, []string{"decided by", "at"}, []string{"posted anew at", "driver has a copy"})
	fm.gap(2)
	fee := "A fee or a time for queries is the rulebook's; ask before the class is final. The sheet as it was first written stays readable: strike through, write beside, initial."
	fm.words(body, false, fee)
	return []Scene{s}, nil
}
