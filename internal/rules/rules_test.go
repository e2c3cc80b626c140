package rules_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"terret/internal/fault"
	"terret/internal/rules"
)

// Every built-in profile reads, is whole, goes by its file's name, and says for
// each value where it is from.
func TestBuiltIn(t *testing.T) {
	for _, name := range rules.Names() {
		p, err := rules.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		if p.Name != name {
			t.Errorf("%s calls itself %q", name, p.Name)
		}
		for k, v := range p.Values {
			if v.Source == "" || v.Edition == "" || v.Confidence == "" {
				t.Errorf("%s: %s does not say where it is from: %+v", name, k, v)
			}
		}
	}
}

// What was read in a rulebook, and must stand in a profile. Source beside each:
// KNHS is the Dutch Disciplinereglement Mennen, LU the Luxembourg rules of 24
// January 2000, AT the Austrian rules of 2011 by page, RU the Russian rules of
// 2024, ADS an American Driving Society rule change.
func TestValuesRead(t *testing.T) {
	for _, c := range []struct{ profile, key, want, source string }{
		{"three-phase", "hazard.seconds_factor", "0.25", "KNHS 455.6c, 430"},
		{"three-phase", "hazard.time_rounding", "sum, then hundredths", "KNHS 430.1a"},
		{"three-phase", "hazard.corrected_error", "20", "KNHS 458"},
		{"three-phase", "hazard.while_correcting", "neutral", "KNHS 458.2b"},
		{"three-phase", "hazard.dislodged", "2", "KNHS 424"},
		{"three-phase", "hazard.held_from_falling", "10", "KNHS 424"},
		{"three-phase", "hazard.groom_down", "5", "Dutch club series"},
		{"three-phase", "hazard.driver_down", "20", "Dutch club series"},
		{"three-phase", "hazard.harness_loose", "10", "Dutch club series"},
		{"three-phase", "hazard.climbed", "eliminated", "Dutch club series"},
		{"three-phase", "hazard.unhitched", "eliminated", "Dutch club series"},
		{"three-phase", "hazard.overturn", "eliminated", "KNHS 400.15"},
		{"three-phase", "hazard.groom_on_reins", "20", "KNHS 424, international 964"},
		{"three-phase", "hazard.helmet", "eliminated", "KNHS 424"},
		{"three-phase", "hazard.under_weight", "eliminated", "KNHS 424"},
		{"three-phase", "hazard.wrong_order", "eliminated", "KNHS 424"},
		{"three-phase", "hazard.not_remounted", "5", "ADS 18-060"},
		{"three-phase", "hazard.time_limit_s", "300", "AT 37: five minutes"},
		{"three-phase", "hazard.route_most_m", "250", "LU 925.1"},
		{"three-phase", "hazard.gates_most", "6", "LU 925.4"},
		{"three-phase", "hazard.last_to_finish_most_m", "300", "ADS 18-046"},
		{"three-phase", "sections.over_factor", "0.25", "KNHS 455.5a"},
		{"three-phase", "sections.under_factor", "0.25", "KNHS 455.5b"},
		{"three-phase", "sections.limit_factor", "as the course states", "KNHS 455.5c"},
		{"three-phase", "sections.minimum_a_less_s", "120", "LU 926.3"},
		{"three-phase", "sections.minimum_b_less_s", "180", "LU 926.3"},
		{"three-phase", "sections.final_stretch", "10", "international 964.3, KNHS 456.4"},
		{"three-phase", "sections.final_stretch_m", "300", "international 964.3"},
		{"three-phase", "sections.canter", "1", "international 964.4"},
		{"three-phase", "sections.groom_down", "5", "international 964.5.1"},
		{"three-phase", "sections.driver_down", "20", "international 964.5.1"},
		{"three-phase", "sections.groom_not_aboard", "5", "international 964.5.2"},
		{"three-phase", "sections.driver_not_aboard", "20", "international 964.5.2"},
		{"three-phase", "sections.time_sheet", "10", "KNHS 456.2"},
		{"three-phase", "sections.shorts", "10", "ADS 18-024, international 928"},
		{"three-phase", "sections.late_entry", "eliminated", "AT 31"},
		{"three-phase", "dressage.mark_most", "10", "LU 923"},
		{"three-phase", "dressage.mark_step", "0.5", "international changes of 2013"},
		{"three-phase", "dressage.missing_mark", "mean of the others", "KNHS 429.2"},
		{"three-phase", "dressage.course_error", "5, 10, eliminated", "KNHS 423, 449"},
		{"three-phase", "dressage.groom_down", "5, 10, eliminated", "KNHS 423, RU"},
		{"three-phase", "dressage.driver_down", "20", "KNHS 423, RU"},
		{"three-phase", "dressage.whip", "5, 0", "KNHS 423; ADS 18-039"},
		{"three-phase", "dressage.groom_on_reins", "20", "KNHS 423, RU"},
		{"three-phase", "dressage.groom_speaks", "10, 0", "ADS 19-009, RU"},
		{"three-phase", "dressage.boots", "10, 0", "KNHS 423, RU"},
		{"three-phase", "dressage.incomplete", "5", "RU"},
		{"three-phase", "dressage.left_arena", "eliminated", "KNHS 423, RU, LU 923.4"},
		{"three-phase", "dressage.start_within_s", "90", "LU 923.5"},
		{"three-phase", "cones.ball", "3", "KNHS 461.1b, AT 49"},
		{"three-phase", "cones.same_gate_again", "once", "KNHS 461.1b"},
		{"three-phase", "cones.rebuilt_s", "10", "KNHS 463.2c"},
		{"three-phase", "cones.over_time_factor", "0.5", "KNHS 462.1g, LU 933.5"},
		{"three-phase", "cones.time_limit_factor", "2", "KNHS 462.1d, LU 933.3, AT 52"},
		{"three-phase", "cones.groom_on_reins", "20", "KNHS 425"},
		{"three-phase", "cones.not_seated", "5", "KNHS 463.1f, ADS 17-051"},
		{"three-phase", "cones.whip", "5, 0", "KNHS 425; ADS 18-039"},
		{"three-phase", "cones.early_start", "10", "KNHS 463.1b, c"},
		{"three-phase", "cones.course_error", "eliminated", "KNHS 463.2a, AT 52"},
		{"three-phase", "cones.harness_loose", "as a refusal", "AT 52"},
		{"three-phase", "cones.yellow_gate", "5", "KNHS 461.1d"},
		{"three-phase", "cones.overturn", "eliminated", "KNHS 425"},
		{"three-phase", "cones.allowed_corrected_after", "3", "LU 933.3"},
		{"three-phase", "cones.speed_single_pony", "260", "KNHS 462.1f"},
		{"three-phase", "cones.speed_pair_pony", "250", "KNHS 462.1f"},
		{"three-phase", "cones.speed_tandem_pony", "240", "KNHS 462.1f"},
		{"three-phase", "cones.speed_four_pony", "240", "KNHS 462.1f"},
		{"three-phase", "cones.speed_single_horse", "250", "world singles report, 650 m in 156 s"},
		{"three-phase", "cones.obstacles_most", "20", "KNHS 460.1h, LU 931.6"},
		{"three-phase", "cones.multiple_length_most_m", "30", "AT 49"},
		{"three-phase", "cones.clearance_least_cm", "20", "AT 49"},
		{"three-phase", "cones.clearance_most_cm", "60", "AT 49"},
		{"three-phase", "score.decimals", "2", "KNHS 429.1d"},
		{"three-phase", "score.eliminated_in_phase", "not placed", "KNHS 429.1e, 430.1b"},
		{"three-phase", "ties.marathon", "section B, shared", "KNHS 430.1c"},
		{"three-phase", "ties.cones", "time, shared", "world pairs 2019"},
		{"three-phase", "series.best", "4", "Dutch indoor league"},
		{"three-phase", "level.training.through", "C", "US levels"},
		{"three-phase", "level.advanced.through", "F", "US levels"},
		{"three-phase-dutch", "dressage.coefficient", "above 160", "KNHS 429.1c"},
		{"three-phase-dutch", "cones.over_time_rounding", "commenced second", "KNHS 462.1g"},
		{"three-phase-dutch", "sections.final_stretch_m", "500", "KNHS 456.4"},
		{"three-phase-2000", "hazard.seconds_factor", "0.2", "LU 927"},
		{"three-phase-2000", "hazard.time_rounding", "commenced second", "LU 927.1-5"},
		{"three-phase-2000", "sections.over_factor", "0.2", "LU 927"},
		{"three-phase-2000", "sections.under_factor", "0.1", "LU 927"},
		{"three-phase-2000", "sections.limit_factor", "2", "LU 926.4"},
		{"three-phase-2000", "dressage.course_error", "5, 10, 15, eliminated", "LU 923.3"},
		{"three-phase-2000", "dressage.errors_shared", "shared", "LU 923.3"},
		{"three-phase-2000", "dressage.whip", "10, 0", "ADS 18-039: before 2018"},
		{"three-phase-2000", "cones.ball", "5", "LU 933"},
		{"three-phase-2000", "cones.incomplete", "5", "LU 933"},
		{"three-phase-2000", "hazard.groom_down", "10", "an old undated list"},
		{"three-phase-2000", "hazard.overturn", "60", "an old list retold"},
		{"three-phase-2011", "hazard.seconds_factor", "0.2", "AT 37"},
		{"three-phase-2011", "sections.stopped", "1", "AT 32"},
		{"club-2013", "dressage.from", "maximum", "UK club notes, July 2013"},
		{"club-2013", "hazard.seconds_factor", "0.2", "UK club notes, July 2013"},
		{"club-2013", "cones.ball", "3", "UK club notes, July 2013"},
		{"indoor", "dressage.factor", "0.5", "UK indoor club"},
		{"indoor", "hazard.seconds_factor", "1", "UK indoor series"},
		{"indoor", "hazard.dislodged", "5", "UK indoor series"},
		{"indoor", "cones.ball", "5", "UK indoor series"},
		{"indoor", "cones.over_time_factor", "1", "UK indoor series"},
		{"indoor", "cones.under_time_factor", "1", "UK indoor series"},
		{"indoor", "cones.speed_single_pony", "220", "UK indoor series"},
		{"indoor", "cones.obstacles_most", "10", "UK indoor series"},
		{"arena-seconds", "cones.ball", "5", "KNHS 476, 477.3"},
		{"arena-seconds", "cones.same_gate_again", "each time", "KNHS 477.3"},
		{"arena-seconds", "hazard.dislodged", "4", "KNHS 476.1, second clause"},
		{"arena-seconds", "cones.rebuilt_s", "10", "KNHS 476, 477.4"},
		{"arena-seconds", "cones.course_error", "20", "KNHS 476.2a"},
		{"pleasure", "timed.obstacles_most", "20", "ADS 16-026"},
		{"pleasure", "timed.free_order_gap_cm", "200", "ADS 16-030: 80 in"},
		{"pleasure", "timed.knocked", "5", "unsigned article (weak)"},
		{"pleasure", "timed.refusal", "5, 10, eliminated", "unsigned article (weak)"},
		{"pleasure", "timed.groom_on_reins", "eliminated", "CP207.2"},
		{"pleasure", "timed.fault_and_out_points", "2", "American mule rulebook"},
		{"pleasure", "timed.fault_and_out_extra", "1", "American mule rulebook"},
		{"pleasure", "timed.choice_each_most", "2", "class report 2005"},
		{"pleasure", "judged.working", "performance 70, harness and vehicle 20, attire 10", "breed handbook 2012, p. 65"},
	} {
		p, err := rules.Load(c.profile)
		if err != nil {
			t.Fatal(err)
		}
		v := p.Get(c.key)
		if v.Value != c.want {
			t.Errorf("%s: %s is %s, want %s (%s)", c.profile, c.key, v.Value, c.want, c.source)
		}
		if v.Confidence != rules.Read {
			t.Errorf("%s: %s was read (%s) and is marked %s", c.profile, c.key, c.source, v.Confidence)
		}
	}
}

