package sheet

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
)

// form writes one side of a sheet that is filled in by hand, from the top
// downwards: boxes large enough for a wet pencil.
type form struct {
	in *DayInput
	s  *Scene
	r  Rect // room that is left
}

func (f *form) gap(h float64) { f.r.Y, f.r.H = f.r.Y+h, f.r.H-h }

func (f *form) words(size float64, bold bool, words string) {
	f.r = f.s.paragraph(f.r, size, bold, words)
	f.gap(1)
}

// text writes one line with its left end at x, shortened to a width.
func (f *form) text(x, y, size float64, bold bool, width float64, words string) {
	if words != "" {
		f.s.add(Text{At: Pt{x, y}, Size: size, Bold: bold, Ink: Black, Words: fit(words, size, bold, width)})
	}
}

// lines writes rows of names with a line to write on behind each.
func (f *form) lines(rows ...[]string) {
	for _, row := range rows {
		f.gap(9)
		w := f.r.W / float64(len(row))
		for i, name := range row {
			x := f.r.X + float64(i)*w
			f.s.field(Pt{x, f.r.Y}, x+w-3, name)
		}
	}
	f.gap(3)
}

// area is a frame to write in, with its name above.
func (f *form) area(name string, h float64) Rect {
	h = max(h, 6)
	f.words(body, true, name)
	r := Rect{f.r.X, f.r.Y, f.r.W, h}
	f.s.add(box(r, pen))
	f.gap(h + 2)
	return r
}

// cell is one box of a form with its name inside at the top, and what was
// written, large, where it is filled in.
func (f *form) cell(r Rect, name, value string) {
	f.s.add(box(r, pen))
	f.text(r.X+1, r.Y+capHeight(body)+1, body, false, r.W-2, name)
	if value == "" {
		return
	}
	size := 20.0
	for size > body && measure(value, size, true) > r.W-2 {
		size--
	}
	f.s.add(Text{At: Pt{r.X + r.W/2, r.Y + r.H - 2.2}, Size: size, Bold: true, Anchor: Middle, Ink: Black, Words: fit(value, size, true, r.W-1)})
}

// cells is a row of boxes of equal width.
func (f *form) cells(h float64, names, values []string) {
	w := f.r.W / float64(len(names))
	for i, n := range names {
		v := ""
		if i < len(values) {
			v = values[i]
		}
		f.cell(Rect{f.r.X + float64(i)*w, f.r.Y, w, h}, n, v)
	}
	f.gap(h)
}

const whoTall = 21.0

// who is the head of a sheet of one run: the number large, who and what drives;
// lines to write on where e is nil. right is what else stands there, a line each.
func (f *form) who(e *trial.Entry, right []string) {
	r := Rect{f.r.X, f.r.Y, 32, whoTall}
	f.s.add(box(r, Style{Line: Black, Width: 0.7}))
	f.text(r.X+1, r.Y+capHeight(body)+1, body, false, 30, "no.")
	x, w := r.X+36, f.r.W-36
	if len(right) > 0 {
		w -= 62
	}
	if e != nil {
		f.s.add(Text{At: Pt{r.X + r.W/2, r.Y + whoTall - 3.4}, Size: 38, Bold: true, Anchor: Middle, Ink: Black, Words: fit(fmt.Sprint(e.Number), 38, true, 31)})
		f.text(x, r.Y+6, 17, true, w, e.Driver)
		what := f.in.hitchOf(e)
		if e.Vehicle != "" {
			what += ", " + e.Vehicle
		}
		grooms := ""
		switch len(e.Grooms) {
		case 0:
			grooms = "no groom"
		case 1:
			grooms = "1 groom"
		default:
			grooms = fmt.Sprintf("%d grooms", len(e.Grooms))
		}
		f.text(x, r.Y+12.5, 13, false, w, capital(what)+"; "+grooms)
		f.text(x, r.Y+19, 13, false, w, strings.Join(e.Horses, ", "))
	} else {
		for i, n := range []string{"driver", "kind, grooms", "horses"} {
			f.s.field(Pt{x, r.Y + 5.5 + float64(i)*7}, x+w-3, n)
		}
	}
	for i, l := range right {
		rx := f.r.X + f.r.W - 60
		y := r.Y + 6 + float64(i)*6.6
		if name, blank := strings.CutSuffix(l, "_"); blank {
			f.s.field(Pt{rx, y}, f.r.X+f.r.W, name)
		} else {
			f.text(rx, y, 13, i == 0, 60, l)
		}
	}
	f.gap(whoTall + 2)
}

