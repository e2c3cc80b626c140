package rota

import (
	"cmp"
	"fmt"
	"slices"
)

// Kinds of trouble, in the order they are told after what is uncovered.
const (
	Twice    = "twice"     // in two places at once
	Walk     = "walk"      // too little time from one place to another
	NotThere = "not there" // before they come or after they go
	Cannot   = "cannot"    // without the skill the job wants
	NotNear  = "not near"  // judges what they may not
	TooMany  = "too many"  // more hold it than it needs
	NoBreak  = "no break"
	Driving  = "drives" // while they hold a job: see Rota.Against
	OffHours = "hours"  // of a job do not fit the phase it is for: see Rota.Against
)

// Open is a shift with empty seats.
type Open struct {
	Job     string `json:"job"`
	Name    string `json:"name"`
	Place   string `json:"place"`
	From    Time   `json:"from"`
	To      Time   `json:"to"`
	Missing int    `json:"missing"`
	Stops   string `json:"stops"` // what stops; "" nothing does
	Says    string `json:"says"`
}

// Trouble is something that the organiser has to settle.
type Trouble struct {
	Kind   string   `json:"kind"`
	Person string   `json:"person"`
	Jobs   []string `json:"jobs"`
	Says   string   `json:"says"`
}

// Turn is one person in one shift.
type Turn struct {
	Person   string `json:"person"`
	Job      string `json:"job"`
	Name     string `json:"name"`
	Place    string `json:"place"`
	From     Time   `json:"from"`
	To       Time   `json:"to"`
	Proposed bool   `json:"proposed,omitempty"`
}

// Answer is what there is to say of a rota.
type Answer struct {
	Rota     string    `json:"rota"`
	Open     []Open    `json:"uncovered"` // what stops the day first
	Trouble  []Trouble `json:"trouble"`
	Proposal Proposal  `json:"proposal"`
	People   []Hours   `json:"people"`           // by name, with what they hold
	Clinic   *Slots    `json:"clinic,omitempty"` // nil: none
}

// Hours is one person's day.
type Hours struct {
	Person string `json:"person"`
	Turns  []Turn `json:"turns"`
	Min    int    `json:"minutes"`
}

// Stops reports whether something that stops the day is uncovered.
func (a *Answer) Stops() bool {
	return slices.ContainsFunc(a.Open, func(o Open) bool { return o.Stops != "" })
}

// Check says what is uncovered and what is wrong, and proposes names for the seats
// that are free, which may take half a second: see [Rota.Propose]. Its lists are never
// nil.
func (r *Rota) Check() *Answer { return r.CheckOn(Day{}) }

// CheckOn is Check on a day that is known: what the day says against the rota stands
// first of the trouble (see [Rota.Against]), and nobody is proposed who is out then.
func (r *Rota) CheckOn(d Day) *Answer {
	a := &Answer{Rota: r.Name, Open: r.Uncovered(), Trouble: append(r.Against(d), r.Trouble()...), Proposal: r.ProposeOn(d), People: r.Hours()}
	if r.Clinic != nil {
		a.Clinic = r.Clinic.Slots()
	}
	return a
}

// Uncovered lists the shifts with empty seats, what stops the day first; never nil.
func (r *Rota) Uncovered() []Open {
	all := []Open{}
	for i := range r.Jobs {
		j := &r.Jobs[i]
		for _, s := range j.Shifts {
			if n := j.Need - len(s.Held); n > 0 {
				o := Open{Job: j.ID, Name: j.Name, Place: j.Place, From: s.From, To: s.To, Missing: n, Stops: j.Stops}
				o.Says = fmt.Sprintf("%s, %s to %s: %s", j.titled(), s.From, s.To, seats(n, j.Need))
				if j.Stops != "" {
					o.Says += "; without it stops: " + j.Stops
				}
				all = append(all, o)
			}
		}
	}
	slices.SortStableFunc(all, func(x, y Open) int {
		return cmp.Or(cmp.Compare(b2i(x.Stops == ""), b2i(y.Stops == "")), cmp.Compare(x.From, y.From), cmp.Compare(x.Job, y.Job))
	})
	return all
}

// Hours is everybody's day, in the order of the rota's people; never nil.
func (r *Rota) Hours() []Hours {
	all := []Hours{}
	for i := range r.People {
		h := Hours{Person: r.People[i].Name, Turns: []Turn{}}
		for _, t := range r.turns(h.Person) {
			h.Turns = append(h.Turns, t.Turn)
			h.Min += int(t.To - t.From)
		}
		all = append(all, h)
	}
	return all
}

