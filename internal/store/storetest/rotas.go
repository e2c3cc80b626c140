package storetest

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/fault"
	"terret/internal/rota"
	"terret/internal/trial"
)

// beside is a trial for jobs to stand beside.
func beside(t *testing.T, s Store, id string) {
	t.Helper()
	if _, err := s.SaveSetting(t.Context(), id, 0, trial.Setting{Trial: &trial.Trial{Name: id}, At: noon}); err != nil {
		t.Fatal(err)
	}
}

func rotas(t *testing.T, s Store, again func() Store) {
	beside(t, s, "autumn")
	beside(t, s, "spring")
	first := rota.Saved{Trial: "autumn", Name: "Jobs", Note: "brought in from jobs.yaml", By: "JB", At: noon, Document: []byte("terret: rota/1\n# a remark, \"kept\" — Ärger\n")}
	_, err := s.Rota(t.Context(), "autumn", 0)
	wantCode(t, err, fault.NotFound)
	_, err = s.RotaVersions(t.Context(), "autumn")
	wantCode(t, err, fault.NotFound)
	_, err = s.SaveRota(t.Context(), 0, rota.Saved{Trial: "nowhere", Name: "Jobs", At: noon})
	wantCode(t, err, fault.NotFound)
	_, err = s.SaveRota(t.Context(), 0, rota.Saved{Trial: "autumn", Name: "Jobs", By: "a\x00b", At: noon})
	wantCode(t, err, fault.Input)
	a, err := s.SaveRota(t.Context(), 0, first)
	if err != nil {
		t.Fatal(err)
	}
	first.Version = 1
	if d := cmp.Diff(first, a); d != "" {
		t.Errorf("kept otherwise than given (-given +kept):\n%s", d)
	}
	_, err = s.SaveRota(t.Context(), 0, first)
	wantCode(t, err, fault.Conflict)
	second := rota.Saved{Trial: "autumn", Name: "Jobs again", Note: "Giles Moor is a timer", By: "MO", At: noon.Add(time.Hour), Document: []byte("two")}
	b, err := s.SaveRota(t.Context(), 1, second)
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.SaveRota(t.Context(), 1, first)
	wantCode(t, err, fault.Conflict)
	for _, store := range []Store{s, again()} {
		for version, want := range map[int]rota.Saved{0: b, 1: a, 2: b} {
			got, err := store.Rota(t.Context(), "autumn", version)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("version %d (-want +got):\n%s", version, d)
			}
		}
		all, err := store.RotaVersions(t.Context(), "autumn")
		if err != nil || len(all) != 2 || all[0].Note != b.Note || all[0].By != "MO" || all[1].Version != 1 || all[1].Document != nil {
			t.Errorf("versions: %+v, %v", all, err)
		}
		_, err = store.Rota(t.Context(), "autumn", 3)
		wantCode(t, err, fault.NotFound)
		_, err = store.Rota(t.Context(), "spring", 0)
		wantCode(t, err, fault.NotFound)
	}
}

func rotaRace(t *testing.T, s Store, _ func() Store) {
	beside(t, s, "autumn")
	onlyOneWins(t, func(name string) error {
		_, err := s.SaveRota(t.Context(), 0, rota.Saved{Trial: "autumn", Name: name, At: noon})
		return err
	})
	if all, err := s.RotaVersions(t.Context(), "autumn"); err != nil || len(all) != 1 {
		t.Errorf("there are %d versions, %v; want one", len(all), err)
	}
}
