package trials

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// courseThing is a course: a hazard, a section, a cones course or a timed one.
type courseThing struct{}

func (courseThing) word() string { return "course" }
func (courseThing) back() string { return "setup" }

func (courseThing) of(s *trial.Sheet, name string) bool { return s.Course == name }

func (courseThing) place(t *trial.Trial, name string) string {
	return fmt.Sprintf("courses[%d]", slices.IndexFunc(t.Courses, func(c trial.Course) bool { return c.ID == name }))
}

func (courseThing) values(t *trial.Trial, name string) (url.Values, bool) {
	for _, c := range t.Courses {
		if c.ID != name {
			continue
		}
		var points []string
		for _, k := range slices.SortedFunc(maps.Keys(c.Points), byNumber) {
			points = append(points, k+" = "+c.Points[k])
		}
		return url.Values{"id": {c.ID}, "name": {c.Name}, "phase": {c.Phase}, "classes": c.Classes, "kind": {c.Kind}, "length_m": {c.LengthM}, "speed_m_per_min": {c.SpeedMPerMin},
			"allowed_s": {c.AllowedS}, "minimum_s": {c.MinimumS}, "limit_s": {c.LimitS}, "points": {strings.Join(points, "\n")}}, true
	}
	return nil, false
}

// byNumber puts the numbers of obstacles in their order: 2 before 10, 7 before 7b.
func byNumber(a, b string) int {
	m, n := obstacleNo(a), obstacleNo(b)
	if m != n {
		return m - n
	}
	return strings.Compare(a, b)
}

func obstacleNo(s string) int {
	n, _ := strconv.Atoi(s[:len(s)-len(strings.TrimLeft(s, "0123456789"))])
	return n
}

// coursePhases are the phases that are driven on courses.
func coursePhases() []string {
	return []string{rules.Sections, rules.Hazards, rules.Cones, rules.Timed}
}

// courseWord is what one course of a phase is called.
func courseWord(phase string) string {
	return map[string]string{rules.Sections: "section", rules.Hazards: "hazard", rules.Cones: "cones course", rules.Timed: "timed course"}[phase]
}

func (courseThing) rows(t *openTrial, v url.Values) []fillRow {
	phase := v.Get("phase")
	var who []book.Choice
	for _, c := range t.setting.Trial.Classes {
		if c.Has(phase) {
			label := c.ID
			if c.Name != "" {
				label += ", " + c.Name
			}
			who = append(who, book.Choice{Value: c.ID, Label: label, On: slices.Contains(v["classes"], c.ID)})
		}
	}
	example := map[string]string{rules.Sections: "A", rules.Hazards: "H1", rules.Cones: "C1", rules.Timed: "F1"}[phase]
	rows := []fillRow{
		{Boxes: []fill{
			{Key: "phase", Label: "What it is", Choices: courseChoices(t, phase)},
			{Key: "id", Label: "Short name", Hint: "As it stands on the sheets: " + example + ".", Value: v.Get("id")},
			{Key: "name", Label: "Name", Hint: "What drivers call it.", Value: v.Get("name")},
		}},
	}
	if len(who) > 1 {
		rows = append(rows, fillRow{Legend: "Which classes drive it", Hint: "None ticked: all of these.", Boxes: []fill{{Key: "classes", Ticks: who}}})
	}
	seconds := "Seconds, or minutes and seconds as 2:41."
	length := fill{Key: "length_m", Label: "Length, m", Hint: "As the wheel gave it.", Value: v.Get("length_m"), Numeric: true}
	speed := fill{Key: "speed_m_per_min", Label: "Speed, m a minute", Value: v.Get("speed_m_per_min"), Numeric: true}
	allowed := fill{Key: "allowed_s", Label: "Time allowed", Hint: seconds, Value: v.Get("allowed_s"), Numeric: true}
	least := fill{Key: "minimum_s", Label: "Least time", Hint: "Whoever is faster is early.", Value: v.Get("minimum_s"), Numeric: true}
	limit := fill{Key: "limit_s", Label: "Time limit", Hint: "Left empty, the one of the rules.", Value: v.Get("limit_s"), Numeric: true}
	switch phase {
	case rules.Sections:
		rows = append(rows, fillRow{Boxes: []fill{allowed, least, limit, length}})
	case rules.Hazards:
		if t.profile != nil {
			if l := t.profile.Get("hazard.time_limit_s").Value; l != "" {
				limit.Hint = "Seconds. Left empty, the " + l + " s of the rules."
			}
		}
		rows = append(rows, fillRow{Boxes: []fill{limit}})
	case rules.Cones:
		speed.Hint = "Left empty, that of the rules for hitch and size."
		allowed.Hint = "Or this, instead of length and speed. " + seconds
		rows = append(rows, fillRow{Legend: "Its time", Hint: "Not measured yet? Leave the course out until it is: dressage can be scored meanwhile.", Boxes: []fill{length, speed, allowed, limit}})
	case rules.Timed:
		rows = append(rows, fillRow{Boxes: []fill{{Key: "kind", Label: "How it is driven", Choices: offer("in order, faults are seconds", v.Get("kind"), trial.TimedKinds()...)}, allowed, least, limit, length, speed}},
			fillRow{Boxes: []fill{{Key: "points", Label: "What each obstacle is worth, for a choice by points", Hint: "One a line: 1 = 10.", Value: v.Get("points"), Long: true}}})
	}
	return rows
}

