package gates_test

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/gates"
	"terret/internal/rules"
)

func threePhase(t testing.TB) gates.Rules {
	t.Helper()
	p, err := rules.Load("three-phase")
	if err != nil {
		t.Fatal(err)
	}
	return gates.RulesOf(p)
}

func judge(t testing.TB, drive, through string, r gates.Rules) gates.Verdict {
	t.Helper()
	passes, err := gates.Parse(drive)
	if err != nil {
		t.Fatal(err)
	}
	return gates.Judge(passes, gates.Letters(through), r)
}

// The common cases. "read" is KNHS Disciplinereglement Mennen, article 458.2b
// (and 458 for the penalties), as told in its own example; the others follow
// from the same article's sentences and are the trade's common reading.
func TestCases(t *testing.T) {
	r := threePhase(t)
	for _, c := range []struct {
		name, drive, through string
		verdict              string
		errors               int
		source               string
	}{
		{"every gate in its turn", "A B C D E", "E", gates.Clean, 0, "common reading"},
		{"a dead gate again", "A B B C D E", "E", gates.Clean, 0, "458.2b: free once driven in direction and order"},
		{"a dead gate backwards", "A B A< C D E", "E", gates.Clean, 0, "458.2b: then any direction, any number of times"},
		{"a gate too early, put right", "A C B C D E", "E", gates.Corrected, 1, "458.2b: go back, drive the missed gate, then the next"},
		{"the book's own example", "A B D C D E", "E", gates.Corrected, 1, "458.2b, read: A B D, then C, then D again"},
		{"a live gate backwards, put right", "A B C< C D E", "E", gates.Corrected, 1, "458.2b: wrong direction before it is free"},
		{"a gate left out", "A B D E", "E", gates.Eliminated, 1, "458.2b: not put right before leaving"},
		{"out too early", "A B C D out E", "E", gates.Eliminated, 1, "458: through the finish before all gates are done"},
		{"a letter that is not in play", "A B D C", "C", gates.Clean, 0, "common reading: later letters are another class's"},
		{"out by In and back", "in A in< in B C D E out", "E", gates.Clean, 0, "estimate: the profile lets In be passed again"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := judge(t, c.drive, c.through, r)
			if v.Verdict != c.verdict || v.Errors != c.errors {
				t.Errorf("%s: %s with %d errors, want %s with %d (%s)\n%+v", c.drive, v.Verdict, v.Errors, c.verdict, c.errors, c.source, v.Steps)
			}
			want := map[int]string{0: "0", 1: "20"}[c.errors] // 458, read: 20 each
			switch {
			case c.verdict == gates.Eliminated && v.Penalties != nil:
				t.Errorf("penalties %s for an eliminated drive", *v.Penalties)
			case c.verdict != gates.Eliminated && (v.Penalties == nil || *v.Penalties != want):
				t.Errorf("penalties %v, want %s", v.Penalties, want)
			}
		})
	}
}

// The ten common cases under every built-in profile: they agree but for what
// their values say, which is In after the start and what an error costs.
func TestCasesUnderEveryProfile(t *testing.T) {
	for _, name := range rules.Names() {
		p, err := rules.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		r := gates.RulesOf(p)
		each := p.Get(rules.CorrectedError).Value
		again := map[string]struct {
			verdict string
			errors  int
		}{rules.Free: {gates.Clean, 0}, rules.Error: {gates.Corrected, 1}, rules.Eliminated: {gates.Eliminated, 1}}[r.InAgain]
		for _, c := range []struct {
			drive, through, verdict string
			errors                  int
		}{
			{"A B C D E", "E", gates.Clean, 0},
			{"A B B C D E", "E", gates.Clean, 0},
			{"A B A< C D E", "E", gates.Clean, 0},
			{"A C B C D E", "E", gates.Corrected, 1},
			{"A B D C D E", "E", gates.Corrected, 1},
			{"A B C< C D E", "E", gates.Corrected, 1},
			{"A B D E", "E", gates.Eliminated, 1},
			{"A B C D out E", "E", gates.Eliminated, 1},
			{"A B D C", "C", gates.Clean, 0},
			// Each of In twice more is one error where In is none to be passed: the
			// first opens it, and all is neutral until B puts it right.
			{"in A in< in B C D E out", "E", again.verdict, again.errors},
		} {
			v := judge(t, c.drive, c.through, r)
			want := map[int]string{0: "0", 1: each}[c.errors]
			if v.Verdict != c.verdict || v.Errors != c.errors || v.Rules != name || c.verdict != gates.Eliminated && *v.Penalties != want {
				t.Errorf("%s: %s: %s with %d errors, want %s with %d", name, c.drive, v.Verdict, v.Errors, c.verdict, c.errors)
			}
			if len(v.Boards) != len(v.Steps) {
				t.Errorf("%s: %s: %d boards for %d gates", name, c.drive, len(v.Boards), len(v.Steps))
			}
		}
	}
}

