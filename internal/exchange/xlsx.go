package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"terret/internal/fault"
)

// WriteXLSX writes tables as a workbook, a worksheet each. Every text is stored as a
// text: none is a formula, whatever it begins with.
func WriteXLSX(w io.Writer, tables []Table) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return err
	}
	taken := map[string]bool{}
	for i := range tables {
		t := &tables[i]
		name := worksheet(t.Name, taken)
		if i == 0 {
			err = f.SetSheetName(f.GetSheetName(0), name)
		} else {
			_, err = f.NewSheet(name)
		}
		if err != nil {
			return err
		}
		if err := fill(f, name, t, bold); err != nil {
			return fmt.Errorf("write the worksheet %s: %w", name, err)
		}
	}
	return f.Write(w)
}

// fill writes one worksheet, row after row.
func fill(f *excelize.File, name string, t *Table, bold int) error {
	out, err := f.NewStreamWriter(name)
	if err != nil {
		return err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	for col := range t.Head {
		width := len([]rune(t.Head[col]))
		for _, row := range t.Rows {
			if col < len(row) {
				width = max(width, len([]rune(row[col])))
			}
		}
		if err := out.SetColWidth(col+1, col+1, float64(min(max(width+2, 6), 60))); err != nil {
			return err
		}
	}
	head := make([]any, len(t.Head))
	for i, s := range t.Head {
		head[i] = excelize.Cell{StyleID: bold, Value: s}
	}
	if err := out.SetRow("A1", head); err != nil {
		return err
	}
	for i, row := range t.Rows {
		cells := make([]any, len(row))
		for k, s := range row {
			cells[k] = s
			if len([]rune(s)) > maxCell {
				return fmt.Errorf("the text in %s%d is longer than a worksheet takes", letters(k), i+2)
			}
			if t.Numbers[t.Head[k]] {
				if n, err := strconv.ParseFloat(s, 64); err == nil {
					cells[k] = n
				}
			}
			if s == "" {
				cells[k] = nil
			}
		}
		if err := out.SetRow("A"+strconv.Itoa(i+2), cells); err != nil {
			return err
		}
	}
	return out.Flush()
}

// worksheet is a name a workbook takes: at most 31 characters, none of :\/?*[],
// no apostrophe at the ends, and no two alike.
func worksheet(name string, taken map[string]bool) string {
	clean := strings.Trim(strings.NewReplacer(":", " ", `\`, " ", "/", " ", "?", " ", "*", " ", "[", "(", "]", ")").Replace(name), "' ")
	if clean == "" {
		clean = "table"
	}
	short := func(s string, n int) string {
		r := []rune(s)
		return string(r[:min(len(r), n)])
	}
	s := short(clean, 31)
	for n := 2; taken[strings.ToLower(s)]; n++ {
		s = short(clean, 27) + " " + strconv.Itoa(n)
	}
	taken[strings.ToLower(s)] = true
	return s
}

// ReadXLSX reads the worksheets of a workbook that have the name of a table; those
// with other names are not looked at, and named in others. A formula counts as the
// value it had when the workbook was saved. The tables are nil when the file cannot
// be read as a workbook; else the faults are of what was left out.
func ReadXLSX(file string, data []byte) (tables []Table, others []string, faults fault.List) {
	if len(data) > MaxFile {
		return nil, nil, fault.List{tooLarge(file, fmt.Sprintf("the file has %d MB", len(data)>>20), fmt.Sprintf("at most %d MB are read; pictures and empty worksheets make workbooks large, or is it the wrong file?", MaxFile>>20))}
	}
	no := func(err any) fault.List {
		return fault.List{wrong("xlsx", file, "this is no workbook that can be read: "+strings.Join(strings.Fields(fmt.Sprint(err)), " "), "save it again as .xlsx, without a password")}
	}
	defer func() {
		// The library is given files from anywhere; a broken one must not end the
		// program.
		if r := recover(); r != nil {
			tables, others, faults = nil, nil, no(r)
		}
	}()
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnpack, UnzipXMLSizeLimit: maxUnpack})
	if err != nil {
		if strings.Contains(err.Error(), "unzip size exceeds") {
			return nil, nil, fault.List{tooLarge(file, "the workbook unpacks to more than is read", fmt.Sprintf("at most %d MB; copy the tables into a new workbook", maxUnpack>>20))}
		}
		return nil, nil, no(err)
	}
	defer f.Close()
	for _, name := range f.GetSheetList() {
		kind := tableNamed(name)
		if kind == "" {
			if !strings.HasPrefix(name, "results ") { // ours, and worked out anew
				others = append(others, name)
			}
			continue
		}
		t, wrongs := readWorksheet(f, file, name, kind)
		faults = append(faults, wrongs...)
		if t != nil {
			tables = append(tables, *t)
		}
	}
	return tables, others, faults
}

func readWorksheet(f *excelize.File, file, name, kind string) (*Table, fault.List) {
	at := fmt.Sprintf("%s: %s", file, name)
	rows, err := f.Rows(name)
	if err != nil {
		return nil, fault.List{wrong("xlsx", at, "the worksheet cannot be read: "+err.Error(), "")}
	}
	defer rows.Close()
	t := &Table{Name: kind, File: file, Book: true}
	times := map[int]bool{}
	var faults fault.List
	for line := 1; rows.Next(); line++ {
		if line > 10*maxRows { // empty rows are not rows, and there may be a million of them
			return nil, append(faults, tooLarge(at, fmt.Sprintf("the worksheet goes on behind row %d", line), "delete what is below the table"))
		}
		row, err := rows.Columns()
		if err != nil {
			return nil, append(faults, wrong("xlsx", fmt.Sprintf("%s!%d", at, line), "the row cannot be read: "+err.Error(), ""))
		}
		for i := range row {
			if row[i] = strings.TrimSpace(row[i]); longNumber.MatchString(row[i]) {
				row[i] = number(f, name, letters(i)+strconv.Itoa(line), row[i])
			}
		}
		if blank(row) {
			continue
		}
		if t.Head == nil {
			if len(row) > maxColumns {
				return nil, append(faults, tooLarge(at, fmt.Sprintf("there are %d columns", len(row)), fmt.Sprintf("at most %d are read", maxColumns)))
			}
			t.Head, t.HeadLine = row, line
			continue
		}
		if len(row) > len(t.Head) && !blank(row[len(t.Head):]) {
			faults = append(faults, wrong("xlsx-cells", fmt.Sprintf("%s!%d", at, line), "there is something to the right of the last column that has a name", "name the column, or clear the cell"))
			continue
		}
		if len(t.Rows) == maxRows {
			return nil, append(faults, tooLarge(fmt.Sprintf("%s!%d", at, line), fmt.Sprintf("there are more than %d rows", maxRows), "part the table"))
		}
		t.Lines = append(t.Lines, line)
		row = row[:min(len(row), len(t.Head))]
		for col, s := range row {
			if s != "" && timeShown(f, name, letters(col)+strconv.Itoa(line), s, times) {
				row[col] = notATime + s
			}
		}
		t.Rows = append(t.Rows, row)
	}
	if t.Head == nil {
		return nil, faults // an empty worksheet is no table
	}
	return t, faults
}

// notATime stands before the raw value of a cell that is shown as a time of day or a
// date: its number is days, and would be taken for seconds.
const notATime = "time of day "

var (
	longNumber = regexp.MustCompile(`^-?\d+\.\d{9,}$|^-?\d+(\.\d+)?[Ee][+-]?\d{1,3}$`)
	timeParts  = regexp.MustCompile(`(?i)[hs]|:|d{1,4}[./-]|yy`)
	quoted     = regexp.MustCompile(`"[^"]*"|\\.|\[[^\]hms]*\]`)
)

// number writes the number in a cell as its shortest decimal: spreadsheets store 41.37
// as 41.369999999999997. A text that looks like a number stays as it is.
func number(f *excelize.File, sheet, cell, raw string) string {
	switch kind, err := f.GetCellType(sheet, cell); {
	case err != nil, kind == excelize.CellTypeInlineString, kind == excelize.CellTypeSharedString:
		return raw
	}
	n, err := strconv.ParseFloat(raw, 64)
	if err != nil {
		return raw
	}
	return strconv.FormatFloat(n, 'f', -1, 64)
}

// timeShown reports whether a cell holds a number that is shown as a time or a date.
// times remembers which styles are such.
func timeShown(f *excelize.File, sheet, cell, raw string, times map[int]bool) bool {
	if n, err := strconv.ParseFloat(raw, 64); err != nil || n < 0 {
		return false
	}
	id, err := f.GetCellStyle(sheet, cell)
	if err != nil || id == 0 {
		return false
	}
	is, known := times[id]
	if known {
		return is
	}
	if style, err := f.GetStyle(id); err == nil {
		// Formats 14 to 22 and 45 to 47 are dates and times (ECMA-376, 18.8.30 numFmt).
		n := style.NumFmt
		is = n >= 14 && n <= 22 || n >= 45 && n <= 47 || style.CustomNumFmt != nil && timeParts.MatchString(quoted.ReplaceAllString(*style.CustomNumFmt, ""))
	}
	times[id] = is
	return is
}
