package web

import (
	"embed"
	"log/slog"
	"net/http"
	"time"

	"terret/internal/trial"
	"terret/internal/web/book"
	"terret/internal/web/ground"
	"terret/internal/web/trials"
	"terret/internal/web/turnouts"
)

//go:embed templates
var templates embed.FS

// PlanStore keeps plans and turnouts by version. See package store for the two
// implementations.
type PlanStore interface {
	ground.Store
	turnouts.Store
}

// Config is what the pages are made of. Store is needed; the rest has a use
// when left zero.
type Config struct {
	Store   PlanStore
	Records turnouts.RecordStore // nil: checks and readings are shown, and kept nowhere
	Prints  ground.PrintStore    // nil: no page tells which papers are old
	Trials  trial.Store          // nil: nothing is scored
	Rotas   trials.RotaStore     // nil: no page keeps people's jobs
	Planner ground.Planner       // nil: package hazard
	Sheets  ground.Sheets        // nil: no page offers papers
	Order   trials.OrderMaker    // nil: package order
	Hosts   []string             // further names this server answers to, without port
	Now     func() time.Time     // nil: the clock
	Log     *slog.Logger         // nil: silent
	Demo    string               // id of the demo plan the front page opens; "" for the list
	Version string               // of the program, for the foot of the pages
}

// server is what the handlers of no tab share.
type server struct {
	*book.Book
	store PlanStore
	demo  string
}

// New makes the handler of all pages.
func New(c Config) http.Handler { return bind(c).Handler() }

// bind puts all pages into a book.
func bind(c Config) *book.Book {
	b := book.New(book.Config{Hosts: c.Hosts, Now: c.Now, Log: c.Log, Version: c.Version})
	s := &server{Book: b, store: c.Store, demo: c.Demo}
	b.Templates(templates)
	b.Page("GET /{$}", s.front)
	b.Page("GET /rules", s.rulesList)
	b.Page("GET /rules/{name}", s.rulesList)
	b.Page("GET /keep", s.keep)
	b.Page("/", s.nothingHere)
	for _, r := range rooms() {
		b.Page("GET "+r.Path, s.Room(r))
	}
	ground.Routes(b, ground.Config{Store: c.Store, Prints: c.Prints, Planner: c.Planner, Sheets: c.Sheets, Demo: c.Demo})
	turnouts.Routes(b, c.Store, c.Records)
	trials.Routes(b, trials.Config{Plans: c.Store, Trials: c.Trials, Rotas: c.Rotas, Order: c.Order})
	return b
}

// rooms are the tabs that are not built.
func rooms() []book.Room {
	return []book.Room{{
		Path: "/lesson", Key: "lesson", Name: "Lesson",
		Will:      "Here a plan will go on the wall, letter by letter, and each driver will get a page of where the seconds went.",
		Meanwhile: "Not built yet. Meanwhile open a drawing on the Ground tab and play a drive there: gates go dead as they are driven.",
	}}
}
