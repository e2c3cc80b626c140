package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"terret/internal/rules"
	"terret/internal/testkit"
	"terret/internal/trial"
)

// pileOf20 is a day of seven turnouts in one class, all invented, and 20 paper
// sheets of it as they lie on the desk: what a scorer types, key by key, and what
// the paper says, written down apart.
func pileOf20() (*trial.Trial, []struct {
	pile string // the words on its link
	keys string
	want trial.Sheet
}) {
	day := &trial.Trial{
		Name: "Twenty sheets", Rules: rules.Default,
		Classes: []trial.Class{{ID: "S", Name: "Singles", Hitch: "single", Size: "horse", Through: "C", Phases: []string{rules.Dressage, rules.Hazards, rules.Cones}}},
		Tests:   []trial.Test{{ID: "T", Maximum: "60", Coefficient: "2.67", Movements: []trial.Movement{{No: 1, Times: 1}, {No: 2, Times: 1}, {No: 3, Times: 2}, {No: 4, Times: 1}, {No: 5, Times: 1}}}},
		Courses: []trial.Course{{ID: "H1", Phase: rules.Hazards}, {ID: "C1", Phase: rules.Cones, LengthM: "590", AllowedS: "161"}},
	}
	for i, name := range []string{"Ash Bole", "Bea Croft", "Cal Dene", "Dot Elm", "Eve Furze", "Fay Garth", "Gil Holt"} {
		day.Entries = append(day.Entries, trial.Entry{Number: 1 + 3*i, Class: "S", Driver: name})
	}
	type paper = struct {
		pile string
		keys string
		want trial.Sheet
	}
	d := func(n int, keys string, faults map[string]int, marks ...string) paper {
		return paper{"Dressage, judge C", keys, trial.Sheet{Phase: rules.Dressage, Entry: n, Test: "T", Judge: "C", Marks: marks, Faults: faults}}
	}
	h := func(n int, keys, gates, seconds string, faults map[string]int) paper {
		return paper{"Hazard H1", keys, trial.Sheet{Phase: rules.Hazards, Entry: n, Course: "H1", Gates: gates, Seconds: seconds, Faults: faults}}
	}
	c := func(n int, keys, seconds string, knocked []string, faults map[string]int) paper {
		return paper{"Cones C1", keys, trial.Sheet{Phase: rules.Cones, Entry: n, Course: "C1", Seconds: seconds, Knocked: knocked, Faults: faults}}
	}
	return day, []paper{
		d(7, "7\r6.5\r7\r6\r7\r6\r\r", nil, "6.5", "7", "6", "7", "6"),
		d(1, "1\r6\r6\r6.5\r6\r6\rcourse\r", map[string]int{"course_error": 1}, "6", "6", "6.5", "6", "6"),
		d(4, "bea\r7\r7\r7.5\r7\r7\r\r", nil, "7", "7", "7.5", "7", "7"), // found by name
		d(19, "19\r5\r6\r6\r5,5\r6\r\r", nil, "5", "6", "6", "5.5", "6"), // a comma of the number pad
		d(13, "13\r6\r\r6\r6\r6\r\r", nil, "6", "-", "6", "6", "6"),      // the judge forgot one
		d(10, "10\r8\r7\r7\r7\r7\r\r", nil, "8", "7", "7", "7", "7"),
		d(16, "16\r6\r6\r6\r6\r6\rgroom d\r", map[string]int{"groom_down": 1}, "6", "6", "6", "6", "6"),
		h(7, "7\rabc\r41.37\rdis\r", "A B C", "41.37", map[string]int{"dislodged": 1}),
		h(1, "1\racbc\r52.08\r\r", "A C B C", "52.08", nil), // an error put right
		h(4, "4\rabc\r38.90\rdis 2, groom d\r", "A B C", "38.90", map[string]int{"dislodged": 2, "groom_down": 1}),
		h(10, "10\rab<bc\r61.02\r\r", "A B< B C", "61.02", nil),
		h(13, "13\ra b c\r44.44\r\r", "A B C", "44.44", nil),
		h(16, "16\rabc\r70.10\r\r", "A B C", "70.10", nil),
		h(19, "19\rabc\r55.55\r\r", "A B C", "55.55", nil),
		c(1, "1\r163.14\r3 7b\r\r", "163.14", []string{"3", "7b"}, nil),
		c(4, "4\r148.35\r12\rref, rebuilt\r", "148.35", []string{"12"}, map[string]int{"refusal": 1, "rebuilt": 1}),
		c(7, "7\r161.00\r\r\r", "161.00", nil, nil),
		c(13, "13\r175.20\r\r\r", "175.20", nil, nil),
		c(16, "16\r150.01\r1\r\r", "150.01", []string{"1"}, nil),
		c(19, "19\r159.99\r\r\r", "159.99", nil, nil),
	}
}

