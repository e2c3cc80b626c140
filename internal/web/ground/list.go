package ground

import (
	"html/template"
	"net/http"

	"terret/internal/plan"
	"terret/internal/web/book"
)

// listPage shows her plans as small drawings, the one kept last first.
type listPage struct {
	book.Frame
	Plans []planCard
}

// planCard is one plan in the list.
type planCard struct {
	plan.Saved
	Drawing template.HTML // "" when this edition cannot read the plan
	Holds   string        // "2 hazards, 14 things"
}

// list is GET /ground.
func (s *server) list(w http.ResponseWriter, r *http.Request) error {
	all, err := s.store.Plans(r.Context())
	if err != nil {
		return err
	}
	v := listPage{Frame: s.Frame("ground", "Ground")}
	for _, p := range all {
		c := planCard{Saved: p}
		if p.Plan != nil {
			c.Drawing, c.Holds = small(p.Plan), holds(p.Plan)
		}
		v.Plans = append(v.Plans, c)
	}
	return s.Render(w, http.StatusOK, "list", v)
}

func small(p *plan.Plan) template.HTML {
	d := drawing{plan: p, width: 260, height: 180, small: true}
	if len(p.Hazards) > 0 {
		d.hazard = &p.Hazards[0]
	} else if len(p.Courses) > 0 {
		d.course = &p.Courses[0]
	}
	return d.SVG()
}

// holds says what is on the ground.
func holds(p *plan.Plan) string {
	text := count(len(p.Hazards), "hazard")
	if n := len(p.Courses); n > 0 {
		text += ", " + count(n, "course") + " of cones"
	}
	return text + ", " + count(len(p.Things), "thing")
}
