// Package book is what the pages of all tabs share, as the binding holds the leaves
// of a book: the frame round a page, templates and static files, forms, faults as
// answers, who may ask, and a place for whoever works something out.
//
// A tab is a package of its own (ground, turnouts, trials). It puts its templates and
// its addresses into a [Book] and knows no other tab.
//
// # Who may ask
//
// A local server is open to two tricks that a page on the internet can play on the
// laptop's own browser, and closes both: a name that is pointed at the laptop after the
// fact (only known Host headers are answered, see guard.go), and a form or script that
// posts from another site (net/http's CrossOriginProtection). Pages run no inline
// script and load nothing from elsewhere: Content-Security-Policy default-src 'self'.
//
// # Errors
//
// What a person can mend is a fault.Fault and keeps its words; status.go is the one
// place that gives it an HTTP status. Everything else is logged and answered with one
// calm line, never a stack.
package book

import (
	"html/template"
	"log/slog"
	"net/http"
	"time"
)

// Config is what a book is made of; each has a use when left zero.
type Config struct {
	Hosts   []string         // further names this server answers to, without port
	Now     func() time.Time // nil: the clock
	Log     *slog.Logger     // nil: silent
	Version string           // of the program, for the foot of the pages
}

// Book holds the pages of all tabs.
type Book struct {
	Now func() time.Time
	Log *slog.Logger

	hosts   []string
	version string
	assets  *assets
	layout  *template.Template
	pages   map[string]*template.Template
	mux     *http.ServeMux
	solving chan struct{} // a place for each planner at work
}

// atOnce bounds how many routes are planned at one time: the machine may be an
// old laptop with other things to do.
const atOnce = 2

// New makes a book with the static files and the pages for faults, and no other.
func New(c Config) *Book {
	b := &Book{Now: c.Now, Log: c.Log, hosts: c.Hosts, version: c.Version, assets: newAssets(), pages: map[string]*template.Template{}, mux: http.NewServeMux(), solving: make(chan struct{}, atOnce)}
	if b.Now == nil {
		b.Now = time.Now
	}
	if b.Log == nil {
		b.Log = slog.New(slog.DiscardHandler)
	}
	b.layout = newLayout(templates)
	b.Templates(templates)
	b.mux.Handle("GET "+b.assets.prefix, b.assets)
	b.mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	return b
}

// Page serves a page at a pattern of net/http; a fault becomes a page as well.
func (b *Book) Page(pattern string, f Handler) { b.mux.Handle(pattern, b.page(f)) }

// API serves JSON at a pattern; a fault becomes JSON as well.
func (b *Book) API(pattern string, f Handler) { b.mux.Handle(pattern, b.api(f)) }

// Handler serves all that was put into the book, and turns away who may not ask.
func (b *Book) Handler() http.Handler {
	return b.recovered(b.knownHost(b.hosts)(b.sameOrigin(headers(b.mux))))
}
