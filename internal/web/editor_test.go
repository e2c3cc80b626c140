package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"terret/internal/hazard"
)

// The editor is tested against a stand-in for the planner: it answers with a
// smooth line through the gates in their order, so that what the page does with
// an answer can be watched without the time and the doubt of a real one. The
// planner itself is tested in its own package.

// ground is the page the stand-in serves: the parts of the real page that the
// editor relies on.
const ground = `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Ground</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/static/editor/editor.css"><link rel="icon" href="data:,">
<style>body{margin:0;background:#FBFAF4;color:#1B1F24;font:17px/1.4 sans-serif}
main{display:grid;grid-template-columns:1fr 400px;height:100vh} .left{display:grid;grid-template-rows:auto 1fr;min-width:0;min-height:0}
.bar{display:flex;flex-wrap:wrap;gap:12px;padding:8px 14px;align-items:end;border-bottom:1px solid #C9C4B4} .bar h1{font-size:22px;margin:0 auto 0 0}
fieldset{border:0;padding:0;margin:0} legend{font-size:14px} aside{overflow:auto;padding:12px 16px;border-left:1px solid #C9C4B4}
@media(max-width:760px){main{display:block}}</style></head><body><main>
<div class="left"><div class="bar"><h1>%s</h1><label>Turnout <select id="pick-turnout"></select></label>
<fieldset id="pick-pace"><legend>Pace</legend></fieldset><fieldset id="pick-through"><legend>Gates for this class</legend></fieldset>
<button id="undo">Undo</button><button id="redo">Redo</button><button id="drive">Drive it</button></div>
<div id="drawing" data-plan="p1" data-version="1"></div></div>
<aside aria-label="Beside the drawing" tabindex="0"><section id="ways"><h2>Ways through</h2></section><h2>Checks</h2><section id="checks"></section><details open><summary>Things on the ground</summary><section id="things"></section></details></aside></main>
<script type="application/json" id="plan-doc">%s</script><script type="application/json" id="turnouts-doc">%s</script>
<script type="application/json" id="page-opts">{"hazard":"Orchard","turnout":"cob","pace":"","through":"","api":"/api","static":"/static"}</script>
<script type="module" src="/static/editor/main.js"></script></body></html>`

const turnouts = `[{"id":"cob","name":"Bay cob, two-wheel","terret":"turnout/1","hitch":"single","size":"horse","horse":{"nose":1.3,"rump":1.2,"width":0.65,"apart":0.9,"bend":40},
"vehicle":{"wheels":2,"track":1.38,"hubs":1.5,"shafts":2.6,"lock":60},"turning":{"left":3.5,"right":4},"pace":{"speed":3.6,"lateral":2,"gain":0.8,"loss":1},
"paces":{"walk":1.7,"slow trot":2.8,"working trot":3.6,"strong trot":4.6},"margin":0.05},
{"id":"four","name":"Invented team, four-in-hand","terret":"turnout/1","hitch":"four","size":"horse","horse":{"nose":1.3,"rump":1.2,"width":0.65,"apart":0.9,"bend":40},"leaders":{"ahead":3.2},
"vehicle":{"wheels":4,"track":1.58,"hubs":1.7,"shafts":2.6,"wheelbase":1.8,"body":1.1,"lock":60},"turning":{"left":6,"right":6},"pace":{"speed":3.6,"lateral":2,"gain":0.8,"loss":1},"paces":{"walk":1.7},"margin":0.05}]`

// orchard is an invented hazard with every kind of thing.
const orchard = `{"terret":"plan/1","name":"Orchard","ground":{"outline":[[0,0],[40,0],[40,50],[0,50]]},
"things":[{"id":"t1","kind":"tree","at":[8,44],"radius":0.25},{"id":"t2","kind":"tree","at":[21,46],"radius":0.5},{"id":"p1","kind":"post","at":[32,36],"radius":0.06},{"id":"p2","kind":"post","at":[33,23],"radius":0.06},
{"id":"r1","kind":"rail","path":[[32,31],[35,36]],"width":0.12},{"id":"r2","kind":"rail","path":[[5,20],[9,24]],"width":0.12},{"id":"w1","kind":"water","outline":[[24,6],[30,6],[30,10],[24,10]],"drivable":true}],
"hazards":[{"name":"Orchard","marker_radius":0.06,"in":{"right":[21.5,1],"left":[18,1]},"out":{"right":[18,1],"left":[21.5,1]},
"gates":[{"letter":"A","right":[26,30],"left":[23,29]},{"letter":"B","right":[21,37],"left":[18.5,39.5]},{"letter":"C","right":[6.5,17],"left":[8,13.5]}]}]}`

