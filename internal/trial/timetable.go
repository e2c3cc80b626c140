package trial

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/strict"
	"terret/internal/trial/order"
)

// Timetable is when a day's phases start, what rest is wanted between starts, and
// the starts themselves once they are made (see package order).
type Timetable struct {
	Phases []Run
	Rests  *order.Rests  // nil: order.DefaultRests
	Starts []order.Start // the order of go; none until it is made
	Seed   uint64        // another number, another order of the same worth
}

// Run is one phase of the timetable. Its name is a phase of rules.Phases, or any
// other (such as "inspection"): then Classes says who is there, or everybody is.
type Run struct {
	order.Phase
	Classes []string // who starts; none: every class that drives the phase of that name
}

// OrderInput is what package order makes this trial's order of go from: those who
// still drive, with what they share and wish. The error is a fault when there is no
// timetable.
func (t *Trial) OrderInput() (order.Input, error) {
	if t.Timetable == nil || len(t.Timetable.Phases) == 0 {
		return order.Input{}, &fault.Fault{Code: fault.Input, Rule: "timetable", Place: "trial " + t.Name, Message: "the trial does not say when its phases start", Hint: `write timetable: {phases: [{name: dressage, start: "09:00", every_min: 8}]}`}
	}
	in := order.Input{Rests: order.DefaultRests(), Seed: t.Timetable.Seed}
	if t.Timetable.Rests != nil {
		in.Rests = *t.Timetable.Rests
	}
	for _, r := range t.Timetable.Phases {
		in.Phases = append(in.Phases, r.Phase)
	}
	classes := map[string]*Class{}
	for i := range t.Classes {
		classes[t.Classes[i].ID] = &t.Classes[i]
	}
	there := map[int]bool{}
	for i := range t.Entries {
		e := &t.Entries[i]
		o := order.Entry{Number: e.Number, Class: e.Class, Driver: e.Driver, Grooms: e.Grooms, Horses: e.Horses, Vehicle: e.Vehicle, GapCM: e.GapCM}
		for k := range t.Timetable.Phases {
			r := &t.Timetable.Phases[k]
			if c := classes[e.Class]; c != nil && r.startedBy(c) && !e.goneBefore(c, r.Name) {
				o.Phases = append(o.Phases, r.Name)
			}
		}
		if len(o.Phases) == 0 {
			continue // package order would take it for all phases
		}
		there[e.Number] = true
		in.Entries = append(in.Entries, o)
	}
	for i := range in.Entries {
		o := &in.Entries[i]
		k := slices.IndexFunc(t.Entries, func(e Entry) bool { return e.Number == o.Number })
		for _, w := range t.Entries[k].Wishes {
			if w.Behind != 0 && !there[w.Behind] {
				w.Behind = 0 // that one is scratched: nothing to wait for
				if w.NotBefore == 0 && w.NotAfter == 0 {
					continue
				}
			}
			if w.Phase != "" && !slices.Contains(o.Phases, w.Phase) {
				continue
			}
			o.Wishes = append(o.Wishes, w)
		}
	}
	return in, nil
}

// startedBy reports whether a class starts in a phase of the timetable.
func (r *Run) startedBy(c *Class) bool {
	if len(r.Classes) > 0 {
		return slices.Contains(r.Classes, c.ID)
	}
	return c.Has(r.Name) || !slices.Contains(rules.Phases(), r.Name)
}

// goneBefore reports whether an entry is out before a phase, by what the list of
// entries says.
func (e *Entry) goneBefore(c *Class, phase string) bool {
	switch e.Status {
	case Withdrawn, Disqualified, Retired:
	default: // the eliminated may drive what follows, and need not: they keep their starts
		return false
	}
	if e.InPhase == "" {
		return true
	}
	at := slices.Index(c.Phases, phase)
	return at < 0 || at >= slices.Index(c.Phases, e.InPhase)
}

// The file's side. Times of day are texts "09:30" or "09:30:15", durations minutes,
// half ones too.

