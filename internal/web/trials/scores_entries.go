package trials

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"terret/internal/trial"
	"terret/internal/trial/order"
	"terret/internal/web/book"
)

// entryThing is an entry: a driver with what is driven, in one class.
type entryThing struct{}

func (entryThing) word() string { return "entry" }
func (entryThing) back() string { return "entries" }

func (entryThing) of(s *trial.Sheet, name string) bool { return fmt.Sprint(s.Entry) == name }

func (entryThing) place(t *trial.Trial, name string) string {
	return fmt.Sprintf("entries[%d]", slices.IndexFunc(t.Entries, func(e trial.Entry) bool { return fmt.Sprint(e.Number) == name }))
}

func (entryThing) values(t *trial.Trial, name string) (url.Values, bool) {
	for _, e := range t.Entries {
		if fmt.Sprint(e.Number) != name {
			continue
		}
		v := url.Values{"number": {name}, "class": {e.Class}, "driver": {e.Driver}, "horses": {strings.Join(e.Horses, "; ")}, "grooms": {strings.Join(e.Grooms, "; ")}, "vehicle": {e.Vehicle}, "gap_cm": {itoaText(e.GapCM)}}
		for _, w := range e.Wishes {
			for key, s := range map[string]string{"phase": w.Phase, "not_before": clockText(w.NotBefore), "not_after": clockText(w.NotAfter), "behind": itoaText(w.Behind), "why": w.Why} {
				v.Add("wishes."+key, s)
			}
		}
		return v, true
	}
	return nil, false
}

// clockText writes a time of day that may be left out.
func clockText(c order.Clock) string {
	if c == 0 {
		return ""
	}
	return c.String()
}

func (entryThing) rows(t *openTrial, v url.Values) []fillRow {
	var classes []book.Choice
	classes = append(classes, book.Choice{Value: "", Label: "", On: v.Get("class") == ""})
	for _, c := range t.setting.Trial.Classes {
		label := c.ID
		if c.Name != "" {
			label += ", " + c.Name
		}
		classes = append(classes, book.Choice{Value: c.ID, Label: label, On: c.ID == v.Get("class")})
	}
	rows := []fillRow{
		{Boxes: []fill{
			{Key: "number", Label: "Number", Hint: "The one on the carriage.", Value: v.Get("number"), Numeric: true},
			{Key: "class", Label: "Class", Choices: classes},
			{Key: "driver", Label: "Driver", Value: v.Get("driver")},
		}},
		{Boxes: []fill{
			{Key: "horses", Label: "Horses", Hint: "Parted by semicolons.", Value: v.Get("horses")},
			{Key: "grooms", Label: "Grooms", Hint: "Parted by semicolons.", Value: v.Get("grooms")},
			{Key: "vehicle", Label: "Vehicle", Value: v.Get("vehicle")},
			{Key: "gap_cm", Label: "Cones gap, cm", Hint: "The track and what the class adds.", Value: v.Get("gap_cm"), Numeric: true},
		}},
	}
	var phases []string
	if t.setting.Trial.Timetable != nil {
		for _, p := range t.setting.Trial.Timetable.Phases {
			phases = append(phases, p.Name)
		}
	}
	for k := range wishRows(v) {
		row := fillRow{Legend: "A wish for the order of go"}
		if k > 0 {
			row.Legend = "Another wish"
		}
		row.Boxes = []fill{
			{Key: "wishes.phase", N: k, Label: "In which phase", Choices: offer("all of them", nth(v, "wishes.phase", k), phases...)},
			{Key: "wishes.not_before", N: k, Label: "Not before", Hint: "Such as 10:30.", Value: nth(v, "wishes.not_before", k)},
			{Key: "wishes.not_after", N: k, Label: "Not after", Value: nth(v, "wishes.not_after", k)},
			{Key: "wishes.behind", N: k, Label: "Behind number", Value: nth(v, "wishes.behind", k), Numeric: true},
			{Key: "wishes.why", N: k, Label: "Why", Value: nth(v, "wishes.why", k)},
		}
		rows = append(rows, row)
	}
	return rows
}

