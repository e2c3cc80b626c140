package web

import (
	"net/http"

	"terret/internal/turnout"
)

// turnoutImport is POST /turnouts/import: a turnout/1 file becomes a new
// turnout. A file with faults is shown with each fault's place, and nothing is
// written.
func (s *server) turnoutImport(w http.ResponseWriter, r *http.Request) error {
	name, data, err := upload(w, r)
	if err != nil {
		return err
	}
	t, _, err := turnout.Decode(name, data)
	if l := faultsOf(err); l != nil {
		v := turnoutPage{Frame: s.frame("turnouts", "Turnouts"), File: name, Faults: l}
		if err := s.cards(r, &v); err != nil {
			return err
		}
		return s.render(w, statusOf(err), "turnouts", v)
	}
	if err != nil {
		return err
	}
	if _, err := s.store.SaveTurnout(r.Context(), newID(t.Name), 0, t.Name, data, s.now()); err != nil {
		return err
	}
	http.Redirect(w, r, "/turnouts", http.StatusSeeOther)
	return nil
}

// turnoutFile is GET /turnouts/{id}/file: the file as it was brought in.
func (s *server) turnoutFile(w http.ResponseWriter, r *http.Request) error {
	v, err := s.store.Turnout(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return send(w, v.ID+".yaml", "application/yaml; charset=utf-8", v.Document)
}
