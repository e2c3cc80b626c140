package ground

import (
	"context"
	"encoding/json"
	"strings"

	"terret/internal/turnout"
	"terret/internal/web/book"
)

// turnoutChoice is a kept turnout as a drawing offers it.
type turnoutChoice struct {
	ID, Name string
	On       bool
	t        *turnout.Turnout
}

// choices lists the kept turnouts that can be read, and their documents as the
// editor's JSON: each turnout/1 tree with its id.
func (s *server) choices(ctx context.Context) ([]turnoutChoice, []byte, error) {
	all, err := s.store.Turnouts(ctx)
	if err != nil {
		return nil, nil, err
	}
	var list []turnoutChoice
	docs := []json.RawMessage{}
	for _, v := range all {
		t, _, err := turnout.Decode(v.ID, v.Document)
		if err != nil {
			s.Log.Warn("a kept turnout cannot be read", "id", v.ID, "why", err)
			continue
		}
		doc, err := turnout.EncodeJSON(t)
		if err != nil {
			return nil, nil, err
		}
		id, err := json.Marshal(v.ID)
		if err != nil {
			return nil, nil, err
		}
		list = append(list, turnoutChoice{ID: v.ID, Name: v.Name, t: t})
		docs = append(docs, json.RawMessage(`{"id":`+string(id)+`,`+strings.TrimPrefix(strings.TrimSpace(string(doc)), "{")))
	}
	out, err := json.Marshal(docs)
	return list, out, err
}

// take settles which turnout a drawing shows, and at which pace: those asked for,
// or else a single with four wheels, which is what most people have, at its own.
// What is shown is written back into id and pace. nil when there is no turnout.
func take(all []turnoutChoice, id, pace *string) (t *turnout.Turnout, paces []book.Choice) {
	on := -1
	for i, c := range all {
		switch {
		case c.ID == *id:
			on = i
		case on < 0 && c.t.Hitch == turnout.Single && c.t.Size == turnout.HorseSize:
			on = i
		}
	}
	if on < 0 {
		on = 0
	}
	if len(all) == 0 {
		*id, *pace = "", ""
		return nil, []book.Choice{{Value: "", Label: "its own", On: true}}
	}
	c := &all[on]
	c.On, *id = true, c.ID
	t, err := c.t.WithPace(*pace)
	if err != nil { // this one has not got that pace
		t, *pace = c.t, ""
	}
	paces = []book.Choice{{Value: "", Label: "its own", On: *pace == ""}}
	for _, name := range c.t.PaceNames() {
		paces = append(paces, book.Choice{Value: name, Label: strings.TrimSuffix(name, " trot"), On: name == *pace})
	}
	return t, paces
}
