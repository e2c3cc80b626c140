package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"terret/internal/fault"
	"terret/internal/strict"
	"terret/internal/survey"
)

type surveyAdjustCommand struct {
	File  string  `arg:"" help:"File of the tapes (terret: tapes/1), or a table from,to,m,sigma (CSV)."`
	Level float64 `default:"0.05" placeholder:"SHARE" help:"Chance that a tape is called suspect when none is wrong (0.05)."`
	Plan  string  `placeholder:"FILE" help:"For a table: the plan that says where the points and pegs are meant to be."`
	surveyTarget
	JSON bool `name:"json" help:"Answer with one JSON document."`
}

func (surveyAdjustCommand) Help() string {
	return `Takes back what was taped of a built layout: where each point really stands and how sure that is, and which tape is wrong, or that it cannot be told. A table has lengths only: give it the plan it belongs to (pegs are called P and Q, points by their ids); without one the points are placed by the tapes alone, in a frame of their own. Exit status 3: a tape is suspect, or a point has no fix.

Examples:

  terret survey adjust examples/tapes/paddock.yaml

  terret survey adjust checks.csv --plan field.yaml --hazard "Hazard 1" --from 0:0,60:0

  terret survey adjust checks.csv --json`
}

func (c surveyAdjustCommand) Run(s *streams) error {
	if !(c.Level > 0 && c.Level < 1) {
		return &fault.Fault{Code: fault.Usage, Rule: "level", Place: "--level", Message: fmt.Sprintf("%v is no level of a test", c.Level), Hint: "write a share between 0 and 1, such as 0.05"}
	}
	n, alone, err := c.network(s)
	if err != nil {
		return err
	}
	a, err := n.Adjust(c.Level)
	if err != nil {
		return err
	}
	clean, err := n.Snoop(c.Level)
	if err != nil {
		return err
	}
	a.Removed = clean.Removed
	if c.JSON {
		err = s.json(a)
	} else {
		writeAdjustment(s.out, n, a, clean, alone)
	}
	if err == nil && a.No() {
		return errNo
	}
	return err
}

// network reads the tapes, and for a table the places of its points. alone says
// that they come from the tapes themselves.
func (c surveyAdjustCommand) network(s *streams) (n *survey.Network, alone bool, err error) {
	data, err := strict.ReadFile(c.File)
	if err != nil {
		return nil, false, err
	}
	if !survey.IsCSV(c.File, data) {
		if c.Plan != "" {
			return nil, false, &fault.Fault{Code: fault.Usage, Rule: "plan", Place: "--plan", Message: c.File + " says itself where its points are", Hint: "leave --plan out; it is for a table"}
		}
		n, odd, err := survey.Decode(c.File, data)
		for _, w := range odd {
			s.warn(w.String())
		}
		return n, false, err
	}
	l, err := survey.DecodeCSV(c.File, data)
	if err != nil {
		return nil, false, err
	}
	if c.Plan == "" {
		if c.From != "" || c.Hazard != "" || c.Course != "" || c.Arena.set {
			return nil, false, &fault.Fault{Code: fault.Usage, Rule: "plan", Place: "--plan", Message: "pegs and layouts are those of a plan, and none is named", Hint: "name it with --plan FILE"}
		}
		n, err = l.Alone()
		return n, true, err
	}
	q, err := c.question(s, c.Plan)
	if err != nil {
		return nil, false, err
	}
	stakes, err := survey.Stakes(q)
	if err != nil {
		return nil, false, err
	}
	n, err = l.On(stakes.Places())
	return n, false, err
}

// millimetres writes a length that may be unknown.
func millimetres(m *float64) string {
	if m == nil {
		return "–"
	}
	return fixedTo(number(1000**m), 0)
}

func fixedTo(v *float64, digits int) string {
	if v == nil {
		return "–"
	}
	text := strconv.FormatFloat(*v, 'f', digits, 64)
	if strings.Trim(text, "-0.") == "" { // nought has no sign
		text = strings.TrimPrefix(text, "-")
	}
	return text
}

func number(v float64) *float64 { return &v }

