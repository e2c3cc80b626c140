package trial_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

func encode(t testing.TB, a *trial.Answer) string {
	t.Helper()
	b, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// ledgerOf writes a trial's sheets into a ledger, as they would have come.
func ledgerOf(t testing.TB, tr *trial.Trial) *trial.Ledger {
	t.Helper()
	l := &trial.Ledger{}
	for i := range tr.Sheets {
		s := tr.Sheets[i]
		if err := l.Append(trial.Mark{ID: fmt.Sprintf("m%d", i), At: int64(i + 1), By: "scribe", Device: "desk", Sheet: &s}); err != nil {
			t.Fatal(err)
		}
	}
	return l
}

func answer(t testing.TB, l *trial.Ledger, tr *trial.Trial, p *rules.Profile) string {
	t.Helper()
	a, err := trial.Score(l.Trial(tr), p)
	if err != nil {
		t.Fatal(err)
	}
	return encode(t, a)
}

// Recomputed from the ledger, written out and read again, the answer is the same
// byte for byte; and it is the answer of the sheets themselves.
func TestRecomputeFromLedger(t *testing.T) {
	p := profile(t, "three-phase")
	tr := randomTrial(rand.New(rand.NewPCG(5, 1)), 40)
	l := ledgerOf(t, tr)
	direct, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	first := answer(t, l, tr, p)
	if diff := cmp.Diff(encode(t, direct), first); diff != "" {
		t.Fatalf("not what the sheets give:\n%s", diff)
	}
	data, err := l.Encode()
	if err != nil {
		t.Fatal(err)
	}
	again, err := trial.DecodeLedger("marks", data)
	if err != nil {
		t.Fatal(err)
	}
	if answer(t, again, tr, p) != first {
		t.Fatal("read again, it is another answer")
	}
	if same, _ := again.Encode(); string(same) != string(data) {
		t.Fatal("written again, it is another ledger")
	}
}

// A correction, its undo, the undo of that: the ledger only grows, and the board
// goes back and forth. A board that follows mark by mark agrees with one made
// anew at every step.
func TestCorrectionAndUndo(t *testing.T) {
	p := profile(t, "three-phase")
	tr := randomTrial(rand.New(rand.NewPCG(6, 1)), 20)
	tr.Entries[3].Status = trial.HorsConcours // as the list of entries has it
	l := ledgerOf(t, tr)
	board, err := l.Board(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	add := func(m trial.Mark) string {
		t.Helper()
		known := l.Len()
		m.At, m.By, m.Device = int64(1000+known), "second reader", "tablet"
		if err := l.Append(m); err != nil {
			t.Fatal(err)
		}
		if err := board.Follow(l, known); err != nil {
			t.Fatal(err)
		}
		now := answer(t, l, tr, p)
		if got := encode(t, board.Answer()); got != now {
			t.Fatalf("after %s the board that follows and the one made anew differ:\n%s", m.ID, cmp.Diff(now, got))
		}
		if l.Len() != known+1 {
			t.Fatal("the ledger did not grow by one")
		}
		return now
	}
	start := answer(t, l, tr, p)
	old := l.Marks()[8].Sheet // a cones sheet of entry 1
	if old.Phase != rules.Cones {
		t.Fatalf("mark 8 is of %s", old.Phase)
	}
	better := *old
	better.Seconds, better.Knocked = "150.00", nil
	corrected := add(trial.Mark{ID: "c1", Sheet: &better, Replaces: "m8", Why: "read 6 for 0"})
	if corrected == start {
		t.Fatal("the correction changed nothing")
	}
	if undone := add(trial.Mark{ID: "u1", Undoes: "c1"}); undone != start {
		t.Fatal("a correction and its undo do not restore the board")
	}
	if redone := add(trial.Mark{ID: "u2", Undoes: "u1"}); redone != corrected {
		t.Fatal("the undo of the undo does not bring the correction back")
	}
	// Statuses go the same way.
	retired := add(trial.Mark{ID: "s1", Status: &trial.Status{Entry: 2, Status: trial.Retired, InPhase: rules.Cones}})
	if retired == corrected {
		t.Fatal("retiring changed nothing")
	}
	if back := add(trial.Mark{ID: "u3", Undoes: "s1"}); back != corrected {
		t.Fatal("the undone status still counts")
	}
	add(trial.Mark{ID: "s2", Status: &trial.Status{Entry: 4, Status: trial.Placed}})
	if back := add(trial.Mark{ID: "u5", Undoes: "s2"}); back != corrected {
		t.Fatal("undone, the status of the list does not stand again")
	}
	// A sheet that belongs to nobody is undone: it is missing again.
	if gone := add(trial.Mark{ID: "u4", Undoes: "m17"}); !strings.Contains(gone, `"missing":[{"phase":"cones","entry":2`) {
		t.Fatal("an undone sheet is not missed")
	}
	if chain := l.Chain("c1"); len(chain) != 2 || chain[1].ID != "m8" {
		t.Errorf("the chain is %v", chain)
	}
}

// Two devices out of touch correct one sheet: both are kept, the run is named,
// and somebody decides.
func TestDispute(t *testing.T) {
	l := &trial.Ledger{}
	mark := func(id, replaces, seconds string) trial.Mark {
		return trial.Mark{ID: id, At: 1, By: "x", Device: "y", Replaces: replaces, Sheet: &trial.Sheet{Phase: "cones", Entry: 7, Course: "C1", Seconds: seconds}}
	}
	for _, m := range []trial.Mark{mark("a", "", "90"), mark("b", "a", "91"), mark("c", "a", "92")} {
		if err := l.Append(m); err != nil {
			t.Fatal(err)
		}
	}
	const run = "cones:7:C1"
	if d := l.Disputes(); fmt.Sprint(d) != "map[cones:7:C1:[b c]]" || l.Counting(run).ID != "b" {
		t.Errorf("disputes %v, %s counts", d, l.Counting(run).ID)
	}
	if err := l.Append(trial.Mark{ID: "u", At: 2, By: "judge", Device: "desk", Undoes: "b"}); err != nil {
		t.Fatal(err)
	}
	if len(l.Disputes()) != 0 || l.Counting(run).Sheet.Seconds != "92" {
		t.Errorf("still %v, %s", l.Disputes(), l.Counting(run).Sheet.Seconds)
	}
	// Sent again, it is taken as read; another of the same ID is not.
	if err := l.Append(mark("a", "", "90")); err != nil || l.Len() != 4 {
		t.Errorf("sent again: %v, %d marks", err, l.Len())
	}
	for name, m := range map[string]trial.Mark{
		"another of the ID":     mark("a", "", "99"),
		"of what is not there":  mark("d", "zz", "90"),
		"of nobody":             {ID: "d", At: 1, Device: "y", Undoes: "a"},
		"without a time":        {ID: "d", By: "x", Device: "y", Undoes: "a"},
		"nothing":               {ID: "d", At: 1, By: "x", Device: "y"},
		"two things":            {ID: "d", At: 1, By: "x", Device: "y", Undoes: "a", Status: &trial.Status{Entry: 7, Status: trial.Retired}},
		"a status for a sheet":  {ID: "d", At: 1, By: "x", Device: "y", Replaces: "a", Status: &trial.Status{Entry: 7, Status: trial.Retired}},
		"a status there is not": {ID: "d", At: 1, By: "x", Device: "y", Status: &trial.Status{Entry: 7, Status: "tired"}},
		"without an ID":         mark("", "", "90"),
	} {
		err := l.Append(m)
		if _, ok := fault.CodeOf(err); !ok || l.Len() != 4 {
			t.Errorf("%s: %v, %d marks", name, err, l.Len())
		}
	}
	// What was handed in or out cannot change the ledger.
	marks := l.Marks()
	marks[0].ID = "changed"
	l.Counting(run).Sheet.Seconds = "1"
	if l.Counting(run).Sheet.Seconds != "92" || l.Marks()[0].ID != "a" {
		t.Error("the ledger was changed from outside")
	}
}

// Properties that hold whatever is driven.
func TestProperties(t *testing.T) {
	p := profile(t, "three-phase")
	totals := func(t *rapid.T, tr *trial.Trial) map[int]trial.EntryScore {
		a, err := trial.Score(tr, p)
		if err != nil {
			t.Fatal(err)
		}
		m := map[int]trial.EntryScore{}
		for _, e := range a.Entries {
			m[e.Number] = e
		}
		return m
	}
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		tr := randomTrial(r, 6)
		before := totals(t, tr)

		// The order of sheets and of entries changes nothing.
		mixed := *tr
		mixed.Sheets = append([]trial.Sheet{}, tr.Sheets...)
		mixed.Entries = append([]trial.Entry{}, tr.Entries...)
		r.Shuffle(len(mixed.Sheets), func(i, j int) { mixed.Sheets[i], mixed.Sheets[j] = mixed.Sheets[j], mixed.Sheets[i] })
		r.Shuffle(len(mixed.Entries), func(i, j int) { mixed.Entries[i], mixed.Entries[j] = mixed.Entries[j], mixed.Entries[i] })
		if diff := cmp.Diff(before, totals(t, &mixed)); diff != "" {
			t.Fatalf("another order, another score:\n%s", diff)
		}

		// One fault more never improves a place, nor lowers a total, nor moves
		// anybody else back.
		i := r.IntN(len(tr.Sheets))
		worse := *tr
		worse.Sheets = append([]trial.Sheet{}, tr.Sheets...)
		s := worse.Sheets[i]
		s.Faults = map[string]int{}
		for k, n := range tr.Sheets[i].Faults {
			s.Faults[k] = n
		}
		name := map[string][]string{
			rules.Dressage: {"course_error", "whip", "groom_down"}, rules.Hazards: {"dislodged", "groom_down", "overturn"}, rules.Cones: {"refusal", "not_seated", "rebuilt"},
		}[s.Phase]
		s.Faults[name[r.IntN(len(name))]]++
		worse.Sheets[i] = s
		after := totals(t, &worse)
		for n, e := range after {
			b := before[n]
			switch {
			case n == s.Entry && b.Place == nil && e.Place != nil:
				t.Fatalf("a fault more gave %d a place", n)
			case n == s.Entry && b.Place != nil && e.Place != nil && *e.Place < *b.Place:
				t.Fatalf("a fault more brought %d from %d to %d", n, *b.Place, *e.Place)
			case n != s.Entry && b.Place != nil && *e.Place > *b.Place:
				t.Fatalf("a fault of %d brought %d back from %d to %d", s.Entry, n, *b.Place, *e.Place)
			case n != s.Entry && text(b.Total) != text(e.Total):
				t.Fatalf("a fault of %d changed the total of %d", s.Entry, n)
			}
		}
	})
}

func FuzzLedger(f *testing.F) {
	l := ledgerOf(f, randomTrial(rand.New(rand.NewPCG(1, 1)), 2))
	data, err := l.Encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{"id":"a","at_ms":1,"by":"x","device":"y","status":{"entry":7,"status":"retired"}}` + "\n" + `{"id":"b","at_ms":2,"by":"x","device":"y","undoes":"a"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := trial.DecodeLedger("f", data)
		if err != nil {
			if _, ok := fault.CodeOf(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		out, err := l.Encode()
		if err != nil {
			t.Fatal(err)
		}
		again, err := trial.DecodeLedger("f", out)
		if err != nil {
			t.Fatalf("what was written is not read: %v", err)
		}
		if diff := cmp.Diff(l.Marks(), again.Marks()); diff != "" {
			t.Fatal(diff)
		}
		l.Disputes()
	})
}
