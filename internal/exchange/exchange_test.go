package exchange_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"terret/internal/exchange"
	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

func examples(t testing.TB) map[string]*trial.Trial {
	t.Helper()
	all := map[string]*trial.Trial{}
	files, err := filepath.Glob("../../examples/trials/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no examples", err)
	}
	for _, f := range files {
		tr, _, err := trial.Load(f)
		if err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(f)] = tr
	}
	all["everything"] = everything(t)
	return all
}

// everything uses every column there is.
func everything(t testing.TB) *trial.Trial {
	t.Helper()
	tr, err := trial.Parse("everything", []byte(`terret: trial/1
name: "=Everything; 'all', +1"
rules: three-phase
classes:
  - {id: N, name: Novice, hitch: single, size: pony, through: C, phases: [dressage, sections, hazards, cones]}
  - {id: L, name: Level, level: training, phases: [hazards]}
entries:
  - {number: 7, class: N, driver: "-Hazel; Fenn \\ \"x\"", grooms: [Rob; Alder, "@Una"], horses: ["=Teasel"], vehicle: "'=gig", turnout: a.yaml, gap_cm: 165, why: "a\nb, c", wishes: [{phase: cones, not_before: "09:00", not_after: "12:00:30", behind: 8, why: vet}, {behind: 8}]}
  - {number: 8, class: N, driver: Ida, status: retired, in_phase: cones}
  - {number: 9, class: L, driver: "'"}
tests: [{id: T1, name: Test, maximum: 40, coefficient: "4.00", movements: [{no: 1}, {no: 2, times: 3}]}]
courses:
  - {id: A, phase: sections, allowed_s: "1800", minimum_s: "1700", limit_s: "3600"}
  - {id: H1, name: Orchard, phase: hazards, limit_s: "300"}
  - {id: C1, phase: cones, classes: [N], length_m: "590", speed_m_per_min: "220", allowed_s: "161"}
timetable:
  phases:
    - {name: inspection, start: "08:00", every_min: 5}
    - {name: dressage, classes: [N], start: "09:00", end: "12:00", every_min: 7.5, lasts_min: 6, breaks: [{from: "10:00", to: "10:15", why: tea to go}, {from: "11:00", to: "11:05"}], gaps: true, spare: 2, after: inspection, keep_classes: true}
    - {name: cones, start: "13:00", every_min: 4}
  rests_min: {groom: 0, phases: 12.5}
  starts: [{phase: dressage, entry: 7, at: "09:00"}, {phase: cones, entry: 7, at: "13:00:30"}]
  seed: 3
sheets:
  dressage: [{entry: 7, test: T1, judge: C, marks: ["6.5", "-"], faults: {course_error: 1, groom_down: 0}}, {entry: 7, test: T1, judge: B, marks: ["-", "7"]}]
  sections: [{entry: 7, course: A, seconds: "1820.00", backup: "1820.5"}]
  hazards:
    - {id: s1, entry: 7, course: H1, gates: "A B< C", seconds: "41.37", stops: ["3.2", "1"], faults: {dislodged: 1}}
    - {entry: 7, course: H1, gates: "A B C", seconds: "41.30", replaces: s1}
    - {entry: 8, course: H1, out: "=outside help"}
  cones: [{entry: 7, course: C1, seconds: "148.35", knocked: [3, "7b"]}]
teams: [{name: "+Team", members: [7, 8]}]
series: [{name: League, days: [{name: one, places: {Ann: 1, "=Bo": 2}}, {name: two, final: true, places: {Ann: 3}}]}]
`))
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// load finds a built-in profile; reading one takes longer than the rest of a test.
var load = func() func(string) (*rules.Profile, error) {
	all := map[string]*rules.Profile{}
	for _, name := range rules.Names() {
		if p, err := rules.Load(name); err == nil {
			all[name] = p
		}
	}
	all[""] = all[rules.Default]
	return func(name string) (*rules.Profile, error) {
		if p := all[name]; p != nil {
			return p, nil
		}
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "profile", Message: "there is no such profile"}
	}
}()

