package turnout

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// WhipReach is the distance from the hand to the shoulder of the farthest horse,
// m: near is from the hand to the near shoulder of the wheel horse on the driver's
// side, apart the middles of two abreast, ahead how far leaders go in front.
func WhipReach(hitch string, near, apart, ahead float64) float64 {
	switch hitch {
	case PairH:
		return math.Hypot(near, apart)
	case Tandem:
		return near + ahead
	case Four:
		return math.Hypot(near+ahead, apart)
	}
	return near
}

func (i *inspection) whip() {
	a, ok := i.ask(func(get func(string) float64) float64 {
		apart, ahead := 0.0, 0.0
		if i.t.Abreast() {
			apart = get("horse.apart")
		}
		if i.t.HasLeaders() {
			ahead = get("leaders.ahead")
		}
		return get("whip.stick") + get("whip.thong") - WhipReach(i.t.Hitch, get("whip.hand_to_near_shoulder"), apart, ahead)
	})
	if !ok {
		i.missing("whip", "stick, thong, and from the hand to the near shoulder (whip: stick, thong, hand_to_near_shoulder)")
		return
	}
	c := measured("whip", "m", a, func(x float64) Verdict {
		if x < 0 {
			return No
		}
		return Good
	})
	long := i.number["whip.stick"] + i.number["whip.thong"]
	c.Number, c.Limit = pointer(long), pointer(long-a.value)
	c.Range = nil
	c.Source, c.Sure = "the thong reaches the shoulder of the farthest horse (US pleasure rules CP207.2; one summary of the 2020 international rules asks for all horses, another only for a whip in hand)", ReadThere
	farthest := "the horse"
	switch i.t.Hitch {
	case PairH:
		farthest = "the horse on the far side"
	case Tandem:
		farthest = "the leader"
	case Four:
		farthest = "the leader on the far side"
	}
	c.Says = fmt.Sprintf("Stick and thong are %s m; to the shoulder of %s it is %s m.", num(long), farthest, num(long-a.value)) + guesses(a, "m to spare", 1)
	if a.value < 0 {
		c.Says += fmt.Sprintf(" It is %s cm short.", num(-100*a.value))
	}
	c.Working = []string{fmt.Sprintf("%s + %s − %s = %s m to spare", num(i.number["whip.stick"]), num(i.number["whip.thong"]), num(long-a.value), num(a.value))}
	i.add(c)
}

// wheels holds wrench against nut, and what goes between.
func (i *inspection) wheels() {
	nut, hasNut := i.direct("wheels.nut_mm")
	wrench, hasWrench := i.direct("wheels.wrench_mm")
	c := Check{Name: "wheel wrench", Unit: "mm", Source: "a wrench that fits this vehicle's nuts (spares articles)", Sure: ReadThere}
	switch {
	case !hasNut || !hasWrench:
		i.missing("wheel wrench", "the wheel nut across flats and the wrench carried (wheels: nut_mm, wrench_mm)")
	default:
		c.Number, c.Limit = pointer(wrench.value), pointer(nut.value)
		recessed := i.flag["wheels.recessed"]
		reaches, tried := i.flag["wheels.wrench_reaches_recess"]
		switch {
		case wrench.value < nut.value || wrench.value > nut.value+1.5:
			c.Verdict, c.Says = No, fmt.Sprintf("The wrench is %s mm and the nut %s mm: it does not fit.", num(wrench.value), num(nut.value))
		case recessed && tried && !reaches:
			c.Verdict, c.Says = No, "The nuts are recessed and this wrench does not reach into the hub."
		case recessed && !tried:
			c.Verdict, c.Says = Look, "The nuts are recessed: try whether this wrench reaches into the hub (wheels: wrench_reaches_recess)."
		default:
			c.Verdict, c.Says = Good, fmt.Sprintf("A wrench of %s mm for nuts of %s mm.", num(wrench.value), num(nut.value))
		}
		if len(nut.guessed)+len(wrench.guessed) > 0 && c.Verdict == Good {
			c.Verdict, c.Says = Look, c.Says+" One of the two is guessed: try it."
			c.Guessed = append(nut.guessed, wrench.guessed...)
		}
		i.add(c)
	}
	left, written := i.text["wheels.left_hand_thread"], false
	if _, ok := i.flag["wheels.left_hand_thread"]; ok || left != "" {
		written = true
	}
	if written {
		says := "Left-hand threads: " + left + "."
		if left == "" {
			says = map[bool]string{true: "One side has left-hand threads: mark which.", false: "No left-hand threads."}[i.flag["wheels.left_hand_thread"]]
		}
		i.add(Check{Name: "left-hand threads", Verdict: Good, Says: says, Source: "the left hub may be left-hand: check (maintenance lists)", Sure: ReadThere})
	} else {
		i.missing("left-hand threads", "whether one hub's nut has a left-hand thread (wheels: left_hand_thread)")
	}
	if w := strings.ToLower(i.text["wheels.washers"]); strings.Contains(w, "leather") {
		c := Check{Name: "leather washers", Source: "replace when play remains with the nut tight (maintenance lists); spare ones on board are common practice", Sure: CommonPractice}
		if i.carries("washer") {
			c.Verdict, c.Says = Good, "Leather washers, and spare ones are on board."
		} else {
			c.Verdict, c.Says = Look, "Leather washers, and none among the spares: carry two of each size, front and back."
		}
		i.add(c)
	}
}

