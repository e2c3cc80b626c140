package order

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// What a plan is charged for. A wish outweighs any number of gap changes of one
// phase that is in use; being in two places at once outweighs all wishes.
const (
	costAtOnce = 1_000_000.0
	costWish   = 2_000.0
	costWorse  = 0.1   // of a wish, for being broken by much and not by little
	costClass  = 400.0 // a class in one part more
	costGap    = 20.0  // cones set anew
	costMoved  = 2.0   // a posted start that changes,
	movedEach  = 900   // s: and as much again when it is moved by this, four times by two, …
	movedMost  = 20.0  // of them
	costEmpty  = 0.5   // an empty slot before the last start
)

// Annealing: beginnings, and steps for each start of the first.
const (
	beginnings = 6
	stepsEach  = 1_500
	hottest    = 400.0
	coldest    = 0.5
	longest    = 30 // slots of a stretch that is moved as one
)

// event is one entry's start in one phase.
type event struct {
	entry, phase int
	low, high    Clock // wished window; high 0: none
	posted       Clock // 0 none
	fixed        bool  // called: it stays
	lasts        int   // s it is taken up
}

// pair is what two events want of each other.
type pair struct {
	other int
	rest  int    // s between the end of one and the start of the other
	order bool   // this event, or other, is to come first, and nothing else
	first bool   // with order: this event first
	why   string // what they share
}

// share is a person, horse or vehicle that several entries use.
type share struct {
	what string
	rest int
	uses map[int]bool // by entry
}

type problem struct {
	in     *Input
	events []event
	slots  [][]Clock
	at     [][]int // phase, slot → event; -1 empty
	pos    []int   // event → slot
	when   []Clock // event → time of its slot
	pairs  [][]pair
	shares []share
	stamp  []int // events of the move being weighed
	mark   int
}

func (p Phase) lasts() int {
	if p.Lasts == 0 {
		return p.Every
	}
	return p.Lasts
}

// newProblem lays out events, slots and what events want of each other.
func newProblem(in *Input) *problem {
	p := &problem{in: in}
	called, posted := startsOf(in.Called), startsOf(in.Posted)
	count := make([]int, len(in.Phases))
	for i := range in.Entries {
		e := &in.Entries[i]
		for ph := range in.Phases {
			name := in.Phases[ph].Name
			if len(e.Phases) > 0 && !slices.Contains(e.Phases, name) {
				continue
			}
			ev := event{entry: i, phase: ph, lasts: in.Phases[ph].lasts()}
			key := Start{Phase: name, Entry: e.Number}
			ev.posted = posted[key]
			if t, ok := called[key]; ok {
				ev.fixed, ev.posted = true, t
			}
			for _, w := range e.Wishes {
				if w.Phase == "" || w.Phase == name {
					ev.low = max(ev.low, w.NotBefore)
					if w.NotAfter > 0 && (ev.high == 0 || w.NotAfter < ev.high) {
						ev.high = w.NotAfter
					}
				}
			}
			p.events = append(p.events, ev)
			count[ph]++
		}
	}
	for ph := range in.Phases {
		p.slots = append(p.slots, p.layOut(ph, count[ph]))
		row := make([]int, len(p.slots[ph]))
		for s := range row {
			row[s] = -1
		}
		p.at = append(p.at, row)
	}
	p.pos, p.when = make([]int, len(p.events)), make([]Clock, len(p.events))
	p.pairs = make([][]pair, len(p.events))
	p.stamp = make([]int, len(p.events))
	p.share()
	p.relate()
	return p
}

func startsOf(all []Start) map[Start]Clock {
	m := map[Start]Clock{}
	for _, s := range all {
		m[Start{Phase: s.Phase, Entry: s.Entry}] = s.At
	}
	return m
}

// layOut makes a phase's slots: one after another, none in a break, with the
// times of called starts among them.
func (p *problem) layOut(ph, entries int) []Clock {
	phase := &p.in.Phases[ph]
	slots := p.standing(phase)
	given := slices.Clone(slots)
	free := func(t Clock) bool {
		return !slices.ContainsFunc(given, func(g Clock) bool { return t > g-Clock(phase.Every) && t < g+Clock(phase.Every) })
	}
	want := min(entries+phase.Spare, maxSlots)
	for _, t := range slots {
		if !p.open(ph, t) {
			want++ // it is past and nobody's
		}
	}
	t := phase.Start
	for len(slots) < want && (phase.End == 0 || t < phase.End) {
		if b := phase.breakAt(t); b != nil {
			t = b.To
			continue
		}
		if free(t) {
			if t >= p.in.Now {
				slots = append(slots, t)
			}
			t += Clock(phase.Every)
			continue
		}
		// Go to the end of what stands in the way.
		next := t + 1
		for _, g := range given {
			if t > g-Clock(phase.Every) && t < g+Clock(phase.Every) {
				next = max(next, g+Clock(phase.Every))
			}
		}
		t = next
	}
	slices.Sort(slots)
	return slots
}

