package sheet

import (
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/survey"
	"terret/internal/turnout"
)

// The papers, by the word that is typed for each.
const (
	Drivers       = "hazard-drivers"
	Clinic        = "hazard-clinic"
	Builders      = "hazard-builders"
	ConesDrivers  = "cones-drivers"
	ConesBuilders = "cones-builders"
	Stakes        = "stakes"
	Gaps          = "gaps"
	Materials     = "materials"
	ArenaPlan     = "arena"
)

// Subject is what of a plan a paper is about.
type Subject string

// The subjects.
const (
	OfHazard Subject = "hazard"
	OfCourse Subject = "course"
	OfArena  Subject = "arena"
	OfPlan   Subject = "plan" // all of it
)

// Turnouts is how many turnouts a paper takes.
type Turnouts uint8

// How many.
const (
	NoTurnout   Turnouts = iota
	OneTurnout           // and the ways that it may drive: Input.Answer
	AnyTurnouts          // none too: Input.Turnouts, in order of go
)

// Kind is a paper, and what it has to be given.
type Kind struct {
	Name     string    // as it is typed: "cones-drivers"
	Title    string    // as its heading says
	Says     string    // what is on it, for a list of papers
	Of       []Subject // any one of these; the first is the usual one
	Turnouts Turnouts
	Stakes   bool // it is drawn from Input.Stakes
	draw     func(*Input) ([]Scene, error)
}

// For reports whether the paper can be about a subject.
func (k *Kind) For(s Subject) bool { return slices.Contains(k.Of, s) }

// Kinds lists the papers of a plan; those of a turnout are TurnoutKinds.
func Kinds() []Kind {
	return []Kind{
		{Name: Drivers, Title: "Course plan for drivers", Says: "the hazard and its gates, no line", Of: []Subject{OfHazard}, draw: drivers},
		{Name: Clinic, Title: "Clinic plan", Says: "two ways and their figures, for one turnout", Of: []Subject{OfHazard}, Turnouts: OneTurnout, draw: clinic},
		{Name: Builders, Title: "Builder's plan", Says: "every post with its place in metres", Of: []Subject{OfHazard}, draw: builders},
		{Name: ConesDrivers, Title: "Course plan for drivers", Says: "numbered pairs, length and time allowed, no line", Of: []Subject{OfCourse}, draw: conesDrivers},
		{Name: ConesBuilders, Title: "Builder's plan of the cones", Says: "every cone with its place, and the line to wheel", Of: []Subject{OfCourse}, Turnouts: AnyTurnouts, draw: conesBuilders},
		{Name: Gaps, Title: "Gaps for setters", Says: "gap of every turnout in order of go, or by track width", Of: []Subject{OfCourse}, Turnouts: AnyTurnouts, draw: gaps},
		{Name: Stakes, Title: "Setting-out list", Says: "two tapes, baseline and check of every point, boxes for as built", Of: []Subject{OfCourse, OfHazard, OfArena}, Stakes: true, draw: stakeList},
		{Name: ArenaPlan, Title: "Dressage arena", Says: "corners, diagonals and letters with their distances", Of: []Subject{OfArena}, Stakes: true, draw: arenaPlan},
		{Name: Materials, Title: "Material count", Says: "what has to be carried to the ground, spares apart", Of: []Subject{OfCourse, OfHazard, OfArena, OfPlan}, draw: materialCount},
	}
}

// KindNamed finds a paper of a plan by the word that is typed for it.
func KindNamed(name string) (Kind, error) {
	var names []string
	for _, k := range Kinds() {
		if k.Name == name {
			return k, nil
		}
		names = append(names, k.Name)
	}
	names = append(names, TurnoutKinds()...)
	for _, k := range DayKinds() {
		names = append(names, k.Name)
	}
	for _, k := range RotaKinds() {
		names = append(names, k.Name)
	}
	return Kind{}, unknown(name, names)
}

// Input is what a paper is drawn from. Its kind says which of Hazard, Course and
// Arena are taken, and whether turnouts or a list of stakes are.
type Input struct {
	Plan *plan.Plan
	// What of the plan: at most one.
	Hazard *plan.Hazard
	Course *plan.Course
	Arena  bool

	// Answer is what Turnout may drive; for the clinic plan only. Its quickest
	// way is drawn, and with it the one of the others that runs most differently.
	Answer  *hazard.Answer
	Turnout *turnout.Turnout
	// Turnouts are those a list goes by, in order of go.
	Turnouts []*turnout.Turnout
	Stakes   *survey.StakeList // of what is chosen
	Rules    *rules.Profile    // nil is the usual one

	Through string // last letter in play; "" is all, or Answer's
	Class   string // class, for gates that are only for some

	Event     string // "" leaves a line to write on
	Date      string // the day it is for, as it shall be printed; "" is the day of printing
	Version   string // of the plan: "C"; "" leaves a line to write on
	PrintedAt time.Time
	Paper     Paper // the zero value is A4
}

// Subject is what the input is about.
func (in *Input) Subject() Subject {
	switch {
	case in.Hazard != nil:
		return OfHazard
	case in.Course != nil:
		return OfCourse
	case in.Arena:
		return OfArena
	}
	return OfPlan
}

// Draw draws a paper page by page. A kind it does not know and an input that
// lacks what the kind is drawn from are faults.
func Draw(kind string, in Input) ([]Scene, error) {
	k, err := KindNamed(kind)
	if err != nil {
		return nil, err
	}
	if in.Plan == nil || !k.For(in.Subject()) {
		want := string(k.Of[0])
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-" + want, Place: kind, Message: "there is no " + want + " to draw", Hint: "name a plan with a " + want}
	}
	if k.Stakes && in.Stakes == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-stakes", Place: kind, Message: "there is no list of stakes to draw", Hint: "work one out with package survey first"}
	}
	if in.Paper == (Paper{}) {
		in.Paper = A4
	}
	if in.Through == "" && in.Answer != nil {
		in.Through = in.Answer.Through
	}
	if in.Rules == nil {
		if in.Rules, err = rules.Load(rules.Default); err != nil {
			return nil, err
		}
	}
	return finished(k.draw(&in))
}

// of is the name of what a paper is about.
func (in *Input) of() string {
	switch in.Subject() {
	case OfHazard:
		return in.Hazard.Name
	case OfCourse:
		return in.Course.Name
	case OfArena:
		return "Arena " + strings.ReplaceAll(in.Plan.Arena.Size, "x", " × ")
	}
	return ""
}

// openings are the gates that are drawn.
func (in *Input) openings() []opening {
	switch in.Subject() {
	case OfHazard:
		return openings(in.Hazard, in.Through, in.Class)
	case OfCourse:
		return courseOpenings(in.Course, in.track())
	}
	return nil
}

// radius is that of a marker at the ground, m.
func (in *Input) radius() float64 {
	switch in.Subject() {
	case OfHazard:
		return in.Hazard.MarkerRadius
	case OfCourse:
		return in.Course.ConeRadius
	}
	return 0
}