func yaml(t testing.TB, tr *trial.Trial) string {
	t.Helper()
	text, err := trial.Encode(tr)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// asXLSX writes tables as a workbook and reads them back.
func asXLSX(t testing.TB, tables []exchange.Table) []exchange.Table {
	t.Helper()
	var b bytes.Buffer
	if err := exchange.WriteXLSX(&b, tables); err != nil {
		t.Fatal(err)
	}
	got, _, faults := exchange.ReadXLSX("day.xlsx", b.Bytes())
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return got
}

// asCSV writes each table as a CSV file and reads it back, telling it by its columns.
func asCSV(t testing.TB, tables []exchange.Table) []exchange.Table {
	t.Helper()
	var all []exchange.Table
	for i := range tables {
		var b bytes.Buffer
		if err := exchange.WriteCSV(&b, &tables[i]); err != nil {
			t.Fatal(err)
		}
		got, faults := exchange.ReadCSV(tables[i].Name+".csv", "", b.Bytes())
		if len(faults) > 0 {
			t.Fatalf("%v\n%s", faults, b.String())
		}
		all = append(all, *got)
	}
	return all
}

// What is given out comes back as the same trial, through CSV and XLSX.
func TestRoundTrip(t *testing.T) {
	for name, tr := range examples(t) {
		for kind, through := range map[string]func(testing.TB, []exchange.Table) []exchange.Table{"csv": asCSV, "xlsx": asXLSX} {
			tables := through(t, exchange.Tables(tr))
			got, left, err := exchange.Assemble(nil, tables, load)
			if err != nil || left != nil {
				t.Errorf("%s through %s: %v, left out %v", name, kind, err, left)
				continue
			}
			if d := cmp.Diff(yaml(t, tr), yaml(t, got)); d != "" {
				t.Errorf("%s through %s came back changed:\n%s", name, kind, d)
			}
		}
	}
}

// Whatever stands in a text comes back.
func TestRoundTripOfAnyText(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	parts := []string{"=", "+", "-", "@", "'", "\"", ";", "\\", ",", "a", "7", ".", " ", "é", "馬", "\t", "1", "=1+1", "E5", "\n"}
	text := func() string {
		var b strings.Builder
		for range 1 + random.IntN(6) {
			b.WriteString(parts[random.IntN(len(parts))])
		}
		// Blanks around a text do not count in a table.
		return strings.TrimSpace(b.String())
	}
	for round := range 300 {
		tr := &trial.Trial{Name: "x" + text(), Rules: "three-phase", Classes: []trial.Class{{ID: "N", Phases: []string{rules.Hazards}, Name: text()}}}
		for n := 1; n <= 8; n++ {
			e := trial.Entry{Number: n, Class: "N", Driver: text(), Vehicle: text(), Why: text()}
			for range random.IntN(3) {
				if s := text(); s != "" {
					e.Horses = append(e.Horses, s)
				}
			}
			tr.Entries = append(tr.Entries, e)
		}
		for kind, through := range map[string]func(testing.TB, []exchange.Table) []exchange.Table{"csv": asCSV, "xlsx": asXLSX} {
			if kind == "xlsx" && round%5 != 0 {
				continue // a workbook takes thirty times as long
			}
			got, left, err := exchange.Assemble(nil, through(t, exchange.Tables(tr)), load)
			if err != nil || left != nil {
				t.Fatalf("through %s: %v, left out %v\n%+v", kind, err, left, tr)
			}
			if d := cmp.Diff(tr, got); d != "" {
				t.Fatalf("through %s came back changed:\n%s", kind, d)
			}
		}
	}
}

// No text of ours is a formula for whoever opens the file: OWASP, "CSV Injection",
// names = + - @, tab and carriage return at the beginning of a cell.
func TestNothingIsAFormula(t *testing.T) {
	evil := []string{`=1+1`, `quiet;=1+1`, "quiet\t@SUM(A1)", `=HYPERLINK("http://x","y")`, `+1`, `-2+3`, `@SUM(A1)`, "\t=1", "\r=1", `'=1`}
	tr := everything(t)
	tr.Entries = nil
	for i, s := range evil {
		tr.Entries = append(tr.Entries, trial.Entry{Number: i + 1, Class: "L", Driver: s, Why: s})
	}
	tr.Sheets, tr.Teams, tr.Timetable = nil, nil, nil
	p, err := rules.Load("three-phase")
	if err != nil {
		t.Fatal(err)
	}
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	tables := append(exchange.Results(tr, a, map[string]string{"L": "=provisional"}), exchange.Tables(tr)...)
	cells := 0
	for i := range tables {
		var b bytes.Buffer
		if err := exchange.WriteCSV(&b, &tables[i]); err != nil {
			t.Fatal(err)
		}
		for _, line := range rawCSV(t, b.Bytes()) {
			for _, cell := range line {
				cells++
				// Parted by semicolons or tabs, as some spreadsheets do, no piece runs either.
				for _, piece := range append(strings.Split(cell, ";"), strings.Split(cell, "\t")...) {
					if piece != "" && strings.ContainsAny(piece[:1], "=+-@\t\r") {
						t.Errorf("%s: the cell %q would be run", tables[i].Name, cell)
					}
				}
			}
		}
	}
	var b bytes.Buffer
	if err := exchange.WriteXLSX(&b, tables); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	seen := 0
	for _, name := range f.GetSheetList() {
		rows, err := f.GetRows(name)
		if err != nil {
			t.Fatal(err)
		}
		for y, row := range rows {
			for x, text := range row {
				cell, _ := excelize.CoordinatesToCellName(x+1, y+1)
				if formula, _ := f.GetCellFormula(name, cell); formula != "" {
					t.Errorf("%s!%s is the formula %q", name, cell, formula)
				}
				if slices.Contains(evil, text) {
					seen++
					if kind, _ := f.GetCellType(name, cell); kind != excelize.CellTypeInlineString && kind != excelize.CellTypeSharedString {
						t.Errorf("%s!%s, %q, is of type %d, not a text", name, cell, text, kind)
					}
				}
			}
		}
	}
	if cells < 100 || seen < 2*len(evil)-6 {
		t.Errorf("only %d cells looked at and %d evil texts found: the test tests little", cells, seen)
	}
}

func rawCSV(t *testing.T, data []byte) [][]string {
	t.Helper()
	var all [][]string
	for _, line := range strings.Split(string(data), "\r\n") {
		// Cells as a program sees them that knows quotes.
		var row []string
		var cell strings.Builder
		in := false
		for _, r := range line {
			switch {
			case r == '"':
				in = !in
			case r == ',' && !in:
				row = append(row, cell.String())
				cell.Reset()
			default:
				cell.WriteRune(r)
			}
		}
		all = append(all, append(row, cell.String()))
	}
	return all
}

// rows finds what is wrong, row by row: the place says file, line or cell, and column.
func TestBadRowsAreNamedAndTheRestIsTaken(t *testing.T) {
	base := examples(t)["hollowmere.yaml"]
	base.Sheets = nil
	const sheets = "number;course;gates;time;fault groom_down;fault dislodged;knocked\n"
	for _, c := range []struct {
		name, csv, table string
		taken            int
		says             []string
	}{
		{"a time with a comma", "entry;course;gates;seconds\n7;H1;A B C;\"41,37\"\n8;H1;A B C;48.90\n", "hazards", 1, []string{`x.csv:2: seconds: the time is "41,37": there is a comma in the number; write seconds with a point`}},
		{"a time with a comma that parts the cells", "entry,course,gates,seconds\n7,H1,A B C,41,37\n8,H1,A B C,48.90\n", "hazards", 1, []string{`x.csv:2: the row has 5 cells, the first line names 4 columns; a number with a comma`}},
		{"minutes", "entry,course,seconds\n7,H1,2:28.35\n8,H1,48.90\n", "hazards", 1, []string{`x.csv:2: seconds: the time is "2:28.35": minutes stand in the number`}},
		{"a mark over the scale", "entry,judge,test,mark 1,mark 2,mark 3,mark 4,mark 5,mark 6,mark 7,mark 8\n7,C,T1,6,6,65,6,6,6,6,6\n8,C,T1,6,6,6.5,6,6,,6,6\n", "dressage", 1, []string{`x.csv:2: mark 3: mark 3 is 65; marks go from 0 to 10`}},
		{"an unknown entry", "number,course,seconds\n77,H1,40\n8,H1,48.90\n", "hazards", 1, []string{`x.csv:2: number: there is no entry 77; check the number on the sheet`}},
		{"two sheets for one run", "entry,course,seconds\n7,H1,40\n8,H1,48.90\n7,H1,41\n", "hazards", 2, []string{`x.csv:4: there are two sheets for entry 7, hazards H1; say replaces: "hazards:7:H1"`}},
		{"two for one run, the first of them wrong", "entry,course,seconds\n7,H1,\"40,1\"\n7,H1,41\n", "hazards", 1, []string{`x.csv:2: seconds: the time is "40,1"`}},
		{"an unknown fault", "entry,course,seconds,fault hat lost\n7,H1,40,1\n8,H1,48.90,\n", "hazards", 1, []string{`x.csv:2: fault hat lost: there is no fault "hat_lost" in hazards`}},
		{"a fault that is no number", "entry,course,seconds,fault groom_down\n7,H1,40,often\n8,H1,48.90,1\n", "hazards", 1, []string{`x.csv:2: fault groom_down: "often" stands here; a whole number from 0 to 999 is wanted`}},
		{"an unknown column", "entry,course,seconds,colour\n7,H1,40,red\n", "hazards", 1, []string{`x.csv:1: colour: the table hazards has no column "colour"; its columns are entry, course`}},
		{"no such class", "number,class,driver\n30,Z,Ann\n31,N,Bo\n", "entries", 1, []string{`x.csv:2: class: there is no class "Z"; the classes are P, N`}},
		{"one number twice", "number,class,driver\n30,N,Ann\n30,N,Bo\n", "entries", 1, []string{`x.csv:3: number: there are two entries called "30"`}},
		{"a number that is none", "number,class,driver\nseven,N,Ann\n,N,Bo\n32,N,Cy\n", "entries", 1, []string{`x.csv:2: number: "seven" stands here`, `x.csv:3: number: nothing stands under number`}},
		{"an unknown obstacle letter", "entry,course,gates,seconds\n7,H1,A ? C,40\n8,H1,A B C,48.90\n", "hazards", 1, []string{`x.csv:2: gates: `}},
		{"semicolons and other words for columns", sheets + "7;H1;A B C;41.37;1;;\n", "", 0, []string{`x.csv:1: knocked: the table hazards has no column "knocked"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			table, faults := exchange.ReadCSV("x.csv", c.table, []byte(c.csv))
			if table == nil {
				t.Fatal(faults)
			}
			got, left, err := exchange.Assemble(base, []exchange.Table{*table}, load)
			if err != nil {
				t.Fatal(err)
			}
			left = append(faults, left...)
			if len(left) != len(c.says) {
				t.Errorf("%d faults, want %d:\n%v", len(left), len(c.says), left)
			}
			for i := range min(len(left), len(c.says)) {
				if !strings.HasPrefix(left[i].Error(), c.says[i]) {
					t.Errorf("said\n%s\nwant\n%s", left[i].Error(), c.says[i])
				}
			}
			if n := len(got.Sheets) + len(got.Entries) - len(base.Entries); n != c.taken && c.table != "" {
				t.Errorf("%d rows were taken, want %d", n, c.taken)
			}
		})
	}
}

// A table of sheets is told by its courses, where its columns could be of two phases.
func TestTableIsToldByItsCourses(t *testing.T) {
	base := examples(t)["hollowmere.yaml"]
	base.Sheets = nil
	table, _ := exchange.ReadCSV("x.csv", "", []byte("number,course,time\n7,H1,40.25\n8,H2,41\n"))
	got, left, err := exchange.Assemble(base, []exchange.Table{*table}, load)
	if err != nil || left != nil || len(got.Sheets) != 2 || got.Sheets[0].Phase != rules.Hazards || got.Sheets[0].Seconds != "40.25" {
		t.Errorf("%v, left out %v, taken %+v", err, left, got.Sheets)
	}
	mixed, _ := exchange.ReadCSV("x.csv", "", []byte("number,course,time\n7,H1,40.25\n8,C1,41\n"))
	if _, left, _ := exchange.Assemble(base, []exchange.Table{*mixed}, load); len(left) == 0 {
		t.Error("sheets of two phases in one table are taken without a word")
	}
}

// Balls are counted one by one, however they are parted.
func TestKnockedOneByOne(t *testing.T) {
	base := examples(t)["hollowmere.yaml"]
	base.Sheets = nil
	for _, cell := range []string{"3; 7b", "3 7b", "\"3, 7b\"", "3;7b", " 3  7b "} {
		table, _ := exchange.ReadCSV("x.csv", "", []byte("entry,course,seconds,knocked\n7,C1,150,"+cell+"\n"))
		got, left, err := exchange.Assemble(base, []exchange.Table{*table}, load)
		if err != nil || left != nil || !slices.Equal(got.Sheets[0].Knocked, []string{"3", "7b"}) {
			t.Errorf("%s: %v, left out %v, taken %+v", cell, err, left, got.Sheets)
		}
	}
}

// In a workbook the place is a cell.
func TestBadCellsAreNamed(t *testing.T) {
	base := examples(t)["hollowmere.yaml"]
	base.Sheets = nil
	f := excelize.NewFile()
	defer f.Close()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(f.SetSheetName("Sheet1", "Hazards"))
	_, err := f.NewSheet("My own sums")
	must(err)
	for i, row := range [][]any{
		{"Entry", "Course", "Gates", "Seconds", "notes"},
		{7, "H1", "A B C", 41.37, "fine"},
		{nil, nil, nil, nil, nil},
		{8, "H1", "A B C", "48,90", nil},
		{9, "H1", "A B C", 41.369999999999997, nil},
		{7, "H2", "A B C", 0.00171701388888889, nil}, // 2:28.35 of a day
		{8, "H2", "A B C", nil, nil},
	} {
		must(f.SetSheetRow("Hazards", fmt.Sprint("A", i+1), &row))
	}
	format := "mm:ss.00"
	style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	must(err)
	must(f.SetCellStyle("Hazards", "D6", "D6", style))
	must(f.SetCellFormula("Hazards", "D7", "=30+1.5"))
	var b bytes.Buffer
	must(f.Write(&b))
	tables, others, faults := exchange.ReadXLSX("pile.xlsx", b.Bytes())
	if len(faults) > 0 || len(others) != 1 || others[0] != "My own sums" {
		t.Fatalf("%v, not looked at: %v", faults, others)
	}
	got, left, err := exchange.Assemble(base, tables, load)
	must(err)
	want := []string{
		`pile.xlsx: hazards!D4 (Seconds): the time is "48,90": there is a comma`,
		`pile.xlsx: hazards!D6 (Seconds): the time is "time of day 0.00171701388888889"`,
	}
	if len(left) != len(want) {
		t.Fatalf("left out: %v", left)
	}
	for i := range want {
		if !strings.HasPrefix(left[i].Error(), want[i]) {
			t.Errorf("said\n%s\nwant\n%s", left[i].Error(), want[i])
		}
	}
	var times []string
	for _, s := range got.Sheets {
		times = append(times, fmt.Sprint(s.Entry, " ", s.Seconds))
	}
	if d := cmp.Diff([]string{"7 41.37", "9 41.37", "8 "}, times); d != "" {
		t.Error(d)
	}
}

// A file that is too large, that unpacks to too much, or that is no workbook, is
// refused at once and plainly.
func TestLargeAndBrokenFiles(t *testing.T) {
	code := func(f fault.List) string {
		if len(f) != 1 {
			return fmt.Sprint(len(f), " faults")
		}
		return string(f[0].Code)
	}
	begun := time.Now()
	_, _, f := exchange.ReadXLSX("big.xlsx", make([]byte, 50<<20))
	if code(f) != string(fault.TooLarge) || !strings.Contains(f.Error(), "big.xlsx: the file has 50 MB; at most 16 MB are read") {
		t.Errorf("50 MB: %v", f)
	}
	if _, f := exchange.ReadCSV("big.csv", "", make([]byte, 50<<20)); code(f) != string(fault.TooLarge) {
		t.Errorf("50 MB of CSV: %v", f)
	}
	_, _, f = exchange.ReadXLSX("bomb.xlsx", bomb(t, 400<<20))
	if code(f) != string(fault.TooLarge) || !strings.Contains(f.Error(), "unpacks to more than is read") {
		t.Errorf("a workbook that unpacks to 400 MB: %v", f)
	}
	if d := time.Since(begun); d > 10*time.Second { // a guard against reading them all the same, no measure of speed
		t.Errorf("it took %s to refuse them", d)
	}
	for name, data := range map[string][]byte{"nothing": nil, "text": []byte("entry,course\n"), "half a zip": bomb(t, 1000)[:100], "a zip of something": bomb(t, 1000)} {
		if tables, _, f := exchange.ReadXLSX("x.xlsx", data); len(f) != 1 || tables != nil || !strings.Contains(f.Error(), "x.xlsx: this is no workbook that can be read") {
			if name != "a zip of something" || len(f) == 0 && tables != nil {
				t.Errorf("%s: %v, %v", name, tables, f)
			}
		}
	}
	if _, f := exchange.ReadCSV("latin.csv", "", []byte("number,class,driver\n7,N,Ann\n8,N,J\xf6rg\n")); len(f) != 1 || !strings.HasPrefix(f.Error(), "latin.csv:3: there are letters that are not UTF-8") {
		t.Errorf("Latin-1: %v", f)
	}
	if _, f := exchange.ReadCSV("q.csv", "", []byte("number,class\n7,\"N\n")); len(f) != 1 || !strings.HasPrefix(f.Error(), "q.csv:") {
		t.Errorf("an open quote: %v", f)
	}
	rows := "entry,course,seconds\n" + strings.Repeat("7,H1,40\n", 20_001)
	if table, f := exchange.ReadCSV("long.csv", "", []byte(rows)); table != nil || code(f) != string(fault.TooLarge) {
		t.Errorf("20,001 rows: %v", f)
	}
}

// largest is the largest table that is taken.
func largest() exchange.Table {
	table := exchange.Table{Name: "hazards", Head: []string{"entry", "course", "gates", "seconds", "backup", "stops", "out", "id", "replaces"}}
	for n := range 20_000 {
		table.Rows = append(table.Rows, []string{"7", "H1", "A B C", fmt.Sprint(n%100, ".25"), fmt.Sprint(n%100, ".31"), "", "", fmt.Sprint("s", n), fmt.Sprint("r", n)})
	}
	return table
}

// The largest table that is taken comes back from a workbook to the last row. How long
// that takes is for BenchmarkLargestTable.
func TestLargestTable(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: writes and reads a workbook of 20,000 rows; make unit runs it")
	}
	table := largest()
	var b bytes.Buffer
	if err := exchange.WriteXLSX(&b, []exchange.Table{table}); err != nil {
		t.Fatal(err)
	}
	tables, _, faults := exchange.ReadXLSX("x.xlsx", b.Bytes())
	if len(faults) > 0 || len(tables) != 1 || len(tables[0].Rows) != len(table.Rows) {
		t.Fatalf("%v, %d tables", faults, len(tables))
	}
	for n, row := range tables[0].Rows {
		if !slices.Equal(row, table.Rows[n]) {
			t.Fatalf("row %d came back as %q, want %q", n, row, table.Rows[n])
		}
	}
}

func BenchmarkLargestTable(b *testing.B) {
	var file bytes.Buffer
	if err := exchange.WriteXLSX(&file, []exchange.Table{largest()}); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(file.Len()))
	for b.Loop() {
		if _, _, faults := exchange.ReadXLSX("x.xlsx", file.Bytes()); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}

// bomb is a zip that unpacks to so many bytes of a worksheet.
func bomb(t *testing.T, size int) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	block := make([]byte, 1<<20)
	for n := 0; n < size; n += len(block) {
		if _, err := w.Write(block[:min(len(block), size-n)]); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Five thousand bad rows come to an end, and all are named.
func TestManyBadRows(t *testing.T) {
	base := examples(t)["hollowmere.yaml"]
	base.Sheets = nil
	var b strings.Builder
	b.WriteString("entry,course,seconds\n")
	for n := range 5000 {
		fmt.Fprintf(&b, "%d,H1,\"1,%d\"\n", n%3+7, n)
	}
	b.WriteString("9,H2,40\n")
	table, faults := exchange.ReadCSV("x.csv", "hazards", []byte(b.String()))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	begun := time.Now()
	got, left, err := exchange.Assemble(base, []exchange.Table{*table}, load)
	if err != nil || len(left) != 5000 || len(got.Sheets) != 1 {
		t.Errorf("%d left out, %d taken, %v", len(left), len(got.Sheets), err)
	}
	if d := time.Since(begun); d > 20*time.Second { // a guard against looking at every row from every other, no measure of speed
		t.Errorf("5,000 bad rows took %s", d)
	}
}

// Without what a trial needs there is none, and the message says what to give.
func TestNoTrialOfThese(t *testing.T) {
	table, _ := exchange.ReadCSV("x.csv", "", []byte("number,class,driver\n7,N,Ann\n"))
	_, left, err := exchange.Assemble(nil, []exchange.Table{*table}, load)
	if err == nil || !strings.Contains(err.Error(), "give the table trial and the table classes too") {
		t.Errorf("%v, left out %v", err, left)
	}
	if _, _, err := exchange.Assemble(nil, nil, load); !errors.As(err, new(*fault.Fault)) {
		t.Errorf("of nothing: %v", err)
	}
	odd, _ := exchange.ReadCSV("x.csv", "", []byte("a,b\n1,2\n"))
	if _, left, _ := exchange.Assemble(examples(t)["hollowmere.yaml"], []exchange.Table{*odd}, load); len(left) != 1 || !strings.HasPrefix(left.Error(), "x.csv:1: these columns are of no table: a, b") {
		t.Errorf("left out %v", left)
	}
}

// Results are numbers to reckon with in a workbook, and one table in CSV.
func TestResults(t *testing.T) {
	tr := examples(t)["hollowmere.yaml"]
	p, err := rules.Load(tr.Rules)
	if err != nil {
		t.Fatal(err)
	}
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	tables := exchange.Results(tr, a, map[string]string{"P": "provisional, queries until 16:30"})
	one := exchange.OneTable(tables)
	if len(one.Rows) != len(tr.Entries) {
		t.Fatalf("%d rows for %d entries", len(one.Rows), len(tr.Entries))
	}
	var b bytes.Buffer
	if err := exchange.WriteCSV(&b, &one); err != nil {
		t.Fatal(err)
	}
	first := strings.Split(b.String(), "\r\n")[1]
	// 97.88 is the total that trial score gives for 8.
	if !strings.HasPrefix(first, `P,1,8,Ida Rook,Pippin,62.40,`) || !strings.Contains(first, `,97.88,penalties,placed,`) || !strings.Contains(first, "queries until 16:30") {
		t.Errorf("the first row is\n%s", first)
	}
	b.Reset()
	if err := exchange.WriteXLSX(&b, append(tables, exchange.Tables(tr)...)); err != nil {
		t.Fatal(err)
	}
	if dir := os.Getenv("TERRET_LOOK"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "results.xlsx"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	// The phases of class P are three, each with the place after it: the total is in L.
	sum, err := f.CalcCellValue("results P", "L2")
	if err != nil || sum != "97.88" {
		t.Errorf("the total in L2 is %q, %v", sum, err)
	}
	if err := f.SetCellFormula("results P", "Z1", "=L2+1"); err != nil {
		t.Fatal(err)
	}
	if v, err := f.CalcCellValue("results P", "Z1"); err != nil || v != "98.88" {
		t.Errorf("one more than the total is %q, %v: it is no number", v, err)
	}
	// A workbook with results in it is read as the trial it is of.
	back, others, faults := exchange.ReadXLSX("day.xlsx", b.Bytes())
	if len(faults) > 0 || len(others) != 0 {
		t.Fatalf("%v, not looked at: %v", faults, others)
	}
	got, left, err := exchange.Assemble(nil, back, load)
	if err != nil || left != nil || yaml(t, got) != yaml(t, tr) {
		t.Errorf("%v, left out %v", err, left)
	}
}

// Nothing that is read ends the program, what is refused is a fault with a place, and
// what is taken can be given out and taken again.
func fuzzed(t *testing.T, base *trial.Trial, tables []exchange.Table, faults fault.List) {
	for _, f := range faults {
		if f.Place == "" || f.Message == "" {
			t.Fatalf("a fault without a place: %+v", f)
		}
	}
	got, _, err := exchange.Assemble(base, tables, load)
	if err != nil {
		if _, ok := fault.CodeOf(err); !ok {
			t.Fatalf("not a fault: %v", err)
		}
		return
	}
	again, left, err := exchange.Assemble(nil, exchange.Tables(got), load)
	if err != nil || left != nil {
		t.Fatalf("given out it is not taken again: %v, %v\n%s", err, left, yaml(t, got))
	}
	if x, y := yaml(t, got), yaml(t, again); x != y {
		t.Fatalf("came back as\n%s\nand was\n%s", y, x)
	}
}

func FuzzReadCSV(f *testing.F) {
	for _, tr := range examples(f) {
		for _, table := range exchange.Tables(tr) {
			var b bytes.Buffer
			if err := exchange.WriteCSV(&b, &table); err != nil {
				f.Fatal(err)
			}
			f.Add(b.Bytes())
		}
	}
	f.Add([]byte("number;class;driver\r\n7;N;\"a;b\"\r\n"))
	f.Add([]byte("entry\tcourse\tseconds\n7\tH1\t4,1\n"))
	base := examples(f)["hollowmere.yaml"]
	f.Fuzz(func(t *testing.T, data []byte) {
		table, faults := exchange.ReadCSV("f.csv", "", data)
		if table == nil {
			if len(faults) == 0 {
				t.Fatal("nothing is read and nothing said")
			}
			return
		}
		fuzzed(t, base, []exchange.Table{*table}, faults)
	})
}

func FuzzReadXLSX(f *testing.F) {
	for _, tr := range examples(f) {
		var b bytes.Buffer
		if err := exchange.WriteXLSX(&b, exchange.Tables(tr)); err != nil {
			f.Fatal(err)
		}
		f.Add(b.Bytes())
	}
	base := examples(f)["hollowmere.yaml"]
	f.Fuzz(func(t *testing.T, data []byte) {
		tables, _, faults := exchange.ReadXLSX("f.xlsx", data)
		fuzzed(t, base, tables, faults)
	})
}
