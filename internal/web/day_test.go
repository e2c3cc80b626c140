package web

import (
	"fmt"
	"html"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"terret/internal/store"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

// runningDay is a house with the small trial, its timetable made from three
// phases, and a clock that the test turns; it is local time, as on a wall.
func runningDay(t *testing.T) (poster, *store.Store, *time.Time) {
	t.Helper()
	do, st, now := timedWith(t, false)
	*now = time.Date(2026, 10, 3, 8, 0, 0, 0, time.Local)
	if w := do.post("/day/autumn/timetable", timesForm("1", "dressage", "09:00", "8", "hazards", "13:30", "6", "cones", "11:30", "5")); w.Code != 303 || w.Header().Get("Location") != "/day/autumn/replan" {
		t.Fatalf("%d to %s: %s", w.Code, w.Header().Get("Location"), w.Body)
	}
	return do, st, now
}

// takeOrder presses "Take this order" on the page as it was shown.
func takeOrder(t *testing.T, do poster, path string) (page string, w *httptest.ResponseRecorder) {
	t.Helper()
	page = html.UnescapeString(do(ask{method: "GET", path: path}).Body.String())
	v := url.Values{"by": {"JB"}}
	for _, m := range regexp.MustCompile(`name="(version|start)" value="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		v.Add(m[1], m[2])
	}
	return page, do.post("/day/autumn/replan", v)
}

// TestADayRuns: the order is made and taken as shown, starts are pressed and taken
// back, lateness is forecast, one is scratched, and the order made anew leaves
// alone those who have started or are warm.
func TestADayRuns(t *testing.T) {
	do, st, now := runningDay(t)
	page, w := takeOrder(t, do, "/day/autumn/replan")
	// Three hazard starts in a row leave a shared groom no rest: it is named.
	if w.Code != 303 || !strings.Contains(page, "Not kept") || !strings.Contains(page, "Rob Alder") {
		t.Fatalf("%d: %s", w.Code, page)
	}
	o := openOf(t, st, autumn)
	starts := o.setting.Trial.Timetable.Starts
	if len(starts) != 5+3+5 { // 14 is withdrawn, class N drives no hazards
		t.Fatalf("%d starts: %v", len(starts), starts)
	}
	in := func(phase string) (all []order.Start) {
		for _, s := range openOf(t, st, autumn).setting.Trial.Timetable.Starts {
			if s.Phase == phase {
				all = append(all, s)
			}
		}
		return all
	}
	dressage := in("dressage")
	number := func(i int) string { return fmt.Sprint(dressage[i].Entry) }
	*now = time.Date(2026, 10, 3, 9, 0, 30, 0, time.Local)
	do.says(t, "/day/autumn", []string{"Nobody yet", number(0) + " ", "on time"}, []string{"min late", "Will Reed"})
	do.send(t, "/day/autumn/start", 303, "phase", "dressage", "entry", number(0), "by", "GA", "mark", "s1")
	do.send(t, "/day/autumn/start", 303, "phase", "dressage", "entry", number(0), "by", "GA", "mark", "s1") // sent twice
	do.send(t, "/day/autumn/start", 409, "phase", "dressage", "entry", number(0), "by", "GB", "mark", "s2")
	do.send(t, "/day/autumn/start", 422, "phase", "dressage", "entry", "14", "by", "GA", "mark", "s3")
	do.send(t, "/day/autumn/start", 422, "phase", "hazards", "entry", "12", "by", "GA", "mark", "s3")
	do.send(t, "/day/autumn/start", 422, "phase", "dressage", "entry", number(1), "by", "", "mark", "s3")
	do.says(t, "/day/autumn", []string{"since 09:00", "1 of 5 started", "has not started after all"}, nil)
	do.send(t, "/day/autumn/undo", 303, "undoes", "s1", "mark", "u1", "by", "GA")
	do.says(t, "/day/autumn", []string{"0 of 5 started"}, nil)

	// Seven minutes later than the list, and the forecast moves with it.
	*now = time.Date(2026, 10, 3, 9, 7, 0, 0, time.Local)
	do.says(t, "/day/autumn", []string{"running 7 min late; " + number(0) + " now due 09:07", "7 min late"}, nil)
	do.send(t, "/day/autumn/start", 303, "phase", "dressage", "entry", number(0), "by", "GA", "mark", "s4")

	// One is scratched. Its slot is free; who has started, or is warm, stays.
	last := number(len(dressage) - 1)
	if w := do.post("/scores/autumn/status", url.Values{"entry": {last}, "status": {"withdrawn"}, "why": {"shoe off"}, "by": {"JB"}, "mark": {"scr"}, "back": {"replan"}}); w.Header().Get("Location") != "/day/autumn/replan" {
		t.Errorf("scratched on the Day page: on to %s", w.Header().Get("Location"))
	}
	before := openOf(t, st, autumn).setting.Trial.Timetable.Starts
	page, w = takeOrder(t, do, "/day/autumn/replan?warm=20")
	if w.Code != 303 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if after := openOf(t, st, autumn); after.setting.Version < 3 {
		t.Errorf("the new order is version %d", after.setting.Version)
	}
	was := map[order.Start]order.Clock{}
	for _, s := range before {
		was[order.Start{Phase: s.Phase, Entry: s.Entry}] = s.At
	}
	shown := strings.Contains(page, "Nobody would move")
	for _, s := range openOf(t, st, autumn).setting.Trial.Timetable.Starts {
		old := was[order.Start{Phase: s.Phase, Entry: s.Entry}]
		if fmt.Sprint(s.Entry) == last {
			t.Errorf("%s is scratched and starts in %s", last, s.Phase)
		}
		if s.Phase == "dressage" && s.At < order.At(9, 27) && s.At != old {
			t.Errorf("%d is warm and was moved from %s to %s", s.Entry, old, s.At)
		}
		if s.At != old && shown {
			t.Errorf("%d moved in %s and the page said nobody would", s.Entry, s.Phase)
		}
	}
	// What was looked at before the trial changed cannot be taken.
	if w := do.post("/day/autumn/replan", url.Values{"by": {"JB"}, "version": {"2"}, "start": {"dressage|7|32400"}}); w.Code != 409 {
		t.Errorf("an old order was taken: %d", w.Code)
	}
	v := fmt.Sprint(openOf(t, st, autumn).setting.Version)
	for _, start := range []string{"dressage|7", "swimming|7|32400", "dressage|99|32400", "dressage|7|-1"} {
		if w := do.post("/day/autumn/replan", url.Values{"by": {"JB"}, "version": {v}, "start": {start}}); w.Code != 400 {
			t.Errorf("%q was taken: %d", start, w.Code)
		}
	}
	do.says(t, "/day/autumn?at=11:40", []string{"As if it were 11:40"}, []string{"starts now"})
	if w := do(ask{method: "GET", path: "/day/autumn?at=noon"}); w.Code != 422 {
		t.Errorf("at=noon: %d", w.Code)
	}
	do.says(t, "/scores/autumn/log", []string{"started in dressage", "taken back: started in dressage"}, nil)
}

// TestTheDeskGoesOnWhileAnOrderIsMade: another page of the same trial is answered,
// and a sheet is kept, while an order is being made anew.
func TestTheDeskGoesOnWhileAnOrderIsMade(t *testing.T) {
	_, st, _ := runningDay(t)
	var do poster
	asked := false
	h := New(Config{Store: st, Trials: st, Now: func() time.Time { return noon }, Order: func(in order.Input) (*order.Plan, error) {
		asked = true
		answered := make(chan struct{})
		go func() {
			defer close(answered)
			if w := do(ask{method: "GET", path: "/scores/autumn/desk"}); w.Code != 200 {
				t.Errorf("the desk answers %d", w.Code)
			}
			if w := do.post("/scores/autumn/desk", sheetOf("hazards:H1", "7", "gates", "abc", "seconds", "41.37", "mark", "meanwhile")); w.Code != 303 {
				t.Errorf("a sheet is answered with %d: %s", w.Code, w.Body)
			}
		}()
		select {
		case <-answered:
		case <-time.After(time.Minute): // nothing is measured: it would wait for ever
			t.Error("the desk waits while an order is made")
		}
		return order.Make(in)
	}})
	do = func(a ask) *httptest.ResponseRecorder { return a.do(h) }
	do.says(t, "/day/autumn/replan", []string{"Take this order"}, nil)
	if !asked {
		t.Error("the order was made by something else")
	}
	if openOf(t, st, autumn).ledger.Mark("meanwhile") == nil {
		t.Error("the sheet typed meanwhile is not kept")
	}
}

// TestADayThatCannotBe: no order can be made, and the page says why.
func TestADayThatCannotBe(t *testing.T) {
	do, st, _ := runningDay(t)
	o := openOf(t, st, autumn)
	next := *o.setting.Trial
	table := *next.Timetable
	table.Phases = append([]trial.Run{}, table.Phases...)
	for i := range table.Phases {
		if table.Phases[i].Name == "dressage" {
			table.Phases[i].End = order.At(9, 20) // three slots for five
		}
	}
	next.Timetable = &table
	if _, err := st.SaveSetting(t.Context(), autumn, o.setting.Version, trial.Setting{Trial: &next, At: noon}); err != nil {
		t.Fatal(err)
	}
	do.says(t, "/day/autumn/replan", []string{"No order can be made", "dressage"}, []string{"Take this order"})
}

// TestTheDayTab: without a trial it says what to do; with one it opens it.
func TestTheDayTab(t *testing.T) {
	h, _ := house(t, false, straight{})
	if w := (ask{method: "GET", path: "/day"}).do(h); w.Code != 200 || !strings.Contains(w.Body.String(), "no trial yet") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	do, _, _ := timed(t)
	if w := do(ask{method: "GET", path: "/day"}); w.Header().Get("Location") != "/day/autumn" {
		t.Errorf("on to %s", w.Header().Get("Location"))
	}
	do.says(t, "/day/autumn", []string{"When do the phases start?", "/day/autumn/timetable"}, []string{"starts now"})
}
