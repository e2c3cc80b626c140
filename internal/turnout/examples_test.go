package turnout

import (
	"path/filepath"
	"reflect"
	"testing"
)

// The ranges of length (nose to the back of the vehicle) and of turning radius
// (tight at a walk to easy at a trot) are estimates for each kind of turnout;
// the least track is published (docs: see the comment in each file).
var kinds = map[string]struct{ short, long, tight, easy, track float64 }{
	"vse-cart.yaml":          {2.8, 3.3, 2, 4, 0},
	"pony-two-wheel.yaml":    {3.5, 4.2, 2.5, 5, 1.25},
	"single-four-wheel.yaml": {4.8, 5.5, 3, 5.5, 1.38},
	"pair.yaml":              {5.0, 6.2, 4, 7, 1.25},
	"tandem.yaml":            {7.5, 9, 5, 8, 1.25},
	"four-in-hand.yaml":      {9.5, 11.5, 6, 10, 1.25},
}

func TestEveryExampleIsPlausibleWithoutWarningsAndRoundTrips(t *testing.T) {
	files, err := filepath.Glob("../../examples/turnouts/*.yaml")
	if err != nil || len(files) != len(kinds) {
		t.Fatalf("%d example turnouts, want %d (%v)", len(files), len(kinds), err)
	}
	for _, f := range files {
		tn, warnings, err := Load(f)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, w := range warnings {
			t.Error(w)
		}
		k, ok := kinds[filepath.Base(f)]
		if !ok {
			t.Errorf("%s: no kind", f)
		}
		// The wheels reach behind the last axle by their radius, 0.35 to 0.55 m.
		if l := tn.Front() + tn.Back(); l+0.55 < k.short || l+0.35 > k.long {
			t.Errorf("%s: %.2f m from nose to last axle is not %v to %v m with the wheels", f, l, k.short, k.long)
		}
		if r := tn.Turning; r.Left < k.tight || r.Left > k.easy || r.Right < k.tight || r.Right > k.easy {
			t.Errorf("%s: turning %v", f, r)
		}
		if tn.Vehicle.Track < k.track {
			t.Errorf("%s: track %v", f, tn.Vehicle.Track)
		}
		for _, p := range []string{"walk", "slow", "working", "strong"} {
			if _, err := tn.WithPace(p); err != nil {
				t.Errorf("%s: %v", f, err)
			}
		}
		text, err := Encode(tn)
		if err != nil {
			t.Fatal(err)
		}
		if again, _, err := Decode(f, text); err != nil || !reflect.DeepEqual(tn, again) {
			t.Errorf("%s does not round-trip: %v\n%s", f, err, text)
		}
	}
}
