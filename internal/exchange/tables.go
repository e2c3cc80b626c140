package exchange

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// Families of columns: a word, a blank, and what it is.
const (
	markFamily  = "mark "
	faultFamily = "fault "
	partFamily  = "part "
)

// kind is one kind of table: its columns, and how rows are made and taken.
type kind struct {
	name     string
	columns  []string
	families []string
	needs    []string // columns by which the table is known
	rows     func(t *trial.Trial) []map[string]string
	take     func(b *builder, r *row)
}

// also are other words for columns, that people's own tables have.
var also = map[string]string{
	"no": "number", "no.": "number", "entry number": "number", "groom": "grooms", "horse": "horses",
	"time": "seconds", "time s": "seconds", "gap": "gap cm", "section": "course", "hazard": "course",
}

// kinds lists the tables in the order a workbook has them.
func kinds() []kind {
	all := []kind{
		{
			name: "trial", columns: []string{"terret", "name", "rules"}, needs: []string{"terret", "name"},
			rows: func(t *trial.Trial) []map[string]string {
				return []map[string]string{{"terret": trial.Format, "name": t.Name, "rules": t.Rules}}
			},
			take: func(b *builder, r *row) {
				if f := r.text("terret"); f != trial.Format {
					r.fault("terret", "format", fmt.Sprintf("%q stands here", f), "only "+trial.Format+" can be read")
				}
				name, rule := r.need("name"), r.text("rules")
				if r.ok() {
					b.t.Name, b.t.Rules = name, rule
					b.from["name"], b.from["rules"] = r.origin(), r.origin()
				}
			},
		},
		{
			name: "classes", columns: []string{"id", "name", "hitch", "size", "through", "level", "judged", "phases"}, needs: []string{"id", "phases"},
			rows: func(t *trial.Trial) (all []map[string]string) {
				for _, c := range t.Classes {
					all = append(all, map[string]string{"id": c.ID, "name": c.Name, "hitch": c.Hitch, "size": c.Size, "through": c.Through, "level": c.Level, "judged": c.Judged, "phases": joined(c.Phases)})
				}
				return all
			},
			take: func(b *builder, r *row) {
				c := trial.Class{
					ID: r.need("id"), Name: r.text("name"), Hitch: r.oneOf("hitch", trial.Hitches()...), Size: r.oneOf("size", trial.Sizes()...),
					Through: r.text("through"), Level: r.oneOf("level", rules.Levels()...), Judged: r.oneOf("judged", trial.JudgedKinds()...),
				}
				for _, p := range parted(r.need("phases")) {
					if !slices.Contains(rules.Phases(), p) {
						r.fault("phases", "type", fmt.Sprintf("there is no phase %q", p), "the phases are "+strings.Join(rules.Phases(), "; "))
					}
					c.Phases = append(c.Phases, p)
				}
				merge(b, r, &b.t.Classes, c, "classes", func(o trial.Class) bool { return o.ID == c.ID })
			},
		},
		{
			name: "entries", columns: []string{"number", "class", "driver", "grooms", "horses", "vehicle", "turnout", "status", "in phase", "why", "gap cm"}, needs: []string{"number", "class"},
			rows: func(t *trial.Trial) (all []map[string]string) {
				for _, e := range t.Entries {
					all = append(all, map[string]string{"number": strconv.Itoa(e.Number), "class": e.Class, "driver": e.Driver, "grooms": joined(e.Grooms), "horses": joined(e.Horses), "vehicle": e.Vehicle, "turnout": e.Turnout, "status": e.Status, "in phase": e.InPhase, "why": e.Why, "gap cm": whole(e.GapCM)})
				}
				return all
			},
			take: func(b *builder, r *row) {
				e := trial.Entry{
					Number: r.whole("number", 1, 99_999), Class: r.need("class"), Driver: r.text("driver"), Grooms: parted(r.text("grooms")), Horses: parted(r.text("horses")),
					Vehicle: r.text("vehicle"), Turnout: r.text("turnout"), Status: r.oneOf("status", trial.Statuses()...), InPhase: r.oneOf("in phase", rules.Phases()...), Why: r.text("why"), GapCM: r.may("gap cm", 1, 1000),
				}
				if i := slices.IndexFunc(b.t.Entries, func(o trial.Entry) bool { return o.Number == e.Number }); i >= 0 {
					e.Wishes = b.t.Entries[i].Wishes
				}
				merge(b, r, &b.t.Entries, e, "entries", func(o trial.Entry) bool { return o.Number == e.Number })
			},
		},
		{
			name: "wishes", columns: []string{"entry", "phase", "not before", "not after", "behind", "why"}, needs: []string{"entry", "not before"},
			rows: func(t *trial.Trial) (all []map[string]string) {
				for _, e := range t.Entries {
					for _, w := range e.Wishes {
						all = append(all, map[string]string{"entry": strconv.Itoa(e.Number), "phase": w.Phase, "not before": clock(w.NotBefore), "not after": clock(w.NotAfter), "behind": whole(w.Behind), "why": w.Why})
					}
				}
				return all
			},
			take: func(b *builder, r *row) {
				n := r.whole("entry", 1, 99_999)
				w := order.Wish{Phase: r.text("phase"), NotBefore: r.clock("not before"), NotAfter: r.clock("not after"), Behind: r.may("behind", 1, 99_999), Why: r.text("why")}
				i := slices.IndexFunc(b.t.Entries, func(e trial.Entry) bool { return e.Number == n })
				if n > 0 && i < 0 {
					r.fault("entry", "wish-entry", fmt.Sprintf("there is no entry %d", n), "check the number against the table of entries")
				}
				if r.ok() && w.NotBefore == 0 && w.NotAfter == 0 && w.Behind == 0 {
					r.fault("not before", "wish", "the wish wishes nothing", "write a time or an entry to go behind")
				}
				if r.ok() {
					e := &b.t.Entries[i]
					e.Wishes = append(slices.Clip(e.Wishes), w)
					b.from[fmt.Sprintf("entries[%d].wishes[%d]", i, len(e.Wishes)-1)] = r.origin()
				}
			},
		},
		{
			name: "tests", columns: []string{"id", "name", "maximum", "coefficient", "movements", "movement texts"}, needs: []string{"id", "maximum"},
			rows: func(t *trial.Trial) (all []map[string]string) {
				for _, s := range t.Tests {
					var times, texts []string
					for _, m := range s.Movements {
						times, texts = append(times, strconv.Itoa(m.Times)), append(texts, m.Text)
					}
					if strings.Join(texts, "") == "" {
						texts = nil
					}
					all = append(all, map[string]string{"id": s.ID, "name": s.Name, "maximum": s.Maximum, "coefficient": s.Coefficient, "movements": joined(times), "movement texts": joined(texts)})
				}
				return all
			},
			take: func(b *builder, r *row) {
				s := trial.Test{ID: r.need("id"), Name: r.text("name"), Maximum: strconv.Itoa(r.whole("maximum", 1, 10_000)), Coefficient: r.text("coefficient")}
				for i, m := range parted(r.text("movements")) {
					n, err := strconv.Atoi(m)
					if err != nil || n < 1 || n > 20 {
						r.fault("movements", "type", fmt.Sprintf("%q stands there for movement %d", m, i+1), `write how often each counts, such as "1; 1; 2; 1"`)
						break
					}
					s.Movements = append(s.Movements, trial.Movement{No: i + 1, Times: n})
				}
				for i, text := range parted(r.text("movement texts")) {
					if i >= len(s.Movements) {
						r.fault("movement texts", "type", fmt.Sprintf("there are more texts than the %d movements", len(s.Movements)), "write one for each, parted by semicolons, and leave none out")
						break
					}
					s.Movements[i].Text = text
				}
				if len(s.Movements) > trial.MostMarks {
					r.fault("movements", "type", fmt.Sprintf("there are %d movements", len(s.Movements)), fmt.Sprintf("at most %d are taken", trial.MostMarks))
				}
				merge(b, r, &b.t.Tests, s, "tests", func(o trial.Test) bool { return o.ID == s.ID })
			},
		},
		{
			name: "courses", columns: []string{"id", "name", "phase", "classes", "kind", "length m", "speed m per min", "allowed s", "minimum s", "limit s", "points"}, needs: []string{"id", "phase"},
			rows: func(t *trial.Trial) (all []map[string]string) {
				for _, c := range t.Courses {
					var points []string
					for _, k := range slices.Sorted(maps.Keys(c.Points)) {
						points = append(points, k+" = "+c.Points[k])
					}
					all = append(all, map[string]string{"id": c.ID, "name": c.Name, "phase": c.Phase, "classes": joined(c.Classes), "kind": c.Kind, "length m": c.LengthM, "speed m per min": c.SpeedMPerMin, "allowed s": c.AllowedS, "minimum s": c.MinimumS, "limit s": c.LimitS, "points": joined(points)})
				}
				return all
			},
			take: func(b *builder, r *row) {
				c := trial.Course{
					ID: r.need("id"), Name: r.text("name"), Phase: r.oneOf("phase", rules.Sections, rules.Hazards, rules.Cones, rules.Timed), Classes: parted(r.text("classes")),
					Kind: r.oneOf("kind", trial.TimedKinds()...), LengthM: r.text("length m"), SpeedMPerMin: r.text("speed m per min"),
					AllowedS: r.text("allowed s"), MinimumS: r.text("minimum s"), LimitS: r.text("limit s"),
				}
				if c.Phase == "" {
					r.fault("phase", "missing", "nothing stands here", "write sections, hazards, cones or timed")
				}
				for _, p := range parted(r.text("points")) {
					at := strings.LastIndex(p, "=")
					if at < 0 {
						r.fault("points", "type", fmt.Sprintf("%q stands there", p), `write each obstacle with its points, such as "1 = 10; 2 = 20"`)
						break
					}
					if c.Points == nil {
						c.Points = map[string]string{}
					}
					c.Points[strings.TrimSpace(p[:at])] = strings.TrimSpace(p[at+1:])
				}
				merge(b, r, &b.t.Courses, c, "courses", func(o trial.Course) bool { return o.ID == c.ID })
			},
		},
	}
	all = append(all, timetableKinds()...)
	for _, phase := range rules.Phases() {
		all = append(all, sheetKind(phase))
	}
	return append(all, kind{
		name: "teams", columns: []string{"name", "members"}, needs: []string{"name", "members"},
		rows: func(t *trial.Trial) (all []map[string]string) {
			for _, team := range t.Teams {
				var members []string
				for _, n := range team.Members {
					members = append(members, strconv.Itoa(n))
				}
				all = append(all, map[string]string{"name": team.Name, "members": joined(members)})
			}
			return all
		},
		take: func(b *builder, r *row) {
			team := trial.Team{Name: r.need("name")}
			for _, m := range parted(r.text("members")) {
				n, err := strconv.Atoi(m)
				if err != nil || n < 1 || n > 99_999 {
					r.fault("members", "type", fmt.Sprintf("%q is no number of an entry", m), `write numbers, such as "7; 12; 13"`)
					break
				}
				team.Members = append(team.Members, n)
			}
			merge(b, r, &b.t.Teams, team, "teams", func(o trial.Team) bool { return o.Name == team.Name })
		},
	}, kind{
		name: "series", columns: []string{"series", "day", "final", "driver", "place"}, needs: []string{"series", "day"},
		rows: func(t *trial.Trial) (all []map[string]string) {
			for _, s := range t.Series {
				for _, d := range s.Days {
					for _, name := range slices.Sorted(maps.Keys(d.Places)) {
						all = append(all, map[string]string{"series": s.Name, "day": d.Name, "final": yes(d.Final), "driver": name, "place": strconv.Itoa(d.Places[name])})
					}
					if len(d.Places) == 0 {
						all = append(all, map[string]string{"series": s.Name, "day": d.Name, "final": yes(d.Final)})
					}
				}
			}
			return all
		},
		take: func(b *builder, r *row) {
			name, day, final, driver, place := r.need("series"), r.need("day"), r.yes("final"), r.text("driver"), 0
			if driver != "" {
				place = r.whole("place", 1, 2000)
			}
			if r.ok() {
				s := found(&b.t.Series, func(s *trial.Series) bool { return s.Name == name }, trial.Series{Name: name})
				d := found(&s.Days, func(d *trial.SeriesDay) bool { return d.Name == day }, trial.SeriesDay{Name: day, Places: map[string]int{}})
				d.Final = d.Final || final
				if driver != "" {
					d.Places[driver] = place
				}
			}
		},
	})
}

