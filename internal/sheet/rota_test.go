package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"terret/internal/fault"
	"terret/internal/rota"
	"terret/internal/testkit"
)

// textRect is where the small letters of a text stand.
func textRect(x Text) Rect {
	w := measure(x.Words, x.Size, x.Bold)
	left := x.At.X
	switch x.Anchor {
	case End:
		left -= w
	case Middle:
		left -= w / 2
	}
	h := 0.7 * x.Size * mmPerPt
	return Rect{left, x.At.Y - h, w, h}
}

// overlaps lists texts of a page that run into each other.
func overlaps(s *Scene) []string {
	var all []string
	texts := textsOf([]Scene{*s})
	for i, a := range texts {
		ra := textRect(a)
		for _, b := range texts[i+1:] {
			rb := textRect(b)
			w := math.Min(ra.X+ra.W, rb.X+rb.W) - math.Max(ra.X, rb.X)
			h := math.Min(ra.Y+ra.H, rb.Y+rb.H) - math.Max(ra.Y, rb.Y)
			if w > 0.3 && h > 0.3 {
				all = append(all, fmt.Sprintf("%q and %q run into each other", a.Words, b.Words))
			}
		}
	}
	return all
}

func dayRota(t *testing.T) *rota.Rota {
	t.Helper()
	r, err := rota.Load(filepath.Join("..", "..", "examples", "hollowmere-rota.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRotaPapersKeepTheHouseRules on both papers, blank and filled.
func TestRotaPapersKeepTheHouseRules(t *testing.T) {
	verdict := regexp.MustCompile(`(?i)\bsafe(ly)?\b`)
	for _, k := range RotaKinds() {
		for _, blank := range []bool{false, true} {
			for _, paper := range []Paper{A4, Letter} {
				what := fmt.Sprintf("%s, blank %v, %s", k.Name, blank, paper.Name)
				pages, err := Rota(k.Name, RotaInput{Rota: dayRota(t), Blank: blank, PrintedAt: printedAt, Paper: paper})
				if err != nil {
					t.Fatal(what, err)
				}
				for i := range pages {
					one := wordsOf(pages[i : i+1])
					for _, must := range []string{"Hollowmere autumn schooling day", "2026-10-03 07:40", fmt.Sprintf("Page %d of %d", i+1, len(pages)), k.Title} {
						if !strings.Contains(one, must) {
							t.Errorf("%s, page %d: %q is not on it", what, i+1, must)
						}
					}
					for _, x := range textsOf(pages[i : i+1]) {
						if r := textRect(x); x.Size < body || r.X < margin-0.2 || r.X+r.W > pages[i].Width-margin+0.2 || x.At.Y > pages[i].Height-margin+0.5 {
							t.Errorf("%s, page %d: %q is %g pt, from %.1f to %.1f mm, down to %.1f", what, i+1, x.Words, x.Size, r.X, r.X+r.W, x.At.Y)
						}
					}
					for _, o := range overlaps(&pages[i]) {
						t.Errorf("%s, page %d: %s", what, i+1, o)
					}
					onPaper(t, what, &pages[i])
				}
				whole := wordsOf(pages)
				if verdict.MatchString(whole) {
					t.Errorf("%s: the paper says safe", what)
				}
				if blank {
					for _, p := range dayRota(t).People {
						if strings.Contains(whole, p.Name) {
							t.Errorf("%s: %s is named", what, p.Name)
						}
					}
				}
			}
		}
	}
}

// TestDayPapersDoNotRunIntoThemselves, on the smaller paper too.
func TestDayPapersDoNotRunIntoThemselves(t *testing.T) {
	for name, day := range days(t) {
		for _, k := range DayKinds() {
			for _, blank := range []bool{false, true} {
				for _, paper := range []Paper{A4, Letter} {
					in := day
					in.Blank, in.Paper = blank, paper
					pages, err := Day(k.Name, in)
					if err != nil {
						continue // TestDayPapersKeepTheHouseRules says which may
					}
					for i := range pages {
						if strings.HasPrefix(pages[i].Title, "Line as driven") {
							continue
						}
						for _, o := range overlaps(&pages[i]) {
							t.Errorf("%s of %s, blank %v, %s, page %d: %s", k.Name, name, blank, paper.Name, i+1, o)
						}
					}
				}
			}
		}
	}
}

// TestRotaPapersAgainstGolden: what was looked at once stays as it was.
func TestRotaPapersAgainstGolden(t *testing.T) {
	for _, k := range RotaKinds() {
		for _, blank := range []bool{false, true} {
			in := RotaInput{Rota: dayRota(t), Blank: blank, PrintedAt: printedAt, Date: "Saturday 3 October"}
			name := k.Name + ".svg"
			if blank {
				name = k.Name + "-blank.svg"
			}
			if k.Name == JobCard {
				in.Job = "orchard-timers"
			}
			pages, err := Rota(k.Name, in)
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := SVG(&b, pages...); err != nil {
				t.Fatal(err)
			}
			testkit.Golden(t, filepath.Join("day", name), b.Bytes())
		}
	}
}

// TestRotaPapersSayAllOfIt: what is empty stands before what is covered, every job and
// person is on the list, every word of a card's cautions is printed.
func TestRotaPapersSayAllOfIt(t *testing.T) {
	r := dayRota(t)
	draw := func(kind string) string {
		pages, err := Rota(kind, RotaInput{Rota: r, PrintedAt: printedAt})
		if err != nil {
			t.Fatal(err)
		}
		return wordsOf(pages)
	}
	list := draw(RotaList)
	if a, b := strings.Index(list, "Uncovered"), strings.Index(list, "Job by job"); a < 0 || a > b {
		t.Error("what is uncovered does not come first")
	}
	for _, p := range r.People {
		if !strings.Contains(list, p.Name) {
			t.Errorf("%s is not on the list", p.Name)
		}
	}
	cards := draw(JobCard)
	if n := strings.Count(cards, cardCaution); n != len(r.Jobs) {
		t.Errorf("the caution is whole on %d of %d cards", n, len(r.Jobs))
	}
	for _, j := range r.Jobs {
		for k, v := range rota.CardOf(&j) {
			if !strings.Contains(cards, strings.Join(strings.Fields(v), " ")) {
				t.Errorf("%s: %s is cut short: %q", j.ID, k, v)
			}
		}
	}
	emergency := draw(EmergencyCard)
	for _, w := range []string{"defers to the organiser's own emergency plan, local rules and the emergency services", "The bridle stays on", "the yard gate on the lane, not the field gate", "Grid reference", "Vet, phone", "Farrier, phone"} {
		if !strings.Contains(emergency, w) {
			t.Errorf("the emergency card does not say %q", w)
		}
	}
	if s := draw(ClinicSlots); !slices.ContainsFunc([]string{"tighten 15 cm"}, func(w string) bool { return strings.Contains(s, w) }) {
		t.Errorf("the clinic's slots: %s", s)
	}
}

// TestLongWordsAreNotCut: an emergency card and a job card with the longest texts a
// file may hold have all of them, on one side or on several.
func TestLongWordsAreNotCut(t *testing.T) {
	long := func(n int) string {
		w := ""
		for i := 0; len(w) < n-8; i++ {
			w += fmt.Sprintf("word%d ", i)
		}
		return w + "end"
	}
	r := dayRota(t)
	for _, k := range rota.EmergencyKeys() {
		r.Emergency[k[0]] = k[0] + " " + long(rota.MaxFact-len(k[0])-2)
	}
	j := &r.Jobs[0]
	j.Card = map[string]string{}
	for _, k := range rota.CardKeys() {
		j.Card[k[0]] = k[0] + " " + long(rota.MaxWord-len(k[0])-2)
	}
	for _, paper := range []Paper{A4, Letter} {
		for kind, texts := range map[string]map[string]string{EmergencyCard: r.Emergency, JobCard: j.Card} {
			pages, err := Rota(kind, RotaInput{Rota: r, Job: j.ID, PrintedAt: printedAt, Paper: paper})
			if err != nil {
				t.Fatal(err)
			}
			whole := ""
			for i := range pages {
				for _, x := range textsOf(pages[i : i+1]) {
					if x.At.Y > margin+headHeight && x.At.Y < pages[i].Height-margin-footHeight { // not what each page repeats
						whole += x.Words + " "
					}
				}
			}
			whole = strings.Join(strings.Fields(whole), " ")
			for k, w := range texts {
				if !strings.Contains(whole, strings.Join(strings.Fields(w), " ")) {
					t.Errorf("%s on %s: %s is cut", kind, paper.Name, k)
				}
			}
			for i := range pages {
				onPaper(t, kind, &pages[i])
				for _, o := range overlaps(&pages[i]) {
					t.Errorf("%s on %s: %s", kind, paper.Name, o)
				}
			}
		}
	}
}

// TestARotaPaperThatCannotBeIsSaid with what would be right.
func TestARotaPaperThatCannotBeIsSaid(t *testing.T) {
	for name, row := range map[string]struct {
		kind string
		in   RotaInput
		code fault.Code
		says string
	}{
		"no such paper":   {"posters", RotaInput{Rota: dayRota(t)}, fault.Usage, "there are rota"},
		"no rota":         {RotaList, RotaInput{}, fault.Input, "name a rota"},
		"no such job":     {JobCard, RotaInput{Rota: dayRota(t), Job: "zebra"}, fault.NotFound, "there are safety"},
		"no clinic there": {ClinicSlots, RotaInput{Rota: &rota.Rota{Name: "x"}}, fault.NotFound, "bookings"},
		"no job at all":   {JobCard, RotaInput{Rota: &rota.Rota{Name: "x"}}, fault.NotFound, "no job"},
	} {
		_, err := Rota(row.kind, row.in)
		var f *fault.Fault
		if !errors.As(err, &f) || f.Code != row.code || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
