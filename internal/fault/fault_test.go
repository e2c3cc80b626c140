package fault_test

import (
	"fmt"
	"testing"

	"terret/internal/fault"
)

// A long list is cut down to what a person reads, and says how much is left out; the
// list itself stays as it is.
func TestFewer(t *testing.T) {
	var l fault.List
	for i := range 9 {
		l = append(l, &fault.Fault{Code: fault.Input, Message: fmt.Sprint("wrong ", i)})
	}
	if got := l.Fewer(9); len(got) != 9 {
		t.Errorf("%d of 9 when 9 are read", len(got))
	}
	got := l.Fewer(3)
	if len(got) != 4 || got[2] != l[2] || got[3].Message != "and 6 more" || got[3].Code != fault.Input || l[3].Message != "wrong 3" {
		t.Errorf("three of nine are\n%v\nof\n%v", got, l)
	}
}
