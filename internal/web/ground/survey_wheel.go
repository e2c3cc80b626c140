package ground

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// wheelPage takes two readings of a measuring wheel over one course.
type wheelPage struct {
	book.Frame
	plan.Saved
	Newest        plan.Saved
	Courses       []book.Choice
	First, Second string // as typed
	Marks         map[string]string
	Planned       float64 // m; 0: no course chosen
	Result        *survey.Wheeled
	Headline      string
	Times         []courseTime // Was by the plan's length, Now by the mean
	Rules         string
}

// Wrong is what is wrong with one box of the form; "" is nothing.
func (p wheelPage) Wrong(box string) string { return p.Marks[box] }

// wheel is GET /ground/{id}/wheel?course=…&first=…&second=…: nothing is kept.
func (s *server) wheel(w http.ResponseWriter, r *http.Request) error {
	saved, newest, err := s.planAsked(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	v := wheelPage{Frame: s.Frame("ground", "Two wheel readings: "+saved.Name), Saved: saved, Newest: newest, Marks: map[string]string{},
		First: strings.TrimSpace(q.Get("first")), Second: strings.TrimSpace(q.Get("second"))}
	var course *plan.Course
	for i := range saved.Plan.Courses {
		c := &saved.Plan.Courses[i]
		on := c.Name == q.Get("course") || course == nil && !q.Has("course")
		if on {
			course = c
		}
		v.Courses = append(v.Courses, book.Choice{Value: c.Name, Label: c.Name, On: on})
	}
	if course == nil && q.Get("course") != "" {
		return &fault.Fault{Code: fault.NotFound, Rule: "course-name", Place: "course", Message: fmt.Sprintf("the plan has no course called %q", q.Get("course")), Hint: "choose one from the list"}
	}
	if course != nil && len(course.Gates) > 0 {
		v.Planned = cones.Measure(saved.Plan, course).Length
	}
	if !q.Has("first") && !q.Has("second") {
		return s.Render(w, http.StatusOK, "survey_wheel", v)
	}
	var m [2]float64
	for i, box := range []struct{ name, text string }{{"first", v.First}, {"second", v.Second}} {
		var ok bool
		if m[i], ok = tapeNumber(box.text); !ok || m[i] <= 0 || m[i] > survey.MaxLength {
			v.Marks[box.name] = fmt.Sprintf("%q is no reading; metres, such as 612.5", box.text)
		}
	}
	if len(v.Marks) > 0 {
		return s.Render(w, http.StatusUnprocessableEntity, "survey_wheel", v)
	}
	res, err := survey.Wheel(m[0], m[1], v.Planned)
	if err != nil {
		return err
	}
	v.Result = &res
	v.Headline = fmt.Sprintf("Take %.1f m. The two readings are %.1f\u00a0%% apart.", res.Mean, 100*res.Spread)
	if res.Again {
		v.Headline = fmt.Sprintf("Wheel it again: the two readings are %.1f\u00a0%% apart, more than 2\u00a0%%.", 100*res.Spread)
	}
	if course != nil {
		profile, err := rules.Load("")
		if err != nil {
			return err
		}
		rule := cones.RulesOf(profile)
		v.Rules = rule.Name
		for _, class := range slices.Sorted(maps.Keys(course.SpeedMPerMin)) {
			if speed := course.SpeedMPerMin[class]; speed > 0 {
				v.Times = append(v.Times, courseTime{class, speed, rule.TimeAllowed(v.Planned, speed), rule.TimeAllowed(res.Mean, speed)})
			}
		}
	}
	return s.Render(w, http.StatusOK, "survey_wheel", v)
}
