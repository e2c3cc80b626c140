package ground

import (
	"encoding/json"
	"net/http"

	"terret/internal/plan"
	"terret/internal/web/book"
)

// apiCheck says what is wrong or odd in a plan. POST /api/check. It answers 200
// with the faults, for asking about them is not itself a mistake.
func (s *server) apiCheck(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Plan json.RawMessage `json:"plan"`
	}
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	if len(in.Plan) == 0 {
		return missing("plan", "a plan/1 document")
	}
	faults, warnings, err := check(in.Plan)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, struct {
		Faults   []book.JSONFault `json:"faults"`
		Warnings []book.JSONFault `json:"warnings"`
	}{faults, warnings})
	return nil
}

// check decodes a plan and gathers what the reading says. The error is for what
// is no fault of the plan.
func check(doc []byte) (faults, warnings []book.JSONFault, err error) {
	_, odd, err := plan.Decode("plan", doc)
	faults, warnings = []book.JSONFault{}, []book.JSONFault{}
	for _, w := range odd {
		warnings = append(warnings, book.JSONFault{Rule: w.Rule, Place: w.Place, Message: w.Message, Hint: w.Hint})
	}
	if err != nil {
		l := book.FaultsOf(err)
		if l == nil {
			return nil, nil, err
		}
		faults = book.JSONFaults(l)
	}
	return faults, warnings, nil
}
