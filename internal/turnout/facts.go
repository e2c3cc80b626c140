package turnout

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"terret/internal/fault"
)

// facts is a turnout as the checks read it: every measured number under its key
// in the file, and which of them are guessed.
type facts struct {
	t       *Turnout
	number  map[string]float64
	text    map[string]string
	flag    map[string]bool
	guessed []string // as written: a key or the beginning of one
}

// factsOf gathers the numbers of t. The error is a fault.List of those that
// cannot be, with their keys.
func factsOf(t *Turnout) (*facts, error) {
	v := t.Vehicle
	f := &facts{t: t, text: map[string]string{}, flag: map[string]bool{}, number: map[string]float64{
		"vehicle.track": v.Track, "vehicle.hubs": v.Hubs, "vehicle.shafts": v.Shafts, "vehicle.lock": v.Lock,
		"turning.left": t.Turning.Left, "turning.right": t.Turning.Right,
		"pace.speed": t.Pace.Speed, "pace.lateral.left": t.Pace.Lateral.Left, "pace.lateral.right": t.Pace.Lateral.Right,
	}}
	if v.Wheels == 4 {
		f.number["vehicle.wheelbase"] = v.Wheelbase
	}
	if v.CGHeight > 0 {
		f.number["vehicle.cg_height"] = v.CGHeight
	}
	if t.Abreast() {
		f.number["horse.apart"] = t.Horse.Apart
	}
	if t.HasLeaders() {
		f.number["leaders.ahead"] = t.Ahead
	}
	for name, section := range t.Extra {
		switch section := section.(type) {
		case map[string]any:
			for k, x := range section {
				f.put(name+"."+k, x)
			}
		case []any:
			for i, e := range section {
				if m, ok := e.(map[string]any); ok {
					for k, x := range m {
						f.put(fmt.Sprintf("%s[%d].%s", name, i, k), x)
					}
				} else if name == "guessed" {
					f.guessed = append(f.guessed, fmt.Sprint(e))
				}
			}
		}
	}
	return f, f.check()
}

func (f *facts) put(key string, x any) {
	switch x := x.(type) {
	case float64:
		f.number[key] = x
	case string:
		f.text[key] = x
	case bool:
		f.flag[key] = x
	}
}

// limit is what a number of the optional sections may be.
type limit struct {
	most float64
	unit string
}

// limits are by the end of the key. They are generous: a slip of a unit, no more.
func limits() map[string]limit {
	return map[string]limit{
		"height_cm": {most: 250, unit: "cm"}, "shoulder_point_height": {most: 2.5, unit: "m"}, "girth_cm": {most: 400, unit: "cm"}, "length_cm": {most: 400, unit: "cm"},
		"weight": {most: 3000, unit: "kg"}, "from_axle": {most: 6, unit: "m"}, "height": {most: 4, unit: "m"},
		"tip_past_shoulder_point": {most: 2, unit: "m"}, "tip_height": {most: 3, unit: "m"}, "shaft_angle": {most: 60, unit: "°"},
		"tugs": {most: 5, unit: "m"}, "draught_height": {most: 3, unit: "m"}, "hook_height": {most: 3, unit: "m"}, "traces": {most: 8, unit: "m"},
		"end_height": {most: 3, unit: "m"}, "stick": {most: 4, unit: "m"}, "thong": {most: 10, unit: "m"}, "hand_to_near_shoulder": {most: 8, unit: "m"},
		"nut_mm": {most: 200, unit: "mm"}, "wrench_mm": {most: 200, unit: "mm"}, "radius": {most: 1.2, unit: "m"},
		"trace_width_mm": {most: 100, unit: "mm"}, "rein_width_mm": {most: 100, unit: "mm"},
		"every_months": {most: 600, unit: "months"}, "every_km": {most: 1e6, unit: "km"}, "km_since": {most: 1e6, unit: "km"},
	}
}

func (f *facts) check() error {
	var list fault.List
	by := limits()
	for _, k := range slices.Sorted(maps.Keys(f.number)) {
		l, ok := by[k[strings.LastIndex(k, ".")+1:]]
		if _, fixed := f.t.Extra[strings.SplitN(strings.SplitN(k, ".", 2)[0], "[", 2)[0]]; !ok || !fixed {
			continue
		}
		x := f.number[k]
		signed, zero := bothWays(k[strings.LastIndex(k, ".")+1:]), strings.HasSuffix(k, "km_since") // which may be 0
		if math.IsNaN(x) || math.Abs(x) > l.most || !signed && (x < 0 || x == 0 && !zero) {
			right := fmt.Sprintf("more than 0, at most %s %s", num(l.most), l.unit)
			if signed {
				right = fmt.Sprintf("from −%s to %s %s", num(l.most), num(l.most), l.unit)
			}
			list = append(list, &fault.Fault{Code: fault.Input, Rule: "check-number", Place: k, Message: fmt.Sprintf("%v %s stands here", x, l.unit), Hint: right})
		}
	}
	return list.Err()
}

// isGuessed reports whether a key, or a section it stands in, is named as guessed.
func (f *facts) isGuessed(key string) bool {
	return slices.ContainsFunc(f.guessed, func(g string) bool {
		return key == g || strings.HasPrefix(key, g+".") || strings.HasPrefix(key, g+"[")
	})
}

