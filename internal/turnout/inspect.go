package turnout

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/rules"
)

// Conditions are what the checks take from the day.
type Conditions struct {
	Today     time.Time // for what is due; zero leaves care and tyre age out
	Ground    string    // one of Grounds; "" is turf
	Slope     float64   // steepest on the way, rise over run; 0 is 5 %
	SideSlope float64   // steepest across the way; 0 is 10 %
	GapCM     float64   // between the cones; 0 is not said
	Marathon  bool      // marathon dress and weights
	Heat      *Heat     // the air, if somebody measured it
	// Rules are whose least tracks and weights are asked; nil is the default
	// profile.
	Rules *rules.Profile
}

// Slopes that are taken where nobody says: of an ordinary field (estimate).
const (
	usualSlope = 0.05
	usualSide  = 0.10
)

// Inspect makes every check that applies to the turnout, in the order of a walk
// round it. Where a measurement is missing the check says which; where one is
// guessed its doubt is carried into the verdict. The error is a fault when a
// number cannot be, or the day's conditions are none.
func Inspect(t *Turnout, c Conditions) ([]Check, error) {
	f, err := factsOf(t)
	if err != nil {
		return nil, err
	}
	if c.Ground == "" {
		c.Ground = "turf"
	}
	if c.Slope == 0 {
		c.Slope = usualSlope
	}
	if c.SideSlope == 0 {
		c.SideSlope = usualSide
	}
	i := &inspection{facts: f, c: c}
	at := slices.IndexFunc(Grounds(), func(g Ground) bool { return g.Name == c.Ground })
	if at < 0 {
		var names []string
		for _, g := range Grounds() {
			names = append(names, g.Name)
		}
		return nil, &fault.Fault{Code: fault.Usage, Rule: "ground", Place: "ground", Message: fmt.Sprintf("%q is no ground that is known here", c.Ground), Hint: strings.Join(names, ", ")}
	}
	i.ground = Grounds()[at]
	for _, s := range []float64{c.Slope, c.SideSlope} {
		if !(s > 0 && s <= 0.4) {
			return nil, &fault.Fault{Code: fault.Usage, Rule: "slope", Place: "slope", Message: fmt.Sprintf("a slope of %v %% is none to drive on", 100*s), Hint: "more than 0, at most 40 %"}
		}
	}
	if c.GapCM != 0 && !(c.GapCM > 0 && c.GapCM <= 1000) {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "gap", Place: "gap", Message: fmt.Sprintf("%v cm is no gap between cones", c.GapCM), Hint: "centimetres, such as 168"}
	}
	i.guesses()
	i.heights()
	i.shafts()
	i.pole()
	i.draught()
	i.balance()
	i.overturning()
	i.circle()
	i.load()
	i.brake()
	i.track()
	i.weight()
	i.gap()
	i.wheels()
	i.tyres()
	i.whip()
	i.spares()
	i.dress()
	i.care()
	if c.Heat != nil {
		i.list = append(i.list, HeatCheck(*c.Heat))
	}
	return i.list, nil
}

// inspection gathers checks.
type inspection struct {
	*facts
	c      Conditions
	ground Ground
	list   []Check
}

func (i *inspection) add(c Check) { i.list = append(i.list, c) }

// missing is a check that wants a measurement first.
func (i *inspection) missing(name, what string) {
	i.add(Check{Name: name, Verdict: NotMeasured, Says: "Not measured: " + what + ".", Source: "", Sure: ""})
}

// across judges a number with its doubt: good or no only where the whole range
// is, else look.
func across(a asked, judge func(x float64) Verdict) Verdict {
	v := judge(a.value)
	if judge(a.low) == v && judge(a.high) == v {
		return v
	}
	return Look
}

// measured fills a check with a number that was worked out.
func measured(name, unit string, a asked, judge func(x float64) Verdict) Check {
	c := Check{Name: name, Unit: unit, Number: pointer(a.value), Verdict: across(a, judge), Guessed: a.guessed}
	if len(a.guessed) > 0 {
		c.Range = []float64{a.low, a.high}
	}
	return c
}

// guesses says which of a check's measurements are guesses, and what that does.
func guesses(a asked, unit string, scale float64) string {
	if len(a.guessed) == 0 {
		return ""
	}
	return fmt.Sprintf(" Guessed: %s; with their doubt it is %s to %s %s. Measure them.", strings.Join(a.guessed, ", "), num(scale*a.low), num(scale*a.high), unit)
}

