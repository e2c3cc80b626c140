package trial

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"terret/internal/gates"
	"terret/internal/rules"
)

// Validate says everything that is wrong with a trial under a profile. Every
// sheet must have its ID; see NameSheets.
func (t *Trial) Validate(p *rules.Profile) []Problem {
	v := newValidator(t, p)
	v.classList()
	v.entryList()
	v.testList()
	v.courseList()
	v.teamList()
	v.timetable()
	if len(v.problems) > 0 {
		return v.problems // sheets are judged by all that
	}
	for i := range t.Sheets {
		v.sheet(i+1, &t.Sheets[i])
	}
	v.runs()
	return v.problems
}

// validator knows what a trial names.
type validator struct {
	t        *Trial
	p        *rules.Profile
	problems []Problem
	classes  map[string]*Class
	entries  map[int]*Entry
	tests    map[string]*Test
	courses  map[string]*Course
	prices   map[string]map[string]bool // fault names by phase
}

func newValidator(t *Trial, p *rules.Profile) *validator {
	v := &validator{t: t, p: p, classes: map[string]*Class{}, entries: map[int]*Entry{}, tests: map[string]*Test{}, courses: map[string]*Course{}, prices: map[string]map[string]bool{}}
	for i := range t.Classes {
		v.classes[t.Classes[i].ID] = &t.Classes[i]
	}
	for i := range t.Entries {
		v.entries[t.Entries[i].Number] = &t.Entries[i]
	}
	for i := range t.Tests {
		v.tests[t.Tests[i].ID] = &t.Tests[i]
	}
	for i := range t.Courses {
		v.courses[t.Courses[i].ID] = &t.Courses[i]
	}
	for _, phase := range rules.Phases() {
		v.prices[phase] = map[string]bool{}
		for _, name := range rules.FaultNames(phase) {
			v.prices[phase][name] = true
		}
	}
	return v
}

func (v *validator) add(rule, path, message, hint string) {
	v.problems = append(v.problems, Problem{Rule: rule, Path: path, Message: message, Hint: hint})
}

// twice notes the second of two with one name.
func (v *validator) twice(rule, what, path, id string, seen map[string]bool) {
	if seen[id] {
		v.add(rule, path, fmt.Sprintf("there are two %s called %q", what, id), "give each its own")
	}
	seen[id] = true
}

func (v *validator) classList() {
	seen := map[string]bool{}
	for i, c := range v.t.Classes {
		path := fmt.Sprintf("classes[%d]", i)
		v.twice("class-id", "classes", path+".id", c.ID, seen)
		if len(c.Phases) == 0 {
			v.add("class-phases", path+".phases", "the class drives nothing", "name one or more of "+strings.Join(rules.Phases(), ", "))
		}
		phases := map[string]bool{}
		for k, phase := range c.Phases {
			at := fmt.Sprintf("%s.phases[%d]", path, k)
			v.twice("class-phases", "phases", at, phase, phases)
			if !v.p.CoversPhase(phase) {
				v.add("phase-rules", at, fmt.Sprintf("the profile %s has no rules for %s", v.p.Name, phase), "it is for "+strings.Join(v.p.Covers, ", ")+"; name another profile, or one of your own that covers it")
			}
		}
		if c.Has(rules.Judged) && len(c.Phases) > 1 {
			v.add("class-phases", path+".phases", "a judged class is counted in percent, most wins, and cannot be added to other phases", "make it a class of its own")
		}
		if c.Has(rules.Timed) && len(c.Phases) > 1 && mostWins(&v.t.Classes[i], v.t.Courses) {
			v.add("class-phases", path+".phases", "a class for points cannot be added to other phases", "make it a class of its own")
		}
		if c.Through != "" && (len(c.Through) != 1 || c.Through < "A" || c.Through > "Z") {
			v.add("class-through", path+".through", fmt.Sprintf("%q is no letter", c.Through), "write one capital letter, the last that the class drives")
		}
		if c.Judged != "" && !c.Has(rules.Judged) {
			v.add("class-judged", path+".judged", "the class is not judged", "write phases: [judged]")
		}
	}
}

