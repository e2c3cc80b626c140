package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
	"unicode"
	"unicode/utf8"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/turnout"
)

type conesDriveCommand struct {
	Plan    string   `arg:"" help:"File of the plan (terret: plan/1)."`
	Turnout []string `required:"" sep:"none" placeholder:"FILE" help:"File of a turnout (terret: turnout/1). Again for each further turnout, or several files behind one another."`
	More    []string `arg:"" optional:"" help:"Further turnouts."`
	Course  string   `placeholder:"NAME" help:"Which cones course; may be left out where there is one."`
	Rules   string   `placeholder:"PROFILE" help:"Rule profile, by its name or as a file (three-phase)."`
	Tight   float64  `default:"0.25" placeholder:"SHARE" help:"A gate with less spare room to one side than this share of the clearance is tight (0.25)."`
	JSON    bool     `name:"json" help:"Answer with one JSON document."`
}

func (conesDriveCommand) Help() string {
	return `Drives the cones course with each turnout: how long the course is and what time is allowed, how each gate is come to, how many centimetres wheels and feet have to spare on both sides, and the smallest change that cures a gate that is touched. Level, firm ground; forward driving only. Exit status 3: something is touched.

Examples:

  terret cones drive examples/plans/cones-ten.yaml --turnout examples/turnouts/pair.yaml

  terret cones drive examples/plans/cones-ten.yaml --turnout examples/turnouts/vse-cart.yaml --turnout examples/turnouts/four-in-hand.yaml

  terret cones drive field.yaml --turnout cob.yaml --course "Cones 2" --json`
}