// wishRows is how many rows for wishes the form has: those that are there, and an
// empty one.
func wishRows(v url.Values) int {
	n := len(v["wishes.phase"])
	if n > 0 && nth(v, "wishes.not_before", n-1)+nth(v, "wishes.not_after", n-1)+nth(v, "wishes.behind", n-1)+nth(v, "wishes.phase", n-1)+nth(v, "wishes.why", n-1) == "" {
		return n // the last one is empty already
	}
	return min(n+1, trial.MostNames)
}

func (k entryThing) put(t *openTrial, was string, f url.Values) (*trial.Trial, string, map[string]string) {
	old, _ := book.NumberText(was)
	var e trial.Entry
	if x := t.entry(old); x != nil {
		e = *x // what the form does not ask stays
	}
	wrong := wrongs{}
	n, ok := book.NumberText(f.Get("number"))
	if !ok {
		wrong.add("number", "a number from 1 to 99999 is wanted, the one on the carriage")
	}
	if other := t.entry(n); other != nil && n != old {
		wrong.add("number", fmt.Sprintf("number %d is %s already; give this one another", n, other.Driver))
	}
	if old > 0 && n != old && t.sheets(func(s *trial.Sheet) bool { return s.Entry == old }) > 0 {
		wrong.add("number", fmt.Sprintf("sheets of %d are in; its number cannot change any more", old))
	}
	if t.class(f.Get("class")) == nil {
		wrong.add("class", "choose the class from the list")
	}
	if f.Get("driver") == "" {
		wrong.add("driver", "write who drives")
	}
	gap := 0
	if g := f.Get("gap_cm"); g != "" {
		if gap, ok = book.NumberText(g); !ok || gap > 1000 {
			wrong.add("gap_cm", "whole centimetres, from 1 to 1000, such as 165")
		}
	}
	e.Number, e.Class, e.Driver, e.Vehicle, e.GapCM = n, f.Get("class"), f.Get("driver"), f.Get("vehicle"), gap
	e.Horses, e.Grooms = names(f.Get("horses")), names(f.Get("grooms"))
	for key, all := range map[string][]string{"horses": e.Horses, "grooms": e.Grooms} {
		if len(all) > trial.MostNames {
			wrong.add(key, fmt.Sprintf("%d stand there; at most %d are taken", len(all), trial.MostNames))
		}
	}
	e.Wishes = nil
	for i := range f["wishes.phase"] {
		if w, there := wishOf(f, i, wrong); there {
			e.Wishes = append(e.Wishes, w)
		}
	}
	if len(wrong) > 0 {
		return nil, "", wrong
	}
	return t.setting.Trial.PutEntry(old, e), fmt.Sprint(n), nil
}

// wishOf reads one row of wishes; there is false when it is left empty.
func wishOf(f url.Values, i int, wrong wrongs) (w order.Wish, there bool) {
	ref := func(key string) string { return fill{Key: "wishes." + key, N: i}.ref() }
	w = order.Wish{Phase: nth(f, "wishes.phase", i), Why: nth(f, "wishes.why", i)}
	for key, into := range map[string]*order.Clock{"not_before": &w.NotBefore, "not_after": &w.NotAfter} {
		s := nth(f, "wishes."+key, i)
		if s == "" {
			continue
		}
		c, ok := order.ParseClock(s)
		if !ok {
			wrong.add(ref(key), "a time of day is wanted, such as 10:30")
		}
		*into = c
	}
	if s := nth(f, "wishes.behind", i); s != "" {
		n, ok := book.NumberText(s)
		if !ok {
			wrong.add(ref("behind"), "the number of another entry is wanted")
		}
		w.Behind = n
	}
	switch {
	case w.NotBefore != 0 && w.NotAfter != 0 && w.NotBefore > w.NotAfter:
		wrong.add(ref("not_after"), "no time is not before the one and not after the other")
	case w.NotBefore == 0 && w.NotAfter == 0 && w.Behind == 0 && (w.Phase != "" || w.Why != ""):
		wrong.add(ref("not_before"), "the wish wishes nothing: write a time, or behind whom")
	}
	return w, w.NotBefore != 0 || w.NotAfter != 0 || w.Behind != 0
}

func (entryThing) drop(t *trial.Trial, name string) (*trial.Trial, error) {
	n, _ := book.NumberText(name)
	return t.DropEntry(n), nil
}