func (v *validator) entryList() {
	seen := map[string]bool{}
	for i, e := range v.t.Entries {
		path := fmt.Sprintf("entries[%d]", i)
		v.twice("entry-number", "entries", path+".number", itoa(e.Number), seen)
		c, ok := v.classes[e.Class]
		if !ok {
			v.add("entry-class", path+".class", fmt.Sprintf("there is no class %q", e.Class), "the classes are "+strings.Join(v.classIDs(), ", "))
			continue
		}
		if e.InPhase != "" && !c.Has(e.InPhase) {
			v.add("entry-phase", path+".in_phase", fmt.Sprintf("class %s does not drive %s", c.ID, e.InPhase), "it drives "+strings.Join(c.Phases, ", "))
		}
	}
}

func (v *validator) classIDs() []string {
	var ids []string
	for _, c := range v.t.Classes {
		ids = append(ids, c.ID)
	}
	return ids
}

func (v *validator) testList() {
	seen := map[string]bool{}
	for i, s := range v.t.Tests {
		path := fmt.Sprintf("tests[%d]", i)
		v.twice("test-id", "tests", path+".id", s.ID, seen)
		if !v.p.CoversPhase(rules.Dressage) {
			continue
		}
		most := rule(v.p.Get("dressage.mark_most").Value)
		if len(s.Movements) > 0 {
			sum := whole(0)
			for _, m := range s.Movements {
				sum = sum.plus(most.times(whole(m.Times)))
			}
			if sum.cmp(value(s.Maximum)) != 0 {
				v.add("test-maximum", path+".maximum", "the movements come to "+sum.String()+" marks, the maximum is "+s.Maximum, "check which is printed on the sheet")
			}
			for k, m := range s.Movements {
				if m.No != k+1 {
					v.add("test-movements", fmt.Sprintf("%s.movements[%d].no", path, k), fmt.Sprintf("movement %d stands in place %d", m.No, k+1), "number the movements 1, 2, 3 … in their order")
					break
				}
			}
		}
		if s.Coefficient != "" {
			if n, wrong := parseRule(s.Coefficient); wrong != "" {
				v.add("test-coefficient", path+".coefficient", fmt.Sprintf("the coefficient is %q: %s", s.Coefficient, wrong), `write the number printed on the sheet, such as "0.80"`)
			} else if n.sign() == 0 || n.cmp(whole(10)) > 0 {
				v.add("test-coefficient", path+".coefficient", "the coefficient is "+s.Coefficient, "it is 160 over the most marks, as printed: more than 0, at most 10")
			}
			continue
		}
		use := v.p.Get("dressage.coefficient").Value
		if above := value(s.Maximum).cmp(whole(160)); use == rules.Always && above != 0 || use == rules.Above160 && above > 0 {
			v.add("test-coefficient", path, "the test does not say its coefficient", `write coefficient: "0.80", as it is printed on the sheet`)
		}
	}
}

// parseRule reads a number of the size a rule may have.
func parseRule(s string) (number, string) {
	whole, part, pointed := strings.Cut(s, ".")
	if strings.ContainsRune(s, ',') {
		return number{}, "there is a comma in the number"
	}
	if whole == "" || pointed && part == "" || strings.Trim(whole+part, "0123456789") != "" {
		return number{}, "it is no plain decimal number"
	}
	if len(strings.TrimLeft(whole, "0")) > maxWhole || len(part) > 4 {
		return number{}, "it is too long"
	}
	return rule(s), ""
}

// decimal checks a number that may be left out, and that must be more than 0.
func (v *validator) decimal(rule, path, s string) (number, bool) {
	if s == "" {
		return number{}, false
	}
	n, wrong := parse(s)
	if wrong == "" && n.sign() == 0 {
		wrong = "it must be more than 0"
	}
	if wrong != "" {
		v.add(rule, path, fmt.Sprintf("%q stands here: %s", s, wrong), `write it in plain digits, such as "148.35"`)
		return number{}, false
	}
	return n, true
}

