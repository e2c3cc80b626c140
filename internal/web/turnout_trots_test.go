package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"terret/internal/gait"
	"terret/internal/testkit"
	"terret/internal/turnout"
)

// example is a file beside the examples of package gait.
func example(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "examples", "gait", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func postForm(h http.Handler, path string, f url.Values) *httptest.ResponseRecorder {
	return ask{method: "POST", path: path, kind: formKind, body: f.Encode()}.do(h)
}

// TestAStripIsReadAndKept: the page says what the command says of the same
// prints, keeps them, and draws the poster to them from then on.
func TestAStripIsReadAndKept(t *testing.T) {
	const at = "/turnouts/06-bay-cob/trots"
	for file, want := range map[string]string{"working.csv": "Working trot", "strong.csv": "Strong trot", "edge.csv": "Cannot tell yet"} {
		h, s := house(t, true, straight{})
		f := url.Values{"paste": {example(t, file)}, "seconds": {"7.4"}, "metres": {"27"}, "by": {"M. Ostrer"}, "called": {"working"}, "do": {"read"}}
		w := postForm(h, at, f)
		prints, err := gait.ReadPrints(file, []byte(example(t, file)))
		if err != nil {
			t.Fatal(err)
		}
		a, err := gait.Read(gait.Question{Prints: prints, Seconds: 7.4, Metres: 27})
		if err != nil {
			t.Fatal(err)
		}
		body := w.Body.String()
		for _, x := range []string{want, asHTML(a.Says), fmt.Sprintf("%.2f m/s", *a.SpeedMPS), `class="strip"`, `class="spread"`, "Called by the teacher"} {
			if w.Code != 200 || !strings.Contains(body, x) {
				t.Errorf("%s: %d, no %q", file, w.Code, x)
			}
		}
		if n := strings.Count(body, `class="fore"`) + strings.Count(body, `class="hind"`); n != len(prints) {
			t.Errorf("%s: %d prints are drawn of %d", file, n, len(prints))
		}
		if kept, err := s.Records(t.Context(), "", turnout.KeptTrot); err != nil || len(kept) != 0 {
			t.Errorf("%s: reading kept %d, %v", file, len(kept), err)
		}
		poster := func() string {
			return ask{method: "GET", path: "/turnouts/06-bay-cob/papers/trot-poster.svg"}.do(h).Body.String()
		}
		if p := poster(); !strings.Contains(p, "Measure its prints") {
			t.Error("a poster of no prints does not say so")
		}
		f.Set("do", "keep")
		if w = postForm(h, at, f); w.Code != 303 {
			t.Fatalf("%s: kept: %d\n%s", file, w.Code, w.Body)
		}
		w = ask{method: "GET", path: w.Header().Get("Location")}.do(h)
		if body := w.Body.String(); w.Code != 200 || !strings.Contains(body, asHTML(a.Says)) || !strings.Contains(body, "M. Ostrer") || !strings.Contains(body, "Kept before") {
			t.Errorf("%s: opened again: %d", file, w.Code)
		}
		if p := poster(); !strings.Contains(p, "own prints") || !strings.Contains(p, fmt.Sprintf("diagonal %.2f m", *a.DiagonalM)) {
			t.Errorf("%s: the poster is not drawn to the prints", file)
		}
	}
}

// asHTML writes text as html/template does.
func asHTML(s string) string { return strings.NewReplacer("+", "&#43;", "'", "&#39;").Replace(s) }

// TestAStripThatCannotBeReadSaysWhere: at the row, at the box, or at the top.
func TestAStripThatCannotBeReadSaysWhere(t *testing.T) {
	good := func() url.Values {
		f := url.Values{}
		for i := range 4 {
			for k, foot := range []string{"LH", "LF", "RH", "RF"} {
				f.Add("foot", foot)
				f.Add("along", fmt.Sprintf("%.2f", 2.7*float64(i)+[]float64{0, 0.05, 1.35, 1.4}[k]))
				f.Add("across", "")
				f.Add("pass", "")
			}
		}
		return f
	}
	for name, row := range map[string]struct {
		change func(url.Values)
		has    []string
	}{
		"a word for a number":       {func(f url.Values) { f["along"][5] = "three" }, []string{`id="row-6-wrong"`, `value="three"`}},
		"two prints of one foot":    {func(f url.Values) { f["foot"][1] = "LH" }, []string{"Attend"}},
		"no fore print at all":      {func(f url.Values) { f["foot"] = strings.Fields(strings.Repeat("LH LH RH RH ", 4)) }, []string{"Attend"}},
		"strides ten metres long":   {func(f url.Values) { scale(f["along"], 4) }, []string{"Attend"}},
		"a time of nothing":         {func(f url.Values) { f.Set("seconds", "quick") }, []string{`id="seconds-wrong"`, `value="quick"`}},
		"a time that cannot be":     {func(f url.Values) { f.Set("seconds", "0.2") }, []string{`id="seconds-wrong"`}},
		"nothing typed":             {func(f url.Values) { f["along"] = make([]string, len(f["along"])) }, []string{"no print is typed yet"}},
		"a paste of something else": {func(f url.Values) { f.Set("paste", "dear diary") }, []string{"no column", "dear diary"}},
		"a paste with a bad line":   {func(f url.Values) { f.Set("paste", "foot,along_m\nLF,1\nXX,2\n") }, []string{"no foot"}},
	} {
		t.Run(name, func(t *testing.T) {
			h, _ := house(t, true, straight{})
			f := good()
			if w := postForm(h, "/turnouts/06-bay-cob/trots", f); w.Code != 200 {
				t.Fatalf("the good strip: %d\n%s", w.Code, w.Body)
			}
			row.change(f)
			w := postForm(h, "/turnouts/06-bay-cob/trots", f)
			if w.Code != 422 {
				t.Errorf("status %d", w.Code)
			}
			for _, x := range row.has {
				if !strings.Contains(w.Body.String(), x) {
					t.Errorf("no %q:\n%s", x, w.Body)
				}
			}
		})
	}
}

func scale(list []string, by float64) {
	for i := range list {
		var x float64
		fmt.Sscan(list[i], &x)
		list[i] = fmt.Sprint(x * by)
	}
}

// motionForm is a log as a browser sends it.
func motionForm(t testing.TB, log, speed string) (kind string, body string) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	if log != "" {
		f, err := m.CreateFormFile("log", "lesson.csv")
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprint(f, log)
	}
	if err := m.WriteField("speed", speed); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	return m.FormDataContentType(), b.String()
}

