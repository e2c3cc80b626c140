package plan

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"terret/internal/fault"
)

// wants fails unless err holds a fault of this rule at this place, saying this.
func wants(t *testing.T, err error, rule, place, says string) {
	t.Helper()
	var list fault.List
	var one *fault.Fault
	if !errors.As(err, &list) && errors.As(err, &one) {
		list = fault.List{one}
	}
	for _, f := range list {
		if f.Rule == rule && strings.HasSuffix(f.Place, place) && strings.Contains(f.Error(), says) {
			return
		}
	}
	t.Errorf("no fault %q at %q saying %q in:\n%v", rule, place, says, err)
}

func TestBadPlansAreRefusedWithRuleAndPlace(t *testing.T) {
	cases := map[string]struct{ rule, place, says string }{
		"gate-zero-width.yaml": {"gate-width", ":14: hazards[0].gates[1]", "gate B: markers 0.12 m apart"},
		"in-leads-out.yaml":    {"line-ground", ":10: hazards[0].in", "the In line leads out of the ground"},
		"in-outside.yaml":      {"gate-outside", ":10: hazards[0].in.right", "stands outside the ground"},
		"letter-missing.yaml":  {"gate-letter", ":12: hazards[0].gates", "gate B is missing: the letters go to D"},
		"letter-twice.yaml":    {"gate-twice", ":15: hazards[0].gates[2].letter", "gate B stands twice"},
		"post-in-gate.yaml":    {"gate-blocked", ":14: hazards[0].gates[1]", `gate B: post "p1" (things[0]) stands in the opening, from 1.48 to 1.6 m of its 2.88 m`},
		"nan.yaml":             {"number", ":14: hazards[0].gates[1].right[0]", ".nan is not a number"},
		"unknown-key.yaml":     {"unknown-key", ":9: hazards[0].marker_radus", `did you mean "marker_radius"?`},
		"outline-crosses.yaml": {"ground-outline", ":4: ground.outline", "crosses itself"},
		"no-gates.yaml":        {"gate-letter", ":12: hazards[0].gates", "no gates"},
	}
	files, _ := filepath.Glob("testdata/bad/*.yaml")
	if len(files) != len(cases) {
		t.Errorf("%d bad plans, %d cases", len(files), len(cases))
	}
	for _, f := range files {
		t.Run(filepath.Base(f), func(t *testing.T) {
			p, _, err := Load(f)
			c := cases[filepath.Base(f)]
			wants(t, err, c.rule, f+c.place, c.says)
			if p != nil {
				t.Error("a plan came back with the fault")
			}
		})
	}
}

// edit replaces words in a text; a word that is not there is a slip in the test.
func edit(text string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			panic("not there: " + pairs[i])
		}
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	return text
}

