package web

import (
	"fmt"
	"html"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"terret/examples/demo"
	"terret/internal/turnout"
)

var inputs = regexp.MustCompile(`<input[^>]*name="([^"]+)"[^>]*>|<textarea[^>]*name="([^"]+)"[^>]*>([^<]*)</textarea>|(?s)<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>`)
var valueOf = regexp.MustCompile(`value="([^"]*)"`)
var chosen = regexp.MustCompile(`<option(?: value="([^"]*)")? selected>([^<]*)`)

// formOf is the record's form as a browser would send it.
func formOf(t *testing.T, body string) url.Values {
	t.Helper()
	f := url.Values{}
	_, body, _ = strings.Cut(body, `id="record"`)
	body, _, _ = strings.Cut(body, "</form>")
	for _, g := range inputs.FindAllStringSubmatch(body, -1) {
		switch {
		case g[2] != "":
			f.Set(html.UnescapeString(g[2]), html.UnescapeString(g[3]))
		case g[4] != "":
			v := ""
			if o := chosen.FindStringSubmatch(g[5]); o != nil {
				if v = o[1]; v == "" {
					v = o[2]
				}
			}
			f.Set(html.UnescapeString(g[4]), v)
		case strings.Contains(g[0], "checkbox"):
			if strings.Contains(g[0], " checked") {
				f.Set(html.UnescapeString(g[1]), "1")
			}
		default:
			v := ""
			if m := valueOf.FindStringSubmatch(g[0]); m != nil {
				v = m[1]
			}
			f.Set(html.UnescapeString(g[1]), html.UnescapeString(v))
		}
	}
	if len(f) < 30 {
		t.Fatalf("only %d boxes were found: %v", len(f), f)
	}
	return f
}

// TestARecordSentBackUntouchedIsTheSame, for every turnout of the demo, in both
// systems of units: not a digit moves.
func TestARecordSentBackUntouchedIsTheSame(t *testing.T) {
	h, s := house(t, true, straight{})
	all, err := s.Turnouts(t.Context())
	if err != nil || len(all) < 10 {
		t.Fatal(len(all), err)
	}
	_ = demo.Files
	for _, k := range all {
		for _, units := range []string{"metric", "inches"} {
			before, err := s.Turnout(t.Context(), k.ID)
			if err != nil {
				t.Fatal(err)
			}
			f := formOf(t, ask{method: "GET", path: "/turnouts/" + k.ID + "?units=" + units}.do(h).Body.String())
			w := ask{method: "POST", path: "/turnouts/" + k.ID, kind: formKind, body: f.Encode()}.do(h)
			if w.Code != 303 {
				t.Fatalf("%s: %d\n%s", k.ID, w.Code, w.Body)
			}
			after, err := s.Turnout(t.Context(), k.ID)
			if err != nil || after.Version != before.Version+1 {
				t.Fatal(after.Version, err)
			}
			a, err1 := turnout.Whole("a", before.Document)
			b, err2 := turnout.Whole("b", after.Document)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			ta, tb := textOfAll(t, a), textOfAll(t, b)
			if ta != tb {
				t.Errorf("%s in %s came back otherwise:\n%s\n%s", k.ID, units, ta, tb)
			}
		}
	}
}

func textOfAll(t *testing.T, m map[string]any) string {
	t.Helper()
	doc, err := turnout.EncodeWhole(m)
	if err != nil {
		t.Fatal(err)
	}
	return string(doc)
}

