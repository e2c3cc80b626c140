// Package storetest is the contract of a store of plans, turnouts and trials: one suite,
// run on every implementation, so that the laptop's file and the club's server
// cannot drift apart.
package storetest

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/rota"
	"terret/internal/trial"
	"terret/internal/turnout"
)

// Store is what is under contract.
type Store interface {
	trial.Store
	Plans(context.Context) ([]plan.Saved, error)
	PlanVersions(ctx context.Context, id string) ([]plan.Saved, error)
	Plan(ctx context.Context, id string, version int) (plan.Saved, error)
	SavePlan(ctx context.Context, id string, base int, p *plan.Plan, note string, at time.Time) (plan.Saved, error)
	Turnouts(context.Context) ([]turnout.Saved, error)
	Turnout(ctx context.Context, id string) (turnout.Saved, error)
	SaveTurnout(ctx context.Context, id string, base int, name string, doc []byte, at time.Time) (turnout.Saved, error)
	KeepRecord(ctx context.Context, k turnout.Kept) (turnout.Kept, error)
	Records(ctx context.Context, id, kind string) ([]turnout.Kept, error)
	KeepPrint(ctx context.Context, p plan.Printed) error
	Prints(ctx context.Context, id string) ([]plan.Printed, error)
	Rota(ctx context.Context, trial string, version int) (rota.Saved, error)
	RotaVersions(ctx context.Context, trial string) ([]rota.Saved, error)
	SaveRota(ctx context.Context, base int, v rota.Saved) (rota.Saved, error)
}

// Run runs the suite. open gives a fresh, empty store and a way to open the same
// one again; both are closed by the test that made them.
func Run(t *testing.T, open func(*testing.T) (s Store, again func() Store)) {
	suite := map[string]func(*testing.T, Store, func() Store){
		"an empty store lists nothing and is not nil":          empty,
		"a plan comes back as it was kept":                     roundTrip,
		"every version stays, newest first":                    history,
		"a save from an old version is a conflict":             stale,
		"a new plan on a taken id is a conflict":               taken,
		"an id or version that is not there is not found":      missing,
		"of many savers at once exactly one wins":              race,
		"plans are listed by their newest version, last first": listing,
		"a plan with a fault in it is kept all the same":       unfinished,
		"turnouts are kept by version with their text":         turnouts,
		"a record beside a turnout is kept once, as it was":    records,
		"many who send one record keep one":                    recordRace,
		"what was printed stays, and the last of each is told": prints,
		"the jobs of a trial are kept by version, as written":  rotas,
		"of many who change the jobs at once exactly one wins": rotaRace,
		"what was acknowledged is there after opening again":   reopened,
		"text in any script and quotes are kept to the letter": scripts,
	}
	maps.Copy(suite, trials)
	for name, f := range suite {
		t.Run(name, func(t *testing.T) {
			s, again := open(t)
			f(t, s, again)
		})
	}
}

var noon = time.Date(2026, 10, 3, 12, 0, 0, 123_000_000, time.UTC)

func field(name string) *plan.Plan {
	return &plan.Plan{
		Name:   name,
		Ground: plan.Ground{Outline: geom.Polygon{{X: 0, Y: 0}, {X: 60, Y: 0}, {X: 60, Y: 40}, {X: 0, Y: 40}}},
		Things: []plan.Thing{{ID: "p1", Kind: plan.Post, At: geom.Vec{X: 12.125, Y: 9.1}, Radius: 0.06}},
	}
}

func keep(t *testing.T, s Store, id string, base int, p *plan.Plan, at time.Time) plan.Saved {
	t.Helper()
	v, err := s.SavePlan(t.Context(), id, base, p, fmt.Sprintf("from %d", base), at)
	if err != nil {
		t.Fatalf("keep %s from version %d: %v", id, base, err)
	}
	return v
}

func wantCode(t *testing.T, err error, want fault.Code) {
	t.Helper()
	if code, ok := fault.CodeOf(err); !ok || code != want {
		t.Fatalf("got %v, want a fault with code %q", err, want)
	}
}

