package main

import (
	"context"

	"terret/internal/sheet"
	"terret/internal/web"
)

// papers draws for the pages what `terret sheets` draws for the command line.
type papers struct{}

var _ web.Sheets = papers{}

// Draw gives the file of one sheet.
func (papers) Draw(_ context.Context, job web.SheetJob, format string) ([]byte, error) {
	paper, err := sheet.PaperNamed(job.Paper)
	if err != nil {
		return nil, err
	}
	through, err := letterOf(job.Hazard, job.Through)
	if err != nil {
		return nil, err
	}
	kind := map[string]string{"drivers": sheet.Drivers, "clinic": sheet.Clinic, "builder": sheet.Builders}[job.Kind]
	return drawn(kind, sheet.HazardInput{
		Plan: job.Plan.Plan, Hazard: job.Hazard, Answer: job.Answer, Turnout: job.Turnout,
		Through: through, Version: job.Plan.Letter(), PrintedAt: job.At, Paper: paper,
	}, format == "svg")
}
