package web

import (
	"bytes"
	"fmt"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"terret/internal/rules"
	"terret/internal/trial"
)

// examplesTrial is the small trial of the examples, read from its file.
func examplesTrial(t *testing.T) *trial.Trial {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "examples", "trials", "hollowmere.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	day, _, err := trial.Decode("hollowmere.yaml", data, rules.Load)
	if err != nil {
		t.Fatal(err)
	}
	return day
}

// TestADayIsBegunByHand: the trial of the examples, typed into forms class by class
// from nothing, is to the byte what is read from its file, and scores the same from
// the same sheets.
func TestADayIsBegunByHand(t *testing.T) {
	h, st := house(t, false, straight{})
	do := poster(func(a ask) *httptest.ResponseRecorder { return a.do(h) })
	w := do.post("/scores/new", url.Values{"name": {"Hollowmere autumn schooling trial"}, "rules": {"three-phase"}, "by": {"JB"}})
	if w.Code != 303 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	to := w.Header().Get("Location")
	at, _, _ := strings.Cut(strings.TrimSuffix(to, "?"), "/setup")
	id := strings.TrimPrefix(at, "/scores/")
	do.says(t, to, []string{"Hollowmere autumn schooling trial is begun", "There is no class yet"}, []string{"Attend"})
	do.says(t, at, []string{"nobody can be entered"}, []string{"Add an entry"})
	do.says(t, at+"/desk", nil, []string{"Attend"})

	send := func(kind string, pairs ...string) {
		t.Helper()
		do.send(t, at+"/"+kind, 303, append([]string{"seen", "1", "by", "JB"}, pairs...)...)
	}
	day := examplesTrial(t)
	var texts []string
	for _, m := range day.Tests[0].Movements {
		texts = append(texts, m.Text)
	}
	send("class", "id", "P", "name", "Single pony", "hitch", "single", "size", "pony", "through", "c", "phases", "dressage", "phases", "hazards", "phases", "cones", "phases", "")
	send("class", "id", "N", "name", "Novice", "hitch", "single", "size", "horse", "through", "B", "phases", "dressage", "phases", "cones")
	send("test", "id", "T1", "name", "Schooling test", "marks", "8", "more", "4, 7", "coefficient", "1.60", "texts", strings.Join(texts, "\r\n "))
	send("course", "phase", "hazards", "id", "H1", "name", "Orchard")
	send("course", "phase", "cones", "id", "C1", "classes", "P", "length_m", "590", "allowed_s", "2:41")
	send("course", "phase", "hazards", "id", "H2", "name", "Brook")
	send("course", "phase", "cones", "id", "C2", "classes", "N", "length_m", "590", "speed_m_per_min", "200")
	for _, e := range day.Entries {
		send("entry", "number", fmt.Sprint(e.Number), "class", e.Class, "driver", e.Driver, "horses", strings.Join(e.Horses, "; "), "grooms", strings.Join(e.Grooms, ", "), "vehicle", e.Vehicle)
	}
	w = do.post(at+"/entry", url.Values{"seen": {"1"}, "by": {"JB"}, "number": {"15"}, "class": {"N"}, "driver": {"Nan Moor"}, "next": {"1"}})
	do.says(t, w.Header().Get("Location"), []string{"Add an entry", "entry 15 added", `<option value="N" selected>`, "autofocus"}, []string{"Nan Moor"})
	do.send(t, at+"/entry/out", 303, "was", "15", "seen", "15", "by", "JB")
	do.send(t, at+"/status", 303, "entry", "14", "status", "withdrawn", "by", "JB", "mark", "out-14")

	typed := openOf(t, st, id)
	setting, marks := trial.Split(day, "import", "file", noon)
	for i := range setting.Entries {
		setting.Entries[i].Status = "" // by hand it is a mark of its own
	}
	want, err := trial.Encode(setting)
	if err != nil {
		t.Fatal(err)
	}
	got, err := trial.Encode(typed.setting.Trial)
	if err != nil || !bytes.Equal(got, want) {
		t.Fatalf("typed by hand it is\n%s\nfrom the file\n%s\n%v", got, want, err)
	}
	if err := typed.keep(t.Context(), noon, marks...); err != nil {
		t.Fatal(err)
	}
	typed = openOf(t, st, id)
	file, err := trial.Score(examplesTrial(t), typed.profile)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := jsonOf(t, typed.answer()), jsonOf(t, file); !bytes.Equal(a, b) {
		t.Errorf("by hand it scores\n%s\nfrom the file\n%s", a, b)
	}
}

