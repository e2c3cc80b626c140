// Package trial scores a driving day: dressage, sections, hazards, cones, timed
// and judged classes, singly or added up, under any rule profile.
//
// It is pure computation: no clock, no files but what it is given, no storage.
// The same trial, profile and sheets give the same answer, byte for byte.
//
// # The parts
//
//	Trial     who enters what, tests and courses, the sheets as written
//	Validate  what is wrong with it, each fault with its place
//	Board     the scores: Put one more sheet, ask the Answer
//	Ledger    the marks as they came, append-only: who, when, on which device,
//	          what each one replaces
//	Answer    totals, places, ties with the rule that broke them, missing sheets
//
// # Arithmetic
//
// Everything is counted in exact fractions and rounded in one place that the
// profile names (score.rounded): each phase, or the total. How and to how many
// places are values of the profile too. Each number opens to its arithmetic,
// line by line, in the words a scorer would read out:
//
//	41.37 + 52.08 + 38.90 = 132.35 s
//	132.35 s × 0.25 = 33.09 (exactly 33.0875)
//
// A line that rests on a value nobody looked up ends with "[from memory]".
//
// # What a phase is
//
//	dressage  every judge's marks, times the printed coefficient, averaged,
//	          from 160 (or as the profile says), plus errors
//	sections  seconds over and under the times of a section
//	hazards   seconds in each hazard times a factor, plus faults, plus errors
//	          that package gates finds in the letters as driven
//	cones     balls, faults, time over (or under)
//	timed     pleasure driving: the time plus faults as seconds, or points
//	judged    pleasure driving: parts of a hundred, most wins
//
// A class with sections and hazards has a marathon as well: both together,
// rounded once where the profile says so.
//
// # Statuses
//
// placed, eliminated, retired, withdrawn, disqualified, hors concours. Only the
// placed have a place; hors concours have a total. What an elimination in one
// phase does to the whole is the profile's (score.eliminated_in_phase). An entry
// whose sheets are not all in has no place yet, and the answer says which sheet
// is missing.
package trial
