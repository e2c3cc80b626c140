package ground

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/web/book"
)

// sheetLink is one paper of one version, as the pages link to it.
type sheetLink struct {
	sheet.Kind
	PDF, PDFLetter, SVG string
	Printed             *plan.Printed // its last print; nil: none is known
	Old                 bool          // that shows an older version than is kept now
}

// sheetsOf is what papers are asked of: a hazard, a course, the arena or all of
// one kept version of a plan.
type sheetsOf struct {
	plan.Saved
	Of   sheet.Subject
	Name string     // of the hazard or the course
	Go   []string   // ids of the kept turnouts, in the order the pages list them
	More url.Values // what else is asked: turnout, pace, through, for, p, q, tape, track, rules, event, date
}

// with asks for more.
func (o sheetsOf) with(key string, values ...string) sheetsOf {
	more := url.Values{}
	for k, v := range o.More {
		more[k] = v
	}
	for _, v := range values {
		if v != "" {
			more.Add(key, v)
		}
	}
	o.More = more
	return o
}

// takes are what is asked that a kind of paper has a use for.
func takes(k sheet.Kind, key string) bool {
	switch key {
	case "event", "date":
		return true
	case "turnout":
		return k.Turnouts != sheet.NoTurnout
	case "pace", "through", "for":
		return k.Turnouts == sheet.OneTurnout
	case "p", "q", "tape", "track":
		return k.Stakes
	case "rules":
		return k.For(sheet.OfCourse)
	}
	return false
}

// sheetLinks are the papers there are of something. A paper that shows what one
// turnout may drive is left out where none is named.
func (s *server) sheetLinks(o sheetsOf) []sheetLink {
	if s.sheets == nil || o.Plan == nil {
		return nil
	}
	var all []sheetLink
	for _, k := range sheet.Kinds() {
		if !k.For(o.Of) || k.Turnouts == sheet.OneTurnout && o.More.Get("turnout") == "" {
			continue
		}
		q := url.Values{"plan": {o.ID}, "version": {strconv.Itoa(o.Version)}}
		switch {
		case o.Of == sheet.OfArena:
			q.Set("arena", o.Plan.Arena.Size)
		case o.Name != "":
			q.Set(string(o.Of), o.Name)
		}
		for key, values := range o.More {
			if takes(k, key) {
				q[key] = values
			}
		}
		at := func(ext, paper string) string {
			q.Set("paper", paper)
			return "/papers/" + k.Name + ext + "?" + q.Encode()
		}
		link := func() sheetLink {
			return sheetLink{Kind: k, PDF: at(".pdf", "a4"), PDFLetter: at(".pdf", "letter"), SVG: at(".svg", "a4")}
		}
		all = append(all, link())
		if k.Name == sheet.Gaps && len(o.Go) > 0 {
			q["turnout"] = o.Go
			l := link()
			l.Title, l.Says = "Gaps of every turnout", "in the order of the Turnouts page"
			all = append(all, l)
		}
	}
	return all
}

// paperPage lists what can be printed of every plan.
type paperPage struct {
	book.Frame
	Able  bool // this edition draws papers
	Event string
	Date  string
	Plans []planPapers

	Turnouts []turnoutChoice // each has its cards and its trot papers
}

type planPapers struct {
	plan.Saved
	Layouts []layoutPapers
	Old     bool // a paper of it was printed in an older version, and not since
}

type layoutPapers struct {
	Name   string
	Sheets []sheetLink
}

// paperList is GET /papers?event=&date=.
func (s *server) paperList(w http.ResponseWriter, r *http.Request) error {
	all, err := s.store.Plans(r.Context())
	if err != nil {
		return err
	}
	turnouts, _, err := s.choices(r.Context())
	if err != nil {
		return err
	}
	q := r.URL.Query()
	var printed []plan.Printed
	if s.prints != nil {
		if printed, err = s.prints.Prints(r.Context(), ""); err != nil {
			return err
		}
	}
	var ids []string
	for _, t := range turnouts {
		ids = append(ids, t.ID)
	}
	v := paperPage{Frame: s.Frame("papers", "Papers"), Turnouts: turnouts, Able: s.sheets != nil, Event: strings.TrimSpace(q.Get("event")), Date: strings.TrimSpace(q.Get("date"))}
	for _, p := range all {
		one := planPapers{Saved: p}
		if p.Plan == nil {
			v.Plans = append(v.Plans, one)
			continue
		}
		of := sheetsOf{Saved: p}.with("event", v.Event).with("date", v.Date)
		put := func(name string, o sheetsOf) {
			if links := s.sheetLinks(o); len(links) > 0 {
				markPrinted(links, o, printed)
				for i := range links {
					one.Old = one.Old || links[i].Old
				}
				one.Layouts = append(one.Layouts, layoutPapers{name, links})
			}
		}
		for _, h := range p.Plan.Hazards {
			d := drawingPage{Saved: p, Turnouts: append([]turnoutChoice(nil), turnouts...), Asked: asked{Hazard: h.Name}}
			d.settle()
			o := d.Asked.sheetsOf(p)
			put(h.Name, o.with("event", v.Event).with("date", v.Date))
		}
		for _, c := range p.Plan.Courses {
			of.Of, of.Name, of.Go = sheet.OfCourse, c.Name, ids
			put("Cones: "+c.Name, of)
		}
		of.Name = ""
		if of.Of = sheet.OfArena; p.Plan.Arena != nil {
			put("Dressage arena", of)
		}
		if of.Of = sheet.OfPlan; len(one.Layouts) != 1 {
			put("The whole plan", of)
		}
		v.Plans = append(v.Plans, one)
	}
	return s.Render(w, http.StatusOK, "papers", v)
}

// markPrinted puts to each paper when it was printed last. A list that can be
// asked for in two ways counts as one paper.
func markPrinted(links []sheetLink, o sheetsOf, printed []plan.Printed) {
	of := printedOf(o.Of, o.Name)
	for i := range links {
		for k := range printed {
			if p := &printed[k]; p.Plan == o.ID && p.Kind == links[i].Kind.Name && p.Of == of {
				links[i].Printed, links[i].Old = p, p.Version < o.Version
				break
			}
		}
	}
}

// sheetsOf is the hazard that a drawing shows, with its turnout.
func (a asked) sheetsOf(v plan.Saved) sheetsOf {
	return sheetsOf{Saved: v, Of: sheet.OfHazard, Name: a.Hazard}.with("turnout", a.Turnout).with("pace", a.Pace).with("through", a.Through).with("for", a.For)
}

// paper is GET /papers/{kind}.pdf and .svg.
func (s *server) paper(w http.ResponseWriter, r *http.Request) error {
	name, format, ok := strings.Cut(r.PathValue("sheet"), ".")
	kind, err := sheet.KindNamed(name)
	if err != nil || !ok || format != "pdf" && format != "svg" {
		var names []string
		for _, k := range sheet.Kinds() {
			names = append(names, k.Name)
		}
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: r.URL.Path, Message: "there is no such paper", Hint: "there are " + strings.Join(names, ", ") + ", each as .pdf and .svg"}
	}
	return s.print(w, r, kind, format)
}