// direct is a number as it stands in the file.
func (i *inspection) direct(key string) (asked, bool) {
	return i.ask(func(get func(string) float64) float64 { return get(key) })
}

// guesses tells of a key that is named as guessed and is none: its doubt would be
// lost.
func (i *inspection) guesses() {
	for _, g := range i.guessed {
		if i.isMeasurement(g) {
			continue
		}
		i.add(Check{Name: fmt.Sprintf("guessed %q", g), Verdict: Look, Source: "the keys of the file, such as turning.left, or a whole section", Sure: ReadThere,
			Says: fmt.Sprintf("%q is named as guessed and is no measurement of this file: its doubt is not in the answers.", g)})
	}
}

func (i *inspection) heights() {
	limit, most, source, sure := 0.0, "", "", ReadThere
	switch i.t.Size {
	case VSE:
		limit, most, source, sure = 99, "VSE", "at most 99 cm (39 in), US practice", FromMemory
	case Pony:
		limit, most, source = 149, "pony", "FEI ponies: at most 148 cm unshod, 149 cm shod"
	default:
		return
	}
	for h := range i.count("horses") {
		key := fmt.Sprintf("horses[%d]", h)
		a, ok := i.direct(key + ".height_cm")
		if !ok {
			continue
		}
		least := limit
		if shod, known := i.flag[key+".shoed"]; known && !shod && i.t.Size == Pony {
			least = 148
		}
		c := measured("height of "+i.horseName(h), "cm", a, func(x float64) Verdict {
			if x > least {
				return No
			}
			return Good
		})
		c.Limit, c.Source, c.Sure = pointer(least), source, sure
		c.Says = fmt.Sprintf("%s cm; a %s is at most %s cm.", num(a.value), most, num(least)) + guesses(a, "cm", 1)
		i.add(c)
	}
}

func (i *inspection) horseName(h int) string {
	if n := i.text[fmt.Sprintf("horses[%d].name", h)]; n != "" {
		return n
	}
	return fmt.Sprintf("horse %d", h+1)
}

// shafted reports whether the wheel horse goes between shafts.
func (t *Turnout) shafted() bool { return t.Hitch == Single || t.Hitch == Tandem }

// shafts holds tips against the point of shoulder. That tips come to about the
// point of shoulder, no further, level or slightly rising, is common practice;
// the widths of the bands are estimates.
func (i *inspection) shafts() {
	if !i.t.shafted() {
		return
	}
	const source = "tips about at the point of shoulder, not past it; level or slightly rising (widths of the bands: estimate)"
	if a, ok := i.direct("fit.tip_past_shoulder_point"); ok {
		c := measured("shaft tips, place", "m", a, func(x float64) Verdict {
			switch {
			case x > 0.10:
				return No
			case x > 0.03 || x < -0.15:
				return Look
			}
			return Good
		})
		c.Limit, c.Source, c.Sure = pointer(0.03), source, CommonPractice
		c.Says = fmt.Sprintf("The tips are %s the point of shoulder: in front they catch, far behind they dig in on a turn.", off(a.value, "ahead of", "behind")) + guesses(a, "cm", 100)
		i.add(c)
	} else {
		i.missing("shaft tips, place", "from the tips to the point of shoulder, ahead counted +, traces tight (fit: tip_past_shoulder_point)")
	}
	if a, ok := i.ask(func(get func(string) float64) float64 {
		return get("fit.tip_height") - get("horses[0].shoulder_point_height")
	}); ok {
		c := measured("shaft tips, height", "m", a, func(x float64) Verdict {
			if math.Abs(x) <= 0.10 {
				return Good
			}
			return Look
		})
		c.Limit, c.Source, c.Sure = pointer(0.10), source, CommonPractice
		c.Says = fmt.Sprintf("The tips are %s the point of shoulder.", off(a.value, "above", "below")) + guesses(a, "cm", 100)
		c.Working = []string{fmt.Sprintf("%s − %s = %s m", num(i.number["fit.tip_height"]), num(i.number["horses[0].shoulder_point_height"]), num(a.value))}
		i.add(c)
	} else {
		i.missing("shaft tips, height", "height of the tips and of the point of shoulder (fit: tip_height; horses: shoulder_point_height)")
	}
	if a, ok := i.direct("fit.shaft_angle"); ok {
		c := measured("shaft angle", "°", a, func(x float64) Verdict {
			if x >= -1 && x <= 6 {
				return Good
			}
			return Look
		})
		c.Limit, c.Source, c.Sure = pointer(6), source, CommonPractice
		c.Says = fmt.Sprintf("The shafts rise by %s° towards the tips; level to slightly rising is usual.", num(a.value)) + guesses(a, "°", 1)
		i.add(c)
	}
}

