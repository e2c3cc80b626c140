package main

import (
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/alecthomas/kong"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
)

// surveyTarget is what of a plan is set out, as both survey commands ask it.
type surveyTarget struct {
	Hazard string    `placeholder:"NAME" help:"Which hazard; may be left out where the plan has one layout."`
	Course string    `placeholder:"NAME" help:"Which cones course."`
	Arena  arenaFlag `help:"The dressage arena with its letters; its size may be named."`
	From   string    `placeholder:"P,Q" help:"The two pegs, as x:y,x:y in the plan's frame, or ids of things of the plan. Without it pegs are proposed."`
	Tape   float64   `default:"50" placeholder:"M" help:"Length of the tape in metres (50)."`
	Track  float64   `default:"0" placeholder:"CM" help:"Track of the turnout the cones are set for, where the gap goes by it (140)."`
}

// arenaFlag may stand alone or with a size: --arena, --arena 40x80.
type arenaFlag struct {
	set  bool
	size string
}

var arenaSize = regexp.MustCompile(`^[0-9.]+ *[x×] *[0-9.]+$`)

// IsBool lets the option stand alone.
func (arenaFlag) IsBool() bool { return true }

// Decode takes a size that follows, and leaves anything else where it is.
func (a *arenaFlag) Decode(ctx *kong.DecodeContext) error {
	a.set = true
	next := ctx.Scan.Peek()
	text, isText := next.Value.(string)
	if next.Type == kong.FlagValueToken || isText && arenaSize.MatchString(text) {
		ctx.Scan.Pop()
		a.size = text
	}
	return nil
}

// of checks that a plan has the arena that is meant.
func (a arenaFlag) of(p *plan.Plan) error {
	plain := func(size string) string { return strings.ToLower(strings.ReplaceAll(size, "×", "x")) }
	switch {
	case p.Arena == nil:
		return &fault.Fault{Code: fault.NotFound, Rule: "arena-name", Place: "--arena", Message: "the plan has no arena", Hint: "write `arena: {size: 40x80, at: [x, y], bearing: …}` into the plan"}
	case a.size != "" && plain(a.size) != plain(p.Arena.Size):
		return &fault.Fault{Code: fault.NotFound, Rule: "arena-name", Place: "--arena", Message: fmt.Sprintf("the plan has no arena %q", a.size), Hint: "it has " + p.Arena.Size}
	}
	return nil
}

// question reads the plan and what is asked of it.
func (t surveyTarget) question(s *streams, file string) (survey.Question, error) {
	p, odd, err := plan.Load(file)
	if err != nil {
		return survey.Question{}, err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	if t.Arena.set {
		if err := t.Arena.of(p); err != nil {
			return survey.Question{}, err
		}
	}
	q := survey.Question{Plan: p, Tape: t.Tape, Target: survey.Target{Hazard: t.Hazard, Course: t.Course, Arena: t.Arena.set, Track: t.Track / 100}}
	if t.From != "" {
		q.From, err = pegPlaces(p, t.From)
	}
	return q, err
}

// pegPlaces reads x:y,x:y; an id of a thing that stands on one spot is a place
// too.
func pegPlaces(p *plan.Plan, text string) ([]geom.Vec, error) {
	out := []geom.Vec{}
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		if xs, ys, ok := strings.Cut(part, ":"); ok {
			x, err1 := strconv.ParseFloat(strings.TrimSpace(xs), 64)
			y, err2 := strconv.ParseFloat(strings.TrimSpace(ys), 64)
			if err1 == nil && err2 == nil && !math.IsNaN(x+y) {
				out = append(out, geom.Vec{X: x, Y: y})
				continue
			}
		}
		i := slices.IndexFunc(p.Things, func(t plan.Thing) bool { return t.ID == part && len(t.Path) == 0 && len(t.Outline) == 0 })
		if i < 0 {
			return nil, &fault.Fault{Code: fault.Usage, Rule: "pegs", Place: "--from", Message: fmt.Sprintf("%q is no peg", part), Hint: "write x:y in metres, such as --from 0:0,40:0, or ids of posts or trees of the plan"}
		}
		out = append(out, p.Things[i].At)
	}
	return out, nil
}

type surveyStakesCommand struct {
	Plan string `arg:"" help:"File of the plan (terret: plan/1)."`
	surveyTarget
	JSON bool `name:"json" help:"Answer with one JSON document."`
}

