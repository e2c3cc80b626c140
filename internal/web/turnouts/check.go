package turnouts

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// checkPage is the card on the checker's phone: what applies, in the order of the
// walk round, one large button a line.
type checkPage struct {
	book.Frame
	turnout.Saved
	Card    *turnout.Card
	Parts   []checkPart
	Green   bool
	Record  string // id of the card that is being gone through
	Began   int64  // ms since 1970, by this program's clock
	Seconds string // how long it took by the phone's clock; "" before
	Entry   string
	Checker string
	Reason  string
	Result  string
	Faults  fault.List
	Moved   string // the turnout was changed meanwhile, in words
	Able    bool   // there is a place to keep it
	Again   *checkedView
	Before  []checkedView // earlier cards, newest first
}

// checkPart is one stop of the walk; Fold is one that was looked at before and
// needs no second look.
type checkPart struct {
	Name  string
	Fold  bool
	Lines []checkLine
}

// checkLine is one line with what was marked.
type checkLine struct {
	turnout.CardLine
	N          int
	Mark, Note string
	Was        string // what was to be fixed, on showing again
}

// Letter names the turnout's version.
func (p checkPage) Letter() string { return plan.VersionLetter(p.Version) }

// Lines counts the lines.
func (p checkPage) Lines() int {
	n := 0
	for _, part := range p.Parts {
		n += len(part.Lines)
	}
	return n
}

// Wrong is what is wrong with one box of the form; "" is nothing.
func (p checkPage) Wrong(place string) string {
	for _, f := range p.Faults {
		if f.Place == place {
			return f.Message + "; " + f.Hint
		}
	}
	return ""
}

// Elsewhere are the faults that belong to no box.
func (p checkPage) Elsewhere() fault.List {
	var out fault.List
	for _, f := range p.Faults {
		if !slices.Contains([]string{"checker", "reason", "result"}, f.Place) {
			out = append(out, f)
		}
	}
	return out
}

// checkForm begins the page for the newest version of the turnout in the address.
func (s *server) checkForm(r *http.Request, again string) (*checkPage, *turnout.Turnout, error) {
	saved, t, err := s.asked(r)
	if err != nil {
		return nil, nil, err
	}
	v := &checkPage{Frame: s.Frame("turnouts", "Check: "+saved.Name), Saved: saved, Able: s.records != nil, Began: s.Now().UnixMilli()}
	if v.Card, err = s.card(t, true, nil); err != nil { // its green line is shown when asked for
		return nil, nil, err
	}
	for _, p := range v.Card.Parts {
		part := checkPart{Name: p.Name}
		for _, l := range p.Lines {
			part.Lines = append(part.Lines, checkLine{CardLine: l})
		}
		v.Parts = append(v.Parts, part)
	}
	kept, err := s.kept(r, saved.ID, turnout.KeptCheck)
	if err != nil {
		return nil, nil, err
	}
	for _, k := range kept {
		c, err := checkedOf(k)
		if err != nil {
			return nil, nil, err
		}
		v.Before = append(v.Before, *c)
		if k.ID == again {
			v.Again = c
		}
	}
	if again != "" && v.Again == nil {
		return nil, nil, &fault.Fault{Code: fault.NotFound, Rule: "record", Place: "again", Message: "there is no card of that name here", Hint: "begin a new one from the turnout's page"}
	}
	if v.Again != nil {
		v.showAgain(v.Again.Rec)
	}
	n := 0
	for p := range v.Parts {
		for l := range v.Parts[p].Lines {
			n++
			v.Parts[p].Lines[l].N = n
		}
	}
	return v, t, nil
}

// showAgain puts what was to be fixed first and folds the rest away.
func (p *checkPage) showAgain(was *turnout.Record) {
	first := checkPart{Name: "To be shown again"}
	parts := []checkPart{}
	for _, part := range p.Parts {
		rest := checkPart{Name: part.Name, Fold: true}
		for _, l := range part.Lines {
			i := slices.IndexFunc(was.ToFix(), func(m turnout.Marked) bool { return m.Line == l.ID })
			if i < 0 {
				rest.Lines = append(rest.Lines, l)
				continue
			}
			l.Was = cmp.Or(was.ToFix()[i].Note, was.ToFix()[i].Mark)
			first.Lines = append(first.Lines, l)
		}
		if len(rest.Lines) > 0 {
			parts = append(parts, rest)
		}
	}
	p.Parts, p.Entry = append([]checkPart{first}, parts...), was.Entry
	p.Green = was.Green
}

