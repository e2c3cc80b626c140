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
	// ConesTimeRounding is how the time allowed of a cones course is brought to
	// whole seconds: up (a started second is given), nearest, or none.
	ConesTimeRounding = "cones.time_allowed_rounding"
)

// Words that a value may be.
const (
	Neutral    = "neutral"
	Live       = "live"
	Free       = "free"
	Error      = "error"
	Eliminated = "eliminated"

	RoundUp      = "up"
	RoundNearest = "nearest"
	RoundNot     = "none"
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

		ConesTimeRounding:              {words: []string{RoundUp, RoundNearest, RoundNot}},
		"cones.time_limit_factor":      {unit: "times the time allowed"},
		"cones.obstacles_most":         {unit: "obstacles"},
		"cones.length_least_m":         {unit: "m"},
		"cones.length_most_m":          {unit: "m"},
		"cones.line_least_m":           {unit: "m"},
		"cones.line_most_m":            {unit: "m"},
		"cones.multiples_most":         {unit: "multiples"},
		"cones.multiple_length_most_m": {unit: "m"},
		"cones.parts_most":             {unit: "parts"},
		"cones.apart_least_m":          {unit: "m"},
		"cones.apart_least_four_m":     {unit: "m"},
		"cones.clearance_least_cm":     {unit: "cm"},
		"cones.clearance_most_cm":      {unit: "cm"},
	}
}
