// Package web serves Terret's pages: server-rendered HTML, a small JSON API for
// the drawing, and the static files, all from one binary and without the
// internet.
//
// # How it is laid out
//
// One file an action: ground_list.go is GET /ground, api_solve.go is POST
// /api/solve. A page is one Go struct and one template of the same name;
// TestEveryPageRenders renders each with a full fixture. What a page needs of
// storage and of the planner is declared here, as [PlanStore] and [Planner],
// and handed in by package main: this package knows no database.
//
// # Who may ask
//
// A local server is open to two tricks that a page on the internet can play on
// the laptop's own browser, and closes both: a name that is pointed at the
// laptop after the fact (only known Host headers are answered, see guard.go),
// and a form or script that posts from another site (net/http's
// CrossOriginProtection). Pages run no inline script and load nothing from
// elsewhere: Content-Security-Policy default-src 'self'.
//
// # Errors
//
// What a person can mend is a fault.Fault and keeps its words; status.go is the
// one place that gives it an HTTP status. Everything else is logged and answered
// with one calm line, never a stack.
package web