// standing lists the times of a phase's starts that stand: called ones wherever they
// are, posted ones where the timetable has them. One that was changed since may have
// no room for a posted start: before the phase, after its end or in a break; and none
// for any of them when starts are wanted further apart than they were posted.
func (p *problem) standing(phase *Phase) []Clock {
	var called, posted []Clock
	for _, s := range p.in.Called {
		if s.Phase == phase.Name && !slices.Contains(called, s.At) {
			called = append(called, s.At)
		}
	}
	for _, s := range p.in.Posted {
		if s.Phase == phase.Name && s.At >= phase.Start && (phase.End == 0 || s.At < phase.End) && phase.breakAt(s.At) == nil && !slices.Contains(called, s.At) && !slices.Contains(posted, s.At) {
			posted = append(posted, s.At)
		}
	}
	slices.Sort(posted)
	for i := range posted {
		if i > 0 && int(posted[i]-posted[i-1]) < phase.Every {
			return called
		}
	}
	return append(called, posted...)
}

// breakAt is the break that a start would run into; nil when there is none.
func (p *Phase) breakAt(t Clock) *Break {
	for i := range p.Breaks {
		if b := &p.Breaks[i]; t < b.To && t+Clock(p.lasts()) > b.From {
			return b
		}
	}
	return nil
}

// usable reports whether a start may be in a slot: it is not past, or a called
// one's own.
func (p *problem) usable(ph, s int) bool { return p.open(ph, p.slots[ph][s]) }

func (p *problem) open(ph int, t Clock) bool {
	return t >= p.in.Now || slices.ContainsFunc(p.events, func(e event) bool { return e.fixed && e.phase == ph && e.posted == t })
}

// share finds who and what is with several entries.
func (p *problem) share() {
	type use struct {
		kind string
		name string
	}
	uses := map[use]map[int]bool{}
	add := func(kind, name string, entry int) {
		if name == "" {
			return
		}
		u := use{kind, name}
		if uses[u] == nil {
			uses[u] = map[int]bool{}
		}
		uses[u][entry] = true
	}
	for i, e := range p.in.Entries {
		add("driver", e.Driver, i)
		for _, g := range e.Grooms {
			add("groom", g, i)
		}
		for _, h := range e.Horses {
			add("horse", h, i)
		}
		add("vehicle", e.Vehicle, i)
	}
	keys := make([]use, 0, len(uses))
	for u := range uses {
		keys = append(keys, u)
	}
	slices.SortFunc(keys, func(a, b use) int { return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.name, b.name)) })
	rests := map[string]int{"driver": p.in.Rests.Driver, "groom": p.in.Rests.Groom, "horse": p.in.Rests.Horse, "vehicle": p.in.Rests.Vehicle}
	for _, u := range keys {
		if len(uses[u]) > 1 {
			p.shares = append(p.shares, share{what: "the " + u.kind + " " + u.name, rest: rests[u.kind], uses: uses[u]})
		}
	}
}

// relate notes for each event what it wants of the others.
func (p *problem) relate() {
	link := func(a, b int, c pair) {
		c.other = b
		p.pairs[a] = append(p.pairs[a], c)
		c.other = a
		c.first = c.order && !c.first
		p.pairs[b] = append(p.pairs[b], c)
	}
	for a := range p.events {
		for b := a + 1; b < len(p.events); b++ {
			x, y := &p.events[a], &p.events[b]
			if x.fixed && y.fixed {
				continue // what was called is past changing
			}
			if x.entry == y.entry {
				link(a, b, pair{rest: p.in.Rests.Phases, why: "the entry itself"})
				px, py := &p.in.Phases[x.phase], &p.in.Phases[y.phase]
				if py.After == px.Name {
					link(a, b, pair{order: true, first: true})
				}
				if px.After == py.Name {
					link(a, b, pair{order: true, first: false})
				}
				continue
			}
			worst := pair{rest: -1}
			for _, s := range p.shares {
				if s.uses[x.entry] && s.uses[y.entry] && s.rest > worst.rest {
					worst = pair{rest: s.rest, why: s.what}
				}
			}
			if worst.rest >= 0 {
				link(a, b, worst)
			}
			if x.phase != y.phase {
				continue
			}
			name := p.in.Phases[x.phase].Name
			for _, o := range []struct {
				a, b  *event
				first bool
			}{{y, x, true}, {x, y, false}} {
				for _, w := range p.in.Entries[o.a.entry].Wishes {
					if w.Behind == p.in.Entries[o.b.entry].Number && (w.Phase == "" || w.Phase == name) {
						link(a, b, pair{order: true, first: o.first, why: cmp.Or(w.Why, "a wish")})
					}
				}
			}
		}
	}
}