// standIn is the server of the tests. Its answers can be changed while it runs.
type standIn struct {
	*httptest.Server
	mu       sync.Mutex
	solves   int
	follows  int
	saved    []json.RawMessage
	conflict bool
	fault    bool          // solve answers 422
	slow     time.Duration // solve waits this long
	none     bool
}

func serve(t testing.TB, plan string) *standIn {
	t.Helper()
	s := &standIn{}
	mux := http.NewServeMux()
	mux.Handle("GET /static/", http.StripPrefix("/static/", http.FileServer(http.Dir("static"))))
	mux.Handle("GET /testdata/", http.StripPrefix("/testdata/", http.FileServer(http.Dir("testdata"))))
	mux.HandleFunc("GET /ground/p1", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		fmt.Fprintf(w, ground, "Orchard", plan, turnouts)
	})
	mux.HandleFunc("POST /api/solve", s.solve)
	mux.HandleFunc("POST /api/follow", s.follow)
	mux.HandleFunc("POST /api/check", func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `{"faults":[],"warnings":[]}`)
	})
	mux.HandleFunc("POST /api/keepout", func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprint(w, `{"turnout":"Invented team","metres":8,"pieces":[[[10,5],[30,5],[30,45],[10,45]]],"words":"Keep outside the drawn lines, from the swept room of Invented team."}`)
	})
	mux.HandleFunc("PUT /api/plans/p1", func(w http.ResponseWriter, r *http.Request) {
		var in struct {
			Base int             `json:"base_version"`
			Plan json.RawMessage `json:"plan"`
		}
		if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.conflict && in.Base == 1 {
			w.WriteHeader(http.StatusConflict)
			fmt.Fprint(w, `{"newest":2,"letter":"B","faults":[]}`)
			return
		}
		s.saved = append(s.saved, in.Plan)
		fmt.Fprintf(w, `{"version":%d,"letter":"%c"}`, in.Base+1, 'A'+in.Base)
	})
	s.Server = httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s
}

type asked struct {
	Plan struct {
		Hazards []struct {
			In, Out pair
			Gates   []struct {
				Letter string
				pair
			}
		}
		Things []struct {
			At *[2]float64
		}
	}
	Through string
	Seq     int64
}
type pair struct{ Right, Left [2]float64 }

func (p pair) mid() [2]float64 {
	return [2]float64{(p.Right[0] + p.Left[0]) / 2, (p.Right[1] + p.Left[1]) / 2}
}
func (p pair) forward() [2]float64 {
	dx, dy := p.Right[0]-p.Left[0], p.Right[1]-p.Left[1]
	l := math.Hypot(dx, dy)
	return [2]float64{-dy / l, dx / l}
}

func (s *standIn) solve(w http.ResponseWriter, r *http.Request) {
	var q asked
	if err := json.NewDecoder(r.Body).Decode(&q); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	s.mu.Lock()
	s.solves++
	fault, slow, none := s.fault, s.slow, s.none
	s.mu.Unlock()
	time.Sleep(slow)
	w.Header().Set("Content-Type", "application/json")
	if fault {
		w.WriteHeader(http.StatusUnprocessableEntity)
		fmt.Fprint(w, `{"faults":[{"rule":"post-in-gate","place":"hazards[0].gates[0]","message":"p1 stands in gate A","hint":"move p1 out of the opening"}]}`)
		return
	}
	a := hazard.Answer{Hazard: "Orchard", Turnout: "Bay cob", Through: q.Through, Dropped: 14, Routes: []hazard.Route{}}
	if none {
		a.NoneBecause = &hazard.Reason{Gate: "B", Needs: 4.1, Has: 3.2, Between: []string{"p1", "r1"}, Text: "The cob cannot reach B: 4.1 m needed between p1 and r1, 3.2 m there."}
	} else {
		for i, says := range []string{"Quickest. Two right turns of 3.3 m before B; needs a supple horse to the right.", "8 m longer, no turn under 5 m: kinder to a green horse.", "B from behind the tree. Turns left instead of right."} {
			a.Routes = append(a.Routes, line(q, i, says))
		}
	}
	writeAnswer(w, struct {
		hazard.Answer
		Seq int64 `json:"seq"`
	}{a, q.Seq})
}

func (s *standIn) follow(w http.ResponseWriter, r *http.Request) {
	var q asked
	if err := json.NewDecoder(r.Body).Decode(&q); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	s.mu.Lock()
	s.follows++
	s.mu.Unlock()
	route := line(q, 0, "")
	writeAnswer(w, map[string]any{"seq": q.Seq, "fresh": true, "route": route, "why": ""})
}

