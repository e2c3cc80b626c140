package rota

import (
	"strings"

	"terret/internal/strict"
)

// Encode writes a rota as the YAML that Decode reads. Remarks and keys of one's own
// (`notes`, `x-…`) of the file it came from are not in it.
func Encode(r *Rota) ([]byte, error) {
	m := strict.Map{{Key: "terret", Value: Format}, {Key: "name", Value: r.Name}}
	putText(&m, "date", r.Date)
	for _, k := range []struct {
		key       string
		at, usual int
	}{{"change_min", r.ChangeMin, DefaultChangeMin}, {"longest_min", r.LongestMin, DefaultLongestMin}, {"break_min", r.BreakMin, DefaultBreakMin}} {
		if k.at != k.usual {
			m.Put(k.key, k.at)
		}
	}
	putText(&m, "phone", r.Phone, "food", r.Food)
	people := strict.List{}
	for i := range r.People {
		p := &r.People[i]
		o := strict.Map{{Key: "name", Value: p.Name}}
		putText(&o, "phone", p.Phone)
		putTime(&o, "from", p.From)
		putTime(&o, "to", p.To)
		putNames(&o, "can", p.Can)
		putNames(&o, "wishes", p.Wishes)
		putNames(&o, "not_near", p.NotNear)
		people = append(people, o)
	}
	m.Put("people", people)
	jobs := strict.List{}
	for i := range r.Jobs {
		jobs = append(jobs, jobTree(&r.Jobs[i]))
	}
	m.Put("jobs", jobs)
	if r.Clinic != nil {
		m.Put("clinic", clinicTree(r.Clinic))
	}
	putWords(&m, "emergency", EmergencyKeys(), r.Emergency)
	putNames(&m, "briefing", r.Briefing)
	return strict.YAML(m)
}

func jobTree(j *Job) strict.Map {
	o := strict.Map{{Key: "id", Value: j.ID}}
	putText(&o, "kind", j.Kind)
	if j.Name != untitled(j.ID, j.Kind) {
		o.Put("name", j.Name)
	}
	putText(&o, "place", j.Place, "phase", j.Phase, "skill", j.Skill)
	putNames(&o, "of", j.Of)
	if j.Need != 1 {
		o.Put("need", j.Need)
	}
	shift := func(o *strict.Map, s Shift) {
		o.Put("from", s.From.String())
		o.Put("to", s.To.String())
		putNames(o, "held", s.Held)
	}
	if len(j.Shifts) == 1 {
		shift(&o, j.Shifts[0])
	} else {
		shifts := strict.List{}
		for _, s := range j.Shifts {
			var one strict.Map
			shift(&one, s)
			shifts = append(shifts, one)
		}
		o.Put("shifts", shifts)
	}
	putText(&o, "stops", j.Stops)
	putWords(&o, "card", CardKeys(), j.Card)
	return o
}

func clinicTree(c *Clinic) strict.Map {
	m := strict.Map{{Key: "start", Value: c.Start.String()}}
	putTime(&m, "end", c.End)
	m.Put("slot_min", c.SlotMin)
	if c.ChangeMin != DefaultChangeMin {
		m.Put("change_min", c.ChangeMin)
	}
	var breaks strict.List
	for _, b := range c.Breaks {
		o := strict.Map{{Key: "from", Value: b.From.String()}, {Key: "to", Value: b.To.String()}}
		putText(&o, "why", b.Why)
		breaks = append(breaks, o)
	}
	if len(breaks) > 0 {
		m.Put("breaks", breaks)
	}
	bookings := strict.List{}
	for _, b := range c.Bookings {
		o := strict.Map{{Key: "driver", Value: b.Driver}}
		putText(&o, "turnout", b.Turnout)
		if b.TrackCM > 0 {
			o.Put("track_cm", b.TrackCM)
		}
		putText(&o, "level", b.Level)
		putTime(&o, "not_before", b.After)
		bookings = append(bookings, o)
	}
	m.Put("bookings", bookings)
	return m
}

// untitled is the name of a job that has none of its own.
func untitled(id, kind string) string {
	if kind == "" {
		return id
	}
	return strings.ToUpper(kind[:1]) + kind[1:]
}

func putText(m *strict.Map, pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			m.Put(pairs[i], pairs[i+1])
		}
	}
}

func putTime(m *strict.Map, key string, t Time) {
	if t != 0 {
		m.Put(key, t.String())
	}
}

func putNames(m *strict.Map, key string, names []string) {
	var l strict.List
	for _, n := range names {
		l = append(l, n)
	}
	if len(l) > 0 {
		m.Put(key, l)
	}
}

func putWords(m *strict.Map, key string, keys [][2]string, words map[string]string) {
	var o strict.Map
	for _, k := range keysOf(keys) {
		putText(&o, k, words[k])
	}
	if len(o) > 0 {
		m.Put(key, o)
	}
}
