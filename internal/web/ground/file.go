package ground

import (
	"fmt"
	"net/http"

	"terret/internal/plan"
	"terret/internal/web/book"
)

// file is GET /ground/{id}/file: the plan/1 file of a version, the newest
// without ?version=.
func (s *server) file(w http.ResponseWriter, r *http.Request) error {
	version, err := versionIn(r)
	if err != nil {
		return err
	}
	v, err := s.store.Plan(r.Context(), r.PathValue("id"), version)
	if err != nil {
		return err
	}
	doc, err := plan.Encode(v.Plan)
	if err != nil {
		return err
	}
	return book.Send(w, fmt.Sprintf("%s-%s.yaml", v.ID, v.Letter()), "application/yaml; charset=utf-8", doc)
}