func timetableKinds() []kind {
	return []kind{{
		name: "timetable", columns: []string{"phase", "classes", "start", "end", "every min", "lasts min", "breaks", "gaps", "spare", "after", "keep classes", "seed"}, needs: []string{"phase", "start", "every min"},
		rows: func(t *trial.Trial) (all []map[string]string) {
			if t.Timetable == nil {
				return nil
			}
			for i, p := range t.Timetable.Phases {
				var breaks []string
				for _, b := range p.Breaks {
					breaks = append(breaks, b.String())
				}
				m := map[string]string{"phase": p.Name, "classes": joined(p.Classes), "start": p.Start.String(), "end": clock(p.End), "every min": minutes(p.Every), "lasts min": minutes(p.Lasts), "breaks": joined(breaks), "gaps": yes(p.Gaps), "spare": whole(p.Spare), "after": p.After, "keep classes": yes(p.KeepClasses)}
				if i == 0 {
					m["seed"] = whole(int(t.Timetable.Seed))
				}
				all = append(all, m)
			}
			return all
		},
		take: func(b *builder, r *row) {
			p := trial.Run{Classes: parted(r.text("classes"))}
			p.Name, p.After = r.need("phase"), r.text("after")
			r.need("start")
			p.Start, p.End = r.clock("start"), r.clock("end")
			r.need("every min")
			p.Every, p.Lasts = r.minutes("every min"), r.minutes("lasts min")
			p.Gaps, p.KeepClasses, p.Spare = r.yes("gaps"), r.yes("keep classes"), r.may("spare", 0, 500)
			for _, s := range parted(r.text("breaks")) {
				br, ok := order.ParseBreak(s)
				if !ok {
					r.fault("breaks", "type", fmt.Sprintf("%q stands there", s), `write breaks like "10:00 to 10:15 tea; 12:00 to 13:00"`)
					break
				}
				p.Breaks = append(p.Breaks, br)
			}
			seed := r.may("seed", 0, 1<<31-1)
			if r.ok() {
				t := b.timetable()
				merge(b, r, &t.Phases, p, "timetable.phases", func(o trial.Run) bool { return o.Name == p.Name })
				if seed > 0 {
					t.Seed = uint64(seed)
				}
			}
		},
	}, {
		name: "rests", columns: []string{"rest", "rest min"}, needs: []string{"rest", "rest min"},
		rows: func(t *trial.Trial) []map[string]string {
			if t.Timetable == nil || t.Timetable.Rests == nil {
				return nil
			}
			r := t.Timetable.Rests
			var all []map[string]string
			for _, k := range []struct {
				name string
				s    int
			}{{"phases", r.Phases}, {"driver", r.Driver}, {"groom", r.Groom}, {"horse", r.Horse}, {"vehicle", r.Vehicle}} {
				all = append(all, map[string]string{"rest": k.name, "rest min": order.MinutesText(k.s)})
			}
			return all
		},
		take: func(b *builder, r *row) {
			name, s := r.oneOf("rest", "phases", "driver", "groom", "horse", "vehicle"), r.minutes("rest min")
			if !r.ok() {
				return
			}
			t := b.timetable()
			if t.Rests == nil {
				d := order.DefaultRests()
				t.Rests = &d
			}
			*map[string]*int{"phases": &t.Rests.Phases, "driver": &t.Rests.Driver, "groom": &t.Rests.Groom, "horse": &t.Rests.Horse, "vehicle": &t.Rests.Vehicle, "": new(int)}[name] = s
		},
	}, {
		name: "starts", columns: []string{"phase", "entry", "at"}, needs: []string{"phase", "entry", "at"},
		rows: func(t *trial.Trial) (all []map[string]string) {
			if t.Timetable == nil {
				return nil
			}
			for _, s := range t.Timetable.Starts {
				all = append(all, map[string]string{"phase": s.Phase, "entry": strconv.Itoa(s.Entry), "at": s.At.String()})
			}
			return all
		},
		take: func(b *builder, r *row) {
			r.need("at")
			s := order.Start{Phase: r.need("phase"), Entry: r.whole("entry", 1, 99_999), At: r.clock("at")}
			if r.ok() {
				t := b.timetable()
				merge(b, r, &t.Starts, s, "timetable.starts", func(o order.Start) bool { return o.Phase == s.Phase && o.Entry == s.Entry })
			}
		},
	}}
}

