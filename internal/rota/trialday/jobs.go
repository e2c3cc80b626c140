package trialday

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"terret/internal/rota"
	"terret/internal/rules"
	"terret/internal/trial"
)

// How long before the first start of a phase its people are wanted, and after the last
// one is done (estimates).
const (
	before       = 15 // min
	after        = 10
	checkBefore  = 60 // the safety checker, before the first start of all
	scoreAfter   = 45 // the scorer, after it: the first sheets
	resultsAfter = 45 // and after the last, until the results stand
)

// want is a job that a phase wants (common practice).
type want struct {
	kind, name string
	need       int
	stops      bool
	judges     bool // classes of their own are not for them
}

// wants are the jobs of each phase. Of hazards and sections every course has its own
// people; of the others there is one place.
func wants() map[string][]want {
	return map[string][]want{
		rules.Dressage: {{"judge", "Dressage judge", 1, true, true}, {"scribe", "", 1, true, false}, {"steward", "Gate steward", 1, false, false}},
		rules.Judged:   {{"judge", "Judge", 1, true, true}, {"scribe", "", 1, true, false}, {"steward", "Gate steward", 1, false, false}},
		rules.Sections: {{"starter", "Starter and finish", 2, true, false}},
		rules.Hazards:  {{"observer", "", 1, true, true}, {"timer", "", 2, true, false}, {"hold", "", 1, false, false}},
		rules.Cones:    {{"judge", "Cones judge", 1, true, true}, {"scribe", "", 1, true, false}, {"timer", "", 2, true, false}, {"setter", "Setters", 4, false, false}},
		rules.Timed:    {{"judge", "Judge", 1, true, true}, {"scribe", "", 1, true, false}, {"timer", "", 2, true, false}, {"setter", "Setters", 2, false, false}},
	}
}

// skilled are the kinds that not everybody can.
func skilled(kind string) string {
	if slices.Contains([]string{"judge", "scribe", "timer", "observer", "safety", "scorer"}, kind) {
		return kind
	}
	return ""
}

// Jobs are the jobs that a trial's day wants, with nobody in them yet: for each phase of
// its timetable, and for the whole day. Who is wanted, and how many, is common practice;
// the hours are those of the starts, or reckoned from the first start and the number of
// entries where the order is not made yet. A job that is longer than anybody should work
// without a break is in shifts. The error is a fault when there is no timetable.
func Jobs(t *trial.Trial) (*rota.Rota, error) {
	in, err := t.OrderInput()
	if err != nil {
		return nil, err
	}
	r := &rota.Rota{Name: t.Name, ChangeMin: rota.DefaultChangeMin, LongestMin: rota.DefaultLongestMin, BreakMin: rota.DefaultBreakMin}
	add := func(j rota.Job, from, to rota.Time) {
		j.ID, j.Name, j.Place = clip(j.ID), clip(j.Name), clip(j.Place)
		id := j.ID
		for k := 2; slices.ContainsFunc(r.Jobs, func(o rota.Job) bool { return o.ID == j.ID }); k++ {
			j.ID = fmt.Sprint(id, "-", k)
		}
		if j.Name == "" {
			j.Name = strings.ToUpper(j.Kind[:1]) + j.Kind[1:]
		}
		j.Skill, j.Shifts = skilled(j.Kind), shifts(from, to)
		r.Jobs = append(r.Jobs, j)
	}
	day := Of(t)
	first, last := rota.Time(24*60), rota.Time(0)
	hours := make([]rota.Stretch, len(in.Phases))
	for i, p := range in.Phases {
		h := rota.StretchOf(int(p.Start), 0)
		if starts := day.Phases[i].Starts; len(starts) > 0 {
			h = rota.Stretch{From: starts[0].From, To: starts[len(starts)-1].To}
		} else {
			n := 0
			for _, e := range in.Entries {
				if slices.Contains(e.Phases, p.Name) {
					n++
				}
			}
			h = rota.StretchOf(int(p.Start), n*p.Every)
		}
		hours[i] = h
		first, last = min(first, h.From), max(last, h.To)
	}
	add(rota.Job{ID: "safety", Kind: "safety", Name: "Safety checker", Need: 1, Stops: "the first start"}, first-checkBefore, cmp.Or(hours[0].To, last))
	for i, p := range in.Phases {
		from, to := hours[i].From-before, hours[i].To+after
		all, known := wants()[p.Name]
		if !known {
			add(rota.Job{ID: p.Name, Kind: "helper", Name: p.Name, Phase: p.Name, Need: 1}, from, to)
			continue
		}
		for _, place := range places(t, p.Name) {
			for _, w := range all {
				j := rota.Job{ID: strings.ToLower(place.id) + "-" + w.kind, Kind: w.kind, Name: w.name, Place: place.name, Phase: p.Name, Need: w.need}
				if w.stops {
					j.Stops = place.name
				}
				if w.judges {
					j.Of = place.classes
				}
				add(j, from, to)
			}
		}
	}
	add(rota.Job{ID: "runner", Kind: "runner", Place: "scorer's office", Need: 1}, first, last+after)
	add(rota.Job{ID: "scorer", Kind: "scorer", Place: "scorer's office", Need: 1, Stops: "the results"}, first+scoreAfter, last+resultsAfter)
	return r, nil
}

// place is where a phase is driven.
type place struct {
	id, name string
	classes  []string // that drive there
}

// places are where a phase is driven: each hazard and each section by itself.
func places(t *trial.Trial, phase string) []place {
	var have []string
	for i := range t.Classes {
		if t.Classes[i].Has(phase) {
			have = append(have, t.Classes[i].ID)
		}
	}
	var all []place
	if phase == rules.Hazards || phase == rules.Sections {
		for _, c := range t.Courses {
			if c.Phase != phase {
				continue
			}
			p := place{c.ID, cmp.Or(c.Name, c.ID), c.Classes}
			if len(p.classes) == 0 {
				p.classes = have
			}
			all = append(all, p)
		}
	}
	if len(all) == 0 {
		all = []place{{phase, phase, have}}
	}
	return all
}

// shifts parts a time evenly into shifts that nobody needs a break in, to five minutes.
func shifts(from, to rota.Time) []rota.Shift {
	from = min(max(0, from/5*5), 24*60-5)
	to = min(24*60, (to+4)/5*5)
	to = max(to, from+5)
	n := (to - from + rota.DefaultLongestMin - 1) / rota.DefaultLongestMin
	var all []rota.Shift
	at := from
	for i := range n {
		end := from + (to-from)*(i+1)/n/5*5
		if i == n-1 {
			end = to
		}
		all = append(all, rota.Shift{From: at, To: end})
		at = end
	}
	return all
}

// clip cuts a name that is longer than paper has room for.
func clip(s string) string {
	if r := []rune(s); len(r) > rota.MaxName-4 {
		return string(r[:rota.MaxName-4])
	}
	return s
}
