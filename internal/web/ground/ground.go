// Package ground serves the Ground tab: plans of hazards and cones, the drawing with
// its API, setting out and measuring as built, and the papers of a plan.
//
// One file an action: list.go is GET /ground, api_solve.go is POST /api/solve. A page is
// one Go struct and one template of the same name.
package ground

import (
	"context"
	"embed"
	"time"

	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

//go:embed templates
var templates embed.FS

// Store keeps plans by version, and gives the turnouts that drive them. History is
// append-only. See package store for the two implementations.
type Store interface {
	// Plans lists the newest version of every plan, the one kept last first.
	Plans(context.Context) ([]plan.Saved, error)
	// PlanVersions lists one plan's versions without the plans, newest first.
	// Fault NotFound when there is none.
	PlanVersions(ctx context.Context, id string) ([]plan.Saved, error)
	// Plan fetches a version; 0 is the newest. Fault NotFound when there is none.
	Plan(ctx context.Context, id string, version int) (plan.Saved, error)
	// SavePlan keeps p as the version after base; base 0 begins a new plan. Fault
	// Conflict, with nothing written, when base is not the newest.
	SavePlan(ctx context.Context, id string, base int, p *plan.Plan, note string, at time.Time) (plan.Saved, error)
	// Turnouts lists the newest version of every turnout by name.
	Turnouts(context.Context) ([]turnout.Saved, error)
	// Turnout fetches the newest version of one. Fault NotFound when there is none.
	Turnout(ctx context.Context, id string) (turnout.Saved, error)
}

// PrintStore remembers which version of a plan was last printed on which paper.
// It is append-only.
type PrintStore interface {
	// KeepPrint adds one print.
	KeepPrint(ctx context.Context, p plan.Printed) error
	// Prints lists the last print of every paper of a plan, newest first; an empty
	// id lists those of all plans.
	Prints(ctx context.Context, id string) ([]plan.Printed, error)
}

// Config is what the tab is made of. Store is needed; the rest has a use when left
// zero.
type Config struct {
	Store   Store
	Prints  PrintStore // nil: no page tells which papers are old
	Planner Planner    // nil: package hazard
	Sheets  Sheets     // nil: no page offers papers
	Demo    string     // id of the demo plan, which explains itself; "" none
}

// server is what the handlers share.
type server struct {
	*book.Book
	store   Store
	prints  PrintStore
	planner Planner
	sheets  Sheets
	demo    string
	lives   *lives[live]
	coneing *lives[coneLive]
	answers *newest[*hazard.Answer]
	lines   *newest[lines]
}

// Routes puts the tab into the book.
func Routes(b *book.Book, c Config) {
	s := &server{
		Book: b, store: c.Store, prints: c.Prints, planner: c.Planner, sheets: c.Sheets, demo: c.Demo,
		lives: newLives[live](16, 2*time.Minute, b.Now), coneing: newLives[coneLive](16, 2*time.Minute, b.Now),
		answers: newNewest[*hazard.Answer](16), lines: newNewest[lines](32),
	}
	if s.planner == nil {
		s.planner = hazardPlanner{}
	}
	b.Templates(templates)
	b.Page("GET /ground", s.list)
	b.Page("GET /ground/new", s.beginForm)
	b.Page("POST /ground/new", s.create)
	b.Page("POST /ground/import", s.bringIn)
	b.Page("POST /ground/{id}/copy", s.copyPlan)
	b.Page("GET /ground/{id}/file", s.file)
	b.Page("GET /ground/{id}", s.show)
	b.Page("GET /ground/arena", s.settingOutArena)
	b.Page("GET /ground/{id}/setting-out", s.settingOut)
	b.Page("GET /ground/{id}/as-built", s.asBuilt)
	b.Page("POST /ground/{id}/as-built", s.asBuiltWork)
	b.Page("GET /ground/{id}/as-built/kept", s.asBuiltKept)
	b.Page("GET /ground/{id}/wheel", s.wheel)
	b.Page("GET /papers", s.paperList)
	b.Page("GET /papers/{sheet}", s.paper)

	b.API("POST /api/solve", s.apiSolve)
	b.API("POST /api/follow", s.apiFollow)
	b.API("POST /api/check", s.apiCheck)
	b.API("POST /api/keepout", s.apiKeepout)
	b.API("POST /api/doubts", s.apiDoubts)
	b.API("POST /api/cones/drive", s.apiConesDrive)
	b.API("POST /api/cones/follow", s.apiConesFollow)
	b.API("POST /api/cones/multiple", s.apiConesMultiple)
	b.API("GET /api/plans/{id}", s.apiPlan)
	b.API("PUT /api/plans/{id}", s.apiSave)
	b.API("/api/", s.apiNothing)
}
