package turnouts

import (
	"net/http"
	"strings"

	"terret/internal/fault"
	"terret/internal/gait"
	"terret/internal/turnout"
	"terret/internal/web/book"
)

// beatPage counts the beat: taps with a metronome, and a distance that was timed.
type beatPage struct {
	book.Frame
	turnout.Saved
	Here                          string
	Metres, Seconds, Strides, Leg string
	LegUsual                      string
	Marks                         map[string]string
	Timed                         *gait.Timed
	Beats                         int // where the metronome begins, a minute
}

// Wrong is what is wrong with one box; "" is nothing.
func (p beatPage) Wrong(box string) string { return p.Marks[box] }

// beat is GET /turnouts/{id}/beat?metres=&seconds=&strides=&leg=: nothing
// is kept.
func (s *server) beat(w http.ResponseWriter, r *http.Request) error {
	saved, t, err := s.asked(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	get := func(k string) string { return strings.TrimSpace(q.Get(k)) }
	v := beatPage{Frame: s.Frame("turnouts", "Beat and speed: "+saved.Name), Saved: saved, Here: "beat", Metres: get("metres"), Seconds: get("seconds"), Strides: get("strides"), Leg: get("leg"), LegUsual: trimmed(gait.LegOf(t.Size), 2), Marks: map[string]string{}, Beats: 160}
	// A working trot of this size has about as many beats a minute as Clayton's
	// horses, carried over by the leg.
	_, _, hz := gait.Scale(3.61, 2.73, 3.61/2.73, gait.LegOf(turnout.HorseSize), gait.LegOf(t.Size))
	v.Beats = int(60*gait.TrotBeats(hz) + 0.5)
	if v.Metres == "" && v.Seconds == "" {
		return s.Render(w, http.StatusOK, "turnout_beat", v)
	}
	x := map[string]float64{"leg": gait.LegOf(t.Size)}
	for k, text := range map[string]string{"metres": v.Metres, "seconds": v.Seconds, "strides": v.Strides, "leg": v.Leg} {
		if text == "" {
			continue
		}
		f, ok := book.DecimalOf(text)
		if !ok {
			v.Marks[k] = "“" + text + "” is no number; such as 27.5"
		}
		x[k] = f
	}
	if len(v.Marks) == 0 {
		v.Timed, err = gait.TimedOf(x["metres"], x["seconds"], x["strides"], x["leg"])
		for _, f := range book.FaultsOf(err) {
			v.Marks[f.Place] = f.Message + "; " + f.Hint
		}
	}
	if len(v.Marks) > 0 {
		return s.Render(w, http.StatusUnprocessableEntity, "turnout_beat", v)
	}
	return s.Render(w, http.StatusOK, "turnout_beat", v)
}

// apiTempo is POST /api/gait/tempo: taps in seconds, and how many make a stride.
func (s *server) apiTempo(w http.ResponseWriter, r *http.Request) error {
	var q struct {
		Taps      []float64 `json:"taps"`
		PerStride int       `json:"per_stride"`
	}
	if err := book.ReadJSON(w, r, &q); err != nil {
		return err
	}
	if len(q.Taps) > 20000 {
		return &fault.Fault{Code: fault.TooLarge, Rule: "too-many", Place: "taps", Message: "there are more than 20,000 taps", Hint: "begin again"}
	}
	t, err := gait.TempoOf(q.Taps, q.PerStride)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, t)
	return nil
}
