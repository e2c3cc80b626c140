package trial

import (
	"maps"
	"slices"
	"strconv"

	"terret/internal/gates"
	"terret/internal/rules"
	"terret/internal/trial/order"
)

// Format is the name and version this package reads and writes.
const Format = "trial/1"

// Statuses of an entry.
const (
	Placed       = "placed"
	Eliminated   = "eliminated"
	Retired      = "retired"
	Withdrawn    = "withdrawn"
	Disqualified = "disqualified"
	HorsConcours = "hors concours"
)

// Statuses lists them.
func Statuses() []string {
	return []string{Placed, Eliminated, Retired, Withdrawn, Disqualified, HorsConcours}
}

// Kinds of a timed course.
const (
	InOrder        = "in order"         // numbered, faults are seconds
	FreeOrder      = "free order"       // the driver chooses the way; each once, faults are seconds
	FaultAndOut    = "fault and out"    // points until the first fault or the bell, then one more
	ChoiceByPoints = "choice by points" // obstacles worth different points, driver's choice
)

// Trial is one driving day: who enters what, the tests and courses, the sheets.
type Trial struct {
	Name    string
	Rules   string // profile, or a path to one
	Classes []Class
	Entries []Entry
	Tests   []Test
	Courses []Course
	Sheets  []Sheet // in the order written; a later one may replace an earlier
	Teams   []Team
	Series  []Series

	Timetable *Timetable // nil: none is made yet
}

// Class is what is driven against each other.
type Class struct {
	ID, Name    string
	Hitch, Size string   // "" where not said
	Through     string   // last letter in play in hazards; "" from Level
	Level       string   // of rules.Levels; ""
	Judged      string   // kind of a judged class: working, turnout, reinsmanship; ""
	Phases      []string // of rules.Phases, in the order driven
}

// Has reports whether the class drives a phase.
func (c *Class) Has(phase string) bool { return slices.Contains(c.Phases, phase) }

// Drives reports whether the class drives a course.
func (c *Class) Drives(k *Course) bool { return k.drivenBy(c) }

// Letters are the gates that the class drives in a hazard, in order, under a
// profile; none where neither the class nor its level names a last one.
func (c *Class) Letters(p *rules.Profile) []string { return gates.Letters(through(c, p)) }

// Entry is a driver with what is driven, in one class.
type Entry struct {
	Number         int
	Class          string
	Driver         string
	Grooms, Horses []string
	Vehicle        string
	Turnout        string // file of the turnout; ""
	Status         string // of Statuses; "" is placed
	InPhase        string // where the status came about; ""
	Why            string // in the officials' words; ""

	GapCM  int          // width the cones are set to for this turnout; 0 not said
	Wishes []order.Wish // for the order of go
}

// own is what the list of entries says became of an entry.
func (e *Entry) own() Status {
	return Status{Entry: e.Number, Status: e.Status, InPhase: e.InPhase, Why: e.Why}
}

// Hitches lists what a class may say it drives: Class.Hitch.
func Hitches() []string { return []string{"single", "pair", "tandem", "four"} }

// Sizes lists what a class may say of its horses: Class.Size.
func Sizes() []string { return []string{"vse", "pony", "horse"} }

// JudgedKinds lists the judged classes whose parts a profile names: Class.Judged.
func JudgedKinds() []string { return []string{"working", "turnout", "reinsmanship"} }

// TimedKinds lists the kinds of a timed course: Course.Kind.
func TimedKinds() []string { return []string{InOrder, FreeOrder, FaultAndOut, ChoiceByPoints} }

// Test is a dressage test.
type Test struct {
	ID, Name    string
	Maximum     string // marks, decimal
	Coefficient string // as printed on the sheet; "" where none is
	Movements   []Movement
}

// Movement is one marked line of a test.
type Movement struct {
	No    int
	Times int    // the mark counts so often
	Text  string // where and what, as it is printed on the sheet; ""
}

// Course is a hazard, a section, a cones course or a timed course. Times and
// lengths are decimal texts; "" is not said.
type Course struct {
	ID, Name, Phase            string
	Classes                    []string // those that drive it; none: all that have the phase
	Kind                       string   // of a timed course; "" is InOrder
	LengthM, SpeedMPerMin      string
	AllowedS, MinimumS, LimitS string
	Points                     map[string]string // of ChoiceByPoints: obstacle → points
}

