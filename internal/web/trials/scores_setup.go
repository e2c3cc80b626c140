package trials

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// setupPage is what a trial is made of but for its entries: by which rules, which
// classes drive what, on which courses and by which tests.
type setupPage struct {
	trialHead
	Seen     int
	Own      bool // rules of its own are kept with it
	Title    fill
	Profile  fill
	Moved    string
	WhoBy    initials
	Done     string
	Classes  []setupLine
	Courses  []setupPart
	Tests    []setupLine
	Dressage bool // some class drives it
}

// setupPart are the courses of one phase.
type setupPart struct {
	Phase, Word string
	Lines       []setupLine
}

// setupLine is one class, course or test.
type setupLine struct {
	Name, Title, Says string
}

func (s *server) setupPage(r *http.Request, t *openTrial) *setupPage {
	day := t.setting.Trial
	v := &setupPage{trialHead: s.trialHead(r, t, "setup", "Classes and courses"), Seen: t.setting.Version, Own: t.setting.Overlay != "", Done: done(r)}
	v.WhoBy = initials{ID: "by", By: v.By}
	v.Title, v.Profile = rulesBoxes(day.Name, ownRules(t.setting), v.Own)
	for i := range day.Classes {
		c := &day.Classes[i]
		says := []string{strings.Join(c.Phases, ", ")}
		if c.Hitch+c.Size != "" {
			says = append(says, strings.TrimSpace(c.Hitch+" "+c.Size))
		}
		if t.profile != nil {
			if l := c.Letters(t.profile); len(l) > 0 && c.Has(rules.Hazards) {
				says = append(says, "letters "+lettersOf(l[len(l)-1]))
			}
		}
		v.Classes = append(v.Classes, setupLine{c.ID, c.Name, strings.Join(says, " · ")})
		v.Dressage = v.Dressage || c.Has(rules.Dressage)
	}
	for _, phase := range coursePhases() {
		part := setupPart{Phase: phase, Word: courseWord(phase)}
		for i := range day.Courses {
			if c := &day.Courses[i]; c.Phase == phase {
				part.Lines = append(part.Lines, setupLine{c.ID, c.Name, courseSays(c)})
			}
		}
		if len(part.Lines) > 0 || slices.ContainsFunc(day.Classes, func(c trial.Class) bool { return c.Has(phase) }) {
			v.Courses = append(v.Courses, part)
		}
	}
	for _, x := range day.Tests {
		says := "most marks " + x.Maximum
		if n := len(x.Movements); n > 0 {
			says = itoaText(n) + " marks, " + x.Maximum + " at most"
		}
		if x.Coefficient != "" {
			says += " · coefficient " + x.Coefficient
		}
		v.Tests = append(v.Tests, setupLine{x.ID, x.Name, says})
	}
	return v
}

// Heading is what the courses of the phase stand under.
func (p setupPart) Heading() string {
	return map[string]string{rules.Sections: "Sections", rules.Hazards: "Hazards", rules.Cones: "Cones", rules.Timed: "Timed courses"}[p.Phase]
}

// setupList are lines with what leads from each to its form.
type setupList struct {
	ID, Kind string
	Lines    []setupLine
}

// ListOf are lines of one kind of thing.
func (v *setupPage) ListOf(kind string, lines []setupLine) setupList {
	return setupList{v.ID, kind, lines}
}

// courseSays is a course in a line.
func courseSays(c *trial.Course) string {
	var says []string
	add := func(before, value, after string) {
		if value != "" {
			says = append(says, before+value+after)
		}
	}
	add("", c.Kind, "")
	add("", c.LengthM, " m")
	add("", c.SpeedMPerMin, " m a minute")
	add("time allowed ", c.AllowedS, " s")
	add("least time ", c.MinimumS, " s")
	add("limit ", c.LimitS, " s")
	if len(c.Classes) > 0 {
		add("for ", strings.Join(c.Classes, ", "), "")
	}
	return strings.Join(says, " · ")
}

