package web

import (
	"context"
	"encoding/json"
	"fmt"
	"html"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/store"
	"terret/internal/survey"
	"terret/internal/testkit"
)

// taped is a form for the as-built page: the tapes of the orchard's list as they
// would be taped where the points in stands really are, with slips (m) in some.
type taped struct {
	stands map[string]geom.Vec
	slips  map[string]float64 // by "from–to"
	second bool               // second checks too
	only   string             // this point's tapes and checks alone
	comma  bool
}

func (w taped) form(t *testing.T, s *store.Store) url.Values {
	t.Helper()
	saved, err := s.Plan(context.Background(), DemoPlan, 0)
	if err != nil {
		t.Fatal(err)
	}
	l, err := survey.Stakes(survey.Question{Plan: saved.Plan})
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]geom.Vec{}
	pegs, points := l.Places()
	for _, p := range append(pegs, points...) {
		at[p.Name] = p.At
	}
	for id, v := range w.stands {
		at[id] = v
	}
	v := url.Values{"version": {fmt.Sprint(saved.Version)}, "layout": {"hazard:Orchard"}, "do": {"adjust"}}
	for _, tape := range l.Checks(w.second).Tapes {
		if w.only != "" && tape.To != w.only {
			continue
		}
		m := fmt.Sprintf("%.3f", at[tape.From].Dist(at[tape.To])+w.slips[tape.From+"–"+tape.To])
		if w.comma {
			m = strings.Replace(m, ".", ",", 1)
		}
		v.Add("from", tape.From)
		v.Add("to", tape.To)
		v.Add("m", m)
		v.Add("sigma", "")
	}
	return v
}

const orchardBuilt = "/ground/" + DemoPlan + "/as-built"

func sendForm(h interface {
	post(path string, v url.Values) *httptest.ResponseRecorder
}, v url.Values) (*httptest.ResponseRecorder, string) {
	w := h.post(orchardBuilt, v)
	return w, html.UnescapeString(w.Body.String())
}

type poster func(ask) *httptest.ResponseRecorder

func (p poster) post(path string, v url.Values) *httptest.ResponseRecorder {
	return p(ask{method: "POST", path: path, kind: formKind, body: v.Encode()})
}

func orchardHouse(t *testing.T) (poster, *store.Store) {
	h, s := house(t, true, straight{})
	return func(a ask) *httptest.ResponseRecorder { return a.do(h) }, s
}

func appears(t *testing.T, body string, want ...string) {
	t.Helper()
	for _, text := range want {
		if !strings.Contains(body, text) {
			t.Errorf("%q does not appear in\n%s", text, body)
		}
	}
}

func versions(t *testing.T, s *store.Store, want int) plan.Saved {
	t.Helper()
	v, err := s.Plan(t.Context(), DemoPlan, 0)
	if err != nil || v.Version != want {
		t.Fatalf("the newest version is %d, %v; want %d", v.Version, err, want)
	}
	return v
}

// TestBuiltAsPlanned: tapes that agree with the plan, typed with commas, leave
// nothing suspect and every point in its place; working them out saves nothing.
func TestBuiltAsPlanned(t *testing.T) {
	h, s := orchardHouse(t)
	w, body := sendForm(h, taped{second: true, comma: true}.form(t, s))
	if w.Code != 200 {
		t.Fatalf("status %d\n%s", w.Code, body)
	}
	appears(t, body, "No tape is suspect.", "Every point that is fixed stands as planned", `value="accept"`, "Standard deviations and ellipses")
	versions(t, s, 1)
}

