package gait

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

// Foot is one of the four feet: LF, RF, LH or RH.
type Foot string

// The feet: left and right, fore and hind.
const (
	LF Foot = "LF"
	RF Foot = "RF"
	LH Foot = "LH"
	RH Foot = "RH"
)

func feet() []Foot { return []Foot{LF, RF, LH, RH} }

// foreOf is the fore foot on the side of a hind foot, diagonalOf the one on the
// other side.
func foreOf(hind Foot) Foot {
	if hind == LH {
		return LF
	}
	return RF
}

func diagonalOf(hind Foot) Foot {
	if hind == LH {
		return RF
	}
	return LF
}

// Print is one hoof print, read at its toe edge.
type Print struct {
	Foot      Foot
	Along     float64 // along the line of travel, m
	Across    float64 // to the right of the line of travel, m
	HasAcross bool    // whether Across was measured
	Pass      string  // which pass over the strip; each has its own zero
	Line      int     // of the file; 0 when it comes from none
}

// mostPrints is how many prints one reading takes: a hundred passes of twenty
// strides hold 8,000.
const mostPrints = 20_000

// ReadPrints reads a CSV of prints with the columns foot, along_m, across_m and,
// if there was more than one, pass. across_m may be left empty where nobody
// measured it. name is the file's, for the places of faults; all of them are
// told, up to twenty.
func ReadPrints(name string, data []byte) ([]Print, error) {
	if len(data) > strict.MaxBytes {
		return nil, &fault.Fault{Code: fault.TooLarge, Rule: "too-large", Place: name, Message: fmt.Sprintf("the file is %.1f MB", float64(len(data))/(1<<20)), Hint: fmt.Sprintf("prints of a day are a few kB; at most %d MB are read", strict.MaxBytes>>20)}
	}
	if !utf8.Valid(data) {
		return nil, &fault.Fault{Code: fault.Input, Rule: "encoding", Place: name, Message: "the text is not UTF-8", Hint: "save the file as CSV in UTF-8"}
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	r.ReuseRecord = true
	p := &printReader{name: name, csv: r}
	if err := p.header(); err != nil {
		return nil, err
	}
	for len(p.faults) < strict.MaxFaults {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, p.syntax(err)
		}
		if len(p.prints) >= mostPrints {
			return nil, &fault.Fault{Code: fault.TooLarge, Rule: "too-many", Place: name, Message: fmt.Sprintf("there are more than %d prints", mostPrints), Hint: "give one strip a file"}
		}
		p.row(row)
	}
	if err := p.faults.Err(); err != nil {
		return nil, err
	}
	if len(p.prints) == 0 {
		return nil, &fault.Fault{Code: fault.Input, Rule: "no-prints", Place: name, Message: "there is no print in the file", Hint: "one line for each print, such as LF,1.25,0.10"}
	}
	return p.prints, nil
}

type printReader struct {
	name   string
	csv    *csv.Reader
	column map[string]int
	prints []Print
	faults fault.List
}

func (p *printReader) syntax(err error) error {
	place, message := p.name, err.Error()
	var e *csv.ParseError
	if errors.As(err, &e) {
		place, message = fmt.Sprintf("%s:%d", p.name, e.Line), e.Err.Error()
	}
	return &fault.Fault{Code: fault.Input, Rule: "csv", Place: place, Message: "this is no CSV: " + message, Hint: "values parted by commas, one print a line"}
}

func (p *printReader) header() error {
	row, err := p.csv.Read()
	if errors.Is(err, io.EOF) {
		return &fault.Fault{Code: fault.Input, Rule: "no-prints", Place: p.name, Message: "the file is empty", Hint: "first line: foot,along_m,across_m"}
	}
	if err != nil {
		return p.syntax(err)
	}
	bad := func(message, hint string) error {
		return &fault.Fault{Code: fault.Input, Rule: "header", Place: p.name + ":1", Message: message, Hint: hint}
	}
	p.column = map[string]int{}
	for i, h := range row {
		h = strings.TrimSpace(h)
		if !slices.Contains([]string{"foot", "along_m", "across_m", "pass"}, h) {
			hint := "the columns are foot,along_m,across_m and, for more than one pass, pass"
			if strings.Contains(h, ";") || strings.Contains(h, "\t") {
				hint = "part the values by commas, and write numbers with a point"
			} else if strings.HasPrefix(h, "along") || strings.HasPrefix(h, "across") {
				hint = "everything in metres: foot,along_m,across_m"
			}
			return bad(fmt.Sprintf("there is no column %q", clip(h)), hint)
		}
		if _, twice := p.column[h]; twice {
			return bad(fmt.Sprintf("the column %s stands there twice", h), "keep one of them")
		}
		p.column[h] = i
	}
	for _, h := range []string{"foot", "along_m"} {
		if _, ok := p.column[h]; !ok {
			return bad(fmt.Sprintf("the column %s is missing", h), "first line: foot,along_m,across_m")
		}
	}
	return nil
}

func (p *printReader) row(row []string) {
	line, _ := p.csv.FieldPos(0)
	bad := func(rule, what, message, hint string) {
		p.faults = append(p.faults, &fault.Fault{Code: fault.Input, Rule: rule, Place: fmt.Sprintf("%s:%d: %s", p.name, line, what), Message: message, Hint: hint})
	}
	if len(row) > len(p.column) {
		bad("columns", "row", fmt.Sprintf("%d values stand here, the first line names %d", len(row), len(p.column)), "a comma in a number? Write 2.73, with a point")
		return
	}
	get := func(name string) string {
		if i, ok := p.column[name]; ok && i < len(row) {
			return strings.TrimSpace(row[i])
		}
		return ""
	}
	pr := Print{Foot: Foot(strings.ToUpper(get("foot"))), Pass: get("pass"), Line: line}
	if !slices.Contains(feet(), pr.Foot) {
		bad("foot", "foot", fmt.Sprintf("%q is no foot", clip(get("foot"))), "LF, RF, LH or RH: left or right, fore or hind")
		return
	}
	number := func(name, text string) (float64, bool) {
		v, err := strconv.ParseFloat(text, 64)
		switch {
		case err != nil || math.IsNaN(v) || strings.ContainsAny(text, "xX_"):
			hint := "a plain number of metres, such as 2.73"
			if strings.ContainsAny(text, "abcdfghijklmnopqrstuvwyz'\"") {
				hint = "no units beside the numbers: metres everywhere, such as 2.73"
			}
			bad("number", name, fmt.Sprintf("%q is no number", clip(text)), hint)
			return 0, false
		case math.Abs(v) > 1000:
			bad("number", name, fmt.Sprintf("%v m is no place on a strip", v), "are these centimetres? Write metres")
			return 0, false
		}
		return v, true
	}
	var ok bool
	if pr.Along, ok = number("along_m", get("along_m")); !ok {
		return
	}
	if text := get("across_m"); text != "" {
		if pr.Across, ok = number("across_m", text); !ok {
			return
		}
		pr.HasAcross = true
		if math.Abs(pr.Across) > 20 {
			bad("across", "across_m", fmt.Sprintf("%v m beside the line is no place on a strip", pr.Across), "are these centimetres? Write metres")
			return
		}
	}
	p.prints = append(p.prints, pr)
}

// clip shortens a text for a message.
func clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
