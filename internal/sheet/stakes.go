package sheet

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"terret/internal/survey"
)

// How a list of stakes is worked, in the words of package survey's order.
const (
	stakeWay     = "One holds the tape at P, the other scratches an arc at every point, last to first. Then the tape goes to Q: in the order of the list each point is set where its arcs cross. Last tape the checks together: one shows a slip, two show which tape it is in."
	stakeCaution = "Look for pipes and cables before a peg goes in (common practice); whoever answers for the ground decides. Not looked at: slope, sag of the tape, what stands between."
)

// stakeList draws the points with their pegs, then lists each with both tapes,
// baseline and offset, and its checks, with a box for each tape as it is built.
func stakeList(in *Input) ([]Scene, error) {
	const title = "Setting-out list"
	l := in.Stakes
	var says []string
	var further [][]string
	for i, p := range l.Pegs {
		if i >= 2 {
			further = append(further, []string{p.Name, coordinate(p.At.X), coordinate(p.At.Y), whyWords(p)})
			continue
		}
		says = append(says, fmt.Sprintf("Peg %s: %s east, %s north; %s.", p.Name, coordinate(p.At.X), coordinate(p.At.Y), whyWords(p)))
	}
	says = append(says, fmt.Sprintf("P to Q: %s m. Along is from P towards Q, minus behind P; off is square to that, left or right as you look to Q.", coordinate(l.Baseline)))
	if len(further) > 0 {
		says = append(says, "Further pegs are on page 2, for points that P and Q serve badly.")
	}
	how := stakeWay
	if l.Track != nil {
		how += fmt.Sprintf(" Cones are for a track of %.0f cm: the crew sets each gap anew, evenly about the middle.", *l.Track)
	}
	caution := stakeCaution
	if in.Hazard != nil {
		caution = driving + " " + stakeCaution
	}
	set := in.set(in.near(nil), func(w float64, _ bool) float64 {
		h := tall(how, body, false, w) + tall(caution, body, false, w) + 5
		for _, s := range says {
			h += tall(s, 13, true, w)
		}
		return h
	})
	s, _ := in.heading(title).page(in.Paper, set.wide)
	in.draw(&s, set, false, false, func(g *ground) { g.baseline(l) }, func(g *ground) {
		if l.Arena != nil {
			g.letters(l.Arena)
		}
		g.pegs(l)
	})
	r := set.words
	for _, w := range says {
		r = s.paragraph(r, 13, true, w)
	}
	r.Y, r.H = r.Y+1.5, r.H-1.5
	r = s.paragraph(r, body, false, how)
	r.Y, r.H = r.Y+1.5, r.H-1.5
	s.paragraph(r, body, false, caution)

	f := &flow{in: in, title: title}
	f.turn()
	if len(further) > 0 {
		f.table("Further pegs", []column{{head: "Peg", width: 16}, {head: "east, m", width: 27, right: true}, {head: "north, m", width: 27, right: true}, {head: "where it is, and why"}}, further, 9)
	}
	f.stakes(l)
	f.need(20)
	f.words(body, false, "Set by ______________________  Checked by ______________________")
	f.words(body, false, "Tapes used ______________________  Date and time ______________________")
	return append([]Scene{s}, f.pages...), nil
}

// whyWords says where a peg is and why, with points' ids as people say them.
func whyWords(p survey.Peg) string {
	return strings.NewReplacer("letter.", "letter ", "corner.", "corner ", ".right stands", " red (R) stands", ".left stands", " white (L) stands").Replace(p.Why)
}

// baseline draws the line from P to Q.
func (g *ground) baseline(l *survey.StakeList) {
	if len(l.Pegs) < 2 {
		return
	}
	a, b := g.view.at(l.Pegs[0].At), g.view.at(l.Pegs[1].At)
	g.scene.add(line(a, b, Style{Line: Black, Width: 0.35, Dash: []float64{5, 1.5, 0.5, 1.5}}))
	g.room.line(a, b, 0.4, 0.2)
}

// pegs draws the pegs as triangles with their letters.
func (g *ground) pegs(l *survey.StakeList) {
	for _, p := range l.Pegs {
		q := g.view.at(p.At)
		if !g.view.frame.has(q) {
			continue
		}
		g.scene.add(path(fill, func(t *Path) { t.way([]Pt{{q.X, q.Y - 2.4}, {q.X + 2.2, q.Y + 1.4}, {q.X - 2.2, q.Y + 1.4}}, true) }))
		g.room.disc(q, 2.4, 1)
		w, h := measure(p.Name, 16, true)+1.5, capHeight(16)+1.6
		cand := around(q, 3, w, h, 0, 2, 5, 9)
		i, _ := g.room.best(cand)
		b := cand[i]
		g.scene.add(box(b, Style{Fill: White}))
		g.scene.add(Text{At: Pt{b.X + b.W/2, b.Y + b.H - 0.8}, Size: 16, Bold: true, Anchor: Middle, Ink: Black, Words: p.Name})
		g.room.box(b, 2)
	}
}

