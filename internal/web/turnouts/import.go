package turnouts

import (
	"net/http"

	"terret/internal/turnout"
	"terret/internal/web/book"
)

// bringIn is POST /turnouts/import: a turnout/1 file becomes a new
// turnout. A file with faults is shown with each fault's place, and nothing is
// written.
func (s *server) bringIn(w http.ResponseWriter, r *http.Request) error {
	name, data, err := book.Upload(w, r)
	if err != nil {
		return err
	}
	t, _, err := turnout.Decode(name, data)
	if l := book.FaultsOf(err); l != nil {
		v := turnoutPage{Frame: s.Frame("turnouts", "Turnouts"), File: name, Faults: l}
		if err := s.cards(r, &v); err != nil {
			return err
		}
		return s.Render(w, book.StatusOf(err), "turnouts", v)
	}
	if err != nil {
		return err
	}
	if _, err := s.store.SaveTurnout(r.Context(), book.NewID(t.Name), 0, t.Name, data, s.Now()); err != nil {
		return err
	}
	http.Redirect(w, r, "/turnouts", http.StatusSeeOther)
	return nil
}

// file is GET /turnouts/{id}/file: the file as it was brought in.
func (s *server) file(w http.ResponseWriter, r *http.Request) error {
	v, err := s.store.Turnout(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return book.Send(w, v.ID+".yaml", "application/yaml; charset=utf-8", v.Document)
}
