package web

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"terret/internal/testkit"
)

// looked is every page a person can come to, by a name for its picture.
var looked = map[string]string{
	"list": "/ground", "new": "/ground/new", "drawing": "/ground/hollowmere-orchard", "workshop": "/ground/workshop",
	"set-hazard": "/ground/hollowmere-orchard/setting-out", "set-arena": "/ground/workshop/setting-out?layout=arena", "set-wrong": "/ground/workshop/setting-out?p=here&q=90:0",
	"cones": "/ground/hollowmere-cones?turnout=12-bay-four", "multiples": "/ground/hollowmere-cones-workshop?turnout=12-bay-four",
	"set-cones": "/ground/hollowmere-cones/setting-out", "set-size": "/ground/arena?size=20x60", "built": "/ground/hollowmere-orchard/as-built", "built-kept": "/ground/hollowmere-cones/as-built/kept",
	"built-wheel": "/ground/hollowmere-cones/wheel?first=600&second=620",
	"record":      "/turnouts/12-bay-four", "record-inches": "/turnouts/01-button?units=inches", "circles": "/turnouts/06-bay-cob/circles?hoof-left=7.2&wheel-left=2.9&hoof-right=seven", "turnout-new": "/turnouts/new",
	"trots": "/turnouts/06-bay-cob/trots", "beat": "/turnouts/01-button/beat?metres=20&seconds=two", "motion": "/turnouts/06-bay-cob/motion", "halt": "/turnouts/06-bay-cob/halt",
	"check": "/turnouts/12-bay-four/check", "putting": "/turnouts/06-bay-cob/putting-to?order=tugs",
	"scores": "/scores", "trial": "/scores/autumn", "trial-new": "/scores/new?like=autumn", "trial-setup": "/scores/autumn/setup", "trial-tables": "/scores/autumn/tables", "trial-entry": "/scores/autumn/entry?name=7", "trial-class": "/scores/autumn/class?name=P", "trial-course": "/scores/autumn/course?phase=cones", "trial-timed": "/scores/autumn/course?phase=timed", "trial-test": "/scores/autumn/test?name=T1", "desk": "/scores/autumn/desk", "desk-hazard": "/scores/autumn/desk?pile=hazards:H1&kept=seen-7", "desk-fix": "/scores/autumn/desk?pile=cones:C1&number=7", "desk-test": "/scores/autumn/desk?pile=dressage:T1:C",
	"number": "/scores/autumn/number/7", "reading": "/scores/autumn/reading", "placings": "/scores/autumn/placings", "board": "/scores/autumn/board", "board-one": "/scores/autumn/board?class=P", "results": "/scores/autumn/results",
	"queries": "/scores/autumn/queries?entry=8", "slip": "/scores/autumn/slip?query=query-7", "slip-blank": "/scores/autumn/slip", "log": "/scores/autumn/log",
	"turnouts": "/turnouts", "papers": "/papers", "keep": "/keep", "day": "/day/hollowmere-day", "day-at": "/day/hollowmere-day?at=10:40", "day-replan": "/day/hollowmere-day/replan?at=09:30", "day-new": "/day/autumn", "demo-board": "/scores/hollowmere-day/board", "demo-desk": "/scores/hollowmere-day/desk", "demo-placings": "/scores/hollowmere-day/placings", "fault": "/nowhere", "rules": "/rules", "profile": "/rules/indoor",
	"day-papers": "/scores/autumn/papers?class=P",
	"day-times":  "/day/hollowmere-day/timetable", "day-times-new": "/day/autumn/timetable", "day-before": "/day/hollowmere-day/replan?at=00:00",
	"jobs": "/day/hollowmere-day/rota", "jobs-hold": "/day/hollowmere-day/rota?job=orchard-timers&shift=0#hold", "jobs-none": "/day/autumn/rota",
}

// widths are a phone and a laptop; 1024 is added for pictures.
var widths = []int64{390, 1440}

