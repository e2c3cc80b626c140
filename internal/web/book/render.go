package book

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

//go:embed templates
var templates embed.FS

// Frame is what every page's surround needs. Each page's struct embeds it.
type Frame struct {
	Tab     string // which of the tabs is open: "ground", "turnouts", …; "" for none
	Title   string
	Static  string // address of the static files, with a slash at its end
	Tabs    []Tab
	Foot    []Tab
	Program string // version of the program
}

// Tab is a link that says when it is the page it leads to.
type Tab struct {
	Name, Path, Key string
}

var (
	tabs = []Tab{
		{"Ground", "/ground", "ground"}, {"Turnouts", "/turnouts", "turnouts"}, {"Day", "/day", "day"},
		{"Scores", "/scores", "scores"}, {"Lesson", "/lesson", "lesson"},
	}
	foot = []Tab{{"Papers", "/papers", "papers"}, {"Rules", "/rules", "rules"}, {"Keep", "/keep", "keep"}}
)

// Static is the address of the static files, with a slash at its end.
func (b *Book) Static() string { return b.assets.prefix }

// Frame is the surround of a page of the tab with a key; "" of none.
func (b *Book) Frame(key, title string) Frame {
	return Frame{Tab: key, Title: title, Static: b.Static(), Tabs: tabs, Foot: foot, Program: b.version}
}

// newLayout reads what stands round every page. A fault in a template is a programmer's
// and panics at start, where a test meets it.
func newLayout(files fs.FS) *template.Template {
	return template.Must(template.New("layout.html").Option("missingkey=error").Funcs(words()).ParseFS(files, "templates/layout.html", "templates/parts/*.html"))
}

// Templates puts the pages of a tab into the book: each file of templates is a page of
// its own, with the book's parts and those of templates/parts.
func (b *Book) Templates(files fs.FS) {
	own := template.Must(b.layout.Clone())
	parts, err := fs.Glob(files, "templates/parts/*.html")
	if err != nil {
		panic(err)
	}
	if len(parts) > 0 {
		own = template.Must(own.ParseFS(files, parts...))
	}
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		panic(err)
	}
	for _, f := range names {
		name := strings.TrimSuffix(path.Base(f), ".html")
		if name == "layout" {
			continue
		}
		if b.pages[name] != nil {
			panic("two tabs have a page called " + name)
		}
		b.pages[name] = template.Must(template.Must(own.Clone()).ParseFS(files, f))
	}
}

// Names lists the pages in the book, in no order.
func (b *Book) Names() []string {
	var all []string
	for name := range b.pages {
		all = append(all, name)
	}
	return all
}

// Render writes a whole page or none: a template that fails half way must not
// leave half a page.
func (b *Book) Render(w http.ResponseWriter, status int, name string, v any) error {
	t := b.pages[name]
	if t == nil {
		return fmt.Errorf("render %s: there is no such page in the book", name)
	}
	var out bytes.Buffer
	if err := t.ExecuteTemplate(&out, "layout.html", v); err != nil {
		return fmt.Errorf("render %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = out.WriteTo(w) // a browser that went away
	return nil
}