// TestTwentySheetsByKeyboardAlone types a pile of 20 paper sheets into the desk
// without a mouse, and compares the placings with those of the engine on the same
// sheets written down apart. Cones of 10 are not on the pile, and the desk says so
// at the end.
func TestTwentySheetsByKeyboardAlone(t *testing.T) {
	tab := testkit.Browser(t)
	house, st := house(t, true, straight{})
	day, papers := pileOf20()
	keepTrial(t, st, "twenty", day)
	srv := httptest.NewServer(house)
	t.Cleanup(srv.Close)
	key := func(keys string) {
		t.Helper()
		if err := chromedp.Do(tab, chromedp.KeyEvent(keys)); err != nil {
			t.Fatal(err)
		}
	}
	// tabTo goes to a link by the tab key alone.
	tabTo := func(words string) {
		t.Helper()
		for range 80 {
			var at string
			js(t, tab, `document.activeElement?.textContent?.trim() ?? ''`, &at)
			if strings.HasPrefix(at, words) && len(at) < 200 {
				return
			}
			key("\t")
		}
		t.Fatalf("the tab key does not reach %q", words)
	}
	open(t, tab, srv.URL+"/scores", 1440)
	tabTo("Desk")
	key("\r")
	settled(t, tab, `document.querySelector('.no-pile')`)

	began, pile, typed := time.Now(), "", []trial.Sheet{}
	for i, p := range papers {
		if p.pile != pile {
			tabTo(p.pile)
			key("\r")
			settled(t, tab, fmt.Sprintf(`document.querySelector('h1')?.textContent === %q && document.getElementById('sheet')?.dataset.ready && document.activeElement.id === 'number'`, "Desk: "+p.pile))
			pile = p.pile
		}
		keys := p.keys
		if i == 0 {
			keys += "JB\r" // initials, once
		}
		key(keys)
		settled(t, tab, fmt.Sprintf(`document.querySelector('#kept h2 a')?.textContent === '%d' && document.getElementById('sheet')?.dataset.ready && document.activeElement.id === 'number'`, p.want.Entry))
		typed = append(typed, p.want)
	}
	t.Logf("20 sheets by keyboard in %.1f s on this machine", time.Since(began).Seconds())

	var says string
	js(t, tab, `document.getElementById('tally').textContent`, &says)
	if says != "6 of 7 in, missing 10." {
		t.Errorf("the desk says %q", says)
	}
	day2, _ := pileOf20()
	day2.Sheets = typed
	p, err := rules.Load(rules.Default)
	if err != nil {
		t.Fatal(err)
	}
	want, err := trial.Score(day2, p)
	if err != nil {
		t.Fatal(err)
	}
	got := openOf(t, st, "twenty")
	if a, b := jsonOf(t, got.answer()), jsonOf(t, want); !bytes.Equal(a, b) {
		t.Errorf("the pages came to\n%s\nand the engine to\n%s", a, b)
	}
	if got.ledger.Len() != len(papers) {
		t.Errorf("%d marks, want %d", got.ledger.Len(), len(papers))
	}
	// Not all are alike, or the comparison would prove nothing.
	places := map[int]bool{}
	for _, e := range want.Entries {
		if e.Place != nil {
			places[*e.Place] = true
		}
	}
	if len(places) < 4 {
		t.Errorf("only %d places are given", len(places))
	}

	// A correction by keyboard: the number lays the sheet, the time is typed over.
	key("7\r")
	settled(t, tab, `document.querySelector('[name=replaces]') && document.getElementById('sheet')?.dataset.ready && document.activeElement.name === 'seconds'`)
	key("160.00\r\r\rread wrong\r")
	settled(t, tab, `document.querySelector('#kept h2')?.textContent.startsWith('Corrected') && document.activeElement.id === 'number'`)
	fixed := openOf(t, st, "twenty")
	if m := fixed.ledger.Counting("cones:7:C1"); m.Sheet.Seconds != "160.00" || m.Why != "read wrong" || len(fixed.ledger.Chain(m.ID)) != 2 {
		t.Errorf("the correction is %+v", m)
	}
}

// settled waits until an expression is true on the page that is there by then:
// while one page goes and the next comes there is nothing to ask.
func settled(t testing.TB, tab context.Context, what string) {
	t.Helper()
	for began := time.Now(); time.Since(began) < time.Minute; time.Sleep(15 * time.Millisecond) {
		if ok, err := chromedp.Run(tab, chromedp.Evaluate[bool]("Boolean("+what+")")); err == nil && ok {
			return
		}
	}
	var page string
	js(t, tab, `document.getElementById('main').innerText`, &page)
	t.Fatalf("waited in vain for %s on\n%s", what, page)
}
