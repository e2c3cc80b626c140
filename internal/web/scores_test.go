package web

import (
	"bytes"
	"context"
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

	"terret/examples/demo"
	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/store"
	"terret/internal/trial"
	"terret/internal/web/ground"
)

// autumn is the id of the small trial of the examples in scored's house.
const autumn = "autumn"

// scored is a house with the small trial of the examples in it; its sheets are the
// first marks. With none, its sheets are left out.
func scored(t testing.TB, sheets bool) (poster, http.Handler, *store.Store) {
	t.Helper()
	h, st := house(t, true, straight{})
	data, err := os.ReadFile(filepath.Join("..", "..", "examples", "trials", "hollowmere.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	day, _, err := trial.Decode("hollowmere.yaml", data, rules.Load)
	if err != nil {
		t.Fatal(err)
	}
	if !sheets {
		day.Sheets = nil
	}
	keepTrial(t, st, autumn, day)
	return func(a ask) *httptest.ResponseRecorder { return a.do(h) }, h, st
}

func keepTrial(t testing.TB, st trial.Store, id string, day *trial.Trial) {
	t.Helper()
	setting, marks := trial.Split(day, "import", "file", noon)
	if _, err := st.SaveSetting(context.Background(), id, 0, trial.Setting{Trial: setting, By: "import", At: noon}); err != nil {
		t.Fatal(err)
	}
	receipts, err := st.Append(context.Background(), id, marks, noon)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range receipts {
		if r.Fault != nil {
			t.Fatal(r.Fault)
		}
	}
}

// keptDay is a trial as it is kept, scored anew by package trial alone: what the pages
// say is held against it.
type keptDay struct {
	st      trial.Store
	id      string
	setting trial.Setting
	profile *rules.Profile
	ledger  *trial.Ledger
	board   *trial.Board
	wrong   fault.List // marks that are left off
}

// openOf reads a trial from the store.
func openOf(t testing.TB, st trial.Store, id string) *keptDay {
	t.Helper()
	d := &keptDay{st: st, id: id}
	var err error
	if d.setting, err = st.Setting(context.Background(), id, 0); err != nil {
		t.Fatal(err)
	}
	if d.profile, err = d.setting.Profile(); err != nil {
		t.Fatal(err)
	}
	if d.ledger, _, err = trial.ReadLedger(context.Background(), st, id); err != nil {
		t.Fatal(err)
	}
	if d.board, d.wrong, err = d.ledger.Open(d.setting.Trial, d.profile); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *keptDay) answer() *trial.Answer { return d.board.Answer() }

// score is the score of an entry, entry and class what the setting has of that name;
// nil when there is none.
func (d *keptDay) score(n int) *trial.EntryScore {
	a := d.answer()
	for i := range a.Entries {
		if a.Entries[i].Number == n {
			return &a.Entries[i]
		}
	}
	return nil
}

func (d *keptDay) entry(n int) *trial.Entry {
	for i := range d.setting.Trial.Entries {
		if e := &d.setting.Trial.Entries[i]; e.Number == n {
			return e
		}
	}
	return nil
}

func (d *keptDay) class(id string) *trial.Class {
	for i := range d.setting.Trial.Classes {
		if c := &d.setting.Trial.Classes[i]; c.ID == id {
			return c
		}
	}
	return nil
}

// keep hands marks in, as a phone does.
func (d *keptDay) keep(ctx context.Context, now time.Time, marks ...trial.Mark) error {
	receipts, err := d.st.Append(ctx, d.id, marks, now)
	if err != nil {
		return err
	}
	return trial.Refused(receipts)
}

// TestScorePages: who asks, what must and must not appear.
func TestScorePages(t *testing.T) {
	do, _, _ := scored(t, true)
	emptyHouse, _ := house(t, false, straight{})
	none := func(a ask) *httptest.ResponseRecorder { return a.do(emptyHouse) }
	for name, row := range map[string]struct {
		ask
		do     poster
		status int
		has    []string
		hasNot []string
	}{
		"the list names the trial":           {ask: ask{method: "GET", path: "/scores"}, do: do, status: 200, has: []string{"Hollowmere autumn schooling trial", "6 entries in 2 classes", "/scores/autumn/desk"}, hasNot: []string{"Not built yet"}},
		"an empty list says what to do":      {ask: ask{method: "GET", path: "/scores"}, do: none, status: 200, has: []string{"no trial yet", "trial/1", "serve --demo"}},
		"entries by class, the scratched":    {ask: ask{method: "GET", path: "/scores/autumn"}, do: do, status: 200, has: []string{"Hazel Fenn", "Single pony", "withdrawn", "letters A to C", "/scores/autumn/entry?class=N"}},
		"what it is made of":                 {ask: ask{method: "GET", path: "/scores/autumn/setup"}, do: do, status: 200, has: []string{"Single pony", "letters A to C", "H1 · Orchard", "8 marks", "three-phase", "/scores/autumn/course?name=C1"}},
		"one entry in the form":              {ask: ask{method: "GET", path: "/scores/autumn/entry?name=7"}, do: do, status: 200, has: []string{"Change entry 7", `value="Hazel Fenn"`, `value="Rob Alder"`}},
		"an unknown entry":                   {ask: ask{method: "GET", path: "/scores/autumn/entry?name=99"}, do: do, status: 404, has: []string{"no such entry"}},
		"an unknown trial":                   {ask: ask{method: "GET", path: "/scores/winter"}, do: do, status: 404, has: []string{"no trial of that name"}},
		"the desk lists its piles":           {ask: ask{method: "GET", path: "/scores/autumn/desk"}, do: do, status: 200, has: []string{"Dressage, judge C", "Dressage, judge B", "Hazard H1, Orchard", "Hazard H2, Brook", "Cones C1", "2 of 2 in", "3 of 3 in", "5 of 5 in"}, hasNot: []string{`id="number"`}},
		"a pile has its boxes":               {ask: ask{method: "GET", path: "/scores/autumn/desk?pile=hazards:H1"}, do: do, status: 200, has: []string{`name="gates"`, `name="seconds"`, `name="faults"`, "Ida Rook", "single"}, hasNot: []string{`name="knocked"`, `name="m.0"`, "Jory Sedge"}},
		"a test has a box a movement":        {ask: ask{method: "GET", path: "/scores/autumn/desk?pile=dressage:T1:C"}, do: do, status: 200, has: []string{`name="m.0"`, `name="m.7"`, "× 2"}, hasNot: []string{`name="m.8"`, `name="seconds"`}},
		"a sheet that is in is a correction": {ask: ask{method: "GET", path: "/scores/autumn/desk?pile=hazards:H2&number=8"}, do: do, status: 200, has: []string{"A correction", `value="61.02"`, `value="A B C"`, "Keep the correction"}, hasNot: []string{"71.02"}},
		"another judge begins a pile":        {ask: ask{method: "GET", path: "/scores/autumn/desk?pile=dressage:T1:C&judge=m"}, do: do, status: 200, has: []string{"judge M", "missing 7, 8, 9, 12, 13"}},
		"an unknown pile":                    {ask: ask{method: "GET", path: "/scores/autumn/desk?pile=hazards:H9"}, do: do, status: 404, has: []string{"no such pile"}},
		"the file has the sheets":            {ask: ask{method: "GET", path: "/scores/autumn/file"}, do: do, status: 200, has: []string{"terret: trial/1", "71.02", "replaces: s12", "61.02"}},
	} {
		t.Run(name, func(t *testing.T) {
			w := row.do(row.ask)
			body := html.UnescapeString(w.Body.String())
			if w.Code != row.status {
				t.Fatalf("status %d, want %d: %s", w.Code, row.status, body)
			}
			for _, s := range row.has {
				if !strings.Contains(body, s) {
					t.Errorf("does not say %q", s)
				}
			}
			for _, s := range append(row.hasNot, "safe", "<nil>", "%!") {
				if strings.Contains(body, s) {
					t.Errorf("says %q", s)
				}
			}
			if t.Failed() {
				t.Log(body)
			}
		})
	}
}

// sheetOf is a form of the desk.
func sheetOf(pile, number string, more ...string) url.Values {
	v := url.Values{"pile": {pile}, "number": {number}, "by": {"JB"}, "mark": {"mark-" + pile + "-" + number}}
	for i := 0; i < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	return v
}

// TestDeskTakesSheets: one row is one form, what comes of it and what the page or
// the ledger says.
func TestDeskTakesSheets(t *testing.T) {
	const desk = "/scores/autumn/desk"
	for name, row := range map[string]struct {
		form   url.Values
		status int
		has    []string // on the page that answers, or that it leads to
		marks  int      // how many more
	}{
		"a hazard, letters in one go":       {sheetOf("hazards:H2", "9", "gates", "abd<c", "seconds", "41.37", "faults", "dis 2, groom d"), 303, []string{"Kept", "Tom Larch", "A B D< C", "dislodged 2", "groom down"}, 1},
		"cones, obstacles and parts":        {sheetOf("cones:C1", "9", "seconds", "160.20", "knocked", "3 7b", "faults", "ref"), 303, []string{"3 7b", "refusal"}, 1},
		"marks, one forgotten":              {sheetOf("dressage:T1:C", "9", "m.0", "6", "m.1", "6", "m.2", "6", "m.3", "6", "m.4", "6", "m.5", "6", "m.6", "6", "m.7", ""), 409, []string{"in already", "7.5"}, 0},
		"a number alone lays its sheet":     {sheetOf("hazards:H1", "7"), 200, []string{"A correction", `value="41.37"`}, 0},
		"a number alone, not in yet":        {sheetOf("hazards:H2", "9"), 200, []string{"Tom Larch", `value="9"`}, 0},
		"an unknown entry":                  {sheetOf("hazards:H1", "99", "seconds", "40.10", "gates", "abc"), 422, []string{`there is no entry "99"`, `value="40.10"`, `aria-invalid="true"`}, 0},
		"an entry of another class":         {sheetOf("hazards:H1", "12", "seconds", "40.10"), 422, []string{"Jory Sedge", "no sheet in this pile"}, 0},
		"a comma in the time":               {sheetOf("hazards:H2", "9", "gates", "abc", "seconds", "40,10"), 422, []string{"there is a comma in the number", `id="b-seconds-wrong"`, `value="40,10"`}, 0},
		"minutes in the time":               {sheetOf("cones:C1", "9", "seconds", "2:28.35"), 422, []string{"minutes stand in the number", "148.35"}, 0},
		"a mark over the scale":             {sheetOf("dressage:T1:M", "9", "m.0", "6", "m.1", "65", "m.2", "6", "m.3", "6", "m.4", "6", "m.5", "6", "m.6", "6", "m.7", "6"), 422, []string{"mark 2 is 65", `id="b-m-1-wrong"`}, 0},
		"a fault that is none":              {sheetOf("cones:C1", "9", "seconds", "148.35", "faults", "sneezed"), 422, []string{`no fault "sneezed"`, `id="b-faults-wrong"`}, 0},
		"a fault that may be two":           {sheetOf("hazards:H2", "9", "gates", "abc", "seconds", "40.10", "faults", "h"), 422, []string{"write a letter more"}, 0},
		"a letter that is none":             {sheetOf("hazards:H2", "9", "gates", "a 7 c", "seconds", "40.10"), 422, []string{`id="b-gates-wrong"`}, 0},
		"nobody writes":                     {sheetOf("hazards:H2", "9", "gates", "abc", "seconds", "40.10", "by", ""), 422, []string{"write your initials", `id="by-wrong"`, `value="40.10"`}, 0},
		"a sheet that is in, not looked at": {sheetOf("hazards:H1", "7", "gates", "abc", "seconds", "50"), 409, []string{"in already, typed by import", "on the sheet: <b>41.37</b>", `value="50"`, `name="replaces"`}, 0},
		"the same sheet by another hand":    {sheetOf("hazards:H1", "8", "gates", "a b c", "seconds", "48.90"), 303, []string{"Ida Rook", "48.90"}, 0},
		"eliminated by the judge":           {sheetOf("hazards:H2", "9", "out", "left the hazard"), 303, []string{"eliminated"}, 1},
		"an empty sheet but for faults":     {sheetOf("hazards:H2", "9", "faults", "dis"), 422, []string{"nothing on this sheet but its number"}, 0},
		"an unknown pile":                   {sheetOf("hazards:H9", "9", "seconds", "40"), 404, []string{"no such pile"}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			do, _, st := scored(t, true)
			before := openOf(t, st, autumn).ledger.Len()
			w := do.post(desk, row.form)
			if w.Code != row.status {
				t.Fatalf("status %d, want %d: %s", w.Code, row.status, w.Body)
			}
			if w.Code == 303 {
				w = do(ask{method: "GET", path: w.Header().Get("Location")})
			}
			body := html.UnescapeString(w.Body.String())
			for _, s := range row.has {
				if !strings.Contains(body, s) {
					t.Errorf("does not say %q:\n%s", s, body)
				}
			}
			if n := openOf(t, st, autumn).ledger.Len() - before; n != row.marks {
				t.Errorf("%d marks more, want %d", n, row.marks)
			}
		})
	}
}

// TestACorrectionKeepsWhatWasThere: the old value stays beside the new, sending a
// form twice keeps one mark, and a form that was kept cannot be kept with other
// values behind the writer's back.
func TestACorrectionKeepsWhatWasThere(t *testing.T) {
	do, _, st := scored(t, true)
	const desk = "/scores/autumn/desk"
	o := openOf(t, st, autumn)
	old := o.ledger.Counting("hazards:7:H1")
	fix := sheetOf("hazards:H1", "7", "gates", "abc", "seconds", "41.73", "faults", "dis", "replaces", old.ID, "why", "read wrong")
	w := do.post(desk, fix)
	if w.Code != 303 {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	page := html.UnescapeString(do(ask{method: "GET", path: w.Header().Get("Location")}).Body.String())
	for _, s := range []string{"Corrected", "41.73", `before: </span>41.37`} {
		if !strings.Contains(page, s) {
			t.Errorf("the page does not say %q:\n%s", s, page)
		}
	}
	if again := do.post(desk, fix); again.Code != 303 || again.Header().Get("Location") != w.Header().Get("Location") {
		t.Errorf("sent twice: %d to %s", again.Code, again.Header().Get("Location"))
	}
	fix.Set("seconds", "99")
	if other := do.post(desk, fix); other.Code != 409 || !strings.Contains(other.Body.String(), "kept before with other values") {
		t.Errorf("sent again with another time: %d", other.Code)
	}
	now := openOf(t, st, autumn)
	chain := now.ledger.Chain(now.ledger.Counting("hazards:7:H1").ID)
	if len(chain) != 2 || chain[0].Sheet.Seconds != "41.73" || chain[1].Sheet.Seconds != "41.37" || chain[0].Why != "read wrong" {
		t.Errorf("the chain is %+v", chain)
	}
	if now.ledger.Len() != o.ledger.Len()+1 {
		t.Errorf("%d marks more, want 1", now.ledger.Len()-o.ledger.Len())
	}
}

// TestMemoryIsTheLedger: the answer of the trial that is held in memory, after
// every kind of change, has the same bytes as one that is read from the store and
// counted anew.
func TestMemoryIsTheLedger(t *testing.T) {
	do, _, st := scored(t, true)
	same := func(what string) {
		t.Helper()
		var held trial.Answer
		if err := json.Unmarshal(do(ask{method: "GET", path: "/scores/autumn/results.json"}).Body.Bytes(), &held); err != nil {
			t.Fatal(err)
		}
		if a, b := jsonOf(t, held), jsonOf(t, openOf(t, st, autumn).answer()); !bytes.Equal(a, b) {
			t.Errorf("after %s memory says\n%s\nand the ledger\n%s", what, a, b)
		}
	}
	send := func(path string, v url.Values) {
		t.Helper()
		if w := do.post(path, v); w.Code != 303 {
			t.Fatalf("%s: %d %s", path, w.Code, w.Body)
		}
	}
	same("opening")
	send("/scores/autumn/desk", sheetOf("hazards:H1", "9", "gates", "abc", "seconds", "38.90", "replaces", openOf(t, st, autumn).ledger.Counting("hazards:9:H1").ID))
	same("a correction")
	send("/scores/autumn/desk", sheetOf("hazards:H2", "9", "gates", "abc", "seconds", "50.01"))
	same("a sheet")
	send("/scores/autumn/status", url.Values{"entry": {"8"}, "status": {"retired"}, "in_phase": {"cones"}, "why": {"trace broke"}, "by": {"JB"}, "mark": {"status-8"}})
	same("a retirement")
	send("/scores/autumn/entry", url.Values{"seen": {"1"}, "number": {"15"}, "class": {"N"}, "driver": {"Late Comer"}, "by": {"JB"}})
	same("a late entry")
	send("/scores/autumn/status", url.Values{"entry": {"8"}, "status": {"placed"}, "by": {"JB"}, "mark": {"status-8b"}})
	same("taking it back")
	send("/scores/autumn/rules", url.Values{"seen": {"2"}, "name": {"Hollowmere"}, "rules": {"three-phase-2000"}, "by": {"JB"}})
	same("other rules")
}

func jsonOf(t testing.TB, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// livedIn is a house with the demo, and the small trial in the middle of its day: a
// sheet corrected, one read a second time, a query answered and one open, a class
// posted.
func livedIn(t testing.TB, p ground.Planner) http.Handler {
	t.Helper()
	h, st := house(t, true, p)
	_, other, from := scored(t, true)
	_ = other
	day := openOf(t, from, autumn)
	keepTrial(t, st, autumn, day.ledger.Joined(day.setting.Trial))
	o := openOf(t, st, autumn)
	at := noon.UnixMilli()
	corrected := *o.ledger.Counting("hazards:7:H1").Sheet
	corrected.Seconds = "41.73"
	cones := o.ledger.Counting("cones:7:C1")
	marks := []trial.Mark{
		{ID: "seen-7", At: at, By: "JB", Device: "desk", Sheet: &corrected, Replaces: o.ledger.Counting("hazards:7:H1").ID, Why: "a 7 read as a 3"},
		{ID: "tick-7", At: at, By: "MO", Device: "desk", Tick: &trial.Tick{Sheet: cones.ID}},
		{ID: "post-P", At: at, By: "JB", Device: "desk", Posting: &trial.Posting{Class: "P", State: trial.Provisional, Until: noon.Add(25 * time.Minute).UnixMilli(), Counted: o.ledger.Len() + 2}},
		{ID: "query-7", At: at, By: "JB", Device: "desk", Query: &trial.Query{Entry: 7, Phase: "hazards", From: "Hazel Fenn", Asks: "My time in Orchard was 41.37 by the second watch.", Rule: "house rule on watches"}},
		{ID: "reply-7", At: at, By: "TD", Device: "desk", Reply: &trial.Reply{Query: "query-7", Says: "Both watches were read again: 41.73.", Heard: "the timer", Changed: "seen-7"}},
		{ID: "query-8", At: at, By: "JB", Device: "desk", Query: &trial.Query{Entry: 8, From: "Ida Rook", Asks: "Which ball was down?"}},
	}
	if err := o.keep(context.Background(), noon, marks...); err != nil {
		t.Fatal(err)
	}
	if err := demo.Keep(context.Background(), st, noon); err != nil {
		t.Fatal(err)
	}
	return h
}

// scorePages renders every page of the Scores tab on a day that is lived in.
func scorePages(t *testing.T) map[string]bool {
	t.Helper()
	h := livedIn(t, straight{})
	seen := map[string]bool{}
	none, _ := house(t, false, straight{})
	if w := (ask{method: "GET", path: "/day"}).do(none); w.Code == 200 {
		seen["day_empty"] = true
	}
	for name, path := range map[string]string{"scores": "/scores", "scores_trial": "/scores/autumn", "scores_new": "/scores/new", "scores_setup": "/scores/autumn/setup", "scores_tables": "/scores/autumn/tables", "scores_change": "/scores/autumn/entry?name=7", "scores_desk": "/scores/autumn/desk?pile=hazards:H1", "scores_number": "/scores/autumn/number/7", "scores_reading": "/scores/autumn/reading",
		"scores_placings": "/scores/autumn/placings", "scores_board": "/scores/autumn/board", "scores_results": "/scores/autumn/results", "scores_queries": "/scores/autumn/queries", "scores_slip": "/scores/autumn/slip?query=query-7", "scores_log": "/scores/autumn/log",
		"day": "/day/hollowmere-day", "day_timetable": "/day/hollowmere-day/timetable", "day_rota": "/day/hollowmere-day/rota?job=orchard-timers&shift=0", "day_replan": "/day/hollowmere-day/replan?at=09:30"} {
		w := (ask{method: "GET", path: path}).do(h)
		if w.Code != 200 || !strings.Contains(w.Body.String(), "</html>") {
			t.Errorf("%s: status %d: %s", path, w.Code, w.Body)
		}
		seen[name] = true
	}
	return seen
}