// TestADayLikeAnother: classes, courses and tests come along, entries and their
// starts do not.
func TestADayLikeAnother(t *testing.T) {
	do, _, st := scored(t, true)
	do.says(t, "/scores/new?like=autumn", []string{"what Hollowmere autumn schooling trial had", "those of the earlier day"}, nil)
	w := do.post("/scores/new", url.Values{"name": {"Spring"}, "like": {autumn}, "by": {"JB"}})
	if w.Code != 303 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	id := regexp.MustCompile(`/scores/([^/]+)/setup`).FindStringSubmatch(w.Header().Get("Location"))[1]
	o, old := openOf(t, st, id).setting.Trial, openOf(t, st, autumn).setting.Trial
	if len(o.Entries) != 0 || len(o.Classes) != len(old.Classes) || len(o.Courses) != len(old.Courses) || len(o.Tests) != 1 || o.Name != "Spring" || o.Rules != old.Rules {
		t.Errorf("the new one is %+v", o)
	}
	contains(t, do.send(t, "/scores/new", 422, "name", "", "by", ""), "write what the day is called", "write your initials")
	contains(t, do.send(t, "/scores/new", 422, "name", "Spring", "like", autumn, "rules", "pleasure", "by", "JB"), "has no rules for")
	contains(t, do.send(t, "/scores/new", 422, "name", "Spring", "like", "winter", "by", "JB"), "choose one from the list")
}

