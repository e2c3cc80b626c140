package exchange

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

// builder puts a trial together out of rows.
type builder struct {
	t      *trial.Trial
	from   map[string]origin // by path in the document: entries[3]
	sheets []origin          // of the sheets taken, which stand behind those that were there
	before int               // sheets that were there
}

func (b *builder) timetable() *trial.Timetable {
	if b.t.Timetable == nil {
		b.t.Timetable = &trial.Timetable{}
	}
	return b.t.Timetable
}

// Assemble makes a trial of tables, on top of base (nil: none). A row of the tables
// takes the place of what has its number or id in base; a sheet stands beside those
// of base, and corrects one by its column "replaces". profile finds the rule profile
// by the name the trial gives.
//
// Rows that cannot be right are left out, each with a fault that names its cell; all
// others are in the trial. err is a fault when there can be no trial at all.
func Assemble(base *trial.Trial, tables []Table, profile func(string) (*rules.Profile, error)) (t *trial.Trial, left fault.List, err error) {
	all := kinds()
	type taking struct {
		k    *kind
		t    *Table
		cols map[string]int
	}
	var work []taking
	for i := range tables {
		table := &tables[i]
		if table.Name == "" {
			table.Name = byCourse(base, table)
		}
		k, cols, wrongs := columnsOf(all, table)
		left = append(left, wrongs...)
		if k != nil {
			work = append(work, taking{k, table, cols})
		}
	}
	// In the order of a workbook, however the files came: entries before sheets.
	slices.SortStableFunc(work, func(x, y taking) int { return index(all, x.k) - index(all, y.k) })

	type at struct {
		t *Table
		n int
	}
	dropped := map[at]bool{}
	for range maxRows {
		b := &builder{t: cloned(base), from: map[string]origin{}}
		b.before = len(b.t.Sheets)
		for _, w := range work {
			for n := range w.t.Rows {
				if dropped[at{w.t, n}] {
					continue
				}
				r := &row{t: w.t, n: n, cols: w.cols}
				w.k.take(b, r)
				if !r.ok() {
					dropped[at{w.t, n}] = true
					left = append(left, r.wrong...)
				}
			}
		}
		p, err := profile(b.t.Rules)
		if err != nil {
			if f := (*fault.Fault)(nil); errors.As(err, &f) {
				if o, ok := b.from["rules"]; ok && f.Place == "" {
					f.Place = o.place("rules")
				}
			}
			return nil, left, err
		}
		b.t.NameSheets()
		var stuck fault.List
		again := false
		problems := b.t.Validate(p)
		// That two sheets are of one run is said last: one of them may be left out
		// for another reason.
		if slices.ContainsFunc(problems, func(pr trial.Problem) bool { return !ofRuns(pr) }) {
			problems = slices.DeleteFunc(problems, ofRuns)
		}
		for _, pr := range problems {
			o, column, ok := b.source(pr)
			if !ok {
				stuck = append(stuck, wrong(pr.Rule, pr.Path, pr.Message, pr.Hint))
				continue
			}
			again = true
			dropped[at{o.t, o.n}] = true
			left = append(left, wrong(pr.Rule, o.place(column), pr.Message, pr.Hint))
		}
		switch {
		case again: // without those rows, once more
		case len(stuck) > 0:
			return nil, left, stuck
		case b.t.Name == "" || len(b.t.Classes) == 0:
			return nil, left, wrong("tables", "", "the tables make no trial: there is no name or no class", "give the table trial and the table classes too, or a trial that they are to be added to")
		default:
			return b.t, left, nil
		}
	}
	return nil, left, fmt.Errorf("the tables come to no end")
}

// ofRuns reports whether a problem is between sheets.
func ofRuns(p trial.Problem) bool {
	return p.Rule == "sheet-twice" || p.Rule == "sheet-id" || p.Rule == "sheet-replaces"
}

func index(all []kind, k *kind) int {
	return slices.IndexFunc(all, func(o kind) bool { return o.name == k.name })
}

// cloned copies a trial as deep as Assemble writes.
func cloned(t *trial.Trial) *trial.Trial {
	if t == nil {
		return &trial.Trial{}
	}
	c := *t
	c.Classes, c.Entries, c.Tests, c.Courses = slices.Clone(t.Classes), slices.Clone(t.Entries), slices.Clone(t.Tests), slices.Clone(t.Courses)
	c.Sheets, c.Teams, c.Series = slices.Clone(t.Sheets), slices.Clone(t.Teams), slices.Clone(t.Series)
	for i := range c.Series {
		c.Series[i].Days = slices.Clone(c.Series[i].Days)
		for k := range c.Series[i].Days {
			d := &c.Series[i].Days[k]
			places := map[string]int{}
			for name, n := range d.Places {
				places[name] = n
			}
			d.Places = places
		}
	}
	if t.Timetable != nil {
		tt := *t.Timetable
		tt.Phases, tt.Starts = slices.Clone(tt.Phases), slices.Clone(tt.Starts)
		if tt.Rests != nil {
			r := *tt.Rests
			tt.Rests = &r
		}
		c.Timetable = &tt
	}
	return &c
}

var indexed = regexp.MustCompile(`^(\.(?:marks|stops|knocked|driven))\[(\d+)\]$`)

