package web

import (
	"bytes"
	"encoding/csv"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"terret/internal/exchange"
	"terret/internal/rules"
	"terret/internal/store"
	"terret/internal/trial"
)

// timed is scored's house with a clock that the test turns.
func timed(t *testing.T) (poster, *store.Store, *time.Time) { return timedWith(t, true) }

func timedWith(t *testing.T, sheets bool) (poster, *store.Store, *time.Time) {
	t.Helper()
	_, _, from := scored(t, sheets)
	day := openOf(t, from, autumn)
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	keepTrial(t, st, autumn, day.ledger.Joined(day.setting.Trial))
	now := noon
	h := New(Config{Store: st, Records: st, Trials: st, Planner: straight{}, Now: func() time.Time { return now }, Version: "test"})
	return func(a ask) *httptest.ResponseRecorder { return a.do(h) }, st, &now
}

// says gets a page and looks for words in it.
func (p poster) says(t *testing.T, path string, has, hasNot []string) {
	t.Helper()
	w := p(ask{method: "GET", path: path})
	body := html.UnescapeString(w.Body.String())
	if w.Code != http.StatusOK {
		t.Fatalf("%s: %d %s", path, w.Code, body)
	}
	for _, s := range has {
		if !strings.Contains(body, s) {
			t.Errorf("%s does not say %q:\n%s", path, s, body)
		}
	}
	for _, s := range hasNot {
		if strings.Contains(body, s) {
			t.Errorf("%s says %q", path, s)
		}
	}
}

// send posts a form and wants a status; the page's words come back.
func (p poster) send(t *testing.T, path string, status int, pairs ...string) string {
	t.Helper()
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	w := p.post(path, v)
	if w.Code != status {
		t.Fatalf("%s %v: status %d, want %d: %s", path, pairs, w.Code, status, w.Body)
	}
	return html.UnescapeString(w.Body.String())
}

func contains(t *testing.T, body string, has ...string) {
	t.Helper()
	for _, s := range has {
		if !strings.Contains(body, s) {
			t.Errorf("does not say %q:\n%s", s, body)
		}
	}
}