// watches are the two watches of a run and which of them counts.
func (f *form) watches(s *trial.Sheet) {
	const h = 15.5
	one, two := "", ""
	if s != nil {
		one, two = s.Seconds, s.Backup
	}
	w := f.r.W / 3
	for i, k := range []struct{ name, value string }{{"watch 1:  min : s . 1/100", one}, {"watch 2:  min : s . 1/100", two}} {
		b := Rect{f.r.X + float64(i)*w, f.r.Y, w, h}
		f.cell(b, k.name, secondsOf(k.value))
		if s == nil {
			f.text(b.X+0.3*w, b.Y+h-2.5, 20, true, 5, ":")
			f.text(b.X+0.64*w, b.Y+h-2.5, 20, true, 5, ".")
		}
	}
	r := Rect{f.r.X + 2*w, f.r.Y, w, h}
	f.s.add(box(r, pen))
	f.text(r.X+1, r.Y+capHeight(body)+1, body, false, w-2, "counts:   1    2    why:")
	f.text(r.X+1, r.Y+h-1.6, body, false, w-2, "Rule: "+f.in.Rules.Get("score.watches").Value+memoryMark(f.in.Rules.Get("score.watches")))
	f.gap(h + 1.5)
}

// secondsOf writes "79.34 s" and, from a minute on, as a watch shows it.
func secondsOf(s string) string {
	if s == "" {
		return ""
	}
	if m := minutesOf(s); m != s+" s" {
		return m
	}
	return s + " s"
}

// minutesOf writes seconds as people read a watch: "1 min 19.34 s".
func minutesOf(s string) string {
	v, ok := rules.Decimal(s)
	if !ok {
		return s
	}
	sixty := big.NewRat(60, 1)
	if v.Cmp(sixty) < 0 {
		return s + " s"
	}
	q := new(big.Rat).Quo(v, sixty)
	m := new(big.Int).Quo(q.Num(), q.Denom())
	rest := new(big.Rat).Sub(v, new(big.Rat).Mul(new(big.Rat).SetInt(m), sixty))
	places := 0
	if _, behind, ok := strings.Cut(s, "."); ok {
		places = len(behind)
	}
	left := rest.FloatString(places)
	if left == "0" {
		return m.String() + " min"
	}
	return m.String() + " min " + left + " s"
}

// priceWords is what faults of one kind cost: "5 each", "5, then 10, then out".
func priceWords(p *rules.Profile, key string) string {
	k := rules.KeyTable()[key]
	v := p.Get(key)
	words := ""
	if k.Kind != rules.KindLadder {
		words = v.Value + " each"
	} else {
		l := p.Ladder(key)
		switch {
		case l.Word != "":
			words = l.Word
		case len(l.Steps) == 0:
			words = "out"
		case l.Eliminated:
			words = strings.Join(l.Steps, ", ") + ", out"
		case len(l.Steps) == 1:
			words = l.Steps[0] + " each"
		case len(l.Steps) == 2 && l.Steps[1] == "0":
			words = l.Steps[0] + " once"
		default:
			words = strings.Join(l.Steps, ", ")
		}
	}
	if v.Confidence == rules.FromMemory {
		words += " *"
	}
	return words
}

// faultLine is one fault of a phase with its price.
type faultLine struct {
	name, says, price string
	out               bool // the first one ends the run
	memory            bool
}

// faultLines lists the faults that a profile prices in a phase, those first that end
// nothing, for they are counted. Those that cost nothing are left out.
func faultLines(p *rules.Profile, phase string, besides ...string) []faultLine {
	var counted, out []faultLine
	table := rules.KeyTable()
	for _, name := range rules.FaultNames(phase) {
		key := rules.KeyOf(phase, name)
		if phase == rules.Hazards && name == "course_error" {
			key = rules.CorrectedError
		}
		if phase == rules.Cones && name == "rebuilt" {
			key = "cones.rebuilt_s"
		}
		v, there := p.Values[key]
		if !there || strings.Contains(" "+strings.Join(besides, " ")+" ", " "+name+" ") {
			continue
		}
		l := faultLine{name: name, says: table[key].Says, price: priceWords(p, key), memory: v.Confidence == rules.FromMemory}
		if name == "rebuilt" {
			l.says, l.price = "rebuilt, still to come", v.Value+" s each"
			if l.memory {
				l.price += " *"
			}
		}
		if table[key].Kind == rules.KindLadder {
			q := p.Ladder(key)
			l.out = len(q.Steps) == 0 && q.Word == ""
			if len(q.Steps) == 1 && !q.Eliminated && q.Steps[0] == "0" {
				continue
			}
		}
		if l.out {
			out = append(out, l)
		} else {
			counted = append(counted, l)
		}
	}
	return append(counted, out...)
}

