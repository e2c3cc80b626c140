package order

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"terret/internal/fault"
)

// Bounds.
const (
	maxEntries = 500
	maxPhases  = 20
	maxSlots   = 1500
)

func wrong(rule, place, message, hint string) error {
	return &fault.Fault{Code: fault.Input, Rule: rule, Place: place, Message: message, Hint: hint}
}

// PhaseFault is what is wrong with one phase of a day, by itself or beside the others.
type PhaseFault struct {
	Phase int    // which of them
	Key   string // of the file (trial/1): "every_min", "breaks", …
	Fault *fault.Fault
}

// CheckPhases says all that is wrong with the phases of a day, whoever starts in them.
func CheckPhases(phases []Phase) []PhaseFault {
	var all []PhaseFault
	names := map[string]bool{}
	for i, p := range phases {
		add := func(key, rule, message, hint string) {
			all = append(all, PhaseFault{i, key, &fault.Fault{Code: fault.Input, Rule: rule, Place: "phase " + p.Name, Message: message, Hint: hint}})
		}
		if p.Name == "" || names[p.Name] {
			add("name", "order-phases", "each phase needs a name of its own", "")
		}
		names[p.Name] = true
		if p.Every < 30 || p.Every > 24*3600 {
			add("every_min", "order-every", fmt.Sprintf("there are %d s from start to start", p.Every), "half a minute to a day is taken")
		} else if p.Lasts < 0 || p.Lasts > p.Every {
			add("lasts_min", "order-lasts", fmt.Sprintf("an entry is taken up for %d s, and the next starts after %d s", p.Lasts, p.Every), "one arena takes one entry at a time")
		}
		if p.Start < 0 || p.Start >= 48*3600 {
			add("start", "order-times", fmt.Sprintf("it starts at %s and ends at %s", p.Start, p.End), "")
		} else if p.End != 0 && p.End <= p.Start {
			add("end", "order-times", fmt.Sprintf("it starts at %s and ends at %s", p.Start, p.End), "")
		}
		if p.Spare < 0 || p.Spare > maxEntries {
			add("spare", "order-spare", fmt.Sprintf("%d spare slots", p.Spare), fmt.Sprintf("0 to %d are taken", maxEntries))
		}
		for _, b := range p.Breaks {
			if b.To <= b.From {
				add("breaks", "order-break", fmt.Sprintf("a break from %s to %s", b.From, b.To), "")
			}
		}
		if p.After != "" && (p.After == p.Name || !slices.ContainsFunc(phases, func(o Phase) bool { return o.Name == p.After })) {
			add("after", "order-after", fmt.Sprintf("it comes after %q, which is no other phase", p.After), "")
		}
	}
	return all
}

// check refuses input that makes no sense by itself.
func check(in *Input) error {
	if len(in.Phases) == 0 || len(in.Phases) > maxPhases {
		return wrong("order-phases", "phases", fmt.Sprintf("there are %d phases", len(in.Phases)), fmt.Sprintf("1 to %d are taken", maxPhases))
	}
	if len(in.Entries) > maxEntries {
		return wrong("order-entries", "entries", fmt.Sprintf("there are %d entries", len(in.Entries)), fmt.Sprintf("at most %d are taken", maxEntries))
	}
	if w := CheckPhases(in.Phases); len(w) > 0 {
		return w[0].Fault
	}
	phases := map[string]bool{}
	for _, p := range in.Phases {
		phases[p.Name] = true
	}
	if r := in.Rests; r.Phases < 0 || r.Driver < 0 || r.Groom < 0 || r.Horse < 0 || r.Vehicle < 0 {
		return wrong("order-rests", "rests", "a rest is less than nothing", "")
	}
	byNumber := map[int]bool{}
	for _, e := range in.Entries {
		if e.Number <= 0 || byNumber[e.Number] {
			return wrong("order-number", fmt.Sprintf("entry %d", e.Number), "each entry needs a number of its own, above 0", "")
		}
		byNumber[e.Number] = true
	}
	for _, e := range in.Entries {
		at := fmt.Sprintf("entry %d", e.Number)
		for _, p := range e.Phases {
			if !phases[p] {
				return wrong("order-phase", at, fmt.Sprintf("there is no phase %q", p), "the phases are "+strings.Join(slices.Sorted(maps.Keys(phases)), ", "))
			}
		}
		for _, w := range e.Wishes {
			switch {
			case w.Phase != "" && !phases[w.Phase]:
				return wrong("order-wish", at, fmt.Sprintf("a wish for %q, which is no phase", w.Phase), "")
			case w.NotAfter != 0 && w.NotBefore > w.NotAfter:
				return wrong("order-wish", at, fmt.Sprintf("it wishes not before %s and not after %s", w.NotBefore, w.NotAfter), "no time is both")
			case w.Behind != 0 && (!byNumber[w.Behind] || w.Behind == e.Number):
				return wrong("order-wish", at, fmt.Sprintf("it wishes to go after entry %d, which is no other entry", w.Behind), "")
			}
		}
	}
	return nil
}

