package store

import "terret/internal/plan"

// encodePlan gives the text that is kept: the canonical file.
func encodePlan(p *plan.Plan) ([]byte, error) { return plan.Encode(p) }

// decodePlan reads the shape of kept text as strictly as any file. The rules about
// its meaning are not asked: a drawing that is still being made (a post in a
// gate) must come back as it was kept.
func decodePlan(id string, doc []byte) (*plan.Plan, error) {
	return plan.Parse(id, doc)
}
