package trials

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"terret/internal/fault"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// queryCard is a query with its answer.
type queryCard struct {
	ID      string
	Query   trial.Query
	By, At  string
	Reply   *trial.Reply
	ReplyBy string
	ReplyAt string
	Changed []writtenLine // what the decision changed, old beside new
	Number  string        // the corrected sheet's pile
	Late    bool          // it came after the clock had run out
	Fixes   []book.Choice // corrections of this entry that the decision may name
}

// queriesPage lists queries, the open ones first, with the forms.
type queriesPage struct {
	trialHead
	Open, Done []queryCard
	Entries    []book.Choice
	Phases     []string
	Form       map[string]string
	Wrong      map[string]string
	Answering  string // the query whose answer is wrong
	Mark       string
	Kept       string
}

// queryCards lists the queries of a trial.
func (t *openTrial) queryCards() []queryCard {
	var all []queryCard
	marks := t.ledger.Marks()
	for _, q := range t.ledger.Queries() {
		c := queryCard{ID: q.Mark.ID, Query: *q.Mark.Query, By: q.Mark.By, At: clockTime(q.Mark.At)}
		for i := range marks {
			m := &marks[i]
			if m.Sheet != nil && m.Sheet.Entry == c.Query.Entry && m.Replaces != "" && t.ledger.InForce(m.ID) {
				c.Fixes = append(c.Fixes, book.Choice{Value: m.ID, Label: fmt.Sprintf("%s, corrected %s by %s", t.pileFor(m.Sheet).name(t.setting.Trial), clockTime(m.At), m.By)})
			}
			// The posting that hung there when it was asked.
			if m.Posting != nil && m.Posting.Class == t.classOf(c.Query.Entry) && m.At <= q.Mark.At {
				c.Late = m.Posting.State == trial.Final || m.Posting.State == trial.Provisional && q.Mark.At > m.Posting.Until
			}
		}
		if q.Reply != nil {
			c.Reply, c.ReplyBy, c.ReplyAt = q.Reply.Reply, q.Reply.By, clockTime(q.Reply.At)
			if m := t.ledger.Mark(c.Reply.Changed); m != nil && m.Sheet != nil {
				var old *trial.Sheet
				if o := t.ledger.Mark(m.Replaces); o != nil {
					old = o.Sheet
				}
				for _, l := range written(m.Sheet, old) {
					if l.Was != "" {
						c.Changed = append(c.Changed, l)
					}
				}
				c.Number = t.pileFor(m.Sheet).name(t.setting.Trial)
			}
		}
		all = append(all, c)
	}
	return all
}

func (s *server) queriesPage(r *http.Request, t *openTrial) *queriesPage {
	v := &queriesPage{trialHead: s.trialHead(r, t, "queries", "Queries"), Form: map[string]string{}, Wrong: map[string]string{}, Mark: newMark()}
	for _, q := range t.queryCards() {
		if q.Reply == nil {
			v.Open = append(v.Open, q)
		} else {
			v.Done = append(v.Done, q)
		}
	}
	for _, e := range t.setting.Trial.Entries {
		v.Entries = append(v.Entries, book.Choice{Value: fmt.Sprint(e.Number), Label: fmt.Sprintf("%d, %s", e.Number, e.Driver)})
	}
	for _, p := range t.setting.Trial.Classes {
		for _, x := range p.Phases {
			if !slices.Contains(v.Phases, x) {
				v.Phases = append(v.Phases, x)
			}
		}
	}
	return v
}

// scoreQueries is GET /scores/{id}/queries?entry=7.
func (s *server) scoreQueries(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := s.queriesPage(r, t)
	v.Form["entry"] = r.URL.Query().Get("entry")
	v.Kept = r.URL.Query().Get("kept")
	return s.Render(w, http.StatusOK, "scores_queries", v)
}

