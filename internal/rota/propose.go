package rota

import (
	"cmp"
	"slices"
)

// maxWork bounds the search of a proposal, in looks at what somebody holds: about
// half a second.
const maxWork = 5_000_000

// Proposal is names for seats that are free.
type Proposal struct {
	Turns []Turn `json:"turns"` // never nil; by time
	Left  []Open `json:"left"`  // what stays uncovered, what stops the day first; never nil
	// Exact is whether the search was finished: no proposal fills more of what stops
	// the day, nor as much of that and more of the rest.
	Exact bool `json:"exact"`
}

// seat is one free place of a shift.
type seat struct {
	turn
	stops bool
	who   []int // people who may hold it by itself, the most willing first
	twin  bool  // the seat before is of the same shift: people in rising order only
}

// worth is what a proposal fills, compared part by part.
type worth struct{ stops, all, wishes int }

func (w worth) cmp(o worth) int {
	return cmp.Or(cmp.Compare(w.stops, o.stops), cmp.Compare(w.all, o.all), cmp.Compare(w.wishes, o.wishes))
}

type search struct {
	r     *Rota
	seats []seat
	held  [][]turn // by person: what they hold now
	at    []int    // by seat: the person, or -1
	now   worth
	best  []int
	top   worth
	after []worth // by seat: what this and the later ones could add at most
	work  int
}

// Propose fills as many free seats as it can without anybody being in two places, out
// of their hours, without a skill or a break; see the package's own words.
func (r *Rota) Propose() Proposal { return r.ProposeOn(Day{}) }

// ProposeOn is Propose on a day that is known: nobody who drives or is groom then, with
// the time to walk over, and nobody to judge a class they are in.
func (r *Rota) ProposeOn(d Day) Proposal {
	s := &search{r: r}
	for i := range r.People {
		s.held = append(s.held, r.turns(r.People[i].Name))
	}
	for i := range r.Jobs {
		j := &r.Jobs[i]
		for _, sh := range j.Shifts {
			for n := len(sh.Held); n < j.Need; n++ {
				st := seat{turn: turn{Turn{Job: j.ID, Name: j.Name, Place: j.Place, From: sh.From, To: sh.To, Proposed: true}, j}, stops: j.Stops != ""}
				for k := range r.People {
					if unfit(&r.People[k], st.turn) == "" && r.engaged(d, r.People[k].Name, st.turn) == "" && s.free(k, st.turn) {
						st.who = append(st.who, k)
					}
				}
				slices.SortStableFunc(st.who, func(a, b int) int {
					return cmp.Or(cmp.Compare(b2i(!s.wished(a, j.ID)), b2i(!s.wished(b, j.ID))), cmp.Compare(len(r.People[a].Can), len(r.People[b].Can)), cmp.Compare(s.minutes(a), s.minutes(b)))
				})
				s.seats = append(s.seats, st)
			}
		}
	}
	slices.SortStableFunc(s.seats, func(a, b seat) int {
		return cmp.Or(cmp.Compare(b2i(!a.stops), b2i(!b.stops)), cmp.Compare(len(a.who), len(b.who)), cmp.Compare(a.From, b.From), cmp.Compare(a.Job, b.Job), cmp.Compare(a.To, b.To))
	})
	s.after = make([]worth, len(s.seats)+1)
	for i := len(s.seats) - 1; i >= 0; i-- {
		st := &s.seats[i]
		st.twin = i > 0 && s.seats[i-1].Job == st.Job && s.seats[i-1].From == st.From && s.seats[i-1].To == st.To
		s.after[i] = s.after[i+1]
		if len(st.who) > 0 {
			s.after[i].stops += b2i(st.stops)
			s.after[i].all++
			s.after[i].wishes += b2i(s.wished(st.who[0], st.Job))
		}
	}
	s.at = make([]int, len(s.seats))
	s.best = make([]int, len(s.seats))
	for i := range s.at {
		s.at[i], s.best[i] = -1, -1
	}
	s.top = worth{-1, -1, -1}
	s.from(0)
	return s.answer()
}

func (s *search) wished(person int, job string) bool {
	return slices.Contains(s.r.People[person].Wishes, job)
}

// minutes is how long a person works by what they hold now.
func (s *search) minutes(person int) int {
	n := 0
	for _, h := range s.held[person] {
		n += int(h.To - h.From)
	}
	return n
}

