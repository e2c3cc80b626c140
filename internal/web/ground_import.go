package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"

	"terret/internal/fault"
	"terret/internal/plan"
)

// groundImport is POST /ground/import: a plan/1 file becomes a new plan. It is
// decoded strictly; a file with faults is shown with each fault's place, and
// nothing is written.
func (s *server) groundImport(w http.ResponseWriter, r *http.Request) error {
	name, data, err := upload(w, r)
	if err != nil {
		return err
	}
	p, _, err := plan.Decode(name, data)
	if l := faultsOf(err); l != nil {
		return s.render(w, statusOf(err), "new", newPage{Frame: s.frame("ground", "A new plan"), Width: "60", Height: "40", File: name, Faults: l})
	}
	if err != nil {
		return err
	}
	return s.begin(w, r, p, "from the file "+name)
}

// upload reads the one file of a form.
func upload(w http.ResponseWriter, r *http.Request) (name string, data []byte, err error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxBody)
	tooLarge := &fault.Fault{Code: fault.TooLarge, Rule: "size", Place: "file", Message: "the file is over 4 MB", Hint: "a plan or turnout is a few kilobytes of text; was another file chosen?"}
	f, h, err := r.FormFile("file")
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return "", nil, tooLarge
	}
	if err != nil {
		return "", nil, &fault.Fault{Code: fault.Usage, Rule: "file", Place: "file", Message: "no file was chosen", Hint: "choose a .yaml or .json file first"}
	}
	defer f.Close()
	data, err = io.ReadAll(f)
	if err != nil {
		return "", nil, fmt.Errorf("read the file sent: %w", err)
	}
	return h.Filename, data, nil
}
