package turnout

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
)

// Marks a checker gives a line of the card.
const (
	LookedAt = "looked at"
	Fix      = "fix"    // fix and show again
	Refuse   = "refuse" // not with this today
)

// Results of a card.
const (
	LookedOver = "looked over"
	ShowAgain  = "fix and show again"
	NotToday   = "not today"
)

// Record is a card that somebody has gone through: what was looked at, by whom
// and when. It is kept as it is; showing again makes a new one.
type Record struct {
	Turnout string    `json:"turnout"`
	Entry   string    `json:"entry"`
	Checker string    `json:"checker"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Marks   []Marked  `json:"marks"`
	Result  string    `json:"result"`
	Reason  string    `json:"reason"`
	Green   bool      `json:"green,omitempty"` // a green driver or horse
	// Again is the id of the card whose lines were to be fixed and shown again, ""
	// for a first look.
	Again string `json:"again,omitempty"`
}

// Marked is one line with its mark.
type Marked struct {
	Line string `json:"line"` // CardLine.ID
	Mark string `json:"mark"`
	Note string `json:"note"`
}

// Minutes is how long it took.
func (r *Record) Minutes() float64 { return r.To.Sub(r.From).Minutes() }

// NotLookedAt are the lines of the card that nobody marked, in its order.
func (r *Record) NotLookedAt(c *Card) []CardLine {
	var out []CardLine
	for _, l := range c.lines() {
		if !slices.ContainsFunc(r.Marks, func(m Marked) bool { return m.Line == l.ID }) {
			out = append(out, l)
		}
	}
	return out
}

// ToFix are the lines marked for it, with their notes.
func (r *Record) ToFix() []Marked {
	var out []Marked
	for _, m := range r.Marks {
		if m.Mark == Fix || m.Mark == Refuse {
			out = append(out, m)
		}
	}
	return out
}

// lines are all lines of the card.
func (c *Card) lines() []CardLine {
	var out []CardLine
	for _, p := range c.Parts {
		out = append(out, p.Lines...)
	}
	return out
}

// Check holds a record against its card. The faults: a checker without a name, a
// time that ends before it begins, a mark of no line or given twice, a result
// that the marks contradict, a refusal without a reason. A line nobody marked is
// no fault: NotLookedAt says so.
func (r *Record) Check(c *Card) error {
	var list fault.List
	bad := func(rule, place, message, hint string) {
		list = append(list, &fault.Fault{Code: fault.Input, Rule: rule, Place: place, Message: message, Hint: hint})
	}
	if strings.TrimSpace(r.Checker) == "" {
		bad("checker", "checker", "nobody is named who looked", "write the checker's name")
	}
	if r.From.IsZero() || r.To.Before(r.From) {
		bad("time", "to", "the card ends before it begins, or has no time", "the times in and out")
	}
	seen := map[string]bool{}
	refused, fix := "", ""
	for i, m := range r.Marks {
		place := fmt.Sprintf("marks[%d]", i)
		if !slices.ContainsFunc(c.lines(), func(l CardLine) bool { return l.ID == m.Line }) {
			bad("line", place, fmt.Sprintf("this card has no line %q", m.Line), "the lines of this turnout's card")
		}
		if seen[m.Line] {
			bad("line-twice", place, fmt.Sprintf("the line %q is marked twice", m.Line), "keep the later mark")
		}
		seen[m.Line] = true
		switch m.Mark {
		case LookedAt:
		case Fix:
			fix = m.Line
		case Refuse:
			refused = m.Line
		default:
			bad("mark", place, fmt.Sprintf("%q is no mark", m.Mark), LookedAt+", "+Fix+" or "+Refuse)
		}
	}
	switch r.Result {
	case LookedOver:
		if refused != "" || fix != "" {
			bad("result", "result", fmt.Sprintf("%q is marked to be fixed, and the result is %q", fix+refused, r.Result), ShowAgain+", or "+NotToday+" with a reason")
		}
	case ShowAgain:
		if refused != "" {
			bad("result", "result", fmt.Sprintf("%q is refused, and the result is %q", refused, r.Result), NotToday+" with a reason")
		}
	case NotToday:
		if strings.TrimSpace(r.Reason) == "" {
			bad("reason", "reason", "it is refused without a reason", "say why, in words the driver understands")
		}
	default:
		bad("result", "result", fmt.Sprintf("%q is no result", r.Result), LookedOver+", "+ShowAgain+" or "+NotToday)
	}
	return list.Err()
}
