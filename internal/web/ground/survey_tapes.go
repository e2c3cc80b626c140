package ground

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// tapeRow is one taped length as it stands in the form.
type tapeRow struct {
	From, To string
	M        string // as typed; "" is not taped
	Sigma    string // m; "" is the form's
	Plan     string // what the plan has, m; "" for a row that is free
	Given    bool   // its ends are the list's own
	Head     string // the point whose rows begin here; "" where they go on
	Wrong    string // what is wrong, in words
	Suspect  bool
}

// heldPeg is a place that is held, as the form sends it back.
type heldPeg struct {
	Name string
	At   geom.Vec
}

// Text is how the form carries a peg.
func (p heldPeg) Text() string { return fmt.Sprintf("%v:%v %s", p.At.X, p.At.Y, p.Name) }

func readHeld(text string) (heldPeg, bool) {
	place, name, ok := strings.Cut(text, " ")
	at, okAt := placeOf(place)
	return heldPeg{name, at}, ok && okAt && name != ""
}

// pasted is what came out of the box for a whole table or file.
type pasted struct {
	rows  []tapeRow
	held  []heldPeg // of a tapes/1 file; nil for a table
	free  bool
	sigma float64 // m; 0: none named
	notes []string
}

var tapesHead = regexp.MustCompile(`(?m)^\s*["{]?\s*"?terret"?\s*:`)

// readPaste reads a tapes/1 file, or a table of from, to, metres and perhaps
// sigma. Columns are parted by semicolons or tabs, and numbers then may have a
// comma; or by commas, and numbers have a point. A first line with the names of
// the columns may be left out.
func readPaste(text string, places map[string]geom.Vec) (*pasted, error) {
	if tapesHead.MatchString(text) {
		n, odd, err := survey.Decode("pasted", []byte(text))
		if err != nil {
			return nil, err
		}
		out := &pasted{free: n.Free, sigma: n.Sigma, held: []heldPeg{}}
		for _, w := range odd {
			out.notes = append(out.notes, w.String())
		}
		for _, p := range n.Fixed {
			out.held = append(out.held, heldPeg{p.Name, p.At})
		}
		for _, p := range n.Points {
			if at, ok := places[p.Name]; ok && at.Dist(p.At) > 0.01 {
				out.notes = append(out.notes, fmt.Sprintf("the file wants %s at (%.2f, %.2f), this version of the plan at (%.2f, %.2f); the plan's place was taken", p.Name, p.At.X, p.At.Y, at.X, at.Y))
			}
		}
		for _, t := range n.Tapes {
			row := tapeRow{From: t.From, To: t.To, M: strconv.FormatFloat(t.M, 'f', -1, 64)}
			if t.Sigma != 0 {
				row.Sigma = strconv.FormatFloat(t.Sigma, 'f', -1, 64)
			}
			out.rows = append(out.rows, row)
		}
		return out, nil
	}
	return readTable(text)
}

// readTable reads the rows of a table; their numbers are read later, with those
// that were typed. Its faults say the line.
func readTable(text string) (*pasted, error) {
	text = strings.TrimPrefix(text, "\ufeff")
	comma := ','
	first, _, _ := strings.Cut(strings.TrimSpace(text), "\n")
	for _, c := range ";\t" {
		if strings.ContainsRune(first, c) {
			comma = c
			break
		}
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = comma, -1, comma != '\t'
	out := &pasted{}
	var list fault.List
	bad := func(line int, rule, message, hint string) {
		if len(list) < 20 {
			list = append(list, &fault.Fault{Code: fault.Input, Rule: rule, Place: fmt.Sprintf("pasted, line %d", line), Message: message, Hint: hint})
		}
	}
	columns := 0 // 0: no line with names
	for begun := false; ; begun = true {
		f, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line := 1
			if pe, ok := errors.AsType[*csv.ParseError](err); ok {
				line, err = pe.Line, pe.Err
			}
			bad(line, "csv", "it cannot be read: "+err.Error(), "put a name that holds quotes or the column sign in quotes")
			break
		}
		line, _ := r.FieldPos(0)
		for i := range f {
			f[i] = strings.TrimSpace(f[i])
		}
		if !begun && strings.EqualFold(f[0], "from") {
			if columns = len(f); !strings.EqualFold(strings.Join(f, ","), "from,to,m") && !strings.EqualFold(strings.Join(f, ","), "from,to,m,sigma") {
				bad(line, "csv-head", fmt.Sprintf("the first line is %q", strings.Join(f, ",")), "write from,to,m or from,to,m,sigma")
				break
			}
			continue
		}
		switch {
		case columns != 0 && len(f) != columns, columns == 0 && comma == ',' && len(f) != 3:
			hint := "three are wanted: from, to, metres"
			if comma == ',' {
				hint += "; where commas part the columns, numbers have points (or part the columns by semicolons)"
			}
			bad(line, "csv-row", fmt.Sprintf("there are %d columns", len(f)), hint)
			continue
		case len(f) != 3 && len(f) != 4:
			bad(line, "csv-row", fmt.Sprintf("there are %d columns", len(f)), "write from, to, metres and perhaps sigma")
			continue
		}
		if len(out.rows) == survey.MaxTapes {
			return nil, tooManyTapes()
		}
		row := tapeRow{From: f[0], To: f[1], M: f[2]}
		if len(f) == 4 {
			row.Sigma = f[3]
		}
		if row.M == "" {
			bad(line, "number", fmt.Sprintf("the tape %s–%s has no length", row.From, row.To), "write metres, such as 15.31, or leave the line out")
		}
		out.rows = append(out.rows, row)
	}
	if len(out.rows) == 0 && len(list) == 0 {
		bad(1, "no-tapes", "nothing was taped", "write a line for each tape, such as P,A.right,15.31")
	}
	return out, list.Err()
}