const (
	faultTall = 7.2
	countBox  = 15.0
	ringWords = "Ends the run: tick it, and write when and where under remarks."
)

// countable are the faults that have a number, ends those whose first ends the run.
func countable(all []faultLine) (count, ends []faultLine) {
	for i, l := range all {
		if l.out {
			return all[:i], all[i:]
		}
	}
	return all, nil
}

// faultsTall is how high faults comes out: drawn on a page that is thrown away.
func (f *form) faultsTall(all []faultLine, sh *trial.Sheet) float64 {
	try := form{in: f.in, s: &Scene{}, r: Rect{0, 0, f.r.W, 1000}}
	try.faults(all, sh)
	return try.r.Y
}

// priceRoom is what the prices take.
func priceRoom(all []faultLine) float64 {
	w := 0.0
	for _, l := range all {
		w = max(w, measure(l.price, body, true))
	}
	return w
}

func faultRow(l faultLine, w, price float64) float64 {
	return max(faultTall, tall(l.says, body, false, w-countBox-price-4)+1.6)
}

// faults writes the faults in two columns: how many, what, what each costs. Those
// that end the run stand under them, to be ringed.
func (f *form) faults(all []faultLine, s *trial.Sheet) {
	if s != nil && s.Out != "" {
		f.words(body, true, fit("Eliminated by the judge: "+s.Out, body, true, f.r.W))
	}
	if s != nil { // as filled: what is on the sheet, and nothing else
		all = slices.DeleteFunc(slices.Clone(all), func(l faultLine) bool { return s.Faults[l.name] == 0 })
		if len(all) == 0 {
			f.words(body, true, "No fault is on the sheet.")
			return
		}
		f.words(body, true, "Faults on the sheet.")
	} else {
		f.words(body, true, "How many of each. What is not listed goes under remarks, in words.")
	}
	count, ends := countable(all)
	w, price := f.r.W/2-2, priceRoom(count)
	top := f.r.Y
	var low [2]float64
	for i, l := range count {
		side := 2 * i / len(count)
		x, y := f.r.X+float64(side)*(w+4), top+low[side]
		h := faultRow(l, w, price)
		f.s.add(box(Rect{x, y, countBox, h}, pen))
		if s != nil && s.Faults[l.name] > 0 {
			f.s.add(Text{At: Pt{x + countBox/2, y + h/2 + capHeight(16)/2}, Size: 16, Bold: true, Anchor: Middle, Ink: Black, Words: fmt.Sprint(s.Faults[l.name])})
		}
		lines := wrap(l.says, body, false, w-countBox-price-4)
		ty := y + h/2 - float64(len(lines)-1)*lineStep(body)/2 + capHeight(body)/2
		for _, t := range lines {
			f.s.add(Text{At: Pt{x + countBox + 1.5, ty}, Size: body, Ink: Black, Words: t})
			ty += lineStep(body)
		}
		f.s.add(Text{At: Pt{x + w, y + h/2 + capHeight(body)/2}, Size: body, Bold: true, Anchor: End, Ink: Black, Words: l.price})
		f.s.add(line(Pt{x + countBox, y + h}, Pt{x + w, y + h}, Style{Line: Grey, Width: 0.2}))
		low[side] += h
	}
	f.gap(max(low[0], low[1]) + 1.5)
	if len(ends) > 0 {
		if s == nil {
			f.r = f.s.paragraph(f.r, body, true, ringWords)
		} else {
			f.r = f.s.paragraph(f.r, body, true, "Ended the run:")
		}
		for _, l := range f.ends(ends) {
			f.s.add(l...)
		}
		f.gap(1)
	}
	var says []string
	if slices.ContainsFunc(all, func(l faultLine) bool { return l.memory }) {
		says = append(says, "* from memory, never looked up: check it.")
	}
	if slices.ContainsFunc(all, func(l faultLine) bool { return strings.HasSuffix(strings.TrimSuffix(l.price, " *"), ", out") }) {
		says = append(says, "out: eliminated.")
	}
	if len(says) > 0 {
		f.words(body, false, strings.Join(says, "  "))
	}
}

