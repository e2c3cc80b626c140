package turnout

import (
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/testkit"
)

// A pair's card asks for pole straps and a cart's for balance, and not the other
// way round; every card is one side of A4 (66 lines of ten points), begins with
// the same three lines, and calls nothing safe.
func TestCards(t *testing.T) {
	for _, c := range []struct {
		turnout      string
		must, mustnt []string
	}{
		{"vse-cart", []string{"BALANCE", "a few pounds on the tugs", "Holdbacks", "Tips at the point of shoulder", "No brake", "Very small", "pressure"}, []string{"Pole", "POLE", "Leaders", "Coupling", "Fifth wheel", "King", "Iron tyres"}},
		{"single", []string{"Fifth wheel", "Holdbacks", "Brake holds", "Full collar", "DUE  hub bearings", "NO   spare trace"}, []string{"BALANCE", "POLE", "Leaders", "Coupling", "Very small", "pressure"}},
		{"pair", []string{"Pole straps even", "Coupling reins", "farthest horse"}, []string{"BALANCE", "SHAFTS", "Tugs", "Holdbacks", "Leaders", "Lead bars", "Very small"}},
		{"tandem", []string{"BALANCE", "SHAFTS", "Leaders' reins", "Leader's traces", "NO   whip"}, []string{"POLE", "Lead bars", "Coupling", "Fifth wheel"}},
		{"four", []string{"Lead bars", "Pole straps even", "Leaders' reins", "Coupling"}, []string{"BALANCE", "SHAFTS", "Tugs", "Holdbacks"}},
		{"phaeton", []string{"Where the wheel meets the body", "Iron tyres", "No brake"}, []string{"BALANCE", "POLE", "pressure", "Tyres: age"}},
	} {
		card, err := NewCard(full(t, c.turnout), CardOptions{Conditions: Conditions{Today: theDay}})
		if err != nil {
			t.Fatal(err)
		}
		text := card.Text()
		testkit.Golden(t, "card-"+c.turnout+".txt", []byte(text))
		for _, w := range c.must {
			if !strings.Contains(text, w) {
				t.Errorf("%s: the card does not say %q", c.turnout, w)
			}
		}
		for _, w := range c.mustnt {
			if strings.Contains(text, w) {
				t.Errorf("%s: the card says %q, which does not apply", c.turnout, w)
			}
		}
		lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
		if len(lines) > 66 {
			t.Errorf("%s: %d lines do not fit on one side", c.turnout, len(lines))
		}
		for _, l := range lines {
			if utf8.RuneCountInString(l) > cardWidth {
				t.Errorf("%s: too wide: %q", c.turnout, l)
			}
		}
		all := text + card.ProcedureText()
		if strings.Contains(strings.ToLower(all), "safe") {
			t.Errorf("%s: it says safe", c.turnout)
		}
		if len(card.First) != 3 || !strings.Contains(card.First[0], "at the head") || !strings.Contains(card.First[1], "Bridle and reins on before") || !strings.Contains(card.First[2], "Driver first in, last out, reins in hand") {
			t.Errorf("%s: first lines %q", c.turnout, card.First)
		}
		// The first lines come before everything that is looked at.
		if strings.Index(text, card.First[2]) > strings.Index(text, "[ ]") {
			t.Errorf("%s: the first lines do not come first", c.turnout)
		}
	}
}

func TestGreenDriverHasALineMore(t *testing.T) {
	plain, err := NewCard(full(t, "single"), CardOptions{})
	if err != nil {
		t.Fatal(err)
	}
	green, err := NewCard(full(t, "single"), CardOptions{Green: true})
	if err != nil || plain.Green != "" || !strings.Contains(green.Text(), "stays at the head") {
		t.Errorf("%v: %q", err, green.Green)
	}
}

// Whatever order a school gives, the bridle goes on before the vehicle comes and
// off after it is away, the driver is first in and last out, and taking out
// undoes the joints in reverse.
func TestNoOrderMovesBridleOrDriver(t *testing.T) {
	files, err := filepath.Glob("testdata/full/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no turnouts")
	}
	rapid.Check(t, func(t *rapid.T) {
		tn, _, err := Load(rapid.SampledFrom(files).Draw(t, "file"))
		if err != nil {
			t.Fatal(err)
		}
		joints := rapid.Permutation(tn.Joints()).Draw(t, "joints")
		on, err := tn.PuttingTo(joints)
		if err != nil {
			t.Fatal(err)
		}
		off, err := tn.TakingOut(joints)
		if err != nil {
			t.Fatal(err)
		}
		at := func(steps []Step, key string) int {
			return slices.IndexFunc(steps, func(s Step) bool { return s.Key == key })
		}
		if at(on, AtHead) != 0 || at(on, BridleOn) != 1 || at(on, VehicleUp) != 2 || at(on, DriverIn) > at(on, OthersIn) || at(on, HeadLeft) != len(on)-1 {
			t.Fatalf("putting to: %+v", on)
		}
		if at(off, AtHead) != 0 || at(off, OthersOut) > at(off, DriverOut) || at(off, VehicleAway) != len(off)-2 || at(off, BridleOff) != len(off)-1 {
			t.Fatalf("taking out: %+v", off)
		}
		for i, j := range joints {
			if at(on, j) < at(on, VehicleUp) || at(on, j) > at(on, DriverIn) || at(off, j) < at(off, DriverOut) || at(off, j) > at(off, VehicleAway) {
				t.Fatalf("%s out of its place", j)
			}
			if i > 0 && (at(on, j) < at(on, joints[i-1]) || at(off, j) > at(off, joints[i-1])) {
				t.Fatalf("%v is not the order of %+v, or its reverse not that of %+v", joints, on, off)
			}
		}
		for _, s := range append(on, off...) {
			if s.Text == "" {
				t.Fatalf("%s has no words", s.Key)
			}
		}
	})
}

func TestAnOrderThatIsNone(t *testing.T) {
	single := full(t, "single")
	for _, joints := range [][]string{{}, {"traces"}, {"bridle on", "tugs", "traces", "holdbacks"}, {"traces", "traces", "tugs", "holdbacks"}, {"polestraps", "traces"}} {
		var f *fault.Fault
		if steps, err := single.PuttingTo(joints); steps != nil || !errors.As(err, &f) || !strings.Contains(f.Hint, "tugs, traces, holdbacks, bellyband") {
			t.Errorf("%v: %v", joints, err)
		}
	}
}
