package ground

import (
	"net/http"

	"terret/internal/hazard"
	"terret/internal/web/book"
)

// apiSolve answers with every way through. POST /api/solve.
func (s *server) apiSolve(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		question
		Most int   `json:"most"` // ways to show; 0 is 10
		Seq  int64 `json:"seq"`  // sent back as it came
	}
	if err := book.ReadJSON(w, r, &in); err != nil {
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
	book.WriteJSON(w, http.StatusOK, struct {
		*hazard.Answer
		Seq int64 `json:"seq"`
	}{a, in.Seq})
	return nil
}
