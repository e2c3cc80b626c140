package cones

import (
	"math"

	"terret/internal/drive"
	"terret/internal/geom"
	"terret/internal/turnout"
)

// Answer is what `terret cones drive --json` prints (docs/files.md).
type Answer struct {
	Course        string  `json:"course"`
	Rules         string  `json:"rules"`
	CourseLengthM float64 `json:"course_length_m"`
	// TimeAllowedS and TimeLimitS are those of the turnouts asked for; when their
	// speeds differ, at the course's default speed, and null when it has none. Each
	// turnout has its own below.
	TimeAllowedS *float64     `json:"time_allowed_s"`
	TimeLimitS   *float64     `json:"time_limit_s"`
	Turnouts     []TurnoutRun `json:"turnouts"`
	Checks       []Check      `json:"checks"`
}

// TurnoutRun is one turnout's drive of the course.
type TurnoutRun struct {
	Turnout           string   `json:"turnout"`
	Class             string   `json:"class"` // whose speed counts: a key of speed_m_per_min
	SpeedMPerMin      float64  `json:"speed_m_per_min"`
	TimeAllowedS      float64  `json:"time_allowed_s"`
	TimeLimitS        float64  `json:"time_limit_s"`
	DrivenM           float64  `json:"driven_m"`
	DrivenS           float64  `json:"driven_s"`
	LeastRadiusLeftM  *float64 `json:"least_radius_left_m"` // null: it never turns to that hand
	LeastRadiusRightM *float64 `json:"least_radius_right_m"`
	TurnedLeftDeg     float64  `json:"turned_left_deg"`
	TurnedRightDeg    float64  `json:"turned_right_deg"`
	LargestLockDeg    float64  `json:"largest_lock_deg"`
	Verdict           string   `json:"verdict"` // the worst of its gates and of what stands about
	// Trouble is what else is wrong with the drive, in plain words: a turn that is
	// tighter than the turnout makes, a thing that is touched.
	Trouble []string `json:"trouble"`
	Gates   []Gate   `json:"gates"`
	Samples []Sample `json:"samples"`
}

// Verdicts, from good to bad.
const (
	Fits    = "fits"
	Tight   = "tight"
	Touches = "touches"
)

// Gate is one gate as one turnout drives it.
type Gate struct {
	Gate     string   `json:"gate"`
	GapCM    *float64 `json:"gap_cm"` // null: a single cone
	Approach Approach `json:"approach_deg"`
	// SpareLeftCM and SpareRightCM are the least room at the ground between the
	// cone's face and the nearest of wheels and horses' feet; null on the side
	// where a single cone has nothing.
	SpareLeftCM  *float64 `json:"spare_left_cm"`
	SpareRightCM *float64 `json:"spare_right_cm"`
	// NeededCM is the gap that the track would need going straight on as crooked
	// as the most crooked axle.
	NeededCM      *float64 `json:"needed_gap_cm"`
	SM            float64  `json:"s_m"`
	TS            float64  `json:"t_s"`
	RadiusBeforeM *float64 `json:"radius_before_m"` // least since the gate before; null: straight
	Room          []Room   `json:"room"`            // the same, part by part
	Verdict       string   `json:"verdict"`
	Why           string   `json:"why"`
	Cure          *Cure    `json:"cure"`
	Cures         []Cure   `json:"cures"`       // of every kind that works, the smallest first
	Sought        bool     `json:"cure_sought"` // cures were looked for
}

// Approach is degrees against square, positive to the right.
type Approach struct {
	Line float64   `json:"line"`
	Axle []float64 `json:"axles"`
}

// Room is one part's least room at one gate.
type Room struct {
	Part         string   `json:"part"`
	SpareLeftCM  *float64 `json:"spare_left_cm"`
	SpareRightCM *float64 `json:"spare_right_cm"`
}

// Sample is the turnout at one place of its line.
type Sample struct {
	SM           float64      `json:"s_m"`
	TS           float64      `json:"t_s"`
	Lead         [2]float64   `json:"lead"`
	BearingDeg   float64      `json:"bearing_deg"`
	SpeedMPS     float64      `json:"speed_mps"`
	CurvaturePM  float64      `json:"curvature_per_m"`
	Axles        [][2]float64 `json:"axles"`
	AxleBearings []float64    `json:"axle_bearings_deg"`
	Leaders      *LeadersAt   `json:"leaders"`
}

// LeadersAt is where the leaders are.
type LeadersAt struct {
	At         [2]float64 `json:"at"`
	BearingDeg float64    `json:"bearing_deg"`
}

func xy(v geom.Vec) [2]float64 { return [2]float64{v.X, v.Y} }

// finite is nil for an infinite number, which JSON cannot write.
func finite(f float64) *float64 {
	if math.IsInf(f, 0) {
		return nil
	}
	return &f
}

func cm(f float64) *float64 { return finite(f * 100) }

func deg(rad float64) float64 { return rad * 180 / math.Pi }

// samples lists the marks of a run, some 0.2 m apart.
func samples(r *drive.Run) []Sample {
	var out []Sample
	for i := range r.Places {
		q := &r.Places[i]
		if !q.Mark {
			continue
		}
		s := Sample{
			SM: q.S, TS: q.T, Lead: xy(q.Lead), BearingDeg: q.Dir.Bearing().Deg(), SpeedMPS: q.V, CurvaturePM: q.K,
			Axles: [][2]float64{xy(q.Axle)}, AxleBearings: []float64{q.Tow.Bearing().Deg()},
		}
		if r.Turnout.Vehicle.Wheels == 4 {
			s.Axles = append(s.Axles, xy(q.Rear))
			s.AxleBearings = append(s.AxleBearings, q.Body.Bearing().Deg())
		}
		if at, dir, ok := r.Leaders(i); ok {
			s.Leaders = &LeadersAt{xy(at), dir.Bearing().Deg()}
		}
		out = append(out, s)
	}
	return out
}

// gateOf writes one passage down.
func gateOf(st *step, p *passage, t *turnout.Turnout, tight float64) Gate {
	g := Gate{Gate: st.name, Cures: []Cure{}, SM: p.s, TS: p.t, RadiusBeforeM: finite(math.Min(p.beforeLeft, p.beforeRight)), SpareLeftCM: cm(p.left), SpareRightCM: cm(p.right)}
	if !st.single {
		g.GapCM = cm(st.gap)
	}
	g.Approach.Line = deg(p.line)
	for _, a := range p.axles {
		g.Approach.Axle = append(g.Approach.Axle, deg(a))
	}
	if a := p.crooked(); !st.single && a < steep {
		g.NeededCM = cm(NeededGap(t.Vehicle.Track, a, st.radius))
	}
	for _, s := range p.spare {
		g.Room = append(g.Room, Room{s.Part, cm(s.Left), cm(s.Right)})
	}
	g.Verdict, g.Why = judge(st, p, t, tight)
	return g
}
