package storetest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

// trials is the part of the contract that trial.Store states.
var trials = map[string]func(*testing.T, Store, func() Store){
	"a trial's setting comes back as it was kept":              settings,
	"settings are kept by version and old bases conflict":      settingVersions,
	"of many who save a setting at once exactly one wins":      settingRace,
	"a setting that rules would fault is kept all the same":    unfinishedSetting,
	"a setting with sheets is refused":                         sheetsInSetting,
	"marks come back in order with their numbers":              marksInOrder,
	"a mark sent again is acknowledged and kept once":          marksTwice,
	"a mark that cannot be one loses none of the rest":         marksRefused,
	"marks of a trial that is not there are not found":         marksNowhere,
	"marks of one trial are not those of another":              marksApart,
	"every kind of mark comes back to the letter":              marksOfEveryKind,
	"many devices at once leave no gap and no double":          marksAtOnce,
	"who follows sees everything once and in order":            marksFollowed,
	"recomputing from the store gives the same bytes":          recomputed,
	"acknowledged marks are there after opening again":         marksReopened,
	"text in marks and settings is kept to the letter":         trialScripts,
	"a batch that breaks in the middle leaves nothing behind":  marksCancelled,
	"the overlay kept with a setting is the profile of it":     overlays,
	"an empty store lists no trials and is not nil":            noTrials,
	"an undo, and a reply to it, reach the ledger as they are": undone,
}

// A Fence is a trial of two classes, hazards alone.
func fence(name string) *trial.Trial {
	t := &trial.Trial{
		Name: name, Rules: "three-phase",
		Classes: []trial.Class{{ID: "N", Name: "Novice", Through: "C", Phases: []string{rules.Hazards}}},
		Courses: []trial.Course{{ID: "H1", Phase: rules.Hazards}, {ID: "H2", Phase: rules.Hazards}},
	}
	for n := 1; n <= 40; n++ {
		t.Entries = append(t.Entries, trial.Entry{Number: n, Class: "N", Driver: fmt.Sprint("Driver ", n)})
	}
	return t
}

func keepTrial(t *testing.T, s Store, id string, base int, tr *trial.Trial, at time.Time) trial.Setting {
	t.Helper()
	v, err := s.SaveSetting(t.Context(), id, base, trial.Setting{Trial: tr, Note: fmt.Sprint("from ", base), By: "Una", At: at})
	if err != nil {
		t.Fatalf("keep %s from version %d: %v", id, base, err)
	}
	return v
}

// paper is the n-th sheet of a device.
func paper(device string, n int) trial.Mark {
	return trial.Mark{
		ID: fmt.Sprintf("%s-%d", device, n), At: noon.UnixMilli() + int64(n), By: "Una Wren", Device: device,
		Sheet: &trial.Sheet{Phase: rules.Hazards, Entry: n%40 + 1, Course: fmt.Sprint("H", n/40%2+1), Gates: "A B C", Seconds: fmt.Sprintf("%d.%02d", 40+n%20, n%100)},
	}
}

func papers(device string, from, to int) []trial.Mark {
	var all []trial.Mark
	for n := from; n < to; n++ {
		all = append(all, paper(device, n))
	}
	return all
}

func hand(t *testing.T, s Store, id string, marks ...trial.Mark) []trial.Receipt {
	t.Helper()
	got, err := s.Append(t.Context(), id, marks, noon)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != len(marks) {
		t.Fatalf("%d receipts for %d marks", len(got), len(marks))
	}
	for i := range got {
		if got[i].ID != marks[i].ID {
			t.Fatalf("receipt %d is for %q, the mark is %q", i, got[i].ID, marks[i].ID)
		}
	}
	return got
}

