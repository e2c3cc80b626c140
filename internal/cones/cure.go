package cones

import (
	"fmt"
	"math"
)

// Kinds of cure.
const (
	Widen = "widen"
	Move  = "move"
	Turn  = "turn"
)

// Cure is a change of the plan after which a gate is not touched.
type Cure struct {
	Kind  string      `json:"kind"`
	Gate  string      `json:"gate"` // the one to change: this one or the one before
	ByCM  *float64    `json:"by_cm,omitempty"`
	ByM   *[2]float64 `json:"by_m,omitempty"`
	ByDeg *float64    `json:"by_deg,omitempty"`
}

// Says tells the cure in words, rounded up to what a tape can set.
func (c *Cure) Says() string {
	switch {
	case c.ByCM != nil:
		return fmt.Sprintf("set %s wider by %s cm", c.Gate, up(*c.ByCM))
	case c.ByM != nil:
		return fmt.Sprintf("move %s by %.2f m", c.Gate, math.Hypot(c.ByM[0], c.ByM[1]))
	case c.ByDeg != nil:
		return fmt.Sprintf("turn %s by %.1f°", c.Gate, *c.ByDeg)
	}
	return ""
}
