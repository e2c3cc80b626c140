package main

import (
	"time"

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
	return c.write(s, pages, svg, sheet.Meta{Title: kind.Title + ", " + t.Name, At: in.PrintedAt})
}
