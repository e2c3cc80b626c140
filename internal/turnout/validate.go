package turnout

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"terret/internal/strict"
)

// Problem is one rule that a turnout breaks.
type Problem = strict.Problem

type checker struct{ list []Problem }

func (c *checker) err(rule, path, hint, format string, args ...any) {
	c.list = append(c.list, Problem{Rule: rule, Path: path, Message: fmt.Sprintf(format, args...), Hint: hint})
}

func (c *checker) warn(rule, path, hint, format string, args ...any) {
	c.list = append(c.list, Problem{Rule: rule, Path: path, Message: fmt.Sprintf(format, args...), Hint: hint, Warning: true})
}

// num writes a length for a message: to the centimetre, without empty zeros.
func num(f float64) string {
	return strconv.FormatFloat(math.Round(f*100)/100, 'f', -1, 64)
}

func degrees(rad float64) string { return num(rad*180/math.Pi) + "°" }

// above checks 0 < v ≤ most; from checks 0 ≤ v ≤ most. NaN is neither.
func (c *checker) above(rule, path, what, unit string, v, most float64) {
	if !(v > 0 && v <= most) {
		c.err(rule, path, fmt.Sprintf("more than 0, at most %s %s", num(most), unit), "%s is %v %s", what, v, unit)
	}
}

func (c *checker) from(rule, path, what, unit string, v, most float64) {
	if !(v >= 0 && v <= most) {
		c.err(rule, path, fmt.Sprintf("from 0 to %s %s", num(most), unit), "%s is %v %s", what, v, unit)
	}
}

// Validate checks the rules about a turnout's meaning. Its rules:
//
//	name, hitch, size, wheels      one of the known words
//	horse-size, vehicle-size       lengths above 0 and below what any turnout has
//	bend                           from 0 to 90°; over 45° a warning (estimate)
//	lock                           above 0, at most 180°
//	leaders                        how far ahead, for a tandem or a four
//	turning-radius                 above 0, for each hand
//	pace-speed, pace-lateral, pace-gain, pace-loss, paces   above 0
//	margin                         from 0
//
// and, as warnings:
//
//	hubs-track        hubs narrower than the track
//	shafts-rump       the axle nearer than the rump
//	leaders-near      leaders' rumps behind the wheel horses' noses
//	no-steady-turn    ΣL² ≥ R²: kept turning at its least radius the vehicle folds up (exact geometry of towing without slip)
//	hitch-angle       over 45° between line and shafts in a steady turn at the least radius
//	lock-steady       the lock is less than that turn needs
func (t *Turnout) Validate() []Problem {
	c := &checker{}
	if !isName(t.Name) {
		c.err("name", "name", "write a name of one line", "the turnout has no name")
	}
	if !slices.Contains([]string{Single, PairH, Tandem, Four}, t.Hitch) {
		c.err("hitch", "hitch", "single, pair, tandem or four", "%q is no hitch", t.Hitch)
	}
	if !slices.Contains([]string{VSE, Pony, HorseSize}, t.Size) {
		c.err("size", "size", "vse, pony or horse", "%q is no size", t.Size)
	}
	c.horse(t)
	c.vehicle(t)
	c.above("turning-radius", "turning.left", "the turning radius to the left", "m", t.Turning.Left, 100)
	c.above("turning-radius", "turning.right", "the turning radius to the right", "m", t.Turning.Right, 100)
	c.above("pace-speed", "pace.speed", "the speed", "m/s", t.Pace.Speed, 20)
	c.above("pace-lateral", "pace.lateral", "the side force to the left", "m/s²", t.Pace.Lateral.Left, 20)
	c.above("pace-lateral", "pace.lateral", "the side force to the right", "m/s²", t.Pace.Lateral.Right, 20)
	c.above("pace-gain", "pace.gain", "the gain of speed", "m/s²", t.Pace.Gain, 20)
	c.above("pace-loss", "pace.loss", "the loss of speed", "m/s²", t.Pace.Loss, 20)
	for _, k := range slices.Sorted(maps.Keys(t.Paces)) {
		if !isName(k) {
			c.err("paces", "paces", "write a name of one line", "a pace has no name")
		}
		c.above("paces", "paces."+k, "the speed of "+strconv.Quote(k), "m/s", t.Paces[k], 20)
	}
	c.from("margin", "margin", "the margin", "m", t.Margin, 2)
	if len(c.list) == 0 || !slices.ContainsFunc(c.list, func(p Problem) bool { return !p.Warning }) {
		c.steady(t, "left", t.Turning.Left)
		c.steady(t, "right", t.Turning.Right)
	}
	return c.list
}

