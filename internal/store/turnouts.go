package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"terret/internal/turnout"
)

// Turnouts lists the newest version of every turnout by name.
func (s *Store) Turnouts(ctx context.Context) ([]turnout.Saved, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT v.turnout_id, v.version, v.name, v.saved_ms, v.document
		FROM turnout_versions v
		WHERE v.version = (SELECT MAX(w.version) FROM turnout_versions w WHERE w.turnout_id = v.turnout_id)
		ORDER BY v.name, v.turnout_id`)
	if err != nil {
		return nil, fmt.Errorf("list the turnouts: %w", err)
	}
	return collect(rows, func(v *turnout.Saved) error {
		var ms int64
		var doc string
		err := rows.Scan(&v.ID, &v.Version, &v.Name, &ms, &doc)
		v.At, v.Document = fromMillis(ms), []byte(doc)
		return err
	})
}

// Turnout fetches the newest version of one turnout. Fault NotFound when there
// is none.
func (s *Store) Turnout(ctx context.Context, id string) (turnout.Saved, error) {
	var v turnout.Saved
	var ms int64
	var doc string
	err := s.db.QueryRowContext(ctx, `
		SELECT turnout_id, version, name, saved_ms, document
		FROM turnout_versions WHERE turnout_id = $1
		ORDER BY version DESC LIMIT 1`, id).Scan(&v.ID, &v.Version, &v.Name, &ms, &doc)
	if errors.Is(err, sql.ErrNoRows) {
		return turnout.Saved{}, notFound("turnout", id, 0)
	}
	if err != nil {
		return turnout.Saved{}, fmt.Errorf("fetch the turnout: %w", err)
	}
	v.At, v.Document = fromMillis(ms), []byte(doc)
	return v, nil
}

// SaveTurnout keeps doc as the version after base; base 0 begins a new turnout.
// The caller has decoded doc and vouches for it. Fault Conflict, with nothing
// written, when base is not the newest version.
func (s *Store) SaveTurnout(ctx context.Context, id string, base int, name string, doc []byte, at time.Time) (turnout.Saved, error) {
	var newest int
	err := s.write(ctx, func(tx *sql.Tx) error {
		const ask = `SELECT COALESCE(MAX(version), 0) FROM turnout_versions WHERE turnout_id = $1`
		if err := tx.QueryRowContext(ctx, ask, id).Scan(&newest); err != nil {
			return err
		}
		if newest != base {
			return conflict("turnout", id, base, newest)
		}
		_, err := tx.ExecContext(ctx, `
			INSERT INTO turnout_versions (turnout_id, version, name, document, saved_ms)
			VALUES ($1, $2, $3, $4, $5)`, id, base+1, name, string(doc), millis(at))
		return err
	})
	if isUnique(err) {
		return turnout.Saved{}, conflict("turnout", id, base, base+1)
	}
	if err != nil {
		return turnout.Saved{}, fmt.Errorf("keep the turnout: %w", err)
	}
	return turnout.Saved{ID: id, Version: base + 1, Name: name, At: fromMillis(millis(at)), Document: doc}, nil
}