// The board after each gate of the book's own example (KNHS 458.2b): after the
// error all that is not driven is neutral, C alone is due; C puts it right.
func TestBoards(t *testing.T) {
	v := judge(t, "A B D C D", "D", threePhase(t))
	var got []string
	for _, b := range v.Boards {
		line := ""
		for _, g := range b {
			line += g.Gate + " " + string(g.Is) + " "
		}
		got = append(got, strings.TrimSpace(line))
	}
	want := []string{
		"in dead A dead B due C live D live out live",
		"in dead A dead B dead C due D live out live",
		"in dead A dead B dead C due D neutral out live",
		"in dead A dead B dead C dead D due out live",
		"in dead A dead B dead C dead D dead out due",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// What a hurried judge meets and no table of ten cases holds.
func TestSubtle(t *testing.T) {
	r := threePhase(t)
	for _, c := range []struct {
		name, drive, through, verdict string
		errors                        int
		ruled                         string // d driven, f free, e error, - not in play
	}{
		{"many gates while neutral count once", "A C D E D< B C D E", "E", gates.Corrected, 1, "defffdddd"},
		{"driven while neutral is not driven", "A C B D E", "E", gates.Eliminated, 2, "dedef"},
		{"the owed gate backwards while neutral", "A C B< B C", "C", gates.Corrected, 1, "defdd"},
		{"two errors, both put right", "A C B D C D", "D", gates.Corrected, 2, "dededd"},
		{"a second error after the first is put right", "B A A< B< B C", "C", gates.Corrected, 2, "edfedd"},
		{"the last gate backwards, then out", "A B C<", "C", gates.Eliminated, 1, "dde"},
		{"out backwards while a gate is due", "A out< B C", "C", gates.Corrected, 1, "dedd"},
		{"out backwards when out is due", "A out< out", "A", gates.Corrected, 1, "ded"},
		{"In backwards to begin, put right", "in< in A out", "A", gates.Corrected, 1, "eddd"},
		{"In backwards to begin, never put right", "in< A out", "A", gates.Eliminated, 1, "efe"},
		{"nothing but in and out", "in out", "B", gates.Eliminated, 1, "de"},
		{"what comes after Out", "A B out B C", "B", gates.Clean, 0, "ddd--"},
		{"a letter of another class in between, backwards", "A F< B", "B", gates.Clean, 0, "d-d"},
		{"In again, then a gate left out", "in A in< in C out", "C", gates.Eliminated, 1, "ddffee"},
		{"In again while an error waits to be put right", "in A C in B C out", "C", gates.Corrected, 1, "ddefddd"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := judge(t, c.drive, c.through, r)
			got := ""
			for _, s := range v.Steps {
				got += map[string]string{gates.Driven: "d", gates.Free: "f", gates.Error: "e", gates.Outside: "-"}[s.Ruled]
				if s.Why == "" {
					t.Errorf("%s: no reason", s.Gate)
				}
			}
			if v.Verdict != c.verdict || v.Errors != c.errors || got != c.ruled {
				t.Errorf("%s: %s, %d errors, %s; want %s, %d, %s", c.drive, v.Verdict, v.Errors, got, c.verdict, c.errors, c.ruled)
			}
		})
	}
}

// In after the start is what the profile says.
func TestInAgain(t *testing.T) {
	for _, c := range []struct {
		rule, verdict string
		errors        int
	}{
		{rules.Free, gates.Clean, 0},
		{rules.Error, gates.Corrected, 1},
		{rules.Eliminated, gates.Eliminated, 1},
	} {
		r := threePhase(t)
		r.InAgain = c.rule
		if v := judge(t, "in A in< in B C out", "C", r); v.Verdict != c.verdict || v.Errors != c.errors {
			t.Errorf("in_again %s: %s with %d errors, want %s with %d", c.rule, v.Verdict, v.Errors, c.verdict, c.errors)
		}
	}
}

// Where a book keeps gates live while an error is put right, each further wrong
// gate is one more error.
func TestLiveWhileCorrecting(t *testing.T) {
	r := threePhase(t)
	r.WhileCorrecting = rules.Live
	if v := judge(t, "A C D B C D", "D", r); v.Verdict != gates.Corrected || v.Errors != 2 {
		t.Errorf("got %s with %d errors, want corrected with 2", v.Verdict, v.Errors)
	}
}

// Penalties are decimal, in full: 3 × 2.1 is 6.3 and no binary neighbour of it.
func TestPenaltiesAreDecimal(t *testing.T) {
	r := threePhase(t)
	r.CorrectedError, _ = new(big.Rat).SetString("2.1")
	v := judge(t, "B A C B D C D", "D", r)
	if v.Errors != 3 || v.Penalties == nil || *v.Penalties != "6.3" {
		t.Errorf("%d errors, penalties %v", v.Errors, v.Penalties)
	}
}

// What each gate was, in the words of docs/files.md: letters are live until they
// are driven, whether due or not; only In and Out are due.
func TestWas(t *testing.T) {
	r := threePhase(t)
	for _, c := range []struct{ name, drive, through, was string }{
		{"a clean drive", "in A B out", "B", "due live live due"},
		{"dead gates, backwards and In again", "in A A< in B out", "B", "due live dead dead live due"},
		{"a letter out of turn is live, and so is the owed one", "A C B C", "C", "live live live live"},
		{"Out before its turn", "A out B", "B", "live live not in play"},
		{"Out backwards in its turn", "A out< out", "A", "live due due"},
		{"a letter of another class", "A D", "A", "live not in play"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var was []string
			for _, s := range judge(t, c.drive, c.through, r).Steps {
				was = append(was, s.Was)
			}
			if got := strings.Join(was, " "); got != c.was {
				t.Errorf("%s: %s, want %s", c.drive, got, c.was)
			}
		})
	}
}

