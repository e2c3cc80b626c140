package trials

import (
	"bytes"
	"fmt"
	"net/http"
	"path/filepath"
	"reflect"
	"strings"

	"terret/internal/exchange"
	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// tablesPage takes entries and whatever else a trial is made of from a spreadsheet.
type tablesPage struct {
	trialHead
	File   string     // that was not brought in
	Faults fault.List // why
	WhoBy  initials
}

// mostFaults is how many rows that cannot be right are told at once.
const mostFaults = 20

// scoreTables is GET /scores/{id}/tables.
func (s *server) scoreTables(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := tablesPage{trialHead: s.trialHead(r, t, "entries", "From a spreadsheet")}
	v.WhoBy = initials{ID: "by", By: v.By}
	return s.Render(w, http.StatusOK, "scores_tables", v)
}

// scoreTablesFile is GET /scores/{id}/tables.xlsx: what the trial is made of, a
// worksheet each, to be filled in further.
func (s *server) scoreTablesFile(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	var b bytes.Buffer
	if err := exchange.WriteXLSX(&b, exchange.Tables(t.setting.Trial)); err != nil {
		return err
	}
	return book.Send(w, t.id+"-tables.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", b.Bytes())
}

// scoreEntriesFile is GET /scores/{id}/entries.csv: the entries alone, or the first row
// of their table while there are none.
func (s *server) scoreEntriesFile(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	one := exchange.Table{Name: "entries", Head: []string{"number", "class", "driver", "horses", "grooms", "vehicle", "gap cm"}}
	for _, table := range exchange.Tables(t.setting.Trial) {
		if table.Name == one.Name && len(table.Rows) > 0 {
			one = table
		}
	}
	var b bytes.Buffer
	if err := exchange.WriteCSV(&b, &one); err != nil {
		return err
	}
	return book.Send(w, t.id+"-entries.csv", "text/csv; charset=utf-8", b.Bytes())
}

// scoreTablesTake is POST /scores/{id}/tables: the rows of a CSV file or a workbook are
// put into the trial, each in the place of what has its number or short name. With one
// row that cannot be right nothing is taken: on a page nobody sees what was left out.
func (s *server) scoreTablesTake(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	name, data, err := book.Upload(w, r)
	if err != nil {
		return err
	}
	by, err := typedText("by", r.PostFormValue("by"))
	if err != nil {
		return err
	}
	v := tablesPage{trialHead: s.trialHead(r, t, "entries", "From a spreadsheet"), WhoBy: initials{"by", by, nameless(by)}}
	next, err := t.withTables(name, data)
	if l := book.FaultsOf(err); err != nil && l == nil {
		return err
	} else if l != nil {
		v.File, v.Faults = name, l.Fewer(mostFaults)
	}
	if v.Faults != nil || v.WhoBy.Wrong != "" {
		return s.Render(w, http.StatusUnprocessableEntity, "scores_tables", v)
	}
	overlay := t.setting.Overlay
	if next.Rules != t.setting.Trial.Rules {
		overlay = ""
	}
	note := entriesChanged(t.setting.Trial, next)
	if err := s.save(r, t, next, overlay, by, note+", from "+filepath.Base(name)); err != nil {
		return err
	}
	rememberWriter(w, by)
	return seeOther(w, r, t, "", map[string][]string{"done": {note}})
}

// withTables is the trial with the rows of a file in it. The error is a fault.List that
// names cells and lines.
func (t *openTrial) withTables(name string, data []byte) (*trial.Trial, error) {
	var tables []exchange.Table
	var left fault.List
	switch ending := strings.ToLower(filepath.Ext(name)); ending {
	case ".xlsx":
		tables, _, left = exchange.ReadXLSX(name, data)
	case ".csv", ".txt", ".tsv":
		one, wrong := exchange.ReadCSV(name, "", data)
		left = wrong
		if one != nil {
			tables = append(tables, *one)
		}
	default:
		return nil, &fault.Fault{Code: fault.Usage, Rule: "files", Place: name, Message: "a file of this ending is not read", Hint: "save it from the spreadsheet as .xlsx, or as CSV UTF-8"}
	}
	if len(tables) == 0 && len(left) == 0 {
		return nil, &fault.Fault{Code: fault.Input, Rule: "tables", Place: name, Message: "there is no table of a trial in it", Hint: "a worksheet is called entries, classes, courses, tests or wishes, and its first row names the columns"}
	}
	next, wrong, err := exchange.Assemble(t.setting.Trial, tables, func(rule string) (*rules.Profile, error) {
		if t.setting.Overlay != "" && rule == t.setting.Trial.Rules {
			return t.setting.Profile()
		}
		return builtIn(rule)
	})
	if left = append(left, wrong...); err != nil {
		return nil, append(left, book.FaultsOf(err)...).Err()
	}
	if len(next.Sheets) > 0 {
		left = append(left, &fault.Fault{Code: fault.Input, Rule: "sheets", Place: name, Message: "there are judges' sheets in it", Hint: "type them at the desk, where a second reader sees them, or bring them in by the command `terret trial import`"})
	}
	if len(left) == 0 {
		left = t.breaks(next, "", nil)
	}
	return next, left.Err()
}

// entriesChanged says what a trial's next version has that the one before had not.
func entriesChanged(was, now *trial.Trial) string {
	added, changed := 0, 0
	for _, e := range now.Entries {
		old := -1
		for i := range was.Entries {
			if was.Entries[i].Number == e.Number {
				old = i
			}
		}
		switch {
		case old < 0:
			added++
		case !reflect.DeepEqual(was.Entries[old], e):
			changed++
		}
	}
	return fmt.Sprintf("%s added, %d changed", many(added, "entry", "entries"), changed)
}
