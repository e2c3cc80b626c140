package strict

import (
	"strings"
	"testing"
)

// Problems become faults and warnings with their place, in the file's order.
func TestJudge(t *testing.T) {
	text := []byte("a: 1\nb:\n  c: 2\n  d: 3\n")
	d, err := Parse("f.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	odd := Problem{Rule: "odd", Path: "b.c", Message: "2 is odd", Hint: "3 is usual", Warning: true}
	warnings, err := d.Judge([]Problem{odd})
	if err != nil || len(warnings) != 1 || warnings[0].String() != "f.yaml:3: b.c: 2 is odd; 3 is usual" || warnings[0].Rule != "odd" {
		t.Errorf("a warning alone: %v, %v", warnings, err)
	}
	_, err = d.Judge([]Problem{{Rule: "late", Path: "b.d", Message: "too late"}, odd, {Rule: "early", Path: "a", Message: "too early"}})
	if err == nil {
		t.Fatal("no fault")
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != 2 || !strings.HasPrefix(lines[0], "f.yaml:1: a: too early") || !strings.HasPrefix(lines[1], "f.yaml:4: b.d: too late") {
		t.Errorf("%q", lines)
	}
}