// letters draws the letters of an arena in rings, those on the ground with a dot
// at their place.
func (g *ground) letters(a *survey.ArenaSite) {
	const pt = 13.0
	mid := g.view.at(g.view.mid)
	pts := g.view.all(arenaOf(a))
	if len(pts) > 0 {
		mid = Pt{}
		for _, p := range pts {
			mid.X, mid.Y = mid.X+p.X/float64(len(pts)), mid.Y+p.Y/float64(len(pts))
		}
	}
	for _, l := range a.Letters {
		q := g.view.at(geomAt(l.X, l.Y))
		c := q
		if l.Side != "centre line" {
			g.scene.add(disc(q, 0.9, fill))
			out := q.Sub(mid)
			switch l.Side {
			case "left", "right": // square off the long side
				along := g.view.at(geomAt(a.Letters[0].X, a.Letters[0].Y)).Sub(mid).unit()
				k := out.X*along.X + out.Y*along.Y
				out = out.Along(along, -k)
			}
			c = q.Along(out.unit(), 5.4)
		}
		st := Style{Fill: White, Line: Black, Width: 0.4}
		if l.Side == "centre line" {
			st.Width, st.Dash = 0.3, []float64{0.8, 0.8}
		}
		g.scene.add(disc(c, 3.6, st))
		g.scene.add(Text{At: Pt{c.X, c.Y + capHeight(pt)/2}, Size: pt, Bold: true, Anchor: Middle, Ink: Black, Words: l.Letter})
		g.room.disc(c, 3.8, 2)
	}
}

// Columns of a stake's row, mm from its left end; the last runs to the right end.
const (
	stakeName  = 14.0
	stakeFirst = 48.0
	stakeNext  = 77.0
	stakeAlong = 106.0
	stakeCheck = 129.0
	stakeTall  = 19.0
)

// stakeHead writes the head of the list.
func (f *flow) stakeHead() {
	s := f.page()
	y := f.left.Y + capHeight(body) + 2
	for _, c := range []struct {
		x    float64
		says string
	}{{0, "No."}, {stakeName, "Point"}, {stakeFirst, "first tape"}, {stakeNext, "second tape"}, {stakeAlong, "along, off"}, {stakeCheck, "checks, as built"}} {
		s.add(Text{At: Pt{f.left.X + c.x, y}, Size: body, Bold: true, Ink: Black, Words: c.says})
	}
	f.gap(7.5)
	s.add(line(Pt{f.left.X, f.left.Y}, Pt{f.left.X + f.left.W, f.left.Y}, pen))
}

// stakes writes the list, a row for each point.
func (f *flow) stakes(l *survey.StakeList) {
	f.stakeHead()
	for i := range l.Stakes {
		st := &l.Stakes[i]
		warn := stakeWarning(st, l.Tape)
		h := stakeTall
		if warn != "" {
			h += tall(warn, body, true, f.left.W-stakeName-4) + 1
		}
		if f.left.H < h {
			f.turn()
			f.stakeHead()
		}
		f.stake(st, l, warn, h)
	}
	f.gap(4)
}

// sideOf tells a marker's gate and side in its id: "7.left" is 7, left.
func sideOf(id string) (gate, side string) {
	gate, side, _ = strings.Cut(id, ".")
	if side == "right" || side == "left" {
		return gate, side
	}
	return id, ""
}

// wovenSide tells which side of the driver a woven cone is on, by its id: "6a.cone"
// is 6a, right. "" is no woven cone.
func (in *Input) wovenSide(id string) (gate, side string) {
	gate, woven := strings.CutSuffix(id, ".cone")
	if !woven || in.Course == nil {
		return "", ""
	}
	for i := range in.Course.Gates {
		if g := &in.Course.Gates[i]; g.Cone != nil && g.String() == gate {
			return gate, g.Pass
		}
	}
	return "", ""
}

// stakeSays is a point's id in words: "7.left" is "7 L".
func stakeSays(id string) string {
	gate, side := sideOf(id)
	switch side {
	case "right":
		return capital(gate) + " R"
	case "left":
		return capital(gate) + " L"
	}
	if c, ok := strings.CutPrefix(id, "corner."); ok {
		return "corner " + c
	}
	if c, ok := strings.CutPrefix(id, "letter."); ok {
		return "letter " + c
	}
	if c, ok := strings.CutSuffix(id, ".cone"); ok {
		return c
	}
	return id
}

