package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"terret/internal/fault"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// readingPage is the second reader's: sheets that one person typed and nobody else
// has compared with the paper.
type readingPage struct {
	trialHead
	Pile    string // key; "" all piles
	Name    string
	Sheets  []readingCard
	Read    int // sheets that are read
	Reader  string
	WrongBy string
	Mark    string
	Done    int
	Query   url.Values
}

type readingCard struct {
	sheetCard
	Number int
	Driver string
	Wrong  string
	On     bool
}

func (s *server) readingPage(r *http.Request, t *openTrial, key string) (*readingPage, error) {
	v := &readingPage{trialHead: s.trialHead(r, t, "reading", "Second reading"), Pile: key, Mark: newMark()}
	if key != "" {
		p, ok := pileOf(key, t.setting.Trial)
		if !ok {
			return nil, &fault.Fault{Code: fault.NotFound, Rule: "pile", Place: key, Message: "there is no such pile of sheets in this trial", Hint: "choose one from the list"}
		}
		v.Name = p.name(t.setting.Trial)
	}
	now := t.now()
	for i := range now.Sheets {
		m := t.ledger.Mark(now.Sheets[i].ID)
		if m == nil || key != "" && t.pileFor(m.Sheet).key() != key {
			continue
		}
		if len(t.ledger.Ticks(m.ID)) > 0 {
			v.Read++
			continue
		}
		c := readingCard{sheetCard: t.card(m), Number: m.Sheet.Entry}
		if e := t.entry(c.Number); e != nil {
			c.Driver = e.Driver
		}
		v.Sheets = append(v.Sheets, c)
	}
	return v, nil
}

// scoreReading is GET /scores/{id}/reading?pile=…
func (s *server) scoreReading(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v, err := s.readingPage(r, t, r.URL.Query().Get("pile"))
	if err != nil {
		return err
	}
	v.Done, _ = book.NumberText(r.URL.Query().Get("read"))
	return s.Render(w, http.StatusOK, "scores_reading", v)
}

// scoreReadingKeep is POST /scores/{id}/reading: the sheets that are ticked say
// what the paper says. Whoever typed a sheet cannot tick it.
func (s *server) scoreReadingKeep(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v, err := s.readingPage(r, t, f.Get("pile"))
	if err != nil {
		return err
	}
	v.Reader, v.WrongBy = f.Get("reader"), nameless(f.Get("reader"))
	var marks []trial.Mark
	refused := v.WrongBy != ""
	on := map[string]bool{}
	for _, id := range f["sheet"] {
		on[id] = true
	}
	for i := range v.Sheets {
		c := &v.Sheets[i]
		c.On = on[c.Mark.ID]
		if !c.On {
			continue
		}
		if strings.EqualFold(c.Mark.By, v.Reader) {
			c.Wrong = "you typed this one; a second reader is somebody else"
			refused = true
			continue
		}
		m := s.mark(fmt.Sprintf("tick:%s:%s", v.Reader, c.Mark.ID), v.Reader)
		if len(m.ID) > 100 {
			m.ID = newMark()
		}
		if t.ledger.Mark(m.ID) != nil {
			m.ID = newMark() // it was ticked and taken back before
		}
		m.Tick = &trial.Tick{Sheet: c.Mark.ID}
		marks = append(marks, m)
	}
	if refused {
		if f.Get("mark") != "" {
			v.Mark = f.Get("mark")
		}
		return s.Render(w, http.StatusUnprocessableEntity, "scores_reading", v)
	}
	if len(marks) > 0 {
		if err := t.keep(r.Context(), s.Now(), marks...); err != nil {
			return err
		}
	}
	q := url.Values{"read": {fmt.Sprint(len(marks))}}
	if v.Pile != "" {
		q.Set("pile", v.Pile)
	}
	return seeOther(w, r, t, "reading", q)
}