// TestWrongForms: what is wrong is said at its box, with what was typed still in it,
// and nothing is kept.
func TestWrongForms(t *testing.T) {
	do, _, st := scored(t, true)
	for name, row := range map[string]struct {
		path  string
		pairs []string
		says  []string // on the page
		box   string   // the box that is marked; "" none
	}{
		"a class without a name":           {"class", []string{"phases", "cones"}, []string{"a short name is wanted"}, "f-id"},
		"a class of a name there is":       {"class", []string{"id", "P", "phases", "cones"}, []string{"there is a class of that name already"}, "f-id"},
		"a class that drives nothing":      {"class", []string{"id", "V"}, []string{"name at least one"}, "f-phases"},
		"a phase twice":                    {"class", []string{"id", "V", "phases", "cones", "phases", "hazards", "phases", "cones"}, []string{"cones stands here twice"}, "f-phases-2"},
		"a phase the rules have not":       {"class", []string{"id", "V", "phases", "cones", "phases", "timed"}, []string{"has no rules for timed"}, "f-phases-1"},
		"a letter that is none":            {"class", []string{"id", "V", "phases", "hazards", "through", "7"}, []string{`"7" is no letter`}, "f-through"},
		"judged, and it is not":            {"class", []string{"id", "V", "phases", "hazards", "judged", "working"}, []string{"the class is not judged"}, "f-judged"},
		"a class without what it drove":    {"class", []string{"was", "P", "id", "P", "phases", "dressage", "phases", "cones"}, []string{"would break", "sheet of 7, Hazard H1, Orchard", "which does not drive hazards"}, ""},
		"a course of a name there is":      {"course", []string{"phase", "hazards", "id", "H1"}, []string{"there is a course of that name already"}, "f-id"},
		"a course that is no course":       {"course", []string{"phase", "dressage", "id", "D"}, []string{"one of these is wanted"}, "f-phase"},
		"cones without a time":             {"course", []string{"phase", "cones", "id", "C9"}, []string{"says neither what time is allowed nor how long it is"}, "f-allowed_s"},
		"a time with a comma":              {"course", []string{"phase", "cones", "id", "C9", "allowed_s", "161,5"}, []string{"comma", `value="161,5"`}, "f-allowed_s"},
		"a time that is none":              {"course", []string{"phase", "cones", "id", "C9", "allowed_s", "2:75"}, []string{`"2:75" is no time`, `value="2:75"`}, "f-allowed_s"},
		"a limit under the time":           {"course", []string{"phase", "cones", "id", "C9", "allowed_s", "161", "limit_s", "100"}, []string{"is under the 161 s allowed"}, "f-limit_s"},
		"a speed of a car":                 {"course", []string{"phase", "cones", "id", "C9", "length_m", "590", "speed_m_per_min", "9000"}, []string{"from 10 to 2000"}, "f-speed_m_per_min"},
		"a course with sheets, renamed":    {"course", []string{"was", "H1", "phase", "hazards", "id", "H7"}, []string{"sheets of H1 are in"}, "f-id"},
		"a course with sheets, for others": {"course", []string{"was", "C1", "phase", "cones", "id", "C1", "classes", "N", "allowed_s", "161"}, []string{"would break", "sheet of 7, Cones C1", "class P does not drive course C1"}, ""},
		"a test with too many marks":       {"test", []string{"id", "T2", "marks", "900", "coefficient", "1"}, []string{"from 1 to 200"}, "f-marks"},
		"more marks than there are":        {"test", []string{"id", "T2", "marks", "8", "more", "9", "coefficient", "1"}, []string{"there is no mark 9 of 8"}, "f-more"},
		"a mark in words":                  {"test", []string{"id", "T2", "marks", "8", "more", "the walk", "coefficient", "1"}, []string{`"the walk" stands there`}, "f-more"},
		"a sum that is not the sum":        {"test", []string{"id", "T2", "marks", "8", "maximum", "90", "coefficient", "1"}, []string{"the movements come to 80"}, "f-maximum"},
		"a maximum of nothing":             {"test", []string{"id", "T2", "coefficient", "1"}, []string{"from 1 to 10000"}, "f-maximum"},
		"more lines than marks":            {"test", []string{"id", "T2", "marks", "2", "coefficient", "8", "texts", "a\nb\nc"}, []string{"more lines than the 2 marks"}, "f-texts"},
		"no coefficient":                   {"test", []string{"id", "T2", "marks", "8"}, []string{"does not say its coefficient"}, "f-coefficient"},
		"a test that has fewer marks":      {"test", []string{"was", "T1", "id", "T1", "marks", "7", "coefficient", "1.6"}, []string{"would break", "there are 8 marks, test T1 has 7"}, ""},
		"a wish at no time":                {"entry", []string{"number", "30", "class", "P", "driver", "Nan Moor", "wishes.phase", "", "wishes.not_before", "noonish"}, []string{"a time of day is wanted", `value="noonish"`}, "f-wishes-not_before"},
		"a wish behind nobody":             {"entry", []string{"number", "30", "class", "P", "driver", "Nan Moor", "wishes.phase", "", "wishes.behind", "99"}, []string{"there is no other entry 99"}, "f-wishes-behind"},
		"a second wish, both ways":         {"entry", []string{"number", "30", "class", "P", "driver", "Nan Moor", "wishes.phase", "", "wishes.phase", "", "wishes.behind", "7", "wishes.behind", "", "wishes.not_before", "", "wishes.not_before", "11:00", "wishes.not_after", "", "wishes.not_after", "10:00"}, []string{"no time is not before"}, "f-wishes-not_after-1"},
		"a wish for nothing":               {"entry", []string{"number", "30", "class", "P", "driver", "Nan Moor", "wishes.phase", "", "wishes.why", "tired"}, []string{"wishes nothing"}, "f-wishes-not_before"},
		"nobody writes":                    {"test", []string{"id", "T2", "marks", "8", "coefficient", "2", "by", ""}, []string{"write your initials", `value="T2"`}, "by"},
	} {
		t.Run(name, func(t *testing.T) {
			before := openOf(t, st, autumn).setting.Version
			v := url.Values{"seen": {"1"}, "by": {"JB"}}
			for i := 0; i < len(row.pairs); i += 2 {
				if row.pairs[i] == "by" {
					v.Del("by")
				}
				v.Add(row.pairs[i], row.pairs[i+1])
			}
			w := do.post("/scores/autumn/"+row.path, v)
			body := strings.ReplaceAll(w.Body.String(), "&#34;", `"`)
			if w.Code != 422 {
				t.Fatalf("status %d: %s", w.Code, body)
			}
			contains(t, body, row.says...)
			marked := regexp.MustCompile(`aria-invalid="true" aria-describedby="([^"]*)-wrong"`).FindAllStringSubmatch(body, -1)
			switch {
			case row.box == "" && len(marked) > 0:
				t.Errorf("%s is marked", marked[0][1])
			case row.box != "" && (len(marked) != 1 || marked[0][1] != row.box):
				t.Errorf("marked is %v, want %s:\n%s", marked, row.box, body)
			}
			if now := openOf(t, st, autumn).setting.Version; now != before {
				t.Errorf("something was kept: version %d, it was %d", now, before)
			}
		})
	}
}

