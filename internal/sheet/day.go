package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/trial"
)

// The papers of a driving day, by the word that is typed for each.
const (
	OrderOfGo     = "order-of-go"
	Scratches     = "scratches"
	DressageSheet = "dressage-sheet"
	SectionTimes  = "section-times"
	HazardList    = "hazard-list"
	HazardSheet   = "hazard-sheet"
	GapList       = "gap-list"
	ConesSheet    = "cones-sheet"
	TimedSheet    = "timed-sheet"
	JudgedSheet   = "judged-sheet"
	Results       = "results"
	Working       = "working"
	QuerySlip     = "query-slip"
)

// DayKind is a paper of a driving day.
type DayKind struct {
	Name  string
	Title string
	Says  string // what is on it, for a list of papers
	Phase string // the phase whose runs it is of; "" none
	// Scores: what is drawn when it is not blank needs DayInput.Answer.
	Scores bool
	draw   func(*DayInput) ([]Scene, error)
}

// DayKinds lists the papers of a driving day, in the order they are needed.
func DayKinds() []DayKind {
	return []DayKind{
		{Name: OrderOfGo, Title: "Order of go", Says: "every phase with times, gaps, breaks, who shares what; the scratched struck through", draw: orderOfGo},
		{Name: Scratches, Title: "Scratches and changes", Says: "who does not start and why, with lines for what changes on the day", draw: scratches},
		{Name: DressageSheet, Title: "Dressage judge's sheet", Says: "the test's movements with a box for each mark", Phase: rules.Dressage, Scores: true, draw: dressageSheet},
		{Name: SectionTimes, Title: "Section times", Says: "start and finish of every entry in a section", Phase: rules.Sections, Scores: true, draw: sectionTimes},
		{Name: HazardList, Title: "Hazard team's list", Says: "who comes when, sheets done and collected, holds", Phase: rules.Hazards, draw: hazardList},
		{Name: HazardSheet, Title: "Hazard observer's sheet", Says: "boxes for the letters as driven, two watches, faults, the line", Phase: rules.Hazards, Scores: true, draw: hazardSheet},
		{Name: GapList, Title: "Gaps in order of go", Says: "the gap of every entry and the change from the one before", Phase: rules.Cones, draw: gapList},
		{Name: ConesSheet, Title: "Cones sheet", Says: "a box for each obstacle, two watches, bell stops, faults", Phase: rules.Cones, Scores: true, draw: conesSheet},
		{Name: TimedSheet, Title: "Timed obstacles sheet", Says: "a box for each obstacle, two watches, faults", Phase: rules.Timed, Scores: true, draw: timedSheet},
		{Name: JudgedSheet, Title: "Judge's sheet", Says: "the parts of the mark with what each may have", Phase: rules.Judged, Scores: true, draw: judgedSheet},
		{Name: Results, Title: "Results", Says: "placings class by class, provisional or final", Scores: true, draw: results},
		{Name: Working, Title: "Score with its working", Says: "one entry's numbers, line by line, for its driver", Scores: true, draw: working},
		{Name: QuerySlip, Title: "Query", Says: "what is doubted, what was decided, the number before and after", draw: querySlip},
	}
}

// DayKindNamed finds a paper of the day by the word that is typed for it.
func DayKindNamed(name string) (DayKind, bool) {
	for _, k := range DayKinds() {
		if k.Name == name {
			return k, true
		}
	}
	return DayKind{}, false
}

// DayInput is what a paper of the day is drawn from.
type DayInput struct {
	Trial *trial.Trial
	Rules *rules.Profile
	// Answer is the trial's scores: for results, and for sheets as they are
	// filled with the working beside the number. Blank papers want none.
	Answer *trial.Answer
	// Stands is how the placings of each class stand, by its id. A class that is
	// not in it has boxes to tick.
	Stands map[string]trial.Stand
	// Plans are the grounds: hazards and cones courses of the same name as the
	// trial's are drawn from them; none leaves room to draw by hand.
	Plans []*plan.Plan

	Entry  int    // one entry alone; 0: all of them
	Course string // id of a course, or of a dressage test; "" all
	Class  string // id of a class; "" all
	Blank  bool   // to be written on: nothing of the trial's sheets is shown

	Event     string // "" is the trial's name
	Date      string // the day it is for, as it shall be printed; "" is the day of printing
	Version   string // "" leaves a line to write on
	PrintedAt time.Time
	Paper     Paper // the zero value is A4
}

