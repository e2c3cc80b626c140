package main

import (
	"time"

	"terret/internal/rota"
	"terret/internal/sheet"
)

// rotaPaper draws one of the papers whose source is a rota's file.
func (c sheetsCommand) rotaPaper(s *streams, kind sheet.RotaKind) error {
	paper, svg, err := c.output(s)
	if err != nil {
		return err
	}
	r, err := rota.Load(c.Source)
	if err != nil {
		return err
	}
	in := sheet.RotaInput{Rota: r, Job: c.Job, Blank: c.Blank, Event: c.Event, Date: c.Date, Version: c.Version, Paper: paper, PrintedAt: time.Now()}
	pages, err := sheet.Rota(kind.Name, in)
	if err != nil {
		return err
	}
	return c.write(s, pages, svg, sheet.Meta{Title: kind.Title + ", " + r.Name, At: in.PrintedAt})
}
