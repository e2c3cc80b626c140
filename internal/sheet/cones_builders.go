package sheet

import (
	"fmt"

	"terret/internal/cones"
	"terret/internal/geom"
)

// wheelPen is the builder's measuring line.
var wheelPen = Style{Line: Black, Width: 0.45, Dash: []float64{3.2, 1.8}}

// conesBuilders draws the course with a grid and the line to wheel, then lists
// every pair with its places, and the line leg by leg.
func conesBuilders(in *Input) ([]Scene, error) {
	const title = "Builder's plan of the cones"
	c := in.Course
	b := in.measured()
	set140 := fmt.Sprintf("Cones as set for a track of %.0f cm: the crew sets each gap anew, evenly about the middle. %s", 100*in.track(), gapWords(c))
	line := fmt.Sprintf("Dashed: the line to wheel, %.1f m round %g m.", b.Length, c.MeasureRadius)
	set := in.set(geom.EmptyBox(), func(w float64, _ bool) float64 {
		return tall(line, 13, true, w) + tall(set140, body, false, w) + 2
	})
	s, _ := in.heading(title).page(in.Paper, set.wide)
	missed := in.draw(&s, set, true, true, func(g *ground) { g.wheeled(b) }, nil)
	r := s.paragraph(set.words, 13, true, line)
	s.paragraph(r, body, false, set140)

	f := &flow{in: in, title: title}
	f.words(body, false, frameWords)
	if missed > 0 {
		f.words(body, false, missedWords(missed))
	}
	var rows [][]string
	for _, o := range in.openings() {
		radius := in.radius()
		if o.flags {
			radius = 0
		}
		bearing, gap := fmt.Sprintf("%03.0f°", bearingDeg(o.Forward())), fmt.Sprintf("%.0f", 100*o.Opening(radius))
		mid, red, white := place(o.Mid()), place(o.Right), place(o.Left)
		switch o.only {
		case "right":
			mid, white, gap = "woven", "–", "–"
		case "left":
			mid, red, gap = "woven", "–", "–"
		}
		rows = append(rows, []string{tick, o.names[0], mid, bearing, gap, red, white, ""})
	}
	f.table("Pairs, in order", []column{{head: "set", width: 11}, {head: "No.", width: 17}, {head: "middle x, y", width: 33, right: true}, {head: "bearing", width: 19, right: true}, {head: "gap, cm", width: 19, right: true}, {head: "red R x, y", width: 33, right: true}, {head: "white L x, y", width: 33, right: true}, {head: "built"}}, rows, 9.5)

	rows = nil
	for _, st := range stakes(in.Plan, nil) {
		if st.kind != "ground" {
			rows = append(rows, []string{tick, st.id, st.kind, place(st.at), ""})
		}
	}
	if len(rows) > 0 {
		f.table("Rails, posts and the rest", []column{{head: "set", width: 11}, {head: "Name"}, {head: "what", width: 36}, {head: "x, y", width: 38, right: true}, {head: "as built", width: 38}}, rows, 9.5)
	}

	rows = nil
	sum := 0.0
	for _, l := range b.Legs {
		sum += l.Length
		rows = append(rows, []string{l.From + " to " + l.To, fmt.Sprintf("%.1f", l.Length), fmt.Sprintf("%.1f", l.Radius), fmt.Sprintf("%.1f", sum), "", ""})
	}
	f.table("The line to wheel", []column{{head: "From, to"}, {head: "length, m", width: 27, right: true}, {head: "round, m", width: 25, right: true}, {head: "so far, m", width: 27, right: true}, {head: "wheel 1", width: 30}, {head: "wheel 2", width: 30}}, rows, 8)
	f.words(body, false, "Wheel it twice down the middle of the track, wide in the turns as a horse goes; over 2 % apart, wheel it again (common practice).")
	f.table("Time by class (rules: "+in.Rules.Name+")", timeColumns, in.timeRows(b.Length), 7)
	f.need(2 * (lineStep(body) + 1.5))
	f.words(body, false, "Built by ______________________  Gaps and length measured by ______________________")
	f.words(body, false, "Measured length __________ m  Date and time ______________________")
	pages := append([]Scene{s}, f.pages...)
	return append(pages, in.multiplePages(title)...), nil
}

// wheeled draws the builder's line.
func (g *ground) wheeled(b *cones.Built) {
	pts := g.view.all(b.Points(max(0.5, b.Length/5000)))
	for i := 1; i < len(pts); i++ {
		g.room.line(pts[i-1], pts[i], 0.4, 0.02) // numbers may stand on it
	}
	g.scene.add(path(wheelPen, func(p *Path) { p.way(pts, false) }))
}
