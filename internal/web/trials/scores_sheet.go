package trials

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// sheetForm is one paper sheet as boxes to type into, in the order of the paper.
type sheetForm struct {
	Number string
	Boxes  []sheetBox // of every sheet of this pile
	Rare   []sheetBox // seldom needed, behind a fold
	Names  []faultName
	Faults fault.List // of no box
	Mark   string     // the ID the sheet will have
	Old    *trial.Mark
	Moved  string
}

// sheetBox is one box of the form.
type sheetBox struct {
	Key, Label, Value string
	Kind              string // "mark", "decimal", "text", "choice"
	Choices           []string
	Hint, Wrong, Was  string // Was: what stands on the sheet that counts
}

// ID is the box's id on the page.
func (b sheetBox) ID() string { return "b-" + strings.NewReplacer(".", "-", " ", "-").Replace(b.Key) }

// faultName is a fault that can be written on a sheet, with its meaning.
type faultName struct{ Name, Says string }

// faultNames lists the faults of a phase. The shortest beginning that is enough
// can be typed.
func faultNames(phase string) []faultName {
	table := rules.KeyTable()
	var all []faultName
	for _, n := range rules.FaultNames(phase) {
		f := faultName{Name: strings.ReplaceAll(n, "_", " ")}
		if k, ok := table[rules.KeyOf(phase, n)]; ok {
			f.Says = k.Says
		}
		switch {
		case n == "rebuilt":
			f.Says = "obstacle rebuilt after the bell"
		case n == "course_error" && f.Says == "":
			f.Says = "error of course that was put right"
		}
		all = append(all, f)
	}
	slices.SortFunc(all, func(a, b faultName) int { return strings.Compare(a.Name, b.Name) })
	return all
}

// boxes are the boxes of a pile's sheets, in the paper's order.
func (t *openTrial) boxes(p pile) (often, rare []sheetBox) {
	add := func(all *[]sheetBox, key, label, kind, hint string) {
		*all = append(*all, sheetBox{Key: key, Label: label, Kind: kind, Hint: hint})
	}
	switch p.Phase {
	case rules.Dressage:
		n := 0
		for _, x := range t.setting.Trial.Tests {
			if x.ID == p.Test {
				n = len(x.Movements)
				for i, m := range x.Movements {
					label := strconv.Itoa(m.No)
					if m.Times > 1 {
						label += fmt.Sprintf(" (× %d)", m.Times)
					}
					add(&often, fmt.Sprintf("m.%d", i), label, "mark", "")
				}
			}
		}
		if n == 0 {
			add(&often, "marks", "Marks, in their order", "text", "blanks between, - for one that is missing")
		}
	case rules.Judged:
		c := t.class(p.Class)
		if c.Judged != "" && t.profile != nil {
			for _, part := range t.profile.Split("judged." + c.Judged) {
				add(&often, "p."+part.Name, part.Name, "decimal", "of "+part.Most)
			}
		} else {
			add(&often, "p.score", "score", "decimal", "of 100")
		}
	case rules.Hazards:
		add(&often, "gates", "Letters as driven", "text", "abc or A B C; < behind one driven backwards")
		add(&often, "seconds", "Seconds", "decimal", "")
	case rules.Sections:
		add(&often, "seconds", "Seconds", "decimal", "")
	case rules.Cones:
		add(&often, "seconds", "Seconds", "decimal", "")
		add(&often, "knocked", "Knocked", "text", "obstacles, such as 3 7b")
	case rules.Timed:
		kind := ""
		for _, c := range t.setting.Trial.Courses {
			if c.ID == p.Course {
				kind = c.Kind
			}
		}
		switch kind {
		case trial.FaultAndOut:
			add(&often, "cleared", "Obstacles clear", "decimal", "before the first fault or the bell")
			often = append(often, sheetBox{Key: "extra", Label: "The one more", Kind: "choice", Choices: []string{"", trial.ExtraClear, trial.ExtraMissed, trial.ExtraNotDriven}})
		case trial.ChoiceByPoints:
			add(&often, "driven", "Obstacles clear, in the order driven", "text", "blanks between")
		}
		add(&often, "seconds", "Seconds", "decimal", "")
	}
	add(&often, "faults", "Faults", "text", "empty when there are none; the first letters are enough: "+faultHint(p.Phase))
	if p.Phase != rules.Dressage && p.Phase != rules.Judged {
		add(&rare, "backup", "Second watch, seconds", "decimal", "")
	}
	if p.Phase == rules.Hazards || p.Phase == rules.Cones || p.Phase == rules.Timed {
		add(&rare, "stops", "Stopped by the bell, seconds each", "text", "only where the watch ran on; blanks between")
	}
	add(&rare, "out", "The judge eliminated: why", "text", "")
	return often, rare
}