// writeAdjustment writes the answer for a person.
func writeAdjustment(w io.Writer, n *survey.Network, a, clean *survey.Adjustment, alone bool) {
	fmt.Fprintf(w, "Tapes: %d. Points: %d. Tapes to spare: %d", len(a.Tapes), len(a.Points), a.SpareTapes)
	if a.S0 != nil {
		fmt.Fprintf(w, "; the tapes scatter %s times what was stated", fixedTo(a.S0, 2))
	}
	fmt.Fprintln(w, ".")
	switch {
	case a.Suspect.Named:
		c := a.Tapes[a.Suspect.Tape]
		much := "long"
		if *c.Likely < 0 {
			much = "short"
		}
		fmt.Fprintf(w, "The tape %s–%s (%s m) is wrong: about %.0f mm too %s. Tape it again.\n", c.From, c.To, twoPlaces(c.M), 1000*math.Abs(*c.Likely), much)
	case a.Suspect.Any:
		var which []string
		for _, t := range a.Suspects {
			which = append(which, t.From+"–"+t.To)
		}
		fmt.Fprintf(w, "A tape is wrong; cannot tell which. Each of these alone would explain it: %s. Tape them again, or add tapes between these points.\n", strings.Join(which, ", "))
		if a.Scatter() {
			fmt.Fprintf(w, "None stands out from the others, though: perhaps all are coarser than the sigma that was stated.\n")
		}
	case a.SpareTapes == 0 && len(a.NoFix) == 0:
		fmt.Fprintf(w, "Nothing checks these tapes: a slip would go unseen. Add a tape to each point.\n")
	default:
		fmt.Fprintf(w, "No tape is suspect.\n")
	}
	if len(a.NoFix) > 0 {
		fmt.Fprintf(w, "No fix for %s: too few tapes, or their arcs lie along each other.\n", strings.Join(a.NoFix, ", "))
	}
	if !a.Settled {
		fmt.Fprintf(w, "The points came to no rest: look for a gross slip in a tape or a start value.\n")
	}
	if len(clean.Removed) > 0 {
		var out []string
		for _, c := range clean.Removed {
			out = append(out, c.From+"–"+c.To)
		}
		rest := "no other is suspect"
		switch {
		case clean.Scatter():
			rest = "no other stands out, but all scatter " + fixedTo(clean.S0, 1) + " times what was stated; the sigma may be too small"
		case clean.Suspect.Any:
			rest = "another is wrong, and it cannot be told which"
		}
		fmt.Fprintf(w, "Without %s: %s.\n", strings.Join(out, ", "), rest)
	}
	points := a
	if len(clean.Removed) > 0 && (!clean.Suspect.Any || clean.Scatter()) {
		points = clean
		fmt.Fprintf(w, "The points below are without it.\n")
	}
	fmt.Fprintln(w)
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "point\tx\ty\tmoved mm\tsx mm\tsy mm\t95 %% ellipse mm\talong\t\n")
	for _, p := range n.Points {
		f := points.Points[p.Name]
		ellipse, along := "–", "–"
		if e := f.Ellipse; e != nil {
			ellipse, along = fmt.Sprintf("%.0f × %.0f", 1000*e.A, 1000*e.B), degrees(e.Bearing)
		}
		fmt.Fprintf(tab, "%s\t%.3f\t%.3f\t%s\t%s\t%s\t%s\t%s\t\n", p.Name, f.X, f.Y, millimetres(f.Moved), millimetres(f.SX), millimetres(f.SY), ellipse, along)
	}
	tab.Flush()
	fmt.Fprintln(w)
	tab = tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "tape\tm\tresidual mm\tredundancy\tw\ttau\tfinds mm\t\t\n")
	for _, c := range a.Tapes {
		note := ""
		if slices.ContainsFunc(a.Suspects, func(t survey.Check) bool { return t.From == c.From && t.To == c.To && t.Likely == c.Likely }) {
			note = "suspect"
		}
		if c.Hardly {
			note = strings.TrimSpace(note + " hardly checked")
		}
		fmt.Fprintf(tab, "%s–%s\t%.3f\t%s\t%.2f\t%s\t%s\t%s\t%s\t\n", c.From, c.To, c.M, millimetres(c.Residual), c.Redundancy, fixedTo(c.W, 1), fixedTo(c.Tau, 2), millimetres(c.Findable), note)
	}
	tab.Flush()
	fmt.Fprintf(w, "\nLimits at level %v over all tapes: |w| %.2f, |tau| %s. Residual: adjusted less taped. Finds: the smallest slip that would show. Level ground, straight tapes.\n", a.Level, a.WLimit, fixedTo(a.TauLimit, 2))
	if alone {
		fmt.Fprintf(w, "No plan was given: places are in a frame of the tapes' own, perhaps mirrored.\n")
	}
}
