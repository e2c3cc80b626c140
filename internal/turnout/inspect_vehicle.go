package turnout

import (
	"fmt"
	"math"
	"strings"
)

// usualRadius is a wheel's radius where nobody measured it, m (estimate).
func usualRadius(size string) float64 {
	switch size {
	case VSE:
		return 0.30
	case Pony:
		return 0.40
	}
	return 0.50
}

// wantedTugs is the weight on the tugs to aim for, kg: a few pounds, resting
// lightly (balance articles); within 4 kg counts as a few pounds (estimate).
func wantedTugs(size string) float64 {
	if size == VSE {
		return 1
	}
	return 2
}

// aFewPounds is the most, kg, and heavyTugs what somebody should look at even
// downhill (estimates).
const (
	aFewPounds = 4.0
	heavyTugs  = 10.0
)

func (i *inspection) balance() {
	if i.t.Vehicle.Wheels != 2 {
		return
	}
	const source = "a few pounds at the tugs, neither lifting nor bearing down (balance articles, read); 4 and 10 kg are estimates"
	keys := i.masses()
	tugs := "vehicle.shafts"
	if _, ok := i.number["fit.tugs"]; ok {
		tugs = "fit.tugs"
	}
	_, vehicle := i.vehicleLoad()
	weigh := func(get func(string) float64, slope float64) float64 {
		var loads []Mass
		for _, k := range keys {
			l := Mass{Weight: get(k + ".weight"), FromAxle: get(k + ".from_axle")}
			axle := 0.0
			if slope != 0 {
				axle = get("wheels.radius")
				l.Height = get(k + ".height")
			}
			l.Height -= axle
			loads = append(loads, l)
		}
		return TugWeight(loads, 0, get(tugs), slope)
	}
	level, ok := i.ask(func(get func(string) float64) float64 { return weigh(get, 0) })
	if len(keys) == 0 || !vehicle || !ok {
		i.missing("balance, level", "weights and places of vehicle, people and luggage (loads: what, weight, from_axle, + ahead of the axle); the vehicle itself is one of them, called vehicle")
		return
	}
	c := measured("balance, level", "kg", level, func(x float64) Verdict {
		switch {
		case x < 0:
			return No
		case x <= aFewPounds:
			return Good
		}
		return Look
	})
	c.Limit, c.Source, c.Sure = pointer(aFewPounds), source, EstimateOnly
	c.Says = fmt.Sprintf("On the level %s.", tugWords(level.value)) + guesses(level, "kg", 1) + i.move(level.value, tugs)
	total := 0.0
	for _, k := range keys {
		w, x := i.number[k+".weight"], i.number[k+".from_axle"]
		total += w
		c.Working = append(c.Working, fmt.Sprintf("%s: %s kg × %s m = %s kg·m", i.text[k+".what"], num(w), num(x), num(w*x)))
	}
	c.Working = append(c.Working, fmt.Sprintf("sum %s kg·m / %s m from axle to tugs = %s kg; the wheels bear %s kg", num(level.value*i.number[tugs]), num(i.number[tugs]), num(level.value), num(total-level.value)))
	i.add(c)
	if _, there := i.number["wheels.radius"]; !there {
		i.number["wheels.radius"] = usualRadius(i.t.Size)
		i.guessed = append(i.guessed, "wheels.radius")
	}
	for _, way := range []struct {
		name  string
		slope float64
	}{{"uphill", i.c.Slope}, {"downhill", -i.c.Slope}} {
		a, ok := i.ask(func(get func(string) float64) float64 { return weigh(get, way.slope) })
		if !ok {
			i.missing("balance, "+way.name, "the height of every load above the ground (loads: height)")
			continue
		}
		c := measured("balance, "+way.name, "kg", a, func(x float64) Verdict {
			if x < 0 || x > heavyTugs {
				return Look
			}
			return Good
		})
		c.Limit, c.Source, c.Sure = pointer(heavyTugs), source, EstimateOnly
		c.Says = fmt.Sprintf("On a slope of %s %% %s %s.", num(100*i.c.Slope), way.name, tugWords(a.value)) + guesses(a, "kg", 1)
		c.Working = []string{fmt.Sprintf("Σ weight × (ahead of axle − height above axle × %s) / %s m", num(way.slope), num(i.number[tugs]))}
		i.add(c)
	}
}

