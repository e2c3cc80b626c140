package web_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestLook writes pictures of the drawing for a person to look at, into the
// folder that TERRET_LOOK names. Without it there is nothing to do.
func TestLook(t *testing.T) {
	dir := os.Getenv("TERRET_LOOK")
	if dir == "" {
		t.Skip("set TERRET_LOOK to a folder to have pictures taken")
	}
	for _, v := range []struct {
		name string
		w, h int64
		js   string
	}{
		{"1440", 1440, 900, ``},
		{"1440-play", 1440, 900, `document.querySelector('#drive').click(); 0`},
		{"1440-compare", 1440, 900, `document.querySelectorAll('.way-take')[1].focus(); 0`},
		{"1440-grey", 1440, 900, `document.documentElement.style.filter = 'grayscale(1)'; terretDesk.state.play = {on: false, t: 12}; document.querySelector('.ed-keepout input').click(); 0`},
		{"1024", 1024, 768, ``},
		{"390", 390, 844, ``},
		{"390-play", 390, 844, `document.querySelector('#drive').click(); document.querySelector('#drawing').scrollIntoView(); 0`},
		{"stale", 1440, 900, `window.fetch = () => new Promise(() => {}); terretDesk.commit({do: 'move', h: 0, refs: ['thing/p1'], by: [1, 0]}); 0`},
	} {
		s := serve(t, orchard)
		p := openDrawing(t, s, v.w, v.h)
		p.until(settledJS)
		if v.js != "" {
			eval[int](p, v.js)
		}
		p.do(chromedp.Sleep(1500 * 1e6))
		png, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, v.name+".png"), png, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
