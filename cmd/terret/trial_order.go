package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"terret/internal/fault"
	"terret/internal/trial"
	"terret/internal/trial/order"
)

type trialOrderCommand struct {
	File   string `arg:"" help:"File of the trial (terret: trial/1) with its timetable."`
	Now    string `placeholder:"HH:MM" help:"It is this time: starts before it stand, and nobody else starts before it."`
	Afresh bool   `help:"Make the order anew, as if no starts stood in the file."`
	Seed   uint64 `help:"Another number, another order of the same worth."`
	Out    string `placeholder:"FILE" help:"Write the trial with its starts to this file as well."`
	JSON   bool   `name:"json" help:"Answer with one JSON document."`
}

func (trialOrderCommand) Help() string {
	return `Makes the order of go from the file's timetable: who starts when, so that nobody is wanted in two places at once, what is shared has its rest, wishes are kept and the cones are set anew as seldom as possible. Every wish that is not kept is named, and where no order can keep it the answer says why. Exit status 3 when a wish is broken, or no order can be made.

Starts that stand in the file count as told to people: they move only where that mends something. With --now, those before that time have been called and stay.

Examples:

  terret trial order examples/hollowmere-trial.yaml

  terret trial order day.yaml --out day-ordered.yaml

  terret trial order day-ordered.yaml --now 10:40 --json`
}

// orderAnswer is the document of `terret trial order --json`.
type orderAnswer struct {
	Trial string `json:"trial"`
	*order.Plan
	NoneBecause *noOrder `json:"none_because"`
}

// noOrder says why there is no order.
type noOrder struct {
	Place string `json:"place"`
	Text  string `json:"text"`
	Hint  string `json:"hint"`
}

func (c trialOrderCommand) Run(s *streams) error {
	t, _, err := trial.Load(c.File)
	if err != nil {
		return err
	}
	in, err := c.input(t)
	if err != nil {
		return err
	}
	a := orderAnswer{Trial: t.Name}
	a.Plan, err = order.Make(in)
	var no *order.Impossible
	switch {
	case errors.As(err, &no):
		err = nil
		a.Plan = &order.Plan{Lists: []order.List{}, Broken: []order.Broken{}, Cannot: []string{}, Moved: []order.Start{}}
		a.NoneBecause = &noOrder{Place: no.Fault.Place, Text: no.Fault.Message, Hint: no.Fault.Hint}
	case err != nil:
		return err
	case c.Out != "":
		t.Timetable.Starts = a.Starts()
		text, err := trial.Encode(t)
		if err != nil {
			return err
		}
		if err := writeWhole(c.Out, text); err != nil {
			return err
		}
	}
	if c.JSON {
		err = s.json(a)
	} else {
		writeOrder(s.out, t, &a)
	}
	if err == nil && (a.NoneBecause != nil || len(a.Broken) > 0) {
		return errNo
	}
	return err
}

// input is what the order is made from, with what the options say.
func (c trialOrderCommand) input(t *trial.Trial) (order.Input, error) {
	in, err := t.OrderInput()
	if err != nil {
		return in, err
	}
	if c.Seed > 0 {
		in.Seed = c.Seed
	}
	if c.Now != "" {
		now, ok := order.ParseClock(c.Now)
		if !ok {
			return in, &fault.Fault{Code: fault.Usage, Rule: "now", Place: "--now", Message: fmt.Sprintf("%q is no time of day", c.Now), Hint: "write hours and minutes, such as 10:40"}
		}
		in.Now = now
	}
	if c.Afresh {
		return in, nil
	}
	in.Stand(t.Timetable.Starts, func(s order.Start) bool { return s.At < in.Now })
	return in, nil
}

// writeOrder writes the lists for a person.
func writeOrder(w io.Writer, t *trial.Trial, a *orderAnswer) {
	fmt.Fprintf(w, "%s, order of go\n", t.Name)
	if no := a.NoneBecause; no != nil {
		fmt.Fprintf(w, "\nThere is none: %s: %s", no.Place, no.Text)
		if no.Hint != "" {
			fmt.Fprintf(w, "; %s", no.Hint)
		}
		fmt.Fprintln(w)
		return
	}
	entries := map[int]*trial.Entry{}
	for i := range t.Entries {
		entries[t.Entries[i].Number] = &t.Entries[i]
	}
	for _, l := range a.Lists {
		fmt.Fprintf(w, "\n%s\n\n", l.Phase)
		tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
		gaps := false
		for _, s := range l.Slots {
			gaps = gaps || s.GapCM > 0
		}
		for _, s := range l.Slots {
			if s.Entry == 0 {
				fmt.Fprintf(tab, "%s\t\t–\t\t\n", s.At)
				continue
			}
			e := entries[s.Entry]
			fmt.Fprintf(tab, "%s\t%d\t%s\t%s\t%s", s.At, e.Number, e.Driver, strings.Join(e.Horses, ", "), e.Class)
			if gaps && s.GapCM > 0 {
				fmt.Fprintf(tab, "\t%d cm", s.GapCM)
				if s.GapChange != 0 {
					fmt.Fprintf(tab, " (%+d)", s.GapChange)
				}
			}
			if s.Called {
				fmt.Fprint(tab, "\tcalled")
			}
			fmt.Fprintln(tab, "\t")
		}
		tab.Flush()
		if gaps {
			fmt.Fprintf(w, "\nThe cones are set anew %s; at least %d for these gaps.\n", times(l.GapChanges), l.GapChangesLeast)
		}
	}
	if len(a.Broken) == 0 {
		fmt.Fprintf(w, "\nEvery wish is kept.\n")
	} else {
		fmt.Fprintf(w, "\nNot kept:\n")
		for _, b := range a.Broken {
			fmt.Fprintf(w, "  %s\n", b.Says)
		}
	}
	for _, c := range a.Cannot {
		fmt.Fprintf(w, "No order keeps this: %s\n", c)
	}
	if len(a.Moved) > 0 {
		fmt.Fprintf(w, "\nMoved against what was told; tell them:\n")
		for _, m := range a.Moved {
			fmt.Fprintf(w, "  %d %s: %s now starts %s\n", m.Entry, entries[m.Entry].Driver, m.Phase, m.At)
		}
	}
	fmt.Fprintf(w, "\nThe rests are the organiser's to judge: by the horse, the heat and the ground.\n")
}

// times writes how often for a person.
func times(n int) string {
	switch n {
	case 0:
		return "not once"
	case 1:
		return "once"
	}
	return fmt.Sprint(n, " times")
}
