package web

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
var templateFiles embed.FS

// Frame is what every page's surround needs. Each page's struct embeds it.
type Frame struct {
	Tab     string // which of the tabs is open: "ground", "turnouts", …; "" for none
	Title   string
	Static  string // address of the static files, with a slash at its end
	Tabs    []tab
	Foot    []tab
	Program string // version of the program
}

type tab struct {
	Name, Path, Key string
}

var (
	tabs = []tab{
		{"Ground", "/ground", "ground"}, {"Turnouts", "/turnouts", "turnouts"}, {"Day", "/day", "day"},
		{"Scores", "/scores", "scores"}, {"Lesson", "/lesson", "lesson"},
	}
	foot = []tab{{"Papers", "/papers", "papers"}, {"Rules", "/rules", "rules"}, {"Keep", "/keep", "keep"}}
)

// static is the address of the static files, with a slash at its end.
func (s *server) static() string { return s.assets.prefix }

func (s *server) frame(key, title string) Frame {
	return Frame{Tab: key, Title: title, Static: s.static(), Tabs: tabs, Foot: foot, Program: s.version}
}

// pages is one template set a page: the layout and the page's own file.
type pages map[string]*template.Template

// newPages reads every template; a fault in one is a programmer's and panics at
// start, where a test meets it.
func newPages() pages {
	all := pages{}
	layout := template.Must(template.New("layout.html").Option("missingkey=error").Funcs(words()).ParseFS(templateFiles, "templates/layout.html", "templates/parts/*.html"))
	files, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		panic(err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(path.Base(f), ".html")
		if name != "layout" {
			all[name] = template.Must(template.Must(layout.Clone()).ParseFS(templateFiles, f))
		}
	}
	return all
}

// render writes a whole page or none: a template that fails half way must not
// leave half a page.
func (s *server) render(w http.ResponseWriter, status int, name string, v any) error {
	var b bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&b, "layout.html", v); err != nil {
		return fmt.Errorf("render %s: %w", name, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = b.WriteTo(w) // a browser that went away
	return nil
}
