package drive

import (
	"math"
	"sort"

	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/turnout"
)

// Place is the turnout at one place of its line. Dir, Tow and Body are unit
// directions of the line's tangent, the tow line (front axle → lead point) and
// the body of a four-wheeler (rear axle → pin).
type Place struct {
	S, T, V, K float64 // m along, s, m/s, curvature per m (positive right)
	Lead, Dir  geom.Vec
	Axle, Tow  geom.Vec
	Rear, Body geom.Vec
	// Mark is set at the ends of the line and at places some 0.2 m apart that
	// include every knot of the spline: between two marks the curvature is as
	// good as straight, so a reader who joins marks loses nothing.
	Mark bool
}

// Spot is a place on a spline: a share F of the way from knot I to the next.
type Spot struct {
	I int
	F float64
}

// Run is a turnout driven along a line, from its start to its end, at places
// no more than the asked step apart.
type Run struct {
	Turnout *turnout.Turnout
	Places  []Place
	// Beyond is the line past the end, for leaders, and continues Places; only
	// S, K, Lead and Dir are set.
	Beyond []Place
	step   float64 // places are at most this far apart, m
}

// Drive runs the turnout along the spline from one spot to another at places at
// most step metres apart. It starts with everything straight behind, as the
// format says, and past the end the leaders go straight on: the
// line is over there, and nothing else is promised about it. Speeds are the quickest within the turnout's pace.
func Drive(t *turnout.Turnout, line geom.Spline, from, to Spot, step float64) *Run {
	r := &Run{Turnout: t, step: step}
	n := len(line)
	est := 0
	for i := from.I; i <= to.I && i+1 < n; i++ {
		est += int(line[i].Dist(line[i+1])/step) + 2
	}
	r.Places = make([]Place, 0, est+8)
	put := func(list []Place, i int, f, s float64) []Place {
		p, d1, d2 := line.At(i, f)
		return append(list, Place{S: s, Lead: p, Dir: d1.Unit(), K: geom.Curvature(d1, d2)})
	}
	walk := func(list []Place, from, to Spot, last *Place) []Place {
		prev := *last
		for i := from.I; i <= to.I && i+2 < n; i++ {
			f0, f1 := 0.0, 1.0
			if i == from.I {
				f0 = from.F
			}
			if i == to.I {
				f1 = to.F
			}
			if f1 <= f0 {
				continue
			}
			m := int(math.Ceil(line[i].Dist(line[i+1])*1.1*(f1-f0)/step - 1e-9))
			m = max(m, 1)
			parts := max(3, int(math.Ceil(line[i].Dist(line[i+1])*1.1/0.2)))
			for j := 1; j <= m; j++ {
				f := f0 + (f1-f0)*float64(j)/float64(m)
				list = put(list, i, f, 0)
				q := &list[len(list)-1]
				q.Mark = j*parts/m != (j-1)*parts/m
				h := q.Lead.Dist(prev.Lead)
				k := (q.K + prev.K) / 2
				q.S = prev.S + h*(1+k*k*h*h/24) // chord to arc
				prev = *q
			}
		}
		return list
	}
	r.Places = put(r.Places, from.I, from.F, 0)
	r.Places = walk(r.Places, from, to, &r.Places[0])
	r.Places[0].Mark, r.Places[len(r.Places)-1].Mark = true, true
	r.tow()
	r.speeds()
	if t.Ahead > 0 {
		last := r.Places[len(r.Places)-1]
		tail := last
		for tail.S < last.S+t.Ahead {
			h := math.Min(step, last.S+t.Ahead-tail.S+1e-9)
			tail = Place{S: tail.S + h, Lead: tail.Lead.Along(tail.Dir, h), Dir: tail.Dir}
			r.Beyond = append(r.Beyond, tail)
		}
	}
	return r
}