// sheetColumns are those of a phase's sheets.
var sheetColumns = map[string][]string{
	rules.Dressage: {"test", "judge"},
	rules.Sections: {"course", "seconds", "backup"},
	rules.Hazards:  {"course", "gates", "seconds", "backup", "stops"},
	rules.Cones:    {"course", "seconds", "backup", "stops", "knocked"},
	rules.Timed:    {"course", "seconds", "backup", "stops", "cleared", "extra", "driven"},
	rules.Judged:   {"class", "judge"},
}

// sheetSign is the column that tells a phase's sheets from another's; with a blank
// behind, any of the family.
var sheetSign = map[string]string{
	rules.Dressage: markFamily, rules.Sections: "course", rules.Hazards: "gates", rules.Cones: "knocked", rules.Timed: "cleared", rules.Judged: partFamily,
}

func sheetKind(phase string) kind {
	k := kind{name: phase, families: []string{faultFamily}, needs: []string{"entry", sheetSign[phase]}}
	k.columns = append(append([]string{"entry"}, sheetColumns[phase]...), "out", "id", "replaces")
	switch phase {
	case rules.Dressage:
		k.families = append(k.families, markFamily)
	case rules.Judged:
		k.families = append(k.families, partFamily)
	}
	k.rows = func(t *trial.Trial) (all []map[string]string) {
		for i := range t.Sheets {
			s := &t.Sheets[i]
			if s.Phase != phase {
				continue
			}
			m := map[string]string{
				"entry": strconv.Itoa(s.Entry), "test": s.Test, "judge": s.Judge, "course": s.Course, "class": s.Class, "gates": s.Gates, "seconds": s.Seconds, "backup": s.Backup,
				"stops": joined(s.Stops), "knocked": joined(s.Knocked), "driven": joined(s.Driven), "cleared": whole(s.Cleared), "extra": s.Extra, "out": s.Out, "replaces": s.Replaces,
			}
			if s.ID != s.Run() {
				m["id"] = s.ID
			}
			for n, mark := range s.Marks {
				m[markFamily+strconv.Itoa(n+1)] = mark
			}
			for name, n := range s.Faults {
				m[faultFamily+name] = strconv.Itoa(n)
			}
			for name, v := range s.Parts {
				m[partFamily+name] = v
			}
			all = append(all, m)
		}
		return all
	}
	k.take = func(b *builder, r *row) {
		s := trial.Sheet{
			Phase: phase, Entry: r.whole("entry", 1, 99_999), ID: r.text("id"), Replaces: r.text("replaces"), Test: r.text("test"), Judge: r.text("judge"), Course: r.text("course"), Class: r.text("class"),
			Gates: r.text("gates"), Seconds: r.text("seconds"), Backup: r.text("backup"), Out: r.text("out"), Stops: words(r.text("stops"), ";"), Knocked: words(r.text("knocked"), ";,"), Driven: parted(r.text("driven")),
			Cleared: r.may("cleared", 0, 999), Extra: r.oneOf("extra", trial.ExtraClear, trial.ExtraMissed, trial.ExtraNotDriven),
		}
		s.Marks = r.marks()
		for _, name := range r.family(faultFamily) {
			if s.Faults == nil {
				s.Faults = map[string]int{}
			}
			s.Faults[name] = r.may(faultFamily+name, 0, 999)
		}
		for _, name := range r.family(partFamily) {
			if s.Parts == nil {
				s.Parts = map[string]string{}
			}
			s.Parts[name] = r.text(partFamily + name)
		}
		if r.ok() {
			b.sheets = append(b.sheets, r.origin())
			b.t.Sheets = append(b.t.Sheets, s)
		}
	}
	return k
}

