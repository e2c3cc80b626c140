package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"terret/internal/rules"
	"terret/internal/trial"
)

type trialScoreCommand struct {
	File    string `arg:"" help:"File of the trial (terret: trial/1)."`
	Working bool   `help:"Write every number's arithmetic, line by line."`
	JSON    bool   `name:"json" help:"Answer with one JSON document."`
}

func (trialScoreCommand) Help() string {
	return `Scores a trial under the rule profile it names: totals, places, ties with the rule that broke them, and which sheets are missing. Exit status 0 whatever the placings; a sheet that cannot be right is named with its line (exit status 2).

Examples:

  terret trial score examples/trials/hollowmere.yaml

  terret trial score examples/trials/hollowmere.yaml --working

  terret trial score day.yaml --json`
}

func (c trialScoreCommand) Run(s *streams) error {
	t, p, err := trial.Load(c.File)
	if err != nil {
		return err
	}
	a, err := trial.Score(t, p)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(a)
	}
	writeScores(s.out, t, p, a, c.Working)
	return nil
}

// dash writes what may not be there.
func dash(s *string) string {
	if s == nil {
		return "–"
	}
	return *s
}

// writeScores writes the placings for a person, class by class.
func writeScores(w io.Writer, t *trial.Trial, p *rules.Profile, a *trial.Answer, working bool) {
	fmt.Fprintf(w, "%s, by the profile %s, counted in %s\n", a.Trial, a.Rules, a.CountedIn)
	for _, c := range t.Classes {
		name := c.ID
		if c.Name != "" {
			name += ", " + c.Name
		}
		fmt.Fprintf(w, "\n%s\n\n", name)
		tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
		fmt.Fprintf(tab, "place\tno.\tdriver\t%s\ttotal\t\t\n", strings.Join(c.Phases, "\t"))
		for _, e := range a.Entries {
			if e.Class != c.ID {
				continue
			}
			place := "–"
			if e.Place != nil {
				place = strconv.Itoa(*e.Place)
			}
			fmt.Fprintf(tab, "%s\t%d\t%s", place, e.Number, e.Driver)
			for _, phase := range c.Phases {
				ps := e.Phases[phase]
				if ps.Eliminated != "" && ps.Penalties == nil {
					fmt.Fprint(tab, "\tE")
				} else {
					fmt.Fprintf(tab, "\t%s", dash(ps.Penalties))
				}
			}
			said := e.Why
			if e.Status != trial.Placed {
				said = strings.TrimSuffix(e.Status+": "+said, ": ")
			}
			if e.Tie != nil {
				said = strings.TrimPrefix(said+"; "+*e.Tie, "; ")
			}
			fmt.Fprintf(tab, "\t%s\t%s\t\n", dash(e.Total), said)
		}
		tab.Flush()
	}
	if len(a.Teams) > 0 {
		fmt.Fprintf(w, "\nTeams\n\n")
		for _, team := range a.Teams {
			place := "–"
			if team.Place != nil {
				place = strconv.Itoa(*team.Place)
			}
			fmt.Fprintf(w, "%s  %s  %s  %s\n", place, team.Name, dash(team.Total), team.Why)
		}
	}
	if len(a.Missing) > 0 {
		fmt.Fprintln(w)
		for _, tally := range a.Sheets {
			if len(tally.Missing) > 0 {
				fmt.Fprintf(w, "%s, %s: %d of %d sheets in; missing: %s\n", tally.Class, tally.Phase, tally.In, tally.Of, strings.Trim(strings.Join(strings.Fields(fmt.Sprint(tally.Missing)), ", "), "[]"))
			}
		}
	}
	if working {
		writeWorking(w, t, a)
	}
	for _, r := range a.Remarks {
		fmt.Fprintf(w, "\nLook at this: %s\n", r)
	}
	if len(a.FromMemory) > 0 {
		fmt.Fprintf(w, "\nThese rules count here and were never looked up; check them: %s.\n", strings.Join(a.FromMemory, ", "))
	}
	fmt.Fprintf(w, "\nWhere your event has a rulebook, that one counts.\n")
}

// writeWorking writes the lines behind every number.
func writeWorking(w io.Writer, t *trial.Trial, a *trial.Answer) {
	for _, c := range t.Classes {
		for _, e := range a.Entries {
			if e.Class != c.ID {
				continue
			}
			fmt.Fprintf(w, "\n%d %s\n", e.Number, e.Driver)
			for _, phase := range c.Phases {
				ps := e.Phases[phase]
				for _, line := range ps.Lines {
					fmt.Fprintf(w, "  %-9s %s\n", phase, line)
				}
				if ps.Penalties != nil {
					fmt.Fprintf(w, "  %-9s = %s\n", phase, *ps.Penalties)
				}
			}
			for name, ps := range e.Sums {
				fmt.Fprintf(w, "  %-9s %s\n", name, strings.Join(ps.Lines, "; "))
			}
			if e.Total != nil {
				fmt.Fprintf(w, "  total     %s\n", *e.Total)
			}
		}
	}
}
