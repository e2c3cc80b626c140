// Package order makes the order of go: who starts when, in each phase of a
// driving day.
//
// # What is asked
//
// Each phase has slots, one after another, with breaks between. Each entry has
// one slot in each of its phases. People, horses and vehicles are shared: a
// groom who is with two drivers, a driver with two turnouts. What they share
// keeps starts apart:
//
//	at once   the same driver, groom, horse or vehicle in two places: never, if
//	          it can be helped at all
//	rest      time between (Rests), and what an entry wished: not before, not
//	          after, behind another entry
//
// and what is left is put so that the cones gaps are changed as seldom as
// possible, classes stay together where a phase wants it, and the day is short.
//
// # What is answered
//
// A [Plan]: times, and every wish that is broken by name. Input that cannot be
// (more entries than slots, a wish outside the day, two wishes against each
// other) is a fault that says why. Where wishes alone prove that one must be
// broken, the plan says which and why (Cannot).
//
// # How
//
// Simulated annealing (Kirkpatrick, Gelatt and Vecchi, Science 220, 1983) over
// swaps, moves and reversals within a phase, from several beginnings, with a
// fixed number of steps and a fixed seed: the same input gives the same plan. It
// stops at once when nothing is broken and the gap changes are at their lower
// bound: the number of different gaps less one, for each must be set once. No
// proof of optimality is claimed elsewhere.
//
// Starts that were posted keep their slots as long as the timetable has them, and to
// be moved costs with the square of how far: a phase that begins later moves on in its
// order. At the end neighbours change places where that still gains something.
package order

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
)

// Clock is a time of day in seconds after midnight.
type Clock int

// At is a time of day.
func At(hour, minute int) Clock { return Clock(3600*hour + 60*minute) }

// String writes 09:05, or 09:05:30 where there are seconds.
func (c Clock) String() string {
	s := fmt.Sprintf("%02d:%02d", c/3600, c/60%60)
	if c%60 != 0 {
		s += fmt.Sprintf(":%02d", c%60)
	}
	return s
}

// Minute is the clock with its seconds cut off: what stands in words for people.
func (c Clock) Minute() Clock { return c - c%60 }

// ParseClock reads what String writes: hours and minutes, seconds or not, to the
// end of the next day.
func ParseClock(s string) (Clock, bool) {
	part := strings.Split(s, ":")
	if len(part) != 2 && len(part) != 3 {
		return 0, false
	}
	c := 0
	for i, p := range part {
		n, err := strconv.Atoi(p)
		if err != nil || len(p) == 0 || len(p) > 2 || p[0] == '-' || p[0] == '+' || i > 0 && (len(p) != 2 || n > 59) || i == 0 && n > 47 {
			return 0, false
		}
		c = 60*c + n
	}
	if len(part) == 2 {
		c *= 60
	}
	return Clock(c), true
}

// ParseMinutes reads a duration in minutes as whole seconds: "7.5" is 450; from 0 to
// a day.
func ParseMinutes(s string) (seconds int, ok bool) {
	m, err := strconv.ParseFloat(s, 64)
	whole := math.Round(60 * m)
	if err != nil || !(m >= 0 && m <= 24*60) || math.Abs(whole-60*m) > 1e-6 {
		return 0, false
	}
	return int(whole), true
}

// MinutesText writes what ParseMinutes reads.
func MinutesText(seconds int) string {
	return strconv.FormatFloat(float64(seconds)/60, 'f', -1, 64)
}

// String writes "10:00 to 10:15 tea".
func (b Break) String() string {
	return strings.TrimSpace(b.From.String() + " to " + b.To.String() + " " + b.Why)
}

// ParseBreak reads what String writes.
func ParseBreak(s string) (Break, bool) {
	from, rest, _ := strings.Cut(s, " to ")
	to, why, _ := strings.Cut(strings.TrimSpace(rest), " ")
	f, okF := ParseClock(strings.TrimSpace(from))
	t, okT := ParseClock(to)
	return Break{From: f, To: t, Why: strings.TrimSpace(why)}, okF && okT
}

