package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"terret/internal/fault"
	"terret/internal/gates"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

type hazardRoutesCommand struct {
	Plan    string `arg:"" help:"File of the plan (terret: plan/1)."`
	Turnout string `required:"" placeholder:"FILE" help:"File of the turnout (terret: turnout/1)."`
	Hazard  string `placeholder:"NAME" help:"Which hazard; may be left out where there is one."`
	Through string `placeholder:"LETTER" help:"Last letter in play; later letters are not in play. The last there is."`
	For     string `placeholder:"CLASS" help:"Class, for gates that are only for some."`
	Pace    string `placeholder:"NAME" help:"One of the turnout's paces, such as 'slow trot'; its own otherwise."`
	Most    int    `default:"10" placeholder:"N" help:"Show at most N ways (10)."`
	JSON    bool   `name:"json" help:"Answer with one JSON document."`
}

func (hazardRoutesCommand) Help() string {
	return `Works out every different way the turnout may legally drive through the hazard, quickest first, with its time, length, turns and least clearance. Plans forward driving only, on level, firm ground. Exit status 3: no way was found, and why.

Examples:

  terret hazard routes examples/plans/meadow-trees.yaml --turnout examples/turnouts/pair.yaml

  terret hazard routes examples/plans/boxes-3m.yaml --turnout examples/turnouts/vse-cart.yaml --through C --pace walk

  terret hazard routes field.yaml --turnout cob.yaml --hazard "Hazard 2" --most 3 --json`
}

func (c hazardRoutesCommand) Run(s *streams) error {
	if c.Most < 1 {
		return &fault.Fault{Code: fault.Usage, Rule: "most", Place: "--most", Message: fmt.Sprintf("%d ways cannot be shown", c.Most), Hint: "ask for 1 or more"}
	}
	p, odd, err := plan.Load(c.Plan)
	if err != nil {
		return err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	t, odd, err := turnout.Load(c.Turnout)
	if err != nil {
		return err
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	if t, err = t.WithPace(c.Pace); err != nil {
		return err
	}
	if letter, ok := gates.Gate(c.Through); ok {
		c.Through = letter // b means B, as it does to the judge
	}
	q := hazard.Question{Plan: p, Hazard: c.Hazard, Turnout: t, Through: c.Through, For: c.For, Most: c.Most, Progress: s.progress("planning")}
	a, err := hazard.Routes(s.ctx, q)
	if err != nil {
		return err
	}
	q.Progress = s.progress("planning with what is guessed")
	best := 0.0
	if len(a.Routes) > 0 {
		best = a.Routes[0].TimeS
	}
	if a.Doubts, err = hazard.Doubts(s.ctx, q, best, hazard.Routes); err != nil {
		return err
	}
	if c.JSON {
		err = s.json(a)
	} else {
		writeRoutes(s.out, a, t)
	}
	if err == nil && len(a.Routes) == 0 {
		return errNo
	}
	return err
}

// writeRoutes writes the answer for a person.
func writeRoutes(w io.Writer, a *hazard.Answer, t *turnout.Turnout) {
	fmt.Fprintf(w, "%s, gates to %s\n%s, at most %.1f m/s, %s asked beside every part\n\n", a.Hazard, a.Through, a.Turnout, t.Pace.Speed, centimetres(t.Margin))
	if len(a.Routes) == 0 {
		why := "no reason was found"
		if a.NoneBecause != nil {
			why = a.NoneBecause.Text
		}
		fmt.Fprintf(w, "No way. %s\n\n", why)
		writeLooked(w, t, a.Doubts)
		return
	}
	// A tabwriter counts runes, so that the columns stand under one another.
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "rank\ttime\tlength\troom\tleft\tright\t\n")
	for _, r := range a.Routes {
		fmt.Fprintf(tab, "%d\t%s\t%s\t%s\t%s\t%s\t\n", r.Rank, seconds(r.TimeS), metres(r.LengthM), centimetres(r.ClearanceM), degrees(r.TurnedLeftDeg), degrees(r.TurnedRightDeg))
	}
	tab.Flush()
	fmt.Fprintln(w)
	for _, r := range a.Routes {
		fmt.Fprintf(w, "%d. %s\n", r.Rank, r.Says)
		for i, p := range r.Tight {
			word := "   tightest:"
			if i > 0 {
				word = "   then:    "
			}
			fmt.Fprintf(w, "%s %s, %s beside %s, %s into the drive\n", word, centimetres(p.ClearanceM), p.Part, p.Thing, metres(p.SM))
		}
	}
	if a.Dropped > 0 {
		fmt.Fprintf(w, "\n%d more were found, and are too slow or too like these to show.\n", a.Dropped)
	}
	writeTurns(w, &a.Routes[0])
	fmt.Fprintln(w)
	writeLooked(w, t, a.Doubts)
}

// writeTurns says where the best way's seconds go.
func writeTurns(w io.Writer, r *hazard.Route) {
	if len(r.Turns) == 0 {
		return
	}
	fmt.Fprintf(w, "\nTurns of the quickest, with the seconds each loses against the same metres at full pace:\n\n")
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintf(tab, "   between\tto the\tturned\tleast radius\tlost\n")
	for _, t := range r.Turns {
		fmt.Fprintf(tab, "   %s\t%s\t%s\t%s\t%s\n", t.Between, t.Hand, degrees(t.Deg), metres(t.LeastRadiusM), seconds(t.LostS))
	}
	tab.Flush()
}

// writeLooked says what the answer rests on, what guesses leave open, and what it
// does not know.
func writeLooked(w io.Writer, t *turnout.Turnout, doubts []hazard.Doubt) {
	looked := []string{"the order and side of the gates", "room beside horses, shafts, body and hubs", "least radius to each hand", "the turntable's lock", "side force and change of speed"}
	if t.HasLeaders() {
		looked[1] = "room beside leaders, wheel horses, shafts, body and hubs"
	}
	if t.Vehicle.CGHeight > 0 {
		looked = append(looked, "the margin against turning over on the level")
	}
	for _, d := range doubts {
		fmt.Fprintln(w, d.Says)
	}
	fmt.Fprintf(w, "Looked at: %s.\n", strings.Join(looked, ", "))
	fmt.Fprintf(w, "Not looked at: slope, going, anything that is not in the plan, whether horse and driver are ready for it. Forward driving only.\n")
	if t.Vehicle.CGHeight == 0 {
		fmt.Fprintf(w, "The turnout's file gives no cg_height: nothing is said about turning over.\n")
	}
}
