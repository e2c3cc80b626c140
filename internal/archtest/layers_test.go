package archtest_test

import (
	"bytes"
	"encoding/json"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"terret/internal/archtest"
)

const module = "terret"

// seen looks at every Go file of the module. Go takes a test as passed until
// something the test itself looked at has changed, and knows nothing of what
// `go list` looked at: without this, a broken layer would go unseen behind an
// old "(cached)".
func seen(t *testing.T) {
	t.Helper()
	n := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && strings.HasPrefix(d.Name(), ".") && len(d.Name()) > 2:
			return fs.SkipDir
		case d.IsDir() || filepath.Ext(path) != ".go":
			return nil
		}
		n++
		_, err = os.Stat(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if n < 10 {
		t.Fatalf("only %d Go files were found", n)
	}
}

// The house as it stands keeps its layers.
func TestLayers(t *testing.T) {
	seen(t)
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", module+"/...")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, stderr.String())
	}
	var all []archtest.Package
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, archtest.Package{Path: p.ImportPath, Imports: p.Imports})
	}
	if !slices.ContainsFunc(all, func(p archtest.Package) bool { return p.Path == module+"/internal/geom" }) {
		t.Fatalf("go list names %d packages and not geom: nothing would be checked", len(all))
	}
	for _, w := range archtest.Check(module, archtest.Layers(), all) {
		t.Error(w)
	}
}

// The check finds what it is there to find.
func TestCheckFinds(t *testing.T) {
	for name, c := range map[string]struct {
		pack archtest.Package
		want string // part of the one line; "" for none
	}{
		"a room below that knows one above": {archtest.Package{Path: "terret/internal/geom", Imports: []string{"terret/internal/plan"}}, "geom may not import plan"},
		"pages that know the database":      {archtest.Package{Path: "terret/internal/web", Imports: []string{"terret/internal/store"}}, "web may not import store"},
		"a tab that knows another":          {archtest.Package{Path: "terret/internal/web/ground", Imports: []string{"terret/internal/web/trials"}}, "web/ground may not import web/trials"},
		"a judge that knows geometry":       {archtest.Package{Path: "terret/internal/gates", Imports: []string{"terret/internal/geom"}}, "gates may not import geom"},
		"a library in the domain":           {archtest.Package{Path: "terret/internal/plan", Imports: []string{"github.com/chromedp/chromedp"}}, "plan may not import github.com/chromedp"},
		"a library whose name only begins alike": {archtest.Package{Path: "terret/internal/hazard", Imports: []string{"gonum.org/v1/gonumber"}},
			"may not import gonum.org/v1/gonumber"},
		"a room without a line":       {archtest.Package{Path: "terret/internal/utils"}, "utils has no line"},
		"test helpers in the program": {archtest.Package{Path: "terret/internal/hazard", Imports: []string{"terret/internal/hazard/hazardtest"}}, "for tests alone"},
		"test helpers in the main":    {archtest.Package{Path: "terret/cmd/terret", Imports: []string{"terret/internal/testkit"}}, "for tests alone"},
		"the main, which may":         {archtest.Package{Path: "terret/cmd/terret", Imports: []string{"terret/internal/store", "github.com/alecthomas/kong"}}, ""},
		"the standard library and leaves": {archtest.Package{Path: "terret/internal/rules", Imports: []string{"net/http", "terret/internal/fault", "terret/internal/strict"}},
			""},
	} {
		t.Run(name, func(t *testing.T) {
			got := archtest.Check(module, archtest.Layers(), []archtest.Package{c.pack})
			switch {
			case c.want == "" && len(got) > 0:
				t.Errorf("found %q", got)
			case c.want != "" && (len(got) != 1 || !strings.Contains(got[0], c.want)):
				t.Errorf("found %q, want %q", got, c.want)
			}
		})
	}
}

// The table itself goes one way: no room is above itself.
func TestTableHasNoRing(t *testing.T) {
	table := archtest.Layers()
	var above func(room string, path []string)
	above = func(room string, path []string) {
		if slices.Contains(path, room) {
			t.Fatalf("a ring: %s", strings.Join(append(path, room), " → "))
		}
		for _, next := range table[room].House {
			above(next, append(slices.Clone(path), room))
		}
	}
	for room := range table {
		above(room, nil)
	}
}
