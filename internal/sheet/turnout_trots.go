package sheet

import (
	"fmt"
	"math"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/turnout"
)

// TrotsInput is the three trots of one horse, and what they rest on.
type TrotsInput struct {
	Horse     string // its name, or the turnout's
	Wanted    [3]gait.Wanted
	Tolerance float64 // half a print, m: what counts as in it
	DiagonalM float64 // hind print forward to the fore print of its diagonal, m
	// Measured is whether the diagonal comes from this horse's own prints, and not
	// from its size.
	Measured bool
}

const prints = "Short of the fore print is slow and beyond it strong by common practice; in it is working by a breed rulebook. How far short and beyond is drawn as twice half a print (estimate)."

const trotCaution = "Nobody is on the strip while a turnout moves. Measure when it has halted away from it, with somebody at the horse's head. A difference between left and right is a measurement; what makes it is for the vet, the farrier or the trainer."

// basis says what the figure of the trots is drawn from.
func (t *TrotsInput) basis() string {
	if t.Measured {
		return fmt.Sprintf("Drawn to %s's own prints: from a hind print forward to the fore print of its diagonal %.2f m, taken as the same in all three (from memory).", t.Horse, t.DiagonalM)
	}
	return fmt.Sprintf("Drawn to the size of %s: from a hind print forward to the fore print of its diagonal %.2f m (estimate). Measure its prints, and the figure is its own.", t.Horse, t.DiagonalM)
}

// trotStrip draws one trot's prints along a strip: mm of paper per metre is
// scale, at is where the strip's middle line begins, and length its length, mm.
// The strip begins at nought; a print is a horseshoe open at the heel, its toe at
// its place.
func (s *Scene) trotStrip(at Pt, length, scale float64, w gait.Wanted, t *TrotsInput) {
	shoe := 2 * t.Tolerance * scale // a print is as long as twice what counts as in it
	half := 0.9 * shoe              // from the middle line to a foot's line
	pens := Style{Line: Black, Width: math.Max(0.3, shoe*0.10)}
	s.add(line(Pt{at.X, at.Y}, Pt{at.X + length, at.Y}, Style{Line: Faint, Width: 0.3, Dash: []float64{3, 2}}))
	over, step := w.OverTrackCM/100, w.StepM
	foot := func(x, y float64, hind bool) {
		px := at.X + x*scale
		if px-shoe < at.X-0.01 || px > at.X+length+0.01 {
			return
		}
		s.add(hoof(Pt{px, y}, shoe, hind, pens))
	}
	// Each side is half a stride from the other; the hind print of a side lies over
	// ahead of the fore print of that side.
	// The first hind print's heel stands at the strip's beginning.
	first := 2*t.Tolerance + math.Max(0, -over)
	for k := 0; ; k++ {
		x := first + float64(k)*step
		if x*scale > length+shoe*6 {
			break
		}
		y := at.Y - half
		if k%2 == 1 {
			y = at.Y + half
		}
		// Beside each other where they would hide each other: the hind a little outside.
		hy := y - 0.28*shoe
		if k%2 == 1 {
			hy = y + 0.28*shoe
		}
		foot(x, y, false)
		foot(x+over, hy, true)
	}
}

// hoof is a print seen from above, its toe at p, going to the right: a fore
// print is an open ring, a hind print a narrower filled one.
func hoof(p Pt, long float64, hind bool, st Style) Path {
	w := 0.46 * long // half its width
	if hind {
		w = 0.38 * long
		st.Fill = Black
	}
	return path(st, func(q *Path) {
		heel := p.X - long
		q.MoveTo(Pt{heel, p.Y - 0.62*w})
		q.CurveTo(Pt{heel + 0.25*long, p.Y - 1.25*w}, Pt{p.X, p.Y - 1.15*w}, p)
		q.CurveTo(Pt{p.X, p.Y + 1.15*w}, Pt{heel + 0.25*long, p.Y + 1.25*w}, Pt{heel, p.Y + 0.62*w})
		if hind {
			q.CurveTo(Pt{heel + 0.5*long, p.Y + 0.5*w}, Pt{heel + 0.5*long, p.Y - 0.5*w}, Pt{heel, p.Y - 0.62*w})
			q.Close()
		}
	})
}

