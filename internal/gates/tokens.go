package gates

import (
	"fmt"
	"strings"

	"terret/internal/fault"
)

// MaxPasses is the longest drive that is read. A long one has about 30 passes.
const MaxPasses = 10_000

// Parse reads a drive as it is written on a judge's sheet: gates parted by
// blanks, each a letter, in or out, with < (or ←) behind it when driven
// backwards. Letter case does not matter. The error is a fault.
func Parse(s string) ([]Pass, error) {
	words := strings.Fields(s)
	if len(words) > MaxPasses {
		return nil, &fault.Fault{Code: fault.TooLarge, Rule: "drive-length", Place: "drive", Message: fmt.Sprintf("the drive has %d gates", len(words)), Hint: fmt.Sprintf("at most %d are read", MaxPasses)}
	}
	passes := make([]Pass, 0, len(words))
	for i, w := range words {
		p := Pass{Gate: w}
		for _, back := range []string{"<", "←"} {
			if g, ok := strings.CutSuffix(w, back); ok {
				p = Pass{Gate: g, Backwards: true}
			}
		}
		gate, ok := Gate(p.Gate)
		if !ok {
			return nil, &fault.Fault{
				Code: fault.Input, Rule: "drive-token", Place: fmt.Sprintf("drive, word %d", i+1),
				Message: fmt.Sprintf("%q is no gate", w),
				Hint:    "write one letter A to Z, in or out, with < right behind it when it was driven backwards, and blanks between",
			}
		}
		p.Gate = gate
		passes = append(passes, p)
	}
	return passes, nil
}

// Format writes a drive the way Parse reads it.
func Format(passes []Pass) string {
	words := make([]string, len(passes))
	for i, p := range passes {
		words[i] = p.Gate
		if p.Backwards {
			words[i] += "<"
		}
	}
	return strings.Join(words, " ")
}

// Gate is the proper name of a gate that is written in any letter case: a letter
// A to Z, In or Out.
func Gate(s string) (gate string, ok bool) {
	switch {
	case strings.EqualFold(s, In):
		return In, true
	case strings.EqualFold(s, Out):
		return Out, true
	case len(s) == 1 && s[0]|0x20 >= 'a' && s[0]|0x20 <= 'z':
		return strings.ToUpper(s), true
	}
	return "", false
}

// Letters lists the letters from A to the given one.
func Letters(through string) []string {
	var all []string
	for c := 'A'; c <= 'Z' && string(c) <= through; c++ {
		all = append(all, string(c))
	}
	return all
}

// LastLetter is the latest letter of a drive; "" when there is none.
func LastLetter(passes []Pass) string {
	last := ""
	for _, p := range passes {
		if len(p.Gate) == 1 {
			last = max(last, p.Gate)
		}
	}
	return last
}
