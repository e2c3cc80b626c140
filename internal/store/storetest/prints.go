package storetest

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/fault"
	"terret/internal/plan"
)

// prints: what was printed stays, and the last print of every paper is told.
func prints(t *testing.T, s Store, again func() Store) {
	keep(t, s, "x", 0, field("one"), noon)
	keep(t, s, "x", 1, field("two"), noon)
	keep(t, s, "y", 0, field("other"), noon)
	print := func(id string, version int, kind, of string, at time.Time) plan.Printed {
		p := plan.Printed{Plan: id, Version: version, Kind: kind, Of: of, At: at}
		if err := s.KeepPrint(t.Context(), p); err != nil {
			t.Fatal(err)
		}
		return p
	}
	print("x", 1, "stakes", "course Cones", noon)
	print("x", 1, "stakes", "course Cones", noon) // within the same millisecond: one
	drivers := print("x", 1, "cones-drivers", "course Cones", noon.Add(time.Second))
	last := print("x", 2, "stakes", "course Cones", noon.Add(time.Minute))
	other := print("y", 1, "stakes", "course Cones", noon.Add(time.Hour))
	wantCode(t, s.KeepPrint(t.Context(), plan.Printed{Plan: "x", Version: 3, Kind: "stakes", At: noon}), fault.NotFound)
	wantCode(t, s.KeepPrint(t.Context(), plan.Printed{Plan: "z", Version: 1, Kind: "stakes", At: noon}), fault.NotFound)
	for id, want := range map[string][]plan.Printed{"": {other, last, drivers}, "x": {last, drivers}, "y": {other}, "z": {}} {
		got, err := again().Prints(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got); d != "" || got == nil {
			t.Errorf("of %q:\n%s", id, d)
		}
	}
}
