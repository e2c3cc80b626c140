// Package gates is the judge of a hazard: which gate is due, which are live and
// which are dead, and what a drive through them, letter by letter, comes to. It
// knows letters and sides, and no geometry.
//
// # The game
//
// A hazard is entered by In, its lettered gates are driven in the order of the
// alphabet, each with the red marker on the driver's right, and it is left by
// Out. At any moment one gate is due.
//
//	due   the next one to be driven, forward
//	live  not driven yet: passing it out of turn, or any live gate backwards, is an error
//	dead  driven: it may be passed in any direction, any number of times
//
// # An error and its correction
//
// After an error the gate that was due is owed. The driver goes back and drives
// it; until then every gate is neutral, whatever is driven there counts for
// nothing, and afterwards the next letter is due: A B D (C was owed) is put
// right by C, and then D again. So one error is counted once, however much is
// driven before it is put right. Leaving by Out with anything still owed
// eliminates.
//
// That is the reading of the profile three-phase (KNHS Disciplinereglement
// Mennen, article 458.2b). Two points differ between books, or are not in those
// read, and are values of the profile: what gates are while an error is being
// corrected (hazard.while_correcting) and what passing In after the start is
// (hazard.in_again).
//
// # Use
//
// [State] is one moment of a drive; [State.Pass] gives the next moment and the
// ruling. [Judge] does a whole drive. [State.Standing] tells a drawing how a
// gate is to be shown.
package gates

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"terret/internal/rules"
)

// The two gates without a letter.
const (
	In  = "in"
	Out = "out"
)

// Pass is one gate driven.
type Pass struct {
	Gate      string // "in", "out" or a letter A to Z
	Backwards bool   // with the red marker on the driver's left
}

// Standing is what a gate is at one moment.
type Standing string

// The standings.
const (
	Due       Standing = "due"         // the next one to be driven
	Live      Standing = "live"        // not driven yet
	Dead      Standing = "dead"        // driven
	NeutralSt Standing = "neutral"     // not driven yet, and free until an error is put right
	NotInPlay Standing = "not in play" // not a gate of this drive
)

// How a pass was ruled.
const (
	Driven  = "driven"      // the due gate, forward
	Free    = "free"        // it counts for nothing
	Error   = "error"       // the wrong gate, or the wrong way
	Outside = "not in play" // not a gate of this drive, or after its end
)

// Step is one pass with its ruling.
type Step struct {
	Gate      string `json:"gate"`
	Backwards bool   `json:"backwards"`
	Was       string `json:"was"`   // "live", "dead" or "not in play"; In and Out are "due" when they are
	Ruled     string `json:"ruled"` // "driven", "free", "error" or "not in play"
	Why       string `json:"why"`   // in words
}

// Rules is what of a profile a judge needs.
type Rules struct {
	Profile         string   // its name
	CorrectedError  *big.Rat // penalties of one error put right
	WhileCorrecting string   // rules.Neutral or rules.Live
	InAgain         string   // rules.Free, rules.Error or rules.Eliminated
}

// RulesOf takes the judge's part of a profile.
func RulesOf(p *rules.Profile) Rules {
	return Rules{
		Profile:         p.Name,
		CorrectedError:  p.Number(rules.CorrectedError),
		WhileCorrecting: p.Get(rules.WhileCorrecting).Value,
		InAgain:         p.Get(rules.InAgain).Value,
	}
}

// State is one moment of a drive. It is a value: Pass gives a new one. The zero
// State is a drive that is over; begin with [Start].
type State struct {
	order  []string // In, the letters in play in their order, Out; never changed
	rules  Rules
	due    int    // index into order; len(order) when Out has been driven
	open   bool   // an error waits to be put right
	errors int    // errors so far
	lost   string // why the drive is lost; "" while it is not
}

// Start is the moment before In. letters are the gates in play, in their order.
func Start(letters []string, r Rules) State {
	return State{order: slices.Concat([]string{In}, letters, []string{Out}), rules: r}
}