// TestAPostThatStandsElsewhere: it is seen, accepted, and kept as the next
// version, and the sheets before are named as stale.
func TestAPostThatStandsElsewhere(t *testing.T) {
	h, s := orchardHouse(t)
	before := versions(t, s, 1)
	a := before.Plan.Hazards[0].Gates[0].Right
	form := taped{second: true, stands: map[string]geom.Vec{"A.right": a.Add(geom.Vec{X: 0.31})}}.form(t, s)
	_, body := sendForm(h, form)
	appears(t, body, "No tape is suspect.", "1 of 24 points stands elsewhere than planned; furthest is A.right, 31 cm east of its place.", "+31.0", "moves × ")
	form.Set("do", "accept")
	w, body := sendForm(h, form)
	if w.Code != 303 {
		t.Fatalf("status %d\n%s", w.Code, body)
	}
	now := versions(t, s, 2)
	if got := now.Plan.Hazards[0].Gates[0].Right; got.Dist(a.Add(geom.Vec{X: 0.31})) > 0.002 {
		t.Errorf("A.right is kept at %v, want %v and 31 cm east", got, a)
	}
	if before.Plan.Hazards[0].Gates[0].Left.Dist(now.Plan.Hazards[0].Gates[0].Left) > 0.002 {
		t.Error("A.left has moved")
	}
	page := html.UnescapeString(h(ask{method: "GET", path: w.Header().Get("Location")}).Body.String())
	appears(t, page, "Version B of Orchard is kept", "version letter <b>A</b> is stale", "furthest A.right by 31 cm")
	sheet := h(ask{method: "GET", path: "/papers/hazard-builders.pdf?plan=" + DemoPlan}).Body.String()
	if !strings.HasPrefix(sheet, "hazard-builders B ") {
		t.Errorf("the next sheet says %q, want version B", sheet)
	}
}

// TestASlipIsNamed: with second checks a slip of 30 cm is named, the places are
// worked out without it, and can be accepted.
func TestASlipIsNamed(t *testing.T) {
	h, s := orchardHouse(t)
	form := taped{second: true, slips: map[string]float64{"P–C.right": 0.30}}.form(t, s)
	_, body := sendForm(h, form)
	appears(t, body, "This tape is wrong: P–C.right", "about 30 cm too long. Tape it again.", "worked out without it", `class="wrong-tape"`, "tape-row suspect", "left out", `value="accept"`)
	form.Set("do", "accept")
	before := versions(t, s, 1)
	if w, body := sendForm(h, form); w.Code != 303 {
		t.Fatalf("status %d\n%s", w.Code, body)
	}
	now := versions(t, s, 2)
	if d := now.Plan.Hazards[0].Gates[2].Right.Dist(before.Plan.Hazards[0].Gates[2].Right); d > 0.005 {
		t.Errorf("the slip has moved C.right by %.3f m", d)
	}
}

// TestASlipThatCannotBeTold: with one spare tape at one point nothing can be
// named, so nothing can be accepted, and a script that tries saves nothing.
func TestASlipThatCannotBeTold(t *testing.T) {
	h, s := orchardHouse(t)
	l, err := survey.Stakes(survey.Question{Plan: versions(t, s, 1).Plan})
	if err != nil {
		t.Fatal(err)
	}
	first, second := l.Stakes[0], l.Stakes[1] // the second is checked to the first
	form := url.Values{"version": {"1"}, "layout": {"hazard:Orchard"}, "do": {"accept"}}
	add := func(from, to string, m float64) {
		for key, v := range map[string]string{"from": from, "to": to, "m": fmt.Sprint(m), "sigma": ""} {
			form.Add(key, v)
		}
	}
	for _, st := range []survey.Stake{first, second} {
		add("P", st.ID, st.Tapes["P"])
		add("Q", st.ID, st.Tapes["Q"])
	}
	add(first.ID, second.ID, second.Check.M+0.3)
	w, body := sendForm(h, form)
	if w.Code != 422 {
		t.Errorf("status %d, want 422", w.Code)
	}
	appears(t, body, "it cannot be told which", "Each of these alone would explain it", "nothing was saved")
	if strings.Contains(body, `value="accept"`) {
		t.Error("it is offered to be accepted")
	}
	versions(t, s, 1)
}

