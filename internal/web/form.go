package web

import (
	"net/http"

	"terret/internal/fault"
)

// posted reads a form of at most so many bytes into r.PostForm.
func posted(w http.ResponseWriter, r *http.Request, most int64) error {
	r.Body = http.MaxBytesReader(w, r.Body, most)
	if err := r.ParseForm(); err != nil {
		return torn()
	}
	return nil
}

// torn is the fault of a form that did not come in whole.
func torn() error {
	return &fault.Fault{Code: fault.Usage, Rule: "form", Message: "the form came in torn", Hint: "load the page again"}
}
