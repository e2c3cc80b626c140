package web

import (
	"net/http"

	"terret/internal/fault"
)

// front opens the book where the work is. GET /.
func (s *server) front(w http.ResponseWriter, r *http.Request) error {
	to := "/ground"
	if s.demo != "" {
		to = "/ground/" + s.demo
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// nothingHere answers every address that is no page.
func (s *server) nothingHere(_ http.ResponseWriter, r *http.Request) error {
	return &fault.Fault{Code: fault.NotFound, Rule: "address", Place: r.URL.Path, Message: "there is no page here", Hint: "the tabs lead to every page there is"}
}
