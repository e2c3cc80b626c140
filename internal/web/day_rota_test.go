package web

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"terret/examples"
	"terret/examples/demo"
	"terret/internal/rota"
	"terret/internal/store"
	"terret/internal/testkit"
)

// jobsHouse is a house with the demo's day and its jobs.
func jobsHouse(t *testing.T) (poster, *store.Store) {
	t.Helper()
	h, st := house(t, false, straight{})
	if err := demo.Keep(t.Context(), st, noon); err != nil {
		t.Fatal(err)
	}
	return func(a ask) *httptest.ResponseRecorder { return a.do(h) }, st
}

const jobsAt = "/day/" + demo.TrialID + "/rota"

// jobsNow are the jobs as they are kept.
func jobsNow(t *testing.T, st *store.Store) (rota.Saved, *rota.Rota) {
	t.Helper()
	v, err := st.Rota(t.Context(), demo.TrialID, 0)
	if err != nil {
		t.Fatal(err)
	}
	r, err := rota.Decode("jobs", v.Document)
	if err != nil {
		t.Fatal(err)
	}
	return v, r
}

// holders are who holds a shift.
func holders(t *testing.T, st *store.Store, job string, n int) []string {
	t.Helper()
	_, r := jobsNow(t, st)
	_, sh, err := r.Shift(job, n)
	if err != nil {
		t.Fatal(err)
	}
	return sh.Held
}

// bring is a file sent by the form of a page.
func bring(path, name, text string, more ...string) ask {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for i := 0; i < len(more); i += 2 {
		_ = w.WriteField(more[i], more[i+1])
	}
	f, _ := w.CreateFormFile("file", name)
	_, _ = f.Write([]byte(text))
	_ = w.Close()
	return ask{method: "POST", path: path, kind: w.FormDataContentType(), body: b.String()}
}

// TestJobsPage: what is uncovered comes first, what stops the day on top of it; hours
// that end before the last start are told, with whom to ask and who holds what.
func TestJobsPage(t *testing.T) {
	do, _ := jobsHouse(t)
	body := html.UnescapeString(do(ask{method: "GET", path: jobsAt}).Body.String())
	last := -1
	for _, s := range []string{"These stop the day", "Timer at Orchard, 12:15 to 14:20: 1 of 2 missing; without it stops: the Orchard", "Uncovered besides", "Runner at scorer's office", "To be settled", "Observer at Orchard is held until 14:20; the last start of hazards is", "Whom to ask", "Nobody has been asked", "The jobs", "The people", "One more who helps", "Papers</h2>", "Emergency card", "Clinic slots"} {
		at := strings.Index(body, s)
		if at < 0 || at < last {
			t.Errorf("%q stands at %d, behind %d", s, at, last)
		}
		last = at
	}
	if found := regexp.MustCompile(`\bsafe\b|<nil>|%!`).FindString(body); found != "" {
		t.Errorf("says %q", found)
	}

	// The programme says so too, of what is not over yet.
	do.says(t, "/day/"+demo.TrialID+"?at=12:00", []string{"3 jobs that stop the day are empty", jobsAt}, nil)
	do.says(t, "/day/"+demo.TrialID+"?at=15:00", []string{"a job that stops the day is empty"}, nil)
	do.says(t, "/day/"+demo.TrialID+"?at=17:00", nil, []string{"stops the day", "stop the day"})

	// A day without jobs says what to do; one that is not there, that it is not.
	h, st := house(t, false, straight{})
	_, _, from := scored(t, false)
	day := openOf(t, from, autumn)
	keepTrial(t, st, autumn, day.ledger.Joined(day.setting.Trial))
	none := func(a ask) *httptest.ResponseRecorder { return a.do(h) }
	poster(none).says(t, "/day/autumn/rota", []string{"No jobs are kept", "rota/1", `name="file"`}, []string{"Whom to ask"})
	for path, status := range map[string]int{"/day/winter/rota": 404, "/day/autumn/rota/file": 404, "/day/autumn/rota/papers/rota.pdf": 404, jobsAt + "?job=zebra&shift=0": 404, jobsAt + "?job=scribe&shift=7": 404, jobsAt + "/papers/zebra.pdf": 404, jobsAt + "/papers/job-card.pdf?job=zebra": 404} {
		asker := do
		if strings.Contains(path, "/autumn/") {
			asker = none
		}
		if w := asker(ask{method: "GET", path: path}); w.Code != status {
			t.Errorf("%s: %d, want %d", path, w.Code, status)
		}
	}
	if w := none(ask{method: "POST", path: "/day/autumn/rota/take", kind: "application/x-www-form-urlencoded", body: "turn=a|08:00|09:00|b&by=JB&version=0"}); w.Code != 404 {
		t.Errorf("taken where there are no jobs: %d", w.Code)
	}
}

