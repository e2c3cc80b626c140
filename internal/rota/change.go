package rota

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"terret/internal/fault"
)

// Changes are made to a copy: a rota that others look at stays as it is.

func wrong(code fault.Code, rule, place, message, hint string) error {
	return &fault.Fault{Code: code, Rule: rule, Place: place, Message: message, Hint: hint}
}

// copied is the rota with its jobs, shifts and people its own.
func (r *Rota) copied() *Rota {
	c := *r
	c.People, c.Jobs = slices.Clone(r.People), slices.Clone(r.Jobs)
	for i := range c.Jobs {
		c.Jobs[i].Shifts = slices.Clone(c.Jobs[i].Shifts)
		for k := range c.Jobs[i].Shifts {
			c.Jobs[i].Shifts[k].Held = slices.Clone(c.Jobs[i].Shifts[k].Held)
		}
	}
	return &c
}

// Shift finds one shift of a job, counted from 0. Fault NotFound when it is not there.
func (r *Rota) Shift(job string, n int) (*Job, *Shift, error) {
	for i := range r.Jobs {
		if j := &r.Jobs[i]; j.ID == job && n >= 0 && n < len(j.Shifts) {
			return j, &j.Shifts[n], nil
		}
	}
	return nil, nil, wrong(fault.NotFound, "shift", "job "+job, "there is no such shift", "look at the jobs again")
}

// Hold is the rota with these people, and nobody else, in one shift of a job.
func (r *Rota) Hold(job string, n int, names []string) (*Rota, error) {
	_, s, err := r.Shift(job, n)
	if err != nil {
		return nil, err
	}
	return r.WithShift(job, n, Shift{From: s.From, To: s.To, Held: names})
}

// WithShift is the rota with other hours and people in one shift of a job. An end that is
// not later than the beginning, a name that is not among the people or that stands
// there twice is a fault; whether somebody can hold it is for [Rota.Trouble] to say.
func (r *Rota) WithShift(job string, n int, to Shift) (*Rota, error) {
	c := r.copied()
	j, s, err := c.Shift(job, n)
	if err != nil {
		return nil, err
	}
	place := fmt.Sprintf("%s, %s to %s", j.titled(), s.From, s.To)
	if to.To <= to.From || to.From < 0 || to.To > 24*60 {
		return nil, wrong(fault.Input, "times", place, fmt.Sprintf("it ends at %s and begins at %s", to.To, to.From), "the end is later than the beginning; what goes over midnight is two days' rota")
	}
	if len(to.Held) > MaxNeed {
		return nil, wrong(fault.Input, "held", place, fmt.Sprintf("%d hold it", len(to.Held)), fmt.Sprintf("at most %d are taken", MaxNeed))
	}
	for i, name := range to.Held {
		if c.person(name) < 0 {
			return nil, wrong(fault.Input, "person", place, fmt.Sprintf("nobody is called %q", name), "add the person first")
		}
		if slices.Contains(to.Held[:i], name) {
			return nil, wrong(fault.Input, "held-twice", place, fmt.Sprintf("%s holds this twice", name), "choose another for one of the seats")
		}
	}
	to.Held = slices.Clone(to.Held)
	*s = to
	return c, nil
}

// WithNeed is the rota with so many seats in each shift of a job.
func (r *Rota) WithNeed(job string, need int) (*Rota, error) {
	c := r.copied()
	j, err := c.JobNamed(job)
	if err != nil {
		return nil, err
	}
	if need < 1 || need > MaxNeed {
		return nil, wrong(fault.Input, "need", j.titled(), fmt.Sprintf("%d are wanted", need), fmt.Sprintf("from 1 to %d people hold a job", MaxNeed))
	}
	j.Need = need
	return c, c.seated()
}

// WithJob is the rota with one more job, in one shift that nobody holds yet. Its id is
// made from its name and place where it has none.
func (r *Rota) WithJob(j Job, from, to Time) (*Rota, error) {
	j.Name = strings.TrimSpace(j.Name)
	if j.Name == "" && j.Kind == "" {
		return nil, wrong(fault.Input, "job", "name", "the job has no name", "write one, or choose a kind")
	}
	if j.Name == "" {
		j.Name = untitled("", j.Kind)
	}
	for _, k := range []struct {
		place, text string
		most        int
	}{{"name", j.Name, MaxName}, {"place", j.Place, MaxName}, {"stops", j.Stops, MaxFact}} {
		if n := utf8.RuneCountInString(k.text); n > k.most {
			return nil, wrong(fault.Input, "too-long", k.place, fmt.Sprintf("the text has %d letters", n), fmt.Sprintf("at most %d, or it is cut on paper", k.most))
		}
	}
	switch {
	case j.Kind != "" && !slices.Contains(Kinds(), j.Kind):
		return nil, wrong(fault.Input, "kind", "kind", fmt.Sprintf("there is no kind %q", j.Kind), "one of these is wanted: "+strings.Join(Kinds(), ", "))
	case j.Need < 1 || j.Need > MaxNeed:
		return nil, wrong(fault.Input, "need", "need", fmt.Sprintf("%d are wanted", j.Need), fmt.Sprintf("from 1 to %d people hold a job", MaxNeed))
	case to <= from || from < 0 || to > 24*60:
		return nil, wrong(fault.Input, "times", "to", fmt.Sprintf("it ends at %s and begins at %s", to, from), "the end is later than the beginning; what goes over midnight is two days' rota")
	case len(r.Jobs) >= MaxJobs:
		return nil, wrong(fault.Input, "too-many", "jobs", fmt.Sprintf("there are %d jobs already", len(r.Jobs)), "split the rota into days")
	}
	c := r.copied()
	if j.ID == "" {
		id := strings.ToLower(strings.Join(strings.Fields(j.Name+" "+j.Place), "-"))
		if runes := []rune(id); len(runes) > MaxName-4 {
			id = string(runes[:MaxName-4])
		}
		j.ID = id
		for n := 2; c.job(j.ID) >= 0; n++ {
			j.ID = fmt.Sprint(id, "-", n)
		}
	}
	if c.job(j.ID) >= 0 {
		return nil, wrong(fault.Input, "job-twice", "id", fmt.Sprintf("there is a job %q already", j.ID), "give each its own id")
	}
	j.Shifts = []Shift{{From: from, To: to}}
	c.Jobs = append(c.Jobs, j)
	return c, c.seated()
}

