package sheet

import (
	"slices"
	"strings"

	"terret/internal/plan"
)

// entry is one line of the key: a sign and what it means.
type entry struct {
	sign  func(c Pt) []Item
	words string
}

// key lists what is on the drawing, and nothing else.
func (in *Input) key() []entry {
	all := []entry{
		{func(c Pt) []Item { return redSign(c, signSize) }, "Red, square on its corner, R: on your right"},
		{func(c Pt) []Item { return whiteSign(c, signSize) }, "White, round, L: on your left"},
		{func(c Pt) []Item { return arrow(Pt{c.X - 5, c.Y}, Pt{c.X + 5, c.Y}, true) }, "Way through the gate"},
	}
	if in.Course != nil && slices.ContainsFunc(in.openings(), func(o opening) bool { return o.only != "" }) {
		all = append(all, entry{func(c Pt) []Item { return []Item{disc(c, 1, fill)} }, "One cone alone: R stays on your right, L on your left"})
	}
	for _, o := range in.openings() {
		if !o.live {
			all = append(all, entry{func(c Pt) []Item {
				return []Item{line(Pt{c.X - 5, c.Y}, Pt{c.X + 5, c.Y}, Style{Line: Black, Width: 0.4, Dash: []float64{0.3, 1.2}})}
			}, "Dotted gate: not in play here"})
			break
		}
	}
	has := map[string]bool{}
	var other []string
	for _, t := range in.Plan.Things {
		switch {
		case len(t.Outline) > 0 && t.Drivable:
			has["open"] = true
		case len(t.Outline) > 0:
			has["shut"] = true
		case len(t.Path) > 0:
			has["rail"] = true
		case t.Kind == plan.Tree:
			has["tree"] = true
		default:
			has["post"] = true
			if t.Kind != plan.Post && !slices.Contains(other, t.Kind) {
				other = append(other, t.Kind)
			}
		}
	}
	if has["post"] {
		words := "Post"
		if len(other) > 0 {
			slices.Sort(other)
			words = fit("Post, "+strings.Join(other, ", "), body, false, 100)
		}
		all = append(all, entry{func(c Pt) []Item { return []Item{disc(c, 1, fill)} }, words})
	}
	if has["rail"] {
		all = append(all, entry{func(c Pt) []Item {
			a, b := Pt{c.X - 5, c.Y}, Pt{c.X + 5, c.Y}
			return []Item{line(a, b, Style{Line: Black, Width: 1.4}), line(a, b, Style{Line: White, Width: 0.8})}
		}, "Rail"})
	}
	if has["tree"] {
		all = append(all, entry{func(c Pt) []Item {
			return []Item{disc(c, 2.4, Style{Line: Black, Width: 0.25, Dash: []float64{0.6, 0.9}}), disc(c, 0.9, fill)}
		}, "Tree"})
	}
	area := func(drivable bool) func(c Pt) []Item {
		return func(c Pt) []Item {
			var s Scene
			r := Rect{c.X - 5, c.Y - 2.5, 10, 5}
			pts := []Pt{{r.X, r.Y}, {r.X + r.W, r.Y}, {r.X + r.W, r.Y + r.H}, {r.X, r.Y + r.H}}
			st := pen
			if drivable {
				st.Dash = []float64{2, 1.4}
			} else {
				(&ground{scene: &s, view: view{frame: r}}).hatch(pts)
			}
			s.add(path(st, func(p *Path) { p.way(pts, true) }))
			return s.Items
		}
	}
	if has["shut"] {
		all = append(all, entry{area(false), "Not to be driven"})
	}
	if has["open"] {
		all = append(all, entry{area(true), "May be driven"})
	}
	return all
}

const keySign = 14.0 // mm of a key line that the sign takes

// keyColumnsFor is in how many columns a key of a width is written.
func keyColumnsFor(width float64) int { return max(1, int(width/88)) }

// keyTall is how high the key is in n columns of a width.
func keyTall(k []entry, width float64, n int) float64 {
	cols := keyColumns(k, n)
	var h float64
	for _, c := range cols {
		var one float64
		for _, e := range c {
			one += keyStep(e, width/float64(n))
		}
		h = max(h, one)
	}
	return h
}

func keyStep(e entry, width float64) float64 {
	return max(8.6, tall(e.words, body, false, width-keySign-2)+1)
}

// keyColumns deals the lines out over n columns in reading order.
func keyColumns(k []entry, n int) [][]entry {
	per := (len(k) + n - 1) / n
	var cols [][]entry
	for len(k) > 0 {
		m := min(per, len(k))
		cols = append(cols, k[:m])
		k = k[m:]
	}
	return cols
}

// writeKey writes the key and gives what is left below it.
func (s *Scene) writeKey(r Rect, k []entry, n int) Rect {
	w := r.W / float64(n)
	for i, col := range keyColumns(k, n) {
		y := r.Y
		for _, e := range col {
			step := keyStep(e, w)
			x := r.X + float64(i)*w
			s.add(e.sign(Pt{x + 5.5, y + step/2})...)
			lines := wrap(e.words, body, false, w-keySign-2)
			ty := y + step/2 - float64(len(lines)-1)*lineStep(body)/2 + capHeight(body)/2
			for _, l := range lines {
				s.add(Text{At: Pt{x + keySign, ty}, Size: body, Ink: Black, Words: l})
				ty += lineStep(body)
			}
			y += step
		}
	}
	h := keyTall(k, r.W, n)
	return Rect{r.X, r.Y + h, r.W, r.H - h}
}
