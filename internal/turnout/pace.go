package turnout

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"terret/internal/fault"
)

// WithPace is t driven at the named one of its paces: a copy whose cap of speed
// is that pace's. Letter case does not matter, and a trot may be called with or
// without the word: "slow" finds "slow trot". "" is the turnout's own pace.
func (t *Turnout) WithPace(name string) (*Turnout, error) {
	c := *t
	if name == "" {
		return &c, nil
	}
	want := paceKey(name)
	names := slices.Sorted(maps.Keys(t.Paces))
	for _, n := range names { // the whole name before its short form
		if strings.EqualFold(n, strings.TrimSpace(name)) {
			c.Pace.Speed = t.Paces[n]
			return &c, nil
		}
	}
	for _, n := range names {
		if paceKey(n) == want {
			c.Pace.Speed = t.Paces[n]
			return &c, nil
		}
	}
	f := &fault.Fault{Code: fault.NotFound, Rule: "pace-name", Message: fmt.Sprintf("%s has no pace called %q", t.Name, name)}
	if len(names) == 0 {
		f.Hint = "its file names none: add `paces: {walk: …, slow trot: …}`"
	} else {
		f.Hint = "it has " + strings.Join(names, ", ")
	}
	return nil, f
}

// paceKey is a pace's name without letter case, spare blanks and the word trot.
func paceKey(name string) string {
	words := strings.Fields(strings.ToLower(name))
	if len(words) > 1 && words[len(words)-1] == "trot" {
		words = words[:len(words)-1]
	}
	return strings.Join(words, " ")
}

// PaceNames lists the names of its paces from the slowest to the quickest; of equal
// ones, by name.
func (t *Turnout) PaceNames() []string {
	return slices.SortedFunc(maps.Keys(t.Paces), func(a, b string) int {
		return cmp.Or(cmp.Compare(t.Paces[a], t.Paces[b]), cmp.Compare(a, b))
	})
}
