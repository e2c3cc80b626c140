package ground

import (
	"net/http"

	"terret/internal/plan"
	"terret/internal/web/book"
)

// bringIn is POST /ground/import: a plan/1 file becomes a new plan. It is
// decoded strictly; a file with faults is shown with each fault's place, and
// nothing is written.
func (s *server) bringIn(w http.ResponseWriter, r *http.Request) error {
	name, data, err := book.Upload(w, r)
	if err != nil {
		return err
	}
	p, _, err := plan.Decode(name, data)
	if l := book.FaultsOf(err); l != nil {
		return s.Render(w, book.StatusOf(err), "new", newPage{Frame: s.Frame("ground", "A new plan"), Width: "60", Height: "40", File: name, Faults: l})
	}
	if err != nil {
		return err
	}
	return s.begin(w, r, p, "from the file "+name)
}
