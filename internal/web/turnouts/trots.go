package turnouts

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"fmt"
	"html/template"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// trotsPage takes a strip of hoof prints and says which trot it was, with the
// prints drawn.
type trotsPage struct {
	book.Frame
	turnout.Saved
	Size    string
	Here    string // which page of the trots is open
	Rows    []printRow
	Paste   string
	Asked   trotAsked
	Marks   map[string]string // of the boxes beside the table
	Faults  fault.List
	Result  *gait.Trot
	Strip   template.HTML
	Spread  template.HTML
	Kept    []trotKept
	Able    bool
	KeptNow bool
}

// printRow is one print as it was typed.
type printRow struct {
	N                         int
	Foot, Along, Across, Pass string
	Wrong                     string
}

// Feet are the four to choose from.
func (printRow) Feet() []string { return []string{"LF", "RF", "LH", "RH"} }

// trotAsked is what is known beside the prints, as typed.
type trotAsked struct {
	Seconds, Metres, Leg               string
	By, Surface, Called, Remarks, Pass string
}

// trotRecord is a strip as it is kept.
type trotRecord struct {
	By      string  `json:"by"`
	Surface string  `json:"surface"`
	Called  string  `json:"called"` // the trot by the teacher
	Remarks string  `json:"remarks"`
	CSV     string  `json:"csv"`
	Size    string  `json:"size"`
	Seconds float64 `json:"seconds"`
	Metres  float64 `json:"metres"`
	Leg     float64 `json:"leg"`
	Trot    string  `json:"trot"`
	Says    string  `json:"says"`
	StrideM float64 `json:"stride_m"`
	OverCM  float64 `json:"over_track_cm"`
	N       int     `json:"n"`
}

// trotKept is one line of what was kept before.
type trotKept struct {
	turnout.Kept
	Rec trotRecord
}

// Wrong is what is wrong with one box beside the table; "" is nothing.
func (p trotsPage) Wrong(box string) string { return p.Marks[box] }

// Differ says what the two sides differ by, in words; "" where nothing was found.
func (p trotsPage) Differ() string {
	if p.Result == nil || p.Result.Sides.Difference == nil || !p.Result.Sides.Difference.Found {
		return ""
	}
	d := p.Result.Sides.Difference
	return fmt.Sprintf("Left and right differ by %.1f cm (%.1f to %.1f). That is a measurement; what makes it is for the vet, the farrier or the trainer.", d.Mean, d.Low, d.High)
}

const (
	usualRows = 24
	mostRows  = 600
)

// usualFoot is the foot that an empty row begins with: left and right by turns,
// the hind print of a side before its fore print.
func usualFoot(i int) string { return []string{"LH", "LF", "RH", "RF"}[i%4] }

func (s *server) trotsFor(r *http.Request) (*trotsPage, *turnout.Turnout, error) {
	saved, t, err := s.asked(r)
	if err != nil {
		return nil, nil, err
	}
	v := &trotsPage{Frame: s.Frame("turnouts", "Trots: "+saved.Name), Saved: saved, Size: t.Size, Here: "trots", Marks: map[string]string{}, Able: s.records != nil}
	all, err := s.kept(r, saved.ID, turnout.KeptTrot)
	if err != nil {
		return nil, nil, err
	}
	for _, k := range all {
		one := trotKept{Kept: k}
		if err := turnout.DecodeKept(k.Kind+" "+k.ID, k.Document, &one.Rec); err != nil {
			return nil, nil, err
		}
		v.Kept = append(v.Kept, one)
	}
	return v, t, nil
}

// ownPrints is the newest kept strip that has a diagonal, read again; nil when
// there is none.
func (s *server) ownPrints(r *http.Request, id string) (*gait.Trot, error) {
	all, err := s.kept(r, id, turnout.KeptTrot)
	if err != nil {
		return nil, err
	}
	for _, k := range all {
		var rec trotRecord
		if err := turnout.DecodeKept(k.Kind+" "+k.ID, k.Document, &rec); err != nil {
			return nil, err
		}
		prints, err := gait.ReadPrints("kept", []byte(rec.CSV))
		if err != nil {
			return nil, err
		}
		if a, err := gait.Read(gait.Question{Prints: prints, Size: rec.Size}); err == nil && a.DiagonalM != nil {
			return a, nil
		}
	}
	return nil, nil
}

