package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"terret/internal/web/book"
)

// TestVendoredFilesAreTheOnesNamed: every vendored file is in its VENDOR.json
// with the right hash, and every one named there exists, with its licence.
func TestVendoredFilesAreTheOnesNamed(t *testing.T) {
	for _, root := range []string{"book/static/vendor", "book/static/fonts", "testdata"} {
		dir := os.DirFS(root)
		data, err := fs.ReadFile(dir, "VENDOR.json")
		if err != nil {
			t.Fatal(err)
		}
		var all []struct {
			Name, Version, Licence string
			Files                  []struct{ Path, SHA256 string }
		}
		d := json.NewDecoder(bytes.NewReader(data))
		d.DisallowUnknownFields()
		if err := d.Decode(&all); err != nil {
			t.Fatal(err)
		}
		named := map[string]bool{"VENDOR.json": true}
		for _, p := range all {
			licence := false
			if p.Name == "" || p.Version == "" || p.Licence == "" {
				t.Errorf("%s: name, version and licence are needed: %+v", root, p)
			}
			for _, f := range p.Files {
				named[f.Path] = true
				licence = licence || strings.HasSuffix(f.Path, "LICENSE.txt")
				body, err := fs.ReadFile(dir, f.Path)
				if err != nil {
					t.Error(err)
					continue
				}
				if sum := sha256.Sum256(body); hex.EncodeToString(sum[:]) != f.SHA256 {
					t.Errorf("%s/%s is not the file of %s %s", root, f.Path, p.Name, p.Version)
				}
			}
			if !licence {
				t.Errorf("%s: %s comes without its licence", root, p.Name)
			}
		}
		fs.WalkDir(dir, ".", func(path string, d fs.DirEntry, err error) error {
			own := root == "testdata" && !strings.HasPrefix(path, "axe-core") // our own vectors live there too
			if err != nil || d.IsDir() || named[path] || own {
				return err
			}
			t.Errorf("%s/%s is vendored by nobody", root, path)
			return nil
		})
	}
}

// TestStaticFilesAreKeptForEver: the address holds a hash, and only that address
// is immutable.
func TestStaticFilesAreKeptForEver(t *testing.T) {
	h, _ := house(t, false, straight{})
	prefix := book.New(book.Config{}).Static()
	for path, kind := range map[string]string{
		"css/house.css": "text/css", "vendor/lit-html/lit-html.js": "javascript", "ring.svg": "image/svg+xml",
		"fonts/atkinson-hyperlegible-latin-400-normal.woff2": "font/woff2",
	} {
		w := ask{method: "GET", path: prefix + path}.do(h)
		if w.Code != 200 || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") || !strings.Contains(w.Header().Get("Content-Type"), kind) {
			t.Errorf("%s: %d, %q, %q", path, w.Code, w.Header().Get("Cache-Control"), w.Header().Get("Content-Type"))
		}
	}
	for _, path := range []string{prefix, prefix + "css/", prefix + "nix.css", "/s/0000000000000000/css/house.css", prefix + "../render.go"} {
		w := ask{method: "GET", path: path}.do(h)
		if w.Code == 200 || strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d, %q", path, w.Code, w.Header().Get("Cache-Control"))
		}
	}
}

// TestNothingComesFromElsewhere: no page, style or script names another host.
// Namespaces and licence texts are no addresses that are fetched.
func TestNothingComesFromElsewhere(t *testing.T) {
	other := regexp.MustCompile(`(?i)(?:src|href)="(?:https?:)?//|url\(["']?(?:https?:)?//|@import|from ["']https?:`)
	seen := 0
	for _, dir := range []string{"templates", "book/static", "book/templates", "ground/templates", "turnouts/templates", "trials/templates"} {
		tree := os.DirFS(dir)
		fs.WalkDir(tree, ".", func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.HasSuffix(path, ".woff2") {
				return err
			}
			text, err := fs.ReadFile(tree, path)
			if hit := other.Find(text); hit != nil {
				t.Errorf("%s: %s", path, hit)
			}
			seen++
			return err
		})
	}
	if seen < 100 {
		t.Errorf("only %d files were looked at", seen)
	}
}

// TestColoursPassOnPaper: every ink of the look has a contrast of 7:1 on paper
// (WCAG 2.2, success criterion 1.4.6), by the formula of its definition of
// contrast ratio and relative luminance; black on white is 21 there. And no two
// of them are told apart by hue alone when printed in grey.
func TestColoursPassOnPaper(t *testing.T) {
	if got := contrast("#000000", "#FFFFFF"); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white is %v, WCAG says 21", got)
	}
	css, err := os.ReadFile("book/static/css/house.css")
	if err != nil {
		t.Fatal(err)
	}
	colour := map[string]string{}
	for _, m := range regexp.MustCompile(`--(paper|ink|accent|attend|red|quiet): (#[0-9A-F]{6})`).FindAllStringSubmatch(string(css), -1) {
		colour[m[1]] = m[2]
	}
	for _, ink := range []string{"ink", "accent", "attend", "red", "quiet"} {
		if got := contrast(colour[ink], colour["paper"]); got < 7 {
			t.Errorf("%s %s on paper %s is %.2f:1, want 7:1", ink, colour[ink], colour["paper"], got)
		}
	}
	if got := contrast("#FFFFFF", colour["accent"]); got < 7 {
		t.Errorf("white on the main button is %.2f:1, want 7:1", got)
	}
}

func contrast(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(hex string) float64 {
	var l float64
	for i, w := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			panic(fmt.Sprint(hex, err))
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += w * c
	}
	return l
}