// Due is the gate to be driven next; "" when the drive is over.
func (s State) Due() string {
	if s.Over() {
		return ""
	}
	return s.order[s.due]
}

// Over reports whether the drive has ended, by Out or by elimination.
func (s State) Over() bool { return s.lost != "" || s.due >= len(s.order) }

// Errors is the number of errors so far, put right or not.
func (s State) Errors() int { return s.errors }

// Owed reports whether an error waits to be put right by driving Due.
func (s State) Owed() bool { return s.open }

// neutral reports whether live gates are free just now.
func (s State) neutral() bool { return s.open && s.rules.WhileCorrecting != rules.Live }

// Standing is what a gate is at this moment.
func (s State) Standing(gate string) Standing {
	k := slices.Index(s.order, gate)
	switch {
	case k < 0:
		return NotInPlay
	case k < s.due:
		return Dead
	case s.Over():
		return NotInPlay // nothing counts any more
	case k == s.due:
		return Due
	case s.neutral() && gate != Out:
		return NeutralSt
	}
	return Live
}

// Pass rules on one gate driven, and gives the moment after it.
func (s State) Pass(p Pass) (State, Step) {
	k := slices.Index(s.order, p.Gate)
	switch {
	case s.Over():
		return s, p.ruled(NotInPlay, Outside, "the drive was over: "+s.ending())
	case k < 0:
		return s, p.ruled(NotInPlay, Outside, fmt.Sprintf("%s is no gate of this drive, which goes to %s", name(p.Gate), name(s.order[len(s.order)-2])))
	case k < s.due && p.Gate == In:
		return s.inAgain(p)
	case k < s.due:
		return s, p.ruled(Dead, Free, name(p.Gate)+" had been driven: dead, any direction, any number of times")
	}

	was := Live // not driven yet; In and Out are "due" in their turn
	if k == s.due && (p.Gate == In || p.Gate == Out) {
		was = Due
	}
	owed := s.order[s.due]
	switch {
	case k == s.due && !p.Backwards:
		why := name(p.Gate) + " was due"
		if s.open {
			why = name(p.Gate) + " was owed: the error is put right"
		}
		s.open = false
		s.due++
		return s, p.ruled(was, Driven, why)
	case p.Gate == Out && !p.Backwards:
		if !s.open {
			s.open = true
			s.errors++
		}
		s.lost = fmt.Sprintf("it left by Out with %s still owed", name(owed))
		return s, p.ruled(was, Error, fmt.Sprintf("%s was still owed; leaving by Out now eliminates", name(owed)))
	case s.neutral():
		return s, p.ruled(was, Free, fmt.Sprintf("all gates are neutral until %s is driven", name(owed)))
	}
	s.open = true
	s.errors++
	switch {
	case k == s.due:
		return s, p.ruled(was, Error, fmt.Sprintf("%s was due and was driven backwards: red must be on the driver's right", name(p.Gate)))
	case p.Backwards:
		return s, p.ruled(was, Error, fmt.Sprintf("%s was still owed; %s is live and was driven backwards", name(owed), name(p.Gate)))
	}
	return s, p.ruled(was, Error, name(owed)+" was still owed")
}

// inAgain rules on In after the start, which books see differently.
func (s State) inAgain(p Pass) (State, Step) {
	const key = " (the profile's " + rules.InAgain + ")"
	switch {
	case s.rules.InAgain == rules.Eliminated:
		if !s.open {
			s.open = true
			s.errors++
		}
		s.lost = "it passed In after the start"
		return s, p.ruled(Dead, Error, "passing In after the start ends the drive"+key)
	case s.rules.InAgain == rules.Error && s.neutral():
		return s, p.ruled(Dead, Free, fmt.Sprintf("all gates are neutral until %s is driven", name(s.order[s.due])))
	case s.rules.InAgain == rules.Error:
		s.open = true
		s.errors++
		return s, p.ruled(Dead, Error, "In may not be passed after the start"+key)
	}
	return s, p.ruled(Dead, Free, "In had been driven; this profile lets it be passed again"+key)
}

