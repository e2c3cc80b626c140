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

// deskPage is the scorer's desk: one pile of paper, one sheet after another.
type deskPage struct {
	trialHead
	Piles   []pileLink
	Pile    *pileView
	Judges  bool // another judge's pile can be begun
	Form    sheetForm
	Kept    *keptView
	WrongBy string
	WrongNo string
}

type pileLink struct {
	Name, Address, Tally string
	On, Whole            bool
}

type pileView struct {
	Key, Name, Tally string
	Entries          []pileEntry
	Unread           int
}

// keptView is the sheet that was just kept, with what it came to.
type keptView struct {
	Number  int
	Driver  string
	Written []writtenLine
	Lines   []string
	Score   string
	Stands  string // the place, or what is still missing
	Mark    string
	By      string
	Changed bool
	Phase   string
}

// writtenLine is one thing on a sheet: what it is, what stands there, what stood
// there before.
type writtenLine struct{ Label, Now, Was string }

// Fresh is a fresh ID for a form.
func (deskPage) Fresh() string { return newMark() }

func (s *server) deskPage(r *http.Request, t *openTrial, key string) (*deskPage, pile, error) {
	v := &deskPage{trialHead: s.trialHead(r, t, "desk", "Desk")}
	all := t.piles()
	var p pile
	var have bool
	if key != "" {
		if p, have = pileOf(key, t.setting.Trial); !have {
			return nil, p, &fault.Fault{Code: fault.NotFound, Rule: "pile", Place: key, Message: "there is no such pile of sheets in this trial", Hint: "choose one from the list"}
		}
		found := false
		for _, x := range all {
			found = found || x.key() == p.key()
		}
		if !found {
			all = append(all, p)
		}
	}
	a := t.answer()
	at := "/scores/" + url.PathEscape(t.id) + "/desk?pile="
	for i, x := range all {
		entries := t.counted(x, a)
		l := pileLink{Name: x.name(t.setting.Trial), Address: at + url.QueryEscape(x.key()), Tally: tally(entries), Whole: true}
		for _, e := range entries {
			l.Whole = l.Whole && !e.Missing
		}
		if have && x.key() == p.key() || !have && key == "" && i == 0 && len(all) == 1 {
			p, have = x, true
			l.On = true
			v.Pile = &pileView{Key: x.key(), Name: l.Name, Tally: l.Tally, Entries: entries}
			for _, e := range entries {
				if e.In != "" && !e.Read {
					v.Pile.Unread++
				}
			}
		}
		v.Piles = append(v.Piles, l)
	}
	v.Judges = have && p.Judge != ""
	if have {
		v.Form.Boxes, v.Form.Rare = t.boxes(p)
		v.Form.Names = faultNames(p.Phase)
		v.Form.Mark = newMark()
	}
	return v, p, nil
}

// fill puts values into the boxes; old is what stands on the sheet that counts.
func (f *sheetForm) fill(v map[string]string, old *trial.Mark, wrong map[string]string) {
	was := map[string]string{}
	if old != nil {
		was = values(old.Sheet)
		f.Old = old
	}
	for _, l := range [][]sheetBox{f.Boxes, f.Rare} {
		for i := range l {
			b := &l[i]
			b.Value, b.Was, b.Wrong = v[b.Key], was[b.Key], wrong[b.Key]
		}
	}
}

// Focus is the box the hands go to: what is wrong first, then the number, or the
// first box of the sheet that lies there.
func (v deskPage) Focus() string {
	switch {
	case v.WrongNo != "" || v.Form.Number == "":
		return "number"
	case v.WrongBy != "" && len(v.Form.Faults) == 0:
		wrong := false
		for _, b := range v.Form.Boxes {
			wrong = wrong || b.Wrong != ""
		}
		if !wrong {
			return "by"
		}
	}
	for _, l := range [][]sheetBox{v.Form.Boxes, v.Form.Rare} {
		for _, b := range l {
			if b.Wrong != "" {
				return b.Key
			}
		}
	}
	return v.Form.Boxes[0].Key
}

// Who is the entry whose number lies on the desk; nil when there is none.
func (v deskPage) Who() *pileEntry {
	if v.Pile == nil || v.WrongNo != "" {
		return nil
	}
	for i := range v.Pile.Entries {
		if fmt.Sprint(v.Pile.Entries[i].Number) == v.Form.Number {
			return &v.Pile.Entries[i]
		}
	}
	return nil
}

