package trials

import (
	"fmt"
	"slices"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
)

// pile is the paper of one course or one judge, as it lies on the scorer's desk.
type pile struct {
	Phase  string
	Course string // of hazards, sections, cones, timed
	Test   string // of dressage, where there are several
	Class  string // of judged
	Judge  string // of dressage, judged
}

// key names the pile in an address.
func (p pile) key() string {
	switch p.Phase {
	case rules.Dressage:
		return strings.Join([]string{p.Phase, p.Test, p.Judge}, ":")
	case rules.Judged:
		return strings.Join([]string{p.Phase, p.Class, p.Judge}, ":")
	}
	return p.Phase + ":" + p.Course
}

// pileOf reads what key wrote; ok is false when the trial has no such pile.
func pileOf(key string, t *trial.Trial) (p pile, ok bool) {
	part := strings.SplitN(key, ":", 3)
	if len(part) < 2 {
		return p, false
	}
	p = pile{Phase: part[0]}
	judged := len(part) == 3 && part[2] != "" && len(part[2]) <= 20
	switch p.Phase {
	case rules.Dressage:
		ok = judged && slices.ContainsFunc(t.Tests, func(x trial.Test) bool { return x.ID == part[1] })
		p.Test = part[1]
	case rules.Judged:
		ok = judged && slices.ContainsFunc(t.Classes, func(c trial.Class) bool { return c.ID == part[1] && c.Has(rules.Judged) })
		p.Class = part[1]
	default:
		p.Course = strings.Join(part[1:], ":")
		return p, slices.ContainsFunc(t.Courses, func(c trial.Course) bool { return c.ID == p.Course && c.Phase == p.Phase })
	}
	if judged {
		p.Judge = part[2]
	}
	return p, ok
}

// name says the pile in words.
func (p pile) name(t *trial.Trial) string {
	switch p.Phase {
	case rules.Dressage:
		if len(t.Tests) > 1 {
			return "Dressage " + p.Test + ", judge " + p.Judge
		}
		return "Dressage, judge " + p.Judge
	case rules.Judged:
		return "Judged, class " + p.Class + ", judge " + p.Judge
	}
	name := p.Course
	for _, c := range t.Courses {
		if c.ID == p.Course && c.Name != "" && !strings.EqualFold(c.Name, c.ID) {
			name += ", " + c.Name
		}
	}
	phase := map[string]string{rules.Sections: "Section", rules.Hazards: "Hazard", rules.Cones: "Cones", rules.Timed: "Timed"}[p.Phase]
	if strings.HasPrefix(strings.ToLower(name), strings.ToLower(phase)) {
		return name
	}
	return phase + " " + name
}

// run is a sheet of the pile for an entry, with nothing on it yet.
func (p pile) run(entry int) trial.Sheet {
	s := trial.Sheet{Phase: p.Phase, Entry: entry, Course: p.Course, Test: p.Test, Judge: p.Judge}
	if p.Phase == rules.Judged {
		s.Class = p.Class
	}
	return s
}

// takes reports whether an entry of the class has a sheet in the pile.
func (p pile) takes(c *trial.Class, t *trial.Trial) bool {
	if c == nil || !c.Has(p.Phase) {
		return false
	}
	if p.Phase == rules.Judged {
		return c.ID == p.Class
	}
	for i := range t.Courses {
		if x := &t.Courses[i]; x.ID == p.Course && p.Course != "" {
			return len(x.Classes) == 0 || slices.Contains(x.Classes, c.ID)
		}
	}
	return p.Course == ""
}

