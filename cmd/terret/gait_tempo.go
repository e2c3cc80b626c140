package main

import (
	"fmt"
	"slices"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/strict"
	"terret/internal/turnout"
)

type gaitTempoCommand struct {
	File      string  `arg:"" optional:"" help:"Taps on the beat: t_s in the first line, then one time in seconds a line."`
	PerStride int     `default:"2" placeholder:"N" help:"Taps a stride: 2 on every beat of a trot, 1 on one foot (2)."`
	Metres    float64 `placeholder:"M" help:"Instead of taps: a measured distance, m, …"`
	Seconds   float64 `placeholder:"T" help:"… the seconds over it …"`
	Strides   float64 `placeholder:"N" help:"… and the strides counted on it, if somebody did."`
	Size      string  `default:"horse" placeholder:"SIZE" help:"vse, pony or horse (horse)."`
	Leg       float64 `placeholder:"M" help:"Standing leg, elbow to ground, m; by size otherwise (1.2, 0.75, 0.5)."`
	JSON      bool    `name:"json" help:"Answer with one JSON document."`
}

func (gaitTempoCommand) Help() string {
	return `The tempo of a trot: strides a minute from taps on the beat, with its 95 % interval; or speed, stride and Froude number from a distance that was timed. It does not name slow, working and strong: neither beat nor speed tells them.

Examples:

  terret gait tempo taps.csv

  terret gait tempo --metres 40 --seconds 11.2 --strides 15 --size pony`
}

func (c gaitTempoCommand) Run(s *streams) error {
	if !slices.Contains([]string{turnout.VSE, turnout.Pony, turnout.HorseSize}, c.Size) {
		return &fault.Fault{Code: fault.Usage, Rule: "size", Place: "--size", Message: fmt.Sprintf("%q is no size", c.Size), Hint: "vse, pony or horse"}
	}
	timed := c.Metres != 0 || c.Seconds != 0 || c.Strides != 0
	if timed == (c.File != "") {
		return &fault.Fault{Code: fault.Usage, Rule: "tempo", Place: "FILE", Message: "taps or a timed distance, one of the two", Hint: "name a file of taps, or give --metres and --seconds"}
	}
	if timed {
		leg := c.Leg
		if leg == 0 {
			leg = gait.LegOf(c.Size)
		}
		a, err := gait.TimedOf(c.Metres, c.Seconds, c.Strides, leg)
		if err != nil {
			return err
		}
		if c.JSON {
			return s.json(a)
		}
		fmt.Fprintln(s.out, a.Says)
		return nil
	}
	data, err := strict.ReadFile(c.File)
	if err != nil {
		return err
	}
	taps, err := gait.ReadTaps(c.File, data)
	if err != nil {
		return err
	}
	a, err := gait.TempoOf(taps, c.PerStride)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(a)
	}
	fmt.Fprintf(s.out, "%s\n\nBeat %.0f a minute for a metronome, %.3f strides a second; from tap to tap it varies by %.1f %%.\n", a.Says, a.BeatsPM, a.StrideHz, 100*a.Steady)
	if a.Missed > 0 {
		fmt.Fprintf(s.out, "%d beats between taps were not tapped, and are counted.\n", a.Missed)
	}
	return nil
}
