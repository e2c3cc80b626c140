package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"terret/internal/fault"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/testkit"
	"terret/internal/trial"
)

// dayFile reads an example trial with its scores.
func dayFile(t *testing.T, name string) DayInput {
	t.Helper()
	tr, p, err := trial.Load(filepath.Join("..", "..", "examples", name))
	if err != nil {
		t.Fatal(err)
	}
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	return DayInput{Trial: tr, Rules: p, Answer: a, PrintedAt: printedAt, Paper: A4}
}

// sections is a small trial with a marathon of two sections.
func sections(t *testing.T) DayInput {
	t.Helper()
	tr, p, err := trial.Decode("day.yaml", []byte(`
terret: trial/1
name: Sections
rules: three-phase
classes: [{id: N, phases: [sections]}]
entries: [{number: 7, class: N, driver: Ada}, {number: 8, class: N, driver: Bo}]
courses: [{id: A, phase: sections, allowed_s: "1800", minimum_s: "1680", limit_s: "3600"}]
sheets: {sections: [{entry: 7, course: A, seconds: "1820", faults: {groom_down: 1}}]}
`), rules.Load)
	if err != nil {
		t.Fatal(err)
	}
	a, err := trial.Score(tr, p)
	if err != nil {
		t.Fatal(err)
	}
	return DayInput{Trial: tr, Rules: p, Answer: a, PrintedAt: printedAt, Paper: A4}
}

