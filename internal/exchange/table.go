package exchange

import (
	"fmt"
	"strings"
	"unicode"

	"terret/internal/fault"
)

// Bounds of what is read.
const (
	MaxFile    = 16 << 20 // bytes of one file
	maxUnpack  = 64 << 20 // bytes a workbook may unpack to
	maxRows    = 20_000   // of one table
	maxColumns = 400
	maxCell    = 32_767 // characters; XLSX takes no more (ECMA-376, ST_Xstring as spreadsheets hold it)
)

// Table is a table as it stands in a file: texts, with the places of its rows.
type Table struct {
	Name  string // of TableNames, or "results …"
	File  string // for the places of faults
	Book  bool   // it is a worksheet: places are cells
	Head  []string
	Rows  [][]string // each as long as Head at most
	Lines []int      // line or worksheet row of each row, from 1
	// HeadLine is that of the heads; 0: the first.
	HeadLine int
	// Numbers are columns that are written into a workbook as numbers, by name. They
	// are for people to reckon with; what is read back is texts alone.
	Numbers map[string]bool
}

// place names a cell, or with col < 0 a row.
func (t *Table) place(row, col int) string {
	line := 1 // of the heads, where they are not said to stand elsewhere
	switch {
	case row >= 0 && row < len(t.Lines):
		line = t.Lines[row]
	case row >= 0:
		line = row + 2
	case t.HeadLine > 0:
		line = t.HeadLine
	}
	if t.Book {
		at := fmt.Sprintf("%s: %s!", t.File, t.Name)
		if col < 0 {
			return fmt.Sprintf("%s%d", at, line)
		}
		return fmt.Sprintf("%s%s%d (%s)", at, letters(col), line, t.Head[col])
	}
	if col < 0 {
		return fmt.Sprintf("%s:%d", t.File, line)
	}
	return fmt.Sprintf("%s:%d: %s", t.File, line, t.Head[col])
}

// letters is the name of a worksheet's column: 0 is A, 26 is AA.
func letters(col int) string {
	s := ""
	for n := col + 1; n > 0; n = (n - 1) / 26 {
		s = string(rune('A'+(n-1)%26)) + s
	}
	return s
}

// plain makes names of columns comparable: capitals, underscores and further blanks
// do not count.
func plain(name string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(strings.ToLower(name), "_", " ")), " ")
}

// joined writes a list into one cell; items are parted by semicolons.
func joined(items []string) string {
	clean := make([]string, len(items))
	for i, s := range items {
		clean[i] = strings.NewReplacer(`\`, `\\`, `;`, `\;`).Replace(s)
	}
	return strings.Join(clean, "; ")
}

// parted reads what joined wrote. Blanks around an item do not count.
func parted(cell string) []string {
	if strings.TrimSpace(cell) == "" {
		return nil
	}
	var all []string
	var b strings.Builder
	escaped := false
	for _, r := range cell {
		switch {
		case escaped:
			b.WriteRune(r)
			escaped = false
		case r == '\\':
			escaped = true
		case r == ';':
			all = append(all, strings.TrimSpace(b.String()))
			b.Reset()
		default:
			b.WriteRune(r)
		}
	}
	return append(all, strings.TrimSpace(b.String()))
}

// words reads numbers of obstacles or of seconds, which people part by what comes to
// hand: blanks, or one of the signs given.
func words(cell, signs string) []string {
	return strings.FieldsFunc(cell, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(signs, r) })
}

func wrong(rule, place, message, hint string) *fault.Fault {
	return &fault.Fault{Code: fault.Input, Rule: rule, Place: place, Message: message, Hint: hint}
}

// tooLarge is the fault of a file that is more than is taken.
func tooLarge(place, message, hint string) *fault.Fault {
	return &fault.Fault{Code: fault.TooLarge, Rule: "file-size", Place: place, Message: message, Hint: hint}
}
