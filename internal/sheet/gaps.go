package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"terret/internal/cones"
	"terret/internal/plan"
	"terret/internal/rules"
)

// gapRule is a gap rule of a course, and the gates it is for.
type gapRule struct {
	plan.Gap
	gates []string
}

// gapRules lists the different gap rules of a course, the course's own first. A
// woven cone has no gap.
func gapRules(c *plan.Course) []gapRule {
	all := []gapRule{{Gap: c.Gap}}
	for _, g := range inOrder(c) {
		if g.Cone != nil {
			continue
		}
		rule := gapOf(c, &g)
		i := slices.IndexFunc(all, func(r gapRule) bool { return r.Gap == rule })
		if i < 0 {
			i = len(all)
			all = append(all, gapRule{Gap: rule})
		}
		all[i].gates = append(all[i].gates, g.String())
	}
	return slices.DeleteFunc(all, func(r gapRule) bool { return len(r.gates) == 0 })
}

// gapCM is a gap as it is set: whole centimetres.
func gapCM(g plan.Gap, track float64) float64 { return math.Round(100 * cones.GapM(g, track)) }

// inches writes centimetres in inches, to the half.
func inches(cm float64) string { return fmt.Sprintf("%g in", math.Round(cm/2.54*2)/2) }

// rulesToATable is how many gap rules stand side by side.
const rulesToATable = 2

// gaps lists the gaps for those who set them: a row for each turnout in order of
// go, or by track where no turnout is named.
func gaps(in *Input) ([]Scene, error) {
	const title = "Gaps for setters"
	all := gapRules(in.Course)
	f := &flow{in: in, title: title, wide: len(in.Turnouts) > 0 && len(all) > 1}
	f.words(13, true, "Inner face to inner face at the ground, evenly about the middle of the pair. Read every gap back before it is set.")
	if len(all) == 0 {
		f.words(13, true, "No pair of this course has a gap: every cone is woven.")
		return f.pages, nil
	}
	f.limits(in, all)
	only := len(all) == 1
	for len(all) > 0 {
		n := min(rulesToATable, len(all))
		if len(in.Turnouts) > 0 {
			f.gapsInOrder(in, all[:n], only)
		} else {
			f.gapsByTrack(in, all[:n], only)
		}
		all = all[n:]
	}
	f.need(lineStep(body))
	f.words(body, false, "Measured by ______________________  Cones steward ______________________")
	return f.pages, nil
}

// gapHead names a rule's gates.
func gapHead(r gapRule, only bool) string {
	if only {
		return "every pair, cm"
	}
	if len(r.gates) > 12 {
		return fmt.Sprintf("%d other pairs, cm", len(r.gates))
	}
	return "pair " + strings.Join(r.gates, ", ") + ", cm"
}

// gapsInOrder is the list by order of go. "–" is the same as before.
func (f *flow) gapsInOrder(in *Input, rules []gapRule, only bool) {
	cols := []column{{head: "", width: 11, right: true}, {head: "Turnout"}, {head: "track", width: 20, right: true}}
	for _, r := range rules {
		cols = append(cols, column{head: gapHead(r, only), width: 34, right: true}, column{head: "change", width: 20, right: true}, column{head: "inches", width: 24, right: true})
	}
	var rows [][]string
	for i, t := range in.Turnouts {
		row := []string{fmt.Sprint(i + 1), t.Name, fmt.Sprintf("%.0f", 100*t.Vehicle.Track)}
		for _, r := range rules {
			cm := gapCM(r.Gap, t.Vehicle.Track)
			change := "set"
			if i > 0 {
				switch d := cm - gapCM(r.Gap, in.Turnouts[i-1].Vehicle.Track); {
				case d == 0:
					change = "–"
				default:
					change = fmt.Sprintf("%+.0f", d)
				}
			}
			row = append(row, fmt.Sprintf("%.0f", cm), change, inches(cm))
		}
		rows = append(rows, row)
	}
	f.gapTable("In order of go", cols, rows, 14)
}

// tracks are the tracks of a table by track, cm: round ones from a very small cart
// to a wide four (estimate), and the least ones of the profile with whose they are.
func tracks(p *rules.Profile) (all []float64, whose map[float64]string) {
	for t := 100.0; t <= 160; t += 5 {
		all = append(all, t)
	}
	all = append(all, 170, 180)
	whose = map[float64]string{}
	for _, size := range []string{"pony", "horse"} {
		for _, hitch := range []string{"single", "pair", "tandem", "four"} {
			t, _ := p.Number("vehicle.track_" + hitch + "_" + size).Float64()
			if t <= 0 {
				continue
			}
			switch words := whose[t]; {
			case words == "":
				whose[t] = "least: " + size + " " + hitch
			case strings.Contains(words, size):
				whose[t] += ", " + hitch
			default:
				whose[t] += "; " + size + " " + hitch
			}
			if !slices.Contains(all, t) {
				all = append(all, t)
			}
		}
	}
	slices.Sort(all)
	return all, whose
}

// gapsByTrack is the table for a day without a list: look up the track.
func (f *flow) gapsByTrack(in *Input, rules []gapRule, only bool) {
	cols := []column{{head: "track, cm", width: 26, right: true}}
	for _, r := range rules {
		cols = append(cols, column{head: gapHead(r, only), width: 36, right: true}, column{head: "inches", width: 24, right: true})
	}
	cols = append(cols, column{head: "turnouts"}) // to be written in
	all, whose := tracks(in.Rules)
	var rows [][]string
	for _, t := range all {
		row := []string{fmt.Sprintf("%g", t)}
		for _, r := range rules {
			cm := gapCM(r.Gap, t/100)
			row = append(row, fmt.Sprintf("%.0f", cm), inches(cm))
		}
		words := whose[t]
		if len(rules) > 1 {
			words = "" // there is no room for them beside two gaps
		}
		rows = append(rows, append(row, words))
	}
	f.gapTable("By track, outside of tyre to outside of tyre on the ground (least: rules "+in.Rules.Name+")", cols, rows, body)
}

// gapTable writes the rows large: a setter reads them off a clipboard in the rain.
func (f *flow) gapTable(name string, cols []column, rows [][]string, size float64) {
	for i := range cols {
		cols[i].large = strings.HasSuffix(cols[i].head, ", cm") && i > 0
	}
	f.tableOf(name, cols, rows, lineStep(size*largeBy)+0.9, size)
}

// limits says where a gap rule is outside what the profile allows. It refuses
// nothing.
func (f *flow) limits(in *Input, all []gapRule) {
	f.words(body, false, gapWords(in.Course))
	r := cones.RulesOf(in.Rules)
	var out []string
	for _, g := range all {
		if g.FixedCM == 0 && (g.ClearanceCM < r.ClearanceLeastCM || g.ClearanceCM > r.ClearanceMostCM) {
			out = append(out, fmt.Sprintf("%g cm over the track", g.ClearanceCM))
		}
	}
	if len(out) > 0 {
		f.words(body, true, fmt.Sprintf("Look: the profile %s has %g to %g cm over the track; here %s.", in.Rules.Name, r.ClearanceLeastCM, r.ClearanceMostCM, strings.Join(out, ", ")))
	}
}
