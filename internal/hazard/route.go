package hazard

import (
	"fmt"
	"math"

	"terret/internal/drive"
	"terret/internal/geom"
	"terret/internal/shape"
)

// body is the turnout as the solver meets it, with a little more asked than the
// measure will ask, for the solver looks only every half metre.
func (k *task) body() shape.Body {
	b := shape.BodyOf(k.t)
	b.Left *= askRadius
	b.Right *= askRadius
	b.Room += askRoom
	return b
}

const (
	askRadius = 1.006 // a line is refused below 0.99 of the radius
	askRoom   = 0.02  // m; the solver's half-metre steps miss about this much
)

// Tolerances of the measure. The format grants the radius 1 %; a tenth of that
// is kept back for readers who take curvature by differences.
const (
	radiusGrace = 0.991
	quickest    = 0.6  // m of line in which the curvature may go from nought to the greatest
	measureStep = 0.05 // m
	searchStep  = 0.1  // m, while comparing
)

// route is a shaped line with its measure.
type route struct {
	line     geom.Spline
	from, to drive.Spot
	run      *drive.Run
	passes   []Pass
	cuts     []cut        // where each step is driven
	spots    []drive.Spot // the same, on the spline
	room     drive.Near
	strain   drive.Strain
	time     float64
	fault    string  // why it is not drivable; "" when it is
	leg      int     // the leg of the fault, from 0
	miss     float64 // how badly it misses, for comparing lines that both do
}

// cut is where the line drives a step.
type cut struct{ s, t float64 }

// score orders lines: drivable ones by time, the others behind, by how badly
// they miss.
func (r *route) score() float64 {
	if r.fault == "" {
		return r.time
	}
	return r.time + 30 + 60*r.miss
}

// likely is about the time that a line will take once it is pressed right.
func (r *route) likely() float64 { return r.time + 3*r.miss }

// measure drives a line and rules on it.
func (k *task) measure(line geom.Spline, step float64) *route {
	r := &route{line: line, time: math.Inf(1), miss: 10}
	j := judge{k: k}
	var buf []crossing
	const sub = 4
	prev := line.Knot(1)
	started := false
walk:
	for i := 1; i+2 < len(line); i++ {
		for m := 1; m <= sub; m++ {
			p, _, _ := line.At(i, float64(m)/sub)
			buf = k.crossings(buf, prev, p)
			for _, c := range buf {
				ru := j.pass(c)
				if !started && (j.s != 1 || ru.bad != "") {
					continue // before In nothing counts yet
				}
				if ru.bad != "" {
					r.fault, r.leg = ru.bad, max(j.s, 1)-1
					return r
				}
				spot := drive.Spot{I: i, F: (float64(m-1) + c.f) / sub}
				if ru.was != "dead" {
					r.spots = append(r.spots, spot)
				}
				if !started {
					started = true
					r.from = k.onLine(line, spot, c.line)
				}
				if j.done() {
					r.to = k.onLine(line, spot, c.line)
					break walk
				}
			}
			prev = p
		}
	}
	if !j.done() {
		j.s = min(j.s, len(k.steps)-1)
		r.fault, r.leg = fmt.Sprintf("%s is not reached", gateName(k.steps[j.s].name)), max(j.s, 1)-1
		return r
	}
	r.run = drive.Drive(k.t, line, r.from, r.to, step)
	r.time = r.run.Time()
	r.passes, r.cuts = k.passes(r.run)
	r.strain = r.run.Strain()
	r.room = r.run.Clear(k.obs, 1.5)
	k.rule(r)
	return r
}

// rule says whether a measured line is drivable.
func (k *task) rule(r *route) {
	t := k.t
	r.miss = 0
	say := func(miss float64, where float64, f string, a ...any) {
		if r.fault == "" {
			r.fault, r.leg = fmt.Sprintf(f, a...), r.legAt(where)
		}
		r.miss += miss
	}
	if r.room.Room < t.Margin {
		say(math.Min(t.Margin-r.room.Room, 2), r.room.S, "%s comes within %s m of %s", r.room.Part, hasM(r.room.Room), thingName(r.room.Thing))
	}
	where := func(worse func(p *drive.Place) float64) (s float64) {
		most := math.Inf(-1)
		for i := range r.run.Places {
			if w := worse(&r.run.Places[i]); w > most {
				most, s = w, r.run.Places[i].S
			}
		}
		return s
	}
	if r.strain.LeastLeft < t.Turning.Left*radiusGrace {
		say(math.Min(t.Turning.Left/r.strain.LeastLeft-1, 2), where(func(p *drive.Place) float64 { return -p.K }),
			"turns left on %s m, %s is its least", hasM(r.strain.LeastLeft), needM(t.Turning.Left))
	}
	if r.strain.LeastRight < t.Turning.Right*radiusGrace {
		say(math.Min(t.Turning.Right/r.strain.LeastRight-1, 2), where(func(p *drive.Place) float64 { return p.K }),
			"turns right on %s m, %s is its least", hasM(r.strain.LeastRight), needM(t.Turning.Right))
	}
	if t.Vehicle.Lock > 0 && r.strain.Lock > t.Vehicle.Lock {
		say(r.strain.Lock-t.Vehicle.Lock, where(func(p *drive.Place) float64 {
			if t.Vehicle.Wheels == 4 {
				return -p.Tow.Dot(p.Body)
			}
			return -p.Dir.Dot(p.Tow)
		}), "needs %.0f° of lock, %.0f° is its largest", deg(r.strain.Lock), deg(t.Vehicle.Lock))
	}
	if most := 1 / (math.Min(t.Turning.Left, t.Turning.Right) * quickest); r.strain.Kink > most {
		say(0.05, 0, "bends too suddenly")
	}
	p := &r.run.Places[0]
	if c := p.Dir.Dot(k.steps[0].fwd); c < math.Cos(30*math.Pi/180) {
		say(0.2, 0, "comes to In %.0f° off square, 30° is the most", deg(math.Acos(c)))
	}
	for i := range k.steps {
		if i >= len(r.cuts) {
			say(5, r.run.Length(), "%s is not driven", gateName(k.steps[i].name))
			break
		}
	}
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }

