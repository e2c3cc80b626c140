package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/evanw/esbuild/pkg/api"
	"github.com/google/go-cmp/cmp"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/testkit"
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
	mux.Handle("GET /static/", http.StripPrefix("/static/", http.FileServer(http.Dir("book/static"))))
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
	route := line(q, 0, "")
	writeAnswer(w, map[string]any{"seq": q.Seq, "fresh": true, "route": route, "why": ""})
}

func writeAnswer(w http.ResponseWriter, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	_, _ = w.Write(b) // a page that went away wants no answer
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

// openDrawing opens the drawing in a fresh browser of the given size.
func openDrawing(t testing.TB, s *standIn, w, h int64) *tab {
	t.Helper()
	p := &tab{TB: t, ctx: testkit.Browser(t)}
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
	p.pull(fx, fy, tx, ty, steps)()
}

// pull is drag up to where the pointer is let go of, which is what it returns.
func (p *tab) pull(fx, fy, tx, ty float64, steps int) (lift func()) {
	p.Helper()
	ax, ay := p.at(fx, fy)
	bx, by := p.at(tx, ty)
	p.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, ax, ay, chromedp.ButtonLeft, chromedp.ClickCount(1)))
	for i := 1; i <= steps; i++ {
		f := float64(i) / float64(steps)
		p.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, ax+(bx-ax)*f, ay+(by-ay)*f, chromedp.ButtonLeft))
	}
	return func() {
		p.Helper()
		p.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, bx, by, chromedp.ButtonLeft, chromedp.ClickCount(1)))
	}
}

const settledJS = `(terretDesk.state.answer?.routes.length === 0 || document.querySelector('.way-take')) && terretDesk.state.shown && terretDesk.state.answerSeq === terretDesk.state.seq && !terretDesk.state.stale`