func readWishes(v strict.Value) []order.Wish {
	var all []order.Wish
	for _, v := range v.ListOf(MostNames, "wishes") {
		o := v.Object("phase", "not_before", "not_after", "behind", "why")
		w := order.Wish{Phase: o.Get("phase").Text(), Why: o.Get("why").Text(), NotBefore: timeOfDay(o.Get("not_before")), NotAfter: timeOfDay(o.Get("not_after"))}
		if b := o.Get("behind"); b.Ok() {
			w.Behind = b.Int(1, 99_999)
		}
		if w.NotBefore == 0 && w.NotAfter == 0 && w.Behind == 0 {
			v.Fault("wish", "the wish wishes nothing", `write not_before: "10:00", not_after: "12:00" or behind: 7`)
		}
		all = append(all, w)
	}
	return all
}

func readTimetable(v strict.Value) *Timetable {
	if !v.Ok() {
		return nil
	}
	o := v.Object("phases", "rests_min", "starts", "seed")
	t := &Timetable{}
	for _, v := range o.Need("phases").ListOf(20, "phases") {
		o := v.Object("name", "classes", "start", "end", "every_min", "lasts_min", "breaks", "gaps", "spare", "after", "keep_classes")
		r := Run{Classes: texts(o.Get("classes"), maxClasses, "classes")}
		r.Name, r.After = o.Need("name").Text(), o.Get("after").Text()
		r.Start, r.End = timeOfDay(o.Need("start")), timeOfDay(o.Get("end"))
		r.Every, r.Lasts = minutes(o.Need("every_min")), minutes(o.Get("lasts_min"))
		r.Gaps, r.KeepClasses = truth(o.Get("gaps")), truth(o.Get("keep_classes"))
		if s := o.Get("spare"); s.Ok() {
			r.Spare = s.Int(0, 500)
		}
		for _, v := range o.Get("breaks").ListOf(50, "breaks") {
			b := v.Object("from", "to", "why")
			r.Breaks = append(r.Breaks, order.Break{From: timeOfDay(b.Need("from")), To: timeOfDay(b.Need("to")), Why: b.Get("why").Text()})
		}
		t.Phases = append(t.Phases, r)
	}
	if v := o.Get("rests_min"); v.Ok() {
		r := order.DefaultRests()
		m := v.Object("phases", "driver", "groom", "horse", "vehicle")
		for _, k := range []struct {
			key string
			at  *int
		}{{"phases", &r.Phases}, {"driver", &r.Driver}, {"groom", &r.Groom}, {"horse", &r.Horse}, {"vehicle", &r.Vehicle}} {
			if m.Has(k.key) {
				*k.at = minutes(m.Get(k.key))
			}
		}
		t.Rests = &r
	}
	for _, v := range o.Get("starts").ListOf(maxSheets, "starts") {
		s := v.Object("phase", "entry", "at")
		t.Starts = append(t.Starts, order.Start{Phase: s.Need("phase").Text(), Entry: s.Need("entry").Int(1, 99_999), At: timeOfDay(s.Need("at"))})
	}
	if s := o.Get("seed"); s.Ok() {
		t.Seed = uint64(s.Int(0, math.MaxInt32))
	}
	return t
}

// truth reads a word that may be left out.
func truth(v strict.Value) bool { return v.Ok() && v.Bool() }

// timeOfDay reads a time of day; 0 where there is none.
func timeOfDay(v strict.Value) order.Clock {
	s := v.Text()
	if s == "" {
		return 0
	}
	c, ok := order.ParseClock(s)
	if !ok {
		v.Fault("clock", fmt.Sprintf("%q is no time of day", s), `write hours and minutes in quotes, such as "09:30"`)
	}
	return c
}

// minutes reads a duration in minutes as seconds; 0 where there is none.
func minutes(v strict.Value) int {
	if !v.Ok() {
		return 0
	}
	m := v.Within(0, 24*60, "min")
	s := math.Round(60 * m)
	if math.Abs(s-60*m) > 1e-6 {
		v.Fault("minutes", fmt.Sprintf("%v minutes are no whole seconds", m), "half and quarter minutes are taken")
	}
	return int(s)
}

