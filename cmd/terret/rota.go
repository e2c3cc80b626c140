package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"terret/internal/rota"
	"terret/internal/rota/trialday"
	"terret/internal/trial"
)

type rotaCommand struct {
	File  string `arg:"" help:"File of the jobs (terret: rota/1)."`
	Trial string `placeholder:"FILE" help:"Hold the jobs against this trial's order of go (terret: trial/1): hours that end before the last start, people who drive while they hold a job."`
	JSON  bool   `name:"json" help:"Answer with one JSON document."`
}

func (rotaCommand) Help() string {
	return `Says which jobs are uncovered, first those that stop the day; who is wanted in two places, is not there or has no break; and whom to ask for the seats that are free. Exit status 3 when something that stops the day is uncovered.

Examples:

  terret rota examples/hollowmere-rota.yaml

  terret rota examples/hollowmere-rota.yaml --trial examples/hollowmere-trial.yaml

  terret rota day.yaml --json

  terret sheets job-card examples/hollowmere-rota.yaml --out cards.pdf`
}

func (c rotaCommand) Run(s *streams) error {
	r, err := rota.Load(c.File)
	if err != nil {
		return err
	}
	var day rota.Day
	if c.Trial != "" {
		t, _, err := trial.Load(c.Trial)
		if err != nil {
			return err
		}
		if _, err := t.OrderInput(); err != nil {
			return err // no timetable: nothing to hold them against
		}
		day = trialday.Of(t)
		if !day.Made() {
			s.warn("who goes when is not made yet in " + c.Trial + ": the hours are not held against any starts; `terret trial order` makes them")
		}
	}
	a := r.CheckOn(day)
	if c.JSON {
		err = s.json(a)
	} else {
		writeRota(s.out, a)
	}
	if err == nil && a.Stops() {
		return errNo
	}
	return err
}

// writeRota writes the answer for a person: what is empty first.
func writeRota(w io.Writer, a *rota.Answer) {
	fmt.Fprintf(w, "%s, jobs\n", a.Rota)
	list := func(head string, n int, line func(i int) string) {
		if n == 0 {
			return
		}
		fmt.Fprintf(w, "\n%s\n", head)
		for i := range n {
			fmt.Fprintf(w, "  %s\n", line(i))
		}
	}
	if len(a.Open) == 0 {
		fmt.Fprintf(w, "\nEvery job is covered.\n")
	}
	list("Uncovered:", len(a.Open), func(i int) string { return a.Open[i].Says })
	list("To be settled:", len(a.Trouble), func(i int) string { return a.Trouble[i].Says })
	list("Whom to ask (nobody has been asked):", len(a.Proposal.Turns), func(i int) string {
		t := a.Proposal.Turns[i]
		place := ""
		if t.Place != "" {
			place = " at " + t.Place
		}
		return fmt.Sprintf("%s to %s  %s%s: %s", t.From, t.To, t.Name, place, t.Person)
	})
	list("Nobody for:", len(a.Proposal.Left), func(i int) string { return a.Proposal.Left[i].Says })
	if !a.Proposal.Exact {
		fmt.Fprintln(w, "\nNot every way was tried: another choice may fill more.")
	}
	if len(a.People) > 0 {
		fmt.Fprintf(w, "\nWho holds what:\n")
		tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, h := range a.People {
			if len(h.Turns) == 0 {
				fmt.Fprintf(tab, "  %s\t\tfree\t\n", h.Person)
			}
			for k, t := range h.Turns {
				name := h.Person
				if k > 0 {
					name = ""
				}
				fmt.Fprintf(tab, "  %s\t%s to %s\t%s\t%s\t\n", name, t.From, t.To, t.Name, t.Place)
			}
		}
		tab.Flush()
	}
	if a.Clinic != nil {
		fmt.Fprintf(w, "\nClinic:\n")
		tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, sl := range a.Clinic.Slots {
			fmt.Fprintf(tab, "  %s to %s\t%s\t%s\t\n", sl.From, sl.To, sl.Driver, sl.Turnout)
		}
		tab.Flush()
		for _, l := range a.Clinic.LeftOut {
			fmt.Fprintf(w, "  %s\n", l)
		}
	}
}
