package turnout

import (
	"fmt"
	"math"
	"strconv"
)

// HeatIndex is the simple comfort figure: °F plus relative humidity in per cent.
// It ranks cool damp days too high; it warns, no more.
func HeatIndex(airC, humidity float64) float64 { return airC*9/5 + 32 + humidity }

// WetBulbGlobe is the wet bulb globe temperature for horses, °C, from a wet bulb
// and a black globe: 0.7·wet + 0.3·globe (Schroter & Marlin 1995, Equine Vet. J.).
func WetBulbGlobe(wetC, globeC float64) float64 { return 0.7*wetC + 0.3*globeC }

// VapourPressure is the water vapour in air, hPa, from °C and relative humidity %.
func VapourPressure(airC, humidity float64) float64 {
	return humidity / 100 * 6.105 * math.Exp(17.27*airC/(237.7+airC))
}

// EstimatedWBGT is the wet bulb globe temperature without a globe, °C (Bureau of
// Meteorology): 0.567·T + 0.393·e + 3.94. It takes moderate sun and light wind,
// and reads too high under cloud, in wind and at night.
func EstimatedWBGT(airC, humidity float64) float64 {
	return 0.567*airC + 0.393*VapourPressure(airC, humidity) + 3.94
}

// Heat is what the air says, with both limits where sources differ.
type Heat struct {
	AirC     float64  `json:"air_c"`
	Humidity float64  `json:"humidity_percent"`
	Index    float64  `json:"index"`    // °F + %
	WBGT     float64  `json:"wbgt_c"`   // °C
	Measured bool     `json:"measured"` // WBGT from wet bulb and globe, not estimated
	WetC     float64  `json:"wet_bulb_c,omitempty"`
	GlobeC   float64  `json:"globe_c,omitempty"`
	IndexIs  string   `json:"index_is"`  // what the index says
	WBGTIs   string   `json:"wbgt_is"`   //
	Limits   []string `json:"limits"`    // the limits with their sources
	Cautions []string `json:"cautions"`  // what the usual cautions are
	Worst    Verdict  `json:"verdict"`   // good, look or no, by the stricter of all
	Doubt    string   `json:"conflicts"` // where the sources differ and it matters today
}

// HeatOf reads the air: °C in the shade and relative humidity in per cent. ok is
// false for what no weather is.
func HeatOf(airC, humidity float64) (h Heat, ok bool) {
	if !(airC >= -40 && airC <= 60 && humidity >= 0 && humidity <= 100) {
		return Heat{}, false
	}
	return heat(airC, humidity, EstimatedWBGT(airC, humidity), false), true
}

// HeatMeasured is the same with a wet bulb and a black globe, °C.
func HeatMeasured(airC, humidity, wetC, globeC float64) (h Heat, ok bool) {
	if _, ok := HeatOf(airC, humidity); !ok || !(wetC >= -40 && wetC <= 60 && globeC >= -40 && globeC <= 100) {
		return Heat{}, false
	}
	h = heat(airC, humidity, WetBulbGlobe(wetC, globeC), true)
	h.WetC, h.GlobeC = wetC, globeC
	return h, true
}

func heat(airC, humidity, wbgt float64, measured bool) Heat {
	h := Heat{AirC: airC, Humidity: humidity, Index: HeatIndex(airC, humidity), WBGT: wbgt, Measured: measured, Worst: Good}
	worse := func(v Verdict) {
		if rank(v) > rank(h.Worst) {
			h.Worst = v
		}
	}
	switch i := h.Index; {
	case i >= 180:
		h.IndexIs = "180 or more: a horse's own cooling is almost useless; do not work"
		worse(No)
	case i > 150:
		h.IndexIs = "over 150: cooling by sweat is reduced; watch for signs of heat"
		if humidity > i/2 {
			h.IndexIs += ", all the more as humidity is over half of the sum"
		}
		worse(Look)
	case i >= 130:
		h.IndexIs = "130 to 150: the horse wants cooling after work"
		worse(Look)
	case i >= 120:
		h.IndexIs = "120 to 130: enough cooling by one limit, not by the stricter"
		h.Doubt = "the sources' limit for carefree work is 130 (AAEP wording) or 120 (2007 and 2012 articles)"
		worse(Look)
	case humidity > 75:
		h.IndexIs = "under 120, but over 75 % humidity cooling by sweat suffers"
		worse(Look)
	default:
		h.IndexIs = "under 120: natural cooling is enough by both limits"
	}
	switch {
	case wbgt > 33:
		h.WBGTIs = "over 33: high risk, perhaps not to be driven at all; a vet's advice first"
		worse(No)
	case wbgt > 32.5:
		h.WBGTIs = "over 32.5: beyond the published limit even for fit horses used to the heat, on good going"
		h.Doubt = "limits differ: 32.5 (Schroter & Marlin 1995), over 33 (Australian federation 2019); 33.8 was met and managed with special measures in 2024"
		worse(No)
	case wbgt >= 28:
		h.WBGTIs = "28 or more: special measures (shorter work, shade, water, cooling)"
		worse(Look)
	default:
		h.WBGTIs = "under 28: no special measures by this figure"
	}
	h.Limits = []string{
		"°F + %: under 130, 130 to 150, over 150, 180 (extension leaflet and AAEP wording, read; 120 instead of 130 in older articles, read)",
		"WBGT 28 °C special measures (FEI practice, 2024 report, read); 32.5 °C upper limit for fit, used horses on good going (Schroter & Marlin 1995, abstract read); over 33 °C high risk (Australian federation 2019, read)",
	}
	if !measured {
		h.Limits = append(h.Limits, "WBGT is estimated without a globe (Bureau of Meteorology, read): too high under cloud, in wind and at night, too low in strong sun")
	}
	h.Cautions = []string{
		"Unfit, heavy, old, clipped-late or newly come horses suffer earlier.",
		"Shade, water to drink, water over the body again and again, moving air; shorter work or none.",
		"Signs of heat are for the vet: stop, cool, call. The vet decides, and the organiser's rules.",
	}
	return h
}

// HeatCheck puts the air among the checks.
func HeatCheck(h Heat) Check {
	how := "estimated"
	working := fmt.Sprintf("e = %s hPa; 0.567 × %s + 0.393 e + 3.94 = %s °C", oneDigit(VapourPressure(h.AirC, h.Humidity)), oneDigit(h.AirC), oneDigit(h.WBGT))
	if h.Measured {
		how, working = "measured", fmt.Sprintf("0.7 × %s + 0.3 × %s = %s °C", oneDigit(h.WetC), oneDigit(h.GlobeC), oneDigit(h.WBGT))
	}
	return Check{
		Name: "heat", Verdict: h.Worst, Number: pointer(h.WBGT), Unit: "°C WBGT", Limit: pointer(28.0), Source: "both indices with both limits, see the working", Sure: ReadThere,
		Says: fmt.Sprintf("WBGT %s °C (%s): %s. °F + %% is %s: %s. The vet decides.", oneDigit(h.WBGT), how, h.WBGTIs, oneDigit(h.Index), h.IndexIs),
		Working: append([]string{
			fmt.Sprintf("%s °C × 9/5 + 32 + %s %% = %s", oneDigit(h.AirC), oneDigit(h.Humidity), oneDigit(h.Index)),
			working,
		}, h.Limits...),
	}
}

func oneDigit(f float64) string { return strconv.FormatFloat(math.Round(f*10)/10, 'f', -1, 64) }
