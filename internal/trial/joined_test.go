package trial_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"terret/internal/rules"
	"terret/internal/trial"
)

// Whatever was written, corrected, undone, ticked and disputed: the file made of a
// ledger is a valid trial and scores as the ledger's own board does.
func TestSoundScoresAsTheBoard(t *testing.T) {
	p := profile(t, rules.Default)
	random := rand.New(rand.NewPCG(5, 6))
	corrected, left, disputed := 0, 0, 0
	for round := range 200 {
		l, tr := &trial.Ledger{}, twoClasses()
		tr.Courses = append(tr.Courses, trial.Course{ID: "H2", Phase: rules.Hazards})
		var ids []string
		for n := range 5 + random.IntN(30) {
			id := fmt.Sprint("m", n)
			m := by(id, "Una", 1000)
			some := func() string {
				if len(ids) == 0 {
					return ""
				}
				return ids[random.IntN(len(ids))]
			}
			switch k := random.IntN(10); {
			case k < 6:
				s := sheet(id, 7+random.IntN(3), fmt.Sprintf("4%d.%02d", random.IntN(10), random.IntN(100)))
				s.Sheet.Course = fmt.Sprint("H", 1+random.IntN(2))
				if random.IntN(8) == 0 {
					s.Sheet.Seconds = "41,5"
				}
				if random.IntN(12) == 0 {
					s.Sheet.Entry = 70
				}
				m = s
				if random.IntN(2) == 0 {
					m.Replaces = some()
				}
			case k < 8:
				if m.Undoes = some(); m.Undoes == "" {
					continue
				}
			case k < 9:
				m.Status = &trial.Status{Entry: 7 + random.IntN(4), Status: trial.Retired, InPhase: []string{rules.Hazards, rules.Cones}[random.IntN(2)]}
			default:
				m.By = "Rob"
				m.Tick = &trial.Tick{Sheet: some()}
			}
			if l.Append(m) == nil {
				ids = append(ids, id)
			}
		}
		board, wrong, err := l.Open(tr, p)
		if err != nil {
			t.Fatal(err)
		}
		if len(l.Disputes()) > 0 {
			disputed++
		}
		sound, out := l.Sound(tr, p)
		a, err := trial.Score(sound, p)
		if err != nil {
			text, _ := l.Encode()
			t.Fatalf("round %d: no valid trial: %v\n%s", round, err, text)
		}
		if len(wrong) > 0 {
			left++
		}
		if len(wrong) > len(out)+2 { // a status for an entry that is not there is in no file
			t.Errorf("round %d: the board leaves out %v\nthe file %v", round, wrong, out)
		}
		for _, s := range sound.Sheets {
			if s.Replaces != "" {
				corrected++
			}
		}
		if x, y := answerText(t, a), answerText(t, board.Answer()); x != y {
			text, _ := l.Encode()
			t.Fatalf("round %d: the file scores\n%s\nthe board\n%s\nof\n%s", round, x, y, text)
		}
	}
	if corrected < 40 || left < 40 || disputed < 40 {
		t.Errorf("only %d corrections, %d with faults, %d disputes: the test tests little", corrected, left, disputed)
	}
}