func (c *checker) horse(t *Turnout) {
	h := t.Horse
	c.from("horse-size", "horse.nose", "from the lead point to the nose it", "m", h.Nose, 4)
	c.from("horse-size", "horse.rump", "from the lead point to the rump it", "m", h.Rump, 4)
	c.above("horse-size", "horse.width", "the horse's width", "m", h.Width, 2)
	if !(h.Nose+h.Rump >= h.Width) {
		c.err("horse-size", "horse", "measure nose and rump from the lead point, about the girth", "the horse is %s m long and %s m wide", num(h.Nose+h.Rump), num(h.Width))
	}
	if t.Abreast() {
		c.above("horse-size", "horse.apart", "from middle to middle of the two horses it", "m", h.Apart, 4)
	} else {
		c.from("horse-size", "horse.apart", "from middle to middle of two horses it", "m", h.Apart, 4)
	}
	c.from("bend", "horse.bend", "the bend", "°", h.Bend*180/math.Pi, 90)
	if h.Bend > math.Pi/4 && h.Bend <= math.Pi/2 {
		c.warn("bend", "horse.bend", "spine and neck together give about 40° (estimate)", "the bend is %s", degrees(h.Bend))
	}
	if t.HasLeaders() {
		c.above("leaders", "leaders.ahead", "the leaders' place ahead", "m", t.Ahead, 10)
		if t.Ahead > 0 && t.Ahead < h.Nose+h.Rump {
			c.warn("leaders-near", "leaders.ahead", fmt.Sprintf("nose and rump together are %s m", num(h.Nose+h.Rump)), "the leaders go %s m ahead: their rumps are behind the noses of the horses at the wheel", num(t.Ahead))
		}
	} else if t.Ahead != 0 {
		c.err("leaders", "leaders.ahead", "only a tandem or a four has leaders", "a %s has leaders %v m ahead", t.Hitch, t.Ahead)
	}
}

func (c *checker) vehicle(t *Turnout) {
	v := t.Vehicle
	c.above("vehicle-size", "vehicle.track", "the track", "m", v.Track, 4)
	c.above("vehicle-size", "vehicle.hubs", "the width over the hubs", "m", v.Hubs, 5)
	c.above("vehicle-size", "vehicle.shafts", "from the lead point to the axle it", "m", v.Shafts, 10)
	c.from("vehicle-size", "vehicle.body", "the body's width", "m", v.Body, 5)
	c.from("vehicle-size", "vehicle.cg_height", "the height of the centre of mass", "m", v.CGHeight, 4)
	if !(v.Lock > 0 && v.Lock <= math.Pi*(1+1e-12)) {
		c.err("lock", "vehicle.lock", "more than 0, at most 180°", "the lock is %s", degrees(v.Lock))
	}
	switch v.Wheels {
	case 4:
		c.above("vehicle-size", "vehicle.wheelbase", "the wheelbase", "m", v.Wheelbase, 10)
	case 2:
		if v.Wheelbase != 0 {
			c.err("wheels", "vehicle.wheelbase", "leave it out", "a vehicle on two wheels has a wheelbase of %v m", v.Wheelbase)
		}
	default:
		c.err("wheels", "vehicle.wheels", "2 or 4", "the vehicle has %d wheels", v.Wheels)
	}
	if v.Hubs > 0 && v.Hubs < v.Track {
		c.warn("hubs-track", "vehicle.hubs", "hubs is the widest part; a wheel without a projecting hub has hubs = track", "the hubs (%s m) are narrower than the track (%s m)", num(v.Hubs), num(v.Track))
	}
	if v.Shafts > 0 && v.Shafts < t.Horse.Rump {
		c.warn("shafts-rump", "vehicle.shafts", "measure from the lead point back to the (front) axle", "the axle, %s m behind the lead point, is nearer than the rump, %s m", num(v.Shafts), num(t.Horse.Rump))
	}
}

// steady warns of what a turn kept up at the least radius to one hand does: a
// body of length L towed round radius R runs on radius √(R² − L²), at an angle
// ψ to the path of its front with sin ψ = L/R.
func (c *checker) steady(t *Turnout, hand string, r float64) {
	path := "turning." + hand
	v := t.Vehicle
	if sum := v.Shafts*v.Shafts + v.Wheelbase*v.Wheelbase; sum >= r*r {
		c.warn("no-steady-turn", path, fmt.Sprintf("a turn can be kept up at more than %s m; shorter turns must be straightened in time", num(math.Sqrt(sum))),
			"turning %s at %s m cannot be kept up: the vehicle goes on folding towards the horse", hand, num(r))
		return
	}
	hitch := math.Asin(v.Shafts / r)
	if hitch > math.Pi/4 {
		c.warn("hitch-angle", path, "measure radius and shafts again; a horse gives way by about 40° (estimate)", "kept turning %s at %s m the shafts stand %s to the line", hand, num(r), degrees(hitch))
	}
	turn, where := hitch, "between line and shafts"
	if v.Wheels == 4 {
		turn, where = math.Asin(v.Wheelbase/math.Sqrt(r*r-v.Shafts*v.Shafts)), "at the turntable"
	}
	if turn > v.Lock {
		c.warn("lock-steady", path, fmt.Sprintf("the lock is %s", degrees(v.Lock)), "kept turning %s at %s m it wants %s %s", hand, num(r), degrees(turn), where)
	}
}
