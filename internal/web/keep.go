package web

import (
	"net/http"

	"terret/internal/plan"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// keepPage is where copies are taken: every plan and turnout as a file.
type keepPage struct {
	book.Frame
	Plans    []plan.Saved
	Turnouts []turnout.Saved
}

// keep is GET /keep.
func (s *server) keep(w http.ResponseWriter, r *http.Request) error {
	plans, err := s.store.Plans(r.Context())
	if err != nil {
		return err
	}
	turnouts, err := s.store.Turnouts(r.Context())
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "keep", keepPage{s.Frame("keep", "Keep"), plans, turnouts})
}
