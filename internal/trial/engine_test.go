package trial_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"terret/internal/rules"
	"terret/internal/trial"
)

// A second engine, written straight from the rule text as spreadsheet formulas
// and reckoned by a library's calculator: marks are typed in half marks, times in
// hundredths, so that every formula is of whole numbers and quarters, which
// binary fractions hold exactly.
//
//	dressage  KNHS 429.1, 449: 160 − mean of two judges × 0.73, errors 5, 10, E,
//	          driver down 20
//	hazards   KNHS 430.1a, 424, 458: all seconds × 0.25; 2 a piece, 10 held, 5 a
//	          groom, 20 an error
//	cones     KNHS 425, 461 to 463: 3 an obstacle; 0.5 a second over 161 s, 10 s
//	          for rebuilding; refusals 5, 10, E; twice the time E; reins 20
//	total     KNHS 429.1b, d: the sum, two places; ties: hazards, dressage, shared
const engineRows = 60

// Columns of the sheet.
const (
	colClass   = "A"
	colMarksC  = "B" // to W
	colMarksB  = "X" // to AS
	colCourse  = "AT"
	colDriver  = "AU"
	colHazards = "AV" // to BA: hundredths of a second
	colPieces  = "BB"
	colHeld    = "BC"
	colGroom   = "BD"
	colErrors  = "BE" // put right
	colSeconds = "BF" // cones, hundredths
	colBalls   = "BG"
	colRebuilt = "BH"
	colRefuses = "BI"
	colReins   = "BJ"
	colD       = "BK" // hundredths of a penalty, or E
	colH       = "BL"
	colC       = "BM"
	colTotal   = "BN"
	colPlace   = "BO"
	colExact   = "BP" // dressage before rounding
)

func newEngine(t testing.TB) *excelize.File {
	t.Helper()
	f := excelize.NewFile()
	for n := 1; n <= engineRows; n++ {
		all := func(col string) string { return fmt.Sprintf("%s$1:%s$%d", col, col, engineRows) }
		set := func(col, formula string) {
			if err := f.SetCellFormula("Sheet1", fmt.Sprintf("%s%d", col, n), strings.ReplaceAll(formula, "#", strconv.Itoa(n))); err != nil {
				t.Fatal(err)
			}
		}
		// In a cell of its own: the calculator makes 0 of a ROUND that begins with a
		// bracket.
		set(colExact, `(64000-73*(SUM(B#:W#)+SUM(X#:AS#)))/4`)
		set(colD, `IF(AT#>=3,"E",ROUND(BP#,0)+100*(IF(AT#=2,15,IF(AT#=1,5,0))+20*AU#))`)
		set(colH, `ROUND(SUM(AV#:BA#)/4,0)+100*(2*BB#+10*BC#+5*BD#+20*BE#)`)
		set(colC, `IF(OR(BI#>=3,BF#+1000*BH#>32200),"E",ROUND(MAX(0,BF#+1000*BH#-16100)/2,0)+100*(3*BG#+IF(BI#=2,15,IF(BI#=1,5,0))+20*BJ#))`)
		set(colTotal, `IF(OR(BK#="E",BM#="E"),"E",BK#+BL#+BM#)`)
		set(colPlace, fmt.Sprintf(`IF(BN#="E","E",1+COUNTIFS(%[1]s,A#,%[2]s,"<"&BN#)+COUNTIFS(%[1]s,A#,%[2]s,BN#,%[3]s,"<"&BL#)+COUNTIFS(%[1]s,A#,%[2]s,BN#,%[3]s,BL#,%[4]s,"<"&BK#))`,
			all(colClass), all(colTotal), all(colH), all(colD)))
	}
	return f
}

// errorsOf is what KNHS 458.2b makes of the drives that random trials have, to D.
var errorsOf = map[string]int{"A B C D": 0, "A C B C D": 1, "A B A< C D": 0, "B A A< B C D": 1}

