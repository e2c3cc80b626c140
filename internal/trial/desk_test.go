package trial_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

func twoClasses() *trial.Trial {
	return &trial.Trial{
		Name:    "A day",
		Classes: []trial.Class{{ID: "N", Through: "C", Phases: []string{rules.Hazards}}, {ID: "P", Through: "B", Phases: []string{rules.Hazards}}},
		Entries: []trial.Entry{{Number: 7, Class: "N"}, {Number: 8, Class: "N"}, {Number: 9, Class: "P"}},
		Courses: []trial.Course{{ID: "H1", Phase: rules.Hazards}},
	}
}

func sheet(id string, entry int, seconds string) trial.Mark {
	return trial.Mark{ID: id, At: 1000, By: "Una", Device: "desk", Sheet: &trial.Sheet{Phase: rules.Hazards, Entry: entry, Course: "H1", Gates: "A B C", Seconds: seconds}}
}

func put(t *testing.T, l *trial.Ledger, m trial.Mark) {
	t.Helper()
	if err := l.Append(m); err != nil {
		t.Fatal(err)
	}
}

func refuse(t *testing.T, l *trial.Ledger, m trial.Mark, rule string) {
	t.Helper()
	before := l.Len()
	err := l.Append(m)
	var f *fault.Fault
	if !errors.As(err, &f) || f.Rule != rule || l.Len() != before {
		t.Errorf("mark %s: %v and %d marks; want a fault of %s and %d marks", m.ID, err, l.Len(), rule, before)
	}
}

func by(id, who string, at int64) trial.Mark {
	return trial.Mark{ID: id, At: at, By: who, Device: "desk"}
}

// A second reader is somebody else, and a correction wants a tick of its own.
func TestTicks(t *testing.T) {
	l := &trial.Ledger{}
	put(t, l, sheet("s1", 7, "41.37"))
	own := by("t0", "Una", 1100)
	own.Tick = &trial.Tick{Sheet: "s1"}
	refuse(t, l, own, "mark-tick")
	tick := by("t1", "Rob", 1100)
	tick.Tick = &trial.Tick{Sheet: "s1"}
	put(t, l, tick)
	odd := by("t2", "Rob", 1100)
	odd.Tick = &trial.Tick{Sheet: "t1"}
	refuse(t, l, odd, "mark-reference")
	if all := l.Ticks("s1"); len(all) != 1 || all[0].By != "Rob" {
		t.Errorf("ticks of s1: %+v", all)
	}
	right := sheet("s2", 7, "47.31")
	right.Replaces = "s1"
	put(t, l, right)
	if all := l.Ticks("s2"); len(all) != 0 {
		t.Errorf("the correction is ticked already: %+v", all)
	}
	undo := by("u", "Rob", 1200)
	undo.Undoes = "t1"
	put(t, l, undo)
	if all := l.Ticks("s1"); len(all) != 0 {
		t.Errorf("an undone tick counts: %+v", all)
	}
}

