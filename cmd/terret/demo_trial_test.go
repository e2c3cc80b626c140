package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
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

// A sheet that was kept and cannot be right is named, and neither spoils the file of
// the trial nor what is taken in afterwards.
func TestKeptNonsenseSpoilsNothing(t *testing.T) {
	data := t.TempDir()
	st, err := store.Open(t.Context(), filepath.Join(data, "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Keep(t.Context(), st, time.Now()); err != nil {
		t.Fatal(err)
	}
	nonsense := trial.Mark{ID: "phone-1", At: 1, By: "Fay", Device: "phone", Sheet: &trial.Sheet{Phase: "cones", Entry: 3, Course: "Cones P", Seconds: "198,4"}}
	if _, err := st.Append(t.Context(), demo.TrialID, []trial.Mark{nonsense}, time.Now()); err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(data, "day.yaml")
	var stdout, stderr bytes.Buffer
	if status := run([]string{"trial", "export", demo.TrialID, "--data", data, "--out", out}, &stdout, &stderr); status != 0 || !strings.Contains(stderr.String(), `phone-1`) || !strings.Contains(stderr.String(), `the time is "198,4"`) {
		t.Fatalf("status %d, said %s", status, &stderr)
	}
	if _, _, err := trial.Load(out); err != nil {
		t.Errorf("the file written cannot be read: %v", err)
	}
	table := filepath.Join(data, "late.csv")
	if err := os.WriteFile(table, []byte("entry,course,seconds,knocked\n3,Cones P,198.40,\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	stderr.Reset()
	if status := run([]string{"trial", "import", table, "--data", data, "--into", demo.TrialID, "--by", "Una"}, &stdout, &stderr); status != 0 {
		t.Fatalf("status %d, said %s", status, &stderr)
	}
	// The right one counts now, and the nonsense is still there to be seen.
	if st, err = store.Open(t.Context(), filepath.Join(data, "terret.db")); err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	d, err := readKept(t.Context(), st, demo.TrialID)
	if err != nil {
		t.Fatal(err)
	}
	if m := d.ledger.Counting(nonsense.Sheet.Run()); len(d.wrong) != 0 || m == nil || m.Sheet.Seconds != "198.40" || m.Replaces != nonsense.ID {
		t.Errorf("wrong are %v, for the run counts %+v", d.wrong, m)
	}
}