func (surveyStakesCommand) Help() string {
	return `Gives what two people with one tape need to set a layout out: two pegs (named by you, or the best pair proposed with the reason), and for every cone, marker and post both tapes, baseline and offset, a check to a point set before, in working order. Marked weak: arcs that cross flatter than 30°. Level ground. Exit status 3: a point has no fix over 20°.

Examples:

  terret survey stakes examples/plans/cones-ten.yaml

  terret survey stakes field.yaml --hazard "Hazard 1" --from 0:0,60:0 --json

  terret survey stakes field.yaml --arena`
}

func (c surveyStakesCommand) Run(s *streams) error {
	q, err := c.question(s, c.Plan)
	if err != nil {
		return err
	}
	l, err := survey.Stakes(q)
	if err != nil {
		return err
	}
	if c.JSON {
		err = s.json(l)
	} else {
		writeStakes(s.out, l)
	}
	if err == nil && l.No() {
		return errNo
	}
	return err
}

func twoPlaces(m float64) string { return strconv.FormatFloat(m, 'f', 2, 64) }

// writeStakes writes the list for a person.
func writeStakes(w io.Writer, l *survey.StakeList) {
	fmt.Fprintf(w, "%s: %d points to set with a %.0f m tape\n\n", l.What, len(l.Stakes), l.Tape)
	for _, p := range l.Pegs {
		fmt.Fprintf(w, "  Peg %s\n", p.Says())
	}
	fmt.Fprintf(w, "  From P to Q: %s m. Left and right are as you look from P to Q.\n", twoPlaces(l.Baseline))
	if l.Track != nil {
		fmt.Fprintf(w, "  Cones stand for a track of %.0f cm; the gap of each turnout is set evenly about the middle of the pair.\n", *l.Track)
	}
	if a := l.Arena; a != nil {
		fmt.Fprintf(w, "  Both diagonals: %s m, within %s of each other.", twoPlaces(a.Diagonal), centimetres(a.Allowed))
		if a.Square[0] > 0 {
			fmt.Fprintf(w, " A square corner: %.0f m along the short side, %.0f m along the long side, %.0f m across.", a.Square[0], a.Square[1], a.Square[2])
		}
		fmt.Fprintf(w, "\n  Letters from the A end: ")
		var along []string
		for _, s := range a.Letters {
			if s.Side == "left" || s.Side == "right" {
				along = append(along, fmt.Sprintf("%s %s", s.Letter, twoPlaces(s.Along)))
			}
		}
		fmt.Fprintf(w, "%s m (%s).\n", strings.Join(along, ", "), a.Source)
	}
	fmt.Fprintln(w)
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintf(tab, "no\tpoint\twhat\tfrom P\tfrom Q\talong P–Q\tsquare off\tarcs cross\tcheck\tsecond check\t\n")
	for _, s := range l.Stakes {
		note := ""
		switch {
		case s.Fix() < 20:
			note = "NO FIX: arcs too flat"
		case s.Instead != nil:
			var from []string
			for _, name := range slices.Sorted(maps.Keys(s.Instead.Tapes)) {
				from = append(from, name+" "+twoPlaces(s.Instead.Tapes[name]))
			}
			note = fmt.Sprintf("better: %s (%s)", strings.Join(from, ", "), degrees(s.Instead.Cross))
		case s.Weak:
			note = "weak: tape it with care, use the check"
		case s.Beyond:
			note = "longer than the tape: chain it in line"
		}
		side := s.Side
		if side == "on" {
			side = "on the line"
		}
		check := func(c *survey.StakeCheck) string {
			if c == nil {
				return "–"
			}
			return c.To + " " + twoPlaces(c.M)
		}
		name := strings.Join(append([]string{s.ID}, s.Also...), " = ")
		fmt.Fprintf(tab, "%d\t%s\t%s\t%s\t%s\t%s\t%s %s\t%s\t%s\t%s\t%s\n", s.Order, name, s.What, twoPlaces(s.Tapes["P"]), twoPlaces(s.Tapes["Q"]), twoPlaces(s.Along), twoPlaces(s.Offset), side, degrees(s.Cross), check(s.Check), check(s.Second), note)
	}
	tab.Flush()
	fmt.Fprintf(w, "\nOne holds the tape at the first peg while the other scratches an arc at every point, against this order; then from the second peg, in this order, each point is set where the arcs cross; last walk it together and tape the checks: one shows a slip, two show which tape it is in. %s from point to point, once.\n", metres(l.Walk))
	fmt.Fprintf(w, "Not looked at: slope, sag of the tape, pipes and cables under posts, what stands between.\n")
}