// Day draws a paper of a driving day, page by page. A kind it does not know, an
// entry, class or course that is not there, and an input that lacks what the kind
// is drawn from are faults.
func Day(kind string, in DayInput) ([]Scene, error) {
	k, ok := DayKindNamed(kind)
	if !ok {
		var names []string
		for _, k := range DayKinds() {
			names = append(names, k.Name)
		}
		return nil, unknown(kind, names)
	}
	if in.Trial == nil || in.Rules == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-trial", Place: kind, Message: "there is no trial to draw from", Hint: "name a trial with its rule profile"}
	}
	if k.Scores && !in.Blank && in.Answer == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-scores", Place: kind, Message: "there are no scores to print", Hint: "score the trial first, or ask for blank sheets"}
	}
	if in.Paper == (Paper{}) {
		in.Paper = A4
	}
	if err := in.there(&k); err != nil {
		return nil, err
	}
	return finished(k.draw(&in))
}

// there finds what was named and is not in the trial.
func (in *DayInput) there(k *DayKind) error {
	missing := func(option, what string, have []string) error {
		f := &fault.Fault{Code: fault.NotFound, Rule: "sheet-of", Place: option, Message: "the trial has no " + what}
		if len(have) > 0 {
			f.Hint = "there are " + strings.Join(have, ", ")
		}
		return f
	}
	if in.Entry != 0 && in.entry(in.Entry) == nil {
		return missing("--entry", fmt.Sprintf("entry %d", in.Entry), nil)
	}
	if in.Class != "" && in.class(in.Class) == nil {
		var have []string
		for i := range in.Trial.Classes {
			have = append(have, in.Trial.Classes[i].ID)
		}
		return missing("--class", "class "+in.Class, have)
	}
	if k.Phase == "" {
		return nil
	}
	if !slices.ContainsFunc(in.Trial.Classes, func(c trial.Class) bool { return c.Has(k.Phase) }) {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet-of", Place: k.Name, Message: fmt.Sprintf("no class of the trial drives %s", k.Phase), Hint: "it is among the phases of a class: phases: [" + k.Phase + "]"}
	}
	if in.Course == "" {
		return nil
	}
	var have []string
	if k.Phase == rules.Dressage {
		for i := range in.Trial.Tests {
			have = append(have, in.Trial.Tests[i].ID)
		}
	} else {
		for _, c := range in.coursesOf(k.Phase) {
			have = append(have, c.ID)
		}
	}
	if !slices.Contains(have, in.Course) {
		return missing("--course", fmt.Sprintf("%s %q of the %s", map[bool]string{true: "test", false: "course"}[k.Phase == rules.Dressage], in.Course, k.Phase), have)
	}
	return nil
}

func (in *DayInput) entry(n int) *trial.Entry {
	for i := range in.Trial.Entries {
		if in.Trial.Entries[i].Number == n {
			return &in.Trial.Entries[i]
		}
	}
	return nil
}

func (in *DayInput) class(id string) *trial.Class {
	for i := range in.Trial.Classes {
		if in.Trial.Classes[i].ID == id {
			return &in.Trial.Classes[i]
		}
	}
	return nil
}

// classOf is an entry's class; an empty one where there is none.
func (in *DayInput) classOf(e *trial.Entry) *trial.Class {
	if e != nil {
		if c := in.class(e.Class); c != nil {
			return c
		}
	}
	return &trial.Class{}
}

// coursesOf lists the courses of a phase, in the order of the file.
func (in *DayInput) coursesOf(phase string) []*trial.Course {
	var all []*trial.Course
	for i := range in.Trial.Courses {
		if c := &in.Trial.Courses[i]; c.Phase == phase {
			all = append(all, c)
		}
	}
	return all
}

// score is an entry's score; nil where there is none.
func (in *DayInput) score(n int) *trial.EntryScore {
	if in.Answer == nil || in.Blank {
		return nil
	}
	for i := range in.Answer.Entries {
		if in.Answer.Entries[i].Number == n {
			return &in.Answer.Entries[i]
		}
	}
	return nil
}

// heading is the heading of the paper's pages.
func (in *DayInput) heading(title, of string) heading {
	event := in.Event
	if event == "" {
		event = in.Trial.Name
	}
	return heading{Title: title, Of: of, Event: event, Date: in.Date, Version: in.Version, Printed: in.PrintedAt}
}

