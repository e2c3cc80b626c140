package ground

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"

	"terret/internal/cones"
	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/rules"
	"terret/internal/web/book"
)

// coneQuestion is what the drawing asks about a cones course: the part of a
// request that drive and follow share.
type coneQuestion struct {
	Plan   json.RawMessage `json:"plan"`   // plan/1
	Course string          `json:"course"` // "" is the only one
	Rules  string          `json:"rules"`  // name of a profile, "" is the usual one
	Pace   string          `json:"pace"`   // "" is each turnout's own
}

// read turns the request and the turnouts it names into the question of package
// cones.
func (q coneQuestion) read(ctx context.Context, s *server, docs []json.RawMessage) (cones.Question, error) {
	p, err := readPlan(q.Plan)
	if err != nil {
		return cones.Question{}, err
	}
	r, err := coneRules(q.Rules)
	if err != nil {
		return cones.Question{}, err
	}
	out := cones.Question{Plan: p, Course: q.Course, Rules: r}
	for _, doc := range docs {
		t, err := s.readTurnout(ctx, doc)
		if err != nil {
			return cones.Question{}, err
		}
		// A pace that one of several has not got leaves that one its own.
		if paced, err := t.WithPace(q.Pace); err == nil {
			t = paced
		} else if len(docs) == 1 {
			return cones.Question{}, err
		}
		out.Turnouts = append(out.Turnouts, t)
	}
	return out, nil
}

// coneRules reads a profile of the program; a page may not name a file.
func coneRules(name string) (cones.Rules, error) {
	if name != "" && !slices.Contains(rules.Names(), name) {
		return cones.Rules{}, &fault.Fault{Code: fault.NotFound, Rule: "profile", Place: "rules", Message: fmt.Sprintf("there is no rule profile called %q", name), Hint: fmt.Sprintf("there are %v", rules.Names())}
	}
	p, err := rules.Load(name)
	if err != nil {
		return cones.Rules{}, err
	}
	return cones.RulesOf(p), nil
}

// mostClass bounds the turnouts of one question: each takes some 40 ms.
const mostClass = 40

// apiConesDrive drives a cones course. POST /api/cones/drive. It is the answer of
// `terret cones drive --json` with the cures in words, and with lines only when
// they are asked for: a class of twelve would make megabytes of them.
func (s *server) apiConesDrive(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		coneQuestion
		Turnouts []json.RawMessage `json:"turnouts"` // ids or turnout/1 trees
		Cures    bool              `json:"cures"`    // look for cures of what touches
		Lines    bool              `json:"lines"`    // with samples
		Seq      int64             `json:"seq"`      // sent back as it came
	}
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	if len(in.Turnouts) == 0 {
		return missing("turnouts", "the ids of kept turnouts, or turnout/1 documents")
	}
	if len(in.Turnouts) > mostClass {
		return &fault.Fault{Code: fault.Usage, Rule: "turnouts", Place: "turnouts", Message: fmt.Sprintf("%d turnouts are asked about at once", len(in.Turnouts)), Hint: fmt.Sprintf("ask about at most %d", mostClass)}
	}
	q, err := in.read(r.Context(), s, in.Turnouts)
	if err != nil {
		return err
	}
	q.Cures = in.Cures
	done, err := s.Place(r.Context())
	if err != nil {
		return err
	}
	defer done()
	a, err := cones.Drive(r.Context(), q)
	if err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, coneAnswer{Answer: a, Turnouts: coneRuns(a, in.Lines), Seq: in.Seq})
	return nil
}

// coneAnswer is [cones.Answer] with its cures in words.
type coneAnswer struct {
	*cones.Answer
	Turnouts []coneRun `json:"turnouts"`
	Seq      int64     `json:"seq"`
}

type coneRun struct {
	*cones.TurnoutRun
	Gates   []coneGate     `json:"gates"`
	Samples []cones.Sample `json:"samples"`
}