// scoreQueryKeep is POST /scores/{id}/queries: a slip that was handed in.
func (s *server) scoreQueryKeep(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.queriesPage(r, t)
	for _, k := range []string{"entry", "phase", "from", "asks", "rule", "by"} {
		v.Form[k] = f.Get(k)
	}
	n, _ := book.NumberText(v.Form["entry"])
	e := t.entry(n)
	if e == nil {
		v.Wrong["entry"] = "choose the entry the query is about"
	} else if p := v.Form["phase"]; p != "" && !t.class(e.Class).Has(p) {
		v.Wrong["phase"] = fmt.Sprintf("class %s does not drive %s", e.Class, p)
	}
	if v.Form["from"] == "" {
		v.Wrong["from"] = "write who asks"
	}
	if v.Form["asks"] == "" {
		v.Wrong["asks"] = "write what is doubted, in a plain sentence"
	}
	if why := nameless(v.Form["by"]); why != "" {
		v.Wrong["by"] = why
	}
	m := s.mark(f.Get("mark"), v.Form["by"])
	if len(v.Wrong) > 0 {
		return s.Render(w, http.StatusUnprocessableEntity, "scores_queries", v)
	}
	if t.ledger.Mark(m.ID) == nil {
		m.Query = &trial.Query{Entry: n, Phase: v.Form["phase"], From: v.Form["from"], Asks: v.Form["asks"], Rule: v.Form["rule"]}
		if err := t.keep(r.Context(), s.Now(), m); err != nil {
			return err
		}
	}
	rememberWriter(w, m.By)
	return seeOther(w, r, t, "queries", url.Values{"kept": {m.ID}})
}

// scoreReplyKeep is POST /scores/{id}/replies: what was decided. What it changes is
// a correction made at the desk, named here.
func (s *server) scoreReplyKeep(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.queriesPage(r, t)
	id := f.Get("query")
	q := t.ledger.Mark(id)
	if q == nil || q.Query == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "query", Place: "query", Message: "there is no such query", Hint: "open the list again"}
	}
	v.Answering = id
	for _, k := range []string{"says", "heard", "changed", "by"} {
		v.Form["r."+k] = f.Get(k)
	}
	if f.Get("says") == "" {
		v.Wrong["says"] = "write the decision and its reason"
	}
	if why := nameless(f.Get("by")); why != "" {
		v.Wrong["r.by"] = why
	}
	if c := f.Get("changed"); c != "" && t.ledger.Mark(c) == nil {
		v.Wrong["changed"] = "choose the correction from the list"
	}
	if len(v.Wrong) > 0 {
		return s.Render(w, http.StatusUnprocessableEntity, "scores_queries", v)
	}
	m := s.mark(f.Get("mark"), f.Get("by"))
	if t.ledger.Mark(m.ID) == nil {
		for _, a := range t.ledger.Queries() {
			if a.Mark.ID == id && a.Reply != nil {
				return &fault.Fault{Code: fault.Conflict, Rule: "query", Place: "query of " + q.Query.From, Message: "it was answered meanwhile by " + a.Reply.By, Hint: "open the list again"}
			}
		}
		m.Reply = &trial.Reply{Query: id, Says: f.Get("says"), Heard: f.Get("heard"), Changed: f.Get("changed")}
		if err := t.keep(r.Context(), s.Now(), m); err != nil {
			return err
		}
	}
	rememberWriter(w, m.By)
	return seeOther(w, r, t, "queries", url.Values{"kept": {id}})
}

// slipPage is a query slip on paper: blank, for one entry, or filled.
type slipPage struct {
	trialHead
	Entry *trial.Entry
	Card  *queryCard
	Lines []int
}

// scoreSlip is GET /scores/{id}/slip?query=ID or ?entry=7.
func (s *server) scoreSlip(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := slipPage{trialHead: s.trialHead(r, t, "queries", "Query slip"), Lines: make([]int, 4)}
	if id := r.URL.Query().Get("query"); id != "" {
		for _, c := range t.queryCards() {
			if c.ID == id {
				v.Card = &c
				v.Entry = t.entry(c.Query.Entry)
			}
		}
		if v.Card == nil {
			return &fault.Fault{Code: fault.NotFound, Rule: "query", Place: "query", Message: "there is no such query", Hint: "open the list again"}
		}
	}
	if n, ok := book.NumberText(r.URL.Query().Get("entry")); ok {
		v.Entry = t.entry(n)
	}
	return s.Render(w, http.StatusOK, "scores_slip", v)
}
