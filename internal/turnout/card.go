package turnout

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// Card is a turnout's check card as data: what the checker walks round with. It
// holds only lines that apply to this turnout, and it never calls a turnout by
// any word but what was looked at.
type Card struct {
	Turnout string       `json:"turnout"`
	Hitch   string       `json:"hitch"`
	Vehicle string       `json:"vehicle"` // two or four wheels
	Horses  []string     `json:"horses"`
	For     string       `json:"for"`             // whose hand it is in
	Blanks  []string     `json:"blanks"`          // to be written: entry, driver, …
	First   []string     `json:"first"`           // the first lines of every card
	Green   string       `json:"green,omitempty"` // for a green driver or horse
	Parts   []CardPart   `json:"parts"`
	ByFile  []string     `json:"by_the_numbers"` // what the checks say no to, in words
	Due     []ServiceDue `json:"due"`
	Results []string     `json:"results"`
	Says    string       `json:"says"`
	// PuttingTo and TakingOut are a card of their own, in the school's order.
	PuttingTo []Step   `json:"putting_to"`
	TakingOut []Step   `json:"taking_out"`
	Cautions  []string `json:"cautions"` // beside work on the vehicle
}

// CardPart is one stop of the walk round.
type CardPart struct {
	Name  string     `json:"name"`
	Lines []CardLine `json:"lines"`
}

// CardLine is one thing to look at. Fact is what the numbers of the file say to
// it, "" where nothing; a person's eye goes before it.
type CardLine struct {
	ID      string  `json:"id"` // stable, such as "whip"
	Text    string  `json:"text"`
	Check   string  `json:"check,omitempty"` // the check it goes with
	Verdict Verdict `json:"verdict,omitempty"`
	Fact    string  `json:"fact,omitempty"`
}

// CardOptions is what a card wants to know beside the turnout.
type CardOptions struct {
	Conditions
	Green  bool     // a green driver or horse
	Joints []string // the school's order of putting to; nil is the usual
}

// NewCard makes the card of a turnout. The errors are those of Inspect and of
// the order.
func NewCard(t *Turnout, o CardOptions) (*Card, error) {
	checks, err := Inspect(t, o.Conditions)
	if err != nil {
		return nil, err
	}
	f, err := factsOf(t)
	if err != nil {
		return nil, err
	}
	c := &Card{
		Turnout: t.Name, Hitch: t.Hitch, Vehicle: map[int]string{2: "two wheels", 4: "four wheels"}[t.Vehicle.Wheels], Horses: []string{},
		For:     "For the checker. The person at the head holds the horse and nothing else.",
		Blanks:  []string{"entry", "driver", "groom", "date", "time in", "time out", "checker"},
		Results: []string{"looked over", "fix and show again", "not today"},
		First: []string{
			"Somebody is at the head until the driver has the reins.",
			"Bridle and reins on before the vehicle, off after it is away.",
			"Driver first in, last out, reins in hand.",
		},
		Says: "This card says what was looked at, by whom and when. Local rules, the organiser, the vet, the farrier and the wheelwright decide.",
		Due:  []ServiceDue{}, ByFile: []string{}, Cautions: CareCautions(),
	}
	if t.Abreast() || t.HasLeaders() {
		c.First[0] = "Somebody is at the heads until the driver has the reins."
	}
	if o.Green {
		c.Green = "Green driver or horse: somebody stays at the head while the whole card is gone through, walks off beside it, and goes along."
	}
	for h := range f.count("horses") {
		if n := f.text[fmt.Sprintf("horses[%d].name", h)]; n != "" {
			c.Horses = append(c.Horses, n)
		}
	}
	if c.PuttingTo, err = t.PuttingTo(o.Joints); err != nil {
		return nil, err
	}
	if c.TakingOut, err = t.TakingOut(o.Joints); err != nil {
		return nil, err
	}
	if !o.Today.IsZero() {
		for _, d := range Due(t, o.Today) {
			if d.Late || d.On != nil && d.On.Before(o.Today.AddDate(0, 1, 0)) {
				c.Due = append(c.Due, d)
			}
		}
	}
	for _, k := range checks {
		if k.Verdict == No {
			c.ByFile = append(c.ByFile, k.Name+": "+k.Says)
		}
	}
	c.Parts = cardParts(f, o.Marathon)
	for p := range c.Parts {
		for l := range c.Parts[p].Lines {
			c.Parts[p].Lines[l].fill(checks)
		}
	}
	return c, nil
}