// ownRules is the choice that stands for what a setting is scored by.
func ownRules(s trial.Setting) string {
	switch {
	case s.Overlay != "":
		return "own"
	case s.Trial.Rules == "":
		return rules.Default
	}
	return s.Trial.Rules
}

// rulesBoxes are the boxes for a trial's name and rules; own offers those that are
// kept with it.
func rulesBoxes(name, chosen string, own bool) (title, profile fill) {
	title = fill{Key: "name", Label: "Name of the day", Value: name}
	profile = fill{Key: "rules", Label: "Rules", Hint: "What each of them counts stands on the Rules page."}
	if own {
		profile.Choices = append(profile.Choices, book.Choice{Value: "own", Label: "its own, kept with it", On: chosen == "own"})
	}
	for _, n := range rules.Names() {
		profile.Choices = append(profile.Choices, book.Choice{Value: n, Label: n, On: n == chosen})
	}
	return title, profile
}

// dayName is what is wrong with the name of a trial; "" nothing.
func dayName(name string) string {
	switch {
	case name == "":
		return "write what the day is called; it stands on every sheet"
	case len(name) > 120:
		return "120 letters at most"
	}
	return ""
}

// scoreSetup is GET /scores/{id}/setup.
func (s *server) scoreSetup(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	return s.Render(w, http.StatusOK, "scores_setup", s.setupPage(r, t))
}

// scoreRules is POST /scores/{id}/rules: another name, or other rules from now on.
func (s *server) scoreRules(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	f, err := form(w, r)
	if err != nil {
		return err
	}
	v := s.setupPage(r, t)
	was := v.Profile
	own := v.Own
	v.Title, v.Profile = rulesBoxes(f.Get("name"), f.Get("rules"), own)
	v.WhoBy = initials{"by", f.Get("by"), nameless(f.Get("by"))}
	v.Title.Wrong = dayName(f.Get("name"))
	seen, ok := book.NumberText(f.Get("seen"))
	if !ok {
		return book.Torn()
	}
	if seen != t.setting.Version {
		drawn, err := t.store.Setting(r.Context(), t.id, seen)
		if err != nil {
			return err
		}
		if drawn.Name != t.setting.Name || ownRules(drawn) != ownRules(t.setting) {
			if v.Title.Value != t.setting.Name {
				v.Title.Now = t.setting.Name
			}
			if was.says() != v.Profile.says() {
				v.Profile.Now = was.says()
			}
			v.Moved = cmp.Or(t.setting.By, "Somebody") + " changed this while you filled in the form. What stands there now is beside each box; keep yours again to put it in its place."
			return s.Render(w, http.StatusConflict, "scores_setup", v)
		}
	}
	next, overlay, note := *t.setting.Trial, t.setting.Overlay, "name"
	next.Name = f.Get("name")
	if f.Get("rules") != "own" || !own {
		p, err := builtIn(f.Get("rules"))
		if err != nil {
			return err
		}
		if own || next.Rules != p.Name {
			note = "rules: " + p.Name
		}
		next.Rules, overlay = p.Name, ""
		for _, pr := range next.Validate(p) { // a sheet that does not fit is left off and told
			v.Profile.Wrong = strings.TrimSuffix(pr.Message+"; "+pr.Hint, "; ")
			break
		}
	}
	if v.Title.Wrong != "" || v.Profile.Wrong != "" || v.WhoBy.Wrong != "" {
		return s.Render(w, http.StatusUnprocessableEntity, "scores_setup", v)
	}
	if err := s.save(r, t, &next, overlay, f.Get("by"), note); err != nil {
		return err
	}
	rememberWriter(w, f.Get("by"))
	says := "every score was counted anew"
	if note == "name" {
		says = "the name is kept"
	}
	return seeOther(w, r, t, "setup", url.Values{"done": {says}})
}