// TestFromProvisionalToFinal: a class is posted, asked about, corrected, posted
// anew and signed; at each step what may not be is refused with its reason.
func TestFromProvisionalToFinal(t *testing.T) {
	do, st, now := timed(t)
	const at = "/scores/autumn"
	contains(t, do.send(t, at+"/placings", 422, "class", "P", "state", "final", "by", "JB", "mark", "a"), "post them as provisional first")
	contains(t, do.send(t, at+"/placings", 422, "class", "P", "state", "provisional", "minutes", "half", "by", "JB", "mark", "a"), "whole minutes")
	contains(t, do.send(t, at+"/placings", 422, "class", "P", "state", "provisional", "minutes", "30", "by", "", "mark", "a"), "write your initials")
	do.send(t, at+"/placings", 404, "class", "Z", "state", "provisional", "minutes", "30", "by", "JB", "mark", "a")
	do.says(t, at+"/board", []string{"Not posted yet"}, []string{"Provisional"})
	do.send(t, at+"/placings", 303, "class", "P", "state", "provisional", "minutes", "30", "by", "JB", "mark", "post-1")
	do.send(t, at+"/placings", 303, "class", "P", "state", "provisional", "minutes", "30", "by", "JB", "mark", "post-1") // sent twice
	until := noon.Add(30 * time.Minute).Local().Format("15:04")
	do.says(t, at+"/board?class=P", []string{"Provisional; queries until " + until + ", 30 minutes left", "Ida Rook"}, []string{"Jory Sedge"})
	contains(t, do.send(t, at+"/placings", 422, "class", "P", "state", "final", "by", "JB", "mark", "b"), "queries are heard until")

	*now = now.Add(10 * time.Minute)
	do.says(t, at+"/board", []string{"20 minutes left"}, nil)
	do.says(t, at+"/results", []string{"Provisional; queries until " + until + "."}, []string{"minutes left"})
	contains(t, do.send(t, at+"/queries", 422, "entry", "", "from", "", "asks", "", "by", "", "mark", "q"), "choose the entry", "write who asks", "write what is doubted", "write your initials")
	contains(t, do.send(t, at+"/queries", 422, "entry", "12", "phase", "hazards", "from", "x", "asks", "x", "by", "JB", "mark", "q"), "class N does not drive hazards")
	do.send(t, at+"/queries", 303, "entry", "7", "phase", "hazards", "from", "Hazel Fenn", "asks", "The second watch showed 41.07", "rule", "watches", "by", "JB", "mark", "query-1")
	*now = now.Add(40 * time.Minute)
	do.says(t, at+"/board", []string{"the time for queries ended at " + until, "1 open query"}, nil)
	contains(t, do.send(t, at+"/placings", 422, "class", "P", "state", "final", "by", "JB", "mark", "c"), "a query is open")

	old := openOf(t, st, autumn).ledger.Counting("hazards:7:H1")
	do.send(t, at+"/desk", 303, "pile", "hazards:H1", "number", "7", "gates", "abc", "seconds", "41.07", "faults", "dis", "by", "JB", "replaces", old.ID, "why", "watch read again", "mark", "fix-1")
	contains(t, do.send(t, at+"/replies", 422, "query", "query-1", "says", "", "by", "TD", "mark", "r"), "write the decision")
	do.send(t, at+"/replies", 303, "query", "query-1", "says", "Upheld, 41.07 on both watches.", "heard", "the timer", "changed", "fix-1", "by", "TD", "mark", "reply-1")
	do.send(t, at+"/replies", 409, "query", "query-1", "says", "No.", "by", "XY", "mark", "reply-2")
	do.says(t, at+"/queries", []string{"0 open", "Upheld", "before: </span>41.37</s> → <b>41.07</b>"}, nil)
	do.says(t, at+"/slip?query=query-1", []string{"41.37", "41.07", "Hazel Fenn", "the timer"}, nil)
	do.says(t, at+"/number/7", []string{"41.07", "41.37", "watch read again", "Upheld"}, nil)
	do.says(t, at+"/board", []string{"A sheet came since it was posted"}, nil)
	contains(t, do.send(t, at+"/placings", 422, "class", "P", "state", "final", "by", "JB", "mark", "d"), "post them again")

	do.send(t, at+"/placings", 303, "class", "P", "state", "provisional", "minutes", "5", "by", "JB", "mark", "post-2")
	*now = now.Add(6 * time.Minute)
	do.send(t, at+"/placings", 303, "class", "P", "state", "final", "by", "TD", "mark", "post-3")
	do.says(t, at+"/board", []string{"Final, signed " + now.Local().Format("15:04") + " by TD"}, []string{"A sheet came"})
	do.says(t, at+"/log", []string{"placings of class P posted, final", "query by Hazel Fenn", "decision: Upheld", "41.37", "41.07"}, nil)

	// Both numbers are still in the ledger, and only the new one counts.
	o := openOf(t, st, autumn)
	if s := o.score(7).Phases["hazards"].Seconds; s != "93.15" {
		t.Errorf("the time is %s s, want 41.07 + 52.08 = 93.15", s)
	}
}