// The verdict says its arithmetic.
func TestVerdictWords(t *testing.T) {
	for drive, want := range map[string]string{
		"A B C":         "Clean: every gate was driven in its turn.",
		"A C B C":       "One error, put right: 20 penalties.",
		"B A A< C< B C": "2 errors, each put right: 2 × 20 = 40 penalties.",
		"A C":           "Eliminated: it left by Out with B still owed.",
		"A B out C":     "Eliminated: it left by Out with C still owed.",
	} {
		if got := judge(t, drive, "C", threePhase(t)).Why; got != want {
			t.Errorf("%s: %q, want %q", drive, got, want)
		}
	}
}

// The contract's own example, field by field.
func TestSteps(t *testing.T) {
	v := judge(t, "A C B C D E", "E", threePhase(t))
	want := gates.Step{Gate: "C", Was: "live", Ruled: "error", Why: "B was still owed"}
	if diff := cmp.Diff(want, v.Steps[1]); diff != "" {
		t.Errorf("second step (-want +got):\n%s", diff)
	}
}

func TestStanding(t *testing.T) {
	s := gates.Start(gates.Letters("C"), threePhase(t))
	look := func(s gates.State) string {
		var all []string
		for _, g := range []string{"in", "A", "B", "C", "D", "out"} {
			all = append(all, string(s.Standing(g)))
		}
		return strings.Join(all, " ")
	}
	for _, c := range []struct{ pass, want string }{
		{"", "due live live live not in play live"},
		{"in", "dead due live live not in play live"},
		{"A", "dead dead due live not in play live"},
		{"C", "dead dead due neutral not in play live"},
		{"B", "dead dead dead due not in play live"},
		{"C", "dead dead dead dead not in play due"},
		{"out", "dead dead dead dead not in play dead"},
	} {
		if c.pass != "" {
			s, _ = s.Pass(gates.Pass{Gate: c.pass})
		}
		if got := look(s); got != c.want {
			t.Errorf("after %q: %s, want %s", c.pass, got, c.want)
		}
	}
	if !s.Over() || s.Due() != "" {
		t.Error("Out was driven and the drive is not over")
	}
	var zero gates.State
	if _, step := zero.Pass(gates.Pass{Gate: "A"}); !zero.Over() || step.Ruled != gates.Outside {
		t.Error("the zero State is a drive that is over")
	}
}