// Phase is one phase of the day, in one arena or hazard.
type Phase struct {
	Name   string
	Start  Clock
	End    Clock // no start at or after it; 0: as long as it takes
	Every  int   // s from one start to the next
	Lasts  int   // s an entry is taken up, at most Every; 0: Every
	Breaks []Break
	Gaps   bool   // cones are set to each entry's gap
	Spare  int    // slots more than entries, for late-comers and for rest
	After  string // each entry drives this phase first; "" any
	// KeepClasses wants each class in one piece.
	KeepClasses bool
}

// Break is a time without starts.
type Break struct {
	From, To Clock
	Why      string
}

// Entry is who starts.
type Entry struct {
	Number         int
	Class          string
	Driver         string
	Grooms, Horses []string
	Vehicle        string
	GapCM          int      // of the cones; 0: the same for all
	Phases         []string // none: all
	Wishes         []Wish
}

// Wish is what an entry asked for.
type Wish struct {
	Phase     string // "" all its phases
	NotBefore Clock  // 0 any
	NotAfter  Clock  // 0 any
	Behind    int    // start after this entry; 0 any
	Why       string // in the entry's words
}

// Rests is the time wanted between two starts that share something, from the end
// of one to the start of the other, in seconds.
type Rests struct {
	Phases  int // one entry's own phases
	Driver  int // with two turnouts
	Groom   int
	Horse   int
	Vehicle int
}

// DefaultRests are estimates, to be replaced by the organiser's own: 30 minutes
// between one horse's phases, 40 for a driver with two turnouts, 20 for a
// shared groom, 30 for a shared vehicle or horse.
func DefaultRests() Rests {
	return Rests{Phases: 30 * 60, Driver: 40 * 60, Groom: 20 * 60, Horse: 30 * 60, Vehicle: 30 * 60}
}

// Input is what an order is made from.
type Input struct {
	Phases  []Phase
	Entries []Entry
	Rests   Rests
	Called  []Start // starts that stand and are not moved
	Posted  []Start // starts that people were told: moved only where it helps, and not forward
	Now     Clock   // no other start before this; 0: none
	Seed    uint64  // another seed, another plan of the same worth
}

// Start is one entry in one slot.
type Start struct {
	Phase string `json:"phase"`
	Entry int    `json:"entry"`
	At    Clock  `json:"at_s"`
}

// Drives lists who starts in which phase, each as a Start without its time.
func (in Input) Drives() map[Start]bool {
	all := map[Start]bool{}
	for _, e := range in.Entries {
		for _, p := range in.Phases {
			if len(e.Phases) == 0 || slices.Contains(e.Phases, p.Name) {
				all[Start{Phase: p.Name, Entry: e.Number}] = true
			}
		}
	}
	return all
}

// Stand adds an order of go that stands to Called and Posted: what called says of is
// not moved, the rest were told. A start of somebody who does not drive there any
// more is left out.
func (in *Input) Stand(starts []Start, called func(Start) bool) {
	drives := in.Drives()
	for _, s := range starts {
		switch {
		case !drives[Start{Phase: s.Phase, Entry: s.Entry}]:
		case called(s):
			in.Called = append(in.Called, s)
		default:
			in.Posted = append(in.Posted, s)
		}
	}
}

// Slot is one line of a phase's list.
type Slot struct {
	At        Clock `json:"at_s"`
	Entry     int   `json:"entry"` // 0: an empty slot
	GapCM     int   `json:"gap_cm,omitempty"`
	GapChange int   `json:"gap_change_cm"` // against the one before; 0: as before
	Called    bool  `json:"called,omitempty"`
}

// List is the order of one phase.
type List struct {
	Phase      string `json:"phase"`
	Slots      []Slot `json:"slots"`       // to the last entry; empty ones between are shown
	GapChanges int    `json:"gap_changes"` // how often the cones are set anew
	// GapChangesLeast is a lower bound: every different gap must be set once.
	GapChangesLeast int `json:"gap_changes_least"`
}