func kept(t *testing.T, s Store, id string, after int64, most int) []trial.Kept {
	t.Helper()
	all, err := s.Marks(t.Context(), id, after, most)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func noTrials(t *testing.T, s Store, _ func() Store) {
	all, err := s.Trials(t.Context())
	if err != nil || all == nil || len(all) != 0 {
		t.Errorf("trials: %v, %v; want none and no error", all, err)
	}
	_, err = s.Setting(t.Context(), "x", 0)
	wantCode(t, err, fault.NotFound)
	_, err = s.Settings(t.Context(), "x")
	wantCode(t, err, fault.NotFound)
	_, err = s.Version(t.Context(), "x")
	wantCode(t, err, fault.NotFound)
}

func settings(t *testing.T, s Store, _ func() Store) {
	k := keepTrial(t, s, "autumn", 0, fence("Autumn"), noon)
	if k.Version != 1 || k.ID != "autumn" || k.Name != "Autumn" || k.Note != "from 0" || k.By != "Una" || !k.At.Equal(noon) {
		t.Errorf("kept as %+v", k)
	}
	got, err := s.Setting(t.Context(), "autumn", 0)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(k, got); d != "" {
		t.Errorf("came back changed (-kept +got):\n%s", d)
	}
}

func settingVersions(t *testing.T, s Store, _ func() Store) {
	for i, name := range []string{"First", "Second", "Third"} {
		keepTrial(t, s, "x", i, fence(name), noon.Add(time.Duration(i)*time.Hour))
	}
	keepTrial(t, s, "y", 0, fence("Other"), noon.Add(90*time.Minute))
	for _, base := range []int{0, 1, 2, 4} {
		_, err := s.SaveSetting(t.Context(), "x", base, trial.Setting{Trial: fence("late"), At: noon})
		wantCode(t, err, fault.Conflict)
	}
	if v, err := s.Version(t.Context(), "x"); v != 3 || err != nil {
		t.Errorf("the newest version is %d, %v; want 3", v, err)
	}
	all, err := s.Settings(t.Context(), "x")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, v := range all {
		names = append(names, fmt.Sprint(v.Version, " ", v.Name, " ", v.Note, " ", v.By, " ", v.Trial == nil))
	}
	if d := cmp.Diff([]string{"3 Third from 2 Una true", "2 Second from 1 Una true", "1 First from 0 Una true"}, names); d != "" {
		t.Error(d)
	}
	for i, want := range []string{"Third", "First", "Second", "Third"} {
		got, err := s.Setting(t.Context(), "x", i)
		if err != nil || got.Trial.Name != want {
			t.Errorf("version %d is %q, %v; want %q", i, got.Name, err, want)
		}
	}
	_, err = s.Setting(t.Context(), "x", 4)
	wantCode(t, err, fault.NotFound)
	list, err := s.Trials(t.Context())
	if err != nil || len(list) != 2 || list[0].Name != "Third" || list[1].Name != "Other" || list[0].Trial == nil || list[0].Version != 3 {
		t.Errorf("listed %+v, %v", list, err)
	}
}

func settingRace(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("start"), noon)
	onlyOneWins(t, func(name string) error {
		_, err := s.SaveSetting(t.Context(), "x", 1, trial.Setting{Trial: fence(name), At: noon})
		return err
	})
	if all, err := s.Settings(t.Context(), "x"); err != nil || len(all) != 2 {
		t.Errorf("there are %d versions, %v; want 2", len(all), err)
	}
}

// unfinishedSetting: an entry of a class that is not there yet is work that must
// not be lost.
func unfinishedSetting(t *testing.T, s Store, _ func() Store) {
	tr := fence("Half done")
	tr.Entries = append(tr.Entries, trial.Entry{Number: 99, Class: "later"})
	keepTrial(t, s, "x", 0, tr, noon)
	got, err := s.Setting(t.Context(), "x", 0)
	if err != nil || len(got.Trial.Entries) != 41 {
		t.Errorf("came back as %+v, %v", got.Trial, err)
	}
}

func sheetsInSetting(t *testing.T, s Store, _ func() Store) {
	tr := fence("x")
	tr.Sheets = []trial.Sheet{*paper("a", 1).Sheet}
	if _, err := s.SaveSetting(t.Context(), "x", 0, trial.Setting{Trial: tr, At: noon}); err == nil {
		t.Error("sheets went into a setting")
	}
	_, err := s.SaveSetting(t.Context(), "", 0, trial.Setting{Trial: fence("x"), At: noon})
	wantCode(t, err, fault.Input)
}