func hundredthsOf(t testing.TB, s string) int {
	t.Helper()
	whole, part, _ := strings.Cut(s, ".")
	n, err := strconv.Atoi(whole + (part + "00")[:2])
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestTwoEngines compares both on random trials of 60 entries: 8 in the ordinary
// run, so many as TERRET_ENGINES says otherwise (1,000 are wanted of a release).
func TestTwoEngines(t *testing.T) {
	trials := 8
	if testing.Short() {
		trials = 1
	}
	if s := os.Getenv("TERRET_ENGINES"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		trials = n
	}
	p := profile(t, "three-phase")
	f := newEngine(t)
	placed, out, ties := 0, 0, 0
	for seed := range trials {
		tr := randomTrial(rand.New(rand.NewPCG(uint64(seed)+1, 60)), engineRows)
		fill(t, f, tr)
		a, err := trial.Score(tr, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range a.Entries {
			get := func(col string) string {
				v, err := f.CalcCellValue("Sheet1", fmt.Sprintf("%s%d", col, e.Number))
				if err != nil {
					t.Fatal(err)
				}
				return v
			}
			money := func(s *string) string {
				if s == nil {
					return "E"
				}
				return strconv.Itoa(hundredthsOf(t, *s))
			}
			place := "E"
			if e.Place != nil {
				place = strconv.Itoa(*e.Place)
				placed++
			} else {
				out++
			}
			if e.Tie != nil {
				ties++
			}
			for _, c := range []struct{ what, ours, theirs string }{
				{"dressage", money(e.Phases[rules.Dressage].Penalties), get(colD)},
				{"hazards", money(e.Phases[rules.Hazards].Penalties), get(colH)},
				{"cones", money(e.Phases[rules.Cones].Penalties), get(colC)},
				{"total", money(e.Total), get(colTotal)},
				{"place", place, get(colPlace)},
			} {
				if c.ours != c.theirs {
					t.Fatalf("trial %d, entry %d: %s %s, the spreadsheet says %s", seed+1, e.Number, c.what, c.ours, c.theirs)
				}
			}
		}
	}
	t.Logf("%d trials: %d placed, %d eliminated, %d level with another", trials, placed, out, ties)
	if placed == 0 || out == 0 {
		t.Error("nobody was placed, or nobody eliminated: the comparison proves little")
	}
}

// fill types a trial's sheets into the spreadsheet.
func fill(t testing.TB, f *excelize.File, tr *trial.Trial) {
	t.Helper()
	type row map[string]any
	rows := make([]row, engineRows+1)
	for _, e := range tr.Entries {
		rows[e.Number] = row{colClass: e.Class}
		for _, col := range []string{colCourse, colDriver, colPieces, colHeld, colGroom, colErrors, colBalls, colRebuilt, colRefuses, colReins} {
			rows[e.Number][col] = 0
		}
	}
	next := func(col string, by int) string {
		n, err := excelize.ColumnNameToNumber(col)
		if err != nil {
			t.Fatal(err)
		}
		name, err := excelize.ColumnNumberToName(n + by)
		if err != nil {
			t.Fatal(err)
		}
		return name
	}
	for i := range tr.Sheets {
		s := &tr.Sheets[i]
		r := rows[s.Entry]
		add := func(col string, n int) { r[col] = r[col].(int) + n }
		switch s.Phase {
		case rules.Dressage:
			first := map[string]string{"C": colMarksC, "B": colMarksB}[s.Judge]
			for k, m := range s.Marks {
				r[next(first, k)] = hundredthsOf(t, m) / 50 // in half marks
			}
			add(colCourse, s.Faults["course_error"])
			add(colDriver, s.Faults["driver_down"])
		case rules.Hazards:
			h := int(s.Course[1] - '1')
			r[next(colHazards, h)] = hundredthsOf(t, s.Seconds)
			errs, known := errorsOf[s.Gates]
			if !known {
				t.Fatalf("nobody has ruled on %q", s.Gates)
			}
			add(colErrors, errs)
			add(colPieces, s.Faults["dislodged"])
			add(colHeld, s.Faults["held_from_falling"])
			add(colGroom, s.Faults["groom_down"])
		case rules.Cones:
			r[colSeconds] = hundredthsOf(t, s.Seconds)
			add(colBalls, len(s.Knocked))
			add(colRebuilt, s.Faults["rebuilt"])
			add(colRefuses, s.Faults["refusal"])
			add(colReins, s.Faults["groom_on_reins"])
		}
	}
	for n := 1; n <= engineRows; n++ {
		for col, v := range rows[n] {
			if err := f.SetCellValue("Sheet1", fmt.Sprintf("%s%d", col, n), v); err != nil {
				t.Fatal(err)
			}
		}
	}
}
