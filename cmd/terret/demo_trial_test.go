package main

import (
	"path/filepath"
	"testing"
	"time"

	"terret/examples/demo"
	"terret/internal/store"
	"terret/internal/trial"
)

// The demo's trial is kept once, whole, and scores from what is kept.
func TestDemoTrialIsKept(t *testing.T) {
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	for range 2 { // the second time there is nothing to do
		if err := demo.Keep(t.Context(), st, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	d, err := readKept(t.Context(), st, demo.TrialID)
	if err != nil {
		t.Fatal(err)
	}
	if d.setting.Version != 1 {
		t.Errorf("it was kept %d times", d.setting.Version)
	}
	a, err := trial.Score(d.trial, d.profile)
	if err != nil {
		t.Fatal(err)
	}
	placed := 0
	for _, e := range a.Entries {
		if e.Place != nil {
			placed++
		}
	}
	if len(a.Entries) != 12 || placed != 8 || len(a.Missing) != 2 {
		t.Errorf("%d entries, %d placed, missing %v; want 12, 8 and two sheets", len(a.Entries), placed, a.Missing)
	}
}
