package ground

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// asBuiltPage takes back what was taped of a built layout, says which tape is
// wrong, shows what stands elsewhere than planned, and keeps it as the plan's
// next version.
type asBuiltPage struct {
	book.Frame
	plan.Saved // the version that was set out
	Newest     plan.Saved
	Layouts    []book.Choice
	Asked      stakesAsked
	Marks      map[string]string // what is wrong, by box of the form
	List       *survey.StakeList
	Held       []heldPeg // of a pasted file; nil: the list's own pegs
	Free       bool
	Sigma      string // cm, as typed
	Rows       []tapeRow
	Names      []string // of pegs and points, to choose from
	Paste      string
	Faults     fault.List
	Notes      []string
	Result     *builtView
	Moved      string // the plan has moved on meanwhile, in words
	Key        string // names this layout and version for the draft
}

// Old reports whether a newer version is kept.
func (p asBuiltPage) Old() bool { return p.Version != p.Newest.Version }

// Wrong is what is wrong with one box of the form; "" is nothing.
func (p asBuiltPage) Wrong(box string) string { return p.Marks[box] }

// Typed counts the lengths that were typed.
func (p asBuiltPage) Typed() int {
	n := 0
	for _, r := range p.Rows {
		if r.M != "" {
			n++
		}
	}
	return n
}

// freeRows is how many empty rows for further tapes stand at the form's end.
const freeRows = 3

// builtLevel is the level of the tests on this page.
const builtLevel = survey.DefaultLevel

// asBuilt is GET /ground/{id}/as-built: the empty form.
func (s *server) asBuilt(w http.ResponseWriter, r *http.Request) error {
	v, err := s.asBuiltFor(r, r.URL.Query())
	if err != nil {
		return err
	}
	status := http.StatusOK
	if len(v.Marks) > 0 {
		status = http.StatusUnprocessableEntity
	}
	v.spareRows()
	return s.Render(w, status, "survey_as_built", v)
}

// asBuiltFor begins the page: the plan, its stake list and a row for each tape
// of the list.
func (s *server) asBuiltFor(r *http.Request, form url.Values) (*asBuiltPage, error) {
	version := 0
	if text := form.Get("version"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return nil, &fault.Fault{Code: fault.Usage, Rule: "version", Place: "version", Message: fmt.Sprintf("%q is no version", text), Hint: "versions count from 1"}
		}
		version = n
	}
	id := r.PathValue("id")
	all, err := s.store.PlanVersions(r.Context(), id)
	if err != nil {
		return nil, err
	}
	if form.Get("do") == "newest" {
		version = 0
	}
	saved, err := s.store.Plan(r.Context(), id, version)
	if err != nil {
		return nil, err
	}
	v := &asBuiltPage{Frame: s.Frame("ground", "As built: "+saved.Name), Saved: saved, Newest: all[0], Layouts: layouts(saved.Plan), Asked: stakesAskedBy(form), Sigma: strings.TrimSpace(form.Get("sigma-all"))}
	if v.Sigma == "" {
		v.Sigma = strconv.FormatFloat(100*survey.DefaultSigma, 'f', -1, 64)
	}
	target, err := v.Asked.target(v.Layouts)
	if err != nil {
		return nil, err
	}
	var q survey.Question
	if q, v.Marks = v.Asked.question(saved.Plan, target); len(v.Marks) > 0 {
		return v, nil
	}
	v.List, err = survey.Stakes(q)
	if f := book.FaultsOf(err); f != nil && f[0].Rule == "nothing-to-set" {
		v.Faults = f
		return v, nil
	}
	if err != nil && !marked(err, v.Marks) {
		return nil, err
	}
	if v.List == nil {
		return v, nil // the form is marked where it is wrong
	}
	v.Key = strings.Join([]string{"terret taped", saved.ID, saved.Letter(), v.Asked.Layout, v.Asked.P, v.Asked.Q}, " · ")
	for _, p := range v.List.Pegs {
		v.Names = append(v.Names, p.Name)
	}
	for _, st := range v.List.Stakes {
		v.Names = append(v.Names, st.ID)
	}
	head := ""
	for _, t := range v.List.Checks(true).Tapes {
		row := tapeRow{From: t.From, To: t.To, Given: true, Plan: strconv.FormatFloat(t.M, 'f', 2, 64)}
		if t.To != head {
			head, row.Head = t.To, t.To
		}
		v.Rows = append(v.Rows, row)
	}
	return v, nil
}