func TestDragMovesAPostAsOneStepAndTheLineFollows(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	was := eval[string](p, `document.querySelector('[data-line]').getAttribute('d')`)
	answer := func(fault bool) {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.fault = fault
	}
	answer(true) // no whole answer comes while the post is dragged: a new line is one that followed
	lift := p.pull(26, 30, 28, 31, 8)
	p.until(fmt.Sprintf(`document.querySelector('[data-line]').getAttribute('d') !== %q`, was))
	if n := eval[int](p, `terretDesk.state.history.past.length`); n != 0 {
		t.Errorf("%d steps to take back before the post was let go of", n)
	}
	answer(false)
	lift()
	p.until(`terretDesk.state.history.past.length === 1`)
	p.until(settledJS)
	if now := eval[string](p, `document.querySelector('[data-line]').getAttribute('d')`); now == was {
		t.Error("the line is the old one, with the red marker of A elsewhere")
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

// The red marker must be on the driver's right on the screen, where north is
// up, whichever way the gate is driven. The check is made on what is drawn:
// the middles of the signs and the tip of the arrow.
func TestRedIsOnTheDriversRightOnTheScreenForEveryBearing(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	for deg := 0; deg < 360; deg += 15 {
		for _, shared := range []string{"A", "in", "out"} {
			got := eval[[]float64](p, fmt.Sprintf(`(async () => {
				terretDesk.commit({do: 'face', h: 0, key: %q, bearing: %d});
				%s
				await new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)));
				const mid = (el) => { const b = el.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; };
				const g = document.querySelector('[data-gate="%s"]');
				const r = mid(g.querySelector('.red-sign')), l = mid(g.querySelector('.white-sign'));
				const d = g.querySelector('.arrow').getAttribute('d').match(/-?[\d.]+/g).map(Number);
				return [r[0] - l[0], r[1] - l[1], d[2] - d[0], d[3] - d[1]];
			})()`, shared, deg, map[string]string{
				"A":   "",
				"in":  "{ const i = terretDesk.state.history.now.hazards[0].in; terretDesk.commit({do: 'put', h: 0, refs: ['marker/out/left'], at: i.right}); terretDesk.commit({do: 'put', h: 0, refs: ['marker/out/right'], at: i.left}); }",
				"out": "{ const i = terretDesk.state.history.now.hazards[0].out; terretDesk.commit({do: 'put', h: 0, refs: ['marker/in/left'], at: i.right}); terretDesk.commit({do: 'put', h: 0, refs: ['marker/in/right'], at: i.left}); }",
			}[shared], shared))
			// The arrow points the bearing: on the screen east is +x and north −y.
			rad := float64(deg) * math.Pi / 180
			if l := math.Hypot(got[2], got[3]); math.Abs(got[2]/l-math.Sin(rad)) > 0.02 || math.Abs(-got[3]/l-math.Cos(rad)) > 0.02 {
				t.Errorf("%s on bearing %d°: the arrow points %v on the screen", shared, deg, got[2:])
			}
			// Facing along (ax, ay) with y down, the right hand is (−ay, ax).
			if dot := got[0]*-got[3] + got[1]*got[2]; dot <= 0 {
				t.Errorf("%s on bearing %d°: red is on the driver's left on the screen (%v)", shared, deg, got)
			}
		}
	}
}

// axe runs the accessibility checker over the page and lists what it finds.
func (p *tab) axe() []string {
	p.Helper()
	eval[int](p, `new Promise((ok, no) => { const s = document.createElement('script'); s.src = '/testdata/axe-core/axe.min.js'; s.onload = () => ok(0); s.onerror = no; document.head.append(s); })`)
	return eval[[]string](p, `axe.run().then((r) => r.violations.map((v) => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160)).join(' | ')))`)
}

func TestDrawingIsAxeClean(t *testing.T) {
	for name, w := range map[string]int64{"phone": 390, "laptop": 1440} {
		t.Run(name, func(t *testing.T) {
			s := serve(t, orchard)
			p := openDrawing(t, s, w, 900)
			p.until(settledJS)
			eval[int](p, `terretDesk.state.chosen = ['thing/r1', 'thing/w1']; document.querySelector('.ed-keepout input').click(); document.querySelector('#drive').click(); 0`)
			p.until(`document.querySelector('.play-bar') && document.querySelector('.keepout')`)
			for _, v := range p.axe() {
				t.Error(v)
			}
		})
	}
}

// The empty plan becomes the practice grid of 6 × 6 stout posts 3 m apart with
// rails tied between (common practice, docs: the grid of examples), its In and
// Out and two lettered gates, with the keyboard alone.
func TestGridIsBuiltByKeyboardAlone(t *testing.T) {
	s := serve(t, `{"terret":"plan/1","name":"Grid","ground":{"outline":[[0,0],[30,0],[30,30],[0,30]]}}`)
	p := openDrawing(t, s, 1440, 900)
	// Reach the drawing by Tab alone.
	for i := 0; ; i++ {
		if eval[bool](p, `document.activeElement?.matches('svg.ground')`) {
			break
		}
		if i > 40 {
			t.Fatal("forty presses of Tab do not reach the drawing")
		}
		p.press(kb.Tab)
	}
	cross := [2]int{15, 15} // the cross begins in the middle of the window
	to := func(x, y int) {
		t.Helper()
		for ; cross[0] < x; cross[0]++ {
			p.press(kb.ArrowRight, chromedp.ModifierShift)
		}
		for ; cross[0] > x; cross[0]-- {
			p.press(kb.ArrowLeft, chromedp.ModifierShift)
		}
		for ; cross[1] < y; cross[1]++ {
			p.press(kb.ArrowUp, chromedp.ModifierShift)
		}
		for ; cross[1] > y; cross[1]-- {
			p.press(kb.ArrowDown, chromedp.ModifierShift)
		}
	}
	for row := range 6 {
		for i := range 6 {
			col := i
			if row%2 == 1 {
				col = 5 - i // there and back
			}
			to(7+3*col, 7+3*row)
			p.press("p")
		}
	}
	between := func(key string, ax, ay, bx, by int) {
		to(ax, ay)
		p.press(key)
		to(bx, by)
		p.press(key)
	}
	between("r", 7, 7, 10, 7)
	between("r", 13, 13, 13, 16)
	between("g", 13, 4, 16, 4) // In and Out, driven north: white at 13, red at 16
	between("g", 10, 10, 13, 10)
	between("g", 16, 19, 16, 16)
	got := eval[struct {
		Posts []string
		Rails [][][2]float64
		In    pair
		Out   pair
		Gates []string
	}](p, `(() => { const d = terretDesk.state.history.now; return {
		Posts: d.things.filter((t) => t.kind === 'post').map((t) => t.at.join()), Rails: d.things.filter((t) => t.kind === 'rail').map((t) => t.path),
		In: d.hazards[0].in, Out: d.hazards[0].out, Gates: d.hazards[0].gates.map((g) => g.letter + ' ' + g.left.join() + ' ' + g.right.join())}; })()`)
	want := map[string]bool{}
	for i := range 6 {
		for j := range 6 {
			want[fmt.Sprintf("%d,%d", 7+3*i, 7+3*j)] = true
		}
	}
	for _, q := range got.Posts {
		if !want[q] {
			t.Errorf("a post at %s", q)
		}
		delete(want, q)
	}
	if len(want) > 0 {
		t.Errorf("no post at %v", want)
	}
	if diff := cmp.Diff([][][2]float64{{{7, 7}, {10, 7}}, {{13, 13}, {13, 16}}}, got.Rails); diff != "" {
		t.Errorf("rails (-want +got):\n%s", diff)
	}
	if got.In != (pair{Right: [2]float64{16, 4}, Left: [2]float64{13, 4}}) || got.Out != (pair{Right: [2]float64{13, 4}, Left: [2]float64{16, 4}}) {
		t.Errorf("In %v, Out %v", got.In, got.Out)
	}
	if diff := cmp.Diff([]string{"A 10,10 13,10", "B 16,19 16,16"}, got.Gates); diff != "" {
		t.Errorf("gates (-want +got):\n%s", diff)
	}
	// Numbers, too: Enter on a thing opens them, Escape goes back.
	eval[int](p, `document.querySelector('[data-ref="thing/p1"]').focus(), 0`)
	p.press(kb.Enter)
	p.until(`document.activeElement?.getAttribute('aria-label') === 'p1, metres east'`)
	eval[int](p, `document.activeElement.select(), 0`)
	p.press("7")
	p.press(",")
	p.press("5")
	p.press(kb.Tab)
	p.until(`terretDesk.state.history.now.things[0].at[0] === 7.5`)
	p.press(kb.Escape)
	p.until(`document.activeElement?.dataset.ref === 'thing/p1'`)
	p.press(kb.Delete)
	p.until(`terretDesk.state.history.now.things.length === 37 && !document.querySelector('[data-ref="thing/p1"]')`)
}

func TestAnswersForAnOlderDrawingAreDroppedAndTheOldLineIsCalledStale(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	s.mu.Lock()
	s.slow = 900 * time.Millisecond
	s.mu.Unlock()
	seq := eval[int](p, `(() => { window.realFetch = fetch; window.fetch = (u, o) => (String(u).endsWith('/follow') ? new Promise(() => {}) : realFetch(u, o));
		terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}); return terretDesk.state.seq; })()`)
	p.until(`document.querySelector('[data-line="stale"]') && document.querySelector('.stale-word')?.textContent === 'stale'`)
	p.until(`document.querySelector('.ed-words').textContent.includes('Working out the ways of Bay cob')`)
	// A second change while the first is worked out: only the newest is shown.
	eval[int](p, `terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}), 0`)
	p.until(settledJS)
	if got := eval[int](p, `terretDesk.state.answerSeq`); got != seq+1 {
		t.Errorf("the answer shown is for drawing %d, the newest is %d", got, seq+1)
	}
	if eval[bool](p, `Boolean(document.querySelector('.stale-word'))`) {
		t.Error("the new line is still called stale")
	}
	// Stopping leaves the old line and says so.
	eval[int](p, `terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}), 0`)
	p.until(`document.querySelector('.ed-words button')`)
	eval[int](p, `document.querySelector('.ed-words button').click(), 0`)
	p.until(`document.querySelector('.ed-words').textContent.startsWith('Stopped')`)
}

func TestFaultsAreShownWithTheirPlaceAndTheLastLineStays(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	s.mu.Lock()
	s.fault = true
	s.mu.Unlock()
	eval[int](p, `terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [-8, -6]}), 0`)
	p.until(`document.querySelector('#ways .attend')?.textContent.includes('p1 stands in gate A')`)
	if !eval[bool](p, `Boolean(document.querySelector('[data-line]'))`) {
		t.Error("the last good line is gone")
	}
}

func TestNoWayNamesTheGateAndOffersAMove(t *testing.T) {
	s := serve(t, orchard)
	s.none = true
	p := openDrawing(t, s, 1440, 900)
	p.until(`document.querySelector('#ways .attend .link')`)
	if got := eval[string](p, `document.querySelector('#ways .attend').textContent.replace(/\s+/g, ' ').trim()`); got != "Attend: The cob cannot reach B: 4.1 m needed between p1 and r1, 3.2 m there. Move post p1 by 0.9 m" {
		t.Errorf("says %q", got)
	}
	was := eval[[]float64](p, `terretDesk.state.history.now.things[2].at`)
	eval[int](p, `document.querySelector('#ways .attend .link').click(), 0`)
	now := eval[[]float64](p, `terretDesk.state.history.now.things[2].at`)
	if d := math.Hypot(now[0]-was[0], now[1]-was[1]); math.Abs(d-0.9) > 0.002 {
		t.Errorf("p1 moved by %v m", d)
	}
}

func TestKeepingShowsBothWhenSomebodyElseKeptFirst(t *testing.T) {
	s := serve(t, orchard)
	s.conflict = true
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	eval[int](p, `terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}), 0`)
	p.press("s", chromedp.ModifierCtrl)
	p.until(`document.querySelectorAll('.conflict button').length === 2`)
	eval[int](p, `document.querySelector('.conflict button').click(), 0`)
	p.until(`document.querySelector('.keep-words').textContent.startsWith('Kept as version C')`)
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.saved) != 1 {
		t.Errorf("%d plans kept", len(s.saved))
	}
	if eval[bool](p, `localStorage.getItem('terret-draft-p1') !== null`) {
		t.Error("the draft stays although it is kept")
	}
}

func TestADraftComesBackAfterTheLidWasClosed(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	eval[int](p, `terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1.25, 0]}), 0`)
	p.do(chromedp.Reload())
	p.until(`window.terretDesk?.state.history.now.things[2].at[0] === 33.25`)
	p.until(`document.querySelector('#undo').disabled === false`)
	// Another version kept meanwhile is not written over without a question.
	if got := eval[string](p, `JSON.parse(localStorage.getItem('terret-draft-p1')).base`); got != "1" {
		t.Errorf("the draft says it was made from version %q", got)
	}
	eval[int](p, `document.querySelector('#undo').click(), 0`)
	p.until(`terretDesk.state.history.now.things[2].at[0] === 32`)
}

func TestBadNumberIsMarkedWhereItWasTyped(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	eval[int](p, `(() => { const i = document.querySelector('[aria-label="A, opening in metres"]'); i.value = 'wide'; i.dispatchEvent(new Event('change', {bubbles: true})); return 0; })()`)
	if got := eval[string](p, `document.querySelector('[data-row="gate/A"] .row-note').textContent`); got != "A, opening in metres: A number is wanted, such as 12.5." {
		t.Errorf("says %q", got)
	}
	if n := eval[int](p, `terretDesk.state.history.past.length`); n != 0 {
		t.Errorf("%d steps from a bad number", n)
	}
	eval[int](p, `(() => { const i = document.querySelector('[aria-label="A, opening in metres"]'); i.value = '4'; i.dispatchEvent(new Event('change', {bubbles: true})); return 0; })()`)
	if got := eval[[]float64](p, `(() => { const g = terretDesk.state.history.now.hazards[0].gates[0]; return [Math.hypot(g.right[0] - g.left[0], g.right[1] - g.left[1])]; })()`); math.Abs(got[0]-4.12) > 0.002 {
		t.Errorf("markers %v m apart for an opening of 4 m between markers of 0.06 m radius", got[0])
	}
}

func TestGatesGoDeadAsTheDriveIsPlayed(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	states := func() []string {
		return eval[[]string](p, `new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(() => ok(['A', 'B', 'C', 'out'].map((k) => document.querySelector('[data-gate="' + k + '"]').dataset.state)))))`)
	}
	if diff := cmp.Diff([]string{"due", "live", "live", "live"}, states()); diff != "" {
		t.Errorf("before the drive (-want +got):\n%s", diff)
	}
	p.do(chromedp.Click(chromedp.CSS("#drive")))
	p.until(`document.querySelector('.play-bar')`)
	eval[int](p, `(() => { const i = document.querySelector('.scrub input'), t = terretDesk.state.shown.passes.find((p) => p.gate === 'B').t_s; i.value = t + 0.5; i.dispatchEvent(new Event('input')); return 0; })()`)
	if diff := cmp.Diff([]string{"dead", "dead", "due", "live"}, states()); diff != "" {
		t.Errorf("just past B (-want +got):\n%s", diff)
	}
	if !eval[bool](p, `Boolean(document.querySelector('.turnout .horse') && document.querySelector('.turnout .wheel') && document.querySelector('.wheel-trace').getAttribute('d').length > 100)`) {
		t.Error("no horse, wheels or trace of the wheels")
	}
}

func TestPlayStepsWhereMotionIsNotWanted(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}}); err != nil {
		t.Fatal(err)
	}
	p.until(settledJS)
	p.do(chromedp.Click(chromedp.CSS("#drive")))
	p.until(`document.querySelector('.play-words')?.textContent.startsWith('through A')`)
	if eval[bool](p, `terretDesk.state.play.on`) {
		t.Error("it moves by itself")
	}
}

