package sheet

import (
	"fmt"
	"math"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/turnout"
)

// The papers of a turnout.
const (
	CheckCardKind = "check-card"  // what the checker walks round with
	PuttingToKind = "putting-to"  // the order of putting to and taking out
	TrotLesson    = "trot-lesson" // what to rake, tape and write
	TrotPoster    = "trot-poster" // the three trots in this horse's prints
)

// TurnoutKinds lists the papers of a turnout.
func TurnoutKinds() []string { return []string{CheckCardKind, PuttingToKind, TrotLesson, TrotPoster} }

// TurnoutInput is what a paper of a turnout is drawn from.
type TurnoutInput struct {
	Card    *turnout.Card // for the two cards
	Turnout *turnout.Turnout
	Trots   *TrotsInput // for the two papers of the trots

	Event     string // "" leaves a line to write on
	Date      string // as it shall be printed; "" is the day of printing
	Version   string // of the turnout's record; "" leaves a line to write on
	PrintedAt time.Time
	Paper     Paper // the zero value is A4
}

// Turnout draws a paper of a turnout, page by page. A kind it does not know and
// an input that is not whole are faults.
func Turnout(kind string, in TurnoutInput) ([]Scene, error) {
	if in.Paper == (Paper{}) {
		in.Paper = A4
	}
	var pages []Scene
	var err error
	switch kind {
	case CheckCardKind, PuttingToKind:
		if in.Card == nil {
			return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-card", Place: kind, Message: "there is no card to draw", Hint: "name a turnout"}
		}
		if kind == CheckCardKind {
			pages = checkCard(&in)
		} else {
			pages = puttingTo(&in)
		}
	case TrotLesson, TrotPoster:
		if in.Trots == nil || in.Turnout == nil {
			return nil, &fault.Fault{Code: fault.Input, Rule: "sheet-trots", Place: kind, Message: "there is no horse to draw the trots of", Hint: "name a turnout"}
		}
		if kind == TrotLesson {
			pages = trotLesson(&in)
		} else {
			pages, err = trotPoster(&in)
		}
	default:
		return nil, unknown(kind, TurnoutKinds())
	}
	return finished(pages, err)
}

func (in *TurnoutInput) heading(title, of, what string) heading {
	return heading{Title: title, Of: of, Plan: what, Event: in.Event, Date: in.Date, Version: in.Version, Printed: in.PrintedAt}
}

// hitchWords says how the horses of a card go, with their names.
func hitchWords(c *turnout.Card) string {
	hitch := map[string]string{turnout.PairH: "pair", turnout.Four: "four-in-hand"}[c.Hitch]
	if hitch == "" {
		hitch = c.Hitch
	}
	words := hitch + ", " + c.Vehicle
	if n := strings.Join(c.Horses, ", "); n != "" && !strings.Contains(c.Turnout, n) {
		words += "; " + n
	}
	return words
}

// leading is how far apart the lines of a card stand, as a share of the letters:
// as much as fits, for it is read at arm's length.
var leadings = []float64{1.28, 1.22, 1.16, 1.12, 1.08}

// checkCard is the card on one side of the paper: what applies in two columns,
// in the order of the walk round, each line with a box.
func checkCard(in *TurnoutInput) []Scene {
	c := in.Card
	for _, lead := range leadings {
		if s, ok := in.tryCard(c, lead, body); ok {
			return []Scene{s}
		}
	}
	// More to see than the side holds in letters of 12 pt (many refused numbers, a
	// long due list): smaller ones, before anything is left out.
	for size := body - 0.5; size > 8; size -= 0.5 {
		if s, ok := in.tryCard(c, leadings[len(leadings)-1], size); ok {
			return []Scene{s}
		}
	}
	s, _ := in.tryCard(c, leadings[len(leadings)-1], 8)
	return []Scene{s}
}

// cardItem is one entry of a column: a line with its box, or a remark.
type cardItem struct {
	part   string // the part's name, where the part begins
	text   string
	remark string // "NO", "DUE", "SOON"; "" has a box
}

func cardItems(c *turnout.Card) []cardItem {
	var all []cardItem
	for _, p := range c.Parts {
		for i, l := range p.Lines {
			it := cardItem{text: l.Text}
			if i == 0 {
				it.part = p.Name
			}
			if l.Fact != "" && l.Verdict != turnout.NotMeasured {
				it.text += ": " + l.Fact
			}
			all = append(all, it)
		}
	}
	for i, n := range c.ByFile {
		it := cardItem{text: n, remark: "NO"}
		if i == 0 {
			it.part = "The file's numbers say no to"
		}
		all = append(all, it)
	}
	for i, d := range c.Due {
		it := cardItem{text: d.Item + ": " + d.Why, remark: "SOON"}
		if d.Late {
			it.remark = "DUE"
		}
		if i == 0 {
			it.part = "Service"
		}
		all = append(all, it)
	}
	return all
}

