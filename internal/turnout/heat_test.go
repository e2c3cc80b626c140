package turnout

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Bureau of Meteorology's estimate: e and WBGT; the first is what an Australian
// federation (2019) calls about 33, the second what it calls too much.
func TestWBGT(t *testing.T) {
	for _, c := range []struct{ air, rh, e, wbgt float64 }{{32, 60, 28.428, 33.26}, {40, 25, 18.364, 33.84}, {25, 50, math.NaN(), 24.32}} {
		if !math.IsNaN(c.e) {
			near(t, "e", VapourPressure(c.air, c.rh), c.e, 1e-3)
		}
		near(t, "WBGT", EstimatedWBGT(c.air, c.rh), c.wbgt, 0.01)
	}
	// Schroter & Marlin 1995: 0.7 wet bulb + 0.3 globe.
	near(t, "with a globe", WetBulbGlobe(25, 40), 29.5, 1e-9)
}

// °F + %: limits 130 (AAEP wording) and 120 (older articles), 150, 180.
func TestHeatIndex(t *testing.T) {
	for _, c := range []struct {
		f, rh, index float64
		says         string
	}{
		{70, 90, 160, "over 150"}, {100, 80, 180, "180 or more"}, {60, 50, 110, "under 120"}, {70, 55, 125, "120 to 130"}, {70, 65, 135, "130 to 150"}, {30, 80, 110, "75 %"},
	} {
		h, ok := HeatOf((c.f-32)*5/9, c.rh)
		if !ok || math.Abs(h.Index-c.index) > 1e-9 || !strings.Contains(h.IndexIs, c.says) {
			t.Errorf("%v °F, %v %%: %+v", c.f, c.rh, h)
		}
	}
	if h, _ := HeatOf((70.0-32)*5/9, 55); h.Doubt == "" || h.Worst != Look {
		t.Errorf("between the limits both are told: %+v", h)
	}
	for _, c := range []struct {
		air, rh float64
		want    Verdict
	}{{32, 60, No}, {40, 25, No}, {25, 50, Look}, {15, 40, Good}} {
		if h, _ := HeatOf(c.air, c.rh); h.Worst != c.want {
			t.Errorf("%v °C, %v %%: %s", c.air, c.rh, h.Worst)
		}
	}
}

func TestHotterIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		air, rh := rapid.Float64Range(0, 45).Draw(t, "air"), rapid.Float64Range(0, 74).Draw(t, "rh")
		a, _ := HeatOf(air, rh)
		b, _ := HeatOf(air+rapid.Float64Range(0, 10).Draw(t, "more"), rh)
		if rank(b.Worst) < rank(a.Worst) || b.WBGT < a.WBGT {
			t.Fatalf("%+v, hotter %+v", a, b)
		}
	})
	if _, ok := HeatOf(math.NaN(), 50); ok {
		t.Error("no temperature is no weather")
	}
	if _, ok := HeatOf(20, 101); ok {
		t.Error("101 % is no humidity")
	}
}
