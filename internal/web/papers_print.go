package web

import (
	"net/http"

	"terret/internal/fault"
)

// print draws one sheet.
func (s *server) print(_ http.ResponseWriter, _ *http.Request, k sheetKind, _ string) error {
	return &fault.Fault{Code: fault.NotFound, Rule: "sheet", Place: k.Name, Message: "this paper cannot be drawn by this edition yet", Hint: "print the drawing page itself meanwhile"}
}