func tugWords(kg float64) string {
	if kg < 0 {
		return fmt.Sprintf("the shafts lift by %s kg: the bellyband holds the cart down", num(-kg))
	}
	return fmt.Sprintf("%s kg (%s lb) lie on the tugs", num(kg), num(kg/0.45359237))
}

// move says how far to move the seat or the axle.
func (i *inspection) move(have float64, tugs string) string {
	want := wantedTugs(i.t.Size)
	if have >= 0 && have <= aFewPounds {
		return ""
	}
	vehicle, _ := i.vehicleLoad()
	heaviest, moment, total := "", 0.0, 0.0
	for _, k := range i.masses() {
		w := i.number[k+".weight"]
		total += w
		moment += w * i.number[k+".from_axle"]
		if k != vehicle && (heaviest == "" || w > i.number[heaviest+".weight"]) {
			heaviest = k
		}
	}
	way := func(m float64) string {
		if m < 0 {
			return fmt.Sprintf("%s cm back", num(math.Round(-100*m)))
		}
		return fmt.Sprintf("%s cm forward", num(math.Round(100*m)))
	}
	text := fmt.Sprintf(" For %s kg", num(want))
	if heaviest != "" {
		text += fmt.Sprintf(" move %s %s, or", i.text[heaviest+".what"], way(MoveLoad(have, want, i.number[tugs], i.number[heaviest+".weight"])))
	}
	return text + fmt.Sprintf(" the axle %s under everything; then look again at a walk and a trot.", way(MoveAxle(moment, total, want, i.number[tugs])))
}

// height is the height of the centre of mass, m: of all loads where each has its
// height and the vehicle is among them, else as measured.
func (i *inspection) height(get func(string) float64) float64 {
	keys := i.masses()
	if _, ok := i.vehicleLoad(); ok {
		all := true
		for _, k := range keys {
			_, there := i.number[k+".height"]
			all = all && there
		}
		if all {
			sum, total := 0.0, 0.0
			for _, k := range keys {
				w := get(k + ".weight")
				sum, total = sum+w*get(k+".height"), total+w
			}
			return sum / total
		}
	}
	return get("vehicle.cg_height")
}

// overturning is the margin against tipping in the turns the turnout's own pace
// allows.
func (i *inspection) overturning() {
	for _, way := range []struct {
		name  string
		slope float64
	}{{"overturning, level", 0}, {"overturning, side slope", i.c.SideSlope}} {
		a, ok := i.ask(func(get func(string) float64) float64 {
			s := StabilityOnSlope(StaticStability(get("vehicle.track"), i.height(get)), way.slope)
			side := max(get("pace.lateral.left"), get("pace.lateral.right"))
			if s <= 0 {
				return -1
			}
			return 1 - side/(gravity*s)
		})
		if !ok {
			i.missing(way.name, "the height of the centre of mass (vehicle: cg_height), or weights and heights of vehicle, people and luggage (loads)")
			return
		}
		c := measured(way.name, "", a, func(x float64) Verdict {
			switch {
			case x <= 0:
				return No
			case x < 0.25:
				return Look
			}
			return Good
		})
		c.Limit, c.Source, c.Sure = pointer(0.25), "T/2h (NHTSA rollover rule, chapter V); moving vehicles tipped about 25 % earlier (SAE 2003-01-3385, abstract)", ReadThere
		h := i.height(func(k string) float64 { return i.number[k] })
		s := StabilityOnSlope(StaticStability(i.number["vehicle.track"], h), way.slope)
		side := max(i.number["pace.lateral.left"], i.number["pace.lateral.right"])
		where := "On the level"
		if way.slope > 0 {
			where = fmt.Sprintf("Where the ground falls %s %% to the outside of the turn", num(100*way.slope))
		}
		r := min(i.t.Turning.Left, i.t.Turning.Right)
		c.Says = fmt.Sprintf("%s, %s %% of what would tip it is left in the turns this pace allows; at the least radius of %s m it tips at %s m/s. A bump, a rut or a shifting load tips it sooner.", where, percent(a.value), num(r), oneDigit(TipSpeed(s, r))) + guesses(a, "%", 100)
		c.Working = []string{
			fmt.Sprintf("track %s m / (2 × %s m) = %s g", num(i.number["vehicle.track"]), num(h), num(StaticStability(i.number["vehicle.track"], h))),
			fmt.Sprintf("1 − %s m/s² / (9.81 × %s) = %s", num(side), num(s), num(a.value)),
		}
		if way.slope > 0 {
			c.Working[0] += fmt.Sprintf("; on the slope %s g", num(s))
		}
		i.add(c)
	}
}