func writeAnswer(w http.ResponseWriter, v any) {
	if err := json.NewEncoder(w).Encode(v); err != nil {
		panic(err)
	}
}

// line draws cubic Hermite pieces through the gates: the shape of an answer,
// not a drive anybody checked.
func line(q asked, variant int, says string) hazard.Route {
	hz := q.Plan.Hazards[0]
	gates := []pair{hz.In}
	names := []string{"in"}
	for _, g := range hz.Gates {
		if q.Through == "" || g.Letter <= q.Through {
			gates, names = append(gates, g.pair), append(names, g.Letter)
		}
	}
	gates, names = append(gates, hz.Out), append(names, "out")
	r := hazard.Route{Rank: variant + 1, Way: fmt.Sprintf("way %d", variant), Says: says, ClearanceM: 0.14 + 0.27*float64(variant), TurnedLeftDeg: 190, TurnedRightDeg: 545}
	sway := 14 + 9*float64(variant)
	var pts [][2]float64
	at := map[int]string{}
	for i := 0; i+1 < len(gates); i++ {
		a, b, fa, fb := gates[i].mid(), gates[i+1].mid(), gates[i].forward(), gates[i+1].forward()
		at[len(pts)] = names[i]
		for k := range 100 {
			t := float64(k) / 100
			h0, h1, h2, h3 := 2*t*t*t-3*t*t+1, t*t*t-2*t*t+t, -2*t*t*t+3*t*t, t*t*t-t*t
			pts = append(pts, [2]float64{h0*a[0] + h1*fa[0]*sway + h2*b[0] + h3*fb[0]*sway, h0*a[1] + h1*fa[1]*sway + h2*b[1] + h3*fb[1]*sway})
		}
	}
	at[len(pts)] = "out"
	pts = append(pts, gates[len(gates)-1].mid())
	s, tm, was := 0.0, 0.0, math.NaN()
	ax := [2]float64{pts[0][0], pts[0][1] - 2.6}
	for i, p := range pts {
		j := min(i, len(pts)-2)
		br := math.Atan2(pts[j+1][0]-pts[j][0], pts[j+1][1]-pts[j][1])
		step := 0.0
		if i > 0 {
			step = math.Hypot(p[0]-pts[i-1][0], p[1]-pts[i-1][1])
		}
		k := 0.0
		if i > 0 && step > 0 {
			k = math.Remainder(br-was, 2*math.Pi) / step
		}
		was = br
		v := math.Min(3.6, math.Sqrt(2/math.Max(math.Abs(k), 0.05)))
		s += step
		tm += step / v
		d := math.Hypot(p[0]-ax[0], p[1]-ax[1])
		ax = [2]float64{p[0] + (ax[0]-p[0])*2.6/d, p[1] + (ax[1]-p[1])*2.6/d}
		if g, ok := at[i]; ok {
			st := "live"
			if len(g) > 1 {
				st = "due"
			}
			r.Passes = append(r.Passes, hazard.Pass{Gate: g, Was: st, Forward: true, SM: s, TS: tm})
		}
		tow := math.Atan2(p[0]-ax[0], p[1]-ax[1]) * 180 / math.Pi
		r.Samples = append(r.Samples, hazard.Sample{SM: s, TS: tm, Lead: p, BearingDeg: br * 180 / math.Pi, SpeedMps: v, CurvaturePerM: k,
			Axles: []hazard.Point{ax}, AxleBearingsDeg: []float64{tow}})
	}
	r.LengthM, r.TimeS = s, tm
	m := r.Samples[len(r.Samples)*2/3]
	e := hazard.Point{m.Axles[0][0] + 1, m.Axles[0][1] + 0.3}
	r.Tight = []hazard.Tight{{Thing: "r2", Part: "hub", At: e, SM: m.SM, ClearanceM: r.ClearanceM}}
	r.Turns = []hazard.Turn{{Hand: "right", Deg: 120, LeastRadiusM: 3.3, FromM: s * 0.3, ToM: s * 0.42, LostS: 1.2, Between: "A to B"}, {Hand: "left", Deg: 150, LeastRadiusM: 4, FromM: s * 0.5, ToM: s * 0.62, LostS: 0.6, Between: "B to C"}}
	return r
}

// ---- browser ----------------------------------------------------------------

// tab is one browser tab with the drawing open.
type tab struct {
	testing.TB
	ctx context.Context
}