func TestRulesNameThePlace(t *testing.T) {
	const gateA = "{letter: A, right: [14,10], left: [14,13]}"
	for _, c := range []struct {
		about             string
		edit              []string
		rule, place, says string
		warning           bool
	}{
		{"outline of two points", []string{"[60,0],[60,40],[0,40]", "[60,0]"}, "ground-outline", "f:3: ground.outline", "2 points", false},
		{"outline on a line", []string{"[60,0],[60,40],[0,40]", "[30,0],[60,0]"}, "ground-outline", "f:3: ground.outline", "crosses itself", false},
		{"national grid", []string{"[12.0, 9.5]", "[451200, 280950]"}, "coordinate-far", "f:6: things[0].at", "more than 10 km", true},
		{"not on Earth", []string{"[12.0, 9.5]", "[1e9, 2]"}, "coordinate", "f:6: things[0].at", "too far away", false},
		{"id twice", []string{"id: t1", "id: p1"}, "thing-id", "f:7: things[1].id", `"p1" is that of things[0]`, false},
		{"id of a marker", []string{"id: t1", "id: A.right"}, "thing-id", "f:7: things[1].id", "built point", false},
		{"id of a cone", []string{"id: t1", "id: 6a.cone"}, "thing-id", "f:7: things[1].id", "built point", false},
		{"id of the outline", []string{"id: t1", "id: outline"}, "thing-id", "f:7: things[1].id", "built point", false},
		{"negative radius", []string{"radius: 0.4", "radius: -0.4"}, "thing-size", "f:7: things[1].radius", "-0.4", false},
		{"negative width", []string{"width: 0.12", "width: -0.12"}, "thing-size", "f:8: things[2].width", "-0.12", false},
		{"no radius", []string{", radius: 0.4", ""}, "missing-key", "f:7: things[1]", `"radius" is missing`, false},
		{"two shapes", []string{"radius: 0.4", "radius: 0.4, path: [[1,2],[3,4]]"}, "thing-shape", "f:7: things[1]", "exactly one", false},
		{"path of one point", []string{"[[20,10],[24,10]]", "[[20,10]]"}, "thing-shape", "f:8: things[2].path", "one point", false},
		{"point of three", []string{"[30.0, 22.0]", "[30.0, 22.0, 1]"}, "type", "f:7: things[1].at", "two numbers", false},
		{"thing outside", []string{"[30.0, 22.0]", "[30.0, 52.0]"}, "thing-outside", "f:7: things[1]", "outside the ground", true},
		{"marker radius", []string{"marker_radius: 0.06", "marker_radius: -1"}, "marker-radius", "f:12: hazards[0].marker_radius", "-1", false},
		{"small letter", []string{"letter: A", "letter: a"}, "gate-letter", "f:16: hazards[0].gates[0].letter", `"a"`, false},
		{"two letters in one", []string{"letter: A", "letter: AB"}, "gate-letter", "f:16: hazards[0].gates[0].letter", `"AB"`, false},
		{"same letter for two classes at once", []string{gateA, gateA + "\n      - {letter: B, right: [24,18], left: [24,22], for: [pony, VSE]}"}, "gate-twice", "f:18: hazards[0].gates[2].letter", "gate B stands twice", false},
		{"a class without B", []string{gateA, gateA + "\n      - {letter: C, right: [24,18], left: [24,22]}"}, "gate-for", "f:15: hazards[0].gates", "no gate B", true},
		{"narrow gate", []string{"left: [14,13]", "left: [14,12]"}, "gate-narrow", "f:16: hazards[0].gates[0]", "1.88 m apart", true},
		{"gate outside", []string{"left: [14,13]", "left: [14,43]"}, "gate-outside", "f:16: hazards[0].gates[0].left", "outside the ground", false},
		{"rail across a gate", []string{"[[20,10],[24,10]]", "[[12,11.5],[16,12]]"}, "gate-blocked", "f:16: hazards[0].gates[0]", `rail "r1"`, false},
		{"rail along a gate", []string{"[[20,10],[24,10]]", "[[14,9],[14,14]]"}, "gate-blocked", "f:16: hazards[0].gates[0]", `rail "r1"`, false},
		{"pond in a gate", []string{"outline: [[40,5],[46,5],[46,9],[40,9]], drivable: true", "outline: [[13,11],[15,11],[15,12],[13,12]]"}, "gate-blocked", "f:16: hazards[0].gates[0]", `water "w1"`, false},
		{"tree against a marker", []string{"[30.0, 22.0]", "[14, 13.1]"}, "gate-narrowed", "f:16: hazards[0].gates[0]", "leave 2.64 m of its 2.88 m", true},
		{"gates that cross", []string{gateA, "{letter: A, right: [32,11], left: [36,12]}"}, "gate-cross", "f:17: hazards[0].gates[1]", "crosses that of gate A", true},
		{"a marker inside another gate", []string{gateA, "{letter: A, right: [34,6], left: [34,14]}"}, "gate-marker", "f:16: hazards[0].gates[0]", "the right marker of gate B stands in the opening", true},
		{"out leads out", []string{"out: {right: [5,22], left: [5,18]}", "out: {right: [0.4,22], left: [0.4,18]}"}, "line-ground", "f:14: hazards[0].out", "leads out of the ground", false},
		{"course number missing", []string{"number: 1", "number: 4"}, "cone-number", "f:22: courses[0].gates", "gate 1 is missing", false},
		{"part missing", []string{"part: b", "part: c"}, "cone-part", "f:22: courses[0].gates", "gate 2", false},
		{"part twice", []string{"part: b", "part: a"}, "cone-twice", "f:25: courses[0].gates[2]", "gate 2a stands twice", false},
		{"pair and cone", []string{"number: 1, at: [10,6]", "number: 1, at: [10,6], cone: [1,1]"}, "cone-shape", "f:23: courses[0].gates[0]", "either", false},
		{"wrong side", []string{"pass: right", "pass: red"}, "word", "f:26: courses[0].gates[3].pass", "right, left", false},
		{"gap both ways", []string{"{clearance_cm: 30}", "{clearance_cm: 30, fixed_cm: 200}"}, "cone-gap", "f:28: courses[0].gap", "", false},
		{"speed 0", []string{"pair: 210", "pair: 0"}, "cone-speed", "f:29: courses[0].speed_m_per_min", `"pair"`, false},
		{"cone outside", []string{"at: [10,6]", "at: [10,-6]"}, "cone-outside", "f:23: courses[0].gates[0]", "outside", false},
		{"cone on a tree", []string{"at: [10,6]", "at: [30,22.1]"}, "cone-blocked", "f:23: courses[0].gates[0]", `"t1"`, false},
		{"arena size", []string{"20x30", "large"}, "arena-size", "f:4: arena.size", `"large"`, false},
		{"arena outside", []string{"20x30", "40x80"}, "arena-outside", "f:4: arena", "outside", true},
		{"other version", []string{"plan/1", "plan/2"}, "word", "f:1: terret", "plan/1", false},
		{"name of two lines", []string{"name: Lower field", `name: "Lower\nfield"`}, "name", "f:2: name", "one line", false},
	} {
		t.Run(c.about, func(t *testing.T) {
			_, warnings, err := Decode("f", []byte(edit(contract, c.edit...)))
			if !c.warning {
				wants(t, err, c.rule, c.place, c.says)
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range warnings {
				if w.Rule == c.rule && w.Place == c.place && strings.Contains(w.Message, c.says) {
					return
				}
			}
			t.Errorf("no warning %q at %q saying %q in %v", c.rule, c.place, c.says, warnings)
		})
	}
}

func TestWhatIsLegalIsNotRefused(t *testing.T) {
	const gateA = "{letter: A, right: [14,10], left: [14,13]}"
	for about, e := range map[string][]string{
		"two letters on one pair":             {gateA, gateA + "\n      - {letter: B, right: [14,10], left: [14,13]}", "for: [VSE]", "for: [pony]", "letter: B, right: [34,10]", "letter: C, right: [34,10]"},
		"two letters, one pair, both ways":    {"letter: B, right: [34,10], left: [34,13]", "letter: B, right: [14,13], left: [14,10]"},
		"one letter for two classes":          {gateA, gateA + "\n      - {letter: B, right: [24,18], left: [24,22], for: [pony]}"},
		"a shared post":                       {"letter: B, right: [34,10], left: [34,13]", "letter: B, right: [17,13], left: [14,13]"},
		"a post where a marker is":            {"[12.0, 9.5]", "[14, 10]"},
		"a rail tied to a marker":             {"[[20,10],[24,10]]", "[[14,10],[14,7]]"},
		"drivable water in a gate":            {"[40,5],[46,5],[46,9],[40,9]", "[10,5],[20,5],[20,19],[10,19]"},
		"a marker in the fence":               {"right: [14,10], left: [14,13]", "right: [14,0], left: [14,4]"},
		"a marker in the far fence":           {"right: [14,10], left: [14,13]", "right: [57,40], left: [60,36]"},
		"letters N and Y unquoted elsewhere":  {"kind: post", "kind: N", "kind: tree", "kind: Y"},
		"notes and x- keys everywhere":        {"name: Cones", "name: Cones\n    notes: [1, 2]\n    x-colour: {a: b}", "radius: 0.4", "radius: 0.4, x-height: 7, notes: old"},
		"a last point that repeats the first": {"[60,40],[0,40]", "[60,40],[0,40],[0,0]"},
	} {
		t.Run(about, func(t *testing.T) {
			_, warnings, err := Decode("f", []byte(edit(contract, e...)))
			if err != nil {
				t.Error(err)
			}
			for _, w := range warnings {
				if w.Rule != "gate-for" {
					t.Error(w)
				}
			}
		})
	}
}

func TestTenThousandPostsAreRefusedByTheirNumberAtOnce(t *testing.T) {
	var b strings.Builder
	b.WriteString("terret: plan/1\nname: Many\nground: {outline: [[0,0],[600,0],[600,400]]}\nthings:\n")
	for i := range 10_000 {
		fmt.Fprintf(&b, "  - {id: p%d, kind: post, at: [%d.5, %d.25], radius: 0.06}\n", i, i%100, i/100)
	}
	start := time.Now()
	_, _, err := Decode("many.yaml", []byte(b.String()))
	wants(t, err, "too-many", "many.yaml:5: things", "10000 things")
	if took := time.Since(start); took > 2*time.Second {
		t.Errorf("it took %v", took)
	}
}

func TestAFileOf40MBIsRefusedByItsSize(t *testing.T) {
	f := filepath.Join(t.TempDir(), "large.yaml")
	if err := os.WriteFile(f, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(f, 40<<20); err != nil {
		t.Fatal(err)
	}
	_, _, err := Load(f)
	wants(t, err, "too-large", f, "40.0 MB")
	if code, _ := fault.CodeOf(err); code != fault.TooLarge {
		t.Errorf("code %q", code)
	}
}
