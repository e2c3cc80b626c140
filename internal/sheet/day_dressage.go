package sheet

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
)

// dressageSheet is the judge's sheet: a row for each movement.
func dressageSheet(in *DayInput) ([]Scene, error) {
	var tests []*trial.Test
	for i := range in.Trial.Tests {
		if t := &in.Trial.Tests[i]; in.Course == "" || t.ID == in.Course {
			tests = append(tests, t)
		}
	}
	if len(tests) == 0 {
		return nil, in.none(DressageSheet, "the trial has no dressage test", `write tests: [{id: T1, maximum: 100, movements: [{no: 1}, …]}]`)
	}
	byEntry := func(e *trial.Entry) (all []*trial.Sheet) {
		for _, s := range in.Trial.Counting() {
			if s.Phase == rules.Dressage && s.Entry == e.Number && (in.Course == "" || s.Test == in.Course) {
				all = append(all, s)
			}
		}
		return all
	}
	if !in.Blank {
		return in.runs(DressageSheet, rules.Dressage, func(e *trial.Entry) []Scene {
			var pages []Scene
			for _, s := range byEntry(e) {
				if i := slices.IndexFunc(tests, func(t *trial.Test) bool { return t.ID == s.Test }); i >= 0 {
					pages = append(pages, in.dressageRun(tests[i], e, s)...)
				}
			}
			return pages
		}, func(e *trial.Entry) bool { return len(byEntry(e)) > 0 })
	}
	// Which class drives which test no file says: with more than one, blank sheets are
	// asked for test by test.
	if len(tests) > 1 {
		var ids []string
		for _, t := range tests {
			ids = append(ids, t.ID)
		}
		return nil, in.none(DressageSheet, fmt.Sprintf("the trial has %d tests", len(tests)), "name one with --course: "+strings.Join(ids, ", "))
	}
	return in.runs(DressageSheet, rules.Dressage, func(e *trial.Entry) []Scene { return in.dressageRun(tests[0], e, nil) }, nil)
}

func (in *DayInput) dressageRun(t *trial.Test, e *trial.Entry, s *trial.Sheet) []Scene {
	of := t.ID
	if t.Name != "" {
		of = t.Name
	}
	if e != nil {
		of += ", class " + e.Class
	}
	f := in.flow("Dressage judge's sheet", of, false)
	f.turn()
	fm := &form{in: in, s: f.page(), r: f.left}
	judge := "judge at_"
	if s != nil && s.Judge != "" {
		judge = "judge at " + s.Judge
	}
	fm.who(e, []string{judge, "mark 0 to " + in.Rules.Get("dressage.mark_most").Value + ", steps " + in.Rules.Get("dressage.mark_step").Value})
	fm.words(body, false, "The number on this sheet is the number in the arena: look before the halt.")
	f.left = fm.r
	cols := []column{{head: "no.", width: 14, right: true}, {head: "mark", width: 24, large: true, right: true}, {head: "×", width: 11, right: true}, {head: "marks", width: 24, right: true}, {head: "remarks"}}
	asks := slices.ContainsFunc(t.Movements, func(m trial.Movement) bool { return m.Text != "" })
	if asks { // where and what, before the mark
		cols = slices.Insert(cols, 1, column{head: "movement", width: 74})
	}
	var rows [][]string
	sum, whole := new(big.Rat), s != nil && len(s.Marks) == len(t.Movements)
	for i, m := range t.Movements {
		row := []string{fmt.Sprint(m.No), "", "", "", ""}
		if m.Times != 1 {
			row[2] = fmt.Sprint(m.Times)
		}
		if s != nil && i < len(s.Marks) {
			row[1] = s.Marks[i]
			p := product(s.Marks[i], m.Times)
			if p == nil {
				whole = false
			} else {
				row[3] = plainNumber(p)
				sum.Add(sum, p)
			}
		}
		if asks {
			row = slices.Insert(row, 1, m.Text)
		}
		rows = append(rows, row)
	}
	all := faultLines(in.Rules, rules.Dressage)
	ps := trial.PhaseScore{}
	need := fm.faultsTall(all, s) + signedTall + 8
	if s != nil {
		ps = in.phaseScore(e.Number, rules.Dressage)
		need += workTall(ps.Lines, fm.r.W)
	}
	// One side, where rows that a pencil can write in leave room for it.
	high := f.rowsIn(f.left.H-need-19, cols, rows, 8, 11.5)
	if high == 0 {
		high = 11.5
	}
	f.table("Movements", cols, rows, high)
	fm = &form{in: in, s: f.page(), r: f.left}
	if f.left.H < need {
		f.turn()
		fm = &form{in: in, s: f.page(), r: f.left}
		if e != nil {
			fm.words(17, true, fmt.Sprintf("No. %d  %s", e.Number, e.Driver))
		} else {
			fm.lines([]string{"no.", "driver"})
		}
	}
	fm.faults(all, s)
	if s != nil {
		fm.working(ps.Lines, min(workTall(ps.Lines, fm.r.W), fm.r.H-signedTall)-8)
	}
	bottom := f.left.Y + f.left.H
	fm.r.Y, fm.r.H = bottom-signedTall, signedTall
	marks, possible := "", "of "+t.Maximum
	if whole {
		marks = plainNumber(sum)
	}
	coefficient := "coefficient"
	total := ""
	if ps.Penalties != nil {
		total = *ps.Penalties
	}
	fm.signed([]string{"judge", "scribe"}, []string{"marks", "possible", coefficient, "errors", "penalties"}, []string{marks, possible, t.Coefficient, "", total})
	return f.pages
}

