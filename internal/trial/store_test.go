package trial_test

import (
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"terret/internal/fault"
	"terret/internal/trial"
)

// TestRefused: every refused mark is named, in order, and none where all are kept.
func TestRefused(t *testing.T) {
	if err := trial.Refused(nil); err != nil {
		t.Errorf("no receipts: %v", err)
	}
	// A List of nothing in an error would not be nil.
	if err := trial.Refused([]trial.Receipt{{ID: "a", Seq: 1}, {ID: "b", Seq: 1, Twice: true}}); err != nil {
		t.Errorf("all are kept: %v", err)
	}
	first, second := &fault.Fault{Code: fault.Input, Rule: "mark-id"}, &fault.Fault{Code: fault.Conflict, Rule: "mark-by"}
	err := trial.Refused([]trial.Receipt{{ID: "a", Fault: first}, {ID: "b", Seq: 1}, {ID: "c", Fault: second}})
	var all fault.List
	if !errors.As(err, &all) {
		t.Fatalf("%v is no list of faults", err)
	}
	if d := cmp.Diff(fault.List{first, second}, all); d != "" {
		t.Error(d)
	}
}
