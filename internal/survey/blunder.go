package survey

import (
	"cmp"
	"math"
	"slices"
)

// judge tests every tape and says which is wrong, if one is. sum is Σ(v/σ)².
func (a *Adjustment) judge(sum float64) {
	alpha := a.Level / float64(len(a.Tapes))
	a.WLimit = normalLimit(alpha)
	a.Suspects = []Check{}
	limit := tauLimit(alpha, a.SpareTapes)
	if !math.IsInf(limit, 1) {
		a.TauLimit = number(limit)
	}
	var order []int // tapes with a residual to test, largest |w| first; tau has the same order
	for i, c := range a.Tapes {
		if c.W == nil || a.SpareTapes < 1 {
			continue
		}
		order = append(order, i)
		if math.Abs(*c.W) > a.WLimit || c.Tau != nil && math.Abs(*c.Tau) > limit {
			a.Suspect.Any = true
		}
	}
	if !a.Suspect.Any {
		return
	}
	w := func(i int) float64 { return math.Abs(*a.Tapes[i].W) }
	// Equal ones, which rounding alone parts, stay in the order given.
	slices.SortStableFunc(order, func(i, k int) int { return cmp.Compare(math.Round(1e6*w(k)), math.Round(1e6*w(i))) })
	// Each explanation "tape i alone is wrong" takes w² off the sum of squares;
	// what is then left tells the scatter.
	first := order[0]
	left := 1.
	if a.SpareTapes > 1 {
		left = math.Max(1, (sum-w(first)*w(first))/float64(a.SpareTapes-1))
	}
	total := 0.
	weight := make([]float64, len(order))
	for k, i := range order {
		weight[k] = math.Exp((w(i)*w(i) - w(first)*w(first)) / (2 * left))
		total += weight[k]
	}
	// The suspects are the likeliest that together hold 1 − level of the weight.
	held := 0.
	for k, i := range order {
		if held >= (1-a.Level)*total {
			break
		}
		held += weight[k]
		c := a.Tapes[i]
		a.Suspects = append(a.Suspects, Check{c.From, c.To, c.Likely})
	}
	if len(a.Suspects) == 1 && a.SpareTapes > 1 && a.Tapes[first].Redundancy >= hardlyChecked {
		a.Suspect.Named, a.Suspect.Tape = true, first
		a.Suspect.From, a.Suspect.To = a.Tapes[first].From, a.Tapes[first].To
	}
}

// mostRemoved is how many tapes are taken out one after the other: where more are
// wrong, the taping is to be done again.
const mostRemoved = 5

// Snoop adjusts, takes out the tape that is named as wrong, and so on until none
// is named: Baarda's data snooping. The answer is the last adjustment, with the
// tapes taken out in Removed.
func (n *Network) Snoop(level float64) (*Adjustment, error) {
	a, err := n.Adjust(level)
	if err != nil {
		return nil, err
	}
	rest := *n
	var removed []Check
	for a.Suspect.Named && len(removed) < mostRemoved {
		c := a.Tapes[a.Suspect.Tape]
		removed = append(removed, Check{c.From, c.To, c.Likely})
		rest.Tapes = slices.Delete(slices.Clone(rest.Tapes), a.Suspect.Tape, a.Suspect.Tape+1)
		a = rest.adjust(level)
	}
	a.Removed = removed
	return a, nil
}
