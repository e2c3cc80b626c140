package hazard

import "terret/internal/geom"

// Answer is what a turnout may drive through a hazard. Its JSON is the shape
// of `terret hazard routes --json` in docs/files.md; numbers are written in
// full and rounded only on paper and pages.
type Answer struct {
	Hazard      string  `json:"hazard"`
	Turnout     string  `json:"turnout"`
	Through     string  `json:"through"`
	Dropped     int     `json:"dropped"` // ways found but too slow or too alike to show
	Routes      []Route `json:"routes"`  // quickest first; never nil
	NoneBecause *Reason `json:"none_because"`
	Legs        []Leg   `json:"legs"` // from one required gate to the next
	// Doubts is left to whoever asks [Doubts], which takes longer than the answer.
	Doubts []Doubt `json:"doubts,omitempty"`
}

// Route is one verified drive from the In line to the Out line.
type Route struct {
	Rank              int      `json:"rank"`
	Way               string   `json:"way"`  // stable key: the way round on each leg
	Says              string   `json:"says"` // one plain sentence against the best
	TimeS             float64  `json:"time_s"`
	LengthM           float64  `json:"length_m"`
	ClearanceM        float64  `json:"clearance_m"`
	Tight             []Tight  `json:"tight"` // the three tightest places, tightest first
	TurnedLeftDeg     float64  `json:"turned_left_deg"`
	TurnedRightDeg    float64  `json:"turned_right_deg"`
	LeastRadiusLeftM  *float64 `json:"least_radius_left_m"`  // null: it never turns left
	LeastRadiusRightM *float64 `json:"least_radius_right_m"` // null: it never turns right
	LargestLockDeg    float64  `json:"largest_lock_deg"`
	OverturnMargin    *float64 `json:"overturn_margin"` // null without a height of the centre of gravity
	Passes            []Pass   `json:"passes"`
	Turns             []Turn   `json:"turns"`
	Samples           []Sample `json:"samples"`
}

// Tight is a place where little room is left.
type Tight struct {
	Thing      string  `json:"thing"` // id of the thing, marker or "outline"
	Part       string  `json:"part"`  // "wheel horse", "leader", "shafts", "body", "hub", "rear hub"
	At         Point   `json:"at"`    // on the thing's face
	SM         float64 `json:"s_m"`
	ClearanceM float64 `json:"clearance_m"`
}

// Pass is one crossing of a gate's line by the lead point.
type Pass struct {
	Gate    string  `json:"gate"` // "in", "out" or a letter
	Was     string  `json:"was"`  // "due" for in and out, "live" or "dead" for a letter
	Forward bool    `json:"forward"`
	SM      float64 `json:"s_m"`
	TS      float64 `json:"t_s"`
}

// Turn is one bend of the line to one hand.
type Turn struct {
	Hand         string  `json:"hand"` // "left" or "right"
	Deg          float64 `json:"deg"`
	LeastRadiusM float64 `json:"least_radius_m"`
	FromM        float64 `json:"from_m"`
	ToM          float64 `json:"to_m"`
	LostS        float64 `json:"lost_s"`  // against driving the same metres at the cap
	Between      string  `json:"between"` // "A to B"
}

// Sample is the turnout at one place of the line.
type Sample struct {
	SM              float64   `json:"s_m"`
	TS              float64   `json:"t_s"`
	Lead            Point     `json:"lead"`
	BearingDeg      float64   `json:"bearing_deg"`
	SpeedMps        float64   `json:"speed_mps"`
	CurvaturePerM   float64   `json:"curvature_per_m"`
	Axles           []Point   `json:"axles"`
	AxleBearingsDeg []float64 `json:"axle_bearings_deg"`
	Leaders         *Leaders  `json:"leaders"`
}

// Leaders is where the leaders' lead point is.
type Leaders struct {
	At         Point   `json:"at"`
	BearingDeg float64 `json:"bearing_deg"`
}

// Point is a place as JSON writes it: [x, y].
type Point [2]float64

// Vec is the point as geometry.
func (p Point) Vec() geom.Vec { return geom.Vec{X: p[0], Y: p[1]} }

// Leg is what lies between two gates that follow one another, with the ways
// round it that a driver would call different.
type Leg struct {
	From string   `json:"from"`
	To   string   `json:"to"`
	Ways []LegWay `json:"ways"` // quickest first
}

// LegWay is one way round one leg.
type LegWay struct {
	Way     string  `json:"way"`
	Says    string  `json:"says"` // "left-handed, behind t1"
	TimeS   float64 `json:"time_s"`
	LengthM float64 `json:"length_m"`
	MoreS   float64 `json:"more_s"` // against the quickest way of this leg
}

// Reason says why nothing can be driven.
type Reason struct {
	Gate    string   `json:"gate"`    // the gate that cannot be reached or driven
	Needs   float64  `json:"needs"`   // m
	Has     float64  `json:"has"`     // m
	Between []string `json:"between"` // ids of what leaves too little room
	Text    string   `json:"text"`
}