const (
	cardBox    = 6.2 // mm from a line's left end to its words
	columnRoom = 7.0 // mm between the two columns
)

// tryCard draws the card with one leading and size; ok is whether all of it
// found room.
func (in *TurnoutInput) tryCard(c *turnout.Card, lead, size float64) (Scene, bool) {
	s, r := in.heading("Check card", c.Turnout, hitchWords(c)).page(in.Paper, false)
	step := size * mmPerPt * lead
	put := func(x float64, y *float64, width, size float64, bold bool, words string) {
		for _, l := range wrap(words, size, bold, width) {
			s.add(Text{At: Pt{x, *y + capHeight(size) + 0.5}, Size: size, Bold: bold, Ink: Black, Words: l})
			*y += size * mmPerPt * lead
		}
	}
	y := r.Y - 1.5
	y = s.blanks(r, y, c.Blanks)
	top := y
	y += 1.2
	for _, l := range append(append([]string{}, c.First...), c.Green) {
		if l != "" {
			put(r.X+2, &y, r.W-4, body, true, l)
		}
	}
	y += 0.6
	s.add(box(Rect{r.X, top, r.W, y - top}, Style{Line: Black, Width: 0.7}))
	y += 1.2
	put(r.X, &y, r.W, body, false, c.For+" Mark each box: v looked at, F fix and show again, R refuse.")
	y += 0.8

	says := wrap(c.Says, body, false, r.W)
	foot := r.Y + r.H + 2 - (float64(len(says))*body*mmPerPt*lead + 3*7.4)
	s.add(line(Pt{r.X, y}, Pt{r.X + r.W, y}, Style{Line: Black, Width: 0.3}))
	y += 0.8
	w := (r.W - columnRoom) / 2
	items := cardItems(c)
	tall := make([]float64, len(items))
	for i, it := range items {
		tall[i] = float64(len(itemLines(it, size, w))) * step
		if it.part != "" {
			tall[i] += step + 0.8
		}
	}
	room, x, cy := foot-y, r.X, y
	turn := secondColumn(items, tall, room)
	for i, it := range items {
		if i == turn {
			s.add(line(Pt{r.X + w + columnRoom/2, y + 1}, Pt{r.X + w + columnRoom/2, foot - 1}, Style{Line: Grey, Width: 0.2}))
			x, cy = r.X+w+columnRoom, y
		}
		if it.part != "" {
			cy += 0.8
			s.add(Text{At: Pt{x, cy + capHeight(size) + 0.5}, Size: size, Bold: true, Ink: Black, Words: strings.ToUpper(fit(it.part, size, true, w*0.86))})
			cy += step
		}
		lines := itemLines(it, size, w)
		if it.remark == "" {
			b := capHeight(size) + 0.6
			s.add(box(Rect{x + 0.4, cy + 0.4, b, b}, pen))
		} else {
			s.add(Text{At: Pt{x, cy + capHeight(size) + 0.5}, Size: size, Bold: true, Ink: Black, Words: it.remark})
		}
		for _, l := range lines {
			s.add(Text{At: Pt{x + itemIndent(it, size), cy + capHeight(size) + 0.5}, Size: size, Ink: Black, Words: l})
			cy += step
		}
		if cy > foot+0.1 {
			return s, false
		}
	}
	s.add(line(Pt{r.X, foot}, Pt{r.X + r.W, foot}, Style{Line: Black, Width: 0.6}))
	fy := foot + 6.4
	fx := r.X
	for _, res := range c.Results {
		s.add(box(Rect{fx, fy - 4.2, 4.6, 4.6}, Style{Line: Black, Width: 0.5}))
		s.add(Text{At: Pt{fx + 6.4, fy}, Size: 13, Bold: true, Ink: Black, Words: res})
		fx += 6.4 + measure(res, 13, true) + 9
	}
	s.field(Pt{fx, fy}, r.X+r.W, "minutes")
	s.field(Pt{r.X, fy + 7.2}, r.X+r.W, "Reason")
	s.field(Pt{r.X, fy + 14.4}, r.X+r.W, "Signed")
	fy += 16.2
	for _, l := range says {
		s.add(Text{At: Pt{r.X, fy + capHeight(body)}, Size: body, Ink: Black, Words: l})
		fy += body * mmPerPt * lead
	}
	return s, true
}