// spare fills the table up with empty rows.
func (p *trotsPage) spare() {
	want := usualRows
	if len(p.Rows) > 0 {
		want = len(p.Rows) + 4
	}
	for i := len(p.Rows); i < want; i++ {
		p.Rows = append(p.Rows, printRow{Foot: usualFoot(i)})
	}
	for i := range p.Rows {
		p.Rows[i].N = i + 1
	}
}

// trots is GET /turnouts/{id}/trots, or …?record=ID to open a kept strip.
func (s *server) trots(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.trotsFor(r)
	if err != nil {
		return err
	}
	if id := r.URL.Query().Get("record"); id != "" {
		for _, k := range v.Kept {
			if k.ID != id {
				continue
			}
			v.Asked = trotAsked{Seconds: plainOr(k.Rec.Seconds), Metres: plainOr(k.Rec.Metres), Leg: plainOr(k.Rec.Leg), By: k.Rec.By, Surface: k.Rec.Surface, Called: k.Rec.Called, Remarks: k.Rec.Remarks}
			if err := v.pasted("kept", []byte(k.Rec.CSV)); err != nil {
				return err
			}
			if _, err := v.work(); err != nil {
				return err
			}
			v.KeptNow = true
		}
		if !v.KeptNow {
			return &fault.Fault{Code: fault.NotFound, Rule: "record", Place: "record", Message: "there is no strip of that name here", Hint: "choose one from the list"}
		}
	}
	v.spare()
	return s.Render(w, http.StatusOK, "turnout_trots", v)
}

// plainOr writes a number, or nothing for nought.
func plainOr(x float64) string {
	if x == 0 {
		return ""
	}
	return trimmed(x, 6)
}

// pasted puts a CSV of prints into the table.
func (p *trotsPage) pasted(name string, data []byte) error {
	prints, err := gait.ReadPrints(name, data)
	if err != nil {
		return err
	}
	if len(prints) > mostRows {
		return &fault.Fault{Code: fault.TooLarge, Rule: "too-many", Place: name, Message: fmt.Sprintf("there are %d prints", len(prints)), Hint: fmt.Sprintf("at most %d on this page; terret gait prints takes more", mostRows)}
	}
	p.Rows = nil
	for _, k := range prints {
		row := printRow{Foot: string(k.Foot), Along: trimmed(k.Along, 4), Pass: k.Pass}
		if k.HasAcross {
			row.Across = trimmed(k.Across, 4)
		}
		p.Rows = append(p.Rows, row)
	}
	return nil
}

// trotsWork is POST /turnouts/{id}/trots. do=read keeps nothing; do=keep
// keeps the strip with its answer.
func (s *server) trotsWork(w http.ResponseWriter, r *http.Request) error {
	if err := book.Posted(w, r, 1<<20); err != nil {
		return err
	}
	v, _, err := s.trotsFor(r)
	if err != nil {
		return err
	}
	f := r.PostForm
	trim := func(k string) string { return strings.TrimSpace(f.Get(k)) }
	v.Asked = trotAsked{Seconds: trim("seconds"), Metres: trim("metres"), Leg: trim("leg"), By: trim("by"), Surface: trim("surface"), Called: trim("called"), Remarks: trim("remarks")}
	foot, along, across, pass := f["foot"], f["along"], f["across"], f["pass"]
	if len(foot) != len(along) || len(along) != len(across) || len(across) != len(pass) || len(foot) > mostRows {
		return book.Torn()
	}
	for i := range foot {
		v.Rows = append(v.Rows, printRow{Foot: strings.TrimSpace(foot[i]), Along: strings.TrimSpace(along[i]), Across: strings.TrimSpace(across[i]), Pass: strings.TrimSpace(pass[i])})
	}
	var rec *trotRecord
	if v.Paste = trim("paste"); v.Paste != "" {
		if err = v.pasted("pasted", []byte(v.Paste+"\n")); err == nil {
			v.Paste = ""
		}
	}
	if err == nil {
		rec, err = v.work()
	}
	if v.Faults = append(v.Faults, v.atRows(book.FaultsOf(err))...); err != nil && book.FaultsOf(err) == nil {
		return err
	}
	if err != nil || len(v.Marks) > 0 {
		v.spare()
		return s.Render(w, cmp.Or(book.StatusOf(err), http.StatusUnprocessableEntity), "turnout_trots", v)
	}
	if f.Get("do") != "keep" {
		v.spare()
		return s.Render(w, http.StatusOK, "turnout_trots", v)
	}
	return s.keepRecord(w, r, v.Saved, turnout.KeptTrot, rec, "trots")
}

