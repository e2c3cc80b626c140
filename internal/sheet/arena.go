package sheet

import (
	"cmp"
	"fmt"
	"slices"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/survey"
)

func geomAt(x, y float64) geom.Vec { return geom.Vec{X: x, Y: y} }

// arenaOf are the corners of an arena that is laid out.
func arenaOf(a *survey.ArenaSite) (all []geom.Vec) {
	for _, c := range a.Corners {
		all = append(all, geomAt(c.X, c.Y))
	}
	return all
}

// What two people must hear before they carry boards.
const arenaCaution = "Two lift a board, and nobody carries one past a horse's head (common practice). Sizes and letters: the organiser's rule book decides."

// arenaPlan draws a dressage arena with its letters, and lists how far each
// stands from the A end.
func arenaPlan(in *Input) ([]Scene, error) {
	const title = "Dressage arena"
	a := in.Stakes.Arena
	if a == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-arena", Place: ArenaPlan, Message: "the list of stakes is not of an arena", Hint: "work one out of the arena"}
	}
	says := []string{fmt.Sprintf("%s × %s m. Both diagonals %.2f m, within %.0f cm of one another.", metres(a.Width), metres(a.Length), a.Diagonal, 100*a.Allowed)}
	if a.Square[0] > 0 {
		says = append(says, fmt.Sprintf("A square corner: %.0f m along the short side, %.0f m along the long side, %.0f m across.", a.Square[0], a.Square[1], a.Square[2]))
	}
	set := in.set(in.near(nil), func(w float64, _ bool) float64 {
		h := tall(arenaCaution, body, false, w) + 3
		for _, s := range says {
			h += tall(s, 14, true, w)
		}
		return h
	})
	s, _ := in.heading(title).page(in.Paper, set.wide)
	in.draw(&s, set, false, false, nil, func(g *ground) { g.letters(a) })
	r := set.words
	for _, w := range says {
		r = s.paragraph(r, 14, true, w)
	}
	r.Y, r.H = r.Y+1.5, r.H-1.5
	s.paragraph(r, body, false, arenaCaution)

	f := &flow{in: in, title: title}
	f.words(13, true, "Letters, from the A end along the long sides")
	type row struct {
		along float64
		at    map[string]string
	}
	var rows []row
	for _, l := range a.Letters {
		i := slices.IndexFunc(rows, func(r row) bool { return abs(r.along-l.Along) < 0.005 })
		if i < 0 {
			i = len(rows)
			rows = append(rows, row{l.Along, map[string]string{}})
		}
		rows[i].at[l.Side] = l.Letter
	}
	slices.SortFunc(rows, func(a, b row) int { return cmp.Compare(b.along, a.along) })
	var cells [][]string
	for _, r := range rows {
		middle := r.at["centre line"]
		if end := r.at["A end"] + r.at["C end"]; end != "" {
			middle = end + " (end)"
		}
		cells = append(cells, []string{fmt.Sprintf("%.2f", r.along), r.at["left"], middle, r.at["right"], ""})
	}
	f.big("C at the head, as one looks from A", []column{{head: "from A end, m", width: 42, right: true}, {head: "left side"}, {head: "centre line"}, {head: "right side"}, {head: "as built", width: 42}}, cells, 16)
	f.words(body, false, "Letters from: "+a.Source+". Those on the centre line are not marked on the ground.")
	f.words(body, false, fmt.Sprintf("Diagonals as built: __________ m and __________ m (planned %.2f m).", a.Diagonal))
	f.words(body, false, "Built by ______________________  Date and time ______________________")
	return append([]Scene{s}, f.pages...), nil
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}