// free reports whether a person can hold a turn besides what they hold.
func (s *search) free(person int, t turn) bool {
	s.work += 1 + len(s.held[person])
	for _, h := range s.held[person] {
		if s.r.meets(h, t) != "" {
			return false
		}
	}
	all := append(slices.Clone(s.held[person]), t)
	sortTurns(all)
	_, _, worn := s.r.worn(all)
	if worn { // a stretch that is too long already is not this turn's doing
		_, _, before := s.r.worn(s.held[person])
		return before && !s.longer(person, t)
	}
	return true
}

// longer reports whether a turn touches what a person holds, without a break.
func (s *search) longer(person int, t turn) bool {
	if int(t.To-t.From) > s.r.LongestMin {
		return true
	}
	return slices.ContainsFunc(s.held[person], func(h turn) bool {
		return int(t.From-h.To) < s.r.BreakMin && int(h.From-t.To) < s.r.BreakMin
	})
}

// tired reports whether the search has had its time, and there is an answer.
func (s *search) tired() bool { return s.work > maxWork && s.top.stops >= 0 }

// from fills the seats from the i-th on, every way that may be better than the best.
// The first way down is the greedy answer.
func (s *search) from(i int) {
	if s.tired() {
		return
	}
	if i == len(s.seats) {
		if s.now.cmp(s.top) > 0 {
			s.top = s.now
			copy(s.best, s.at)
		}
		return
	}
	most := worth{s.now.stops + s.after[i].stops, s.now.all + s.after[i].all, s.now.wishes + s.after[i].wishes}
	if most.cmp(s.top) <= 0 {
		return
	}
	st := &s.seats[i]
	// Twins are alike: their people come in the order of the list, empty ones last.
	least := -1
	if st.twin {
		if s.at[i-1] < 0 {
			s.from(i + 1)
			return
		}
		least = slices.Index(st.who, s.at[i-1])
	}
	for k, p := range st.who {
		if k <= least || !s.free(p, st.turn) {
			continue
		}
		s.held[p] = append(s.held[p], st.turn)
		s.at[i] = p
		before := s.now
		s.now = worth{before.stops + b2i(st.stops), before.all + 1, before.wishes + b2i(s.wished(p, st.Job))}
		s.from(i + 1)
		s.now = before
		s.at[i] = -1
		s.held[p] = s.held[p][:len(s.held[p])-1]
		if s.tired() {
			return
		}
	}
	s.from(i + 1)
}

func (s *search) answer() Proposal {
	p := Proposal{Turns: []Turn{}, Left: []Open{}, Exact: !s.tired()}
	var all []turn
	for i, who := range s.best {
		st := s.seats[i]
		if who >= 0 {
			st.Person = s.r.People[who].Name
			all = append(all, st.turn)
			continue
		}
		if k := slices.IndexFunc(p.Left, func(o Open) bool { return o.Job == st.Job && o.From == st.From && o.To == st.To }); k >= 0 {
			p.Left[k].Missing++
			continue
		}
		p.Left = append(p.Left, Open{Job: st.Job, Name: st.Name, Place: st.Place, From: st.From, To: st.To, Missing: 1, Stops: st.job.Stops})
	}
	sortTurns(all)
	for _, t := range all {
		p.Turns = append(p.Turns, t.Turn)
	}
	for i := range p.Left {
		o := &p.Left[i]
		why := "nobody who is there, may and can hold it is free"
		if o.Stops != "" {
			why += "; without it stops: " + o.Stops
		}
		place := ""
		if o.Place != "" {
			place = " at " + o.Place
		}
		o.Says = o.Name + place + ", " + o.From.String() + " to " + o.To.String() + ": " + why
	}
	return p
}

// Filled is the rota with a proposal's names in their seats.
func (r *Rota) Filled(p Proposal) *Rota {
	c := r.copied()
	for i := range c.Jobs {
		for k := range c.Jobs[i].Shifts {
			s := &c.Jobs[i].Shifts[k]
			for _, t := range p.Turns {
				if t.Job == c.Jobs[i].ID && t.From == s.From && t.To == s.To && len(s.Held) < c.Jobs[i].Need && !slices.Contains(s.Held, t.Person) {
					s.Held = append(s.Held, t.Person)
				}
			}
		}
	}
	return c
}
