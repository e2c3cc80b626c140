package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"terret/internal/plan"
)

// Plans lists the newest version of every plan, the one kept last first, each
// with its Plan. A document that this edition cannot read has a nil Plan: one
// odd plan must not hide the others.
func (s *Store) Plans(ctx context.Context) ([]plan.Saved, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT v.plan_id, v.version, v.name, v.note, v.saved_ms, v.document
		FROM plan_versions v
		WHERE v.version = (SELECT MAX(w.version) FROM plan_versions w WHERE w.plan_id = v.plan_id)
		ORDER BY v.saved_ms DESC, v.plan_id`)
	if err != nil {
		return nil, fmt.Errorf("list the plans: %w", err)
	}
	return collect(rows, func(v *plan.Saved) error {
		var ms int64
		var doc string
		if err := rows.Scan(&v.ID, &v.Version, &v.Name, &v.Note, &ms, &doc); err != nil {
			return err
		}
		v.At = fromMillis(ms)
		v.Plan, _ = decodePlan(v.ID, []byte(doc))
		return nil
	})
}

// PlanVersions lists every version of one plan, newest first, without the
// plans themselves. Fault NotFound when there is none of that id.
func (s *Store) PlanVersions(ctx context.Context, id string) ([]plan.Saved, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT plan_id, version, name, note, saved_ms
		FROM plan_versions WHERE plan_id = $1 ORDER BY version DESC`, id)
	if err != nil {
		return nil, fmt.Errorf("list the versions: %w", err)
	}
	all, err := collect(rows, func(v *plan.Saved) error {
		var ms int64
		err := rows.Scan(&v.ID, &v.Version, &v.Name, &v.Note, &ms)
		v.At = fromMillis(ms)
		return err
	})
	if err == nil && len(all) == 0 {
		return nil, notFound("plan", id, 0)
	}
	return all, err
}

// Plan fetches one version of a plan; version 0 is the newest. Fault NotFound
// when there is none.
func (s *Store) Plan(ctx context.Context, id string, version int) (plan.Saved, error) {
	var v plan.Saved
	var ms int64
	var doc string
	err := s.db.QueryRowContext(ctx, `
		SELECT plan_id, version, name, note, saved_ms, document
		FROM plan_versions WHERE plan_id = $1 AND (version = $2 OR $2 = 0)
		ORDER BY version DESC LIMIT 1`, id, version).
		Scan(&v.ID, &v.Version, &v.Name, &v.Note, &ms, &doc)
	if errors.Is(err, sql.ErrNoRows) {
		return plan.Saved{}, notFound("plan", id, version)
	}
	if err != nil {
		return plan.Saved{}, fmt.Errorf("fetch the plan: %w", err)
	}
	v.At = fromMillis(ms)
	if v.Plan, err = decodePlan(id, []byte(doc)); err != nil {
		return plan.Saved{}, fmt.Errorf("read version %d of plan %s back: %w", v.Version, id, err)
	}
	return v, nil
}

// SavePlan keeps p as the version after base; base 0 begins a new plan. Fault
// Conflict, with nothing written, when base is not the newest version.
func (s *Store) SavePlan(ctx context.Context, id string, base int, p *plan.Plan, note string, at time.Time) (plan.Saved, error) {
	doc, err := encodePlan(p)
	if err != nil {
		return plan.Saved{}, err
	}
	var newest int
	err = s.write(ctx, func(tx *sql.Tx) error {
		const ask = `SELECT COALESCE(MAX(version), 0) FROM plan_versions WHERE plan_id = $1`
		if err := tx.QueryRowContext(ctx, ask, id).Scan(&newest); err != nil {
			return err
		}
		if newest != base {
			return conflict("plan", id, base, newest)
		}
		_, err := tx.ExecContext(ctx, `
			INSERT INTO plan_versions (plan_id, version, name, note, document, saved_ms)
			VALUES ($1, $2, $3, $4, $5, $6)`, id, base+1, p.Name, note, string(doc), millis(at))
		return err
	})
	if isUnique(err) { // another saver was between our look and our insert
		return plan.Saved{}, conflict("plan", id, base, base+1)
	}
	if err != nil {
		return plan.Saved{}, fmt.Errorf("keep the plan: %w", err)
	}
	return plan.Saved{ID: id, Version: base + 1, Name: p.Name, Note: note, At: fromMillis(millis(at)), Plan: p}, nil
}

// collect reads all rows with scan and closes them.
func collect[T any](rows *sql.Rows, scan func(*T) error) ([]T, error) {
	defer rows.Close()
	all := []T{}
	for rows.Next() {
		var one T
		if err := scan(&one); err != nil {
			return nil, fmt.Errorf("read a row: %w", err)
		}
		all = append(all, one)
	}
	return all, rows.Err()
}
