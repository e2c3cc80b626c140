package sheet

import (
	"fmt"
	"slices"
	"strings"

	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/trial"
)

// obstacleBoxes is how many numbers a cones sheet has where the course is not known: the
// most a course may have by the usual books.
const obstacleBoxes = 20

// planCourse is the course of the grounds that a trial's course is: the only one of the
// same name or, as one course is often entered once for each class, of a name that
// the trial's begins with; of one ground, the only one there is.
func (in *DayInput) planCourse(c *trial.Course) *plan.Course {
	var same, begins, all []*plan.Course
	for _, p := range in.Plans {
		for i := range p.Courses {
			pc := &p.Courses[i]
			all = append(all, pc)
			switch {
			case pc.Name == c.ID || c.Name != "" && pc.Name == c.Name:
				same = append(same, pc)
			case strings.HasPrefix(c.ID, pc.Name+" ") || strings.HasPrefix(c.Name, pc.Name+" "):
				begins = append(begins, pc)
			}
		}
	}
	if len(in.Plans) > 1 {
		all = nil
	}
	for _, found := range [][]*plan.Course{same, begins, all} {
		if len(found) == 1 {
			return found[0]
		}
		if len(found) > 1 {
			return nil // which of them nobody says
		}
	}
	return nil
}

// obstacles are the names of the boxes: the course's own, else 1 to 20 and some empty
// ones for the parts of multiples.
func (in *DayInput) obstacles(c *trial.Course, knocked []string) []string {
	var names []string
	if pc := in.planCourse(c); pc != nil {
		for _, g := range inOrder(pc) {
			names = append(names, g.String())
		}
	} else {
		for n := 1; n <= obstacleBoxes; n++ {
			names = append(names, fmt.Sprint(n))
		}
	}
	for _, k := range knocked {
		if !slices.Contains(names, k) {
			names = append(names, k)
		}
	}
	if in.planCourse(c) == nil {
		for len(names) < 30 || len(names)%10 > 0 {
			names = append(names, "")
		}
	}
	return names
}

func conesSheet(in *DayInput) ([]Scene, error) { return in.obstacleSheets(ConesSheet, rules.Cones) }
func timedSheet(in *DayInput) ([]Scene, error) { return in.obstacleSheets(TimedSheet, rules.Timed) }

// obstacleSheets are the sheets of cones and timed courses: one for each entry.
func (in *DayInput) obstacleSheets(kind, phase string) ([]Scene, error) {
	var pages []Scene
	var last error
	for _, c := range in.coursesOf(phase) {
		if in.Course != "" && c.ID != in.Course {
			continue
		}
		drives := func(e *trial.Entry) bool { return e == nil || in.classOf(e).Drives(c) }
		p, err := in.runs(kind, phase, func(e *trial.Entry) []Scene {
			if !drives(e) || e == nil && c.Classes != nil && in.Class != "" && !slices.Contains(c.Classes, in.Class) {
				return nil
			}
			return []Scene{in.obstacleRun(kind, c, e)}
		}, func(e *trial.Entry) bool { return drives(e) && in.sheetOf(phase, e.Number, c.ID) != nil })
		if err != nil {
			last = err
		}
		pages = append(pages, p...)
	}
	if len(pages) == 0 {
		if last == nil {
			last = in.none(kind, "the trial has no course of the "+phase, "write courses: [{id: C1, phase: "+phase+", allowed_s: …}]")
		}
		return nil, last
	}
	return pages, nil
}

func (in *DayInput) obstacleRun(kind string, c *trial.Course, e *trial.Entry) Scene {
	of := courseName(c)
	if e != nil && !strings.Contains(of, e.Class) {
		of += ", class " + e.Class
	}
	k, _ := DayKindNamed(kind)
	s, r := in.heading(k.Title, of).page(in.Paper, false)
	f := &form{in: in, s: &s, r: r}
	var sh *trial.Sheet
	ps := trial.PhaseScore{}
	if e != nil {
		if sh = in.sheetOf(c.Phase, e.Number, c.ID); sh != nil {
			ps = in.phaseScore(e.Number, c.Phase)
		}
	}
	var right []string
	if c.Phase == rules.Cones {
		gap, limit := "gap  ______ cm", ""
		if e != nil && e.GapCM > 0 {
			gap = fmt.Sprintf("gap %d cm (%s)", e.GapCM, inches(float64(e.GapCM)))
		}
		if c.LimitS != "" {
			limit = ", limit " + c.LimitS + " s"
		}
		switch {
		case c.AllowedS != "":
			right = []string{gap, "allowed " + c.AllowedS + " s" + limit}
		case c.LengthM != "" && c.SpeedMPerMin != "":
			right = []string{gap, "speed " + c.SpeedMPerMin + " m/min" + limit}
		default:
			right = []string{gap, "allowed, s_"}
		}
		if c.LengthM != "" {
			right = append(right, "length "+c.LengthM+" m")
		}
	} else if c.LimitS != "" {
		right = []string{"limit " + c.LimitS + " s"}
	}
	f.who(e, right)
	if c.Phase == rules.Cones {
		f.words(body, false, "Write L, R or LR for balls down, X for a wheel outside or wrong course, r for each refusal.")
	} else {
		f.words(body, false, "Write X where something is down, r for each refusal; the number driven where the driver chooses.")
	}
	var knocked []string
	if sh != nil {
		knocked = sh.Knocked
	}
	names := in.obstacles(c, knocked)
	perRow := 10
	if len(names) > 7*perRow { // no course has so many
		names = append(names[:7*perRow-1:7*perRow-1], "…")
	}
	h := 14.0
	if rows := (len(names) + perRow - 1) / perRow; rows > 3 {
		h = 12
	}
	for len(names) > 0 {
		n := min(perRow, len(names))
		w := f.r.W / float64(perRow)
		for i, name := range names[:n] {
			v := ""
			if slices.Contains(knocked, name) {
				v = "X"
			}
			f.cell(Rect{f.r.X + float64(i)*w, f.r.Y, w, h}, name, v)
		}
		f.gap(h)
		names = names[n:]
	}
	f.gap(1.5)
	f.watches(sh)
	var stops []string
	if sh != nil {
		for _, st := range sh.Stops {
			stops = append(stops, st+" s")
		}
	}
	f.cells(12, []string{"bell at", "again at", "bell at", "again at", "obstacles set"}, stops)
	f.gap(1.5)
	besides := ""
	if c.Phase == rules.Cones {
		besides = "knocked" // the boxes say it
	}
	f.faults(faultLines(in.Rules, c.Phase, besides), sh)
	room := f.r.H - signedTall - 1
	if sh != nil {
		f.working(ps.Lines, min(max(room-8, 10), 50))
	} else if room > 18 {
		f.area("Remarks", min(room-lineStep(body)-4, 40))
	} else {
		f.words(body, true, "Remarks:")
	}
	f.r.Y, f.r.H = r.Y+r.H-signedTall, signedTall
	total := ""
	if ps.Penalties != nil {
		total = *ps.Penalties
	}
	scorer, values := []string{"time over", "balls", "other", "total"}, []string(nil)
	if c.Phase == rules.Timed {
		scorer = []string{"time", "knocked", "other", "total"}
	}
	if sh != nil {
		scorer, values = []string{"comes to"}, []string{total}
	}
	f.signed([]string{"judge", "scribe"}, scorer, values)
	return s
}