// TestJobsAreBroughtIn: a file comes in as it is; one with faults is named with each
// fault's place, and nothing is written.
func TestJobsAreBroughtIn(t *testing.T) {
	h, st := house(t, false, straight{})
	if err := demo.Keep(t.Context(), st, noon); err != nil {
		t.Fatal(err)
	}
	do := poster(func(a ask) *httptest.ResponseRecorder { return a.do(h) })
	const own = "terret: rota/1\nname: Small day # a remark\npeople: [{name: Ada}]\njobs: [{id: gate, from: \"09:00\", to: \"10:00\", held: [Ada]}]\n"
	for name, c := range map[string]struct {
		ask
		status int
		says   []string
	}{
		"a wrong file":     {bring(jobsAt+"/file", "mine.yaml", strings.Replace(own, "held: [Ada]", "held: [Bo]", 1), "version", "1", "by", "JB"), 422, []string{"mine.yaml", "mine.yaml:4", "nobody is called \"Bo\"", "was not brought in"}},
		"nobody writes":    {bring(jobsAt+"/file", "mine.yaml", own, "version", "1"), 422, []string{"write your initials"}},
		"no file":          {ask{method: "POST", path: jobsAt + "/file", kind: "application/x-www-form-urlencoded", body: "by=JB"}, 400, []string{"no file was chosen"}},
		"an older version": {bring(jobsAt+"/file", "mine.yaml", own, "version", "0", "by", "JB"), 409, []string{"Somebody changed the jobs while you looked: version A, by Bea Sallow"}},
	} {
		w := do(c.ask)
		body := html.UnescapeString(w.Body.String())
		if w.Code != c.status {
			t.Errorf("%s: %d", name, w.Code)
		}
		for _, s := range c.says {
			if !strings.Contains(body, s) {
				t.Errorf("%s does not say %q:\n%s", name, s, body)
			}
		}
		if v, _ := jobsNow(t, st); v.Version != 1 {
			t.Fatalf("%s: version %d is kept", name, v.Version)
		}
	}
	if w := do(bring(jobsAt+"/file", "mine.yaml", own, "version", "1", "by", "JB")); w.Code != 303 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if w := do(ask{method: "GET", path: jobsAt + "/file"}); w.Body.String() != own {
		t.Errorf("the file comes back as %q", w.Body)
	}
	do.says(t, jobsAt, []string{"Nothing that stops the day is uncovered", "brought in from mine.yaml", "version B"}, []string{"Whom to ask"})
	// The older version stands again, as the next one.
	do.send(t, jobsAt+"/back", 303, "to", "1", "version", "2", "by", "JB")
	if v, _ := jobsNow(t, st); v.Version != 3 || !bytes.Equal(v.Document, examples.Rota) || v.Note != "version A put back" {
		t.Errorf("version %d: %s", v.Version, v.Note)
	}
	do.send(t, jobsAt+"/back", 404, "to", "9", "version", "3", "by", "JB")
	do.send(t, jobsAt+"/back", 400, "to", "x", "version", "3", "by", "JB")
}