// hindWords says where the hind foot comes down.
func hindWords(w gait.Wanted) string {
	switch {
	case w.OverTrackCM < 0:
		return fmt.Sprintf("hind %.0f cm short of the fore print", -w.OverTrackCM)
	case w.OverTrackCM > 0:
		return fmt.Sprintf("hind %.0f cm beyond the fore print", w.OverTrackCM)
	}
	return "hind in the fore print"
}

// key draws the two kinds of print with their names, from at to the right.
func (s *Scene) trotKey(at Pt, size, letters float64) float64 {
	st := Style{Line: Black, Width: math.Max(0.3, size*0.1)}
	y := at.Y
	s.add(hoof(Pt{at.X + size, y}, size, false, st))
	s.add(Text{At: Pt{at.X + size*1.5, y + capHeight(letters)/2}, Size: letters, Ink: Black, Words: "fore (open)"})
	x := at.X + size*1.5 + measure("fore (open)", letters, false) + size*1.5
	s.add(hoof(Pt{x + size, y}, size, true, st))
	s.add(Text{At: Pt{x + size*1.5, y + capHeight(letters)/2}, Size: letters, Ink: Black, Words: "hind (filled)"})
	return x + size*1.5 + measure("hind (filled)", letters, false)
}

// posterOf is the poster that goes with a paper: four times its size, across.
func posterOf(p Paper) Paper {
	if p.Name == Letter.Name {
		return Paper{"ANSI C", 558.8, 431.8} // 22 × 17 in
	}
	return Paper{"A2", 594, 420}
}

// trotPoster is the figure of the three trots, to be seen from the other side of
// a stable yard.
func trotPoster(in *TurnoutInput) ([]Scene, error) {
	t := in.Trots
	p := posterOf(in.Paper)
	longest := 0.0
	for _, w := range t.Wanted {
		if !(w.StrideM > 0.2) {
			return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-trots", Place: TrotPoster, Message: fmt.Sprintf("a %s trot with a stride of %.2f m cannot be drawn", w.Trot, w.StrideM), Hint: "measure the prints of a working trot"}
		}
		longest = math.Max(longest, w.StrideM)
	}
	s := Scene{Width: p.Width, Height: p.Height, Title: "The three trots: " + t.Horse}
	const m = 22.0
	left, right := m, p.Width-m
	s.add(Text{At: Pt{left, m + 16}, Size: 64, Bold: true, Ink: Black, Words: fit("Three trots: "+t.Horse, 64, true, right-left)})
	s.add(Text{At: Pt{left, m + 30}, Size: 28, Ink: Black, Words: fit(hindSays, 28, false, right-left)})
	end := s.trotKey(Pt{left, m + 42}, 9, 24)
	s.add(Text{At: Pt{end + 14, m + 42 + capHeight(24)/2}, Size: 24, Ink: Black, Words: "they go this way"})
	ax := end + 14 + measure("they go this way", 24, false) + 5
	s.add(line(Pt{ax, m + 42}, Pt{ax + 34, m + 42}, Style{Line: Black, Width: 1}), line(Pt{ax + 28, m + 39}, Pt{ax + 34, m + 42}, Style{Line: Black, Width: 1}), line(Pt{ax + 28, m + 45}, Pt{ax + 34, m + 42}, Style{Line: Black, Width: 1}))
	// One stride of the strongest trot and the prints about it, in a scale that is a
	// multiple of two and a half.
	room := right - left
	one := math.Ceil(1000*(longest+6*t.Tolerance)/room/2.5) * 2.5 // 1 : one
	scale := 1000 / one
	from, to := m+56, p.Height-m-44
	row := (to - from) / 3
	for i, w := range t.Wanted {
		y := from + float64(i)*row
		s.add(line(Pt{left, y}, Pt{right, y}, Style{Line: Grey, Width: 0.4}))
		s.add(Text{At: Pt{left, y + 15}, Size: 40, Bold: true, Ink: Black, Words: w.Trot})
		s.add(Text{At: Pt{right, y + 15}, Size: 26, Anchor: End, Ink: Black, Words: fmt.Sprintf("%s; stride %.2f m", hindWords(w), w.StrideM)})
		my := y + row*0.56
		s.trotStrip(Pt{left, my}, room, scale, w, t)
		// One stride, from a fore print to the next of the same foot.
		x0 := left + (2*t.Tolerance+math.Max(0, -w.OverTrackCM/100))*scale
		x1 := x0 + w.StrideM*scale
		dy := y + row - 7
		s.dimension(Pt{x0, dy}, Pt{x1, dy}, fmt.Sprintf("one stride %.2f m", w.StrideM), 22)
	}
	s.add(line(Pt{left, to}, Pt{right, to}, Style{Line: Grey, Width: 0.4}))
	s.add(line(Pt{left, to + 9}, Pt{left + scale, to + 9}, Style{Line: Black, Width: 2}))
	s.add(Text{At: Pt{left + scale + 4, to + 9 + capHeight(20)/2}, Size: 20, Ink: Black, Words: fmt.Sprintf("1 m; printed at its full size (%s) this is 1 : %g", p.Name, one)})
	r := Rect{left, to + 14, room, 100}
	r = s.paragraph(r, 15, false, t.basis()+" "+prints)
	s.paragraph(r, 15, false, fmt.Sprintf("%s Version %s, printed %s.", trotCaution, orBlank(in.Version), in.PrintedAt.Format("2006-01-02")))
	return []Scene{s}, nil
}

