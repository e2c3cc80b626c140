package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"terret/internal/rules"
)

type rulesCheckCommand struct {
	File string `arg:"" help:"File of a profile (terret: rules/1)."`
	JSON bool   `name:"json" help:"Answer with one JSON document."`
}

func (rulesCheckCommand) Help() string {
	return `Reads a profile of your own and says what it changes. A value that is missing, misspelt or contradicts another is named with its line (exit status 2).

Example:

  terret rules check examples/rules/our-club.yaml`
}

// changedValue is a value a profile says otherwise than the one it extends.
type changedValue struct {
	Key string `json:"key"`
	Was string `json:"was"` // "" where the other says nothing
	Is  string `json:"is"`
}

func (c rulesCheckCommand) Run(s *streams) error {
	p, err := rules.Load(fileOnly(c.File))
	if err != nil {
		return err
	}
	changed := []changedValue{}
	if p.Extends != "" {
		base, err := rules.Load(p.Extends)
		if err != nil {
			return err
		}
		for _, k := range slices.Sorted(maps.Keys(p.Values)) {
			if was := base.Values[k]; p.Values[k].Profile == p.Name && was.Value != p.Values[k].Value {
				changed = append(changed, changedValue{k, was.Value, p.Values[k].Value})
			}
		}
	}
	memory := p.FromMemory()
	if c.JSON {
		return s.json(map[string]any{"profile": p.Name, "extends": p.Extends, "covers": p.Covers, "changed": changed, "from_memory": slices.Concat([]string{}, memory)})
	}
	fmt.Fprintf(s.out, "%s can be read. It is for %s.\n", p.Name, strings.Join(p.Covers, ", "))
	if p.Extends != "" {
		fmt.Fprintf(s.out, "It changes %d values of %s:\n", len(changed), p.Extends)
	}
	for _, v := range changed {
		was := v.Was
		if was == "" {
			was = "nothing"
		}
		fmt.Fprintf(s.out, "  %s: %s, was %s\n", v.Key, v.Is, was)
	}
	if len(memory) > 0 {
		fmt.Fprintf(s.out, "Not looked up, check before you rely on it: %s.\n", strings.Join(memory, ", "))
	}
	return nil
}

// fileOnly makes a bare file name a path, for profiles with names are found
// first by name.
func fileOnly(name string) string {
	if strings.ContainsAny(name, `./\`) || slices.Contains(rules.Names(), name) {
		return name
	}
	return "./" + name
}
