package web

import (
	"context"
	"fmt"
	"math"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/evanw/esbuild/pkg/api"
	"github.com/google/go-cmp/cmp"

	"terret/examples/demo"
	"terret/internal/cones"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/testkit"
	"terret/internal/turnout"
)

// conesHouse serves the demo and, beside it, an example plan of cones.
func conesHouse(t testing.TB, names ...string) (*httptest.Server, PlanStore) {
	t.Helper()
	h, s := house(t, true, straight{})
	for _, name := range names {
		p, _, err := plan.Load("../../examples/plans/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.SavePlan(context.Background(), name, 0, p, "", noon); err != nil {
			t.Fatal(err)
		}
	}
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	return srv, s
}

// drivenJS is true once the page has driven the course as it is shown, with the
// whole class.
const drivenJS = `window.terretDesk && terretDesk.state.runSeq === terretDesk.state.seq && terretDesk.state.klassSeq === terretDesk.state.seq && document.querySelector('.room-table')`

// TestConesPictures writes pictures for a person to look at, into the folder
// that TERRET_LOOK names.
func TestConesPictures(t *testing.T) {
	dir := os.Getenv("TERRET_LOOK")
	if dir == "" {
		t.Skip("set TERRET_LOOK to a folder to have pictures taken")
	}
	tab := testkit.Browser(t)
	srv, _ := conesHouse(t, "cones-twelve", "cones-workshop", "cones-ten")
	for _, name := range []string{"cones-ten", "cones-twelve", "cones-workshop"} {
		for _, w := range []int64{390, 1440} {
			open(t, tab, srv.URL+"/ground/"+name+"?turnout=12-bay-four", w)
			waitFor(t, tab, drivenJS)
			js(t, tab, `new Promise((ok) => setTimeout(() => ok(0), 2500))`, new(int))
			shoot(t, tab, filepath.Join(dir, fmt.Sprintf("%s-%d.png", name, w)))
			js(t, tab, `document.querySelector('[data-layer=cones] [data-ref="cone/3"], [data-layer=cones] [data-ref="cone/3a"]').focus(); terretDesk.state.chosen = [document.activeElement.dataset.ref]; document.activeElement.blur(); document.querySelector('.margin').scrollTop = 0; terretDesk.state.says='chosen'; window.dispatchEvent(new Event('resize')); document.querySelector('[aria-label=Nearer]').click(); document.querySelector('[aria-label=Nearer]').click(); document.querySelector('#multiple-box').open = true; new Promise((ok) => setTimeout(() => ok(0), 300))`, new(int))
			shoot(t, tab, filepath.Join(dir, fmt.Sprintf("%s-%d-chosen.png", name, w)))
			js(t, tab, `(document.querySelector('.margin').scrollHeight > document.querySelector('.margin').clientHeight + 2 ? document.querySelector('.margin') : document.scrollingElement).scrollTop = innerWidth < 500 ? document.querySelector('#room').getBoundingClientRect().top - 60 : 600; new Promise((ok) => setTimeout(() => ok(0), 300))`, new(int))
			shoot(t, tab, filepath.Join(dir, fmt.Sprintf("%s-%d-room.png", name, w)))
		}
	}
}

// groundAt is where a ground point lies on the page, in CSS pixels.
func groundAt(t testing.TB, tab context.Context, x, y float64) (float64, float64) {
	t.Helper()
	q, err := chromedp.Run(tab, chromedp.Evaluate[[]float64](fmt.Sprintf(`(() => { const v = terretDesk.state.port, r = document.querySelector('svg.ground').getBoundingClientRect(); return [(%g - v.cx) * v.k + v.w / 2 + r.left, (v.cy - %g) * v.k + v.h / 2 + r.top]; })()`, x, y)))
	if err != nil {
		t.Fatal(err)
	}
	return q[0], q[1]
}

