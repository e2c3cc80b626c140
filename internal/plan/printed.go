package plan

import "time"

// Printed says that a paper of a plan was handed out: it stays true, whatever
// becomes of the plan, and tells which papers on the boards are of an old version.
type Printed struct {
	Plan    string    // id of the plan
	Version int       // that the paper shows
	Kind    string    // of paper: "cones-drivers"
	Of      string    // what of the plan: "hazard Orchard", "course Cones", "arena", "plan"
	At      time.Time // UTC to the millisecond
}

// Letter is the version as it stands on the paper.
func (p Printed) Letter() string { return VersionLetter(p.Version) }