// sit puts an event into a slot of its phase.
func (p *problem) sit(e, slot int) {
	ph := p.events[e].phase
	p.at[ph][slot], p.pos[e], p.when[e] = e, slot, p.slots[ph][slot]
}

// pairBroken reports whether two events are nearer than they want, or in the
// wrong order.
func (p *problem) pairBroken(e int, c *pair) bool { return p.pairCost(e, c) > 0 }

func (p *problem) pairCost(e int, c *pair) float64 {
	s, t := p.when[e], p.when[c.other]
	if c.order {
		if c.first == (s < t) {
			return 0
		}
		return costWish
	}
	lasts := p.events[e].lasts
	if t < s {
		s, t = t, s
		lasts = p.events[c.other].lasts
	}
	switch between := int(t-s) - lasts; {
	case between < 0:
		return costAtOnce
	case between < c.rest:
		// Nearly enough is better than not at all: it leads the search.
		return costWish * (1 + costWorse*float64(c.rest-between)/float64(c.rest))
	}
	return 0
}

// own is what one event is charged for alone.
func (p *problem) own(e int) float64 {
	ev := &p.events[e]
	t := p.when[e]
	cost := 0.0
	if t < ev.low {
		cost += costWish * (1 + costWorse*min(1, float64(ev.low-t)/7200))
	}
	if ev.high > 0 && t > ev.high {
		cost += costWish * (1 + costWorse*min(1, float64(t-ev.high)/7200))
	}
	if ev.posted > 0 && !ev.fixed && t != ev.posted {
		// The square keeps people in the order they were told: a list that begins half
		// an hour later moves on as it is, instead of putting its first ones last.
		far := min(math.Abs(float64(t-ev.posted))/movedEach, movedMost)
		cost += costMoved * (1 + far*far)
		if t < ev.posted {
			cost += costWish / 2
		}
	}
	return cost
}

// weigh is what some events, all of one phase, are charged for: alone and with
// all others.
func (p *problem) weigh(events []int) float64 {
	p.mark++
	for _, e := range events {
		p.stamp[e] = p.mark
	}
	cost := 0.0
	for _, e := range events {
		cost += p.own(e)
		for i := range p.pairs[e] {
			c := &p.pairs[e][i]
			if p.stamp[c.other] == p.mark && c.other < e {
				continue
			}
			cost += p.pairCost(e, c)
		}
	}
	return cost
}

// sequence is what a phase is charged for as a list.
func (p *problem) sequence(ph int) float64 {
	phase := &p.in.Phases[ph]
	cost := 0.0
	gap, class, empty := 0, "", 0
	for _, e := range p.at[ph] {
		if e < 0 {
			empty++
			continue
		}
		cost += costEmpty * float64(empty)
		empty = 0
		entry := &p.in.Entries[p.events[e].entry]
		if phase.Gaps && entry.GapCM > 0 {
			if gap != 0 && gap != entry.GapCM {
				cost += costGap
			}
			gap = entry.GapCM
		}
		if phase.KeepClasses && entry.Class != class {
			cost += costClass
			class = entry.Class
		}
	}
	return cost
}