// TestBuiltMeetsAConflict: somebody kept a version meanwhile. Nothing is saved,
// everything typed stays, and the newest can be worked on.
func TestBuiltMeetsAConflict(t *testing.T) {
	h, s := orchardHouse(t)
	form := taped{second: true}.form(t, s)
	form.Set("do", "accept")
	v := versions(t, s, 1)
	if _, err := s.SavePlan(t.Context(), DemoPlan, 1, v.Plan, "another's", noon); err != nil {
		t.Fatal(err)
	}
	w, body := sendForm(h, form)
	if w.Code != 409 {
		t.Errorf("status %d, want 409", w.Code)
	}
	appears(t, body, "Version B was kept meanwhile", `value="newest"`, `value="`+form["m"][0]+`"`)
	versions(t, s, 2)
	form.Set("do", "newest")
	w, body = sendForm(h, form)
	if w.Code != 200 {
		t.Errorf("on the newest: status %d", w.Code)
	}
	appears(t, body, `name="version" value="2"`, `value="accept"`)
	form.Set("version", "2")
	form.Set("do", "accept")
	if w, _ := sendForm(h, form); w.Code != 303 {
		t.Errorf("accepted on the newest: status %d, want 303", w.Code)
	}
	versions(t, s, 3)
}

// TestWrongTapesAreMarked: each wrong row is marked where it was typed, the rest
// stays, and nothing is saved even when it was to be accepted.
func TestWrongTapesAreMarked(t *testing.T) {
	for name, row := range map[string]struct {
		from, to, m, sigma string
		status             int
		has                string
	}{
		"a point that is not there": {"P", "Z.right", "10", "", 422, `there is no point "Z.right"`},
		"a near miss is named":      {"P", "A.rigt", "10", "", 422, `did you mean "A.right"?`},
		"a negative length":         {"P", "A.right", "-3", "", 422, "-3 m long"},
		"nought":                    {"P", "A.right", "0", "", 422, "more than 0"},
		"no number":                 {"P", "A.right", "NaN", "", 422, `"NaN" is no length`},
		"infinite":                  {"P", "A.right", "1e999", "", 422, "is no length"},
		"an end without a name":     {"", "A.right", "10", "", 422, "has no name"},
		"to itself":                 {"A.right", "A.right", "10", "", 422, "itself"},
		"a sigma that is none":      {"P", "A.right", "10", "good", 422, "no standard deviation"},
		"nothing at all":            {"P", "A.right", "", "", 422, "nothing was typed yet"},
	} {
		t.Run(name, func(t *testing.T) {
			h, s := orchardHouse(t)
			form := url.Values{"version": {"1"}, "layout": {"hazard:Orchard"}, "do": {"accept"}, "from": {row.from}, "to": {row.to}, "m": {row.m}, "sigma": {row.sigma}}
			w, body := sendForm(h, form)
			if w.Code != row.status {
				t.Errorf("status %d, want %d", w.Code, row.status)
			}
			appears(t, body, row.has)
			if row.m != "" {
				appears(t, body, `aria-invalid="true"`, `value="`+row.m+`"`)
			}
			versions(t, s, 1)
		})
	}
	t.Run("a point with no fix", func(t *testing.T) {
		h, s := orchardHouse(t)
		form := url.Values{"version": {"1"}, "layout": {"hazard:Orchard"}, "do": {"accept"}, "from": {"P"}, "to": {"A.right"}, "m": {"20"}, "sigma": {""}}
		w, body := sendForm(h, form)
		if w.Code != 422 {
			t.Errorf("status %d, want 422", w.Code)
		}
		appears(t, body, "No fix for A.right", "no point is fixed")
		versions(t, s, 1)
	})
	t.Run("a torn form", func(t *testing.T) {
		h, s := orchardHouse(t)
		if w, _ := sendForm(h, url.Values{"from": {"P", "Q"}, "to": {"A.right"}, "m": {"20"}, "sigma": {""}}); w.Code != 400 {
			t.Errorf("status %d, want 400", w.Code)
		}
		versions(t, s, 1)
	})
}

