package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/trial"
)

// The domain says what a store of trials is.
var _ trial.Store = (*Store)(nil)

// setting is a version without its trial.
func setting(v document) trial.Setting {
	return trial.Setting{ID: v.id, Version: v.version, Name: v.name, Note: v.words[0], By: v.words[1], Overlay: v.words[2], At: v.at}
}

// Trials lists the newest setting of every trial, the one kept last first. A
// setting that this edition cannot read has a nil Trial.
func (s *Store) Trials(ctx context.Context) ([]trial.Setting, error) {
	all, err := s.newest(ctx, &trialDocs)
	return each(all, err, func(v document) trial.Setting {
		t := setting(v)
		t.Trial, _ = trial.Parse(v.id, []byte(v.text))
		return t
	})
}

// Settings lists every version of one trial's setting, newest first, without the
// trials themselves. Fault NotFound when there is none of that id.
func (s *Store) Settings(ctx context.Context, id string) ([]trial.Setting, error) {
	all, err := s.versions(ctx, &trialDocs, id)
	return each(all, err, setting)
}

// Setting fetches one version of a trial's setting; 0 is the newest. Fault
// NotFound when there is none.
func (s *Store) Setting(ctx context.Context, id string, version int) (trial.Setting, error) {
	v, err := s.version(ctx, &trialDocs, id, version)
	if err != nil {
		return trial.Setting{}, err
	}
	t := setting(v)
	if t.Trial, err = trial.Parse(id, []byte(v.text)); err != nil {
		return trial.Setting{}, fmt.Errorf("read version %d of trial %s back: %w", v.version, id, err)
	}
	return t, nil
}

// SaveSetting keeps a setting as the version after base; base 0 begins a new
// trial. Fault Conflict, with nothing written, when base is not the newest version.
func (s *Store) SaveSetting(ctx context.Context, id string, base int, v trial.Setting) (trial.Setting, error) {
	if err := trialID(id); err != nil {
		return trial.Setting{}, err
	}
	if v.Trial == nil || len(v.Trial.Sheets) > 0 {
		return trial.Setting{}, fmt.Errorf("keep trial %s: a setting is a trial without sheets; those go into the ledger", id)
	}
	for _, words := range []string{v.Note, v.By, v.Overlay} {
		if err := text("trial "+id, words); err != nil {
			return trial.Setting{}, err
		}
	}
	doc, err := trial.Encode(v.Trial)
	if err != nil {
		return trial.Setting{}, err
	}
	// What is kept must come back: a text that the reader refuses is refused here,
	// while somebody can still do something about it.
	t, err := trial.Parse(id, doc)
	if err != nil {
		return trial.Setting{}, err
	}
	kept, err := s.keep(ctx, &trialDocs, base, document{id: id, name: t.Name, at: v.At, words: []string{v.Note, v.By, v.Overlay}, text: string(doc)}, nil)
	if err != nil {
		return trial.Setting{}, err
	}
	v = setting(kept)
	v.Trial = t
	return v, nil
}

// text says whether words can be kept as they are.
func text(place, words string) error {
	if !utf8.ValidString(words) || strings.ContainsRune(words, 0) {
		return &fault.Fault{Code: fault.Input, Rule: "text", Place: place, Message: "a text holds bytes that are no text", Hint: "UTF-8 is taken, without NUL"}
	}
	return nil
}

// trialID says whether a text can be the id of a trial.
func trialID(id string) error {
	if id == "" || len(id) > 100 || !utf8.ValidString(id) || strings.ContainsFunc(id, unicode.IsControl) {
		return &fault.Fault{Code: fault.Input, Rule: "trial-id", Place: "trial", Message: "the trial has no id that can be used", Hint: "at most 100 bytes of text"}
	}
	return nil
}

// attempts is how often a batch of marks is tried when another writer took the
// next number meanwhile. One of those at work always gets on, so this is more than
// there will ever be devices.
const attempts = 1000

// Append keeps marks in the order given; see trial.Store.
func (s *Store) Append(ctx context.Context, id string, marks []trial.Mark, came time.Time) ([]trial.Receipt, error) {
	for range attempts {
		var receipts []trial.Receipt
		err := s.write(ctx, func(tx *sql.Tx) (err error) {
			receipts, err = appendMarks(ctx, tx, id, marks, millis(came))
			return err
		})
		if isUnique(err) { // somebody else appended between our look and our insert
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("keep the marks: %w", err)
		}
		return receipts, nil
	}
	return nil, fmt.Errorf("keep the marks: %d other writers were quicker", attempts)
}

