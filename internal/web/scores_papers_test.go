package web

import (
	"strings"
	"testing"
)

// TestPapersOfATrial: the page lists what the classes drive, and each link draws.
func TestPapersOfATrial(t *testing.T) {
	_, h, _ := scored(t, true)
	get := func(path string) (int, string) {
		w := (ask{method: "GET", path: path}).do(h)
		return w.Code, w.Body.String()
	}
	code, page := get("/scores/autumn/papers?class=N&paper=letter")
	if code != 200 || !strings.Contains(page, "Dressage judge&#39;s sheet") || !strings.Contains(page, "Cones sheet") {
		t.Fatalf("status %d: %s", code, page)
	}
	for _, not := range []string{"Hazard observer", "Section times", "Timed obstacles"} { // class N drives none
		if strings.Contains(page, not) {
			t.Errorf("%q is on the page", not)
		}
	}
	drawn := 0
	for _, part := range strings.Split(page, `href="/scores/autumn/papers/`)[1:] {
		path, _, _ := strings.Cut(part, `"`)
		path = "/scores/autumn/papers/" + strings.ReplaceAll(path, "&amp;", "&")
		if code, body := get(path); code != 200 || !strings.HasPrefix(body, "%PDF-") {
			t.Errorf("%s: status %d: %.200s", path, code, body)
		}
		drawn++
	}
	if drawn < 12 {
		t.Errorf("%d papers are linked", drawn)
	}
	for path, row := range map[string]struct {
		code int
		has  string
	}{
		"/scores/autumn/papers/results.svg":                                {200, "Hazel Fenn"},
		"/scores/autumn/papers/hazard-sheet.svg?entry=7&course=H1":         {200, "41.37 s"},
		"/scores/autumn/papers/hazard-sheet.svg?entry=7&course=H1&blank=1": {200, "How many of each"},
		"/scores/autumn/papers/menu.pdf":                                   {404, "no such paper"},
		"/scores/autumn/papers/results.pdf?class=Z":                        {404, "there are P, N"},
		"/scores/autumn/papers/results.pdf?entry=seven":                    {400, "no number of an entry"},
		"/scores/autumn/papers/results.pdf?paper=napkin":                   {400, "a4 or letter"},
		"/scores/autumn/papers/section-times.pdf":                          {404, "sections"},
		"/scores/winter/papers":                                            {404, "no trial"},
	} {
		if code, body := get(path); code != row.code || !strings.Contains(body, row.has) {
			t.Errorf("%s: status %d, want %d with %q: %.400s", path, code, row.code, row.has, body)
		}
	}
}

// TestPostedPapersSaySo: the results paper says provisional once it is posted.
func TestPostedPapersSaySo(t *testing.T) {
	h := livedIn(t, straight{})
	w := (ask{method: "GET", path: "/scores/autumn/papers/results.svg"}).do(h)
	if body := w.Body.String(); w.Code != 200 || !strings.Contains(body, "PROVISIONAL") && !strings.Contains(body, "FINAL") {
		t.Errorf("status %d: neither provisional nor final", w.Code)
	}
}
