package main

import (
	"fmt"
	"text/tabwriter"

	"terret/internal/fault"
	"terret/internal/strict"
	"terret/internal/turnout"
)

type turnoutRecoveryCommand struct {
	File        string  `arg:"" help:"CSV of a halt: minute,pulse,breaths,temp_c; what was not taken stays empty."`
	RestPulse   float64 `placeholder:"N" help:"This horse's own pulse at rest, a minute; 36 otherwise."`
	RestBreaths float64 `placeholder:"N" help:"Its own breaths at rest, a minute; 12 otherwise."`
	JSON        bool    `name:"json" help:"Answer with one JSON document."`
}

func (turnoutRecoveryCommand) Help() string {
	return `How pulse and breathing came down at a halt: first and last, in how many minutes what is over rest halves, when it was near rest. Numbers inform; the vet decides.

Examples:

  terret turnout recovery halt.csv --rest-pulse 34`
}

func (c turnoutRecoveryCommand) Run(s *streams) error {
	data, err := strict.ReadFile(c.File)
	if err != nil {
		return err
	}
	log, err := turnout.ReadVitals(c.File, data)
	if err != nil {
		return err
	}
	a, err := turnout.Recover(log, c.RestPulse, c.RestBreaths)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(a)
	}
	fmt.Fprintf(s.out, "%s\n\n", a.Says)
	tab := tabwriter.NewWriter(s.out, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "minute\tpulse\tbreaths\t°C\t\n")
	show := func(x float64) string {
		if x == 0 {
			return "–"
		}
		return fmt.Sprintf("%.4g", x)
	}
	for _, v := range a.Readings {
		fmt.Fprintf(tab, "%.4g\t%s\t%s\t%s\t\n", v.Minute, show(v.Pulse), show(v.Breaths), show(v.TempC))
	}
	tab.Flush()
	for _, k := range []struct {
		name  string
		curve *turnout.Curve
	}{{"pulse", a.Pulse}, {"breathing", a.Breaths}} {
		if k.curve != nil && k.curve.HalfMinutes != nil {
			fmt.Fprintf(s.out, "\nWhat the %s is over rest halves in %.1f min.", k.name, *k.curve.HalfMinutes)
		}
	}
	fmt.Fprintln(s.out)
	for _, l := range a.Cautions {
		fmt.Fprintf(s.out, "%s\n", l)
	}
	return nil
}

type turnoutHeatCommand struct {
	Air      float64  `required:"" placeholder:"C" help:"Air in the shade, °C."`
	Humidity float64  `required:"" placeholder:"PERCENT" help:"Relative humidity."`
	WetBulb  *float64 `placeholder:"C" help:"Wet bulb, °C; with --globe the heat is measured, not estimated."`
	Globe    *float64 `placeholder:"C" help:"Black globe, °C."`
	JSON     bool     `name:"json" help:"Answer with one JSON document."`
}

func (turnoutHeatCommand) Help() string {
	return `Both figures for heat, °F plus humidity and the wet bulb globe temperature, held against the limits of each source; where the sources differ it says so. Exit status 3: by at least one of them horses should not work. The vet decides, and the organiser's rules.

Examples:

  terret turnout heat --air 29 --humidity 65

  terret turnout heat --air 29 --humidity 65 --wet-bulb 24 --globe 41`
}

func (c turnoutHeatCommand) Run(s *streams) error {
	if (c.WetBulb == nil) != (c.Globe == nil) {
		return &fault.Fault{Code: fault.Usage, Rule: "heat", Place: "--wet-bulb", Message: "measured heat needs wet bulb and globe", Hint: "--wet-bulb 24 --globe 41"}
	}
	h, ok := turnout.HeatOf(c.Air, c.Humidity)
	if ok && c.WetBulb != nil {
		h, ok = turnout.HeatMeasured(c.Air, c.Humidity, *c.WetBulb, *c.Globe)
	}
	if !ok {
		return &fault.Fault{Code: fault.Usage, Rule: "heat", Place: "--air", Message: fmt.Sprintf("%v °C with %v %% humidity is no weather", c.Air, c.Humidity), Hint: "°C, −40 to 60 (globe to 100), and 0 to 100 %"}
	}
	if c.JSON {
		if err := s.json(h); err != nil {
			return err
		}
	} else {
		k := turnout.HeatCheck(h)
		fmt.Fprintln(s.out, k.Says)
		if h.Doubt != "" {
			fmt.Fprintf(s.out, "Sources differ: %s.\n", h.Doubt)
		}
		fmt.Fprintln(s.out)
		for _, l := range append(k.Working, h.Cautions...) {
			fmt.Fprintln(s.out, l)
		}
	}
	if h.Worst == turnout.No {
		return errNo
	}
	return nil
}
