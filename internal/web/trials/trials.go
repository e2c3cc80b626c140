// Package trials serves the Scores and the Day tab, which work on the same trials: what
// a trial is made of, the desk where sheets are typed, placings and queries; the
// programme as it runs, the order of go, people's jobs.
//
// One file an action: scores_desk.go is /scores/{id}/desk, day.go is /day/{id}. A page
// is one Go struct and one template of the same name. The trials that are worked on are
// held in memory (scores_open.go) and follow the store.
package trials

import (
	"context"
	"embed"
	"net/http"

	"terret/internal/plan"
	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/web/book"
)

//go:embed templates
var templates embed.FS

// PlanLister gives the ground that sheets are drawn with.
type PlanLister interface {
	// Plans lists the newest version of every plan, the one kept last first.
	Plans(context.Context) ([]plan.Saved, error)
}

// OrderMaker makes an order of go, as [order.Make] does; it may take seconds.
type OrderMaker func(order.Input) (*order.Plan, error)

// Config is what the tabs are made of. Plans is needed; the rest has a use when left
// zero.
type Config struct {
	Plans  PlanLister
	Trials trial.Store // nil: nothing is scored, and the tabs say so
	Rotas  RotaStore   // nil: no page keeps people's jobs
	Order  OrderMaker  // nil: package order
}

// server is what the handlers share.
type server struct {
	*book.Book
	store  PlanLister
	opened *openTrials // nil: nothing is scored
	rotas  RotaStore   // nil: no page keeps people's jobs
	order  OrderMaker
}

// Routes puts both tabs into the book.
func Routes(b *book.Book, c Config) {
	s := &server{Book: b, store: c.Plans, rotas: c.Rotas, order: c.Order}
	if c.Trials != nil {
		s.opened = newOpenTrials(c.Trials)
	}
	if s.order == nil {
		s.order = order.Make
	}
	b.Templates(templates)
	s.scoreRoutes()
	s.dayRoutes()
}

// on serves a page of the trial in the address, up to date and to itself.
func (s *server) on(pattern string, f func(http.ResponseWriter, *http.Request, *openTrial) error) {
	s.Page(pattern, s.onTrial(f))
}