// doubt is how far a guessed number may be off, in its own unit (estimates; the
// half metre of the turning radius is what a circle driven by eye is worth).
func doubt(key string, x float64) float64 {
	switch end := key[strings.LastIndex(key, ".")+1:]; {
	case strings.HasPrefix(key, "turning."):
		return 0.5
	case strings.HasPrefix(key, "pace.lateral"):
		return 0.25 * x
	case end == "weight":
		return 0.15 * x
	case end == "speed":
		return 0.15 * x
	case end == "lock":
		return 10 * math.Pi / 180
	case end == "shaft_angle":
		return 3
	case end == "cg_height", end == "height":
		return 0.15
	case end == "shafts", end == "wheelbase", end == "stick", end == "thong", end == "hand_to_near_shoulder", end == "from_axle", end == "tugs", end == "traces", end == "apart":
		return 0.1
	case end == "ahead":
		return 0.3
	case strings.HasSuffix(end, "_mm"):
		return 1
	case strings.HasSuffix(end, "_cm"):
		return 3
	}
	return 0.05
}

// asked is one number worked out from others: its value, the range it has while
// the guessed ones are off by their doubt, and which those are.
type asked struct {
	value, low, high float64
	guessed          []string
}

// ask works out a number. calc gets every measurement through get, and may be
// called many times; it must not keep anything. ok is false where one that it
// asks for is not there.
func (f *facts) ask(calc func(get func(key string) float64) float64) (a asked, ok bool) {
	ok = true
	var used []string
	a.value = calc(func(key string) float64 {
		x, there := f.number[key]
		if !there {
			ok = false
			return math.NaN()
		}
		if !slices.Contains(used, key) {
			used = append(used, key)
		}
		return x
	})
	if !ok || math.IsNaN(a.value) || math.IsInf(a.value, 0) {
		return asked{}, false
	}
	a.low, a.high = a.value, a.value
	slices.Sort(used)
	for _, k := range used {
		if f.isGuessed(k) {
			a.guessed = append(a.guessed, k)
		}
	}
	// The corners of all doubts; with many, the first eight and the rest as they are.
	corner := a.guessed[:min(len(a.guessed), 8)]
	for c := range 1 << len(corner) {
		x := calc(func(key string) float64 {
			v := f.number[key]
			if i := slices.Index(corner, key); i >= 0 {
				if c&(1<<i) != 0 {
					return v + doubt(key, v)
				}
				return less(key, v)
			}
			return v
		})
		if !math.IsNaN(x) {
			a.low, a.high = min(a.low, x), max(a.high, x)
		}
	}
	return a, true
}

// isMeasurement reports whether a guess names something that is measured.
func (f *facts) isMeasurement(g string) bool {
	core := map[string][]string{
		"horse": {"nose", "rump", "width", "apart", "bend"}, "leaders": {"ahead"}, "turning": {"left", "right"},
		"vehicle": {"wheels", "track", "hubs", "shafts", "wheelbase", "body", "lock", "cg_height"},
		"pace":    {"speed", "lateral", "gain", "loss"}, "paces": nil, "margin": nil,
	}
	section, key, dotted := strings.Cut(g, ".")
	if keys, ok := core[section]; ok {
		return !dotted || keys == nil || slices.Contains(keys, key) || strings.HasPrefix(key, "lateral.")
	}
	if _, ok := f.t.Extra[section]; ok && !dotted {
		return true
	}
	for k := range f.number {
		if k == g || strings.HasPrefix(k, g+".") || strings.HasPrefix(k, g+"[") {
			return true
		}
	}
	return false
}

// bothWays reports whether a number may be below 0: one counted from a place.
func bothWays(end string) bool {
	return end == "from_axle" || end == "tip_past_shoulder_point" || end == "shaft_angle"
}

// less is a guessed number less its doubt; a length or weight stays above 0.
func less(key string, v float64) float64 {
	x := v - doubt(key, v)
	if bothWays(key[strings.LastIndex(key, ".")+1:]) || x > 0 {
		return x
	}
	return v / 10
}

// count is how many entries a list section has.
func (f *facts) count(section string) int {
	l, _ := f.t.Extra[section].([]any)
	return len(l)
}

// masses are the loads that have a weight, as keys.
func (f *facts) masses() []string {
	var keys []string
	for i := range f.count("loads") {
		k := fmt.Sprintf("loads[%d]", i)
		if _, ok := f.number[k+".weight"]; ok {
			keys = append(keys, k)
		}
	}
	return keys
}

// vehicleLoad is the load that is the vehicle itself, by its name.
func (f *facts) vehicleLoad() (key string, ok bool) {
	for _, k := range f.masses() {
		what := strings.ToLower(f.text[k+".what"])
		for _, w := range []string{"vehicle", "cart", "carriage", "phaeton", "gig", "wagon", "trap", "car"} {
			if what == w || strings.HasSuffix(what, " "+w) || strings.HasPrefix(what, w+" ") {
				return k, true
			}
		}
	}
	return "", false
}

// horseWeight is the weight of all horses together, kg, from what is written or
// from the tape; ok is false where one has neither.
func (f *facts) horseWeight() (a asked, ok bool) {
	n := f.t.horses()
	written := f.count("horses")
	if written == 0 {
		return asked{}, false
	}
	return f.ask(func(get func(string) float64) float64 {
		sum := 0.0
		for i := range n {
			// Horses that are not written one by one are taken like the last that is.
			k := fmt.Sprintf("horses[%d]", min(i, written-1))
			if _, ok := f.number[k+".weight"]; ok {
				sum += get(k + ".weight")
			} else {
				sum += TapeWeight(get(k+".girth_cm"), get(k+".length_cm"))
			}
		}
		return sum
	})
}

// horses is how many horses the hitch has.
func (t *Turnout) horses() int {
	switch t.Hitch {
	case PairH, Tandem:
		return 2
	case Four:
		return 4
	}
	return 1
}