// What nobody could look up must say so wherever it stands.
func TestNotFoundIsMarked(t *testing.T) {
	for _, c := range []struct{ profile, key string }{
		{"three-phase", "cones.refusal"}, {"three-phase", "cones.groom_down"}, {"three-phase", "cones.driver_down"},
		{"three-phase", "hazard.gate_width_least_m"}, {"three-phase", "cones.apart_least_m"}, {"three-phase", "ties.total"},
		{"three-phase", "cones.speed_vse"}, {"pleasure", "judged.turnout"}, {"pleasure", "judged.reinsmanship"}, {"pleasure", "timed.canter"},
	} {
		p, err := rules.Load(c.profile)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Get(c.key).Confidence; got != rules.FromMemory {
			t.Errorf("%s: %s is marked %s", c.profile, c.key, got)
		}
	}
}

func TestOverlay(t *testing.T) {
	file := filepath.Join(t.TempDir(), "club.yaml")
	err := os.WriteFile(file, []byte(`terret: rules/1
name: our club
extends: three-phase
values:
  hazard.groom_down: {value: "10", unit: penalties each, edition: spring, source: the club's own, confidence: read}
`), 0o600)
	if err != nil {
		t.Fatal(err)
	}
	p, err := rules.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Get("hazard.groom_down").Value; got != "10" {
		t.Errorf("the overlay's own value is %s", got)
	}
	if got := p.Get("hazard.driver_down").Value; got != "20" {
		t.Errorf("a value the overlay does not name is %s", got)
	}
}

