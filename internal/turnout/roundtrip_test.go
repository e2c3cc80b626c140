package turnout

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
)

// randomTurnout draws a valid turnout.
func randomTurnout(t *rapid.T) *Turnout {
	from := func(lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, "x") }
	name := rapid.SampledFrom([]string{"Bay cob", "N", "no", "12", "null", "grüner Wagen", "a: b", "true", "# 3"})
	tn := &Turnout{
		Name:  name.Draw(t, "name"),
		Hitch: rapid.SampledFrom([]string{Single, PairH, Tandem, Four}).Draw(t, "hitch"),
		Size:  rapid.SampledFrom([]string{VSE, Pony, HorseSize}).Draw(t, "size"),
		Horse: Horse{Nose: from(0.7, 2), Rump: from(0.5, 2), Width: from(0.3, 1), Bend: rad(from(0, 90))},
		Vehicle: Vehicle{
			Wheels: rapid.SampledFrom([]int{2, 4}).Draw(t, "wheels"), Track: from(0.5, 2), Hubs: from(0.5, 2), Shafts: from(0.5, 4),
			Lock: rad(from(1, 180)), CGHeight: rapid.SampledFrom([]float64{0, 0.9}).Draw(t, "cg"),
		},
		Turning: Hands{from(0.5, 9), from(0.5, 9)},
		Pace:    Pace{Speed: from(0.1, 9), Lateral: Hands{from(0.1, 9), from(0.1, 9)}, Gain: from(0.1, 3), Loss: from(0.1, 3)},
		Paces:   rapid.SampledFrom([]map[string]float64{nil, {"walk": 1.7, "on": 3}}).Draw(t, "paces"),
		Margin:  from(0, 1),
		Extra:   rapid.SampledFrom([]Extra{nil, {"spares": []any{"rein", map[string]any{"what": "N", "n": 2.0}}, "wheels": map[string]any{"recessed": true, "tyre": "12"}}}).Draw(t, "extra"),
	}
	if rapid.Bool().Draw(t, "same hands") {
		tn.Pace.Lateral.Right = tn.Pace.Lateral.Left
	}
	if tn.Abreast() {
		tn.Horse.Apart = from(0.5, 2)
	}
	if tn.HasLeaders() {
		tn.Ahead = from(0.5, 5)
	}
	if tn.Vehicle.Wheels == 4 {
		tn.Vehicle.Wheelbase, tn.Vehicle.Body = from(0.5, 3), from(0, 2)
	}
	return tn
}

func TestEveryValidTurnoutReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := randomTurnout(t)
		for form, enc := range map[string]func(*Turnout) ([]byte, error){"t.yaml": Encode, "t.json": EncodeJSON} {
			text, err := enc(tn)
			if err != nil {
				t.Fatal(err)
			}
			again, _, err := Decode(form, text)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			if !reflect.DeepEqual(tn, again) {
				t.Fatalf("%s\n%+v\nreads back as\n%+v", text, tn, again)
			}
		}
	})
}

// Whatever the text: no panic, and either faults with rule, place and message,
// or a turnout that reads back the same.
func FuzzDecode(f *testing.F) {
	files, err := filepath.Glob("../../examples/turnouts/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatal("the examples are missing")
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add(contract)
	f.Fuzz(func(t *testing.T, text string) {
		tn, _, err := Decode("f.yaml", []byte(text))
		if err != nil {
			var ft *fault.Fault
			if tn != nil || !errors.As(err, &ft) || ft.Rule == "" || ft.Place == "" || ft.Message == "" {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		written, err := Encode(tn)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		again, _, err := Decode("again.yaml", written)
		if err != nil || !reflect.DeepEqual(tn, again) {
			t.Fatalf("%q\nwritten %s\n%v: %+v\nwant %+v", text, written, err, again, tn)
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	text := []byte(contract)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, _, err := Decode("t", text); err != nil {
			b.Fatal(err)
		}
	}
}
