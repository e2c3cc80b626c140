package web

import (
	"context"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"

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
