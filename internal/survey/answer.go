package survey

import (
	"encoding/json"
	"math"
)

// Adjustment is the answer to [Network.Adjust]: the shape of docs/files.md.
type Adjustment struct {
	Points     map[string]Fix `json:"points"`
	S0         *float64       `json:"s0"`          // scatter found over scatter given, a plain number; null with no spare tape
	SpareTapes int            `json:"spare_tapes"` // tapes beyond what the points need
	Tapes      []TapeCheck    `json:"tapes"`       // in the order given
	Suspect    Suspect        `json:"suspect"`

	S0M      *float64 `json:"s0_m"`              // s0 times the network's sigma; null where it has none
	Level    float64  `json:"level"`             // of the tests, for the network as a whole
	WLimit   float64  `json:"w_limit"`           // |w| beyond it is suspect
	TauLimit *float64 `json:"tau_limit"`         // |tau| beyond it is suspect; null with fewer than two spare tapes
	Suspects []Check  `json:"suspects"`          // tapes that alone would explain it, likeliest first; empty when none is suspect
	NoFix    []string `json:"no_fix,omitempty"`  // points the tapes do not fix, in the order given
	Settled  bool     `json:"settled"`           // false: the steps came to no rest; look for a gross slip
	Removed  []Check  `json:"removed,omitempty"` // by Snoop: tapes taken out one after the other
}

// Check is a tape that is suspect or was taken out, and the error it likely has.
type Check struct {
	From   string   `json:"from"`
	To     string   `json:"to"`
	Likely *float64 `json:"likely_error_m"` // taped − true
}

// Fix is where a point is and how sure that is. Standard deviations are scaled
// by s0 where there are spare tapes, by the given σ where there are none.
type Fix struct {
	X       float64  `json:"x"`
	Y       float64  `json:"y"`
	SX      *float64 `json:"sx_m"`
	SY      *float64 `json:"sy_m"`
	Moved   *float64 `json:"moved_m"` // from where the plan wants it; null when there is no plan
	Ellipse *Ellipse `json:"ellipse"`
	NoFix   bool     `json:"no_fix,omitempty"` // x and y are the start values
}

// Ellipse holds the true place with the chance Share.
type Ellipse struct {
	A        float64 `json:"a_m"` // half axes
	B        float64 `json:"b_m"`
	Bearing  float64 `json:"bearing_deg"` // of the longer one, from 0 to 180
	Share    float64 `json:"share"`
	Standard Axes    `json:"standard"` // the standard ellipse, which holds 39 % when σ is known
}

// Axes are two half axes of an ellipse.
type Axes struct {
	A float64 `json:"a_m"`
	B float64 `json:"b_m"`
}

// TapeCheck is one tape against the adjusted points. Numbers are null where
// nothing can be said: a tape to a point without a fix, or one that nothing
// checks.
type TapeCheck struct {
	From       string   `json:"from"`
	To         string   `json:"to"`
	M          float64  `json:"m"`
	Residual   *float64 `json:"residual_m"` // adjusted − taped
	Redundancy float64  `json:"redundancy"`
	W          *float64 `json:"w"`
	Tau        *float64 `json:"tau"`
	Findable   *float64 `json:"smallest_findable_m"` // found with a chance of 80 % at this level
	Likely     *float64 `json:"likely_error_m"`      // taped − true
	Hardly     bool     `json:"hardly_checked,omitempty"`
}

// Suspect says which tape is wrong: none, one by name, or that it cannot be
// told.
type Suspect struct {
	Any   bool // a tape is suspect
	Named bool // and it is this one
	Tape  int  // its place among the tapes, when Named
	From  string
	To    string
}

// CannotTell is what is said when a tape is wrong and any of several may be it.
const CannotTell = "cannot tell which"

// MarshalJSON writes null, the tape, or CannotTell.
func (s Suspect) MarshalJSON() ([]byte, error) {
	switch {
	case !s.Any:
		return []byte("null"), nil
	case !s.Named:
		return json.Marshal(CannotTell)
	}
	return json.Marshal(struct {
		From string `json:"from"`
		To   string `json:"to"`
	}{s.From, s.To})
}

// Scatter reports whether tapes are suspect by the given σ alone: none stands out
// from the scatter of the others, so all may be coarser than was stated.
func (a *Adjustment) Scatter() bool {
	if !a.Suspect.Any || a.TauLimit == nil {
		return false
	}
	for _, c := range a.Tapes {
		if c.Tau != nil && math.Abs(*c.Tau) > *a.TauLimit {
			return false
		}
	}
	return true
}

// No reports whether the answer is no: a tape is suspect, a point has no fix, or
// the steps found no rest.
func (a *Adjustment) No() bool { return a.Suspect.Any || len(a.NoFix) > 0 || !a.Settled }
