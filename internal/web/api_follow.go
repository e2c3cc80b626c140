package web

import (
	"net/http"

	"terret/internal/fault"
	"terret/internal/hazard"
	"terret/internal/plan"
)

// maxSession is the longest name of a session that is taken.
const maxSession = 64

// apiFollow re-solves while a thing is dragged. POST /api/follow. A session is
// warm: it remembers the way and the line of the frame before. When the question
// itself changes (another turnout, pace, letter) the session begins anew.
func (s *server) apiFollow(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		question
		Session string `json:"session"`
		Seq     int64  `json:"seq"`
		Way     string `json:"way"` // the way that was shown, for a session that begins
	}
	if err := readJSON(w, r, &in); err != nil {
		return err
	}
	if in.Session == "" || len(in.Session) > maxSession {
		return &fault.Fault{Code: fault.Usage, Rule: "session", Place: "session", Message: "the drag has no name", Hint: "send a random text of up to 64 letters, the same for the whole drag"}
	}
	p, err := readPlan(in.Plan)
	if err != nil {
		return err
	}
	v := s.lives.get(in.Session)
	v.Lock()
	defer v.Unlock()
	if in.Seq < v.seq { // a newer frame is already answered
		writeJSON(w, http.StatusOK, frame{Seq: in.Seq, Why: "a newer drawing has been asked about"})
		return nil
	}
	v.seq = in.Seq
	got, err := s.follow(r, v, in.question, p)
	if err != nil {
		return err
	}
	writeJSON(w, http.StatusOK, frame{Seq: in.Seq, Fresh: got.Fresh, Route: got.Route, Why: got.Why})
	return nil
}

// frame is the answer to one step of a drag.
type frame struct {
	Seq   int64         `json:"seq"`
	Fresh bool          `json:"fresh"`
	Route *hazard.Route `json:"route"`
	Why   string        `json:"why"`
}

// follow solves one frame; v is locked.
func (s *server) follow(r *http.Request, v *live, in question, p *plan.Plan) (Followed, error) {
	asked := string(in.Turnout) + "\x00" + in.Hazard + "\x00" + in.Pace + "\x00" + in.Through + "\x00" + in.For
	if v.follower == nil || v.asked != asked {
		q, err := in.read(r.Context(), s, 1)
		if err != nil {
			return Followed{}, err
		}
		if v.follower, err = s.planner.Live(q); err != nil {
			v.follower = nil
			return Followed{}, err
		}
		v.asked = asked
	}
	return v.follower.Follow(r.Context(), p)
}
