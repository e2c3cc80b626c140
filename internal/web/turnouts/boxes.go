package turnouts

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// A box of the turnout's form holds one value of the file. Which there are, what
// they are called and what unit they have is this table.

// unit is what a number in the file is counted in.
type unit string

const (
	inMetres  unit = "m"
	inCM      unit = "cm"
	inMM      unit = "mm"
	inKG      unit = "kg"
	inDegrees unit = "°"
	inSpeed   unit = "m/s"
	inForce   unit = "m/s²"
	inMonths  unit = "months"
	inKM      unit = "km"
	asText    unit = "text"
	asYesNo   unit = "yes or no"
	asDay     unit = "day"
)

// boxKind is one row of the table.
type boxKind struct {
	Key   string // path in the file, such as vehicle.track
	Label string
	Unit  unit
	Hint  string // how to measure it, in a few words
	Guess bool   // it may be marked as guessed
}

// boxGroup is one part of the form.
type boxGroup struct {
	Name, Says string
	Boxes      []boxKind
	If         func(form map[string]string) bool // nil: always
	Open       bool                              // shown unfolded
}

func abreast(f map[string]string) bool { return f["hitch"] == "pair" || f["hitch"] == "four" }
func shafted(f map[string]string) bool { return !abreast(f) }
func leading(f map[string]string) bool { return f["hitch"] == "tandem" || f["hitch"] == "four" }
func fourWheel(f map[string]string) bool {
	return f["vehicle.wheels"] == "4"
}

// boxGroups is the form from the horse back to the care. What does not apply to
// the hitch or the vehicle is not asked.
func boxGroups(f map[string]string) []boxGroup {
	m := func(key, label, hint string) boxKind { return boxKind{key, label, inMetres, hint, true} }
	all := []boxGroup{
		{Name: "Horse, from the turning point", Says: "The turning point is about the girth, midway between a pair.", Open: true, Boxes: []boxKind{
			m("horse.nose", "To the nose", "from the girth forward"), m("horse.rump", "To the rump", "from the girth back"), m("horse.width", "Width", "at the widest, with harness"),
			m("horse.apart", "Between two abreast", "middle to middle"), {"horse.bend", "Bend", inDegrees, "how far spine and neck give in a turn; 40° is usual (estimate)", true},
			m("leaders.ahead", "Leaders ahead", "from the wheelers' girth to the leaders'"),
		}},
		{Name: "Vehicle", Says: "Track is outside of tyre to outside of tyre, on the ground.", Open: true, Boxes: []boxKind{
			m("vehicle.track", "Track", "outside to outside, on the ground"), m("vehicle.hubs", "Widest part", "over the hubs"), m("vehicle.shafts", "Girth to axle", "back to the (front) axle"),
			m("vehicle.wheelbase", "Wheelbase", "front axle to rear axle"), m("vehicle.body", "Body width", "between the axles"),
			{"vehicle.lock", "Lock", inDegrees, "largest angle at the turntable; two wheels: of the shafts", true}, m("vehicle.cg_height", "Centre of mass", "height above the ground, people in"),
		}},
		{Name: "Turning", Says: "The least circle each hand, from the turning point: half of what you tape across the circle.", Open: true, Boxes: []boxKind{
			m("turning.left", "Radius to the left", "half of the hoof circle"), m("turning.right", "Radius to the right", "half of the hoof circle"),
		}},
		{Name: "Pace", Says: "What it drives at, and how hard it turns, gains and slows.", Open: true, Boxes: []boxKind{
			{"pace.speed", "Speed", inSpeed, "13 km/h may be written too", true}, {"pace.lateral.left", "Side force, left", inForce, "2 is brisk (estimate)", true}, {"pace.lateral.right", "Side force, right", inForce, "", true},
			{"pace.gain", "Gains", inForce, "", true}, {"pace.loss", "Slows", inForce, "", true},
			{"paces.walk", "Walk", inSpeed, "", false}, {"paces.slow trot", "Slow trot", inSpeed, "", false}, {"paces.working trot", "Working trot", inSpeed, "", false}, {"paces.strong trot", "Strong trot", inSpeed, "", false},
			{"margin", "Margin", inMetres, "least clearance that counts as drivable", false},
		}},
		{Name: "Shafts and traces", If: shafted, Boxes: []boxKind{
			m("fit.tip_past_shoulder_point", "Tips past the point of shoulder", "ahead of it +, behind −, traces tight"), m("fit.tip_height", "Height of the tips", ""), {"fit.shaft_angle", "Shafts rise by", inDegrees, "towards the tips", true},
			m("fit.tugs", "Tugs to axle", "along the shafts"), m("fit.draught_height", "Draught at the collar", "height of the trace's end"), m("fit.hook_height", "Trace hook", "height"), m("fit.traces", "Traces", "length in use"),
		}},
		{Name: "Pole and traces", If: abreast, Boxes: []boxKind{
			m("pole.end_height", "Height of the pole's end", ""), {"pole.straps", "Pole straps", asText, "even, or what is wrong", false},
			m("fit.draught_height", "Draught at the collar", "height of the trace's end"), m("fit.hook_height", "Trace hook", "height"), m("fit.traces", "Traces", "length in use"),
		}},
		{Name: "Whip", Boxes: []boxKind{m("whip.stick", "Stick", ""), m("whip.thong", "Thong", ""), m("whip.hand_to_near_shoulder", "Hand to the shoulder", "of the horse nearest to the driver, from the seat")}},
		{Name: "Wheels and tools", Boxes: []boxKind{
			{"wheels.tyre", "Tyre", asText, "solid rubber, pneumatic, iron", false}, {"wheels.tyre_made", "Tyre made", asText, "year or age code", false}, m("wheels.radius", "Wheel radius", ""), {"wheels.brake", "Brake", asYesNo, "", false},
			{"wheels.nut_mm", "Wheel nut", inMM, "across the flats", true}, {"wheels.wrench_mm", "Wrench on board", inMM, "", true}, {"wheels.recessed", "Nuts recessed", asYesNo, "", false}, {"wheels.wrench_reaches_recess", "Wrench reaches in", asYesNo, "", false},
			{"wheels.left_hand_thread", "Left-hand thread", asText, "none, or which hubs", false}, {"wheels.washers", "Washers", asText, "leather, how many", false},
		}},
		{Name: "Harness", Boxes: []boxKind{{"harness.collar", "Collar", asText, "breast or full", false}, {"harness.trace_width_mm", "Trace width", inMM, "", true}, {"harness.rein_width_mm", "Rein width", inMM, "", true}}},
	}
	var out []boxGroup
	for _, g := range all {
		if g.If != nil && !g.If(f) {
			continue
		}
		var boxes []boxKind
		for _, b := range g.Boxes {
			switch {
			case b.Key == "horse.apart" && !abreast(f), b.Key == "leaders.ahead" && !leading(f), (b.Key == "vehicle.wheelbase" || b.Key == "vehicle.body") && !fourWheel(f):
				continue
			}
			boxes = append(boxes, b)
		}
		g.Boxes = boxes
		out = append(out, g)
	}
	return out
}