// TestJobsAreChanged: seats, people and proposals, one after the other, and what of them
// is refused with what was chosen still there.
func TestJobsAreChanged(t *testing.T) {
	do, st := jobsHouse(t)
	// Who holds one shift.
	do.says(t, jobsAt+"?job=orchard-timers&shift=0", []string{"Who holds Timer at Orchard, 12:15 to 14:20?", `<option value="Giles Moor" selected>`, "Hester Vane: holds another job then", "Rafe Sands: wants timer"}, nil)
	contains(t, do.send(t, jobsAt+"/hold", 422, "job", "orchard-timers", "shift", "0", "from", "12:15", "to", "14:20", "need", "2", "version", "1", "by", "JB", "held", "Zed"), `nobody is called "Zed"`)
	twice := do.post(jobsAt+"/hold", url.Values{"job": {"orchard-timers"}, "shift": {"0"}, "from": {"12:15"}, "to": {"14:20"}, "need": {"2"}, "version": {"1"}, "by": {"JB"}, "held": {"Prue Coombe", "Prue Coombe"}})
	if body := twice.Body.String(); twice.Code != 422 || !strings.Contains(body, "holds this twice") || strings.Count(body, `<option value="Prue Coombe" selected>`) != 2 {
		t.Errorf("%d: what was chosen is gone: %s", twice.Code, body)
	}
	contains(t, do.send(t, jobsAt+"/hold", 422, "job", "orchard-timers", "shift", "0", "from", "12:15", "to", "14:20", "need", "2", "version", "1", "by", "", "held", "Prue Coombe"), `id="hold-by-wrong"`, `href="#hold"`, `<option value="Prue Coombe" selected>`)
	if v, _ := jobsNow(t, st); v.Version != 1 {
		t.Fatalf("version %d is kept of nothing", v.Version)
	}
	w := do.post(jobsAt+"/hold", url.Values{"job": {"orchard-timers"}, "shift": {"0"}, "from": {"12:15"}, "to": {"14:20"}, "need": {"2"}, "version": {"1"}, "by": {"JB"}, "held": {"Prue Coombe", "", "Giles Moor"}})
	if w.Code != 303 || !slices.Equal(holders(t, st, "orchard-timers", 0), []string{"Prue Coombe", "Giles Moor"}) {
		t.Fatalf("%d: %v", w.Code, holders(t, st, "orchard-timers", 0))
	}
	if v, _ := jobsNow(t, st); v.By != "JB" || v.Note != "Timer at Orchard, 12:15 to 14:20: Prue Coombe, Giles Moor" {
		t.Errorf("noted by %s: %s", v.By, v.Note)
	}
	for box, pair := range map[string][2]string{"shift-from": {"noon", "14:20"}, "shift-to": {"14:20", "12:15"}} {
		contains(t, do.send(t, jobsAt+"/hold", 422, "job", "orchard-timers", "shift", "0", "version", "2", "by", "JB", "need", "2", "from", pair[0], "to", pair[1]), `id="`+box+`-wrong"`, `value="`+pair[0]+`"`, `value="`+pair[1]+`"`)
	}
	for _, need := range []string{"", "0", "two", "21"} {
		contains(t, do.send(t, jobsAt+"/hold", 422, "job", "orchard-timers", "shift", "0", "version", "2", "by", "JB", "need", need, "from", "12:15", "to", "14:20"), `id="shift-need-wrong"`)
	}
	// Another looked at version A: nothing of theirs is kept, and it is still there.
	stale := do.post(jobsAt+"/hold", url.Values{"job": {"cones-scribe"}, "shift": {"0"}, "from": {"14:35"}, "to": {"16:20"}, "need": {"1"}, "version": {"1"}, "by": {"MO"}, "held": {"Posy Grant"}})
	if body := html.UnescapeString(stale.Body.String()); stale.Code != 409 || !strings.Contains(body, "version B, by JB") || !strings.Contains(body, `<option value="Posy Grant" selected>`) || !strings.Contains(body, `name="version" value="2"`) || len(holders(t, st, "cones-scribe", 0)) != 0 {
		t.Errorf("%d: %s", stale.Code, body)
	}
	do.send(t, jobsAt+"/hold", 400, "job", "cones-scribe", "shift", "x", "version", "2", "by", "MO")
	do.send(t, jobsAt+"/hold", 404, "job", "zebra", "shift", "0", "version", "2", "by", "MO")
	do.send(t, jobsAt+"/hold", 409, "job", "zebra", "shift", "0", "version", "1", "by", "MO") // it was there when they looked, perhaps

	// Proposals: one, then all that are left as they are shown.
	page := html.UnescapeString(do(ask{method: "GET", path: jobsAt}).Body.String())
	offers := func(page string) (all []string) {
		for _, part := range strings.Split(page, `name="offer" value="`)[1:] {
			v, _, _ := strings.Cut(part, `"`)
			all = append(all, v)
		}
		return all
	}
	first := offers(page)
	if len(first) < 3 {
		t.Fatalf("offered: %q", first)
	}
	do.send(t, jobsAt+"/take", 400, "turn", "torn", "version", "2", "by", "JB")
	do.send(t, jobsAt+"/take", 400, "turn", "a|x|y|b", "version", "2", "by", "JB")
	do.send(t, jobsAt+"/take", 400, "version", "2", "by", "JB")
	contains(t, do.send(t, jobsAt+"/take", 422, "turn", first[0], "version", "2"), `id="take-by-wrong"`, `href="#take"`, `id="take"`)
	do.send(t, jobsAt+"/take", 303, "turn", first[0], "version", "2", "by", "JB")
	do.send(t, jobsAt+"/take", 409, "turn", first[1], "version", "2", "by", "MO")
	part := strings.Split(first[0], "|")
	if _, r := jobsNow(t, st); !slices.ContainsFunc(r.Check().People, func(h rota.Hours) bool {
		return h.Person == part[3] && slices.ContainsFunc(h.Turns, func(v rota.Turn) bool { return v.Job == part[0] && v.From.String() == part[1] })
	}) {
		t.Errorf("%s is not kept", first[0])
	}
	rest := offers(html.UnescapeString(do(ask{method: "GET", path: jobsAt}).Body.String()))
	if w := do.post(jobsAt+"/take", url.Values{"all": {"1"}, "offer": rest, "version": {"3"}, "by": {"JB"}}); w.Code != 303 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	_, r := jobsNow(t, st)
	if a := r.Check(); len(a.Trouble) > 0 || len(a.Proposal.Turns) > 0 {
		t.Errorf("with all names in: trouble %v, still offered %v", a.Trouble, a.Proposal.Turns)
	}

	// People.
	contains(t, do.send(t, jobsAt+"/person", 422, "name", "Ivy Dale", "can", "timer", "version", "4", "by", "JB"), "is there already", `id="pn-name-wrong"`, `value="timer"`)
	contains(t, do.send(t, jobsAt+"/person", 422, "name", "Tansy Rudd", "from", "noon", "version", "4", "by", "JB"), `id="pn-from-wrong"`, `href="#person"`, `value="noon"`, `value="Tansy Rudd"`)
	contains(t, do.send(t, jobsAt+"/person", 422, "name", "Tansy Rudd", "from", "12:00", "to", "11:00", "version", "4", "by", "JB"), `id="pn-to-wrong"`)
	do.send(t, jobsAt+"/person", 303, "name", "Tansy Rudd", "phone", "00 0000 000009", "from", "12:00", "can", "timer, scribe", "not_near", "V", "version", "4", "by", "JB")
	_, r = jobsNow(t, st)
	if p := r.People[len(r.People)-1]; p.Name != "Tansy Rudd" || p.From != 720 || !slices.Equal(p.Can, []string{"timer", "scribe"}) || !slices.Equal(p.NotNear, []string{"V"}) {
		t.Errorf("%+v", p)
	}
	do.send(t, jobsAt+"/leave", 303, "person", "Giles Moor", "version", "5", "by", "JB")
	if h := holders(t, st, "orchard-timers", 0); slices.Contains(h, "Giles Moor") {
		t.Errorf("%v", h)
	}
	do.send(t, jobsAt+"/leave", 404, "person", "Giles Moor", "version", "6", "by", "JB")
	do.send(t, jobsAt+"/leave", 409, "person", "Giles Moor", "version", "5", "by", "MO")
	do.says(t, jobsAt, []string{"Giles Moor taken out, ", "seats free", "Tansy Rudd added"}, nil)

	// Hours that end too early are told with where to change them; longer, they are not.
	early := "Observer at Woodstack is held until 14:20"
	do.says(t, jobsAt, []string{early, `href="` + jobsAt + `?job=woodstack-observer&shift=0#hold" aria-label="Change Observer at Woodstack"`}, nil)
	do.send(t, jobsAt+"/hold", 303, "job", "woodstack-observer", "shift", "0", "from", "12:15", "to", "14:40", "need", "1", "held", "Hester Vane", "version", "6", "by", "JB")
	do.says(t, jobsAt, []string{"Observer at Woodstack, 12:15 to 14:40: Hester Vane"}, []string{early})

	// A driver who holds a job while they are out is named.
	do.send(t, jobsAt+"/person", 303, "name", "Hazel Fenn", "version", "7", "by", "JB")
	do.send(t, jobsAt+"/hold", 303, "job", "orchard-hold", "shift", "0", "from", "12:15", "to", "14:20", "need", "1", "held", "Hazel Fenn", "version", "8", "by", "JB")
	do.says(t, jobsAt+"?job=orchard-timers&shift=0", []string{"Hazel Fenn: wants timer"}, nil)
	do.says(t, jobsAt+"?job=runner&shift=1", []string{"Hazel Fenn: drives then, or is groom"}, nil)
	do.says(t, jobsAt, []string{"Hazel Fenn drives hazards with", "and holds Hold at Orchard from 12:15 to 14:20"}, nil)
}