// Broken is a wish that the plan does not keep.
type Broken struct {
	Phase   string `json:"phase"`
	Entries []int  `json:"entries"`
	AtOnce  bool   `json:"at_once,omitempty"` // two places at one time: the plan cannot be driven so
	Says    string `json:"says"`
}

// Plan is an order of go.
type Plan struct {
	Lists  []List   `json:"lists"`
	Broken []Broken `json:"broken"` // never nil
	Cannot []string `json:"cannot"` // wishes that no order keeps, and why; never nil
	Moved  []Start  `json:"moved"`  // posted starts that changed, with the new time; never nil
}

// Impossible is the fault of an input that is in good form and from which no order
// can be made, whatever is wished: it says why.
type Impossible struct{ Fault *fault.Fault }

// Error is the fault's own.
func (i *Impossible) Error() string { return i.Fault.Error() }

// Unwrap gives the fault.
func (i *Impossible) Unwrap() error { return i.Fault }

// Make makes an order of go. The error is an [Impossible] when there is none, and
// another fault when the input makes no sense.
func Make(in Input) (*Plan, error) {
	if err := check(&in); err != nil {
		return nil, err
	}
	p := newProblem(&in)
	if err := p.impossible(); err != nil {
		if f := (*fault.Fault)(nil); errors.As(err, &f) {
			return nil, &Impossible{f}
		}
		return nil, err
	}
	p.solve()
	plan := p.plan()
	plan.Cannot = append([]string{}, p.cannot()...)
	return plan, nil
}

// Starts lists every start of a plan, phase by phase.
func (p *Plan) Starts() []Start {
	var all []Start
	for _, l := range p.Lists {
		for _, s := range l.Slots {
			if s.Entry != 0 {
				all = append(all, Start{l.Phase, s.Entry, s.At})
			}
		}
	}
	return all
}

// Replan makes the order anew from what has happened: in.Entries are those that
// drive now (without the scratched, with late-comers). Those in called stay where
// they are; nobody else starts before now, and what was posted moves only where
// something is gained, never to an earlier time if it can be helped.
func Replan(old *Plan, in Input, called []Start, now Clock) (*Plan, error) {
	in.Called, in.Now = called, now
	in.Posted = nil
	there := map[int]bool{}
	for _, e := range in.Entries {
		there[e.Number] = true
	}
	for _, s := range old.Starts() {
		if there[s.Entry] {
			in.Posted = append(in.Posted, s)
		}
	}
	// Everybody keeps a slot: those of the old plan, and one for each late-comer.
	for i := range in.Phases {
		for _, l := range old.Lists {
			if l.Phase == in.Phases[i].Name {
				in.Phases[i].Spare = max(in.Phases[i].Spare, len(l.Slots)-len(in.Entries))
			}
		}
	}
	return Make(in)
}

// plan writes the solution down.
func (p *problem) plan() *Plan {
	plan := &Plan{Broken: p.broken(), Moved: []Start{}, Cannot: []string{}}
	for ph := range p.in.Phases {
		l := List{Phase: p.in.Phases[ph].Name, Slots: []Slot{}}
		last := -1
		for s, e := range p.at[ph] {
			if e >= 0 {
				last = s
			}
		}
		gap, gaps := 0, map[int]bool{}
		for s := 0; s <= last; s++ {
			slot := Slot{At: p.slots[ph][s]}
			if e := p.at[ph][s]; e >= 0 {
				entry := &p.in.Entries[p.events[e].entry]
				slot.Entry, slot.Called = entry.Number, p.events[e].fixed
				if p.in.Phases[ph].Gaps && entry.GapCM > 0 {
					slot.GapCM = entry.GapCM
					gaps[entry.GapCM] = true
					if gap != 0 && gap != entry.GapCM {
						slot.GapChange = entry.GapCM - gap
						l.GapChanges++
					}
					gap = entry.GapCM
				}
				if was := p.events[e].posted; was > 0 && was != slot.At {
					plan.Moved = append(plan.Moved, Start{l.Phase, entry.Number, slot.At})
				}
			}
			l.Slots = append(l.Slots, slot)
		}
		l.GapChangesLeast = max(0, len(gaps)-1)
		plan.Lists = append(plan.Lists, l)
	}
	return plan
}