// circle holds the turning radius against what can be kept up.
func (i *inspection) circle() {
	for _, hand := range []string{"left", "right"} {
		least, ok := i.ask(func(get func(string) float64) float64 {
			base := 0.0
			if i.t.Vehicle.Wheels == 4 {
				base = get("vehicle.wheelbase")
			}
			r, _ := LeastCircle(get("vehicle.shafts"), base, get("vehicle.lock"))
			return get("turning."+hand) - r
		})
		if !ok {
			continue
		}
		r, folds := LeastCircle(i.t.Vehicle.Shafts, i.t.Vehicle.Wheelbase, i.t.Vehicle.Lock)
		turn := i.number["turning."+hand]
		verdict := across(least, func(x float64) Verdict {
			if x < 0 {
				return Look
			}
			return Good
		})
		c := Check{
			Name: "least circle, " + hand, Verdict: verdict, Number: pointer(turn), Limit: pointer(r), Unit: "m", Guessed: least.guessed,
			Source: "bodies towed without slip: R² = ΣL² (exact geometry); sin(lock) at the last hinge", Sure: ReadThere,
		}
		if len(least.guessed) > 0 {
			c.Range = []float64{turn - (least.value - least.low), turn + (least.high - least.value)}
		}
		stop := "the vehicle folds up towards the horse (jack-knife)"
		if !folds {
			stop = "the turntable comes on its lock: where the body is not cut under, the wheel meets it and the vehicle can tip"
			if i.t.Vehicle.Wheels == 2 {
				stop = "the shafts come to the largest angle to the line"
			}
		}
		c.Says = fmt.Sprintf("It turns %s at %s m; a turn can be kept up at %s m or more.", hand, num(turn), num(r))
		if turn < r {
			c.Says += fmt.Sprintf(" Kept up any shorter, %s: straighten in time, and back only straight.", stop)
		}
		if len(least.guessed) > 0 {
			c.Says += fmt.Sprintf(" Guessed: %s; with their doubt that is like a turn of %s to %s m. Measure them.", strings.Join(least.guessed, ", "), num(c.Range[0]), num(c.Range[1]))
		}
		c.Working = []string{i.circleWorking(r)}
		i.add(c)
	}
}

func (i *inspection) circleWorking(r float64) string {
	v := i.t.Vehicle
	lock := v.Lock * 180 / math.Pi
	if v.Wheels == 2 {
		return fmt.Sprintf("shafts %s m / sin(lock %s°, at most 90°) = %s m", num(v.Shafts), num(min(90, lock)), num(r))
	}
	return fmt.Sprintf("√(%s² + (%s / sin(lock %s°, at most 90°))²) = %s m", num(v.Shafts), num(v.Wheelbase), num(min(90, lock)), num(r))
}

// total is the mass of vehicle, people and luggage, kg.
func (i *inspection) total(get func(string) float64) float64 {
	sum := 0.0
	for _, k := range i.masses() {
		sum += get(k + ".weight")
	}
	return sum
}

