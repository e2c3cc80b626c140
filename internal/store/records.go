package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"terret/internal/fault"
	"terret/internal/turnout"
)

// KeepRecord keeps k beside its turnout, once: the same id with the same document
// again is answered with what was kept the first time. Fault Conflict, with
// nothing written, when the id holds something else; NotFound when there is no
// such turnout.
func (s *Store) KeepRecord(ctx context.Context, k turnout.Kept) (turnout.Kept, error) {
	var first *turnout.Kept
	err := s.write(ctx, func(tx *sql.Tx) error {
		var n int
		if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM turnout_versions WHERE turnout_id = $1`, k.Turnout).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return notFound("turnout", k.Turnout, 0)
		}
		old, err := scanRecord(tx.QueryRowContext(ctx, `SELECT `+recordColumns+` FROM turnout_records WHERE record_id = $1`, k.ID))
		if err == nil {
			first = &old
			return nil
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		_, err = tx.ExecContext(ctx, `
			INSERT INTO turnout_records (`+recordColumns+`)
			VALUES ($1, $2, $3, $4, $5, $6)`, k.ID, k.Turnout, k.Version, k.Kind, millis(k.At), string(k.Document))
		return err
	})
	if isUnique(err) { // another was quicker by a hair: what stands there decides
		return s.KeepRecord(ctx, k)
	}
	if err != nil {
		return turnout.Kept{}, fmt.Errorf("keep the record: %w", err)
	}
	if first != nil {
		if first.Turnout != k.Turnout || first.Kind != k.Kind || !bytes.Equal(first.Document, k.Document) {
			return turnout.Kept{}, &fault.Fault{Code: fault.Conflict, Rule: "record-id", Place: k.Kind + " " + k.ID, Message: "this was kept already, and reads otherwise", Hint: "open a new one; the first stays as it is"}
		}
		return *first, nil
	}
	k.At = fromMillis(millis(k.At))
	return k, nil
}

// Records lists what was kept of one kind beside a turnout, newest first; an
// empty id lists that of all turnouts.
func (s *Store) Records(ctx context.Context, id, kind string) ([]turnout.Kept, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT `+recordColumns+` FROM turnout_records
		WHERE kind = $1 AND ($2 = '' OR turnout_id = $2)
		ORDER BY kept_ms DESC, record_id`, kind, id)
	if err != nil {
		return nil, fmt.Errorf("list the records: %w", err)
	}
	return collect(rows, func(k *turnout.Kept) error {
		var err error
		*k, err = scanRecord(rows)
		return err
	})
}

const recordColumns = `record_id, turnout_id, version, kind, kept_ms, document`

func scanRecord(row interface{ Scan(...any) error }) (turnout.Kept, error) {
	var k turnout.Kept
	var ms int64
	var doc string
	err := row.Scan(&k.ID, &k.Turnout, &k.Version, &k.Kind, &ms, &doc)
	k.At, k.Document = fromMillis(ms), []byte(doc)
	return k, err
}
