package sheet

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
)

// read is a file as it was written, read back without the code that wrote it.
type read struct {
	w, h  float64 // mm, of the first page
	pages int
	paths []readPath
	texts []readText
	clips []Rect
}

type readPath struct {
	pts    []Pt // mm: where each step ends
	shut   bool
	curves int
	fill   string // "9b1c1c" or ""
	line   string
	width  float64
	dash   []float64
}

type readText struct {
	at    Pt // mm: its left end on the base line
	size  float64
	words string
	fill  string
}

// renderers are the outputs that must keep the contract, each with a reader of
// its files.
var renderers = map[string]struct {
	write func(io.Writer, []Scene) error
	read  func(*testing.T, []byte) read
	near  float64 // mm: how exactly the file keeps a place
}{
	"PDF": {func(w io.Writer, p []Scene) error { return writePDF(w, p, Meta{Title: "t", At: printedAt}, false) }, readPDF, 0.006}, // two places of a point
	"SVG": {func(w io.Writer, p []Scene) error { return SVG(w, p...) }, readSVG, 0.0011},
}

// TestEveryRendererKeepsTheContract draws one page of everything and asks each
// file for it.
func TestEveryRendererKeepsTheContract(t *testing.T) {
	clip := Rect{20, 30, 50, 40}
	page := Scene{Width: 100, Height: 140, Title: "Contract <&>"}
	page.add(
		line(Pt{10, 12}, Pt{50, 12}, Style{Line: Black, Width: 0.7, Dash: []float64{3, 1.5}}),
		path(Style{Fill: Red, Line: Black, Width: 0.3}, func(p *Path) { p.way([]Pt{{30, 20}, {34, 24}, {30, 28}, {26, 24}}, true) }),
		disc(Pt{60, 24}, 4, Style{Fill: White, Line: Black, Width: 0.5}),
		line(Pt{10, 100}, Pt{50, 100}, Style{Line: Grey, Width: 0.2}), // solid after dashed
		box(Rect{1, 2, 3, 4}, Style{}), // no ink: nothing
		Group{Name: "inner", Clip: &clip, Items: []Item{
			line(Pt{0, 50}, Pt{99, 50}, Style{Line: Black, Width: 0.4}),
			Text{At: Pt{40, 60}, Size: 20, Bold: true, Anchor: Middle, Ink: Black, Words: "clipped"},
		}},
		Text{At: Pt{10, 80}, Size: 12, Ink: Black, Words: `Ärger <b> & "Œuvre" Ωμέγα Жук (1\2)`},
		Text{At: Pt{90, 90}, Size: 14, Bold: true, Anchor: End, Ink: Red, Words: "12.3 s"},
	)
	second := Scene{Width: 140, Height: 100, Title: "second"}
	second.add(Text{At: Pt{5, 20}, Size: 12, Ink: Black, Words: "page two"})

	for name, r := range renderers {
		t.Run(name, func(t *testing.T) {
			var b, again bytes.Buffer
			if err := r.write(&b, []Scene{page, second}); err != nil {
				t.Fatal(err)
			}
			if err := r.write(&again, []Scene{page, second}); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
				t.Errorf("the same pages give other bytes (%v)", err)
			}
			got := r.read(t, b.Bytes())
			is := func(what string, got, want float64) {
				t.Helper()
				if math.Abs(got-want) > r.near {
					t.Errorf("%s is %g mm, want %g", what, got, want)
				}
			}
			if got.pages != 2 {
				t.Errorf("%d pages, want 2", got.pages)
			}
			if name == "PDF" {
				is("width", got.w, 100)
				is("height", got.h, 140)
			} else { // both under one another
				is("width", got.w, 140)
				is("height", got.h, 140+svgGap+100)
			}
			want := []readPath{
				{pts: []Pt{{10, 12}, {50, 12}}, line: "000000", width: 0.7, dash: []float64{3, 1.5}},
				{pts: []Pt{{30, 20}, {34, 24}, {30, 28}, {26, 24}}, shut: true, fill: "9b1c1c", line: "000000", width: 0.3},
				{pts: []Pt{{64, 24}, {60, 28}, {56, 24}, {60, 20}, {64, 24}}, shut: true, curves: 4, fill: "ffffff", line: "000000", width: 0.5},
				{pts: []Pt{{10, 100}, {50, 100}}, line: "707070", width: 0.2},
				{pts: []Pt{{0, 50}, {99, 50}}, line: "000000", width: 0.4},
			}
			if len(got.paths) != len(want) {
				t.Fatalf("%d paths, want %d: %+v", len(got.paths), len(want), got.paths)
			}
			for i, w := range want {
				g := got.paths[i]
				if g.fill != w.fill || g.line != w.line || g.shut != w.shut || g.curves != w.curves || len(g.pts) != len(w.pts) || len(g.dash) != len(w.dash) {
					t.Fatalf("path %d is %+v, want %+v", i, g, w)
				}
				for k := range w.pts {
					is(fmt.Sprintf("path %d, x %d", i, k), g.pts[k].X, w.pts[k].X)
					is(fmt.Sprintf("path %d, y %d", i, k), g.pts[k].Y, w.pts[k].Y)
				}
				is("line width", g.width, w.width)
				for k := range w.dash {
					is("dash", g.dash[k], w.dash[k])
				}
			}
			texts := []readText{
				{Pt{40 - measure("clipped", 20, true)/2, 60}, 20, "clipped", "000000"},
				{Pt{10, 80}, 12, `Ärger <b> & "Œuvre" Ωμέγα Жук (1\2)`, "000000"},
				{Pt{90 - measure("12.3 s", 14, true), 90}, 14, "12.3 s", "9b1c1c"},
				{Pt{5, 20}, 12, "page two", "000000"},
			}
			if len(got.texts) != len(texts) {
				t.Fatalf("texts %+v, want %+v", got.texts, texts)
			}
			for i, w := range texts {
				g := got.texts[i]
				if g.words != w.words || g.fill != w.fill || math.Abs(g.size-w.size) > 0.01 {
					t.Errorf("text %d is %+v, want %+v", i, g, w)
				}
				is("text x", g.at.X, w.at.X)
				is("text y", g.at.Y, w.at.Y)
			}
			if len(got.clips) != 1 {
				t.Fatalf("clips %+v", got.clips)
			}
			is("clip x", got.clips[0].X, 20)
			is("clip y", got.clips[0].Y, 30)
			is("clip width", got.clips[0].W, 50)
			is("clip height", got.clips[0].H, 40)
		})
	}
}