// TestARecordIsChanged: what was typed is kept, with its guesses, as the next
// version; what is wrong is marked at its box and nothing is kept.
func TestARecordIsChanged(t *testing.T) {
	type row struct {
		set    map[string]string // "" takes a guess away
		status int
		has    []string
		doc    []string
		not    []string
	}
	for name, r := range map[string]row{
		"a track in inches":                  {set: map[string]string{"v.vehicle.track": "54.3 in"}, status: 303, doc: []string{"track: 1.37922"}},
		"a measured value is no guess":       {set: map[string]string{"v.turning.left": "3.4", "g.turning.left": ""}, status: 303, doc: []string{"left: 3.4", "turning.right"}, not: []string{"turning, "}},
		"a height in hands":                  {set: map[string]string{"v.horses[0].height_cm": "14.2 hh"}, status: 303, doc: []string{"height_cm: 147.32", "name: Bramble"}},
		"a new guess":                        {set: map[string]string{"g.vehicle.cg_height": "1"}, status: 303, doc: []string{"vehicle.cg_height"}},
		"all of a part guessed is the part":  {set: map[string]string{"v.whip.stick": "1.5", "v.whip.thong": "1.6", "g.whip.stick": "1", "g.whip.thong": "1"}, status: 303, doc: []string{"pace, whip]"}},
		"care and loads in empty rows":       {set: map[string]string{"v.care[0].item": "hub bearings", "v.care[0].done": "2024-05-01", "v.care[0].wet_since": "yes", "v.loads[0].what": "vehicle", "v.loads[0].weight": "990 lb"}, status: 303, doc: []string{"item: hub bearings", "done: \"2024-05-01\"", "wet_since: true", "weight: 449.05"}},
		"spares by the line":                 {set: map[string]string{"v.spares": "spare rein\n\nhoof pick\n"}, status: 303, doc: []string{"spares: [spare rein, hoof pick]"}},
		"another name":                       {set: map[string]string{"v.name": "Bay cob, new shafts"}, status: 303, doc: []string{"name: \"Bay cob, new shafts\"", "notes: "}},
		"no track at all":                    {set: map[string]string{"v.vehicle.track": ""}, status: 422, has: []string{`id="vehicle-track-wrong"`}},
		"a track of 54 m":                    {set: map[string]string{"v.vehicle.track": "54"}, status: 422, has: []string{`id="vehicle-track-wrong"`, "at most 4 m"}},
		"a track that is a word":             {set: map[string]string{"v.vehicle.track": "wide", "v.turning.left": "3.9"}, status: 422, has: []string{`id="vehicle-track-wrong"`, `value="wide"`, `value="3.9"`, "54.3 in"}},
		"a whip of 40 m":                     {set: map[string]string{"v.whip.stick": "40"}, status: 422, has: []string{`id="whip-stick-wrong"`}},
		"a day that is none":                 {set: map[string]string{"v.care[0].item": "farrier", "v.care[0].done": "last week"}, status: 422, has: []string{`id="care-0-done-wrong"`}},
		"no name":                            {set: map[string]string{"v.name": " "}, status: 422, has: []string{`id="name-wrong"`}},
		"a pair wants to know how far apart": {set: map[string]string{"v.hitch": "pair"}, status: 422, has: []string{`id="horse-apart-wrong"`}},
		"laid out anew for a pair":           {set: map[string]string{"v.hitch": "pair", "do": "lay"}, status: 200, has: []string{`id="horse-apart"`, `id="pole-end_height"`, `horses[1].name`}, not: []string{`id="fit-tip_height"`}},
		"somebody was quicker":               {set: map[string]string{"version": "7"}, status: 409, has: []string{"while you typed"}},
	} {
		t.Run(name, func(t *testing.T) {
			h, s := house(t, true, straight{})
			const at = "/turnouts/06-bay-cob"
			f := formOf(t, ask{method: "GET", path: at}.do(h).Body.String())
			for k, v := range r.set {
				if strings.HasPrefix(k, "g.") && v == "" {
					f.Del(k)
				} else {
					f.Set(k, v)
				}
			}
			w := ask{method: "POST", path: at, kind: formKind, body: f.Encode()}.do(h)
			body := w.Body.String()
			if w.Code != r.status {
				t.Fatalf("status %d, want %d\n%s", w.Code, r.status, body)
			}
			for _, x := range r.has {
				if !strings.Contains(body, x) {
					t.Errorf("no %q on the page", x)
				}
			}
			k, err := s.Turnout(t.Context(), "06-bay-cob")
			if err != nil {
				t.Fatal(err)
			}
			if want := map[bool]int{true: 2, false: 1}[r.status == 303]; k.Version != want {
				t.Errorf("version %d is kept, want %d", k.Version, want)
			}
			for _, x := range r.doc {
				if !strings.Contains(string(k.Document), x) {
					t.Errorf("no %q in the file:\n%s", x, k.Document)
				}
			}
			for _, x := range r.not {
				if strings.Contains(string(k.Document)+body, x) {
					t.Errorf("there is %q:\n%s", x, k.Document)
				}
			}
		})
	}
}