// check is GET /turnouts/{id}/check, or …?again=RECORD to show again what
// was to be fixed.
func (s *server) check(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.checkForm(r, r.URL.Query().Get("again"))
	if err != nil {
		return err
	}
	v.Record = newRecord()
	v.Green = v.Green || r.URL.Query().Get("green") != ""
	return s.Render(w, http.StatusOK, "turnout_check", v)
}

// recordName is what ids of records look like: enough random letters that two
// phones never meet.
var recordName = regexp.MustCompile(`^[a-z2-7]{20,40}$`)

// longestCheck is how long a card may have lain open.
const longestCheck = 24 * time.Hour

// checkKeep is POST /turnouts/{id}/check: the card is held against its
// turnout and kept. What is wrong is marked where it was typed, and every mark
// stays.
func (s *server) checkKeep(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, 256<<10)
	if err := r.ParseForm(); err != nil {
		return &fault.Fault{Code: fault.Usage, Rule: "form", Message: "the card came in torn", Hint: "press again; what was marked is still on the phone"}
	}
	f := r.PostForm
	v, _, err := s.checkForm(r, f.Get("again"))
	if err != nil {
		return err
	}
	if !v.Able {
		return keepsNothing()
	}
	v.Record = f.Get("record")
	if !recordName.MatchString(v.Record) {
		return &fault.Fault{Code: fault.Usage, Rule: "record", Place: "record", Message: "this card has no name", Hint: "begin it again from the turnout's page"}
	}
	rec := v.read(f, s.Now())
	if text := f.Get("version"); text != strconv.Itoa(v.Version) {
		v.Moved = fmt.Sprintf("The record of %s was changed while this card was open; it is version %s now. Your marks are here: look through the lines once more and keep it.", v.Name, v.Letter())
		return s.Render(w, http.StatusConflict, "turnout_check", v)
	}
	if err := rec.Check(v.Card); err != nil {
		if v.Faults = book.FaultsOf(err); v.Faults == nil {
			return err
		}
		return s.Render(w, book.StatusOf(err), "turnout_check", v)
	}
	doc, err := turnout.EncodeRecord(rec)
	if err != nil {
		return err
	}
	k, err := s.records.KeepRecord(r.Context(), turnout.Kept{ID: v.Record, Turnout: v.ID, Version: v.Version, Kind: turnout.KeptCheck, At: s.Now(), Document: doc})
	if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
		// Sent twice with another end of time: the first stays.
		k, err = turnout.Kept{ID: v.Record, Turnout: v.ID}, nil
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/turnouts/"+url.PathEscape(k.Turnout)+"/checks/"+k.ID, http.StatusSeeOther)
	return nil
}