// TestJobsBeginWithTheTimetable: a day without a file says which jobs it wants; jobs are
// added and taken out.
func TestJobsBeginWithTheTimetable(t *testing.T) {
	h, st := house(t, false, straight{})
	_, _, from := scored(t, false)
	day := openOf(t, from, autumn)
	keepTrial(t, st, autumn, day.ledger.Joined(day.setting.Trial))
	do := poster(func(a ask) *httptest.ResponseRecorder { return a.do(h) })
	const at = "/day/autumn/rota"
	do.says(t, at, []string{"when the phases start"}, []string{"Begin with these jobs"})
	do.send(t, at+"/begin", 422, "version", "0", "by", "JB")
	if w := do.post("/day/autumn/timetable", timesForm("1", "dressage", "09:00", "8", "hazards", "13:30", "6", "cones", "11:30", "5")); w.Code != 303 {
		t.Fatal(w.Code)
	}
	do.says(t, at, []string{"Begin with these jobs"}, nil)
	contains(t, do.send(t, at+"/begin", 422, "version", "0"), `id="begin-by-wrong"`)
	do.send(t, at+"/begin", 303, "version", "0", "by", "JB")
	do.send(t, at+"/begin", 409, "version", "0", "by", "MO") // somebody began already
	do.says(t, at+"?done=begin", []string{"with nobody in them yet", "Observer at Orchard, 13:15 to", "2 of 2 missing; without it stops: Orchard", "Dressage judge at dressage, 08:45 to", "4 of 4 missing"}, []string{"Hours", "is held until"})

	for box, c := range map[string][]string{
		"from":  {"name", "Water", "from", "early", "to", "10:00", "need", "1"},
		"to":    {"name", "Water", "from", "10:00", "to", "09:00", "need", "1"},
		"need":  {"name", "Water", "from", "09:00", "to", "10:00", "need", "none"},
		"name":  {"from", "09:00", "to", "10:00", "need", "1"},
		"place": {"name", "Water", "place", strings.Repeat("a", 81), "from", "09:00", "to", "10:00", "need", "1"},
	} {
		contains(t, do.send(t, at+"/job", 422, append(c, "version", "1", "by", "JB")...), `id="jb-`+box+`-wrong"`, `open><summary>One more job`)
	}
	do.send(t, at+"/job", 303, "name", "Water", "kind", "helper", "place", "stables", "phase", "cones", "from", "11:15", "to", "12:30", "need", "2", "stops", "nothing much", "version", "1", "by", "JB")
	do.says(t, at, []string{"Water at stables, 11:15 to 12:30: 2 of 2 missing; without it stops: nothing much", "job added: water-stables"}, nil)
	do.says(t, at+"?job=water-stables&shift=0", []string{"Take this job out"}, nil)
	do.send(t, at+"/drop", 303, "job", "water-stables", "version", "2", "by", "JB")
	do.says(t, at, []string{"job taken out: water-stables"}, []string{"Water at stables"})
	do.send(t, at+"/drop", 404, "job", "water-stables", "version", "3", "by", "JB")
	do.send(t, at+"/drop", 409, "job", "water-stables", "version", "2", "by", "JB")
}