// TestPastedTapes: tables and files are read with the decimal sign their columns
// allow; what could be read two ways is refused.
func TestPastedTapes(t *testing.T) {
	for name, row := range map[string]struct {
		paste  string
		status int
		has    []string
	}{
		"semicolons and commas":     {"P;A.right;15,31\nQ;A.right;29,55", 200, []string{`value="15,31"`, "A.right"}},
		"tabs":                      {"from\tto\tm\nP\tA.right\t15,31\nQ\ta.RIGHT\t29,55", 200, []string{`value="29,55"`}},
		"a table with a head":       {"from,to,m,sigma\nP,A.right,15.31,0.02\nQ,A.right,29.55,", 200, []string{`value="15.31"`, `value="0.02"`}},
		"points without a head":     {"P,A.right,15.31\nQ,A.right,29.55\n", 200, []string{`value="29.55"`}},
		"a comma that may be two":   {"P,A.right,15,31\nQ,A.right,29,55", 422, []string{"pasted, line 1", "4 columns", "the columns by semicolons", "P,A.right,15,31"}},
		"a head that is none":       {"from,length\nP,3", 422, []string{"pasted, line 1", "from,to,m"}},
		"a quote that never ends":   {"from,to,m\n\"P,A.right,3", 422, []string{"cannot be read"}},
		"a row without its length":  {"from,to,m\nP,A.right,", 422, []string{"pasted, line 2", "has no length"}},
		"a file of its own pegs":    {"terret: tapes/1\nfixed: {K: [0, 0], L: [40, 0]}\npoints: {A.right: [1, 2]}\ntapes: [{from: K, to: A.right, m: 30}, {from: L, to: A.right, m: 35}]\nsigma: 0.02\n", 200, []string{"K (0.00, 0.00)", `name="held" value="40:0 L"`, `name="sigma-all" value="2"`, "the plan's place was taken"}},
		"a file with a wrong key":   {"terret: tapes/1\npints: {}\n", 422, []string{"pints"}},
		"a file of points not here": {"terret: tapes/1\nfixed: {P: [0, 0], Q: [40, 0]}\npoints: {Z: [1, 2]}\ntapes: [{from: P, to: Z, m: 30}]\nsigma: 0.02\n", 422, []string{`there is no point "Z"`}},
		"ten thousand tapes":        {strings.Repeat("P,A.right,15.31\n", 10000), 413, []string{"more than 2000 tapes"}},
	} {
		t.Run(name, func(t *testing.T) {
			h, s := orchardHouse(t)
			w, body := sendForm(h, url.Values{"version": {"1"}, "layout": {"hazard:Orchard"}, "do": {"adjust"}, "paste": {row.paste}})
			if w.Code != row.status {
				t.Errorf("status %d, want %d\n%s", w.Code, row.status, body)
			}
			appears(t, body, row.has...)
			versions(t, s, 1)
		})
	}
}

// TestAFreeNetwork: with nothing held the pegs are points like any other, and a
// layout as planned comes out as planned.
func TestAFreeNetwork(t *testing.T) {
	h, s := orchardHouse(t)
	form := taped{second: true}.form(t, s)
	form.Set("free", "1")
	w, body := sendForm(h, form)
	if w.Code != 200 {
		t.Fatalf("status %d\n%s", w.Code, body)
	}
	appears(t, body, "Nothing is held", "No tape is suspect.", "stands as planned", `value="accept"`)
	form.Set("do", "accept")
	if w, body := sendForm(h, form); w.Code != 303 {
		t.Errorf("status %d\n%s", w.Code, body)
	}
}

