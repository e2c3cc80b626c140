package ground

import (
	"fmt"

	"terret/internal/geom"
	"terret/internal/hazard"
)

// lines are the lines of one answer by their way, so that a drag goes on from the
// very way that was shown.
type lines map[string]*drawn

// drawn is one line; a newer answer to the same question has a new one.
type drawn struct{ leads []geom.Vec }

func linesOf(a *hazard.Answer) lines {
	out := lines{}
	for i := range a.Routes {
		out[a.Routes[i].Way] = &drawn{a.Routes[i].Leads()}
	}
	return out
}

// key names a question by all but the places of what can be dragged.
func (question question) key(q hazard.Question) string {
	return fmt.Sprintf("%q %v %q %s %q %q %q", q.Plan.Name, q.Plan.Ground.Outline, q.Hazard, question.Turnout, question.Pace, q.Through, q.For)
}
