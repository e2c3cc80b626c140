package ground

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// keepoutMetres is what is left between the room swept and the line that people
// stay behind: 5 m for a single and 10 m for a four as trade practice §5.2 has it
// (there 8–10 for a four), 8 m between the two; all estimates, to be widened by
// local rules and by whoever runs the hazard.
func keepoutMetres(t *turnout.Turnout) float64 {
	switch t.Hitch {
	case turnout.Single:
		return 5
	case turnout.Four:
		return 10
	}
	return 8
}

// keepoutStep is the distance along the line between two footprints drawn, m:
// well under what is left round it, so that their union has no notches to stand in.
const keepoutStep = 0.5

// apiKeepout gives the room that the largest turnout sweeps on all the ways it
// may take, with a margin. POST /api/keepout. It is a drawing of what was worked
// out and a help for placing people, never a word that a place is harmless.
func (s *server) apiKeepout(w http.ResponseWriter, r *http.Request) error {
	var in question
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	p, err := readPlan(in.Plan)
	if err != nil {
		return err
	}
	all, err := s.byRoom(r.Context(), in)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(r.Context(), keepoutWithin)
	defer cancel()
	var cannot, unknown []string
	for _, t := range all {
		one, stop := context.WithTimeout(ctx, keepoutEach)
		a, err := s.ways(one, hazard.Question{Plan: p, Hazard: in.Hazard, Turnout: t, Through: in.Through, For: in.For})
		stop()
		switch {
		case errors.Is(err, context.DeadlineExceeded):
			unknown = append(unknown, t.Name)
			continue
		case err != nil:
			return err
		case len(a.Routes) == 0:
			cannot = append(cannot, t.Name)
			continue
		}
		metres := keepoutMetres(t)
		out := keepout{Turnout: t.Name, Metres: metres, Pieces: [][]hazard.Point{}}
		for i := range a.Routes {
			out.Pieces = append(out.Pieces, swept(t, &a.Routes[i], metres)...)
		}
		out.Words = fmt.Sprintf("The room that %s sweeps on the %s worked out, and %.0f m round it. ", t.Name, count(len(a.Routes), "way"), metres)
		if len(cannot) > 0 {
			out.Words += "No way was found for what needs more room: " + strings.Join(cannot, ", ") + ". "
		}
		if len(unknown) > 0 {
			out.Words += "Not worked out in time, though it needs more room: " + strings.Join(unknown, ", ") + ". "
		}
		out.Words += "A driver may go elsewhere, and a frightened horse goes anywhere."
		book.WriteJSON(w, http.StatusOK, out)
		return nil
	}
	out := keepout{Pieces: [][]hazard.Point{}, Words: "No turnout here can drive this, so there is nothing to draw. Keep everybody out of the whole hazard."}
	if len(unknown) > 0 {
		out.Words = "It takes too long to work out for " + strings.Join(unknown, ", ") + ", so there is nothing to draw. Keep everybody out of the whole hazard."
	}
	book.WriteJSON(w, http.StatusOK, out)
	return nil
}

// How long the drawing of the keep-out area may take, and one turnout in it.
const (
	keepoutWithin = 20 * time.Second
	keepoutEach   = 6 * time.Second
)

type keepout struct {
	Turnout string           `json:"turnout"`
	Metres  float64          `json:"metres"` // left round the room swept
	Pieces  [][]hazard.Point `json:"pieces"` // outlines, all wound one way; their union is the area
	Words   string           `json:"words"`
}

// byRoom is the turnout asked for, or those kept, the one that needs the most
// room first: the longest, and of equal length the widest.
func (s *server) byRoom(ctx context.Context, in question) ([]*turnout.Turnout, error) {
	if len(in.Turnout) > 0 {
		t, err := s.readTurnout(ctx, in.Turnout)
		return []*turnout.Turnout{t}, err
	}
	kept, _, err := s.choices(ctx)
	if err != nil {
		return nil, err
	}
	if len(kept) == 0 {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "turnout", Place: "turnout", Message: "there is no turnout here yet", Hint: "bring one in on the Turnouts page"}
	}
	all := make([]*turnout.Turnout, len(kept))
	for i, c := range kept {
		all[i] = c.t
	}
	slices.SortStableFunc(all, func(a, b *turnout.Turnout) int { return cmp.Compare(needs(b), needs(a)) })
	return all, nil
}

// needs orders turnouts by length, then by width.
func needs(t *turnout.Turnout) float64 { return t.Front() + t.Back() + t.HalfWidth()/100 }

// swept outlines the footprint at steps along a route, each part grown by metres.
// A part is everything near a segment, so its outline is that of a capsule.
func swept(t *turnout.Turnout, r *hazard.Route, metres float64) [][]hazard.Point {
	var out [][]hazard.Point
	next := 0.0
	for i := range r.Samples {
		q := &r.Samples[i]
		if q.SM < next && i+1 < len(r.Samples) {
			continue
		}
		next = q.SM + keepoutStep
		lead := q.Lead.Vec()
		if len(q.Axles) > 0 {
			out = append(out, around(geom.Seg{A: q.Axles[0].Vec(), B: lead}, metres))
		}
		out = append(out, row(t, t.Abreast(), lead, geom.Degrees(q.BearingDeg), metres)...)
		if q.Leaders != nil {
			out = append(out, row(t, t.LeadersAbreast(), q.Leaders.At.Vec(), geom.Degrees(q.Leaders.BearingDeg), metres)...)
		}
		for j, a := range q.Axles {
			x := geom.Degrees(q.AxleBearingsDeg[j]).Dir().Right()
			out = append(out, around(geom.Seg{A: a.Vec().Along(x, -t.Vehicle.Hubs/2), B: a.Vec().Along(x, t.Vehicle.Hubs/2)}, metres))
		}
	}
	return out
}

// row outlines one horse or two abreast. They are drawn along the line's
// tangent; the bend that the exact footprint allows moves a nose by less than
// the margin left round it.
func row(t *turnout.Turnout, abreast bool, at geom.Vec, b geom.Bearing, metres float64) [][]hazard.Point {
	u := b.Dir()
	var out [][]hazard.Point
	offs := []float64{0}
	if abreast {
		offs = []float64{-t.Horse.Apart / 2, t.Horse.Apart / 2}
	}
	for _, o := range offs {
		c := at.Along(u.Right(), o)
		out = append(out, around(geom.Seg{A: c.Along(u, -t.Horse.Rump), B: c.Along(u, t.Horse.Nose)}, metres+t.Horse.Width/2))
	}
	return out
}

// around is the outline of everything within r of s, clockwise from north's
// side, its round ends in eight steps drawn outside the circle so that nothing
// is cut off.
func around(s geom.Seg, r float64) []hazard.Point {
	u := s.B.Sub(s.A).Unit()
	if u == (geom.Vec{}) {
		u = geom.Vec{Y: 1}
	}
	b := u.Bearing()
	out := make([]hazard.Point, 0, 18)
	r /= math.Cos(math.Pi / 16)
	for _, end := range []struct {
		at   geom.Vec
		from geom.Bearing
	}{{s.B, b - math.Pi/2}, {s.A, b + math.Pi/2}} {
		for i := range 9 {
			v := end.at.Along((end.from + geom.Bearing(i)*math.Pi/8).Dir(), r)
			out = append(out, hazard.Point{v.X, v.Y})
		}
	}
	return out
}
