package trials

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// numberPage is one entry: its sheets with what stood on them before, the
// arithmetic of every phase, queries.
type numberPage struct {
	trialHead
	Entry   trial.Entry
	Class   trial.Class
	Score   *trial.EntryScore
	Phases  []phaseCard
	Sums    []phaseCard
	Queries []queryCard
	Mark    string
}

// phaseCard is a phase's arithmetic and the paper it rests on.
type phaseCard struct {
	Name   string
	Score  *trial.PhaseScore
	Place  int
	After  int // the place after this phase
	Sheets []sheetCard
}

// sheetCard is one sheet that counts.
type sheetCard struct {
	Mark    trial.Mark
	Pile    string // its name
	Key     string
	At      string
	Written []writtenLine
	Before  []olderSheet
	Readers []string
	Beside  bool // another sheet of the run came first and counts
}

// Undo is a fresh ID for the form that takes the sheet back.
func (sheetCard) Undo() string { return newMark() }

// olderSheet is a sheet that was corrected.
type olderSheet struct {
	By, At, Why string
	Written     []writtenLine
}

// pileFor is the pile that a sheet lies in.
func (t *openTrial) pileFor(s *trial.Sheet) pile {
	p := pile{Phase: s.Phase, Course: s.Course, Test: s.Test, Judge: s.Judge}
	switch {
	case s.Phase == "judged":
		p = pile{Phase: s.Phase, Class: t.classOf(s.Entry), Judge: s.Judge}
	case s.Phase == "dressage" && s.Test == "" && len(t.setting.Trial.Tests) == 1:
		p.Test = t.setting.Trial.Tests[0].ID
	}
	return p
}

// card is one sheet with its history.
func (t *openTrial) card(m *trial.Mark) sheetCard {
	p := t.pileFor(m.Sheet)
	c := sheetCard{Mark: *m, Pile: p.name(t.setting.Trial), Key: p.key(), At: clockTime(m.At)}
	chain := t.ledger.Chain(m.ID)
	var old *trial.Sheet
	if len(chain) > 1 {
		old = chain[1].Sheet
	}
	c.Written = written(m.Sheet, old)
	for _, o := range chain[1:] {
		if o.Sheet != nil {
			c.Before = append(c.Before, olderSheet{o.By, clockTime(o.At), o.Why, written(o.Sheet, nil)})
		}
	}
	for _, r := range t.ledger.Ticks(m.ID) {
		c.Readers = append(c.Readers, r.By)
	}
	return c
}

// score is one entry's score; nil when there is none.
func (t *openTrial) score(n int) *trial.EntryScore {
	a := t.answer()
	if a == nil {
		return nil
	}
	for i := range a.Entries {
		if a.Entries[i].Number == n {
			return &a.Entries[i]
		}
	}
	return nil
}

// scoreNumber is GET /scores/{id}/number/{n}: the working of one entry.
func (s *server) scoreNumber(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	n, _ := book.NumberText(r.PathValue("n"))
	now := t.now()
	v := numberPage{trialHead: s.trialHead(r, t, "", fmt.Sprintf("Number %d", n)), Mark: newMark()}
	found := false
	for _, e := range now.Entries {
		if e.Number == n {
			v.Entry, found = e, true
		}
	}
	if !found {
		return &fault.Fault{Code: fault.NotFound, Rule: "entry", Place: "entry " + r.PathValue("n"), Message: "there is no such entry in this trial", Hint: "choose one from its list"}
	}
	if c := t.class(v.Entry.Class); c != nil {
		v.Class = *c
	}
	v.Score = t.score(n)
	for _, phase := range v.Class.Phases {
		c := phaseCard{Name: phase}
		if v.Score != nil {
			ps := v.Score.Phases[phase]
			c.Score = &ps
			if ps.Place != nil {
				c.Place = *ps.Place
			}
			c.After = v.Score.Running[phase]
		}
		for i := range now.Sheets {
			x := &now.Sheets[i]
			if x.Entry == n && x.Phase == phase {
				if m := t.ledger.Mark(x.ID); m != nil {
					c.Sheets = append(c.Sheets, t.card(m))
					for _, id := range t.beside(x.Run(), x.ID) {
						other := t.card(t.ledger.Mark(id))
						other.Beside = true
						c.Sheets = append(c.Sheets, other)
					}
				}
			}
		}
		v.Phases = append(v.Phases, c)
	}
	if v.Score != nil {
		for _, k := range slices.Sorted(maps.Keys(v.Score.Sums)) {
			ps := v.Score.Sums[k]
			v.Sums = append(v.Sums, phaseCard{Name: k, Score: &ps})
		}
	}
	for _, q := range t.queryCards() {
		if q.Query.Entry == n {
			v.Queries = append(v.Queries, q)
		}
	}
	return s.Render(w, http.StatusOK, "scores_number", v)
}

// scoreUndo is POST /scores/{id}/undo: takes a sheet back that was typed on the
// wrong number. It stays in the log.
func (s *server) scoreUndo(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	target := t.ledger.Mark(f.Get("undoes"))
	if target == nil || target.Sheet == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "mark", Place: "sheet", Message: "there is no such sheet", Hint: "open the entry again"}
	}
	if why := nameless(f.Get("by")); why != "" {
		return &fault.Fault{Code: fault.Input, Rule: "by", Place: "who writes", Message: "nobody is named", Hint: why}
	}
	if f.Get("why") == "" {
		return &fault.Fault{Code: fault.Input, Rule: "why", Place: "why", Message: "it does not say why the sheet is taken back", Hint: "write it in a few words, such as: typed on the wrong number"}
	}
	m := s.mark(f.Get("mark"), f.Get("by"))
	if t.ledger.Mark(m.ID) == nil {
		if !t.ledger.InForce(target.ID) {
			return &fault.Fault{Code: fault.Conflict, Rule: "undo", Place: "sheet", Message: "it was taken back already", Hint: "open the entry again"}
		}
		m.Undoes, m.Why = target.ID, f.Get("why")
		if err := t.keep(r.Context(), s.Now(), m); err != nil {
			return err
		}
	}
	rememberWriter(w, m.By)
	return seeOther(w, r, t, fmt.Sprintf("number/%d", target.Sheet.Entry), url.Values{})
}

// dispute is a run for which two devices that were out of touch handed in a sheet
// each. The first counts until somebody takes one of them back.
type dispute struct {
	Number int
	Says   string
}

// disputes lists them by number.
func (t *openTrial) disputes() []dispute {
	var all []dispute
	found := t.ledger.Disputes()
	for _, run := range slices.Sorted(maps.Keys(found)) {
		m := t.ledger.Mark(found[run][0])
		if m == nil || m.Sheet == nil {
			continue
		}
		var by []string
		for _, id := range found[run] {
			if o := t.ledger.Mark(id); o != nil {
				by = append(by, o.By+", "+clockTime(o.At))
			}
		}
		all = append(all, dispute{m.Sheet.Entry, t.pileFor(m.Sheet).name(t.setting.Trial) + ": " + strings.Join(by, " and ")})
	}
	return all
}

// disputed reports whether a class has such a run.
func (t *openTrial) disputed(class string) bool {
	return slices.ContainsFunc(t.disputes(), func(d dispute) bool { return t.classOf(d.Number) == class })
}

// beside lists the sheets of a run that would count were another not first.
func (t *openTrial) beside(run, first string) []string {
	return slices.DeleteFunc(t.ledger.Disputes()[run], func(id string) bool { return id == first })
}
