package rules

import (
	"fmt"
	"maps"
	"math/big"
	"slices"
)

// contradiction is two or more values that cannot all stand.
type contradiction struct {
	keys          []string // the likelier slip first
	message, hint string
}

// contradictions finds values of a whole profile that cannot all stand.
func contradictions(p *Profile, table map[string]Key) []contradiction {
	var found []contradiction
	add := func(message, hint string, keys ...string) {
		found = append(found, contradiction{keys, message, hint})
	}
	has := func(key string) bool { _, ok := p.Values[key]; return ok }
	says := func(key string) string { return fmt.Sprintf("%s is %s", key, p.Values[key].Value) }

	// One currency in all that is covered.
	other := map[string]string{Penalties: "seconds", Seconds: "penalties"}[p.Get(CountedIn).Value]
	for _, k := range slices.Sorted(maps.Keys(p.Values)) {
		phase := PhaseOf(k)
		if phase == "" || !p.CoversPhase(phase) || p.Values[k].Value == Eliminated {
			continue // an elimination is in no currency
		}
		if unit := p.Values[k].Unit; unit == other+" each" || unit == other+" per second" {
			add(fmt.Sprintf("%s is counted in %s, and %s", k, unit, says(CountedIn)), "a profile counts everything it covers in one thing, seconds or penalties", k, CountedIn)
		}
	}
	// Least and most.
	for _, pair := range [][2]string{
		{"cones.length_least_m", "cones.length_most_m"}, {"cones.line_least_m", "cones.line_most_m"},
		{"cones.clearance_least_cm", "cones.clearance_most_cm"},
	} {
		if p.Number(pair[0]).Cmp(p.Number(pair[1])) > 0 {
			add(says(pair[0])+" and "+says(pair[1]), "the least must not be more than the most", pair[0], pair[1])
		}
	}
	// More than nothing.
	positive := []string{"cones.time_limit_factor", "cones.seconds_per_penalty", "hazard.time_limit_s", "team.counting", "series.best", "hazard.seconds_factor", "cones.speed_vse"}
	if p.CoversPhase(Dressage) {
		positive = append(positive, "dressage.mark_step", "dressage.mark_most", "dressage.factor")
	}
	for _, k := range positive {
		if p.Number(k).Sign() <= 0 {
			add(says(k), "it must be more than nothing", k)
		}
	}
	// Of a size that scores can be added up exactly.
	for k, most := range map[string]int64{
		"hazard.seconds_factor": 1000, "sections.over_factor": 1000, "sections.under_factor": 1000, "cones.over_time_factor": 1000,
		"cones.under_time_factor": 1000, "cones.seconds_per_penalty": 1000, "cones.time_limit_factor": 100, "dressage.mark_most": 100, "dressage.factor": 100,
	} {
		if has(k) && p.Number(k).Cmp(big.NewRat(most, 1)) > 0 {
			add(says(k), fmt.Sprintf("at most %d is taken", most), k)
		}
	}
	// Whole numbers.
	for _, k := range []string{Decimals, "team.counting", "series.best"} {
		if !p.Number(k).IsInt() {
			add(says(k), "a whole number is wanted", k)
		}
	}
	if n := p.Number(Decimals); n.Cmp(big.NewRat(4, 1)) > 0 {
		add(says(Decimals), "results have at most 4 places", Decimals)
	}
	if p.Number("cones.time_limit_factor").Cmp(big.NewRat(1, 1)) < 0 {
		add(says("cones.time_limit_factor"), "the time limit must not be under the time allowed", "cones.time_limit_factor")
	}
	if has("sections.limit_factor") && p.CoversPhase(Sections) {
		if f, ok := Decimal(p.Values["sections.limit_factor"].Value); ok && f.Cmp(big.NewRat(1, 1)) < 0 {
			add(says("sections.limit_factor"), "the time limit must not be under the time allowed", "sections.limit_factor")
		}
	}
	if p.CoversPhase(Dressage) {
		// A mark multiplied by the coefficient is no longer of the sheet's maximum.
		if p.Get("dressage.from").Value == Maximum && p.Get("dressage.coefficient").Value != Never {
			add(says("dressage.from")+" and "+says("dressage.coefficient"), "marks multiplied by a coefficient are not taken from the sheet's own maximum; say never, or 160", "dressage.coefficient", "dressage.from")
		}
		if n := p.Number("dressage.mark_step"); n.Sign() > 0 && !new(big.Rat).Quo(p.Number("dressage.mark_most"), n).IsInt() {
			add(says("dressage.mark_step")+" and "+says("dressage.mark_most"), "the best mark must be a number of steps", "dressage.mark_step", "dressage.mark_most")
		}
	}
	// A ladder that never costs less for more; "5, 0" (once) is meant.
	for _, k := range slices.Sorted(maps.Keys(p.Values)) {
		if table[k].Kind != KindLadder {
			continue
		}
		l, _ := parseLadder(p.Values[k].Value, []string{AsARefusal})
		for i := 1; i < len(l.Steps); i++ {
			a, _ := Decimal(l.Steps[i-1])
			b, _ := Decimal(l.Steps[i])
			if b.Cmp(a) < 0 && b.Sign() != 0 {
				add(says(k), "a further fault must not cost less than the one before, unless it costs nothing", k)
				break
			}
		}
	}
	// Levels drive more letters, not fewer.
	last := ""
	for _, level := range Levels() {
		k := "level." + level + ".through"
		if v := p.Get(k).Value; v < last {
			add(says(k)+", and the level below drives through "+last, "a higher level drives as many letters or more", k)
		} else {
			last = v
		}
	}
	// Points of a series are asked of a final only where there is one.
	if slices.Contains(p.List("series.tie"), FinalFirst) && p.Get("series.final").Value == LikeOthers {
		add(says("series.tie")+" and "+says("series.final"), "where the final counts like the others it does not decide; say shared", "series.tie", "series.final")
	}
	return found
}
