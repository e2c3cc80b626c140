package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/gates"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/sheet"
	"terret/internal/survey"
	"terret/internal/turnout"
)

type sheetsCommand struct {
	Kind    string    `arg:"" help:"Which paper; they are listed below."`
	Source  string    `arg:"" help:"File of the plan (terret: plan/1), or of the turnout, the trial or the rota for their own papers."`
	Turnout []string  `sep:"none" placeholder:"FILE" help:"File of a turnout (terret: turnout/1): hazard-clinic shows its two ways, gaps has a line for each, in the order they are named. Again for each further one, or several files behind one another."`
	More    []string  `arg:"" optional:"" help:"Further turnouts."`
	Hazard  string    `placeholder:"NAME" help:"Which hazard; may be left out where there is one."`
	Course  string    `placeholder:"NAME" help:"Which cones course; may be left out where there is one. Of a trial: the id of a course or test, all otherwise."`
	Arena   arenaFlag `help:"The dressage arena; its size may be named."`
	Through string    `placeholder:"LETTER" help:"Last letter in play. The last there is."`
	For     string    `placeholder:"CLASS" help:"Class, for gates that are only for some."`
	Pace    string    `placeholder:"NAME" help:"One of the turnout's paces; its own otherwise."`
	From    string    `placeholder:"P,Q" help:"The two pegs of a list of stakes, as x:y,x:y, or ids of things of the plan. Without it pegs are proposed."`
	Tape    float64   `default:"50" placeholder:"M" help:"Length of the tape in metres (50)."`
	Track   float64   `default:"0" placeholder:"CM" help:"Track of the turnout the cones of a list of stakes are set for, where the gap goes by it (140)."`
	Rules   string    `placeholder:"PROFILE" help:"Rule profile for times and gaps, by its name or as a file (three-phase)."`
	Event   string    `placeholder:"NAME" help:"The event, for the heading; a line to write on otherwise."`
	Date    string    `placeholder:"DAY" help:"The day it is for, as it shall be printed; the day of printing otherwise."`
	Version string    `name:"plan-version" placeholder:"LETTER" help:"Version letter of the plan, for the heading; a line to write on otherwise."`
	Paper   string    `default:"a4" placeholder:"a4|letter" help:"Size of the paper: a4 or letter (a4)."`
	Out     string    `placeholder:"FILE" help:"Where to write it; standard output otherwise."`
	Prints  string    `placeholder:"FILE" help:"CSV of taped prints; the trot papers are then drawn to this horse's own."`
	Entry   int       `placeholder:"N" help:"Of a trial: the papers of one entry alone."`
	Class   string    `placeholder:"ID" help:"Of a trial: the papers of one class alone."`
	Blank   bool      `help:"Of a trial: papers to write on, one for each who starts and a spare."`
	Job     string    `placeholder:"ID" help:"Of a rota: the card of one job alone."`
	Plan    []string  `sep:"none" placeholder:"FILE" help:"Of a trial: a ground (again for each further one), so that hazards of the same name are drawn on the observer's sheet and cones are numbered."`
	SVG     bool      `name:"svg" help:"A drawing (SVG) instead of a PDF. So is a FILE that ends in .svg."`
}

func (sheetsCommand) Help() string {
	var kinds strings.Builder
	for _, k := range sheet.Kinds() {
		fmt.Fprintf(&kinds, "  %-15s  %s%s\n\n", k.Name, k.Says, wants(k))
	}
	return `Draws a paper, black on white, to be printed:

` + kinds.String() + `Of a turnout's file as the source:

  check-card       what the checker walks round with, one side

  putting-to       putting to and taking out, step by step

  trot-lesson      how to rake and tape, and the record to fill in

  trot-poster      the three trots in prints, to hang up (A2, or ANSI C with letter)

Of a trial's file as the source, filled from its sheets or --blank to write on:

` + dayKinds() + `Of a rota's file (terret: rota/1) as the source; --blank leaves the names out, and the facts of a card:

` + rotaKinds() + `Exit status 3: the turnout can drive no way, or a stake has no fix over 20°; the list of stakes is drawn all the same.

Examples:

  terret sheets hazard-drivers examples/plans/meadow-trees.yaml --out drivers.pdf

  terret sheets hazard-clinic examples/plans/meadow-trees.yaml --turnout examples/turnouts/pair.yaml --paper letter --out clinic.pdf

  terret sheets hazard-builders examples/plans/boxes-3m.yaml --svg > boxes.svg

  terret sheets cones-drivers examples/plans/cones-twelve.yaml --event "Autumn schooling day" --out cones.pdf

  terret sheets hazard-sheet examples/hollowmere-trial.yaml --blank --out observer.pdf

  terret sheets results examples/hollowmere-trial.yaml --class P --out results.pdf`
}

