// Package demo is the invented day that `terret serve --demo` opens with: the
// Hollowmere autumn schooling day, its ground and its twelve turnouts. No such
// place, person or horse exists.
package demo

import "embed"

// Files holds plans/*.yaml (plan/1) and turnouts/*.yaml (turnout/1).
//
//go:embed plans/*.yaml turnouts/*.yaml
var Files embed.FS
