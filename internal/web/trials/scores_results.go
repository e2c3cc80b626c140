package trials

import (
	"bytes"
	"encoding/json"
	"net/http"

	"terret/internal/exchange"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// resultsPage is the results list as it is printed and pinned up.
type resultsPage struct {
	trialHead
	Classes []classScores
	Rules   string
	Printed string
	Memory  []string
	Remarks []string
	Teams   []trial.TeamScore
}

// scoreResults is GET /scores/{id}/results.
func (s *server) scoreResults(w http.ResponseWriter, r *http.Request, t *openTrial) error {
	v := resultsPage{trialHead: s.trialHead(r, t, "placings", "Results"), Classes: t.classesScored(s.Now()), Printed: s.Now().Local().Format("2 Jan 2006, 15:04")}
	if a := t.answer(); a != nil {
		v.Rules, v.Memory, v.Remarks, v.Teams = a.Rules, a.FromMemory, a.Remarks, a.Teams
	}
	return s.Render(w, http.StatusOK, "scores_results", v)
}

// resultTables are the results of each class.
func (s *server) resultTables(t *openTrial) ([]exchange.Table, error) {
	a := t.answer()
	if a == nil {
		return nil, t.trouble.Err()
	}
	stands := map[string]string{}
	for _, c := range t.classesScored(s.Now()) {
		stands[c.ID] = c.Printed
	}
	return exchange.Results(t.now(), a, stands), nil
}

// scoreCSV is GET /scores/{id}/results.csv.
func (s *server) scoreCSV(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	tables, err := s.resultTables(t)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	one := exchange.OneTable(tables)
	if err := exchange.WriteCSV(&b, &one); err != nil {
		return err
	}
	return book.Send(w, t.id+"-results.csv", "text/csv; charset=utf-8", b.Bytes())
}

// scoreXLSX is GET /scores/{id}/results.xlsx: the results, and every table of the
// trial.
func (s *server) scoreXLSX(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	tables, err := s.resultTables(t)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := exchange.WriteXLSX(&b, append(tables, exchange.Tables(t.ledger.Joined(t.setting.Trial))...)); err != nil {
		return err
	}
	return book.Send(w, t.id+".xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", b.Bytes())
}

// scoreJSON is GET /scores/{id}/results.json: the answer of `terret trial score
// --json`.
func (s *server) scoreJSON(w http.ResponseWriter, _ *http.Request, t *openTrial) error {
	a := t.answer()
	if a == nil {
		return t.trouble.Err()
	}
	doc, err := json.MarshalIndent(a, "", "  ")
	if err != nil {
		return err
	}
	return book.Send(w, t.id+"-results.json", "application/json; charset=utf-8", append(doc, '\n'))
}