// TestPagesAreAccessible: axe-core finds nothing on any page at either width,
// every thing that can be pressed is reached by the tab key, no page runs over
// its sides, nothing is logged as an error, and on a phone every target is at
// least 56 px high and wide enough for a glove.
func TestPagesAreAccessible(t *testing.T) {
	tab := testkit.Browser(t)
	h := livedIn(t, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	axe, err := os.ReadFile(filepath.Join("testdata", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	for name, path := range looked {
		if only := os.Getenv("TERRET_LOOK_AT"); only != "" && !strings.Contains(","+only+",", ","+name+",") {
			continue
		}
		for _, w := range widths {
			t.Run(fmt.Sprint(name, " at ", w), func(t *testing.T) {
				open(t, tab, srv.URL+path, w)
				js(t, tab, string(axe)+";0", new(int))
				var found []string
				js(t, tab, `axe.run().then((r) => r.violations.map((v) => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200)).join(' | ')))`, &found)
				for _, f := range found {
					t.Error(f)
				}
				var over int
				if js(t, tab, `document.documentElement.scrollWidth - innerWidth`, &over); over > 0 {
					t.Errorf("the page is %d px wider than the window", over)
				}
				var missed []string
				js(t, tab, unreached, &missed)
				for _, m := range missed {
					t.Errorf("not reached by the tab key: %s", m)
				}
				if w == 390 {
					var small []string
					js(t, tab, tooSmall, &small)
					for _, s := range small {
						t.Errorf("under 56 px on a phone: %s", s)
					}
				}
			})
		}
	}
}

// unreached lists what can be pressed and cannot be tabbed to: taken out of the
// order, or not focusable at all. A radio button not chosen is reached by
// arrows.
const unreached = `[...document.querySelectorAll('a[href], button:not(:disabled), input:not([type=hidden]), select, summary, [role=button], [role=application]')]
	.filter((e) => e.checkVisibility({visibilityProperty: true}))
	.filter((e) => { e.focus(); return e.tabIndex < 0 || document.activeElement !== e; })
	.map((e) => e.outerHTML.slice(0, 160))`

// tooSmall lists targets below 56 px, leaving out links inside a sentence and
// what is hidden behind a larger label.
const tooSmall = `[...document.querySelectorAll('.press, .tabs a, .foot a, summary, select, .choice span, .field input, .versions a, .papers a, .card .open')]
	.filter((e) => e.checkVisibility())
	.map((e) => [e, e.getBoundingClientRect()])
	.filter(([, r]) => r.height < 55.5 || r.width < 55.5)
	.map(([e, r]) => Math.round(r.width) + ' x ' + Math.round(r.height) + ' ' + e.outerHTML.slice(0, 120))`

// TestTheDrawingComesAlive: on the real page the editor takes over the
// server's drawing, shows the first way and keeps a change as version B.
func TestTheDrawingComesAlive(t *testing.T) {
	tab := testkit.Browser(t)
	h, s := house(t, true, straight{})
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	open(t, tab, srv.URL+"/ground/hollowmere-orchard", 1440)
	waitFor(t, tab, `document.querySelector('#drawing svg.ground .best') && !document.querySelector('.still')`)
	waitFor(t, tab, `document.querySelectorAll('#ways .way-item').length === 3`)
	js(t, tab, `terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}); 0`, new(int))
	waitFor(t, tab, `!document.querySelector('[data-act=keep]').disabled`)
	js(t, tab, `document.querySelector('[data-act=keep]').click(); 0`, new(int))
	waitFor(t, tab, `document.getElementById('version-letter').textContent === 'B'`)
	v, err := s.Plan(t.Context(), DemoPlan, 0)
	if err != nil || v.Version != 2 {
		t.Fatalf("kept as version %d, %v", v.Version, err)
	}
	for _, th := range v.Plan.Things {
		if th.ID == "p1" && th.At.X != 21 {
			t.Errorf("p1 is at %v, want x = 21", th.At)
		}
	}
}

// TestPictures writes pictures of every page for a person to look at, into the
// folder that TERRET_LOOK names, with the real planner.
func TestPictures(t *testing.T) {
	dir := os.Getenv("TERRET_LOOK")
	if dir == "" {
		t.Skip("set TERRET_LOOK to a folder to have pictures taken")
	}
	tab := testkit.Browser(t)
	srv := httptest.NewServer(livedIn(t, nil))
	t.Cleanup(srv.Close)
	for name, path := range looked {
		if only := os.Getenv("TERRET_LOOK_AT"); only != "" && !strings.Contains(","+only+",", ","+name+",") {
			continue
		}
		t.Run(name, func(t *testing.T) {
			for _, w := range append(widths, 1024) {
				open(t, tab, srv.URL+path, w)
				js(t, tab, `new Promise((ok) => setTimeout(() => ok(0), 2500))`, new(int))
				shoot(t, tab, filepath.Join(dir, fmt.Sprintf("page-%s-%d.png", name, w)))
				if name == "drawing" {
					js(t, tab, `document.documentElement.style.filter = 'grayscale(1)'; 0`, new(int))
					shoot(t, tab, filepath.Join(dir, fmt.Sprintf("page-%s-%d-grey.png", name, w)))
				}
			}
		})
	}
}

func shoot(t *testing.T, tab context.Context, file string) {
	t.Helper()
	png, err := chromedp.Run(tab, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, png, 0o644); err != nil {
		t.Fatal(err)
	}
}

func open(t testing.TB, tab context.Context, url string, width int64) {
	t.Helper()
	height := int64(900)
	if width < 500 {
		height = 844
	}
	if err := chromedp.Do(tab, chromedp.EmulateViewport(width, height), chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	drawing := strings.Count(url, "/") == 4 // and not a page below one
	if drawing && strings.Contains(url, "/ground/hollowmere-cones") {
		waitFor(t, tab, drivenJS)
	} else if drawing && (strings.Contains(url, "/ground/hollow") || strings.Contains(url, "/ground/work")) {
		waitFor(t, tab, `window.terretDesk && terretDesk.state.port.w > 0 && (terretDesk.state.answer || terretDesk.state.trouble)`)
	}
	waitFor(t, tab, `document.fonts.status === 'loaded'`)
}

// waitFor waits until an expression is true, for up to a minute: the machine may
// be slow, and nobody waits longer for a test that passes. It asks again and again
// from here, for the page may be on its way to another address.
func waitFor(t testing.TB, tab context.Context, what string) {
	t.Helper()
	for began := time.Now(); ; time.Sleep(30 * time.Millisecond) {
		yes, err := chromedp.Run(tab, chromedp.Evaluate[bool](`!!(`+what+`)`))
		if yes && err == nil {
			return
		}
		if time.Since(began) > time.Minute || tab.Err() != nil {
			t.Fatalf("waited in vain for %.200s: %v", what, err)
		}
	}
}

// js runs an expression, waits for it when it is a promise, and stores its value.
func js[T any](t testing.TB, tab context.Context, expression string, v *T) {
	t.Helper()
	got, err := chromedp.Run(tab, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%.200s: %v", expression, err)
	}
	*v = got
}
