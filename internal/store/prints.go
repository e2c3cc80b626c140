package store

import (
	"context"
	"database/sql"
	"fmt"

	"terret/internal/plan"
)

// KeepPrint adds p to what was printed. The same paper printed twice within a
// millisecond is one. Fault NotFound when there is no such version.
func (s *Store) KeepPrint(ctx context.Context, p plan.Printed) error {
	err := s.write(ctx, func(tx *sql.Tx) error {
		var n int
		if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM plan_versions WHERE plan_id = $1 AND version = $2`, p.Plan, p.Version).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return notFound("plan", p.Plan, p.Version)
		}
		_, err := tx.ExecContext(ctx, `
			INSERT INTO plan_prints (plan_id, kind, subject, printed_ms, version)
			VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT DO NOTHING`, p.Plan, p.Kind, p.Of, millis(p.At), p.Version)
		return err
	})
	if err != nil {
		return fmt.Errorf("note what was printed: %w", err)
	}
	return nil
}

// Prints lists the last print of every paper of a plan, the newest first; an empty
// id lists those of all plans.
func (s *Store) Prints(ctx context.Context, id string) ([]plan.Printed, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT p.plan_id, p.kind, p.subject, p.printed_ms, MAX(p.version)
		FROM plan_prints p
		WHERE ($1 = '' OR p.plan_id = $1) AND p.printed_ms = (
			SELECT MAX(q.printed_ms) FROM plan_prints q
			WHERE q.plan_id = p.plan_id AND q.kind = p.kind AND q.subject = p.subject)
		GROUP BY p.plan_id, p.kind, p.subject, p.printed_ms
		ORDER BY p.printed_ms DESC, p.plan_id, p.kind, p.subject`, id)
	if err != nil {
		return nil, fmt.Errorf("list what was printed: %w", err)
	}
	return collect(rows, func(p *plan.Printed) error {
		var ms int64
		err := rows.Scan(&p.Plan, &p.Kind, &p.Of, &ms, &p.Version)
		p.At = fromMillis(ms)
		return err
	})
}
