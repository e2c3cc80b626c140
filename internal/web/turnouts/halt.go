package turnouts

import (
	"fmt"
	"html/template"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// haltPage takes pulse and breathing at a halt, and the air.
type haltPage struct {
	book.Frame
	turnout.Saved
	Here                string
	Rows                []vitalRow
	Rest, RestBreaths   string
	By, Remarks         string
	Air, Humid, Wet, Gl string
	Marks               map[string]string
	Faults              fault.List
	Result              *turnout.Recovery
	Drawing             template.HTML
	Heat                *turnout.Heat
	Driven              []turnout.DrivenPulse
	Kept                []vitalsKept
	Able, KeptNow       bool
}

// vitalRow is one reading as typed.
type vitalRow struct {
	N                            int
	Minute, Pulse, Breaths, Temp string
	Wrong                        string
}

// vitalsRecord is a halt as it is kept.
type vitalsRecord struct {
	By          string          `json:"by"`
	Remarks     string          `json:"remarks"`
	RestPulse   float64         `json:"rest_pulse"`
	RestBreaths float64         `json:"rest_breaths"`
	Readings    []turnout.Vital `json:"readings"`
	Says        string          `json:"says"`
	AirC        *float64        `json:"air_c,omitempty"`
	Humidity    *float64        `json:"humidity,omitempty"`
	WetC        *float64        `json:"wet_bulb_c,omitempty"`
	GlobeC      *float64        `json:"globe_c,omitempty"`
}

// vitalsKept is one line of what was kept before.
type vitalsKept struct {
	turnout.Kept
	Rec vitalsRecord
}

// Wrong is what is wrong with one box; "" is nothing.
func (p haltPage) Wrong(box string) string { return p.Marks[box] }

// HeatWord leads the heat figures.
func (p haltPage) HeatWord() string {
	switch p.Heat.Worst {
	case turnout.No:
		return "No"
	case turnout.Look:
		return "Look"
	}
	return "Nothing to attend to by these figures"
}

const usualReadings = 6

func (s *server) haltFor(r *http.Request) (*haltPage, error) {
	saved, err := s.store.Turnout(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	v := &haltPage{Frame: s.Frame("turnouts", "Halt and heat: "+saved.Name), Saved: saved, Here: "halt", Marks: map[string]string{}, Driven: turnout.DrivenPulses(), Able: s.records != nil}
	all, err := s.kept(r, saved.ID, turnout.KeptVitals)
	if err != nil {
		return nil, err
	}
	for _, k := range all {
		one := vitalsKept{Kept: k}
		if err := turnout.DecodeKept(k.Kind+" "+k.ID, k.Document, &one.Rec); err != nil {
			return nil, err
		}
		v.Kept = append(v.Kept, one)
	}
	return v, nil
}

// spare adds empty rows, and numbers all of them.
func (p *haltPage) spare() {
	for want := max(usualReadings, len(p.Rows)+2); len(p.Rows) < want; {
		p.Rows = append(p.Rows, vitalRow{})
	}
	for i := range p.Rows {
		p.Rows[i].N = i + 1
	}
}

// halt is GET /turnouts/{id}/halt, or …?record=ID to open one that was
// kept.
func (s *server) halt(w http.ResponseWriter, r *http.Request) error {
	v, err := s.haltFor(r)
	if err != nil {
		return err
	}
	if id := r.URL.Query().Get("record"); id != "" {
		for _, k := range v.Kept {
			if k.ID == id {
				v.open(k.Rec)
				if _, err := v.work(); err != nil {
					return err
				}
				v.KeptNow = true
			}
		}
		if !v.KeptNow {
			return &fault.Fault{Code: fault.NotFound, Rule: "record", Place: "record", Message: "there is no halt of that name here", Hint: "choose one from the list"}
		}
	}
	v.spare()
	return s.Render(w, http.StatusOK, "turnout_halt", v)
}

// open puts a kept halt into the boxes.
func (p *haltPage) open(k vitalsRecord) {
	p.By, p.Remarks, p.Rest, p.RestBreaths = k.By, k.Remarks, plainOr(k.RestPulse), plainOr(k.RestBreaths)
	for _, x := range k.Readings {
		p.Rows = append(p.Rows, vitalRow{Minute: trimmed(x.Minute, 3), Pulse: plainOr(x.Pulse), Breaths: plainOr(x.Breaths), Temp: plainOr(x.TempC)})
	}
	for to, x := range map[*string]*float64{&p.Air: k.AirC, &p.Humid: k.Humidity, &p.Wet: k.WetC, &p.Gl: k.GlobeC} {
		if x != nil {
			*to = trimmed(*x, 2)
		}
	}
}

// haltWork is POST /turnouts/{id}/halt. do=read keeps nothing; do=keep
// keeps the halt.
func (s *server) haltWork(w http.ResponseWriter, r *http.Request) error {
	if err := book.Posted(w, r, 256<<10); err != nil {
		return err
	}
	v, err := s.haltFor(r)
	if err != nil {
		return err
	}
	f := r.PostForm
	trim := func(k string) string { return strings.TrimSpace(f.Get(k)) }
	v.Rest, v.RestBreaths, v.By, v.Remarks, v.Air, v.Humid, v.Wet, v.Gl = trim("rest"), trim("rest-breaths"), trim("by"), trim("remarks"), trim("air"), trim("humidity"), trim("wet"), trim("globe")
	minute, pulse, breaths, temp := f["minute"], f["pulse"], f["breaths"], f["temp"]
	if len(minute) != len(pulse) || len(pulse) != len(breaths) || len(breaths) != len(temp) || len(minute) > 100 {
		return book.Torn()
	}
	for i := range minute {
		v.Rows = append(v.Rows, vitalRow{Minute: strings.TrimSpace(minute[i]), Pulse: strings.TrimSpace(pulse[i]), Breaths: strings.TrimSpace(breaths[i]), Temp: strings.TrimSpace(temp[i])})
	}
	rec, err := v.work()
	if err != nil {
		if v.Faults = append(v.Faults, v.atRows(book.FaultsOf(err))...); book.FaultsOf(err) == nil {
			return err
		}
	}
	wrong := err != nil || len(v.Marks) > 0 || len(v.Faults) > 0
	for _, row := range v.Rows {
		wrong = wrong || row.Wrong != ""
	}
	if wrong {
		v.spare()
		return s.Render(w, http.StatusUnprocessableEntity, "turnout_halt", v)
	}
	if f.Get("do") != "keep" {
		v.spare()
		return s.Render(w, http.StatusOK, "turnout_halt", v)
	}
	return s.keepRecord(w, r, v.Saved, turnout.KeptVitals, rec, "halt")
}

var readingPlace = regexp.MustCompile(`^reading (\d+)$`)

// atRows puts faults of the readings at their rows, and gives the others.
func (p *haltPage) atRows(list fault.List) fault.List {
	var rest fault.List
	var typed []int
	for i, row := range p.Rows {
		if !row.empty() {
			typed = append(typed, i)
		}
	}
	for _, f := range list {
		if g := readingPlace.FindStringSubmatch(f.Place); g != nil {
			if n, _ := strconv.Atoi(g[1]); n >= 1 && n <= len(typed) {
				p.Rows[typed[n-1]].Wrong = f.Message + "; " + f.Hint
				continue
			}
		}
		rest = append(rest, &fault.Fault{Code: f.Code, Rule: f.Rule, Message: f.Message, Hint: f.Hint})
	}
	return rest
}

func (r vitalRow) empty() bool { return r.Minute+r.Pulse+r.Breaths+r.Temp == "" }

// work reads what was typed. What cannot be read is marked at its box or row.
func (p *haltPage) work() (*vitalsRecord, error) {
	rec := &vitalsRecord{By: p.By, Remarks: p.Remarks, Readings: []turnout.Vital{}}
	read := func(box, text, hint string, to *float64) bool {
		if text == "" {
			return false
		}
		x, ok := book.DecimalOf(text)
		if !ok {
			p.Marks[box] = fmt.Sprintf("%q is no number; %s", text, hint)
			return false
		}
		*to = x
		return true
	}
	read("rest", p.Rest, "beats a minute, such as 36", &rec.RestPulse)
	read("rest-breaths", p.RestBreaths, "breaths a minute, such as 12", &rec.RestBreaths)
	var air, humid, wet, globe float64
	hasAir, hasHumid := read("air", p.Air, "°C, such as 27", &air), read("humidity", p.Humid, "per cent, such as 60", &humid)
	hasWet, hasGlobe := read("wet", p.Wet, "°C", &wet), read("globe", p.Gl, "°C", &globe)
	switch {
	case len(p.Marks) > 0:
	case hasAir != hasHumid:
		box := map[bool]string{true: "humidity", false: "air"}[hasAir]
		p.Marks[box] = "the air wants both figures, °C and per cent"
	case hasWet != hasGlobe || hasWet && !hasAir:
		box := map[bool]string{true: "globe", false: "wet"}[hasWet]
		p.Marks[box] = "a measured figure wants wet bulb and globe, beside air and humidity"
	case hasAir:
		h, ok := turnout.HeatOf(air, humid)
		rec.AirC, rec.Humidity = &air, &humid
		if ok && hasWet {
			h, ok = turnout.HeatMeasured(air, humid, wet, globe)
			rec.WetC, rec.GlobeC = &wet, &globe
		}
		if !ok {
			p.Marks["air"] = fmt.Sprintf("%v °C with %v %% is no weather", air, humid)
		} else {
			p.Heat = &h
		}
	}
	for i, row := range p.Rows {
		if row.empty() {
			continue
		}
		var v turnout.Vital
		for _, k := range []struct {
			text string
			to   *float64
		}{{row.Minute, &v.Minute}, {row.Pulse, &v.Pulse}, {row.Breaths, &v.Breaths}, {row.Temp, &v.TempC}} {
			if k.text == "" {
				continue
			}
			x, ok := book.DecimalOf(k.text)
			if !ok || x == 0 && k.to != &v.Minute {
				p.Rows[i].Wrong = fmt.Sprintf("%q does not fit; a plain number, and what was not taken stays empty", k.text)
			}
			*k.to = x
		}
		if row.Minute == "" {
			p.Rows[i].Wrong = "no minute is written; minutes since the halt began, 0 for the first"
		}
		rec.Readings = append(rec.Readings, v)
	}
	if len(rec.Readings) == 0 {
		if p.Heat == nil && len(p.Marks) == 0 {
			return nil, &fault.Fault{Code: fault.Input, Rule: "vitals", Message: "nothing is typed yet", Hint: "a reading at the halt, and again every few minutes; or the air"}
		}
		return rec, nil
	}
	a, err := turnout.Recover(rec.Readings, rec.RestPulse, rec.RestBreaths)
	if err != nil {
		return nil, err
	}
	p.Result, p.Drawing, rec.Says = a, recoveryDrawing(a), a.Says
	return rec, nil
}
