package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"terret/internal/exchange"
	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

// mostFaults is how many faults of a table a person reads.
const mostFaults = 20

type trialImportCommand struct {
	Files    []string `arg:"" help:"Tables (.xlsx, .csv), or a trial (.yaml, .json)."`
	Into     string   `placeholder:"TRIAL" help:"The trial they are added to: a file, or with --data the id of a kept trial."`
	Table    string   `placeholder:"NAME" help:"Which table a CSV file is; by its columns otherwise."`
	TakeRest bool     `help:"Take what is right and leave wrong rows out (exit status 3), instead of taking nothing."`
	Out      string   `placeholder:"FILE" help:"Write the trial to this file (.yaml or .json)."`
	Data     string   `placeholder:"DIR" help:"Keep the trial in this data folder (or postgres:// address), where serve finds it."`
	ID       string   `name:"id" placeholder:"ID" help:"Under which id it is kept; made of its name otherwise."`
	By       string   `default:"import" placeholder:"NAME" help:"Who signs for the sheets that are kept."`
	JSON     bool     `name:"json" help:"Answer with one JSON document."`
}

func (trialImportCommand) Help() string {
	return `Takes entries, sheets and the rest of a trial in from tables, and writes a trial file or keeps the trial for the pages. The first row of a table names its columns; ` + "`terret trial export`" + ` writes tables with every column there is. Every row that cannot be right (an unknown entry, a mark over the scale, a time with a comma, a second sheet for one run) is named with its cell or line, and then nothing is written; with --take-rest all other rows are taken.

Tables: ` + strings.Join(exchange.TableNames(), ", ") + `.

Examples:

  terret trial import day.xlsx --out day.yaml

  terret trial import hazards.csv --table hazards --into day.yaml --out day2.yaml

  terret trial import day.yaml --data ./field-days

  terret trial import cones.xlsx --data ./field-days --into autumn-day --take-rest`
}

// importAnswer is the document of `terret trial import --json`.
type importAnswer struct {
	Trial     string    `json:"trial"`
	ID        string    `json:"id,omitempty"`
	Out       string    `json:"out,omitempty"`
	Entries   int       `json:"entries"`
	Sheets    int       `json:"sheets"`
	Kept      int       `json:"kept"` // sheets that were new to the data folder
	LeftOut   []leftOut `json:"left_out"`
	NotLooked []string  `json:"not_looked_at"`
}

// leftOut is a row that was not taken.
type leftOut struct {
	Place   string `json:"place"`
	Message string `json:"message"`
	Hint    string `json:"hint"`
}

func (c trialImportCommand) Run(s *streams) (err error) {
	if c.Out == "" && c.Data == "" {
		return &fault.Fault{Code: fault.Usage, Rule: "out", Place: "terret trial import", Message: "it is not said where the trial is to go", Hint: "write --out FILE, or --data DIR to keep it for the pages"}
	}
	if ending := strings.ToLower(filepath.Ext(c.Out)); c.Out != "" && !slices.Contains([]string{".yaml", ".yml", ".json"}, ending) {
		return &fault.Fault{Code: fault.Usage, Rule: "out", Place: "--out", Message: fmt.Sprintf("%q has the ending of no trial file", c.Out), Hint: "a trial is written as .yaml or .json; terret trial export writes tables"}
	}
	var st trial.Store
	var was *dayFile
	if c.Data != "" {
		opened, err := openData(s.ctx, c.Data, c.Into == "")
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, opened.Close()) }()
		st = opened
		if c.Into != "" {
			if was, err = readKept(s.ctx, st, c.Into); err != nil {
				return err
			}
			for _, f := range was.wrong {
				s.warn("kept, and cannot be right: " + f.Error())
			}
		}
	}
	t, left, others, overlay, err := c.read(was)
	if err != nil {
		return err
	}
	if len(left) > 0 && !c.TakeRest {
		s.warn("nothing was written; with --take-rest all that is right is taken")
		return left.Fewer(mostFaults).Err()
	}
	a := importAnswer{Trial: t.Name, Out: c.Out, Entries: len(t.Entries), Sheets: len(t.Sheets), LeftOut: []leftOut{}, NotLooked: append([]string{}, others...)}
	for _, f := range left {
		a.LeftOut = append(a.LeftOut, leftOut{f.Place, f.Message, f.Hint})
	}
	if c.Out != "" {
		write := trial.Encode
		if strings.EqualFold(filepath.Ext(c.Out), ".json") {
			write = trial.EncodeJSON
		}
		text, err := write(t)
		if err != nil {
			return err
		}
		if err := writeWhole(c.Out, text); err != nil {
			return err
		}
	}
	if st != nil {
		a.ID = c.ID
		if c.Into != "" {
			a.ID = c.Into
		} else if a.ID == "" {
			a.ID = idOf(t.Name)
		}
		var names []string
		for _, f := range c.Files {
			names = append(names, filepath.Base(f))
		}
		from := strings.Join(names, ", ")
		if a.Kept, err = keep(s.ctx, st, a.ID, was, t, overlay, c.By, from, "taken in from "+from, time.Now()); err != nil {
			return err
		}
	}
	if c.JSON {
		err = s.json(a)
	} else {
		writeImport(s.out, &a)
	}
	if err == nil && len(left) > 0 {
		return errNo
	}
	return err
}