// days are the trials the papers are tried on, with the grounds of the demo.
func days(t *testing.T) map[string]DayInput {
	all := map[string]DayInput{"schooling": dayFile(t, "trials/hollowmere.yaml"), "pleasure": dayFile(t, "trials/pleasure-show.yaml"), "demo": dayFile(t, "hollowmere-trial.yaml"), "sections": sections(t)}
	d := all["demo"]
	for _, name := range []string{"orchard", "woodstack", "cones"} {
		p, _, err := plan.Load(filepath.Join("..", "..", "examples", "demo", "plans", "hollowmere-"+name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		d.Plans = append(d.Plans, p)
	}
	all["demo"] = d
	return all
}

func wordsOf(pages []Scene) string {
	whole := ""
	for _, x := range textsOf(pages) {
		whole += x.Words + " "
	}
	return strings.Join(strings.Fields(whole), " ")
}

// TestDayPapersKeepTheHouseRules: every paper that a trial has, blank and filled, on
// both papers: 12 pt and more, inside the margins, with the event, the day, the
// print time and the page in it, and never the word of a verdict.
func TestDayPapersKeepTheHouseRules(t *testing.T) {
	drawn := map[string]int{}
	for name, day := range days(t) {
		for _, k := range DayKinds() {
			for _, blank := range []bool{false, true} {
				for _, paper := range []Paper{A4, Letter} {
					in := day
					in.Blank, in.Paper = blank, paper
					pages, err := Day(k.Name, in)
					what := fmt.Sprintf("%s of %s, blank %v, %s", k.Name, name, blank, paper.Name)
					if f := (*fault.Fault)(nil); errors.As(err, &f) && f.Code == fault.NotFound {
						continue // this trial has no such phase
					}
					if err != nil || len(pages) == 0 {
						t.Fatalf("%s: %d pages, %v", what, len(pages), err)
					}
					drawn[fmt.Sprint(k.Name, blank)]++
					for i := range pages {
						one := wordsOf(pages[i : i+1])
						for _, must := range []string{day.Trial.Name, day.PrintedAt.Format("2006-01-02 15:04"), "Saturday 3 October 2026", fmt.Sprintf("Page %d of %d", i+1, len(pages)), k.Title} {
							if k.Name == HazardSheet && must == k.Title {
								continue // its back has a title of its own
							}
							if !strings.Contains(one, must) {
								t.Errorf("%s, page %d: %q is not on it", what, i+1, must)
							}
						}
					}
					if strings.Contains(strings.ToLower(wordsOf(pages)), "safe") {
						t.Errorf("%s: the paper says safe", what)
					}
					for i := range pages {
						for _, x := range textsOf(pages[i : i+1]) {
							left, w := x.At.X, measure(x.Words, x.Size, x.Bold)
							switch x.Anchor {
							case End:
								left -= w
							case Middle:
								left -= w / 2
							}
							if left < margin-0.2 || left+w > pages[i].Width-margin+0.2 || x.At.Y > pages[i].Height-margin+0.5 {
								t.Errorf("%s, page %d: %q runs from %.1f to %.1f mm, down to %.1f", what, i+1, x.Words, left, left+w, x.At.Y)
							}
							if x.Size < body && !strings.HasPrefix(pages[i].Title, "Line as driven") { // signs on the ground are smaller
								t.Errorf("%s, page %d: %q is %g pt", what, i+1, x.Words, x.Size)
							}
						}
						if !strings.HasPrefix(pages[i].Title, "Line as driven") { // the ground is clipped there
							onPaper(t, what, &pages[i])
						}
					}
				}
			}
		}
	}
	for _, k := range DayKinds() {
		if drawn[k.Name+"false"] == 0 || drawn[k.Name+"true"] == 0 && k.Name != Working {
			t.Errorf("%s is drawn filled %d times and blank %d times", k.Name, drawn[k.Name+"false"], drawn[k.Name+"true"])
		}
	}
}

// onPaper: no box runs over the edge, and nothing is written over the foot's line.
func onPaper(t *testing.T, what string, s *Scene) {
	t.Helper()
	for _, p := range record(s).paths {
		for _, st := range p.Steps {
			if st.To.X < 0 || st.To.X > s.Width || st.To.Y > s.Height-margin+1 {
				t.Errorf("%s: a line ends at %.1f, %.1f", what, st.To.X, st.To.Y)
				return
			}
		}
	}
}

// TestDayPapersAgainstGolden: what was looked at once stays as it was.
func TestDayPapersAgainstGolden(t *testing.T) {
	all := days(t)
	for _, k := range DayKinds() {
		for _, blank := range []bool{false, true} {
			if k.Name == Working && blank {
				continue
			}
			in := all["schooling"]
			switch k.Name {
			case SectionTimes:
				in = all["sections"]
			case TimedSheet, JudgedSheet:
				in = all["pleasure"]
			case OrderOfGo, GapList, HazardList:
				in = all["demo"]
			}
			if in.Blank = blank; strings.HasSuffix(k.Name, "-sheet") || k.Name == Working {
				in.Entry = map[string]int{TimedSheet: 22, JudgedSheet: 31}[k.Name]
				if in.Entry == 0 {
					in.Entry = 7
				}
			}
			name := k.Name + ".svg"
			if blank {
				name = k.Name + "-blank.svg"
			}
			pages, err := Day(k.Name, in)
			if err != nil {
				t.Fatal(name, err)
			}
			var b bytes.Buffer
			if err := SVG(&b, pages...); err != nil {
				t.Fatal(err)
			}
			testkit.Golden(t, filepath.Join("day", name), b.Bytes())
		}
	}
}

// TestFilledSheetsCarryWhatTheTrialSays: every letter, time, mark, fault and total is on
// the paper of its run, and the working with it; a blank one has none of it.
func TestFilledSheetsCarryWhatTheTrialSays(t *testing.T) {
	in := dayFile(t, "trials/hollowmere.yaml")
	for _, row := range []struct {
		kind, course string
		entry        int
		has          []string
	}{
		// The numbers are those of examples/trials/hollowmere.yaml.
		{HazardSheet, "H2", 7, []string{"Hazel Fenn", "A C B C", "52.08 s", "groom gets down", "Brook", "= 93.45 s"}},
		{HazardSheet, "H2", 8, []string{"1 min 1.02 s", "No fault is on the sheet"}}, // 61.02: the one that replaces 71.02
		{DressageSheet, "", 7, []string{"judge at C", "judge at B", "error of course", "6.5"}},
		{ConesSheet, "", 7, []string{"2 min 43.14 s", "7b", "allowed 161 s", "2.14 s"}},
		{ConesSheet, "", 8, []string{"refusal", "rebuilt", "[from memory]"}},
		{Results, "", 0, []string{"Hazel Fenn", "withdrawn", "* Rests on rules that are from memory", "Not posted yet"}},
		{Working, "", 7, []string{"Total: ", "41.37 + 52.08"}},
	} {
		in.Entry, in.Course, in.Blank = row.entry, row.course, false
		pages, err := Day(row.kind, in)
		if err != nil {
			t.Fatal(err)
		}
		got := wordsOf(pages)
		for _, w := range row.has {
			if !strings.Contains(got, w) {
				t.Errorf("%s of %d: %q is not on the paper:\n%s", row.kind, row.entry, w, got)
			}
		}
		if row.entry == 0 || row.kind == Working {
			continue
		}
		in.Blank = true
		if pages, err = Day(row.kind, in); err != nil {
			t.Fatal(err)
		}
		blank := wordsOf(pages)
		for _, w := range []string{"52.08", "A C B C", "1.02 s", "43.14", "Working", "groom gets down 1"} {
			if strings.Contains(blank, w) {
				t.Errorf("blank %s of %d: %q is on the paper", row.kind, row.entry, w)
			}
		}
		if !strings.Contains(blank, in.entry(row.entry).Driver) {
			t.Errorf("blank %s of %d does not name its driver", row.kind, row.entry)
		}
	}
}

// TestTimedAndJudgedSheetsCarryTheirs of examples/trials/pleasure-show.yaml.
func TestTimedAndJudgedSheetsCarryTheirs(t *testing.T) {
	in := dayFile(t, "trials/pleasure-show.yaml")
	for kind, row := range map[string]struct {
		entry int
		has   string
	}{
		TimedSheet:  {22, "1 min 28.40 s Faults on the sheet obstacle knocked down 1 disobedience 98.40"},
		JudgedSheet: {31, "judge Ivy Dale 55 16 8 79.00"},
	} {
		in.Entry = row.entry
		pages, err := Day(kind, in)
		if err != nil {
			t.Fatal(err)
		}
		got := wordsOf(pages)
		for _, w := range strings.Fields(row.has) {
			if !strings.Contains(got, w) {
				t.Errorf("%s: %q is not on the paper:\n%s", kind, w, got)
			}
		}
	}
}

// TestScratchedAreStruckNotLeftOut: who does not start stays on the list, crossed out.
func TestScratchedAreStruckNotLeftOut(t *testing.T) {
	in := dayFile(t, "hollowmere-trial.yaml")
	pages, err := Day(OrderOfGo, in)
	if err != nil {
		t.Fatal(err)
	}
	for i := range pages {
		if !strings.HasPrefix(pages[i].Title, "Order of go: Dressage") {
			continue
		}
		var name Text
		for _, x := range textsOf(pages[i : i+1]) {
			if x.Words == "Perpetua Moss" {
				name = x
			}
		}
		if name.Words == "" {
			t.Fatal("the scratched entry is left out")
		}
		for _, p := range record(&pages[i]).paths {
			if len(p.Steps) == 2 && p.Steps[0].To.Y < name.At.Y && p.Steps[0].To.Y > name.At.Y-5 && p.Steps[0].To.X < name.At.X && p.Steps[1].To.X > name.At.X+20 && p.Steps[1].To.X < name.At.X+50 {
				return
			}
		}
		t.Error("the scratched entry is not crossed out")
	}
}

// TestWhatIsNotThereIsSaid with what there is.
func TestWhatIsNotThereIsSaid(t *testing.T) {
	in := dayFile(t, "trials/hollowmere.yaml")
	for name, row := range map[string]struct {
		kind string
		set  func(*DayInput)
		says string
	}{
		"no such entry":        {HazardSheet, func(in *DayInput) { in.Entry = 99 }, "no entry 99"},
		"no such class":        {Results, func(in *DayInput) { in.Class = "Z" }, "there are P, N"},
		"no such course":       {HazardSheet, func(in *DayInput) { in.Course = "H9" }, "there are H1, H2"},
		"no such test":         {DressageSheet, func(in *DayInput) { in.Course = "H1" }, "there are T1"},
		"no such phase":        {SectionTimes, func(*DayInput) {}, "no class of the trial drives sections"},
		"no sheet is in":       {HazardSheet, func(in *DayInput) { in.Entry, in.Course = 9, "H2" }, "--blank prints"},
		"no scores, filled":    {Results, func(in *DayInput) { in.Answer = nil }, "score the trial first"},
		"working, blank":       {Working, func(in *DayInput) { in.Blank = true }, "no score to open"},
		"a paper not there is": {"results-board", func(*DayInput) {}, "there are order-of-go"},
	} {
		one := in
		row.set(&one)
		if _, err := Day(row.kind, one); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v; want %q", name, err, row.says)
		}
	}
}

// TestATrialInTheMaking: at every stage of being put together each paper is drawn, or
// it is said in words what there is not to draw.
func TestATrialInTheMaking(t *testing.T) {
	whole := dayFile(t, "trials/hollowmere.yaml")
	for stage, cut := range map[string]func(*trial.Trial){
		"nothing":             func(t *trial.Trial) { t.Classes, t.Entries, t.Courses, t.Tests = nil, nil, nil, nil },
		"classes":             func(t *trial.Trial) { t.Entries, t.Courses, t.Tests = nil, nil, nil },
		"entries, no courses": func(t *trial.Trial) { t.Courses, t.Tests = nil, nil },
		"no entries":          func(t *trial.Trial) { t.Entries = nil },
		"no sheets":           func(*trial.Trial) {},
	} {
		tr := *whole.Trial
		tr.Sheets = nil
		cut(&tr)
		answer, err := trial.Score(&tr, whole.Rules)
		if err != nil {
			t.Fatal(stage, err)
		}
		for _, k := range DayKinds() {
			for _, blank := range []bool{true, false} {
				pages, err := Day(k.Name, DayInput{Trial: &tr, Rules: whole.Rules, Answer: answer, Blank: blank, PrintedAt: printedAt, Paper: A4})
				if _, told := fault.CodeOf(err); err != nil && !told || err == nil && len(pages) == 0 {
					t.Errorf("%s, %s, blank %v: %d pages, %v", stage, k.Name, blank, len(pages), err)
				}
			}
		}
	}
}
