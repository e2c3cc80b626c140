package ground

import (
	"bytes"
	"context"
	"encoding/json"

	"terret/internal/fault"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// question is what the drawing asks about: the part of a request that solve,
// follow and keepout share.
type question struct {
	Plan    json.RawMessage `json:"plan"`    // plan/1
	Hazard  string          `json:"hazard"`  // "" is the only one
	Turnout json.RawMessage `json:"turnout"` // id of a kept one, or turnout/1
	Pace    string          `json:"pace"`    // "" is the turnout's own
	Through string          `json:"through"` // "" is the last letter
	For     string          `json:"for"`     // class, "" is none named
}

// read turns the request into the planner's question.
func (q question) read(ctx context.Context, s *server, most int) (hazard.Question, error) {
	p, err := readPlan(q.Plan)
	if err != nil {
		return hazard.Question{}, err
	}
	t, err := s.readTurnout(ctx, q.Turnout)
	if err != nil {
		return hazard.Question{}, err
	}
	if t, err = t.WithPace(q.Pace); err != nil {
		return hazard.Question{}, err
	}
	return hazard.Question{Plan: p, Hazard: q.Hazard, Turnout: t, Through: q.Through, For: q.For, Most: most}, nil
}

func readPlan(doc json.RawMessage) (*plan.Plan, error) {
	if len(doc) == 0 {
		return nil, missing("plan", "a plan/1 document")
	}
	p, _, err := plan.Decode("plan", doc)
	return p, err
}

// readTurnout takes the id of a kept turnout or a whole document.
func (s *server) readTurnout(ctx context.Context, doc json.RawMessage) (*turnout.Turnout, error) {
	if len(doc) == 0 {
		return nil, missing("turnout", "the id of a kept turnout, or a turnout/1 document")
	}
	if bytes.HasPrefix(bytes.TrimSpace(doc), []byte(`"`)) {
		var id string
		if err := json.Unmarshal(doc, &id); err != nil {
			return nil, missing("turnout", "the id of a kept turnout, or a turnout/1 document")
		}
		return s.keptTurnout(ctx, id)
	}
	t, _, err := turnout.Decode("turnout", doc)
	return t, err
}

// keptTurnout fetches and decodes a turnout of the store.
func (s *server) keptTurnout(ctx context.Context, id string) (*turnout.Turnout, error) {
	v, err := s.store.Turnout(ctx, id)
	if err != nil {
		return nil, err
	}
	t, _, err := turnout.Decode(id, v.Document)
	return t, err
}

func missing(what, hint string) error {
	return &fault.Fault{Code: fault.Input, Rule: "required", Place: what, Message: "there is no " + what, Hint: "send " + hint}
}
