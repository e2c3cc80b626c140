package ground

import (
	"net/http"
)

// copyPlan is POST /ground/{id}/copy: the newest version as a new plan, with a
// history of its own.
func (s *server) copyPlan(w http.ResponseWriter, r *http.Request) error {
	v, err := s.store.Plan(r.Context(), r.PathValue("id"), 0)
	if err != nil {
		return err
	}
	p := *v.Plan
	p.Name = "Copy of " + v.Plan.Name
	return s.begin(w, r, &p, "a copy of "+v.Plan.Name+", version "+v.Letter())
}
