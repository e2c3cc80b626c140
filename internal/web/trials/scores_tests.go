package trials

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// testThing is a dressage test.
type testThing struct{}

func (testThing) word() string { return "test" }
func (testThing) back() string { return "setup" }

func (testThing) of(s *trial.Sheet, name string) bool {
	return s.Phase == rules.Dressage && (s.Test == name || s.Test == "")
}

func (testThing) place(t *trial.Trial, name string) string {
	return fmt.Sprintf("tests[%d]", slices.IndexFunc(t.Tests, func(x trial.Test) bool { return x.ID == name }))
}

func (testThing) values(t *trial.Trial, name string) (url.Values, bool) {
	for _, x := range t.Tests {
		if x.ID != name {
			continue
		}
		var more, texts []string
		for _, m := range x.Movements {
			texts = append(texts, cmp.Or(strings.Join(strings.Fields(m.Text), " "), noText))
			if m.Times > 1 {
				more = append(more, fmt.Sprintf("%d × %d", m.No, m.Times))
			}
		}
		return url.Values{"id": {x.ID}, "name": {x.Name}, "marks": {itoaText(len(x.Movements))}, "more": {strings.Join(more, ", ")}, "texts": {strings.Join(withoutTail(texts), "\n")}, "maximum": {x.Maximum}, "coefficient": {x.Coefficient}}, true
	}
	return nil, false
}

func (testThing) rows(t *openTrial, v url.Values) []fillRow {
	coefficient := fill{Key: "coefficient", Label: "Coefficient", Hint: "As it is printed on the sheet, such as 0.80. Empty where none is.", Value: v.Get("coefficient"), Numeric: true}
	if t.profile != nil {
		switch t.profile.Get("dressage.coefficient").Value {
		case rules.Never:
			coefficient.Hint = "These rules use none."
		case rules.Above160:
			coefficient.Hint = "As printed; these rules use it where the most marks are over 160."
		}
	}
	return []fillRow{
		{Boxes: []fill{
			{Key: "id", Label: "Short name", Hint: "As it stands on the sheets: T1.", Value: v.Get("id")},
			{Key: "name", Label: "Name", Value: v.Get("name")},
		}},
		{Boxes: []fill{
			{Key: "marks", Label: "How many marks on a sheet", Hint: "Movements and those at the foot together. Empty: as many as the judge wrote.", Value: v.Get("marks"), Numeric: true},
			{Key: "more", Label: "Those that count more than once", Hint: "Their numbers: 3, 7, 12 count twice; 9 × 3 counts three times.", Value: v.Get("more")},
		}},
		{Boxes: []fill{
			{Key: "maximum", Label: "Most marks", Hint: fmt.Sprintf("As printed. Empty: %d for each of the marks.", mostMark(t)), Value: v.Get("maximum"), Numeric: true},
			coefficient,
		}},
		{Boxes: []fill{{Key: "texts", Label: "What each movement asks", Hint: "One a line, in their order, a dash where there is nothing to say: A, enter at working trot. It is printed on the judge's sheets.", Value: v.Get("texts"), Long: true}}},
	}
}

func (k testThing) put(t *openTrial, was string, f url.Values) (*trial.Trial, string, map[string]string) {
	x := trial.Test{ID: f.Get("id"), Name: f.Get("name"), Maximum: f.Get("maximum"), Coefficient: f.Get("coefficient")}
	wrong := wrongs{}
	wrong.add("id", shortName(t, k, was, x.ID))
	n, counted := book.NumberText(f.Get("marks"))
	if typed := f.Get("marks"); typed != "" && (!counted || n > trial.MostMarks) {
		wrong.add("marks", fmt.Sprintf("a whole number from 1 to %d is wanted", trial.MostMarks))
		n = 0
	}
	for i := range n {
		x.Movements = append(x.Movements, trial.Movement{No: i + 1, Times: 1})
	}
	for i, text := range lines(f.Get("texts")) {
		if i >= n {
			wrong.add("texts", fmt.Sprintf("there are more lines than the %d marks", n))
			break
		}
		x.Movements[i].Text = text
	}
	sum := n
	for part := range strings.FieldsFuncSeq(f.Get("more"), func(c rune) bool { return c == ',' || c == ';' }) {
		no, times, says := counts(strings.TrimSpace(part))
		switch {
		case says != "":
			wrong.add("more", says)
		case !counted:
			wrong.add("more", "say first how many marks there are")
		case no > n:
			wrong.add("more", fmt.Sprintf("there is no mark %d of %d", no, n))
		case x.Movements[no-1].Times > 1:
			wrong.add("more", fmt.Sprintf("mark %d stands there twice", no))
		default:
			x.Movements[no-1].Times = times
			sum += times - 1
		}
	}
	if x.Maximum == "" && counted {
		x.Maximum = strconv.Itoa(mostMark(t) * sum)
	}
	if most, ok := book.NumberText(x.Maximum); wrong["marks"] == "" && (!ok || most > 10_000) {
		wrong.add("maximum", "a whole number from 1 to 10000 is wanted, as it is printed on the sheet")
	}
	if was != "" && was != x.ID && t.sheets(func(s *trial.Sheet) bool { return k.of(s, was) }) > 0 {
		wrong.add("id", "sheets of "+was+" are in; its short name cannot change any more")
	}
	if len(wrong) > 0 {
		return nil, "", wrong
	}
	return t.setting.Trial.PutTest(was, x), x.ID, nil
}

// noText stands in the box for a movement of which nothing is said: an empty line at
// the beginning would be lost on the way.
const noText = "-"

// withoutTail leaves out what says nothing at the end.
func withoutTail(texts []string) []string {
	for len(texts) > 0 && texts[len(texts)-1] == noText {
		texts = texts[:len(texts)-1]
	}
	return texts
}

// lines are those of a box, without blanks round each.
func lines(text string) []string {
	if text == "" {
		return nil
	}
	all := strings.Split(text, "\n")
	for i := range all {
		if all[i] = strings.TrimSpace(all[i]); all[i] == noText {
			all[i] = ""
		}
	}
	return all
}

// mostMark is the highest mark of the rules in force.
func mostMark(t *openTrial) int {
	if t.profile != nil {
		if n, ok := book.NumberText(t.profile.Get("dressage.mark_most").Value); ok {
			return n
		}
	}
	return 10
}

// counts reads "7", a mark that counts twice, or "9 × 3" and "9x3".
func counts(part string) (no, times int, wrong string) {
	mark, often, ok := strings.Cut(strings.NewReplacer("×", "x", "X", "x", "*", "x").Replace(part), "x")
	no, good := book.NumberText(strings.TrimSpace(mark))
	times = 2
	if ok {
		n, fine := book.NumberText(strings.TrimSpace(often))
		times, good = n, good && fine && n <= 20
	}
	if !good {
		return 0, 0, fmt.Sprintf("%q stands there; write numbers of marks, such as 3, 7, 9 × 3", part)
	}
	return no, times, ""
}

func (testThing) drop(t *trial.Trial, name string) (*trial.Trial, error) {
	return t.DropTest(name), nil
}