// RareOpen reports whether the fold stands open.
func (f sheetForm) RareOpen() bool {
	for _, b := range f.Rare {
		if b.Value != "" || b.Wrong != "" {
			return true
		}
	}
	return false
}

// scoreDesk is GET /scores/{id}/desk?pile=hazards:H1&number=7: the sheet of 7, if
// it is in, for a correction. ?judge=M begins another judge's pile.
func (s *server) scoreDesk(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	q := r.URL.Query()
	key := q.Get("pile")
	if j := strings.TrimSpace(q.Get("judge")); j != "" && key != "" {
		if len(j) == 1 {
			j = strings.ToUpper(j)
		}
		if part := strings.SplitN(key, ":", 3); len(part) == 3 {
			key = strings.Join(append(part[:2], j), ":")
		}
	}
	v, p, err := s.deskPage(r, t, key)
	if err != nil {
		return err
	}
	if n := q.Get("number"); n != "" && v.Pile != nil {
		s.layNumber(v, t, p, n)
	}
	if id := q.Get("kept"); id != "" {
		v.Kept = t.kept(id)
	}
	return s.Render(w, http.StatusOK, "scores_desk", v)
}

// layNumber lays the sheet of a number on the desk; false when there is none.
func (s *server) layNumber(v *deskPage, t *openTrial, p pile, typed string) bool {
	v.Form.Number = typed
	n, ok := book.NumberText(typed)
	e := t.entry(n)
	switch {
	case !ok || e == nil:
		v.WrongNo = fmt.Sprintf("there is no entry %q in this trial; look at the number on the sheet again", typed)
		return false
	case !p.takes(t.class(e.Class), t.setting.Trial):
		v.WrongNo = fmt.Sprintf("%d, %s, is in class %s and has no sheet in this pile", n, e.Driver, e.Class)
		return false
	}
	run := p.run(n)
	if m := t.ledger.Counting(run.Run()); m != nil {
		v.Form.fill(values(m.Sheet), m, nil)
	}
	return true
}

// kept says what a sheet that was kept came to; nil when there is no such mark.
func (t *openTrial) kept(id string) *keptView {
	m := t.ledger.Mark(id)
	if m == nil || m.Sheet == nil {
		return nil
	}
	k := &keptView{Number: m.Sheet.Entry, Mark: id, By: m.By, Changed: m.Replaces != "", Phase: m.Sheet.Phase}
	if e := t.entry(m.Sheet.Entry); e != nil {
		k.Driver = e.Driver
	}
	var old *trial.Sheet
	if o := t.ledger.Mark(m.Replaces); o != nil {
		old = o.Sheet
	}
	k.Written = written(m.Sheet, old)
	if a := t.answer(); a != nil {
		for _, e := range a.Entries {
			if e.Number != m.Sheet.Entry {
				continue
			}
			ps := e.Phases[m.Sheet.Phase]
			k.Lines = ps.Lines
			if ps.Penalties != nil {
				k.Score = *ps.Penalties
			}
			if ps.Eliminated != "" {
				k.Score = "eliminated: " + ps.Eliminated
			}
			switch {
			case e.Place != nil:
				k.Stands = fmt.Sprintf("place %d of class %s", *e.Place, e.Class)
			case e.Why != "":
				k.Stands = e.Why
			default:
				k.Stands = e.Status
			}
		}
	}
	return k
}

// written lists what stands on a sheet, beside what stood on the one before.
func written(s, old *trial.Sheet) []writtenLine {
	was := map[string]string{}
	if old != nil {
		was = values(old)
	}
	now := values(s)
	var all []writtenLine
	add := func(key, label string) {
		if now[key] == "" && was[key] == "" {
			return
		}
		l := writtenLine{Label: label, Now: now[key]}
		if l.Now == "" {
			l.Now = "nothing"
		}
		if old != nil && was[key] != now[key] {
			l.Was = was[key]
			if l.Was == "" {
				l.Was = "nothing"
			}
		}
		all = append(all, l)
	}
	for _, k := range [][2]string{{"marks", "marks"}, {"gates", "letters"}, {"cleared", "clear"}, {"extra", "the one more"}, {"driven", "driven"}, {"seconds", "seconds"}, {"backup", "second watch"}, {"stops", "stopped"}, {"knocked", "knocked"}} {
		add(k[0], k[1])
	}
	for _, part := range partNames(s, old) {
		add("p."+part, part)
	}
	add("faults", "faults")
	add("out", "eliminated by the judge")
	return all
}

