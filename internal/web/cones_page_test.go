package web

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"terret/internal/plan"
	"terret/internal/testkit"
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