// load is the load and the pull against the horses' weight.
func (i *inspection) load() {
	horses, known := i.horseWeight()
	_, vehicle := i.vehicleLoad()
	if !known || !vehicle {
		i.missing("load", "the horses' weight, or girth and length by tape (horses: weight, or girth_cm and length_cm), and the weight of vehicle, people and luggage (loads; the vehicle is one of them, called vehicle)")
		return
	}
	ratio := i.against(horses, func(get func(string) float64) float64 { return i.total(get) })
	most, why := 3.0, "flat, smooth road"
	switch {
	case i.ground.Bad:
		most, why = 1, "sand, mountains and very bad ground"
	case i.c.Slope >= 0.05:
		most, why = 2, "hilly ground"
	}
	c := measured("load", "× the horses' weight", ratio, func(x float64) Verdict {
		switch {
		case x > most:
			return No
		case x > 1.5:
			return Look
		}
		return Good
	})
	c.Limit, c.Source, c.Sure = pointer(most), "at most 3 on flat, smooth road, 2 in hills, 1 on sand and bad ground; a more cautious habit is 1.5 (carriage museums and traders)", ReadThere
	all := i.total(func(k string) float64 { return i.number[k] })
	c.Says = fmt.Sprintf("%s kg behind %s kg of horse is %s times their weight; at most %s for %s, cautious habit 1.5.", num(all), num(horses.value), num(ratio.value), num(most), why) + guesses(ratio, "times", 1)
	if low, high, ok := GradeShare(i.c.Slope); ok {
		c.Working = append(c.Working, fmt.Sprintf("up %s %% a horse draws %s to %s of its load on the level (1874 and 1915 tables; Historic Highways of America 15)", num(100*i.c.Slope), num(low), num(high)))
	}
	i.add(c)
	for _, way := range []struct {
		name        string
		slope       float64
		good, worst float64
		source      string
	}{
		{"pull, level", 0, 0.10, 0.25, "all day 1/10 of body weight, 1/4 for a few hundred feet (Baker 1903)"},
		{"pull, uphill", i.c.Slope, 0.25, 0.40, "1/4 of body weight for a few hundred feet (Baker 1903); short pull 25 to 40 % (Southern Good Roads 1915)"},
	} {
		low := i.against(horses, func(get func(string) float64) float64 {
			return Pull(i.total(get), i.ground.Low, way.slope) / gravity
		})
		high := i.against(horses, func(get func(string) float64) float64 {
			return Pull(i.total(get), i.ground.High, way.slope) / gravity
		})
		a := asked{value: high.value, low: low.low, high: high.high, guessed: high.guessed}
		c := measured(way.name, "of the horses' weight", asked{value: high.value, low: high.low, high: high.high, guessed: high.guessed}, func(x float64) Verdict {
			switch {
			case x > way.worst:
				return No
			case x > way.good:
				return Look
			}
			return Good
		})
		c.Range = []float64{a.low, a.high}
		c.Limit, c.Source = pointer(way.good), way.source+"; resistance: "+i.ground.Source.Text
		c.Sure = i.ground.Source.Confidence
		where := "on the level"
		if way.slope > 0 {
			where = fmt.Sprintf("up %s %%", num(100*way.slope))
		}
		c.Says = fmt.Sprintf("On %s %s it wants %s to %s N, %s to %s %% of the horses' weight; %s %% is the figure for %s.",
			i.ground.Name, where, num(math.Round(Pull(all, i.ground.Low, way.slope))), num(math.Round(Pull(all, i.ground.High, way.slope))), percent(low.value), percent(high.value), num(100*way.good),
			map[bool]string{true: "a short pull", false: "work all day"}[way.slope > 0]) + guesses(a, "%", 100)
		c.Working = []string{fmt.Sprintf("%s kg × 9.81 × (%s to %s + %s)", num(all), trimmedNumber(i.ground.Low), trimmedNumber(i.ground.High), num(way.slope))}
		i.add(c)
	}
}