// TestTheSecondReader: whoever typed a sheet cannot tick it, and a correction wants
// to be read again.
func TestTheSecondReader(t *testing.T) {
	do, st, _ := timed(t)
	const at = "/scores/autumn"
	do.send(t, at+"/desk", 303, "pile", "hazards:H2", "number", "9", "gates", "abc", "seconds", "50.01", "by", "JB", "mark", "typed")
	contains(t, do.send(t, at+"/reading", 422, "sheet", "typed", "reader", "jb"), "you typed this one")
	contains(t, do.send(t, at+"/reading", 422, "sheet", "typed", "reader", ""), "write your initials")
	do.send(t, at+"/reading", 303, "pile", "hazards:H2", "sheet", "typed", "reader", "MO")
	do.send(t, at+"/reading", 303, "pile", "hazards:H2", "sheet", "typed", "reader", "MO") // sent twice
	o := openOf(t, st, autumn)
	if n := len(o.ledger.Ticks("typed")); n != 1 {
		t.Errorf("%d ticks, want 1", n)
	}
	do.says(t, at+"/number/9", []string{"Read a second time by MO"}, nil)
	do.send(t, at+"/desk", 303, "pile", "hazards:H2", "number", "9", "gates", "abc", "seconds", "50.10", "by", "JB", "replaces", "typed", "mark", "typed-2")
	do.says(t, at+"/reading?pile=hazards:H2", []string{"50.10", "50.01"}, nil)

	// A sheet on the wrong number is taken back and stays in the log.
	do.send(t, at+"/undo", 422, "undoes", "typed-2", "by", "JB", "why", "", "mark", "undo")
	do.send(t, at+"/undo", 404, "undoes", "nothing", "by", "JB", "why", "x", "mark", "undo")
	do.send(t, at+"/undo", 303, "undoes", "typed-2", "by", "JB", "why", "wrong number", "mark", "undo")
	do.send(t, at+"/undo", 303, "undoes", "typed-2", "by", "JB", "why", "wrong number", "mark", "undo")
	if m := openOf(t, st, autumn).ledger.Counting("hazards:9:H2"); m == nil || m.ID != "typed" {
		t.Errorf("after the undo %+v counts", m)
	}
	do.says(t, at+"/log?entry=9", []string{"taken back: Hazard H2, Brook", "wrong number"}, []string{"Ida"})
}

// TestTheBoardAnswersOnlyWhatIsNew: the same board has the same tag and is not sent
// again; one more sheet, or one minute less for queries, is.
func TestTheBoardAnswersOnlyWhatIsNew(t *testing.T) {
	do, _, _ := timed(t)
	tagged := func(tag string) *httptest.ResponseRecorder {
		return do(ask{method: "GET", path: "/scores/autumn/board", tag: tag})
	}
	first := tagged("")
	tag := first.Header().Get("ETag")
	if first.Code != 200 || tag == "" {
		t.Fatalf("%d, tag %q", first.Code, tag)
	}
	if again := tagged(tag); again.Code != 304 || again.Body.Len() != 0 {
		t.Errorf("asked again: %d and %d bytes", again.Code, again.Body.Len())
	}
	do.send(t, "/scores/autumn/desk", 303, "pile", "cones:C1", "number", "9", "seconds", "150.00", "by", "JB", "mark", "m")
	if after := tagged(tag); after.Code != 200 || after.Header().Get("ETag") == tag {
		t.Errorf("after a sheet: %d", after.Code)
	}
}

// TestResultsGoOut: CSV, XLSX and JSON hold the places that the board shows.
func TestResultsGoOut(t *testing.T) {
	do, st, _ := timed(t)
	get := func(path string) []byte {
		t.Helper()
		w := do(ask{method: "GET", path: path})
		if w.Code != 200 {
			t.Fatalf("%s: %d", path, w.Code)
		}
		return w.Body.Bytes()
	}
	want := openOf(t, st, autumn).answer()
	rows, err := csv.NewReader(bytes.NewReader(get("/scores/autumn/results.csv"))).ReadAll()
	if err != nil || len(rows) != len(want.Entries)+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	if rows[1][1] != "1" || rows[1][3] != "Ida Rook" {
		t.Errorf("the first row is %v", rows[1])
	}
	tables, _, faults := exchange.ReadXLSX("day.xlsx", get("/scores/autumn/results.xlsx"))
	if len(faults) > 0 {
		t.Error(faults)
	}
	again, left, err := exchange.Assemble(nil, tables, rules.Load)
	if err != nil || len(left) > 0 {
		t.Fatal(err, left)
	}
	p, err := rules.Load(again.Rules)
	if err != nil {
		t.Fatal(err)
	}
	back, err := trial.Score(again, p)
	if err != nil || !bytes.Equal(jsonOf(t, back), jsonOf(t, want)) {
		t.Errorf("the workbook scores otherwise: %v", err)
	}
	var indented bytes.Buffer
	indented.Write(get("/scores/autumn/results.json"))
	if !bytes.Contains(indented.Bytes(), []byte(`"driver": "Ida Rook"`)) {
		t.Errorf("%s", indented.Bytes())
	}
}

