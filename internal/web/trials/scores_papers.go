package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// dayPapersPage is what can be printed of a trial.
type dayPapersPage struct {
	trialHead
	Class, Paper string
	Entry        int
	Date         string
	Classes      []trial.Class
	Entries      []trial.Entry
	Papers       []dayPaperLink
	Stale        bool // nothing can be scored: blank papers alone
}

// dayPaperLink is one paper, filled and to be written on; "" is not to be had.
type dayPaperLink struct {
	sheet.DayKind
	Filled, Blank string
}

// dayPaperAsk is what the pages ask of the papers of a trial.
func dayPaperAsk(q url.Values) (in sheet.DayInput, err error) {
	in = sheet.DayInput{Class: q.Get("class"), Course: q.Get("course"), Date: strings.TrimSpace(q.Get("date")), Blank: q.Get("blank") != ""}
	if s := strings.TrimSpace(q.Get("entry")); s != "" {
		if in.Entry, err = strconv.Atoi(s); err != nil || in.Entry < 1 {
			return in, &fault.Fault{Code: fault.Usage, Rule: "entry", Place: "entry", Message: fmt.Sprintf("%q is no number of an entry", s), Hint: "choose one of the list"}
		}
	}
	in.Paper, err = sheet.PaperNamed(q.Get("paper"))
	return in, err
}

// scorePapers is GET /scores/{id}/papers?class=&entry=&paper=&date=: the papers of the
// day, for all or for one class or entry.
func (s *server) scorePapers(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	in, err := dayPaperAsk(r.URL.Query())
	if err != nil {
		return err
	}
	day := t.now()
	v := dayPapersPage{trialHead: s.trialHead(r, t, "papers", "Papers"), Class: in.Class, Entry: in.Entry, Date: in.Date, Paper: "a4", Classes: day.Classes, Entries: day.Entries, Stale: t.answer() == nil}
	if in.Paper == sheet.Letter {
		v.Paper = "letter"
	}
	q := url.Values{"paper": {v.Paper}}
	for key, value := range map[string]string{"class": in.Class, "date": in.Date} {
		if value != "" {
			q.Set(key, value)
		}
	}
	if in.Entry > 0 {
		q.Set("entry", strconv.Itoa(in.Entry))
	}
	at := "/scores/" + url.PathEscape(t.id) + "/papers/"
	driven := map[string]bool{"": true}
	for i := range day.Classes {
		if c := &day.Classes[i]; in.Class == "" || c.ID == in.Class {
			for _, p := range c.Phases {
				driven[p] = true
			}
		}
	}
	for _, k := range sheet.DayKinds() {
		if !driven[k.Phase] {
			continue
		}
		l := dayPaperLink{DayKind: k, Filled: at + k.Name + ".pdf?" + q.Encode(), Blank: at + k.Name + ".pdf?blank=1&" + q.Encode()}
		if k.Name == sheet.Working {
			l.Blank = ""
		}
		if k.Scores && v.Stale {
			l.Filled = ""
		}
		if k.Name == sheet.QuerySlip {
			l.Filled = ""
		}
		v.Papers = append(v.Papers, l)
	}
	return s.Render(w, http.StatusOK, "scores_papers", v)
}

// scorePaper is GET /scores/{id}/papers/{kind}.pdf and .svg.
func (s *server) scorePaper(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	kind, format, _ := strings.Cut(r.PathValue("sheet"), ".")
	k, known := sheet.DayKindNamed(kind)
	if !known || format != "pdf" && format != "svg" {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: r.URL.Path, Message: "there is no such paper", Hint: "choose one on the trial's Papers page; each is .pdf and .svg"}
	}
	in, err := dayPaperAsk(r.URL.Query())
	if err != nil {
		return err
	}
	if t.profile == nil {
		return t.trouble.Err()
	}
	day := t.now()
	// What the ledger says became of entries and which sheets count.
	in.Trial, in.Rules, in.Answer, in.PrintedAt = day, t.profile, t.answer(), s.Now()
	in.Stands = map[string]trial.Stand{}
	for i := range day.Classes {
		id := day.Classes[i].ID
		in.Stands[id] = t.ledger.Stands(day, id, s.Now().UnixMilli())
	}
	if kind == sheet.HazardSheet || kind == sheet.ConesSheet {
		if in.Plans, err = s.grounds(r); err != nil {
			return err
		}
	}
	pages, err := sheet.Day(kind, in)
	if err != nil {
		return err
	}
	doc, err := sheet.File(pages, format == "svg", sheet.Meta{Title: k.Title + ", " + day.Name, Subject: kind, At: in.PrintedAt})
	if err != nil {
		return err
	}
	return book.SendPaper(w, kind, format, doc)
}

// grounds are the kept plans as they are now, for hazards and courses of the same name
// as the trial's.
func (s *server) grounds(r *http.Request) ([]*plan.Plan, error) {
	all, err := s.store.Plans(r.Context())
	if err != nil {
		return nil, err
	}
	var grounds []*plan.Plan
	for _, p := range all {
		if p.Plan != nil {
			grounds = append(grounds, p.Plan)
		}
	}
	return grounds, nil
}
