package exchange

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"terret/internal/fault"
)

// risky are the beginnings of a cell that a spreadsheet may take for a formula.
const risky = "=+-@\t\r"

// guarded puts an apostrophe before a text that a spreadsheet would run, at its
// beginning and behind each semicolon and tab: where those part the cells, as
// spreadsheets in many countries have it, the text would be torn there. A single "-"
// is no formula and stands for a mark that was not given.
func guarded(s string) string {
	if s == "-" {
		return s
	}
	return atCells(s, func(quotes int) int { return quotes + 1 })
}

// unguarded takes off what guarded put there.
func unguarded(s string) string {
	return atCells(s, func(quotes int) int { return max(quotes-1, 0) })
}

// atCells changes how many apostrophes stand before a risky sign, wherever a cell may
// begin.
func atCells(s string, change func(quotes int) int) string {
	var b strings.Builder
	begins := true
	for i := 0; i < len(s); {
		if begins {
			quotes := len(s[i:]) - len(strings.TrimLeft(s[i:], "'"))
			i += quotes
			if i < len(s) && strings.IndexByte(risky, s[i]) >= 0 {
				quotes = change(quotes)
			}
			b.WriteString(strings.Repeat("'", quotes))
			begins = false
			continue
		}
		begins = s[i] == ';' || s[i] == '\t'
		b.WriteByte(s[i])
		i++
	}
	return b.String()
}

// WriteCSV writes a table: UTF-8, commas, a line for each row, with lines ended as
// RFC 4180 wants. Texts that a spreadsheet would run are made harmless.
func WriteCSV(w io.Writer, t *Table) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		cells := make([]string, len(row))
		for i, s := range row {
			cells[i] = guarded(s)
		}
		if len(cells) == 1 && cells[0] == "" {
			cells[0] = " " // an empty line is no row
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// ReadCSV reads one table. file is the file's name for the places of faults; name is
// the table's, "" to tell it by its columns. Columns are parted by commas, semicolons
// or tabs, whichever the first line has most of. The table is nil when nothing of the
// file can be read; else the faults are of rows that were left out.
func ReadCSV(file, name string, data []byte) (*Table, fault.List) {
	if len(data) > MaxFile {
		return nil, fault.List{tooLarge(file, fmt.Sprintf("the file has %d bytes", len(data)), fmt.Sprintf("at most %d MB are read; is it the right file?", MaxFile>>20))}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		line := 1 + bytes.Count(data[:badByte(data)], []byte("\n"))
		return nil, fault.List{wrong("csv-text", fmt.Sprintf("%s:%d", file, line), "there are letters that are not UTF-8", `save it from the spreadsheet as "CSV UTF-8"`)}
	}
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma = separator(data)
	in.FieldsPerRecord = -1
	t := &Table{Name: name, File: file}
	var faults fault.List
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if pe := (*csv.ParseError)(nil); errors.As(err, &pe) {
			return nil, append(faults, wrong("csv", fmt.Sprintf("%s:%d", file, pe.Line), "the quotes in this line do not match", `a text with quotes in it is written "like ""this"""`))
		}
		if err != nil {
			return nil, append(faults, wrong("csv", file, err.Error(), ""))
		}
		line, _ := in.FieldPos(0)
		if t.Head == nil {
			if blank(row) {
				continue
			}
			if len(row) > maxColumns {
				return nil, append(faults, tooLarge(fmt.Sprintf("%s:%d", file, line), fmt.Sprintf("there are %d columns", len(row)), fmt.Sprintf("at most %d are read", maxColumns)))
			}
			t.HeadLine = line
			for _, s := range row {
				t.Head = append(t.Head, strings.TrimSpace(s))
			}
			continue
		}
		if blank(row) {
			continue
		}
		if len(t.Rows) == maxRows {
			return nil, append(faults, tooLarge(fmt.Sprintf("%s:%d", file, line), fmt.Sprintf("there are more than %d rows", maxRows), "part the table"))
		}
		t.Lines = append(t.Lines, line)
		for i := range row {
			row[i] = unguarded(strings.TrimSpace(row[i]))
		}
		if len(row) > len(t.Head) && !blank(row[len(t.Head):]) {
			faults = append(faults, wrong("csv-cells", fmt.Sprintf("%s:%d", file, line), fmt.Sprintf("the row has %d cells, the first line names %d columns", len(row), len(t.Head)), "a number with a comma in it stands in quotes in CSV, or is written with a point"))
			t.Lines = t.Lines[:len(t.Lines)-1]
			continue
		}
		t.Rows = append(t.Rows, row[:min(len(row), len(t.Head))])
	}
	if t.Head == nil {
		return nil, append(faults, wrong("csv", file, "the file is empty", "the first line names the columns"))
	}
	return t, faults
}

// badByte is where a text stops being UTF-8.
func badByte(data []byte) int {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(data)
}

// separator is what parts the columns of the first line that is not empty.
func separator(data []byte) rune {
	line, _, _ := bytes.Cut(bytes.TrimLeft(data, "\r\n"), []byte("\n"))
	best, most := ',', bytes.Count(line, []byte(","))
	for _, c := range ";\t" {
		if n := bytes.Count(line, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

func blank(row []string) bool {
	for _, s := range row {
		if strings.TrimSpace(s) != "" {
			return false
		}
	}
	return true
}
