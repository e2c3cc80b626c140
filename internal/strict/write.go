package strict

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Tree is a document to be written: a [Map], a [List], a string, float64, int
// or bool.
type Tree any

// Map is a mapping whose keys keep their order.
type Map []Pair

// Pair is one entry of a Map.
type Pair struct {
	Key   string
	Value Tree
}

// List is a list.
type List []Tree

// Put appends an entry.
func (m *Map) Put(key string, value Tree) { *m = append(*m, Pair{key, value}) }

// wide is the longest line that is written in brackets; longer mappings and
// lists are written one entry a line.
const wide = 110

// YAML writes the tree as YAML that [Parse] reads back and that YAML 1.1 and
// 1.2 readers read alike: words that some of them take for truth values or
// numbers stand in quotes.
func YAML(t Tree) ([]byte, error) {
	var b bytes.Buffer
	w := writer{b: &b, word: yamlWord}
	if m, ok := t.(Map); ok && len(m) > 0 {
		w.entries(m, 0)
	} else {
		w.flow(t)
		b.WriteByte('\n')
	}
	return b.Bytes(), w.err
}

// JSON writes the tree as JSON on one line.
func JSON(t Tree) ([]byte, error) {
	var b bytes.Buffer
	w := writer{b: &b, word: jsonWord}
	w.flow(t)
	if w.err != nil {
		return nil, w.err
	}
	b.WriteByte('\n')
	return b.Bytes(), nil
}

type writer struct {
	b    *bytes.Buffer
	word func(string) string
	err  error
}

// entries writes a mapping one entry a line, indented.
func (w *writer) entries(m Map, indent int) {
	for i, p := range m {
		if i > 0 {
			w.b.WriteString(strings.Repeat(" ", indent))
		}
		w.b.WriteString(w.word(p.Key))
		w.b.WriteByte(':')
		w.behind(p.Value, indent+len(p.Key)+2, indent)
	}
}

// behind writes a value behind its key: in the same line where it fits.
func (w *writer) behind(t Tree, col, indent int) {
	if s, fits := w.oneLine(t, wide-col); fits {
		w.b.WriteString(" " + s + "\n")
		return
	}
	switch t := t.(type) {
	case Map:
		w.b.WriteString("\n" + strings.Repeat(" ", indent+2))
		w.entries(t, indent+2)
	case List:
		w.b.WriteByte('\n')
		for _, v := range t {
			w.b.WriteString(strings.Repeat(" ", indent+2) + "-")
			s, fits := w.oneLine(v, wide-indent-4)
			m, isMap := v.(Map)
			if !fits && isMap {
				w.b.WriteByte(' ')
				w.entries(m, indent+4)
			} else {
				w.b.WriteString(" " + s + "\n")
			}
		}
	}
}

// oneLine writes t in brackets, and reports whether it is short enough; what
// cannot be broken always is.
func (w *writer) oneLine(t Tree, room int) (string, bool) {
	in := writer{b: &bytes.Buffer{}, word: w.word}
	in.flow(t)
	if in.err != nil {
		w.err = in.err
	}
	s := in.b.String()
	switch t := t.(type) {
	case Map:
		return s, len(t) == 0 || len(s) <= room
	case List:
		return s, len(t) == 0 || len(s) <= room
	}
	return s, true
}

func (w *writer) flow(t Tree) {
	switch t := t.(type) {
	case Map:
		w.b.WriteByte('{')
		for i, p := range t {
			if i > 0 {
				w.b.WriteString(", ")
			}
			w.b.WriteString(w.word(p.Key) + ": ")
			w.flow(p.Value)
		}
		w.b.WriteByte('}')
	case List:
		w.b.WriteByte('[')
		for i, v := range t {
			if i > 0 {
				w.b.WriteString(", ")
			}
			w.flow(v)
		}
		w.b.WriteByte(']')
	case string:
		w.b.WriteString(w.word(t))
	case bool:
		w.b.WriteString(strconv.FormatBool(t))
	case int:
		w.b.WriteString(strconv.Itoa(t))
	case float64:
		if math.IsNaN(t) || math.IsInf(t, 0) {
			w.err = fmt.Errorf("a document cannot hold the number %v", t)
		}
		w.b.WriteString(number(t))
	default:
		w.err = fmt.Errorf("a document cannot hold a %T", t)
	}
}

// number writes f in full: the shortest decimal that reads back as f. With an
// exponent it gets a point, because YAML 1.1 readers want one.
func number(f float64) string {
	if a := math.Abs(f); a == 0 || a >= 1e-6 && a < 1e15 {
		return strconv.FormatFloat(f+0, 'f', -1, 64)
	}
	s := strconv.FormatFloat(f, 'e', -1, 64)
	if !strings.Contains(s, ".") {
		s = strings.Replace(s, "e", ".0e", 1)
	}
	return s
}

func jsonWord(s string) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a string always encodes
	return strings.TrimSuffix(b.String(), "\n")
}

// yamlWord writes s plain where every YAML reader takes it for this text, else
// in double quotes.
func yamlWord(s string) string {
	if plain(s) {
		return s
	}
	return jsonWord(s)
}

func plain(s string) bool {
	switch strings.ToLower(s) {
	case "true", "false", "null", "yes", "no", "on", "off", "y", "n":
		return false
	}
	first, _ := utf8.DecodeRuneInString(s)
	if !unicode.IsLetter(first) || strings.HasSuffix(s, " ") {
		return false
	}
	for _, r := range s {
		if !unicode.IsLetter(r) && (r < '0' || r > '9') && !strings.ContainsRune(" _-./+()×", r) {
			return false
		}
	}
	return true
}

// FromPlain makes a Tree of plain data (string, float64, int, bool, []any,
// map[string]any); mappings get their keys in alphabetical order.
func FromPlain(v any) Tree {
	switch v := v.(type) {
	case []any:
		l := make(List, len(v))
		for i := range v {
			l[i] = FromPlain(v[i])
		}
		return l
	case map[string]any:
		m := make(Map, 0, len(v))
		for _, k := range slices.Sorted(maps.Keys(v)) {
			m.Put(k, FromPlain(v[k]))
		}
		return m
	}
	return v
}
