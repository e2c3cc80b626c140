package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"terret/internal/testkit"
	"terret/internal/turnout"

	"net/http/httptest"
)

// turnoutPages asks once for each template below a turnout.
func turnoutPages(t *testing.T, h http.Handler) map[string]bool {
	t.Helper()
	seen := map[string]bool{}
	get := func(name, path string) {
		if w := (ask{method: "GET", path: path}).do(h); w.Code != 200 || !strings.Contains(w.Body.String(), "</html>") {
			t.Errorf("%s: status %d", path, w.Code)
		}
		seen[name] = true
	}
	get("turnout_check", "/turnouts/06-bay-cob/check")
	get("turnout_record", "/turnouts/06-bay-cob")
	get("turnout_circles", "/turnouts/06-bay-cob/circles")
	get("turnout_new", "/turnouts/new")
	get("turnout_trots", "/turnouts/06-bay-cob/trots")
	get("turnout_beat", "/turnouts/06-bay-cob/beat?metres=27.3&seconds=7.562&strides=10")
	get("turnout_motion", "/turnouts/06-bay-cob/motion")
	get("turnout_halt", "/turnouts/06-bay-cob/halt")
	get("turnout_putting", "/turnouts/06-bay-cob/putting-to")
	w := ask{method: "POST", path: "/turnouts/06-bay-cob/check", kind: formKind, body: cardForm("abcdefghijklmnopqrstuvwx").Encode()}.do(h)
	get("turnout_checked", w.Header().Get("Location"))
	return seen
}

// cardForm is a card with two lines good, one to fix.
func cardForm(record string) url.Values {
	return url.Values{
		"record": {record}, "version": {"1"}, "seconds": {"185.5"}, "checker": {"M. Ostrer"}, "entry": {"7"},
		"mark.horse": {"looked at"}, "mark.bridle": {"looked at"}, "mark.whip": {"fix"}, "note.whip": {"thong is short"}, "result": {"fix and show again"},
	}
}

// TestACardIsKept goes the whole way: a card with one line to fix, shown again,
// looked over; what nobody looked at is said, and sending twice keeps one.
func TestACardIsKept(t *testing.T) {
	h, s := house(t, true, straight{})
	post := func(f url.Values) *httptest.ResponseRecorder {
		return ask{method: "POST", path: "/turnouts/06-bay-cob/check", kind: formKind, body: f.Encode()}.do(h)
	}
	first := cardForm("abcdefghijklmnopqrstuvwx")
	w := post(first)
	at := w.Header().Get("Location")
	if w.Code != 303 || at != "/turnouts/06-bay-cob/checks/abcdefghijklmnopqrstuvwx" {
		t.Fatalf("kept: %d, %q\n%s", w.Code, at, w.Body)
	}
	if w := post(first); w.Code != 303 || w.Header().Get("Location") != at {
		t.Errorf("sent twice: %d, %q", w.Code, w.Header().Get("Location"))
	}
	kept, err := s.Records(t.Context(), "06-bay-cob", turnout.KeptCheck)
	if err != nil || len(kept) != 1 {
		t.Fatalf("%d kept, %v; want one", len(kept), err)
	}
	rec, err := turnout.DecodeRecord("x", kept[0].Document)
	if err != nil || rec.To.Sub(rec.From) != 185500*time.Millisecond || !rec.To.Equal(noon) || rec.Turnout != "Bay cob, four-wheel" {
		t.Errorf("kept %+v, %v", rec, err)
	}
	read := func(path string, has, not []string) {
		t.Helper()
		w := ask{method: "GET", path: path}.do(h)
		body := w.Body.String()
		for _, x := range has {
			if !strings.Contains(body, x) {
				t.Errorf("%s: no %q", path, x)
			}
		}
		for _, x := range append(not, "safe") {
			if strings.Contains(strings.ToLower(body), strings.ToLower(x)) {
				t.Errorf("%s: there is %q", path, x)
			}
		}
	}
	read(at, []string{"M. Ostrer", "3 min 06 s", "2 looked at, 1 to fix, 0 refused", "thong is short", "Nobody looked at", "Fifth wheel", "?again=abcdefghijklmnopqrstuvwx"}, nil)
	read("/turnouts", []string{"fix and show again", "by M. Ostrer"}, nil)
	read("/turnouts/06-bay-cob/check?again=abcdefghijklmnopqrstuvwx", []string{"To be shown again", "thong is short", "looked at before"}, nil)

	again := url.Values{"record": {"bbcdefghijklmnopqrstuvwx"}, "version": {"1"}, "again": {"abcdefghijklmnopqrstuvwx"}, "seconds": {"20"}, "checker": {"M. Ostrer"}, "mark.whip": {"looked at"}, "result": {"looked over"}}
	w = post(again)
	if w.Code != 303 {
		t.Fatalf("shown again: %d\n%s", w.Code, w.Body)
	}
	read(w.Header().Get("Location"), []string{"looked over", "Shown again after", "Nobody looked at"}, []string{"Blinkers level", "thong is short"})
	read("/turnouts/06-bay-cob/check", []string{"Kept before", "looked over"}, nil)
}