func empty(t *testing.T, s Store, _ func() Store) {
	plans, err := s.Plans(t.Context())
	if err != nil || plans == nil || len(plans) != 0 {
		t.Errorf("plans: %v, %v; want none and no error", plans, err)
	}
	ts, err := s.Turnouts(t.Context())
	if err != nil || ts == nil || len(ts) != 0 {
		t.Errorf("turnouts: %v, %v; want none and no error", ts, err)
	}
}

func roundTrip(t *testing.T, s Store, _ func() Store) {
	kept := keep(t, s, "lower", 0, field("Lower field"), noon)
	if kept.Version != 1 || kept.Letter() != "A" || !kept.At.Equal(noon) {
		t.Errorf("kept as version %d %s at %s; want 1 A at %s", kept.Version, kept.Letter(), kept.At, noon)
	}
	got, err := s.Plan(t.Context(), "lower", 0)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(kept, got); d != "" {
		t.Errorf("came back changed (-kept +got):\n%s", d)
	}
}

func history(t *testing.T, s Store, _ func() Store) {
	for i, name := range []string{"First", "Second", "Third"} {
		keep(t, s, "x", i, field(name), noon.Add(time.Duration(i)*time.Hour))
	}
	all, err := s.PlanVersions(t.Context(), "x")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, v := range all {
		names = append(names, fmt.Sprint(v.Letter(), " ", v.Name, " ", v.Note))
	}
	if d := cmp.Diff([]string{"C Third from 2", "B Second from 1", "A First from 0"}, names); d != "" {
		t.Error(d)
	}
	for i, want := range []string{"Third", "First", "Second", "Third"} {
		got, err := s.Plan(t.Context(), "x", i)
		if err != nil || got.Plan.Name != want {
			t.Errorf("version %d is %q, %v; want %q", i, got.Name, err, want)
		}
	}
}

func stale(t *testing.T, s Store, _ func() Store) {
	keep(t, s, "x", 0, field("one"), noon)
	keep(t, s, "x", 1, field("two"), noon)
	for _, base := range []int{0, 1, 3} {
		_, err := s.SavePlan(t.Context(), "x", base, field("late"), "", noon)
		wantCode(t, err, fault.Conflict)
	}
	if all, _ := s.PlanVersions(t.Context(), "x"); len(all) != 2 {
		t.Errorf("%d versions after refused saves, want 2", len(all))
	}
}

func taken(t *testing.T, s Store, _ func() Store) {
	keep(t, s, "x", 0, field("one"), noon)
	_, err := s.SavePlan(t.Context(), "x", 0, field("two"), "", noon)
	wantCode(t, err, fault.Conflict)
}

func missing(t *testing.T, s Store, _ func() Store) {
	keep(t, s, "x", 0, field("one"), noon)
	_, err := s.Plan(t.Context(), "y", 0)
	wantCode(t, err, fault.NotFound)
	_, err = s.Plan(t.Context(), "x", 2)
	wantCode(t, err, fault.NotFound)
	_, err = s.PlanVersions(t.Context(), "y")
	wantCode(t, err, fault.NotFound)
	_, err = s.Turnout(t.Context(), "y")
	wantCode(t, err, fault.NotFound)
}

func race(t *testing.T, s Store, _ func() Store) {
	keep(t, s, "x", 0, field("start"), noon)
	onlyOneWins(t, func(name string) error {
		_, err := s.SavePlan(t.Context(), "x", 1, field(name), "", noon)
		return err
	})
	if all, err := s.PlanVersions(t.Context(), "x"); err != nil || len(all) != 2 {
		t.Errorf("there are %d versions, %v; want 2", len(all), err)
	}
}

// onlyOneWins has many savers at once save from the same version, each under a name of
// its own: one wins, and the others are told of a conflict.
func onlyOneWins(t *testing.T, save func(name string) error) {
	t.Helper()
	const savers = 8
	errs := make([]error, savers)
	var wg sync.WaitGroup
	for i := range savers {
		wg.Go(func() { errs[i] = save(fmt.Sprint("saver ", i)) })
	}
	wg.Wait()
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
		} else {
			wantCode(t, err, fault.Conflict)
		}
	}
	if won != 1 {
		t.Errorf("%d savers won; want 1", won)
	}
}