// find is the row of a tape between two points, either way round; −1 for none.
func (p *asBuiltPage) find(from, to string) int {
	return slices.IndexFunc(p.Rows, func(r tapeRow) bool { return r.From == from && r.To == to || r.From == to && r.To == from })
}

// fill puts a row into the form: its own place where the list has one that is
// free, else behind the others.
func (p *asBuiltPage) fill(row tapeRow, over bool) {
	if i := p.find(row.From, row.To); i >= 0 && p.Rows[i].Given && (over || p.Rows[i].M == "") {
		p.Rows[i].M, p.Rows[i].Sigma = row.M, row.Sigma
		return
	}
	p.Rows = append(p.Rows, row)
}

// read takes over what was typed, pasted and chosen.
func (p *asBuiltPage) read(form url.Values) error {
	from, to, m, sigma := form["from"], form["to"], form["m"], form["sigma"]
	if len(from) != len(to) || len(to) != len(m) || len(m) != len(sigma) {
		return &fault.Fault{Code: fault.Usage, Rule: "form", Message: "the form came in torn", Hint: "load the page again"}
	}
	if len(m) > survey.MaxTapes+len(p.Rows)+freeRows {
		return tooManyTapes()
	}
	for i := range m {
		row := tapeRow{From: strings.TrimSpace(from[i]), To: strings.TrimSpace(to[i]), M: strings.TrimSpace(m[i]), Sigma: strings.TrimSpace(sigma[i])}
		if row.M != "" {
			p.fill(row, false)
		}
	}
	p.Free = form.Get("free") != ""
	for _, text := range form["held"] {
		h, ok := readHeld(text)
		if !ok {
			return &fault.Fault{Code: fault.Usage, Rule: "form", Place: "held", Message: fmt.Sprintf("%q is no peg", text), Hint: "load the page again"}
		}
		p.Held = append(p.Held, h)
	}
	p.Paste = strings.TrimSpace(form.Get("paste"))
	if p.Paste == "" {
		return nil
	}
	places := map[string]geom.Vec{}
	for _, st := range p.List.Stakes {
		places[st.ID] = geom.Vec{X: st.X, Y: st.Y}
	}
	in, err := readPaste(p.Paste, places)
	if err != nil {
		return err
	}
	called := pointNames(p.List)
	for _, row := range in.rows {
		for _, end := range []*string{&row.From, &row.To} {
			if name, ok := called[strings.ToLower(*end)]; ok {
				*end = name
			}
		}
		p.fill(row, true)
	}
	p.Notes = append(p.Notes, in.notes...)
	if in.held != nil {
		p.Held, p.Free = in.held, in.free
		if len(in.held) == 0 {
			p.Held = nil
		}
	}
	if in.sigma != 0 {
		p.Sigma = strconv.FormatFloat(100*in.sigma, 'f', -1, 64)
	}
	p.Paste = "" // it stands in the rows now
	return nil
}