func TestWrong(t *testing.T) {
	const line = "terret: rules/1\nname: x\nextends: three-phase\nvalues:\n  "
	for name, c := range map[string]struct{ text, rule string }{
		"a key that is misspelt":                {line + `hazard.grom_down: {value: "1", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-key"},
		"a number in words":                     {line + `hazard.groom_down: {value: five, unit: penalties each, edition: e, source: s, confidence: read}`, "rules-value"},
		"a negative number":                     {line + `hazard.groom_down: {value: "-5", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-value"},
		"a word of another rule":                {line + `hazard.in_again: {value: neutral, edition: e, source: s, confidence: read}`, "rules-value"},
		"another unit":                          {line + `hazard.groom_down: {value: "5", unit: seconds, edition: e, source: s, confidence: read}`, "rules-unit"},
		"no source":                             {line + `hazard.groom_down: {value: "5", unit: penalties each, edition: e, confidence: read}`, "missing-key"},
		"values left out":                       {"terret: rules/1\nname: x\ncovers: [cones]\nvalues: {}\n", "rules-missing"},
		"covers nothing":                        {"terret: rules/1\nname: x\nextends: three-phase\ncovers: []\nvalues: {}\n", "rules-covers"},
		"a phase there is not":                  {"terret: rules/1\nname: x\nextends: three-phase\ncovers: [marathon]\nvalues: {}\n", "word"},
		"a ladder with a hole":                  {line + `cones.refusal: {value: "5, , eliminated", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-value"},
		"more after the end":                    {line + `cones.refusal: {value: "5, eliminated, 10", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-value"},
		"a number too long":                     {line + `hazard.seconds_factor: {value: "0.25001", unit: penalties per second, edition: e, source: s, confidence: read}`, "rules-value"},
		"shared is not the last":                {line + `ties.total: {value: "shared, dressage", edition: e, source: s, confidence: read}`, "rules-value"},
		"a split of 90":                         {line + `judged.working: {value: "performance 70, attire 20", unit: "% of the mark", edition: e, source: s, confidence: read}`, "rules-value"},
		"the least over the most":               {line + `cones.length_least_m: {value: "900", unit: m, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"two currencies":                        {line + `score.counted_in: {value: seconds, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"one value in seconds":                  {line + `cones.ball: {value: "3", unit: seconds each, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"a coefficient and the sheet's maximum": {line + `dressage.from: {value: maximum, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"a second fault cheaper":                {line + `cones.refusal: {value: "10, 5", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"a level that drives less":              {line + `level.advanced.through: {value: B, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"a limit under the time":                {line + `cones.time_limit_factor: {value: "0.5", unit: times the time allowed, edition: e, source: s, confidence: read}`, "rules-contradiction"},
		"no decimals like 2.5":                  {line + `score.decimals: {value: "2.5", unit: places, edition: e, source: s, confidence: read}`, "rules-contradiction"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rules.Decode("club.yaml", []byte(c.text))
			list, ok := err.(fault.List)
			if !ok || list[0].Rule != c.rule {
				t.Fatalf("want rule %s, got %v", c.rule, err)
			}
			if !strings.HasPrefix(list[0].Place, "club.yaml:") {
				t.Errorf("no place: %q", list[0].Place)
			}
		})
	}
	if _, err := rules.Load("no-such"); err == nil || !strings.Contains(err.Error(), "three-phase") {
		t.Errorf("an unknown name should tell what there is: %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte("terret: rules/1\nname: x\nextends: three-phase\nvalues: {hazard.groom_down: {value: \"10\", unit: penalties each, edition: e, source: s, confidence: read}}\n"))
	f.Add([]byte(`{"terret": "rules/1", "values": {"hazard.in_again": {"value": 3}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := rules.Decode("f", data)
		if err != nil {
			if _, ok := fault.CodeOf(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		// Whatever is taken is whole, and its numbers are numbers.
		p.Number(rules.CorrectedError)
		p.Get(rules.InAgain)
		for k, key := range rules.KeyTable() {
			if _, ok := p.Values[k]; !ok {
				continue
			}
			switch key.Kind {
			case rules.KindNumber:
				p.Number(k)
			case rules.KindLadder:
				p.Ladder(k)
			case rules.KindSplit:
				p.Split(k)
			}
		}
	})
}
