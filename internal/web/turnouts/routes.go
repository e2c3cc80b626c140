package turnouts

import (
	"crypto/rand"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// routes are the pages below one turnout.
func (s *server) routes(page, api func(pattern string, f book.Handler)) {
	page("GET /turnouts/new", s.beginForm)
	page("POST /turnouts/new", s.begin)
	page("GET /turnouts/{id}", s.record)
	page("POST /turnouts/{id}", s.recordKeep)
	page("GET /turnouts/{id}/circles", s.circles)
	page("POST /turnouts/{id}/circles", s.circlesKeep)
	page("GET /turnouts/{id}/check", s.check)
	page("POST /turnouts/{id}/check", s.checkKeep)
	page("GET /turnouts/{id}/checks/{record}", s.checked)
	page("GET /turnouts/{id}/putting-to", s.putting)
	page("GET /turnouts/{id}/trots", s.trots)
	page("POST /turnouts/{id}/trots", s.trotsWork)
	page("GET /turnouts/{id}/beat", s.beat)
	api("POST /api/gait/tempo", s.apiTempo)
	page("GET /turnouts/{id}/motion", s.motion)
	page("POST /turnouts/{id}/motion", s.motionRead)
	page("GET /turnouts/{id}/halt", s.halt)
	page("POST /turnouts/{id}/halt", s.haltWork)
	page("GET /turnouts/{id}/papers/{sheet}", s.paper)
}

// asked is the newest version of the turnout in the address, read.
func (s *server) asked(r *http.Request) (turnout.Saved, *turnout.Turnout, error) {
	saved, err := s.store.Turnout(r.Context(), r.PathValue("id"))
	if err != nil {
		return saved, nil, err
	}
	t, _, err := turnout.Decode(saved.ID, saved.Document)
	return saved, t, err
}

// kept lists the records of a kind beside a turnout; none where nothing is kept.
func (s *server) kept(r *http.Request, id, kind string) ([]turnout.Kept, error) {
	if s.records == nil {
		return nil, nil
	}
	return s.records.Records(r.Context(), id, kind)
}

// keepsNothing is the fault of a page that would keep something in a program that
// was started without a place for it.
func keepsNothing() error {
	return &fault.Fault{Code: fault.NotFound, Rule: "records", Message: "this program was started without a place to keep records", Hint: "write it on the paper card"}
}

// keepRecord keeps what was measured of a turnout, and goes to the page that shows
// it again.
func (s *server) keepRecord(w http.ResponseWriter, r *http.Request, of turnout.Saved, kind string, rec any, page string) error {
	if s.records == nil {
		return keepsNothing()
	}
	doc, err := json.Marshal(rec)
	if err != nil {
		return err
	}
	k, err := s.records.KeepRecord(r.Context(), turnout.Kept{ID: newRecord(), Turnout: of.ID, Version: of.Version, Kind: kind, At: s.Now(), Document: doc})
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/turnouts/"+url.PathEscape(of.ID)+"/"+page+"?record="+k.ID, http.StatusSeeOther)
	return nil
}

// newRecord is the id of a record: random enough that two phones never meet.
func newRecord() string { return strings.ToLower(rand.Text()) }