// TestTwoChangeOneThing: who changes what another has changed meanwhile is shown both
// and keeps nothing unawares; who changes something else is not held up.
func TestTwoChangeOneThing(t *testing.T) {
	do, _, st := scored(t, true)
	const at = "/scores/autumn"
	form := func(seen, name, limit string) []string {
		return []string{"was", "H1", "seen", seen, "phase", "hazards", "id", "H1", "name", name, "limit_s", limit, "by", name}
	}
	do.send(t, at+"/course", 303, form("1", "Una", "300")...)
	do.send(t, at+"/course", 303, "was", "H2", "seen", "1", "phase", "hazards", "id", "H2", "name", "Beck", "by", "Rob") // something else
	body := do.send(t, at+"/course", 409, form("1", "Rob", "5:00")...)
	contains(t, body, "Rob changed this course while", "Now there: <b>Una</b>", `value="5:00"`, `name="seen" value="3"`)
	if c := openOf(t, st, autumn).setting.Trial.Courses[0]; c.Name != "Una" {
		t.Errorf("it is %+v", c)
	}
	do.send(t, at+"/course", 303, form("3", "Rob", "5:00")...)
	if c := openOf(t, st, autumn).setting.Trial.Courses[0]; c.Name != "Rob" || c.LimitS != "300" {
		t.Errorf("it is %+v", c)
	}
	contains(t, do.send(t, at+"/course/out", 409, "was", "H1", "seen", "3", "by", "Una"), "changed this course while you looked")
	contains(t, do.send(t, at+"/rules", 303, "seen", "1", "name", "Another name", "rules", "three-phase", "by", "Una"))
	contains(t, do.send(t, at+"/rules", 409, "seen", "1", "name", "A third", "rules", "three-phase", "by", "Rob"), "Una changed this", "Now there: <b>Another name</b>", `value="A third"`)
	contains(t, do.send(t, at+"/course", 422, append(form("4", "Rob", "300"), "kind", "a\x00b")...), "a sign stands there that cannot be written", "kind")
	if w := do.post(at+"/course", url.Values{"id": {"H9"}}); w.Code != 400 {
		t.Errorf("a torn form: %d", w.Code)
	}
}

// TestTakingOut: what nothing needs goes; what has sheets, or entries, stays.
func TestTakingOut(t *testing.T) {
	do, _, st := scored(t, true)
	const at = "/scores/autumn"
	contains(t, do.send(t, at+"/class/out", 422, "was", "P", "seen", "1", "by", "JB"), "entry 7 is in it")
	contains(t, do.send(t, at+"/course/out", 422, "was", "H1", "seen", "1", "by", "JB"), "3 sheets of it are in; what was written stays")
	contains(t, do.send(t, at+"/test/out", 422, "was", "T1", "seen", "1", "by", "JB"), "8 sheets of it are in")
	contains(t, do.send(t, at+"/entry/out", 422, "was", "7", "seen", "1", "by", "JB"), "sheets of it are in")
	contains(t, do.send(t, at+"/entry/out", 422, "was", "14", "seen", "1", "by", ""), "write your initials")
	do.send(t, at+"/class/out", 404, "was", "Z", "seen", "1", "by", "JB")
	do.send(t, at+"/entry/out", 303, "was", "14", "seen", "1", "by", "JB")
	do.send(t, at+"/class", 303, "id", "V", "phases", "cones", "seen", "2", "by", "JB")
	do.send(t, at+"/class/out", 303, "was", "V", "seen", "3", "by", "JB")
	o := openOf(t, st, autumn)
	if o.entry(14) != nil || o.class("V") != nil || o.setting.Version != 4 || len(o.wrong) > 0 {
		t.Errorf("version %d, left off %v", o.setting.Version, o.wrong)
	}
	do.says(t, at+"/log", []string{"entry 14 taken out", "class V added", "class V taken out"}, nil)
}

// TestAClassIsRenamed: entries and courses follow, and so do the placings.
func TestAClassIsRenamed(t *testing.T) {
	do, _, st := scored(t, true)
	const at = "/scores/autumn"
	do.send(t, at+"/class", 303, "was", "P", "seen", "1", "id", "Pony", "name", "Single pony", "hitch", "single", "size", "pony", "through", "C", "phases", "dressage", "phases", "hazards", "phases", "cones", "by", "JB")
	o := openOf(t, st, autumn)
	if o.wrong != nil || o.score(7).Class != "Pony" || o.score(7).Phases["cones"].Penalties == nil {
		t.Errorf("left off %v, 7 is %+v", o.wrong, o.score(7))
	}
	do.send(t, at+"/placings", 303, "class", "Pony", "state", "provisional", "minutes", "30", "by", "JB", "mark", "post-1")
	contains(t, do.send(t, at+"/class", 422, "was", "Pony", "seen", "2", "id", "P", "phases", "dressage", "phases", "hazards", "phases", "cones", "by", "JB"), "its placings were up as Pony")
}