func listing(t *testing.T, s Store, _ func() Store) {
	keep(t, s, "old", 0, field("Old"), noon)
	keep(t, s, "young", 0, field("Young"), noon.Add(time.Hour))
	keep(t, s, "old", 1, field("Old again"), noon.Add(2*time.Hour))
	all, err := s.Plans(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, v := range all {
		got = append(got, fmt.Sprint(v.ID, " ", v.Letter(), " ", v.Plan.Name))
	}
	if d := cmp.Diff([]string{"old B Old again", "young A Young"}, got); d != "" {
		t.Error(d)
	}
}

// unfinished: a post that stands in a gate breaks a rule of the plan, and is
// still work that must not be lost.
func unfinished(t *testing.T, s Store, _ func() Store) {
	p := field("Half done")
	p.Hazards = []plan.Hazard{{
		Name: "Hazard 1", MarkerRadius: 0.06,
		In:    plan.Pair{Right: geom.Vec{X: 5, Y: 18}, Left: geom.Vec{X: 5, Y: 22}},
		Out:   plan.Pair{Right: geom.Vec{X: 5, Y: 22}, Left: geom.Vec{X: 5, Y: 18}},
		Gates: []plan.Gate{{Letter: "A", Pair: plan.Pair{Right: geom.Vec{X: 12.125, Y: 7}, Left: geom.Vec{X: 12.125, Y: 11}}}},
	}}
	keep(t, s, "x", 0, p, noon)
	got, err := s.Plan(t.Context(), "x", 0)
	if err != nil || len(got.Plan.Hazards) != 1 {
		t.Errorf("came back as %+v, %v", got.Plan, err)
	}
}

func turnouts(t *testing.T, s Store, _ func() Store) {
	doc := []byte("terret: turnout/1\nname: Bay cob\n# a remark\n")
	if _, err := s.SaveTurnout(t.Context(), "cob", 0, "Bay cob", doc, noon); err != nil {
		t.Fatal(err)
	}
	_, err := s.SaveTurnout(t.Context(), "cob", 0, "Other", doc, noon)
	wantCode(t, err, fault.Conflict)
	kept, err := s.SaveTurnout(t.Context(), "cob", 1, "Bay cob, two-wheel", doc, noon.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Turnout(t.Context(), "cob")
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(kept, got); d != "" {
		t.Error(d)
	}
	if _, err := s.SaveTurnout(t.Context(), "ace", 0, "Ace", doc, noon); err != nil {
		t.Fatal(err)
	}
	all, err := s.Turnouts(t.Context())
	if err != nil || len(all) != 2 || all[0].ID != "ace" || all[1].Version != 2 || string(all[1].Document) != string(doc) {
		t.Errorf("listed %+v, %v; want ace, then the cob's second version", all, err)
	}
}

func reopened(t *testing.T, s Store, again func() Store) {
	keep(t, s, "x", 0, field("one"), noon)
	got, err := again().Plan(t.Context(), "x", 1)
	if err != nil || got.Plan.Name != "one" {
		t.Errorf("after opening again: %q, %v", got.Name, err)
	}
}

func scripts(t *testing.T, s Store, _ func() Store) {
	name := `Hölle "quoted" 'and' — Ärger \ 馬車 🐴`
	keep(t, s, "x", 0, field(name), noon)
	got, err := s.Plan(t.Context(), "x", 0)
	if err != nil {
		t.Fatal(err)
	}
	if got.Name != name || got.Plan.Name != name {
		t.Errorf("kept %q, came back %q and %q", name, got.Name, got.Plan.Name)
	}
	if _, err := s.Plan(t.Context(), "x'; DROP TABLE plan_versions; --", 0); !errors.As(err, new(*fault.Fault)) {
		t.Errorf("an odd id gave %v, want a fault", err)
	}
}
