package turnouts

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// circlesPage is the guide to measuring a turnout in raked sand: four numbers,
// held against the lengths of the record.
type circlesPage struct {
	book.Frame
	turnout.Saved
	Boxes       []boxView
	By, On      string
	Said        []handSaid
	CanKeep     bool
	Moved       string
	Faults      fault.List
	Was         turnout.Hands // of the record, m
	WasGuessed  bool
	Names       [4]string
	WheelsWords string
}

// handSaid is what one hand's circle says.
type handSaid struct {
	Hand   string
	Radius float64
	Says   string
}

// Letter names the turnout's version.
func (p circlesPage) Letter() string { return plan.VersionLetter(p.Version) }

var circleBoxes = []boxKind{
	{"hoof-left", "1 Hoof circle, left hand", inMetres, "across, midway between the prints of both sides", false},
	{"wheel-left", "2 Inner wheel, left hand", inMetres, "across, the inmost (hind) wheel's mark", false},
	{"hoof-right", "3 Hoof circle, right hand", inMetres, "", false},
	{"wheel-right", "4 Inner wheel, right hand", inMetres, "", false},
}

// circlesFor reads the four numbers; a box that cannot be read is marked.
func (s *server) circlesFor(r *http.Request, f url.Values) (*circlesPage, *turnout.Turnout, turnout.Circles, error) {
	saved, t, err := s.asked(r)
	if err != nil {
		return nil, nil, turnout.Circles{}, err
	}
	v := &circlesPage{Frame: s.Frame("turnouts", "Measure: "+saved.Name), Saved: saved, Was: t.Turning, By: strings.TrimSpace(f.Get("by")), On: strings.TrimSpace(f.Get("on"))}
	if v.On == "" {
		v.On = s.Now().Format("2006-01-02")
	}
	_, _, guessed := about(t.Extra)
	for _, g := range guessed {
		v.WasGuessed = v.WasGuessed || g == "turning" || strings.HasPrefix(g, "turning.")
	}
	var c turnout.Circles
	to := []*float64{&c.HoofLeft, &c.WheelLeft, &c.HoofRight, &c.WheelRight}
	wrong := false
	for i, b := range circleBoxes {
		bv := boxView{boxKind: b, ID: b.Key, Value: strings.TrimSpace(f.Get(b.Key)), Own: "m"}
		if bv.Value != "" {
			x, err := number(bv.Value, inMetres, metric)
			if err == nil && !(x > 0 && x <= 60) {
				err = fmt.Errorf("%q is no circle; across it, from 0 to 60 m", bv.Value)
			}
			if err != nil {
				bv.Wrong, wrong = err.Error(), true
			} else {
				*to[i], bv.Other = x, other(x, inMetres, metric)
			}
		}
		v.Boxes = append(v.Boxes, bv)
	}
	if wrong {
		v.Faults = fault.List{{Code: fault.Input, Rule: "circle", Message: "a box cannot be read", Hint: "mend what is marked"}}
	}
	if c.HoofLeft > 0 || c.HoofRight > 0 {
		left, right := c.Read(t)
		v.Said = []handSaid{{"To the left", left.Radius, left.Says}, {"To the right", right.Radius, right.Says}}
		v.CanKeep = !wrong
	}
	return v, t, c, nil
}

// circles is GET /turnouts/{id}/circles?hoof-left=…: nothing is kept.
func (s *server) circles(w http.ResponseWriter, r *http.Request) error {
	v, _, _, err := s.circlesFor(r, r.URL.Query())
	if err != nil {
		return err
	}
	status := http.StatusOK
	if v.Faults != nil {
		status = book.StatusOf(v.Faults)
	}
	return s.Render(w, status, "turnout_circles", v)
}

// circlesKeep is POST /turnouts/{id}/circles: the radii go into the record
// as a new version, and are no guess any more.
func (s *server) circlesKeep(w http.ResponseWriter, r *http.Request) error {
	if err := book.Posted(w, r, 64<<10); err != nil {
		return err
	}
	v, _, c, err := s.circlesFor(r, r.PostForm)
	if err != nil {
		return err
	}
	if !v.CanKeep {
		return s.Render(w, http.StatusUnprocessableEntity, "turnout_circles", v)
	}
	rec, err := s.recordFor(r)
	if err != nil {
		return err
	}
	if rec.Broken != nil {
		return rec.Broken
	}
	rec.fill()
	for path, across := range map[string]float64{"turning.left": c.HoofLeft, "turning.right": c.HoofRight} {
		if across > 0 {
			put(rec.whole, path, across/2)
			rec.Guessed[path] = false
		}
	}
	rec.guesses()
	if v.By != "" {
		put(rec.whole, "measured.by", v.By)
	}
	put(rec.whole, "measured.on", v.On)
	doc, t, err := rec.write()
	if err != nil {
		return err
	}
	if len(rec.Marks) > 0 || len(rec.Faults) > 0 {
		for path, text := range rec.Marks {
			v.Faults = append(v.Faults, &fault.Fault{Code: fault.Input, Place: path, Message: text})
		}
		v.Faults = append(v.Faults, rec.Faults...)
		return s.Render(w, http.StatusUnprocessableEntity, "turnout_circles", v)
	}
	if _, err := s.store.SaveTurnout(r.Context(), v.ID, v.Version, t.Name, doc, s.Now()); err != nil {
		return err
	}
	http.Redirect(w, r, "/turnouts/"+url.PathEscape(v.ID)+"?kept=1", http.StatusSeeOther)
	return nil
}
