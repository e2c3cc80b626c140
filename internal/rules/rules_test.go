package rules_test

import (
	"math/big"
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

// The values a hazard is scored by, against what was read. Source beside each.
func TestThreePhase(t *testing.T) {
	p, err := rules.Load("")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ key, want, source string }{
		{"hazard.seconds_factor", "0.25", "KNHS 455.6c, 430"},
		{"hazard.corrected_error", "20", "KNHS 458"},
		{"hazard.dislodged", "2", "KNHS 424"},
		{"hazard.held_from_falling", "10", "KNHS 424"},
		{"hazard.groom_down", "5", "Dutch club series"},
		{"hazard.driver_down", "20", "Dutch club series"},
		{"hazard.time_limit_s", "300", "Austrian rules 2011, page 37: five minutes"},
		{"hazard.route_most_m", "250", "Luxembourg 2000, 925.1"},
	} {
		want, _ := new(big.Rat).SetString(c.want)
		if got := p.Number(c.key); got.Cmp(want) != 0 {
			t.Errorf("%s is %s, want %s (%s)", c.key, got.RatString(), c.want, c.source)
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
		"a key that is misspelt": {line + `hazard.grom_down: {value: "1", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-key"},
		"a number in words":      {line + `hazard.groom_down: {value: five, unit: penalties each, edition: e, source: s, confidence: read}`, "rules-value"},
		"a negative number":      {line + `hazard.groom_down: {value: "-5", unit: penalties each, edition: e, source: s, confidence: read}`, "rules-value"},
		"a word of another rule": {line + `hazard.in_again: {value: neutral, edition: e, source: s, confidence: read}`, "rules-value"},
		"another unit":           {line + `hazard.groom_down: {value: "5", unit: seconds, edition: e, source: s, confidence: read}`, "rules-unit"},
		"no source":              {line + `hazard.groom_down: {value: "5", unit: penalties each, edition: e, confidence: read}`, "missing-key"},
		"values left out":        {"terret: rules/1\nname: x\nvalues: {}\n", "rules-missing"},
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
	})
}