// fill puts what the check says into its line.
func (l *CardLine) fill(checks []Check) {
	if l.Check == "" {
		return
	}
	for _, k := range checks {
		if k.Name != l.Check {
			continue
		}
		l.Verdict = k.Verdict
		switch {
		case k.Verdict == NotMeasured:
			l.Fact = "not measured"
		case k.Number != nil:
			l.Fact = k.brief()
			if k.Verdict != Good {
				l.Fact = strings.ToUpper(string(k.Verdict)) + " " + l.Fact
			}
		case k.Verdict != Good:
			l.Fact = strings.ToUpper(string(k.Verdict))
		}
		return
	}
}

// brief is a check's number for a card: short, and rounded as people say it.
func (c *Check) brief() string {
	n := *c.Number
	switch {
	case strings.HasPrefix(c.Name, "least circle") && c.Limit != nil:
		return num(*c.Limit) + " m"
	case c.Unit == "m" && n > -1 && n < 1:
		return minus(num(math.Round(1000*n)/10)) + " cm"
	case c.Unit == "of the horses' weight":
		return percent(n) + " % of the horses' weight"
	case strings.HasPrefix(c.Name, "overturning"):
		return percent(n) + " % left"
	case c.Unit == "years":
		return num(math.Floor(n)) + " years"
	case (c.Unit == "missing" || c.Unit == "due") && n == 0:
		return "nothing " + c.Unit
	case c.Unit == "°":
		return oneDigit(n) + "°"
	case c.Unit == "kg":
		return minus(oneDigit(n)) + " kg"
	}
	return strings.TrimSpace(minus(num(n)) + " " + c.Unit)
}

// minus writes a minus sign as print has it.
func minus(s string) string { return strings.Replace(s, "-", "−", 1) }

// cardParts are the stops of the walk round, from the head on the near side to
// the vehicle and back, with the lines that apply. What a line looks at is
// common practice, where trade lists and club tests agree.
func cardParts(f *facts, marathon bool) []CardPart {
	t := f.t
	full := strings.Contains(strings.ToLower(f.text["harness.collar"]), "full")
	breast := strings.Contains(strings.ToLower(f.text["harness.collar"]), "breast")
	kind := strings.ToLower(f.text["wheels.tyre"])
	line := func(id, text string) CardLine { return CardLine{ID: id, Text: text} }
	with := func(id, text, check string) CardLine { return CardLine{ID: id, Text: text, Check: check} }
	var parts []CardPart
	part := func(name string, lines ...CardLine) { parts = append(parts, CardPart{name, lines}) }

	each := ""
	if t.horses() > 1 {
		each = ", each horse"
	}
	part("Head"+each,
		line("horse", "Sound, calm, fit for the job; feet and shoes; no rubs"),
		line("bridle", "Blinkers level, cheeks and noseband even; bit and curb lie right"),
		line("reins", "Rein billets and stitching; reins through the terrets, not crossed, ends joined"))
	if t.Abreast() {
		parts[0].Lines = append(parts[0].Lines, line("coupling", "Coupling reins even, on the right holes, crossing as they should"))
	}
	if t.HasLeaders() {
		parts[0].Lines = append(parts[0].Lines, line("leaders reins", "Leaders' reins through the wheelers' terrets, not crossed"))
	}
	collar := "Breast collar above the point of shoulder and below the windpipe, or full collar with a flat hand at the throat"
	if full {
		collar = "Full collar: a flat hand at the throat, fingers at the sides; hame strap tight"
	} else if breast {
		collar = "Breast collar above the point of shoulder, clear of the windpipe"
	}
	harness := []CardLine{line("collar", collar), line("saddle", "Saddle tree clear of the spine; girth and bellyband; stitching")}
	if t.shafted() {
		harness = append(harness, line("tugs", "Tugs in the middle of the pad, shafts against the stops with traces tight"))
	}
	harness = append(harness,
		with("traces", "Traces equal, straight, not rubbing; swingletree moves; quick release works", "line of draught"),
		line("holes", "No strap on its last hole; every keeper holds; a hole to spare"))
	part("Harness", harness...)
	if t.shafted() {
		part("Quarters", line("breeching", "Breeching level at the widest part, even; a hand of slack in draught"), line("holdbacks", "Holdbacks through the footman's loops, wrapped, both sides alike"))
		part("Shafts",
			with("tips", "Tips at the point of shoulder, not past it", "shaft tips, place"),
			with("tip height", "As high as the point of shoulder; level or slightly rising", "shaft tips, height"),
			line("ribs", "Not against the ribs when it turns, either hand"))
	} else {
		part("Pole",
			with("pole end", "End of the pole: height, and the stop on it holds", "pole end"),
			with("pole straps", "Pole straps even, with no slap", "pole straps"),
			line("swingletrees", "Swingletrees or splinter bar: bolts sound, each trace as long as its pair"))
	}
	if t.HasLeaders() {
		bars := "Leader's traces to the wheeler's trace buckles or bars: fast, equal, clear of the legs"
		if t.Hitch == Four {
			bars = "Lead bars on the pole hook, keeper shut; leaders' traces fast, equal, clear of the legs"
		}
		part("Leaders", line("leaders traces", bars), line("leaders room", "Room between wheelers' noses and leaders' quarters"))
	}
	if t.Vehicle.Wheels == 2 {
		part("Balance",
			with("balance level", "On the level: a few pounds on the tugs, all people in their places", "balance, level"),
			with("balance uphill", "Uphill: does not lift", "balance, uphill"),
			with("balance downhill", "Downhill: does not bear down", "balance, downhill"))
	}
	vehicle := []CardLine{
		line("wheels", "Wheels: no play side to side, nuts and hub caps, spokes, dish"),
	}
	switch {
	case strings.Contains(kind, "iron") || strings.Contains(kind, "steel"):
		vehicle = append(vehicle, line("tyres", "Iron tyres tight on the felloes"))
	case strings.Contains(kind, "pneumatic"):
		vehicle = append(vehicle, with("tyres", "Tyres: age, cracks, pressure", "tyres"))
	default:
		vehicle = append(vehicle, with("tyres", "Tyres: age, cracks, seated in the channel", "tyres"))
	}
	if t.Vehicle.Wheels == 4 {
		vehicle = append(vehicle,
			line("fifth wheel", "Fifth wheel and king bolt: no lift, no knock; turns both ways"),
			with("lock", "Where the wheel meets the body, if it does; a turn is kept up no shorter than", "least circle, left"))
	}
	if brake, said := f.flag["wheels.brake"]; brake || !said && t.Vehicle.Wheels == 4 {
		vehicle = append(vehicle, with("brake", "Brake holds, on both sides; fluid clear", "brake"))
	} else if said {
		vehicle = append(vehicle, with("brake", "No brake: the breeching holds it; keep off steep ground", "brake"))
	}
	vehicle = append(vehicle,
		line("springs", "Springs, bolts, welds, steps, floor; nothing loose; lamps if it goes on a road"),
		with("overturning", "Turning over: track and height, on the level", "overturning, level"))
	part("Vehicle", vehicle...)
	dress := "Hat or helmet by the day's rules, gloves, shoes, no loose scarf; apron or rug"
	if marathon {
		dress = "Helmet fastened, back protector, gloves, shoes, no loose scarf"
	}
	reach := "Whip in hand, unbroken, reaches the horse's shoulder"
	if t.horses() > 1 {
		reach = "Whip in hand, unbroken, reaches the shoulder of the farthest horse"
	}
	part("People", with("dress", dress, "dress"), line("groom", "The groom knows where to stand and how to release"), with("whip", reach, "whip"))
	part("On board", with("spares", "Spares for this harness and vehicle", "spares"), with("wrench", "A wrench that fits the wheel nuts", "wheel wrench"), with("service", "Service that is due", "service"), with("track", "Track measured, for the gaps", "track"))
	if t.Size == VSE {
		parts[len(parts)-1].Lines = append(parts[len(parts)-1].Lines, line("small", "Very small: load, going and distance by its size"))
	}
	return parts
}

// cardWidth is how many characters a line of the text has: A4 with a margin, in
// a type of ten points.
const cardWidth = 92

// Text is the check card for a printer of plain text: one side of A4.
func (c *Card) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "CHECK CARD  %s\n%s, %s", c.Turnout, c.Hitch, c.Vehicle)
	if len(c.Horses) > 0 {
		b.WriteString("; " + strings.Join(c.Horses, ", "))
	}
	b.WriteString("\n")
	wrap(&b, "", "", strings.Join(blanks(c.Blanks), "  "))
	for _, l := range c.First {
		wrap(&b, "!  ", "   ", l)
	}
	if c.Green != "" {
		wrap(&b, "!  ", "   ", c.Green)
	}
	wrap(&b, "", "", c.For+" Mark each: v looked at, F fix and show again, R refuse.")
	for _, p := range c.Parts {
		fmt.Fprintf(&b, "%s\n", strings.ToUpper(p.Name))
		for _, l := range p.Lines {
			text := l.Text
			if l.Fact != "" {
				text += "  <" + l.Fact + ">"
			}
			wrap(&b, " [ ] ", "     ", text)
		}
	}
	for _, l := range c.ByFile {
		wrap(&b, "NO   ", "     ", l)
	}
	for _, d := range c.Due {
		word := "soon"
		if d.Late {
			word = "DUE "
		}
		wrap(&b, word+" ", "     ", d.Item+": "+d.Why)
	}
	var boxes []string
	for _, r := range c.Results {
		boxes = append(boxes, "[ ] "+r)
	}
	fmt.Fprintf(&b, "%s   minutes ____\n", strings.Join(boxes, "   "))
	fmt.Fprintf(&b, "Reason %s\nSigned %s\n", strings.Repeat("_", cardWidth-7), strings.Repeat("_", cardWidth-7))
	wrap(&b, "", "", c.Says)
	return b.String()
}

// ProcedureText is the putting-to and taking-out card.
func (c *Card) ProcedureText() string {
	var b strings.Builder
	fmt.Fprintf(&b, "PUTTING TO  %s\n", c.Turnout)
	for _, l := range c.First {
		wrap(&b, "!  ", "   ", l)
	}
	for n, s := range c.PuttingTo {
		wrap(&b, fmt.Sprintf("%2d  ", n+1), "    ", s.Text)
	}
	b.WriteString("\nTAKING OUT\n")
	for n, s := range c.TakingOut {
		wrap(&b, fmt.Sprintf("%2d  ", n+1), "    ", s.Text)
	}
	b.WriteString("\n")
	wrap(&b, "", "", "Schools differ in the order of the joints; this is the order asked for. Never drive from the ground, never lead a horse that is put to. Your teacher's word and local rules go before this card.")
	return b.String()
}

func blanks(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = strings.ReplaceAll(n, " ", "-") + ":" + strings.Repeat("_", 10)
	}
	return out
}

// wrap writes text at cardWidth, its first line begun with first, others with
// next.
func wrap(b *strings.Builder, first, next, text string) {
	line, begun := first, false
	for _, w := range strings.Fields(text) {
		if begun && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > cardWidth {
			b.WriteString(line + "\n")
			line, begun = next, false
		}
		if begun {
			line += " "
		}
		line, begun = line+w, true
	}
	b.WriteString(line + "\n")
}