// broken names every wish the solution does not keep.
func (p *problem) broken() []Broken {
	all := []Broken{}
	for e := range p.events {
		ev := &p.events[e]
		entry, phase := &p.in.Entries[ev.entry], &p.in.Phases[ev.phase]
		t := p.when[e]
		for _, w := range entry.Wishes {
			if w.Phase != "" && w.Phase != phase.Name {
				continue
			}
			why := ""
			if w.Why != "" {
				why = " (" + w.Why + ")"
			}
			if w.NotBefore > 0 && t < w.NotBefore {
				all = append(all, Broken{Phase: phase.Name, Entries: []int{entry.Number}, Says: fmt.Sprintf("%d wished %s not before %s and starts %s%s", entry.Number, phase.Name, w.NotBefore, t, why)})
			}
			if w.NotAfter > 0 && t > w.NotAfter {
				all = append(all, Broken{Phase: phase.Name, Entries: []int{entry.Number}, Says: fmt.Sprintf("%d wished %s not after %s and starts %s%s", entry.Number, phase.Name, w.NotAfter, t, why)})
			}
		}
		if !ev.fixed && ev.posted > 0 && t < ev.posted {
			all = append(all, Broken{Phase: phase.Name, Entries: []int{entry.Number}, Says: fmt.Sprintf("%d was posted for %s at %s and starts %s, earlier than told", entry.Number, phase.Name, ev.posted, t)})
		}
		for _, c := range p.pairs[e] {
			if c.other < e || !p.pairBroken(e, &c) {
				continue
			}
			a, b := e, c.other
			if p.when[b] < p.when[a] {
				a, b = b, a
			}
			x, y := &p.in.Entries[p.events[a].entry], &p.in.Entries[p.events[b].entry]
			px, py := p.in.Phases[p.events[a].phase], p.in.Phases[p.events[b].phase]
			between := int(p.when[b]-p.when[a]) - px.lasts()
			br := Broken{Phase: py.Name, Entries: []int{x.Number, y.Number}, AtOnce: between < 0 && !c.order}
			if x.Number == y.Number {
				br.Entries = br.Entries[:1]
			}
			first := fmt.Sprintf("%d (%s %s)", x.Number, px.Name, p.when[a])
			second := fmt.Sprintf("%d (%s %s)", y.Number, py.Name, p.when[b])
			switch {
			case c.order && c.why != "":
				br.Says = fmt.Sprintf("%s starts before %s, who was to go first (%s)", first, second, c.why)
			case c.order:
				br.Says = fmt.Sprintf("%s starts before %s, which was to come first", first, second)
			case br.AtOnce:
				br.Says = fmt.Sprintf("%s and %s at once: they share %s", first, second, c.why)
			default:
				br.Says = fmt.Sprintf("%s and %s: %d min between, %s wants %d", first, second, between/60, c.why, c.rest/60)
			}
			all = append(all, br)
		}
	}
	for ph := range p.in.Phases {
		if !p.in.Phases[ph].KeepClasses {
			continue
		}
		runs := map[string]int{}
		last := ""
		for _, e := range p.at[ph] {
			if e < 0 {
				continue
			}
			if c := p.in.Entries[p.events[e].entry].Class; c != last {
				runs[c]++
				last = c
			}
		}
		for _, c := range sorted(runs) {
			if runs[c] > 1 {
				all = append(all, Broken{Phase: p.in.Phases[ph].Name, Entries: []int{}, Says: fmt.Sprintf("class %s drives %s in %d parts", c, p.in.Phases[ph].Name, runs[c])})
			}
		}
	}
	slices.SortStableFunc(all, func(x, y Broken) int {
		switch {
		case x.AtOnce != y.AtOnce && x.AtOnce:
			return -1
		case x.AtOnce != y.AtOnce:
			return 1
		}
		return cmp.Or(strings.Compare(x.Phase, y.Phase), slices.Compare(x.Entries, y.Entries))
	})
	return all
}