// oldTyre is the age a rubber tyre is looked at hard, years: one of about ten
// had perished and let go in a show ring (maintenance lists).
const oldTyre = 10.0

func (i *inspection) tyres() {
	kind := strings.ToLower(i.text["wheels.tyre"])
	made, ok := i.made()
	switch {
	case strings.Contains(kind, "iron") || strings.Contains(kind, "steel"):
		return // they do not age by the calendar
	case !ok:
		if kind != "" || i.hasText("wheels.tyre_made") {
			i.missing("tyres", "when the tyres were made (wheels: tyre_made, the code of four digits, week and year, or a date)")
		}
		return
	case i.c.Today.IsZero():
		return
	}
	years := i.c.Today.Sub(made).Hours() / 24 / 365.25
	c := Check{Name: "tyres", Unit: "years", Number: pointer(years), Limit: pointer(oldTyre), Source: "about ten years old, perished, let go in a real case (maintenance lists)", Sure: ReadThere}
	switch {
	case years < 0:
		c.Verdict, c.Says = Look, "The tyres are noted as made after today: read the code again."
	case years >= oldTyre:
		c.Verdict, c.Says = Look, fmt.Sprintf("The tyres are %s years old: bend the rubber and look for cracks; ask the wheelwright or tyre fitter before they are used.", num(math.Floor(years)))
	default:
		c.Verdict, c.Says = Good, fmt.Sprintf("The tyres are %s years old by their code; cracks and pressure are for the eye.", num(math.Floor(years)))
	}
	i.add(c)
}

func (i *inspection) hasText(key string) bool {
	_, t := i.text[key]
	_, n := i.number[key]
	return t || n
}

// made is when the tyres were made: a code of four digits (week, year), a year,
// or a date.
func (i *inspection) made() (time.Time, bool) {
	s := i.text["wheels.tyre_made"]
	if n, ok := i.number["wheels.tyre_made"]; ok {
		s = strconv.FormatFloat(n, 'f', -1, 64)
		if len(s) == 3 { // a code that lost its leading 0
			s = "0" + s
		}
	}
	if len(s) == 4 {
		n, err := strconv.Atoi(s)
		if err != nil {
			return time.Time{}, false
		}
		week, year := n/100, 2000+n%100
		if n >= 1950 && n < 2000 { // a year: no tyre has a code of the 2050s yet
			return time.Date(n, 1, 1, 0, 0, 0, 0, time.UTC), true
		}
		if week >= 1 && week <= 53 { // 2014 is week 20 of 2014, or that year
			return time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, 7*(week-1)), true
		}
		return time.Time{}, false
	}
	return day(s)
}

