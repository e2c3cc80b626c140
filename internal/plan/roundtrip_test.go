package plan

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/geom"
)

// randomPlan draws a valid plan: one gate, thing or cone to a cell of 20 m, so
// that nothing stands in anything else's way.
func randomPlan(t *rapid.T) *Plan {
	const cells, cell = 10, 20.0
	name := rapid.SampledFrom([]string{"Lower field", "N", "no", "null", "12", "0x1", "a: b", "# 1", "Wiese, groß", "日本", `say "hé"`, "- x", "{", "true"})
	next := 0
	free := func() geom.Vec {
		next++
		at := geom.Vec{X: float64(next%cells)*cell + cell/2, Y: float64(next/cells)*cell + cell/2}
		d := rapid.Float64Range(-2, 2)
		return at.Add(geom.Vec{X: d.Draw(t, "dx"), Y: d.Draw(t, "dy")})
	}
	pair := func() Pair {
		mid, dir := free(), geom.Bearing(rapid.Float64Range(-4, 4).Draw(t, "bearing")).Dir()
		half := rapid.Float64Range(1.4, 3).Draw(t, "half")
		return Pair{Right: mid.Along(dir, half), Left: mid.Along(dir, -half)}
	}
	bearing := func() geom.Bearing { return geom.Degrees(rapid.Float64Range(-360, 360).Draw(t, "degrees")) }

	p := &Plan{Name: name.Draw(t, "name"), Ground: Ground{Outline: geom.Polygon{{X: 0, Y: 0}, {X: cells * cell, Y: 0}, {X: cells * cell, Y: cells * cell}, {X: -rapid.Float64Range(0, 9).Draw(t, "slant"), Y: cells * cell}}}}
	if rapid.Bool().Draw(t, "arena") {
		p.Arena = &Arena{Size: rapid.SampledFrom([]string{"20x40", "40x80", "30 × 60.5"}).Draw(t, "size"), At: geom.Vec{X: 100, Y: 50}, Bearing: bearing()}
	}
	size := rapid.Float64Range(0, 2)
	for i := range rapid.IntRange(0, 12).Draw(t, "things") {
		th := Thing{ID: fmt.Sprintf("%s %d", name.Draw(t, "id"), i), Kind: rapid.SampledFrom([]string{Post, Tree, Rail, "water", "N"}).Draw(t, "kind"), Drivable: rapid.Bool().Draw(t, "drivable")}
		at := free()
		switch rapid.IntRange(0, 2).Draw(t, "shape") {
		case 0:
			th.At, th.Radius = at, size.Draw(t, "radius")
		case 1:
			th.Path, th.Width = []geom.Vec{at, at.Add(geom.Vec{X: 1, Y: 2}), at.Add(geom.Vec{X: 3, Y: -1})}, size.Draw(t, "width")
		default:
			th.Outline = geom.Polygon{at, at.Add(geom.Vec{X: 3}), at.Add(geom.Vec{X: 1, Y: size.Draw(t, "height") + 0.1})}
		}
		p.Things = append(p.Things, th)
	}
	for i := range rapid.IntRange(0, 2).Draw(t, "hazards") {
		h := Hazard{Name: fmt.Sprint("Hazard ", i+1), MarkerRadius: rapid.Float64Range(0, 0.1).Draw(t, "marker"), In: pair()}
		h.Out = Pair{Right: h.In.Left, Left: h.In.Right}
		if rapid.Bool().Draw(t, "out apart") {
			h.Out = pair()
		}
		for g := range rapid.IntRange(1, 8).Draw(t, "gates") {
			gate := Gate{Letter: string(rune('A' + g)), Pair: pair()}
			if g > 0 && rapid.Bool().Draw(t, "same pair") {
				gate.Pair = h.Gates[g-1].Pair
			}
			if rapid.Bool().Draw(t, "for") {
				gate.For = []string{name.Draw(t, "class"), "VSE"}
			}
			h.Gates = append(h.Gates, gate)
		}
		p.Hazards = append(p.Hazards, h)
	}
	if rapid.Bool().Draw(t, "course") {
		gap := rapid.SampledFrom([]Gap{{ClearanceCM: 30}, {FixedCM: 200.5}, {ClearanceCM: 22.25}, {}})
		c := Course{Name: name.Draw(t, "course name"), Start: pair(), Finish: pair(), ConeRadius: 0.2, Gap: gap.Draw(t, "gap"), MeasureRadius: rapid.Float64Range(1, 9).Draw(t, "measure")}
		c.SpeedMPerMin = rapid.SampledFrom([]map[string]float64{{"default": 220}, {"default": 220, "N": 180}, {"vse": 180.5}}).Draw(t, "speed")
		for n := range rapid.IntRange(1, 9).Draw(t, "cones") {
			g := ConeGate{Number: n + 1}
			if rapid.Bool().Draw(t, "woven") {
				at := free()
				g.Cone, g.Pass = &at, rapid.SampledFrom([]string{"right", "left"}).Draw(t, "pass")
			} else {
				g.At, g.Bearing = free(), bearing()
				if rapid.Bool().Draw(t, "own gap") {
					own := gap.Draw(t, "its gap")
					g.Gap = &own
				}
			}
			c.Gates = append(c.Gates, g)
			if rapid.Bool().Draw(t, "multiple") {
				c.Gates[len(c.Gates)-1].Part = "a"
				g.Part = "b"
				c.Gates = append(c.Gates, g)
			}
		}
		p.Courses = append(p.Courses, c)
	}
	return p
}

func TestEveryValidPlanReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlan(t)
		for form, enc := range map[string]func(*Plan) ([]byte, error){"p.yaml": Encode, "p.json": EncodeJSON} {
			text, err := enc(p)
			if err != nil {
				t.Fatal(err)
			}
			again, _, err := Decode(form, text)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			if !reflect.DeepEqual(p, again) {
				t.Fatalf("%s\n%+v\nreads back as\n%+v", text, p, again)
			}
		}
	})
}

// Whatever the text: no panic, and either faults with rule, place and message,
// or a plan that reads back the same.
func FuzzDecode(f *testing.F) {
	files := exampleFiles(f)
	bad, _ := filepath.Glob("testdata/bad/*.yaml")
	for _, file := range append(files, bad...) {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add(contract)
	f.Fuzz(func(t *testing.T, text string) {
		p, _, err := Decode("f.yaml", []byte(text))
		if err != nil {
			var ft *fault.Fault
			if p != nil || !errors.As(err, &ft) || ft.Rule == "" || ft.Place == "" || ft.Message == "" {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		written, err := Encode(p)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		again, _, err := Decode("again.yaml", written)
		if err != nil || !reflect.DeepEqual(p, again) {
			t.Fatalf("%q\nwritten %s\n%v: %+v\nwant %+v", text, written, err, again, p)
		}
	})
}

func BenchmarkDecodeGrid(b *testing.B) {
	text, err := os.ReadFile("../../examples/plans/grid-6x6.yaml")
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, _, err := Decode("grid", text); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecodeTwoThousandThings(b *testing.B) {
	p := &Plan{Name: "Many", Ground: Ground{Outline: geom.Polygon{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 200}, {X: 0, Y: 200}}}}
	for i := range MaxThings {
		p.Things = append(p.Things, Thing{ID: fmt.Sprint("p", i), Kind: Post, At: geom.Vec{X: float64(i%50) * 4, Y: float64(i/50) * 4}, Radius: 0.06})
	}
	for _, c := range []struct {
		name string
		enc  func(*Plan) ([]byte, error)
	}{{"YAML", Encode}, {"JSON", EncodeJSON}} {
		b.Run(c.name, func(b *testing.B) {
			text, err := c.enc(p)
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				if _, _, err := Decode("many", text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