func (v *validator) courseList() {
	seen := map[string]bool{}
	for i := range v.t.Courses {
		c := &v.t.Courses[i]
		path := fmt.Sprintf("courses[%d]", i)
		v.twice("course-id", "courses", path+".id", c.ID, seen)
		for k, id := range c.Classes {
			if v.classes[id] == nil {
				v.add("course-class", fmt.Sprintf("%s.classes[%d]", path, k), fmt.Sprintf("there is no class %q", id), "the classes are "+strings.Join(v.classIDs(), ", "))
			}
		}
		allowed, hasAllowed := v.decimal("course-time", path+".allowed_s", c.AllowedS)
		least, hasLeast := v.decimal("course-time", path+".minimum_s", c.MinimumS)
		limit, hasLimit := v.decimal("course-time", path+".limit_s", c.LimitS)
		_, hasLength := v.decimal("course-length", path+".length_m", c.LengthM)
		speed, hasSpeed := v.decimal("course-speed", path+".speed_m_per_min", c.SpeedMPerMin)
		if hasSpeed && (speed.cmp(whole(2000)) > 0 || speed.cmp(whole(10)) < 0) {
			v.add("course-speed", path+".speed_m_per_min", "the speed is "+c.SpeedMPerMin+" m/min", "from 10 to 2000 is taken")
		}
		if places, _ := speed.decimalsOr0(); places > 1 {
			v.add("course-speed", path+".speed_m_per_min", "the speed is "+c.SpeedMPerMin+" m/min", "write it with one place behind the point at most")
		}
		if hasLimit && hasAllowed && limit.cmp(allowed) < 0 {
			v.add("course-time", path+".limit_s", "the time limit of "+c.LimitS+" s is under the "+c.AllowedS+" s allowed", "")
		}
		if hasLeast && hasAllowed && least.cmp(allowed) > 0 {
			v.add("course-time", path+".minimum_s", "the least time of "+c.MinimumS+" s is over the "+c.AllowedS+" s allowed", "")
		}
		if c.Phase == rules.Sections && c.AllowedS == "" {
			v.add("course-allowed", path, "section "+c.ID+" does not say what time is allowed", `write allowed_s: "1800"`)
		}
		if c.Phase == rules.Cones && c.AllowedS == "" && v.p.Get("cones.competition").Value == rules.FaultsCount {
			if !hasLength {
				v.add("course-allowed", path, "course "+c.ID+" says neither what time is allowed nor how long it is", `write allowed_s: "161", or length_m with speed_m_per_min`)
			} else if !hasSpeed {
				for k := range v.t.Classes {
					if cl := &v.t.Classes[k]; c.drivenBy(cl) && speedKey(cl) == "" {
						v.add("course-speed", path, "course "+c.ID+" does not say its speed, and class "+cl.ID+" not what it drives", "write speed_m_per_min on the course, or hitch and size on the class")
					}
				}
			}
		}
		if c.Kind != "" && c.Phase != rules.Timed {
			v.add("course-kind", path+".kind", "only a timed course has a kind", "")
		}
		if c.Kind == ChoiceByPoints && len(c.Points) == 0 {
			v.add("course-points", path, "course "+c.ID+" does not say what each obstacle is worth", `write points: {"1": "10", …}`)
		}
		for k, s := range c.Points {
			if _, wrong := parse(s); wrong != "" {
				v.add("course-points", path+".points."+k, fmt.Sprintf("%q stands here: %s", s, wrong), "")
			}
		}
	}
}

func (a number) decimalsOr0() (int, bool) {
	if a.d == 0 {
		return 0, true
	}
	return a.decimals()
}

func (v *validator) teamList() {
	seen := map[string]bool{}
	for i, team := range v.t.Teams {
		path := fmt.Sprintf("teams[%d]", i)
		v.twice("team-name", "teams", path+".name", team.Name, seen)
		members := map[string]bool{}
		for k, n := range team.Members {
			at := fmt.Sprintf("%s.members[%d]", path, k)
			v.twice("team-member", "members", at, itoa(n), members)
			if e := v.entries[n]; e == nil {
				v.add("team-member", at, fmt.Sprintf("there is no entry %d", n), "")
			} else if c := v.classes[e.Class]; c != nil && mostWins(c, v.t.Courses) {
				v.add("team-member", at, fmt.Sprintf("entry %d is in a class where most wins", n), "teams add up penalties or seconds")
			}
		}
	}
}

