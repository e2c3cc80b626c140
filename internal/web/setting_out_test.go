package web

import (
	"html"
	"strings"
	"testing"
)

// TestSettingOut: each row is one request, the status it must have, what must
// appear and what must not.
func TestSettingOut(t *testing.T) {
	for name, row := range map[string]struct {
		path   string
		status int
		has    []string
		hasNot []string
	}{
		"a hazard has its pegs, tapes and checks": {path: "/ground/hollowmere-orchard/setting-out", status: 200, has: []string{"the best of", "P to Q:", "A.right", "red marker", "Check:", `data-point="A.left"`, `data-tick="A.right"`, "in this browser only", "/papers/hazard-builders.pdf?"}},
		"named pegs are taken":                    {path: "/ground/workshop/setting-out?layout=hazard:Every+odd+gate&p=0:0&q=90:0&tape=50", status: 200, has: []string{"named by you", "P to Q: <b>90.00 m"}},
		"commas and spaces are understood":        {path: "/ground/workshop/setting-out?p=0,5+0&q=90,0", status: 200, has: []string{"0.50 east, 0.00 north"}},
		"flat arcs are told in words":             {path: "/ground/hollowmere-orchard/setting-out?p=0:0&q=2:0", status: 200, has: []string{"arcs", "baseline and offset"}},
		"a peg that is no place is marked there":  {path: "/ground/workshop/setting-out?p=here&q=90:0", status: 422, has: []string{`id="p-wrong"`, "no place"}, hasNot: []string{`id="q-wrong"`, `id="stakes"`}},
		"one peg alone is marked there":           {path: "/ground/workshop/setting-out?p=0:0", status: 422, has: []string{`id="q-wrong"`, "name both"}, hasNot: []string{`id="stakes"`}},
		"two pegs at one place":                   {path: "/ground/workshop/setting-out?p=0:0&q=0:0.2", status: 422, has: []string{`id="q-wrong"`, "apart"}, hasNot: []string{`id="stakes"`}},
		"a tape that is none":                     {path: "/ground/workshop/setting-out?tape=NaN", status: 422, has: []string{`id="tape-wrong"`}},
		"a layout that is not there":              {path: "/ground/workshop/setting-out?layout=hazard:None", status: 404, has: []string{"it has Every odd gate"}},
		"a plan that is not there":                {path: "/ground/nowhere/setting-out", status: 404},
		"an arena has letters and diagonals":      {path: "/ground/workshop/setting-out?layout=arena", status: 200, has: []string{"Both diagonals <b>44.72 m", "letter.K", "printed in public arena guides"}},
		"the drawing leads here":                  {path: "/ground/workshop", status: 200, has: []string{"/ground/workshop/setting-out?version=1"}},
	} {
		t.Run(name, func(t *testing.T) {
			h, _ := house(t, true, straight{})
			w := ask{method: "GET", path: row.path}.do(h)
			body := html.UnescapeString(w.Body.String())
			if w.Code != row.status {
				t.Errorf("status %d, want %d\n%s", w.Code, row.status, body)
			}
			for _, want := range row.has {
				if !strings.Contains(body, want) {
					t.Errorf("%q does not appear in\n%s", want, body)
				}
			}
			for _, bad := range append(row.hasNot, "safe", "ZgotmplZ", "NaN m") {
				if strings.Contains(body, bad) {
					t.Errorf("%q appears", bad)
				}
			}
		})
	}
}
