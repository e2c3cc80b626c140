package ground

import (
	"context"
	"crypto/sha256"
	"fmt"

	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// ways asks the planner, or gives the answer it gave to the very same question:
// the page is sent with its line, and the editor's first question is that one
// again. It waits for a place among the planners at work.
func (s *server) ways(ctx context.Context, q hazard.Question) (*hazard.Answer, error) {
	if q.Most == 0 {
		q.Most = mostWays
	}
	key, err := answerKey(q)
	if err != nil {
		return nil, err
	}
	if a := s.answers.get(key); a != nil {
		return a, nil
	}
	done, err := s.Place(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	a, err := s.planner.Routes(ctx, q)
	if err != nil {
		return nil, err
	}
	s.answers.put(key, a)
	return a, nil
}

// mostWays is how many ways are shown when nobody says how many.
const mostWays = 10

// answerKey is the same for two questions exactly when their answers are: the
// documents themselves, not their names, are in it.
func answerKey(q hazard.Question) (string, error) {
	p, err := plan.EncodeJSON(q.Plan)
	if err != nil {
		return "", err
	}
	t, err := turnout.EncodeJSON(q.Turnout)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%d %s %d %s %q %q %q %d", len(p), p, len(t), t, q.Hazard, q.Through, q.For, q.Most)
	return string(sum.Sum(nil)), nil
}