// stripPlace is where a fault of the strip stands: a line of the table.
var stripPlace = regexp.MustCompile(`^strip:(\d+)`)

// atRows puts faults at their rows, and gives those that have none.
func (p *trotsPage) atRows(list fault.List) fault.List {
	var rest fault.List
	line := 1
	at := map[int]int{}
	for i, row := range p.Rows {
		if row.Along != "" || row.Across != "" {
			line++
			at[line] = i
		}
	}
	for _, f := range list {
		if g := stripPlace.FindStringSubmatch(f.Place); g != nil {
			n, _ := strconv.Atoi(g[1])
			if i, ok := at[n]; ok {
				p.Rows[i].Wrong = f.Message + "; " + f.Hint
				continue
			}
		}
		one := *f
		if one.Place = strings.TrimPrefix(one.Place, "strip"); strings.HasPrefix(one.Place, ":") {
			one.Place = ""
		}
		rest = append(rest, &one)
	}
	return rest
}

// work reads the table. Boxes beside it that cannot be read are marked.
func (p *trotsPage) work() (*trotRecord, error) {
	var b bytes.Buffer
	c := csv.NewWriter(&b)
	_ = c.Write([]string{"foot", "along_m", "across_m", "pass"}) // a buffer takes everything
	n := 0
	for _, row := range p.Rows {
		if row.Along == "" && row.Across == "" {
			continue
		}
		n++
		_ = c.Write([]string{row.Foot, strings.Replace(row.Along, ",", ".", 1), strings.Replace(row.Across, ",", ".", 1), row.Pass})
	}
	c.Flush()
	if n == 0 {
		return nil, &fault.Fault{Code: fault.Input, Rule: "no-prints", Message: "no print is typed yet", Hint: "the toe edge of each print, in metres along the tape"}
	}
	rec := &trotRecord{By: p.Asked.By, Surface: p.Asked.Surface, Called: p.Asked.Called, Remarks: p.Asked.Remarks, CSV: b.String(), Size: p.Size}
	for _, k := range []struct {
		box, text string
		to        *float64
		hint      string
		most      float64
	}{{"seconds", p.Asked.Seconds, &rec.Seconds, "seconds, such as 7.4", 3600}, {"metres", p.Asked.Metres, &rec.Metres, "metres, such as 27", 5000}, {"leg", p.Asked.Leg, &rec.Leg, "metres, such as 1.2", 2}} {
		if k.text == "" {
			continue
		}
		x, ok := book.DecimalOf(k.text)
		if !ok || x <= 0 || x > k.most {
			p.Marks[k.box] = fmt.Sprintf("%q does not fit; %s", k.text, k.hint)
			continue
		}
		*k.to = x
	}
	prints, err := gait.ReadPrints("strip", b.Bytes())
	if err != nil {
		return nil, err
	}
	a, err := gait.Read(gait.Question{File: "strip", Prints: prints, Size: p.Size, Leg: rec.Leg, Seconds: rec.Seconds, Metres: rec.Metres})
	if f := book.FaultsOf(err); len(f) == 1 && (f[0].Place == "seconds" || f[0].Place == "metres" || f[0].Place == "leg") {
		p.Marks[f[0].Place] = f[0].Message + "; " + f[0].Hint
		return rec, nil
	}
	if err != nil {
		return nil, err
	}
	p.Result = a
	p.Strip, p.Spread = stripDrawing(prints, gait.ToleranceOf(p.Size)), spreadDrawing(a)
	rec.Trot, rec.Says, rec.StrideM, rec.OverCM, rec.N = a.Trot, a.Says, a.Stride.Mean, a.OverTrack.Mean, a.OverTrack.N
	return rec, nil
}
