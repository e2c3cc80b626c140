package main

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"terret/internal/rules"
)

type rulesShowCommand struct {
	Profile string `arg:"" optional:"" help:"Profile, by its name or as a file (three-phase)."`
	JSON    bool   `name:"json" help:"Answer with one JSON document: every value under its key."`
}

func (rulesShowCommand) Help() string {
	return `Prints every value of a rule profile: what it is, where it is from, and how sure that is. A value marked "from memory" was not looked up; check it before you rely on it.

Examples:

  terret rules show three-phase

  terret rules show ./club.yaml

  terret rules show indoor --json`
}

func (c rulesShowCommand) Run(s *streams) error {
	p, err := rules.Load(c.Profile)
	if err != nil {
		return err
	}
	if c.JSON {
		return s.json(p.Values)
	}
	writeProfile(s.out, p)
	return nil
}

// writeProfile writes the table for a person: what the profile covers first.
func writeProfile(w io.Writer, p *rules.Profile) {
	fmt.Fprintf(w, "%s: %s\n", p.Name, p.Says)
	if p.Extends != "" {
		fmt.Fprintf(w, "It extends %s; a value that it does not say itself is marked with the profile it is from.\n", p.Extends)
	}
	fmt.Fprintf(w, "For: %s.\n", strings.Join(p.Covers, ", "))
	table := rules.KeyTable()
	group := ""
	for _, k := range slices.Sorted(maps.Keys(p.Values)) {
		if phase := rules.PhaseOf(k); phase != "" && !p.CoversPhase(phase) {
			continue
		}
		if g, _, _ := strings.Cut(k, "."); g != group {
			group = g
			fmt.Fprintln(w)
		}
		v := p.Values[k]
		from := v.Source
		if v.Edition != "" && v.Edition != "none" && v.Edition != "not known" {
			from += " (" + v.Edition + ")"
		}
		if v.Profile != p.Name {
			from += " [" + v.Profile + "]"
		}
		line := fmt.Sprintf("%-34s %s %s", k, v.Value, v.Unit)
		if v.Confidence != rules.Read {
			line = fmt.Sprintf("%-64s %s", strings.TrimSpace(line), strings.ToUpper(string(v.Confidence)))
		}
		fmt.Fprintf(w, "%s\n    %s: %s\n", strings.TrimSpace(line), table[k].Says, from)
	}
	if memory := p.FromMemory(); len(memory) > 0 {
		fmt.Fprintf(w, "\nNot looked up, check before you rely on it (FROM MEMORY): %s.\n", strings.Join(memory, ", "))
	}
	fmt.Fprintf(w, "\nWhere your event has a rulebook, that one counts.\n")
}
