package trial

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"terret/internal/rules"
	"terret/internal/strict"
)

// Encode writes a trial as the YAML that Decode reads. Sheets are written phase by
// phase, in their order within the phase.
func Encode(t *Trial) ([]byte, error) { return encode(t, strict.YAML) }

// EncodeJSON writes a trial as the same tree in JSON, on one line.
func EncodeJSON(t *Trial) ([]byte, error) { return encode(t, strict.JSON) }

func encode(t *Trial, write func(strict.Tree) ([]byte, error)) ([]byte, error) {
	m := strict.Map{{Key: "terret", Value: Format}, {Key: "name", Value: t.Name}}
	putText(&m, "rules", t.Rules)
	classes := strict.List{}
	for _, c := range t.Classes {
		o := strict.Map{{Key: "id", Value: c.ID}}
		putText(&o, "name", c.Name, "hitch", c.Hitch, "size", c.Size, "through", c.Through, "level", c.Level, "judged", c.Judged)
		o.Put("phases", textList(c.Phases))
		classes = append(classes, o)
	}
	m.Put("classes", classes)
	entries := strict.List{}
	for _, e := range t.Entries {
		o := strict.Map{{Key: "number", Value: e.Number}, {Key: "class", Value: e.Class}}
		putText(&o, "driver", e.Driver)
		putTexts(&o, "grooms", e.Grooms)
		putTexts(&o, "horses", e.Horses)
		putText(&o, "vehicle", e.Vehicle, "turnout", e.Turnout, "status", e.Status, "in_phase", e.InPhase, "why", e.Why)
		if e.GapCM > 0 {
			o.Put("gap_cm", e.GapCM)
		}
		putList(&o, "wishes", wishTree(e.Wishes))
		entries = append(entries, o)
	}
	m.Put("entries", entries)
	var tests, courses, teams, series strict.List
	for _, s := range t.Tests {
		most, err := strconv.Atoi(s.Maximum)
		if err != nil {
			return nil, fmt.Errorf("test %s: the most marks are %q", s.ID, s.Maximum)
		}
		o := strict.Map{{Key: "id", Value: s.ID}}
		putText(&o, "name", s.Name)
		o.Put("maximum", most)
		putText(&o, "coefficient", s.Coefficient)
		var movements strict.List
		for _, v := range s.Movements {
			m := strict.Map{{Key: "no", Value: v.No}, {Key: "times", Value: v.Times}}
			putText(&m, "text", v.Text)
			movements = append(movements, m)
		}
		putList(&o, "movements", movements)
		tests = append(tests, o)
	}
	for _, c := range t.Courses {
		o := strict.Map{{Key: "id", Value: c.ID}}
		putText(&o, "name", c.Name, "phase", c.Phase)
		putTexts(&o, "classes", c.Classes)
		putText(&o, "kind", c.Kind, "length_m", c.LengthM, "speed_m_per_min", c.SpeedMPerMin, "allowed_s", c.AllowedS, "minimum_s", c.MinimumS, "limit_s", c.LimitS)
		putMap(&o, "points", c.Points)
		courses = append(courses, o)
	}
	if t.Timetable != nil {
		m.Put("timetable", timetableTree(t.Timetable))
	}
	putList(&m, "tests", tests)
	putList(&m, "courses", courses)
	var sheets strict.Map
	for _, phase := range rules.Phases() {
		var list strict.List
		for i := range t.Sheets {
			if t.Sheets[i].Phase == phase {
				list = append(list, sheetTree(&t.Sheets[i]))
			}
		}
		putList(&sheets, phase, list)
	}
	if len(sheets) > 0 {
		m.Put("sheets", sheets)
	}
	for _, team := range t.Teams {
		members := strict.List{}
		for _, n := range team.Members {
			members = append(members, n)
		}
		teams = append(teams, strict.Map{{Key: "name", Value: team.Name}, {Key: "members", Value: members}})
	}
	for _, s := range t.Series {
		days := strict.List{}
		for _, d := range s.Days {
			o := strict.Map{{Key: "name", Value: d.Name}}
			if d.Final {
				o.Put("final", true)
			}
			places := strict.Map{}
			for _, k := range slices.Sorted(maps.Keys(d.Places)) {
				places.Put(k, d.Places[k])
			}
			o.Put("places", places)
			days = append(days, o)
		}
		series = append(series, strict.Map{{Key: "name", Value: s.Name}, {Key: "days", Value: days}})
	}
	putList(&m, "teams", teams)
	putList(&m, "series", series)
	return write(m)
}

func sheetTree(s *Sheet) strict.Map {
	var o strict.Map
	if s.ID != s.Run() {
		putText(&o, "id", s.ID)
	}
	o.Put("entry", s.Entry)
	putText(&o, "test", s.Test, "judge", s.Judge, "course", s.Course, "class", s.Class)
	putTexts(&o, "marks", s.Marks)
	putText(&o, "gates", s.Gates, "seconds", s.Seconds, "backup", s.Backup)
	putTexts(&o, "stops", s.Stops)
	putTexts(&o, "knocked", s.Knocked)
	putTexts(&o, "driven", s.Driven)
	if s.Cleared > 0 {
		o.Put("cleared", s.Cleared)
	}
	putText(&o, "extra", s.Extra)
	putMap(&o, "parts", s.Parts)
	if len(s.Faults) > 0 {
		faults := strict.Map{}
		for _, k := range sortedFaults(s.Faults) {
			faults.Put(k, s.Faults[k])
		}
		o.Put("faults", faults)
	}
	putText(&o, "out", s.Out, "replaces", s.Replaces)
	return o
}

// putText puts key after key with its text, where there is one.
func putText(m *strict.Map, pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			m.Put(pairs[i], pairs[i+1])
		}
	}
}

func putTexts(m *strict.Map, key string, texts []string) {
	if len(texts) > 0 {
		m.Put(key, textList(texts))
	}
}

func putList(m *strict.Map, key string, l strict.List) {
	if len(l) > 0 {
		m.Put(key, l)
	}
}

func putMap(m *strict.Map, key string, texts map[string]string) {
	if len(texts) == 0 {
		return
	}
	o := strict.Map{}
	for _, k := range slices.Sorted(maps.Keys(texts)) {
		o.Put(k, texts[k])
	}
	m.Put(key, o)
}

func textList(texts []string) strict.List {
	l := strict.List{}
	for _, s := range texts {
		l = append(l, s)
	}
	return l
}