// percent writes a share as per cent: whole from 10 on, one digit below.
func percent(share float64) string {
	if p := 100 * share; math.Abs(p) >= 9.95 {
		return num(math.Round(p))
	}
	return oneDigit(100 * share)
}

func trimmedNumber(f float64) string { return strings.TrimRight(fmt.Sprintf("%.3f", f), "0") }

// against divides what calc gives by the horses' weight, doubts and all.
func (i *inspection) against(horses asked, calc func(get func(string) float64) float64) asked {
	a, ok := i.ask(calc)
	if !ok {
		return asked{}
	}
	out := asked{value: a.value / horses.value, guessed: append(append([]string{}, a.guessed...), horses.guessed...)}
	q := []float64{a.low / horses.low, a.low / horses.high, a.high / horses.low, a.high / horses.high}
	out.low, out.high = q[0], q[0]
	for _, x := range q {
		out.low, out.high = min(out.low, x), max(out.high, x)
	}
	return out
}

// brake is what has to be held back downhill.
func (i *inspection) brake() {
	has, said := i.flag["wheels.brake"]
	c := Check{Name: "brake", Unit: "of the horses' weight", Limit: pointer(0.10), Source: "hold-back no more than the all-day pull, 1/10 of body weight (estimate, after Baker 1903); marathon vehicles have brakes (Dutch national rules art. 440)", Sure: EstimateOnly}
	horses, known := i.horseWeight()
	_, vehicle := i.vehicleLoad()
	share := math.NaN()
	if known && vehicle {
		a := i.against(horses, func(get func(string) float64) float64 {
			return max(0, -Pull(i.total(get), i.ground.Low, -i.c.Slope)/gravity)
		})
		share = a.value
		c.Number, c.Guessed = pointer(a.value), a.guessed
		if len(a.guessed) > 0 {
			c.Range = []float64{a.low, a.high}
		}
		c.Says = fmt.Sprintf("Down %s %% on %s %s %% of the horses' weight pushes.", num(100*i.c.Slope), i.ground.Name, percent(a.value)) + guesses(a, "%", 100)
		if i.ground.Low > 0.02 {
			firm := i.against(horses, func(get func(string) float64) float64 {
				return max(0, -Pull(i.total(get), 0.010, -i.c.Slope)/gravity)
			})
			c.Says += fmt.Sprintf(" On a road it would be %s %%.", percent(firm.value))
			share = max(share, firm.value)
		}
	}
	switch {
	case said && has:
		c.Verdict, c.Says = Good, strings.TrimSpace(c.Says+" There is a brake: try it before the horse is put to.")
	case said && (i.t.Vehicle.Wheels == 4 || share > 0.10):
		c.Verdict, c.Says = Look, strings.TrimSpace(c.Says+" There is no brake: breeching alone holds it; keep off steep ground.")
	case said && !math.IsNaN(share):
		c.Verdict, c.Says = Good, strings.TrimSpace(c.Says+" There is no brake; the breeching holds it.")
	case !math.IsNaN(share) && share > 0.10:
		c.Verdict, c.Says = Look, c.Says+" Whether there is a brake is not written (wheels: brake)."
	default:
		c.Verdict, c.Says = NotMeasured, strings.TrimSpace(c.Says+" Not measured: whether there is a brake (wheels: brake).")
	}
	i.add(c)
}

