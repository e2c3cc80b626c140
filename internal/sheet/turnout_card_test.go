package sheet

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"terret/internal/gait"
	"terret/internal/turnout"
)

// words are all texts of pages, in the order of drawing.
type everyText struct {
	at    []Text
	depth int
}

func (e *everyText) Path(Path)   {}
func (e *everyText) Text(t Text) { e.at = append(e.at, t) }
func (e *everyText) Begin(Group) { e.depth++ }
func (e *everyText) End()        { e.depth-- }

func textsOf(pages []Scene) []Text {
	var e everyText
	for i := range pages {
		pages[i].Draw(&e)
	}
	return e.at
}

func loadTurnouts(t *testing.T) map[string]*turnout.Turnout {
	t.Helper()
	all := map[string]*turnout.Turnout{}
	for _, dir := range []string{"turnouts", "demo/turnouts"} {
		files, err := filepath.Glob(filepath.Join("..", "..", "examples", dir, "*.yaml"))
		if err != nil || len(files) == 0 {
			t.Fatal(files, err)
		}
		for _, f := range files {
			k, _, err := turnout.Load(f)
			if err != nil {
				t.Fatal(err)
			}
			all[filepath.Base(f)] = k
		}
	}
	return all
}

// busy is a turnout that asks for the most lines: a care list, everything due.
func busy(t *testing.T) *turnout.Turnout {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "examples", "demo", "turnouts", "12-bay-four.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	text := string(data) + "care: [{item: hub bearings, done: 2020-01-01}, {item: fifth wheel, done: 2015-01-01}, {item: harness stitching, done: 2026-01-01}, {item: farrier, done: 2026-01-01}]\n"
	k, _, err := turnout.Decode("busy.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// TestCheckCardsHoldOneSide: for every example turnout, on both papers, the card
// is one page in letters of 12 pt and more, nothing runs over the paper's edge or
// from one column into the other, and every line of the card is there.
func TestCheckCardsHoldOneSide(t *testing.T) {
	all := loadTurnouts(t)
	all["busy"] = busy(t)
	for name, k := range all {
		for _, paper := range []Paper{A4, Letter} {
			t.Run(fmt.Sprint(name, " on ", paper.Name), func(t *testing.T) {
				for _, green := range []bool{false, true} {
					day := time.Date(2026, 10, 3, 0, 0, 0, 0, time.UTC)
					c, err := turnout.NewCard(k, turnout.CardOptions{Conditions: turnout.Conditions{Today: day}, Green: green})
					if err != nil {
						t.Fatal(err)
					}
					for _, kind := range []string{CheckCardKind, PuttingToKind} {
						pages, err := Turnout(kind, TurnoutInput{Card: c, Paper: paper, PrintedAt: day})
						if err != nil || len(pages) != 1 {
							t.Fatalf("%s: %d pages, %v", kind, len(pages), err)
						}
						whole := ""
						for _, x := range textsOf(pages) {
							whole += x.Words + " "
							if least := body; x.Size < least && (name != "busy" && !green) {
								t.Errorf("%s: %q is %g pt", kind, x.Words, x.Size)
							}
							left, w := x.At.X, measure(x.Words, x.Size, x.Bold)
							switch x.Anchor {
							case End:
								left -= w
							case Middle:
								left -= w / 2
							}
							if left < margin-0.2 || left+w > paper.Width-margin+0.2 || x.At.Y > paper.Height-margin+0.5 {
								t.Errorf("%s: %q runs from %.1f to %.1f mm, down to %.1f", kind, x.Words, left, left+w, x.At.Y)
							}
						}
						if strings.Contains(strings.ToLower(whole), "safe") {
							t.Error("the paper says safe")
						}
						whole = strings.Join(strings.Fields(whole), " ")
						if kind == CheckCardKind {
							for _, p := range c.Parts {
								for _, l := range p.Lines {
									if !strings.Contains(whole, l.Text) {
										t.Errorf("the line %q is not on the paper", l.Text)
									}
								}
							}
						}
					}
				}
			})
		}
	}
}

// TestCardsLeaveOutWhatDoesNotApply by the hitch and the vehicle (trade practice:
// a pair has pole straps, a cart has balance).
func TestCardsLeaveOutWhatDoesNotApply(t *testing.T) {
	for name, row := range map[string]struct {
		file     string
		has, not []string
	}{
		"a VSE cart has balance and shafts, no fifth wheel and no pole": {"01-button.yaml", []string{"BALANCE", "SHAFTS", "Very small"}, []string{"POLE", "Fifth wheel", "LEADERS", "Coupling", "farthest"}},
		"a single on four wheels has shafts and a fifth wheel":          {"06-bay-cob.yaml", []string{"SHAFTS", "Fifth wheel"}, []string{"BALANCE", "POLE", "LEADERS", "Very small"}},
		"a phaeton that is not cut under asks where the wheel meets":    {"09-old-phaeton.yaml", []string{"wheel meets the body"}, []string{"BALANCE", "POLE"}},
		"a pair has a pole, pole straps and coupling reins":             {"08-chestnut-pair.yaml", []string{"POLE", "Pole straps", "Coupling", "farthest"}, []string{"SHAFTS", "BALANCE", "Breeching", "Tugs", "LEADERS"}},
		"a tandem has shafts and a leader, no lead bars on a pole":      {"11-grey-tandem.yaml", []string{"SHAFTS", "LEADERS", "farthest"}, []string{"POLE", "pole hook", "Coupling"}},
		"a four has a pole, lead bars and leaders":                      {"12-bay-four.yaml", []string{"POLE", "LEADERS", "pole hook", "Coupling"}, []string{"SHAFTS", "BALANCE", "Tugs"}},
	} {
		t.Run(name, func(t *testing.T) {
			c, err := turnout.NewCard(loadTurnouts(t)[row.file], turnout.CardOptions{})
			if err != nil {
				t.Fatal(err)
			}
			pages, err := Turnout(CheckCardKind, TurnoutInput{Card: c})
			if err != nil {
				t.Fatal(err)
			}
			whole := ""
			for _, x := range textsOf(pages) {
				whole += x.Words + " "
			}
			for _, w := range row.has {
				if !strings.Contains(whole, w) {
					t.Errorf("%q is not on the card", w)
				}
			}
			for _, w := range row.not {
				if strings.Contains(whole, w) {
					t.Errorf("%q is on the card", w)
				}
			}
		})
	}
}

// places collects where hoof prints have their toes: a path of three or four
// curves that begins at a heel.
type places struct {
	everyText
	fore, hind []Pt
}

func (p *places) Path(q Path) {
	if len(q.Steps) >= 3 && q.Steps[1].Op == Curve && q.Steps[2].Op == Curve {
		switch {
		case q.Fill == Black && len(q.Steps) == 5:
			p.hind = append(p.hind, q.Steps[1].To)
		case q.Fill == None && len(q.Steps) == 3:
			p.fore = append(p.fore, q.Steps[1].To)
		}
	}
}

// TestThePosterIsToScale: toe to toe on the paper, in the scale that is written
// on it, is the stride and the over-track of each trot (over-track = stride/2 −
// diagonal, exact geometry).
func TestThePosterIsToScale(t *testing.T) {
	k := loadTurnouts(t)["06-bay-cob.yaml"]
	for _, d := range []float64{1.365, 1.2} {
		own := &gait.Trot{DiagonalM: &d, ToleranceCM: 6.5}
		pages, err := Turnout(TrotPoster, TurnoutInput{Turnout: k, Trots: TrotsOf(k, own)})
		if err != nil {
			t.Fatal(err)
		}
		var one float64
		for _, x := range textsOf(pages) {
			if _, after, ok := strings.Cut(x.Words, "this is 1 : "); ok {
				if _, err := fmt.Sscan(after, &one); err != nil {
					t.Fatal(err)
				}
			}
		}
		if one == 0 {
			t.Fatal("no scale is written on the poster")
		}
		var p places
		pages[0].Draw(&p)
		rows := map[int]map[bool][]Pt{} // by third of the page
		for k, list := range map[bool][]Pt{true: p.hind, false: p.fore} {
			for _, at := range list {
				if at.Y < 70 {
					continue // the key
				}
				i := int((at.Y - 78) / ((420 - 22 - 44 - 78) / 3))
				if rows[i] == nil {
					rows[i] = map[bool][]Pt{}
				}
				rows[i][k] = append(rows[i][k], at)
			}
		}
		for i, want := range []float64{-0.13, 0, 0.13} {
			fore, hind := rows[i][false], rows[i][true]
			if len(fore) < 3 || len(hind) < 2 {
				t.Fatalf("trot %d has %d fore and %d hind prints", i, len(fore), len(hind))
			}
			if got := (hind[0].X - fore[0].X) * one / 1000; math.Abs(got-want) > 1e-9 {
				t.Errorf("over-track %.4f m on the poster, want %.2f", got, want)
			}
			if got, stride := (fore[2].X-fore[0].X)*one/1000, 2*(want+d); math.Abs(got-stride) > 1e-9 {
				t.Errorf("stride %.4f m on the poster, want %.3f", got, stride)
			}
		}
	}
}

func TestTurnoutPapersWithoutTheirInputAreFaults(t *testing.T) {
	for _, kind := range append(TurnoutKinds(), "menu") {
		if _, err := Turnout(kind, TurnoutInput{}); err == nil {
			t.Errorf("%s was drawn from nothing", kind)
		}
	}
	d := -0.2
	k := loadTurnouts(t)["06-bay-cob.yaml"]
	if _, err := Turnout(TrotPoster, TurnoutInput{Turnout: k, Trots: TrotsOf(k, &gait.Trot{DiagonalM: &d, ToleranceCM: 6.5})}); err == nil {
		t.Error("a trot without a stride was drawn")
	}
}
