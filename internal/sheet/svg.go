package sheet

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// svgFonts are looked for in this order; none has to be there, because each
// text says how wide it is.
const svgFonts = "Go, 'Atkinson Hyperlegible', Verdana, 'DejaVu Sans', sans-serif"

// gap between pages that stand under one another in one SVG file, mm.
const svgGap = 5.0

// SVG writes pages as one SVG file that needs nothing else: one page by itself,
// several under one another. Lengths in it are millimetres, and it prints at its
// true size. It fails on a page that cannot be drawn before anything is written.
func SVG(w io.Writer, pages ...Scene) error {
	if len(pages) == 0 {
		return errors.New("sheet: a file without pages")
	}
	var width, height float64
	for i := range pages {
		if err := pages[i].check(); err != nil {
			return err
		}
		width = math.Max(width, pages[i].Width)
		if i > 0 {
			height += svgGap
		}
		height += pages[i].Height
	}
	d := &svg{}
	fmt.Fprintf(d, `<svg xmlns="http://www.w3.org/2000/svg" width="%[1]smm" height="%[2]smm" viewBox="0 0 %[1]s %[2]s" font-family="%[3]s" font-variant-numeric="tabular-nums" fill="none" stroke-linecap="round" stroke-linejoin="round">`+"\n",
		mm(width), mm(height), svgFonts)
	fmt.Fprintf(d, "<title>%s</title>\n", escape(pages[0].Title))
	y := 0.0
	for i := range pages {
		p := &pages[i]
		// A page is a drawing of its own, so that nothing sticks out of it.
		fmt.Fprintf(d, `<svg x="0" y="%s" width="%s" height="%s" role="img" aria-label="%s">`+"\n", mm(y), mm(p.Width), mm(p.Height), escape(p.Title))
		fmt.Fprintf(d, `<path d="M0 0H%sV%sH0Z" fill="#ffffff"/>`+"\n", mm(p.Width), mm(p.Height))
		p.Draw(d)
		d.WriteString("</svg>\n")
		y += p.Height + svgGap
	}
	d.WriteString("</svg>\n")
	_, err := io.WriteString(w, d.String())
	return err
}

// svg draws by writing SVG.
type svg struct{ strings.Builder }

// mm writes a length with three places: a thousandth of a millimetre.
func mm(v float64) string {
	s := strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
	if s == "-0" {
		return "0"
	}
	return s
}

func hex(i Ink) string {
	r, g, b := i.RGB()
	return fmt.Sprintf("#%02x%02x%02x", r, g, b)
}

// escape makes words fit for XML, in text and in attributes. Characters that
// XML 1.0 does not hold (§2.2) are left out.
func escape(words string) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(words, "?") {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r == '\t' || r == '\n' || r == '\r':
			b.WriteByte(' ')
		case r < 0x20 || r >= 0xd800 && r < 0xe000 || r == 0xfffe || r == 0xffff:
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func (d *svg) Path(p Path) {
	lined := p.Style.Line != None && p.Width > 0
	if len(p.Steps) == 0 || p.Fill == None && !lined {
		return
	}
	d.WriteString(`<path d="`)
	for _, s := range p.Steps {
		switch s.Op {
		case Move:
			fmt.Fprintf(d, "M%s %s", mm(s.To.X), mm(s.To.Y))
		case Line:
			fmt.Fprintf(d, "L%s %s", mm(s.To.X), mm(s.To.Y))
		case Curve:
			fmt.Fprintf(d, "C%s %s %s %s %s %s", mm(s.C1.X), mm(s.C1.Y), mm(s.C2.X), mm(s.C2.Y), mm(s.To.X), mm(s.To.Y))
		case Close:
			d.WriteString("Z")
		}
	}
	d.WriteString(`"`)
	if p.Fill != None {
		fmt.Fprintf(d, ` fill="%s"`, hex(p.Fill))
	}
	if lined {
		fmt.Fprintf(d, ` stroke="%s" stroke-width="%s"`, hex(p.Style.Line), mm(p.Width))
		if len(p.Dash) > 0 {
			dash := make([]string, len(p.Dash))
			for i, v := range p.Dash {
				dash[i] = mm(v)
			}
			fmt.Fprintf(d, ` stroke-dasharray="%s"`, strings.Join(dash, " "))
		}
	}
	d.WriteString("/>\n")
}

func (d *svg) Text(t Text) {
	words := escape(t.Words)
	if strings.TrimSpace(words) == "" || t.Ink == None {
		return
	}
	fmt.Fprintf(d, `<text x="%s" y="%s" font-size="%s" fill="%s"`, mm(t.At.X), mm(t.At.Y), mm(t.Size*mmPerPt), hex(t.Ink))
	if t.Bold {
		d.WriteString(` font-weight="700"`)
	}
	switch t.Anchor {
	case Middle:
		d.WriteString(` text-anchor="middle"`)
	case End:
		d.WriteString(` text-anchor="end"`)
	}
	// The width that the layout counted on; not for letters that only the
	// reader's fonts hold, whose width is not known here.
	if _, whole := printable(t.Words, t.Bold); whole {
		fmt.Fprintf(d, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, mm(measure(t.Words, t.Size, t.Bold)))
	}
	fmt.Fprintf(d, ">%s</text>\n", words)
}

// Begin opens a group. A clip is a drawing within the drawing, which cuts off
// what sticks out; it needs no id, so that pages can be put into one document.
func (d *svg) Begin(g Group) {
	d.WriteString("<svg")
	if g.Name != "" {
		fmt.Fprintf(d, ` role="img" aria-label="%s"`, escape(g.Name))
	}
	if c := g.Clip; c != nil {
		fmt.Fprintf(d, ` x="%[1]s" y="%[2]s" width="%[3]s" height="%[4]s" viewBox="%[1]s %[2]s %[3]s %[4]s"`, mm(c.X), mm(c.Y), mm(c.W), mm(c.H))
	} else {
		d.WriteString(` overflow="visible"`)
	}
	d.WriteString(">\n")
}

func (d *svg) End() { d.WriteString("</svg>\n") }
