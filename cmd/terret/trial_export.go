package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"terret/internal/exchange"
	"terret/internal/fault"
	"terret/internal/trial"
)

type trialExportCommand struct {
	Source string `arg:"" help:"File of the trial, or with --data the id of a kept one."`
	Data   string `placeholder:"DIR" help:"The data folder (or postgres:// address) that keeps the trial."`
	Out    string `required:"" placeholder:"FILE" help:"The file to write; its ending says what: .xlsx, .csv, .yaml, .json, or .jsonl for every mark as it came."`
	Table  string `placeholder:"NAME" help:"One table alone; results for the results (what a CSV file holds otherwise)."`
	JSON   bool   `name:"json" help:"Answer with one JSON document."`
}

func (trialExportCommand) Help() string {
	return `Writes a trial for others to work with. A workbook has the results of each class, as numbers to reckon with, and every table of the trial; ` + "`terret trial import`" + ` reads it back as the same trial. A CSV file holds one table, the results unless --table names another. Texts that a spreadsheet would run as a formula are made harmless.

Tables: results, ` + strings.Join(exchange.TableNames(), ", ") + `.

Examples:

  terret trial export day.yaml --out day.xlsx

  terret trial export day.yaml --out results.csv

  terret trial export day.yaml --table entries --out entries.csv

  terret trial export autumn-day --data ./field-days --out autumn-day.yaml`
}

// exportAnswer is the document of `terret trial export --json`.
type exportAnswer struct {
	Trial  string   `json:"trial"`
	Out    string   `json:"out"`
	Tables []string `json:"tables"`
}

const resultsTable = "results"

func (c trialExportCommand) Run(s *streams) error {
	ending := strings.ToLower(filepath.Ext(c.Out))
	table := c.Table
	names := append([]string{resultsTable}, exchange.TableNames()...)
	if table != "" && !slices.Contains(names, table) {
		return &fault.Fault{Code: fault.Usage, Rule: "table", Place: "--table", Message: fmt.Sprintf("there is no table %q", table), Hint: "the tables are " + strings.Join(names, ", ")}
	}
	d, err := c.open(s)
	if err != nil {
		return err
	}
	for _, f := range d.wrong {
		s.warn("kept, and left out because it cannot be right: " + f.Error())
	}
	var b bytes.Buffer
	a := exportAnswer{Trial: d.trial.Name, Out: c.Out, Tables: []string{}}
	switch ending {
	case ".xlsx", ".csv":
		if ending == ".csv" && table == "" {
			table = resultsTable
		}
		tables, err := c.tables(d, table)
		if err != nil {
			return err
		}
		if ending == ".csv" {
			one := exchange.OneTable(tables)
			err = exchange.WriteCSV(&b, &one)
		} else {
			err = exchange.WriteXLSX(&b, tables)
		}
		if err != nil {
			return err
		}
		for _, t := range tables {
			a.Tables = append(a.Tables, t.Name)
		}
	case ".yaml", ".yml", ".json":
		text, err := c.tree(d, ending == ".json", table)
		if err != nil {
			return err
		}
		b.Write(text)
	case ".jsonl":
		if d.ledger == nil {
			return &fault.Fault{Code: fault.Usage, Rule: "out", Place: "--out", Message: "a trial file holds sheets, not marks as they came", Hint: "name a kept trial and its --data"}
		}
		text, err := d.ledger.Encode()
		if err != nil {
			return err
		}
		b.Write(text)
	default:
		return &fault.Fault{Code: fault.Usage, Rule: "out", Place: "--out", Message: fmt.Sprintf("%q does not say what is to be written", c.Out), Hint: "by its ending: .xlsx, .csv, .yaml, .json or .jsonl"}
	}
	if err := writeWhole(c.Out, b.Bytes()); err != nil {
		return err
	}
	if c.JSON {
		return s.json(a)
	}
	fmt.Fprintf(s.out, "%s: written to %s", a.Trial, a.Out)
	if len(a.Tables) > 0 {
		fmt.Fprintf(s.out, ": %s", strings.Join(a.Tables, ", "))
	}
	fmt.Fprintln(s.out)
	return nil
}

// open reads the trial.
func (c trialExportCommand) open(s *streams) (d *dayFile, err error) {
	if c.Data == "" {
		t, p, err := trial.Load(c.Source)
		return &dayFile{trial: t, profile: p}, err
	}
	st, err := openData(s.ctx, c.Data, false)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	return readKept(s.ctx, st, c.Source)
}

// answer scores the trial, without kept sheets that cannot be right.
func (c trialExportCommand) answer(d *dayFile) (*trial.Answer, error) {
	if d.ledger == nil {
		return trial.Score(d.trial, d.profile)
	}
	b, _, err := d.ledger.Open(d.setting.Trial, d.profile)
	if err != nil {
		return nil, err
	}
	return b.Answer(), nil
}

// tables are the ones to be written; "" all, results first.
func (c trialExportCommand) tables(d *dayFile, name string) ([]exchange.Table, error) {
	var all []exchange.Table
	if name == "" || name == resultsTable {
		a, err := c.answer(d)
		if err != nil {
			return nil, err
		}
		all = exchange.Results(d.trial, a, stands(d))
	}
	if name == resultsTable {
		return all, nil
	}
	for _, t := range exchange.Tables(d.trial) {
		if name == "" || t.Name == name {
			all = append(all, t)
		}
	}
	if len(all) == 0 {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "table", Place: "--table", Message: fmt.Sprintf("the table %s is empty in this trial", name)}
	}
	return all, nil
}

// tree is a trial file, or the results as `terret trial score --json` gives them.
func (c trialExportCommand) tree(d *dayFile, asJSON bool, table string) ([]byte, error) {
	switch {
	case table == resultsTable && asJSON:
		a, err := c.answer(d)
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		err = e.Encode(a)
		return b.Bytes(), err
	case table != "":
		return nil, &fault.Fault{Code: fault.Usage, Rule: "table", Place: "--table", Message: "one table alone is written as .csv or .xlsx", Hint: "results also as .json"}
	case asJSON:
		return trial.EncodeJSON(d.trial)
	}
	return trial.Encode(d.trial)
}

// stands says for each class how its placings stand now.
func stands(d *dayFile) map[string]string {
	all := map[string]string{}
	if d.ledger == nil {
		return all
	}
	for _, c := range d.trial.Classes {
		now := d.ledger.Stands(d.setting.Trial, c.ID, time.Now().UnixMilli())
		if now.State == "" {
			continue
		}
		says := now.State + ", posted " + time.UnixMilli(now.Mark.At).Format("15:04")
		if now.State == trial.Provisional {
			says += ", queries until " + time.UnixMilli(now.Until).Format("15:04")
		}
		if now.Stale {
			says += "; sheets changed since"
		}
		all[c.ID] = says
	}
	return all
}
