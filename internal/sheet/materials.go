package sheet

import (
	"fmt"
	"slices"
	"strings"

	"terret/internal/geom"
	"terret/internal/plan"
)

// Material is one line of what has to be carried to the ground.
type Material struct {
	What  string // "cone", "red number", "rail"
	Count int
	Which string // which of them: "1–4, 5a–5d"; "" where they are all alike
	Spare bool   // more than the plan uses, in case one breaks or is lost
}

// spareShare is how many balls more are carried than are used (common practice:
// one in ten).
const spareShare = 10

// placesKept are places that have something already. Two things that would stand
// in one another are one thing.
type placesKept struct {
	at []geom.Vec
}

// take keeps a place, and reports whether it was free within d metres.
func (k *placesKept) take(v geom.Vec, d float64) bool {
	if slices.ContainsFunc(k.at, func(o geom.Vec) bool { return o.Dist(v) < d }) {
		return false
	}
	k.at = append(k.at, v)
	return true
}

// CountMaterials counts what a plan's hazards, courses, arena and things need to
// be built, never more than is used: a cone, a post or a flag that two gates share
// is counted once. Balls to spare are a line of their own. Trees, water and other
// areas are there already; a bridge is carried.
func CountMaterials(hazards []*plan.Hazard, courses []*plan.Course, arena *plan.Arena, things []plan.Thing) []Material {
	var all []Material
	put := func(what string, n int, which string) {
		if n > 0 {
			all = append(all, Material{What: what, Count: n, Which: which})
		}
	}
	var cones, flags, posts placesKept
	var redFlags, whiteFlags placesKept
	var redNumbers, whiteNumbers []string
	for _, c := range courses {
		openings := courseOpenings(c, 1.4)
		for i := range openings {
			o := &openings[i]
			if o.flags {
				redFlags.take(o.Right, samePost)
				whiteFlags.take(o.Left, samePost)
				flags.take(o.Right, samePost)
				flags.take(o.Left, samePost)
				continue
			}
			for _, m := range o.markers() {
				cones.take(m, max(c.ConeRadius, samePost))
			}
			if o.only != "left" {
				redNumbers = append(redNumbers, o.names[0])
			}
			if o.only != "right" {
				whiteNumbers = append(whiteNumbers, o.names[0])
			}
		}
	}
	put("cone", len(cones.at), "")
	put("ball", len(cones.at), "")
	if n := len(cones.at); n > 0 {
		all = append(all, Material{What: "ball to spare", Count: (n + spareShare - 1) / spareShare, Which: "one in ten (common practice)", Spare: true})
	}
	put("red number (R)", len(redNumbers), ranges(redNumbers))
	put("white number (L)", len(whiteNumbers), ranges(whiteNumbers))
	put("red flag (R)", len(redFlags.at), "start and finish")
	put("white flag (L)", len(whiteFlags.at), "start and finish")
	put("flag stand", len(flags.at), "start and finish")

	var red, white []string
	for _, h := range hazards {
		for _, o := range openings(h, "", "") {
			posts.take(o.Right, samePost)
			posts.take(o.Left, samePost)
			red, white = append(red, o.names...), append(white, o.names...)
		}
	}
	put("post for a marker", len(posts.at), "")
	put("red letter (R)", len(red), strings.Join(red, ", "))
	put("white letter (L)", len(white), strings.Join(white, ", "))

	if arena != nil {
		if w, _, ok := arena.Dims(); ok && w > 0 {
			put("corner of the arena", 4, "")
			letters := arenaLetters(arena)
			put("arena letter", len(letters), strings.Join(letters, ", "))
		}
	}

	more := 0
	lengths := map[string]float64{}
	counts := map[string]int{}
	var kinds []string
	for _, t := range things {
		switch {
		case t.Kind == plan.Tree || len(t.Outline) > 0 && t.Kind != bridge:
			continue
		case len(t.Path) > 0:
			for i := 1; i < len(t.Path); i++ {
				lengths[t.Kind] += t.Path[i].Dist(t.Path[i-1])
			}
		case len(t.Outline) == 0 && t.Kind == plan.Post:
			if posts.take(t.At, samePost) {
				more++
			}
			continue
		case len(t.Outline) == 0 && slices.ContainsFunc(posts.at, func(v geom.Vec) bool { return v.Dist(t.At) < samePost }):
			continue // it bears a marker, and was counted as its post
		}
		if counts[t.Kind]++; counts[t.Kind] == 1 {
			kinds = append(kinds, t.Kind)
		}
	}
	put("further post", more, "")
	slices.Sort(kinds)
	for _, k := range kinds {
		which := ""
		if m := lengths[k]; m > 0 {
			which = fmt.Sprintf("%.1f m in all", m)
		}
		put(k, counts[k], which)
	}
	return all
}

const (
	// samePost is how near two places are one, m: nobody sets two posts there.
	samePost = 0.01
	// bridge is the one area that is carried.
	bridge = "bridge"
)