// TestTrialsComeInAndChange: a file is brought in whole or not at all, entries are
// added and changed in a version of their own.
func TestTrialsComeInAndChange(t *testing.T) {
	do, st, _ := timed(t)
	file := do(ask{method: "GET", path: "/scores/autumn/file"}).Body.String()
	in := func(text string) *httptest.ResponseRecorder {
		body, kind := formFile(t, "day.yaml", text)
		return do(ask{method: "POST", path: "/scores/import", body: body, kind: kind})
	}
	w := in(file)
	if w.Code != 303 {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	id := strings.TrimPrefix(w.Header().Get("Location"), "/scores/")
	a, b := openOf(t, st, autumn).answer(), openOf(t, st, id).answer()
	if !bytes.Equal(jsonOf(t, a), jsonOf(t, b)) {
		t.Error("the trial that was brought in scores otherwise")
	}
	if w := in(strings.Replace(file, `"41.37"`, `"41,37"`, 1)); w.Code != 422 || !strings.Contains(w.Body.String(), "comma in the number") {
		t.Errorf("a comma in a file: %d", w.Code)
	}
	if all, err := st.Trials(t.Context()); err != nil || len(all) != 2 {
		t.Errorf("%d trials, %v", len(all), err)
	}
	const at = "/scores/autumn"
	contains(t, do.send(t, at+"/entry", 422, "seen", "1", "number", "seven", "class", "Z", "driver", "", "gap_cm", "wide", "by", ""), "1 to 99999", "choose the class", "write who drives", "whole centimetres", "write your initials")
	contains(t, do.send(t, at+"/entry", 422, "seen", "1", "number", "7", "class", "P", "driver", "Nan Moor", "by", "JB"), "number 7 is Hazel Fenn already")
	do.send(t, at+"/entry", 303, "seen", "1", "number", "21", "class", "P", "driver", "Nan Moor", "horses", "Tinker; Tailor", "gap_cm", "165", "by", "JB")
	contains(t, do.send(t, at+"/entry", 422, "seen", "1", "was", "7", "number", "70", "class", "P", "driver", "Hazel Fenn", "by", "JB"), "sheets of 7 are in")
	do.send(t, at+"/entry", 303, "seen", "2", "was", "21", "number", "22", "class", "P", "driver", "Nan Moor", "horses", "Tinker", "by", "JB")
	o := openOf(t, st, autumn)
	if e := o.entry(22); e == nil || len(e.Horses) != 1 || o.entry(21) != nil || o.setting.Version != 3 {
		t.Errorf("version %d has %+v", o.setting.Version, e)
	}
	do.send(t, at+"/status", 303, "entry", "22", "status", "withdrawn", "why", "lame", "by", "JB", "mark", "scratch")
	do.says(t, at, []string{"withdrawn: lame"}, nil)
	do.says(t, at+"/desk", []string{"3 of 3 in"}, []string{"missing 22"})
	do.send(t, at+"/status", 404, "entry", "99", "status", "withdrawn", "by", "JB", "mark", "x")
	do.send(t, at+"/status", 422, "entry", "12", "status", "retired", "in_phase", "hazards", "by", "JB", "mark", "x")
	do.send(t, at+"/rules", 303, "seen", "3", "name", "Hollowmere", "rules", "three-phase-2000", "by", "JB")
	if o := openOf(t, st, autumn); o.profile.Name != "three-phase-2000" {
		t.Errorf("the rules are %s", o.profile.Name)
	}
	contains(t, do.send(t, at+"/rules", 422, "seen", "4", "name", "Hollowmere", "rules", "pleasure", "by", "JB"), "has no rules for")
}

// formFile is a form with one file in it.
func formFile(t *testing.T, name, text string) (body, kind string) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	f, err := m.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String(), m.FormDataContentType()
}

