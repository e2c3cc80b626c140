package web

import (
	"net/http"

	"terret/internal/gait"
)

// ownPrints is the newest kept reading of a turnout's prints that has a diagonal;
// nil when there is none.
func (s *server) ownPrints(_ *http.Request, _ string) (*gait.Trot, error) { return nil, nil }
