package web

import (
	"fmt"
	"mime"
	"net/http"

	"terret/internal/plan"
)

// groundFile is GET /ground/{id}/file: the plan/1 file of a version, the newest
// without ?version=.
func (s *server) groundFile(w http.ResponseWriter, r *http.Request) error {
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
	return send(w, fmt.Sprintf("%s-%s.yaml", v.ID, v.Letter()), "application/yaml; charset=utf-8", doc)
}

// send answers with a file to be kept under name.
func send(w http.ResponseWriter, name, kind string, data []byte) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = w.Write(data) // a browser that went away
	return nil
}