// day reads a date: 2026-05-14, 2026-05 or 2026.
func day(s string) (time.Time, bool) {
	for _, form := range []string{time.DateOnly, "2006-01", "2006"} {
		if t, err := time.Parse(form, strings.TrimSpace(s)); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// Spare is one thing to have on board.
type Spare struct {
	What  string
	Words []string // any of these words among the spares stands for it
	Why   string
	Least bool // of the least list that was read; the rest is common practice
}

// SparesFor is the list that fits the turnout: its hitch, harness and vehicle.
func SparesFor(t *Turnout) []Spare {
	f, err := factsOf(t)
	if err != nil {
		f = &facts{t: t, text: map[string]string{}, number: map[string]float64{}, flag: map[string]bool{}}
	}
	kind := strings.ToLower(f.text["wheels.tyre"])
	list := []Spare{
		{"rein, or a splice for one", []string{"rein", "splice"}, "", true},
		{"trace of the right length and width, or a splice", []string{"trace", "splice"}, f.traceSize(), true},
		{"sharp knife", []string{"knife"}, "", true},
		{"hoof pick", []string{"hoof pick", "hoofpick"}, "", true},
		{"halter and lead rope for each animal", []string{"halter", "lead rope", "headcollar", "head collar"}, fmt.Sprintf("%d of each", t.horses()), true},
		{"first aid for people", []string{"first aid", "first-aid"}, "", true},
		{"phone", []string{"phone"}, "charged, on a person and not on the vehicle", false},
		{"wheel wrench", []string{"wrench", "spanner"}, wrenchSize(f), false},
		{"leather punch", []string{"punch"}, "", false},
		{"cord and wire", []string{"cord", "string", "twine", "thong", "wire"}, "", false},
		{"pliers", []string{"pliers", "multitool", "multi-tool"}, "", false},
	}
	if strings.Contains(strings.ToLower(f.text["harness.collar"]), "full") {
		list = append(list, Spare{"hame strap", []string{"hame"}, "for a full collar", false})
	}
	if t.shafted() {
		list = append(list, Spare{"breeching strap", []string{"breeching"}, "for shafts", false})
	}
	if t.Abreast() {
		list = append(list, Spare{"pole strap", []string{"pole strap", "pole-strap", "yoke"}, "for a pole", false}, Spare{"coupling rein", []string{"coupling", "splice"}, "for two abreast", false})
	}
	if t.HasLeaders() {
		list = append(list, Spare{"leader's rein and trace, or splices for them", []string{"leader", "lead trace", "lead rein", "splice"}, "longer than the wheelers'", false})
	}
	if strings.Contains(kind, "pneumatic") || strings.Contains(kind, "air") {
		list = append(list, Spare{"pump and tube", []string{"pump", "tube", "inflator"}, "for pneumatic tyres", false})
	}
	if strings.Contains(strings.ToLower(f.text["wheels.washers"]), "leather") {
		list = append(list, Spare{"leather washers, front and back", []string{"washer"}, "", false})
	}
	return list
}

func (f *facts) traceSize() string {
	var parts []string
	if w, ok := f.number["harness.trace_width_mm"]; ok {
		parts = append(parts, num(w)+" mm wide")
	}
	if l, ok := f.number["fit.traces"]; ok {
		parts = append(parts, num(l)+" m long")
	}
	return strings.Join(parts, ", ")
}

func wrenchSize(f *facts) string {
	if n, ok := f.number["wheels.nut_mm"]; ok {
		s := num(n) + " mm"
		if f.flag["wheels.recessed"] {
			s += ", reaching into the hub"
		}
		return s
	}
	return ""
}

// entries are the texts of a list section; of a mapping, all its texts.
func (f *facts) entries(section string) []string {
	l, _ := f.t.Extra[section].([]any)
	var out []string
	for _, e := range l {
		switch e := e.(type) {
		case string:
			out = append(out, strings.ToLower(e))
		case map[string]any:
			var parts []string
			for _, v := range e {
				if s, ok := v.(string); ok {
					parts = append(parts, strings.ToLower(s))
				}
			}
			slices.Sort(parts)
			out = append(out, strings.Join(parts, " "))
		}
	}
	return out
}

// carries reports whether any of the words stands among the spares.
func (f *facts) carries(words ...string) bool { return f.lists("spares", words...) }

func (f *facts) lists(section string, words ...string) bool {
	return slices.ContainsFunc(f.entries(section), func(e string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(e, w) })
	})
}