// WithoutJob is the rota without a job, and without wishes for it. Fault NotFound when
// there is none of that id.
func (r *Rota) WithoutJob(id string) (*Rota, error) {
	c := r.copied()
	i := c.job(id)
	if i < 0 {
		_, err := r.JobNamed(id)
		return nil, err
	}
	c.Jobs = slices.Delete(c.Jobs, i, i+1)
	for k := range c.People {
		c.People[k].Wishes = slices.DeleteFunc(slices.Clone(c.People[k].Wishes), func(w string) bool { return w == id })
	}
	return c, nil
}

func (r *Rota) job(id string) int {
	return slices.IndexFunc(r.Jobs, func(j Job) bool { return j.ID == id })
}

// seated is a fault when there are more seats than a file may have.
func (r *Rota) seated() error {
	seats := 0
	for i := range r.Jobs {
		seats += r.Jobs[i].Need * len(r.Jobs[i].Shifts)
	}
	if seats > MaxSeats {
		return wrong(fault.Input, "too-many", "jobs", fmt.Sprintf("there would be %d seats", seats), fmt.Sprintf("at most %d; split the rota into days", MaxSeats))
	}
	return nil
}

func (r *Rota) person(name string) int {
	return slices.IndexFunc(r.People, func(p Person) bool { return p.Name == name })
}

// WithPerson is the rota with one more person. A name that is empty, too long or there
// already is a fault, and so are times the wrong way round and wishes for jobs that are
// not there.
func (r *Rota) WithPerson(p Person) (*Rota, error) {
	p.Name = strings.TrimSpace(p.Name)
	switch n := utf8.RuneCountInString(p.Name); {
	case n == 0:
		return nil, wrong(fault.Input, "person", "name", "nobody is named", "write a name")
	case n > MaxName:
		return nil, wrong(fault.Input, "too-long", "name", fmt.Sprintf("the name has %d letters", n), fmt.Sprintf("at most %d, or it is cut on paper", MaxName))
	case r.person(p.Name) >= 0:
		return nil, wrong(fault.Input, "person-twice", "name", fmt.Sprintf("%s is there already", p.Name), "give the second a name that tells them apart")
	case len(r.People) >= MaxPeople:
		return nil, wrong(fault.Input, "too-many", "people", fmt.Sprintf("there are %d people already", len(r.People)), "split the rota into days")
	case p.From < 0 || p.To < 0 || p.From > 24*60 || p.To > 24*60 || p.To > 0 && p.To <= p.From:
		return nil, wrong(fault.Input, "times", "to", fmt.Sprintf("they go at %s and come at %s", p.To, p.From), "the end is later than the beginning")
	}
	for _, w := range p.Wishes {
		if _, err := r.JobNamed(w); err != nil {
			return nil, err
		}
	}
	c := r.copied()
	c.People = append(c.People, p)
	return c, nil
}

// WithoutPerson is the rota without a person, whose seats are then empty; left is how
// many they held. Fault NotFound when there is nobody of that name.
func (r *Rota) WithoutPerson(name string) (without *Rota, left int, err error) {
	c := r.copied()
	i := c.person(name)
	if i < 0 {
		return nil, 0, wrong(fault.NotFound, "person", "people", fmt.Sprintf("nobody is called %q", name), "look at the people again")
	}
	c.People = slices.Delete(c.People, i, i+1)
	for i := range c.Jobs {
		for k := range c.Jobs[i].Shifts {
			s := &c.Jobs[i].Shifts[k]
			if at := slices.Index(s.Held, name); at >= 0 {
				s.Held = slices.Delete(s.Held, at, at+1)
				left++
			}
		}
	}
	return c, left, nil
}

// Fit says why a person should not hold one shift of a job on a day, as [Rota.Trouble] or
// [Rota.Against] would name it: one of the kinds, or "" when nothing speaks against it.
// What they hold in that shift itself does not count.
func (r *Rota) Fit(d Day, name, job string, n int) string {
	i := r.person(name)
	j, s, err := r.Shift(job, n)
	if i < 0 || err != nil {
		return NotThere
	}
	t := turn{Turn{Person: name, Job: j.ID, Name: j.Name, Place: j.Place, From: s.From, To: s.To}, j}
	if why := unfit(&r.People[i], t); why != "" {
		return why
	}
	if why := r.engaged(d, name, t); why != "" {
		return why
	}
	held := slices.DeleteFunc(r.turns(name), func(h turn) bool { return h.Job == t.Job && h.From == t.From && h.To == t.To })
	worst := ""
	for _, h := range held {
		if why := r.meets(h, t); why == Twice || worst == "" {
			worst = why
		}
		if worst == Twice {
			return Twice
		}
	}
	if worst != "" {
		return worst
	}
	all := append(held, t)
	sortTurns(all)
	if _, _, worn := r.worn(all); worn {
		return NoBreak
	}
	return ""
}