// TestEnterPressesNothingOfMany: in a form with a button for each person, the Enter key in
// the box for initials puts nobody in and takes nobody out; the button does.
func TestEnterPressesNothingOfMany(t *testing.T) {
	tab := testkit.Browser(t)
	h, st := house(t, false, straight{})
	if err := demo.Keep(t.Context(), st, noon); err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	for _, box := range []string{"take-by", "leave-by"} {
		open(t, tab, srv.URL+jobsAt, 1440)
		js(t, tab, `document.getElementById('`+box+`').focus(); 0`, new(int))
		for _, key := range []string{"J", "B", kb.Enter} {
			if err := chromedp.Do(tab, chromedp.KeyEvent(key)); err != nil {
				t.Fatal(err)
			}
		}
		js(t, tab, `new Promise((ok) => setTimeout(() => ok(0), 300))`, new(int)) // time for what must not happen
		if v, _ := jobsNow(t, st); v.Version != 1 {
			t.Fatalf("Enter in %s: %s", box, v.Note)
		}
	}
	js(t, tab, `document.querySelector('[name=person]').click(); 0`, new(int))
	waitFor(t, tab, `location.search === '?done=leave'`)
	if v, _ := jobsNow(t, st); v.Note != "Ivy Dale taken out, 1 seat free" {
		t.Errorf("the button: %s", v.Note)
	}
}