// ends lays out what ends a run, each with a small box, as many to a line as there
// is room for.
func (f *form) ends(all []faultLine) [][]Item {
	var items [][]Item
	x := f.r.X
	for _, l := range all {
		words := l.says
		if l.memory {
			words += " *"
		}
		w := 6.5 + measure(words, body, false) + 4
		if x > f.r.X && x+w-4 > f.r.X+f.r.W {
			x = f.r.X
			f.gap(lineStep(body) + 1)
		}
		y := f.r.Y + capHeight(body) + 1
		items = append(items, []Item{
			box(Rect{x, y - 3.9, 4.4, 4.4}, pen),
			Text{At: Pt{x + 6, y}, Size: body, Ink: Black, Words: fit(words, body, false, f.r.W-8)},
		})
		x += w
	}
	f.gap(lineStep(body) + 1)
	return items
}

// working writes the arithmetic of a phase beside what was written.
func (f *form) working(lines []string, h float64) {
	r := f.area("Working", h)
	left := r.in(1.5)
	for i, l := range lines {
		if i+1 < len(lines) && left.H < tall(l, body, false, left.W)+lineStep(body) {
			f.s.paragraph(left, body, true, "and more: see the paper “working”")
			break
		}
		left = f.s.paragraph(left, body, false, l)
	}
}

// signed is the foot of a sheet: who wrote it, and the scorer's boxes.
func (f *form) signed(who []string, scorer []string, values []string) {
	f.lines(who)
	f.cells(13, append(scorer, "2nd reader"), values)
}

const signedTall = 9 + 3 + 13.0

// sheetOf is the sheet that counts of an entry on a course (of a judge, in dressage and
// judged classes); nil where there is none or the paper is blank.
func (in *DayInput) sheetOf(phase string, entry int, course string) *trial.Sheet {
	if in.Blank {
		return nil
	}
	for _, s := range in.Trial.Counting() {
		if s.Phase == phase && s.Entry == entry && (s.Course == course || course == "") {
			return s
		}
	}
	return nil
}

// phaseScore is an entry's score in a phase; the zero value where there is none.
func (in *DayInput) phaseScore(n int, phase string) trial.PhaseScore {
	if s := in.score(n); s != nil {
		return s.Phases[phase]
	}
	return trial.PhaseScore{}
}

// faultWords is the faults of a sheet in words.
func faultWords(phase string, s *trial.Sheet) string {
	var all []string
	table := rules.KeyTable()
	for _, name := range rules.FaultNames(phase) {
		if n := s.Faults[name]; n > 0 {
			says := table[rules.KeyOf(phase, name)].Says
			if says == "" {
				says = strings.ReplaceAll(name, "_", " ")
			}
			all = append(all, fmt.Sprintf("%d × %s", n, says))
		}
	}
	if s.Out != "" {
		all = append(all, "out: "+s.Out)
	}
	return strings.Join(all, "; ")
}

// none is the fault of a paper with nothing on it.
func (in *DayInput) none(kind, message, hint string) error {
	return &fault.Fault{Code: fault.NotFound, Rule: "sheet-empty", Place: kind, Message: message, Hint: hint}
}

// runs draws a page or more for each run of a phase that was asked for. Blank: one for
// each who starts, with its head filled in, and one spare without a head where all
// were asked for. Filled: one for each sheet that is in.
func (in *DayInput) runs(kind, phase string, draw func(e *trial.Entry) []Scene, filled func(e *trial.Entry) bool) ([]Scene, error) {
	var pages []Scene
	for _, g := range in.goers(phase) {
		if g.entry == nil || in.Blank && g.gone || !in.Blank && !filled(g.entry) {
			continue
		}
		pages = append(pages, draw(g.entry)...)
	}
	if in.Blank && in.Entry == 0 {
		pages = append(pages, draw(nil)...)
	}
	if len(pages) == 0 {
		who := "no sheet of the " + phase + " is in"
		if in.Entry != 0 {
			who = fmt.Sprintf("no sheet of entry %d in the %s is in", in.Entry, phase)
		}
		return nil, in.none(kind, who, "--blank prints sheets to write on")
	}
	return pages, nil
}