// track is held against the profile's least for dressage and cones; a narrower one
// may still do for the marathon.
func (i *inspection) track() {
	a, _ := i.ask(func(get func(string) float64) float64 { return 100 * get("vehicle.track") })
	m, ok := minimumOf(i.c.Rules, i.t.Hitch, i.t.Size)
	if !ok {
		i.add(Check{Name: "track", Verdict: Look, Number: pointer(a.value), Unit: "cm", Source: "no published width for this class was found", Sure: ReadThere,
			Says: fmt.Sprintf("The track is %s cm; no published least width for this class was found: ask the organiser.", num(a.value)) + guesses(a, "cm", 1), Guessed: a.guessed})
		return
	}
	limit, where := m.track, "dressage and cones"
	if i.c.Marathon {
		limit, where = m.marathonTrack, "the marathon"
	}
	c := measured("track", "cm", a, func(x float64) Verdict {
		switch {
		case x >= limit.value-1e-9:
			return Good
		case x < min(limit.low, m.marathonTrack.low)-1e-9: // too narrow by every profile, for everything
			return No
		}
		return Look
	})
	c.Limit, c.Sure, c.Source = pointer(limit.value), limit.sure, limit.source
	c.Says = fmt.Sprintf("The track is %s cm, outside to outside on the ground. Least in %s for a %s of this size: %s cm.", num(a.value), where, i.t.Hitch, num(limit.value)) + limit.also("cm")
	if !i.c.Marathon && a.value < limit.value && m.marathonTrack.value < limit.value {
		c.Says += fmt.Sprintf(" In the marathon %s cm.", num(m.marathonTrack.value))
	}
	c.Says += guesses(a, "cm", 1)
	i.add(c)
}

// weight is the empty vehicle's against the profile's least marathon weight.
func (i *inspection) weight() {
	m, ok := minimumOf(i.c.Rules, i.t.Hitch, i.t.Size)
	if !ok || i.t.Vehicle.Wheels != 4 {
		return
	}
	key, there := i.vehicleLoad()
	if !there {
		i.missing("vehicle weight", "the empty vehicle's weight (loads: one called vehicle)")
		return
	}
	a, _ := i.direct(key + ".weight")
	limit := m.marathonWeight
	c := measured("vehicle weight", "kg", a, func(x float64) Verdict {
		switch {
		case x >= limit.value:
			return Good
		case i.c.Marathon && x < limit.low:
			return No
		}
		return Look
	})
	c.Limit, c.Source, c.Sure = pointer(limit.value), limit.source, limit.sure
	c.Says = fmt.Sprintf("The empty vehicle weighs %s kg. Least in the marathon of this class: %s kg; no limit elsewhere was found.", num(a.value), num(limit.value)) + limit.also("kg") + guesses(a, "kg", 1)
	i.add(c)
}

// gap is for cones: what the track asks, or what the gap leaves.
func (i *inspection) gap() {
	const least, most = 20.0, 50.0
	c := Check{Name: "gap for cones", Unit: "cm", Limit: pointer(least), Source: "20 to 50 cm over the track by level (US levels); 20 to 60 (Austria 2011)", Sure: ReadThere}
	track, _ := i.ask(func(get func(string) float64) float64 { return 100 * get("vehicle.track") })
	if i.c.GapCM == 0 {
		c.Verdict, c.Number, c.Range = NotMeasured, pointer(track.value+least), []float64{track.value + least, track.value + most}
		c.Says = fmt.Sprintf("Track and %s to %s cm make gaps of %s to %s cm; which, the day's rules say.", num(least), num(most), num(track.value+least), num(track.value+most)) + guesses(track, "cm of track", 1)
		i.add(c)
		return
	}
	a := asked{value: i.c.GapCM - track.value, low: i.c.GapCM - track.high, high: i.c.GapCM - track.low, guessed: track.guessed}
	v := across(a, func(x float64) Verdict {
		switch {
		case x < 0:
			return No
		case x < least:
			return Look
		}
		return Good
	})
	c.Verdict, c.Number, c.Guessed = v, pointer(a.value), a.guessed
	c.Says = fmt.Sprintf("A gap of %s cm leaves %s cm over the track, %s cm a side, driven square; at 20° off square it leaves %s cm.", num(i.c.GapCM), num(a.value), num(a.value/2), num(i.c.GapCM-track.value/math.Cos(20*math.Pi/180))) + guesses(a, "cm", 1)
	c.Working = []string{fmt.Sprintf("%s − %s = %s cm; %s / cos 20° = %s cm", num(i.c.GapCM), num(track.value), num(a.value), num(track.value), num(track.value/math.Cos(20*math.Pi/180)))}
	i.add(c)
}
