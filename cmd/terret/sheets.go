package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/gates"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/turnout"
)

type sheetsCommand struct {
	Kind    string `arg:"" help:"Which paper; the list is below."`
	Source  string `arg:"" help:"File of the plan (terret: plan/1), or of the turnout for its own papers."`
	Turnout string `placeholder:"FILE" help:"File of the turnout (terret: turnout/1); hazard-clinic shows its two ways."`
	Hazard  string `placeholder:"NAME" help:"Which hazard; may be left out where there is one."`
	Through string `placeholder:"LETTER" help:"Last letter in play. The last there is."`
	For     string `placeholder:"CLASS" help:"Class, for gates that are only for some."`
	Pace    string `placeholder:"NAME" help:"One of the turnout's paces; its own otherwise."`
	Paper   string `default:"a4" placeholder:"a4|letter" help:"Size of the paper: a4 or letter (a4)."`
	Out     string `placeholder:"FILE" help:"Where to write it; standard output otherwise."`
	Prints  string `placeholder:"FILE" help:"CSV of taped prints; the trot papers are then drawn to this horse's own."`
	SVG     bool   `name:"svg" help:"A drawing (SVG) instead of a PDF. So is a FILE that ends in .svg."`
}

func (sheetsCommand) Help() string {
	return `Draws a paper, black on white, to be printed:

  hazard-drivers    course plan for drivers: gates and posts, no line

  hazard-clinic     two ways a turnout may drive, with their figures (wants --turnout)

  hazard-builders   every post with its coordinates

Of a turnout's file as the source:

  check-card        what the checker walks round with, one side

  putting-to        putting to and taking out, step by step

  trot-lesson       how to rake and tape, and the record to fill in

  trot-poster       the three trots in prints, to hang up (A2, or ANSI C with letter)

Exit status 3: the turnout can drive no way, so there is nothing to show; terret hazard routes says more.

Examples:

  terret sheets hazard-drivers examples/plans/meadow-trees.yaml --out drivers.pdf

  terret sheets hazard-clinic examples/plans/meadow-trees.yaml --turnout examples/turnouts/pair.yaml --paper letter --out clinic.pdf

  terret sheets hazard-builders examples/plans/boxes-3m.yaml --svg > boxes.svg`
}

func (c sheetsCommand) Run(s *streams) error {
	if slices.Contains(sheet.TurnoutKinds(), c.Kind) {
		return c.turnoutPaper(s)
	}
	svg, paper, err := c.usage(s)
	if err != nil {
		return err
	}
	in, err := c.input(s)
	if err != nil {
		return err
	}
	if in.Answer != nil && len(in.Answer.Routes) == 0 {
		why := "no way was found"
		if in.Answer.NoneBecause != nil {
			why = in.Answer.NoneBecause.Text
		}
		s.warn("nothing to show: " + why)
		return errNo
	}
	in.Paper = paper
	doc, err := drawn(c.Kind, in, svg)
	if err != nil {
		return err
	}
	if c.Out == "" {
		_, err = s.out.Write(doc)
		return err
	}
	return writeWhole(c.Out, doc)
}

// usage checks what can be checked before a file is read.
func (c sheetsCommand) usage(s *streams) (svg bool, paper sheet.Paper, err error) {
	if !slices.Contains(sheet.Kinds(), c.Kind) {
		return false, paper, &fault.Fault{Code: fault.Usage, Rule: "sheet-kind", Place: "KIND", Message: fmt.Sprintf("there is no paper %q", c.Kind), Hint: "there are " + strings.Join(append(sheet.Kinds(), sheet.TurnoutKinds()...), ", ")}
	}
	if c.Kind == sheet.Clinic && c.Turnout == "" {
		return false, paper, &fault.Fault{Code: fault.Usage, Rule: "sheet-turnout", Place: "--turnout", Message: "a clinic plan shows what one turnout can drive, and none is named", Hint: "name its file with --turnout"}
	}
	if paper, err = sheet.PaperNamed(c.Paper); err != nil {
		return false, paper, err
	}
	ext := strings.ToLower(filepath.Ext(c.Out))
	if c.SVG && ext == ".pdf" {
		return false, paper, &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: fmt.Sprintf("--svg, and %s ends in .pdf", c.Out), Hint: "leave out --svg, or name a file that ends in .svg"}
	}
	svg = c.SVG || ext == ".svg"
	if c.Out == "" && !svg && terminal(s.now) {
		return false, paper, &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: "a PDF is nothing to look at on a terminal", Hint: "name a file with --out"}
	}
	return svg, paper, nil
}