func partNames(s, old *trial.Sheet) []string {
	var all []string
	seen := map[string]bool{}
	for _, x := range []*trial.Sheet{s, old} {
		if x == nil {
			continue
		}
		for _, k := range slices.Sorted(maps.Keys(x.Parts)) {
			if !seen[k] {
				seen[k] = true
				all = append(all, k)
			}
		}
	}
	return all
}

// scoreDeskKeep is POST /scores/{id}/desk: one sheet. A number alone lays its
// sheet on the desk. What is wrong is marked where it was typed and nothing is
// kept; a sheet that is in already is replaced only by somebody who saw it.
func (s *server) scoreDeskKeep(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v, p, err := s.deskPage(r, t, f.Get("pile"))
	if err != nil {
		return err
	}
	if v.Pile == nil {
		return &fault.Fault{Code: fault.Usage, Rule: "pile", Message: "the form does not say of which pile the sheet is", Hint: "choose the pile first"}
	}
	if t.board == nil {
		return t.trouble.Err()
	}
	v.By = f.Get("by")
	typed := f.Get("number")
	if id := f.Get("mark"); id != "" {
		v.Form.Mark = id
	}
	v.WrongBy = nameless(v.By)
	if v.WrongBy == "" {
		rememberWriter(w, v.By)
	}
	if !s.layNumber(v, t, p, typed) {
		v.Form.fill(typedValues(f), v.Form.Old, nil)
		return s.Render(w, http.StatusUnprocessableEntity, "scores_desk", v)
	}
	n, _ := book.NumberText(typed)
	if bare(f) {
		return s.Render(w, http.StatusOK, "scores_desk", v)
	}
	boxes := append(append([]sheetBox{}, v.Form.Boxes...), v.Form.Rare...)
	sheet, wrong := t.readSheet(p, n, f)
	more, rest := t.checked(sheet, boxes)
	for k, says := range more {
		if wrong[k] == "" {
			wrong[k] = says
		}
	}
	v.Form.Faults = rest
	v.WrongNo = wrong["number"]
	run := sheet.Run()
	old := t.ledger.Counting(run)
	again := func(status int) error {
		v.Form.fill(typedValues(f), old, wrong)
		return s.Render(w, status, "scores_desk", v)
	}
	if len(wrong) > 0 || len(rest) > 0 || v.WrongBy != "" {
		return again(http.StatusUnprocessableEntity)
	}
	to := url.Values{"pile": {p.key()}}
	if was := t.ledger.Mark(v.Form.Mark); was != nil { // this form was sent before
		if was.Sheet != nil && sameSheet(was.Sheet, &sheet) && was.Sheet.Run() == run {
			to.Set("kept", was.ID)
			return seeOther(w, r, t, "desk", to)
		}
		v.Form.Mark = newMark()
		v.Form.Moved = "This form was kept before with other values. Look at what stands there now; keep it again to correct it."
		return again(http.StatusConflict)
	}
	if old != nil && f.Get("replaces") != old.ID {
		if sameSheet(old.Sheet, &sheet) { // typed by two people, and alike
			to.Set("kept", old.ID)
			return seeOther(w, r, t, "desk", to)
		}
		v.Form.Moved = fmt.Sprintf("The sheet of %d is in already, typed by %s at %s, and says something else. It stands beside each box; keep yours again to correct it.", n, old.By, clockTime(old.At))
		return again(http.StatusConflict)
	}
	if old != nil && sameSheet(old.Sheet, &sheet) {
		to.Set("kept", old.ID)
		return seeOther(w, r, t, "desk", to)
	}
	m := s.mark(v.Form.Mark, v.By)
	m.Sheet, m.Why = &sheet, f.Get("why")
	if old != nil {
		m.Replaces = old.ID
	}
	if err := t.keep(r.Context(), s.Now(), m); err != nil {
		return err
	}
	to.Set("kept", m.ID)
	return seeOther(w, r, t, "desk", to)
}

// bare reports whether a form holds a number and nothing else.
func bare(f url.Values) bool {
	for k, v := range f {
		switch k {
		case "pile", "number", "by", "mark", "replaces", "why":
			continue
		}
		if v[0] != "" {
			return false
		}
	}
	return true
}

// typedValues is what stands in the boxes.
func typedValues(f url.Values) map[string]string {
	v := map[string]string{}
	for k := range f {
		v[k] = f.Get(k)
	}
	return v
}
