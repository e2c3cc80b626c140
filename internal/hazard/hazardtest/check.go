package hazardtest

import (
	"fmt"
	"math"
	"slices"

	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// The tolerances of the check. Those that docs/files.md fixes say so; the
// others are this check's own and are only there to let rounding pass.
const (
	maxStep       = 0.25  // m, files.md: samples at most this far apart
	startWithin   = 30.0  // °, files.md: the start is this near to square
	radiusWithin  = 0.01  // files.md: radius ≥ turning within 1 %
	paceWithin    = 0.01  // speeds and forces, own
	marginShort   = 0.002 // m, own: half of what the 2.5 cm grid can miss
	clearanceOff  = 0.015 // m, own: reported against found
	axleOff       = 0.015 // m, own: reported axle against one towed here
	leaderOff     = 0.02  // m, own
	onLine        = 0.005 // m, own: the ends stand on their line
	stepOff       = 0.003 // m, own: a sample against the curve from the one before
	stepTurnOff   = 0.4   // °, own: its bearing likewise
	lockOver      = 0.5   // °, own
	turnedOff     = 2.0   // °, own, over a whole drive
	passOff       = 0.03  // m, own: place of a passage
	fineStep      = 0.01  // m, own: step of the tow
	poseStep      = 0.025 // m, own: step of the clearance grid
	timeOff       = 0.002 // own, share of the whole time
	overturnOff   = 0.01  // own
	lockOff       = 0.7   // °, own: reported largest lock
	smallTurn     = 1.0   // °, own: less than this to one hand is no turning
	curvatureSlip = 0.004 // 1/m, own: curvature against the change of bearing
)

// SteerLength is the least length of line in metres over which a line counts
// as curvature-continuous when it goes from straight to the least radius: the
// curvature may change by no more than 1/(least radius) in that length.
// Anything quicker is a jump. A horse needs more than this; it is a test for
// kinks, not a claim about horses (estimate).
const SteerLength = 0.6

// fine is one point of the line as this check draws it between samples.
type fine struct {
	s, t float64
	p    geom.Vec
	b    float64 // bearing, radians, unwrapped
	k    float64 // curvature, 1/m
	w    tow
}

// faults collects what is wrong, the worst of each kind with its count.
type faults struct {
	kinds []string
	worst map[string]float64
	text  map[string]string
	n     map[string]int
}

func newFaults() *faults {
	return &faults{worst: map[string]float64{}, text: map[string]string{}, n: map[string]int{}}
}

// add notes one fault of a kind; size orders faults of one kind.
func (f *faults) add(kind string, size float64, format string, args ...any) {
	if _, ok := f.worst[kind]; !ok {
		f.kinds = append(f.kinds, kind)
		f.worst[kind] = math.Inf(-1)
	}
	f.n[kind]++
	if size > f.worst[kind] || math.IsNaN(size) {
		f.worst[kind] = size
		f.text[kind] = fmt.Sprintf(format, args...)
	}
}

func (f *faults) list() []string {
	var out []string
	for _, k := range f.kinds {
		s := k + ": " + f.text[k]
		if f.n[k] > 1 {
			s += fmt.Sprintf(" (and %d more)", f.n[k]-1)
		}
		out = append(out, s)
	}
	return out
}

func deg(rad float64) float64 { return rad * 180 / math.Pi }
func rad(deg float64) float64 { return deg * math.Pi / 180 }

// Check judges one route from its samples alone and lists what is wrong with
// it, in words with numbers; nothing means that the route is accepted. through
// and class are those of the question. Every violation starts with its kind
// and a colon: "clearance: …".
func Check(p *plan.Plan, h *plan.Hazard, t *turnout.Turnout, through, class string, r *hazard.Route) []string {
	f := newFaults()
	if len(r.Samples) < 2 {
		f.add("samples", 0, "there are %d, at least 2 are needed", len(r.Samples))
		return f.list()
	}
	if !shape(f, t, r.Samples) {
		return f.list()
	}
	steps(f, t, r.Samples)
	pts, at := trace(t, r.Samples)
	totals(f, r, pts)
	towed(f, t, r, pts, at)
	front := leaders(f, t, r, pts, at)
	turning(f, t, r, pts)
	pace(f, t, r)
	room(f, p, h, t, r, pts, front)
	legal(f, h, through, class, r, pts)
	return f.list()
}

// shape checks that the samples can be read at all: numbers are numbers, there
// are as many axles as the vehicle has, and s and t run up from 0.
func shape(f *faults, t *turnout.Turnout, ss []hazard.Sample) bool {
	n := 1
	if t.Vehicle.Wheels == 4 {
		n = 2
	}
	bad := func(v ...float64) bool {
		return slices.ContainsFunc(v, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
	}
	for i, s := range ss {
		if bad(s.SM, s.TS, s.Lead[0], s.Lead[1], s.BearingDeg, s.SpeedMps, s.CurvaturePerM) {
			f.add("samples", 0, "number %d holds something that is not a number", i)
			return false
		}
		if len(s.Axles) != n || len(s.AxleBearingsDeg) != n {
			f.add("axles", 0, "sample %d has %d axles and %d axle bearings, the vehicle has %d", i, len(s.Axles), len(s.AxleBearingsDeg), n)
			return false
		}
		for k := range s.Axles {
			if bad(s.Axles[k][0], s.Axles[k][1], s.AxleBearingsDeg[k]) {
				f.add("samples", 0, "an axle of number %d is not a number", i)
				return false
			}
		}
		if (s.Leaders != nil) != t.HasLeaders() {
			f.add("leaders", 0, "sample %d: leaders given %t, hitch %s", i, s.Leaders != nil, t.Hitch)
			return false
		}
		if i == 0 {
			continue
		}
		if ds := s.SM - ss[i-1].SM; ds <= 0 {
			f.add("samples", 0, "s does not grow at number %d: %.4f m after %.4f m", i, s.SM, ss[i-1].SM)
			return false
		}
	}
	if math.Abs(ss[0].SM) > 1e-9 || math.Abs(ss[0].TS) > 1e-9 {
		f.add("samples", 0, "the first has s %.4f m and t %.4f s, both must be 0", ss[0].SM, ss[0].TS)
	}
	return true
}

// steps checks each sample against the one before: the spacing, and whether a
// curve whose curvature runs evenly from one reported value to the next leads
// from one to the other.
func steps(f *faults, t *turnout.Turnout, ss []hazard.Sample) {
	rate := map[bool]float64{true: 1 / t.Turning.Right / SteerLength, false: 1 / t.Turning.Left / SteerLength}
	for i := 1; i < len(ss); i++ {
		a, b := ss[i-1], ss[i]
		ds := b.SM - a.SM
		if ds > maxStep+1e-9 {
			f.add("spacing", ds, "samples %.3f m apart at %.2f m, at most %.2f", ds, a.SM, maxStep)
		}
		p, th := clothoid(a.Lead.Vec(), rad(a.BearingDeg), a.CurvaturePerM, b.CurvaturePerM, ds)
		if e := p.Dist(b.Lead.Vec()); e > stepOff {
			f.add("position", e, "sample at %.2f m lies %.4f m from where bearing and curvature lead", b.SM, e)
		}
		if e := math.Abs(deg(geom.Norm(th - rad(b.BearingDeg)))); e > stepTurnOff {
			f.add("bearing", e, "at %.2f m it is %.2f° from what the curvature leads to", b.SM, e)
		}
		k := geom.Norm(rad(b.BearingDeg)-rad(a.BearingDeg)) / ds
		if e := math.Abs(k - (a.CurvaturePerM+b.CurvaturePerM)/2); e > curvatureSlip+0.03*math.Abs(k)+math.Abs(b.CurvaturePerM-a.CurvaturePerM)/4 {
			f.add("curvature", e, "at %.2f m the bearing turns by %.4f 1/m, reported %.4f and %.4f", a.SM, k, a.CurvaturePerM, b.CurvaturePerM)
		}
		dk := b.CurvaturePerM - a.CurvaturePerM
		// The quicker hand's limit holds where the line changes hands.
		lim := math.Max(rate[a.CurvaturePerM > 0], rate[b.CurvaturePerM > 0])
		if j := math.Abs(dk) / ds; j > lim*1.01 && math.Abs(dk) > 1e-4 {
			f.add("curvature jump", j, "at %.2f m from %.4f to %.4f 1/m in %.3f m, at most %.3f 1/m²", a.SM, a.CurvaturePerM, b.CurvaturePerM, ds, lim)
		}
	}
}

// clothoid runs h metres from p on bearing th while the curvature goes evenly
// from k0 to k1: bearing in closed form, place by Simpson's rule on eighths.
func clothoid(p geom.Vec, th, k0, k1, h float64) (geom.Vec, float64) {
	bearing := func(u float64) float64 { return th + h*(k0*u+(k1-k0)*u*u/2) }
	const n = 8
	var sum geom.Vec
	for i := 0; i <= n; i++ {
		w := 2.0
		switch {
		case i == 0 || i == n:
			w = 1
		case i%2 == 1:
			w = 4
		}
		sum = sum.Along(dir(bearing(float64(i)/n)), w)
	}
	return p.Along(sum, h/(3*n)), bearing(1)
}

// trace draws the line between the samples as cubic Hermite pieces through
// their places and bearings, in steps of at most fineStep, and tows the
// vehicle along it from everything straight behind. at[i] is the index in the
// points of sample i. For a curve of radius 2.5 m sampled every 0.25 m the
// Hermite piece is within 0.02 mm of the arc (h⁴·κ³/384).
func trace(t *turnout.Turnout, ss []hazard.Sample) (pts []fine, at []int) {
	b := rad(ss[0].BearingDeg)
	pts = append(pts, fine{s: 0, t: ss[0].TS, p: ss[0].Lead.Vec(), b: b, k: ss[0].CurvaturePerM, w: tow{b, b}})
	at = append(at, 0)
	for i := 1; i < len(ss); i++ {
		a, c := ss[i-1], ss[i]
		ds := c.SM - a.SM
		p0, p1 := a.Lead.Vec(), c.Lead.Vec()
		m0, m1 := dir(rad(a.BearingDeg)).Mul(ds), dir(rad(c.BearingDeg)).Mul(ds)
		n := int(math.Ceil(ds / fineStep))
		pos := func(u float64) geom.Vec {
			u2, u3 := u*u, u*u*u
			return p0.Mul(2*u3 - 3*u2 + 1).Add(m0.Mul(u3 - 2*u2 + u)).Add(p1.Mul(3*u2 - 2*u3)).Add(m1.Mul(u3 - u2))
		}
		vel := func(u float64) geom.Vec {
			u2 := u * u
			return p0.Mul(6*u2 - 6*u).Add(m0.Mul(3*u2 - 4*u + 1)).Add(p1.Mul(6*u - 6*u2)).Add(m1.Mul(3*u2 - 2*u))
		}
		for k := 1; k <= n; k++ {
			q := pts[len(pts)-1]
			u0, u1 := float64(k-1)/float64(n), float64(k)/float64(n)
			um := (u0 + u1) / 2
			vm, v1 := vel(um), vel(u1)
			bm := q.b + geom.Norm(float64(vm.Bearing())-q.b)
			b1 := bm + geom.Norm(float64(v1.Bearing())-bm)
			p1 := pos(u1)
			h := q.p.Dist(p1) // an arc of 1 cm is its chord to a part in 10⁶
			pts = append(pts, fine{
				s: q.s + h,
				t: when(a, c, u1),
				p: p1, b: b1,
				k: a.CurvaturePerM + (c.CurvaturePerM-a.CurvaturePerM)*u1,
				w: towStep(t, q.w, h, q.b, bm, b1),
			})
		}
		at = append(at, len(pts)-1)
	}
	return pts, at
}

// when is the time a share u of the way from sample a to sample b, with speed
// changing evenly in time.
func when(a, b hazard.Sample, u float64) float64 {
	v0, v1 := a.SpeedMps, b.SpeedMps
	v := math.Sqrt(math.Max(0, v0*v0+(v1*v1-v0*v0)*u))
	if v0+v1 <= 0 || v0+v <= 0 {
		return a.TS
	}
	whole := 1 / (v0 + v1)
	return a.TS + (b.TS-a.TS)*(u/(v0+v))/whole
}

// totals checks the sums that the route states.
func totals(f *faults, r *hazard.Route, pts []fine) {
	last := r.Samples[len(r.Samples)-1]
	if math.Abs(r.LengthM-last.SM) > 1e-3 {
		f.add("length", math.Abs(r.LengthM-last.SM), "length_m is %.4f, the last sample is at %.4f m", r.LengthM, last.SM)
	}
	if own := pts[len(pts)-1].s; math.Abs(own-r.LengthM) > 0.01+1e-3*own {
		f.add("length", math.Abs(own-r.LengthM), "length_m is %.4f, the line through the samples is %.4f m long", r.LengthM, own)
	}
	if math.Abs(r.TimeS-last.TS) > 1e-3 {
		f.add("time", math.Abs(r.TimeS-last.TS), "time_s is %.4f, the last sample is at %.4f s", r.TimeS, last.TS)
	}
	var left, right float64
	for i := 1; i < len(pts); i++ {
		if d := pts[i].b - pts[i-1].b; d > 0 {
			right += d
		} else {
			left -= d
		}
	}
	for _, x := range []struct {
		hand      string
		own, said float64
	}{{"left", deg(left), r.TurnedLeftDeg}, {"right", deg(right), r.TurnedRightDeg}} {
		if e := math.Abs(x.own - x.said); e > turnedOff+0.005*x.own {
			f.add("turned", e, "turned_%s_deg is %.2f, the line turns %.2f°", x.hand, x.said, x.own)
		}
	}
}

// towed checks the reported axles and the lock against the tow done here.
func towed(f *faults, t *turnout.Turnout, r *hazard.Route, pts []fine, at []int) {
	for i, s := range r.Samples {
		q := pts[at[i]]
		own := axles(t, s.Lead.Vec(), q.w)
		bearing := []float64{q.w.shafts, q.w.body}
		for k := range own {
			if e := own[k].Dist(s.Axles[k].Vec()); e > axleOff {
				f.add("axle", e, "axle %d at %.2f m is reported %.3f m from where it is towed to", k+1, s.SM, e)
			}
			if e := math.Abs(deg(geom.Norm(bearing[k] - rad(s.AxleBearingsDeg[k])))); e > 1 {
				f.add("axle bearing", e, "body %d at %.2f m is reported %.2f° off", k+1, s.SM, e)
			}
		}
	}
	most, where := 0.0, 0.0
	for _, q := range pts {
		if l := lock(t, q.b, q.w); l > most {
			most, where = l, q.s
		}
	}
	if deg(most) > deg(t.Vehicle.Lock)+lockOver {
		f.add("lock", most, "%.2f° at %.2f m, the vehicle has %.2f°", deg(most), where, deg(t.Vehicle.Lock))
	}
	if e := math.Abs(deg(most) - r.LargestLockDeg); e > lockOff {
		f.add("largest lock", e, "largest_lock_deg is %.2f, towed here %.2f", r.LargestLockDeg, deg(most))
	}
}

// leaders finds where the leaders are for every point of the line, straight
// on beyond its end, and compares with what is reported. It returns nil for a
// turnout without leaders.
func leaders(f *faults, t *turnout.Turnout, r *hazard.Route, pts []fine, at []int) []stance {
	if !t.HasLeaders() {
		return nil
	}
	out := make([]stance, len(pts))
	last := pts[len(pts)-1]
	j := 0
	for i := range pts {
		s := pts[i].s + t.Ahead
		if s >= last.s {
			out[i] = stance{front: last.p.Along(dir(last.b), s-last.s), frontOn: last.b}
			continue
		}
		for pts[j+1].s < s {
			j++
		}
		u := (s - pts[j].s) / (pts[j+1].s - pts[j].s)
		out[i] = stance{front: pts[j].p.Lerp(pts[j+1].p, u), frontOn: pts[j].b + (pts[j+1].b-pts[j].b)*u}
	}
	for i, s := range r.Samples {
		o := out[at[i]]
		if e := o.front.Dist(s.Leaders.At.Vec()); e > leaderOff {
			f.add("leaders", e, "at %.2f m they are reported %.3f m from the line %.2f m ahead", s.SM, e, t.Ahead)
		}
		if e := math.Abs(deg(geom.Norm(o.frontOn - rad(s.Leaders.BearingDeg)))); e > 1 {
			f.add("leaders' bearing", e, "at %.2f m it is %.2f° off the line's", s.SM, e)
		}
	}
	return out
}

// turning checks the radius to each hand three ways: the reported curvature,
// the change of bearing between samples, and circles through three places.
func turning(f *faults, t *turnout.Turnout, r *hazard.Route, pts []fine) {
	ss := r.Samples
	most := map[string]float64{}
	turned := map[string]float64{"left": r.TurnedLeftDeg, "right": r.TurnedRightDeg}
	see := func(how string, k, s float64, note bool) {
		hand, least := "right", t.Turning.Right
		if k < 0 {
			hand, least, k = "left", t.Turning.Left, -k
		}
		if note {
			most[hand] = math.Max(most[hand], k)
		}
		if k*least*(1-radiusWithin) > 1+1e-9 {
			f.add("radius", k*least, "%.3f m to the %s at %.2f m by %s, the turnout needs %.2f", 1/k, hand, s, how, least)
		}
	}
	for i := range ss {
		see("the reported curvature", ss[i].CurvaturePerM, ss[i].SM, true)
		if i == 0 {
			continue
		}
		ds := ss[i].SM - ss[i-1].SM
		if ds > 0.02 { // shorter steps drown in rounding
			see("the change of bearing", geom.Norm(rad(ss[i].BearingDeg)-rad(ss[i-1].BearingDeg))/ds, ss[i].SM, false)
		}
	}
	for i := 0; i < len(ss); i++ {
		j := i + 1
		for j < len(ss) && ss[j].SM-ss[i].SM < 0.2 {
			j++
		}
		k := j + 1
		for k < len(ss) && ss[k].SM-ss[j].SM < 0.2 {
			k++
		}
		if k >= len(ss) {
			break
		}
		see("three places on the line", circle(ss[i].Lead.Vec(), ss[j].Lead.Vec(), ss[k].Lead.Vec()), ss[j].SM, false)
	}
	for _, x := range []struct {
		hand string
		said *float64
	}{{"left", r.LeastRadiusLeftM}, {"right", r.LeastRadiusRightM}} {
		k := most[x.hand]
		switch {
		case x.said == nil && turned[x.hand] > smallTurn:
			f.add("least radius", 1, "least_radius_%s_m is null, the line turns %.1f° that way", x.hand, turned[x.hand])
		case x.said != nil && turned[x.hand] > smallTurn && math.Abs(*x.said*k-1) > 0.02:
			f.add("least radius", math.Abs(*x.said*k-1), "least_radius_%s_m is %.3f, the samples have %.3f", x.hand, *x.said, 1/k)
		}
	}
	for _, u := range r.Turns {
		var own float64
		for i := 1; i < len(pts); i++ {
			if pts[i].s > u.FromM && pts[i].s <= u.ToM {
				own += deg(pts[i].b - pts[i-1].b)
			}
		}
		if u.Hand == "left" {
			own = -own
		}
		if e := math.Abs(own - u.Deg); (u.Hand != "left" && u.Hand != "right") || e > turnedOff+0.02*u.Deg {
			f.add("turns", e, "the %s turn from %.2f to %.2f m is given as %.2f°, the line has %.2f°", u.Hand, u.FromM, u.ToM, u.Deg, own)
		}
		if u.LostS < -0.01 {
			f.add("turns", -u.LostS, "the %s turn from %.2f m loses %.2f s", u.Hand, u.FromM, u.LostS)
		}
	}
}

// circle is the signed curvature of the circle through three places, positive
// to the right.
func circle(a, b, c geom.Vec) float64 {
	den := a.Dist(b) * b.Dist(c) * c.Dist(a)
	if den == 0 {
		return 0
	}
	return -2 * b.Sub(a).Cross(c.Sub(b)) / den
}

// pace checks speeds, forces, times and the overturn margin.
func pace(f *faults, t *turnout.Turnout, r *hazard.Route) {
	ss := r.Samples
	var side, own float64
	for i, s := range ss {
		if s.SpeedMps <= 0 {
			f.add("forward", -s.SpeedMps, "the speed at %.2f m is %.3f m/s", s.SM, s.SpeedMps)
			return
		}
		if s.SpeedMps > t.Pace.Speed*(1+paceWithin) {
			f.add("speed", s.SpeedMps, "%.3f m/s at %.2f m, the pace is %.3f", s.SpeedMps, s.SM, t.Pace.Speed)
		}
		a, lim, hand := s.SpeedMps*s.SpeedMps*s.CurvaturePerM, t.Pace.Lateral.Right, "right"
		if a < 0 {
			a, lim, hand = -a, t.Pace.Lateral.Left, "left"
		}
		side = math.Max(side, a)
		if a > lim*(1+paceWithin) {
			f.add("side force", a/lim, "%.3f m/s² in a turn to the %s at %.2f m, at most %.3f", a, hand, s.SM, lim)
		}
		if i == 0 {
			continue
		}
		q := ss[i-1]
		ds := s.SM - q.SM
		gain := (s.SpeedMps*s.SpeedMps - q.SpeedMps*q.SpeedMps) / (2 * ds)
		if gain > t.Pace.Gain*(1+paceWithin)+0.002 {
			f.add("gain", gain, "speed grows by %.3f m/s² at %.2f m, at most %.3f", gain, q.SM, t.Pace.Gain)
		}
		if -gain > t.Pace.Loss*(1+paceWithin)+0.002 {
			f.add("loss", -gain, "speed falls by %.3f m/s² at %.2f m, at most %.3f", -gain, q.SM, t.Pace.Loss)
		}
		dt := 2 * ds / (s.SpeedMps + q.SpeedMps)
		own += dt
		if e := math.Abs((s.TS - q.TS) - dt); e > 0.01*dt+1e-5 {
			f.add("times", e, "the step at %.2f m takes %.5f s by its times, %.5f by its speeds", q.SM, s.TS-q.TS, dt)
		}
	}
	if e := math.Abs(own - r.TimeS); e > timeOff*own+1e-3 {
		f.add("time", e, "time_s is %.3f, the speeds give %.3f", r.TimeS, own)
	}
	const g = 9.80665 // m/s², standard gravity (ISO 80000-3)
	if t.Vehicle.CGHeight == 0 {
		if r.OverturnMargin != nil {
			f.add("overturn margin", 0, "it is %.3f without a height of the centre of gravity", *r.OverturnMargin)
		}
		return
	}
	want := 1 - side*2*t.Vehicle.CGHeight/(g*t.Vehicle.Track)
	if r.OverturnMargin == nil {
		f.add("overturn margin", 0, "it is null, the drive has %.3f", want)
	} else if e := math.Abs(*r.OverturnMargin - want); e > overturnOff {
		f.add("overturn margin", e, "it is %.3f, the drive has %.3f", *r.OverturnMargin, want)
	}
}

// partNames are the words of the answer for the parts of the footprint.
var partNames = []string{"wheel horse", "leader", "shafts", "body", "hub", "rear hub"}

// sweep looks for the least room on a drive.
type sweep struct {
	t     *turnout.Turnout
	y     *yard
	pts   []fine
	front []stance // nil without leaders
	parts []part
}

func (w *sweep) pose(i int) []part {
	q := w.pts[i]
	s := stance{lead: q.p, line: q.b, tow: q.w}
	if w.front != nil {
		s.front, s.frontOn = w.front[i].front, w.front[i].frontOn
	}
	w.parts = footprint(w.parts[:0], w.t, s)
	return w.parts
}

// farAway stands for no clearance at all, m.
const farAway = 1e9

// least is the least clearance of the drive, and the index of the point where
// it is taken.
func (w *sweep) least() (best near, at int) {
	best = near{d: farAway, ob: -1}
	try := func(i int) {
		if n := w.y.clearance(w.pose(i), best.d, -1); n.ob >= 0 {
			best, at = n, i
		}
	}
	last := -1.0
	for i := range w.pts {
		if w.pts[i].s-last >= poseStep || i == len(w.pts)-1 {
			try(i)
			last = w.pts[i].s
		}
	}
	for i, to := max(0, at-4), min(len(w.pts), at+5); i < to; i++ { // every fine point near the least
		try(i)
	}
	return best, at
}

// room checks the clearance over the whole drive and the tight places.
func room(f *faults, p *plan.Plan, h *plan.Hazard, t *turnout.Turnout, r *hazard.Route, pts []fine, front []stance) {
	w := &sweep{t: t, y: newYard(p, h), pts: pts, front: front}
	y := w.y
	best, bestAt := w.least()
	if best.ob < 0 {
		f.add("clearance", 0, "there is nothing to be clear of, not even an outline")
		return
	}
	which := w.pose(bestAt)[best.part].name
	say := fmt.Sprintf("%.4f m between %s and %s at %.2f m (%.2f, %.2f)", best.d, which, y.obs[best.ob].ID, pts[bestAt].s, best.on.X, best.on.Y)
	if best.d < t.Margin-marginShort {
		f.add("clearance", -best.d, "%s, the margin is %.3f", say, t.Margin)
	}
	if e := math.Abs(best.d - r.ClearanceM); e > clearanceOff {
		f.add("clearance told", e, "clearance_m is %.4f, found %s", r.ClearanceM, say)
	}
	if len(r.Tight) == 0 {
		f.add("tight", 0, "no tight place is named")
		return
	}
	if e := math.Abs(r.Tight[0].ClearanceM - r.ClearanceM); e > 1e-6 {
		f.add("tight", e, "the first tight place has %.4f m, clearance_m is %.4f", r.Tight[0].ClearanceM, r.ClearanceM)
	}
	for k, x := range r.Tight {
		if k > 0 && x.ClearanceM < r.Tight[k-1].ClearanceM {
			f.add("tight", 0, "place %d has less room than the one before", k+1)
		}
		ob := slices.IndexFunc(y.obs, func(o plan.Obstacle) bool { return o.ID == x.Thing })
		if ob < 0 || !slices.Contains(partNames, x.Part) {
			f.add("tight", 1, "place %d is between %q and %q, which are not there", k+1, x.Thing, x.Part)
			continue
		}
		if e := math.Abs(y.obs[ob].Dist(x.At.Vec())); e > 0.02 && x.ClearanceM > 0 {
			f.add("tight", e, "place %d is %.3f m off the face of %s", k+1, e, x.Thing)
		}
		// The named part must come as near as it says, about where it says.
		own := farAway
		for i := range pts {
			if math.Abs(pts[i].s-x.SM) > 0.15 {
				continue
			}
			var named []part
			for _, q := range w.pose(i) {
				if q.name == x.Part {
					named = append(named, q)
				}
			}
			if len(named) == 0 {
				break
			}
			own = math.Min(own, y.clearance(named, own, ob).d)
		}
		if e := math.Abs(own - x.ClearanceM); e > clearanceOff {
			f.add("tight", e, "place %d: %s to %s at %.2f m is given as %.4f m, found %.4f", k+1, x.Part, x.Thing, x.SM, x.ClearanceM, own)
		}
	}
}

// legal checks start, end, the order of the gates and the list of passages.
func legal(f *faults, h *plan.Hazard, through, class string, r *hazard.Route, pts []fine) {
	c, err := newCourse(h, through, class)
	if err != nil {
		f.add("question", 0, "%v", err)
		return
	}
	in, inName := c.doorOf(0)
	out, outName := c.doorOf(len(c.steps) - 1)
	first, last := pts[0], pts[len(pts)-1]
	if e := c.doors[in].offLine(first.p); e > onLine {
		f.add("start", e, "the drive starts %.3f m off the In line", e)
	}
	if a := math.Abs(deg(geom.Norm(first.b - float64(inName.forward.Bearing())))); a > startWithin+0.01 {
		f.add("start", a, "it crosses In %.2f° from square, at most %.0f°", a, startWithin)
	}
	if e := c.doors[out].offLine(last.p); e > onLine {
		f.add("end", e, "the drive ends %.3f m off the Out line", e)
	}
	if dir(last.b).Dot(outName.forward) <= 0 {
		f.add("end", 1, "it reaches Out backwards, on bearing %.1f°", deg(last.b))
	}
	j := &judge{c: c}
	var list []pass
	for _, x := range c.passages(pts) {
		was := j.due
		p := j.drive(x.door, x.along)
		p.s, p.t = x.s, x.t
		if p.illegal != "" {
			f.add("gates", 0, "at %.2f m %s", x.s, p.illegal)
		}
		if j.done() && was < len(c.steps) && j.due != was && x.s < last.s-endGap {
			f.add("gates", 0, "Out is driven at %.2f m and the drive goes on", x.s)
		}
		list = append(list, p)
	}
	if !j.done() {
		f.add("gates", 1, "%s is never driven", j.want())
	}
	if len(list) != len(r.Passes) {
		f.add("passes", 2, "%d are listed, the line makes %d", len(r.Passes), len(list))
		return
	}
	for i, p := range list {
		x := r.Passes[i]
		ok := slices.ContainsFunc(p.names, func(n name) bool {
			return n.letter == x.Gate && (n.forward.Dot(p.along) > 0) == x.Forward
		})
		if !ok || x.Was != p.was {
			f.add("passes", 1, "number %d is listed as %s %s forward=%t, the line drives %s %s at %.2f m", i+1, x.Was, x.Gate, x.Forward, p.was, p.names[0].letter, p.s)
		}
		if e := math.Abs(x.SM - p.s); e > passOff {
			f.add("passes", e, "number %d (%s) is given at %.3f m, found at %.3f", i+1, x.Gate, x.SM, p.s)
		}
		if e := math.Abs(x.TS - p.t); e > 0.05 {
			f.add("passes", e, "number %d (%s) is given at %.3f s, found at %.3f", i+1, x.Gate, x.TS, p.t)
		}
	}
}

// CheckAnswer judges the answer as a whole: every route with [Check], then the
// order by time, the ranks, the ways (no two alike) and the reason when there
// is none. class is the question's.
func CheckAnswer(p *plan.Plan, h *plan.Hazard, t *turnout.Turnout, class string, a *hazard.Answer) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if a.Hazard != h.Name {
		say("answer: it is for hazard %q, asked for %q", a.Hazard, h.Name)
	}
	if a.Turnout != t.Name {
		say("answer: it is for turnout %q, asked for %q", a.Turnout, t.Name)
	}
	if (len(a.Routes) == 0) != (a.NoneBecause != nil) {
		say("answer: %d routes and a reason for none: %t", len(a.Routes), a.NoneBecause != nil)
	}
	if a.NoneBecause != nil && a.NoneBecause.Text == "" {
		say("answer: the reason for no route has no words")
	}
	seen := map[string]int{}
	for i := range a.Routes {
		r := &a.Routes[i]
		if r.Rank != i+1 {
			say("rank: route %d has rank %d", i+1, r.Rank)
		}
		if i > 0 && r.TimeS < a.Routes[i-1].TimeS {
			say("order: route %d takes %.3f s, the one before %.3f", i+1, r.TimeS, a.Routes[i-1].TimeS)
		}
		if j, ok := seen[r.Way]; ok || r.Way == "" {
			say("way: route %d has the way %q of route %d", i+1, r.Way, j+1)
		}
		seen[r.Way] = i
		for _, s := range Check(p, h, t, a.Through, class, r) {
			say("route %d: %s", i+1, s)
		}
	}
	return out
}