// Two fingers zoom about their middle and let go of what was being dragged.
func TestPinchZoomsAndLetsGo(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 390, 844)
	p.until(settledJS)
	got := eval[[]float64](p, `(async () => {
		const svg = document.querySelector('svg.ground'), r = svg.getBoundingClientRect(), k = terretDesk.state.port.k;
		svg.setPointerCapture = () => {};
		const go = (type, id, x, y) => svg.dispatchEvent(new PointerEvent(type, {pointerId: id, pointerType: 'touch', clientX: r.left + x, clientY: r.top + y, bubbles: true, button: 0}));
		go('pointerdown', 1, 150, 200); go('pointerdown', 2, 250, 200);
		go('pointermove', 1, 100, 200); go('pointermove', 2, 300, 200);
		go('pointerup', 1, 100, 200); go('pointerup', 2, 300, 200);
		return [terretDesk.state.port.k / k, terretDesk.state.history.past.length];
	})()`)
	if math.Abs(got[0]-2) > 0.01 || got[1] != 0 {
		t.Errorf("fingers twice as far apart zoom by %v, with %v steps done", got[0], got[1])
	}
}

// Imports are checked by bundling: a name that a module does not export, or a
// file that is not there, is an error.
func TestEditorImportsHold(t *testing.T) {
	r := api.Build(api.BuildOptions{EntryPoints: []string{"book/static/editor/main.js"}, Bundle: true, Write: false, Format: api.FormatESModule, LogLevel: api.LogLevelSilent})
	for _, m := range append(r.Errors, r.Warnings...) {
		t.Errorf("%v: %s", m.Location, m.Text)
	}
}