// rowKind is a list of the file with the boxes of one entry.
type rowKind struct {
	Key, Name, Says string
	Boxes           []boxKind
	Spare           int // empty rows at the end
}

func rowKinds(horses int) []rowKind {
	return []rowKind{
		{Key: "horses", Name: "The horses", Says: "In the order near wheeler, off wheeler, near leader, off leader.", Spare: horses, Boxes: []boxKind{
			{"name", "Name", asText, "", false}, {"height_cm", "Height", inCM, "14.2 hh may be written", true}, {"weight", "Weight", inKG, "", true}, {"girth_cm", "Girth", inCM, "round the chest, for a weight by tape", true},
			{"length_cm", "Length", inCM, "point of shoulder to point of buttock", true}, {"shoulder_point_height", "Point of shoulder", inMetres, "height", true}, {"shoed", "Shod", asText, "yes, no, boots", false},
		}},
		{Key: "loads", Name: "Loads", Says: "What rides: the vehicle itself, the driver, the groom, a bag. Ahead of the axle counts +.", Spare: 1, Boxes: []boxKind{
			{"what", "What", asText, "vehicle, driver, groom …", false}, {"weight", "Weight", inKG, "", true}, {"from_axle", "Ahead of the axle", inMetres, "behind it −", true}, {"height", "Height", inMetres, "above the ground", true},
		}},
		{Key: "care", Name: "Care", Says: "What was done when; where no interval is written the usual one is taken.", Spare: 1, Boxes: []boxKind{
			{"item", "What", asText, "hub bearings, farrier, vaccination …", false}, {"done", "Done", asDay, "2026-05-14", false}, {"every_months", "Every, months", inMonths, "", false}, {"every_km", "Every, km", inKM, "", false},
			{"km_since", "Driven since, km", inKM, "", false}, {"wet_since", "Wheels under water since", asYesNo, "", false},
		}},
	}
}

// system is which numbers without a unit are meant.
type system string

const (
	metric system = "metric"
	inches system = "inches"
)

const (
	metresPerInch = 0.0254     // exactly (international inch, 1959)
	kgPerPound    = 0.45359237 // exactly (international pound, 1959)
	kmhPerMPS     = 3.6
	mphPerMPS     = 3600 / 1609.344
)

// decimals is how many a person wants to see of a unit.
func decimals(u unit, s system) int {
	switch {
	case s == inches && (u == inMetres || u == inCM):
		return 1
	case u == inMetres, u == inSpeed, u == inForce:
		return 3
	}
	return 1
}

