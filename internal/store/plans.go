package store

import (
	"context"
	"fmt"
	"time"

	"terret/internal/plan"
)

// savedPlan is a version without its plan.
func savedPlan(v document) plan.Saved {
	return plan.Saved{ID: v.id, Version: v.version, Name: v.name, Note: v.words[0], At: v.at}
}

// Plans lists the newest version of every plan, the one kept last first, each
// with its Plan. A document that this edition cannot read has a nil Plan: one
// odd plan must not hide the others.
func (s *Store) Plans(ctx context.Context) ([]plan.Saved, error) {
	all, err := s.newest(ctx, &planDocs)
	return each(all, err, func(v document) plan.Saved {
		p := savedPlan(v)
		p.Plan, _ = decodePlan(v.id, []byte(v.text))
		return p
	})
}

// PlanVersions lists every version of one plan, newest first, without the
// plans themselves. Fault NotFound when there is none of that id.
func (s *Store) PlanVersions(ctx context.Context, id string) ([]plan.Saved, error) {
	all, err := s.versions(ctx, &planDocs, id)
	return each(all, err, savedPlan)
}

// Plan fetches one version of a plan; version 0 is the newest. Fault NotFound
// when there is none.
func (s *Store) Plan(ctx context.Context, id string, version int) (plan.Saved, error) {
	v, err := s.version(ctx, &planDocs, id, version)
	if err != nil {
		return plan.Saved{}, err
	}
	p := savedPlan(v)
	if p.Plan, err = decodePlan(id, []byte(v.text)); err != nil {
		return plan.Saved{}, fmt.Errorf("read version %d of plan %s back: %w", v.version, id, err)
	}
	return p, nil
}

// SavePlan keeps p as the version after base; base 0 begins a new plan. Fault
// Conflict, with nothing written, when base is not the newest version.
func (s *Store) SavePlan(ctx context.Context, id string, base int, p *plan.Plan, note string, at time.Time) (plan.Saved, error) {
	doc, err := encodePlan(p)
	if err != nil {
		return plan.Saved{}, err
	}
	v, err := s.keep(ctx, &planDocs, base, document{id: id, name: p.Name, at: at, words: []string{note}, text: string(doc)}, nil)
	if err != nil {
		return plan.Saved{}, err
	}
	kept := savedPlan(v)
	kept.Plan = p
	return kept, nil
}
