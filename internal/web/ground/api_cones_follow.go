package ground

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"sync"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/web/book"
)

// coneLive is one drag of a cones course. Its lock is held while a frame is
// worked out.
type coneLive struct {
	sync.Mutex
	live  *cones.Live // nil until the first frame
	asked string      // what it was made for
	seq   int64       // newest frame seen
}

// apiConesFollow bends a turnout's line along while a pair is dragged. POST
// /api/cones/follow. The first frame of a session makes the line; it should be
// asked for when the hand comes down, before anything has moved.
func (s *server) apiConesFollow(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		coneQuestion
		Turnout json.RawMessage `json:"turnout"`
		Session string          `json:"session"` // the same for the whole drag
		Seq     int64           `json:"seq"`
	}
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	if in.Session == "" || len(in.Session) > maxSession {
		return &fault.Fault{Code: fault.Usage, Rule: "session", Place: "session", Message: "the drag has no name", Hint: "send a random text of up to 64 letters, the same for the whole drag"}
	}
	p, err := readPlan(in.Plan)
	if err != nil {
		return err
	}
	v := s.coneing.get(in.Session)
	v.Lock()
	defer v.Unlock()
	if in.Seq < v.seq { // a newer frame is already answered
		book.WriteJSON(w, http.StatusOK, coneFrame{Seq: in.Seq, Why: "a newer drawing has been asked about", Gates: []frameGate{}, Line: [][2]float64{}})
		return nil
	}
	v.seq = in.Seq
	asked := fmt.Sprintf("%q %q %q %s", in.Course, in.Rules, in.Pace, in.Turnout)
	if v.live == nil || v.asked != asked {
		q, err := in.read(r.Context(), s, []json.RawMessage{in.Turnout})
		if err != nil {
			return err
		}
		v.live, err = cones.NewLive(q)
		if err != nil {
			v.live = nil
			return err
		}
		v.asked = asked
	}
	f, err := v.step(p)
	if err != nil {
		return err
	}
	f.Seq = in.Seq
	book.WriteJSON(w, http.StatusOK, f)
	return nil
}

// coneFrame is the answer to one step of a drag.
type coneFrame struct {
	Seq           int64        `json:"seq"`
	Fresh         bool         `json:"fresh"`
	Why           string       `json:"why"`
	CourseLengthM float64      `json:"course_length_m"`
	TimeAllowedS  float64      `json:"time_allowed_s"`
	DrivenM       float64      `json:"driven_m"`
	DrivenS       float64      `json:"driven_s"`
	Verdict       string       `json:"verdict"`
	Line          [][2]float64 `json:"line"` // of the lead point
	Gates         []frameGate  `json:"gates"`
	Followed      bool         `json:"followed"` // bent along, not made anew
}

// frameGate is what a frame says of one gate.
type frameGate struct {
	Gate         string   `json:"gate"`
	Verdict      string   `json:"verdict"`
	SpareLeftCM  *float64 `json:"spare_left_cm"`
	SpareRightCM *float64 `json:"spare_right_cm"`
	Why          string   `json:"why"`
}

// step works out one frame of the session; v is locked.
func (v *coneLive) step(p *plan.Plan) (coneFrame, error) {
	got, err := v.live.Follow(p)
	if err != nil {
		v.live = nil // half a frame is nothing to go on from
		return coneFrame{}, err
	}
	f := coneFrame{
		Fresh: true, CourseLengthM: got.CourseLengthM, TimeAllowedS: got.TimeAllowedS, DrivenM: got.DrivenM, DrivenS: got.DrivenS,
		Verdict: got.Verdict, Followed: got.Followed, Line: bends(got.Line), Gates: make([]frameGate, len(got.Gates)),
	}
	for i := range got.Gates {
		g := &got.Gates[i]
		f.Gates[i] = frameGate{g.Gate, g.Verdict, g.SpareLeftCM, g.SpareRightCM, g.Why}
	}
	return f, nil
}

// What a straight piece of a drawn line may hide: it turns by no more than
// bendMost and is no longer than pieceMost, so it is within 4 cm of the line
// (length × turn ÷ 8). A browser paints a line of fewer pieces quicker.
const (
	bendMost  = 4 * math.Pi / 180
	pieceMost = 4.0 // m
)

// bends leaves out points on a line that is nearly straight.
func bends(all []geom.Vec) [][2]float64 {
	out := make([][2]float64, 0, len(all))
	last := 0
	turned := 0.0
	for i, q := range all {
		if i > 0 && i+1 < len(all) {
			a, b := q.Sub(all[i-1]), all[i+1].Sub(q)
			turned += math.Abs(math.Atan2(a.Cross(b), a.Dot(b)))
			if turned <= bendMost && all[i+1].Dist(all[last]) <= pieceMost {
				continue
			}
		}
		out = append(out, [2]float64{q.X, q.Y})
		last, turned = i, 0
	}
	return out
}