// tow lays the vehicle behind each place.
func (r *Run) tow() {
	v := &r.Turnout.Vehicle
	for i := range r.Places {
		q := &r.Places[i]
		if i == 0 {
			q.Tow, q.Body = q.Dir, q.Dir
		} else {
			p := &r.Places[i-1]
			q.Tow = Tow(p.Tow, q.Lead.Sub(p.Lead), v.Shafts)
		}
		q.Axle = q.Lead.Along(q.Tow, -v.Shafts)
		if v.Wheels != 4 {
			q.Rear, q.Body = q.Axle, q.Tow
			continue
		}
		if i > 0 {
			p := &r.Places[i-1]
			q.Body = Tow(p.Body, q.Axle.Sub(p.Axle), v.Wheelbase)
		}
		q.Rear = q.Axle.Along(q.Body, -v.Wheelbase)
	}
}

// speeds sets the quickest speeds and the times.
func (r *Run) speeds() {
	n := len(r.Places)
	buf := make([]float64, 4*n)
	v, t, k, st := buf[:n], buf[n:2*n], buf[2*n:3*n], buf[3*n:4*n-1]
	for i := range r.Places {
		k[i] = r.Places[i].K
		if i > 0 {
			st[i-1] = r.Places[i].S - r.Places[i-1].S
		}
	}
	Speeds(v, t, k, st, PaceLimits(r.Turnout))
	for i := range r.Places {
		r.Places[i].V, r.Places[i].T = v[i], t[i]
	}
}

// PaceLimits are the turnout's limits for a rolling start and finish.
func PaceLimits(t *turnout.Turnout) Limits {
	p := &t.Pace
	return Limits{Cap: p.Speed, Left: p.Lateral.Left, Right: p.Lateral.Right, Gain: p.Gain, Loss: p.Loss}
}

// Time is the whole time in seconds.
func (r *Run) Time() float64 { return r.Places[len(r.Places)-1].T }

// Length is the length of the line in metres.
func (r *Run) Length() float64 { return r.Places[len(r.Places)-1].S }

// Leaders is where the leaders' lead point is when the turnout is at place i.
// ok is false without leaders.
func (r *Run) Leaders(i int) (at, dir geom.Vec, ok bool) {
	if !r.Turnout.HasLeaders() {
		return at, dir, false
	}
	s := r.Places[i].S + r.Turnout.Ahead
	a, b := r.around(s)
	f := 0.0
	if b.S > a.S {
		f = (s - a.S) / (b.S - a.S)
	}
	return a.Lead.Lerp(b.Lead, f), a.Dir.Lerp(b.Dir, f).Unit(), true
}

// line is the i-th place of the line, counting on into Beyond.
func (r *Run) line(i int) *Place {
	if i < len(r.Places) {
		return &r.Places[i]
	}
	return &r.Beyond[i-len(r.Places)]
}

// around finds the two neighbouring places of the line that hold s between them.
func (r *Run) around(s float64) (a, b *Place) {
	n := len(r.Places) + len(r.Beyond)
	i := sort.Search(n, func(i int) bool { return r.line(i).S >= s })
	i = min(max(i, 1), n-1)
	return r.line(i - 1), r.line(i)
}

// Near is the least room between one thing and the turnout over a whole drive.
type Near struct {
	Thing string
	Part  string
	At    geom.Vec // on the thing's face
	S     float64  // m along the line, of the lead point of the wheel horses
	Room  float64  // m; negative when they meet
}

// partSpeed bounds how much further any part moves than the lead point does:
// an outer hub at full lock makes about 1.3 times its way, a nose 1.1.
const partSpeed = 1.6

// Nearest lists, for every obstacle that comes within far metres of the
// turnout, the place where it comes nearest, tightest first. far is widened
// until at least three (or all) are listed.
func (r *Run) Nearest(obs []plan.Obstacle, far float64) []Near {
	var out []Near
	for {
		out = out[:0]
		for i := range obs {
			if n, ok := r.nearest(&obs[i], far); ok {
				out = append(out, n)
			}
		}
		if len(out) >= min(3, len(obs)) || far > 1000 {
			break
		}
		far *= 4
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Room < out[j].Room })
	return out
}

