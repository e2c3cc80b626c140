package web

import (
	"net/http"

	"terret/internal/hazard"
)

// apiSolve answers with every way through. POST /api/solve.
func (s *server) apiSolve(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		question
		Most int   `json:"most"` // ways to show; 0 is 10
		Seq  int64 `json:"seq"`  // sent back as it came
	}
	if err := readJSON(w, r, &in); err != nil {
		return err
	}
	q, err := in.read(r.Context(), s, min(max(in.Most, 0), 50))
	if err != nil {
		return err
	}
	a, err := s.ways(r.Context(), q)
	if err != nil {
		return err
	}
	s.lines.put(in.key(hazard.Question{Plan: q.Plan, Hazard: in.Hazard, Through: in.Through, For: in.For}), linesOf(a))
	writeJSON(w, http.StatusOK, struct {
		*hazard.Answer
		Seq int64 `json:"seq"`
	}{a, in.Seq})
	return nil
}