// secondColumn is the item that begins the second column: the part whose beginning
// splits them most evenly, of those that both columns have room for; where no
// part does, the first line past the half.
func secondColumn(items []cardItem, tall []float64, room float64) int {
	total := 0.0
	for _, h := range tall {
		total += h
	}
	best, off, sum := -1, 0.0, 0.0
	for i, it := range items {
		if it.part != "" && i > 0 && sum <= room && total-sum <= room {
			if d := math.Abs(total/2 - sum); best < 0 || d < off {
				best, off = i, d
			}
		}
		sum += tall[i]
	}
	if best >= 0 {
		return best
	}
	sum = 0
	for i := range items {
		if sum+tall[i] > room || sum+tall[i]/2 > total/2 {
			return i
		}
		sum += tall[i]
	}
	return len(items)
}

// itemIndent is where the words of an item begin.
func itemIndent(it cardItem, size float64) float64 {
	if it.remark == "" {
		return cardBox
	}
	return measure(it.remark, size, true) + 2
}

func itemLines(it cardItem, size, w float64) []string {
	words := it.text
	if r := []rune(words); len(r) > longest {
		words = string(r[:longest]) + "…"
	}
	return wrap(words, size, false, w-itemIndent(it, size))
}

// blanks writes lines to fill in, two to four beside each other, and gives the
// place below.
func (s *Scene) blanks(r Rect, y float64, names []string) float64 {
	const row = 7.4
	widths := map[string]float64{"date": 0.6, "time in": 0.7, "time out": 0.7, "entry": 0.6}
	per := (len(names) + 1) / 2
	for len(names) > 0 {
		n := min(per, len(names))
		sum := 0.0
		share := func(k string) float64 {
			if w := widths[k]; w > 0 {
				return w
			}
			return 1.2
		}
		for _, k := range names[:n] {
			sum += share(k)
		}
		x := r.X
		y += row
		for _, k := range names[:n] {
			w := r.W * share(k) / sum
			s.field(Pt{x, y}, x+w-2, k)
			x += w
		}
		names = names[n:]
	}
	return y + 2
}

// field is a word and a line to write on, up to x.
func (s *Scene) field(at Pt, x float64, name string) {
	s.add(Text{At: at, Size: body, Ink: Black, Words: name})
	if from := at.X + measure(name, body, false) + 1.5; from < x-3 {
		s.add(line(Pt{from, at.Y + 0.6}, Pt{x, at.Y + 0.6}, Style{Line: Grey, Width: 0.25}))
	}
}

// puttingTo is the card of putting to and taking out, in the school's order: each
// half a column of numbered steps, large.
func puttingTo(in *TurnoutInput) []Scene {
	c := in.Card
	for _, size := range []float64{16, 15, 14, 13, 12.5, body} {
		if s, ok := in.trySteps(c, size); ok {
			return []Scene{s}
		}
	}
	s, _ := in.trySteps(c, body)
	return []Scene{s}
}

func (in *TurnoutInput) trySteps(c *turnout.Card, size float64) (Scene, bool) {
	const last = "Schools differ in the order of the joints; this is the order asked for. Never drive from the ground, never lead a horse that is put to. Your teacher's word and local rules go before this card."
	s, r := in.heading("Putting to and taking out", c.Turnout, hitchWords(c)).page(in.Paper, false)
	y := r.Y
	for _, l := range append(append([]string{}, c.First...), c.Green) {
		if l != "" {
			left := s.paragraph(Rect{r.X + 3, y + 1, r.W - 6, r.H}, 13, true, l)
			y = left.Y - 0.6
		}
	}
	y += 1.6
	s.add(box(Rect{r.X, r.Y - 0.6, r.W, y - r.Y + 0.6}, Style{Line: Black, Width: 0.7}))
	y += 3
	foot := r.Y + r.H - tall(last, body, false, r.W)
	w := (r.W - columnRoom) / 2
	step := lineStep(size)
	for k, half := range []struct {
		name  string
		steps []turnout.Step
	}{{"Putting to", c.PuttingTo}, {"Taking out", c.TakingOut}} {
		x := r.X + float64(k)*(w+columnRoom)
		cy := y
		s.add(Text{At: Pt{x, cy + capHeight(size+2) + 0.5}, Size: size + 2, Bold: true, Ink: Black, Words: half.name})
		cy += lineStep(size+2) + 1
		for n, st := range half.steps {
			s.add(Text{At: Pt{x + 7, cy + capHeight(size) + 0.5}, Size: size, Bold: true, Anchor: End, Ink: Black, Words: fmt.Sprint(n + 1)})
			for _, l := range wrap(st.Text, size, false, w-10) {
				s.add(Text{At: Pt{x + 10, cy + capHeight(size) + 0.5}, Size: size, Ink: Black, Words: l})
				cy += step
			}
			cy += 1.4
		}
		if cy > foot-2 {
			return s, false
		}
	}
	s.add(line(Pt{r.X + w + columnRoom/2, y}, Pt{r.X + w + columnRoom/2, foot - 3}, Style{Line: Grey, Width: 0.2}))
	s.paragraph(Rect{r.X, foot, r.W, r.H}, body, false, last)
	return s, true
}
