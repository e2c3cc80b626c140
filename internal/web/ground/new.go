package ground

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/web/book"
)

// newPage begins a plan from a plain outline, or from a file.
type newPage struct {
	book.Frame
	Name, Width, Height string     // as typed
	Faults              fault.List // each with Place "name", "width", "height" or a place in the file
	File                string     // name of a file that was refused
}

// Wrong is what is wrong with one box of the form; "" is nothing.
func (p newPage) Wrong(place string) string {
	for _, f := range p.Faults {
		if f.Place == place {
			return f.Message + "; " + f.Hint
		}
	}
	return ""
}

// InFile lists the faults of the file that was read.
func (p newPage) InFile() fault.List {
	if p.File == "" {
		return nil
	}
	return p.Faults
}

// beginForm is GET /ground/new.
func (s *server) beginForm(w http.ResponseWriter, _ *http.Request) error {
	return s.Render(w, http.StatusOK, "new", newPage{Frame: s.Frame("ground", "A new plan"), Width: "60", Height: "40"})
}

// create is POST /ground/new: a rectangle of ground with a name.
func (s *server) create(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, 64<<10)
	v := newPage{Frame: s.Frame("ground", "A new plan"), Name: strings.TrimSpace(r.PostFormValue("name")), Width: strings.TrimSpace(r.PostFormValue("width")), Height: strings.TrimSpace(r.PostFormValue("height"))}
	if v.Name == "" || len(v.Name) > 200 || strings.ContainsAny(v.Name, "\n\t") {
		v.Faults = append(v.Faults, &fault.Fault{Place: "name", Message: "the plan has no name yet", Hint: "what do people call the field?"})
	}
	side := func(place, text string) float64 {
		m, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || math.IsNaN(m) || m < 5 || m > 2000 {
			v.Faults = append(v.Faults, &fault.Fault{Place: place, Message: fmt.Sprintf("%q is no length that fits", text), Hint: "metres, from 5 to 2000, such as 60"})
		}
		return m
	}
	x, y := side("width", v.Width), side("height", v.Height)
	if len(v.Faults) > 0 {
		return s.Render(w, http.StatusUnprocessableEntity, "new", v)
	}
	p := &plan.Plan{Name: v.Name, Ground: plan.Ground{Outline: geom.Polygon{{X: 0, Y: 0}, {X: x, Y: 0}, {X: x, Y: y}, {X: 0, Y: y}}}}
	return s.begin(w, r, p, "a new outline")
}

// begin keeps p as the first version of a new plan and opens it.
func (s *server) begin(w http.ResponseWriter, r *http.Request, p *plan.Plan, note string) error {
	kept, err := s.store.SavePlan(r.Context(), book.NewID(p.Name), 0, p, note, s.Now())
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/ground/"+kept.ID, http.StatusSeeOther)
	return nil
}
