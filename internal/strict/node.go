package strict

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// kind is the shape of a node.
type kind uint8

const (
	scalar kind = iota
	list
	mapping
)

// node is one value of a document with its place in the tree. An absent value
// (`key:` with nothing behind it) is a plain scalar with no text.
type node struct {
	kind   kind
	quoted bool   // scalars: the text stood in quotes or in a block, so it is text
	text   string // scalars
	items  []*node
	keys   []key // mappings, in the order written
	line   int

	up    *node  // nil for the root
	name  string // the key in up, when up is a mapping
	index int    // the position in up, when up is a list
}

// key is one entry of a mapping.
type key struct {
	name string
	line int
	node *node
}

// path writes where n is in its document: hazards[0].gates[1].right.
func (n *node) path() string {
	var parts []string
	for m := n; m != nil && m.up != nil; m = m.up {
		if m.up.kind == list {
			parts = append(parts, "["+strconv.Itoa(m.index)+"]")
		} else {
			parts = append(parts, "."+plainKey(m.name))
		}
	}
	var b strings.Builder
	for i := len(parts) - 1; i >= 0; i-- {
		b.WriteString(parts[i])
	}
	return strings.TrimPrefix(b.String(), ".")
}

// plainKey is a key as a path shows it: in quotes when it holds more than
// letters, digits, blanks, dashes and underscores.
func plainKey(s string) string {
	for _, r := range s {
		if r != ' ' && r != '_' && r != '-' && (r < '0' || r > '9') && (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') {
			return strconv.Quote(clip(s))
		}
	}
	return clip(s)
}

// is reports whether n is a plain scalar that YAML and JSON read as nothing.
func (n *node) isNull() bool {
	if n.kind != scalar || n.quoted {
		return false
	}
	switch n.text {
	case "", "~", "null", "Null", "NULL":
		return true
	}
	return false
}

// describe says what n is, for "… found".
func (n *node) describe() string {
	switch {
	case n.kind == list:
		return fmt.Sprintf("a list of %d", len(n.items))
	case n.kind == mapping && len(n.keys) == 0:
		return "an empty mapping"
	case n.kind == mapping:
		return "a mapping with the key " + strconv.Quote(clip(n.keys[0].name))
	case n.isNull():
		return "nothing"
	case n.quoted:
		return "the text " + strconv.Quote(clip(n.text))
	}
	return clip(n.text)
}

// clip shortens what is quoted back to a person to 40 characters.
func clip(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	r := []rune(s[:min(len(s), 4*most)])
	return string(r[:min(len(r), most-1)]) + "…"
}

// ignored reports whether readers never see this key.
func ignored(name string) bool { return name == "notes" || strings.HasPrefix(name, "x-") }

// nearest finds the word of have that is a likely slip away from word; "" when
// none is.
func nearest(word string, have []string) string {
	best, at := "", 1+max(1, (len(word)+2)/3)
	for _, h := range have {
		if d := slips(strings.ToLower(word), strings.ToLower(h), at); d < at {
			best, at = h, d
		}
	}
	return best
}

// slips is the Levenshtein distance of two short words, at least `most` when
// it would be more than that.
func slips(a, b string, most int) int {
	if d := len(a) - len(b); d >= most || -d >= most || len(a) > 64 || len(b) > 64 {
		return most
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diag := row[0]
		row[0] = i + 1
		for j := range len(b) {
			sub := diag
			if a[i] != b[j] {
				sub++
			}
			diag = row[j+1]
			row[j+1] = min(sub, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
