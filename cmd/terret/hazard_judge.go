package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"terret/internal/fault"
	"terret/internal/gates"
	"terret/internal/rules"
)

type hazardJudgeCommand struct {
	Drive   string `arg:"" help:"The gates in the order driven, in quotes: letters, in, out; < behind one that was driven backwards."`
	Through string `placeholder:"LETTER" help:"Last letter in play; later ones are not in play. The latest letter driven otherwise."`
	Rules   string `default:"three-phase" placeholder:"PROFILE" help:"Rule profile (three-phase), or the file of one."`
	JSON    bool   `name:"json" help:"Answer with one JSON document."`
}

func (hazardJudgeCommand) Help() string {
	return `Rules on a drive through a hazard, gate by gate, with the reason in words. In first and Out last are understood when they are not written. Exit status 3: eliminated.

What counts as an error, and what it costs, is a value of the rule profile. At an event the judge and that event's rulebook decide.

Examples:

  terret hazard judge "A B C D E"

  terret hazard judge "A C B C D E"

  terret hazard judge "in A B C< C D out" --through D --json`
}

func (c hazardJudgeCommand) Run(s *streams) error {
	passes, err := gates.Parse(c.Drive)
	if err != nil {
		return err
	}
	if len(passes) == 0 {
		return &fault.Fault{Code: fault.Usage, Rule: "drive-empty", Place: "drive", Message: "no gate is named", Hint: `write the gates in the order driven, such as "A B C"`}
	}
	through := gates.LastLetter(passes)
	if c.Through != "" {
		letter, ok := gates.Gate(c.Through)
		if !ok || len(letter) != 1 {
			return &fault.Fault{Code: fault.Usage, Rule: "through", Place: "--through", Message: fmt.Sprintf("%q is no letter", c.Through), Hint: "write one letter A to Z"}
		}
		through = letter
	} else if through == "" {
		return &fault.Fault{Code: fault.Usage, Rule: "through", Place: "--through", Message: "the drive names no letter, so nobody can tell which were in play", Hint: "say the last one with --through"}
	}
	p, err := rules.Load(c.Rules)
	if err != nil {
		return err
	}
	if c.Through == "" {
		s.warn("taken as a drive through " + through + ", the latest letter driven; --through says otherwise")
	}
	v := gates.Judge(passes, gates.Letters(through), gates.RulesOf(p))
	if c.JSON {
		err = s.json(v)
	} else {
		writeVerdict(s.out, v)
	}
	if err == nil && v.Verdict == gates.Eliminated {
		return errNo
	}
	return err
}

// writeVerdict writes the answer for a person.
func writeVerdict(w io.Writer, v gates.Verdict) {
	fmt.Fprintf(w, "%s\n\n", v.Why)
	tab := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for i, step := range v.Steps {
		gate := step.Gate
		if step.Backwards {
			gate += " backwards"
		}
		fmt.Fprintf(tab, "%3d\t%s\t%s\t%s\n", i+1, gate, step.Ruled, step.Why)
	}
	tab.Flush()
	fmt.Fprintf(w, "\nGates to %s, by the profile %s. Where your event has a rulebook, that one counts.\n", v.Through, v.Rules)
}
