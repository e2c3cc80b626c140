package main

import (
	"time"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/sheet"
	"terret/internal/strict"
	"terret/internal/turnout"
)

// turnoutPaper draws one of the papers whose source is a turnout's file.
func (c sheetsCommand) turnoutPaper(s *streams) error {
	paper, svg, err := c.output(s)
	if err != nil {
		return err
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
	return c.put(s, doc)
}

// drawnTurnout is a paper of a turnout as the bytes of a file.
func drawnTurnout(kind string, in sheet.TurnoutInput, svg bool) ([]byte, error) {
	pages, err := sheet.Turnout(kind, in)
	if err != nil {
		return nil, err
	}
	return sheet.File(pages, svg, sheet.Meta{Title: in.Turnout.Name, Subject: kind, At: in.PrintedAt})
}
