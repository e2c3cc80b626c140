package web

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/turnout"
)

// PlanStore keeps plans and turnouts by version. History is append-only. See
// package store for the two implementations.
type PlanStore interface {
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
	// SaveTurnout is SavePlan for turnouts; the caller has decoded doc.
	SaveTurnout(ctx context.Context, id string, base int, name string, doc []byte, at time.Time) (turnout.Saved, error)
}

// RecordStore keeps what was written down beside a turnout: checks, readings. It
// is append-only.
type RecordStore interface {
	// KeepRecord keeps k, once: the same id with the same document again is
	// answered with what was kept the first time. Fault Conflict when the id holds
	// something else, NotFound when there is no such turnout.
	KeepRecord(ctx context.Context, k turnout.Kept) (turnout.Kept, error)
	// Records lists what was kept of one kind beside a turnout, newest first; an
	// empty id lists that of all turnouts.
	Records(ctx context.Context, id, kind string) ([]turnout.Kept, error)
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

// OrderMaker makes an order of go, as [order.Make] does; it may take seconds.
type OrderMaker func(order.Input) (*order.Plan, error)

// Config is what the pages are made of. Store is needed; the rest has a use
// when left zero.
type Config struct {
	Store   PlanStore
	Records RecordStore      // nil: checks and readings are shown, and kept nowhere
	Prints  PrintStore       // nil: no page tells which papers are old
	Trials  trial.Store      // nil: nothing is scored
	Rotas   RotaStore        // nil: no page keeps people's jobs
	Planner Planner          // nil: package hazard
	Sheets  Sheets           // nil: no page offers papers
	Order   OrderMaker       // nil: package order
	Hosts   []string         // further names this server answers to, without port
	Now     func() time.Time // nil: the clock
	Log     *slog.Logger     // nil: silent
	Demo    string           // id of the demo plan the front page opens; "" for the list
	Version string           // of the program, for the foot of the pages
}

// server is what the handlers share.
type server struct {
	store   PlanStore
	records RecordStore
	prints  PrintStore
	rotas   RotaStore   // nil: no page keeps people's jobs
	opened  *openTrials // nil: nothing is scored
	planner Planner
	order   OrderMaker
	sheets  Sheets
	now     func() time.Time
	log     *slog.Logger
	demo    string
	version string
	assets  *assets
	pages   pages
	lives   *lives[live]
	coneing *lives[coneLive]
	answers *newest[*hazard.Answer]
	lines   *newest[lines]
	solving chan struct{} // a place for each planner at work
}

// atOnce bounds how many routes are planned at one time: the machine may be an
// old laptop with other things to do.
const atOnce = 2

// New makes the handler of all pages.
func New(c Config) http.Handler {
	s := &server{
		store: c.Store, records: c.Records, prints: c.Prints, rotas: c.Rotas, planner: c.Planner, order: c.Order, sheets: c.Sheets, now: c.Now, log: c.Log, demo: c.Demo, version: c.Version,
		assets: newAssets(), pages: newPages(), answers: newNewest[*hazard.Answer](16), lines: newNewest[lines](32),
		solving: make(chan struct{}, atOnce),
	}
	if c.Trials != nil {
		s.opened = newOpenTrials(c.Trials)
	}
	if s.planner == nil {
		s.planner = hazardPlanner{}
	}
	if s.order == nil {
		s.order = order.Make
	}
	if s.now == nil {
		s.now = time.Now
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	s.lives = newLives[live](16, 2*time.Minute, s.now)
	s.coneing = newLives[coneLive](16, 2*time.Minute, s.now)
	mux := http.NewServeMux()
	s.routes(mux)
	return chain(mux, s.recovered, s.knownHost(c.Hosts), s.sameOrigin, headers)
}

func (s *server) routes(mux *http.ServeMux) {
	page := func(pattern string, f func(http.ResponseWriter, *http.Request) error) {
		mux.Handle(pattern, s.page(f))
	}
	api := func(pattern string, f func(http.ResponseWriter, *http.Request) error) {
		mux.Handle(pattern, s.api(f))
	}
	page("GET /{$}", s.front)
	page("GET /ground", s.groundList)
	page("GET /ground/new", s.groundNew)
	page("POST /ground/new", s.groundCreate)
	page("POST /ground/import", s.groundImport)
	page("POST /ground/{id}/copy", s.groundCopy)
	page("GET /ground/{id}/file", s.groundFile)
	page("GET /ground/{id}", s.groundDrawing)
	page("GET /ground/arena", s.settingOutArena)
	page("GET /ground/{id}/setting-out", s.settingOut)
	page("GET /ground/{id}/as-built", s.asBuilt)
	page("POST /ground/{id}/as-built", s.asBuiltWork)
	page("GET /ground/{id}/as-built/kept", s.asBuiltKept)
	page("GET /ground/{id}/wheel", s.wheel)
	page("GET /turnouts", s.turnoutList)
	page("GET /turnouts/{id}/file", s.turnoutFile)
	page("POST /turnouts/import", s.turnoutImport)
	s.turnoutRoutes(page, api)
	s.scoreRoutes(page)
	s.dayRoutes(page)
	page("GET /rules", s.rulesList)
	page("GET /rules/{name}", s.rulesList)
	for _, r := range rooms {
		page("GET "+r.Path, s.room(r))
	}
	page("GET /papers", s.paperList)
	page("GET /papers/{sheet}", s.paper)
	page("GET /keep", s.keep)

	api("POST /api/solve", s.apiSolve)
	api("POST /api/follow", s.apiFollow)
	api("POST /api/check", s.apiCheck)
	api("POST /api/keepout", s.apiKeepout)
	api("POST /api/doubts", s.apiDoubts)
	api("POST /api/cones/drive", s.apiConesDrive)
	api("POST /api/cones/follow", s.apiConesFollow)
	api("POST /api/cones/multiple", s.apiConesMultiple)
	api("GET /api/plans/{id}", s.apiPlan)
	api("PUT /api/plans/{id}", s.apiSave)
	api("/api/", s.apiNothing)

	mux.Handle("GET "+s.assets.prefix, s.assets)
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	page("/", s.nothingHere)
}

// chain puts the wrappers round h, the first one outermost.
func chain(h http.Handler, wrappers ...func(http.Handler) http.Handler) http.Handler {
	for i := len(wrappers) - 1; i >= 0; i-- {
		h = wrappers[i](h)
	}
	return h
}
