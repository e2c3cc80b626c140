package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/turnout"
)

type turnoutCommands struct {
	Check turnoutCheckCommand `cmd:"" help:"Hold a turnout's measurements against what is asked of them, with the arithmetic."`
	Card  turnoutCardCommand  `cmd:"" help:"The card of who looks the turnout over, or of putting to and taking out."`
	Heat  turnoutHeatCommand  `cmd:"" help:"Both heat figures with the limits of each source."`

	Recovery turnoutRecoveryCommand `cmd:"" help:"How pulse and breathing came down at a halt."`
}

// dayFlags are the day's conditions, the same for the check and the card.
type dayFlags struct {
	Ground    string   `default:"turf" placeholder:"KIND" help:"Ground of the day: road, gravel, turf, soil, sand (turf)."`
	Slope     float64  `default:"5" placeholder:"PERCENT" help:"Steepest slope on the way, up and down (5)."`
	SideSlope float64  `default:"10" placeholder:"PERCENT" help:"Steepest slope across the way (10)."`
	Gap       float64  `placeholder:"CM" help:"Gap of the cones, if it is set already."`
	Marathon  bool     `help:"Dress and weights of a marathon."`
	Air       *float64 `placeholder:"C" help:"Air in the shade, °C; with --humidity the heat figures are added."`
	Humidity  *float64 `placeholder:"PERCENT" help:"Relative humidity."`
	WetBulb   *float64 `placeholder:"C" help:"Wet bulb, °C; with --globe the heat is measured, not estimated."`
	Globe     *float64 `placeholder:"C" help:"Black globe, °C."`
	Today     string   `placeholder:"DATE" help:"The day, such as 2026-05-14; today otherwise."`
}

func (d dayFlags) conditions() (turnout.Conditions, error) {
	c := turnout.Conditions{Ground: d.Ground, Slope: d.Slope / 100, SideSlope: d.SideSlope / 100, GapCM: d.Gap, Marathon: d.Marathon, Today: time.Now().UTC()}
	if d.Today != "" {
		day, err := time.Parse(time.DateOnly, d.Today)
		if err != nil {
			return c, &fault.Fault{Code: fault.Usage, Rule: "today", Place: "--today", Message: fmt.Sprintf("%q is no day", d.Today), Hint: "such as 2026-05-14"}
		}
		c.Today = day
	}
	if (d.Air == nil) != (d.Humidity == nil) {
		return c, &fault.Fault{Code: fault.Usage, Rule: "heat", Place: "--air", Message: "heat needs both air and humidity", Hint: "--air 28 --humidity 55"}
	}
	if (d.WetBulb == nil) != (d.Globe == nil) || d.WetBulb != nil && d.Air == nil {
		return c, &fault.Fault{Code: fault.Usage, Rule: "heat", Place: "--wet-bulb", Message: "measured heat needs wet bulb and globe, with air and humidity", Hint: "--air 28 --humidity 55 --wet-bulb 23 --globe 38"}
	}
	if d.Air != nil {
		h, ok := turnout.HeatOf(*d.Air, *d.Humidity)
		if ok && d.WetBulb != nil && d.Globe != nil {
			h, ok = turnout.HeatMeasured(*d.Air, *d.Humidity, *d.WetBulb, *d.Globe)
		}
		if !ok {
			return c, &fault.Fault{Code: fault.Usage, Rule: "heat", Place: "--air", Message: fmt.Sprintf("%v °C with %v %% humidity is no weather", *d.Air, *d.Humidity), Hint: "°C, −40 to 60 (globe to 100), and 0 to 100 %"}
		}
		c.Heat = &h
	}
	return c, nil
}

type turnoutCheckCommand struct {
	File  string `arg:"" help:"File of the turnout (terret: turnout/1)."`
	Rules string `placeholder:"PROFILE" help:"Rule profile, by its name or as a file (three-phase)."`
	dayFlags
	JSON bool `name:"json" help:"Answer with one JSON document."`
}

func (turnoutCheckCommand) Help() string {
	return `Makes every check that applies to this turnout, in the order of a walk round it: shafts or pole, balance, overturning, least circle, load and pull on the day's ground, brake, track, wheels, whip, spares, dress, service. Where a measurement is missing it says which; where one is guessed, its doubt is carried into the answer. Exit status 3: at least one is no.

It says what was looked at, and no more: whether the turnout may go is for the people who stand beside it, by the day's rules.

Examples:

  terret turnout check examples/turnouts/pony-two-wheel.yaml

  terret turnout check cob.yaml --ground sand --slope 8 --gap 168

  terret turnout check cob.yaml --air 28 --humidity 60 --json`
}

// turnoutCheckAnswer is the contract's answer.
type turnoutCheckAnswer struct {
	Turnout string          `json:"turnout"`
	Rules   string          `json:"rules"`
	Checks  []turnout.Check `json:"checks"`
}

func (c turnoutCheckCommand) Run(s *streams) error {
	profile, err := rules.Load(c.Rules)
	if err != nil {
		return err
	}
	t, checks, err := inspected(s, c.File, c.dayFlags, profile)
	if err != nil {
		return err
	}
	a := turnoutCheckAnswer{Turnout: t.Name, Rules: profile.Name, Checks: checks}
	if c.JSON {
		err = s.json(a)
	} else {
		writeChecks(s.out, a)
	}
	if err == nil && turnout.AnyNo(checks) {
		return errNo
	}
	return err
}

// inspected reads a turnout and makes its checks. Places of faults begin with
// the file's name.
func inspected(s *streams, file string, d dayFlags, profile *rules.Profile) (*turnout.Turnout, []turnout.Check, error) {
	c, err := d.conditions()
	if err != nil {
		return nil, nil, err
	}
	c.Rules = profile
	t, odd, err := turnout.Load(file)
	if err != nil {
		return nil, nil, err
	}
	checks, err := turnout.Inspect(t, c)
	if err != nil {
		return nil, nil, placed(err, file)
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	return t, checks, nil
}

// placed puts the file before the places of faults of its numbers.
func placed(err error, file string) error {
	if l, ok := err.(fault.List); ok {
		for _, f := range l {
			f.Place = file + ": " + f.Place
		}
	}
	return err
}

// writeChecks writes the answer for a person.
func writeChecks(w io.Writer, a turnoutCheckAnswer) {
	fmt.Fprintf(w, "%s\n", a.Turnout)
	for _, v := range []struct {
		verdict turnout.Verdict
		title   string
	}{{turnout.No, "No"}, {turnout.Look, "Look"}, {turnout.Good, "Good, as far as the numbers go"}, {turnout.NotMeasured, "Not measured"}} {
		first := true
		for _, c := range a.Checks {
			if c.Verdict != v.verdict {
				continue
			}
			if first {
				fmt.Fprintf(w, "\n%s\n", v.title)
				first = false
			}
			fmt.Fprintf(w, "  %s: %s\n", c.Name, strings.TrimPrefix(c.Says, "Not measured: "))
			if v.verdict == turnout.NotMeasured {
				continue
			}
			for _, line := range c.Working {
				fmt.Fprintf(w, "      %s\n", line)
			}
			if c.Source != "" {
				fmt.Fprintf(w, "      by: %s (%s)\n", c.Source, c.Sure)
			}
		}
	}
	fmt.Fprintf(w, "\nThis is what was looked at, by the numbers in the file. Horse, harness and vehicle are looked at by people, with somebody at the horse's head; the day's rules and the vet, the farrier and the wheelwright decide.\n")
}
