package web

import (
	"context"
	"fmt"
	"io/fs"
	"path"
	"strings"
	"time"

	"terret/internal/plan"
	"terret/internal/turnout"
)

// DemoPlan is the id of the plan that the demo opens with, for Config.Demo.
const DemoPlan = "hollowmere-orchard"

// SeedDemo puts the plans and turnouts of files (plans/*.yaml, turnouts/*.yaml)
// into an empty store. A store that holds a plan already is left as it is, and
// seeded is false: nobody's work is mixed with the invented.
func SeedDemo(ctx context.Context, s PlanStore, files fs.FS, now time.Time) (seeded bool, err error) {
	have, err := s.Plans(ctx)
	if err != nil || len(have) > 0 {
		return false, err
	}
	err = each(files, "turnouts", func(id string, doc []byte) error {
		t, _, err := turnout.Decode(id, doc)
		if err != nil {
			return err
		}
		_, err = s.SaveTurnout(ctx, id, 0, t.Name, doc, now)
		return err
	})
	if err != nil {
		return false, err
	}
	// The demo plan is kept last, so that it stands first in the list.
	err = each(files, "plans", func(id string, doc []byte) error {
		p, _, err := plan.Decode(id, doc)
		if err != nil {
			return err
		}
		at := now
		if id != DemoPlan {
			at = now.Add(-time.Minute)
		}
		_, err = s.SavePlan(ctx, id, 0, p, "invented, for trying out", at)
		return err
	})
	return err == nil, err
}

// each calls f with every file of a folder, by name; id is the name without its
// ending.
func each(files fs.FS, folder string, f func(id string, doc []byte) error) error {
	names, err := fs.Glob(files, folder+"/*.yaml")
	if err != nil {
		return err
	}
	if len(names) == 0 {
		return fmt.Errorf("the demo holds no %s", folder)
	}
	for _, name := range names {
		doc, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		if err := f(strings.TrimSuffix(path.Base(name), ".yaml"), doc); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return nil
}