// asBuiltWork is POST /ground/{id}/as-built. do=adjust works the tapes out and
// saves nothing; do=accept works them out again and keeps the plan as built;
// do=newest works them out on the newest version.
func (s *server) asBuiltWork(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, book.MaxBody)
	if err := r.ParseForm(); err != nil {
		if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return &fault.Fault{Code: fault.TooLarge, Rule: "size", Place: "tapes", Message: "the form is over 6 MB", Hint: "a list of tapes is a few kilobytes of text; was something else pasted?"}
		}
		return &fault.Fault{Code: fault.Usage, Rule: "form", Message: "the form cannot be read", Hint: "load the page again"}
	}
	v, err := s.asBuiltFor(r, r.PostForm)
	if err != nil {
		return err
	}
	if v.List == nil {
		return s.Render(w, http.StatusUnprocessableEntity, "survey_as_built", v)
	}
	err = v.read(r.PostForm)
	if err == nil {
		err = s.adjusted(r, v)
	}
	if f := book.FaultsOf(err); f != nil {
		v.Faults = f
		v.spareRows()
		return s.Render(w, book.StatusOf(err), "survey_as_built", v)
	}
	if err != nil {
		return err
	}
	v.spareRows()
	if r.PostForm.Get("do") != "accept" {
		return s.Render(w, http.StatusOK, "survey_as_built", v)
	}
	if v.Result.WhyNot != "" || v.Result.Built == nil {
		v.Faults = fault.List{{Code: fault.Input, Rule: "accept", Message: "nothing was saved", Hint: v.Result.WhyNot}}
		return s.Render(w, http.StatusUnprocessableEntity, "survey_as_built", v)
	}
	kept, err := s.store.SavePlan(r.Context(), v.ID, v.Version, v.Result.Built.Plan, v.Result.Note, s.Now())
	if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
		if v.Newest, err = s.store.Plan(r.Context(), v.ID, 0); err != nil {
			return err
		}
		v.Moved = fmt.Sprintf("Version %s was kept meanwhile, and these tapes are of version %s, so nothing was saved.", v.Newest.Letter(), v.Letter())
		return s.Render(w, http.StatusConflict, "survey_as_built", v)
	}
	if err != nil {
		return err
	}
	q := url.Values{"version": {strconv.Itoa(kept.Version)}, "layout": {v.Asked.Layout}}
	http.Redirect(w, r, "/ground/"+url.PathEscape(v.ID)+"/as-built/kept?"+q.Encode(), http.StatusSeeOther)
	return nil
}

// spareRows adds empty rows for further tapes.
func (p *asBuiltPage) spareRows() {
	for range freeRows {
		p.Rows = append(p.Rows, tapeRow{})
	}
}

// adjusted works the tapes out.
func (s *server) adjusted(r *http.Request, v *asBuiltPage) error {
	cm, ok := book.DecimalOf(v.Sigma)
	if !ok || cm <= 0 || cm > 100 {
		v.Marks["sigma-all"] = fmt.Sprintf("%q does not fit; centimetres, such as 1 for a tape on turf", v.Sigma)
		return fault.List{{Code: fault.Input, Rule: "sigma", Message: "how good one tape is cannot be read", Hint: "mend the box that is marked"}}
	}
	n, index, err := networkOf(v.Rows, v.Held, v.List, v.Free, cm/100)
	if err != nil {
		return err
	}
	done, err := s.Place(r.Context())
	if err != nil {
		return err
	}
	defer done()
	a, err := n.Adjust(builtLevel)
	if err != nil {
		return err
	}
	clean, err := n.Snoop(builtLevel)
	if err != nil {
		return err
	}
	target, err := v.Asked.target(v.Layouts)
	if err != nil {
		return err
	}
	v.Result = builtOf(v.Plan, target, v.List, n, a, clean)
	for _, c := range a.Suspects {
		for k, t := range n.Tapes {
			if t.From == c.From && t.To == c.To {
				v.Rows[index[k]].Suspect = true
			}
		}
	}
	return nil
}

// rowGroup are the tapes to one point.
type rowGroup struct {
	ID, Sign, What string // ID "": further tapes, with ends to be named
	Order          int
	Rows           []numberedRow
}

// numberedRow is a row with a number of its own on the page.
type numberedRow struct {
	tapeRow
	N int
}

// Groups puts the rows together by the point they belong to.
func (p *asBuiltPage) Groups() []rowGroup {
	var out []rowGroup
	for i, row := range p.Rows {
		if row.Head != "" || len(out) == 0 || !row.Given && out[len(out)-1].ID != "" {
			g := rowGroup{ID: row.Head, Sign: signOf(row.Head)}
			for _, s := range p.List.Stakes {
				if s.ID == row.Head {
					g.Order, g.What = s.Order, s.What
				}
			}
			out = append(out, g)
		}
		g := &out[len(out)-1]
		g.Rows = append(g.Rows, numberedRow{row, i + 1})
	}
	return out
}
