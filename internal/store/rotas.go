package store

import (
	"context"
	"database/sql"
	"errors"

	"terret/internal/rota"
)

func savedRota(v document) rota.Saved {
	return rota.Saved{Trial: v.id, Version: v.version, Name: v.name, Note: v.words[0], By: v.words[1], At: v.at, Document: []byte(v.text)}
}

// Rota fetches one version of the jobs kept beside a trial; version 0 is the newest.
// Fault NotFound when there is none.
func (s *Store) Rota(ctx context.Context, trial string, version int) (rota.Saved, error) {
	v, err := s.version(ctx, &rotaDocs, trial, version)
	if err != nil {
		return rota.Saved{}, err
	}
	return savedRota(v), nil
}

// RotaVersions lists every version of a trial's jobs, newest first, without the
// documents. Fault NotFound when there is none.
func (s *Store) RotaVersions(ctx context.Context, trial string) ([]rota.Saved, error) {
	all, err := s.versions(ctx, &rotaDocs, trial)
	return each(all, err, func(v document) rota.Saved {
		r := savedRota(v)
		r.Document = nil
		return r
	})
}

// SaveRota keeps v as the version of its trial's jobs after base; base 0 begins them.
// The caller has decoded the document and vouches for it. Fault NotFound when there is
// no such trial, Conflict, with nothing written, when base is not the newest version.
func (s *Store) SaveRota(ctx context.Context, base int, v rota.Saved) (rota.Saved, error) {
	if err := errors.Join(text("rota "+v.Trial, v.Note), text("rota "+v.Trial, v.By)); err != nil {
		return rota.Saved{}, err
	}
	kept, err := s.keep(ctx, &rotaDocs, base, document{id: v.Trial, name: v.Name, at: v.At, words: []string{v.Note, v.By}, text: string(v.Document)}, func(tx *sql.Tx) error {
		_, err := newest(ctx, tx, v.Trial)
		return err
	})
	if err != nil {
		return rota.Saved{}, err
	}
	return savedRota(kept), nil
}
