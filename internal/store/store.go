// Package store keeps plans, turnouts, trials and people's jobs by version, and the
// marks of a trial in the order they came, on SQLite (the default: one file in the data
// folder) or on PostgreSQL.
//
// # What it promises
//
//   - History is append-only: there is no call that changes or removes a
//     version or a mark, and no statement in this package that could.
//   - Saving is optimistic. The saver names the version the work began from;
//     when that is no longer the newest, the answer is a fault with code
//     Conflict and nothing is written. Of two savers at once, one wins.
//   - What was acknowledged survives a pulled plug: SQLite runs its
//     write-ahead log with synchronous=FULL, so a commit has reached the disk
//     before the call returns.
//   - Documents are kept as the canonical text of the file formats, so that
//     the database can be read with no program at all, and are decoded
//     strictly on the way out.
//
// # One SQL text
//
// Both databases run the same statements. The portable subset: parameters as
// $1, $2 by number; BIGINT, TEXT, DOUBLE PRECISION, BOOLEAN, BYTEA; times as
// BIGINT milliseconds UTC set by the caller; no ILIKE, ANY, now(), ::casts,
// SERIAL, JSON operators or FOR UPDATE. The contract suite in storetest runs on
// both.
package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	_ "github.com/jackc/pgx/v5/stdlib" // driver "pgx"
	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"terret/internal/fault"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Store is an open database. It is fit for use by many goroutines at once.
type Store struct {
	db *sql.DB
	// writer lets one writer in at a time, in the order they came; nil on PostgreSQL.
	// SQLite has one writer anyway, and lets those who wait try again after a nap, so
	// that one may wait for seconds while others pass.
	writer chan struct{}
}

// Open opens the store that where names and brings its tables up to date:
// a postgres:// address, or the path of an SQLite file, which is made (with its
// folder, readable by its owner alone) when it is not there.
func Open(ctx context.Context, where string) (*Store, error) {
	driver, dsn, dialect := "pgx", where, goose.DialectPostgres
	if !isPostgres(where) {
		if err := os.MkdirAll(filepath.Dir(where), 0o700); err != nil {
			return nil, fmt.Errorf("make the data folder: %w", err)
		}
		driver, dsn, dialect = "sqlite", sqliteDSN(where), goose.DialectSQLite3
	}
	db, err := sql.Open(driver, dsn)
	if err != nil {
		return nil, fmt.Errorf("open the store: %w", err)
	}
	if err := migrate(ctx, dialect, db); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	s := &Store{db: db}
	if !isPostgres(where) {
		s.writer = make(chan struct{}, 1)
	}
	return s, nil
}

// Close releases the database.
func (s *Store) Close() error { return s.db.Close() }

func isPostgres(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

// sqliteDSN puts the pragmas into the DSN, so that they hold for every
// connection of the pool.
func sqliteDSN(path string) string {
	q := strings.Join([]string{
		"_pragma=busy_timeout(5000)", // first: the ones below may have to wait
		"_pragma=journal_mode(WAL)",  // readers do not wait for the writer
		"_pragma=synchronous(FULL)",  // a commit is on the disk before it is acknowledged
		"_pragma=foreign_keys(1)",    // SQLite leaves them off
		"_txlock=immediate",          // a writer waits at BEGIN, it never fails half way
	}, "&")
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q
}

func migrate(ctx context.Context, dialect goose.Dialect, db *sql.DB) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return fmt.Errorf("read the built-in migrations: %w", err)
	}
	// Each migration makes tables of its own, so one with a lower number than the
	// newest that has run may still come.
	p, err := goose.NewProvider(dialect, db, files, goose.WithAllowOutofOrder(true))
	if err != nil {
		return fmt.Errorf("read the built-in migrations: %w", err)
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the store's tables up to date: %w", err)
	}
	return nil
}

// write runs f in one transaction: all of it is kept, or none.
func (s *Store) write(ctx context.Context, f func(*sql.Tx) error) error {
	if s.writer != nil {
		select {
		case s.writer <- struct{}{}:
			defer func() { <-s.writer }()
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// isUnique reports whether err is a broken unique or primary key, by the code
// each driver gives, never by its text.
func isUnique(err error) bool {
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return e.Code == "23505" // unique_violation, PostgreSQL appendix A
	}
	if e, ok := errors.AsType[*sqlite.Error](err); ok {
		return e.Code() == sqlite3.SQLITE_CONSTRAINT_UNIQUE || e.Code() == sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY
	}
	return false
}

// conflict is the fault of a save that began from a version that is not the
// newest.
func conflict(what, id string, base, newest int) error {
	return &fault.Fault{
		Code: fault.Conflict, Rule: "base-version", Place: what + " " + id,
		Message: fmt.Sprintf("the work began from version %d and the newest is now %d", base, newest),
		Hint:    "open the newest beside yours, then keep yours again from there",
	}
}

func notFound(what, id string, version int) error {
	f := &fault.Fault{Code: fault.NotFound, Rule: what + "-id", Place: what + " " + id, Message: "there is no " + what + " of that name here"}
	if version > 0 {
		f.Message = fmt.Sprintf("there is no version %d of this %s here", version, what)
	}
	return f
}

func millis(t time.Time) int64 { return t.UnixMilli() }

func fromMillis(ms int64) time.Time { return time.UnixMilli(ms).UTC() }
