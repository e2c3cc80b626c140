package turnout

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"terret/internal/fault"
)

// Kinds of what is kept beside a turnout.
const (
	KeptCheck  = "check"  // a card that was gone through: a Record
	KeptTrot   = "trot"   // a strip of prints with what it said
	KeptVitals = "vitals" // pulse and breathing at a halt
)

// Kept is one thing that was written down beside a turnout, as it was: it is
// never changed. Taking it again makes another.
type Kept struct {
	ID       string // made where it was begun, so that sending it twice keeps it once
	Turnout  string // id of the turnout
	Version  int    // of the turnout's record it was made from
	Kind     string
	At       time.Time // when it was kept, UTC, to the millisecond
	Document []byte    // JSON, by its kind
}

// EncodeRecord writes a check as the JSON that is kept.
func EncodeRecord(r *Record) ([]byte, error) { return json.Marshal(r) }

// DecodeRecord reads a kept check. The error is a fault when it is none.
func DecodeRecord(name string, data []byte) (*Record, error) {
	r := &Record{}
	if err := DecodeKept(name, data, r); err != nil {
		return nil, err
	}
	return r, nil
}

// DecodeKept reads a kept JSON document strictly into v: one document, no unknown
// key. The error is a fault when it is none.
func DecodeKept(name string, data []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	if err == nil {
		if _, err = d.Token(); err == io.EOF {
			return nil
		}
		err = fmt.Errorf("something follows the document")
	}
	return &fault.Fault{Code: fault.Input, Rule: "kept", Place: name, Message: "what was kept cannot be read: " + err.Error(), Hint: "was it written by a later edition?"}
}
