package trials

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"terret/internal/web/book"
)

// fillRow is some boxes that stand beside each other.
type fillRow struct {
	Legend, Hint string
	Boxes        []fill
}

// fill is one box of a form, drawn by the template of that name.
type fill struct {
	Key, Label, Hint string
	N                int    // of several boxes with one key, counted from 0
	As               string // its ID in the page, where the key alone will not do; ""
	Value            string
	Choices          []book.Choice // a list to choose from
	Ticks            []book.Choice // or some to be ticked
	Numeric, Long    bool          // a keypad; several lines
	Example          string        // shown while nothing stands there
	Focus            bool          // where the hands go first
	Wrong            string
	Now              string // what stands there since somebody else changed it
}

// ref names the box in its form: wishes-behind-1 is the second wishes.behind.
func (b fill) ref() string {
	ref := strings.ReplaceAll(b.Key, ".", "-")
	if b.N > 0 {
		ref += fmt.Sprint("-", b.N)
	}
	return ref
}

// ID is the box's own in the page.
func (b fill) ID() string { return cmp.Or(b.As, "f-"+b.ref()) }

// says is what stands in the box, as a person reads it.
func (b fill) says() string {
	if b.Ticks != nil {
		var on []string
		for _, c := range b.Ticks {
			if c.On {
				on = append(on, c.Label)
			}
		}
		return strings.Join(on, ", ")
	}
	for _, c := range b.Choices {
		if c.On {
			return c.Label
		}
	}
	return b.Value
}

// focus puts the hands to the first box of a kind.
func focus(rows []fillRow, first func(fill) bool) {
	for i := range rows {
		for j := range rows[i].Boxes {
			if b := &rows[i].Boxes[j]; first(*b) {
				b.Focus = true
				return
			}
		}
	}
}

// markRows writes beside the boxes what is wrong with them.
func markRows(rows []fillRow, wrong map[string]string) {
	for i := range rows {
		for j := range rows[i].Boxes {
			b := &rows[i].Boxes[j]
			b.Wrong = wrong[b.ref()]
		}
	}
	focus(rows, func(b fill) bool { return b.Wrong != "" })
}

// offer makes a list to choose from out of words; the first is for none of them.
func offer(none, value string, words ...string) []book.Choice {
	all := []book.Choice{{Value: "", Label: none, On: value == ""}}
	for _, w := range words {
		all = append(all, book.Choice{Value: w, Label: w, On: w == value})
	}
	return all
}

// boxOf is the box for a place within a thing: ".wishes[1].behind" is
// wishes-behind-1, ".phases[2]" phases-2.
func boxOf(path string) string {
	var b fill
	for _, part := range strings.Split(strings.TrimPrefix(path, "."), ".") {
		name, index, _ := strings.Cut(part, "[")
		b.Key += "." + name
		if n, err := strconv.Atoi(strings.TrimSuffix(index, "]")); err == nil {
			b.N = n
		}
	}
	b.Key = b.Key[1:]
	return b.ref()
}