// flow begins a paper of lists.
func (in *DayInput) flow(title, of string, wide bool) *flow {
	return &flow{head: func(of string) heading { return in.heading(title, of) }, of: of, paper: in.Paper, wide: wide}
}

// gone reports whether an entry does not start in a phase, by what the list of
// entries says. The eliminated keep their starts.
func (in *DayInput) gone(e *trial.Entry, phase string) bool {
	switch e.Status {
	case trial.Withdrawn, trial.Disqualified, trial.Retired:
	default:
		return false
	}
	if e.InPhase == "" {
		return true
	}
	all := in.classOf(e).Phases
	at := slices.Index(all, phase)
	return at < 0 || at > slices.Index(all, e.InPhase)
}

// wanted reports whether an entry is one of those that were asked for.
func (in *DayInput) wanted(e *trial.Entry) bool {
	return (in.Entry == 0 || e.Number == in.Entry) && (in.Class == "" || e.Class == in.Class)
}

// going is one line of an order of go: an entry with its time, or a break.
type going struct {
	at    string // "09:45"; "" no time is made yet
	entry *trial.Entry
	gone  bool
	pause string // a break: until when, and why
	from  int    // s after midnight, for the order
}

// goers lists who starts in a phase of the timetable, in order, breaks between. Without
// starts the entries stand in the order of the list of entries, without a time.
func (in *DayInput) goers(phase string) []going {
	var all []going
	timed := map[int]bool{}
	if tt := in.Trial.Timetable; tt != nil {
		for _, s := range tt.Starts {
			if e := in.entry(s.Entry); s.Phase == phase && e != nil && in.wanted(e) {
				all = append(all, going{at: s.At.String(), entry: e, gone: in.gone(e, phase), from: int(s.At)})
				timed[s.Entry] = true
			}
		}
		if len(all) > 0 && in.Entry == 0 {
			for i := range tt.Phases {
				if r := &tt.Phases[i]; r.Name == phase {
					for _, b := range r.Breaks {
						why := b.Why
						if why == "" {
							why = "break"
						}
						all = append(all, going{at: b.From.String(), pause: "to " + b.To.String() + ": " + why, from: int(b.From)})
					}
				}
			}
		}
		slices.SortStableFunc(all, func(a, b going) int { return a.from - b.from })
	}
	for i := range in.Trial.Entries {
		e := &in.Trial.Entries[i]
		if !timed[e.Number] && in.wanted(e) && in.starts(e, phase) {
			all = append(all, going{entry: e, gone: in.gone(e, phase)})
		}
	}
	return all
}

// starts reports whether an entry starts in a phase of the timetable, or in a phase
// of its class where there is no timetable.
func (in *DayInput) starts(e *trial.Entry, phase string) bool {
	if tt := in.Trial.Timetable; tt != nil {
		for i := range tt.Phases {
			if r := &tt.Phases[i]; r.Name == phase && len(r.Classes) > 0 {
				return slices.Contains(r.Classes, e.Class)
			}
		}
	}
	return in.classOf(e).Has(phase) || !slices.Contains(rules.Phases(), phase)
}

// dayPhases are the phases of the day in order: those of the timetable, else those
// of the classes.
func (in *DayInput) dayPhases() []string {
	var all []string
	if tt := in.Trial.Timetable; tt != nil {
		for i := range tt.Phases {
			all = append(all, tt.Phases[i].Name)
		}
	}
	for _, p := range rules.Phases() {
		if !slices.Contains(all, p) && slices.ContainsFunc(in.Trial.Classes, func(c trial.Class) bool { return c.Has(p) }) {
			all = append(all, p)
		}
	}
	return all
}

// hitchOf is the kind of turnout: what the class says, else how many horses.
func (in *DayInput) hitchOf(e *trial.Entry) string {
	c := in.classOf(e)
	kind := c.Hitch
	if kind == "" && e != nil {
		kind = map[int]string{1: "single", 2: "pair or tandem", 4: "four"}[len(e.Horses)]
	}
	if c.Size == "vse" {
		kind = strings.TrimSpace("VSE " + kind)
	} else if c.Size != "" {
		kind = strings.TrimSpace(c.Size + " " + kind)
	}
	return kind
}

// classTitle is a class as people say it.
func classTitle(c *trial.Class) string {
	if c.Name == "" {
		return c.ID
	}
	return c.ID + ", " + c.Name
}

// courseName is a course as people say it.
func courseName(c *trial.Course) string {
	if c.Name == "" {
		return c.ID
	}
	return c.Name
}
