package sheet

import (
	"fmt"
	"strings"

	"terret/internal/fault"
	"terret/internal/hazard"
)

// What the clinic plan says about people on foot. The distances are estimates,
// and so is the hatch they are measured from.
const keepOut = "People on foot: outside drawn lines, 5 m and more from the hatch, 8 to 10 m for a four (estimates). Local rules and the organiser's word come first."

const notLooked = "Not looked at: slope, going, anything that is not on the plan, the horse's day. Forward driving only."

// clinic draws two ways through the hazard for one turnout, with their figures,
// and on the next page where their seconds go.
func clinic(in *Input) ([]Scene, error) {
	if in.Answer == nil {
		return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-answer", Place: Clinic, Message: "a clinic plan needs a turnout", Hint: "name the turnout whose ways it shall show"}
	}
	const title = "Clinic plan"
	a := in.Answer
	rs := two(a)
	if len(rs) == 0 {
		return []Scene{in.noWay(title)}, nil
	}
	who := "For " + fit(a.Turnout, body, true, 120)
	if in.Turnout != nil {
		who += fmt.Sprintf(", at most %.1f m/s, %s asked beside every part", in.Turnout.Pace.Speed, centimetres(in.Turnout.Margin))
	}
	who += ". " + in.classWords()
	last := keepOut + " " + notLooked
	columns := func(w float64, wide bool) (n int, each float64) {
		if wide {
			return 1, w
		}
		return 2, w/2 - 3
	}
	set := in.set(in.near(rs), func(w float64, wide bool) float64 {
		n, each := columns(w, wide)
		var h float64
		for _, r := range rs {
			one := figuresTall(r, each)
			if n == 1 {
				h += one
			} else {
				h = max(h, one)
			}
		}
		return tall(who, body, true, w) + 2 + h + tall(last, body, false, w) + 4
	})
	s, _ := in.heading(title).page(in.Paper, set.wide)
	in.draw(&s, set, false, false, func(g *ground) { g.ways(rs, in.Turnout) }, func(g *ground) {
		g.tight(rs[0])
		g.seconds(rs[0])
	})
	r := s.paragraph(set.words, body, true, who)
	r.Y, r.H = r.Y+2, r.H-2
	n, each := columns(set.words.W, set.words.W < 100)
	low := r
	for i, w := range rs {
		col := Rect{r.X, r.Y, each, r.H}
		if n == 2 {
			col.X += float64(i) * (each + 6)
		} else {
			col = low
		}
		col = s.figures(col, i, w)
		if n == 1 || col.Y > low.Y {
			low = Rect{r.X, col.Y, r.W, col.H}
		}
	}
	low.Y, low.H = low.Y+2, low.H-2
	s.paragraph(low, body, false, last)
	pages := []Scene{s}
	return append(pages, in.secondsPages(title, rs)...), nil
}

// figureLines are a way's figures in words, under its time.
func figureLines(r *hazard.Route) []string {
	lines := []string{fmt.Sprintf("Turned left %.0f°, right %.0f°", r.TurnedLeftDeg, r.TurnedRightDeg)}
	if len(r.Tight) > 0 {
		t := r.Tight[0]
		lines = append(lines, fmt.Sprintf("Tightest: %s, %s beside %s", centimetres(t.ClearanceM), t.Part, sayID(t.Thing)))
	}
	if r.Says != "" {
		lines = append(lines, r.Says)
	}
	return lines
}

func figuresTall(r *hazard.Route, w float64) float64 {
	h := 8.0
	for _, l := range figureLines(r) {
		h += tall(l, body, false, w)
	}
	return h + 2
}

// figures writes one way's figures with a piece of its line.
func (s *Scene) figures(r Rect, i int, way *hazard.Route) Rect {
	y := r.Y + 4
	s.add(line(Pt{r.X, y}, Pt{r.X + 16, y}, wayPens[i]))
	if i == 0 {
		for k := range 3 {
			x := r.X + 4 + float64(k)*4
			s.add(line(Pt{x, y - 1.2}, Pt{x, y + 1.2}, Style{Line: Black, Width: 0.35}))
		}
	}
	head := fmt.Sprintf("%.1f s, %.0f m", way.TimeS, way.LengthM)
	s.add(Text{At: Pt{r.X + 19, y + capHeight(15)/2}, Size: 15, Bold: true, Ink: Black, Words: head})
	r.Y, r.H = r.Y+8, r.H-8
	for _, l := range figureLines(way) {
		r = s.paragraph(r, body, false, l)
	}
	r.Y, r.H = r.Y+2, r.H-2
	return r
}

