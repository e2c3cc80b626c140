package sheet

import "strings"

// flow fills pages from the top downwards and begins a new one where the next
// thing does not fit.
type flow struct {
	in    *Input
	title string
	// head is the heading of papers that are of no plan: of what is on the page.
	head  func(of string) heading
	of    string
	paper Paper
	wide  bool
	pages []Scene
	left  Rect // room on the last page
}

func (f *flow) page() *Scene { return &f.pages[len(f.pages)-1] }

// turn begins a new page.
func (f *flow) turn() {
	var h heading
	paper := f.paper
	if f.head != nil {
		h = f.head(f.of)
	} else {
		h, paper = f.in.heading(f.title), f.in.Paper
	}
	s, r := h.page(paper, f.wide)
	f.pages = append(f.pages, s)
	f.left = r
}

// need makes sure of h mm of room.
func (f *flow) need(h float64) {
	if len(f.pages) == 0 || f.left.H < h {
		f.turn()
	}
}

// words writes a paragraph.
func (f *flow) words(size float64, bold bool, words string) {
	if len(f.pages) == 0 {
		f.turn()
	}
	for _, l := range wrap(words, size, bold, f.left.W) {
		f.need(lineStep(size))
		f.left = f.page().paragraph(f.left, size, bold, l)
	}
	f.gap(1.5)
}

// gap leaves some room.
func (f *flow) gap(h float64) { f.left.Y, f.left.H = f.left.Y+h, f.left.H-h }

// key writes a key under what is there.
func (f *flow) key(k []entry) {
	n := keyColumnsFor(f.left.W)
	f.need(keyTall(k, f.left.W, n))
	f.left = f.page().writeKey(f.left, k, n)
	f.gap(2)
}

// column is one column of a table.
type column struct {
	head  string
	width float64 // mm; 0 shares what is left
	right bool    // numbers: they stand under one another
	large bool    // rows are half as large again, and bold
}

// tick is a cell with a box to tick.
const tick = "\x00"

// struck is in front of a cell whose words are crossed out, not left out.
const struck = "\x01"

// across is in front of a cell that runs over all cells to its right.
const across = "\x02"

// largeBy is how much larger a large column is.
const largeBy = 1.5

const (
	cellPad = 1.5 // mm on each side of a cell's words
	longest = 400 // letters of a cell that are looked at: more than four lines hold
)

// table writes rows under a head that is repeated on every page. A row is at
// least high mm, so that a pencil has room.
func (f *flow) table(name string, cols []column, rows [][]string, high float64) {
	f.tableOf(name, cols, rows, high, body)
}

// big is a table whose rows are written in a larger size, pt, to be read at arm's
// length in the rain.
func (f *flow) big(name string, cols []column, rows [][]string, size float64) {
	f.tableOf(name, cols, rows, lineStep(size)+3, size)
}

// widths are those of the columns of a table, mm.
func (f *flow) widths(cols []column) []float64 {
	share, free := 0.0, f.left.W
	for _, c := range cols {
		if free -= c.width; c.width == 0 {
			share++
		}
	}
	w := make([]float64, len(cols))
	for i, c := range cols {
		if w[i] = c.width; c.width == 0 {
			w[i] = free / share
		}
	}
	return w
}

// rowsIn is how high, mm, the rows of a table can be at least so that all of them stand
// in a height: the most that is wanted, or less down to the least; 0 when even that is
// too much.
func (f *flow) rowsIn(height float64, cols []column, rows [][]string, least, most float64) float64 {
	w := f.widths(cols)
	for high := min(most, height/float64(max(1, len(rows)))); high >= least; high -= 0.25 {
		total := 0.0
		for _, row := range rows {
			total += rowTall(row, w, high, body)
		}
		if total <= height+1e-9 {
			return high
		}
	}
	return 0
}

func (f *flow) tableOf(name string, cols []column, rows [][]string, high, size float64) {
	if len(f.pages) == 0 {
		f.turn()
	}
	w := f.widths(cols)
	heads := make([]string, len(cols))
	for i, c := range cols {
		heads[i] = c.head
	}
	const headRow = 8.0
	begun := false
	for _, row := range rows {
		h := rowTall(row, w, high, size)
		if need := headRow + h; !begun && f.left.H < need+lineStep(13)+2 || begun && f.left.H < h {
			f.turn()
			begun = false
		}
		if !begun {
			f.left = f.page().paragraph(f.left, 13, true, name)
			f.row(heads, cols, w, rowTall(heads, w, headRow, body), body, true)
			begun = true
		}
		f.row(row, cols, w, h, size, false)
	}
	f.gap(4)
}

// rowTall is the height of a row with its cells wrapped.
func rowTall(row []string, w []float64, least, size float64) float64 {
	h := least
	for i, c := range row {
		if strings.HasPrefix(c, across) {
			break
		}
		h = max(h, float64(len(cellLines(c, w[i], size)))*lineStep(size)+2)
	}
	return h
}

// cellLines are the lines of a cell: at most four, the last one cut short.
func cellLines(words string, w, size float64) []string {
	if words == tick {
		return []string{tick}
	}
	words = strings.TrimPrefix(words, struck)
	if r := []rune(words); len(r) > longest {
		words = string(r[:longest])
	}
	l := wrap(words, size, false, w-2*cellPad)
	if len(l) > 4 {
		l = append(l[:3:3], fit(l[3]+" "+l[4], size, false, w-2*cellPad-1))
	}
	return l
}

func (f *flow) row(row []string, cols []column, w []float64, h, size float64, head bool) {
	s := f.page()
	x, y := f.left.X, f.left.Y
	for i, c := range row {
		size, bold := size, head
		if words, ok := strings.CutPrefix(c, across); ok {
			s.add(Text{At: Pt{x + cellPad, y + h/2 + capHeight(size)/2}, Size: size, Ink: Black, Words: fit(words, size, false, f.left.X+f.left.W-x-2*cellPad)})
			break
		}
		if cols[i].large && !head {
			size, bold = size*largeBy, true
		}
		lines := cellLines(c, w[i], size)
		ty := y + h/2 - float64(len(lines)-1)*lineStep(size)/2 + capHeight(size)/2
		for _, l := range lines {
			switch {
			case l == tick:
				s.add(box(Rect{x + w[i]/2 - 2.2, y + h/2 - 2.2, 4.4, 4.4}, pen))
			case cols[i].right:
				s.add(Text{At: Pt{x + w[i] - cellPad, ty}, Size: size, Bold: bold, Anchor: End, Ink: Black, Words: l})
			default:
				s.add(Text{At: Pt{x + cellPad, ty}, Size: size, Bold: bold, Ink: Black, Words: l})
			}
			if strings.HasPrefix(c, struck) {
				from, to := x+cellPad, x+cellPad+measure(l, size, bold)
				if cols[i].right {
					from, to = x+w[i]-cellPad-measure(l, size, bold), x+w[i]-cellPad
				}
				mid := ty - capHeight(size)/2
				s.add(line(Pt{from - 0.8, mid}, Pt{to + 0.8, mid}, pen))
			}
			ty += lineStep(size)
		}
		if x += w[i]; i+1 < len(row) {
			s.add(line(Pt{x, y}, Pt{x, y + h}, Style{Line: Grey, Width: 0.2}))
		}
	}
	st := Style{Line: Grey, Width: 0.2}
	if head {
		st = pen
	}
	s.add(line(Pt{f.left.X, y + h}, Pt{f.left.X + f.left.W, y + h}, st))
	f.gap(h)
}