// Trouble is what the organiser has to settle, the worst first; never nil.
func (r *Rota) Trouble() []Trouble {
	all := []Trouble{}
	for i := range r.People {
		all = append(all, r.troubleOf(&r.People[i], r.turns(r.People[i].Name))...)
	}
	for i := range r.Jobs {
		j := &r.Jobs[i]
		for _, s := range j.Shifts {
			if len(s.Held) > j.Need {
				all = append(all, Trouble{TooMany, "", []string{j.ID}, fmt.Sprintf("%s, %s to %s: %d hold it, %d needed", j.titled(), s.From, s.To, len(s.Held), j.Need)})
			}
		}
	}
	order := []string{Twice, NotThere, NotNear, Cannot, Walk, NoBreak, TooMany}
	slices.SortStableFunc(all, func(x, y Trouble) int {
		return cmp.Compare(slices.Index(order, x.Kind), slices.Index(order, y.Kind))
	})
	return all
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func seats(n, of int) string {
	if of == 1 {
		return "nobody"
	}
	return fmt.Sprintf("%d of %d missing", n, of)
}

// titled is the job with its place.
func (j *Job) titled() string {
	if j.Place == "" {
		return j.Name
	}
	return j.Name + " at " + j.Place
}

// turn is a Turn with its job.
type turn struct {
	Turn
	job *Job
}

// turns lists what a person holds, by time.
func (r *Rota) turns(name string) []turn {
	var all []turn
	for i := range r.Jobs {
		j := &r.Jobs[i]
		for _, s := range j.Shifts {
			if slices.Contains(s.Held, name) {
				all = append(all, turn{Turn{Person: name, Job: j.ID, Name: j.Name, Place: j.Place, From: s.From, To: s.To}, j})
			}
		}
	}
	sortTurns(all)
	return all
}

func sortTurns(all []turn) {
	slices.SortStableFunc(all, func(a, b turn) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.Job, b.Job))
	})
}

// meets says how two turns of one person are in each other's way: Twice, Walk or "".
func (r *Rota) meets(a, b turn) string {
	if b.From < a.From {
		a, b = b, a
	}
	switch {
	case b.From < a.To:
		return Twice
	case a.Place != b.Place && int(b.From-a.To) < r.ChangeMin:
		return Walk
	}
	return ""
}

// unfit says why a person may not hold a turn by itself: NotThere, Cannot, NotNear
// or "".
func unfit(p *Person, t turn) string {
	switch {
	case t.From < p.From || p.To > 0 && t.To > p.To:
		return NotThere
	case slices.Contains(p.NotNear, t.Place) && t.Place != "" || slices.ContainsFunc(t.job.Of, func(c string) bool { return slices.Contains(p.NotNear, c) }):
		return NotNear
	case t.job.Skill != "" && !slices.Contains(p.Can, t.job.Skill):
		return Cannot
	}
	return ""
}

// worn finds the first stretch of work without a break that is longer than the rota
// has it, in turns by time; from is where it begins.
func (r *Rota) worn(turns []turn) (from, to Time, ok bool) {
	if r.LongestMin == 0 || len(turns) == 0 {
		return 0, 0, false
	}
	from, to = turns[0].From, turns[0].To
	for _, t := range turns[1:] {
		if int(t.From-to) >= r.BreakMin {
			if int(to-from) > r.LongestMin {
				return from, to, true
			}
			from, to = t.From, t.To
			continue
		}
		to = max(to, t.To)
	}
	return from, to, int(to-from) > r.LongestMin
}

func (r *Rota) troubleOf(p *Person, turns []turn) []Trouble {
	var all []Trouble
	for i, a := range turns {
		switch why := unfit(p, a); why {
		case NotThere:
			hours := "from " + p.From.String()
			if p.To > 0 {
				hours += " to " + p.To.String()
			}
			all = append(all, Trouble{why, p.Name, []string{a.Job}, fmt.Sprintf("%s is there %s, and holds %s from %s to %s", p.Name, hours, a.job.titled(), a.From, a.To)})
		case Cannot:
			all = append(all, Trouble{why, p.Name, []string{a.Job}, fmt.Sprintf("%s holds %s, which wants %q", p.Name, a.job.titled(), a.job.Skill)})
		case NotNear:
			all = append(all, Trouble{why, p.Name, []string{a.Job}, fmt.Sprintf("%s holds %s, and may not judge what is theirs or their family's", p.Name, a.job.titled())})
		}
		for _, b := range turns[i+1:] {
			switch why := r.meets(a, b); why {
			case Twice:
				all = append(all, Trouble{why, p.Name, []string{a.Job, b.Job}, fmt.Sprintf("%s is wanted in two places from %s to %s: %s and %s", p.Name, max(a.From, b.From), min(a.To, b.To), a.job.titled(), b.job.titled())})
			case Walk:
				all = append(all, Trouble{why, p.Name, []string{a.Job, b.Job}, fmt.Sprintf("%s has %d min from %s to %s; %d are wanted", p.Name, int(b.From-a.To), a.job.titled(), b.job.titled(), r.ChangeMin)})
			}
		}
	}
	if from, to, ok := r.worn(turns); ok {
		all = append(all, Trouble{NoBreak, p.Name, []string{}, fmt.Sprintf("%s has no break of %d min from %s to %s; %d min is the longest here", p.Name, r.BreakMin, from, to, r.LongestMin)})
	}
	return all
}
