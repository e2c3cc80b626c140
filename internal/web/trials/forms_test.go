package trials

import (
	"bytes"
	"encoding/json"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/store"
	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/web/book"
)

var noon = time.Date(2026, 10, 3, 12, 0, 0, 0, time.UTC)

// tabs are the Scores and the Day tab on a fresh store.
func tabs(t testing.TB) (http.Handler, *store.Store) {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	b := book.New(book.Config{Now: func() time.Time { return noon }})
	Routes(b, Config{Plans: st, Trials: st, Rotas: st})
	return b.Handler(), st
}

// example is a trial of the examples.
func example(t testing.TB, name string) *trial.Trial {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "..", "examples", "trials", name))
	if err != nil {
		t.Fatal(err)
	}
	day, _, err := trial.Decode(name, data, builtIn)
	if err != nil {
		t.Fatal(err)
	}
	return day
}

func keepTrial(t testing.TB, st trial.Store, id string, day *trial.Trial) {
	t.Helper()
	setting, marks := trial.Split(day, "import", "file", noon)
	if _, err := st.SaveSetting(t.Context(), id, 0, trial.Setting{Trial: setting, By: "import", At: noon}); err != nil {
		t.Fatal(err)
	}
	receipts, err := st.Append(t.Context(), id, marks, noon)
	if err != nil || trial.Refused(receipts) != nil {
		t.Fatal(err, trial.Refused(receipts))
	}
}

// openOf is a trial of the store, held in memory anew.
func openOf(t testing.TB, st trial.Store, id string) *openTrial {
	t.Helper()
	o := &openTrial{store: st, id: id}
	if err := o.refresh(t.Context()); err != nil {
		t.Fatal(err)
	}
	return o
}