// read takes over what was marked and typed, and gives it as a record. The times
// are this program's: the phone says how long it took, its clock may be wrong.
func (p *checkPage) read(f url.Values, now time.Time) *turnout.Record {
	trim := func(k string) string { return strings.TrimSpace(f.Get(k)) }
	p.Entry, p.Checker, p.Reason, p.Result, p.Green = trim("entry"), trim("checker"), trim("reason"), f.Get("result"), f.Get("green") != ""
	rec := &turnout.Record{Turnout: p.Name, Entry: p.Entry, Checker: p.Checker, Result: p.Result, Reason: p.Reason, Green: p.Green, To: now.UTC(), From: now.UTC(), Marks: []turnout.Marked{}}
	if p.Again != nil {
		rec.Again = p.Again.ID
	}
	p.Seconds = trim("seconds")
	if ms, err := strconv.ParseInt(f.Get("began"), 10, 64); err == nil {
		p.Began = ms
	}
	if t, err := strconv.ParseFloat(p.Seconds, 64); err == nil && t >= 0 && t <= longestCheck.Seconds() {
		rec.From = now.Add(-time.Duration(t * float64(time.Second))).UTC()
	} else if d := now.UnixMilli() - p.Began; d >= 0 && d <= longestCheck.Milliseconds() {
		rec.From = time.UnixMilli(p.Began).UTC()
	}
	var why []string
	for i := range p.Parts {
		for k := range p.Parts[i].Lines {
			l := &p.Parts[i].Lines[k]
			l.Mark, l.Note = f.Get("mark."+l.ID), trim("note."+l.ID)
			if l.Mark == "" {
				continue
			}
			rec.Marks = append(rec.Marks, turnout.Marked{Line: l.ID, Mark: l.Mark, Note: l.Note})
			if l.Mark == turnout.Refuse && l.Note != "" {
				why = append(why, l.Note)
			}
		}
	}
	if rec.Reason == "" { // the reason was given at the line
		rec.Reason = strings.Join(why, "; ")
	}
	return rec
}

// checkedView is a kept card to be read.
type checkedView struct {
	turnout.Kept
	Rec *turnout.Record
}

func checkedOf(k turnout.Kept) (*checkedView, error) {
	rec, err := turnout.DecodeRecord(k.Kind+" "+k.ID, k.Document)
	return &checkedView{k, rec}, err
}

// Took is how long it took, as people say it.
func (c checkedView) Took() string {
	d := c.Rec.To.Sub(c.Rec.From).Round(time.Second)
	return fmt.Sprintf("%d min %02d s", int(d.Minutes()), int(d.Seconds())%60)
}

// Counts says how many lines were marked how.
func (c checkedView) Counts() string {
	n := map[string]int{}
	for _, m := range c.Rec.Marks {
		n[m.Mark]++
	}
	return fmt.Sprintf("%d looked at, %d to fix, %d refused", n[turnout.LookedAt], n[turnout.Fix], n[turnout.Refuse])
}

// checkedPage is a kept card.
type checkedPage struct {
	book.Frame
	turnout.Saved
	checkedView
	Text     map[string]string // of the lines, by their id
	Missing  []turnout.CardLine
	Earlier  *checkedView // the card whose lines were shown again
	Newer    bool         // the turnout was changed since
	Say, Fix string
}

// checked is GET /turnouts/{id}/checks/{record}.
func (s *server) checked(w http.ResponseWriter, r *http.Request) error {
	v, t, err := s.checkForm(r, "")
	if err != nil {
		return err
	}
	i := slices.IndexFunc(v.Before, func(c checkedView) bool { return c.ID == r.PathValue("record") })
	if i < 0 {
		return &fault.Fault{Code: fault.NotFound, Rule: "record", Place: r.URL.Path, Message: "there is no card of that name here", Hint: "the turnout's page lists those that were kept"}
	}
	p := checkedPage{Frame: s.Frame("turnouts", "Checked: "+v.Saved.Name), Saved: v.Saved, checkedView: v.Before[i], Text: map[string]string{}}
	p.Newer = p.Kept.Version != v.Version
	card, err := s.card(t, false, nil)
	if err != nil {
		return err
	}
	for _, part := range card.Parts {
		for _, l := range part.Lines {
			p.Text[l.ID] = l.Text
		}
	}
	for _, m := range p.Rec.Marks { // a line that this turnout's card no longer has
		if p.Text[m.Line] == "" {
			p.Text[m.Line] = m.Line
		}
	}
	if k := slices.IndexFunc(v.Before, func(c checkedView) bool { return p.Rec.Again != "" && c.ID == p.Rec.Again }); k >= 0 {
		p.Earlier = &v.Before[k]
	}
	for _, l := range p.Rec.NotLookedAt(card) {
		if p.Earlier == nil || !slices.ContainsFunc(p.Earlier.Rec.Marks, func(m turnout.Marked) bool { return m.Line == l.ID && m.Mark == turnout.LookedAt }) {
			p.Missing = append(p.Missing, l)
		}
	}
	return s.Render(w, http.StatusOK, "turnout_checked", p)
}
