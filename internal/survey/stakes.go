package survey

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"terret/internal/fault"
	"terret/internal/geom"
	"terret/internal/plan"
)

// printStep is what tapes are printed to, m.
const printStep = 0.01

// StakeList is how to set a target out, in working order: the shape of
// docs/files.md.
//
// The order supposes two people and one tape. One holds the tape's end at the
// first peg while the other walks from point to point and scratches an arc at
// each; then the end goes to the second peg and the other walks back the same
// way, setting each point where the second arc crosses the first: that is the
// order of the list. Last the two walk it once more together and tape the check
// of each point to one that was set before it. So the way from point to point is
// walked three times, and it is made as short as can be found. Points that need
// other pegs than P and Q come after the rest, pair of pegs by pair of pegs;
// points that a peg stands on come first.
type StakeList struct {
	What     string     `json:"what"` // the layout's name
	Pegs     []Peg      `json:"pegs"`
	Stakes   []Stake    `json:"stakes"`
	Baseline float64    `json:"baseline_m"` // from P to Q
	Tape     float64    `json:"tape_m"`     // the tape's length
	Walk     float64    `json:"walk_m"`     // once from point to point, from P
	Sigma    float64    `json:"sigma_m"`    // of one tape, for the ellipses
	Track    *float64   `json:"track_cm"`   // the cones' gaps are for it; null where none goes by it
	Pairs    []PairSite `json:"pairs"`
	Arena    *ArenaSite `json:"arena,omitempty"`
}

// Stake is one point to be set.
type Stake struct {
	Order    int                `json:"order"` // from 1
	ID       string             `json:"id"`
	Also     []string           `json:"also,omitempty"` // other points of the plan at the same place, or the peg that is there
	What     string             `json:"what"`           // "red cone", "post", …
	X        float64            `json:"x"`
	Y        float64            `json:"y"`
	Tapes    map[string]float64 `json:"tapes_m"`    // from P and from Q
	Along    float64            `json:"baseline_m"` // from P towards Q, negative behind P
	Offset   float64            `json:"offset_m"`   // from the baseline, square
	Side     string             `json:"side"`       // of it, looking from P to Q: left, right, on
	Cross    float64            `json:"cross_deg"`  // angle of the two arcs, 0 to 90
	Weak     bool               `json:"weak"`       // flatter than 30°
	Beyond   bool               `json:"beyond_tape,omitempty"`
	Instead  *Instead           `json:"instead,omitempty"` // better pegs than P and Q for this point
	Check    *StakeCheck        `json:"check"`             // null for the first: nothing has been set; and at a peg
	Second   *StakeCheck        `json:"second_check"`      // with it a slip can be named, not only seen; null for the first two
	Sure     *StakeEllipse      `json:"ellipse"`           // null where the arcs cross flatter than 20°, and at a peg
	at       geom.Vec
	from, to int // the pegs that fix it
	fix      float64
	peg      bool // a peg stands on it
}

// Instead is a fix from other pegs than P and Q.
type Instead struct {
	Tapes map[string]float64 `json:"tapes_m"`
	Cross float64            `json:"cross_deg"`
}

// StakeCheck is a tape to a point that has been set before.
type StakeCheck struct {
	To string  `json:"to"`
	M  float64 `json:"m"`
}

// StakeEllipse holds the place where the point is set, about the place the plan
// wants, with the chance Share when every tape has the list's Sigma and is read
// off a list printed to the centimetre.
type StakeEllipse struct {
	A       float64 `json:"a_m"`
	B       float64 `json:"b_m"`
	Bearing float64 `json:"bearing_deg"`
	Share   float64 `json:"share"`
}

// MarshalJSON writes a peg with its place as [x, y].
func (p Peg) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Name string     `json:"name"`
		At   [2]float64 `json:"at"`
		Why  string     `json:"why"`
	}{p.Name, [2]float64{p.At.X, p.At.Y}, p.Why})
}

// No reports whether the answer is no: a point has no fix over 20°.
func (l *StakeList) No() bool {
	return slices.ContainsFunc(l.Stakes, func(s Stake) bool { return s.fix < noFixDeg })
}

// Fix is the crossing of the arcs that set the point: those of P and Q, or of
// better pegs.
func (s *Stake) Fix() float64 { return s.fix }

// Question is what Stakes is asked.
type Question struct {
	Plan   *plan.Plan
	Target Target
	From   []geom.Vec // P and Q; nil to have pegs proposed
	Tape   float64    // m; 0: DefaultTape
}