// TestWheelAndArena: each row is one request, the status it must have and what
// must appear. 2 % is where readings are too far apart (common practice).
func TestWheelAndArena(t *testing.T) {
	for name, row := range map[string]struct {
		path   string
		status int
		has    []string
	}{
		"two readings that agree":     {"/ground/hollowmere-cones/wheel?first=600&second=606,0", 200, []string{"Take 603.0 m", "1.0\u00a0% apart", "Mean <b>603.0 m"}},
		"two that do not":             {"/ground/hollowmere-cones/wheel?first=600&second=613", 200, []string{"Wheel it again", "2.1\u00a0% apart"}},
		"one that is none":            {"/ground/hollowmere-cones/wheel?first=600&second=-1", 422, []string{`id="second-wrong"`}},
		"the empty form":              {"/ground/hollowmere-cones/wheel", 200, []string{"First reading", "By the plan"}},
		"a course that is not there":  {"/ground/hollowmere-cones/wheel?course=None", 404, []string{"no course called"}},
		"a plan without a course":     {"/ground/hollowmere-orchard/wheel?first=100&second=101", 200, []string{"no cones course", "Take 100.5 m"}},
		"an arena of 40 by 80":        {"/ground/arena", 200, []string{"Both diagonals <b>89.44 m", "letter.K", "10.00", "30 m</b> along the short side"}},
		"an arena of 20 by 60":        {"/ground/arena?size=20+x+60", 200, []string{"Both diagonals <b>63.25 m", "6.00", "54.00"}},
		"an arena that is none":       {"/ground/arena?size=big", 422, []string{`id="size-wrong"`}},
		"an arena that lies across":   {"/ground/arena?size=80x40", 422, []string{"shorter side first"}},
		"an arena nobody could build": {"/ground/arena?size=1e9x1e9", 422, []string{`id="size-wrong"`}},
		"nothing typed back yet":      {orchardBuilt, 200, []string{"Enter goes to the next box", "Further tapes", "plan "}},
		"a version that is none":      {orchardBuilt + "?version=x", 400, []string{"no version"}},
		"kept, of a first version":    {orchardBuilt + "/kept", 200, []string{"Version A of Orchard"}},
	} {
		t.Run(name, func(t *testing.T) {
			h, _ := orchardHouse(t)
			w := h(ask{method: "GET", path: row.path})
			body := html.UnescapeString(w.Body.String())
			if w.Code != row.status {
				t.Errorf("status %d, want %d\n%s", w.Code, row.status, body)
			}
			appears(t, body, row.has...)
		})
	}
}