// No page calls anything safe.
func TestEditorNeverSaysTheWord(t *testing.T) {
	files, err := filepath.Glob("book/static/editor/*.js")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d modules found, %v", len(files), err)
	}
	more, err := filepath.Glob("book/static/editor/tools/*.js")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range append(files, more...) {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if regexp.MustCompile(`(?i)\bsafe`).Match(b) {
			t.Errorf("%s says it", f)
		}
	}
}

// sixty is a hazard with sixty posts.
func sixty() string {
	things := make([]string, 0, 60)
	for i := range 60 {
		things = append(things, fmt.Sprintf(`{"id":"p%d","kind":"post","at":[%d,%d],"radius":0.06}`, i+1, 4+(i%10)*4, 6+(i/10)*8))
	}
	i, j := strings.Index(orchard, `"things":[`), strings.Index(orchard, `"hazards"`)
	return orchard[:i] + `"things":[` + strings.Join(things, ",") + `],` + orchard[j:]
}

// metrics are the browser's own sums of the main thread, in seconds.
func (p *tab) metrics() map[string]float64 {
	p.Helper()
	if _, err := chromedp.Call(p.ctx, performance.Enable, performance.EnableParams{}); err != nil {
		p.Fatal(err)
	}
	r, err := chromedp.Call(p.ctx, performance.GetMetrics, cdp.Empty{})
	if err != nil {
		p.Fatal(err)
	}
	m := map[string]float64{}
	for _, x := range r.Metrics {
		m[x.Name] = x.Value
	}
	return m
}

