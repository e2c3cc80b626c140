package ground

import (
	"context"
	"net/http"
	"time"

	"terret/internal/hazard"
	"terret/internal/web/book"
)

// doubtsWithin is how long the ends of a turnout's guesses are worked out for.
const doubtsWithin = 60 * time.Second

// apiDoubts says what the guesses of a turnout leave open in the best time. POST
// /api/doubts. It takes as long as several answers, and is asked for by hand.
func (s *server) apiDoubts(w http.ResponseWriter, r *http.Request) error {
	var in question
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	q, err := in.read(r.Context(), s, 0)
	if err != nil {
		return err
	}
	a, err := s.ways(r.Context(), q)
	if err != nil {
		return err
	}
	best := 0.0
	if len(a.Routes) > 0 {
		best = a.Routes[0].TimeS
	}
	ctx, cancel := context.WithTimeout(r.Context(), doubtsWithin)
	defer cancel()
	all, err := hazard.Doubts(ctx, q, best, s.ways)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, struct {
		Doubts []hazard.Doubt `json:"doubts"`
	}{all})
	return nil
}