// openDrawing opens the drawing in a fresh browser of the given size. Where
// there is no Chromium the test is skipped with a word, and fails with CI=true.
func openDrawing(t testing.TB, s *standIn, w, h int64) *tab {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("no Chromium on this machine, and CI=true allows no skip")
		}
		t.Skip("SKIPPED: no Chromium on this machine; the drawing is not tested")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 90*time.Second)
	t.Cleanup(cancel)
	alloc, stop := chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-component-update", true), chromedp.UserDataDir(t.TempDir()))...)
	t.Cleanup(stop)
	c, closeTab := chromedp.NewContext(alloc)
	t.Cleanup(closeTab)
	p := &tab{TB: t, ctx: c}
	p.do(chromedp.EmulateViewport(w, h), chromedp.Navigate(s.URL+"/ground/p1"))
	p.until(`window.terretDesk && terretDesk.state.port.w > 0`)
	return p
}

func (p *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	if err := chromedp.Do(p.ctx, actions...); err != nil {
		p.Fatal(err)
	}
}

// until waits for a JavaScript condition.
func (p *tab) until(js string) {
	p.Helper()
	for start := time.Now(); time.Since(start) < 10*time.Second; time.Sleep(20 * time.Millisecond) {
		if ok, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool]("Boolean("+js+")")); err == nil && ok {
			return
		}
	}
	state, _ := chromedp.Run(p.ctx, chromedp.Evaluate[string](`JSON.stringify({says: window.terretDesk?.state.says, trouble: window.terretDesk?.state.trouble, body: document.body.innerText.slice(0, 300)})`))
	p.Fatalf("waited in vain for %s\n%s", js, state)
}

// eval gives a value of the page.
func eval[T any](p *tab, js string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		p.Fatalf("%s: %v", js, err)
	}
	return v
}

// press types one key with modifiers on what has the focus.
func (p *tab) press(key string, mods ...chromedp.Modifier) {
	p.Helper()
	p.do(chromedp.KeyEvent(key, chromedp.KeyModifiers(mods...)))
}

// at is where a ground point lies on the page, in CSS pixels.
func (p *tab) at(x, y float64) (float64, float64) {
	p.Helper()
	q := eval[[]float64](p, fmt.Sprintf(`(async () => { const {toScreen} = await import('/static/editor/port.js'); const r = document.querySelector('svg.ground').getBoundingClientRect(); const q = toScreen(terretDesk.state.port, [%g, %g]); return [q[0] + r.left, q[1] + r.top]; })()`, x, y))
	return q[0], q[1]
}

// drag moves the pointer, pressed, from one ground point to another in steps.
func (p *tab) drag(fx, fy, tx, ty float64, steps int) {
	p.Helper()
	ax, ay := p.at(fx, fy)
	bx, by := p.at(tx, ty)
	p.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, ax, ay, chromedp.ButtonLeft, chromedp.ClickCount(1)))
	for i := 1; i <= steps; i++ {
		f := float64(i) / float64(steps)
		p.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, ax+(bx-ax)*f, ay+(by-ay)*f, chromedp.ButtonLeft))
	}
	p.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, bx, by, chromedp.ButtonLeft, chromedp.ClickCount(1)))
}

const settledJS = `terretDesk.state.shown && terretDesk.state.answerSeq === terretDesk.state.seq && !terretDesk.state.stale`

func TestDragMovesAPostAsOneStepAndTheLineFollows(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	was := eval[string](p, `document.querySelector('[data-line]').getAttribute('d')`)
	p.drag(26, 30, 28, 31, 8)
	p.until(`terretDesk.state.history.past.length === 1`)
	p.until(settledJS)
	s.mu.Lock()
	follows := s.follows
	s.mu.Unlock()
	if follows == 0 {
		t.Error("nothing was asked while dragging")
	}
	if now := eval[string](p, `document.querySelector('[data-line]').getAttribute('d')`); now == was {
		t.Error("the line did not follow the red marker of A")
	}
	at := eval[[]float64](p, `terretDesk.state.history.now.hazards[0].gates[0].right`)
	if math.Hypot(at[0]-28, at[1]-31) > 0.5 {
		t.Errorf("A.right at %v, dragged to [28 31]", at)
	}
	p.press("z", chromedp.ModifierCtrl)
	p.until(`terretDesk.state.history.now.hazards[0].gates[0].right.join() === '26,30'`)
	p.press("Z", chromedp.ModifierCtrl, chromedp.ModifierShift)
	p.until(fmt.Sprintf(`terretDesk.state.history.now.hazards[0].gates[0].right.join() === '%g,%g'`, at[0], at[1]))
}
