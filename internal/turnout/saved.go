package turnout

import "time"

// Saved is one kept version of a turnout. Versions count up from 1 and are
// never changed or taken away.
type Saved struct {
	ID       string    // of the turnout, the same for all its versions
	Version  int       // from 1
	Name     string    // in this version
	At       time.Time // when it was kept, UTC to the millisecond
	Document []byte    // the file's text, with the sections a drive does not need
}
