package ground

import (
	"context"
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"net/url"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/sheet"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// conesPage is a plan with one of its cones courses on it. Like the page of a
// hazard it stands on its own without script; with script the editor takes over
// #drawing.
type conesPage struct {
	book.Frame
	plan.Saved
	Old      bool // not the newest version: for looking
	Drawing  template.HTML
	Layouts  []layoutLink
	Turnouts []turnoutChoice
	Paces    []book.Choice
	Rules    []book.Choice
	Asked    conesAsked
	Course   *plan.Course  // nil: none of that name yet
	Answer   *cones.Answer // nil: not worked out
	Why      string        // why there is no answer, in words
	Faults   []book.JSONFault
	Warnings []book.JSONFault
	Versions []plan.Saved
	Sheets   []sheetLink

	PlanDoc, TurnoutsDoc, Opts template.JS // for the editor; JSON, safe inside a script
}

// conesAsked is what the page is asked to show. Its JSON is the editor's page-opts.
type conesAsked struct {
	Course  string   `json:"course"`
	Turnout string   `json:"turnout"`
	Pace    string   `json:"pace"`
	Rules   string   `json:"rules"`
	Kinds   []string `json:"kinds"` // of multiples
	API     string   `json:"api"`
	Static  string   `json:"static"`
}

// layoutLink leads to one of the hazards and courses of a plan.
type layoutLink struct {
	Path, Name string
	On         bool
}

// layoutLinks lists what can be drawn on a plan: its hazards, its courses, and
// the first course where there is none. on is the kind and name of what is shown.
func layoutLinks(v plan.Saved, kind, name string) (out []layoutLink) {
	at := "/ground/" + url.PathEscape(v.ID) + "?"
	for _, h := range v.Plan.Hazards {
		out = append(out, layoutLink{at + url.Values{"hazard": {h.Name}}.Encode(), h.Name, kind == "hazard" && name == h.Name})
	}
	if len(v.Plan.Hazards) == 0 {
		out = append(out, layoutLink{at + "hazard=", "Add a hazard", kind == "hazard"})
	}
	found := false
	for _, c := range v.Plan.Courses {
		on := kind == "course" && name == c.Name
		found = found || on
		out = append(out, layoutLink{at + url.Values{"course": {c.Name}}.Encode(), "Cones: " + c.Name, on})
	}
	if len(v.Plan.Courses) == 0 {
		out = append(out, layoutLink{at + url.Values{"course": {firstCourse}}.Encode(), "Add cones", kind == "course"})
	} else if kind == "course" && !found {
		out = append(out, layoutLink{at + url.Values{"course": {name}}.Encode(), "Cones: " + name, true})
	}
	return out
}

// firstCourse is what the first course of a plan is called.
const firstCourse = "Cones"

// asksForCones tells which of its two pages a plan is shown on: the one asked
// for, else that of its hazards unless it has only courses.
func asksForCones(q url.Values, p *plan.Plan) bool {
	return q.Has("course") || !q.Has("hazard") && len(p.Hazards) == 0 && len(p.Courses) > 0
}

// showCones is GET /ground/{id}?course=NAME.
func (s *server) showCones(w http.ResponseWriter, r *http.Request, saved plan.Saved, versions []plan.Saved) error {
	ctx := r.Context()
	turnouts, docs, err := s.choices(ctx)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	v := conesPage{
		Frame: s.Frame("ground", saved.Name), Saved: saved, Versions: versions, Turnouts: turnouts, Old: saved.Version != versions[0].Version,
		Asked: conesAsked{Course: q.Get("course"), Turnout: q.Get("turnout"), Pace: q.Get("pace"), Rules: q.Get("rules"), API: "/api", Static: s.Static()},
	}
	for _, k := range cones.Kinds() {
		v.Asked.Kinds = append(v.Asked.Kinds, string(k))
	}
	t := v.settle()
	v.Layouts = layoutLinks(saved, "course", v.Asked.Course)
	doc, err := plan.EncodeJSON(saved.Plan)
	if err != nil {
		return err
	}
	if v.Faults, v.Warnings, err = check(doc); err != nil {
		return err
	}
	s.driveCones(ctx, &v, t)
	if v.Course != nil {
		var ids []string
		for _, t := range turnouts {
			ids = append(ids, t.ID)
		}
		v.Sheets = s.sheetLinks(sheetsOf{Saved: saved, Of: sheet.OfCourse, Name: v.Course.Name, Go: ids}.with("rules", v.Asked.Rules))
	}
	d := drawing{plan: saved.Plan, course: v.Course, width: 640, height: 640}
	if v.Answer != nil {
		run := &v.Answer.Turnouts[0]
		for i := range run.Samples {
			d.driven = append(d.driven, geom.Vec{X: run.Samples[i].Lead[0], Y: run.Samples[i].Lead[1]})
		}
	}
	if t != nil {
		d.track = t.Vehicle.Track
	}
	v.Drawing = d.SVG()
	opts, err := json.Marshal(v.Asked)
	if err != nil {
		return err
	}
	v.PlanDoc, v.TurnoutsDoc, v.Opts = inScript(doc), inScript(docs), inScript(opts)
	return s.Render(w, http.StatusOK, "cones", v)
}

// settle fills in what was not asked with what is there. It returns the turnout
// shown, nil when there is none.
func (v *conesPage) settle() *turnout.Turnout {
	for i := range v.Plan.Courses {
		if c := &v.Plan.Courses[i]; v.Course == nil && (v.Asked.Course == "" || v.Asked.Course == c.Name) {
			v.Course = c
		}
	}
	if v.Course != nil {
		v.Asked.Course = v.Course.Name
	} else if v.Asked.Course == "" {
		v.Asked.Course = firstCourse
	}
	usual := v.Asked.Rules == ""
	for _, name := range rules.Names() {
		on := name == v.Asked.Rules || usual && name == rules.Default
		v.Rules = append(v.Rules, book.Choice{Value: name, Label: name, On: on})
		if on {
			v.Asked.Rules = name
		}
	}
	t, paces := take(v.Turnouts, &v.Asked.Turnout, &v.Asked.Pace)
	v.Paces = paces
	return t
}

// driveCones drives the course as it is kept, or says in words why it has not.
func (s *server) driveCones(ctx context.Context, v *conesPage, t *turnout.Turnout) {
	switch {
	case v.Course == nil:
		v.Why = "There is no cones course of that name on this ground yet. Begin one with its start and finish, then set number 1."
		return
	case t == nil:
		v.Why = "There is no turnout yet. Bring one in on the Turnouts page, and the course is driven here."
		return
	case len(v.Faults) > 0:
		v.Why = "The course cannot be driven as it stands; the checks say why."
		return
	}
	ctx, cancel := context.WithTimeout(ctx, drawSoon)
	defer cancel()
	done, err := s.Place(ctx)
	if err != nil {
		v.Why = "The line takes longer to work out; it comes when it is ready."
		return
	}
	defer done()
	r, err := coneRules(v.Asked.Rules)
	if err == nil {
		v.Answer, err = cones.Drive(ctx, cones.Question{Plan: v.Plan, Course: v.Course.Name, Turnouts: []*turnout.Turnout{t}, Rules: r})
	}
	if err != nil {
		v.Answer, v.Why = nil, "The course could not be driven."
		if f, ok := errors.AsType[*fault.Fault](err); ok {
			v.Why = f.Error()
		} else {
			s.Log.Error("the cones broke", "plan", v.ID, "version", v.Version, "why", err)
		}
	}
}