// BenchmarkDragFrame drags one of sixty posts with the line following. A frame
// is the pointer's handler and then all from the frame's first callback to the
// end of script, style, layout and paint (a message posted in the frame is
// handled right after it is painted);
// follow_ms is from the pointer's event to the frame that draws the new line,
// with an answer that the stand-in gives at once.
func BenchmarkDragFrame(b *testing.B) {
	s := serve(b, sixty())
	p := openDrawing(b, s, 1440, 900)
	p.until(settledJS)
	eval[int](p, `(() => {
		window.took = []; window.followed = [];
		const waiting = [];
		let began = 0, handled = 0;
		addEventListener('pointermove', () => {
			began = performance.now();
			requestAnimationFrame(() => { const t = performance.now(), own = handled, c = new MessageChannel(); c.port1.onmessage = () => took.push(performance.now() - t + own); c.port2.postMessage(0); });
		}, true);
		addEventListener('pointermove', () => { handled = performance.now() - began; waiting.push([terretDesk.state.seq, began]); });
		(function watch() { requestAnimationFrame(() => {
			while (waiting.length && terretDesk.state.shownSeq >= waiting[0][0]) followed.push(performance.now() - waiting.shift()[1]);
			watch(); }); })();
		return 0; })()`)
	before := p.metrics()
	for b.Loop() {
		p.drag(24, 22, 27, 26, 120)
		p.until(settledJS)
		p.press("z", chromedp.ModifierCtrl)
		p.until(settledJS)
	}
	after := p.metrics()
	frames := eval[float64](p, "took.length")
	for _, m := range []string{"ScriptDuration", "LayoutDuration", "RecalcStyleDuration", "TaskDuration", "ThreadTime"} {
		b.ReportMetric((after[m]-before[m])*1000/frames, m+"_ms/frame")
	}
	for name, unit := range map[string]string{"took": "frame", "followed": "follow", "terretDesk.frames": "script"} {
		v := eval[[]float64](p, name)
		slices.Sort(v)
		if len(v) < 50 {
			b.Fatalf("only %d frames counted", len(v))
		}
		b.ReportMetric(v[len(v)/2], unit+"_median_ms")
		b.ReportMetric(v[len(v)*95/100], unit+"_p95_ms")
	}
	b.ReportMetric(0, "ns/op")
}

