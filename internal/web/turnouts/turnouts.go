// Package turnouts serves the Turnouts tab: the record of what is measured, checks,
// putting to, and the trots with their prints, beat and motion.
//
// One file an action: record.go is GET /turnouts/{id}. A page is one Go struct and one
// template of the same name.
package turnouts

import (
	"context"
	"embed"
	"time"

	"terret/internal/turnout"
	"terret/internal/web/book"
)

//go:embed templates
var templates embed.FS

// Store keeps turnouts by version. History is append-only. See package store for the
// two implementations.
type Store interface {
	// Turnouts lists the newest version of every turnout by name.
	Turnouts(context.Context) ([]turnout.Saved, error)
	// Turnout fetches the newest version of one. Fault NotFound when there is none.
	Turnout(ctx context.Context, id string) (turnout.Saved, error)
	// SaveTurnout keeps doc as the version after base; base 0 begins a new turnout.
	// The caller has decoded it. Fault Conflict, with nothing written, when base is
	// not the newest.
	SaveTurnout(ctx context.Context, id string, base int, name string, doc []byte, at time.Time) (turnout.Saved, error)
}

// RecordStore keeps what was written down beside a turnout: checks, readings. It
// is append-only.
type RecordStore interface {
	// KeepRecord keeps k, once: the same id with the same document again is
	// answered with what was kept the first time. Fault Conflict when the id holds
	// something else, NotFound when there is no such turnout.
	KeepRecord(ctx context.Context, k turnout.Kept) (turnout.Kept, error)
	// Records lists what was kept of one kind beside a turnout, newest first; an
	// empty id lists that of all turnouts.
	Records(ctx context.Context, id, kind string) ([]turnout.Kept, error)
}

// server is what the handlers share.
type server struct {
	*book.Book
	store   Store
	records RecordStore
}

// Routes puts the tab into the book. Without records checks and readings are shown, and
// kept nowhere.
func Routes(b *book.Book, store Store, records RecordStore) {
	s := &server{Book: b, store: store, records: records}
	b.Templates(templates)
	b.Page("GET /turnouts", s.list)
	b.Page("GET /turnouts/{id}/file", s.file)
	b.Page("POST /turnouts/import", s.bringIn)
	s.routes()
}
