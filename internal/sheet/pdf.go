package sheet

import (
	"errors"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Meta is what a PDF file says about itself.
type Meta struct {
	Title   string
	Subject string
	At      time.Time // of printing; the zero time is the first of January 1970
}

// PDF writes the pages as one PDF file. The same pages and Meta give the same
// bytes. It fails on a page that cannot be drawn before anything is written.
func PDF(w io.Writer, pages []Scene, m Meta) error { return writePDF(w, pages, m, true) }

func writePDF(w io.Writer, pages []Scene, m Meta, squeeze bool) error {
	if len(pages) == 0 {
		return errors.New("sheet: a file without pages")
	}
	for i := range pages {
		if err := pages[i].check(); err != nil {
			return err
		}
	}
	at := m.At.UTC()
	if m.At.IsZero() {
		at = time.Unix(0, 0).UTC()
	}
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: pages[0].Width, Ht: pages[0].Height}})
	f.SetCompression(squeeze)
	f.SetCatalogSort(true)
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetProducer("Terret", true)
	f.SetTitle(m.Title, true)
	f.SetSubject(m.Subject, true)
	f.SetLang("en")
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes("go", "", goregular.TTF)
	f.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	f.SetLineCapStyle("round")
	f.SetLineJoinStyle("round")
	for i := range pages {
		f.AddPageFormat("P", fpdf.SizeType{Wd: pages[i].Width, Ht: pages[i].Height})
		pages[i].Draw(&pdf{f: f})
	}
	return f.Output(w)
}

// pdf draws by fpdf. It sets everything for each item, so that nothing hangs on
// what was drawn before or in a group that has ended.
type pdf struct {
	f     *fpdf.Fpdf
	clips []bool
}

func (d *pdf) Path(p Path) {
	if len(p.Steps) == 0 {
		return
	}
	op := ""
	if p.Fill != None {
		r, g, b := p.Fill.RGB()
		d.f.SetFillColor(int(r), int(g), int(b))
		op = "F"
	}
	if p.Style.Line != None && p.Width > 0 {
		r, g, b := p.Style.Line.RGB()
		d.f.SetDrawColor(int(r), int(g), int(b))
		d.f.SetLineWidth(p.Width)
		d.f.SetDashPattern(p.Dash, 0)
		op += "D"
	}
	if op == "" {
		return
	}
	for _, s := range p.Steps {
		switch s.Op {
		case Move:
			d.f.MoveTo(s.To.X, s.To.Y)
		case Line:
			d.f.LineTo(s.To.X, s.To.Y)
		case Curve:
			d.f.CurveBezierCubicTo(s.C1.X, s.C1.Y, s.C2.X, s.C2.Y, s.To.X, s.To.Y)
		case Close:
			d.f.ClosePath()
		}
	}
	d.f.DrawPath(op)
}

func (d *pdf) Text(t Text) {
	words, _ := printable(t.Words, t.Bold)
	if words == "" || t.Ink == None {
		return
	}
	style := ""
	if t.Bold {
		style = "B"
	}
	r, g, b := t.Ink.RGB()
	d.f.SetFont("go", style, t.Size)
	d.f.SetFillColor(int(r), int(g), int(b)) // a text is filled
	d.f.SetTextColor(int(r), int(g), int(b))
	x := t.At.X
	switch t.Anchor {
	case Middle:
		x -= measure(t.Words, t.Size, t.Bold) / 2
	case End:
		x -= measure(t.Words, t.Size, t.Bold)
	}
	d.f.Text(x, t.At.Y, words)
}

func (d *pdf) Begin(g Group) {
	d.clips = append(d.clips, g.Clip != nil)
	if g.Clip != nil {
		d.f.ClipRect(g.Clip.X, g.Clip.Y, g.Clip.W, g.Clip.H, false)
	}
}

func (d *pdf) End() {
	n := len(d.clips) - 1
	if d.clips[n] {
		d.f.ClipEnd()
	}
	d.clips = d.clips[:n]
}