// TestACardThatCannotBeKeptSaysWhere: each row is marked where it was typed, and
// the marks stay.
func TestACardThatCannotBeKeptSaysWhere(t *testing.T) {
	for name, row := range map[string]struct {
		key, value string
		status     int
		has        string
	}{
		"nobody is named":                     {"checker", " ", 422, `id="checker-wrong"`},
		"a fix, and called looked over":       {"result", "looked over", 422, `id="result-wrong"`},
		"no result":                           {"result", "", 422, `id="result-wrong"`},
		"refused without a reason":            {"result", "not today", 422, `id="reason-wrong"`},
		"a mark that is none":                 {"mark.whip", "splendid", 422, "is no mark"},
		"the turnout was changed meanwhile":   {"version", "9", 409, "was changed while this card was open"},
		"a card without a name":               {"record", "../x", 400, "no name"},
		"again of a card that was never kept": {"again", "zzz", 404, "no card of that name"},
	} {
		t.Run(name, func(t *testing.T) {
			h, s := house(t, true, straight{})
			f := cardForm("abcdefghijklmnopqrstuvwx")
			f.Set(row.key, row.value)
			w := ask{method: "POST", path: "/turnouts/06-bay-cob/check", kind: formKind, body: f.Encode()}.do(h)
			if w.Code != row.status || !strings.Contains(w.Body.String(), row.has) {
				t.Errorf("status %d, want %d with %q:\n%s", w.Code, row.status, row.has, w.Body)
			}
			if row.status == 422 && !strings.Contains(w.Body.String(), `value="thong is short"`) {
				t.Error("what was typed is gone")
			}
			if kept, err := s.Records(t.Context(), "", turnout.KeptCheck); err != nil || len(kept) != 0 {
				t.Errorf("%d were kept, %v", len(kept), err)
			}
		})
	}
}

// TestARefusalTakesItsReasonFromTheLine: a reason is not typed twice.
func TestARefusalTakesItsReasonFromTheLine(t *testing.T) {
	h, s := house(t, true, straight{})
	f := cardForm("abcdefghijklmnopqrstuvwx")
	f.Set("mark.whip", "refuse")
	f.Set("result", "not today")
	if w := (ask{method: "POST", path: "/turnouts/06-bay-cob/check", kind: formKind, body: f.Encode()}).do(h); w.Code != 303 {
		t.Fatalf("status %d\n%s", w.Code, w.Body)
	}
	kept, err := s.Records(t.Context(), "06-bay-cob", turnout.KeptCheck)
	if err != nil || len(kept) != 1 {
		t.Fatal(len(kept), err)
	}
	if rec, err := turnout.DecodeRecord("x", kept[0].Document); err != nil || rec.Reason != "thong is short" {
		t.Errorf("%+v, %v", rec, err)
	}
}

