package sheet

import (
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// mmPerPt is the printer's point of PDF, 1/72 inch.
const mmPerPt = 25.4 / 72

// Heights of the Go fonts as shares of their size, from their OS/2 tables
// (unitsPerEm 2048, sCapHeight 1480, descender about 0.21 of the size).
const (
	capShare  = 0.723
	descShare = 0.21
)

// capHeight is the height of a capital or a figure, mm.
func capHeight(size float64) float64 { return capShare * size * mmPerPt }

// face is one font with the widths that were looked up before.
type face struct {
	font *sfnt.Font
	em   float64
	mu   sync.Mutex
	buf  sfnt.Buffer
	wide map[rune]float64 // share of the size; −1: the font has no such letter
}

var faces = [2]func() *face{
	sync.OnceValue(func() *face { return newFace(goregular.TTF) }),
	sync.OnceValue(func() *face { return newFace(gobold.TTF) }),
}

func newFace(ttf []byte) *face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(err) // a font that is built in
	}
	return &face{font: f, em: float64(f.UnitsPerEm()), wide: map[rune]float64{}}
}

func faceFor(bold bool) *face {
	if bold {
		return faces[1]()
	}
	return faces[0]()
}

// width is the advance of r as a share of the size, −1 when the font lacks it.
func (f *face) width(r rune) float64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	if w, ok := f.wide[r]; ok {
		return w
	}
	w := -1.0
	if g, err := f.font.GlyphIndex(&f.buf, r); err == nil && g != 0 && r < 0x10000 {
		if adv, err := f.font.GlyphAdvance(&f.buf, g, fixed.I(int(f.em)), font.HintingNone); err == nil {
			w = float64(adv) / 64 / f.em
		}
	}
	f.wide[r] = w
	return w
}

// printable gives words with what the font holds: marks that it lacks are left
// out, other letters become "?". whole says that nothing was changed.
func printable(words string, bold bool) (out string, whole bool) {
	f := faceFor(bold)
	whole = true
	var b strings.Builder
	for _, r := range words {
		switch {
		case unicode.IsSpace(r):
			r = ' '
		case unicode.IsControl(r):
			continue
		case f.width(r) < 0:
			whole = false
			if unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
				continue
			}
			r = '?'
		}
		b.WriteRune(r)
	}
	return b.String(), whole
}

// measure is the width of words in mm, as they are printed.
func measure(words string, size float64, bold bool) float64 {
	f := faceFor(bold)
	words, _ = printable(words, bold)
	var w float64
	for _, r := range words {
		w += f.width(r)
	}
	return w * size * mmPerPt
}

// fit shortens words to a width, with "…" where something is left out.
func fit(words string, size float64, bold bool, width float64) string {
	if measure(words, size, bold) <= width {
		return words
	}
	r := []rune(words)
	lo, hi := 0, len(r)
	for lo < hi {
		m := (lo + hi + 1) / 2
		if measure(string(r[:m])+"…", size, bold) <= width {
			lo = m
		} else {
			hi = m - 1
		}
	}
	return strings.TrimRight(string(r[:lo]), " ") + "…"
}

// wrap breaks words into lines of at most width mm. A word that is longer than
// a line is broken where the line ends.
func wrap(words string, size float64, bold bool, width float64) []string {
	var lines []string
	cur := ""
	for _, w := range strings.Fields(words) {
		try := w
		if cur != "" {
			try = cur + " " + w
		}
		if measure(try, size, bold) <= width {
			cur = try
			continue
		}
		if cur != "" {
			lines = append(lines, cur)
		}
		r := []rune(w)
		for {
			n := prefix(r, size, bold, width)
			if n == len(r) {
				break
			}
			lines, r = append(lines, string(r[:n])), r[n:]
		}
		w = string(r)
		cur = w
	}
	if cur != "" {
		lines = append(lines, cur)
	}
	return lines
}

// prefix is how many letters fit a width: at least one, where there is one.
func prefix(r []rune, size float64, bold bool, width float64) int {
	w := 0.0
	for i, c := range r {
		if w += measure(string(c), size, bold); w > width && i > 0 {
			return i
		}
	}
	return len(r)
}