// secondsPages opens the two times to their arithmetic.
func (in *Input) secondsPages(title string, rs []*hazard.Route) []Scene {
	f := &flow{in: in, title: title}
	heads := []string{"solid", "dashed"}
	f.words(body, false, "Seconds at the gates, as the lead point (the turning point of the wheel horse) crosses each line. A turn loses what driving its metres at full pace would save.")
	cols := []column{{head: "Gate"}}
	for i := range rs {
		cols = append(cols, column{head: heads[i] + ", s", width: 38, right: true})
	}
	if len(rs) == 2 {
		cols = append(cols, column{head: "dashed later by", width: 48, right: true})
	}
	times := make([]map[string]float64, len(rs))
	var order []string
	for i, r := range rs {
		times[i] = map[string]float64{}
		for _, p := range r.Passes {
			if p.Was == "dead" || !p.Forward {
				continue
			}
			if _, twice := times[i][p.Gate]; !twice {
				times[i][p.Gate] = p.TS
				if i == 0 {
					order = append(order, p.Gate)
				}
			}
		}
	}
	var rows [][]string
	for _, gate := range order {
		row := []string{sayGate(gate)}
		for i := range rs {
			row = append(row, fmt.Sprintf("%.1f", times[i][gate]))
		}
		if len(rs) == 2 {
			row = append(row, fmt.Sprintf("%+.1f", times[1][gate]-times[0][gate]))
		}
		rows = append(rows, row)
	}
	f.table("Seconds at the gates", cols, rows, 6.6)
	for i, r := range rs {
		rows = nil
		for _, t := range r.Turns {
			rows = append(rows, []string{betweenWords(t.Between), t.Hand, fmt.Sprintf("%.0f°", t.Deg), fmt.Sprintf("%.1f", t.LeastRadiusM), fmt.Sprintf("%.1f", t.LostS)})
		}
		if len(rows) == 0 {
			rows = [][]string{{"no turn to speak of", "", "", "", ""}}
		}
		f.table("Turns of the "+heads[i]+" way", []column{{head: "Between"}, {head: "to the", width: 24}, {head: "turned", width: 24, right: true}, {head: "least radius, m", width: 42, right: true}, {head: "loses, s", width: 28, right: true}}, rows, 6.6)
	}
	for i, r := range rs {
		rows = nil
		for _, t := range r.Tight {
			rows = append(rows, []string{sayID(t.Thing), t.Part, centimetres(t.ClearanceM), fmt.Sprintf("%.0f m", t.SM)})
		}
		if len(rows) > 0 {
			f.table("Tightest places of the "+heads[i]+" way", []column{{head: "Beside"}, {head: "which part", width: 42}, {head: "room", width: 24, right: true}, {head: "into the drive", width: 38, right: true}}, rows, 6.6)
		}
	}
	return f.pages
}

// betweenWords writes "in to A" as it stands on the drawing.
func betweenWords(s string) string {
	a, b, ok := strings.Cut(s, " to ")
	if !ok {
		return s
	}
	return sayGate(a) + " to " + sayGate(b)
}

// noWay is the page for a hazard that the turnout cannot drive: the plan, and
// the reason in words.
func (in *Input) noWay(title string) Scene {
	why := "No way was found for " + fit(in.Answer.Turnout, 13, true, 120) + "."
	if r := in.Answer.NoneBecause; r != nil && r.Text != "" {
		why += " " + r.Text
	}
	set := in.set(in.near(nil), func(w float64, _ bool) float64 {
		return tall(why, 13, true, w) + tall(notLooked, body, false, w) + 4
	})
	s, _ := in.heading(title).page(in.Paper, set.wide)
	in.draw(&s, set, false, false, nil, nil)
	r := s.paragraph(set.words, 13, true, why)
	r.Y, r.H = r.Y+2, r.H-2
	s.paragraph(r, body, false, notLooked)
	return s
}
