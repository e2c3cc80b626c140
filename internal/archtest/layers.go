// Package archtest holds the layers of the house: which package may import which.
//
// Data flows one way, and the folders say so: plan → drive → hazard → sheet and
// web for the ground; rules → gates → (the day) → store and web. Left of an
// arrow never knows what is right of it. The table is [Layers]; its test reads
// what `go list` says of the module and compares. A package that is not in the
// table fails too: a new room gets its line here first.
//
// Only what a package imports itself is looked at: if every package keeps its
// line, so does everything it pulls in. Imports of test files are free, but
// packages made for tests (testkit, and those whose name ends in "test") may be
// imported by test files and by each other alone.
package archtest

import (
	"fmt"
	"path"
	"slices"
	"strings"
)

// Package is one package as `go list` knows it.
type Package struct {
	Path    string   // import path
	Imports []string // of its files that are no tests
}

// Rule is what one package may import besides the standard library: other
// packages of the house by the name of their folder under internal/, and
// libraries by the path of their module.
type Rule struct {
	House     []string
	Libraries []string
}

// leaves may be imported by everybody: they import nothing of the house's that
// is no leaf.
var leaves = []string{"fault", "strict"}

// Layers is the table, by folder under internal/. "cmd/terret" is the only main
// and may import all.
func Layers() map[string]Rule {
	domain := []string{"geom", "plan", "turnout", "drive", "gates", "hazard", "rules"}
	const (
		yaml  = "github.com/goccy/go-yaml"
		gonum = "gonum.org/v1/gonum"
	)
	return map[string]Rule{
		"fault":   {},
		"strict":  {Libraries: []string{yaml}},
		"geom":    {},
		"rules":   {},
		"gates":   {House: []string{"rules"}},
		"plan":    {House: []string{"geom", "rules"}},
		"turnout": {House: []string{"geom", "rules"}},
		"gait":    {House: []string{"turnout"}, Libraries: []string{gonum}},
		"drive":   {House: []string{"geom", "plan", "turnout"}},
		"taut":    {House: []string{"geom"}},
		"shape":   {House: []string{"geom", "drive", "plan", "turnout"}},
		"hazard":  {House: []string{"geom", "plan", "turnout", "drive", "shape", "taut", "gates"}, Libraries: []string{gonum}},
		"cones":   {House: []string{"geom", "plan", "turnout", "drive", "shape", "rules"}, Libraries: []string{gonum}},
		"survey":  {House: []string{"geom", "plan"}, Libraries: []string{gonum}},
		"sheet":   {House: append([]string{"cones", "gait", "rota", "survey", "trial", "trial/order"}, domain...), Libraries: []string{"codeberg.org/go-pdf/fpdf", "golang.org/x/image"}},
		"store":   {House: []string{"plan", "turnout", "trial", "rota"}, Libraries: []string{"modernc.org/sqlite", "github.com/jackc/pgx/v5", "github.com/pressly/goose/v3"}},
		// Pages: not store, for they get interfaces; and no tab knows another.
		"web":          {House: []string{"plan", "turnout", "rules", "trial", "web/book", "web/ground", "web/turnouts", "web/trials"}},
		"web/book":     {},
		"web/ground":   {House: append([]string{"cones", "sheet", "survey", "web/book"}, domain...)},
		"web/turnouts": {House: []string{"gait", "plan", "sheet", "turnout", "web/book"}},
		"web/trials":   {House: []string{"exchange", "gates", "plan", "rota", "rota/trialday", "rules", "sheet", "trial", "trial/order", "web/book"}},
		// The day. The order of go needs nothing of its scores.
		"trial":         {House: []string{"rules", "gates", "trial/order"}},
		"trial/order":   {},
		"rota":          {}, // people's jobs: knows neither entries nor scores
		"rota/trialday": {House: []string{"rota", "rules", "trial", "trial/order"}},
		"exchange":      {House: []string{"geom", "plan", "turnout", "trial", "trial/order", "rules", "survey"}, Libraries: []string{"github.com/xuri/excelize/v2"}},
		// For tests alone. The checks of hazardtest share nothing with the
		// solver but geometry; of hazard itself they know the answer's shape.
		"hazard/hazardtest": {House: []string{"geom", "plan", "turnout", "hazard"}},
		"store/storetest":   {House: []string{"geom", "plan", "turnout", "trial", "rota", "rules"}, Libraries: []string{"github.com/google/go-cmp"}},
		"testkit":           {Libraries: []string{"github.com/chromedp/chromedp"}},
		"archtest":          {},
	}
}

// Check compares packages with the table, and gives one line for each thing that
// is not as the table says. module is the module's path.
func Check(module string, table map[string]Rule, packages []Package) []string {
	var wrong []string
	for _, p := range packages {
		room, inside := strings.CutPrefix(p.Path, module+"/internal/")
		rule, known := table[room]
		if inside && !known {
			wrong = append(wrong, fmt.Sprintf("%s has no line in the table of layers", room))
			continue
		}
		for _, i := range p.Imports {
			other, house := strings.CutPrefix(i, module+"/internal/")
			switch {
			case standard(i, module):
			case house && forTests(other) && !(inside && forTests(room)):
				wrong = append(wrong, fmt.Sprintf("%s imports %s, which is for tests alone", p.Path, other))
			case !inside: // the main, and the examples it embeds
			case house && !slices.Contains(leaves, other) && !slices.Contains(rule.House, other):
				wrong = append(wrong, fmt.Sprintf("%s may not import %s: its line has %s", room, other, list(rule.House)))
			case !house && !slices.ContainsFunc(rule.Libraries, func(lib string) bool { return i == lib || strings.HasPrefix(i, lib+"/") }):
				wrong = append(wrong, fmt.Sprintf("%s may not import %s: its line has %s", room, i, list(rule.Libraries)))
			}
		}
	}
	return wrong
}

// standard reports whether an import is of the standard library: its first
// element has no dot, and it is not ours.
func standard(i, module string) bool {
	first, _, _ := strings.Cut(i, "/")
	return first != module && !strings.Contains(first, ".")
}

func forTests(room string) bool {
	name := path.Base(room)
	return name == "testkit" || strings.HasSuffix(name, "test")
}

func list(names []string) string {
	if len(names) == 0 {
		return "nothing but the standard library"
	}
	return strings.Join(names, ", ")
}
