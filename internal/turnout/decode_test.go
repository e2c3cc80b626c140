package turnout

import (
	"errors"
	"math"
	"os"
	"reflect"
	"strings"
	"testing"

	"terret/internal/fault"
)

// contract is the example of docs/files.md with every optional section.
const contract = `terret: turnout/1
name: Bay cob, four-wheel
hitch: single            # single | pair | tandem | four
size: horse              # vse | pony | horse
horse: {nose: 1.3, rump: 1.2, width: 0.65, apart: 0.9, bend: 40}
leaders: {ahead: 3.2}    # tandem, four
vehicle: {wheels: 4, track: 1.38, hubs: 1.50, shafts: 2.6, wheelbase: 1.5, body: 1.1, lock: 60, cg_height: 0.9}
turning: {left: 3.5, right: 4.0}
pace: {speed: 3.6, lateral: 2.0, gain: 0.8, loss: 1.0}
paces: {walk: 1.7, slow trot: 2.8, working trot: 3.6, strong trot: 4.6}
margin: 0.05
measured: {by: A. Example, on: 2026-05-01}
guessed: [horse.bend, vehicle.cg_height]
horses: [{name: Example Cob, height_cm: 152, weight: 560, shoulder_point_height: 1.02, shoed: true}]
fit: {tip_past_shoulder_point: -0.02, tip_height: 1.0, shaft_angle: 3}
loads: [{what: driver, weight: 75, from_axle: 0.1, height: 1.2}]
pole: {end_height: 0.9, straps: even}
whip: {stick: 1.5, thong: 1.6, hand_to_near_shoulder: 2.4}
wheels: {nut_mm: 46, recessed: true, wrench_mm: 46, wrench_reaches_recess: true, left_hand_thread: false, washers: 2, tyre: solid rubber, tyre_made: 2019}
spares: [rein, hoof pick, sharp knife]
dress: [hat, gloves, apron]
care: [{item: bearings, done: "2026-03-01", every_months: 12, every_km: 500}]
`

func TestTheContractsExampleIsReadAndRoundTrips(t *testing.T) {
	got, warnings, err := Decode("cob.yaml", []byte(contract))
	if err != nil {
		t.Fatal(err)
	}
	// 2.6 m shafts at 3.5 m stand asin(2.6/3.5) = 48° to the line.
	var rules []string
	for _, w := range warnings {
		rules = append(rules, w.Rule)
	}
	if !reflect.DeepEqual(rules, []string{"leaders", "hitch-angle"}) {
		t.Errorf("warnings: %v", warnings)
	}
	if got.Ahead != 0 || got.Horse.Bend != rad(40) || got.Vehicle.Lock != rad(60) || got.Pace.Lateral != (Hands{2, 2}) {
		t.Errorf("read as %+v", got)
	}
	if w := got.Extra["wheels"].(map[string]any); w["nut_mm"] != 46.0 || w["recessed"] != true || w["tyre"] != "solid rubber" {
		t.Errorf("wheels are read as %v", w)
	}
	for _, enc := range []func(*Turnout) ([]byte, error){Encode, EncodeJSON} {
		text, err := enc(got)
		if err != nil {
			t.Fatal(err)
		}
		again, _, err := Decode("again", text)
		if err != nil || !reflect.DeepEqual(got, again) {
			t.Errorf("%v: %+v\nwant %+v\n%s", err, again, got, text)
		}
	}
}

func TestDefaults(t *testing.T) {
	text := edit(contract, "bend: 40", "", "apart: 0.9, ", "apart: 0.9", "margin: 0.05\n", "")
	got, _, err := Decode("cob.yaml", []byte(text))
	if err != nil || got.Horse.Bend != rad(40) || got.Margin != 0.05 {
		t.Errorf("%v: bend %v, margin %v", err, got.Horse.Bend, got.Margin)
	}
}

// edit replaces words in a text; a word that is not there is a slip in the test.
func edit(text string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			panic("not there: " + pairs[i])
		}
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	return text
}