// around is the part of sequence that a change within the slots from..to can change: what
// stands in them, and behind them the next that is charged by what went before. The rest
// of a long list need not be looked at for each step.
func (p *problem) around(ph, from, to int) float64 {
	phase, row := &p.in.Phases[ph], p.at[ph]
	gap, class, empty := 0, "", 0
	wanted := waits{gap: phase.Gaps, class: phase.KeepClasses, start: true}
	for s := from - 1; s >= 0 && wanted != (waits{}); s-- {
		if row[s] < 0 {
			if wanted.start {
				empty++
			}
			continue
		}
		entry := &p.in.Entries[p.events[row[s]].entry]
		if wanted.class {
			class = entry.Class
		}
		if wanted.gap && entry.GapCM > 0 {
			gap, wanted.gap = entry.GapCM, false
		}
		wanted.class, wanted.start = false, false
	}
	cost := 0.0
	wanted = waits{gap: phase.Gaps, class: phase.KeepClasses, start: true}
	for s := from; s < len(row) && (s <= to || wanted != (waits{})); s++ {
		if row[s] < 0 {
			empty++
			continue
		}
		entry := &p.in.Entries[p.events[row[s]].entry]
		if wanted.start {
			cost += costEmpty * float64(empty)
			empty = 0
		}
		if wanted.class && entry.Class != class {
			cost += costClass
			class = entry.Class
		}
		if wanted.gap && entry.GapCM > 0 {
			if gap != 0 && gap != entry.GapCM {
				cost += costGap
			}
			gap = entry.GapCM
		}
		if s > to {
			wanted.class, wanted.start = false, false
			wanted.gap = wanted.gap && entry.GapCM == 0
		}
	}
	return cost
}

// waits is what around still has to meet.
type waits struct{ gap, class, start bool }

// floor is a bound no plan is below: each class once, each gap once.
func (p *problem) floor() float64 {
	cost := 0.0
	for ph := range p.in.Phases {
		gaps, classes := map[int]bool{}, map[string]bool{}
		for e := range p.events {
			if p.events[e].phase == ph {
				entry := &p.in.Entries[p.events[e].entry]
				if entry.GapCM > 0 {
					gaps[entry.GapCM] = true
				}
				classes[entry.Class] = true
			}
		}
		if p.in.Phases[ph].Gaps && len(gaps) > 0 {
			cost += costGap * float64(len(gaps)-1)
		}
		if p.in.Phases[ph].KeepClasses {
			n := len(classes)
			if classes[""] {
				n-- // the first run of no class costs nothing
			}
			cost += costClass * float64(n)
		}
	}
	return cost
}

// total is what the whole plan is charged for.
func (p *problem) total() float64 {
	all := make([]int, len(p.events))
	for e := range all {
		all[e] = e
	}
	cost := p.weigh(all)
	for ph := range p.in.Phases {
		cost += p.sequence(ph)
	}
	return cost
}

// begin fills the slots: called and posted starts where they were, the others by
// class and gap.
func (p *problem) begin(r *rand.Rand, nth int) {
	for ph := range p.at {
		for s := range p.at[ph] {
			p.at[ph][s] = -1
		}
	}
	var left []int
	for e := range p.events {
		ev := &p.events[e]
		s := slices.Index(p.slots[ev.phase], ev.posted)
		if ev.posted > 0 && s >= 0 && p.at[ev.phase][s] < 0 && (ev.fixed || p.usable(ev.phase, s)) {
			p.sit(e, s)
			continue
		}
		left = append(left, e)
	}
	rank := r.Perm(len(p.in.Entries))
	slices.SortStableFunc(left, func(a, b int) int {
		x, y := &p.in.Entries[p.events[a].entry], &p.in.Entries[p.events[b].entry]
		if nth%2 == 0 {
			if d := cmp.Or(cmp.Compare(x.Class, y.Class), x.GapCM-y.GapCM); d != 0 {
				return d
			}
		} else if d := x.GapCM - y.GapCM; d != 0 {
			return d
		}
		return rank[p.events[a].entry] - rank[p.events[b].entry]
	})
	next := make([]int, len(p.in.Phases))
	for _, e := range left {
		ph := p.events[e].phase
		for p.at[ph][next[ph]] >= 0 || p.slots[ph][next[ph]] < p.in.Now {
			next[ph]++
		}
		p.sit(e, next[ph])
	}
}

// solve anneals from several beginnings and keeps the best.
func (p *problem) solve() {
	if len(p.events) == 0 {
		return
	}
	floor := p.floor()
	best := math.Inf(1)
	var kept []int
	for nth := range beginnings {
		r := rand.New(rand.NewPCG(p.in.Seed, uint64(nth)+1))
		p.begin(r, nth)
		cost, pos := p.anneal(r, floor)
		if cost < best {
			best, kept = cost, pos
		}
		// Nothing broken and every list as good as it can be; or, from the second
		// beginning on, nothing broken and little to win.
		if best <= floor+1e-9 || nth >= 1 && best < floor+costGap {
			break
		}
	}
	p.put(kept)
	if len(p.in.Posted) > 0 {
		p.settle()
	}
}

