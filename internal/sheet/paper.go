package sheet

import (
	"fmt"
	"time"

	"terret/internal/fault"
)

// Paper is a size of paper, mm, upright.
type Paper struct {
	Name          string
	Width, Height float64
}

// The papers: ISO 216 A4 and ANSI letter (8.5 × 11 in).
var (
	A4     = Paper{"A4", 210, 297}
	Letter = Paper{"US Letter", 215.9, 279.4}
)

// PaperNamed finds a paper by the word that is typed: a4 or letter. "" is A4.
func PaperNamed(name string) (Paper, error) {
	switch name {
	case "", "a4":
		return A4, nil
	case "letter":
		return Letter, nil
	}
	return Paper{}, &fault.Fault{Code: fault.Usage, Rule: "paper", Place: "paper", Message: fmt.Sprintf("there is no paper %q", name), Hint: "write a4 or letter"}
}

// Sizes of letters, pt. Nothing that is read in the field is under body.
const (
	body  = 12.0
	small = 9.0 // ids on a crowded drawing only
)

const (
	margin     = 12.0 // mm; what every printer can reach, and a thumb's width
	headHeight = 25.0
	footHeight = 10.0
)

// heading is what stands on every page of a paper.
type heading struct {
	Title   string // what paper it is
	Of      string // the hazard
	Plan    string
	Event   string
	Date    string
	Version string
	Printed time.Time
}

// page makes an empty page with its heading, and gives the room that is left.
// The number of pages is not known yet: number writes it.
func (h heading) page(p Paper, wide bool) (Scene, Rect) {
	w, ht := p.Width, p.Height
	if wide {
		w, ht = ht, w
	}
	s := Scene{Width: w, Height: ht, Title: h.Title + ": " + h.Of + ", " + h.Plan}
	left, right := margin, w-margin

	version := "Version " + h.Version
	if h.Version == "" {
		version = "Version ____"
	}
	version = fit(version, 14, true, 60)
	bw := measure(version, 14, true) + 6
	s.add(box(Rect{right - bw, margin, bw, 8.5}, Style{Line: Black, Width: 0.5}))
	s.add(Text{At: Pt{right - bw/2, margin + 6}, Size: 14, Bold: true, Anchor: Middle, Ink: Black, Words: version})
	s.add(Text{At: Pt{left, margin + 6}, Size: 17, Bold: true, Ink: Black, Words: fit(h.Title, 17, true, right-bw-left-4)})

	place := h.Of
	if place == "" {
		place = h.Plan
	} else if h.Plan != "" && h.Plan != h.Of {
		place += ", " + h.Plan
	}
	s.add(Text{At: Pt{left, margin + 13.5}, Size: 13, Bold: true, Ink: Black, Words: fit(place, 13, true, right-left)})
	date := h.Date
	if date == "" {
		date = day(h.Printed)
	}
	dw := measure(date, body, false)
	if dw > 70 {
		date = fit(date, body, false, 70)
		dw = measure(date, body, false)
	}
	event := h.Event
	if event == "" {
		event = "Event ______________________"
	}
	s.add(Text{At: Pt{left, margin + 20}, Size: body, Ink: Black, Words: fit(event, body, false, right-left-dw-6)})
	s.add(Text{At: Pt{right, margin + 20}, Size: body, Anchor: End, Ink: Black, Words: date})
	s.add(line(Pt{left, margin + 22.5}, Pt{right, margin + 22.5}, Style{Line: Black, Width: 0.6}))

	foot := ht - margin
	s.add(line(Pt{left, foot - 6.5}, Pt{right, foot - 6.5}, Style{Line: Black, Width: 0.3}))
	printed := "Printed " + h.Printed.Format("2006-01-02 15:04 MST")
	s.add(Text{At: Pt{left, foot - 1}, Size: body, Ink: Black, Words: printed})
	found := "If found, return to ____________"
	if free := right - left - measure(printed, body, false) - measure("Page 100 of 100", body, true); measure(found, body, false) < free-8 {
		mid := left + measure(printed, body, false) + free/2
		s.add(Text{At: Pt{mid, foot - 1}, Size: body, Anchor: Middle, Ink: Black, Words: found})
	}
	return s, Rect{left, margin + headHeight, right - left, ht - 2*margin - headHeight - footHeight}
}

// number writes "Page n of m" on every page of one paper.
func number(pages []Scene) {
	for i := range pages {
		s := &pages[i]
		s.add(Text{At: Pt{s.Width - margin, s.Height - margin - 1}, Size: body, Bold: true, Anchor: End, Ink: Black,
			Words: fmt.Sprintf("Page %d of %d", i+1, len(pages))})
	}
}

// day writes a date as people read it anywhere.
func day(t time.Time) string { return t.Format("Monday 2 January 2006") }

// paragraph writes words from the top of r downwards and gives what is left
// below. Lines that do not fit are left out; the caller asks tall before.
func (s *Scene) paragraph(r Rect, size float64, bold bool, words string) Rect {
	step := lineStep(size)
	for _, l := range wrap(words, size, bold, r.W) {
		if r.H < step {
			break
		}
		s.add(Text{At: Pt{r.X, r.Y + capHeight(size) + 0.6}, Size: size, Bold: bold, Ink: Black, Words: l})
		r.Y, r.H = r.Y+step, r.H-step
	}
	return r
}

// lineStep is the distance from line to line, mm.
func lineStep(size float64) float64 { return size * mmPerPt * 1.28 }

// tall is how high words are when they are wrapped to a width, mm.
func tall(words string, size float64, bold bool, width float64) float64 {
	return float64(len(wrap(words, size, bold, width))) * lineStep(size)
}
