package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"terret/internal/fault"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Sheets draws papers. Without one no page offers any.
type Sheets interface {
	// Draw gives the file of one sheet as "pdf" or "svg".
	Draw(ctx context.Context, job SheetJob, format string) ([]byte, error)
}

// SheetJob is one sheet to draw.
type SheetJob struct {
	Kind    string           // drivers, clinic or builder
	Plan    plan.Saved       // with its Plan and version letter
	Hazard  *plan.Hazard     // of the plan
	Through string           // last letter in play; "" is all
	Paper   string           // a4 or letter
	At      time.Time        // of printing
	Turnout *turnout.Turnout // at the asked pace; nil where the kind shows none
	Answer  *hazard.Answer   // its ways; nil where the kind shows none
}

// print draws one sheet of a kept version.
func (s *server) print(w http.ResponseWriter, r *http.Request, k sheetKind, format string) error {
	if s.sheets == nil {
		return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: k.Name, Message: "this edition draws no papers yet", Hint: "print the drawing page itself meanwhile"}
	}
	q := r.URL.Query()
	job := SheetJob{Kind: k.Key, Through: q.Get("through"), Paper: q.Get("paper"), At: s.now()}
	switch job.Paper {
	case "":
		job.Paper = "a4"
	case "a4", "letter":
	default:
		return &fault.Fault{Code: fault.Usage, Rule: "paper", Place: "paper", Message: fmt.Sprintf("there is no paper %q", job.Paper), Hint: "write a4 or letter"}
	}
	version, err := versionIn(r)
	if err != nil {
		return err
	}
	if job.Plan, err = s.store.Plan(r.Context(), q.Get("plan"), version); err != nil {
		return err
	}
	if job.Hazard, err = job.Plan.Plan.Hazard(q.Get("hazard")); err != nil {
		return err
	}
	if k.Turnout {
		t, err := s.keptTurnout(r.Context(), q.Get("turnout"))
		if err != nil {
			return err
		}
		if job.Turnout, err = t.WithPace(q.Get("pace")); err != nil {
			return err
		}
		job.Answer, err = s.ways(r.Context(), hazard.Question{Plan: job.Plan.Plan, Hazard: job.Hazard.Name, Turnout: job.Turnout, Through: job.Through, For: q.Get("for")})
		if err != nil {
			return err
		}
	}
	doc, err := s.sheets.Draw(r.Context(), job, format)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", map[string]string{"pdf": "application/pdf", "svg": "image/svg+xml"}[format])
	w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%s-%s-%s.%s", k.Key, job.Plan.ID, job.Plan.Letter(), format))
	_, _ = w.Write(doc) // a browser that went away
	return nil
}
