package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"terret/internal/rules"
)

type rulesListCommand struct {
	JSON bool `name:"json" help:"Answer with one JSON document."`
}

func (rulesListCommand) Help() string {
	return `Lists the rule profiles that come with Terret. None is the rule: where your event has a rulebook, that one counts, and a file that extends a profile can say so value by value.

Example:

  terret rules list`
}

// listedProfile is one line of `terret rules list --json`.
type listedProfile struct {
	Name       string   `json:"name"`
	Says       string   `json:"says"`
	Extends    string   `json:"extends"` // "" for a whole one
	Covers     []string `json:"covers"`
	FromMemory int      `json:"from_memory"` // values nobody looked up
}

func (c rulesListCommand) Run(s *streams) error {
	list := []listedProfile{}
	for _, name := range rules.Names() {
		p, err := rules.Load(name)
		if err != nil {
			return err
		}
		list = append(list, listedProfile{p.Name, p.Says, p.Extends, p.Covers, len(p.FromMemory())})
	}
	if c.JSON {
		return s.json(map[string]any{"profiles": list})
	}
	tab := tabwriter.NewWriter(s.out, 0, 0, 3, ' ', 0)
	fmt.Fprintf(tab, "profile\tfor\tvalues from memory\t\n")
	for _, p := range list {
		fmt.Fprintf(tab, "%s\t%s\t%d\t\n", p.Name, strings.Join(p.Covers, ", "), p.FromMemory)
	}
	tab.Flush()
	for _, p := range list {
		fmt.Fprintf(s.out, "\n%s: %s\n", p.Name, p.Says)
	}
	return nil
}
