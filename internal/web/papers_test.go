package web

import (
	"html"
	"net/url"
	"strings"
	"testing"

	"terret/internal/plan"
	"terret/internal/sheet"
)

// TestOldPapersAreTold: what was printed as A is told when the plan is B, and no
// more when it was printed again. A drawing that is only looked at is no print.
func TestOldPapersAreTold(t *testing.T) {
	h, s := house(t, true, straight{})
	get := func(path string) string {
		w := ask{method: "GET", path: path}.do(h)
		if w.Code != 200 {
			t.Fatalf("%s: %d %s", path, w.Code, w.Body)
		}
		return html.UnescapeString(w.Body.String())
	}
	const drivers = "/papers/cones-drivers.pdf?plan=hollowmere-cones"
	get("/papers/cones-drivers.svg?plan=hollowmere-cones")
	if strings.Contains(get("/papers"), "Printed as") {
		t.Error("a drawing on the screen counts as printed")
	}
	get(drivers)
	appears(t, get("/papers"), "Printed as A on", "which is the plan as it is now")
	old, err := s.Plan(t.Context(), "hollowmere-cones", 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.SavePlan(t.Context(), "hollowmere-cones", 1, old.Plan, "", noon); err != nil {
		t.Fatal(err)
	}
	page := get("/papers")
	appears(t, page, "Old paper:", "printed as A on", "the plan is now B", "papers of this plan were printed in an older version")
	if n := strings.Count(page, "Old paper:"); n != 1 {
		t.Errorf("%d papers are called old, want the one that was printed", n)
	}
	got, err := s.Prints(t.Context(), "hollowmere-cones")
	if err != nil || len(got) != 1 || got[0] != (plan.Printed{Plan: "hollowmere-cones", Version: 1, Kind: sheet.ConesDrivers, Of: "course Cones", At: noon}) {
		t.Errorf("noted: %+v, %v", got, err)
	}
}

// TestEveryOfferedPaperIsDrawn follows every link to a paper that the pages offer.
func TestEveryOfferedPaperIsDrawn(t *testing.T) {
	h, _ := house(t, true, straight{})
	seen := map[string]bool{}
	for _, page := range []string{"/papers", "/papers?event=Autumn+day&date=Sunday", "/ground/hollowmere-cones?course=Cones", "/ground/hollowmere-orchard", "/ground/hollowmere-cones/setting-out?layout=course:Cones&p=0:0&q=100:0", "/ground/arena?size=20x60"} {
		body := html.UnescapeString(ask{method: "GET", path: page}.do(h).Body.String())
		links := 0
		for _, part := range strings.Split(body, `href="`)[1:] {
			path, _, _ := strings.Cut(part, `"`)
			if !strings.HasPrefix(path, "/papers/") {
				continue
			}
			links++
			if seen[path] {
				continue
			}
			seen[path] = true
			u, err := url.Parse(path)
			if err != nil {
				t.Fatal(err)
			}
			w := ask{method: "GET", path: path}.do(h)
			kind, _, _ := strings.Cut(strings.TrimPrefix(u.Path, "/papers/"), ".")
			if w.Code != 200 || !strings.HasPrefix(w.Body.String(), kind+" ") {
				t.Errorf("%s offers %s: %d %.200s", page, path, w.Code, w.Body)
			}
			if e := u.Query().Get("event"); !strings.Contains(w.Body.String(), e) {
				t.Errorf("%s is drawn without its event: %s", path, w.Body)
			}
		}
		if links < 6 {
			t.Errorf("%s offers %d links to papers", page, links)
		}
	}
	for _, k := range sheet.Kinds() {
		found := false
		for path := range seen {
			found = found || strings.HasPrefix(path, "/papers/"+k.Name+".pdf?")
		}
		if !found {
			t.Errorf("no page offers %s", k.Name)
		}
	}
}

func TestPapersAskedAmiss(t *testing.T) {
	h, _ := house(t, true, straight{})
	for path, c := range map[string]struct {
		status int
		says   string
	}{
		"/papers/stakes.pdf?plan=hollowmere-cones&p=zebra&q=1:1":    {400, "no place"},
		"/papers/stakes.pdf?plan=hollowmere-cones&arena=1":          {404, "no arena"},
		"/papers/arena.pdf?arena=9x9x9":                             {422, "no size that fits"},
		"/papers/gaps.pdf?plan=hollowmere-cones&turnout=nobody":     {404, "no turnout"},
		"/papers/gaps.pdf?plan=hollowmere-cones&course=Zebra":       {404, "Zebra"},
		"/papers/cones-drivers.pdf?plan=hollowmere-cones&version=9": {404, ""},
	} {
		w := ask{method: "GET", path: path}.do(h)
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.says) || strings.HasPrefix(w.Header().Get("Content-Type"), "application/pdf") {
			t.Errorf("%s: %d, want %d and %q:\n%.1500s", path, w.Code, c.status, c.says, w.Body)
		}
	}
}