func TestRulesNameThePlace(t *testing.T) {
	for _, c := range []struct {
		about      string
		edit       []string
		rule, path string
		warning    bool
	}{
		{"turning radius 0", []string{"left: 3.5", "left: 0"}, "turning-radius", "cob.yaml:8: turning.left", false},
		{"negative speed", []string{"speed: 3.6", "speed: -3.6"}, "pace-speed", "cob.yaml:9: pace.speed", false},
		{"no side force", []string{"lateral: 2.0", "lateral: 0"}, "pace-lateral", "cob.yaml:9: pace.lateral", false},
		{"no side force to the right", []string{"lateral: 2.0", "lateral: {left: 1, right: -1}"}, "pace-lateral", "cob.yaml:9: pace.lateral", false},
		{"no gain", []string{"gain: 0.8", "gain: 0"}, "pace-gain", "cob.yaml:9: pace.gain", false},
		{"three wheels", []string{"wheels: 4", "wheels: 3"}, "wheels", "cob.yaml:7: vehicle.wheels", false},
		{"five wheels", []string{"wheels: 4", "wheels: 5"}, "range", "cob.yaml:7: vehicle.wheels", false},
		{"four wheels without wheelbase", []string{"wheelbase: 1.5, ", ""}, "missing-key", "cob.yaml:7: vehicle", false},
		{"two wheels with wheelbase", []string{"wheels: 4", "wheels: 2"}, "wheelbase", "cob.yaml:7: vehicle.wheelbase", true},
		{"two wheels without lock", []string{"wheels: 4", "wheels: 2", "lock: 60, ", ""}, "lock", "cob.yaml:7: vehicle", true},
		{"tandem without leaders", []string{"hitch: single", "hitch: tandem", "leaders: {ahead: 3.2}", "x-leaders: {}"}, "missing-key", "cob.yaml:1", false},
		{"pair without apart", []string{"hitch: single", "hitch: pair", "apart: 0.9, ", ""}, "missing-key", "cob.yaml:5: horse", false},
		{"unknown hitch", []string{"hitch: single", "hitch: triple"}, "word", "cob.yaml:3: hitch", false},
		{"unknown size", []string{"size: horse", "size: Horse"}, "word", "cob.yaml:4: size", false},
		{"lock 0", []string{"lock: 60", "lock: 0"}, "lock", "cob.yaml:7: vehicle.lock", false},
		{"bend 120", []string{"bend: 40", "bend: 120"}, "bend", "cob.yaml:5: horse.bend", false},
		{"bend 50", []string{"bend: 40", "bend: 50"}, "bend", "cob.yaml:5: horse.bend", true},
		{"hubs under track", []string{"hubs: 1.50", "hubs: 1.3"}, "hubs-track", "cob.yaml:7: vehicle.hubs", true},
		{"axle before rump", []string{"shafts: 2.6", "shafts: 1.1"}, "shafts-rump", "cob.yaml:7: vehicle.shafts", true},
		{"no steady turn", []string{"left: 3.5", "left: 3.0"}, "no-steady-turn", "cob.yaml:8: turning.left", true},
		{"little lock", []string{"lock: 60", "lock: 30"}, "lock-steady", "cob.yaml:8: turning.left", true},
		{"leaders in the wheelers", []string{"hitch: single", "hitch: tandem", "ahead: 3.2", "ahead: 2.2"}, "leaders-near", "cob.yaml:6: leaders.ahead", true},
		{"unknown key", []string{"track: 1.38", "trak: 1.38"}, "unknown-key", "cob.yaml:7: vehicle.trak", false},
		{"unknown key in loads", []string{"from_axle", "form_axle"}, "unknown-key", "cob.yaml:16: loads[0].form_axle", false},
		{"unknown key in horses", []string{"shoed: true", "shod: true"}, "unknown-key", "cob.yaml:14: horses[0].shod", true},
		{"NaN", []string{"track: 1.38", "track: .nan"}, "number", "cob.yaml:7: vehicle.track", false},
		{"other version", []string{"turnout/1", "turnout/2"}, "word", "cob.yaml:1: terret", false},
		{"a pace of no speed", []string{"walk: 1.7", "walk: 0"}, "paces", "cob.yaml:10: paces.walk", false},
		{"margin below 0", []string{"margin: 0.05", "margin: -0.05"}, "margin", "cob.yaml:11: margin", false},
	} {
		t.Run(c.about, func(t *testing.T) {
			_, warnings, err := Decode("cob.yaml", []byte(edit(contract, c.edit...)))
			if c.warning {
				if err != nil {
					t.Fatal(err)
				}
				for _, w := range warnings {
					if w.Rule == c.rule && w.Place == c.path {
						return
					}
				}
				t.Fatalf("no warning %q at %q in %v", c.rule, c.path, warnings)
			}
			var f *fault.Fault
			if !errors.As(err, &f) || f.Rule != c.rule || f.Place != c.path {
				t.Errorf("got %v, want rule %q at %q", err, c.rule, c.path)
			}
		})
	}
}

func TestWithPace(t *testing.T) {
	tn, _, err := Decode("cob.yaml", []byte(contract))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]float64{"": 3.6, "walk": 1.7, "slow": 2.8, "Slow Trot": 2.8, "working": 3.6, "strong": 4.6, " strong  trot ": 4.6} {
		got, err := tn.WithPace(name)
		if err != nil || got.Pace.Speed != want {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := tn.WithPace("gallop"); err == nil || !strings.Contains(err.Error(), "slow trot, strong trot, walk, working trot") {
		t.Errorf("gallop: %v", err)
	}
	if tn.Pace.Speed != 3.6 {
		t.Error("the turnout itself was changed")
	}
}

// rad rounds as the reader does; a constant expression would not.
func rad(deg float64) float64 { return deg * math.Pi / 180 }

// The block printed in docs/files.md: what people copy must be read.
func TestTheBlockInTheDocumentIsRead(t *testing.T) {
	page, err := os.ReadFile("../../docs/files.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(page), "```yaml\nterret: turnout/1")
	block, _, found := strings.Cut(rest, "```")
	if !found {
		t.Fatal("there is no turnout in docs/files.md")
	}
	if _, _, err := Decode("files.md", []byte("terret: turnout/1"+block)); err != nil {
		t.Error(err)
	}
}
