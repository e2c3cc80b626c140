// Package rota keeps the jobs of a driving day: who holds which job when, what is
// uncovered, and what stops the day.
//
// # The parts
//
//	Rota       people, jobs with their shifts, the clinic's bookings, the
//	           emergency card's facts: the file terret: rota/1
//	Check      what is uncovered, first what stops the day; who is wanted in two
//	           places, is not there, cannot or may not; who has no break
//	Against    the jobs held against the day: hours that do not fit the phase they
//	           are for, people who drive while they hold a job
//	Propose    names for the seats that are free, as many as can be filled
//	Slots      the clinic: a slot for each booking, the widest first, so that a
//	           layout is only ever tightened
//	CardOf     what a novice needs to be told of a job, on one side of paper
//
// # Rules
//
// A person holds one job at a time, and has [Rota.ChangeMin] minutes to walk from one
// place to another. Nobody works longer than [Rota.LongestMin] without
// [Rota.BreakMin] free. Nobody judges a class that is named in their own not_near
// (their own, their family's). These are checks, not refusals: the organiser
// decides, and the answer names what is broken.
//
// # The proposal
//
// Seats that stop the day come first, then the others; then wishes. The search is
// branch and bound over seats in order of how few can hold them, seeded with a
// greedy answer, and bounded in steps: [Proposal.Exact] says whether it was
// finished, so that no better answer exists. It takes nobody out of a job they hold
// and proposes nothing that a check would name. The same rota gives the same
// proposal.
//
// It knows no clock, no trial and no paper. Times of day are minutes after
// midnight.
package rota
