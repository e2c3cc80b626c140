package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
)

// Common practice of people who set posts; no rulebook is quoted.
const driving = "Driving posts (common practice): gloves on; nobody holds the post at the maul; underground services looked up and marked before the first blow. Local rules and the landowner's word come first."

const frameWords = "x is metres east, y metres north of the plan's zero point; all places are centres. Openings are from inner face to inner face. Bearings are clockwise from north."

// builders draws the plan with a grid and ids, then lists every gate and every
// place, with room for what was built.
func builders(in *Input) ([]Scene, error) {
	const title = "Builder's plan"
	count := "To set: " + setWords(CountMaterials([]*plan.Hazard{in.Hazard}, nil, nil, in.Plan.Things)) + "."
	set := in.set(geom.EmptyBox(), func(w float64, _ bool) float64 {
		return tall(count, body, false, w) + tall(driving, body, true, w) + tall(missedWords(2000), body, false, w) + 10
	})
	s, _ := in.heading(title).page(in.Paper, set.wide)
	missed := in.draw(&s, set, true, true, nil, nil)
	r := s.paragraph(set.words, body, false, count)
	if missed > 0 {
		r = s.paragraph(r, body, false, missedWords(missed))
	}
	h := tall(driving, body, true, r.W-6) + 4
	r.Y += 2
	s.add(box(Rect{r.X, r.Y, r.W, h}, thick))
	s.paragraph(Rect{r.X + 3, r.Y + 2, r.W - 6, h}, body, true, driving)

	f := &flow{in: in, title: title}
	f.words(body, false, frameWords)
	var rows [][]string
	for _, o := range openings(in.Hazard, "", in.Class) {
		rows = append(rows, []string{
			strings.Join(o.names, ", "),
			fmt.Sprintf("%.2f", o.Opening(in.Hazard.MarkerRadius)),
			fmt.Sprintf("%03.0f°", bearingDeg(o.Forward())),
			place(o.Right), place(o.Left), "",
		})
	}
	f.table("Gates", []column{{head: "Gate"}, {head: "opening, m", width: 28, right: true}, {head: "bearing", width: 21, right: true}, {head: "red R at x, y", width: 38, right: true}, {head: "white L at x, y", width: 38, right: true}, {head: "as built, m", width: 32}}, rows, 9)

	rows = nil
	for i, st := range stakes(in.Plan, openings(in.Hazard, "", "")) {
		rows = append(rows, []string{fmt.Sprint(i + 1), tick, st.id, st.kind, st.side, coordinate(st.at.X), coordinate(st.at.Y), ""})
	}
	f.table("Every place", []column{{head: "No.", width: 13, right: true}, {head: "set", width: 11}, {head: "Name"}, {head: "what", width: 26}, {head: "side", width: 33}, {head: "x, m", width: 18, right: true}, {head: "y, m", width: 18, right: true}, {head: "as built", width: 32}}, rows, 8.5)
	f.need(20)
	f.words(body, false, "Built by ______________________  Gates measured by ______________________")
	f.words(body, false, "Tapes used ______________________  Date and time ______________________")
	return append([]Scene{s}, f.pages...), nil
}

// missedWords says how many names are not on a drawing.
func missedWords(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "1 name found no room on the drawing; the list has it."
	}
	return fmt.Sprintf("%d names found no room on the drawing; the list has them all.", n)
}

func place(v geom.Vec) string { return coordinate(v.X) + ", " + coordinate(v.Y) }

// coordinate writes metres to the centimetre. A hair under nought is "0.00":
// a minus before nothing makes people look for what they missed.
func coordinate(m float64) string {
	if math.Abs(m) < 0.005 {
		m = 0
	}
	return fmt.Sprintf("%.2f", m)
}

// bearingDeg is a bearing in whole degrees, 0 to 359.
func bearingDeg(v geom.Vec) float64 {
	d := float64(int(v.Bearing().Deg() + 0.5))
	if d >= 360 {
		d = 0
	}
	return d
}

// stake is one place to set out.
type stake struct {
	at   geom.Vec
	id   string
	kind string
	side string // "red R" or "white L" and the gate, where the post has two
}

// same is how near two places are one, m: no tape tells 1 mm.
const same = 0.001

// stakes lists every place: the markers in the order of the gates, then the
// things in the plan's order, then the corners of the ground. A place with
// several names is listed once, with all of them.
func stakes(p *plan.Plan, gates []opening) []stake {
	var all []stake
	cells := map[[2]int64][]int{}
	cell := func(v geom.Vec) [2]int64 { return [2]int64{int64(v.X * 10), int64(v.Y * 10)} }
	find := func(v geom.Vec) int {
		c := cell(v)
		for i := int64(-1); i <= 1; i++ {
			for j := int64(-1); j <= 1; j++ {
				for _, k := range cells[[2]int64{c[0] + i, c[1] + j}] {
					if all[k].at.Dist(v) < same {
						return k
					}
				}
			}
		}
		return -1
	}
	put := func(s stake, merge bool) {
		if merge {
			if k := find(s.at); k >= 0 {
				o := &all[k]
				o.id += ", " + s.id
				if !slices.Contains(strings.Split(o.kind, ", "), s.kind) {
					o.kind += ", " + s.kind
				}
				if s.side != "" && o.side != s.side {
					o.side = strings.TrimPrefix(o.side+", "+s.side, ", ")
				}
				return
			}
		}
		cells[cell(s.at)] = append(cells[cell(s.at)], len(all))
		all = append(all, s)
	}
	for _, o := range gates {
		for _, right := range []bool{true, false} {
			at, side, colour := o.Right, "right", "red R"
			if !right {
				at, side, colour = o.Left, "left", "white L"
			}
			var ids []string
			for _, n := range o.names {
				if len(n) > 1 {
					n = strings.ToLower(n)
				}
				ids = append(ids, n+"."+side)
			}
			put(stake{at, strings.Join(ids, ", "), "marker", colour}, true)
		}
	}
	for _, t := range p.Things {
		switch {
		case len(t.Outline) > 0:
			for i, v := range t.Outline {
				put(stake{v, fmt.Sprintf("%s corner %d", t.ID, i+1), t.Kind, ""}, false)
			}
		case len(t.Path) > 0:
			for i, v := range t.Path {
				what := fmt.Sprintf("%s bend %d", t.ID, i)
				switch i {
				case 0:
					what = t.ID + " start"
				case len(t.Path) - 1:
					what = t.ID + " end"
				}
				put(stake{v, what, t.Kind, ""}, true)
			}
		default:
			put(stake{t.At, t.ID, t.Kind, ""}, true)
		}
	}
	for i, v := range p.Ground.Outline {
		put(stake{v, fmt.Sprintf("outline corner %d", i+1), "ground", ""}, false)
	}
	return all
}
