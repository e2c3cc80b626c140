package trials

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"terret/internal/gates"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// classThing is a class: what is driven against each other.
type classThing struct{}

func (classThing) word() string { return "class" }
func (classThing) back() string { return "setup" }

func (classThing) of(s *trial.Sheet, name string) bool {
	return s.Phase == rules.Judged && s.Class == name
}

func (classThing) place(t *trial.Trial, name string) string {
	return fmt.Sprintf("classes[%d]", slices.IndexFunc(t.Classes, func(c trial.Class) bool { return c.ID == name }))
}

func (classThing) values(t *trial.Trial, name string) (url.Values, bool) {
	for _, c := range t.Classes {
		if c.ID == name {
			return url.Values{"id": {c.ID}, "name": {c.Name}, "hitch": {c.Hitch}, "size": {c.Size}, "phases": c.Phases, "through": {c.Through}, "level": {c.Level}, "judged": {c.Judged}}, true
		}
	}
	return nil, false
}

// fewestPhases is how many boxes for phases the form has at least.
const fewestPhases = 4

func (classThing) rows(t *openTrial, v url.Values) []fillRow {
	covered := rules.Phases()
	if t.profile != nil {
		covered = t.profile.Covers
	}
	phases := fillRow{Legend: "What it drives, in this order", Hint: "A judged class drives that alone: it is counted in percent."}
	for k := range max(fewestPhases, len(v["phases"])) {
		label := "then"
		if k == 0 {
			label = "first"
		}
		phases.Boxes = append(phases.Boxes, fill{Key: "phases", N: k, Label: label, Choices: offer("nothing more", nth(v, "phases", k), covered...)})
	}
	levels := offer("none", v.Get("level"))
	for _, l := range rules.Levels() {
		label := l
		if t.profile != nil {
			label += ", letters " + lettersOf(t.profile.Get("level."+l+".through").Value)
		}
		levels = append(levels, book.Choice{Value: l, Label: label, On: l == v.Get("level")})
	}
	return []fillRow{
		{Boxes: []fill{
			{Key: "id", Label: "Short name", Hint: "As it stands on sheets and lists: P, N, 1.", Value: v.Get("id")},
			{Key: "name", Label: "Name", Hint: "Single pony, beginners.", Value: v.Get("name")},
		}},
		{Boxes: []fill{
			{Key: "hitch", Label: "Hitch", Hint: "With the size it says the speed in cones.", Choices: offer("any", v.Get("hitch"), trial.Hitches()...)},
			{Key: "size", Label: "Size", Choices: offer("any", v.Get("size"), trial.Sizes()...)},
		}},
		phases,
		{Legend: "Letters in the hazards", Boxes: []fill{
			{Key: "level", Label: "Level", Choices: levels},
			{Key: "through", Label: "Or the last letter", Hint: "One capital letter; it goes before the level. With neither, no letters are taken from hazard sheets.", Value: v.Get("through")},
		}},
		{Boxes: []fill{{Key: "judged", Label: "If it is judged, what is", Choices: offer("it is not, or in parts of its own", v.Get("judged"), trial.JudgedKinds()...)}}},
	}
}

// lettersOf writes the letters up to the last one: "A to C".
func lettersOf(last string) string {
	all := gates.Letters(last)
	if len(all) < 2 {
		return strings.Join(all, "")
	}
	return all[0] + " to " + all[len(all)-1]
}

func (k classThing) put(t *openTrial, was string, f url.Values) (*trial.Trial, string, map[string]string) {
	c := trial.Class{ID: f.Get("id"), Name: f.Get("name"), Hitch: f.Get("hitch"), Size: f.Get("size"), Through: strings.ToUpper(f.Get("through")), Level: f.Get("level"), Judged: f.Get("judged")}
	wrong := wrongs{}
	wrong.add("id", shortName(t, k, was, c.ID))
	wrong.add("hitch", among(c.Hitch, trial.Hitches()...))
	wrong.add("size", among(c.Size, trial.Sizes()...))
	wrong.add("level", among(c.Level, rules.Levels()...))
	wrong.add("judged", among(c.Judged, trial.JudgedKinds()...))
	for n, p := range f["phases"] {
		if p == "" {
			continue
		}
		ref := fill{Key: "phases", N: n}.ref()
		wrong.add(ref, among(p, rules.Phases()...))
		if slices.Contains(c.Phases, p) {
			wrong.add(ref, p+" stands here twice; name each once")
		}
		c.Phases = append(c.Phases, p)
	}
	if len(c.Phases) == 0 {
		wrong.add("phases", "name at least one")
	}
	if n := t.sheets(func(s *trial.Sheet) bool { return k.of(s, was) }); was != "" && was != c.ID && (n > 0 || t.ledger.Posted(was) != nil) {
		wrong.add("id", "its sheets are in or its placings were up as "+was+"; the short name cannot change any more")
	}
	if len(wrong) > 0 {
		return nil, "", wrong
	}
	return t.setting.Trial.PutClass(was, c), c.ID, nil
}

func (classThing) drop(t *trial.Trial, name string) (*trial.Trial, error) { return t.DropClass(name) }

// wrongs gathers by box what is wrong; the first word on a box stays.
type wrongs map[string]string

func (w wrongs) add(ref, says string) {
	if says != "" && w[ref] == "" {
		w[ref] = says
	}
}