// rotaKinds lists the papers of people's jobs for the help.
func rotaKinds() string {
	var b strings.Builder
	for _, k := range sheet.RotaKinds() {
		fmt.Fprintf(&b, "  %-15s  %s\n\n", k.Name, k.Says)
	}
	return b.String()
}

// dayKinds lists the papers of a trial for the help.
func dayKinds() string {
	var b strings.Builder
	for _, k := range sheet.DayKinds() {
		fmt.Fprintf(&b, "  %-15s  %s\n\n", k.Name, k.Says)
	}
	return b.String()
}

// wants says what a paper has to be given besides its plan.
func wants(k sheet.Kind) string {
	switch k.Turnouts {
	case sheet.OneTurnout:
		return " (wants --turnout)"
	case sheet.AnyTurnouts:
		return " (--turnout may be named)"
	}
	return ""
}

func (c sheetsCommand) Run(s *streams) error {
	if slices.Contains(sheet.TurnoutKinds(), c.Kind) {
		return c.turnoutPaper(s)
	}
	if k, ok := sheet.DayKindNamed(c.Kind); ok {
		return c.dayPaper(s, k)
	}
	if k, ok := sheet.RotaKindNamed(c.Kind); ok {
		return c.rotaPaper(s, k)
	}
	kind, svg, paper, err := c.usage(s)
	if err != nil {
		return err
	}
	in, err := c.input(s, kind)
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
	err = c.put(s, doc)
	if err == nil && in.Stakes != nil && in.Stakes.No() {
		s.warn("a point has no fix over 20°: the list says which; name other pegs with --from")
		return errNo
	}
	return err
}

// usage checks what can be checked before a file is read.
func (c sheetsCommand) usage(s *streams) (kind sheet.Kind, svg bool, paper sheet.Paper, err error) {
	if kind, err = sheet.KindNamed(c.Kind); err != nil {
		return kind, false, paper, err
	}
	bad := func(rule, place, message, hint string) (sheet.Kind, bool, sheet.Paper, error) {
		return kind, false, paper, &fault.Fault{Code: fault.Usage, Rule: rule, Place: place, Message: message, Hint: hint}
	}
	turnouts := len(c.Turnout) + len(c.More)
	if len(c.More) > 0 && len(c.Turnout) == 0 {
		return bad("sheet-turnout", "--turnout", fmt.Sprintf("%s stands behind the plan, but no turnout is named", c.More[0]), "put --turnout before the first")
	}
	if kind.Turnouts == sheet.OneTurnout && turnouts != 1 {
		message := "a clinic plan shows what one turnout can drive, and none is named"
		if turnouts > 1 {
			message = fmt.Sprintf("a clinic plan shows what one turnout can drive, and %d are named", turnouts)
		}
		return bad("sheet-turnout", "--turnout", message, "name its file with --turnout")
	}
	named := map[sheet.Subject]bool{sheet.OfHazard: c.Hazard != "", sheet.OfCourse: c.Course != "", sheet.OfArena: c.Arena.set}
	count := 0
	for _, of := range []sheet.Subject{sheet.OfHazard, sheet.OfCourse, sheet.OfArena} {
		if !named[of] {
			continue
		}
		if count++; count > 1 {
			return bad("sheet-of", "--"+string(of), "more than one of a hazard, a course and the arena is named", "name one")
		}
		if !kind.For(of) {
			return bad("sheet-of", "--"+string(of), fmt.Sprintf("%s is no paper of the %s", kind.Name, of), fmt.Sprintf("it is of the %s", kind.Of[0]))
		}
	}
	paper, svg, err = c.output(s)
	return kind, svg, paper, err
}

