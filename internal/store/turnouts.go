package store

import (
	"context"
	"time"

	"terret/internal/turnout"
)

func savedTurnout(v document) turnout.Saved {
	return turnout.Saved{ID: v.id, Version: v.version, Name: v.name, At: v.at, Document: []byte(v.text)}
}

// Turnouts lists the newest version of every turnout by name.
func (s *Store) Turnouts(ctx context.Context) ([]turnout.Saved, error) {
	all, err := s.newest(ctx, &turnoutDocs)
	return each(all, err, savedTurnout)
}

// Turnout fetches the newest version of one turnout. Fault NotFound when there
// is none.
func (s *Store) Turnout(ctx context.Context, id string) (turnout.Saved, error) {
	v, err := s.version(ctx, &turnoutDocs, id, 0)
	if err != nil {
		return turnout.Saved{}, err
	}
	return savedTurnout(v), nil
}

// SaveTurnout keeps doc as the version after base; base 0 begins a new turnout.
// The caller has decoded doc and vouches for it. Fault Conflict, with nothing
// written, when base is not the newest version.
func (s *Store) SaveTurnout(ctx context.Context, id string, base int, name string, doc []byte, at time.Time) (turnout.Saved, error) {
	v, err := s.keep(ctx, &turnoutDocs, base, document{id: id, name: name, at: at, text: string(doc)}, nil)
	if err != nil {
		return turnout.Saved{}, err
	}
	return savedTurnout(v), nil
}
