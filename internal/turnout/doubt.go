package turnout

import "fmt"

// Doubted is what some guesses of a turnout leave open: the same turnout with each
// of them off by its doubt, all to the end that makes driving easier, and all to
// the other. The doubts are estimates; the half metre of the least radius is what
// a circle driven by eye is worth.
type Doubted struct {
	What           string   // "the least radius", in words
	Keys           []string // what is guessed: turning.left …
	By             string   // the doubt, in words: "0.5 m"
	Easier, Harder *Turnout
}

// Doubts lists what is guessed of how a turnout turns and how it goes, each by
// itself. What is guessed of its measurements is said by its checks ([Inspect]).
func (t *Turnout) Doubts() (all []Doubted) {
	f := facts{t: t}
	list, _ := t.Extra["guessed"].([]any)
	for _, g := range list {
		f.guessed = append(f.guessed, fmt.Sprint(g))
	}
	type number struct {
		key string
		at  func(*Turnout) *float64
	}
	// add makes a doubt of those numbers that are guessed. better is +1 where more
	// is easier, −1 where less is.
	add := func(what, by string, better int, numbers ...number) {
		easier, harder := *t, *t
		d := Doubted{What: what, By: by, Easier: &easier, Harder: &harder}
		for _, n := range numbers {
			if !f.isGuessed(n.key) {
				continue
			}
			d.Keys = append(d.Keys, n.key)
			more, fewer := n.at(&easier), n.at(&harder)
			if better < 0 {
				more, fewer = fewer, more
			}
			*more += doubt(n.key, *more)
			*fewer = less(n.key, *fewer)
		}
		if len(d.Keys) > 0 {
			all = append(all, d)
		}
	}
	add("the least radius", "0.5 m", -1,
		number{"turning.left", func(t *Turnout) *float64 { return &t.Turning.Left }},
		number{"turning.right", func(t *Turnout) *float64 { return &t.Turning.Right }})
	add("the side force", "a quarter", 1,
		number{"pace.lateral.left", func(t *Turnout) *float64 { return &t.Pace.Lateral.Left }},
		number{"pace.lateral.right", func(t *Turnout) *float64 { return &t.Pace.Lateral.Right }})
	return all
}
