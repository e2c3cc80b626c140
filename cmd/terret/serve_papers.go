package main

import (
	"context"

	"terret/internal/sheet"
	"terret/internal/web/ground"
)

// papers draws for the pages what `terret sheets` draws for the command line.
type papers struct{}

var _ ground.Sheets = papers{}

// Draw gives the file of one sheet.
func (papers) Draw(_ context.Context, kind string, in sheet.Input, format string) (doc []byte, err error) {
	if in.Hazard != nil {
		if in.Through, err = letterOf(in.Hazard, in.Through); err != nil {
			return nil, err
		}
	}
	return drawn(kind, in, format == "svg")
}
