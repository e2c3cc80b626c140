package ground

import (
	"fmt"
	"maps"
	"net/http"
	"slices"

	"terret/internal/cones"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/web/book"
)

// keptPage says what follows from a plan that was accepted as built: which sheets
// are stale, and what a course's length and time allowed are now.
type keptPage struct {
	book.Frame
	plan.Saved
	Before  plan.Saved
	Stale   []plan.Saved // versions whose sheets are out of date, the last first
	Courses []courseChange
	SetOut  string // address of the new list
}

// courseChange is a course's length before and after.
type courseChange struct {
	Name        string
	Was, Is     float64 // m
	Times       []courseTime
	Rules, Note string
}

// courseTime is the time allowed at one of the course's speeds.
type courseTime struct {
	Class    string
	MPerMin  float64
	Was, Now float64 // s
}

// asBuiltKept is GET /ground/{id}/as-built/kept?version=N.
func (s *server) asBuiltKept(w http.ResponseWriter, r *http.Request) error {
	saved, _, err := s.planAsked(r)
	if err != nil {
		return err
	}
	v := keptPage{Frame: s.Frame("ground", "Kept as built: "+saved.Name), Saved: saved}
	all, err := s.store.PlanVersions(r.Context(), saved.ID)
	if err != nil {
		return err
	}
	for _, old := range all {
		if old.Version < saved.Version {
			v.Stale = append(v.Stale, old)
		}
	}
	a := stakesAskedBy(r.URL.Query())
	v.SetOut = a.Address(saved.ID, saved.Version, "setting-out")
	if len(v.Stale) > 0 {
		if v.Before, err = s.store.Plan(r.Context(), saved.ID, v.Stale[0].Version); err != nil {
			return err
		}
		done, err := s.Place(r.Context())
		if err != nil {
			return err
		}
		defer done()
		if v.Courses, err = courseChanges(v.Before.Plan, saved.Plan); err != nil {
			return err
		}
	}
	return s.Render(w, http.StatusOK, "survey_kept", v)
}

// courseChanges measures the courses of two versions that differ.
func courseChanges(before, now *plan.Plan) ([]courseChange, error) {
	profile, err := rules.Load("")
	if err != nil {
		return nil, err
	}
	r := cones.RulesOf(profile)
	var out []courseChange
	for i := range now.Courses {
		c := &now.Courses[i]
		k := slices.IndexFunc(before.Courses, func(b plan.Course) bool { return b.Name == c.Name })
		if k < 0 || len(c.Gates) == 0 {
			continue
		}
		ch := courseChange{Name: c.Name, Was: cones.Measure(before, &before.Courses[k]).Length, Is: cones.Measure(now, c).Length, Rules: r.Name}
		for _, class := range slices.Sorted(maps.Keys(c.SpeedMPerMin)) {
			if speed := c.SpeedMPerMin[class]; speed > 0 {
				ch.Times = append(ch.Times, courseTime{class, speed, r.TimeAllowed(ch.Was, speed), r.TimeAllowed(ch.Is, speed)})
			}
		}
		if ch.Note = "the length is as it was"; fmt.Sprintf("%.1f", ch.Was) != fmt.Sprintf("%.1f", ch.Is) {
			ch.Note = fmt.Sprintf("%+.1f m", ch.Is-ch.Was)
		}
		out = append(out, ch)
	}
	return out, nil
}