func TestAMotionLogIsRead(t *testing.T) {
	h, _ := house(t, true, straight{})
	for name, row := range map[string]struct {
		log, speed string
		status     int
		has        []string
	}{
		"a lesson":             {example(t, "lesson.csv"), "13 km/h", 200, []string{`class="gaits"`, "canter", "strides a minute", "alike to", "the trot stride is"}},
		"no file":              {"", "", 400, []string{"no log was chosen"}},
		"a speed that is none": {example(t, "lesson.csv"), "quick", 422, []string{`id="speed-wrong"`}},
		"gravities":            {"t_s,ax,ay,az\n" + strings.Repeat("", 1) + gravities(), "", 422, []string{"multiples of gravity"}},
		"something else":       {"dear diary\n", "", 422, []string{"t_s,ax,ay,az"}},
	} {
		kind, body := motionForm(t, row.log, row.speed)
		w := ask{method: "POST", path: "/turnouts/06-bay-cob/motion", kind: kind, body: body}.do(h)
		if w.Code != row.status {
			t.Errorf("%s: %d\n%s", name, w.Code, w.Body)
		}
		for _, x := range row.has {
			if !strings.Contains(w.Body.String(), x) {
				t.Errorf("%s: no %q", name, x)
			}
		}
	}
	kind, body := motionForm(t, "t_s,ax,ay,az\n"+strings.Repeat("0,0,0,9.81\n", 7<<20), "")
	if w := (ask{method: "POST", path: "/turnouts/06-bay-cob/motion", kind: kind, body: body}).do(h); w.Code != 413 || !strings.Contains(w.Body.String(), "64 MB") {
		t.Errorf("a log of %d MB: %d", len(body)>>20, w.Code)
	}
}

