package trial

// Answer is the scores of a trial as they stand. Its JSON is the shape of
// `terret trial score --json` in docs/files.md.
type Answer struct {
	Trial      string        `json:"trial"`
	Rules      string        `json:"rules"`       // the profile
	CountedIn  string        `json:"counted_in"`  // penalties or seconds
	Entries    []EntryScore  `json:"entries"`     // class by class, the placed first
	Missing    []Need        `json:"missing"`     // sheets expected and not there
	Sheets     []Tally       `json:"sheets"`      // how many are in
	Teams      []TeamScore   `json:"teams"`       // best first
	Series     []SeriesScore `json:"series"`      // in the order of the file
	FromMemory []string      `json:"from_memory"` // keys of the profile that were never looked up and count here
	Remarks    []string      `json:"remarks"`     // odd, and worth a look
}

// EntryScore is one entry's score.
type EntryScore struct {
	Number int      `json:"number"`
	Class  string   `json:"class"`
	Driver string   `json:"driver"`
	Horses []string `json:"horses,omitempty"`
	Status string   `json:"status"` // of Statuses
	Why    string   `json:"why"`    // why it has no place, or what is odd; "" nothing
	Place  *int     `json:"place"`  // null: not placed, or not yet
	Total  *string  `json:"total"`  // decimal; null: none, or not yet
	// Running is the place after each phase, among those that have a score up to
	// there.
	Running map[string]int        `json:"running"`
	Phases  map[string]PhaseScore `json:"phases"`
	// Sums has "marathon" where a class drives sections and hazards: both, rounded
	// once where the profile says so. The total counts it instead of the two.
	Sums  map[string]PhaseScore `json:"sums,omitempty"`
	Lines []string              `json:"lines"` // the total's arithmetic, as far as there is one
	Tie   *string               `json:"tie"`   // how a tie on the total was broken, or that it was not
}

// PhaseScore is one phase of an entry.
type PhaseScore struct {
	Penalties  *string  `json:"penalties"` // decimal, in what CountedIn says; null: none yet, or eliminated
	Lines      []string `json:"lines"`     // the arithmetic, line by line; never nil
	Place      *int     `json:"place"`     // in this phase alone
	CountedIn  string   `json:"counted_in"`
	Eliminated string   `json:"eliminated,omitempty"` // why
	Seconds    string   `json:"seconds,omitempty"`    // the time counted
	Percent    string   `json:"percent,omitempty"`    // of dressage
}

// Tally is how many sheets of a phase are in.
type Tally struct {
	Class   string `json:"class"`
	Phase   string `json:"phase"`
	In      int    `json:"in"`
	Of      int    `json:"of"`
	Missing []int  `json:"missing"` // numbers of the entries
}
