package turnout

import (
	"fmt"
	"slices"
	"strings"

	"terret/internal/strict"
)

// form is what a section or one of its keys holds.
type form int

const (
	anything form = iota // text, number, or true/false
	text
	number
	flag
)

// fact is a known key of a section.
type fact struct {
	key string
	is  form
}

// section is one optional part of the file, for the check and the card.
type section struct {
	name  string
	many  bool   // a list of mappings
	plain bool   // a list of texts (or of mappings of the writer's own)
	open  bool   // the list of keys is not closed: an unknown one is kept, with a warning
	facts []fact // known keys
}

// sections are in the order they are written.
var sections = []section{
	{name: "measured", facts: []fact{{"by", text}, {"on", text}}},
	{name: "guessed", plain: true},
	{name: "horses", many: true, open: true, facts: []fact{{"name", text}, {"height_cm", number}, {"weight", number}, {"shoulder_point_height", number}, {"shoed", anything}, {"girth_cm", number}, {"length_cm", number}}},
	{name: "fit", open: true, facts: []fact{{"tip_past_shoulder_point", number}, {"tip_height", number}, {"shaft_angle", number}, {"tugs", number}, {"draught_height", number}, {"hook_height", number}, {"traces", number}}},
	{name: "loads", many: true, facts: []fact{{"what", text}, {"weight", number}, {"from_axle", number}, {"height", number}}},
	{name: "pole", facts: []fact{{"end_height", number}, {"straps", anything}}},
	{name: "whip", facts: []fact{{"stick", number}, {"thong", number}, {"hand_to_near_shoulder", number}}},
	{name: "wheels", facts: []fact{
		{"nut_mm", number}, {"recessed", flag}, {"wrench_mm", number}, {"wrench_reaches_recess", flag},
		{"left_hand_thread", anything}, {"washers", anything}, {"tyre", anything}, {"tyre_made", anything}, {"radius", number}, {"brake", flag},
	}},
	{name: "harness", facts: []fact{{"collar", text}, {"trace_width_mm", number}, {"rein_width_mm", number}}},
	{name: "spares", plain: true},
	{name: "dress", plain: true},
	{name: "care", many: true, facts: []fact{{"item", text}, {"done", anything}, {"every_months", number}, {"every_km", number}, {"km_since", number}, {"wet_since", flag}}},
}

func sectionNames() []string {
	names := make([]string, len(sections))
	for i, s := range sections {
		names[i] = s.name
	}
	return names
}

func (s section) keys() []string {
	keys := make([]string, len(s.facts))
	for i, f := range s.facts {
		keys[i] = f.key
	}
	return keys
}

// most is how many entries a list in a section may have.
const most = 500

// sections reads the optional sections that are written into t.Extra.
func (r *reader) sections(t *Turnout, o strict.Object) {
	put := func(name string, v any) {
		if t.Extra == nil {
			t.Extra = Extra{}
		}
		t.Extra[name] = v
	}
	for _, s := range sections {
		v := o.Get(s.name)
		switch {
		case !v.Ok():
		case s.plain || s.many:
			var l []any
			for i, e := range v.ListOf(most, "entries") {
				switch {
				case s.many:
					l = append(l, r.mapping(s, fmt.Sprintf("%s[%d]", s.name, i), e))
				case s.name == "guessed":
					l = append(l, e.Text())
				default:
					l = append(l, e.Plain())
				}
			}
			if len(l) > 0 {
				put(s.name, l)
			}
		default:
			if m := r.mapping(s, s.name, v); len(m) > 0 {
				put(s.name, m)
			}
		}
	}
}

func (r *reader) mapping(s section, path string, v strict.Value) map[string]any {
	m := map[string]any{}
	if !s.open {
		v.Object(s.keys()...) // faults the unknown keys
	}
	for _, e := range v.Entries() {
		i := slices.IndexFunc(s.facts, func(f fact) bool { return f.key == e.Key })
		switch {
		case i >= 0:
			m[e.Key] = s.facts[i].read(e.Value)
		case s.open:
			m[e.Key] = e.Plain()
			r.warn("unknown-key", path+"."+e.Key, fmt.Sprintf("the key %q is kept but not used", e.Key), "the keys used here are "+strings.Join(s.keys(), ", "))
		}
	}
	return m
}

func (f fact) read(v strict.Value) any {
	switch f.is {
	case text:
		return v.Text()
	case number:
		return v.Float()
	case flag:
		return v.Bool()
	}
	return v.Plain()
}