func faultHint(phase string) string {
	switch phase {
	case rules.Hazards:
		return "dis 2, groom d"
	case rules.Cones:
		return "ref, rebuilt 2"
	case rules.Timed:
		return "kn 2"
	}
	return "course 1"
}

// values are what a sheet has in the boxes.
func values(s *trial.Sheet) map[string]string {
	v := map[string]string{
		"marks": strings.Join(s.Marks, " "), "gates": s.Gates, "seconds": s.Seconds, "backup": s.Backup, "stops": strings.Join(s.Stops, " "),
		"knocked": strings.Join(s.Knocked, " "), "driven": strings.Join(s.Driven, " "), "extra": s.Extra, "out": s.Out, "faults": faultText(s.Faults),
	}
	for i, m := range s.Marks {
		v[fmt.Sprintf("m.%d", i)] = m
	}
	for k, m := range s.Parts {
		v["p."+k] = m
	}
	if s.Cleared > 0 {
		v["cleared"] = strconv.Itoa(s.Cleared)
	}
	return v
}

// faultText writes faults as they are typed.
func faultText(m map[string]int) string {
	var all []string
	for _, k := range slices.Sorted(maps.Keys(m)) {
		word := strings.ReplaceAll(k, "_", " ")
		if m[k] != 1 {
			word += " " + strconv.Itoa(m[k])
		}
		all = append(all, word)
	}
	return strings.Join(all, ", ")
}

// readFaults reads "dis 2, groom d": names by their beginnings, each with how
// often. wrong says what cannot be read.
func readFaults(phase, text string) (m map[string]int, wrong string) {
	for _, piece := range strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' || c == '\n' }) {
		words := strings.Fields(strings.ReplaceAll(strings.ToLower(piece), "_", " "))
		if len(words) == 0 {
			continue
		}
		n := 1
		if k, err := strconv.Atoi(words[len(words)-1]); err == nil {
			n, words = k, words[:len(words)-1]
		} else if k, err := strconv.Atoi(words[0]); err == nil {
			n, words = k, words[1:]
		}
		if n < 1 || n > 999 {
			return nil, fmt.Sprintf("%q: how often is 1 to 999", strings.TrimSpace(piece))
		}
		typed := strings.Join(words, " ")
		var fit []string
		for _, name := range rules.FaultNames(phase) {
			full := strings.ReplaceAll(name, "_", " ")
			if full == typed {
				fit = []string{name}
				break
			}
			if typed != "" && strings.HasPrefix(full, typed) {
				fit = append(fit, name)
			}
		}
		switch len(fit) {
		case 0:
			return nil, fmt.Sprintf("there is no fault %q here; the names stand below", strings.TrimSpace(piece))
		case 1:
		default:
			return nil, fmt.Sprintf("%q may be %s; write a letter more", typed, strings.ReplaceAll(strings.Join(fit, " or "), "_", " "))
		}
		if m == nil {
			m = map[string]int{}
		}
		m[fit[0]] += n
	}
	return m, ""
}

// spaced writes letters apart that were typed in one go: "abd<c" is "A B D< C".
// What is no row of letters stays as it was typed, for the judge to say so.
func spaced(text string) string {
	var out []string
	for _, w := range strings.Fields(text) {
		if l := strings.ToLower(strings.TrimRight(w, "<←")); l == "in" || l == "out" {
			out = append(out, w)
			continue
		}
		var run []string
		for _, c := range w {
			switch {
			case c >= 'a' && c <= 'z':
				run = append(run, string(c-'a'+'A'))
			case c >= 'A' && c <= 'Z':
				run = append(run, string(c))
			case (c == '<' || c == '←') && len(run) > 0 && !strings.HasSuffix(run[len(run)-1], "<"):
				run[len(run)-1] += "<"
			default:
				run = nil
			}
			if run == nil {
				break
			}
		}
		if run == nil {
			out = append(out, w)
		} else {
			out = append(out, run...)
		}
	}
	return strings.Join(out, " ")
}

