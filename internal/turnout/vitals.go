package turnout

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/strict"
)

// mostVitals is how many readings one log takes.
const mostVitals = 1000

// ReadVitals reads a log of a halt from CSV with the columns minute, pulse,
// breaths and temp_c; minute must be there, what was not taken is left empty.
// name is the file's, for the places of faults.
func ReadVitals(name string, data []byte) ([]Vital, error) {
	if len(data) > strict.MaxBytes {
		return nil, &fault.Fault{Code: fault.TooLarge, Rule: "too-large", Place: name, Message: fmt.Sprintf("the file is %.1f MB", float64(len(data))/(1<<20)), Hint: "a log of a halt is a few lines"}
	}
	bad := func(line int, what, message, hint string) error {
		place := fmt.Sprintf("%s:%d", name, line)
		if what != "" {
			place += ": " + what
		}
		return &fault.Fault{Code: fault.Input, Rule: "vitals", Place: place, Message: message, Hint: hint}
	}
	if !utf8.Valid(data) {
		return nil, bad(1, "", "the text is not UTF-8", "save the file as CSV in UTF-8")
	}
	const columns = "minute,pulse,breaths,temp_c"
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	r.TrimLeadingSpace = true
	head, err := r.Read()
	if err != nil {
		return nil, bad(1, "", "the file is empty, or no CSV", "first line: "+columns)
	}
	for i := range head {
		head[i] = strings.TrimSpace(head[i])
		if !slices.Contains(strings.Split(columns, ","), head[i]) || slices.Contains(head[:i], head[i]) {
			return nil, bad(1, "", fmt.Sprintf("%q is no column, or stands there twice", head[i]), "the columns are "+columns)
		}
	}
	if !slices.Contains(head, "minute") {
		return nil, bad(1, "", "the column minute is missing", "first line: "+columns)
	}
	log := []Vital{}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return log, nil
		}
		if e, ok := errors.AsType[*csv.ParseError](err); ok {
			return nil, bad(e.Line, "", "this is no CSV: "+e.Err.Error(), "as many values as columns, parted by commas")
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		if len(log) >= mostVitals {
			return nil, &fault.Fault{Code: fault.TooLarge, Rule: "too-many", Place: name, Message: fmt.Sprintf("there are more than %d readings", mostVitals), Hint: "one halt a file"}
		}
		var v Vital
		for i, h := range head {
			text := strings.TrimSpace(row[i])
			if text == "" {
				if h == "minute" {
					return nil, bad(line, h, "no minute stands here", "minutes since the halt began")
				}
				continue
			}
			x, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
				return nil, bad(line, h, fmt.Sprintf("%q is no number", text), "a plain number, with a point")
			}
			if x == 0 && h != "minute" {
				return nil, bad(line, h, "0 stands here", "leave out what was not taken")
			}
			*map[string]*float64{"minute": &v.Minute, "pulse": &v.Pulse, "breaths": &v.Breaths, "temp_c": &v.TempC}[h] = x
		}
		log = append(log, v)
	}
}
