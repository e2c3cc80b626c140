package trial

import (
	"fmt"
	"slices"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial/order"
)

// Changing what a trial is, one thing at a time. The trial that is asked stays as it
// is: each answer is its next version, with every reference to a changed name changed
// as well. Sheets are not touched: they name what they are of, as it was written.
// Whether the next version is as sound as the one before is asked of Worse.

// PutClass is the trial with c in the place of the class called was, or behind the
// others when was is "".
func (t *Trial) PutClass(was string, c Class) *Trial {
	n := *t
	n.Classes = put(t.Classes, func(o *Class) bool { return o.ID == was }, c)
	if was == "" || was == c.ID {
		return &n
	}
	n.Entries = slices.Clone(t.Entries)
	for i := range n.Entries {
		if n.Entries[i].Class == was {
			n.Entries[i].Class = c.ID
		}
	}
	n.eachForClasses(func(_ string, ids []string) []string {
		ids = slices.Clone(ids)
		if i := slices.Index(ids, was); i >= 0 {
			ids[i] = c.ID
		}
		return ids
	})
	return &n
}

// DropClass is the trial without a class. The error is a fault when entries are in
// it, or when a course or a phase of the timetable is for it alone: without the class
// that would be for everybody.
func (t *Trial) DropClass(id string) (*Trial, error) {
	wrong := func(message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: "class-used", Place: "class " + id, Message: message, Hint: hint}
	}
	if in := slices.IndexFunc(t.Entries, func(e Entry) bool { return e.Class == id }); in >= 0 {
		return nil, wrong(fmt.Sprintf("entry %d is in it", t.Entries[in].Number), "put its entries into another class first")
	}
	n := *t
	n.Classes = drop(t.Classes, func(c *Class) bool { return c.ID == id })
	var alone error
	n.eachForClasses(func(what string, ids []string) []string {
		if len(ids) == 1 && ids[0] == id {
			alone = wrong(what+" is for it alone", "say first for which classes that is")
		}
		return drop(ids, func(c *string) bool { return *c == id })
	})
	if alone != nil {
		return nil, alone
	}
	return &n, nil
}

// Afresh is the trial as one to begin another day with: its rules, classes, tests,
// courses, and the timetable's phases and rests. Entries and all that names them are
// left behind: sheets, teams, series, starts.
func (t *Trial) Afresh() *Trial {
	n := &Trial{Name: t.Name, Rules: t.Rules, Classes: slices.Clone(t.Classes), Tests: slices.Clone(t.Tests), Courses: slices.Clone(t.Courses)}
	if t.Timetable != nil {
		n.Timetable = &Timetable{Phases: slices.Clone(t.Timetable.Phases), Rests: t.Timetable.Rests}
	}
	return n
}

// eachForClasses changes the lists of classes that courses and phases of the
// timetable are for; t shares none of them afterwards.
func (t *Trial) eachForClasses(change func(what string, ids []string) []string) {
	t.Courses = slices.Clone(t.Courses)
	for i := range t.Courses {
		c := &t.Courses[i]
		c.Classes = change("course "+c.ID, c.Classes)
	}
	if t.Timetable == nil {
		return
	}
	table := *t.Timetable
	table.Phases = slices.Clone(table.Phases)
	for i := range table.Phases {
		p := &table.Phases[i]
		p.Classes = change(p.Name+" in the timetable", p.Classes)
	}
	t.Timetable = &table
}

// PutTest is the trial with x in the place of the test called was, or behind the
// others when was is "".
func (t *Trial) PutTest(was string, x Test) *Trial {
	n := *t
	n.Tests = put(t.Tests, func(o *Test) bool { return o.ID == was }, x)
	return &n
}

// DropTest is the trial without a test.
func (t *Trial) DropTest(id string) *Trial {
	n := *t
	n.Tests = drop(t.Tests, func(x *Test) bool { return x.ID == id })
	return &n
}

// PutCourse is the trial with c in the place of the course called was, or behind the
// others of its phase when was is "".
func (t *Trial) PutCourse(was string, c Course) *Trial {
	n := *t
	if was != "" {
		n.Courses = put(t.Courses, func(o *Course) bool { return o.ID == was }, c)
		return &n
	}
	at := len(t.Courses)
	for i := range t.Courses {
		if t.Courses[i].Phase == c.Phase {
			at = i + 1
		}
	}
	n.Courses = slices.Insert(slices.Clone(t.Courses), at, c)
	return &n
}

