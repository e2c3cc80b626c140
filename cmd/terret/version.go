package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCommand struct{}

func (versionCommand) Help() string {
	return `Example:

  terret version`
}

func (versionCommand) Run(s *streams) error {
	fmt.Fprintf(s.out, "terret %s (%s, %s/%s)\n", edition(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return nil
}

// edition is the module's version, or the revision it was built from.
func edition() string {
	b, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown edition"
	}
	if v := b.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	revision, changed := "", ""
	for _, set := range b.Settings {
		switch set.Key {
		case "vcs.revision":
			revision = set.Value[:min(12, len(set.Value))]
		case "vcs.modified":
			if set.Value == "true" {
				changed = ", changed since"
			}
		}
	}
	if revision == "" {
		return "development edition"
	}
	return "development edition " + revision + changed
}
