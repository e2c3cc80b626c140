package book

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"strings"
)

//go:embed static
var static embed.FS

// assets serves the static files under an address that holds the hash of all
// of them. A browser may keep each for ever, relative imports between modules
// stay valid, and a new edition of the program is a new address.
type assets struct {
	prefix string // "/s/0123456789abcdef/"
	files  http.Handler
}

func newAssets() *assets {
	tree, err := fs.Sub(static, "static")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	sum := sha256.New()
	err = fs.WalkDir(tree, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(tree, path)
		fmt.Fprintf(sum, "%s %d\n", path, len(data))
		sum.Write(data)
		return err
	})
	if err != nil {
		panic(err)
	}
	a := &assets{prefix: "/s/" + hex.EncodeToString(sum.Sum(nil)[:8]) + "/"}
	a.files = http.StripPrefix(strings.TrimSuffix(a.prefix, "/"), http.FileServerFS(tree))
	return a
}

// ServeHTTP serves one file; a folder is not listed.
func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if strings.HasSuffix(r.URL.Path, "/") {
		http.NotFound(w, r)
		return
	}
	// net/http leaves the header on an error answer away by itself.
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	if strings.HasSuffix(r.URL.Path, ".woff2") {
		w.Header().Set("Content-Type", "font/woff2") // not in every machine's table
	}
	a.files.ServeHTTP(w, r)
}
