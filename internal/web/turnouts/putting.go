package turnouts

import (
	"net/http"
	"net/url"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// puttingPage is the order of putting to and taking out, as the school has it.
type puttingPage struct {
	book.Frame
	turnout.Saved
	Card   *turnout.Card
	Order  string // as typed
	Usual  string // the joints where no school has said
	Faults fault.List
	Query  string // for the papers
}

// putting is GET /turnouts/{id}/putting-to?order=traces,tugs,…
func (s *server) putting(w http.ResponseWriter, r *http.Request) error {
	saved, t, err := s.asked(r)
	if err != nil {
		return err
	}
	v := puttingPage{Frame: s.Frame("turnouts", "Putting to: "+saved.Name), Saved: saved, Order: strings.TrimSpace(r.URL.Query().Get("order")), Usual: strings.Join(t.Joints(), ", ")}
	status := http.StatusOK
	v.Card, err = s.card(t, false, orderOf(v.Order))
	if v.Faults = book.FaultsOf(err); v.Faults != nil {
		status = book.StatusOf(err)
		v.Card, err = s.card(t, false, nil)
	}
	if err != nil {
		return err
	}
	v.Query = url.Values{"order": {v.Order}}.Encode()
	if v.Order == "" || v.Faults != nil {
		v.Query = ""
	}
	return s.Render(w, status, "turnout_putting", v)
}
