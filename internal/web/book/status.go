package book

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"terret/internal/fault"
)

// StatusOf is the one place that gives a fault its HTTP status. 0 is for an
// error that is no fault: something broke.
func StatusOf(err error) int {
	code, ok := fault.CodeOf(err)
	if !ok {
		return 0
	}
	switch code {
	case fault.Usage:
		return http.StatusBadRequest
	case fault.NotFound:
		return http.StatusNotFound
	case fault.Conflict:
		return http.StatusConflict
	case fault.TooLarge:
		return http.StatusRequestEntityTooLarge
	default:
		return http.StatusUnprocessableEntity
	}
}

// FaultsOf lists the faults in err; none when it is not one.
func FaultsOf(err error) fault.List {
	if l, ok := errors.AsType[fault.List](err); ok {
		return l
	}
	if f, ok := errors.AsType[*fault.Fault](err); ok {
		return fault.List{f}
	}
	return nil
}

// page serves f; its error becomes a page with the same frame as every other.
func (b *Book) page(f func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		err := f(w, r)
		if err == nil || r.Context().Err() != nil {
			return
		}
		v := faultPage{Frame: b.Frame("", "Not this time"), Faults: FaultsOf(err)}
		status := StatusOf(err)
		switch status {
		case 0:
			b.Log.Error("a page broke", "path", r.URL.Path, "why", err)
			status, v.Faults = http.StatusInternalServerError, brokeList()
		case http.StatusNotFound:
			v.Title = "Not here"
		case http.StatusConflict:
			v.Title = "It has moved on"
		}
		b.Render(w, status, "fault", v)
	})
}

// faultPage says what was wrong and where.
type faultPage struct {
	Frame
	Faults fault.List
}

// api serves f; its error becomes JSON.
func (b *Book) api(f func(http.ResponseWriter, *http.Request) error) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		err := f(w, r)
		if err == nil {
			return
		}
		if r.Context().Err() != nil || errors.Is(err, context.Canceled) {
			return // nobody is waiting
		}
		if status := StatusOf(err); status != 0 {
			writeFaults(w, status, FaultsOf(err))
			return
		}
		b.Log.Error("an answer broke", "path", r.URL.Path, "why", err)
		writeFaults(w, http.StatusInternalServerError, brokeList())
	})
}

// JSONFault is a fault, or a warning, as the API writes it.
type JSONFault struct {
	Rule    string `json:"rule"`
	Place   string `json:"place"`
	Message string `json:"message"`
	Hint    string `json:"hint"`
}

// JSONFaults are faults as the API writes them.
func JSONFaults(l fault.List) []JSONFault {
	out := make([]JSONFault, len(l))
	for i, f := range l {
		out[i] = JSONFault{f.Rule, f.Place, f.Message, f.Hint}
	}
	return out
}

func writeFaults(w http.ResponseWriter, status int, l fault.List) {
	WriteJSON(w, status, struct {
		Faults []JSONFault `json:"faults"`
	}{JSONFaults(l)})
}

// WriteJSON answers with v as JSON.
func WriteJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	// The only errors left are a browser that went away, and nobody can be told.
	_ = json.NewEncoder(w).Encode(v)
}

// maxBody is the largest request taken: a plan of the largest size with a
// turnout beside it.
const MaxBody = 6 << 20

// ReadJSON reads the request's JSON strictly into v. Documents inside it are
// json.RawMessage and are decoded by their own packages.
func ReadJSON(w http.ResponseWriter, r *http.Request, v any) error {
	if t := r.Header.Get("Content-Type"); !strings.HasPrefix(t, "application/json") {
		return &fault.Fault{Code: fault.Usage, Rule: "content-type", Message: fmt.Sprintf("the request is %q", t), Hint: "send application/json"}
	}
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, MaxBody))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	if err == nil {
		if _, err = d.Token(); errors.Is(err, io.EOF) {
			return nil
		}
		err = errors.New("there is more text after the document")
	}
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return &fault.Fault{Code: fault.TooLarge, Rule: "size", Message: "the request is over 6 MB", Hint: "a plan is at most 4 MB"}
	}
	return &fault.Fault{Code: fault.Usage, Rule: "request", Message: "the request cannot be read: " + strings.TrimPrefix(err.Error(), "json: "), Hint: "see docs/api.md for its shape"}
}

// Handler answers a request, or says what is wrong.
type Handler = func(http.ResponseWriter, *http.Request) error
