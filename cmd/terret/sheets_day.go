package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/trial"
)

// dayPaper draws one of the papers whose source is a trial's file.
func (c sheetsCommand) dayPaper(s *streams, kind sheet.DayKind) error {
	paper, svg, err := c.output(s)
	if err != nil {
		return err
	}
	t, p, err := trial.Load(c.Source)
	if err != nil {
		return err
	}
	in := sheet.DayInput{Trial: t, Rules: p, Entry: c.Entry, Course: c.Course, Class: c.Class, Blank: c.Blank,
		Event: c.Event, Date: c.Date, Version: c.Version, Paper: paper, PrintedAt: time.Now()}
	if in.Answer, err = trial.Score(t, p); err != nil {
		return err
	}
	for _, file := range c.Plan {
		g, odd, err := plan.Load(file)
		if err != nil {
			return err
		}
		for _, w := range odd {
			s.warn(w.String())
		}
		in.Plans = append(in.Plans, g)
	}
	pages, err := sheet.Day(kind.Name, in)
	if err != nil {
		return err
	}
	return c.write(s, pages, svg, kind.Title+", "+t.Name, in.PrintedAt)
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
func (c sheetsCommand) write(s *streams, pages []sheet.Scene, svg bool, title string, at time.Time) error {
	var b bytes.Buffer
	var err error
	if svg {
		err = sheet.SVG(&b, pages...)
	} else {
		err = sheet.PDF(&b, pages, sheet.Meta{Title: title, At: at})
	}
	switch {
	case err != nil:
		return err
	case c.Out == "":
		_, err = s.out.Write(b.Bytes())
		return err
	}
	return writeWhole(c.Out, b.Bytes())
}