type coneGate struct {
	*cones.Gate
	Cure  *coneCure  `json:"cure"`
	Cures []coneCure `json:"cures"`
}

type coneCure struct {
	cones.Cure
	Says string `json:"says"`
}

func coneRuns(a *cones.Answer, lines bool) []coneRun {
	out := make([]coneRun, len(a.Turnouts))
	for i := range a.Turnouts {
		t := &a.Turnouts[i]
		out[i] = coneRun{TurnoutRun: t, Gates: make([]coneGate, len(t.Gates)), Samples: []cones.Sample{}}
		for j := range t.Gates {
			g := coneGate{Gate: &t.Gates[j], Cures: []coneCure{}}
			for _, c := range t.Gates[j].Cures {
				g.Cures = append(g.Cures, coneCure{c, c.Says()})
			}
			if len(g.Cures) > 0 {
				g.Cure = &g.Cures[0]
			}
			out[i].Gates[j] = g
		}
		if lines {
			out[i].Samples = thinned(t.Samples)
		}
	}
	return out
}

// sampleApart is the least distance of the samples that a page is sent, m: half
// a metre on a curve of 3.5 m radius is within 1 cm of its chord.
const sampleApart = 0.45

// thinned keeps about every second sample, the first and the last.
func thinned(all []cones.Sample) []cones.Sample {
	out := all[:0:0]
	for i, s := range all {
		if i == 0 || i == len(all)-1 || s.SM-out[len(out)-1].SM >= sampleApart {
			out = append(out, s)
		}
	}
	return out
}

// apiConesMultiple builds a multiple obstacle to be put into a plan. POST
// /api/cones/multiple. Without a size it has the usual one for the turnout.
func (s *server) apiConesMultiple(w http.ResponseWriter, r *http.Request) error {
	var in struct {
		Kind    cones.Kind      `json:"kind"`
		Number  int             `json:"number"`
		At      [2]float64      `json:"at"`
		Bearing float64         `json:"bearing_deg"`
		Hand    cones.Hand      `json:"hand"`
		Size    *coneSize       `json:"size"`    // null is the usual one
		Turnout json.RawMessage `json:"turnout"` // for which it is usual
	}
	if err := book.ReadJSON(w, r, &in); err != nil {
		return err
	}
	t, err := s.readTurnout(r.Context(), in.Turnout)
	if err != nil {
		return err
	}
	z := cones.Usual(in.Kind, t.Hitch, t.Size)
	if in.Size != nil {
		z = cones.Size(*in.Size)
	}
	m, err := cones.Place(in.Kind, cones.Spot{Number: in.Number, At: geom.Vec{X: in.At[0], Y: in.At[1]}, Bearing: geom.Degrees(in.Bearing), Hand: in.Hand}, z)
	if err != nil {
		return err
	}
	// The plan's own writer gives the gates and things the shape they have there.
	doc, err := plan.EncodeJSON(&plan.Plan{Things: m.Things, Courses: []plan.Course{{Gates: m.Gates}}})
	if err != nil {
		return err
	}
	var tree struct {
		Things  []json.RawMessage `json:"things"`
		Courses []struct {
			Gates []json.RawMessage `json:"gates"`
		} `json:"courses"`
	}
	if err := json.Unmarshal(doc, &tree); err != nil {
		return err
	}
	book.WriteJSON(w, http.StatusOK, struct {
		Size   coneSize          `json:"size"`
		Gates  []json.RawMessage `json:"gates"`
		Things []json.RawMessage `json:"things"`
	}{coneSize(z), tree.Courses[0].Gates, append([]json.RawMessage{}, tree.Things...)})
	return nil
}

// coneSize is [cones.Size] as the API writes it, in metres.
type coneSize struct {
	Parts   int     `json:"parts"`
	Spacing float64 `json:"spacing_m"`
	Offset  float64 `json:"offset_m"`
	Width   float64 `json:"width_m"`
}