// sheet checks one sheet; n is its number, from 1.
func (v *validator) sheet(n int, s *Sheet) {
	before := len(v.problems)
	defer func() {
		for i := before; i < len(v.problems); i++ {
			v.problems[i].Sheet = n
		}
	}()
	e, ok := v.entries[s.Entry]
	if !ok {
		v.add("sheet-entry", ".entry", fmt.Sprintf("there is no entry %d", s.Entry), "check the number on the sheet against the list of entries")
		return
	}
	c := v.classes[e.Class]
	if !c.Has(s.Phase) {
		v.add("sheet-phase", ".entry", fmt.Sprintf("entry %d is in class %s, which does not drive %s", s.Entry, c.ID, s.Phase), "it drives "+strings.Join(c.Phases, ", "))
		return
	}
	v.faults(s)
	switch s.Phase {
	case rules.Dressage:
		v.dressage(s)
	case rules.Judged:
		v.judged(s, c)
	default:
		v.onCourse(s, c)
	}
}

func (v *validator) faults(s *Sheet) {
	for _, name := range sortedFaults(s.Faults) {
		n := s.Faults[name]
		if !v.prices[s.Phase][name] {
			v.add("fault-name", ".faults."+name, fmt.Sprintf("there is no fault %q in %s", name, s.Phase), "the faults are "+strings.Join(rules.FaultNames(s.Phase), ", "))
		} else if n < 0 || n > maxCount {
			v.add("fault-count", ".faults."+name, fmt.Sprintf("%d stands here", n), fmt.Sprintf("0 to %d is taken", maxCount))
		}
	}
}

func (v *validator) dressage(s *Sheet) {
	if s.Judge == "" {
		v.add("sheet-judge", ".judge", "the sheet does not say its judge", "write the letter the judge sits at, such as judge: C")
	}
	id := s.Test
	if id == "" && len(v.t.Tests) == 1 {
		id = v.t.Tests[0].ID
	}
	t := v.tests[id]
	if t == nil {
		v.add("sheet-test", ".test", fmt.Sprintf("there is no test %q", id), "name one of the tests of this trial")
		return
	}
	if len(s.Marks) == 0 {
		v.add("sheet-marks", ".marks", "the sheet has no marks", "write one for each movement")
		return
	}
	if n := len(t.Movements); n > 0 && n != len(s.Marks) {
		v.add("sheet-marks", ".marks", fmt.Sprintf("there are %d marks, test %s has %d movements", len(s.Marks), t.ID, n), `write one for each movement, "-" where the judge forgot one`)
		return
	}
	if len(s.Marks) > MostMarks {
		v.add("sheet-marks", ".marks", fmt.Sprintf("there are %d marks", len(s.Marks)), fmt.Sprintf("at most %d are taken", MostMarks))
		return
	}
	most, step := rule(v.p.Get("dressage.mark_most").Value), rule(v.p.Get("dressage.mark_step").Value)
	sum, given := whole(0), 0
	for i, m := range s.Marks {
		at := fmt.Sprintf(".marks[%d]", i)
		if noMark(m) {
			if v.p.Get("dressage.missing_mark").Value == rules.Refused {
				v.add("mark-missing", at, fmt.Sprintf("mark %d is missing", i+1), "this profile wants the judge to give it (dressage.missing_mark)")
			}
			continue
		}
		n, wrong := parse(m)
		switch {
		case wrong != "":
			v.add("mark", at, fmt.Sprintf("mark %d is %q: %s", i+1, m, wrong), `write it in plain digits, such as "6.5"`)
			continue
		case n.cmp(most) > 0:
			v.add("mark-scale", at, fmt.Sprintf("mark %d is %s", i+1, m), "marks go from 0 to "+most.String())
			continue
		case n.times(number{step.d, step.n}).reduced().d != 1:
			v.add("mark-step", at, fmt.Sprintf("mark %d is %s", i+1, m), "marks go in steps of "+step.String()+" under this profile")
			continue
		}
		given++
		times := 1
		if i < len(t.Movements) {
			times = t.Movements[i].Times
		}
		sum = sum.plus(n.times(whole(times)))
	}
	if given == 0 {
		v.add("sheet-marks", ".marks", "no mark is given", "")
	}
	if sum.cmp(value(t.Maximum)) > 0 {
		v.add("mark-sum", ".marks", "the marks come to "+sum.String()+", the test has "+t.Maximum+" at most", "check the number of marks against the sheet")
	}
}