// courseChoices are the phases that some class drives on courses.
func courseChoices(t *openTrial, phase string) []book.Choice {
	var all []book.Choice
	for _, p := range coursePhases() {
		if p == phase || slices.ContainsFunc(t.setting.Trial.Classes, func(c trial.Class) bool { return c.Has(p) }) {
			all = append(all, book.Choice{Value: p, Label: courseWord(p), On: p == phase})
		}
	}
	return all
}

func (k courseThing) put(t *openTrial, was string, f url.Values) (*trial.Trial, string, map[string]string) {
	c := trial.Course{ID: f.Get("id"), Name: f.Get("name"), Phase: f.Get("phase"), Kind: f.Get("kind"), LengthM: f.Get("length_m"), SpeedMPerMin: f.Get("speed_m_per_min")}
	wrong := wrongs{}
	wrong.add("id", shortName(t, k, was, c.ID))
	if c.Phase == "" {
		wrong.add("phase", "choose what it is")
	}
	wrong.add("phase", among(c.Phase, coursePhases()...))
	wrong.add("kind", among(c.Kind, trial.TimedKinds()...))
	for _, id := range f["classes"] {
		if t.class(id) != nil {
			c.Classes = append(c.Classes, id)
		}
	}
	for key, into := range map[string]*string{"allowed_s": &c.AllowedS, "minimum_s": &c.MinimumS, "limit_s": &c.LimitS} {
		s, says := seconds(f.Get(key))
		*into = s
		wrong.add(key, says)
	}
	for line := range strings.Lines(f.Get("points")) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		of, worth, ok := strings.Cut(line, "=")
		of, worth = strings.TrimSpace(of), strings.TrimSpace(worth)
		if !ok || of == "" || worth == "" {
			wrong.add("points", fmt.Sprintf("%q stands there; write the obstacle, an equals sign and its points, such as 1 = 10", line))
			break
		}
		if c.Points == nil {
			c.Points = map[string]string{}
		}
		if _, twice := c.Points[of]; twice {
			wrong.add("points", "obstacle "+of+" stands there twice")
		}
		c.Points[of] = worth
	}
	if c.Phase != rules.Timed { // boxes of another kind of course, from a form that was changed to this
		c.Kind, c.Points = "", nil
	}
	if was != "" {
		old := slices.IndexFunc(t.setting.Trial.Courses, func(o trial.Course) bool { return o.ID == was })
		if n := t.sheets(func(s *trial.Sheet) bool { return k.of(s, was) }); n > 0 {
			if was != c.ID {
				wrong.add("id", "sheets of "+was+" are in; its short name cannot change any more")
			}
			if c.Phase != t.setting.Trial.Courses[old].Phase {
				wrong.add("phase", "sheets of it are in; it stays what it is")
			}
		}
	}
	if len(wrong) > 0 {
		return nil, "", wrong
	}
	return t.setting.Trial.PutCourse(was, c), c.ID, nil
}

func (courseThing) drop(t *trial.Trial, name string) (*trial.Trial, error) {
	return t.DropCourse(name), nil
}

// seconds reads a time of a course: seconds as they are, or 2:41 and 30:00.50 as
// minutes and seconds. What is wrong with plain seconds is the trial's to say.
func seconds(typed string) (s, wrong string) {
	min, rest, ok := strings.Cut(typed, ":")
	if !ok {
		return typed, ""
	}
	whole, part, _ := strings.Cut(rest, ".")
	m, err := strconv.Atoi(min)
	sec, err2 := strconv.Atoi(whole)
	if err != nil || err2 != nil || m < 0 || m > 999 || len(whole) != 2 || sec < 0 || sec > 59 || strings.Trim(part, "0123456789") != "" {
		return "", fmt.Sprintf("%q is no time; write seconds, or minutes and seconds as 2:41", typed)
	}
	s = strconv.Itoa(60*m + sec)
	if part != "" {
		s += "." + part
	}
	return s, ""
}
