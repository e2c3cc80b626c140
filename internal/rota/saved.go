package rota

import "time"

// Saved is one kept version of the jobs of a trial. Versions count up from 1 and are
// never changed or taken away; a change is the next version.
type Saved struct {
	Trial    string    // id of the trial they stand beside
	Version  int       // from 1
	Name     string    // of the rota in this version
	Note     string    // what was changed
	By       string    // who changed it; may be empty
	At       time.Time // when it was kept, UTC to the millisecond
	Document []byte    // the file's text (rota/1); nil in a list of versions
}