func (v *validator) judged(s *Sheet, c *Class) {
	if s.Class != "" && s.Class != c.ID {
		v.add("sheet-class", ".class", fmt.Sprintf("the sheet is of class %q, entry %d is in %s", s.Class, s.Entry, c.ID), "")
	}
	if len(s.Parts) == 0 {
		v.add("sheet-parts", ".parts", "the sheet has no parts", `write parts: {performance: "52", …}`)
		return
	}
	most := map[string]number{}
	if c.Judged != "" {
		var names []string
		for _, p := range v.p.Split("judged." + c.Judged) {
			most[p.Name] = rule(p.Most)
			names = append(names, p.Name)
		}
		for _, name := range names {
			if _, ok := s.Parts[name]; !ok {
				v.add("part-missing", ".parts", fmt.Sprintf("the part %q is missing", name), "a "+c.Judged+" class has "+v.p.Get("judged."+c.Judged).Value)
			}
		}
	}
	sum := whole(0)
	for _, k := range slices.Sorted(maps.Keys(s.Parts)) {
		m := s.Parts[k]
		n, wrong := parse(m)
		top, known := most[k]
		switch {
		case wrong != "":
			v.add("part", ".parts."+k, fmt.Sprintf("%s is %q: %s", k, m, wrong), `write it in plain digits, such as "52"`)
			continue
		case c.Judged != "" && !known:
			v.add("part", ".parts."+k, fmt.Sprintf("there is no part %q", k), "a "+c.Judged+" class has "+v.p.Get("judged."+c.Judged).Value)
		case known && n.cmp(top) > 0:
			v.add("part-scale", ".parts."+k, k+" is "+m, "it has "+top.String()+" at most")
		}
		sum = sum.plus(n)
	}
	if sum.cmp(whole(100)) > 0 {
		v.add("part-sum", ".parts", "the parts come to "+sum.String(), "they are parts of a hundred")
	}
}

// onCourse checks a sheet of a hazard, section, cones or timed course.
func (v *validator) onCourse(s *Sheet, cl *Class) {
	c := v.courses[s.Course]
	if c == nil || c.Phase != s.Phase {
		var ids []string
		for _, o := range v.t.Courses {
			if o.Phase == s.Phase {
				ids = append(ids, o.ID)
			}
		}
		hint := "the courses are " + strings.Join(ids, ", ")
		if len(ids) == 0 {
			hint = "the trial has no course in " + s.Phase
		}
		v.add("sheet-course", ".course", fmt.Sprintf("there is no course %q in %s", s.Course, s.Phase), hint)
		return
	}
	if !c.drivenBy(cl) {
		v.add("sheet-course", ".course", fmt.Sprintf("class %s does not drive course %s", cl.ID, c.ID), "it is driven by "+strings.Join(c.Classes, ", "))
	}
	time := number{}
	if s.Seconds != "" {
		n, wrong := parse(s.Seconds)
		if wrong != "" {
			v.add("seconds", ".seconds", fmt.Sprintf("the time is %q: %s", s.Seconds, wrong), `write seconds with a point, such as "148.35" for 2:28.35`)
		} else {
			time = n
		}
	}
	if s.Backup != "" {
		if n, wrong := parse(s.Backup); wrong == "" && s.Seconds != "" {
			if time.d != 0 && n.cmp(time) < 0 {
				time = n // stops must fit into both
			}
		} else if wrong != "" {
			v.add("seconds", ".backup", fmt.Sprintf("the second watch shows %q: %s", s.Backup, wrong), `write seconds with a point, such as "148.35" for 2:28.35`)
		} else if s.Seconds == "" {
			v.add("seconds", ".backup", "the second watch has a time and the official one has none", "write the time that was taken as seconds")
		}
	}
	for i, stop := range s.Stops {
		n, wrong := parse(stop)
		if wrong != "" {
			v.add("seconds", fmt.Sprintf(".stops[%d]", i), fmt.Sprintf("the stop is %q: %s", stop, wrong), `write seconds with a point, such as "34.20"`)
			continue
		}
		if time.d == 0 {
			continue
		}
		if time = time.minus(n); time.sign() < 0 {
			v.add("stops", ".stops", "the course was stopped for longer than the watch ran", "stops are seconds that the watch ran on while the course was stopped")
			break
		}
	}
	switch s.Phase {
	case rules.Hazards:
		if s.Gates != "" {
			if _, err := gates.Parse(s.Gates); err != nil {
				v.add("gates", ".gates", err.Error(), "")
			}
			if through(cl, v.p) == "" {
				v.add("gates", ".gates", "class "+cl.ID+" does not say which letters it drives", "write through: C on the class, the last of its letters, or its level")
			}
		}
	case rules.Cones:
		if len(s.Knocked) > 0 && s.Faults["knocked"] > 0 {
			v.add("knocked", ".knocked", "what was knocked is both listed and counted", "write knocked: [3, \"7b\"], or faults: {knocked: 2}")
		}
		for i, k := range s.Knocked {
			if k == "" || len(k) > 8 || strings.ContainsAny(k, " ,;") {
				v.add("knocked", fmt.Sprintf(".knocked[%d]", i), fmt.Sprintf("%q is no obstacle", k), "write each by itself: its number, with the letter of the part behind it")
			}
		}
	case rules.Timed:
		v.timed(s, c)
	}
}

