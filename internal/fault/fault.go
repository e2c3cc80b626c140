// Package fault is the one error that is meant for a person's eyes.
//
// A Fault says what is wrong, where, and what would be right, in a teacher's
// plain words. Everything else that goes wrong inside Terret is an ordinary Go
// error and counts as "something broke". One place maps a Fault to a command's
// exit status (package main) and one to an HTTP status (package web); nobody
// recognises a fault by its text.
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// Code says what kind of trouble a Fault is, for the places that map it to an
// exit status or an HTTP status.
type Code string

const (
	// Input is wrong content: a file, a value, an argument. Exit 2, HTTP 422.
	Input Code = "input"
	// Usage is a wrong call: an unknown option, a missing name. Exit 2, HTTP 400.
	Usage Code = "usage"
	// NotFound is a name that nothing answers to. Exit 2, HTTP 404.
	NotFound Code = "not found"
	// Conflict is a change made to something that has moved on. Exit 1, HTTP 409.
	Conflict Code = "conflict"
	// TooLarge is more than Terret takes. Exit 2, HTTP 413.
	TooLarge Code = "too large"
)

// Fault is an error a person can act on. Rule and Place are stable enough to
// test for; Message and Hint are prose.
type Fault struct {
	Code    Code
	Rule    string // stable name of the rule that was broken, such as "gate-width"
	Place   string // where: "field.yaml:12: hazards[0].gates[1].right", "gate B"
	Message string // what is wrong, with the value found
	Hint    string // what would be right
}

// Error gives place, message and hint on one line.
func (f *Fault) Error() string {
	var b strings.Builder
	if f.Place != "" {
		b.WriteString(f.Place)
		b.WriteString(": ")
	}
	b.WriteString(f.Message)
	if f.Hint != "" {
		b.WriteString("; ")
		b.WriteString(f.Hint)
	}
	return b.String()
}

// List is several faults found in one reading, in the order of the document.
type List []*Fault

// Error gives one fault a line.
func (l List) Error() string {
	lines := make([]string, len(l))
	for i, f := range l {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find the faults in the list.
func (l List) Unwrap() []error {
	errs := make([]error, len(l))
	for i, f := range l {
		errs[i] = f
	}
	return errs
}

// Err is nil for an empty list, so that a reader can end with `return l.Err()`.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Fewer is the list as long as a person reads it: the first most of them, and how many
// more there are.
func (l List) Fewer(most int) List {
	if len(l) <= most {
		return l
	}
	return append(l[:most:most], &Fault{Code: l[0].Code, Rule: "more", Message: fmt.Sprintf("and %d more", len(l)-most)})
}

// CodeOf finds the code of the first Fault in err's tree; ok is false when err
// holds none.
func CodeOf(err error) (code Code, ok bool) {
	var f *Fault
	if errors.As(err, &f) {
		return f.Code, true
	}
	return "", false
}
