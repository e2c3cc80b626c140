package strict

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"terret/internal/fault"
)

// Value is one place in a document. The zero Value is not there, and answers
// every question with a zero value and no fault.
type Value struct {
	d *Doc
	n *node
}

// Object is a mapping whose keys have been checked.
type Object struct {
	Value
	by map[string]*node
}

// Entry is one key of a mapping with free keys.
type Entry struct {
	Key string
	Value
}

// Root is the whole document.
func (d *Doc) Root() Value { return Value{d, d.root} }

// add notes a fault at n, in the given line of the file.
func (d *Doc) add(n *node, line int, rule, message, hint string) {
	if len(d.faults) >= MaxFaults {
		d.more++
		return
	}
	place := fmt.Sprintf("%s:%d", d.name, line)
	if p := n.path(); p != "" {
		place += ": " + p
	}
	d.faults = append(d.faults, found{&fault.Fault{Code: fault.Input, Rule: rule, Place: place, Message: message, Hint: hint}, line})
}

// Err is nil when no fault has been found, else a fault.List in the order of
// the document.
func (d *Doc) Err() error {
	if len(d.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(d.faults, func(a, b found) int { return a.line - b.line })
	var l fault.List
	for _, f := range d.faults {
		l = append(l, f.Fault)
	}
	if d.more > 0 {
		l = append(l, &fault.Fault{Code: fault.Input, Rule: "more", Place: d.name, Message: fmt.Sprintf("%d more faults are not shown", d.more), Hint: "mend these first"})
	}
	return l
}

// Place writes where path (such as "hazards[0].gates[1].right") is in the
// file: "field.yaml:12: hazards[0].gates[1].right". The line is that of the
// nearest part of path that is written; so a rule about a document's meaning
// can be placed by its path alone.
func (d *Doc) Place(path string) string {
	place := fmt.Sprintf("%s:%d", d.name, d.lineOf(path))
	if path != "" {
		place += ": " + path
	}
	return place
}

func (d *Doc) lineOf(path string) int {
	n, line := d.root, d.root.line
	for rest := path; rest != ""; {
		var c *node
		if strings.HasPrefix(rest, "[") {
			num, after, _ := strings.Cut(rest[1:], "]")
			if i, err := strconv.Atoi(num); err == nil && n.kind == list && i >= 0 && i < len(n.items) {
				c = n.items[i]
			}
			rest = after
			if c != nil {
				line = c.line
			}
		} else {
			rest = strings.TrimPrefix(rest, ".")
			end := strings.IndexAny(rest, ".[")
			if end < 0 {
				end = len(rest)
			}
			for _, k := range n.keys {
				if plainKey(k.name) == rest[:end] {
					c, line = k.node, k.line
				}
			}
			if end == 0 {
				return line
			}
			rest = rest[end:]
		}
		if c == nil {
			return line
		}
		n = c
	}
	return line
}

// Add notes a fault found by a rule about the document's meaning, placed by
// its path.
func (d *Doc) Add(rule, path, message, hint string) {
	if len(d.faults) >= MaxFaults {
		d.more++
		return
	}
	d.faults = append(d.faults, found{&fault.Fault{Code: fault.Input, Rule: rule, Place: d.Place(path), Message: message, Hint: hint}, d.lineOf(path)})
}

// Ok reports whether the value is there.
func (v Value) Ok() bool { return v.n != nil }

// Fault notes that something is wrong with the value, in the reader's words.
func (v Value) Fault(rule, message, hint string) {
	if v.n != nil {
		v.d.add(v.n, v.n.line, rule, message, hint)
	}
}

// wrong notes a value of the wrong type.
func (v Value) wrong(want string) { v.Fault("type", v.n.describe()+" stands here", want) }

// IsList, IsMapping and IsText tell apart the shapes of a value that may have
// more than one.
func (v Value) IsList() bool { return v.n != nil && v.n.kind == list }

// IsMapping reports whether the value is a mapping; see IsList.
func (v Value) IsMapping() bool { return v.n != nil && v.n.kind == mapping }

// IsText reports whether the value is a text: in quotes, or plain and neither
// a number, true, false nor nothing.
func (v Value) IsText() bool {
	if v.n == nil || v.n.kind != scalar {
		return false
	}
	return v.n.quoted || !v.n.isNull() && !notText(v.n.text)
}

// Object reads a mapping that may have the given keys; any other key is a
// fault that names the nearest of them.
func (v Value) Object(keys ...string) Object {
	o := Object{Value: v}
	if v.n == nil {
		return o
	}
	if v.n.kind != mapping {
		o.Value = Value{}
		v.wrong("a mapping is wanted, with the keys " + strings.Join(keys, ", "))
		return o
	}
	o.by = make(map[string]*node, len(v.n.keys))
	for _, k := range v.n.keys {
		switch {
		case ignored(k.name):
		case slices.Contains(keys, k.name):
			o.by[k.name] = k.node
		default:
			hint := "the keys here are " + strings.Join(keys, ", ")
			if near := nearest(k.name, keys); near != "" {
				hint = fmt.Sprintf("did you mean %q? %s", near, hint)
			}
			v.d.add(k.node, k.line, "unknown-key", fmt.Sprintf("the key %q is not known here", clip(k.name)), hint)
		}
	}
	return o
}

// Has reports whether the key is written.
func (o Object) Has(key string) bool { return o.by[key] != nil }

// Get is the value of a key that may be left out.
func (o Object) Get(key string) Value {
	if n := o.by[key]; n != nil {
		return Value{o.d, n}
	}
	return Value{}
}

// Need is the value of a key that must be there; a missing one is a fault.
func (o Object) Need(key string) Value {
	v := o.Get(key)
	if v.n == nil && o.n != nil {
		o.d.add(o.n, o.n.line, "missing-key", fmt.Sprintf("the key %q is missing", key), fmt.Sprintf("write `%s: …`", key))
	}
	return v
}

// Entries reads a mapping whose keys are names of the writer's own choice, in
// the order written.
func (v Value) Entries() []Entry {
	if v.n == nil {
		return nil
	}
	if v.n.kind != mapping {
		v.wrong("a mapping of names to values is wanted")
		return nil
	}
	var es []Entry
	for _, k := range v.n.keys {
		if !ignored(k.name) {
			es = append(es, Entry{k.name, Value{v.d, k.node}})
		}
	}
	return es
}

// List reads a list.
func (v Value) List() []Value {
	if v.n == nil {
		return nil
	}
	if v.n.kind != list {
		v.wrong("a list is wanted")
		return nil
	}
	vs := make([]Value, len(v.n.items))
	for i, n := range v.n.items {
		vs[i] = Value{v.d, n}
	}
	return vs
}

// ListOf reads a list of at most `most` values, called `what` in the fault; a
// longer one is a fault, and none of it is read.
func (v Value) ListOf(most int, what string) []Value {
	if v.n != nil && v.n.kind == list && len(v.n.items) > most {
		v.Fault("too-many", fmt.Sprintf("there are %d %s", len(v.n.items), what), fmt.Sprintf("at most %d are taken", most))
		return nil
	}
	return v.List()
}

var (
	// decimal is a number as both YAML and JSON readers agree on it, with the
	// plus sign and the bare points that YAML allows besides.
	decimal = regexp.MustCompile(`^[-+]?(0|[1-9][0-9]*|)(\.[0-9]*)?([eE][-+]?[0-9]+)?$`)
	digits  = regexp.MustCompile(`^[-+]?\.?[0-9]`)
	// odd is what YAML readers of one age or another take for a number.
	odd = regexp.MustCompile(`^[-+]?(0[xX][0-9a-fA-F_]+|0[oO][0-7_]+|0[bB][01_]+|[0-9][0-9_]*(\.[0-9_]*)?([eE][-+]?[0-9]+)?|\.(inf|Inf|INF)|[0-9]+(:[0-5]?[0-9])+(\.[0-9]*)?)$|^\.(nan|NaN|NAN)$`)
)

func isDecimal(s string) bool { return decimal.MatchString(s) && digits.MatchString(s) }

// notText reports whether a plain scalar is read as something else than text
// by YAML readers: a number of any make, or a truth value.
func notText(s string) bool {
	switch s {
	case "true", "false", "True", "False", "TRUE", "FALSE":
		return true
	}
	return isDecimal(s) || odd.MatchString(s)
}

// Float reads a finite decimal number.
func (v Value) Float() float64 {
	if v.n == nil {
		return 0
	}
	const want = "a plain decimal number is wanted, such as 3.5"
	s := v.n.text
	if v.n.kind == scalar && !v.n.quoted {
		if isDecimal(s) {
			f, err := strconv.ParseFloat(s, 64)
			if err == nil && !math.IsInf(f, 0) {
				return f + 0 // −0 is 0
			}
			v.Fault("number", s+" is too large a number", want)
			return 0
		}
		switch strings.ToLower(strings.TrimLeft(s, "+-")) {
		case ".nan", "nan", ".inf", "inf", "infinity":
			v.Fault("number", s+" is not a number that can be measured", want)
			return 0
		}
		if odd.MatchString(s) {
			v.Fault("number", s+" can be read in more than one way", want)
			return 0
		}
	}
	if v.n.kind == scalar && v.n.quoted && isDecimal(s) {
		v.Fault("type", "the number "+clip(s)+" stands in quotes", "write it without quotes")
		return 0
	}
	v.wrong(want)
	return 0
}

// Within reads a number from lo to hi, in the named unit; others are faults.
func (v Value) Within(lo, hi float64, unit string) float64 {
	f := v.Float()
	if v.n != nil && (f < lo || f > hi) {
		v.Fault("range", fmt.Sprintf("%s stands here", v.n.text), fmt.Sprintf("from %s to %s %s is taken", short(lo), short(hi), unit))
	}
	return f
}

// Int reads a whole number from lo to hi.
func (v Value) Int(lo, hi int) int {
	if v.n == nil {
		return 0
	}
	f := v.Float()
	if f != math.Trunc(f) {
		v.Fault("type", v.n.text+" stands here", "a whole number is wanted")
		return 0
	}
	if f < float64(lo) || f > float64(hi) {
		v.Fault("range", v.n.text+" stands here", fmt.Sprintf("a whole number from %d to %d is taken", lo, hi))
		return 0
	}
	return int(f)
}

// Bool reads true or false, and nothing that only looks like it.
func (v Value) Bool() bool {
	if v.n == nil {
		return false
	}
	if v.n.kind == scalar && !v.n.quoted {
		switch v.n.text {
		case "true":
			return true
		case "false":
			return false
		}
	}
	v.wrong("true or false is wanted")
	return false
}

// Text reads a text. A plain number, true, false or nothing is a fault: in
// quotes each of them is a text.
func (v Value) Text() string {
	if v.n == nil {
		return ""
	}
	switch {
	case v.n.kind != scalar || v.n.isNull():
		v.wrong("a text is wanted")
		return ""
	case !v.n.quoted && notText(v.n.text):
		v.Fault("type", v.n.describe()+" stands here, not a text", fmt.Sprintf("write it in quotes: %q", v.n.text))
		return ""
	}
	for _, r := range v.n.text {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			v.Fault("encoding", fmt.Sprintf("there is a control character (code %d) in the text", r), "take it out")
			return ""
		}
	}
	return v.n.text
}