// Two ways lie on the drawing at once when the second is walked to with the
// arrow keys: the best solid, the other with its own dash.
func TestTwoWaysAreComparedOnTheDrawing(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	p.until(settledJS)
	p.do(chromedp.Focus(chromedp.CSS(".way-take")))
	p.press(kb.ArrowDown)
	p.until(`document.querySelector('.ground .way')?.getAttribute('stroke-dasharray') === '9 5' && document.querySelector('.ground .best')`)
	p.press(kb.ArrowDown)
	p.until(`document.querySelector('.ground .way')?.getAttribute('stroke-dasharray') === '2 5'`)
	p.press(kb.Enter)
	p.until(`document.querySelectorAll('.way-take')[2].getAttribute('aria-pressed') === 'true'`)
}

// The sides and sizes of gates are the same in the page as in package plan.
func TestGatesMeanTheSameInThePageAsInThePlan(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		r, l := geom.Vec{X: rnd.Float64() * 50, Y: rnd.Float64() * 50}, geom.Vec{X: rnd.Float64() * 50, Y: rnd.Float64() * 50}
		g := plan.Pair{Right: r, Left: l}
		got := eval[[]float64](p, fmt.Sprintf(`import('/static/editor/model.js').then((m) => { const g = {right: [%v, %v], left: [%v, %v]}; return [...m.forwardOf(g), m.openingOf(g, 0.06), ...m.midOf(g)]; })`, r.X, r.Y, l.X, l.Y))
		f, m := g.Forward(), g.Mid()
		for i, want := range []float64{f.X, f.Y, g.Opening(0.06), m.X, m.Y} {
			if math.Abs(got[i]-want) > 1e-12 {
				t.Errorf("right %v left %v: value %d is %v in the page, %v in the plan", r, l, i, got[i], want)
			}
		}
	}
}

