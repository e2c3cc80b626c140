package survey

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/strict"
)

// List is taped lengths as they were typed into a table, without the places of
// the points: those come from the plan, see [List.On], or from the tapes
// themselves, see [List.Alone].
type List struct {
	Name  string // of the file, for the places of faults
	Tapes []Tape
	lines []int
}

// IsCSV reports whether a file is a table of tapes: by its name, or because its
// first line is the head of one.
func IsCSV(name string, data []byte) bool {
	data = bytes.TrimPrefix(data, bom)
	first, _, _ := strings.Cut(string(data[:min(len(data), 200)]), "\n")
	return strings.HasSuffix(strings.ToLower(name), ".csv") || strings.HasPrefix(strings.ToLower(strings.ReplaceAll(first, " ", "")), "from,to,m")
}

var (
	bom     = []byte("\xef\xbb\xbf")
	decimal = regexp.MustCompile(`^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]{1,3})?$`)
)

// DecodeCSV reads a table with the head from,to,m or from,to,m,sigma: lengths in
// metres, an empty sigma for [DefaultSigma]. The error is a fault.List.
func DecodeCSV(name string, data []byte) (*List, error) {
	if len(data) > strict.MaxBytes {
		return nil, &fault.Fault{Code: fault.TooLarge, Rule: "too-large", Place: name, Message: fmt.Sprintf("the file is %.1f MB", float64(len(data))/(1<<20)), Hint: fmt.Sprintf("at most %d MB are read", strict.MaxBytes>>20)}
	}
	data = bytes.TrimPrefix(data, bom)
	if !utf8.Valid(data) {
		return nil, &fault.Fault{Code: fault.Input, Rule: "encoding", Place: name, Message: "the text is not UTF-8", Hint: "save the file as UTF-8"}
	}
	l := &List{Name: name}
	var list fault.List
	more := 0
	bad := func(line int, key, rule, hint, format string, args ...any) {
		if len(list) >= strict.MaxFaults {
			more++
			return
		}
		place := fmt.Sprintf("%s:%d", name, line)
		if key != "" {
			place += ": " + key
		}
		list = append(list, &fault.Fault{Code: fault.Input, Rule: rule, Place: place, Message: fmt.Sprintf(format, args...), Hint: hint})
	}
	const head = "the first line is from,to,m or from,to,m,sigma; then a line for each tape, such as P,A,15.31,0.01"
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	columns := 0
	for {
		f, err := r.Read()
		if err == io.EOF {
			break
		}
		var wrong *csv.ParseError
		if errors.As(err, &wrong) {
			bad(wrong.Line, "", "csv", "put a text that holds quotes or commas in quotes", "the line cannot be read: %v", wrong.Err)
			break // what follows would be read askew
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		for i := range f {
			f[i] = strings.TrimSpace(f[i])
		}
		if columns == 0 {
			got := strings.ToLower(strings.Join(f, ","))
			if got != "from,to,m" && got != "from,to,m,sigma" {
				hint := head
				if strings.Contains(f[0], ";") {
					hint = "columns are parted by commas and numbers have points; " + head
				}
				bad(line, "", "csv-head", hint, "the first line is %q", clip(strings.Join(f, ",")))
				break
			}
			columns = len(f)
			continue
		}
		if len(f) != columns {
			bad(line, "", "csv-row", fmt.Sprintf("%d are wanted; numbers have points, not commas", columns), "there are %d columns", len(f))
			continue
		}
		if len(l.Tapes) == MaxTapes {
			bad(line, "", "too-many", fmt.Sprintf("at most %d are taken", MaxTapes), "there are more than %d tapes", MaxTapes)
			break
		}
		t := Tape{From: f[0], To: f[1]}
		for i, key := range []string{"from", "to"} {
			if f[i] == "" || utf8.RuneCountInString(f[i]) > 100 || strings.ContainsAny(f[i], "\n\t") {
				bad(line, key, "point-name", "write the point's name", "%q is no name of a point", clip(f[i]))
			}
		}
		if t.From == t.To && t.From != "" {
			bad(line, "", "tape-ends", "name the two ends", "the tape goes from %q to itself", clip(t.From))
		}
		measure := func(s string) (float64, bool) {
			if !decimal.MatchString(s) {
				return 0, false
			}
			v, err := strconv.ParseFloat(s, 64)
			return v, err == nil
		}
		if v, ok := measure(f[2]); !ok {
			bad(line, "m", "number", "write metres as a plain number, such as 15.31", "%q is no length", clip(f[2]))
		} else if t.M = v; !(v > 0 && v <= MaxLength) {
			bad(line, "m", "tape-length", fmt.Sprintf("more than 0 and at most %v m", MaxLength), "the tape %s–%s is %s m long", clip(t.From), clip(t.To), f[2])
		}
		if columns == 4 && f[3] != "" {
			if v, ok := measure(f[3]); !ok {
				bad(line, "sigma", "number", "write metres as a plain number, such as 0.01, or leave it empty", "%q is no standard deviation", clip(f[3]))
			} else if t.Sigma = v; !(v > 0 && v <= 10) {
				bad(line, "sigma", "sigma", "more than 0 and at most 10 m; 0.01 for a tape on turf", "the tape %s–%s is uncertain by %s m", clip(t.From), clip(t.To), f[3])
			}
		}
		l.Tapes = append(l.Tapes, t)
		l.lines = append(l.lines, line)
	}
	if len(list) == 0 && len(l.Tapes) == 0 {
		bad(1, "", "no-tapes", head, "nothing was taped")
	}
	if more > 0 {
		list = append(list, &fault.Fault{Code: fault.Input, Rule: "more", Place: name, Message: fmt.Sprintf("%d more faults are not shown", more), Hint: "mend these first"})
	}
	if err := list.Err(); err != nil {
		return nil, err
	}
	return l, nil
}

// Encode writes the table.
func (l *List) Encode() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write([]string{"from", "to", "m", "sigma"}) // a buffer takes all
	full := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for _, t := range l.Tapes {
		sigma := ""
		if t.Sigma != 0 {
			sigma = full(t.Sigma)
		}
		_ = w.Write([]string{t.From, t.To, full(t.M), sigma})
	}
	w.Flush()
	return b.Bytes()
}

// On gives the tapes their places: pegs that are held, and points where the plan
// wants them. Points that no tape names are left out. A tape to a place that is
// not there is a fault.
func (l *List) On(pegs, points []Point) (*Network, error) {
	named := map[string]bool{}
	for _, t := range l.Tapes {
		named[t.From], named[t.To] = true, true
	}
	pick := func(ps []Point) []Point {
		var out []Point
		for _, p := range ps {
			if named[p.Name] {
				out = append(out, p)
			}
		}
		return out
	}
	n := &Network{Fixed: pick(pegs), Points: pick(points), Tapes: l.Tapes, Sigma: DefaultSigma}
	return n, l.check(n)
}

// check places the rules that n breaks in the table's lines.
func (l *List) check(n *Network) error {
	var list fault.List
	for _, p := range n.Validate() {
		place := l.Name
		var i int
		if c, _ := fmt.Sscanf(p.Path, "tapes[%d]", &i); c == 1 && i < len(l.lines) {
			place = fmt.Sprintf("%s:%d", l.Name, l.lines[i])
			if _, key, ok := strings.Cut(p.Path, "]."); ok {
				place += ": " + key
			}
		}
		if len(list) < strict.MaxFaults {
			list = append(list, &fault.Fault{Code: fault.Input, Rule: p.Rule, Place: place, Message: p.Message, Hint: p.Hint})
		}
	}
	return list.Err()
}

// clip shortens what is quoted back to a person.
func clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