func (c conesDriveCommand) Run(s *streams) error {
	if !(c.Tight > 0 && c.Tight <= 0.5) {
		return &fault.Fault{Code: fault.Usage, Rule: "tight", Place: "--tight", Message: fmt.Sprintf("%v is no share of the clearance", c.Tight), Hint: "write more than 0 and at most 0.5: in the middle each side has half of it"}
	}
	p, odd, err := plan.Load(c.Plan)
	if err != nil {
		return err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	profile, err := rules.Load(c.Rules)
	if err != nil {
		return err
	}
	q := cones.Question{Plan: p, Course: c.Course, Rules: cones.RulesOf(profile), Tight: c.Tight, Cures: true}
	for _, f := range append(c.Turnout, c.More...) {
		t, odd, err := turnout.Load(f)
		if err != nil {
			return err
		}
		for _, w := range odd {
			s.warn(w.String())
		}
		q.Turnouts = append(q.Turnouts, t)
	}
	a, err := cones.Drive(s.ctx, q)
	if err != nil {
		return err
	}
	if c.JSON {
		err = s.json(a)
	} else {
		writeCones(s.out, a)
	}
	if err == nil && a.Touches() {
		return errNo
	}
	return err
}

// spare writes a room in whole centimetres, rounded down.
func spare(cm *float64) string {
	if cm == nil {
		return "–"
	}
	return strconv.FormatFloat(math.Floor(*cm), 'f', 0, 64)
}

// writeCones writes the answer for a person.
func writeCones(w io.Writer, a *cones.Answer) {
	fmt.Fprintf(w, "%s: %s long as the builder wheels it, the same for everyone (rules: %s)\n\n", a.Course, metres(a.CourseLengthM), a.Rules)
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintf(tab, "turnout\tspeed\ttime allowed\ttime limit\tdrives\tin\tgates\n")
	for _, t := range a.Turnouts {
		fmt.Fprintf(tab, "%s\t%.0f m/min\t%s\t%s\t%s\t%s\t%s\n", t.Turnout, t.SpeedMPerMin, seconds(t.TimeAllowedS), seconds(t.TimeLimitS), metres(t.DrivenM), seconds(t.DrivenS), t.Verdict)
	}
	tab.Flush()
	if len(a.Turnouts) > 1 {
		writeClass(w, a)
	}
	for i := range a.Turnouts {
		writeGates(w, &a.Turnouts[i])
	}
	if len(a.Checks) > 0 {
		fmt.Fprintf(w, "\nThe course itself (nothing is refused for it):\n")
		for i, c := range a.Checks {
			fmt.Fprintf(w, "  %s.\n", capital(c.Says))
			if i+1 == len(a.Checks) || a.Checks[i+1].Hint != c.Hint {
				fmt.Fprintf(w, "    %s (%s).\n", capital(c.Hint), c.Rule)
			}
		}
	}
	fmt.Fprintf(w, "\nLooked at: wheels and feet beside the cones at the ground, every part beside what else stands, least radius to each hand, lock.\n")
	fmt.Fprintf(w, "Not looked at: slope, going, hubs and bodies above the cones, whether horse and driver are ready for it. Forward driving only.\n")
}

// writeClass writes one table for a whole class: rows gates, columns turnouts.
func writeClass(w io.Writer, a *cones.Answer) {
	fmt.Fprintf(w, "\nLeast spare room at each gate, left / right in cm; ! touches, ? tight:\n\n")
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintf(tab, "gate")
	for _, t := range a.Turnouts {
		fmt.Fprintf(tab, "\t%s", t.Turnout)
	}
	fmt.Fprintln(tab)
	for i := range a.Turnouts[0].Gates {
		fmt.Fprintf(tab, "%s", a.Turnouts[0].Gates[i].Gate)
		for j := range a.Turnouts {
			g := &a.Turnouts[j].Gates[i]
			mark := map[string]string{cones.Touches: " !", cones.Tight: " ?"}[g.Verdict]
			fmt.Fprintf(tab, "\t%s / %s%s", spare(g.SpareLeftCM), spare(g.SpareRightCM), mark)
		}
		fmt.Fprintln(tab)
	}
	tab.Flush()
}

// writeGates writes one turnout's drive.
func writeGates(w io.Writer, t *cones.TurnoutRun) {
	fmt.Fprintf(w, "\n%s, gate by gate:\n\n", t.Turnout)
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "gate\tafter\tgap cm\tline\taxles\tspare left cm\tspare right cm\tturn before\t\t\n")
	for _, g := range t.Gates {
		var axles []string
		for _, x := range g.Approach.Axle {
			axles = append(axles, offSquare(x))
		}
		gap, turn := "–", "straight"
		if g.GapCM != nil {
			gap = strconv.FormatFloat(*g.GapCM, 'f', 0, 64)
		}
		if g.RadiusBeforeM != nil && *g.RadiusBeforeM < 100 {
			turn = metres(*g.RadiusBeforeM)
		}
		fmt.Fprintf(tab, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t\n", g.Gate, metres(g.SM), gap, offSquare(g.Approach.Line), strings.Join(axles, " "), spare(g.SpareLeftCM), spare(g.SpareRightCM), turn, g.Verdict)
	}
	tab.Flush()
	fmt.Fprintf(w, "  Line and axles: off square, + to the right. Turn before: the tightest since the gate before.\n")
	for _, g := range t.Gates {
		if g.Why != "" {
			fmt.Fprintf(w, "  %s %s: %s.", g.Gate, g.Verdict, g.Why)
			if g.Cure != nil {
				fmt.Fprintf(w, " Cure: %s.", g.Cure.Says())
			} else if g.Sought {
				fmt.Fprintf(w, " No single change to it or to the gate before was found that cures it.")
			}
			fmt.Fprintln(w)
		}
	}
	if n := unsought(t); n > 0 {
		fmt.Fprintf(w, "  No cure was looked for at %d more that touch: cure the others first.\n", n)
	}
	for _, s := range t.Trouble {
		fmt.Fprintf(w, "  %s.\n", capital(s))
	}
}

// unsought counts the gates that are touched and for which no cure was looked for.
func unsought(t *cones.TurnoutRun) (n int) {
	for _, g := range t.Gates {
		if g.Verdict == cones.Touches && !g.Sought {
			n++
		}
	}
	return n
}

// offSquare writes an angle with its sign, and none for nought.
func offSquare(d float64) string {
	if d = math.Round(d); d == 0 {
		return "0°"
	}
	return fmt.Sprintf("%+.0f°", d)
}

// capital begins a sentence.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}