// timetable checks what a timetable and wishes name; package order asks the rest.
func (v *validator) timetable() {
	names := map[string]bool{}
	classes := func(path string, ids []string) {
		for k, id := range ids {
			if v.classes[id] == nil {
				v.add("timetable-class", fmt.Sprintf("%s.classes[%d]", path, k), fmt.Sprintf("there is no class %q", id), "the classes are "+strings.Join(v.classIDs(), ", "))
			}
		}
	}
	if t := v.t.Timetable; t != nil {
		for i := range t.Phases {
			r := &t.Phases[i]
			path := fmt.Sprintf("timetable.phases[%d]", i)
			v.twice("timetable-phase", "phases", path+".name", r.Name, names)
			classes(path, r.Classes)
		}
		twice := map[string]bool{}
		for i, s := range t.Starts {
			path := fmt.Sprintf("timetable.starts[%d]", i)
			if !names[s.Phase] {
				v.add("timetable-phase", path+".phase", fmt.Sprintf("the timetable has no phase %q", s.Phase), "its phases are listed above the starts")
			}
			if v.entries[s.Entry] == nil {
				v.add("timetable-entry", path+".entry", fmt.Sprintf("there is no entry %d", s.Entry), "")
			}
			v.twice("timetable-start", "starts", path, fmt.Sprintf("entry %d in %s", s.Entry, s.Phase), twice)
		}
	}
	for i := range v.t.Entries {
		for k, w := range v.t.Entries[i].Wishes {
			path := fmt.Sprintf("entries[%d].wishes[%d]", i, k)
			if w.Phase != "" && !names[w.Phase] {
				v.add("wish-phase", path+".phase", fmt.Sprintf("the timetable has no phase %q", w.Phase), "name a phase of the timetable, or leave it out for all of them")
			}
			if w.Behind != 0 && (v.entries[w.Behind] == nil || w.Behind == v.t.Entries[i].Number) {
				v.add("wish-behind", path+".behind", fmt.Sprintf("there is no other entry %d", w.Behind), "")
			}
		}
	}
}

func wishTree(all []order.Wish) strict.List {
	var l strict.List
	for _, w := range all {
		var o strict.Map
		putText(&o, "phase", w.Phase)
		putClock(&o, "not_before", w.NotBefore)
		putClock(&o, "not_after", w.NotAfter)
		if w.Behind != 0 {
			o.Put("behind", w.Behind)
		}
		putText(&o, "why", w.Why)
		l = append(l, o)
	}
	return l
}

func timetableTree(t *Timetable) strict.Map {
	phases := strict.List{}
	for _, r := range t.Phases {
		o := strict.Map{{Key: "name", Value: r.Name}}
		putTexts(&o, "classes", r.Classes)
		o.Put("start", r.Start.String())
		putClock(&o, "end", r.End)
		o.Put("every_min", float64(r.Every)/60)
		if r.Lasts > 0 {
			o.Put("lasts_min", float64(r.Lasts)/60)
		}
		var breaks strict.List
		for _, b := range r.Breaks {
			m := strict.Map{{Key: "from", Value: b.From.String()}, {Key: "to", Value: b.To.String()}}
			putText(&m, "why", b.Why)
			breaks = append(breaks, m)
		}
		putList(&o, "breaks", breaks)
		if r.Gaps {
			o.Put("gaps", true)
		}
		if r.Spare > 0 {
			o.Put("spare", r.Spare)
		}
		putText(&o, "after", r.After)
		if r.KeepClasses {
			o.Put("keep_classes", true)
		}
		phases = append(phases, o)
	}
	m := strict.Map{{Key: "phases", Value: phases}}
	if r := t.Rests; r != nil {
		rests := strict.Map{}
		for _, k := range []struct {
			key string
			s   int
		}{{"phases", r.Phases}, {"driver", r.Driver}, {"groom", r.Groom}, {"horse", r.Horse}, {"vehicle", r.Vehicle}} {
			rests.Put(k.key, float64(k.s)/60)
		}
		m.Put("rests_min", rests)
	}
	var starts strict.List
	for _, s := range t.Starts {
		starts = append(starts, strict.Map{{Key: "phase", Value: s.Phase}, {Key: "entry", Value: s.Entry}, {Key: "at", Value: s.At.String()}})
	}
	putList(&m, "starts", starts)
	if t.Seed > 0 {
		m.Put("seed", int(t.Seed))
	}
	return m
}

func putClock(m *strict.Map, key string, c order.Clock) {
	if c != 0 {
		m.Put(key, c.String())
	}
}