// settle lets neighbours change places as long as that gains something: the last
// small gains, which annealing passes over, are who was told to go before whom.
func (p *problem) settle() {
	for gained, rounds := true, 0; gained && rounds < 50; rounds++ {
		gained = false
		for ph, row := range p.at {
			for from := range row {
				for to := from + 1; to < min(len(row), from+7); to++ {
					if row[from] < 0 && row[to] < 0 || p.stuck(ph, from) || p.stuck(ph, to) {
						continue
					}
					var events []int
					for _, e := range [2]int{row[from], row[to]} {
						if e >= 0 {
							events = append(events, e)
						}
					}
					before := p.weigh(events) + p.around(ph, from, to)
					row[from], row[to] = row[to], row[from]
					p.seat(ph, from, to)
					if p.weigh(events)+p.around(ph, from, to) < before-1e-9 {
						gained = true
						continue
					}
					row[from], row[to] = row[to], row[from]
					p.seat(ph, from, to)
				}
			}
		}
	}
}

// put places every event.
func (p *problem) put(pos []int) {
	for ph := range p.at {
		for s := range p.at[ph] {
			p.at[ph][s] = -1
		}
	}
	for e, s := range pos {
		p.sit(e, s)
	}
}

// anneal improves what stands, and gives the best it met.
func (p *problem) anneal(r *rand.Rand, floor float64) (float64, []int) {
	cost := p.total()
	best, kept := cost, slices.Clone(p.pos)
	steps := stepsEach * len(p.events)
	cool := math.Pow(coldest/hottest, 1/float64(steps))
	hot := hottest
	var events []int
	var old []int
	for range steps {
		hot *= cool
		ph := p.events[r.IntN(len(p.events))].phase
		from, to := p.pick(r, ph)
		if from == to {
			continue
		}
		if from > to {
			from, to = to, from
		}
		row := p.at[ph]
		old = append(old[:0], row[from:to+1]...)
		kind := r.IntN(10)
		events = events[:0]
		swap := kind < 6 || to-from > longest
		if swap { // two change places
			if row[from] < 0 && row[to] < 0 || p.stuck(ph, from) || p.stuck(ph, to) {
				continue
			}
			for _, e := range [2]int{row[from], row[to]} {
				if e >= 0 {
					events = append(events, e)
				}
			}
		} else {
			stuck := false
			for s := from; s <= to && !stuck; s++ {
				stuck = p.stuck(ph, s)
				if row[s] >= 0 {
					events = append(events, row[s])
				}
			}
			if stuck || len(events) == 0 {
				continue
			}
		}
		before := p.weigh(events) + p.around(ph, from, to)
		switch {
		case swap:
			row[from], row[to] = row[to], row[from]
		case kind < 8: // a stretch the other way round
			slices.Reverse(row[from : to+1])
		case kind == 8: // the first of a stretch behind its last
			first := row[from]
			copy(row[from:to], row[from+1:to+1])
			row[to] = first
		default:
			last := row[to]
			copy(row[from+1:to+1], row[from:to])
			row[from] = last
		}
		p.seat(ph, from, to)
		change := p.weigh(events) + p.around(ph, from, to) - before
		if change > 0 && r.Float64() >= math.Exp(-change/hot) {
			copy(row[from:to+1], old)
			p.seat(ph, from, to)
			continue
		}
		cost += change
		if cost < best-1e-9 {
			best = cost
			copy(kept, p.pos)
			if best <= floor+1e-9 {
				return best, kept
			}
		}
	}
	return best, kept
}

// pick chooses two slots of a phase, near each other more often than far.
func (p *problem) pick(r *rand.Rand, ph int) (int, int) {
	n := len(p.slots[ph])
	from := r.IntN(n)
	if r.IntN(2) == 0 {
		return from, r.IntN(n)
	}
	return from, min(n-1, max(0, from+r.IntN(13)-6))
}

// stuck reports whether nothing may be put into, or taken from, a slot.
func (p *problem) stuck(ph, s int) bool {
	if e := p.at[ph][s]; e >= 0 && p.events[e].fixed {
		return true
	}
	return p.in.Now > 0 && p.slots[ph][s] < p.in.Now
}

// seat writes down where the events of some slots are.
func (p *problem) seat(ph, from, to int) {
	for s := from; s <= to; s++ {
		if e := p.at[ph][s]; e >= 0 {
			p.sit(e, s)
		}
	}
}
