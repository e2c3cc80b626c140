package turnout

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"terret/internal/fault"
)

// theDay is a Wednesday late in 2026: the checks never look at a clock.
var theDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

func full(t testing.TB, name string) *Turnout {
	t.Helper()
	tn, _, err := Load(filepath.Join("testdata", "full", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return tn
}

func inspect(t testing.TB, tn *Turnout, c Conditions) map[string]Check {
	t.Helper()
	list, err := Inspect(tn, c)
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]Check{}
	for _, k := range list {
		if _, twice := by[k.Name]; twice && k.Name != "spare trace" {
			t.Errorf("%s is checked twice", k.Name)
		}
		by[k.Name] = k
	}
	return by
}

// What each turnout's checks say, and which do not apply to it.
func TestInspectTurnouts(t *testing.T) {
	for _, c := range []struct {
		turnout string
		want    map[string]Verdict
		lacks   []string
	}{
		{"vse-cart", map[string]Verdict{
			"shaft tips, place": Good, "shaft tips, height": Good, "line of draught": Good, "balance, level": Good, "balance, uphill": Look, "balance, downhill": Good,
			"overturning, level": Good, "overturning, side slope": Good, "least circle, left": Good, "load": Good, "track": Look, "whip": Good, "wheel wrench": Good, "spare trace": Good, "spares": Good, "dress": Good, "height of Acorn": Good, "service": Good, "tyres": Good,
		}, []string{"pole end", "pole straps", "vehicle weight", "leather washers"}},
		{"single", map[string]Verdict{
			"track": Good, "vehicle weight": Good, "spare trace": No, "spares": Look, "leather washers": Look, "tyres": Look, "service": Look, "brake": Good, "wheel wrench": Good,
		}, []string{"balance, level", "pole end", "height of Bramble"}},
		{"pair", map[string]Verdict{
			"track": Look, "vehicle weight": Look, "pole end": Good, "pole straps": Good, "whip": Good, "load": Good, "spares": NotMeasured, "dress": NotMeasured,
		}, []string{"shaft tips, place", "balance, level"}},
		{"tandem", map[string]Verdict{
			"balance, level": No, "whip": No, "track": Look, "shaft tips, place": NotMeasured,
		}, []string{"pole end", "vehicle weight"}},
		{"four", map[string]Verdict{
			"pole straps": Look, "pole end": NotMeasured, "load": NotMeasured, "track": Good, "brake": NotMeasured,
		}, []string{"shaft tips, place", "balance, level", "tyres"}},
		{"phaeton", map[string]Verdict{
			"least circle, left": Look, "brake": Look, "overturning, level": Good, "track": Good,
		}, []string{"tyres", "pole end", "balance, level"}},
	} {
		by := inspect(t, full(t, c.turnout), Conditions{Today: theDay})
		for name, want := range c.want {
			if got, ok := by[name]; !ok || got.Verdict != want {
				t.Errorf("%s, %s: %q, want %q: %s", c.turnout, name, got.Verdict, want, got.Says)
			}
		}
		for _, name := range c.lacks {
			if got, ok := by[name]; ok {
				t.Errorf("%s: %s does not apply: %s", c.turnout, name, got.Says)
			}
		}
	}
}

// The weight on the tugs by hand: cart 190 kg over the axle, 150 kg of people
// 0.12 m behind it, tugs 2.5 m ahead: −18 kg·m / 2.5 m = −7.2 kg. For 2 kg the
// people move (2 + 7.2)·2.5/150 = 0.1533 m forward, or the axle
// (−18 − 5)/(340 − 2) = −0.068 m, that is back.
func TestTandemCartByHand(t *testing.T) {
	c := inspect(t, full(t, "tandem"), Conditions{})["balance, level"]
	near(t, "tugs", *c.Number, -7.2, 1e-9)
	for _, want := range []string{"lift by 7.2 kg", "driver and groom 15 cm forward", "axle 7 cm back"} {
		if !strings.Contains(c.Says, want) {
			t.Errorf("%q is not in %q", want, c.Says)
		}
	}
}

// Whip to the leader of the tandem: 2.4 + 3.0 = 5.4 m, and 1.6 + 3.6 = 5.2 m
// reach; to the far horse of the pair √(2.4² + 0.9²) = 2.563 m.
func TestWhipByHand(t *testing.T) {
	c := inspect(t, full(t, "tandem"), Conditions{})["whip"]
	near(t, "long", *c.Number, 5.2, 1e-9)
	near(t, "wanted", *c.Limit, 5.4, 1e-9)
	near(t, "pair", *inspect(t, full(t, "pair"), Conditions{})["whip"].Limit, 2.5632011, 1e-6)
	near(t, "four", WhipReach(Four, 2.4, 0.9, 3.4), math.Hypot(5.8, 0.9), 1e-12)
}

// The phaeton comes on its lock first: √(2.6² + (1.6/sin 25°)²) = 4.593 m; it
// turns at 4.2 m, guessed to half a metre: 3.7 to 4.7 m.
func TestLockOfTheOldPhaeton(t *testing.T) {
	c := inspect(t, full(t, "phaeton"), Conditions{})["least circle, left"]
	near(t, "least", *c.Limit, 4.5927, 1e-4)
	if !strings.Contains(c.Says, "lock") || !slices.Equal(c.Guessed, []string{"turning.left"}) {
		t.Errorf("%+v", c)
	}
	near(t, "lowest", c.Range[0], 3.7, 1e-9)
	near(t, "highest", c.Range[1], 4.7, 1e-9)
}

func TestConditionsOfTheDay(t *testing.T) {
	single := full(t, "single")
	sand := inspect(t, single, Conditions{Ground: "sand", Slope: 0.12})
	turf := inspect(t, single, Conditions{})
	if *sand["pull, uphill"].Number <= *turf["pull, uphill"].Number || sand["pull, uphill"].Verdict != No || turf["pull, uphill"].Verdict != Good {
		t.Errorf("sand %+v, turf %+v", sand["pull, uphill"], turf["pull, uphill"])
	}
	for gap, want := range map[float64]Verdict{137: No, 150: Look, 160: Good} {
		if got := inspect(t, single, Conditions{GapCM: gap})["gap for cones"]; got.Verdict != want {
			t.Errorf("gap %v: %+v", gap, got)
		}
	}
	// 140 cm of track 20° off square want 149.0 cm.
	near(t, "off square", 140/math.Cos(20*math.Pi/180), 149.0, 0.05)
	if dress := inspect(t, single, Conditions{Marathon: true})["dress"]; !strings.Contains(dress.Says, "back protector") {
		t.Errorf("%+v", dress)
	}
	h, _ := HeatOf(32, 60)
	if got := inspect(t, single, Conditions{Heat: &h})["heat"]; got.Verdict != No || !strings.Contains(got.Says, "vet decides") {
		t.Errorf("%+v", got)
	}
}

func TestBadConditionsAndNumbers(t *testing.T) {
	single := full(t, "single")
	for name, c := range map[string]Conditions{"ground": {Ground: "moon"}, "slope": {Slope: 3}, "side slope": {SideSlope: -1}, "gap": {GapCM: -3}} {
		var f *fault.Fault
		if list, err := Inspect(single, c); list != nil || !errors.As(err, &f) || f.Hint == "" || f.Code != fault.Usage {
			t.Errorf("%s: %v", name, err)
		}
	}
	text := "terret: turnout/1\nname: x\nhitch: single\nsize: horse\nhorse: {nose: 1.3, rump: 1.2, width: 0.65}\nvehicle: {wheels: 2, track: 1.38, hubs: 1.5, shafts: 2.5, lock: 60}\nturning: {left: 4, right: 4}\npace: {speed: 3, lateral: 1.5, gain: 1, loss: 1}\n"
	for extra, place := range map[string]string{
		"whip: {stick: -1}": "whip.stick", "loads: [{what: vehicle, weight: 9000}]": "loads[0].weight", "wheels: {nut_mm: 0}": "wheels.nut_mm", "pole: {end_height: 105}": "pole.end_height",
	} {
		tn, _, err := Decode("x.yaml", []byte(text+extra+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		var f *fault.Fault
		if _, err := Inspect(tn, Conditions{}); !errors.As(err, &f) || f.Place != place || f.Hint == "" {
			t.Errorf("%s: %v", extra, err)
		}
	}
}

func TestTyreCodes(t *testing.T) {
	for written, want := range map[any]string{"3519": "2019-08", 3519.0: "2019-08", 105.0: "2005-01", "2014": "2014-05", 2014.0: "2014-05", 1998.0: "1998-01", "2016-03": "2016-03", "2016-03-20": "2016-03"} {
		f := &facts{text: map[string]string{}, number: map[string]float64{}}
		f.put("wheels.tyre_made", written)
		if made, ok := (&inspection{facts: f}).made(); !ok || made.Format("2006-01") != want {
			t.Errorf("%v: %v %v, want %s", written, made, ok, want)
		}
	}
	for _, written := range []any{"soon", "9999", 7.0, "6019"} {
		f := &facts{text: map[string]string{}, number: map[string]float64{}}
		f.put("wheels.tyre_made", written)
		if made, ok := (&inspection{facts: f}).made(); ok {
			t.Errorf("%v is read as %v", written, made)
		}
	}
}

func TestServiceDue(t *testing.T) {
	care := func(entries ...map[string]any) *Turnout {
		var l []any
		for _, e := range entries {
			l = append(l, e)
		}
		return &Turnout{Extra: Extra{"care": l}}
	}
	due := Due(care(
		map[string]any{"item": "vaccination", "done": "2026-02-20", "every_months": 12.0},
		map[string]any{"item": "hub bearings", "done": "2025-10-01"},
		map[string]any{"item": "hub bearings, wet", "done": "2025-10-01", "wet_since": true},
		map[string]any{"item": "brake", "done": "2026-11-20", "every_km": 200.0, "km_since": 240.0},
		map[string]any{"item": "fifth wheel"},
	), theDay)
	var got []string
	for _, d := range due {
		got = append(got, d.Item)
		if late := map[string]bool{"hub bearings, wet": true, "brake": true, "fifth wheel": true}[d.Item]; d.Late != late {
			t.Errorf("%+v", d)
		}
	}
	if got[len(got)-1] != "hub bearings" || due[len(due)-1].On.Format(time.DateOnly) != "2028-10-01" {
		t.Errorf("%v", due)
	}
}

// Nothing that is said calls anything safe, no check without a word, no limit
// without a source, and every number is one.
func TestWhatTheChecksSay(t *testing.T) {
	files, err := filepath.Glob("testdata/full/*.yaml")
	more, _ := filepath.Glob("../../examples/*/turnouts/*.yaml")
	plain, _ := filepath.Glob("../../examples/turnouts/*.yaml")
	files = append(append(files, more...), plain...)
	if err != nil || len(files) < 15 {
		t.Fatal("the examples are missing")
	}
	h, _ := HeatOf(27, 60)
	for _, file := range files {
		tn, _, err := Load(file)
		if err != nil {
			t.Fatal(err)
		}
		list, err := Inspect(tn, Conditions{Today: theDay, GapCM: 170, Heat: &h})
		if err != nil {
			t.Error(err)
		}
		for _, c := range list {
			text := strings.ToLower(strings.Join(append([]string{c.Name, c.Says, c.Source}, c.Working...), " "))
			if strings.Contains(text, "safe") || strings.Contains(c.Says, "NaN") || strings.Contains(text, "%!") || c.Says == "" {
				t.Errorf("%s: %s: %q", file, c.Name, text)
			}
			if c.Verdict != NotMeasured && (c.Source == "" || c.Sure == "") {
				t.Errorf("%s: %s has no source", file, c.Name)
			}
			if c.Number != nil && (math.IsNaN(*c.Number) || math.IsInf(*c.Number, 0)) {
				t.Errorf("%s: %s: %v", file, c.Name, *c.Number)
			}
		}
	}
}

// A guess never makes a verdict surer, and never turns a no into a good.
func TestGuessingNeverMakesSurer(t *testing.T) {
	names := []string{"vse-cart", "single", "pair", "tandem", "four", "phaeton"}
	keys := []any{"turning", "vehicle", "loads", "horses", "whip", "fit", "wheels", "pace", "leaders"}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(names).Draw(t, "turnout")
		tn, _, err := Load(filepath.Join("testdata", "full", name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		delete(tn.Extra, "guessed")
		sure, err := Inspect(tn, Conditions{Today: theDay})
		if err != nil {
			t.Fatal(err)
		}
		tn.Extra["guessed"] = rapid.SliceOfNDistinct(rapid.SampledFrom(keys), 1, 4, rapid.ID[any]).Draw(t, "guessed")
		guess, err := Inspect(tn, Conditions{Today: theDay})
		guess = slices.DeleteFunc(guess, func(c Check) bool { return strings.HasPrefix(c.Name, "guessed ") })
		if err != nil || len(guess) != len(sure) {
			t.Fatalf("%v: %d checks when guessed, %d when measured", err, len(guess), len(sure))
		}
		for i := range guess {
			g, s := guess[i], sure[i]
			if g.Verdict != s.Verdict && g.Verdict != Look {
				t.Fatalf("%s: %s when guessed, %s when measured", g.Name, g.Verdict, s.Verdict)
			}
			if g.Number != nil && s.Number != nil && *g.Number != *s.Number {
				t.Fatalf("%s: %v when guessed, %v when measured", g.Name, *g.Number, *s.Number)
			}
			if len(g.Range) == 2 && g.Number != nil && g.Name != "gap for cones" && !(g.Range[0] <= *g.Number+1e-9 && *g.Number <= g.Range[1]+1e-9) {
				t.Fatalf("%s: %v is not in %v", g.Name, *g.Number, g.Range)
			}
		}
	})
}

func BenchmarkInspect(b *testing.B) {
	tn := full(b, "single")
	for b.Loop() {
		if _, err := Inspect(tn, Conditions{Today: theDay}); err != nil {
			b.Fatal(err)
		}
	}
}

func TestAGuessThatNamesNothingIsTold(t *testing.T) {
	tn := full(t, "single")
	tn.Extra["guessed"] = []any{"turning", "vehicle.cg_height", "loads", "horse", "pace.lateral", "loads[0].weight", "vehicle.heigth", "bananas", "whip.reach"}
	by := inspect(t, tn, Conditions{})
	for _, g := range []string{"vehicle.heigth", "bananas", "whip.reach"} {
		if c, ok := by[`guessed "`+g+`"`]; !ok || c.Verdict != Look {
			t.Errorf("%s: %+v", g, c)
		}
	}
	n := 0
	for name := range by {
		if strings.HasPrefix(name, `guessed "`) {
			n++
		}
	}
	if n != 3 {
		t.Errorf("%d guesses are told of", n)
	}
}

func TestTracesShorterThanTheRise(t *testing.T) {
	tn := full(t, "single")
	tn.Extra["fit"].(map[string]any)["traces"] = 0.2
	if c := inspect(t, tn, Conditions{})["line of draught"]; c.Verdict != Look || !strings.Contains(c.Says, "measure again") {
		t.Errorf("%+v", c)
	}
}

// Whatever a readable turnout holds, the checks and the card end in a fault or in
// an answer that can be written, and never in a panic.
func FuzzInspect(f *testing.F) {
	files, err := filepath.Glob("testdata/full/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatal("no turnouts")
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		tn, _, err := Decode("f.yaml", []byte(text))
		if err != nil {
			return
		}
		card, err := NewCard(tn, CardOptions{Conditions: Conditions{Today: theDay}})
		if err != nil {
			var ft *fault.Fault
			if !errors.As(err, &ft) || ft.Place == "" || ft.Hint == "" {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		list, err := Inspect(tn, Conditions{Today: theDay})
		if err != nil {
			t.Fatalf("%q: a card and no checks: %v", text, err)
		}
		if _, err := json.Marshal([]any{list, card}); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
	})
}