// onLine sharpens a spot to lie on a gate's line.
func (k *task) onLine(line geom.Spline, s drive.Spot, l int) drive.Spot {
	o, f := k.lines[l].seg.A, k.lines[l].fwd
	for range 4 {
		if s.F < 0 && s.I > 1 {
			s.I, s.F = s.I-1, s.F+1
		} else if s.F > 1 && s.I+3 < len(line) {
			s.I, s.F = s.I+1, s.F-1
		}
		p, d1, _ := line.At(s.I, s.F)
		if d := d1.Dot(f); math.Abs(d) > 1e-6 {
			s.F -= p.Sub(o).Dot(f) / d
		}
	}
	return s
}

// passes lists every crossing of a gate line of a run that starts on In and
// ends on Out, and where each step is driven.
func (k *task) passes(run *drive.Run) (ps []Pass, cuts []cut) {
	j := judge{k: k, s: 1}
	ps = append(ps, Pass{Gate: "in", Was: "due", Forward: true})
	cuts = append(cuts, cut{})
	var buf []crossing
	last := len(run.Places) - 1
	for i := 1; i <= last; i++ {
		a, b := &run.Places[i-1], &run.Places[i]
		buf = k.crossings(buf, a.Lead, b.Lead)
		for _, c := range buf {
			// The ends lie on In and Out to rounding: they are counted apart.
			s, t := a.S+(b.S-a.S)*c.f, a.T+(b.T-a.T)*c.f
			if (s < 1e-3 && c.line == k.steps[0].line) || (s > b.S-1e-3 && i == last && c.line == k.steps[len(k.steps)-1].line) {
				continue
			}
			ru := j.pass(c)
			if ru.bad != "" {
				return ps, cuts
			}
			ps = append(ps, Pass{Gate: ru.name, Was: ru.was, Forward: ru.forward, SM: s, TS: t})
			if ru.was != "dead" {
				cuts = append(cuts, cut{s, t})
			}
		}
	}
	ps = append(ps, Pass{Gate: "out", Was: "due", Forward: true, SM: run.Length(), TS: run.Time()})
	return ps, append(cuts, cut{run.Length(), run.Time()})
}

// legName names the leg towards step s.
func (k *task) legName(s int) string {
	s = min(max(s, 1), len(k.steps)-1)
	return gateName(k.steps[s-1].name) + " to " + gateName(k.steps[s].name)
}

// legAt is the leg at s metres.
func (r *route) legAt(s float64) int {
	for i := 1; i < len(r.cuts); i++ {
		if s <= r.cuts[i].s {
			return i - 1
		}
	}
	return max(len(r.cuts)-2, 0)
}

// mends is how often a line that misses by a little is pressed right.
const mends = 4

// realise shapes a string and measures what came of it, asking for more room
// where the measure found too little.
func (k *task) realise(sv *shape.Solver, str []geom.Vec) *route {
	sv.Body = k.body()
	sv.Gates = k.gates(1, len(k.steps)-1)
	relax(sv)
	line := sv.Grow(str, shape.Careful)
	r := k.measure(line, searchStep)
	if r.run == nil {
		line = sv.Grow(str, shape.Patient)
		r = k.measure(line, searchStep)
	}
	return k.mend(sv, line, r, mends, 12, searchStep)
}

// gates are the lines of steps a to b, without b, each from its left marker.
func (k *task) gates(a, b int) []geom.Seg {
	var out []geom.Seg
	for i := a; i < b; i++ {
		out = append(out, k.directed(i))
	}
	return out
}

// relax forgets the further room asked for an earlier line.
func relax(sv *shape.Solver) {
	for i := range sv.Discs {
		sv.Discs[i].More = 0
	}
	for i := range sv.Walls {
		sv.Walls[i].More = 0
	}
}