// Dead gates, and letters not in play, put anywhere into a clean drive leave it
// clean.
func TestDeadGatesChangeNothing(t *testing.T) {
	r := threePhase(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "gates")
		letters := gates.Letters(string(rune('A' + n - 1)))
		var passes []gates.Pass
		for k := range letters {
			passes = append(passes, gates.Pass{Gate: letters[k]})
			for range rapid.IntRange(0, 4).Draw(t, "extra") {
				dead := rapid.SampledFrom(append([]string{"Y", "Z"}, letters[:k+1]...)).Draw(t, "gate")
				passes = append(passes, gates.Pass{Gate: dead, Backwards: rapid.Bool().Draw(t, "backwards")})
			}
		}
		if v := gates.Judge(passes, letters, r); v.Verdict != gates.Clean || *v.Penalties != "0" {
			t.Fatalf("%s: %s", gates.Format(passes), v.Verdict)
		}
	})
}

// Drives built from the rule's own words: before each gate some dead ones, or a
// wrong one and then whatever was driven on the way back to the gate that is
// owed. Each such detour is one error, however long it is.
func TestEachDetourIsOneError(t *testing.T) {
	r := threePhase(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "gates")
		letters := gates.Letters(string(rune('A' + n - 1)))
		var passes []gates.Pass
		errors := 0
		for k, due := range letters {
			// Everything but the due gate forward, and Out forward.
			one := rapid.Custom(func(t *rapid.T) gates.Pass {
				g := rapid.SampledFrom(letters).Draw(t, "gate")
				return gates.Pass{Gate: g, Backwards: g == due || rapid.Bool().Draw(t, "backwards")}
			})
			if rapid.Bool().Draw(t, "wrong") {
				errors++
				wrong := rapid.SampledFrom(letters[k:]).Draw(t, "first wrong")
				passes = append(passes, gates.Pass{Gate: wrong, Backwards: wrong == due || rapid.Bool().Draw(t, "its way")})
				passes = append(passes, rapid.SliceOfN(one, 0, 5).Draw(t, "on the way back")...)
			}
			passes = append(passes, gates.Pass{Gate: due})
		}
		v := gates.Judge(passes, letters, r)
		verdict := map[bool]string{true: gates.Clean, false: gates.Corrected}[errors == 0]
		if v.Verdict != verdict || v.Errors != errors {
			t.Fatalf("%s: %s with %d errors, want %s with %d", gates.Format(passes), v.Verdict, v.Errors, verdict, errors)
		}
	})
}

// What was ruled stays ruled: driving on never changes an earlier step, nor
// takes an error away. Every step has its reason.
func TestRulingsStand(t *testing.T) {
	r := threePhase(t)
	letters := gates.Letters("D")
	rapid.Check(t, func(t *rapid.T) {
		r.WhileCorrecting = rapid.SampledFrom([]string{rules.Neutral, rules.Live}).Draw(t, "while correcting")
		r.InAgain = rapid.SampledFrom([]string{rules.Free, rules.Error, rules.Eliminated}).Draw(t, "in again")
		passes := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) gates.Pass {
			return gates.Pass{Gate: rapid.SampledFrom([]string{gates.In, "A", "B", "C", "D", "E", gates.Out}).Draw(t, "gate"), Backwards: rapid.Bool().Draw(t, "backwards")}
		}), 1, 15).Draw(t, "drive")
		whole := gates.Judge(passes, letters, r)
		at := gates.Start(letters, r)
		for k := range passes {
			steps := gates.Judge(passes[:k+1], letters, r).Steps
			if diff := cmp.Diff(whole.Steps[:k+1], steps); diff != "" {
				t.Fatalf("%s, after %d gates:\n%s", gates.Format(passes), k+1, diff)
			}
			before := at.Errors()
			at, _ = at.Pass(passes[k])
			if at.Errors() < before {
				t.Fatalf("%s: an error is taken away at %d", gates.Format(passes), k+1)
			}
			if whole.Steps[k].Why == "" {
				t.Fatalf("%s: no reason at %d", gates.Format(passes), k+1)
			}
		}
	})
}

