package cones

// Check is one rule of a plan that is broken, with its place and numbers.
type Check struct {
	Rule string `json:"rule"`
	Gate string `json:"gate"`
	Says string `json:"says"`
	Hint string `json:"hint"`
}
