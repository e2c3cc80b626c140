package ground

import (
	"context"
	"net/http"
	"net/url"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/sheet"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// Sheets draws papers. Without one no page offers any.
type Sheets interface {
	// Draw gives the file of one sheet as "pdf" or "svg".
	Draw(ctx context.Context, kind string, in sheet.Input, format string) ([]byte, error)
}

// print draws one sheet of a kept version.
func (s *server) print(w http.ResponseWriter, r *http.Request, k sheet.Kind, format string) error {
	if s.sheets == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: k.Name, Message: "this edition draws no papers yet", Hint: "print the page itself meanwhile"}
	}
	saved, in, err := s.sheetInput(r, k)
	if err != nil {
		return err
	}
	doc, err := s.sheets.Draw(r.Context(), k.Name, in, format)
	if err != nil {
		return err
	}
	name := k.Name
	if saved.ID != "" {
		name += "-" + saved.ID + "-" + saved.Letter()
	}
	err = book.SendPaper(w, name, format, doc)
	if format == "pdf" && saved.ID != "" {
		s.notePrint(r.Context(), plan.Printed{Plan: saved.ID, Version: saved.Version, Kind: k.Name, Of: printedOf(in.Subject(), nameOf(&in)), At: in.PrintedAt})
	}
	return err
}

// notePrint remembers a print. The paper is in somebody's hand already: that it
// could not be noted is for the log alone.
func (s *server) notePrint(ctx context.Context, p plan.Printed) {
	if s.prints == nil {
		return
	}
	if err := s.prints.KeepPrint(context.WithoutCancel(ctx), p); err != nil {
		s.Log.Error("a print was not noted", "plan", p.Plan, "kind", p.Kind, "why", err)
	}
}

// printedOf names what a paper is about, for what was printed.
func printedOf(of sheet.Subject, name string) string {
	if name == "" {
		return string(of)
	}
	return string(of) + " " + name
}

// nameOf is the name of the hazard or the course a paper is about.
func nameOf(in *sheet.Input) string {
	switch in.Subject() {
	case sheet.OfHazard:
		return in.Hazard.Name
	case sheet.OfCourse:
		return in.Course.Name
	}
	return ""
}

// sheetInput reads what a paper is asked of and works out what it is drawn from.
func (s *server) sheetInput(r *http.Request, k sheet.Kind) (saved plan.Saved, in sheet.Input, err error) {
	q := r.URL.Query()
	in = sheet.Input{Through: q.Get("through"), Class: q.Get("for"), Event: q.Get("event"), Date: q.Get("date"), PrintedAt: s.Now()}
	if in.Paper, err = sheet.PaperNamed(q.Get("paper")); err != nil {
		return saved, in, err
	}
	if q.Get("plan") == "" && q.Has("arena") {
		// An arena by itself, on no plan.
		if in.Plan, err = loneArena(plainSize(q.Get("arena"))); err != nil {
			return saved, in, err
		}
		saved.Plan = in.Plan
	} else {
		version, err := versionIn(r)
		if err != nil {
			return saved, in, err
		}
		if saved, err = s.store.Plan(r.Context(), q.Get("plan"), version); err != nil {
			return saved, in, err
		}
		in.Plan, in.Version = saved.Plan, saved.Letter()
	}
	target, err := chooseSheet(k, q, &in)
	if err != nil {
		return saved, in, err
	}
	if in.Rules, err = rules.Load(knownProfile(q.Get("rules"))); err != nil {
		return saved, in, err
	}
	if k.Stakes {
		a := stakesAskedBy(q)
		ask, wrong := a.question(in.Plan, target)
		for box, why := range wrong {
			return saved, in, &fault.Fault{Code: fault.Usage, Rule: "stakes", Place: box, Message: why}
		}
		if in.Stakes, err = survey.Stakes(ask); err != nil {
			return saved, in, err
		}
	}
	if k.Turnouts == sheet.NoTurnout {
		return saved, in, nil
	}
	if k.Turnouts == sheet.AnyTurnouts {
		for _, id := range q["turnout"] {
			t, err := s.keptTurnout(r.Context(), id)
			if err != nil {
				return saved, in, err
			}
			in.Turnouts = append(in.Turnouts, t)
		}
		return saved, in, nil
	}
	t, err := s.keptTurnout(r.Context(), q.Get("turnout"))
	if err != nil {
		return saved, in, err
	}
	if in.Turnout, err = t.WithPace(q.Get("pace")); err != nil {
		return saved, in, err
	}
	in.Answer, err = s.ways(r.Context(), hazard.Question{Plan: in.Plan, Hazard: in.Hazard.Name, Turnout: in.Turnout, Through: in.Through, For: in.Class})
	return saved, in, err
}

// knownProfile is a profile that is asked for, when it is one of ours: an address
// names no file.
func knownProfile(name string) string {
	for _, n := range rules.Names() {
		if n == name {
			return n
		}
	}
	return rules.Default
}

// chooseSheet finds what of its plan a paper is about: what is named, else all of
// it, else the only one there is.
func chooseSheet(k sheet.Kind, q url.Values, in *sheet.Input) (to survey.Target, err error) {
	of := k.Of[0]
	for _, o := range k.Of {
		if q.Has(string(o)) {
			of = o
			break
		}
		if o == sheet.OfPlan {
			of = o
		}
	}
	switch of {
	case sheet.OfHazard:
		if in.Hazard, err = in.Plan.Hazard(q.Get("hazard")); err == nil {
			to.Hazard = in.Hazard.Name
		}
	case sheet.OfCourse:
		if in.Course, err = cones.FindCourse(in.Plan, q.Get("course")); err == nil {
			to.Course = in.Course.Name
		}
	case sheet.OfArena:
		if in.Arena, to.Arena = true, true; in.Plan.Arena == nil {
			err = &fault.Fault{Code: fault.NotFound, Rule: "arena-name", Place: "arena", Message: "this plan has no arena", Hint: "write one into the plan's file"}
		}
	}
	return to, err
}
