package web

import (
	"encoding/json"
	"net/http"

	"terret/internal/plan"
)

// apiCheck says what is wrong or odd in a plan. POST /api/check. It answers 200
// with the faults, for asking about them is not itself a mistake.
func (s *server) apiCheck(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Plan json.RawMessage `json:"plan"`
	}
	if err := readJSON(w, r, &in); err != nil {
		return err
	}
	if len(in.Plan) == 0 {
		return missing("plan", "a plan/1 document")
	}
	faults, warnings, err := check(in.Plan)
	if err != nil {
		return err
	}
	writeJSON(w, http.StatusOK, struct {
		Faults   []jsonFault `json:"faults"`
		Warnings []jsonFault `json:"warnings"`
	}{faults, warnings})
	return nil
}

// check decodes a plan and gathers what the reading says. The error is for what
// is no fault of the plan.
func check(doc []byte) (faults, warnings []jsonFault, err error) {
	_, odd, err := plan.Decode("plan", doc)
	faults, warnings = []jsonFault{}, []jsonFault{}
	for _, w := range odd {
		warnings = append(warnings, jsonFault{w.Rule, w.Place, w.Message, w.Hint})
	}
	if err != nil {
		l := faultsOf(err)
		if l == nil {
			return nil, nil, err
		}
		faults = jsonFaults(l)
	}
	return faults, warnings, nil
}