// arenaLetters are the letters that stand about an arena. How many there are goes
// by its length as in package survey: three on a long side, or five.
func arenaLetters(a *plan.Arena) []string {
	_, length, _ := a.Dims()
	if length < 60 {
		return strings.Split("AKEHCMBF", "")
	}
	return strings.Split("AKVESHCMRBPF", "")
}

// ranges writes names in order with runs drawn together: "1–4, 5a–5d, 6".
func ranges(names []string) string {
	follows := func(a, b string) bool {
		var n, m int
		var p, q string
		_, _ = fmt.Sscanf(a, "%d%s", &n, &p)
		_, _ = fmt.Sscanf(b, "%d%s", &m, &q)
		if p == "" && q == "" {
			return m == n+1
		}
		return m == n && len(p) == 1 && len(q) == 1 && q[0] == p[0]+1
	}
	var out []string
	for i := 0; i < len(names); {
		j := i
		for j+1 < len(names) && follows(names[j], names[j+1]) {
			j++
		}
		if j > i+1 {
			out = append(out, names[i]+"–"+names[j])
		} else {
			out = append(out, names[i:j+1]...)
		}
		i = j + 1
	}
	return strings.Join(out, ", ")
}

// aroundLayout is how far beyond a layout's markers things still belong to it, m; the
// same as in a list of stakes (estimate).
const aroundLayout = 10

// materials counts what a paper's subject needs.
func (in *Input) materials() []Material {
	var hazards []*plan.Hazard
	var courses []*plan.Course
	switch in.Subject() {
	case OfHazard:
		hazards = []*plan.Hazard{in.Hazard}
	case OfCourse:
		courses = []*plan.Course{in.Course}
	case OfArena:
		return CountMaterials(nil, nil, in.Plan.Arena, nil)
	default:
		for i := range in.Plan.Hazards {
			hazards = append(hazards, &in.Plan.Hazards[i])
		}
		for i := range in.Plan.Courses {
			courses = append(courses, &in.Plan.Courses[i])
		}
		return CountMaterials(hazards, courses, in.Plan.Arena, in.Plan.Things)
	}
	box := geom.EmptyBox()
	for _, o := range in.openings() {
		for _, m := range o.markers() {
			box = box.Add(m)
		}
	}
	box = box.Grow(aroundLayout)
	var near []plan.Thing
	for _, t := range in.Plan.Things {
		at := append(append([]geom.Vec{}, t.Path...), t.Outline...)
		if len(at) == 0 {
			at = []geom.Vec{t.At}
		}
		if slices.ContainsFunc(at, box.Contains) {
			near = append(near, t)
		}
	}
	return CountMaterials(hazards, courses, nil, near)
}

// materialCount lists what is carried, with boxes for out and back.
func materialCount(in *Input) ([]Scene, error) {
	f := &flow{in: in, title: "Material count"}
	f.words(body, false, "As many as the plan uses; what two gates share is counted once. Things count that stand within 10 m of a layout. Spares are lines of their own.")
	var rows, spare [][]string
	for _, m := range in.materials() {
		row := []string{fmt.Sprint(m.Count), plural(m.Count, m.What), m.Which, tick, tick}
		if m.Spare {
			spare = append(spare, row)
		} else {
			rows = append(rows, row)
		}
	}
	cols := []column{{head: "count", width: 22, right: true}, {head: "what", width: 62}, {head: "which"}, {head: "out", width: 14}, {head: "back", width: 14}}
	if len(rows) == 0 {
		f.words(13, true, "Nothing has to be carried for this.")
	} else {
		f.big("To carry", cols, rows, 15)
	}
	if len(spare) > 0 {
		f.big("Spares", cols, spare, 15)
	}
	tools := [][]string{{"1", "tape, as long as the list says", "", tick, tick}, {"", "pegs, mallet, gloves, pencil", "", tick, tick}}
	if in.Course != nil || in.Subject() == OfPlan && len(in.Plan.Courses) > 0 {
		tools = append(tools, []string{"1", "measuring bar for the gaps", "", tick, tick}, []string{"1", "measuring wheel", "", tick, tick})
	}
	f.big("Tools (common practice)", cols, tools, 13)
	f.words(body, false, "Loaded by ______________________  Counted back by ______________________")
	return f.pages, nil
}

// setWords says a count in one sentence, for a plan that has lists of its own.
func setWords(all []Material) string {
	var say []string
	for _, m := range all {
		words := fmt.Sprintf("%d %s", m.Count, plural(m.Count, fit(m.What, body, false, 60)))
		if strings.HasSuffix(m.Which, " in all") {
			words += " (" + strings.TrimSuffix(m.Which, " in all") + ")"
		}
		say = append(say, words)
	}
	return fit(strings.Join(say, ", "), body, false, 500)
}

// plural is the name of one, or of several.
func plural(n int, what string) string {
	if n == 1 {
		return what
	}
	for _, s := range []string{" to spare", " for a marker", " of the arena", " (R)", " (L)"} {
		if head, ok := strings.CutSuffix(what, s); ok {
			if s == " for a marker" {
				s = " for markers"
			}
			return head + "s" + s
		}
	}
	return what + "s"
}
