package turnout

// Verdict is what a check found. None of them says that a turnout may go: that
// is for the people who stand beside it.
type Verdict string

// The verdicts. NotMeasured is a question that has no number yet.
const (
	Good        Verdict = "good"
	Look        Verdict = "look"
	No          Verdict = "no"
	NotMeasured Verdict = "not measured"
)

// rank orders the verdicts by how much they want somebody's eye.
func rank(v Verdict) int {
	switch v {
	case Look:
		return 2
	case No:
		return 3
	case NotMeasured:
		return 1
	}
	return 0
}

// Check is one thing looked at: its number against a limit, with the source of
// the limit and the arithmetic.
type Check struct {
	Name    string    `json:"name"`
	Verdict Verdict   `json:"verdict"`
	Number  *float64  `json:"number"` // null where there is none
	Limit   *float64  `json:"limit"`  // what the number is held against
	Unit    string    `json:"unit,omitempty"`
	Range   []float64 `json:"range,omitempty"` // of the number, where measurements are guessed or sources differ
	Source  string    `json:"source"`          // of the limit
	Sure    string    `json:"confidence"`
	Says    string    `json:"says"`
	Working []string  `json:"working,omitempty"` // the arithmetic, line by line
	Guessed []string  `json:"guessed,omitempty"` // measurements it rests on that are guessed
}

func pointer(f float64) *float64 { return &f }

// AnyNo reports whether any check says no.
func AnyNo(checks []Check) bool {
	for _, c := range checks {
		if c.Verdict == No {
			return true
		}
	}
	return false
}