const hindSays = "Look where the hind foot comes down: short of the fore print, in it, or beyond it."

func orBlank(s string) string {
	if s == "" {
		return "____"
	}
	return s
}

// dimension is a length with its words above it, right of the middle, where on a
// strip the other side's prints stand.
func (s *Scene) dimension(a, b Pt, words string, size float64) {
	st := Style{Line: Black, Width: size / 50}
	tick := size / 9
	s.add(line(a, b, st), line(Pt{a.X, a.Y - tick}, Pt{a.X, a.Y + tick}, st), line(Pt{b.X, b.Y - tick}, Pt{b.X, b.Y + tick}, st))
	s.add(Text{At: Pt{a.X + 0.74*(b.X-a.X), a.Y - capHeight(size)*0.45}, Size: size, Anchor: Middle, Ink: Black, Words: words})
}

// trotLesson is the sheet for a lesson: how to rake and tape, the figure, and
// the record to fill in.
func trotLesson(in *TurnoutInput) []Scene {
	t := in.Trots
	s, r := in.heading("Trot lesson", t.Horse, in.Turnout.Name).page(in.Paper, false)
	r = s.paragraph(r, body, true, trotCaution)
	r.Y += 1
	for i, w := range []string{
		"Rake a level strip of sand, straight, some 30 m long. Settle the trot before it, keep it through.",
		"Lay the tape along it. Read each toe edge in metres, foot by foot: LF, RF, LH, RH. Mark hind prints as they come; they hide the fore ones.",
		"Each hind print against the fore print of its own side: − short of it, 0 in it, + beyond. Eight strides or more; more where they differ.",
	} {
		s.add(Text{At: Pt{r.X, r.Y + capHeight(body) + 0.6}, Size: body, Bold: true, Ink: Black, Words: fmt.Sprint(i + 1)})
		in := s.paragraph(Rect{r.X + 6, r.Y, r.W - 6, r.H}, body, false, w)
		r.Y, r.H = in.Y, in.H
	}
	r.Y += 1.5
	longest := t.Wanted[2].StrideM
	scale := (r.W - 44) / (1.9 * longest)
	for _, w := range t.Wanted {
		s.add(Text{At: Pt{r.X, r.Y + 5}, Size: 13, Bold: true, Ink: Black, Words: w.Trot})
		s.add(Text{At: Pt{r.X, r.Y + 11}, Size: body, Ink: Black, Words: fmt.Sprintf("stride %.2f m", w.StrideM)})
		s.trotStrip(Pt{r.X + 40, r.Y + 7.2}, r.W-44, scale, w, t)
		r.Y += 16
	}
	s.trotKey(Pt{r.X, r.Y + 2}, 4, body)
	s.add(Text{At: Pt{r.X + r.W, r.Y + 2 + capHeight(body)/2}, Size: body, Anchor: End, Ink: Black, Words: "they go to the right"})
	r.Y += 6
	b := s.paragraph(Rect{r.X, r.Y, r.W, 60}, body, false, t.basis())
	r.Y = b.Y + 1
	foot := in.Paper.Height - 2*margin - footHeight + 10
	s.add(line(Pt{r.X, r.Y}, Pt{r.X + r.W, r.Y}, Style{Line: Black, Width: 0.5}))
	const field = 8.8 // mm from line to line to write on
	y := r.Y + field
	for _, row := range [][]string{{"Horse", "Driver"}, {"Sand, raked deep", "Wind, weather"}, {"Straight, or circle of", "Aids"}} {
		s.field(Pt{r.X, y}, r.X+r.W/2-3, row[0])
		s.field(Pt{r.X + r.W/2, y}, r.X+r.W, row[1])
		y += field
	}
	y -= 4
	// The record: strides in columns, left and right in rows.
	const strides = 10
	head := 34.0
	cell := (r.W - head) / strides
	below := 3*field + 3
	rows := []string{"stride", "left, cm", "right, cm", "print, cm"}
	tallRow := math.Min(12, (foot-below-y)/float64(len(rows)))
	for k, name := range rows {
		ry := y + float64(k)*tallRow
		s.add(box(Rect{r.X, ry, r.W, tallRow}, Style{Line: Black, Width: 0.25}))
		s.add(Text{At: Pt{r.X + 1.5, ry + tallRow/2 + capHeight(body)/2}, Size: body, Bold: k == 0, Ink: Black, Words: name})
		for c := range strides {
			x := r.X + head + float64(c)*cell
			s.add(line(Pt{x, ry}, Pt{x, ry + tallRow}, Style{Line: Grey, Width: 0.2}))
			if k == 0 {
				s.add(Text{At: Pt{x + cell/2, ry + tallRow/2 + capHeight(body)/2}, Size: body, Bold: true, Anchor: Middle, Ink: Black, Words: fmt.Sprint(c + 1)})
			}
		}
	}
	y += float64(len(rows))*tallRow + field
	third := r.W / 3
	for _, row := range [][]string{{"Left, mean", "Right, mean", "Stride, m"}, {"Metres timed", "Seconds", "Beats counted"}, {"Trot by the teacher", "Trot by the prints", "Remarks"}} {
		for k, name := range row {
			s.field(Pt{r.X + float64(k)*third, y}, r.X+float64(k+1)*third-2, name)
		}
		y += field
	}
	return []Scene{s}
}

// TrotsOf is the input of a turnout's trot papers: from its prints where own is
// an answer of package gait with a diagonal, else from the size of its horse.
func TrotsOf(t *turnout.Turnout, own *gait.Trot) *TrotsInput {
	in := &TrotsInput{Horse: t.Name, Tolerance: gait.ToleranceOf(t.Size), DiagonalM: gait.DiagonalLike(gait.LegOf(t.Size))}
	if l, ok := t.Extra["horses"].([]any); ok && len(l) > 0 {
		if m, ok := l[0].(map[string]any); ok {
			if n, ok := m["name"].(string); ok && n != "" {
				in.Horse = n
			}
		}
	}
	if own != nil && own.DiagonalM != nil {
		in.DiagonalM, in.Tolerance, in.Measured = *own.DiagonalM, own.ToleranceCM/100, true
	}
	in.Wanted = gait.ThreeTrots(in.DiagonalM, in.Tolerance)
	return in
}