// ruled is the step of a pass.
func (p Pass) ruled(was Standing, how, why string) Step {
	return Step{Gate: p.Gate, Backwards: p.Backwards, Was: string(was), Ruled: how, Why: why}
}

// ending says in words how the drive ended.
func (s State) ending() string {
	if s.lost != "" {
		return s.lost
	}
	return "Out had been driven"
}

// name is a gate's name in a sentence.
func name(gate string) string {
	switch gate {
	case In:
		return "In"
	case Out:
		return "Out"
	}
	return gate
}

// Verdicts of a whole drive.
const (
	Clean      = "clean"
	Corrected  = "corrected"
	Eliminated = "eliminated"
)

// Verdict is the judge's answer on a whole drive. Its JSON is the shape of
// `terret hazard judge --json` in docs/files.md.
type Verdict struct {
	Verdict   string  `json:"verdict"`   // "clean", "corrected" or "eliminated"
	Errors    int     `json:"errors"`    // each counted once, until put right
	Penalties *string `json:"penalties"` // a decimal number; null when eliminated
	Rules     string  `json:"rules"`     // the profile
	Through   string  `json:"through"`   // the last letter in play
	Why       string  `json:"why"`       // the verdict in words
	Steps     []Step  `json:"steps"`     // one for each pass that was written; never nil
	Boards    []Board `json:"boards"`    // how every gate stood after each of Steps; never nil
}

// Board is how every gate stands at one moment: In, the letters in play in their
// order, Out.
type Board []Shown

// Shown is one gate on a board.
type Shown struct {
	Gate string   `json:"gate"`
	Is   Standing `json:"is"`
}

// Board is how every gate stands at this moment.
func (s State) Board() Board {
	b := make(Board, len(s.order))
	for i, g := range s.order {
		b[i] = Shown{g, s.Standing(g)}
	}
	return b
}

// Judge rules on a whole drive through letters in their order. In first and Out
// last are understood when passes do not begin and end with them.
func Judge(passes []Pass, letters []string, r Rules) Verdict {
	s := Start(letters, r)
	v := Verdict{Rules: r.Profile, Steps: []Step{}, Boards: []Board{}}
	if n := len(letters); n > 0 {
		v.Through = letters[n-1]
	}
	if len(passes) == 0 || passes[0].Gate != In {
		s, _ = s.Pass(Pass{Gate: In})
	}
	var step Step
	for _, p := range passes {
		s, step = s.Pass(p)
		v.Steps = append(v.Steps, step)
		v.Boards = append(v.Boards, s.Board())
	}
	if !s.Over() {
		s, _ = s.Pass(Pass{Gate: Out})
	}
	v.Errors = s.errors
	switch {
	case s.lost != "":
		v.Verdict, v.Why = Eliminated, "Eliminated: "+s.lost+"."
		return v
	case s.errors == 0:
		v.Verdict, v.Why = Clean, "Clean: every gate was driven in its turn."
	default:
		v.Verdict = Corrected
	}
	total := decimal(new(big.Rat).Mul(r.CorrectedError, new(big.Rat).SetInt64(int64(s.errors))))
	v.Penalties = &total
	switch {
	case s.errors == 1:
		v.Why = fmt.Sprintf("One error, put right: %s penalties.", total)
	case s.errors > 1:
		v.Why = fmt.Sprintf("%d errors, each put right: %d × %s = %s penalties.", s.errors, s.errors, decimal(r.CorrectedError), total)
	}
	return v
}

// decimal writes a number that has a finite decimal form, in full. Values of a
// profile are decimals of at most 20 characters, so 20 places hold every product
// with a whole number.
func decimal(r *big.Rat) string {
	s := r.FloatString(20)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