// input reads the files and works out what the paper is drawn from.
func (c sheetsCommand) input(s *streams, kind sheet.Kind) (sheet.Input, error) {
	in := sheet.Input{Class: c.For, Event: c.Event, Date: c.Date, Version: c.Version, PrintedAt: time.Now()}
	p, odd, err := plan.Load(c.Source)
	if err != nil {
		return in, err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	in.Plan = p
	if err = c.choose(kind, &in); err != nil {
		return in, err
	}
	if in.Rules, err = rules.Load(c.Rules); err != nil {
		return in, err
	}
	if kind.Stakes {
		if in.Stakes, err = c.stakes(&in); err != nil {
			return in, err
		}
	}
	if kind.Turnouts == sheet.NoTurnout {
		return in, nil
	}
	for _, f := range append(c.Turnout, c.More...) {
		t, odd, err := turnout.Load(f)
		if err != nil {
			return in, err
		}
		for _, w := range odd {
			s.warn(w.String())
		}
		in.Turnouts = append(in.Turnouts, t)
	}
	if kind.Turnouts == sheet.AnyTurnouts {
		return in, nil
	}
	in.Turnout, in.Turnouts = in.Turnouts[0], nil
	if in.Turnout, err = in.Turnout.WithPace(c.Pace); err != nil {
		return in, err
	}
	in.Answer, err = hazard.Routes(s.ctx, hazard.Question{
		Plan: p, Hazard: in.Hazard.Name, Turnout: in.Turnout, Through: in.Through, For: c.For,
		Progress: s.progress("planning"),
	})
	return in, err
}

// choose finds what of the plan the paper is about: what is named, all of it, or
// the only thing there is that the paper can be about.
func (c sheetsCommand) choose(kind sheet.Kind, in *sheet.Input) (err error) {
	p := in.Plan
	of := kind.Of[0]
	switch {
	case c.Hazard != "":
		of = sheet.OfHazard
	case c.Course != "":
		of = sheet.OfCourse
	case c.Arena.set:
		of = sheet.OfArena
	case kind.For(sheet.OfPlan):
		of = sheet.OfPlan
	case len(kind.Of) > 1:
		var has []sheet.Subject
		for range p.Hazards {
			has = append(has, sheet.OfHazard)
		}
		for range p.Courses {
			has = append(has, sheet.OfCourse)
		}
		if len(has) == 0 && p.Arena != nil {
			has = append(has, sheet.OfArena)
		}
		if len(has) > 1 {
			return &fault.Fault{Code: fault.Usage, Rule: "sheet-of", Place: "KIND", Message: fmt.Sprintf("the plan has %d layouts", len(has)), Hint: "name one with --hazard, --course or --arena"}
		}
		if len(has) == 1 {
			of = has[0]
		}
	}
	switch of {
	case sheet.OfHazard:
		if in.Hazard, err = p.Hazard(c.Hazard); err == nil {
			in.Through, err = letterOf(in.Hazard, c.Through)
		}
	case sheet.OfCourse:
		in.Course, err = cones.FindCourse(p, c.Course)
	case sheet.OfArena:
		err = c.Arena.of(p)
		in.Arena = true
	}
	return err
}

// stakes works the setting-out list out.
func (c sheetsCommand) stakes(in *sheet.Input) (*survey.StakeList, error) {
	q := survey.Question{Plan: in.Plan, Tape: c.Tape, Target: survey.Target{Arena: in.Arena, Track: c.Track / 100}}
	if in.Hazard != nil {
		q.Target.Hazard = in.Hazard.Name
	}
	if in.Course != nil {
		q.Target.Course = in.Course.Name
	}
	if c.From != "" {
		var err error
		if q.From, err = pegPlaces(in.Plan, c.From); err != nil {
			return nil, err
		}
	}
	return survey.Stakes(q)
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
func drawn(kind string, in sheet.Input, svg bool) ([]byte, error) {
	pages, err := sheet.Draw(kind, in)
	if err != nil {
		return nil, err
	}
	return sheet.File(pages, svg, sheet.Meta{Title: pages[0].Title, At: in.PrintedAt})
}

// output checks what is asked of the file before anything is read.
func (c sheetsCommand) output(s *streams) (paper sheet.Paper, svg bool, err error) {
	if paper, err = sheet.PaperNamed(c.Paper); err != nil {
		return paper, false, err
	}
	ext := strings.ToLower(filepath.Ext(c.Out))
	if c.SVG && ext == ".pdf" {
		return paper, false, &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: fmt.Sprintf("--svg, and %s ends in .pdf", c.Out), Hint: "leave out --svg, or name a file that ends in .svg"}
	}
	svg = c.SVG || ext == ".svg"
	if c.Out == "" && !svg && terminal(s.now) {
		return paper, false, &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: "a PDF is nothing to look at on a terminal", Hint: "name a file with --out"}
	}
	return paper, svg, nil
}

// write writes pages to the file that was asked for, or to standard output.
func (c sheetsCommand) write(s *streams, pages []sheet.Scene, svg bool, m sheet.Meta) error {
	doc, err := sheet.File(pages, svg, m)
	if err != nil {
		return err
	}
	return c.put(s, doc)
}

// put writes a file where it was asked for.
func (c sheetsCommand) put(s *streams, doc []byte) error {
	if c.Out == "" {
		_, err := s.out.Write(doc)
		return err
	}
	return writeWhole(c.Out, doc)
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