func gravities() string {
	var b strings.Builder
	for i := range 300 {
		fmt.Fprintf(&b, "%.2f,0,0,1\n", float64(i)/50)
	}
	return b.String()
}

func TestAHaltIsReadAndKept(t *testing.T) {
	h, s := house(t, true, straight{})
	const at = "/turnouts/06-bay-cob/halt"
	f := url.Values{"minute": {"0", "5", "10", ""}, "pulse": {"108", "72", "54", ""}, "breaths": {"60", "", "", ""}, "temp": {"", "", "", ""}, "rest": {"36"}, "air": {"32"}, "humidity": {"60"}, "by": {"M. Ostrer"}}
	w := postForm(h, at, f)
	// What is over rest, 72, halves to 36 and to 18 in five minutes each; 33.26 °C
	// is the estimate of the Bureau of Meteorology's formula.
	for _, x := range []string{"from 108 to 54", "halves in 5.0 min", "WBGT 33.3 °C", "high risk", "The vet decides", `class="halt"`} {
		if w.Code != 200 || !strings.Contains(w.Body.String(), x) {
			t.Errorf("%d, no %q", w.Code, x)
		}
	}
	f.Set("do", "keep")
	if w = postForm(h, at, f); w.Code != 303 {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	w = ask{method: "GET", path: w.Header().Get("Location")}.do(h)
	for _, x := range []string{"from 108 to 54", "WBGT 33.3", `value="72"`, "By M. Ostrer"} {
		if w.Code != 200 || !strings.Contains(w.Body.String(), x) {
			t.Errorf("opened again: %d, no %q", w.Code, x)
		}
	}
	for name, c := range map[string]struct {
		key, value string
		at         int
		has        string
	}{
		"a pulse in words":       {"pulse", "fast", 1, `id="row-2-wrong"`},
		"a pulse of 900":         {"pulse", "900", 1, `id="row-2-wrong"`},
		"a reading of no minute": {"minute", "", 1, `id="row-2-wrong"`},
		"rest in words":          {"rest", "slow", 0, `id="rest-wrong"`},
		"air without humidity":   {"humidity", "", 0, `id="humidity-wrong"`},
		"a globe alone":          {"globe", "40", 0, `id="wet-wrong"`},
		"no weather":             {"air", "80", 0, `id="air-wrong"`},
	} {
		f := url.Values{"minute": {"0", "5"}, "pulse": {"108", "72"}, "breaths": {"", ""}, "temp": {"", ""}, "rest": {"36"}, "air": {"32"}, "humidity": {"60"}, "do": {"keep"}}
		for len(f[c.key]) <= c.at {
			f[c.key] = append(f[c.key], "")
		}
		f[c.key][c.at] = c.value
		if w := postForm(h, at, f); w.Code != 422 || !strings.Contains(w.Body.String(), c.has) {
			t.Errorf("%s: %d, no %q\n%s", name, w.Code, c.has, w.Body)
		}
	}
	if kept, err := s.Records(t.Context(), "06-bay-cob", turnout.KeptVitals); err != nil || len(kept) != 1 {
		t.Errorf("%d kept, %v; want one", len(kept), err)
	}
}

func TestTempoIsWorkedOut(t *testing.T) {
	h, _ := house(t, true, straight{})
	for body, want := range map[string]string{
		`{"taps":[0,0.38,0.76,1.14,1.52],"per_stride":2}`: `"taps":5`,
		`{"taps":[0,1],"per_stride":2}`:                   "no tempo",
		`{"taps":[0,0.38,0.76,0.76],"per_stride":2}`:      "tap 4",
		`{"taps":"many"}`:                                 "cannot be read",
	} {
		w := ask{method: "POST", path: "/api/gait/tempo", kind: jsonKind, body: body}.do(h)
		if !strings.Contains(w.Body.String(), want) || !json.Valid(w.Body.Bytes()) {
			t.Errorf("%s: %d %s", body, w.Code, w.Body)
		}
	}
	for q, want := range map[string]string{"metres=27.3&seconds=7.562&strides=10": "3.61 m/s, 13.0 km/h", "metres=27.3": `id="seconds-wrong"`, "metres=far&seconds=3": `id="metres-wrong"`, "metres=27.3&seconds=7&strides=900": `id="strides-wrong"`} {
		if w := (ask{method: "GET", path: "/turnouts/06-bay-cob/beat?" + q}).do(h); !strings.Contains(w.Body.String(), want) {
			t.Errorf("%s: %d, no %q", q, w.Code, want)
		}
	}
}

// TestTappingInABrowser: presses of the button become a tempo, with its doubt.
func TestTappingInABrowser(t *testing.T) {
	tab := testkit.Browser(t)
	h, _ := house(t, true, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	open(t, tab, srv.URL+"/turnouts/06-bay-cob/beat", 390)
	js(t, tab, `new Promise((ok) => { let n = 0; (function tap() { document.getElementById('tap').dispatchEvent(new PointerEvent('pointerdown', {bubbles: true})); if (++n < 12) setTimeout(tap, 180); else ok(0); })(); })`, new(int))
	waitFor(t, tab, `/strides a minute, .* from 12/.test(document.getElementById('tempo').textContent) && document.getElementById('tempo-says').textContent.includes('does not tell') && !document.getElementById('to-metronome').disabled`)
	js(t, tab, `document.getElementById('to-metronome').click(); 0`, new(int))
	waitFor(t, tab, `document.getElementById('click').textContent === 'Stop' && Number(document.getElementById('bpm').value) > 150`)
	js(t, tab, `document.getElementById('click').click(); 0`, new(int))
}

// TestTurnoutResultPages: what a strip, a log, a halt and a card say is as
// accessible as the empty pages; pictures of them go where TERRET_LOOK names.
func TestTurnoutResultPages(t *testing.T) {
	tab := testkit.Browser(t)
	h, _ := house(t, true, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	axe, err := os.ReadFile(filepath.Join("testdata", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	strip := postForm(h, "/turnouts/06-bay-cob/trots", url.Values{"paste": {example(t, "working.csv")}, "seconds": {"7.4"}, "metres": {"27"}, "do": {"keep"}, "called": {"working"}}).Header().Get("Location")
	halt := postForm(h, "/turnouts/06-bay-cob/halt", url.Values{"minute": {"0", "2", "5", "10"}, "pulse": {"124", "96", "72", "50"}, "breaths": {"80", "", "44", "28"}, "temp": {"", "", "", ""}, "rest": {"36"}, "air": {"31.5"}, "humidity": {"60"}, "do": {"keep"}}).Header().Get("Location")
	checked := postForm(h, "/turnouts/06-bay-cob/check", cardForm("abcdefghijklmnopqrstuvwx")).Header().Get("Location")
	for name, path := range map[string]string{"strip": strip, "halted": halt, "checked": checked, "again": "/turnouts/06-bay-cob/check?again=abcdefghijklmnopqrstuvwx"} {
		for _, w := range widths {
			if path == "" {
				t.Fatalf("%s was not kept", name)
			}
			open(t, tab, srv.URL+path, w)
			var title string
			if js(t, tab, `document.title`, &title); strings.Contains(title, "Not ") {
				t.Fatalf("%s: %s", name, title)
			}
			js(t, tab, string(axe)+";0", new(int))
			var found []string
			js(t, tab, `axe.run().then((r) => r.violations.map((v) => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200)).join(' | ')))`, &found)
			for _, f := range found {
				t.Errorf("%s at %d: %s", name, w, f)
			}
			var over int
			if js(t, tab, `document.documentElement.scrollWidth - innerWidth`, &over); over > 0 {
				t.Errorf("%s at %d: %d px too wide", name, w, over)
			}
			var small []string
			if w == 390 {
				js(t, tab, tooSmall, &small)
			}
			for _, s := range small {
				t.Errorf("%s: under 56 px on a phone: %s", name, s)
			}
			if dir := os.Getenv("TERRET_LOOK"); dir != "" {
				shoot(t, tab, filepath.Join(dir, fmt.Sprintf("page-%s-%d.png", name, w)))
			}
		}
	}
}