// The clock of the queries: posted provisionally, queried, corrected, replied to,
// posted as final.
func TestPostingAndQuery(t *testing.T) {
	l, tr := &trial.Ledger{}, twoClasses()
	put(t, l, sheet("s1", 7, "41.37"))
	put(t, l, sheet("s2", 8, "44.10"))
	if s := l.Stands(tr, "N", 2000); s.State != "" {
		t.Errorf("nothing is posted and it stands %+v", s)
	}
	up := by("p1", "Una", 2000)
	up.Posting = &trial.Posting{Class: "N", State: trial.Provisional, Until: 2000 + 30*60_000, Counted: l.Len()}
	put(t, l, up)
	if s := l.Stands(tr, "N", 3000); s.State != trial.Provisional || s.Stale || s.Over || len(s.Open) != 0 {
		t.Errorf("just posted, it stands %+v", s)
	}
	ask := by("q1", "Una", 4000)
	ask.Query = &trial.Query{Entry: 7, Phase: rules.Hazards, About: "H1", From: "Hazel Fenn", Asks: "My watch showed 31"}
	put(t, l, ask)
	put(t, l, sheet("s3", 9, "50")) // another class
	if s := l.Stands(tr, "N", 5000); len(s.Open) != 1 || s.Open[0] != "q1" || s.Stale {
		t.Errorf("with a query, it stands %+v", s)
	}
	right := sheet("s4", 7, "31.37")
	right.Replaces = "s1"
	put(t, l, right)
	if s := l.Stands(tr, "N", 5000); !s.Stale {
		t.Error("a corrected sheet leaves the posted placings as if they were right")
	}
	says := by("r1", "Tom", 6000)
	says.Reply = &trial.Reply{Query: "q1", Says: "The sheet says 31.37; read wrong at the desk.", Changed: "s4"}
	put(t, l, says)
	if q := l.Queries(); len(q) != 1 || q[0].Reply == nil || q[0].Reply.By != "Tom" {
		t.Errorf("queries: %+v", q)
	}
	if s := l.Stands(tr, "N", 2000+31*60_000); !s.Over || s.State != trial.Provisional {
		t.Errorf("the time is over and nobody signed, it stands %+v", s)
	}
	final := by("p2", "Tom", 7000)
	final.Posting = &trial.Posting{Class: "N", State: trial.Final, Counted: l.Len()}
	put(t, l, final)
	if s := l.Stands(tr, "N", 8000); s.State != trial.Final || s.Stale || s.Over {
		t.Errorf("signed, it stands %+v", s)
	}
	undo := by("u", "Tom", 9000)
	undo.Undoes = "p2"
	put(t, l, undo)
	if s := l.Stands(tr, "N", 9000); s.State != trial.Provisional || !s.Stale {
		t.Errorf("the signature was taken back, it stands %+v", s)
	}
	refuse(t, l, trial.Mark{ID: "p3", At: 9000, By: "x", Device: "y", Posting: &trial.Posting{Class: "N", State: trial.Provisional, Until: 8000}}, "mark-posting")
	both := sheet("b", 8, "1")
	both.Tick = &trial.Tick{Sheet: "s1"}
	refuse(t, l, both, "mark-content")
	bytesOf(t, l)
}

// bytesOf writes a ledger, reads it back and compares.
func bytesOf(t *testing.T, l *trial.Ledger) []byte {
	t.Helper()
	text, err := l.Encode()
	if err != nil {
		t.Fatal(err)
	}
	again, err := trial.DecodeLedger("x", text)
	if err != nil {
		t.Fatal(err)
	}
	if other, _ := again.Encode(); !bytes.Equal(text, other) {
		t.Errorf("written again it is\n%s\nand was\n%s", other, text)
	}
	return text
}

