package turnout

import (
	"slices"
	"strings"

	"terret/internal/strict"
)

// Whole is a turnout's file as plain data (text, float64, bool, []any and
// map[string]any), with its notes and x- keys: what a form changes a few values
// of. The error is that of Decode.
func Whole(name string, data []byte) (map[string]any, error) {
	if _, _, err := Decode(name, data); err != nil {
		return nil, err
	}
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, err
	}
	m, _ := doc.Whole().(map[string]any)
	return m, nil
}

// EncodeWhole writes what Whole gave, its keys in the order of docs/files.md.
// What it writes need not be a turnout: Decode says.
func EncodeWhole(m map[string]any) ([]byte, error) { return strict.YAML(inOrder("", m)) }

// keyOrder is the order of the keys of a mapping, by its name.
func keyOrder(name string) []string {
	switch name {
	case "":
		return append([]string{"terret", "name", "notes", "hitch", "size", "horse", "leaders", "vehicle", "turning", "pace", "paces", "margin"}, sectionNames()...)
	case "horse":
		return []string{"nose", "rump", "width", "apart", "bend"}
	case "vehicle":
		return []string{"wheels", "track", "hubs", "shafts", "wheelbase", "body", "lock", "cg_height"}
	case "pace":
		return []string{"speed", "lateral", "gain", "loss"}
	}
	if i := slices.IndexFunc(sections, func(s section) bool { return s.name == name }); i >= 0 {
		return sections[i].keys()
	}
	return nil
}

func inOrder(name string, v any) strict.Tree {
	switch v := v.(type) {
	case []any:
		l := make(strict.List, len(v))
		for i := range v {
			l[i] = inOrder(name, v[i])
		}
		return l
	case map[string]any:
		order := keyOrder(name)
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		rank := func(k string) int {
			if i := slices.Index(order, k); i >= 0 {
				return i
			}
			return len(order)
		}
		slices.SortFunc(keys, func(a, b string) int {
			if d := rank(a) - rank(b); d != 0 {
				return d
			}
			return strings.Compare(a, b)
		})
		m := make(strict.Map, 0, len(v))
		for _, k := range keys {
			below := k
			if name == "paces" || strings.HasPrefix(k, "x-") {
				below = "x-"
			}
			m.Put(k, inOrder(below, v[k]))
		}
		return m
	}
	return v
}
