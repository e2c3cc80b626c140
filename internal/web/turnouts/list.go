package turnouts

import (
	"fmt"
	"net/http"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// turnoutPage shows each turnout as a card.
type turnoutPage struct {
	book.Frame
	Cards  []turnoutCard
	File   string // name of a file that was refused
	Faults fault.List
}

// turnoutCard is what is told of one turnout: who, hitch, track, what is guessed.
type turnoutCard struct {
	turnout.Saved
	T       *turnout.Turnout // nil when this edition cannot read it
	Hitch   string
	Who     string   // the horses' names, when the file has them
	By      string   // who measured it and when
	Guessed []string // keys whose values are guesses
	Paces   []book.Choice
	Due     []turnout.ServiceDue // what is late, or wants care within a month
	Last    *checkedView         // the newest check card; nil: none was kept
}

// list is GET /turnouts.
func (s *server) list(w http.ResponseWriter, r *http.Request) error {
	v := turnoutPage{Frame: s.Frame("turnouts", "Turnouts")}
	if err := s.cards(r, &v); err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "turnouts", v)
}

func (s *server) cards(r *http.Request, v *turnoutPage) error {
	all, err := s.store.Turnouts(r.Context())
	if err != nil {
		return err
	}
	checks, err := s.kept(r, "", turnout.KeptCheck)
	if err != nil {
		return err
	}
	last := map[string]*checkedView{}
	for _, k := range checks { // the newest first
		if last[k.Turnout] == nil {
			if last[k.Turnout], err = checkedOf(k); err != nil {
				return err
			}
		}
	}
	for _, k := range all {
		c := turnoutCard{Saved: k, Last: last[k.ID]}
		if t, _, err := turnout.Decode(k.ID, k.Document); err == nil {
			c.T = t
			c.Hitch = hitch(t)
			c.Who, c.By, c.Guessed = about(t.Extra)
			for i, g := range c.Guessed {
				c.Guessed[i] = guessLabel(t.Hitch, g)
			}
			for _, d := range turnout.Due(t, s.Now()) {
				if d.Late || d.On != nil && d.On.Before(s.Now().AddDate(0, 1, 0)) {
					c.Due = append(c.Due, d)
				}
			}
			for _, name := range t.PaceNames() {
				c.Paces = append(c.Paces, book.Choice{Value: fmt.Sprintf("%.1f", t.Paces[name]), Label: name})
			}
		}
		v.Cards = append(v.Cards, c)
	}
	return nil
}

// guessLabel is what a guessed key is called on the form; a key it does not show is
// told as it is written.
func guessLabel(hitch, key string) string {
	if whole, ok := map[string]string{"horse": "the horse's lengths", "vehicle": "the vehicle", "turning": "turning", "pace": "pace", "leaders": "how far ahead the leaders go"}[key]; ok {
		return whole
	}
	for _, wheels := range []string{"2", "4"} {
		for _, g := range boxGroups(map[string]string{"hitch": hitch, "vehicle.wheels": wheels}) {
			for _, b := range g.Boxes {
				if b.Key == key {
					return strings.ToLower(b.Label[:1]) + b.Label[1:]
				}
			}
		}
	}
	return key
}

// hitch says how the horses go: "single horse, two wheels".
func hitch(t *turnout.Turnout) string {
	size := map[string]string{turnout.VSE: "VSE", turnout.Pony: "pony", turnout.HorseSize: "horse"}[t.Size]
	sizes := map[string]string{turnout.VSE: "VSEs", turnout.Pony: "ponies", turnout.HorseSize: "horses"}[t.Size]
	wheels := map[int]string{2: "two wheels", 4: "four wheels"}[t.Vehicle.Wheels]
	switch t.Hitch {
	case turnout.PairH:
		return "pair of " + sizes + ", " + wheels
	case turnout.Tandem:
		return "tandem of " + sizes + ", " + wheels
	case turnout.Four:
		return "four-in-hand of " + sizes + ", " + wheels
	}
	return "single " + size + ", " + wheels
}

// about reads who, by whom measured and what is guessed from the sections for
// the card.
func about(x turnout.Extra) (who, by string, guessed []string) {
	if l, ok := x["horses"].([]any); ok {
		for _, h := range l {
			m, _ := h.(map[string]any)
			if name, ok := m["name"].(string); ok {
				if who != "" {
					who += ", "
				}
				who += name
			}
		}
	}
	if m, ok := x["measured"].(map[string]any); ok {
		if name, ok := m["by"].(string); ok {
			by = name
		}
		if on, ok := m["on"].(string); ok {
			by += " on " + on
		}
	}
	if l, ok := x["guessed"].([]any); ok {
		for _, g := range l {
			if key, ok := g.(string); ok {
				guessed = append(guessed, key)
			}
		}
	}
	return who, by, guessed
}