// stakeWarning says what is weak about a point's fix; "" is nothing. The limits
// are those of package survey: flatter than 30° is weak, under 20° none.
func stakeWarning(s *survey.Stake, tape float64) string {
	switch {
	case s.Fix() < 20:
		return fmt.Sprintf("NO FIX: the arcs cross at %.0f° only. Set it by along and off, or name other pegs.", s.Fix())
	case s.Fix() < 30:
		return fmt.Sprintf("WEAK: the arcs cross at %.0f°. Pull both tapes hard, and check it by along and off.", s.Fix())
	case s.Beyond && s.Instead == nil:
		return fmt.Sprintf("Longer than the %.0f m tape: put a peg in line on the way.", tape)
	}
	return ""
}

// stake writes one row.
func (f *flow) stake(st *survey.Stake, l *survey.StakeList, warn string, h float64) {
	s, x, y := f.page(), f.left.X, f.left.Y
	text := func(at Pt, size float64, bold bool, words string, width float64) {
		s.add(Text{At: at, Size: size, Bold: bold, Ink: Black, Words: fit(words, size, bold, width)})
	}
	built := func(r Rect) { s.add(box(r, Style{Line: Black, Width: 0.3})) }
	const top, low = 7.0, 15.6 // base lines of the two lines of a row
	text(Pt{x, y + top}, 16, true, fmt.Sprint(st.Order), stakeName-2)
	built(Rect{x, y + 10, 6, 6})

	name, width := stakeSays(st.ID), stakeFirst-stakeName-2
	gate, side := sideOf(st.ID)
	if woven, pass := f.in.wovenSide(st.ID); pass != "" {
		gate, side = woven, pass
	}
	if side != "" {
		name = capital(gate)
		c := Pt{x + stakeName + min(measure(name, 16, true), width-10) + 6, y + 5}
		if side == "right" {
			s.add(redSign(c, signSize)...)
		} else {
			s.add(whiteSign(c, signSize)...)
		}
		width -= 10
	}
	text(Pt{x + stakeName, y + top}, 16, true, name, width)
	what := st.What
	if len(st.Also) > 0 {
		var also []string
		for _, a := range st.Also {
			also = append(also, stakeSays(a))
		}
		what += ", also " + strings.Join(also, ", ")
	}
	for i, w := range wrap(what, body, false, stakeFirst-stakeName-2) {
		if i == 2 {
			break
		}
		text(Pt{x + stakeName, y + 12.4 + 4.9*float64(i)}, body, false, w, stakeFirst-stakeName-1)
	}

	peg := slices.ContainsFunc(l.Pegs, func(p survey.Peg) bool { return p.At.Dist(geomAt(st.X, st.Y)) < 0.01 })
	tapes := st.Tapes
	if st.Instead != nil {
		tapes = st.Instead.Tapes
	}
	if peg {
		text(Pt{x + stakeFirst, y + top}, 13, true, "a peg stands here", stakeCheck-stakeFirst)
	} else {
		for i, p := range slices.Sorted(maps.Keys(tapes)) {
			if i > 1 {
				break
			}
			at := x + []float64{stakeFirst, stakeNext}[i]
			text(Pt{at, y + top}, body, false, p, 5)
			s.add(Text{At: Pt{at + 26, y + top}, Size: 16, Bold: true, Anchor: End, Ink: Black, Words: coordinate(tapes[p])})
			built(Rect{at, y + 10, 26, 7})
		}
		side := map[string]string{"left": "left", "right": "right"}[st.Side]
		text(Pt{x + stakeAlong, y + top}, body, false, coordinate(st.Along), 22)
		text(Pt{x + stakeAlong, y + low - 1}, body, false, strings.TrimSpace(coordinate(math.Abs(st.Offset))+" "+side), 23)
		for i, c := range []*survey.StakeCheck{st.Check, st.Second} {
			if c == nil {
				continue
			}
			base := y + 6.4 + 8.6*float64(i)
			wide := f.left.W - stakeCheck
			text(Pt{x + stakeCheck, base}, body, false, stakeSays(c.To), wide-34)
			s.add(Text{At: Pt{x + stakeCheck + wide - 21, base}, Size: 13, Bold: true, Anchor: End, Ink: Black, Words: coordinate(c.M)})
			built(Rect{x + stakeCheck + wide - 19.5, base - 5.4, 19, 7})
		}
	}
	if warn != "" {
		w := tall(warn, body, true, f.left.W-stakeName-4)
		s.add(box(Rect{x + stakeName, y + stakeTall, 1.2, w}, fill))
		s.paragraph(Rect{x + stakeName + 3, y + stakeTall, f.left.W - stakeName - 4, w + 1}, body, true, warn)
	}
	s.add(line(Pt{x, y + h}, Pt{x + f.left.W, y + h}, Style{Line: Grey, Width: 0.2}))
	f.gap(h)
}