// appendMarks appends inside a transaction.
func appendMarks(ctx context.Context, tx *sql.Tx, id string, marks []trial.Mark, came int64) ([]trial.Receipt, error) {
	if _, err := newest(ctx, tx, id); err != nil {
		return nil, err
	}
	var last int64
	if err := tx.QueryRowContext(ctx, `SELECT COALESCE(MAX(seq), 0) FROM trial_marks WHERE trial_id = $1`, id).Scan(&last); err != nil {
		return nil, err
	}
	keep, err := tx.PrepareContext(ctx, `INSERT INTO trial_marks (trial_id, seq, mark_id, came_ms, line) VALUES ($1, $2, $3, $4, $5)`)
	if err != nil {
		return nil, err
	}
	defer keep.Close()

	seqs := map[string]int64{} // of the marks that were looked at
	here := map[string]*trial.Mark{}
	find := func(mark string) (*trial.Mark, error) {
		if m := here[mark]; m != nil {
			return m, nil
		}
		var seq int64
		var line string
		err := tx.QueryRowContext(ctx, `SELECT seq, line FROM trial_marks WHERE trial_id = $1 AND mark_id = $2`, id, mark).Scan(&seq, &line)
		if errors.Is(err, sql.ErrNoRows) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		m, err := trial.ReadMark([]byte(line))
		if err != nil {
			return nil, fmt.Errorf("read mark %d of trial %s back: %w", seq, id, err)
		}
		here[mark], seqs[mark] = &m, seq
		return &m, nil
	}
	receipts := make([]trial.Receipt, len(marks))
	for i := range marks {
		m := &marks[i]
		twice, err := m.Check(find)
		if f := (*fault.Fault)(nil); errors.As(err, &f) {
			receipts[i] = trial.Receipt{ID: m.ID, Fault: f}
			continue
		}
		if err != nil {
			return nil, err
		}
		if !twice {
			line, err := m.Line()
			if err != nil {
				return nil, err
			}
			last++
			if _, err := keep.ExecContext(ctx, id, last, m.ID, came, string(line)); err != nil {
				return nil, err
			}
			here[m.ID], seqs[m.ID] = m, last
		}
		receipts[i] = trial.Receipt{ID: m.ID, Seq: seqs[m.ID], Twice: twice}
	}
	return receipts, nil
}

// asker is a database or a transaction.
type asker interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Version is the number of a trial's newest version. Fault NotFound.
func (s *Store) Version(ctx context.Context, id string) (int, error) { return newest(ctx, s.db, id) }

// newest is the number of a trial's newest version. Fault NotFound.
func newest(ctx context.Context, a asker, id string) (int, error) {
	var version int
	if err := a.QueryRowContext(ctx, `SELECT COALESCE(MAX(version), 0) FROM trial_settings WHERE trial_id = $1`, id).Scan(&version); err != nil {
		return 0, fmt.Errorf("find the newest version of a trial: %w", err)
	}
	if version == 0 {
		return 0, notFound("trial", id, 0)
	}
	return version, nil
}

// Marks lists the marks behind after, in order, at most most of them; 0 takes all.
// Fault NotFound when there is no such trial.
func (s *Store) Marks(ctx context.Context, id string, after int64, most int) ([]trial.Kept, error) {
	limit := int64(most)
	if most <= 0 {
		limit = math.MaxInt64
	}
	rows, err := s.db.QueryContext(ctx, `
		SELECT seq, came_ms, line FROM trial_marks
		WHERE trial_id = $1 AND seq > $2 ORDER BY seq LIMIT $3`, id, after, limit)
	if err != nil {
		return nil, fmt.Errorf("list the marks: %w", err)
	}
	all, err := collect(rows, func(k *trial.Kept) error {
		var ms int64
		var line string
		if err := rows.Scan(&k.Seq, &ms, &line); err != nil {
			return err
		}
		k.Came = fromMillis(ms)
		var err error
		if k.Mark, err = trial.ReadMark([]byte(line)); err != nil {
			return fmt.Errorf("mark %d of trial %s: %w", k.Seq, id, err)
		}
		return nil
	})
	if err == nil && len(all) == 0 {
		_, err = newest(ctx, s.db, id)
	}
	if err != nil {
		return nil, err
	}
	return all, nil
}