// mend presses a line right that misses by a little.
func (k *task) mend(sv *shape.Solver, line geom.Spline, r *route, times, steps int, step float64) *route {
	best := r
	for i := 0; i < times && r.fault != "" && r.run != nil && r.miss < 1.5; i++ {
		k.press(sv, r)
		line = sv.Settle(line, steps)
		if r = k.measure(line, step); r.score() < best.score() {
			best = r
		}
	}
	return best
}

// press asks the solver for more of what a measure found short.
func (k *task) press(sv *shape.Solver, r *route) {
	for _, n := range r.run.Nearest(k.obs, k.t.Margin+0.005) {
		short := k.t.Margin - n.Room
		if short < -0.005 {
			continue
		}
		more := math.Min(short, 0.15) + 0.01
		for i := range sv.Discs {
			d := &sv.Discs[i]
			if e := n.At.Dist(d.At) - d.R; e < 0.01 {
				d.More += more
			}
		}
		for i := range sv.Walls {
			w := &sv.Walls[i]
			if e := w.Seg.Dist(n.At) - w.R; e < 0.01 {
				w.More += more
			}
		}
	}
	if short := k.t.Turning.Left/r.strain.LeastLeft - 1/radiusGrace; short > 0 {
		sv.Body.Left *= 1 + math.Min(short, 0.05) + 0.002
	}
	if short := k.t.Turning.Right/r.strain.LeastRight - 1/radiusGrace; short > 0 {
		sv.Body.Right *= 1 + math.Min(short, 0.05) + 0.002
	}
	if short := r.strain.Lock - k.t.Vehicle.Lock; short > 0 && k.t.Vehicle.Lock > 0 {
		sv.Body.Lock -= short + 0.005
	}
}

// seam is how much of the old line beside an exchanged leg's gates is given up
// to the new string, m.
const seam = 1.5

// reach is how many knots of the line on either side of an exchanged leg are
// shaped anew with it, at most.
const reach = 30

// window exchanges one leg of a measured route for a new string. The line is
// shaped anew from the gate before that leg's first to the gate after its
// second; the rest stays as it is.
func (k *task) window(sv *shape.Solver, old *route, leg int, c *choice) *route {
	sv.Body = k.body()
	relax(sv)
	last := len(k.steps) - 1
	at := func(step int, more float64) int { // knot of a step's place, more knots on
		s := old.spots[step]
		return min(max(int(math.Round(float64(s.I)+s.F+more)), 1), len(old.line)-2)
	}
	gap := int(seam / shape.Spacing)
	a, z := 1, len(old.line)-2
	var w shape.Window
	if leg >= 2 || (leg == 1 && at(0, 4) < at(1, -12)) {
		// Start on the line, at the gate before the leg's first, or well before it.
		if leg >= 2 {
			a = max(at(leg-1, 0), at(leg, -float64(reach)))
		} else {
			a = at(0, 4)
		}
		w.Head, w.From = old.line[a-1:a+2], k.towedAt(old, a)
	}
	if leg+2 < last {
		z = min(at(leg+2, 0), at(leg+1, float64(reach)))
		w.Tail = old.line[z-1 : z+2]
	}
	knots := func(pts []geom.Vec, lo, hi int) []geom.Vec {
		for i := lo; i <= hi; i++ {
			pts = append(pts, old.line.Knot(i))
		}
		return pts
	}
	str := knots(nil, a, max(at(leg, float64(-gap)), a))
	if leg == 0 {
		s := &k.steps[0]
		str = []geom.Vec{s.mid.Along(s.fwd, -runIn), s.mid.Along(s.fwd, -runIn/2)}
	}
	str = k.leg(str, leg, c)
	str = append(str, k.steps[leg+1].mid)
	if leg+1 == last {
		s := &k.steps[last]
		end := runOut + k.t.Ahead
		str = append(str, s.mid.Along(s.fwd, end/2), s.mid.Along(s.fwd, end))
	} else {
		str = knots(str, min(at(leg+1, float64(gap)), z), z)
	}
	w.String = str
	sv.Gates = k.gates(max(leg, 1), min(leg+2, last))
	gates := sv.Gates
	shaped := func(p shape.Pace) *route {
		sv.Gates = gates
		part := sv.Part(w, p)
		sv.Gates = k.gates(1, last)
		var line geom.Spline
		if w.Head != nil {
			line = append(line, old.line[:a-1]...)
		}
		line = append(line, part...)
		if w.Tail != nil {
			line = append(line, old.line[z+2:]...)
		}
		return k.measure(line, searchStep)
	}
	if old.fault == "" {
		return shaped(shape.Brisk)
	}
	r := shaped(shape.Careful)
	if r.run == nil {
		r = shaped(shape.Patient)
	}
	return r
}

// towedAt is the state of the bodies at a knot of a measured route.
func (k *task) towedAt(r *route, knot int) *shape.Towed {
	p := r.line.Knot(knot)
	best, t := math.Inf(1), &shape.Towed{}
	for i := range r.run.Places {
		q := &r.run.Places[i]
		if d := q.Lead.Sub(p).Len2(); d < best {
			best, *t = d, shape.Towed{q.Tow, q.Body}
		}
	}
	return t
}