// source finds the row a problem is of, and the column.
func (b *builder) source(pr trial.Problem) (o origin, column string, ok bool) {
	if pr.Sheet > 0 {
		if pr.Sheet <= b.before {
			return o, "", false
		}
		o = b.sheets[pr.Sheet-1-b.before]
		path := pr.Path
		if m := indexed.FindStringSubmatch(path); m != nil {
			path = m[1]
			if path == ".marks" {
				var n int
				fmt.Sscan(m[2], &n)
				return o, fmt.Sprint(markFamily, n+1), true
			}
		}
		path = strings.TrimPrefix(path, ".")
		if name, is := strings.CutPrefix(path, "faults."); is {
			return o, faultFamily + name, true
		}
		if name, is := strings.CutPrefix(path, "parts."); is {
			return o, partFamily + name, true
		}
		return o, plain(path), true
	}
	// The longest beginning of the path that is a row's.
	for at := len(pr.Path); at > 0; at-- {
		if at < len(pr.Path) && pr.Path[at] != '.' {
			continue
		}
		if o, ok = b.from[pr.Path[:at]]; ok {
			rest, _, _ := strings.Cut(strings.TrimPrefix(pr.Path[at:], "."), "[")
			rest, _, _ = strings.Cut(rest, ".")
			if rest == "name" && o.t.Name == "timetable" {
				rest = "phase"
			}
			return o, plain(rest), true
		}
	}
	return o, "", false
}

// byCourse tells a table of sheets by the course its rows name; "" when there is no
// such column, or the courses are of several phases.
func byCourse(base *trial.Trial, t *Table) string {
	col := slices.IndexFunc(t.Head, func(h string) bool { return plain(h) == "course" || also[plain(h)] == "course" })
	if base == nil || col < 0 {
		return ""
	}
	phase := ""
	for _, row := range t.Rows {
		i := slices.IndexFunc(base.Courses, func(c trial.Course) bool { return col < len(row) && c.ID == row[col] })
		if i < 0 {
			continue
		}
		if p := base.Courses[i].Phase; phase == "" {
			phase = p
		} else if phase != p {
			return ""
		}
	}
	return phase
}

// columnsOf finds which table it is and which column is which.
func columnsOf(all []kind, t *Table) (*kind, map[string]int, fault.List) {
	own := make([]string, len(t.Head)) // the heads as the tables have them
	for i, h := range t.Head {
		own[i] = plain(h)
		if w := also[own[i]]; w != "" {
			own[i] = w
		}
	}
	var k *kind
	for i := range all {
		if t.Name != "" && all[i].name != t.Name {
			continue
		}
		fits := true
		for _, need := range all[i].needs {
			fits = fits && (t.Name != "" || slices.ContainsFunc(own, func(name string) bool {
				return name == need || strings.HasPrefix(name, need) && strings.HasSuffix(need, " ") || name == "number" && need == "entry" || name == "entry" && need == "number"
			}))
		}
		if !fits {
			continue
		}
		if k != nil { // two could be meant: the one that knows more of the columns
			if strange(&all[i], own) >= strange(k, own) {
				continue
			}
		}
		k = &all[i]
	}
	if k == nil {
		if t.Name != "" {
			return nil, nil, fault.List{wrong("table", t.File, fmt.Sprintf("there is no table %q", t.Name), "the tables are "+strings.Join(TableNames(), ", "))}
		}
		return nil, nil, fault.List{wrong("table", t.place(-1, -1), "these columns are of no table: "+strings.Join(t.Head, ", "), "the tables are "+strings.Join(TableNames(), ", ")+"; say which one it is")}
	}
	t.Name = k.name
	cols := map[string]int{}
	var faults fault.List
	for i, name := range own {
		at := t.place(-1, i)
		if name == "number" && !slices.Contains(k.columns, name) && slices.Contains(k.columns, "entry") {
			name = "entry"
		}
		if name == "entry" && !slices.Contains(k.columns, name) && slices.Contains(k.columns, "number") {
			name = "number"
		}
		switch {
		case name == "" || name == "notes" || strings.HasPrefix(name, "x-"):
			continue
		case !known(k, name):
			families := ""
			for _, f := range k.families {
				families += ", " + f + "…"
			}
			faults = append(faults, wrong("column", at, fmt.Sprintf("the table %s has no column %q", k.name, t.Head[i]), "its columns are "+strings.Join(k.columns, ", ")+families+"; one called notes is passed over"))
			continue
		}
		if _, twice := cols[canonical(k, name, t.Head[i])]; twice {
			faults = append(faults, wrong("column", at, fmt.Sprintf("there are two columns %q", t.Head[i]), "leave one out"))
			continue
		}
		cols[canonical(k, name, t.Head[i])] = i
	}
	for _, need := range k.needs[:1] {
		if _, ok := cols[need]; !ok {
			return nil, nil, append(faults, wrong("column", t.place(-1, -1), fmt.Sprintf("the table %s has no column %q", k.name, need), "its columns are "+strings.Join(k.columns, ", ")))
		}
	}
	return k, cols, faults
}

// canonical is the name a column is looked up by. Names of faults have underscores,
// names of parts are somebody's own.
func canonical(k *kind, name, head string) string {
	switch {
	case slices.Contains(k.columns, name):
		return name
	case strings.HasPrefix(name, faultFamily):
		return faultFamily + strings.ReplaceAll(strings.TrimPrefix(name, faultFamily), " ", "_")
	case strings.HasPrefix(name, partFamily):
		return partFamily + strings.TrimSpace(strings.TrimSpace(head)[len(partFamily)-1:])
	}
	return name
}

func known(k *kind, name string) bool {
	return slices.Contains(k.columns, name) || slices.ContainsFunc(k.families, func(f string) bool { return strings.HasPrefix(name, f) && len(name) > len(f) })
}

// strange counts the columns a table does not know.
func strange(k *kind, own []string) int {
	n := 0
	for _, name := range own {
		if !known(k, name) {
			n++
		}
	}
	return n
}
