package rules

// Keys of the hazard.
const (
	// WhileCorrecting is what the gates are between an error and its correction:
	// neutral (nothing counts until the owed gate is driven) or live (each
	// further live gate driven wrongly is one more error).
	WhileCorrecting = "hazard.while_correcting"
	// InAgain is what passing In after the start is: free, an error, or the end
	// of the drive (eliminated).
	InAgain = "hazard.in_again"
	// CorrectedError is the penalties of one error that was put right.
	CorrectedError = "hazard.corrected_error"
	// UncorrectedError is what leaving with an error, or too early, leads to.
	UncorrectedError = "hazard.uncorrected_error"
)

// Words that a value may be.
const (
	Neutral    = "neutral"
	Live       = "live"
	Free       = "free"
	Error      = "error"
	Eliminated = "eliminated"
)

// key is what one key may hold: a decimal number of a unit, or one of words.
type key struct {
	unit  string
	words []string
}

// keyTable is every key there is.
func keyTable() map[string]key {
	each := key{unit: "penalties each"}
	return map[string]key{
		WhileCorrecting:             {words: []string{Neutral, Live}},
		InAgain:                     {words: []string{Free, Error, Eliminated}},
		CorrectedError:              each,
		UncorrectedError:            {words: []string{Eliminated}},
		"hazard.seconds_factor":     {unit: "penalties per second"},
		"hazard.time_rounding":      {words: []string{"sum, then hundredths"}},
		"hazard.time_limit_s":       {unit: "s"},
		"hazard.dislodged":          each,
		"hazard.held_from_falling":  each,
		"hazard.groom_down":         each,
		"hazard.driver_down":        each,
		"hazard.harness_loose":      {unit: "penalties"},
		"hazard.overturn":           {words: []string{Eliminated}},
		"hazard.gates_most":         {unit: "gates"},
		"hazard.gate_width_least_m": {unit: "m"},
		"hazard.route_most_m":       {unit: "m"},
	}
}
