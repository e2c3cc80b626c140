package sheet

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// TestLook writes every paper of every example to a folder to be looked at.
func TestLook(t *testing.T) {
	dir := os.Getenv("LOOK")
	if dir == "" {
		t.Skip("LOOK names no folder")
	}
	files, _ := filepath.Glob("../../examples/*/*.yaml")
	more, _ := filepath.Glob("../../examples/demo/plans/*.yaml")
	to, _, err := turnout.Load("../../examples/turnouts/single-four-wheel.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range append(files, more...) {
		p, _, err := plan.Load(f)
		if err != nil || len(p.Hazards) == 0 || !strings.Contains(f, os.Getenv("ONLY")) {
			continue
		}
		for _, kind := range Kinds() {
			if k := os.Getenv("KIND"); k != "" && k != kind {
				continue
			}
			for _, paper := range []Paper{A4, Letter} {
				in := HazardInput{Plan: p, Hazard: &p.Hazards[0], Event: "Hollowmere autumn schooling day", Version: "C", PrintedAt: time.Date(2026, 10, 3, 7, 40, 0, 0, time.UTC), Paper: paper}
				if kind == Clinic {
					in.Turnout = to
					in.Answer, err = hazard.Routes(context.Background(), hazard.Question{Plan: p, Turnout: to, Most: 10})
					if err != nil {
						t.Fatal(err)
					}
				}
				pages, err := Hazard(kind, in)
				if err != nil {
					t.Error(err)
					continue
				}
				name := filepath.Join(dir, strings.TrimSuffix(filepath.Base(f), ".yaml")+"-"+kind+"-"+strings.Fields(paper.Name)[0])
				for ext, write := range map[string]func(*os.File) error{
					".pdf": func(w *os.File) error { return PDF(w, pages, Meta{Title: p.Name, At: in.PrintedAt}) },
					".svg": func(w *os.File) error { return SVG(w, pages...) },
				} {
					w, err := os.Create(name + ext)
					if err != nil {
						t.Fatal(err)
					}
					if err := write(w); err != nil {
						t.Error(name, ext, err)
					}
					w.Close()
				}
			}
		}
	}
}
