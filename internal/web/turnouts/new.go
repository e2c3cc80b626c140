package turnouts

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// turnoutNewPage begins a record from the usual measurements of its kind, all of
// them marked as guessed.
type turnoutNewPage struct {
	book.Frame
	Name   string
	Kinds  []book.Choice
	Faults fault.List
}

// beginning is a kind of turnout with usual measurements (estimates, of the size
// of the examples; turning room by kind as instructors give it).
type beginning struct {
	Key, Label, Text string
}

func beginnings() []beginning {
	const (
		vse   = "size: vse\nhorse: {nose: 0.85, rump: 0.65, width: 0.4%s, bend: 40}\n"
		pony  = "size: pony\nhorse: {nose: 1.1, rump: 0.95, width: 0.5%s, bend: 40}\n"
		horse = "size: horse\nhorse: {nose: 1.3, rump: 1.2, width: 0.65%s, bend: 40}\n"
		pace  = "pace: {speed: %v, lateral: 2, gain: 0.8, loss: 1}\npaces: {walk: %v, slow trot: %v, working trot: %v, strong trot: %v}\nmargin: 0.05\nguessed: [horse%s, vehicle, turning, pace]\n"
	)
	make := func(hitch, size, apart, leaders, vehicle, turning string, walk, slow, working, strong float64) string {
		guess := ""
		if leaders != "" {
			guess = ", leaders"
		}
		return "hitch: " + hitch + "\n" + fmt.Sprintf(size, apart) + leaders + "vehicle: {" + vehicle + "}\nturning: {left: " + turning + ", right: " + turning + "}\n" + fmt.Sprintf(pace, working, walk, slow, working, strong, guess)
	}
	return []beginning{
		{"vse-cart", "VSE, cart on two wheels", make("single", vse, "", "", "wheels: 2, track: 1.1, hubs: 1.2, shafts: 1.75, lock: 60, cg_height: 0.75", "2.6", 1.1, 1.9, 2.4, 2.9)},
		{"pony-cart", "Pony, cart on two wheels", make("single", pony, "", "", "wheels: 2, track: 1.3, hubs: 1.42, shafts: 2.1, lock: 60, cg_height: 0.95", "3.4", 1.4, 2.3, 3, 3.7)},
		{"horse-cart", "Horse, cart on two wheels", make("single", horse, "", "", "wheels: 2, track: 1.4, hubs: 1.55, shafts: 2.6, lock: 60, cg_height: 1.1", "4.5", 1.7, 2.8, 3.6, 4.6)},
		{"single-four", "Horse, four wheels", make("single", horse, "", "", "wheels: 4, track: 1.38, hubs: 1.5, shafts: 2.5, wheelbase: 1.2, body: 1, lock: 65, cg_height: 0.9", "3.6", 1.7, 2.8, 3.6, 4.6)},
		{"pair", "Pair of horses, four wheels", make("pair", horse, ", apart: 0.9", "", "wheels: 4, track: 1.48, hubs: 1.6, shafts: 2.6, wheelbase: 1.3, body: 1, lock: 65, cg_height: 0.9", "4.8", 1.7, 2.8, 3.6, 4.6)},
		{"pony-pair", "Pair of ponies, four wheels", make("pair", pony, ", apart: 0.75", "", "wheels: 4, track: 1.38, hubs: 1.5, shafts: 2.2, wheelbase: 1.2, body: 1, lock: 65, cg_height: 0.9", "4", 1.4, 2.3, 3, 3.7)},
		{"tandem", "Tandem of horses, two wheels", make("tandem", horse, "", "leaders: {ahead: 3.2}\n", "wheels: 2, track: 1.48, hubs: 1.6, shafts: 2.6, lock: 60, cg_height: 1.2", "5.5", 1.7, 2.8, 3.6, 4.6)},
		{"four", "Four-in-hand, four wheels", make("four", horse, ", apart: 0.9", "leaders: {ahead: 3.4}\n", "wheels: 4, track: 1.58, hubs: 1.7, shafts: 2.7, wheelbase: 1.6, body: 1.1, lock: 65, cg_height: 1", "7", 1.7, 2.8, 3.6, 4.6)},
	}
}

func (s *server) newTurnoutPage(name, kind string) turnoutNewPage {
	v := turnoutNewPage{Frame: s.Frame("turnouts", "A new turnout"), Name: name}
	for _, b := range beginnings() {
		v.Kinds = append(v.Kinds, book.Choice{Value: b.Key, Label: b.Label, On: b.Key == kind})
	}
	return v
}

// beginForm is GET /turnouts/new.
func (s *server) beginForm(w http.ResponseWriter, _ *http.Request) error {
	return s.Render(w, http.StatusOK, "turnout_new", s.newTurnoutPage("", "single-four"))
}

// begin is POST /turnouts/new: the first version of a new record.
func (s *server) begin(w http.ResponseWriter, r *http.Request) error {
	r.Body = http.MaxBytesReader(w, r.Body, 64<<10)
	name, kind := strings.TrimSpace(r.PostFormValue("name")), r.PostFormValue("kind")
	v := s.newTurnoutPage(name, kind)
	for _, b := range beginnings() {
		if b.Key != kind {
			continue
		}
		m, err := turnout.Whole("new", []byte("terret: turnout/1\nname: x\n"+b.Text))
		if err != nil {
			return err
		}
		m["name"] = name
		doc, err := turnout.EncodeWhole(m)
		if err != nil {
			return err
		}
		t, _, err := turnout.Decode("new", doc)
		if v.Faults = book.FaultsOf(err); v.Faults != nil {
			return s.Render(w, book.StatusOf(err), "turnout_new", v)
		}
		if err != nil {
			return err
		}
		kept, err := s.store.SaveTurnout(r.Context(), book.NewID(t.Name), 0, t.Name, doc, s.Now())
		if err != nil {
			return err
		}
		http.Redirect(w, r, "/turnouts/"+url.PathEscape(kept.ID), http.StatusSeeOther)
		return nil
	}
	v.Faults = fault.List{{Code: fault.Input, Rule: "kind", Place: "kind", Message: fmt.Sprintf("there is no kind %q", kind), Hint: "choose one from the list"}}
	return s.Render(w, http.StatusUnprocessableEntity, "turnout_new", v)
}