func marksInOrder(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	if all := kept(t, s, "x", 0, 0); all == nil || len(all) != 0 {
		t.Errorf("no marks are %v", all)
	}
	want := papers("a", 0, 25)
	for i, r := range append(hand(t, s, "x", want[:10]...), hand(t, s, "x", want[10:]...)...) {
		if r.Seq != int64(i+1) || r.Twice || r.Fault != nil {
			t.Errorf("receipt %d: %+v", i, r)
		}
	}
	all := kept(t, s, "x", 0, 0)
	if len(all) != 25 {
		t.Fatalf("%d marks, want 25", len(all))
	}
	for i, k := range all {
		if k.Seq != int64(i+1) || !k.Came.Equal(noon) {
			t.Errorf("mark %d has number %d and came %s", i, k.Seq, k.Came)
		}
		if d := cmp.Diff(want[i], k.Mark); d != "" {
			t.Errorf("mark %d came back changed:\n%s", i, d)
		}
	}
	if part := kept(t, s, "x", 7, 3); len(part) != 3 || part[0].Seq != 8 || part[2].Seq != 10 {
		t.Errorf("three behind the seventh are %+v", part)
	}
	if none := kept(t, s, "x", 25, 0); len(none) != 0 {
		t.Errorf("behind the last are %+v", none)
	}
}

func marksTwice(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	hand(t, s, "x", papers("a", 0, 5)...)
	got := hand(t, s, "x", append(papers("a", 2, 8), paper("a", 7))...)
	var said []string
	for _, r := range got {
		said = append(said, fmt.Sprint(r.ID, " ", r.Seq, " ", r.Twice, " ", r.Fault == nil))
	}
	want := []string{"a-2 3 true true", "a-3 4 true true", "a-4 5 true true", "a-5 6 false true", "a-6 7 false true", "a-7 8 false true", "a-7 8 true true"}
	if d := cmp.Diff(want, said); d != "" {
		t.Error(d)
	}
	if all := kept(t, s, "x", 0, 0); len(all) != 8 {
		t.Errorf("%d marks, want 8", len(all))
	}
	other := paper("a", 3)
	other.Sheet.Seconds = "99.99"
	if r := hand(t, s, "x", other)[0]; r.Fault == nil || r.Fault.Rule != "mark-id" || r.Seq != 0 {
		t.Errorf("another mark of a known ID: %+v", r)
	}
}

func marksRefused(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	nobody, nothing, ahead, odd := paper("a", 1), paper("a", 2), paper("a", 3), paper("a", 4)
	nobody.By = ""
	nothing.Sheet = nil
	ahead.Replaces = "a-9"
	odd.ID = "bell\x00"
	nul := paper("a", 5)
	nul.Replaces = "\x00"
	got := hand(t, s, "x", paper("a", 0), nobody, nothing, ahead, odd, nul, paper("a", 9))
	var said []string
	for _, r := range got {
		rule := ""
		if r.Fault != nil {
			rule = r.Fault.Rule
		}
		said = append(said, fmt.Sprint(r.Seq, " ", rule))
	}
	if d := cmp.Diff([]string{"1 ", "0 mark-who", "0 mark-content", "0 mark-reference", "0 mark-id", "0 mark-reference", "2 "}, said); d != "" {
		t.Error(d)
	}
	if all := kept(t, s, "x", 0, 0); len(all) != 2 {
		t.Errorf("%d marks, want 2", len(all))
	}
	// Sent again behind what it speaks of, it is kept.
	if r := hand(t, s, "x", ahead)[0]; r.Seq != 3 {
		t.Errorf("%+v", r)
	}
}

func marksNowhere(t *testing.T, s Store, _ func() Store) {
	_, err := s.Append(t.Context(), "x", papers("a", 0, 1), noon)
	wantCode(t, err, fault.NotFound)
	_, err = s.Marks(t.Context(), "x", 0, 0)
	wantCode(t, err, fault.NotFound)
}

