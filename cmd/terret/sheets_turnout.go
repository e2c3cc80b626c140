package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/sheet"
	"terret/internal/strict"
	"terret/internal/turnout"
)

// turnoutPaper draws one of the papers whose source is a turnout's file.
func (c sheetsCommand) turnoutPaper(s *streams) error {
	paper, err := sheet.PaperNamed(c.Paper)
	if err != nil {
		return err
	}
	ext := strings.ToLower(filepath.Ext(c.Out))
	if c.SVG && ext == ".pdf" {
		return &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: fmt.Sprintf("--svg, and %s ends in .pdf", c.Out), Hint: "leave out --svg, or name a file that ends in .svg"}
	}
	svg := c.SVG || ext == ".svg"
	if c.Out == "" && !svg && terminal(s.now) {
		return &fault.Fault{Code: fault.Usage, Rule: "sheet-out", Place: "--out", Message: "a PDF is nothing to look at on a terminal", Hint: "name a file with --out"}
	}
	t, odd, err := turnout.Load(c.Source)
	if err != nil {
		return err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	now := time.Now()
	in := sheet.TurnoutInput{Turnout: t, Event: c.Event, Date: c.Date, Version: c.Version, Paper: paper, PrintedAt: now}
	switch c.Kind {
	case sheet.TrotLesson, sheet.TrotPoster:
		var own *gait.Trot
		if c.Prints != "" {
			data, err := strict.ReadFile(c.Prints)
			if err != nil {
				return err
			}
			prints, err := gait.ReadPrints(c.Prints, data)
			if err != nil {
				return err
			}
			if own, err = gait.Read(gait.Question{File: c.Prints, Prints: prints, Size: t.Size}); err != nil {
				return err
			}
			if own.DiagonalM == nil {
				return &fault.Fault{Code: fault.Input, Rule: "diagonal", Place: c.Prints, Message: "no hind print has a fore print of its diagonal in front", Hint: "tape a strip of two strides or more, all four feet"}
			}
		}
		in.Trots = sheet.TrotsOf(t, own)
	default:
		if in.Card, err = turnout.NewCard(t, turnout.CardOptions{Conditions: turnout.Conditions{Today: now.UTC()}}); err != nil {
			return placed(err, c.Source)
		}
	}
	doc, err := drawnTurnout(c.Kind, in, svg)
	if err != nil {
		return err
	}
	if c.Out == "" {
		_, err = s.out.Write(doc)
		return err
	}
	return writeWhole(c.Out, doc)
}

// drawnTurnout is a paper of a turnout as the bytes of a file.
func drawnTurnout(kind string, in sheet.TurnoutInput, svg bool) ([]byte, error) {
	pages, err := sheet.Turnout(kind, in)
	if err != nil {
		return nil, err
	}
	title := ""
	switch {
	case in.Turnout != nil:
		title = in.Turnout.Name
	case in.Card != nil:
		title = in.Card.Turnout
	}
	var b bytes.Buffer
	if svg {
		err = sheet.SVG(&b, pages...)
	} else {
		err = sheet.PDF(&b, pages, sheet.Meta{Title: title, Subject: kind, At: in.PrintedAt})
	}
	return b.Bytes(), err
}
