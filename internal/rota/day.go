package rota

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Day is what a rota is held against: when phases run, and who is driving when. It
// comes from a trial's timetable; this package knows neither.
type Day struct {
	Phases  []Run
	Drives  []Drive
	Entered []Entered
}

// Entered is somebody who drives in a class, or is groom there.
type Entered struct {
	Person, Class string
	Says          string // "drives 7"
}

// Run is one phase of the day.
type Run struct {
	Phase  string
	Starts []Stretch // each start with the time it is taken up, in order; none: who goes when is not made yet
}

// Stretch is a time from one moment to another.
type Stretch struct{ From, To Time }

// StretchOf is a start at so many seconds after midnight that is taken up for so many
// seconds: to the whole minutes around.
func StretchOf(at, lasts int) Stretch {
	return Stretch{Time(at / 60), Time((at + lasts + 59) / 60)}
}

// Drive is somebody who is with a turnout while it starts.
type Drive struct {
	Person string
	Says   string // "drives dressage with 7", "is groom to 7 in dressage"
	When   Stretch
}

// Made reports whether anybody's start is known: without one there is nothing to hold a
// rota against but the names of phases.
func (d *Day) Made() bool {
	return slices.ContainsFunc(d.Phases, func(p Run) bool { return len(p.Starts) > 0 })
}

// Against holds a rota against its day: people who hold a job while they are out with a
// turnout, or judge a class they are in; and jobs of a phase whose hours do not reach
// over its starts (what stops the day first), or of a phase the day has not got. The hours a job is wanted for are looked
// at, whoever holds it. A day without phases says nothing; never nil.
func (r *Rota) Against(d Day) []Trouble {
	all := []Trouble{}
	for i := range r.Jobs {
		all = append(all, r.Jobs[i].against(d)...)
	}
	slices.SortStableFunc(all, func(a, b Trouble) int {
		return cmp.Compare(b2i(r.stops(a.Jobs[0]) == ""), b2i(r.stops(b.Jobs[0]) == ""))
	})
	var driving, judging []Trouble
	for i := range r.People {
		for _, t := range r.turns(r.People[i].Name) {
			for _, e := range d.Entered {
				if strings.EqualFold(e.Person, t.Person) && slices.Contains(t.job.Of, e.Class) {
					judging = append(judging, Trouble{NotNear, t.Person, []string{t.Job}, fmt.Sprintf("%s %s in class %s, and holds %s, which judges %s", t.Person, e.Says, e.Class, t.job.titled(), e.Class)})
				}
			}
			for _, v := range d.Drives {
				if strings.EqualFold(v.Person, t.Person) && v.When.From < t.To && t.From < v.When.To {
					driving = append(driving, Trouble{Driving, t.Person, []string{t.Job}, fmt.Sprintf("%s %s at %s, and holds %s from %s to %s", t.Person, v.Says, v.When.From, t.job.titled(), t.From, t.To)})
				}
			}
		}
	}
	return slices.Concat(driving, judging, all)
}

// engaged says why the day speaks against somebody holding a turn: Driving when they are
// out with a turnout then or on the way, NotNear when they are in a class that it
// judges, or "".
func (r *Rota) engaged(d Day, name string, t turn) string {
	change := Time(r.ChangeMin)
	for _, v := range d.Drives {
		if strings.EqualFold(v.Person, name) && v.When.From < t.To+change && t.From < v.When.To+change {
			return Driving
		}
	}
	for _, e := range d.Entered {
		if strings.EqualFold(e.Person, name) && slices.Contains(t.job.Of, e.Class) {
			return NotNear
		}
	}
	return ""
}

// stops is what stops while a job is empty.
func (r *Rota) stops(id string) string {
	for i := range r.Jobs {
		if r.Jobs[i].ID == id {
			return r.Jobs[i].Stops
		}
	}
	return ""
}

// against holds one job against the phase it is for.
func (j *Job) against(d Day) []Trouble {
	if j.Phase == "" || len(j.Shifts) == 0 || len(d.Phases) == 0 {
		return nil
	}
	trouble := func(says string) Trouble { return Trouble{OffHours, "", []string{j.ID}, says} }
	n := slices.IndexFunc(d.Phases, func(p Run) bool { return p.Phase == j.Phase })
	if n < 0 {
		var names []string
		for _, p := range d.Phases {
			names = append(names, p.Phase)
		}
		return []Trouble{trouble(fmt.Sprintf("%s is for %s, which the timetable has not got; it has %s", j.titled(), j.Phase, strings.Join(names, ", ")))}
	}
	held := joined(j.Shifts)
	first, last := held[0].From, held[len(held)-1].To
	var early, late, between []Stretch
	for _, s := range d.Phases[n].Starts {
		switch {
		case slices.ContainsFunc(held, func(h Stretch) bool { return h.From <= s.From && s.To <= h.To }):
		case s.From < first:
			early = append(early, s)
		case s.To > last:
			late = append(late, s)
		default:
			between = append(between, s)
		}
	}
	var all []Trouble
	if len(early) > 0 {
		all = append(all, trouble(fmt.Sprintf("%s is wanted from %s; the first start of %s is %s", j.titled(), first, j.Phase, early[0].From)))
	}
	if len(late) > 0 {
		s := late[len(late)-1]
		says := fmt.Sprintf("%s is held until %s; the last start of %s is %s", j.titled(), last, j.Phase, s.From)
		if s.From < last {
			says += ", done by " + s.To.String()
		}
		all = append(all, trouble(says))
	}
	if len(between) > 0 {
		starts := "a start"
		if len(between) > 1 {
			starts = fmt.Sprintf("%d starts", len(between))
		}
		all = append(all, trouble(fmt.Sprintf("%s has a gap between its shifts, and %s of %s from %s to %s", j.titled(), starts, j.Phase, between[0].From, between[len(between)-1].To)))
	}
	return all
}

// joined are the hours of a job's shifts, those that touch put together.
func joined(shifts []Shift) []Stretch {
	var all []Stretch
	for _, s := range shifts {
		all = append(all, Stretch{s.From, s.To})
	}
	slices.SortFunc(all, func(a, b Stretch) int { return cmp.Compare(a.From, b.From) })
	out := all[:1]
	for _, s := range all[1:] {
		if last := &out[len(out)-1]; s.From <= last.To {
			last.To = max(last.To, s.To)
		} else {
			out = append(out, s)
		}
	}
	return out
}