func trimmed(x float64, most int) string {
	s := strconv.FormatFloat(x, 'f', most, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}

// shown is a number of the file in a box.
func shown(x float64, u unit, s system) string {
	if s == inches {
		switch u {
		case inMetres:
			return trimmed(x/metresPerInch, 1)
		case inCM:
			return trimmed(x/100/metresPerInch, 1)
		case inKG:
			return trimmed(x/kgPerPound, 0)
		}
	}
	return trimmed(x, 4)
}

// other is the same number in the other system, with its unit; "" where there is
// none.
func other(x float64, u unit, s system) string {
	if s == inches {
		switch u {
		case inMetres, inCM, inKG:
			return trimmed(x, decimals(u, metric)) + " " + string(u)
		}
	}
	switch u {
	case inMetres:
		return trimmed(x/metresPerInch, 1) + " in"
	case inCM:
		return trimmed(x/100/metresPerInch, 1) + " in"
	case inKG:
		return trimmed(x/kgPerPound, 0) + " lb"
	case inSpeed:
		return trimmed(x*kmhPerMPS, 1) + " km/h"
	}
	return ""
}

// own is the unit of a box's bare numbers.
func own(u unit, s system) string {
	if s == inches {
		switch u {
		case inMetres, inCM:
			return "in"
		case inKG:
			return "lb"
		}
	}
	switch u {
	case asText, asYesNo, asDay:
		return ""
	}
	return string(u)
}

var (
	feetForm  = regexp.MustCompile(`^(-?\d+(?:\.\d+)?)\s*(?:'|ft|feet|foot)\s*(?:(\d+(?:\.\d+)?)\s*(?:"|in|inch|inches)?)?$`)
	handsForm = regexp.MustCompile(`^(\d+)(?:\.([0-3]))?\s*(?:hh|hands|hand)$`)
	withUnit  = regexp.MustCompile(`^([-+]?\d*\.?\d+)\s*([a-zA-Z°"/²]*)$`)
)

// number reads what was typed into a box, as the file counts it. A bare number is
// of the system; one with a unit is what it says.
func number(text string, u unit, s system) (float64, error) {
	text = strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(text, "−", "-"), ",", "."))
	bad := func() error {
		want := map[unit]string{inMetres: "a length, such as 1.38, 138 cm, 54.3 in or 4 ft 6 in", inCM: "a length, such as 152, 60 in or 15.0 hh", inKG: "a weight, such as 450 or 990 lb", inDegrees: "degrees, such as 40", inSpeed: "a speed, such as 3.6 or 13 km/h", inMM: "millimetres, such as 46, or inches with their unit"}[u]
		if want == "" {
			want = "a number, such as 12"
		}
		return fmt.Errorf("%q does not fit; %s", text, want)
	}
	// Everything that measures a length goes through metres.
	length := func(m float64) (float64, error) {
		switch u {
		case inMetres:
			return m, nil
		case inCM:
			return 100 * m, nil
		case inMM:
			return 1000 * m, nil
		}
		return 0, bad()
	}
	if g := feetForm.FindStringSubmatch(text); g != nil {
		ft, _ := strconv.ParseFloat(g[1], 64)
		in := 0.0
		if g[2] != "" {
			in, _ = strconv.ParseFloat(g[2], 64)
		}
		if strings.HasPrefix(g[1], "-") {
			in = -in
		}
		return length((12*ft + in) * metresPerInch)
	}
	if g := handsForm.FindStringSubmatch(text); g != nil { // a hand is four inches, and .2 is two of them
		h, _ := strconv.ParseFloat(g[1], 64)
		in, _ := strconv.ParseFloat("0"+g[2], 64)
		return length((4*h + in) * metresPerInch)
	}
	g := withUnit.FindStringSubmatch(text)
	if g == nil {
		return 0, bad()
	}
	x, err := strconv.ParseFloat(g[1], 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, bad()
	}
	name := g[2]
	if name == "" {
		name = own(u, s)
	}
	switch name {
	case "m":
		return length(x)
	case "cm":
		return length(x / 100)
	case "mm":
		return length(x / 1000)
	case "in", `"`, "inch", "inches":
		return length(x * metresPerInch)
	case "kg":
		if u == inKG {
			return x, nil
		}
	case "lb", "lbs":
		if u == inKG {
			return x * kgPerPound, nil
		}
	case "km/h", "kmh", "kph":
		if u == inSpeed {
			return x / kmhPerMPS, nil
		}
	case "mph":
		if u == inSpeed {
			return x / mphPerMPS, nil
		}
	case string(u), "deg":
		if name == string(u) || u == inDegrees {
			return x, nil
		}
	}
	return 0, bad()
}