// read reads the files, on top of what they are added to.
func (c trialImportCommand) read(was *dayFile) (t *trial.Trial, left fault.List, others []string, overlay string, err error) {
	var tables []exchange.Table
	var base *trial.Trial
	beside := c.Files[0]
	profile := trial.ProfilesBeside(beside)
	switch {
	case was != nil:
		base = was.trial
		profile = func(name string) (*rules.Profile, error) {
			if name == was.setting.Trial.Rules {
				return was.profile, nil
			}
			return trial.ProfilesBeside(beside)(name)
		}
	case c.Into != "":
		if base, _, err = trial.Load(c.Into); err != nil {
			return nil, nil, nil, "", err
		}
		beside = c.Into
		profile = trial.ProfilesBeside(beside)
	}
	for _, file := range c.Files {
		switch ending := strings.ToLower(filepath.Ext(file)); ending {
		case ".yaml", ".yml", ".json":
			if base != nil || len(tables) > 0 {
				return nil, nil, nil, "", &fault.Fault{Code: fault.Usage, Rule: "files", Place: file, Message: "a trial file cannot be added to another trial", Hint: "name it by --into, and the tables that are added to it"}
			}
			if base, _, err = trial.Load(file); err != nil {
				return nil, nil, nil, "", err
			}
			beside = file
			profile = trial.ProfilesBeside(file)
		case ".xlsx", ".csv", ".txt", ".tsv":
			data, err := readBounded(file)
			if err != nil {
				return nil, nil, nil, "", err
			}
			if ending == ".xlsx" {
				got, rest, faults := exchange.ReadXLSX(file, data)
				if got == nil && len(faults) > 0 {
					return nil, nil, nil, "", faults
				}
				tables, others, left = append(tables, got...), append(others, rest...), append(left, faults...)
				continue
			}
			got, faults := exchange.ReadCSV(file, c.Table, data)
			if got == nil {
				return nil, nil, nil, "", faults
			}
			tables, left = append(tables, *got), append(left, faults...)
		default:
			return nil, nil, nil, "", &fault.Fault{Code: fault.Usage, Rule: "files", Place: file, Message: "a file of this ending is not read", Hint: "tables are .xlsx or .csv, trials .yaml or .json; save an .xls or .ods again as .xlsx"}
		}
	}
	t = base
	if len(tables) > 0 {
		var wrong fault.List
		t, wrong, err = exchange.Assemble(base, tables, profile)
		left = append(left, wrong...)
		if err != nil {
			if l := (fault.List)(nil); errors.As(err, &l) {
				return nil, nil, nil, "", append(left, l...).Fewer(mostFaults).Err()
			}
			if f := (*fault.Fault)(nil); errors.As(err, &f) {
				return nil, nil, nil, "", append(left, f).Fewer(mostFaults).Err()
			}
			return nil, nil, nil, "", err
		}
	}
	if was == nil || t.Rules != was.setting.Trial.Rules {
		overlay, err = overlayOf(beside, t.Rules)
	}
	return t, left, others, overlay, err
}

// readBounded reads a file that is not larger than is taken: a large one is refused
// by its size, before it is in memory.
func readBounded(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "file", Place: file, Message: "the file cannot be read: " + reason(err)}
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() > exchange.MaxFile {
		return nil, &fault.Fault{Code: fault.TooLarge, Rule: "file-size", Place: file, Message: fmt.Sprintf("the file has %d MB", info.Size()>>20), Hint: fmt.Sprintf("at most %d MB are read; pictures and empty worksheets make workbooks large, or is it the wrong file?", exchange.MaxFile>>20)}
	}
	return io.ReadAll(io.LimitReader(f, exchange.MaxFile+1))
}

// reason is what the disk said, without the path that stands beside it.
func reason(err error) string {
	if p := (*os.PathError)(nil); errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

func writeImport(w io.Writer, a *importAnswer) {
	fmt.Fprintf(w, "%s: %d entries, %d sheets", a.Trial, a.Entries, a.Sheets)
	if a.Out != "" {
		fmt.Fprintf(w, ", written to %s", a.Out)
	}
	if a.ID != "" {
		fmt.Fprintf(w, ", kept as %s with %d new sheets", a.ID, a.Kept)
	}
	fmt.Fprintln(w)
	for _, name := range a.NotLooked {
		fmt.Fprintf(w, "The worksheet %q has the name of no table and was not looked at.\n", name)
	}
	if len(a.LeftOut) > 0 {
		fmt.Fprintf(w, "\nLeft out, to be put right and taken in again:\n")
		for _, l := range a.LeftOut {
			f := fault.Fault{Place: l.Place, Message: l.Message, Hint: l.Hint}
			fmt.Fprintf(w, "  %s\n", f.Error())
		}
	}
}