// TestPapersOfTheJobs: every paper that the page offers is drawn.
func TestPapersOfTheJobs(t *testing.T) {
	do, _ := jobsHouse(t)
	body := html.UnescapeString(do(ask{method: "GET", path: jobsAt}).Body.String())
	seen := map[string]bool{}
	for _, part := range strings.Split(body, `href="`+jobsAt+`/papers/`)[1:] {
		path, _, _ := strings.Cut(part, `"`)
		if seen[path] {
			continue
		}
		seen[path] = true
		w := do(ask{method: "GET", path: jobsAt + "/papers/" + path})
		if w.Code != 200 || !strings.HasPrefix(w.Body.String(), "%PDF-") || w.Header().Get("Content-Type") != "application/pdf" {
			t.Errorf("%s: %d %.80s", path, w.Code, w.Body)
		}
	}
	if len(seen) < 3*5+10 { // five kinds as A4, Letter and blank, and a card each
		t.Errorf("%d papers are offered: %v", len(seen), seen)
	}
	w := do(ask{method: "GET", path: jobsAt + "/papers/job-card.svg?job=orchard-hold"})
	if w.Code != 200 || !strings.Contains(w.Body.String(), "Moses Tarn") {
		t.Errorf("%d %.200s", w.Code, w.Body)
	}
}