// TestManyAtOnce: sheets typed at several desks while boards follow are all there,
// none twice, and nothing is counted by halves. The race detector looks on.
func TestManyAtOnce(t *testing.T) {
	do, st, _ := timedWith(t, false)
	piles := [][2]string{}
	for _, n := range []string{"7", "8", "9"} {
		piles = append(piles, [2]string{"hazards:H1", n}, [2]string{"hazards:H2", n}, [2]string{"cones:C1", n})
	}
	piles = append(piles, [2]string{"cones:C2", "12"}, [2]string{"cones:C2", "13"})
	var all sync.WaitGroup
	for _, p := range piles {
		for range 2 { // each sheet is sent twice
			all.Go(func() {
				v := sheetOf(p[0], p[1], "seconds", "60.5"+p[1][:1])
				if strings.HasPrefix(p[0], "hazards") {
					v.Set("gates", "abc")
				}
				if w := do.post("/scores/autumn/desk", v); w.Code != 303 {
					t.Errorf("%v: %d", p, w.Code)
				}
			})
		}
		all.Go(func() {
			if w := do(ask{method: "GET", path: "/scores/autumn/board"}); w.Code != 200 {
				t.Errorf("board: %d", w.Code)
			}
		})
	}
	all.Wait()
	if n := openOf(t, st, autumn).ledger.Len(); n != len(piles) {
		t.Errorf("%d marks, want %d", n, len(piles))
	}
	do.says(t, "/scores/autumn/desk", []string{"3 of 3 in", "2 of 2 in"}, nil)
}

// TestTwoSheetsOfOneRun: two phones out of touch hand in one run each; both are
// shown, the first counts, and taking it back lets the other count.
func TestTwoSheetsOfOneRun(t *testing.T) {
	do, st, _ := timed(t)
	o := openOf(t, st, autumn)
	sheet := func(seconds string) *trial.Sheet {
		return &trial.Sheet{Phase: "hazards", Entry: 9, Course: "H2", Gates: "A B C", Seconds: seconds}
	}
	at := noon.UnixMilli()
	if err := o.keep(t.Context(), noon, trial.Mark{ID: "p1", At: at, By: "Col", Device: "phone 1", Sheet: sheet("50.01")}, trial.Mark{ID: "p2", At: at, By: "Fay", Device: "phone 2", Sheet: sheet("55.01")}); err != nil {
		t.Fatal(err)
	}
	do.says(t, "/scores/autumn/desk", []string{"two sheets were handed in for one run", "Col, ", " and Fay, "}, nil)
	do.says(t, "/scores/autumn/number/9", []string{"50.01", "55.01", "handed in as well", "this one does not count"}, nil)
	contains(t, do.send(t, "/scores/autumn/placings", 422, "class", "P", "state", "final", "by", "JB", "mark", "f"), "two sheets were handed in for one run; take back")
	do.send(t, "/scores/autumn/undo", 303, "undoes", "p1", "by", "JB", "why", "the watch of Fay was the official one", "mark", "u")
	do.says(t, "/scores/autumn/number/9", []string{"55.01"}, []string{"handed in as well", "two sheets"})
	if m := openOf(t, st, autumn).ledger.Counting("hazards:9:H2"); m == nil || m.ID != "p2" {
		t.Errorf("%+v counts", m)
	}
}