// piles lists the piles of a trial: its courses and tests, with the judges of whom
// there is a sheet, or judge C before the first.
func (t *openTrial) piles() []pile {
	now := t.now()
	drives := func(phase string) bool {
		return slices.ContainsFunc(now.Classes, func(c trial.Class) bool { return c.Has(phase) })
	}
	judges := func(of func(s *trial.Sheet) bool) []string {
		var all []string
		for i := range now.Sheets {
			if s := &now.Sheets[i]; of(s) && !slices.Contains(all, s.Judge) {
				all = append(all, s.Judge)
			}
		}
		slices.SortFunc(all, func(a, b string) int { // C, the president, first
			switch {
			case a == b:
				return 0
			case a == "C":
				return -1
			case b == "C":
				return 1
			}
			return strings.Compare(a, b)
		})
		if all == nil {
			all = []string{"C"}
		}
		return all
	}
	var all []pile
	for _, phase := range rules.Phases() {
		if !drives(phase) {
			continue
		}
		switch phase {
		case rules.Dressage:
			for _, x := range now.Tests {
				for _, j := range judges(func(s *trial.Sheet) bool {
					return s.Phase == phase && (s.Test == x.ID || s.Test == "" && len(now.Tests) == 1)
				}) {
					all = append(all, pile{Phase: phase, Test: x.ID, Judge: j})
				}
			}
		case rules.Judged:
			for _, c := range now.Classes {
				if c.Has(phase) {
					for _, j := range judges(func(s *trial.Sheet) bool { return s.Phase == phase && t.classOf(s.Entry) == c.ID }) {
						all = append(all, pile{Phase: phase, Class: c.ID, Judge: j})
					}
				}
			}
		default:
			for _, c := range now.Courses {
				if c.Phase == phase {
					all = append(all, pile{Phase: phase, Course: c.ID})
				}
			}
		}
	}
	return all
}

func (t *openTrial) classOf(entry int) string {
	if e := t.entry(entry); e != nil {
		return e.Class
	}
	return ""
}

// pileEntry is one entry that has a sheet in the pile.
type pileEntry struct {
	Number        int
	Class         string
	Driver, Kind  string // kind of turnout, letters
	In            string // the ID of the mark that counts; "" not in
	Missing, Read bool
}

// counted says of a pile what is in and what is missing.
func (t *openTrial) counted(p pile, a *trial.Answer) []pileEntry {
	now := t.now()
	needs := map[int]bool{}
	known := map[string]bool{} // classes that wait for this judge or have a sheet of theirs
	if a != nil {
		for _, n := range a.Missing {
			if n.Phase == p.Phase && (n.Course == "" || n.Course == p.Course) && (n.Judge == "" || n.Judge == p.Judge) {
				needs[n.Entry] = true
				known[n.Class] = known[n.Class] || n.Judge == p.Judge
			}
		}
	}
	var all []pileEntry
	for i := range now.Entries {
		e := &now.Entries[i]
		c := t.class(e.Class)
		if !p.takes(c, now) {
			continue
		}
		x := pileEntry{Number: e.Number, Class: e.Class, Driver: e.Driver, Kind: kindOf(c, p.Phase)}
		s := p.run(e.Number)
		if m := t.ledger.Counting(s.Run()); m != nil {
			x.In, x.Read = m.ID, len(t.ledger.Ticks(m.ID)) > 0
			known[e.Class] = true
		}
		x.Missing = needs[e.Number]
		all = append(all, x)
	}
	if p.Judge != "" { // a judge of whom no sheet is in yet is not waited for by the scores
		for i := range all {
			x := &all[i]
			k := slices.IndexFunc(now.Entries, func(e trial.Entry) bool { return e.Number == x.Number })
			drives := now.Entries[k].Status == "" || now.Entries[k].Status == trial.Placed || now.Entries[k].Status == trial.HorsConcours
			if !known[x.Class] && drives && x.In == "" {
				x.Missing = true
			}
		}
	}
	slices.SortFunc(all, func(x, y pileEntry) int { return x.Number - y.Number })
	return all
}

// kindOf says what the scorer compares with the head of the sheet.
func kindOf(c *trial.Class, phase string) string {
	words := []string{c.ID}
	if c.Name != "" {
		words = []string{c.Name}
	}
	if c.Hitch != "" || c.Size != "" {
		words = append(words, strings.TrimSpace(map[string]string{"vse": "VSE"}[c.Size]+map[string]string{"pony": "pony", "horse": "horse"}[c.Size]+" "+c.Hitch))
	}
	if phase == rules.Hazards && c.Through != "" {
		words = append(words, "A to "+c.Through)
	}
	return strings.Join(words, ", ")
}

// tally says "16 of 20 in; missing 7, 12, 13, 20".
func tally(all []pileEntry) string {
	in, of := 0, 0
	var missing []int
	for _, x := range all {
		switch {
		case x.Missing:
			missing = append(missing, x.Number)
			of++
		case x.In != "":
			in++
			of++
		}
	}
	says := fmt.Sprintf("%d of %d in", in, of)
	if len(missing) > 0 {
		says += ", missing " + numbers(missing)
	}
	return says
}