// merge puts a row's thing in the place of one with its name, or at the end.
func merge[T any](b *builder, r *row, all *[]T, one T, path string, same func(T) bool) {
	if !r.ok() {
		return
	}
	at := func(i int) string { return fmt.Sprintf("%s[%d]", path, i) }
	i := slices.IndexFunc(*all, same)
	if i >= 0 {
		if _, ours := b.from[at(i)]; !ours { // it was there before these tables
			(*all)[i] = one
			b.from[at(i)] = r.origin()
			return
		}
	}
	*all = append(*all, one) // two in the tables are two: that is for Validate to say
	i = len(*all) - 1
	b.from[at(i)] = r.origin()
}

// found finds one in a list, or puts it there.
func found[T any](all *[]T, same func(*T) bool, fresh T) *T {
	for i := range *all {
		if same(&(*all)[i]) {
			return &(*all)[i]
		}
	}
	*all = append(*all, fresh)
	return &(*all)[len(*all)-1]
}

func whole(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func clock(c order.Clock) string {
	if c == 0 {
		return ""
	}
	return c.String()
}

func minutes(s int) string {
	if s == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(s)/60, 'f', -1, 64)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

// TableNames lists the tables there are, in the order of a workbook.
func TableNames() []string {
	var names []string
	for _, k := range kinds() {
		names = append(names, k.name)
	}
	return names
}

// tableNamed is the table a worksheet's name means; "" none.
func tableNamed(name string) string {
	for _, n := range TableNames() {
		if plain(name) == n {
			return n
		}
	}
	return ""
}

// Tables gives a trial's tables, without those that would be empty. Every sheet must
// have its ID; see trial.Trial.NameSheets.
func Tables(t *trial.Trial) []Table {
	var all []Table
	for _, k := range kinds() {
		rows := k.rows(t)
		if len(rows) == 0 {
			continue
		}
		table := Table{Name: k.name, Head: slices.Clone(k.columns)}
		extra := map[string]bool{}
		for _, r := range rows {
			for name := range r {
				if !slices.Contains(k.columns, name) && slices.ContainsFunc(k.families, func(f string) bool { return strings.HasPrefix(name, f) }) {
					extra[name] = true
				}
			}
		}
		more := slices.Collect(maps.Keys(extra))
		slices.SortFunc(more, byFamily)
		table.Head = append(table.Head, more...)
		for _, r := range rows {
			cells := make([]string, len(table.Head))
			for i, name := range table.Head {
				cells[i] = r[name]
			}
			table.Rows = append(table.Rows, cells)
		}
		all = append(all, table)
	}
	return all
}

// byFamily puts marks by their number, and the rest by name.
func byFamily(x, y string) int {
	a, errA := strconv.Atoi(strings.TrimPrefix(x, markFamily))
	b, errB := strconv.Atoi(strings.TrimPrefix(y, markFamily))
	if errA == nil && errB == nil {
		return a - b
	}
	return strings.Compare(x, y)
}
