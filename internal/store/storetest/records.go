package storetest

import (
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/fault"
	"terret/internal/turnout"
)

func records(t *testing.T, s Store, again func() Store) {
	if _, err := s.SaveTurnout(t.Context(), "cob", 0, "Bay cob", []byte("terret: turnout/1\n"), noon); err != nil {
		t.Fatal(err)
	}
	if _, err := s.SaveTurnout(t.Context(), "ace", 0, "Ace", []byte("terret: turnout/1\n"), noon); err != nil {
		t.Fatal(err)
	}
	first := turnout.Kept{ID: "r1", Turnout: "cob", Version: 1, Kind: turnout.KeptCheck, At: noon.Add(700 * time.Microsecond), Document: []byte(`{"checker":"Ärger \"M.\""}`)}
	kept, err := s.KeepRecord(t.Context(), first)
	if err != nil {
		t.Fatal(err)
	}
	first.At = noon // to the millisecond
	if d := cmp.Diff(first, kept); d != "" {
		t.Errorf("kept otherwise than given (-given +kept):\n%s", d)
	}
	// Sent again, by a phone that had no answer: kept once, with its first time.
	twice := first
	twice.At = noon.Add(time.Minute)
	kept, err = s.KeepRecord(t.Context(), twice)
	if err != nil || !kept.At.Equal(noon) {
		t.Errorf("sent twice: %+v, %v; want the first", kept, err)
	}
	other := first
	other.Document = []byte(`{"checker":"somebody else"}`)
	_, err = s.KeepRecord(t.Context(), other)
	wantCode(t, err, fault.Conflict)
	_, err = s.KeepRecord(t.Context(), turnout.Kept{ID: "r9", Turnout: "nobody", Version: 1, Kind: turnout.KeptCheck, At: noon, Document: []byte("{}")})
	wantCode(t, err, fault.NotFound)

	for _, k := range []turnout.Kept{
		{ID: "r2", Turnout: "cob", Version: 1, Kind: turnout.KeptCheck, At: noon.Add(time.Hour), Document: []byte("{}")},
		{ID: "r3", Turnout: "cob", Version: 1, Kind: turnout.KeptVitals, At: noon, Document: []byte("{}")},
		{ID: "r4", Turnout: "ace", Version: 1, Kind: turnout.KeptCheck, At: noon.Add(2 * time.Hour), Document: []byte("{}")},
	} {
		if _, err := s.KeepRecord(t.Context(), k); err != nil {
			t.Fatal(err)
		}
	}
	for _, store := range []Store{s, again()} {
		for _, row := range []struct {
			id, kind string
			want     []string
		}{{"cob", turnout.KeptCheck, []string{"r2", "r1"}}, {"cob", turnout.KeptVitals, []string{"r3"}}, {"", turnout.KeptCheck, []string{"r4", "r2", "r1"}}, {"nobody", turnout.KeptCheck, []string{}}} {
			all, err := store.Records(t.Context(), row.id, row.kind)
			if err != nil || all == nil {
				t.Fatalf("%v, %v; want a list", all, err)
			}
			got := []string{}
			for _, k := range all {
				got = append(got, k.ID)
			}
			if d := cmp.Diff(row.want, got); d != "" {
				t.Errorf("%q of %q (-want +got):\n%s", row.kind, row.id, d)
			}
		}
	}
}

func recordRace(t *testing.T, s Store, _ func() Store) {
	if _, err := s.SaveTurnout(t.Context(), "cob", 0, "Bay cob", []byte("terret: turnout/1\n"), noon); err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if _, err := s.KeepRecord(t.Context(), turnout.Kept{ID: "one", Turnout: "cob", Version: 1, Kind: turnout.KeptCheck, At: noon, Document: []byte("{}")}); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if got, err := s.Records(t.Context(), "cob", turnout.KeptCheck); err != nil || len(got) != 1 {
		t.Errorf("%d kept, %v; want one", len(got), err)
	}
}