// TestCirclesGoIntoTheRecord: half of the hoof circle is the radius, and it is no
// guess any more.
func TestCirclesGoIntoTheRecord(t *testing.T) {
	h, s := house(t, true, straight{})
	post := func(f url.Values) *httptest.ResponseRecorder {
		return ask{method: "POST", path: "/turnouts/06-bay-cob/circles", kind: formKind, body: f.Encode()}.do(h)
	}
	if w := post(url.Values{"hoof-left": {"7,0"}, "hoof-right": {"seven"}}); w.Code != 422 || !strings.Contains(w.Body.String(), `id="hoof-right-wrong"`) {
		t.Errorf("a circle of seven: %d", w.Code)
	}
	if w := post(url.Values{"hoof-left": {"7.0"}, "wheel-left": {"2.9"}, "by": {"M. Ostrer"}, "on": {"2026-10-02"}}); w.Code != 303 {
		t.Fatalf("%d\n%s", w.Code, w.Body)
	}
	k, err := s.Turnout(t.Context(), "06-bay-cob")
	if err != nil {
		t.Fatal(err)
	}
	got, _, err := turnout.Decode("x", k.Document)
	if err != nil || got.Turning != (turnout.Hands{Left: 3.5, Right: 3.6}) {
		t.Fatalf("%+v, %v", got.Turning, err)
	}
	by, guessed := fmt.Sprint(got.Extra["measured"]), fmt.Sprint(got.Extra["guessed"])
	if by != "map[by:M. Ostrer on:2026-10-02]" || !strings.Contains(guessed, "turning.right") || strings.Count(guessed, "turning") != 1 {
		t.Errorf("measured by %q, guessed %v", by, guessed)
	}
}

// TestEveryBeginningIsATurnout: the usual measurements of each kind can be kept,
// and every measured part of them is marked as guessed.
func TestEveryBeginningIsATurnout(t *testing.T) {
	h, s := house(t, false, straight{})
	kinds := regexp.MustCompile(`<option value="([^"]+)"`).FindAllStringSubmatch(ask{method: "GET", path: "/turnouts/new"}.do(h).Body.String(), -1)
	if len(kinds) < 8 {
		t.Fatalf("only %d kinds can be begun", len(kinds))
	}
	for _, kind := range kinds {
		key := kind[1]
		w := ask{method: "POST", path: "/turnouts/new", kind: formKind, body: url.Values{"name": {"New " + key}, "kind": {key}}.Encode()}.do(h)
		id := strings.TrimPrefix(w.Header().Get("Location"), "/turnouts/")
		k, err := s.Turnout(t.Context(), id)
		if w.Code != 303 || err != nil {
			t.Fatalf("%s: %d, %v\n%s", key, w.Code, err, w.Body)
		}
		got, warnings, err := turnout.Decode(key, k.Document)
		if err != nil || len(warnings) > 0 {
			t.Errorf("%s: %v %v", key, warnings, err)
		}
		guessed := fmt.Sprint(got.Extra["guessed"])
		if !strings.Contains(guessed, "horse") || !strings.Contains(guessed, "turning") {
			t.Errorf("%s: guessed %v", key, guessed)
		}
	}
	for _, body := range []string{"name=&kind=pair", "name=X&kind=zebra"} {
		if w := (ask{method: "POST", path: "/turnouts/new", kind: formKind, body: body}).do(h); w.Code != 422 {
			t.Errorf("%s: %d", body, w.Code)
		}
	}
}
