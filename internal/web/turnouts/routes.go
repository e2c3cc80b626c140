package turnouts

import (
	"crypto/rand"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
)

// routes are the pages below one turnout.
func (s *server) routes() {
	s.Page("GET /turnouts/new", s.beginForm)
	s.Page("POST /turnouts/new", s.begin)
	s.Page("GET /turnouts/{id}", s.record)
	s.Page("POST /turnouts/{id}", s.recordKeep)
	s.Page("GET /turnouts/{id}/circles", s.circles)
	s.Page("POST /turnouts/{id}/circles", s.circlesKeep)
	s.Page("GET /turnouts/{id}/check", s.check)
	s.Page("POST /turnouts/{id}/check", s.checkKeep)
	s.Page("GET /turnouts/{id}/checks/{record}", s.checked)
	s.Page("GET /turnouts/{id}/putting-to", s.putting)
	s.Page("GET /turnouts/{id}/trots", s.trots)
	s.Page("POST /turnouts/{id}/trots", s.trotsWork)
	s.Page("GET /turnouts/{id}/beat", s.beat)
	s.API("POST /api/gait/tempo", s.apiTempo)
	s.Page("GET /turnouts/{id}/motion", s.motion)
	s.Page("POST /turnouts/{id}/motion", s.motionRead)
	s.Page("GET /turnouts/{id}/halt", s.halt)
	s.Page("POST /turnouts/{id}/halt", s.haltWork)
	s.Page("GET /turnouts/{id}/papers/{sheet}", s.paper)
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
