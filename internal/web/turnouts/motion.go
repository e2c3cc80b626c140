package turnouts

import (
	"errors"
	"fmt"
	"html/template"
	"io"
	"net/http"
	"strings"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// motionPage reads a phone's motion log: recorded on the page where the browser
// allows it, or brought as a file.
type motionPage struct {
	book.Frame
	turnout.Saved
	Here    string
	File    string
	Speed   string
	Marks   map[string]string
	Faults  fault.List
	Result  *gait.Signal
	Drawing template.HTML
	Stride  float64 // m, with a speed; 0 without
}

// Wrong is what is wrong with one box; "" is nothing.
func (p motionPage) Wrong(box string) string { return p.Marks[box] }

// Evenness says how alike the halves of the stride are, in words.
func (p motionPage) Evenness() string {
	if p.Result == nil || p.Result.Evenness == nil {
		return ""
	}
	text := fmt.Sprintf("The two halves of the trot stride are alike to %.2f (1: no difference).", *p.Result.Evenness)
	if h := p.Result.HalfStridesS; len(h) == 2 {
		text += fmt.Sprintf(" They last %.3f and %.3f s.", h[0], h[1])
	}
	return text + " Which is left a log cannot tell, nor what makes a difference."
}

// runView is one stretch of a gait in the table.
type runView struct {
	From, To, Gait, Minute, Strides string
}

// Runs are the rows of the table.
func (p motionPage) Runs() []runView {
	var out []runView
	for _, r := range p.Result.Runs {
		v := runView{From: clockOf(r.FromS), To: clockOf(r.ToS), Gait: r.Gait, Minute: "–", Strides: "–"}
		if r.StrideHz != nil {
			v.Minute, v.Strides = fmt.Sprintf("%.0f", gait.PerMinute(*r.StrideHz)), fmt.Sprintf("%.0f", r.Strides)
		}
		out = append(out, v)
	}
	return out
}

func (s *server) motionFor(r *http.Request) (*motionPage, *turnout.Turnout, error) {
	saved, t, err := s.asked(r)
	if err != nil {
		return nil, nil, err
	}
	return &motionPage{Frame: s.Frame("turnouts", "Motion: "+saved.Name), Saved: saved, Here: "motion", Marks: map[string]string{}}, t, nil
}

// motion is GET /turnouts/{id}/motion.
func (s *server) motion(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.motionFor(r)
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "turnout_motion", v)
}

// mostMotion is the largest log that is sent: what package gait reads, and the
// form round it.
const mostMotion = 65 << 20

// motionRead is POST /turnouts/{id}/motion: a log is read, and kept nowhere.
func (s *server) motionRead(w http.ResponseWriter, r *http.Request) error {
	v, t, err := s.motionFor(r)
	if err != nil {
		return err
	}
	done, err := s.Place(r.Context()) // a log of hours takes its second
	if err != nil {
		return err
	}
	defer done()
	err = v.read(w, r, t)
	if v.Faults = book.FaultsOf(err); v.Faults == nil && err != nil {
		return err
	}
	if len(v.Faults) > 0 || len(v.Marks) > 0 {
		status := http.StatusUnprocessableEntity
		if err != nil {
			status = book.StatusOf(err)
		}
		return s.Render(w, status, "turnout_motion", v)
	}
	return s.Render(w, http.StatusOK, "turnout_motion", v)
}

// read takes the log in and reads it.
func (p *motionPage) read(w http.ResponseWriter, r *http.Request, t *turnout.Turnout) error {
	r.Body = http.MaxBytesReader(w, r.Body, mostMotion)
	f, h, err := r.FormFile("log")
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return &fault.Fault{Code: fault.TooLarge, Rule: "too-large", Place: "log", Message: "the log is over 64 MB", Hint: "some four hours at 100 samples a second: cut it into lessons"}
	}
	if err != nil {
		return &fault.Fault{Code: fault.Usage, Rule: "file", Place: "log", Message: "no log was chosen", Hint: "record one, or choose a CSV file: t_s,ax,ay,az"}
	}
	defer f.Close()
	if r.MultipartForm != nil {
		defer func() { _ = r.MultipartForm.RemoveAll() }() // a large log lay in a file of its own
	}
	data, err := io.ReadAll(f)
	if err != nil {
		return fmt.Errorf("read the log sent: %w", err)
	}
	p.File, p.Speed = h.Filename, strings.TrimSpace(r.FormValue("speed"))
	m, err := gait.ReadMotion(p.File, data)
	if err != nil {
		return err
	}
	speed := 0.0
	if p.Speed != "" {
		if speed, err = number(p.Speed, inSpeed, metric); err != nil || speed < 0.5 || speed > 20 {
			p.Marks["speed"] = fmt.Sprintf("%q is no speed of a trot; such as 3.6 or 13 km/h", p.Speed)
			return nil
		}
	}
	p.Result = gait.Analyse(m, t.Size)
	p.Drawing = signalDrawing(p.Result)
	strides, seconds := 0.0, 0.0
	for _, run := range p.Result.Runs {
		if run.Gait == gait.TrotG && run.StrideHz != nil {
			strides, seconds = strides+run.Strides, seconds + run.Strides / *run.StrideHz
		}
	}
	if speed > 0 && strides > 0 {
		p.Stride = speed * seconds / strides
	}
	return nil
}
