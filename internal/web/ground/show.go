package ground

import (
	"context"
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// drawingPage is the plan with the chosen turnout's best line on it. It stands
// on its own without script; the editor takes over #drawing where there is
// script, reading the JSON at the page's end.
type drawingPage struct {
	book.Frame
	plan.Saved
	Facts    bool // the first-minute card is open
	Old      bool // not the newest version: for looking
	Drawing  template.HTML
	Hazards  []string // names
	Layouts  []layoutLink
	Turnouts []turnoutChoice
	Classes  []string // of gates that are only for some; empty when there are none
	Asked    asked
	Paces    []book.Choice
	Letters  []book.Choice
	Answer   *hazard.Answer // nil: not worked out
	Why      string         // why there is no answer, in words
	Faults   []book.JSONFault
	Warnings []book.JSONFault
	Versions []plan.Saved
	Sheets   []sheetLink

	turnout *turnout.Turnout // shown, at the pace asked for; nil: there is none

	PlanDoc, TurnoutsDoc, Opts template.JS // for the editor; JSON, safe inside a script
}

// asked is what the page is asked to show. Its JSON is the editor's page-opts.
type asked struct {
	Hazard  string `json:"hazard"`
	Turnout string `json:"turnout"`
	Pace    string `json:"pace"`
	Through string `json:"through"`
	For     string `json:"for"`
	API     string `json:"api"`
	Static  string `json:"static"`
}

// drawSoon is how long the page waits for the planner before it is sent without
// a line; the editor asks again by itself.
const drawSoon = 1500 * time.Millisecond

// show is GET /ground/{id}.
func (s *server) show(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	version, err := versionIn(r)
	if err != nil {
		return err
	}
	saved, err := s.store.Plan(ctx, r.PathValue("id"), version)
	if err != nil {
		return err
	}
	versions, err := s.store.PlanVersions(ctx, saved.ID)
	if err != nil {
		return err
	}
	if asksForCones(r.URL.Query(), saved.Plan) {
		return s.showCones(w, r, saved, versions)
	}
	turnouts, docs, err := s.choices(ctx)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	v := drawingPage{
		Frame: s.Frame("ground", saved.Name), Saved: saved, Versions: versions, Turnouts: turnouts,
		Facts: s.demo != "" && saved.ID == s.demo, Old: saved.Version != versions[0].Version,
		Asked: asked{Hazard: q.Get("hazard"), Turnout: q.Get("turnout"), Pace: q.Get("pace"), Through: q.Get("through"), For: q.Get("for"), API: "/api", Static: s.Static()},
	}
	h := v.settle()
	v.Layouts = layoutLinks(saved, "hazard", v.Asked.Hazard)
	v.Sheets = s.sheetLinks(v.Asked.sheetsOf(saved))
	doc, err := plan.EncodeJSON(saved.Plan)
	if err != nil {
		return err
	}
	if v.Faults, v.Warnings, err = check(doc); err != nil {
		return err
	}
	s.answer(ctx, &v, h)
	d := drawing{plan: saved.Plan, hazard: h, through: v.Asked.Through, width: 480, height: 640}
	if v.Answer != nil && len(v.Answer.Routes) > 0 {
		d.route = &v.Answer.Routes[0]
	}
	v.Drawing = d.SVG()
	opts, err := json.Marshal(v.Asked)
	if err != nil {
		return err
	}
	v.PlanDoc, v.TurnoutsDoc, v.Opts = inScript(doc), inScript(docs), inScript(opts)
	return s.Render(w, http.StatusOK, "drawing", v)
}

// settle fills in what was not asked, with what is there, and lists the choices.
// It returns the hazard shown, nil when the plan has none.
func (v *drawingPage) settle() *plan.Hazard {
	var h *plan.Hazard
	for i := range v.Plan.Hazards {
		name := v.Plan.Hazards[i].Name
		v.Hazards = append(v.Hazards, name)
		if h == nil && (v.Asked.Hazard == "" || v.Asked.Hazard == name) {
			h = &v.Plan.Hazards[i]
		}
	}
	if h == nil && len(v.Plan.Hazards) > 0 {
		h = &v.Plan.Hazards[0]
	}
	v.Asked.Hazard = ""
	if h != nil {
		v.Asked.Hazard = h.Name
		through := ""
		classes := map[string]bool{}
		for _, g := range h.Gates {
			for _, c := range g.For {
				if !classes[c] {
					classes[c] = true
					v.Classes = append(v.Classes, c)
				}
			}
		}
		if !slices.Contains(v.Classes, v.Asked.For) {
			v.Asked.For = ""
		}
		last := ""
		for _, g := range h.Gates {
			if !g.Is(v.Asked.For) {
				continue
			}
			label := "A–" + g.Letter
			if last == "" {
				label = g.Letter
			}
			last = g.Letter
			if v.Asked.Through == g.Letter {
				through = g.Letter
			}
			v.Letters = append(v.Letters, book.Choice{Value: g.Letter, Label: label, On: false})
		}
		if through == "" {
			through = last
		}
		v.Asked.Through = through
		for i := range v.Letters {
			v.Letters[i].On = v.Letters[i].Value == through
		}
	}
	v.turnout, v.Paces = take(v.Turnouts, &v.Asked.Turnout, &v.Asked.Pace)
	return h
}

// answer works out the ways, or says in words why it has not.
func (s *server) answer(ctx context.Context, v *drawingPage, h *plan.Hazard) {
	switch {
	case h == nil:
		v.Why = "There is no hazard on this ground yet. Draw one: In, Out and the lettered gates between."
		return
	case v.turnout == nil:
		v.Why = "There is no turnout yet. Bring one in on the Turnouts page, and its ways are worked out here."
		return
	case len(v.Faults) > 0:
		v.Why = "The plan cannot be worked out as it stands; the checks say why."
		return
	}
	ctx, cancel := context.WithTimeout(ctx, drawSoon)
	defer cancel()
	var err error
	v.Answer, err = s.ways(ctx, hazard.Question{Plan: v.Plan, Hazard: h.Name, Turnout: v.turnout, Through: v.Asked.Through, For: v.Asked.For})
	switch {
	case err == nil:
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		v.Answer, v.Why = nil, "The ways take longer to work out; the line comes when it is ready."
	default:
		v.Answer, v.Why = nil, "The ways could not be worked out."
		if f, ok := errors.AsType[*fault.Fault](err); ok {
			v.Why = f.Error()
		} else {
			s.Log.Error("the planner broke", "plan", v.ID, "version", v.Version, "why", err)
		}
	}
}

// inScript makes JSON fit to stand in a <script type="application/json">: no
// text in it can end the element. The escapes are JSON's own.
func inScript(doc []byte) template.JS {
	return template.JS(strings.NewReplacer("<", `\u003c`, ">", `\u003e`, "&", `\u0026`, "\u2028", `\u2028`, "\u2029", `\u2029`).Replace(string(doc)))
}
