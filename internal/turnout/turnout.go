// Package turnout is one horse-vehicle-harness-driver combination with its
// measurements, and what follows from them alone: the chain of towed bodies
// and the footprint on the ground.
//
// The file format is terret: turnout/1, described in docs/files.md. Metres,
// m/s, m/s², kilograms; angles are degrees in the file and radians here.
//
// # The parts
//
//	nose ─( leaders )─ rump …  nose ─( wheel horses )─ rump
//	        lead point + ahead          lead point
//	                                        │ shafts or pole
//	                              hub ──── front axle ──── hub   (the pin of a four-wheeler)
//	                                        │ body
//	                              hub ──── rear axle ───── hub
//
// The lead point is the turning point of the (wheel) horse, about the girth,
// midway between a pair. Its path is the line. The axles are towed without
// slip.
package turnout

// Hitches.
const (
	Single = "single"
	PairH  = "pair"
	Tandem = "tandem"
	Four   = "four"
)

// Sizes.
const (
	VSE       = "vse" // very small equine
	Pony      = "pony"
	HorseSize = "horse"
)

// Turnout holds the measurements a drive needs. Optional sections for the
// check and the card are kept apart, in Extra.
type Turnout struct {
	Name    string
	Hitch   string // single, pair, tandem or four
	Size    string // vse, pony or horse
	Horse   Horse
	Ahead   float64 // leaders: their lead point runs the line this far ahead, m; 0 without leaders
	Vehicle Vehicle
	Turning Hands // least radius of the lead point, m
	Pace    Pace
	Paces   map[string]float64 // name → m/s
	Margin  float64            // least clearance that counts as drivable, m
	Extra   Extra              // nil when there is none
}

// Extra holds the optional sections for the check and the card as plain data,
// by the section's key: text, float64, bool, []any and map[string]any.
type Extra map[string]any

// Horse is one horse as a capsule, measured from the lead point.
type Horse struct {
	Nose  float64 // lead point to nose, m
	Rump  float64 // lead point to rump, m
	Width float64 // m
	Apart float64 // middles of two abreast, m
	Bend  float64 // greatest angle between tow line and horse, rad
}

// Vehicle is what is towed.
type Vehicle struct {
	Wheels    int     // 2 or 4
	Track     float64 // outside of tyre to outside of tyre, m
	Hubs      float64 // widest part, m
	Shafts    float64 // lead point back to the (front) axle, m
	Wheelbase float64 // pin back to the rear axle, m; 0 for two wheels
	Body      float64 // width between the axles, m
	Lock      float64 // largest angle at the turntable (two wheels: between line and shafts), rad
	CGHeight  float64 // m; 0 unknown
}

// Hands is one value for each hand.
type Hands struct{ Left, Right float64 }

// Pace is how the turnout goes.
type Pace struct {
	Speed   float64 // m/s, the cap
	Lateral Hands   // greatest side force, m/s²
	Gain    float64 // greatest gain of speed, m/s²
	Loss    float64 // greatest loss of speed, m/s²
}

// Abreast reports whether two wheel horses go side by side.
func (t *Turnout) Abreast() bool { return t.Hitch == PairH || t.Hitch == Four }

// LeadersAbreast reports whether two leaders go side by side.
func (t *Turnout) LeadersAbreast() bool { return t.Hitch == Four }

// HasLeaders reports whether horses go ahead of the wheel horses.
func (t *Turnout) HasLeaders() bool { return t.Hitch == Tandem || t.Hitch == Four }

// HalfWidth is half of the widest part of the whole turnout on a straight, m.
func (t *Turnout) HalfWidth() float64 {
	w := t.Vehicle.Hubs / 2
	h := t.Horse.Width / 2
	if t.Abreast() {
		h += t.Horse.Apart / 2
	}
	b := 0.0
	if t.Vehicle.Wheels == 4 {
		b = t.Vehicle.Body / 2
	}
	return max(w, h, b)
}

// Front is how far the foremost nose is ahead of the lead point, m.
func (t *Turnout) Front() float64 { return t.Ahead + t.Horse.Nose }

// Back is how far the hindmost part is behind the lead point on a straight, m.
func (t *Turnout) Back() float64 { return max(t.Horse.Rump, t.Vehicle.Shafts+t.Vehicle.Wheelbase) }
