package plan

import "time"

// Saved is one kept version of a plan. Versions of one plan count up from 1 and
// are never changed or taken away; an edit is the next version.
type Saved struct {
	ID      string    // of the plan, the same for all its versions
	Version int       // from 1
	Name    string    // the plan's name in this version
	Note    string    // why it was kept, in the keeper's words; may be empty
	At      time.Time // when it was kept, UTC to the millisecond
	Plan    *Plan     // nil in listings
}

// Letter is the version as it stands on every sheet.
func (s Saved) Letter() string { return VersionLetter(s.Version) }

// VersionLetter counts A, B, … Z, AA, AB, … from version 1, as drawings do;
// "" for a version below 1.
func VersionLetter(version int) string {
	var b []byte
	for n := version; n > 0; n = (n - 1) / 26 {
		b = append([]byte{byte('A' + (n-1)%26)}, b...)
	}
	return string(b)
}