// Clear is the least room to any obstacle, at most far metres.
func (r *Run) Clear(obs []plan.Obstacle, far float64) Near {
	best := Near{Room: far}
	for i := range obs {
		if n, ok := r.nearest(&obs[i], best.Room); ok {
			best = n
		}
	}
	return best
}

// nearest advances conservatively: no part can come nearer by more than
// partSpeed times the way the lead point goes.
func (r *Run) nearest(o *plan.Obstacle, far float64) (best Near, ok bool) {
	best.Room = far
	t := r.Turnout
	var buf [maxParts]part
	if inside := o.Closed && (o.Area || o.Fence); inside && o.Dist(r.Places[0].Lead) < 0 {
		return Near{Thing: o.ID, Part: PartHorse, At: r.Places[0].Lead, Room: o.Dist(r.Places[0].Lead)}, true
	}
	scan := func(n int, at func(i int) *Place, foot func([]part, *Place) []part, ahead float64) {
		for i := 0; i < n; {
			q := at(i)
			ps := foot(buf[:0], q)
			d, w, p := gap(ps, o)
			if d < best.Room {
				best = Near{Thing: o.ID, Part: ps[w].name, At: p, S: q.S - ahead, Room: d}
				ok = true
			}
			skip := (d - best.Room) / partSpeed
			j := i + 1
			if skip > 0.05 {
				for j < n && at(j).S-q.S < skip {
					j += max(1, int((skip-(at(j).S-q.S))/r.step))
				}
				if j > n {
					j = n
				}
			}
			i = j
		}
	}
	scan(len(r.Places), func(i int) *Place { return &r.Places[i] },
		func(ps []part, q *Place) []part { return parts(ps, t, q) }, 0)
	if t.HasLeaders() {
		n := len(r.Places) + len(r.Beyond)
		lo := sort.Search(n, func(i int) bool { return r.line(i).S >= t.Ahead })
		hi := sort.Search(n, func(i int) bool { return r.line(i).S > r.Length()+t.Ahead })
		scan(hi-lo, func(i int) *Place { return r.line(lo + i) },
			func(ps []part, q *Place) []part {
				return horses(ps, t, t.LeadersAbreast(), PartLeader, q.Lead, q.Dir)
			}, t.Ahead)
	}
	return best, ok
}

// Strain is the extremes of a run.
type Strain struct {
	LeastLeft, LeastRight   float64 // least radius turning to that hand, m; +Inf: never
	TurnedLeft, TurnedRight float64 // rad, both positive
	Lock                    float64 // largest lock, rad
	SideForce               float64 // greatest v²κ, m/s²
	Kink                    float64 // quickest change of curvature, per m²
}

// Strain measures the run.
func (r *Run) Strain() Strain {
	s := Strain{LeastLeft: math.Inf(1), LeastRight: math.Inf(1)}
	var kl, kr float64
	for i := range r.Places {
		q := &r.Places[i]
		kl, kr = math.Max(kl, -q.K), math.Max(kr, q.K)
		s.SideForce = math.Max(s.SideForce, q.V*q.V*math.Abs(q.K))
		// Two wheels: between the line and the shafts; four: at the turntable.
		a, b := q.Dir, q.Tow
		if r.Turnout.Vehicle.Wheels == 4 {
			a, b = q.Tow, q.Body
		}
		s.Lock = math.Max(s.Lock, math.Atan2(math.Abs(a.Cross(b)), a.Dot(b)))
		if i > 0 {
			p := &r.Places[i-1]
			if h := q.S - p.S; h > 0 {
				s.Kink = math.Max(s.Kink, math.Abs(q.K-p.K)/h)
			}
			d := math.Atan2(q.Dir.Cross(p.Dir), q.Dir.Dot(p.Dir)) // positive right
			if d > 0 {
				s.TurnedRight += d
			} else {
				s.TurnedLeft -= d
			}
		}
	}
	// A hand counts as turned to once it bends more than a kilometre's radius.
	if kl > 1e-3 {
		s.LeastLeft = 1 / kl
	}
	if kr > 1e-3 {
		s.LeastRight = 1 / kr
	}
	return s
}