func jsonOf(t testing.TB, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestEveryKindOfSheetCanBeTyped: all piles of a pleasure driving show open with
// their boxes, and what is typed again from its own sheets scores the same.
func TestEveryKindOfSheetCanBeTyped(t *testing.T) {
	h, st := tabs(t)
	show := example(t, "pleasure-show.yaml")
	p, err := builtIn(show.Rules)
	if err != nil {
		t.Fatal(err)
	}
	want, err := trial.Score(show, p)
	if err != nil {
		t.Fatal(err)
	}
	bare := *show
	bare.Sheets = nil
	keepTrial(t, st, "show", &bare)
	ask := func(method, path, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, "http://localhost"+path, strings.NewReader(body))
		if body != "" {
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	kinds := map[string]bool{}
	for i := range show.Sheets {
		s := &show.Sheets[i]
		o := openOf(t, st, "show")
		pile := o.pileFor(s)
		form := url.Values{"pile": {pile.key()}, "number": {itoaText(s.Entry)}, "by": {"JB"}, "mark": {"sheet-" + itoaText(i+1)}}
		often, rare := o.boxes(pile)
		v := values(s)
		for _, b := range append(often, rare...) {
			form.Set(b.Key, v[b.Key])
		}
		if w := ask("GET", "/scores/show/desk?pile="+url.QueryEscape(pile.key()), ""); w.Code != 200 || !strings.Contains(html.UnescapeString(w.Body.String()), pile.name(show)) {
			t.Fatalf("%s: %d %s", pile.name(show), w.Code, w.Body)
		}
		if w := ask("POST", "/scores/show/desk", form.Encode()); w.Code != 303 {
			t.Fatalf("%v: %d %s", form, w.Code, w.Body)
		}
		kinds[s.Phase] = true
	}
	if len(kinds) < 2 {
		t.Errorf("the show has only sheets of %v", kinds)
	}
	if got := openOf(t, st, "show").answer(); !bytes.Equal(jsonOf(t, got), jsonOf(t, want)) {
		t.Errorf("typed it comes to\n%s\nwant\n%s", jsonOf(t, got), jsonOf(t, want))
	}
}

// TestAFormSentBackUntouchedChangesNothing: every class, course, test and entry of the
// examples, as its form shows it and a browser sends it.
func TestAFormSentBackUntouchedChangesNothing(t *testing.T) {
	day := example(t, "hollowmere.yaml")
	day.Tests[0].Movements[0].Text = "" // the first line of its box is empty
	day.Entries[0].Wishes = []order.Wish{{NotBefore: order.At(10, 30), Why: "milking"}, {Behind: 8}}
	day.Entries[0].GapCM, day.Entries[0].Turnout = 165, "teasel.yaml"
	for name, day := range map[string]*trial.Trial{"trial": day, "show": example(t, "pleasure-show.yaml")} {
		_, st := tabs(t)
		keepTrial(t, st, name, day)
		o := openOf(t, st, name)
		before, err := trial.Encode(o.setting.Trial)
		if err != nil {
			t.Fatal(err)
		}
		seen := 0
		same := func(k thing, was string) {
			t.Helper()
			seen++
			v, ok := k.values(o.setting.Trial, was)
			if !ok {
				t.Fatalf("%s %s is not there", k.word(), was)
			}
			for box := range v {
				for i := range v[box] {
					if v[box][i], err = typedText(box, strings.ReplaceAll(v[box][i], "\n", "\r\n")); err != nil {
						t.Fatal(err)
					}
				}
			}
			next, now, wrong := k.put(o, was, v)
			if len(wrong) > 0 || now != was {
				t.Fatalf("%s %s is %s now: %v", k.word(), was, now, wrong)
			}
			if after, err := trial.Encode(next); err != nil || !bytes.Equal(before, after) {
				t.Errorf("%s %s: it was\n%s\nand is\n%s\n%v", k.word(), was, before, after, err)
			}
		}
		for _, c := range day.Classes {
			same(classThing{}, c.ID)
		}
		for _, c := range day.Courses {
			same(courseThing{}, c.ID)
		}
		for _, x := range day.Tests {
			same(testThing{}, x.ID)
		}
		for _, e := range day.Entries {
			same(entryThing{}, itoaText(e.Number))
		}
		if seen < 7 {
			t.Errorf("only %d forms were sent", seen)
		}
	}
}

// FuzzForms: whatever a form says, it is either told what is wrong with it or makes a
// trial that a store gives back as it was kept.
func FuzzForms(f *testing.F) {
	for _, s := range []string{
		"class id=V&phases=cones&phases=hazards&through=c", "class was=P&id=P&phases=judged&judged=working",
		"course id=H9&phase=hazards&limit_s=5:00", "course was=C1&phase=cones&id=C1&classes=P&length_m=590", "course id=F1&phase=timed&kind=choice+by+points&points=1+%3D+10%0A2b+%3D+20",
		"test id=T2&marks=8&more=3,+7+%C3%97+3&coefficient=1.33", "entry number=30&class=P&driver=Nan&horses=a;b&wishes.phase=&wishes.not_before=10:30&wishes.behind=7",
		"entry was=14&number=15&class=N&driver=%00%FF",
	} {
		kind, form, _ := strings.Cut(s, " ")
		f.Add(kind, form)
	}
	_, st := tabs(f)
	keepTrial(f, st, "autumn", example(f, "hollowmere.yaml"))
	t := openOf(f, st, "autumn")
	f.Fuzz(func(f *testing.T, kind, text string) {
		v, err := url.ParseQuery(text)
		if err != nil {
			return
		}
		for box := range v {
			for i := range v[box] {
				if v[box][i], err = typedText(box, v[box][i]); err != nil {
					return
				}
			}
		}
		for _, k := range []thing{entryThing{}, classThing{}, courseThing{}, testThing{}} {
			was := v.Get("was")
			if _, there := k.values(t.setting.Trial, was); k.word() != kind || was != "" && !there {
				continue
			}
			k.rows(t, v)
			next, name, wrong := k.put(t, was, v)
			if (next == nil) != (len(wrong) > 0) {
				f.Fatalf("next is %v, wrong %v", next, wrong)
			}
			if next == nil || t.breaks(next, k.place(next, name), func(string, string) bool { return true }) != nil {
				continue
			}
			doc, err := trial.Encode(next)
			if err != nil {
				f.Fatalf("%q cannot be kept: %v", text, err)
			}
			back, err := trial.Parse("kept", doc)
			if err != nil {
				f.Fatalf("%q is kept and cannot be read again: %v\n%s", text, err, doc)
			}
			again, err := trial.Encode(back)
			if err != nil || !bytes.Equal(doc, again) {
				f.Fatalf("%q comes back as\n%s\nnot as\n%s\n%v", text, again, doc, err)
			}
			if _, ok := k.values(next, name); !ok {
				f.Fatalf("%s %q is not there", kind, name)
			}
			if got, _ := k.values(back, name); got.Encode() == "" {
				f.Fatalf("%s %q has no values", kind, name)
			}
		}
	})
}

// FuzzTimetableForm: whatever is typed, it is marked at a box or becomes a timetable that
// can be kept and comes back as it was.
func FuzzTimetableForm(f *testing.F) {
	f.Add("rows=1&p.0.name=dressage&p.0.start=09:00&p.0.every_min=8&rest.phases=30&rest.driver=40&rest.groom=20&rest.horse=30&rest.vehicle=30&by=JB")
	f.Add("rows=2&p.0.name=a&p.0.start=09:00&p.0.every_min=0.5&p.0.lasts_min=0,25&p.0.spare=500&p.0.end=47:59&p.1.name=inspection&p.1.start=00:00&p.1.every_min=1440&p.1.after=a&p.1.breaks=10:00+to+10:15+tea%0A%0A12:00+to+13:00&rest.phases=0&rest.driver=1440&rest.groom=0.25&rest.horse=1&rest.vehicle=1&by=JB")
	f.Add("rows=1&p.0.was=cones&p.0.name=cones%0Atwo&p.0.start=9:00&p.0.every_min=1e1&p.0.classes=P&p.0.spare=-1&rest.phases=NaN&by=JB")
	_, st := tabs(f)
	bare := example(f, "hollowmere.yaml")
	bare.Sheets = nil
	keepTrial(f, st, "autumn", bare)
	t := openOf(f, st, "autumn")
	s := &server{Book: book.New(book.Config{})}
	r := httptest.NewRequest(http.MethodPost, "/day/autumn/timetable", nil)
	f.Fuzz(func(f *testing.T, text string) {
		typed, err := url.ParseQuery(text)
		if err != nil {
			return
		}
		for box := range typed {
			for i := range typed[box] {
				if typed[box][i], err = typedText(box, typed[box][i]); err != nil {
					return
				}
			}
		}
		v := s.timetablePage(r, t)
		if v.typed(typed) != nil {
			return
		}
		next := *t.setting.Trial
		next.Timetable = v.read(t)
		v.faults(t, &next)
		if v.Bad() {
			return
		}
		doc, err := trial.Encode(&next)
		if err != nil {
			f.Fatalf("%q cannot be kept: %v", text, err)
		}
		back, err := trial.Parse("autumn", doc)
		if err != nil {
			f.Fatalf("%q is kept and cannot be read: %v\n%s", text, err, doc)
		}
		if d := cmp.Diff(next.Timetable, back.Timetable); d != "" {
			f.Fatalf("%q comes back otherwise:\n%s", text, d)
		}
	})
}
