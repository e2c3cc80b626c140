package web

import (
	"fmt"
	"html"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"terret/internal/trial"
	"terret/internal/trial/order"
)

// timesForm is the form of the timetable with rows of name, first start and minutes from
// start to start, as they stand in the timetable already when it is not the first.
func timesForm(version string, rows ...string) url.Values {
	v := url.Values{"version": {version}, "rows": {fmt.Sprint(len(rows) / 3)}, "by": {"JB"}}
	for i := 0; i < len(rows); i += 3 {
		at := fmt.Sprintf("p.%d.", i/3)
		v.Set(at+"name", rows[i])
		v.Set(at+"start", rows[i+1])
		v.Set(at+"every_min", rows[i+2])
		if version != "1" {
			v.Set(at+"was", rows[i])
		}
		if rows[i] == "cones" {
			v.Set(at+"gaps", "1")
		}
	}
	for _, k := range []string{"phases", "horse", "vehicle"} {
		v.Set("rest."+k, "30")
	}
	v.Set("rest.driver", "40")
	v.Set("rest.groom", "20")
	return v
}

// with is a form with other values in some boxes.
func with(v url.Values, pairs ...string) url.Values {
	c := url.Values{}
	for k, all := range v {
		c[k] = all
	}
	for i := 0; i < len(pairs); i += 2 {
		c.Set(pairs[i], pairs[i+1])
	}
	return c
}

// TestTimetableBoxes: what is wrong is marked at its box with what was typed still
// there, and nothing is kept.
func TestTimetableBoxes(t *testing.T) {
	do, st, _ := runningDay(t)
	version := openOf(t, st, autumn).setting.Version
	sound := timesForm(fmt.Sprint(version), "dressage", "09:00", "8", "hazards", "13:30", "6", "cones", "11:30", "5")
	for name, row := range map[string]struct {
		form url.Values
		box  string // its id
		says string
	}{
		"a time that is none":             {with(sound, "p.0.start", "nine"), "p-0-start", "a time of day is wanted"},
		"an end that is none":             {with(sound, "p.0.end", "25:61"), "p-0-end", "a time of day is wanted"},
		"an end before the start":         {with(sound, "p.0.end", "08:00"), "p-0-end", "it starts at 09:00 and ends at 08:00"},
		"minutes that are words":          {with(sound, "p.1.every_min", "a few"), "p-1-every_min", "minutes are wanted"},
		"no minutes at all":               {with(sound, "p.1.every_min", "0"), "p-1-every_min", "half a minute to a day"},
		"taken up longer than the next":   {with(sound, "p.1.lasts_min", "9"), "p-1-lasts_min", "one arena takes one entry at a time"},
		"a break that is none":            {with(sound, "p.2.breaks", "10:00 to 10:15 tea\r\nsome time for lunch"), "p-2-breaks", `"some time for lunch" stands there`},
		"a break the wrong way round":     {with(sound, "p.2.breaks", "10:15 to 10:00"), "p-2-breaks", "a break from 10:15 to 10:00"},
		"empty slots that are words":      {with(sound, "p.0.spare", "two"), "p-0-spare", "a whole number"},
		"after itself":                    {with(sound, "p.2.after", "cones"), "p-2-after", "which is no other phase"},
		"after a phase that is taken out": {with(sound, "p.2.after", "dressage", "p.0.out", "1"), "p-2-after", "which is no other phase"},
		"two of one name":                 {with(sound, "p.2.name", "dressage"), "p-2-name", "a name of its own"},
		"no name":                         {with(sound, "p.2.name", ""), "p-2-name", "a name of its own"},
		"a rest that is none":             {with(sound, "rest.groom", "enough"), "rest-groom", "minutes are wanted"},
		"nobody writes":                   {with(sound, "by", ""), "by", "write your initials"},
	} {
		t.Run(name, func(t *testing.T) {
			w := do.post("/day/autumn/timetable", row.form)
			body := html.UnescapeString(w.Body.String())
			_, box, found := strings.Cut(body, `id="`+row.box+`"`)
			box, _, _ = strings.Cut(box, ">")
			if w.Code != 422 || !found || !strings.Contains(box, "aria-invalid") || !strings.Contains(body, row.says) {
				t.Errorf("%d, box %s; want it marked, and %q:\n%s", w.Code, box, row.says, body)
			}
			if n := strings.Count(body, "aria-invalid"); n != 1 {
				t.Errorf("%d boxes are marked, want one", n)
			}
			for k, v := range row.form {
				if strings.HasPrefix(k, "p.") && !strings.HasSuffix(k, ".out") && !strings.HasSuffix(k, ".gaps") && !strings.Contains(strings.ReplaceAll(body, "\n", "\r\n"), v[0]) {
					t.Errorf("what was typed into %s is gone: %q", k, v[0])
				}
			}
			if got := openOf(t, st, autumn).setting.Version; got != version {
				t.Errorf("version %d is kept", got)
			}
		})
	}
	for _, torn := range []url.Values{with(sound, "rows", "x"), with(sound, "rows", "999"), with(sound, "version", "x"), with(sound, "version", "99")} {
		if w := do.post("/day/autumn/timetable", torn); w.Code != 400 {
			t.Errorf("torn: %d", w.Code)
		}
	}
}