// A drive in which some letter is never passed forward is lost, whatever else is
// driven; and the other way round, no drive is lost that ends with every letter
// in order and then Out, for that puts everything right.
func TestLeavingOutAndPuttingRight(t *testing.T) {
	r := threePhase(t)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "gates")
		letters := gates.Letters(string(rune('A' + n - 1)))
		one := rapid.Custom(func(t *rapid.T) gates.Pass {
			return gates.Pass{Gate: rapid.SampledFrom(letters).Draw(t, "gate"), Backwards: rapid.Bool().Draw(t, "backwards")}
		})
		passes := rapid.SliceOfN(one, 0, 20).Draw(t, "drive")
		missing := rapid.SampledFrom(letters).Draw(t, "missing")
		var without, with []gates.Pass
		for _, p := range passes {
			if p.Gate != missing || p.Backwards {
				without = append(without, p)
			}
		}
		if v := gates.Judge(without, letters, r); v.Verdict != gates.Eliminated || v.Penalties != nil {
			t.Fatalf("%q leaves out %s and is %s", gates.Format(without), missing, v.Verdict)
		}
		with = append(with, passes...)
		for _, l := range letters {
			with = append(with, gates.Pass{Gate: l})
		}
		v := gates.Judge(with, letters, r)
		if v.Verdict == gates.Eliminated {
			t.Fatalf("%q ends with every letter in order and is eliminated", gates.Format(with))
		}
		if want := fmt.Sprint(20 * v.Errors); *v.Penalties != want {
			t.Fatalf("%d errors and %s penalties", v.Errors, *v.Penalties)
		}
	})
}

func TestParse(t *testing.T) {
	got, err := gates.Parse("  in a B< \t c← OUT ")
	if err != nil {
		t.Fatal(err)
	}
	want := []gates.Pass{{Gate: "in"}, {Gate: "A"}, {Gate: "B", Backwards: true}, {Gate: "C", Backwards: true}, {Gate: "out"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	for name, s := range map[string]string{
		"two letters in one word": "A BC D", "a number": "A 2", "an arrow alone": "A <", "backwards twice": "A<<",
		"forward arrow": "A>", "no Latin letter": "Ä", "an arrow in front": "<A", "a comma": "A,B",
	} {
		if _, err := gates.Parse(s); err == nil {
			t.Errorf("%s: %q is taken", name, s)
		} else if code, _ := fault.CodeOf(err); code != fault.Input {
			t.Errorf("%s: %v is no fault of the input", name, err)
		}
	}
	if _, err := gates.Parse(strings.Repeat("A ", gates.MaxPasses+1)); err == nil {
		t.Error("an endless drive is taken")
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"A C B C D E", "in A B< out", "a←", "", "A <", "out out"} {
		f.Add(s)
	}
	r := threePhase(f)
	f.Fuzz(func(t *testing.T, s string) {
		passes, err := gates.Parse(s)
		if err != nil {
			return
		}
		again, err := gates.Parse(gates.Format(passes))
		if err != nil || cmp.Diff(passes, again) != "" && len(passes) > 0 {
			t.Fatalf("%q does not come back: %v %v", s, again, err)
		}
		v := gates.Judge(passes, gates.Letters(gates.LastLetter(passes)), r)
		if len(v.Steps) != len(passes) || (v.Penalties == nil) != (v.Verdict == gates.Eliminated) || (v.Verdict == gates.Clean) != (v.Errors == 0) {
			t.Fatalf("%q: %+v", s, v)
		}
	})
}
