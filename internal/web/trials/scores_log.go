package trials

import (
	"fmt"
	"net/http"

	"terret/internal/trial"
	"terret/internal/web/book"
)

// logPage is everything that was written, the newest first. Nothing in it is ever
// changed or taken away.
type logPage struct {
	trialHead
	Lines    []logLine
	Settings []trial.Setting
	Before   int // older lines there are
	Older    int // where the next page begins
}

type logLine struct {
	At, By, Device string
	Entry          int
	What           string
	Written        []writtenLine
	Why            string
	Gone           string // "undone", "corrected"
	N              int    // in the order they came
}

// mostLines is how many lines of the log one page has.
const mostLines = 200

// scoreLog is GET /scores/{id}/log?entry=7&before=400.
func (s *server) scoreLog(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := logPage{trialHead: s.trialHead(r, t, "log", "Log")}
	only, _ := book.NumberText(r.URL.Query().Get("entry"))
	marks := t.ledger.Marks()
	replaced := map[string]bool{}
	for i := range marks {
		if m := &marks[i]; m.Replaces != "" && t.ledger.InForce(m.ID) {
			replaced[m.Replaces] = true
		}
	}
	from := len(marks)
	if n, ok := book.NumberText(r.URL.Query().Get("before")); ok && n < from {
		from = n
	}
	for i := from - 1; i >= 0; i-- {
		l := t.logLine(&marks[i])
		l.N = i + 1
		if only != 0 && l.Entry != only {
			continue
		}
		if len(v.Lines) == mostLines {
			v.Older = i + 1
			break
		}
		switch {
		case !t.ledger.InForce(marks[i].ID):
			l.Gone = "taken back"
		case replaced[marks[i].ID]:
			l.Gone = "corrected"
		}
		v.Lines = append(v.Lines, l)
	}
	settings, err := t.store.Settings(r.Context(), t.id)
	if err != nil {
		return err
	}
	v.Settings = settings
	return s.Render(w, http.StatusOK, "scores_log", v)
}

// logLine says a mark in words.
func (t *openTrial) logLine(m *trial.Mark) logLine {
	l := logLine{At: clockTime(m.At), By: m.By, Device: m.Device, Why: m.Why}
	switch {
	case m.Sheet != nil:
		l.Entry = m.Sheet.Entry
		l.What = t.pileFor(m.Sheet).name(t.setting.Trial)
		var old *trial.Sheet
		if o := t.ledger.Mark(m.Replaces); o != nil {
			old = o.Sheet
			l.What += ", corrected"
		}
		l.Written = written(m.Sheet, old)
	case m.Status != nil:
		l.Entry = m.Status.Entry
		l.What = "is " + m.Status.Status
		if m.Status.InPhase != "" {
			l.What += " in " + m.Status.InPhase
		}
		if m.Status.Why != "" {
			l.What += ": " + m.Status.Why
		}
	case m.Tick != nil:
		l.What = "second reading"
		if o := t.ledger.Mark(m.Tick.Sheet); o != nil && o.Sheet != nil {
			l.Entry = o.Sheet.Entry
			l.What += " of " + t.pileFor(o.Sheet).name(t.setting.Trial)
		}
	case m.Query != nil:
		l.Entry = m.Query.Entry
		l.What = "query by " + m.Query.From + ": " + m.Query.Asks
	case m.Reply != nil:
		l.What = "decision: " + m.Reply.Says
		if o := t.ledger.Mark(m.Reply.Query); o != nil && o.Query != nil {
			l.Entry = o.Query.Entry
		}
	case m.Posting != nil:
		l.What = fmt.Sprintf("placings of class %s posted, %s", m.Posting.Class, m.Posting.State)
	case m.Start != nil:
		l.Entry = m.Start.Entry
		l.What = "started in " + m.Start.Phase
	case m.Undoes != "":
		l.What = "taken back"
		if o := t.ledger.Mark(m.Undoes); o != nil {
			of := t.logLine(o)
			l.Entry = of.Entry
			l.What = "taken back: " + of.What
		}
	}
	return l
}