func TestTurnoutPapers(t *testing.T) {
	h, _ := house(t, true, straight{})
	for _, kind := range []string{"check-card", "putting-to", "trot-lesson", "trot-poster"} {
		for _, paper := range []string{"a4", "letter"} {
			if w := (ask{method: "GET", path: "/turnouts/01-button/papers/" + kind + ".pdf?paper=" + paper}).do(h); w.Code != 200 || !strings.HasPrefix(w.Body.String(), "%PDF-") {
				t.Errorf("%s on %s: %d", kind, paper, w.Code)
			}
		}
		if w := (ask{method: "GET", path: "/turnouts/01-button/papers/" + kind + ".svg"}).do(h); w.Code != 200 || !strings.Contains(w.Body.String(), "<svg") {
			t.Errorf("%s.svg: %d", kind, w.Code)
		}
	}
	for path, status := range map[string]int{"menu.pdf": 404, "check-card.doc": 404, "check-card.pdf?paper=napkin": 400, "putting-to.pdf?order=tugs": 400} {
		if w := (ask{method: "GET", path: "/turnouts/01-button/papers/" + path}).do(h); w.Code != status {
			t.Errorf("%s: %d, want %d", path, w.Code, status)
		}
	}
}

// TestTheCardOnAPhone: a thumb goes through by the buttons at the bottom, takes
// one mark back, a reload keeps the marks, and the card is kept.
func TestTheCardOnAPhone(t *testing.T) {
	tab := testkit.Browser(t)
	h, s := house(t, true, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	open(t, tab, srv.URL+"/turnouts/06-bay-cob/check", 390)
	js(t, tab, `localStorage.clear(); 0`, new(int))
	open(t, tab, srv.URL+"/turnouts/06-bay-cob/check", 390)
	press := func(mark string) {
		t.Helper()
		js(t, tab, fmt.Sprintf(`document.querySelector('#next [data-mark="%s"]').click(); 0`, mark), new(int))
	}
	says := func(what string) {
		t.Helper()
		waitFor(t, tab, fmt.Sprintf(`document.getElementById('count').textContent === %q`, what))
	}
	var n int
	js(t, tab, `document.querySelectorAll('.line').length`, &n)
	press("looked at")
	press("fix")
	press("looked at")
	says(fmt.Sprintf("2 good, 1 to fix, 0 refused, %d not looked at.", n-3))
	js(t, tab, `document.getElementById('undo').click(); 0`, new(int))
	says(fmt.Sprintf("1 good, 1 to fix, 0 refused, %d not looked at.", n-2))
	open(t, tab, srv.URL+"/turnouts/06-bay-cob/check", 390)
	says(fmt.Sprintf("1 good, 1 to fix, 0 refused, %d not looked at.", n-2))
	for range n - 2 {
		press("looked at")
	}
	says(fmt.Sprintf("%d good, 1 to fix, 0 refused, 0 not looked at.", n-1))
	js(t, tab, `document.getElementById('checker').value = 'M. Ostrer'; document.getElementById('check').requestSubmit(); 0`, new(int))
	// The browser leaves the page meanwhile, so the store is asked.
	var kept []turnout.Kept
	var err error
	for range 100 {
		if kept, err = s.Records(t.Context(), "06-bay-cob", turnout.KeptCheck); err != nil || len(kept) > 0 {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if err != nil || len(kept) != 1 {
		t.Fatalf("%d kept, %v", len(kept), err)
	}
	if rec, err := turnout.DecodeRecord("x", kept[0].Document); err != nil || rec.Result != turnout.ShowAgain {
		t.Errorf("%+v, %v", rec, err)
	}
	open(t, tab, srv.URL+"/turnouts/06-bay-cob/checks/"+kept[0].ID, 390)
	waitFor(t, tab, `document.querySelector('h1').textContent.includes('fix and show again') && Object.keys(localStorage).every((k) => !k.startsWith('terret check ·'))`)
	// The draft is gone: the next card begins empty, with the checker's name.
	open(t, tab, srv.URL+"/turnouts/06-bay-cob/check", 390)
	says(fmt.Sprintf("0 good, 0 to fix, 0 refused, %d not looked at.", n))
	waitFor(t, tab, `document.getElementById('checker').value === 'M. Ostrer'`)
}