func (v *validator) timed(s *Sheet, c *Course) {
	if c.Kind != FaultAndOut && (s.Cleared > 0 || s.Extra != "") {
		v.add("sheet-kind", ".cleared", "course "+c.ID+" is not fault and out", "leave out cleared and extra, or say kind: fault and out on the course")
	}
	if c.Kind != ChoiceByPoints && len(s.Driven) > 0 {
		v.add("sheet-kind", ".driven", "course "+c.ID+" is not driven for points", "leave out driven, or say kind: choice by points on the course")
	}
	if s.Cleared < 0 || s.Cleared > maxCount {
		v.add("fault-count", ".cleared", fmt.Sprintf("%d stands here", s.Cleared), fmt.Sprintf("0 to %d is taken", maxCount))
	}
	for i, d := range s.Driven {
		if _, ok := c.Points[d]; c.Kind == ChoiceByPoints && !ok {
			v.add("driven", fmt.Sprintf(".driven[%d]", i), fmt.Sprintf("course %s has no obstacle %q", c.ID, d), "")
		}
	}
}

// runs checks that each run has one sheet that counts.
func (v *validator) runs() {
	ids := map[string]int{}
	for i := range v.t.Sheets {
		s := &v.t.Sheets[i]
		if _, twice := ids[s.ID]; twice {
			v.problems = append(v.problems, Problem{Rule: "sheet-id", Sheet: i + 1, Path: ".id", Message: fmt.Sprintf("there are two sheets %q", s.ID), Hint: "give each sheet an ID of its own"})
			continue
		}
		ids[s.ID] = i
	}
	by := map[string]string{} // replaced ID → by whom
	for i := range v.t.Sheets {
		s := &v.t.Sheets[i]
		if s.Replaces == "" {
			continue
		}
		old, ok := ids[s.Replaces]
		add := func(message, hint string) {
			v.problems = append(v.problems, Problem{Rule: "sheet-replaces", Sheet: i + 1, Path: ".replaces", Message: message, Hint: hint})
		}
		switch {
		case !ok:
			add(fmt.Sprintf("there is no sheet %q to be replaced", s.Replaces), "name the ID of a sheet of this trial")
		case v.t.Sheets[old].Phase == s.Phase && old >= i:
			add(fmt.Sprintf("sheet %q stands behind this one", s.Replaces), "a correction is written after what it corrects")
		case by[s.Replaces] != "":
			add(fmt.Sprintf("sheet %q has been replaced by %q already", s.Replaces, by[s.Replaces]), "replace that one")
		}
		by[s.Replaces] = s.ID
	}
	count := map[string]string{}
	for i := range v.t.Sheets {
		s := &v.t.Sheets[i]
		if by[s.ID] != "" {
			continue
		}
		if other := count[s.Run()]; other != "" {
			v.problems = append(v.problems, Problem{Rule: "sheet-twice", Sheet: i + 1, Message: fmt.Sprintf("there are two sheets for entry %d, %s", s.Entry, describe(s)), Hint: fmt.Sprintf("say replaces: %q if this one corrects the other, or leave one out", other)})
		}
		count[s.Run()] = s.ID
	}
}

// describe names a sheet's run for a person.
func describe(s *Sheet) string {
	return strings.TrimSuffix(Need{Phase: s.Phase, Course: s.Course, Judge: s.Judge}.String(), " ")
}
