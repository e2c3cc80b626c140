package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"terret/internal/gait"
	"terret/internal/strict"
)

type gaitCommands struct {
	Prints gaitPrintsCommand `cmd:"" help:"What trot a strip of hoof prints is of, and how sure that is."`
	Signal gaitSignalCommand `cmd:"" help:"Which gaits a phone's motion log holds, with strides a second."`
	Tempo  gaitTempoCommand  `cmd:"" help:"Strides a minute from taps on the beat, or speed and stride from a timed distance."`
}

type gaitPrintsCommand struct {
	File      string  `arg:"" help:"CSV of the prints: foot,along_m,across_m and, for more than one pass, pass."`
	Size      string  `default:"horse" placeholder:"SIZE" help:"vse, pony or horse (horse)."`
	Tolerance float64 `placeholder:"CM" help:"How far off the fore print still counts as in it, cm; by size otherwise (6.5, 5, 3.5)."`
	Seconds   float64 `placeholder:"T" help:"Time over the strip, s: speed, stride frequency and Froude number are added."`
	Metres    float64 `placeholder:"M" help:"Distance that was timed, m; from the first print to the last otherwise."`
	Leg       float64 `placeholder:"M" help:"Standing leg, elbow to ground, m; by size otherwise (1.2, 0.75, 0.5)."`
	JSON      bool    `name:"json" help:"Answer with one JSON document."`
}

func (gaitPrintsCommand) Help() string {
	return `Reads hoof prints taped along a raked strip: toe edges, metres along the line of travel, feet LF RF LH RH. Says slow, working or strong where the 95 % interval of the mean over-track lies wholly short of, in or beyond the fore print, and otherwise that it cannot tell and how many more strides would.

Nobody is on the strip while a turnout moves; measure when it has halted away from it, with somebody at the horse's head.

Examples:

  terret gait prints examples/gait/working.csv

  terret gait prints examples/gait/working.csv --seconds 7.4 --metres 27

  terret gait prints examples/gait/pony-slow.csv --size pony --json`
}

func (c gaitPrintsCommand) Run(s *streams) error {
	data, err := strict.ReadFile(c.File)
	if err != nil {
		return err
	}
	prints, err := gait.ReadPrints(c.File, data)
	if err != nil {
		return err
	}
	a, err := gait.Read(gait.Question{File: c.File, Prints: prints, Size: c.Size, Tolerance: c.Tolerance / 100, Leg: c.Leg, Seconds: c.Seconds, Metres: c.Metres})
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(a)
	}
	writeTrot(s.out, a)
	return nil
}

// writeTrot writes the answer for a person.
func writeTrot(w io.Writer, a *gait.Trot) {
	fmt.Fprintf(w, "%s\n\n", strings.ToUpper(a.Trot))
	fmt.Fprintf(w, "%s\n\n", a.Says)
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "over-track\tmean\t95 %% interval\treadings\t\n")
	side := func(name string, s *gait.Side) {
		if s == nil {
			fmt.Fprintf(tab, "%s\t–\t–\t0\t\n", name)
			return
		}
		span := "–"
		if s.Low != nil && s.High != nil {
			span = fmt.Sprintf("%.1f to %.1f cm", *s.Low, *s.High)
		}
		fmt.Fprintf(tab, "%s\t%+.1f cm\t%s\t%d\t\n", name, s.Mean, span, s.N)
	}
	side("left", a.Sides.Left)
	side("right", a.Sides.Right)
	o := a.OverTrack
	side("both", &gait.Side{Mean: o.Mean, Low: o.Low, High: o.High, N: o.N})
	tab.Flush()
	fmt.Fprintf(w, "\nStride %.2f m, ± %.2f m from one to the next, over %d.", a.Stride.Mean, a.Stride.SD, a.Stride.N)
	if a.DiagonalM != nil {
		fmt.Fprintf(w, " Hind print to the fore print of its diagonal %.2f m.", *a.DiagonalM)
	}
	fmt.Fprintf(w, " %d of %d hind prints are ahead of the fore.\n", o.Ahead, o.N)
	if a.SpeedMPS != nil {
		fmt.Fprintf(w, "Speed %.2f m/s (%.2f to %.2f with a hand's timing), %.2f strides a second (%.0f a minute), Froude number %.2f for a leg of %.2f m.\n",
			*a.SpeedMPS, a.SpeedRangeMPS[0], a.SpeedRangeMPS[1], *a.StrideHz, gait.PerMinute(*a.StrideHz), *a.Froude, a.LegM)
	}
	if t := a.Straight; t != nil {
		fmt.Fprintf(w, "Track %.1f° off the strip, wandering ± %.1f cm.\n", t.DriftDeg, t.WanderCM)
	}
	fmt.Fprintln(w)
	for _, r := range a.Notes {
		fmt.Fprintf(w, "%s\n", r)
	}
}