// OneOf reads a text that is one of the given words.
func (v Value) OneOf(words ...string) string {
	s := v.Text()
	if v.n == nil || v.n.kind != scalar || slices.Contains(words, s) {
		return s
	}
	if !v.n.isNull() && (v.n.quoted || !notText(v.n.text)) {
		v.Fault("word", fmt.Sprintf("%q stands here", clip(s)), "one of these is wanted: "+strings.Join(words, ", "))
	}
	return ""
}

// Plain reads whatever stands here as plain data: float64, bool, string, []any
// or map[string]any. Nothing at all, and numbers that are none, are faults.
func (v Value) Plain() any {
	if v.n == nil {
		return nil
	}
	switch v.n.kind {
	case list:
		out := make([]any, len(v.n.items))
		for i, c := range v.List() {
			out[i] = c.Plain()
		}
		return out
	case mapping:
		out := map[string]any{}
		for _, e := range v.Entries() {
			out[e.Key] = e.Plain()
		}
		return out
	}
	switch s := v.n.text; {
	case v.n.quoted:
		return v.Text()
	case s == "true" || s == "false":
		return s == "true"
	case isDecimal(s) || odd.MatchString(s):
		return v.Float()
	}
	return v.Text()
}

// short writes a number for people, in full.
func short(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }
