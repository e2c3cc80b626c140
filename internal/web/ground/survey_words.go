package ground

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/survey"
	"terret/internal/web/book"
)

// builtView is what the tapes say, plain words first.
type builtView struct {
	Headline string
	Attend   bool     // the headline is to be acted on
	More     []string // sentences
	Points   []builtPoint
	Tapes    []builtTape
	Numbers  string // of the adjustment, one line
	Drawing  template.HTML
	Built    *survey.Built // nil: it cannot be accepted
	WhyNot   string        // why not
	Odd      []plan.Problem
	Note     string // for the version that is kept
}

// builtPoint is one point as it stands, against the plan.
type builtPoint struct {
	Order       int // on the stake list
	ID, Sign    string
	At, Plan    geom.Vec
	Says        string // "31 cm north-east", "as planned", "no fix"
	Far         bool   // further than it can be by chance
	Fix         survey.Fix
	East, North float64 // moves, m
}

// builtTape is one tape against the points as they were found.
type builtTape struct {
	survey.TapeCheck
	Suspect bool
	Removed bool
}

// compass is a direction in words.
func compass(b geom.Bearing) string {
	names := []string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}
	return names[int(math.Round(b.Deg()/45))%len(names)]
}

// likely says how wrong a tape probably is.
func likely(c survey.Check, m float64) string {
	if c.Likely == nil {
		return fmt.Sprintf("%s–%s", c.From, c.To)
	}
	much := "long"
	if *c.Likely < 0 {
		much = "short"
	}
	return fmt.Sprintf("%s–%s, %.2f m as typed, about %s too %s", c.From, c.To, m, someLength(*c.Likely), much)
}

// someLength writes a length without its sign: centimetres under a metre.
func someLength(m float64) string {
	if m = math.Abs(m); m < 0.995 {
		return fmt.Sprintf("%.0f cm", 100*m)
	}
	return fmt.Sprintf("%.2f m", m)
}

// builtOf says in words and numbers what an adjustment found. a has all tapes,
// clean those that are left when the tapes named as wrong are taken out.
func builtOf(p *plan.Plan, target survey.Target, l *survey.StakeList, n *survey.Network, a, clean *survey.Adjustment) *builtView {
	v := &builtView{}
	use := a
	if len(clean.Removed) > 0 && (!clean.Suspect.Any || clean.Scatter()) {
		use = clean
	}
	v.words(n, a, clean, use == clean)
	v.points(l, n, use)
	v.tapes(a, clean)
	v.accept(p, target, l, a, use)
	v.Drawing = builtDrawing{plan: p, list: l, view: v, network: n, suspects: a.Suspects}.SVG()
	return v
}

// words makes the headline and what follows it.
func (v *builtView) words(n *survey.Network, a, clean *survey.Adjustment, without bool) {
	typed := func(c survey.Check) float64 {
		for _, t := range a.Tapes {
			if t.From == c.From && t.To == c.To && (c.Likely == nil) == (t.Likely == nil) {
				return t.M
			}
		}
		return 0
	}
	say := func(format string, args ...any) { v.More = append(v.More, fmt.Sprintf(format, args...)) }
	switch {
	case a.Suspect.Named:
		c := a.Tapes[a.Suspect.Tape]
		v.Attend = true
		v.Headline = "This tape is wrong: " + likely(survey.Check{From: c.From, To: c.To, Likely: c.Likely}, c.M) + ". Tape it again."
	case a.Suspect.Any && a.Scatter():
		v.Attend = true
		v.Headline = "The tapes scatter more than was said, and none stands out."
		say("Together they scatter %.1f times what was said. Perhaps one tape is only good to %s: then say so above and work it out again.", *a.S0, someLength(*a.S0*n.Sigma))
	case a.Suspect.Any:
		v.Attend = true
		v.Headline = "A tape is wrong, but it cannot be told which."
		var which []string
		for _, c := range a.Suspects {
			which = append(which, likely(c, typed(c)))
		}
		say("Each of these alone would explain it: %s.", strings.Join(which, "; "))
		say("Tape them again, or tape from these points to others that are set: each further tape helps to tell.")
	case a.SpareTapes == 0 && len(a.NoFix) == 0:
		v.Attend = true
		v.Headline = "Nothing checks these tapes: a slip would go unseen."
		say("Tape the check of each point too, and type it in.")
	case len(a.NoFix) > 0 && len(a.NoFix) == len(a.Points):
		v.Attend = true
		v.Headline = "No point is fixed yet."
	default:
		v.Headline = "No tape is suspect."
	}
	if len(clean.Removed) > 0 {
		var out []string
		for _, c := range clean.Removed[min(1, len(clean.Removed)):] {
			out = append(out, c.From+"–"+c.To)
		}
		if len(out) > 0 {
			say("With that one out, these are wrong as well: %s.", strings.Join(out, ", "))
		}
		switch {
		case clean.Scatter():
			say("Without it no other stands out, but all scatter %.1f times what was said.", *clean.S0)
		case clean.Suspect.Any:
			say("Without it another is wrong still, and it cannot be told which.")
		default:
			say("Without it no other is suspect.")
		}
		if without {
			say("The places below are worked out without it.")
		}
	}
	if len(a.NoFix) > 0 {
		v.Attend = true
		say("No fix for %s: too few tapes, or their arcs lie along each other.", strings.Join(a.NoFix, ", "))
	}
	if !a.Settled {
		v.Attend = true
		say("The points came to no rest: look for a gross slip, such as a wrong ten of metres or two points mixed up.")
	}
	v.Numbers = fmt.Sprintf("%s, %s, %s to spare", count(len(a.Tapes), "tape"), count(len(a.Points), "point"), count(a.SpareTapes, "tape"))
	if a.S0 != nil {
		v.Numbers += fmt.Sprintf("; scatter %.2f times what was said", *a.S0)
	}
	v.Numbers += fmt.Sprintf(". Level %v over all tapes: |w| beyond %.2f is suspect", a.Level, a.WLimit)
	if a.TauLimit != nil {
		v.Numbers += fmt.Sprintf(", |tau| beyond %.2f", *a.TauLimit)
	}
	v.Numbers += "."
}

const (
	// seen is the least move that is called one, m: lists are printed to it.
	seen = 0.01
	// mixedUp is a move so far that two points may have been mixed up, m (estimate).
	mixedUp = 2.0
)

// points sets every point against the plan and says where the furthest is.
func (v *builtView) points(l *survey.StakeList, n *survey.Network, use *survey.Adjustment) {
	order := map[string]int{}
	for _, s := range l.Stakes {
		order[s.ID] = s.Order
	}
	var furthest *builtPoint
	far := 0
	for _, p := range n.Points {
		f := use.Points[p.Name]
		b := builtPoint{Order: order[p.Name], ID: p.Name, Sign: signOf(p.Name), Plan: p.At, At: geom.Vec{X: f.X, Y: f.Y}, Fix: f, East: f.X - p.At.X, North: f.Y - p.At.Y}
		moved := b.At.Sub(b.Plan)
		switch {
		case f.NoFix:
			b.Says = "no fix"
		case moved.Len() >= seen && (f.Ellipse == nil || moved.Len() > f.Ellipse.A):
			b.Far = true
			far++
			b.Says = someLength(moved.Len()) + " " + compass(moved.Bearing())
		default:
			b.Says = "as planned"
		}
		v.Points = append(v.Points, b)
	}
	// What stands elsewhere comes first.
	slices.SortStableFunc(v.Points, func(a, b builtPoint) int {
		if a.Far != b.Far {
			if a.Far {
				return -1
			}
			return 1
		}
		return a.Order - b.Order
	})
	for i := range v.Points {
		if b := &v.Points[i]; b.Far && (furthest == nil || b.At.Dist(b.Plan) > furthest.At.Dist(furthest.Plan)) {
			furthest = b
		}
	}
	switch {
	case furthest != nil:
		v.More = append(v.More, fmt.Sprintf("%d of %s %s elsewhere than planned; furthest is %s, %s of its place.", far, count(len(v.Points), "point"), stands(far), furthest.ID, furthest.Says))
		if furthest.At.Dist(furthest.Plan) > mixedUp {
			v.Attend = true
			v.More = append(v.More, "That is far: were two points mixed up, or was a peg somewhere else?")
		}
		v.Note = fmt.Sprintf("as built: %s taped, furthest %s by %s", count(len(v.Points), "point"), furthest.ID, someLength(furthest.At.Dist(furthest.Plan)))
	case len(use.NoFix) < len(v.Points):
		v.More = append(v.More, "Every point that is fixed stands as planned, as far as the tapes can tell.")
		v.Note = fmt.Sprintf("as built: %s taped, all as planned", count(len(v.Points), "point"))
	}
}

func stands(n int) string {
	if n == 1 {
		return "stands"
	}
	return "stand"
}

func (v *builtView) tapes(a, clean *survey.Adjustment) {
	in := func(list []survey.Check, t survey.TapeCheck) bool {
		return slices.ContainsFunc(list, func(c survey.Check) bool { return c.From == t.From && c.To == t.To })
	}
	for _, t := range a.Tapes {
		v.Tapes = append(v.Tapes, builtTape{t, in(a.Suspects, t), in(clean.Removed, t)})
	}
}

// accept makes the plan as built, or says why that is not offered.
func (v *builtView) accept(p *plan.Plan, target survey.Target, l *survey.StakeList, a, use *survey.Adjustment) {
	switch {
	case a.Suspect.Any && use == a && !a.Scatter():
		v.WhyNot = "a tape is wrong and it is not known which, so it is not known where the points stand; tape again first"
		return
	case !use.Settled:
		v.WhyNot = "the points came to no rest; look for a gross slip first"
		return
	case len(use.NoFix) == len(use.Points):
		v.WhyNot = "no point is fixed by these tapes yet"
		return
	}
	known := map[string]bool{}
	for _, s := range l.Stakes {
		known[s.ID] = true
	}
	found := use.Found()
	for id := range found {
		if !known[id] {
			delete(found, id) // a peg of a free network
		}
	}
	built, err := survey.AsBuilt(p, target, found)
	if err != nil {
		v.WhyNot = err.Error()
		if f := book.FaultsOf(err); f != nil {
			var all []string
			for _, one := range f {
				all = append(all, one.Error())
			}
			v.WhyNot = strings.Join(all, "; ")
		}
		return
	}
	v.Built, v.Odd = built, built.Odd
}
