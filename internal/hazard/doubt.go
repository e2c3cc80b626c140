package hazard

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"terret/internal/turnout"
)

// Doubt is what a guess of the turnout's leaves open in an answer: how long the
// best way takes with the guess off by its doubt either way.
type Doubt struct {
	Guessed []string  `json:"guessed"`       // keys of the turnout file
	BestS   []float64 `json:"best_time_s"`   // [least, most] of the ends that can be driven; empty: neither can
	Stops   bool      `json:"stops_driving"` // at the worse end no way was found
	Says    string    `json:"says"`
}

// Doubts plans the question anew at both ends of what is guessed of how the
// turnout turns and what side force it takes. best is the time of the best way as
// it is, s; 0 where there is none. It takes as long as two answers for each guess.
// plan is [Routes], or what stands before it.
func Doubts(ctx context.Context, q Question, best float64, plan func(context.Context, Question) (*Answer, error)) ([]Doubt, error) {
	q.Most = 1
	all := []Doubt{}
	for _, g := range q.Turnout.Doubts() {
		d := Doubt{Guessed: g.Keys, BestS: []float64{}}
		times := []float64{}
		if best > 0 {
			times = append(times, best)
		}
		drives := [2]bool{}
		for i, t := range []*turnout.Turnout{g.Easier, g.Harder} {
			q.Turnout = t
			a, err := plan(ctx, q)
			if err != nil {
				return nil, err
			}
			if drives[i] = len(a.Routes) > 0; drives[i] {
				times = append(times, a.Routes[0].TimeS)
			}
		}
		d.Stops = !drives[1]
		what := fmt.Sprintf("%s is guessed: %s either way", upper(g.What), g.By)
		if len(times) == 0 {
			d.Says = what + " changes nothing, no way was found."
			all = append(all, d)
			continue
		}
		d.BestS = []float64{slices.Min(times), slices.Max(times)}
		d.Says = fmt.Sprintf("%s, and the best way takes %.1f to %.1f s.", what, d.BestS[0], d.BestS[1])
		switch {
		case best > 0 && !d.Stops && d.BestS[1]-d.BestS[0] < 0.1:
			d.Says = fmt.Sprintf("%s, and the best way takes as long, to a tenth of a second.", what)
		case best == 0:
			d.Says = fmt.Sprintf("%s, and at the better end it can be driven, in %.1f s. Measure it.", what, d.BestS[0])
		case d.Stops:
			d.Says = fmt.Sprintf("%s: at the worse end no way was found, at the better the best takes %.1f s. Measure it.", what, d.BestS[0])
		}
		all = append(all, d)
	}
	return all, nil
}

// upper begins a sentence.
func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