// TestTicksStayInThisBrowser: a tick moves the next point on, outlives the page,
// and can be taken back.
func TestTicksStayInThisBrowser(t *testing.T) {
	tab := testkit.Browser(t)
	h, _ := house(t, true, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	path := srv.URL + "/ground/" + DemoPlan + "/setting-out"
	open(t, tab, path, 390)
	waitFor(t, tab, `document.querySelector('.stake.due')`)
	js(t, tab, `document.getElementById('set').click(); document.getElementById('set').click(); 0`, new(int))
	open(t, tab, path, 390)
	waitFor(t, tab, `document.querySelectorAll('.stake.done').length === 2 && document.querySelectorAll('svg .done').length === 2`)
	waitFor(t, tab, `document.querySelector('.next-text').textContent.startsWith('3 ·') && document.getElementById('ticked').textContent.startsWith('2 of 24')`)
	js(t, tab, `document.querySelectorAll('[data-tick]')[4].click(); document.getElementById('unset').click(); 0`, new(int))
	waitFor(t, tab, `document.querySelectorAll('.stake.done').length === 2`)
}

// TestTypingTapes: Enter goes from box to box and sends nothing; what was typed is
// back after the page was left; the answer comes into view and passes axe at both
// widths.
func TestTypingTapes(t *testing.T) {
	tab := testkit.Browser(t)
	h, s := house(t, true, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	axe, err := os.ReadFile(filepath.Join("testdata", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	a := versions(t, s, 1).Plan.Hazards[0].Gates[0].Right
	form := taped{second: true, stands: map[string]geom.Vec{"A.right": a.Add(geom.Vec{X: 0.31})}, slips: map[string]float64{"P–C.right": 0.30}}.form(t, s)
	doc, err := json.Marshal(form["m"])
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range widths {
		open(t, tab, srv.URL+orchardBuilt, w)
		js(t, tab, `localStorage.clear(); 0`, new(int))
		open(t, tab, srv.URL+orchardBuilt, w)
		js(t, tab, `document.getElementById('m-1').focus(); 0`, new(int))
		if err := chromedp.Do(tab, chromedp.KeyEvent("14,08\r26,01\r")); err != nil {
			t.Fatal(err)
		}
		waitFor(t, tab, `document.activeElement.id === 'm-3' && document.getElementById('m-2').value === '26,01'`)
		open(t, tab, srv.URL+orchardBuilt, w)
		waitFor(t, tab, `document.getElementById('m-1').value === '14,08' && document.getElementById('draft').textContent.startsWith('2 typed')`)
		js(t, tab, `(() => { const m = `+string(doc)+`; const boxes = [...document.querySelectorAll('.tape-row input.m')]; m.forEach((v, i) => { boxes[i].value = v; }); setTimeout(() => document.getElementById('work').click(), 20); return 0; })()`, new(int))
		time.Sleep(500 * time.Millisecond) // the old page goes
		waitFor(t, tab, `document.readyState === 'complete' && document.activeElement.id === 'result' && document.querySelector('.headline').textContent.includes('P–C.right')`)
		js(t, tab, `document.querySelector('.result details').open = true; `+string(axe)+`;0`, new(int))
		var found []string
		js(t, tab, `axe.run().then((r) => r.violations.map((v) => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200)).join(' | ')))`, &found)
		for _, f := range found {
			t.Errorf("at %d: %s", w, f)
		}
		var over int
		if js(t, tab, `document.documentElement.scrollWidth - innerWidth`, &over); over > 0 {
			t.Errorf("at %d the page is %d px wider than the window", w, over)
		}
		if dir := os.Getenv("TERRET_LOOK"); dir != "" {
			shoot(t, tab, filepath.Join(dir, fmt.Sprintf("page-tapes-%d.png", w)))
		}
	}
	versions(t, s, 1)
}

// TestACourseIsMeasuredAgain: a cone pair accepted two metres from its place
// changes the course's length, and the page says the time allowed before and now.
func TestACourseIsMeasuredAgain(t *testing.T) {
	const id = "hollowmere-cones"
	h, s := orchardHouse(t)
	saved, err := s.Plan(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	l, err := survey.Stakes(survey.Question{Plan: saved.Plan})
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]geom.Vec{}
	pegs, points := l.Places()
	for _, p := range append(pegs, points...) {
		at[p.Name] = p.At
		if strings.HasPrefix(p.Name, "6.") {
			at[p.Name] = p.At.Add(geom.Vec{X: 1, Y: 2})
		}
	}
	form := url.Values{"do": {"accept"}, "version": {"1"}}
	for _, tape := range l.Checks(true).Tapes {
		form.Add("from", tape.From)
		form.Add("to", tape.To)
		form.Add("m", fmt.Sprintf("%.3f", at[tape.From].Dist(at[tape.To])))
		form.Add("sigma", "")
	}
	w := h.post("/ground/"+id+"/as-built", form)
	if w.Code != 303 {
		t.Fatalf("status %d\n%s", w.Code, w.Body)
	}
	page := html.UnescapeString(h(ask{method: "GET", path: w.Header().Get("Location")}).Body.String())
	appears(t, page, "As the builder wheels it on the plan", "Allowed now, s", "version letter <b>A</b> is stale", "three-phase")
	if strings.Contains(page, "the length is as it was") {
		t.Error("a pair two metres off leaves the length as it was")
	}
	kept, err := s.Plan(t.Context(), id, 2)
	if err != nil {
		t.Fatal(err)
	}
	for i, g := range saved.Plan.Courses[0].Gates {
		want := g.At
		if g.String() == "6" {
			want = want.Add(geom.Vec{X: 1, Y: 2})
		}
		if d := kept.Plan.Courses[0].Gates[i].At.Dist(want); d > 0.01 {
			t.Errorf("gate %s is kept %.3f m from where it was taped", g, d)
		}
	}
}