// DropCourse is the trial without a course.
func (t *Trial) DropCourse(id string) *Trial {
	n := *t
	n.Courses = drop(t.Courses, func(c *Course) bool { return c.ID == id })
	return &n
}

// PutEntry is the trial with e in the place of the entry numbered was, or behind the
// others when was is 0. Teams, wishes and the order of go follow a new number.
func (t *Trial) PutEntry(was int, e Entry) *Trial {
	n := *t
	n.Entries = put(t.Entries, func(o *Entry) bool { return o.Number == was }, e)
	if was != 0 && was != e.Number {
		n.renumber(was, e.Number)
	}
	return &n
}

// DropEntry is the trial without an entry, as if it had never come: its place in
// teams, in the order of go and in the wishes of others goes with it. One that was
// to drive and does not is scratched instead, with a status.
func (t *Trial) DropEntry(number int) *Trial {
	n := *t
	n.Entries = drop(t.Entries, func(e *Entry) bool { return e.Number == number })
	n.renumber(number, 0)
	return &n
}

// renumber gives an entry another number wherever it is named beside the list of
// entries; 0 takes it out there. The entries must be t's own.
func (t *Trial) renumber(was, now int) {
	t.Teams = slices.Clone(t.Teams)
	for i := range t.Teams {
		t.Teams[i].Members = named(t.Teams[i].Members, was, now, func(n *int) *int { return n })
	}
	for i := range t.Entries {
		e := &t.Entries[i]
		e.Wishes = slices.Clone(e.Wishes)
		for k := range e.Wishes {
			if w := &e.Wishes[k]; w.Behind == was {
				w.Behind = now
			}
		}
		e.Wishes = drop(e.Wishes, func(w *order.Wish) bool { return w.Behind == 0 && w.NotBefore == 0 && w.NotAfter == 0 })
	}
	if t.Timetable != nil {
		table := *t.Timetable
		table.Starts = named(table.Starts, was, now, func(s *order.Start) *int { return &s.Entry })
		t.Timetable = &table
	}
}

// named is a copy of all with another number wherever was stands, or without those
// when now is 0.
func named[T any](all []T, was, now int, number func(*T) *int) []T {
	if now == 0 {
		return drop(all, func(x *T) bool { return *number(x) == was })
	}
	all = slices.Clone(all)
	for i := range all {
		if n := number(&all[i]); *n == was {
			*n = now
		}
	}
	return all
}

// put is a copy of all with x in the place of the one that is meant, or behind the
// others when none is.
func put[T any](all []T, meant func(*T) bool, x T) []T {
	all = slices.Clone(all)
	for i := range all {
		if meant(&all[i]) {
			all[i] = x
			return all
		}
	}
	return append(all, x)
}

// drop is a copy of all without those that are meant.
func drop[T any](all []T, meant func(*T) bool) []T {
	var left []T
	for i := range all {
		if !meant(&all[i]) {
			left = append(left, all[i])
		}
	}
	return left
}

// Worse lists what is wrong with next and is not wrong with t, both under a profile:
// what a change would break. A trial that is not finished may so be worked on, one
// fault after another mended, and a change that adds one is told what it would add.
// Both need the IDs of their sheets; see NameSheets.
func (t *Trial) Worse(next *Trial, p *rules.Profile) []Problem {
	before := t.Validate(p)
	// While the rest is wrong Validate looks at no sheet: then what it finds in them
	// once the rest is right has been there all the time.
	unread := slices.ContainsFunc(before, func(b Problem) bool { return b.Sheet == 0 })
	var all []Problem
	for _, n := range next.Validate(p) {
		if n.Sheet > 0 && unread {
			continue
		}
		k := slices.IndexFunc(before, func(b Problem) bool {
			return b.Rule == n.Rule && b.Message == n.Message && (b.Sheet > 0) == (n.Sheet > 0)
		})
		if k < 0 {
			all = append(all, n)
			continue
		}
		before = slices.Delete(before, k, k+1)
	}
	return all
}