// TestATimetableIsChanged: everything that the file can say can be said on the page and
// comes back; the starts that stand stay until a new order is taken.
func TestATimetableIsChanged(t *testing.T) {
	do, st, now := runningDay(t)
	if _, w := takeOrder(t, do, "/day/autumn/replan"); w.Code != 303 {
		t.Fatal(w.Code)
	}
	*now = time.Date(2026, 10, 2, 20, 0, 0, 0, time.Local) // the evening before
	before := openOf(t, st, autumn).setting
	f := timesForm(fmt.Sprint(before.Version), "dressage", "09:20", "8", "hazards", "13:30", "6", "cones", "11:30", "5", "inspection", "07:30", "2,5")
	f.Del("p.3.was")
	f = with(f, "p.0.end", "12:00", "p.0.lasts_min", "6.5", "p.0.breaks", "10:00 to 10:15 tea\n\n11:00 to 11:05", "p.0.spare", "2", "p.0.keep_classes", "1", "p.0.after", "inspection", "p.3.classes", "P", "rest.groom", "25")
	if w := do.post("/day/autumn/timetable", f); w.Code != 303 || w.Header().Get("Location") != "/day/autumn/replan?at=00:00" {
		t.Fatalf("%d to %s: %s", w.Code, w.Header().Get("Location"), w.Body)
	}
	after := openOf(t, st, autumn).setting
	rests := order.DefaultRests()
	rests.Groom = 25 * 60
	want := &trial.Timetable{
		Phases: []trial.Run{
			{Phase: order.Phase{Name: "dressage", Start: order.At(9, 20), End: order.At(12, 0), Every: 480, Lasts: 390, Spare: 2, KeepClasses: true, After: "inspection", Breaks: []order.Break{{From: order.At(10, 0), To: order.At(10, 15), Why: "tea"}, {From: order.At(11, 0), To: order.At(11, 5)}}}},
			{Phase: order.Phase{Name: "hazards", Start: order.At(13, 30), Every: 360}},
			{Phase: order.Phase{Name: "cones", Start: order.At(11, 30), Every: 300, Gaps: true}},
			{Phase: order.Phase{Name: "inspection", Start: order.At(7, 30), Every: 150}, Classes: []string{"P"}},
		},
		Rests: &rests, Starts: before.Trial.Timetable.Starts,
	}
	if d := cmp.Diff(want, after.Trial.Timetable); d != "" || after.Note != "timetable" || after.By != "JB" {
		t.Errorf("kept by %s as %s (-want +got):\n%s", after.By, after.Note, d)
	}
	// The page shows it, and kept as it is shown it is the same again.
	do.says(t, "/day/autumn/timetable", []string{"10:00 to 10:15 tea", `value="6.5"`, `value="2.5"`, `value="25"`, "inspection", "show what would move"}, []string{"aria-invalid"})
	do.says(t, "/day/autumn?phase=inspection", []string{"inspection: nobody has a start here", "no start yet for inspection: 7, 8, 9"}, []string{"verybody has started"})
	// Nobody moved yet; the page this leads to shows who would: those posted before 09:20.
	do.says(t, "/day/autumn/replan?at=07:00", []string{"would move; tell them", "inspection"}, []string{"<td>09:08</td>", "<td>09:16</td>"})

	do.says(t, "/day/autumn/replan?at=00:00", []string{"As before the day", "would move; tell them"}, []string{"nobody was seen to start"})
	// By the clock of the evening all would be gone: it is said, with the way on.
	do.says(t, "/day/autumn/replan", []string{"nobody was seen to start yet", "/day/autumn/replan?at=00:00"}, []string{"As before the day"})
	do.send(t, "/day/autumn/start", 303, "phase", "hazards", "entry", "7", "by", "GA", "mark", "s1")
	do.says(t, "/day/autumn/replan", []string{"As of 20:00"}, []string{"nobody was seen to start"})

	// Taken out with its starts, and another renamed with its own.
	f = timesForm(fmt.Sprint(after.Version), "dressage", "09:20", "8", "hazards", "13:30", "6", "cones", "11:30", "5", "inspection", "07:30", "2.5")
	f = with(f, "p.0.name", "driven dressage", "p.3.out", "1", "p.2.after", "dressage")
	if w := do.post("/day/autumn/timetable", f); w.Code != 303 {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	table := openOf(t, st, autumn).setting.Trial.Timetable
	count := map[string]int{}
	for _, s := range table.Starts {
		count[s.Phase]++
	}
	if d := cmp.Diff(map[string]int{"driven dressage": 5, "hazards": 3, "cones": 5}, count); d != "" || len(table.Phases) != 3 || table.Phases[2].After != "driven dressage" {
		t.Errorf("%v, starts (-want +got):\n%s", table.Phases, d)
	}
}

// TestTwoChangeATimetable: the later one is told, what they typed stays, and kept again it
// stands. What does not touch the timetable is no conflict.
func TestTwoChangeATimetable(t *testing.T) {
	do, st, _ := runningDay(t)
	v := openOf(t, st, autumn).setting.Version
	mine := timesForm(fmt.Sprint(v), "dressage", "09:00", "8", "hazards", "13:45", "6", "cones", "11:30", "5")
	late := *openOf(t, st, autumn).setting.Trial
	late.Entries = append(slices.Clone(late.Entries), trial.Entry{Number: 15, Class: "N", Driver: "Late Comer"})
	if _, err := st.SaveSetting(t.Context(), autumn, v, trial.Setting{Trial: &late, At: noon}); err != nil {
		t.Fatal(err)
	}
	theirs := timesForm(fmt.Sprint(v), "dressage", "09:30", "8", "hazards", "13:30", "6", "cones", "11:30", "5")
	if w := do.post("/day/autumn/timetable", theirs); w.Code != 303 {
		t.Fatalf("a late entry came in between, and the answer is %d", w.Code)
	}
	w := do.post("/day/autumn/timetable", mine)
	body := html.UnescapeString(w.Body.String())
	if w.Code != 409 || !strings.Contains(body, "dressage: first start 09:30, every 8 min") || !strings.Contains(body, `value="13:45"`) {
		t.Fatalf("%d: %s", w.Code, body)
	}
	if got := openOf(t, st, autumn).setting.Trial.Timetable.Phases[0].Start; got != order.At(9, 30) {
		t.Errorf("dressage starts at %s: theirs is overwritten", got)
	}
	now := openOf(t, st, autumn).setting.Version
	if !strings.Contains(body, fmt.Sprintf(`name="version" value="%d"`, now)) {
		t.Error("the form does not carry the version that stands now")
	}
	if w := do.post("/day/autumn/timetable", with(mine, "version", fmt.Sprint(now))); w.Code != 303 {
		t.Errorf("kept again: %d", w.Code)
	}
}

// TestTimetableRows: the form of a trial without a timetable proposes one, "one phase
// more" keeps nothing, a phase in which somebody has started stays, and so does one
// that somebody has a wish for.
func TestTimetableRows(t *testing.T) {
	bare, _, _ := timedWith(t, false)
	bare.says(t, "/day/autumn/timetable", []string{`value="dressage"`, `value="hazards"`, `value="cones"`, "estimates", "make the order of go"}, []string{`value="sections"`})
	w := bare.post("/day/autumn/timetable", with(timesForm("1", "dressage", "09:07", "8"), "do", "add"))
	body := w.Body.String()
	if w.Code != 200 || !strings.Contains(body, `value="09:07"`) || !strings.Contains(body, `name="rows" value="2"`) || !strings.Contains(body, `name="p.1.name" value="hazards"`) {
		t.Errorf("%d: %s", w.Code, body)
	}
	bare.says(t, "/day/autumn", []string{"When do the phases start?"}, nil)

	do, st, _ := runningDay(t)
	o := openOf(t, st, autumn)
	sound := timesForm(fmt.Sprint(o.setting.Version), "dressage", "09:00", "8", "hazards", "13:30", "6", "cones", "11:30", "5")
	do.send(t, "/day/autumn/start", 303, "phase", "dressage", "entry", "7", "by", "GA", "mark", "s1")
	for _, f := range []url.Values{with(sound, "p.0.out", "1"), with(sound, "p.0.name", "ring")} {
		if w := do.post("/day/autumn/timetable", f); w.Code != 422 || !strings.Contains(w.Body.String(), "1 have started in dressage") {
			t.Errorf("%d: %s", w.Code, w.Body)
		}
	}
	next := *o.setting.Trial
	next.Entries = append([]trial.Entry{}, next.Entries...)
	next.Entries[0].Wishes = []order.Wish{{Phase: "cones", NotAfter: order.At(12, 0)}}
	if _, err := st.SaveSetting(t.Context(), autumn, o.setting.Version, trial.Setting{Trial: &next, At: noon}); err != nil {
		t.Fatal(err)
	}
	if w := do.post("/day/autumn/timetable", with(sound, "p.2.out", "1")); w.Code != 422 || !strings.Contains(w.Body.String(), "has a wish for a phase that is not there then") {
		t.Errorf("%d: %s", w.Code, w.Body)
	}

	// Without a class there is nothing to time.
	empty, none := house(t, false, straight{})
	if _, err := none.SaveSetting(t.Context(), "bare", 0, trial.Setting{Trial: &trial.Trial{Name: "New day"}, At: noon}); err != nil {
		t.Fatal(err)
	}
	page := (ask{method: "GET", path: "/day/bare/timetable"}).do(empty)
	if page.Code != 200 || !strings.Contains(page.Body.String(), "nothing to time") || !strings.Contains(page.Body.String(), `href="/scores/bare/setup"`) {
		t.Errorf("%d: %s", page.Code, page.Body)
	}
}
