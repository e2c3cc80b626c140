package ground

import (
	"terret/internal/cones"
	"terret/internal/geom"
)

// cones draws a course as the server does: the line driven, the start and finish
// lines, and every pair with R and L and its number.
func (d drawing) cones(p *pen) {
	if len(d.driven) > 0 {
		p.f(`<path d="%v" class="best"/>`, way(p.on(d.driven), false))
	}
	track := d.track
	if track == 0 {
		track = cones.NominalTrack
	}
	r := 3.4
	if !d.small {
		r = 7
	}
	type sides struct{ right, left *geom.Vec }
	at := map[string]sides{}
	var order []string
	put := func(name string, v geom.Vec, right bool) {
		s, ok := at[name]
		if !ok {
			order = append(order, name)
		}
		if right {
			s.right = &v
		} else {
			s.left = &v
		}
		at[name] = s
	}
	put("Start", d.course.Start.Right, true)
	put("Start", d.course.Start.Left, false)
	for _, m := range cones.Marks(d.plan, d.course, track) {
		put(m.Gate, m.At, m.Right)
	}
	put("Finish", d.course.Finish.Right, true)
	put("Finish", d.course.Finish.Left, false)
	for _, name := range order {
		s := at[name]
		if s.right != nil && s.left != nil {
			p.f(`<path d="%v" class="gate-line live"/>`, way([]geom.Vec{p.at(*s.left), p.at(*s.right)}, false))
		}
		// A woven cone stands alone: its number is beside it.
		label := s.right
		if s.left != nil {
			q := p.at(*s.left)
			p.f(`<circle cx="%v" cy="%v" r="%v" class="white-sign"><title>White, left of %v</title></circle>`, q.X, q.Y, r-1, name)
			if label == nil {
				label = s.left
			}
		}
		if s.right != nil {
			p.f(`<path d="%v" class="red-sign"><title>Red, right of %v</title></path>`, diamond(p.at(*s.right), r), name)
		}
		if d.small {
			continue
		}
		q := p.at(*label)
		out := geom.Vec{X: 1}
		if s.right != nil && s.left != nil {
			out = p.at(*s.right).Sub(p.at(*s.left)).Unit()
		}
		q = q.Along(out, r+14)
		p.f(`<text x="%v" y="%v" text-anchor="middle" class="when">%v</text>`, q.X, q.Y+5, name)
	}
}