// workTall is what the working of a phase takes, with its frame and name.
func workTall(lines []string, width float64) float64 {
	h := 8 + 3.5
	for _, l := range lines {
		h += tall(l, body, false, width-3)
	}
	return h
}

// product is a mark times its coefficient; nil where there is no mark.
func product(mark string, times int) *big.Rat {
	v, ok := rules.Decimal(mark)
	if !ok {
		return nil
	}
	return v.Mul(v, big.NewRat(int64(max(times, 1)), 1))
}

// plainNumber writes a number of marks without needless noughts.
func plainNumber(v *big.Rat) string {
	s := v.FloatString(3)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// judgedSheet is the sheet of a class that is judged by parts of a hundred.
func judgedSheet(in *DayInput) ([]Scene, error) {
	return in.runs(JudgedSheet, rules.Judged, func(e *trial.Entry) []Scene {
		if in.Blank {
			return []Scene{in.judgedRun(e, nil)}
		}
		var pages []Scene
		for _, s := range in.Trial.Counting() {
			if s.Phase == rules.Judged && s.Entry == e.Number {
				pages = append(pages, in.judgedRun(e, s))
			}
		}
		return pages
	}, func(e *trial.Entry) bool { return in.sheetOf(rules.Judged, e.Number, "") != nil })
}

func (in *DayInput) judgedRun(e *trial.Entry, s *trial.Sheet) Scene {
	c := in.classOf(e)
	if e == nil {
		for i := range in.Trial.Classes {
			if k := &in.Trial.Classes[i]; k.Has(rules.Judged) && (in.Class == "" || k.ID == in.Class) {
				c = k
				break
			}
		}
	}
	page, r := in.heading("Judge's sheet", classTitle(c)).page(in.Paper, false)
	f := &form{in: in, s: &page, r: r}
	judge := "judge_"
	if s != nil {
		judge = "judge " + s.Judge
	}
	f.who(e, []string{judge})
	if c.Judged != "" {
		key := "judged." + c.Judged
		for _, p := range in.Rules.Split(key) {
			v := ""
			if s != nil {
				v = s.Parts[p.Name]
			}
			name := fmt.Sprintf("%s: of %s%s", p.Name, p.Most, memoryMark(in.Rules.Get(key)))
			f.cell(Rect{f.r.X, f.r.Y, 76, 18}, name, v)
			f.s.add(box(Rect{f.r.X + 76, f.r.Y, f.r.W - 76, 18}, pen))
			f.gap(18)
		}
		f.gap(2)
	}
	if s != nil {
		f.working(in.phaseScore(e.Number, rules.Judged).Lines, 34)
	}
	f.area("Remarks", max(20, f.r.H-signedTall-12))
	f.r.Y, f.r.H = r.Y+r.H-signedTall, signedTall
	total := ""
	if s != nil {
		if p := in.phaseScore(e.Number, rules.Judged).Penalties; p != nil {
			total = *p
		}
	}
	f.signed([]string{"judge", "scribe"}, []string{"sum", "of 100"}, []string{"", total})
	return page
}
