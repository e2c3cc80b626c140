package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// documents is a table that keeps documents of one kind by version: versions of one id
// count up from 1 and are never changed or taken away.
type documents struct {
	what  string   // as faults name it: "plan"
	table string   //
	id    string   // column of the id
	words []string // columns of text kept beside a version: why, by whom, …
	first string   // what a list of them is ordered by, before the id
}

// The kinds that are kept.
var (
	planDocs    = documents{"plan", "plan_versions", "plan_id", []string{"note"}, "saved_ms DESC"}
	turnoutDocs = documents{"turnout", "turnout_versions", "turnout_id", nil, "name"}
	trialDocs   = documents{"trial", "trial_settings", "trial_id", []string{"note", "kept_by", "overlay"}, "saved_ms DESC"}
	rotaDocs    = documents{"rota", "rota_versions", "trial_id", []string{"note", "kept_by"}, "saved_ms DESC"}
)

// document is one version.
type document struct {
	id      string
	version int
	name    string
	at      time.Time // UTC to the millisecond
	words   []string  // of documents.words
	text    string    // "" in a list of versions
}

// columns are what scan reads, without the text.
func (d *documents) columns() string {
	return strings.Join(slices.Concat([]string{"v." + d.id, "v.version", "v.name", "v.saved_ms"}, d.words), ", ")
}

// scan reads a row of columns, and the text behind them where it is asked for.
func (d *documents) scan(row interface{ Scan(...any) error }, v *document, whole bool) error {
	var ms int64
	v.words = make([]string, len(d.words))
	to := []any{&v.id, &v.version, &v.name, &ms}
	for i := range v.words {
		to = append(to, &v.words[i])
	}
	if whole {
		to = append(to, &v.text)
	}
	err := row.Scan(to...)
	v.at = fromMillis(ms)
	return err
}

// newest lists the newest version of every document of a kind.
func (s *Store) newest(ctx context.Context, d *documents) ([]document, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT `+d.columns()+`, v.document
		FROM `+d.table+` v
		WHERE v.version = (SELECT MAX(w.version) FROM `+d.table+` w WHERE w.`+d.id+` = v.`+d.id+`)
		ORDER BY v.`+d.first+`, v.`+d.id)
	if err != nil {
		return nil, fmt.Errorf("list the %ss: %w", d.what, err)
	}
	return collect(rows, func(v *document) error { return d.scan(rows, v, true) })
}

// versions lists every version of one document, newest first, without the texts. Fault
// NotFound when there is none.
func (s *Store) versions(ctx context.Context, d *documents, id string) ([]document, error) {
	rows, err := s.db.QueryContext(ctx, `
		SELECT `+d.columns()+`
		FROM `+d.table+` v WHERE v.`+d.id+` = $1 ORDER BY v.version DESC`, id)
	if err != nil {
		return nil, fmt.Errorf("list the versions of the %s: %w", d.what, err)
	}
	all, err := collect(rows, func(v *document) error { return d.scan(rows, v, false) })
	if err == nil && len(all) == 0 {
		return nil, notFound(d.what, id, 0)
	}
	return all, err
}

// version fetches one version of a document; 0 is the newest. Fault NotFound when there
// is none.
func (s *Store) version(ctx context.Context, d *documents, id string, version int) (document, error) {
	var v document
	err := d.scan(s.db.QueryRowContext(ctx, `
		SELECT `+d.columns()+`, v.document
		FROM `+d.table+` v WHERE v.`+d.id+` = $1 AND (v.version = $2 OR $2 = 0)
		ORDER BY v.version DESC LIMIT 1`, id, version), &v, true)
	if errors.Is(err, sql.ErrNoRows) {
		return document{}, notFound(d.what, id, version)
	}
	if err != nil {
		return document{}, fmt.Errorf("fetch the %s: %w", d.what, err)
	}
	return v, nil
}

// keep keeps v as the version after base; base 0 begins a new document. ask may refuse
// it inside the same transaction; nil asks nothing. Fault Conflict, with nothing
// written, when base is not the newest version.
func (s *Store) keep(ctx context.Context, d *documents, base int, v document, ask func(*sql.Tx) error) (document, error) {
	columns := slices.Concat([]string{d.id, "version", "name", "saved_ms", "document"}, d.words)
	marks := make([]string, len(columns))
	for i := range marks {
		marks[i] = fmt.Sprint("$", i+1)
	}
	values := []any{v.id, base + 1, v.name, millis(v.at), v.text}
	for _, w := range v.words {
		values = append(values, w)
	}
	var newest int
	err := s.write(ctx, func(tx *sql.Tx) error {
		if ask != nil {
			if err := ask(tx); err != nil {
				return err
			}
		}
		if err := tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(version), 0) FROM `+d.table+` WHERE `+d.id+` = $1`, v.id).Scan(&newest); err != nil {
			return err
		}
		if newest != base {
			return conflict(d.what, v.id, base, newest)
		}
		_, err := tx.ExecContext(ctx, `
			INSERT INTO `+d.table+` (`+strings.Join(columns, ", ")+`)
			VALUES (`+strings.Join(marks, ", ")+`)`, values...)
		return err
	})
	if isUnique(err) { // another saver was between our look and our insert
		return document{}, conflict(d.what, v.id, base, base+1)
	}
	if err != nil {
		return document{}, fmt.Errorf("keep the %s: %w", d.what, err)
	}
	v.version, v.at = base+1, fromMillis(millis(v.at))
	return v, nil
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

// each makes one thing of every document.
func each[T any](all []document, err error, of func(document) T) ([]T, error) {
	if err != nil {
		return nil, err
	}
	made := make([]T, 0, len(all))
	for _, v := range all {
		made = append(made, of(v))
	}
	return made, nil
}