func (i *inspection) spares() {
	c := Check{Name: "spares", Unit: "missing", Limit: pointer(0), Source: "least list: rein, hoof pick, trace of right size, knife, lead rope, first aid (a driving charity's list, read); the rest is common practice", Sure: ReadThere}
	if i.count("spares") == 0 {
		i.missing("spares", "what is on board (spares)")
		return
	}
	missing, least := []string{}, 0
	for _, s := range SparesFor(i.t) {
		if !i.carries(s.Words...) {
			what := s.What
			if s.Why != "" {
				what += " (" + s.Why + ")"
			}
			missing = append(missing, what)
			if s.Least {
				least++
			}
		}
	}
	c.Number = pointer(float64(len(missing)))
	c.Verdict, c.Says = Good, "Everything of the list for this harness and vehicle is noted as on board."
	if len(missing) > 0 {
		c.Verdict = Look
		c.Says = "Not noted as on board: " + strings.Join(missing, "; ") + "."
		if least > 0 {
			c.Says += fmt.Sprintf(" %d of these %s on the least list.", least, map[bool]string{true: "is", false: "are"}[least == 1])
		}
	}
	i.add(c)
	want, ok := i.number["harness.trace_width_mm"]
	if !ok {
		return
	}
	for n := range i.count("spares") {
		key := fmt.Sprintf("spares[%d]", n)
		width, has := i.number[key+".width_mm"]
		if !has || !strings.Contains(i.entries("spares")[n], "trace") {
			continue
		}
		c := Check{Name: "spare trace", Unit: "mm", Number: pointer(width), Limit: pointer(want), Source: "a spare trace of the right size (a driving charity's list)", Sure: ReadThere, Verdict: Good,
			Says: fmt.Sprintf("The spare trace is %s mm wide, the harness's %s mm.", num(width), num(want))}
		if width != want {
			c.Verdict, c.Says = No, c.Says+" It does not fit the buckles or hooks of this harness."
		}
		i.add(c)
	}
}

// Garment is one thing to wear or carry.
type Garment struct {
	What  string
	Words []string
	From  string
}

// DressFor is the dress list.
func DressFor(marathon bool) []Garment {
	list := []Garment{
		{"hat or helmet", []string{"hat", "helmet", "hard hat"}, "club rules 2016, read; a helmet is never penalised there"},
		{"gloves (brown: common practice)", []string{"glove"}, "club rules 2016 and mule rules, read"},
		{"whip in hand", []string{"whip"}, "US pleasure rules CP207.2, read"},
		{"apron or rug", []string{"apron", "rug"}, "club rules 2016, read; optional in mule rules"},
		{"glasses or a guard against mud, where they are worn", []string{"glasses", "goggles", "spectacles"}, "common practice"},
	}
	if marathon {
		list[0] = Garment{"helmet, fastened", []string{"helmet"}, "international rules art. 928, retold about 2018, read"}
		list = slices.Insert(list, 1, Garment{"back protector", []string{"back protector", "body protector"}, "international rules art. 928, retold about 2018, read"})
	}
	return list
}

func (i *inspection) dress() {
	if i.count("dress") == 0 {
		i.missing("dress", "what driver and groom wear (dress)")
		return
	}
	var missing []string
	for _, g := range DressFor(i.c.Marathon) {
		if !i.lists("dress", g.Words...) {
			missing = append(missing, g.What)
		}
	}
	c := Check{Name: "dress", Unit: "missing", Number: pointer(float64(len(missing))), Limit: pointer(0), Source: "hat, gloves, apron (club rules 2016); whip in hand (CP207.2); brown gloves, glasses: common practice", Sure: ReadThere, Verdict: Good, Says: "Everything of the list is noted."}
	if len(missing) > 0 {
		c.Verdict, c.Says = Look, "Not noted: "+strings.Join(missing, "; ")+". The day's rules say what must be."
	}
	i.add(c)
}

func (i *inspection) care() {
	if i.c.Today.IsZero() {
		return
	}
	due := Due(i.t, i.c.Today)
	late := 0
	var texts []string
	for _, d := range due {
		if d.Late {
			late++
			texts = append(texts, d.Item+": "+d.Why)
		}
	}
	c := Check{Name: "service", Unit: "due", Number: pointer(float64(late)), Limit: pointer(0), Source: "intervals of the turnout's own file, else of maintenance lists", Sure: ReadThere}
	switch {
	case i.count("care") == 0:
		c.Verdict, c.Number, c.Says = NotMeasured, nil, "Not measured: what was serviced and when (care)."
	case late > 0:
		c.Verdict, c.Says = Look, "Due: "+strings.Join(texts, "; ")+"."
	default:
		c.Verdict, c.Says = Good, "Nothing that is noted is due today."
	}
	i.add(c)
}