func tooManyTapes() error {
	return &fault.Fault{Code: fault.TooLarge, Rule: "too-many", Place: "tapes", Message: fmt.Sprintf("there are more than %d tapes", survey.MaxTapes), Hint: "take one hazard or one course at a time"}
}

// tapeNumber reads metres as people type them: a comma or a point, perhaps an m
// behind.
func tapeNumber(text string) (float64, bool) {
	return book.DecimalOf(strings.TrimSuffix(strings.TrimSpace(text), "m"))
}

// networkOf makes a network of the rows that have a length, in the places of the
// list. Rows that cannot be read are marked; the error is of no one row. index is
// the row of each tape.
func networkOf(rows []tapeRow, held []heldPeg, l *survey.StakeList, free bool, sigma float64) (n *survey.Network, index []int, err error) {
	pegs, points := l.Places()
	if held != nil || free {
		points = append(points, pegs...) // places like any other, unless they are held
		pegs = nil
		for _, p := range held {
			pegs = append(pegs, survey.Point{Name: p.Name, At: p.At})
		}
	}
	called := pointNames(l)
	n = &survey.Network{Fixed: pegs, Sigma: sigma, Free: free}
	isPeg := map[string]bool{}
	for _, p := range pegs {
		isPeg[p.Name] = true
		called[strings.ToLower(p.Name)] = p.Name
	}
	wrong := 0
	for i := range rows {
		row := &rows[i]
		row.Wrong = ""
		if row.M == "" {
			continue
		}
		mark := func(format string, args ...any) {
			if row.Wrong == "" {
				row.Wrong = fmt.Sprintf(format, args...)
				wrong++
			}
		}
		t := survey.Tape{From: row.From, To: row.To}
		for _, end := range []*string{&t.From, &t.To} {
			if *end == "" {
				mark("one end of the tape has no name; write a peg or a point of the list")
			}
			if name, ok := called[strings.ToLower(*end)]; ok {
				*end = name
			}
		}
		v, ok := tapeNumber(row.M)
		if t.M = v; !ok {
			mark("%q is no length; metres, such as 15.31 or 15,31", row.M)
		}
		if row.Sigma != "" {
			if t.Sigma, ok = tapeNumber(row.Sigma); !ok || t.Sigma == 0 {
				mark("%q is no standard deviation; metres, such as 0.01", row.Sigma)
			}
		}
		n.Tapes, index = append(n.Tapes, t), append(index, i)
	}
	if wrong > 0 {
		return nil, nil, errRows
	}
	for _, p := range points {
		if !isPeg[p.Name] {
			n.Points = append(n.Points, p)
		}
	}
	var list fault.List
	for _, p := range n.Validate() { // with every point, so that a near miss is named
		i := -1
		if c, _ := fmt.Sscanf(p.Path, "tapes[%d]", &i); c == 1 && i >= 0 && i < len(index) {
			if row := &rows[index[i]]; row.Wrong == "" {
				row.Wrong = p.Message + "; " + p.Hint
				wrong++
			}
			continue
		}
		if p.Rule == "no-tapes" {
			p.Message, p.Hint = "nothing was typed yet", "type at least the tapes to one point"
		}
		list = append(list, &fault.Fault{Code: fault.Input, Rule: p.Rule, Message: p.Message, Hint: p.Hint})
	}
	if err := list.Err(); err != nil {
		return nil, nil, err
	}
	if wrong > 0 {
		return nil, nil, errRows
	}
	taped := map[string]bool{}
	for _, t := range n.Tapes {
		taped[t.From], taped[t.To] = true, true
	}
	all := n.Points
	n.Points = nil
	for _, p := range all {
		if taped[p.Name] {
			n.Points = append(n.Points, p)
		}
	}
	list = nil
	for _, p := range n.Validate() {
		list = append(list, &fault.Fault{Code: fault.Input, Rule: p.Rule, Message: p.Message, Hint: p.Hint})
	}
	return n, index, list.Err()
}

// errRows says that rows of the form are marked.
var errRows = fault.List{{Code: fault.Input, Rule: "rows", Message: "some tapes cannot be used, and nothing was worked out or saved", Hint: "mend the rows that are marked"}}

// pointNames are the names of every point of a list, in lower case, with the one
// that stands for its place.
func pointNames(l *survey.StakeList) map[string]string {
	out := map[string]string{}
	for i := range l.Stakes {
		s := &l.Stakes[i]
		for _, also := range s.Also {
			out[strings.ToLower(also)] = s.ID
		}
	}
	for i := range l.Stakes {
		out[strings.ToLower(l.Stakes[i].ID)] = l.Stakes[i].ID
	}
	for _, p := range l.Pegs {
		out[strings.ToLower(p.Name)] = p.Name
	}
	return out
}