// dragGround moves the pointer, pressed, from one ground point to another.
func dragGround(t testing.TB, tab context.Context, fx, fy, tx, ty float64, steps int) {
	t.Helper()
	ax, ay := groundAt(t, tab, fx, fy)
	bx, by := groundAt(t, tab, tx, ty)
	all := []chromedp.Action[chromedp.Void]{chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, ax, ay, chromedp.ButtonLeft, chromedp.ClickCount(1))}
	for i := 1; i <= steps; i++ {
		f := float64(i) / float64(steps)
		all = append(all, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, ax+(bx-ax)*f, ay+(by-ay)*f, chromedp.ButtonLeft))
	}
	all = append(all, chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, bx, by, chromedp.ButtonLeft, chromedp.ClickCount(1)))
	if err := chromedp.Do(tab, all...); err != nil {
		t.Fatal(err)
	}
}

// BenchmarkConesDragFrame drags one of twenty pairs with the real line following.
// A frame is the pointer's handler and then all from the frame's first callback
// to the end of script, style, layout and paint (a message posted in the frame is
// handled right after it is painted); follow is from the pointer's event to the
// frame that draws the line for it. Wanted: frame median under 8 ms, 95 % under
// 16 ms.
func BenchmarkConesDragFrame(b *testing.B) {
	srv, _ := conesHouse(b, "cones-twenty")
	for _, turnout := range []string{"06-bay-cob", "12-bay-four"} {
		b.Run(turnout, func(b *testing.B) {
			tab := testkit.Browser(b)
			open(b, tab, srv.URL+"/ground/cones-twenty?turnout="+turnout, 1440)
			waitFor(b, tab, drivenJS)
			js(b, tab, `(() => {
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
				return 0; })()`, new(int))
			for b.Loop() {
				dragGround(b, tab, 60, 24.5, 62, 26, 120)
				waitFor(b, tab, drivenJS)
				js(b, tab, `document.getElementById('undo').click(); 0`, new(int))
				waitFor(b, tab, drivenJS)
			}
			for name, unit := range map[string]string{"took": "frame", "followed": "follow", "terretDesk.frames": "script"} {
				var v []float64
				js(b, tab, name, &v)
				slices.Sort(v)
				if len(v) < 50 {
					b.Fatalf("only %d of %s counted", len(v), name)
				}
				b.ReportMetric(v[len(v)/2], unit+"_median_ms")
				b.ReportMetric(v[len(v)*95/100], unit+"_p95_ms")
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// openCones opens a cones drawing and waits until it has been driven.
func openCones(t *testing.T, srv *httptest.Server, path string, width int64) context.Context {
	t.Helper()
	tab := testkit.Browser(t)
	open(t, tab, srv.URL+"/ground/"+path, width)
	waitFor(t, tab, drivenJS)
	return tab
}

// got is a value of the page.
func got[T any](t *testing.T, tab context.Context, expression string) (v T) {
	t.Helper()
	js(t, tab, expression, &v)
	return v
}

// TestAPairIsDragged: the line and the figures follow before the hand lets go,
// the drag is one step, and undo puts everything back.
func TestAPairIsDragged(t *testing.T) {
	srv, _ := conesHouse(t, "cones-ten")
	tab := openCones(t, srv, "cones-ten?turnout=06-bay-cob", 1440)
	const length = `document.querySelector('.ed-figures b').textContent`
	const line = `document.querySelector('[data-line]').getAttribute('d')`
	was, drawn := got[string](t, tab, length), got[string](t, tab, line)
	// The hand stops on the way, still down, until the line has caught up: how
	// quick that is, is the benchmark's business.
	mouse := func(kind input.DispatchMouseEventType, x, y float64) {
		t.Helper()
		px, py := groundAt(t, tab, x, y)
		if err := chromedp.Do(tab, chromedp.MouseEvent(kind, px, py, chromedp.ButtonLeft, chromedp.ClickCount(1))); err != nil {
			t.Fatal(err)
		}
	}
	mouse(input.DispatchMouseEventTypeMousePressed, 35, 8)
	seen := map[string]bool{was: true}
	for i := 1.0; i <= 3; i++ {
		mouse(input.DispatchMouseEventTypeMouseMoved, 35+i, 8+i*2/3)
		waitFor(t, tab, `terretDesk.state.dragging && terretDesk.state.shown?.bare && terretDesk.state.shownSeq === terretDesk.state.seq`)
		now := got[string](t, tab, `new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(() => ok(`+length+`))))`)
		if seen[now] {
			t.Errorf("at step %v of the drag the length is still %s", i, now)
		}
		seen[now] = true
	}
	mouse(input.DispatchMouseEventTypeMouseReleased, 38, 10)
	waitFor(t, tab, `terretDesk.state.history.past.length === 1`)
	waitFor(t, tab, drivenJS)
	if got[string](t, tab, length) == was || got[string](t, tab, line) == drawn {
		t.Error("the length or the line is as before")
	}
	if at := got[[]float64](t, tab, `terretDesk.state.history.now.courses[0].gates[1].at`); math.Hypot(at[0]-38, at[1]-10) > 0.11 {
		t.Errorf("pair 2 at %v, dragged to 38, 10", at)
	}
	js(t, tab, `document.getElementById('undo').click(); 0`, new(int))
	waitFor(t, tab, drivenJS)
	if now := got[string](t, tab, length); now != was {
		t.Errorf("length %s after undo, %s before", now, was)
	}
}

// TestThePageDrivesAsTheCommandDoes: what the page shows is what package cones
// answers for the same plan, turnout and rules.
func TestThePageDrivesAsTheCommandDoes(t *testing.T) {
	srv, _ := conesHouse(t, "cones-twelve")
	tab := openCones(t, srv, "cones-twelve?turnout=12-bay-four", 1440)
	p, _, err := plan.Load("../../examples/plans/cones-twelve.yaml")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := demo.Files.ReadFile("turnouts/12-bay-four.yaml")
	if err != nil {
		t.Fatal(err)
	}
	four, _, err := turnout.Decode("four", doc)
	if err != nil {
		t.Fatal(err)
	}
	r, err := rules.Load(rules.Default)
	if err != nil {
		t.Fatal(err)
	}
	a, err := cones.Drive(t.Context(), cones.Question{Plan: p, Turnouts: []*turnout.Turnout{four}, Rules: cones.RulesOf(r)})
	if err != nil {
		t.Fatal(err)
	}
	run := a.Turnouts[0]
	want := []string{fmt.Sprintf("%.1f m", a.CourseLengthM), fmt.Sprintf("%.0f s", run.TimeAllowedS), fmt.Sprintf("%.1f m", run.DrivenM), fmt.Sprintf("%.1f s", run.DrivenS), run.Verdict}
	if diff := cmp.Diff(want, got[[]string](t, tab, `[...document.querySelectorAll('.ed-figures b')].map((b) => b.textContent)`)); diff != "" {
		t.Errorf("figures (-want +got):\n%s", diff)
	}
	// The first column of the table is the turnout that is shown.
	rows := got[[]string](t, tab, `[...document.querySelectorAll('.room-table tbody tr')].slice(3).map((r) => r.children[0].innerText.trim() + ' ' + r.children[1].innerText.trim())`)
	if len(rows) != len(run.Gates) {
		t.Fatalf("%d rows, %d gates", len(rows), len(run.Gates))
	}
	for i, g := range run.Gates {
		least := math.Inf(1)
		for _, v := range []*float64{g.SpareLeftCM, g.SpareRightCM} {
			if v != nil {
				least = math.Min(least, *v)
			}
		}
		if want := fmt.Sprintf("%s %s %.0f", g.Gate, g.Verdict, math.Floor(least)); rows[i] != want {
			t.Errorf("row %q, want %q", rows[i], want)
		}
	}
}

// TestRedConesAreOnTheDriversRight: on the screen, where north is up, for every
// bearing and for woven cones on either side. The check is made on what is drawn.
func TestRedConesAreOnTheDriversRight(t *testing.T) {
	srv, _ := conesHouse(t, "cones-ten")
	tab := openCones(t, srv, "cones-ten", 1440)
	for deg := 0; deg < 360; deg += 15 {
		at := got[[]float64](t, tab, fmt.Sprintf(`(async () => {
			terretDesk.commit({do: 'cones-face', c: 0, id: '7', bearing: %d});
			await new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)));
			const mid = (el) => { const b = el.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; };
			const g = document.querySelector('[data-gate="7"]'), r = mid(g.querySelector('.red-sign')), l = mid(g.querySelector('.white-sign'));
			const d = g.querySelector('.arrow').getAttribute('d').match(/-?[\d.]+/g).map(Number);
			return [r[0] - l[0], r[1] - l[1], d[2] - d[0], d[3] - d[1]];
		})()`, deg))
		rad := float64(deg) * math.Pi / 180
		if l := math.Hypot(at[2], at[3]); math.Abs(at[2]/l-math.Sin(rad)) > 0.02 || math.Abs(-at[3]/l-math.Cos(rad)) > 0.02 {
			t.Errorf("bearing %d°: the arrow points %v on the screen", deg, at[2:])
		}
		// Facing along (ax, ay) with y down, the right hand is (−ay, ax).
		if at[0]*-at[3]+at[1]*at[2] <= 0 {
			t.Errorf("bearing %d°: red is on the driver's left on the screen (%v)", deg, at)
		}
	}
	for _, pass := range []string{"right", "left"} {
		signs := got[string](t, tab, fmt.Sprintf(`(async () => { terretDesk.commit({do: 'cones-pass', c: 0, id: '8', pass: %q}); await new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)));
			const g = document.querySelector('[data-gate="8"]'); return (g.querySelector('.red-sign') ? 'red' : '') + (g.querySelector('.white-sign') ? 'white' : ''); })()`, pass))
		if want := map[string]string{"right": "red", "left": "white"}[pass]; signs != want {
			t.Errorf("a cone passed on the %s is drawn %s", pass, signs)
		}
	}
}

// TestConesStandInThePageAsInThePlan: the places of all cones, for two tracks, are
// those of package cones.
func TestConesStandInThePageAsInThePlan(t *testing.T) {
	srv, _ := conesHouse(t, "cones-ten", "cones-workshop")
	for _, name := range []string{"cones-ten", "cones-workshop"} {
		tab := openCones(t, srv, name, 1440)
		p, _, err := plan.Load("../../examples/plans/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		for _, track := range []float64{1.0, 1.58} {
			type mark struct {
				Gate  string
				Right bool
				At    [2]float64
			}
			marks := got[[]mark](t, tab, fmt.Sprintf(`import('/' + document.querySelector('script[src*="cones/main.js"]').src.split('/').slice(3, -1).join('/') + '/model.js').then((m) =>
				m.placesOf(terretDesk.state.history.now, 0, %g).filter((p) => p.number).flatMap((p) => [['right', p.right], ['left', p.left]].filter(([side]) => !p.single || p.single === side).map(([side, at]) => ({Gate: p.key, Right: side === 'right', At: at}))))`, track))
			want := cones.Marks(p, &p.Courses[0], track)
			if len(marks) != len(want) {
				t.Fatalf("%s: %d cones in the page, %d in the plan", name, len(marks), len(want))
			}
			for i, w := range want {
				if g := marks[i]; g.Gate != w.Gate || g.Right != w.Right || math.Hypot(g.At[0]-w.At.X, g.At[1]-w.At.Y) > 1e-9 {
					t.Errorf("%s, track %v: %+v in the page, %+v in the plan", name, track, g, w)
				}
			}
		}
	}
}

// TestOtherHandIsTheMirrorOfPackageCones: a multiple turned to the other hand in
// the page is the one that package cones mirrors, and twice is as it was.
func TestOtherHandIsTheMirrorOfPackageCones(t *testing.T) {
	srv, _ := conesHouse(t, "cones-workshop")
	tab := openCones(t, srv, "cones-workshop", 1440)
	p, _, err := plan.Load("../../examples/plans/cones-workshop.yaml")
	if err != nil {
		t.Fatal(err)
	}
	gatesJS := `JSON.stringify(terretDesk.state.history.now.courses[0].gates)`
	before := got[string](t, tab, gatesJS)
	for n := 1; n <= 8; n++ {
		m := cones.Multiple{}
		for _, g := range p.Courses[0].Gates {
			if g.Number == n {
				m.Gates = append(m.Gates, g)
			}
		}
		first := m.Gates[0]
		axis := cones.Pose{At: first.At, Dir: first.Bearing.Dir()}
		if first.Cone != nil {
			axis = cones.Pose{At: *first.Cone, Dir: m.Gates[1].Cone.Sub(*first.Cone).Unit()}
		}
		want := cones.Mirror(m, axis).Gates
		js(t, tab, fmt.Sprintf(`terretDesk.commit({do: 'cones-mirror', c: 0, number: %d}); 0`, n), new(int))
		var now []struct {
			At      *[2]float64
			Cone    *[2]float64
			Bearing float64
			Pass    string
		}
		js(t, tab, fmt.Sprintf(`terretDesk.state.history.now.courses[0].gates.filter((g) => g.number === %d).map((g) => ({At: g.at, Cone: g.cone, Bearing: g.bearing ?? 0, Pass: g.pass ?? ''}))`, n), &now)
		for i, w := range want {
			g := now[i]
			at, wAt := g.At, w.At
			if w.Cone != nil {
				at, wAt = g.Cone, *w.Cone
			}
			turn := math.Abs(math.Remainder(g.Bearing-w.Bearing.Deg(), 360))
			if math.Hypot(at[0]-wAt.X, at[1]-wAt.Y) > 0.001 || w.Cone == nil && turn > 0.01 || g.Pass != w.Pass {
				t.Errorf("%s: %+v in the page, %+v by package cones", w, g, w)
			}
		}
		js(t, tab, fmt.Sprintf(`terretDesk.commit({do: 'cones-mirror', c: 0, number: %d}); 0`, n), new(int))
	}
	// Twice mirrored, every gate is where it was to the millimetre and hundredth of a degree.
	if now := got[string](t, tab, gatesJS); now != before {
		t.Errorf("twice mirrored it is\n%s\nand was\n%s", now, before)
	}
}

// TestACureIsOneButton: the pair that the four touches in the workshop is told
// with its cure; pressing it makes it, and the course driven again is not touched
// there. Undo brings the touch back.
func TestACureIsOneButton(t *testing.T) {
	srv, _ := conesHouse(t, "cones-workshop")
	tab := openCones(t, srv, "cones-workshop?turnout=12-bay-four", 1440)
	waitFor(t, tab, `document.querySelector('.cures [data-act=cure]')`)
	if words := got[string](t, tab, `document.querySelector('.cures').innerText`); !strings.Contains(words, "Touches 7b") || !strings.Contains(words, "7b wider by") {
		t.Errorf("the cure is told as %q", words)
	}
	touchesJS := `terretDesk.state.run.gates.filter((g) => g.verdict === 'touches').map((g) => g.gate).join()`
	js(t, tab, `document.querySelector('.cures [data-act=cure]').click(); 0`, new(int))
	waitFor(t, tab, drivenJS)
	if now := got[string](t, tab, touchesJS); now != "" {
		t.Errorf("after the cure it touches %s", now)
	}
	js(t, tab, `document.getElementById('undo').click(); 0`, new(int))
	waitFor(t, tab, drivenJS)
	if now := got[string](t, tab, touchesJS); now != "7b" {
		t.Errorf("after undo it touches %q, want 7b", now)
	}
}

// TestACheckShowsItsPlace: every check with a place has a button that chooses
// the gate, rings it and brings it into sight.
func TestACheckShowsItsPlace(t *testing.T) {
	srv, _ := conesHouse(t, "cones-ten")
	tab := openCones(t, srv, "cones-ten", 1440)
	rules := got[[]string](t, tab, `[...document.querySelectorAll('#course-checks [data-rule]')].map((b) => b.dataset.rule)`)
	if len(rules) < 3 {
		t.Fatalf("checks with a place: %v", rules)
	}
	for i := range rules {
		js(t, tab, fmt.Sprintf(`document.querySelectorAll('#course-checks [data-rule]')[%d].click(); new Promise((ok) => setTimeout(() => ok(0), 100))`, i), new(int))
		if !got[bool](t, tab, `(() => { const r = document.querySelector('.ground .look')?.getBoundingClientRect(), p = document.querySelector('.ed-paper').getBoundingClientRect(); return Boolean(r && terretDesk.state.chosen.length && r.left >= p.left && r.right <= p.right && r.top >= p.top && r.bottom <= p.bottom); })()`) {
			t.Errorf("%s shows no place", rules[i])
		}
	}
}

// TestEveryMultipleIsSetAsOnePiece: each kind, to each hand, from the panel; it
// moves as one piece with its rails, takes its number among the others, and goes
// away whole. The plan stays one that can be driven.
func TestEveryMultipleIsSetAsOnePiece(t *testing.T) {
	srv, _ := conesHouse(t, "cones-twelve")
	tab := openCones(t, srv, "cones-twelve?turnout=02-nutmeg", 1440)
	before := got[string](t, tab, `JSON.stringify(terretDesk.state.history.now)`)
	for i, kind := range cones.Kinds() {
		hand := []string{"left", "right"}[i%2]
		js(t, tab, fmt.Sprintf(`(async () => { const s = terretDesk.state, n = s.history.past.length; document.querySelector('#multiple-box').open = true;
			const click = (name, text) => [...document.querySelectorAll('input[name=' + name + ']')].find((e) => e.parentElement.innerText.trim() === text).click();
			const until = async (f) => { while (!f()) await new Promise((r) => setTimeout(r, 10)); };
			click('multiple-kind', %[1]q); click('multiple-hand', %[2]q); await until(() => s.multiple.kind === %[1]q && s.multiple.hand === %[2]q && s.multiple.size);
			const number = [...document.querySelectorAll('#multiple .sizes input')].at(-1); number.value = '3'; number.dispatchEvent(new Event('change'));
			s.cross = [60, 45]; document.querySelector('[data-act=at-cross]').click();
			await until(() => s.history.past.length > n);
			return 0; })()`, string(kind), hand), new(int))
		numbers := got[string](t, tab, `[...new Set(terretDesk.state.history.now.courses[0].gates.map((g) => g.number))].join()`)
		if numbers != "1,2,3,4,5,6,7,8,9,10,11,12,13" {
			t.Errorf("%s: numbers are %s", kind, numbers)
		}
		parts := got[int](t, tab, `terretDesk.state.history.now.courses[0].gates.filter((g) => g.number === 3 && g.part).length`)
		want := cones.Usual(kind, turnout.Single, turnout.Pony).Parts
		if parts != want {
			t.Errorf("%s has %d parts, usual is %d", kind, parts, want)
		}
		// By hand it moves whole: its rails keep their distance to its first part.
		moved := got[[]float64](t, tab, `(async () => { const at = () => { const d = terretDesk.state.history.now, g = d.courses[0].gates.filter((x) => x.number === 3); return [...g.map((x) => x.cone ?? x.at), ...(d.things ?? []).filter((t) => /^m3-/.test(t.id)).flatMap((t) => t.path ?? t.outline)]; };
			while (!document.querySelector('[data-ref="cone/3b"]')) await new Promise((r) => setTimeout(r, 10));
			const was = at(), el = document.querySelector('[data-ref="cone/3b"]'); el.focus(); el.dispatchEvent(new KeyboardEvent('keydown', {key: 'ArrowRight', shiftKey: true, bubbles: true}));
			await new Promise((r) => setTimeout(r, 50)); return at().flatMap((p, i) => [p[0] - was[i][0], p[1] - was[i][1]]); })()`)
		for j := 0; j < len(moved); j += 2 {
			if math.Abs(moved[j]-1) > 1e-9 || math.Abs(moved[j+1]) > 1e-9 {
				t.Errorf("%s: point %d moved by %v, %v, not 1, 0", kind, j/2, moved[j], moved[j+1])
			}
		}
		js(t, tab, `document.querySelector('[data-act=drop]').click(); 0`, new(int))
		if now := got[string](t, tab, `JSON.stringify({...terretDesk.state.history.now, things: undefined})`); now != before {
			t.Errorf("%s taken away leaves\n%s\nwant\n%s", kind, now, before)
		}
		if n := got[int](t, tab, `(terretDesk.state.history.now.things ?? []).length`); n != 0 {
			t.Errorf("%s leaves %d rails", kind, n)
		}
	}
}

// TestACourseFromNothingByKeyboard: begun, three pairs set, one moved, turned and
// driven the other way, one taken away, typed and kept, all without a pointer.
func TestACourseFromNothingByKeyboard(t *testing.T) {
	srv, s := conesHouse(t)
	p, err := plan.Parse("p", []byte(`{"terret":"plan/1","name":"Bare","ground":{"outline":[[0,0],[80,0],[80,40],[0,40]]}}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.SavePlan(t.Context(), "bare", 0, p, "", noon); err != nil {
		t.Fatal(err)
	}
	tab := testkit.Browser(t)
	open(t, tab, srv.URL+"/ground/bare?course=Cones", 1440)
	press := func(key string, mods ...chromedp.Modifier) {
		t.Helper()
		if err := chromedp.Do(tab, chromedp.KeyEvent(key, chromedp.KeyModifiers(mods...))); err != nil {
			t.Fatal(err)
		}
	}
	waitFor(t, tab, `document.querySelector('[data-act=begin]')`)
	js(t, tab, `document.querySelector('[data-act=begin]').focus(); 0`, new(int))
	press(kb.Enter)
	waitFor(t, tab, `terretDesk.state.history.now.courses?.length === 1`)
	js(t, tab, `document.querySelector('svg.ground').focus(); 0`, new(int))
	for range 3 {
		press("p")
		js(t, tab, `document.querySelector('svg.ground').focus(); 0`, new(int))
		for range 12 {
			press(kb.ArrowRight, chromedp.ModifierShift)
		}
	}
	waitFor(t, tab, drivenJS)
	gate := `terretDesk.state.history.now.courses[0].gates[1]`
	was := got[[]float64](t, tab, `[...`+gate+`.at, `+gate+`.bearing]`)
	js(t, tab, `document.querySelector('[data-ref="cone/2"]').focus(); 0`, new(int))
	press(kb.ArrowUp, chromedp.ModifierShift)
	press("]")
	press("w")
	now := got[[]float64](t, tab, `[...`+gate+`.at, `+gate+`.bearing]`)
	if now[0] != was[0] || math.Abs(now[1]-was[1]-1) > 1e-9 || math.Mod(now[2]-was[2]+360, 360) != 185 {
		t.Errorf("pair 2 went from %v to %v, want 1 m north and turned by 185°", was, now)
	}
	press(kb.Enter) // its numbers
	if label := got[string](t, tab, `document.activeElement.getAttribute('aria-label')`); label != "2, metres east" {
		t.Errorf("Enter leads to %q", label)
	}
	js(t, tab, `document.activeElement.select(); 0`, new(int))
	for _, key := range []string{"5", "0", ".", "5", kb.Enter} {
		press(key)
	}
	waitFor(t, tab, gate+`.at[0] === 50.5`)
	press(kb.Escape) // back to the drawing
	if ref := got[string](t, tab, `document.activeElement.dataset.ref`); ref != "cone/2" {
		t.Errorf("Escape leads to %q", ref)
	}
	js(t, tab, `document.querySelector('[data-ref="cone/3"]').focus(); 0`, new(int))
	press(kb.Delete)
	waitFor(t, tab, `terretDesk.state.history.now.courses[0].gates.length === 2`)
	press("s", chromedp.ModifierCtrl)
	waitFor(t, tab, `document.querySelector('.keep-words').textContent.startsWith('Kept as version B')`)
	v, err := s.Plan(t.Context(), "bare", 0)
	if err != nil || len(v.Plan.Courses) != 1 || len(v.Plan.Courses[0].Gates) != 2 || v.Plan.Courses[0].Gates[1].At.X != 50.5 {
		t.Errorf("kept %+v, %v", v.Plan.Courses, err)
	}
}

// TestAFingerChoosesBeforeItMoves: a finger that lands on a pair while pushing the
// paper leaves the pair where it is; a chosen one goes with it.
func TestAFingerChoosesBeforeItMoves(t *testing.T) {
	srv, _ := conesHouse(t, "cones-ten")
	tab := openCones(t, srv, "cones-ten", 390)
	finger := func(fx, fy, tx, ty float64) {
		t.Helper()
		ax, ay := groundAt(t, tab, fx, fy)
		bx, by := groundAt(t, tab, tx, ty)
		js(t, tab, fmt.Sprintf(`(() => { const svg = document.querySelector('svg.ground'); svg.setPointerCapture = () => {};
			const go = (type, x, y) => svg.dispatchEvent(new PointerEvent(type, {pointerId: 1, pointerType: 'touch', clientX: x, clientY: y, bubbles: true, button: 0}));
			go('pointerdown', %[1]g, %[2]g); for (let i = 1; i <= 8; i++) go('pointermove', %[1]g + (%[3]g - %[1]g) * i / 8, %[2]g + (%[4]g - %[2]g) * i / 8); go('pointerup', %[3]g, %[4]g); return 0; })()`, ax, ay, bx, by), new(int))
	}
	finger(35, 8, 45, 14)
	if n := got[int](t, tab, `terretDesk.state.history.past.length`); n != 0 {
		t.Errorf("pushing the paper made %d steps", n)
	}
	finger(35, 8, 35, 8)
	if c := got[string](t, tab, `terretDesk.state.chosen.join()`); c != "cone/2" {
		t.Errorf("a tap chose %q", c)
	}
	finger(35, 8, 41, 14)
	if at := got[[]float64](t, tab, `terretDesk.state.history.now.courses[0].gates[1].at`); math.Hypot(at[0]-41, at[1]-14) > 0.2 {
		t.Errorf("pair 2 at %v, dragged to 41, 14", at)
	}
}

// TestConesImportsHold: a name that a module does not export, or a file that is
// not there, is an error; and no module calls anything safe.
func TestConesImportsHold(t *testing.T) {
	r := api.Build(api.BuildOptions{EntryPoints: []string{"book/static/editor/cones/main.js"}, Bundle: true, Write: false, Format: api.FormatESModule, LogLevel: api.LogLevelSilent})
	for _, m := range append(r.Errors, r.Warnings...) {
		t.Errorf("%v: %s", m.Location, m.Text)
	}
	files, err := filepath.Glob("book/static/editor/cones/*.js")
	if err != nil || len(files) < 7 {
		t.Fatalf("%d modules found, %v", len(files), err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if regexp.MustCompile(`(?i)\bsafe`).Match(b) {
			t.Errorf("%s says it", f)
		}
	}
}
