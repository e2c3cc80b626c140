package ground

import (
	"context"
	"net/http"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/web/book"
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
	v := s.lives.get(in.Session)
	v.Lock()
	defer v.Unlock()
	if in.Seq < v.seq { // a newer frame is already answered
		book.WriteJSON(w, http.StatusOK, frame{Seq: in.Seq, Why: "a newer drawing has been asked about"})
		return nil
	}
	v.seq = in.Seq
	got, err := s.follow(r.Context(), v, in.question, in.Way, p)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, frame{Seq: in.Seq, Fresh: got.Fresh, Route: got.Route, Why: got.Why})
	return nil
}

// frame is the answer to one step of a drag.
type frame struct {
	Seq   int64         `json:"seq"`
	Fresh bool          `json:"fresh"`
	Route *hazard.Route `json:"route"`
	Why   string        `json:"why"`
}

// follow solves one frame; v is locked. The session goes on from its last line
// as long as the question and the way are the same. When its last frame did not
// hold and a full answer has come since, it begins again from that.
func (s *server) follow(ctx context.Context, v *live, in question, way string, p *plan.Plan) (Followed, error) {
	asked := in.key(hazard.Question{Plan: p, Hazard: in.Hazard, Through: in.Through, For: in.For})
	line := s.lines.get(asked)[way]
	stale := v.asked != asked || (way != v.way && way != v.now) || (!v.fresh && line != nil && line != v.began)
	if v.follower != nil && !stale {
		return v.step(ctx, p)
	}
	q, err := in.read(ctx, s, 1)
	if err != nil {
		return Followed{}, err
	}
	begin := func(line *drawn) (Followed, error) {
		var leads []geom.Vec
		if line != nil {
			leads = line.leads
		}
		f, err := s.planner.Live(q, leads)
		if err != nil {
			return Followed{}, err
		}
		v.follower, v.asked, v.began, v.way, v.now = f, asked, line, way, ""
		return v.step(ctx, p)
	}
	got, err := begin(line)
	if err == nil && !got.Fresh && line != nil { // the line was of another drawing
		return begin(nil)
	}
	return got, err
}

// step works out one frame of the session.
func (v *live) step(ctx context.Context, p *plan.Plan) (Followed, error) {
	got, err := v.follower.Follow(ctx, p)
	if err != nil {
		v.follower = nil // half a frame is nothing to go on from
		return Followed{}, err
	}
	if v.fresh = got.Fresh; got.Route != nil {
		v.now = got.Route.Way
	}
	return got, nil
}