// Stakes makes the list for setting a target out.
func Stakes(q Question) (*StakeList, error) {
	tape := q.Tape
	if tape == 0 {
		tape = DefaultTape
	}
	if !(tape >= 5 && tape <= 1000) {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "tape", Place: "tape", Message: fmt.Sprintf("a tape of %v m", tape), Hint: "from 5 to 1000 m is taken"}
	}
	if t := q.Target.Track; !(t == 0 || t >= 0.3 && t <= 3) {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "track", Place: "track", Message: fmt.Sprintf("a track of %v cm", 100*t), Hint: "from 30 to 300 cm is taken"}
	}
	lay, err := sites(q.Plan, q.Target)
	if err != nil {
		return nil, err
	}
	var pegs []Peg
	if q.From == nil {
		pegs = propose(q.Plan, lay, tape)
	} else if pegs, err = given(q.From, lay); err != nil {
		return nil, err
	}
	out := &StakeList{What: lay.name, Pegs: pegs, Tape: tape, Sigma: DefaultSigma, Pairs: lay.pairs, Arena: lay.arena, Stakes: []Stake{}}
	if out.Pairs == nil {
		out.Pairs = []PairSite{}
	}
	if lay.track > 0 {
		out.Track = number(100 * lay.track)
	}
	if lay.arena != nil {
		lay.arena.square(tape)
	}
	out.Baseline = pegs[0].At.Dist(pegs[1].At)
	// What a peg stands on is set with it; the rest is walked.
	var others []Stake
	for _, s := range lay.sites {
		if onPeg := slices.IndexFunc(pegs, func(p Peg) bool { return p.At.Dist(s.At) < samePlace }); onPeg >= 0 {
			pegs[onPeg].Why += "; " + s.ID + " stands here"
			st := stake(s, pegs, tape)
			st.Also = append(slices.Clone(st.Also), pegs[onPeg].Name)
			st.Cross, st.fix, st.Weak, st.Beyond, st.Instead, st.Sure, st.peg = 90, 90, false, false, nil, nil, true
			st.Order = len(out.Stakes) + 1
			out.Stakes = append(out.Stakes, st)
			continue
		}
		others = append(others, stake(s, pegs, tape))
	}
	out.walk(others)
	out.checks()
	return out, nil
}

// given makes pegs of the places a person names.
func given(from []geom.Vec, lay *layout) ([]Peg, error) {
	if len(from) != 2 {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "pegs", Place: "from", Message: fmt.Sprintf("%d pegs are named", len(from)), Hint: "name two, such as 0:0,40:0"}
	}
	for _, v := range from {
		if !v.IsFinite() || math.Max(math.Abs(v.X), math.Abs(v.Y)) > MaxCoordinate {
			return nil, &fault.Fault{Code: fault.Usage, Rule: "pegs", Place: "from", Message: fmt.Sprintf("the peg (%v, %v) is too far away", v.X, v.Y), Hint: "write x:y in metres, in the plan's frame"}
		}
	}
	if d := from[0].Dist(from[1]); d < 1 {
		return nil, &fault.Fault{Code: fault.Usage, Rule: "pegs", Place: "from", Message: fmt.Sprintf("the two pegs are %v m apart", round2(d)), Hint: "put them as far apart as the layout is wide"}
	}
	return []Peg{{"P", from[0], "named"}, {"Q", from[1], "named"}}, nil
}

// stake is one site as two pegs see it.
func stake(site Site, pegs []Peg, tape float64) Stake {
	p, q := pegs[0].At, pegs[1].At
	u := q.Sub(p).Unit()
	d := site.At.Sub(p)
	s := Stake{ID: site.ID, Also: site.Also, What: site.What, X: site.At.X, Y: site.At.Y, at: site.At,
		Tapes: map[string]float64{"P": site.At.Dist(p), "Q": site.At.Dist(q)},
		Along: d.Dot(u), Offset: math.Abs(u.Cross(d)), Side: "on", to: 1}
	if s.Offset > 1e-9 {
		s.Side = "right"
		if u.Cross(d) > 0 {
			s.Side = "left"
		}
	}
	s.Cross = crossing(p, q, site.At)
	s.Weak, s.Beyond = s.Cross < weakDeg, math.Max(s.Tapes["P"], s.Tapes["Q"]) > tape
	s.fix = s.Cross
	if s.Weak || s.Beyond {
		s.instead(pegs, tape)
	}
	if s.fix >= noFixDeg {
		s.Sure = sure(pegs[s.from].At, pegs[s.to].At, s.at)
	}
	return s
}