// What the pure modules say, as one row each: an expression and what it gives.
func TestPureModules(t *testing.T) {
	s := serve(t, orchard)
	p := openDrawing(t, s, 1440, 900)
	eval[int](p, `Promise.all(['model', 'commands', 'history', 'snap', 'hit', 'layout', 'port', 'plane', 'samples', 'says'].map((n) => import('/static/editor/' + n + '.js'))).then((all) => {
		window.M = Object.assign({}, ...all);
		window.D = JSON.parse(document.getElementById('plan-doc').textContent);
		window.V = M.fitted({x0: 0, y0: 0, x1: 40, y1: 50}, 800, 800, 40);
		window.H = (p, tol) => M.hit(D, M.gateSigns(V, M.gatesOf(D, 0)), V, M.toScreen(V, p), tol ?? 8);
		return 0; })`)
	for name, c := range map[string]struct{ js, want string }{
		"north is up on the screen":                       {`M.toScreen(V, [20, 26])[1] < M.toScreen(V, [20, 25])[1]`, `true`},
		"east is right on the screen":                     {`M.toScreen(V, [21, 25])[0] > M.toScreen(V, [20, 25])[0]`, `true`},
		"ground to screen and back":                       {`M.mmPt(M.toGround(V, M.toScreen(V, [3.25, 41.5])))`, `[3.25,41.5]`},
		"zooming leaves the place under the finger":       {`(() => { const q = [120, 300], g = M.toGround(V, q), z = M.zoomed(V, 1.7, q); return M.mmPt(M.toScreen(z, g)); })()`, `[120,300]`},
		"a post under the pointer":                        {`H([32.2, 36.1])`, `"thing/p1"`},
		"nothing under the pointer":                       {`H([14, 25])`, `null`},
		"a rail between its ends":                         {`H([7, 22])`, `"thing/r2"`},
		"a finger reaches farther than a mouse":           {`[H([32, 23], 8), H([32, 23], 22)]`, `[null,"thing/p2"]`},
		"inside an area":                                  {`H([27, 8])`, `"thing/w1"`},
		"a corner of the ground":                          {`H([0.1, 49.9])`, `"outline/3"`},
		"a shared post moves all its markers":             {`M.markersOn(D, 0, [21.5, 1])`, `["marker/in/right","marker/out/left"]`},
		"a point lands on a post":                         {`M.snap([32.3, 36.2], M.targets(D, 0, []), 0.6, {posts: true}).at`, `[32,36]`},
		"a point falls into line":                         {`M.snap([12.03, 43.9], M.targets(D, 0, []), 0.6).at[1]`, `44`},
		"a point is rounded to the step":                  {`M.snap([13.333, 26.777], [], 0.6).at`, `[13.3,26.8]`},
		"a move shares what it does not touch":            {`(() => { const d = M.apply(D, {do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}); return [d !== D, d.things[0] === D.things[0], d.hazards === D.hazards, d.things[2].at, D.things[2].at]; })()`, `[true,true,true,[33,36],[32,36]]`},
		"a move by nothing is no step":                    {`(() => { const h = M.begin(D); return M.done(h, {do: 'move', h: 0, refs: ['thing/p1'], by: [0, 0]}) === h; })()`, `true`},
		"undo gives the very document back":               {`(() => { const h = M.done(M.begin(D), {do: 'swap', h: 0, key: 'A'}); return [M.undone(h).now === D, M.redone(M.undone(h)).now === h.now]; })()`, `[true,true]`},
		"a gate driven the other way swaps its sides":     {`M.pairOf(M.apply(D, {do: 'swap', h: 0, key: 'A'}), 0, 'A').right`, `[23,29]`},
		"In and Out cannot be taken away":                 {`M.gatesOf(M.apply(D, {do: 'drop', h: 0, refs: ['gate/in', 'gate/B', 'gate/out']}), 0).map((g) => g.key)`, `["in","A","C","out"]`},
		"a turn of a gate by a quarter":                   {`Math.round(M.gateBearing(M.pairOf(M.apply(D, {do: 'turn', h: 0, ref: 'gate/in', deg: 90}), 0, 'in')))`, `90`},
		"the next free letter":                            {`M.freeLetter(D, 0)`, `"D"`},
		"a comma is a decimal point":                      {`M.number(' 3,25 ')`, `3.25`},
		"words are no number":                             {`[M.number('3 m'), M.number(''), M.number('NaN'), M.number('1e9')]`, `[null,null,null,null]`},
		"a gate for other classes is out of play":         {`[...M.gateStates([{key: 'A', for: ['VSE']}, {key: 'B'}], 'B', null, 0, '')]`, `[["A","out of play"],["B","due"]]`},
		"centimetres under a metre, metres from there on": {`[M.room(0.14), M.room(1.25)]`, `["14 cm","1.3 m"]`},
	} {
		t.Run(name, func(t *testing.T) {
			if got := eval[string](p, "JSON.stringify("+c.js+")"); got != c.want {
				t.Errorf("%s\n got %s\nwant %s", c.js, got, c.want)
			}
		})
	}
}