// off writes a difference, m, as centimetres to one side or the other.
func off(m float64, more, less string) string {
	switch cm := num(math.Abs(math.Round(1000*m) / 10)); {
	case cm == "0":
		return "level with"
	case m < 0:
		return cm + " cm " + less
	default:
		return cm + " cm " + more
	}
}

func (i *inspection) pole() {
	if !i.t.Abreast() {
		return
	}
	if a, ok := i.ask(func(get func(string) float64) float64 {
		return get("pole.end_height") - get("horses[0].shoulder_point_height")
	}); ok {
		c := measured("pole end", "m", a, func(x float64) Verdict {
			if math.Abs(x) <= 0.15 {
				return Good
			}
			return Look
		})
		c.Limit, c.Source, c.Sure = pointer(0.15), "pole end about as high as the point of shoulder", EstimateOnly
		c.Says = fmt.Sprintf("The pole's end is %s m above the ground, %s cm from the height of the point of shoulder.", num(i.number["pole.end_height"]), num(math.Abs(100*a.value))) + guesses(a, "cm", 100)
		i.add(c)
	} else {
		i.missing("pole end", "height of the pole's end and of the point of shoulder (pole: end_height; horses: shoulder_point_height)")
	}
	c := Check{Name: "pole straps", Source: "pole straps even, with no slap", Sure: CommonPractice}
	straps, written := i.text["pole.straps"]
	even, said := i.flag["pole.straps"]
	switch {
	case said && even || written && strings.Contains(strings.ToLower(straps), "even") && !strings.Contains(strings.ToLower(straps), "uneven"):
		c.Verdict, c.Says = Good, "The pole straps are noted as even."
	case said || written:
		c.Verdict, c.Says = Look, fmt.Sprintf("The pole straps are noted as %q: make them even, with no slap.", strings.TrimSpace(straps))
		if said {
			c.Says = "The pole straps are noted as not even."
		}
	default:
		c.Verdict, c.Says = NotMeasured, "Not measured: pole straps, even on both sides (pole: straps)."
	}
	i.add(c)
}

// draught is the slope of the traces. The shoulder lies 14 to 15° off the
// vertical, and traces at right angles to it fall as much (old lectures on
// natural philosophy); 5° either way is an estimate.
func (i *inspection) draught() {
	a, ok := i.ask(func(get func(string) float64) float64 {
		return DraughtAngle(get("fit.draught_height"), get("fit.hook_height"), get("fit.traces")) * 180 / math.Pi
	})
	if rise := i.number["fit.draught_height"] - i.number["fit.hook_height"]; !ok && i.number["fit.traces"] > 0 && math.Abs(rise) > i.number["fit.traces"] {
		i.add(Check{Name: "line of draught", Verdict: Look, Source: "geometry", Sure: ReadThere, Says: fmt.Sprintf("From hook to collar it is %s m in height alone, and the traces are %s m long: measure again.", num(math.Abs(rise)), num(i.number["fit.traces"]))})
		return
	}
	if !ok {
		i.missing("line of draught", "height of the draught at the collar, height of the hook, length of the traces (fit: draught_height, hook_height, traces)")
		return
	}
	c := measured("line of draught", "°", a, func(x float64) Verdict {
		if math.Abs(x-14.5) <= 5 {
			return Good
		}
		return Look
	})
	c.Limit, c.Source, c.Sure = pointer(14.5), "shoulder 14 to 15° off the vertical, traces square to it (old lectures, read); ± 5° is an estimate", ReadThere
	c.Says = fmt.Sprintf("The traces fall by %s° towards the vehicle; square to the shoulder is about 14 to 15°.", num(a.value)) + guesses(a, "°", 1)
	c.Working = []string{fmt.Sprintf("asin((%s − %s) / %s) = %s°", num(i.number["fit.draught_height"]), num(i.number["fit.hook_height"]), num(i.number["fit.traces"]), num(a.value))}
	i.add(c)
}