// input reads the files and, for a clinic plan, works out the ways.
func (c sheetsCommand) input(s *streams) (sheet.HazardInput, error) {
	in := sheet.HazardInput{Class: c.For, PrintedAt: time.Now()}
	p, odd, err := plan.Load(c.Source)
	if err != nil {
		return in, err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	in.Plan = p
	if in.Hazard, err = p.Hazard(c.Hazard); err != nil {
		return in, err
	}
	if in.Through, err = letterOf(in.Hazard, c.Through); err != nil {
		return in, err
	}
	if c.Kind != sheet.Clinic {
		return in, nil
	}
	t, odd, err := turnout.Load(c.Turnout)
	if err != nil {
		return in, err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	if in.Turnout, err = t.WithPace(c.Pace); err != nil {
		return in, err
	}
	in.Answer, err = hazard.Routes(s.ctx, hazard.Question{
		Plan: p, Hazard: in.Hazard.Name, Turnout: in.Turnout, Through: in.Through, For: c.For,
		Progress: s.progress("planning"),
	})
	return in, err
}

// letterOf is the hazard's letter that was typed as the last in play; "" is all.
func letterOf(h *plan.Hazard, typed string) (string, error) {
	if typed == "" {
		return "", nil
	}
	letter, _ := gates.Gate(typed)
	var letters []string
	for _, g := range h.Gates {
		if g.Letter == letter {
			return letter, nil
		}
		letters = append(letters, g.Letter)
	}
	return "", &fault.Fault{Code: fault.NotFound, Rule: "through", Place: "--through", Message: fmt.Sprintf("%s has no gate %q", h.Name, typed), Hint: "its letters are " + strings.Join(letters, ", ")}
}

// drawn is a paper as the bytes of a file.
func drawn(kind string, in sheet.HazardInput, svg bool) ([]byte, error) {
	pages, err := sheet.Hazard(kind, in)
	if err != nil {
		return nil, err
	}
	if len(pages) == 0 {
		return nil, fmt.Errorf("%s drew no page", kind)
	}
	var b bytes.Buffer
	if svg {
		err = sheet.SVG(&b, pages...)
	} else {
		err = sheet.PDF(&b, pages, sheet.Meta{Title: in.Plan.Name + ", " + in.Hazard.Name, At: in.PrintedAt})
	}
	return b.Bytes(), err
}

// writeWhole writes a file whole or not at all: beside its place first, and then
// under its name. What was there before is replaced only by a whole one. A
// device or a pipe is written to as it is.
func writeWhole(name string, doc []byte) (err error) {
	if at, err := os.Stat(name); err == nil && !at.Mode().IsRegular() {
		if at.IsDir() {
			return &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: name + " is a folder", Hint: "name a file in it"}
		}
		return os.WriteFile(name, doc, 0o666)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".terret-*")
	if err != nil {
		if os.IsNotExist(err) {
			return &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: "there is no folder " + filepath.Dir(name), Hint: "make it first, or name another"}
		}
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(f.Name())
		}
	}()
	_, err = f.Write(doc)
	if mode := fs.FileMode(0o644); err == nil {
		err = f.Chmod(mode) // CreateTemp keeps it to its owner; papers are for all
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	return err
}

// terminal reports whether w is a terminal, as near as the standard library
// tells: a character device that is not the null device.
func terminal(w any) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	at, err := f.Stat()
	if err != nil || at.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(at, null)
}