func marksApart(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	keepTrial(t, s, "y", 0, fence("y"), noon)
	hand(t, s, "x", papers("a", 0, 3)...)
	if r := hand(t, s, "y", paper("a", 1))[0]; r.Seq != 1 || r.Twice {
		t.Errorf("the same ID in another trial: %+v", r)
	}
	correction := paper("b", 1)
	correction.Replaces = "a-2"
	if r := hand(t, s, "y", correction)[0]; r.Fault == nil {
		t.Error("a mark of one trial replaces one of another")
	}
}

func marksOfEveryKind(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	by := func(id, who string) trial.Mark {
		return trial.Mark{ID: id, At: noon.UnixMilli(), By: who, Device: "desk", Why: "because"}
	}
	dressage := by("d", "Una")
	dressage.Sheet = &trial.Sheet{Phase: rules.Dressage, Entry: 3, Test: "T", Judge: "C", Marks: []string{"6.5", "-", "7"}, Faults: map[string]int{"course_error": 1, "groom_down": 0}, Out: "third error"}
	judged := by("j", "Una")
	judged.Sheet = &trial.Sheet{Phase: rules.Judged, Entry: 3, Judge: "X", Parts: map[string]string{"turnout": "25", "performance": "52"}, Knocked: []string{"3", "7b"}, Stops: []string{"3.2"}, Driven: []string{"1"}, Cleared: 4, Extra: trial.ExtraClear, Backup: "9"}
	status := by("s", "Una")
	status.Status = &trial.Status{Entry: 3, Status: trial.Retired, InPhase: rules.Hazards, Why: "broken trace"}
	tick := by("t", "Rob")
	tick.Tick = &trial.Tick{Sheet: "d"}
	query := by("q", "Una")
	query.Query = &trial.Query{Entry: 3, Phase: rules.Dressage, About: "C", From: "Driver 3", Asks: "Movement 2?", Rule: "4.1"}
	posting := by("p", "Una")
	posting.Posting = &trial.Posting{Class: "N", State: trial.Provisional, Until: noon.UnixMilli() + 1_800_000, Counted: 4}
	undo := by("u", "Una")
	undo.Undoes = "s"
	reply := by("r", "Tom")
	reply.Reply = &trial.Reply{Query: "q", Says: "stands", Heard: "the judge", Changed: "u"}
	want := []trial.Mark{dressage, judged, status, tick, query, posting, undo, reply}
	hand(t, s, "x", want...)
	var got []trial.Mark
	for _, k := range kept(t, s, "x", 0, 0) {
		got = append(got, k.Mark)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	for i, r := range hand(t, s, "x", want...) {
		if !r.Twice {
			t.Errorf("mark %s sent again: %+v", want[i].ID, r)
		}
	}
}

func marksAtOnce(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	const devices, each, batch = 6, 40, 8
	var wg sync.WaitGroup
	for d := range devices {
		wg.Go(func() {
			name := fmt.Sprint("phone", d/2) // two connections of one device send the same
			for n := 0; n < each; n += batch {
				got, err := s.Append(t.Context(), "x", papers(name, n, n+batch), noon)
				if err != nil {
					t.Error(err)
					return
				}
				for _, r := range got {
					if r.Seq == 0 {
						t.Errorf("refused: %+v", r.Fault)
					}
				}
			}
		})
	}
	wg.Wait()
	all := kept(t, s, "x", 0, 0)
	seen := map[string]bool{}
	last := map[string]int64{}
	for i, k := range all {
		if k.Seq != int64(i+1) || seen[k.Mark.ID] {
			t.Errorf("mark %s has number %d in place %d, seen before: %v", k.Mark.ID, k.Seq, i+1, seen[k.Mark.ID])
		}
		seen[k.Mark.ID] = true
		if k.Mark.At < last[k.Mark.Device] {
			t.Errorf("%s is before one that its device wrote earlier", k.Mark.ID)
		}
		last[k.Mark.Device] = k.Mark.At
	}
	if len(all) != devices/2*each {
		t.Errorf("%d marks, want %d", len(all), devices/2*each)
	}
}

func marksFollowed(t *testing.T, s Store, again func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	reader := again()
	var wg sync.WaitGroup
	var writing sync.WaitGroup
	stop := make(chan struct{})
	var got []trial.Kept
	wg.Go(func() {
		after := int64(0)
		for ended := false; ; {
			more, err := reader.Marks(t.Context(), "x", after, 7)
			if err != nil {
				t.Error(err)
				return
			}
			got = append(got, more...)
			if len(more) > 0 {
				after = more[len(more)-1].Seq
				continue
			}
			if ended {
				return
			}
			select {
			case <-stop:
				ended = true
			case <-time.After(time.Millisecond):
			}
		}
	})
	for d := range 3 {
		writing.Go(func() {
			for n := 0; n < 60; n += 5 {
				if _, err := s.Append(t.Context(), "x", papers(fmt.Sprint("phone", d), n, n+5), noon); err != nil {
					t.Error(err)
				}
			}
		})
	}
	writing.Wait()
	close(stop)
	wg.Wait()
	if len(got) != 180 {
		t.Errorf("the follower saw %d marks, want 180", len(got))
	}
	for i, k := range got {
		if k.Seq != int64(i+1) {
			t.Fatalf("the follower saw number %d in place %d", k.Seq, i+1)
		}
	}
}

// recomputed: the ledger and the answer from the store are, byte for byte, those
// of a ledger that took the marks as they came.
func recomputed(t *testing.T, s Store, again func() Store) {
	tr := fence("x")
	keepTrial(t, s, "x", 0, tr, noon)
	marks := papers("a", 0, 80)
	for n := range 20 {
		fix := paper("b", n)
		fix.Replaces = fmt.Sprintf("a-%d", n)
		fix.Sheet.Entry, fix.Sheet.Course = marks[n].Sheet.Entry, marks[n].Sheet.Course
		fix.Sheet.Faults = map[string]int{"groom_down": 1, "dislodged": n % 3, "canter": 0}
		marks = append(marks, fix)
	}
	for n := range 7 {
		undo := trial.Mark{ID: fmt.Sprint("u", n), At: noon.UnixMilli(), By: "Una", Device: "desk", Undoes: fmt.Sprintf("b-%d", 2*n)}
		marks = append(marks, undo)
	}
	out := trial.Mark{ID: "out", At: noon.UnixMilli(), By: "Una", Device: "desk", Status: &trial.Status{Entry: 5, Status: trial.Retired, InPhase: rules.Hazards}}
	marks = append(marks, out)
	direct := &trial.Ledger{}
	for i := 0; i < len(marks); i += 9 {
		part := marks[i:min(i+9, len(marks))]
		for _, r := range hand(t, s, "x", part...) {
			if r.Fault != nil {
				t.Fatal(r.Fault)
			}
		}
		for _, m := range part {
			if err := direct.Append(m); err != nil {
				t.Fatal(err)
			}
		}
	}
	p, err := rules.Load(tr.Rules)
	if err != nil {
		t.Fatal(err)
	}
	answer := func(l *trial.Ledger, tr *trial.Trial) []byte {
		b, wrong, err := l.Open(tr, p)
		if err != nil || wrong != nil {
			t.Fatal(wrong, err)
		}
		text, err := json.Marshal(b.Answer())
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	want, err := direct.Encode()
	if err != nil {
		t.Fatal(err)
	}
	wantAnswer := answer(direct, tr)
	for _, st := range []Store{s, again()} {
		l, seq, err := trial.ReadLedger(t.Context(), st, "x")
		if err != nil || seq != int64(len(marks)) {
			t.Fatalf("read to %d of %d: %v", seq, len(marks), err)
		}
		got, err := l.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Error("the ledger from the store has other bytes")
		}
		set, err := st.Setting(t.Context(), "x", 0)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(answer(l, set.Trial), wantAnswer) {
			t.Error("the answer from the store has other bytes")
		}
	}
}

func marksReopened(t *testing.T, s Store, again func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	hand(t, s, "x", papers("a", 0, 12)...)
	if all := kept(t, again(), "x", 0, 0); len(all) != 12 {
		t.Errorf("%d marks after opening again, want 12", len(all))
	}
}

func trialScripts(t *testing.T, s Store, _ func() Store) {
	odd := "Ärger \"quoted\" 'and' \\ <b>&amp; 馬車 🐴 \t =1+1 \x00"
	tr := fence("Hölle 馬車")
	tr.Entries[0].Driver = strings.TrimSuffix(odd, "\t =1+1 \x00") + "."
	keepTrial(t, s, "x", 0, tr, noon)
	got, err := s.Setting(t.Context(), "x", 0)
	if err != nil || got.Name != tr.Name || got.Trial.Entries[0].Driver != tr.Entries[0].Driver {
		t.Errorf("kept %q, came back %q, %v", tr.Entries[0].Driver, got.Trial.Entries[0].Driver, err)
	}
	m := paper("a", 1)
	m.Why, m.By, m.Sheet.Out = odd, odd, odd
	hand(t, s, "x", m)
	if d := cmp.Diff(m, kept(t, s, "x", 0, 0)[0].Mark); d != "" {
		t.Error(d)
	}
	_, err = s.Marks(t.Context(), "x'; DROP TABLE trial_marks; --", 0, 0)
	wantCode(t, err, fault.NotFound)
}

func marksCancelled(t *testing.T, s Store, _ func() Store) {
	broke, held := 0, 0
	for left := 1; left < 400; left += 7 {
		id := fmt.Sprint("x", left)
		keepTrial(t, s, id, 0, fence("x"), noon)
		ctx := &expiring{Context: t.Context(), left: left, done: make(chan struct{})}
		want := 30
		if _, err := s.Append(ctx, id, papers("a", 0, 30), noon); err != nil {
			want = 0
			broke++
		} else {
			held++
		}
		if all := kept(t, s, id, 0, 0); len(all) != want {
			t.Fatalf("%d marks of a batch of 30, whose caller left at %d", len(all), left)
		}
	}
	if broke < 5 {
		t.Errorf("only %d batches were broken off, %d went through: the test tests nothing", broke, held)
	}
}

func overlays(t *testing.T, s Store, _ func() Store) {
	tr := fence("x")
	tr.Rules = "our-club.yaml"
	v, err := s.SaveSetting(t.Context(), "x", 0, trial.Setting{Trial: tr, At: noon})
	if err != nil {
		t.Fatal(err)
	}
	_, err = v.Profile()
	wantCode(t, err, fault.NotFound)
	const text = "terret: rules/1\nname: our club\nextends: three-phase\nvalues:\n  cones.ball: {value: \"5\", unit: penalties each, edition: house, source: our committee, confidence: read}\n"
	if _, err := s.SaveSetting(t.Context(), "x", 1, trial.Setting{Trial: tr, Overlay: text, At: noon}); err != nil {
		t.Fatal(err)
	}
	v, err = s.Setting(t.Context(), "x", 0)
	if err != nil || v.Overlay != text {
		t.Fatalf("the overlay came back as %q, %v", v.Overlay, err)
	}
	p, err := v.Profile()
	if err != nil || p.Name != "our club" || p.Get("cones.ball").Value != "5" {
		t.Errorf("the profile is %+v, %v", p, err)
	}
}

func undone(t *testing.T, s Store, _ func() Store) {
	keepTrial(t, s, "x", 0, fence("x"), noon)
	m := paper("a", 1)
	hand(t, s, "x", m, trial.Mark{ID: "u", At: 1, By: "Una", Device: "desk", Undoes: "a-1"}, trial.Mark{ID: "uu", At: 2, By: "Una", Device: "desk", Undoes: "u"})
	l, _, err := trial.ReadLedger(t.Context(), s, "x")
	if err != nil || l.InForce("u") || !l.InForce("a-1") || l.Counting(m.Sheet.Run()) == nil {
		t.Errorf("the undone undo: %v", err)
	}
}
