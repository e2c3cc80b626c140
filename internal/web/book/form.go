package book

import (
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"strconv"
	"strings"

	"terret/internal/fault"
)

// Posted reads a form of at most so many bytes into r.PostForm.
func Posted(w http.ResponseWriter, r *http.Request, most int64) error {
	r.Body = http.MaxBytesReader(w, r.Body, most)
	if err := r.ParseForm(); err != nil {
		return Torn()
	}
	return nil
}

// Torn is the fault of a form that did not come in whole.
func Torn() error {
	return &fault.Fault{Code: fault.Usage, Rule: "form", Message: "the form came in torn", Hint: "load the page again"}
}

// Choice is one of a list to choose from.
type Choice struct {
	Value, Label string
	On           bool
}

// Upload reads the one file of a form.
func Upload(w http.ResponseWriter, r *http.Request) (name string, data []byte, err error) {
	r.Body = http.MaxBytesReader(w, r.Body, MaxBody)
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

// DecimalOf reads a number with a decimal comma or point.
func DecimalOf(text string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// NumberText reads a whole number from 1 to 99999, as an entry has; ok is false when
// the text is none.
func NumberText(s string) (int, bool) {
	n := 0
	if s == "" || len(s) > 5 {
		return 0, false
	}
	for _, c := range s {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = 10*n + int(c-'0')
	}
	return n, n > 0
}