// impossible says why no order can be at all; nil when nothing proves it.
func (p *problem) impossible() error {
	for ph, phase := range p.in.Phases {
		var events []int
		for e := range p.events {
			if p.events[e].phase == ph {
				events = append(events, e)
			}
		}
		free := 0
		for s := range p.slots[ph] {
			if p.usable(ph, s) {
				free++
			}
		}
		if n := len(events); free < n {
			until := "no end"
			if phase.End > 0 {
				until = phase.End.String()
			}
			return wrong("order-slots", "phase "+phase.Name, fmt.Sprintf("%d entries and %d slots from %s to %s", n, free, max(phase.Start, p.in.Now), until), "start earlier, end later, shorten slots or breaks, or take fewer entries")
		}
		// A wish that no slot can keep is impossible by itself.
		for _, e := range events {
			ev := &p.events[e]
			if ev.fixed || ev.low <= 0 && ev.high <= 0 {
				continue
			}
			if !slices.ContainsFunc(p.slots[ph], func(t Clock) bool { return t >= ev.low && (ev.high == 0 || t <= ev.high) }) {
				entry := p.in.Entries[ev.entry]
				first, last := p.slots[ph][0], p.slots[ph][len(p.slots[ph])-1]
				return wrong("order-wish", fmt.Sprintf("entry %d", entry.Number), fmt.Sprintf("its wishes for %s leave no slot (%s); slots are from %s to %s", phase.Name, window(ev.low, ev.high), first, last), "change the wish or the phase's times")
			}
		}
	}
	// Wishes to go behind one another in a ring.
	behind := map[int][]int{}
	for _, e := range p.in.Entries {
		for _, w := range e.Wishes {
			if w.Behind != 0 {
				behind[e.Number] = append(behind[e.Number], w.Behind)
			}
		}
	}
	state := map[int]int{}
	var ring []int
	var visit func(n int) bool
	visit = func(n int) bool {
		switch state[n] {
		case 1:
			ring = append(ring, n)
			return true
		case 2:
			return false
		}
		state[n] = 1
		for _, o := range behind[n] {
			if visit(o) {
				ring = append(ring, n)
				return true
			}
		}
		state[n] = 2
		return false
	}
	for _, n := range slices.Sorted(maps.Keys(behind)) {
		if visit(n) {
			slices.Reverse(ring)
			return wrong("order-ring", fmt.Sprintf("entry %d", n), fmt.Sprintf("they wish to go behind one another in a ring: %v", ring), "one of these wishes must go")
		}
	}
	// A phase that comes after another, and ends before it begins.
	for _, phase := range p.in.Phases {
		for _, before := range p.in.Phases {
			if phase.After == before.Name && phase.End > 0 && before.Start+Clock(before.lasts()) > phase.End {
				return wrong("order-after", "phase "+phase.Name, fmt.Sprintf("it ends at %s and comes after %s, which starts at %s", phase.End, before.Name, before.Start), "")
			}
		}
	}
	return nil
}

func window(low, high Clock) string {
	switch {
	case high == 0:
		return "not before " + low.String()
	case low <= 0:
		return "not after " + high.String()
	}
	return "from " + low.String() + " to " + high.String()
}

// cannot proves wishes that no order keeps together: windows by the earliest
// deadline first (exact for slots of one length), and what shares a person, a
// horse or a vehicle by the time it takes.
func (p *problem) cannot() []string {
	var all []string
	for ph, phase := range p.in.Phases {
		var events []int
		for e := range p.events {
			if p.events[e].phase == ph {
				events = append(events, e)
			}
		}
		if len(events) == 0 {
			continue
		}
		if late := p.earliestDeadline(ph, events); late >= 0 {
			ev := &p.events[late]
			var numbers []int
			slots := 0
			for _, e := range events {
				if o := &p.events[e]; o.high > 0 && o.high <= ev.high {
					numbers = append(numbers, p.in.Entries[o.entry].Number)
				}
			}
			for s, t := range p.slots[ph] {
				if t <= ev.high && p.usable(ph, s) {
					slots++
				}
			}
			slices.Sort(numbers)
			all = append(all, fmt.Sprintf("%s: %v wish to start not after %s, and there are %d slots till then that suit them; not all can", phase.Name, numbers, ev.high, slots))
		}
		// n starts that share something, each rest behind the last.
		first, last := p.slots[ph][0], p.slots[ph][len(p.slots[ph])-1]
		for _, r := range p.shares {
			var numbers []int
			for _, e := range events {
				if r.uses[p.events[e].entry] {
					numbers = append(numbers, p.in.Entries[p.events[e].entry].Number)
				}
			}
			need := (len(numbers) - 1) * (phase.lasts() + r.rest)
			if len(numbers) > 1 && need > int(last-first) {
				all = append(all, fmt.Sprintf("%s: %v share %s, who wants %d min between; that takes %d min from the first start to the last, and the phase has %d", phase.Name, numbers, r.what, r.rest/60, need/60, int(last-first)/60))
			}
		}
	}
	return all
}

// earliestDeadline fills slots by the nearest deadline; it gives an event that
// comes too late whatever is done, or -1.
func (p *problem) earliestDeadline(ph int, events []int) int {
	left := slices.Clone(events)
	for s, t := range p.slots[ph] {
		if !p.usable(ph, s) {
			continue
		}
		best := -1
		for i, e := range left {
			if p.events[e].low <= t && (best < 0 || deadline(&p.events[e]) < deadline(&p.events[left[best]])) {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		if deadline(&p.events[left[best]]) < t {
			return left[best]
		}
		left = slices.Delete(left, best, best+1)
	}
	return -1
}

func deadline(e *event) Clock {
	if e.high == 0 {
		return 1 << 30
	}
	return e.high
}

// sorted lists the keys of a map in their order.
func sorted[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
