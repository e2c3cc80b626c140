package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
)

// sheetKind is a paper that can be printed of a plan.
type sheetKind struct {
	Key, Name, Says string
	Turnout         bool // it shows a turnout's ways
}

var sheetKinds = []sheetKind{
	{"drivers", "Course plan for drivers", "the hazard and its gates, no line", false},
	{"clinic", "Clinic plan", "two ways and their figures, for the chosen turnout", true},
	{"builder", "Builder's plan", "every post with its place in metres", false},
}

// sheetLink is one paper of one version, as the pages link to it.
type sheetLink struct {
	sheetKind
	PDF, PDFLetter, SVG string
}

func (s *server) sheetLinks(v plan.Saved, a asked) []sheetLink {
	if s.sheets == nil || v.Plan == nil || len(v.Plan.Hazards) == 0 {
		return nil
	}
	var all []sheetLink
	for _, k := range sheetKinds {
		q := url.Values{"plan": {v.ID}, "version": {strconv.Itoa(v.Version)}}
		if a.Hazard != "" {
			q.Set("hazard", a.Hazard)
		}
		if k.Turnout {
			if a.Turnout == "" {
				continue
			}
			q.Set("turnout", a.Turnout)
			for key, val := range map[string]string{"pace": a.Pace, "through": a.Through, "for": a.For} {
				if val != "" {
					q.Set(key, val)
				}
			}
		}
		at := func(kind, paper string) string {
			q.Set("paper", paper)
			return "/papers/" + k.Key + kind + "?" + q.Encode()
		}
		all = append(all, sheetLink{k, at(".pdf", "a4"), at(".pdf", "letter"), at(".svg", "a4")})
	}
	return all
}

// paperPage lists what can be printed of every plan.
type paperPage struct {
	Frame
	Able  bool // this edition draws papers
	Plans []planPapers
}

type planPapers struct {
	plan.Saved
	Hazards []hazardPapers
}

type hazardPapers struct {
	Name   string
	Sheets []sheetLink
}

// paperList is GET /papers.
func (s *server) paperList(w http.ResponseWriter, r *http.Request) error {
	all, err := s.store.Plans(r.Context())
	if err != nil {
		return err
	}
	turnouts, _, err := s.choices(r.Context())
	if err != nil {
		return err
	}
	v := paperPage{Frame: s.frame("papers", "Papers"), Able: s.sheets != nil}
	for _, p := range all {
		one := planPapers{Saved: p}
		if p.Plan != nil {
			for _, h := range p.Plan.Hazards {
				d := drawingPage{Saved: p, Turnouts: append([]turnoutChoice(nil), turnouts...), Asked: asked{Hazard: h.Name}}
				d.settle()
				one.Hazards = append(one.Hazards, hazardPapers{h.Name, s.sheetLinks(p, d.Asked)})
			}
		}
		v.Plans = append(v.Plans, one)
	}
	return s.render(w, http.StatusOK, "papers", v)
}

// paper is GET /papers/{kind}.pdf and .svg.
func (s *server) paper(w http.ResponseWriter, r *http.Request) error {
	name, format, ok := strings.Cut(r.PathValue("sheet"), ".")
	var kind *sheetKind
	for i := range sheetKinds {
		if sheetKinds[i].Key == name {
			kind = &sheetKinds[i]
		}
	}
	if kind == nil || !ok || (format != "pdf" && format != "svg") {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: r.URL.Path, Message: "there is no such paper", Hint: "there are drivers, clinic and builder, each as .pdf and .svg"}
	}
	return s.print(w, r, *kind, format)
}
