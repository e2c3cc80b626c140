package ground

import (
	"encoding/json"
	"net/http"
	"strconv"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/web/book"
)

// apiPlan gives a kept version: the other side of a conflict. GET
// /api/plans/{id}?version=N, the newest without a number.
func (s *server) apiPlan(w http.ResponseWriter, r *http.Request) error {
	version, err := versionIn(r)
	if err != nil {
		return err
	}
	v, err := s.store.Plan(r.Context(), r.PathValue("id"), version)
	if err != nil {
		return err
	}
	doc, err := plan.EncodeJSON(v.Plan)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, struct {
		Version int             `json:"version"`
		Letter  string          `json:"letter"`
		Note    string          `json:"note"`
		At      string          `json:"at"`
		Plan    json.RawMessage `json:"plan"`
	}{v.Version, v.Letter(), v.Note, v.At.Format("2006-01-02T15:04:05.000Z"), doc})
	return nil
}

// versionIn reads ?version=; 0 when it is not there.
func versionIn(r *http.Request) (int, error) {
	text := r.URL.Query().Get("version")
	if text == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return 0, &fault.Fault{Code: fault.Usage, Rule: "version", Place: "version", Message: "\"" + text + "\" is no version", Hint: "versions count from 1"}
	}
	return n, nil
}

// apiSave keeps a drawing as the next version. PUT /api/plans/{id}. A drawing
// with a fault in its meaning, such as a post in a gate, is kept all the same
// and its faults are told: work is never refused for being unfinished. One that
// is not a plan at all is 422, and 409 tells the newest version when somebody
// else kept one first.
func (s *server) apiSave(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		BaseVersion int             `json:"base_version"`
		Plan        json.RawMessage `json:"plan"`
		Note        string          `json:"note"`
	}
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	if len(in.Plan) == 0 {
		return missing("plan", "a plan/1 document")
	}
	if len(in.Note) > maxNote {
		return &fault.Fault{Code: fault.Input, Rule: "note", Place: "note", Message: "the note is too long", Hint: "say it in 500 letters"}
	}
	p, err := plan.Parse("plan", in.Plan)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	if in.BaseVersion < 1 {
		return &fault.Fault{Code: fault.Usage, Rule: "base-version", Place: "base_version", Message: "the version the work began from is not said", Hint: "a new plan begins on the Ground page"}
	}
	kept, err := s.store.SavePlan(r.Context(), id, in.BaseVersion, p, in.Note, s.Now())
	if code, ok := fault.CodeOf(err); ok && code == fault.Conflict {
		newest, nerr := s.store.Plan(r.Context(), id, 0)
		if nerr != nil {
			return nerr
		}
		book.WriteJSON(w, http.StatusConflict, struct {
			Newest  int              `json:"newest"`
			Version int              `json:"version"` // the same, under the name other answers use
			Letter  string           `json:"letter"`
			Faults  []book.JSONFault `json:"faults"`
		}{newest.Version, newest.Version, newest.Letter(), book.JSONFaults(book.FaultsOf(err))})
		return nil
	}
	if err != nil {
		return err
	}
	faults, warnings, err := check(in.Plan)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, struct {
		Version  int              `json:"version"`
		Letter   string           `json:"letter"`
		At       string           `json:"at"`
		Faults   []book.JSONFault `json:"faults"`
		Warnings []book.JSONFault `json:"warnings"`
	}{kept.Version, kept.Letter(), kept.At.Format("2006-01-02T15:04:05.000Z"), faults, warnings})
	return nil
}

// maxNote is the longest note, in bytes.
const maxNote = 500

// apiNothing answers for everything else below /api/.
func (s *server) apiNothing(_ http.ResponseWriter, r *http.Request) error {
	return &fault.Fault{Code: fault.NotFound, Rule: "address", Place: r.URL.Path, Message: "nothing answers there", Hint: "see docs/api.md"}
}
