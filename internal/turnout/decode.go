package turnout

import (
	"math"
	"strings"
	"unicode/utf8"

	"terret/internal/strict"
)

// Format is the name and version this package reads and writes.
const Format = "turnout/1"

const (
	// DefaultBend is how far spine and neck together give way in a turn where
	// the file does not say, degrees (estimate).
	DefaultBend = 40
	// DefaultMargin is the least clearance that counts as drivable where the
	// file does not say, m.
	DefaultMargin = 0.05
	// noLock is taken for a two-wheeler whose file names no lock, degrees: the
	// shafts square to the line, which no drive comes near.
	noLock = 90
)

// Warning is something odd but possible in a turnout.
type Warning = strict.Warning

// Load reads and checks a turnout from a file. The error is a fault.Fault or
// fault.List when the file is wrong, else the disk's.
func Load(path string) (*Turnout, []Warning, error) {
	data, err := strict.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	return Decode(path, data)
}

// Decode reads and checks a turnout. name is the file's name for the places of
// faults. Odd but possible things are warnings.
func Decode(name string, data []byte) (*Turnout, []Warning, error) {
	doc, err := strict.Parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	r := &reader{doc: doc}
	t := r.turnout()
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	odd, err := doc.Judge(t.Validate())
	if err != nil {
		return nil, nil, err
	}
	return t, append(r.warnings, odd...), nil
}

// reader reads one document and gathers its warnings.
type reader struct {
	doc      *strict.Doc
	warnings []Warning
}

func (r *reader) warn(rule, path, message, hint string) {
	r.warnings = append(r.warnings, Warning{Rule: rule, Place: r.doc.Place(path), Message: message, Hint: hint})
}

func (r *reader) turnout() *Turnout {
	t := &Turnout{}
	o := r.doc.Root().Object(append([]string{"terret", "name", "hitch", "size", "horse", "leaders", "vehicle", "turning", "pace", "paces", "margin"}, sectionNames()...)...)
	o.Need("terret").OneOf(Format)
	t.Name = o.Need("name").Text()
	t.Hitch = o.Need("hitch").OneOf(Single, PairH, Tandem, Four)
	t.Size = o.Need("size").OneOf(VSE, Pony, HorseSize)

	h := o.Need("horse").Object("nose", "rump", "width", "apart", "bend")
	t.Horse = Horse{Nose: h.Need("nose").Float(), Rump: h.Need("rump").Float(), Width: h.Need("width").Float(), Bend: orDegrees(h.Get("bend"), DefaultBend)}
	if t.Abreast() {
		t.Horse.Apart = h.Need("apart").Float()
	} else {
		t.Horse.Apart = h.Get("apart").Float()
	}
	r.leaders(t, o)
	r.vehicle(t, o.Need("vehicle"))

	turn := o.Need("turning").Object("left", "right")
	t.Turning = Hands{Left: turn.Need("left").Float(), Right: turn.Need("right").Float()}
	p := o.Need("pace").Object("speed", "lateral", "gain", "loss")
	t.Pace = Pace{Speed: p.Need("speed").Float(), Lateral: hands(p.Need("lateral")), Gain: p.Need("gain").Float(), Loss: p.Need("loss").Float()}
	for _, e := range o.Get("paces").Entries() {
		if t.Paces == nil {
			t.Paces = map[string]float64{}
		}
		t.Paces[e.Key] = e.Float()
	}
	t.Margin = DefaultMargin
	if m := o.Get("margin"); m.Ok() {
		t.Margin = m.Float()
	}
	r.sections(t, o)
	return t
}

// leaders reads how far the leaders go ahead. The section may stand in the
// file of a single or a pair, where it says nothing.
func (r *reader) leaders(t *Turnout, o strict.Object) {
	if t.HasLeaders() {
		t.Ahead = o.Need("leaders").Object("ahead").Need("ahead").Float()
		return
	}
	if v := o.Get("leaders"); v.Ok() {
		v.Object("ahead").Need("ahead").Float()
		r.warn("leaders", "leaders", "a "+t.Hitch+" has no leaders; this section is not used", "leave it out, or say `hitch: tandem` or `hitch: four`")
	}
}

func (r *reader) vehicle(t *Turnout, v strict.Value) {
	o := v.Object("wheels", "track", "hubs", "shafts", "wheelbase", "body", "lock", "cg_height")
	w := o.Need("wheels").Int(2, 4)
	if o.Ok() && w == 3 {
		o.Get("wheels").Fault("wheels", "3 stands here", "2 or 4 wheels")
	}
	t.Vehicle = Vehicle{
		Wheels: w, Track: o.Need("track").Float(), Hubs: o.Need("hubs").Float(), Shafts: o.Need("shafts").Float(),
		CGHeight: o.Get("cg_height").Float(),
	}
	if w == 4 {
		t.Vehicle.Wheelbase = o.Need("wheelbase").Float()
		t.Vehicle.Body = o.Need("body").Float()
		t.Vehicle.Lock = o.Need("lock").Angle()
		return
	}
	t.Vehicle.Body = o.Get("body").Float()
	t.Vehicle.Lock = orDegrees(o.Get("lock"), noLock)
	if o.Ok() && !o.Has("lock") {
		r.warn("lock", "vehicle", "no lock is written; the shafts may stand up to 90° to the line", "write the largest angle between line and shafts, in degrees")
	}
	if o.Get("wheelbase").Float() != 0 {
		r.warn("wheelbase", "vehicle.wheelbase", "a vehicle on two wheels has no wheelbase; the number is not used", "leave it out, or say `wheels: 4`")
	}
}

func orDegrees(v strict.Value, otherwise float64) float64 {
	if v.Ok() {
		return v.Angle()
	}
	return otherwise * math.Pi / 180
}

// hands reads one number for both hands, or one for each.
func hands(v strict.Value) Hands {
	if v.IsMapping() {
		o := v.Object("left", "right")
		return Hands{Left: o.Need("left").Float(), Right: o.Need("right").Float()}
	}
	f := v.Float()
	return Hands{f, f}
}

func isName(s string) bool {
	return strings.TrimSpace(s) != "" && utf8.RuneCountInString(s) <= 200 && !strings.ContainsAny(s, "\n\t")
}