// instead looks for better pegs than P and Q: within the tape's reach and with
// the steepest crossing.
func (s *Stake) instead(pegs []Peg, tape float64) {
	best := s.Cross
	if s.Beyond {
		best = noFixDeg
	}
	for i := range pegs {
		for k := i + 1; k < len(pegs); k++ {
			g := crossing(pegs[i].At, pegs[k].At, s.at)
			m, n := s.at.Dist(pegs[i].At), s.at.Dist(pegs[k].At)
			if k == 1 || g <= best || math.Max(m, n) > tape {
				continue
			}
			best, s.fix, s.from, s.to = g, g, i, k
			s.Instead = &Instead{Tapes: map[string]float64{pegs[i].Name: m, pegs[k].Name: n}, Cross: g}
		}
	}
}

// sure is the ellipse of a fix from p and q.
func sure(p, q, at geom.Vec) *StakeEllipse {
	u, v := p.Sub(at).Unit(), q.Sub(at).Unit()
	// N = (uuᵀ + vvᵀ)/σ², inverted. A length rounded to a step is uncertain by the
	// step/√12 more.
	const variance = DefaultSigma*DefaultSigma + printStep*printStep/12
	xx, yy, xy := u.X*u.X+v.X*v.X, u.Y*u.Y+v.Y*v.Y, u.X*u.Y+v.X*v.Y
	det := (xx*yy - xy*xy) / variance
	a, b, bearing := axes(yy/det, xx/det, -xy/det)
	k := ellipseKnown()
	return &StakeEllipse{A: k * a, B: k * b, Bearing: bearing, Share: ellipseShare}
}

// walk adds the stakes in working order.
func (l *StakeList) walk(stakes []Stake) {
	type pair struct{ from, to int }
	groups := map[pair][]Stake{}
	var pairs []pair
	for _, s := range stakes {
		k := pair{s.from, s.to}
		if groups[k] == nil {
			pairs = append(pairs, k)
		}
		groups[k] = append(groups[k], s)
	}
	at := l.Pegs[0].At
	for len(pairs) > 0 {
		// P and Q first, then the pegs whose points begin nearest by.
		next := slices.Index(pairs, pair{0, 1})
		if next < 0 {
			near := func(k pair) float64 {
				return slices.MinFunc(groups[k], func(a, b Stake) int { return cmp.Compare(at.Dist(a.at), at.Dist(b.at)) }).at.Dist(at)
			}
			for i, k := range pairs {
				if next < 0 || near(k) < near(pairs[next]) {
					next = i
				}
			}
		}
		g := groups[pairs[next]]
		pairs = slices.Delete(pairs, next, next+1)
		where := make([]geom.Vec, len(g))
		for i := range g {
			where[i] = g[i].at
		}
		for _, i := range shortest(at, where) {
			l.Walk += at.Dist(g[i].at)
			at = g[i].at
			g[i].Order = len(l.Stakes) + 1
			l.Stakes = append(l.Stakes, g[i])
		}
	}
}

// checks gives every point tapes to two points set before it. A slip in either
// tape moves the point along the other arc; the check is to see both moves, and
// to be short. The second is to look from another side than the first.
func (l *StakeList) checks() {
	const (
		sees  = 0.3 // of the move; two thirds of all directions see both that well
		apart = 0.5 // sine between the two checks: 30°
		tries = 24  // of the nearest
	)
	for i := range l.Stakes {
		s := &l.Stakes[i]
		if s.peg {
			continue
		}
		var order []int
		for k := range i {
			if !l.Stakes[k].peg { // from there it has its tapes
				order = append(order, k)
			}
		}
		far := func(k int) float64 { return s.at.Dist(l.Stakes[k].at) }
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(far(a), far(b)) })
		order = order[:min(tries, len(order))]
		// A slip in the tape from one peg moves the point square to the other tape.
		u, v := l.Pegs[s.from].At.Sub(s.at).Unit().Left(), l.Pegs[s.to].At.Sub(s.at).Unit().Left()
		way := func(k int) geom.Vec { return l.Stakes[k].at.Sub(s.at).Unit() }
		choose := func(not int) int {
			best, most := -1, -1.
			for _, k := range order {
				if k == not {
					continue
				}
				if far(k) > l.Tape && best >= 0 {
					break // something within the tape's reach is there
				}
				see := math.Min(math.Abs(u.Dot(way(k))), math.Abs(v.Dot(way(k)))) / sees
				if not >= 0 {
					see = math.Min(see, math.Abs(way(k).Cross(way(not)))/apart)
				}
				if see >= 1 {
					return k
				}
				if see > most {
					best, most = k, see
				}
			}
			return best
		}
		put := func(k int) *StakeCheck {
			if k < 0 {
				return nil
			}
			return &StakeCheck{l.Stakes[k].ID, far(k)}
		}
		first := choose(-1)
		s.Check = put(first)
		if first >= 0 {
			s.Second = put(choose(first))
		}
	}
}