func TestNoRendererTakesWhatCannotBeDrawn(t *testing.T) {
	nan := Scene{Width: 10, Height: 10, Items: []Item{line(Pt{1, math.NaN()}, Pt{2, 2}, pen)}}
	far := Scene{Width: 10, Height: 10, Items: []Item{Text{At: Pt{math.Inf(1), 0}, Size: 12, Ink: Black, Words: "x"}}}
	for name, r := range renderers {
		for what, pages := range map[string][]Scene{"no page": nil, "no size": {{}}, "NaN": {nan}, "infinity": {far}, "the second page": {{Width: 10, Height: 10}, nan}} {
			var b bytes.Buffer
			if err := r.write(&b, pages); err == nil || b.Len() > 0 {
				t.Errorf("%s of %s: error %v and %d bytes", name, what, err, b.Len())
			}
		}
	}
}

// readPDF reads the uncompressed page streams: the operators of ISO 32000-1,
// tables 51, 57, 59–61, 74, 105–109.
func readPDF(t *testing.T, file []byte) read {
	t.Helper()
	var out read
	s := string(file)
	box := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`)
	// A page without a box of its own has that of the tree (7.7.3.4).
	_, tree, _ := strings.Cut(s, "/Type /Pages\n")
	size := make([][]string, 0, 2)
	for _, p := range regexp.MustCompile(`(?s)/Type /Page\n.*?endobj`).FindAllString(s, -1) {
		m := box.FindStringSubmatch(p)
		if m == nil {
			m = box.FindStringSubmatch(tree)
		}
		size = append(size, m)
	}
	num := func(w string) float64 {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil {
			t.Fatalf("%q is no number", w)
		}
		return v
	}
	var heights []float64
	for i, m := range size {
		if i == 0 {
			out.w, out.h = num(m[1])*mmPerPt, num(m[2])*mmPerPt
		}
		heights = append(heights, num(m[2]))
	}
	for _, m := range regexp.MustCompile(`(?s)>>\s*stream\n(.*?)\nendstream`).FindAllStringSubmatch(s, -1) {
		body := m[1]
		if !strings.Contains(body, " w\n") || strings.Contains(body, "begincmap") || strings.Contains(body, "glyf") {
			continue
		}
		if out.pages >= len(heights) {
			t.Fatalf("more page streams than pages")
		}
		ht := heights[out.pages]
		out.pages++
		readStream(t, body, ht, &out, num)
	}
	if out.pages != len(heights) {
		t.Fatalf("%d page streams, %d pages", out.pages, len(heights))
	}
	return out
}

func readStream(t *testing.T, body string, ht float64, out *read, num func(string) float64) {
	var st []float64
	var cur readPath
	type state struct {
		fill, line string
		width      float64
		dash       []float64
		size       float64
	}
	var g state
	var stack []state
	var at Pt
	var shown string
	place := func(x, y float64) Pt { return Pt{x * mmPerPt, (ht - y) * mmPerPt} }
	grey := func() string { v := int(math.Round(st[0] * 255)); return fmt.Sprintf("%02x%02x%02x", v, v, v) }
	rgb := func() string {
		return fmt.Sprintf("%02x%02x%02x", int(math.Round(st[0]*255)), int(math.Round(st[1]*255)), int(math.Round(st[2]*255)))
	}
	for i := 0; i < len(body); {
		c := body[i]
		switch {
		case c == ' ' || c == '\n' || c == '\r':
			i++
			continue
		case c == '(': // a string, UTF-16BE here
			var raw []byte
			for i++; body[i] != ')'; i++ {
				if body[i] == '\\' {
					i++
					if body[i] == 'r' {
						raw = append(raw, '\r')
						continue
					}
				}
				raw = append(raw, body[i])
			}
			i++
			var u []uint16
			for k := 0; k+1 < len(raw); k += 2 {
				u = append(u, uint16(raw[k])<<8|uint16(raw[k+1]))
			}
			shown = string(utf16.Decode(u))
			continue
		case c == '[':
			n := strings.IndexByte(body[i:], ']')
			g.dash = nil
			for _, w := range strings.Fields(body[i+1 : i+n]) {
				g.dash = append(g.dash, num(w)*mmPerPt)
			}
			i += n + 1
			continue
		}
		n := strings.IndexAny(body[i:], " \n\r[(")
		if n < 0 {
			n = len(body) - i
		}
		w := body[i : i+n]
		i += n
		if v, err := strconv.ParseFloat(w, 64); err == nil {
			st = append(st, v)
			continue
		}
		switch w {
		case "q":
			stack = append(stack, g)
		case "Q":
			if len(stack) == 0 {
				t.Fatal("Q without q")
			}
			g, stack = stack[len(stack)-1], stack[:len(stack)-1]
		case "w":
			g.width = st[0] * mmPerPt
		case "g":
			g.fill = grey()
		case "rg":
			g.fill = rgb()
		case "G":
			g.line = grey()
		case "RG":
			g.line = rgb()
		case "m", "l":
			cur.pts = append(cur.pts, place(st[0], st[1]))
		case "c":
			cur.pts, cur.curves = append(cur.pts, place(st[4], st[5])), cur.curves+1
		case "h":
			cur.shut = true
		case "re":
			a, b := place(st[0], st[1]), place(st[0]+st[2], st[1]+st[3])
			cur.pts = []Pt{a, b}
		case "W":
			a, b := cur.pts[0], cur.pts[1]
			out.clips = append(out.clips, Rect{math.Min(a.X, b.X), math.Min(a.Y, b.Y), math.Abs(a.X - b.X), math.Abs(a.Y - b.Y)})
		case "n":
			cur = readPath{}
		case "S", "f", "B":
			if w != "S" {
				cur.fill = g.fill
			}
			if w != "f" {
				cur.line, cur.width, cur.dash = g.line, g.width, g.dash
			}
			out.paths, cur = append(out.paths, cur), readPath{}
		case "Tf":
			g.size = st[len(st)-1]
		case "Td":
			at = place(st[0], st[1])
		case "Tj":
			out.texts = append(out.texts, readText{at, g.size, shown, g.fill})
		case "d", "J", "j", "BT", "ET":
		default:
			if w[0] != '/' {
				t.Fatalf("unknown operator %q", w)
			}
		}
		if w[0] != '/' {
			st = nil
		}
	}
	if len(stack) != 0 {
		t.Fatalf("%d groups are never ended", len(stack))
	}
}

// readSVG reads by the XML reader of the standard library.
func readSVG(t *testing.T, file []byte) read {
	t.Helper()
	var out read
	num := func(w string) float64 {
		v, err := strconv.ParseFloat(strings.TrimSuffix(w, "mm"), 64)
		if err != nil {
			t.Fatalf("%q is no number", w)
		}
		return v
	}
	d := xml.NewDecoder(bytes.NewReader(file))
	depth := 0
	var text *readText
	var anchor string
	var length float64
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := tok.(type) {
		case xml.CharData:
			if text != nil {
				text.words += string(e)
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "svg":
				depth--
			case "text":
				switch anchor {
				case "middle":
					text.at.X -= length / 2
				case "end":
					text.at.X -= length
				}
				out.texts, text = append(out.texts, *text), nil
			}
		case xml.StartElement:
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
			}
			colour := func(k string) string { return strings.TrimPrefix(at[k], "#") }
			switch e.Name.Local {
			case "svg":
				switch depth++; {
				case depth == 1:
					out.w, out.h = num(at["width"]), num(at["height"])
				case depth == 2:
					out.pages++
				case at["viewBox"] != "":
					if want := at["x"] + " " + at["y"] + " " + at["width"] + " " + at["height"]; want != at["viewBox"] {
						t.Errorf("a clip that moves or scales: %s, %s", want, at["viewBox"])
					}
					out.clips = append(out.clips, Rect{num(at["x"]), num(at["y"]), num(at["width"]), num(at["height"])})
				}
			case "path":
				if strings.Contains(at["d"], "H") {
					continue // the paper
				}
				p := readPath{fill: colour("fill"), line: colour("stroke")}
				if at["stroke-width"] != "" {
					p.width = num(at["stroke-width"])
				}
				for _, w := range strings.Fields(at["stroke-dasharray"]) {
					p.dash = append(p.dash, num(w))
				}
				for _, m := range regexp.MustCompile(`[MLCZ][^MLCZ]*`).FindAllString(at["d"], -1) {
					v := strings.Fields(m[1:])
					switch m[0] {
					case 'Z':
						p.shut = true
						continue
					case 'C':
						p.curves++
					}
					p.pts = append(p.pts, Pt{num(v[len(v)-2]), num(v[len(v)-1])})
				}
				out.paths = append(out.paths, p)
			case "text":
				text = &readText{at: Pt{num(at["x"]), num(at["y"])}, size: num(at["font-size"]) / mmPerPt, fill: colour("fill")}
				anchor, length = at["text-anchor"], num(at["textLength"])
			case "title":
			default:
				t.Errorf("unknown element %s", e.Name.Local)
			}
		}
	}
	return out
}