// One sheet that cannot be right takes nothing else off the board, whether the
// board is opened or follows.
func TestOneWrongSheetLosesNothingElse(t *testing.T) {
	l, tr, p := &trial.Ledger{}, twoClasses(), profile(t, rules.Default)
	following, _, err := l.Open(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	put(t, l, sheet("s1", 7, "41.37"))
	put(t, l, sheet("s2", 99, "44.10")) // no such entry
	put(t, l, sheet("s3", 8, "2:10"))   // minutes
	put(t, l, sheet("s4", 9, "50"))
	out := by("w", "Una", 2000)
	out.Status = &trial.Status{Entry: 98, Status: trial.Withdrawn}
	put(t, l, out)
	sick := by("w2", "Una", 2000)
	sick.Status = &trial.Status{Entry: 8, Status: trial.Retired, InPhase: rules.Cones} // not driven by the class
	put(t, l, sick)
	err = following.Follow(l, 0)
	var fl fault.List
	if !errors.As(err, &fl) || len(fl) != 4 {
		t.Fatalf("followed with %v; want four faults", err)
	}
	opened, wrong, err := l.Open(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	if len(wrong) != 4 || !strings.Contains(wrong.Error(), "s2") || !strings.Contains(wrong.Error(), "s3") || !strings.Contains(wrong.Error(), "mark w") {
		t.Errorf("wrong are\n%v", wrong)
	}
	a, b := answerText(t, opened.Answer()), answerText(t, following.Answer())
	if a != b {
		t.Errorf("opened and followed differ:\n%s\n%s", a, b)
	}
	for _, e := range opened.Answer().Entries {
		if (e.Total != nil) != (e.Number != 8) {
			t.Errorf("entry %d has the total %v", e.Number, e.Total)
		}
	}
	// A correction that cannot be right leaves the run without a sheet either way.
	bad := sheet("s5", 7, "41,37")
	bad.Replaces = "s1"
	put(t, l, bad)
	known := l.Len() - 1
	if err := following.Follow(l, known); err == nil {
		t.Error("a time with a comma is followed without a word")
	}
	again, _, _ := l.Open(tr, p)
	if a, b := answerText(t, again.Answer()), answerText(t, following.Answer()); a != b {
		t.Errorf("opened and followed differ:\n%s\n%s", a, b)
	}
}

func answerText(t *testing.T, a *trial.Answer) string {
	t.Helper()
	b, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// lists is a store of marks in memory.
type lists []trial.Kept

func (s lists) Marks(_ context.Context, _ string, after int64, most int) ([]trial.Kept, error) {
	return s[after:], nil
}

// A file split into a setting and marks scores as the file did, and comes back as
// the file it was.
func TestSplitAndJoined(t *testing.T) {
	for _, file := range []string{"hollowmere", "pleasure-show"} {
		tr, p, err := trial.Load("../../examples/trials/" + file + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		want, err := trial.Score(tr, p)
		if err != nil {
			t.Fatal(err)
		}
		whole, err := trial.Encode(tr)
		if err != nil {
			t.Fatal(err)
		}
		setting, marks := trial.Split(tr, "Una", "paper", time.UnixMilli(5000))
		if len(setting.Sheets) != 0 || len(marks) != len(tr.Sheets) {
			t.Fatalf("%d sheets stayed, %d marks for %d sheets", len(setting.Sheets), len(marks), len(tr.Sheets))
		}
		var s lists
		for i, m := range marks {
			s = append(s, trial.Kept{Seq: int64(i + 1), Mark: m})
		}
		l, seq, err := trial.ReadLedger(t.Context(), s, "x")
		if err != nil || seq != int64(len(marks)) {
			t.Fatalf("read to %d of %d: %v", seq, len(marks), err)
		}
		b, wrong, err := l.Open(setting, p)
		if err != nil || wrong != nil {
			t.Fatal(wrong, err)
		}
		if a, b := answerText(t, want), answerText(t, b.Answer()); a != b {
			t.Errorf("%s: scored from marks it is\n%s\nand was\n%s", file, b, a)
		}
		again, err := trial.Encode(l.Joined(setting))
		if err != nil || !bytes.Equal(again, whole) {
			t.Errorf("%s comes back as\n%s\nand was\n%s (%v)", file, again, whole, err)
		}
	}
}

// BenchmarkOpen works the board of a large day out anew from its marks: 500 entries,
// three phases, two hazards and two judges, so five sheets each.
func BenchmarkOpen(b *testing.B) {
	p, err := rules.Load(rules.Default)
	if err != nil {
		b.Fatal(err)
	}
	tr := &trial.Trial{
		Name:    "Large",
		Tests:   []trial.Test{{ID: "T", Maximum: "40", Coefficient: "4.00"}},
		Courses: []trial.Course{{ID: "H1", Phase: rules.Hazards}, {ID: "H2", Phase: rules.Hazards}, {ID: "C1", Phase: rules.Cones, AllowedS: "161"}},
	}
	l := &trial.Ledger{}
	mark := func(s trial.Sheet) {
		m := by(s.Run(), "Una", 1000)
		m.Sheet = &s
		if err := l.Append(m); err != nil {
			b.Fatal(err)
		}
	}
	for c := range 10 {
		id := string(rune('A' + c))
		tr.Classes = append(tr.Classes, trial.Class{ID: id, Through: "C", Phases: []string{rules.Dressage, rules.Hazards, rules.Cones}})
		for n := range 50 {
			no := 50*c + n + 1
			tr.Entries = append(tr.Entries, trial.Entry{Number: no, Class: id})
			for _, judge := range []string{"C", "B"} {
				mark(trial.Sheet{Phase: rules.Dressage, Entry: no, Test: "T", Judge: judge, Marks: []string{"6", "6.5", "7", "5"}})
			}
			mark(trial.Sheet{Phase: rules.Hazards, Entry: no, Course: "H1", Gates: "A B C", Seconds: "41.25"})
			mark(trial.Sheet{Phase: rules.Hazards, Entry: no, Course: "H2", Gates: "A B C", Seconds: "52.5"})
			mark(trial.Sheet{Phase: rules.Cones, Entry: no, Course: "C1", Seconds: "158.25"})
		}
	}
	for b.Loop() {
		board, wrong, err := l.Open(tr, p)
		if err != nil || wrong != nil {
			b.Fatal(err, wrong)
		}
		if len(board.Answer().Missing) != 0 {
			b.Fatal("something is missing")
		}
	}
}
