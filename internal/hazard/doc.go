// Package hazard plans a hazard: every different legal way a turnout can drive
// it, the quickest line of each, and why.
package hazard