// Sheet is one paper of one run: what a judge and a timer wrote. All sheets have
// Phase and Entry; the rest is by phase. Numbers are the texts on the paper.
type Sheet struct {
	ID       string            `json:"id,omitempty"`       // may be left out of a file; see NameSheets
	Replaces string            `json:"replaces,omitempty"` // the ID of the sheet this one corrects
	Phase    string            `json:"phase"`
	Entry    int               `json:"entry"`
	Test     string            `json:"test,omitempty"`   // dressage
	Judge    string            `json:"judge,omitempty"`  // dressage, judged
	Course   string            `json:"course,omitempty"` // hazards, sections, cones, timed
	Class    string            `json:"class,omitempty"`  // judged
	Marks    []string          `json:"marks,omitempty"`
	Gates    string            `json:"gates,omitempty"`
	Seconds  string            `json:"seconds,omitempty"`
	Backup   string            `json:"backup,omitempty"`  // what the second watch showed
	Stops    []string          `json:"stops,omitempty"`   // seconds a watch ran on while the bell had stopped the course
	Knocked  []string          `json:"knocked,omitempty"` // cones: obstacles and parts, such as "3", "7b"
	Faults   map[string]int    `json:"faults,omitempty"`
	Parts    map[string]string `json:"parts,omitempty"`   // judged
	Cleared  int               `json:"cleared,omitempty"` // fault and out: obstacles clear before the first fault or the bell
	Extra    string            `json:"extra,omitempty"`   // fault and out: the one more: clear, missed, not driven
	Driven   []string          `json:"driven,omitempty"`  // choice by points: obstacles clear, in the order driven
	Out      string            `json:"out,omitempty"`     // the judge eliminated: why; "" not
}

// clone copies a sheet with all it holds.
func (s *Sheet) clone() Sheet {
	c := *s
	c.Marks, c.Stops, c.Knocked, c.Driven = slices.Clone(s.Marks), slices.Clone(s.Stops), slices.Clone(s.Knocked), slices.Clone(s.Driven)
	c.Faults, c.Parts = maps.Clone(s.Faults), maps.Clone(s.Parts)
	return c
}

// Extras of a fault-and-out round.
const (
	ExtraClear     = "clear"
	ExtraMissed    = "missed"
	ExtraNotDriven = "not driven"
)

// Run names what the sheet is of: one run has one sheet that counts.
func (s *Sheet) Run() string {
	switch s.Phase {
	case rules.Dressage, rules.Judged:
		return s.Phase + ":" + itoa(s.Entry) + ":" + s.Judge
	}
	return s.Phase + ":" + itoa(s.Entry) + ":" + s.Course
}

// Team is some entries whose scores count together.
type Team struct {
	Name    string
	Members []int
}

// Series is several days of one league.
type Series struct {
	Name string
	Days []SeriesDay
}

// SeriesDay is one day: the places that drivers had, 1 the best.
type SeriesDay struct {
	Name   string
	Final  bool
	Places map[string]int
}

// NameSheets gives each sheet without an ID one: its run, with the number of the
// writing behind it from the second on.
func (t *Trial) NameSheets() {
	taken := make(map[string]bool, len(t.Sheets))
	for i := range t.Sheets {
		taken[t.Sheets[i].ID] = true
	}
	next := map[string]int{} // the number to try, by run
	for i := range t.Sheets {
		s := &t.Sheets[i]
		if s.ID != "" {
			continue
		}
		run := s.Run()
		id := run
		for n := max(next[run], 2); taken[id]; n++ {
			id = run + ":" + itoa(n)
			next[run] = n + 1
		}
		s.ID, taken[id] = id, true
	}
}

// Counting lists the sheets that count: the last of each chain of corrections,
// in the order written. Every sheet must have its ID; see NameSheets.
func (t *Trial) Counting() []*Sheet {
	replaced := make(map[string]bool)
	for i := range t.Sheets {
		if r := t.Sheets[i].Replaces; r != "" {
			replaced[r] = true
		}
	}
	all := make([]*Sheet, 0, len(t.Sheets))
	for i := range t.Sheets {
		if s := &t.Sheets[i]; !replaced[s.ID] {
			all = append(all, s)
		}
	}
	return all
}

func itoa(n int) string { return strconv.Itoa(n) }