// readSheet makes a sheet of what was typed. wrong is what cannot be read, by box.
func (t *openTrial) readSheet(p pile, entry int, f url.Values) (s trial.Sheet, wrong map[string]string) {
	wrong = map[string]string{}
	s = p.run(entry)
	often, rare := t.boxes(p)
	for _, b := range append(often, rare...) {
		text := f.Get(b.Key)
		switch b.Key {
		case "gates":
			s.Gates = spaced(text)
		case "seconds":
			s.Seconds = text
		case "backup":
			s.Backup = text
		case "out":
			s.Out = text
		case "extra":
			s.Extra = text
		case "marks":
			s.Marks = strings.Fields(text)
		case "stops":
			s.Stops = strings.Fields(text)
		case "knocked":
			s.Knocked = labelled(text)
		case "driven":
			s.Driven = labelled(text)
		case "cleared":
			if text == "" {
				break
			}
			n, err := strconv.Atoi(text)
			if err != nil || n < 0 || n > 999 {
				wrong[b.Key] = "a whole number is wanted, such as 9"
			}
			s.Cleared = n
		case "faults":
			var why string
			if s.Faults, why = readFaults(p.Phase, text); why != "" {
				wrong[b.Key] = why
			}
		default:
			if strings.HasPrefix(b.Key, "m.") {
				if text == "" {
					text = "-"
				}
				s.Marks = append(s.Marks, text)
			}
			if part, ok := strings.CutPrefix(b.Key, "p."); ok && text != "" {
				if s.Parts == nil {
					s.Parts = map[string]string{}
				}
				s.Parts[part] = text
			}
		}
	}
	return s, wrong
}

// labelled reads numbers of obstacles, parted by blanks or commas.
func labelled(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return c == ' ' || c == ',' || c == ';' })
}

// atBox is the box that a fault of a checked sheet belongs to; "" none.
func atBox(place string) string {
	i := strings.LastIndex(place, " ")
	path := place[i+1:]
	if dot := strings.Index(path, "."); dot >= 0 {
		path = path[dot+1:]
	} else {
		return ""
	}
	if n, ok := strings.CutPrefix(path, "marks["); ok {
		return "m." + strings.TrimSuffix(n, "]")
	}
	if part, ok := strings.CutPrefix(path, "parts."); ok {
		return "p." + part
	}
	key, _, _ := strings.Cut(path, "[")
	key, _, _ = strings.Cut(key, ".")
	if key == "entry" || key == "course" {
		return "number"
	}
	return key
}

// checked says what is wrong with a sheet, by box; rest is of no box that is there.
func (t *openTrial) checked(s trial.Sheet, boxes []sheetBox) (wrong map[string]string, rest fault.List) {
	wrong = map[string]string{}
	err := trial.CheckSheet(t.setting.Trial, t.profile, s)
	for _, f := range book.FaultsOf(err) {
		key := atBox(f.Place)
		if strings.HasPrefix(key, "m.") {
			if !slices.ContainsFunc(boxes, func(b sheetBox) bool { return b.Key == key }) {
				key = "marks"
			}
		}
		known := key == "number" || slices.ContainsFunc(boxes, func(b sheetBox) bool { return b.Key == key })
		says := f.Message
		if f.Hint != "" {
			says += "; " + f.Hint
		}
		if !known {
			rest = append(rest, &fault.Fault{Rule: f.Rule, Message: f.Message, Hint: f.Hint})
			continue
		}
		if wrong[key] == "" {
			wrong[key] = says
		}
	}
	// A sheet with nothing on it is a slip of the hand.
	if err == nil && s.Seconds == "" && s.Gates == "" && len(s.Marks) == 0 && len(s.Parts) == 0 && s.Out == "" && s.Cleared == 0 && len(s.Driven) == 0 && s.Extra == "" {
		rest = append(rest, &fault.Fault{Rule: "empty", Message: "there is nothing on this sheet but its number", Hint: "write the time, or why the judge eliminated"})
	}
	return wrong, rest
}

// sameSheet reports whether two sheets say the same.
func sameSheet(a, b *trial.Sheet) bool {
	x, y := values(a), values(b)
	return maps.Equal(x, y)
}
