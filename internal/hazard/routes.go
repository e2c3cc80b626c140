package hazard

import (
	"context"
	"fmt"
	"math"
	"sort"

	"terret/internal/drive"
	"terret/internal/geom"
	"terret/internal/plan"
	"terret/internal/shape"
)

// DefaultMost is how many routes are shown when nobody asks for another number.
const DefaultMost = 10

// slower is how much a way may cost more than the best and still be shown: the
// greater of 3 s and 10 % (estimate; ask for more to see all).
func slower(best float64) float64 { return best + math.Max(3, best/10) }

// Routes answers the question: the ways the turnout may drive, quickest first,
// or why there is none. The error is a fault.Fault when the question itself is
// wrong, or ctx's.
func Routes(ctx context.Context, q Question) (*Answer, error) {
	k, err := newTask(q)
	if err != nil {
		return nil, err
	}
	a := &Answer{Hazard: k.h.Name, Turnout: k.t.Name, Through: k.last, Routes: []Route{}, Legs: []Leg{}}
	if a.NoneBecause = k.tooNarrow(); a.NoneBecause != nil {
		return a, nil
	}
	f := k.frame()
	kf, err := k.in(&f)
	if err != nil {
		return nil, err
	}
	sc := kf.scene()
	s, bare := kf.newSearch(ctx, sc, usual)
	if s == nil {
		a.NoneBecause = k.noWay(bare)
		return a, nil
	}
	s.first()
	if s.best.fault != "" {
		if w, _ := kf.newSearch(ctx, sc, far); w != nil {
			if w.first(); w.best.score() < s.best.score() {
				s = w
			}
		}
	}
	if s.best.fault == "" {
		s.descend(q.Progress)
		if s.pairs() {
			s.descend(q.Progress)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if s.best.fault != "" {
		a.NoneBecause = k.because(k.measure(f.back(s.best.line), searchStep))
		return a, nil
	}
	k.answer(a, s, &f)
	if len(a.Routes) == 0 {
		a.NoneBecause = k.because(k.measure(f.back(s.best.line), searchStep))
	}
	return a, nil
}

// because turns the last fault into a reason.
func (k *task) because(r *route) *Reason {
	to := gateName(k.steps[min(r.leg+1, len(k.steps)-1)].name)
	why := &Reason{Gate: k.steps[min(r.leg+1, len(k.steps)-1)].name, Text: fmt.Sprintf("No way to %s was found that can be driven: the nearest %s, between %s.", to, r.fault, k.legName(r.leg+1))}
	if r.run == nil {
		return why
	}
	if r.room.Room < k.t.Margin {
		short := k.t.Margin - r.room.Room
		why.Between = []string{r.room.Thing}
		if other, has := k.opposite(r); other != nil {
			why.Between = append(why.Between, other.Thing)
			why.Has, why.Needs = has, has+short+math.Max(0, k.t.Margin-other.Room)
			why.Text = fmt.Sprintf("%s needs %s m, there are %s m between %s and %s.", to, needM(why.Needs), hasM(why.Has), thingName(r.room.Thing), thingName(other.Thing))
			return why
		}
		why.Needs, why.Has = k.t.Margin, r.room.Room
		why.Text = fmt.Sprintf("No way to %s was found that can be driven: on the nearest, between %s, the %s is %.0f cm short of room at %s.", to, k.legName(r.leg+1), r.room.Part, 100*short, thingName(r.room.Thing))
		return why
	}
	near := r.run.Nearest(k.obs, 0.5)
	for _, h := range []struct {
		hand      string
		need, has float64
	}{{"left", k.t.Turning.Left, r.strain.LeastLeft}, {"right", k.t.Turning.Right, r.strain.LeastRight}} {
		if h.has < h.need*radiusGrace {
			why.Needs, why.Has = h.need, h.has
			if len(near) > 0 {
				why.Between = []string{near[0].Thing}
			}
			why.Text = fmt.Sprintf("%s asks for a turn to the %s of %s m between %s; this turnout needs %s m.", to, h.hand, hasM(h.has), k.legName(r.leg+1), needM(h.need))
			return why
		}
	}
	return why
}

// opposite finds what stands on the other hand of the turnout at its tightest
// place, and the room between the two: the opening it did not fit through.
func (k *task) opposite(r *route) (*drive.Near, float64) {
	const reach = 4.0 // m along the line that count as one place
	var here *drive.Place
	for i := range r.run.Places {
		if p := &r.run.Places[i]; here == nil || math.Abs(p.S-r.room.S) < math.Abs(here.S-r.room.S) {
			here = p
		}
	}
	// Sides are told from the vehicle's middle line where it is tight.
	side := func(q geom.Vec) float64 { return q.Sub(here.Axle).Dot(here.Tow.Right()) }
	near := r.run.Nearest(k.obs, 1)
	tight := k.obstacle(r.room.Thing)
	for i := range near {
		n := &near[i]
		if n.Thing == r.room.Thing || math.Abs(n.S-r.room.S) > reach || side(n.At)*side(r.room.At) >= 0 {
			continue
		}
		if has := apart(tight, k.obstacle(n.Thing)); has > 0 {
			return n, has
		}
	}
	return nil, 0
}

func (k *task) obstacle(id string) *plan.Obstacle {
	for i := range k.obs {
		if k.obs[i].ID == id {
			return &k.obs[i]
		}
	}
	return nil
}

// apart is the least distance between the faces of two things, m.
func apart(a, b *plan.Obstacle) float64 {
	d := math.Inf(1)
	for s := range a.Segs {
		for t := range b.Segs {
			e, _, _ := geom.SegDist(s, t)
			d = math.Min(d, e)
		}
	}
	return d - a.Radius - b.Radius
}

// noWay says why a leg has no way round: the widest opening that would help.
func (k *task) noWay(leg int) *Reason {
	a, b := &k.steps[leg], &k.steps[leg+1]
	need := 2 * (k.t.HalfWidth() + k.t.Margin)
	why := &Reason{Gate: b.name, Needs: need}
	// The nearest pair of things that shuts the way is the narrowest gap along
	// the way a thinner turnout would take: narrow the turnout until one opens.
	lo, hi := 0.0, need
	var pinch [2]string
	for range 12 {
		mid := (lo + hi) / 2
		thin := *k
		t := *k.t
		t.Vehicle.Hubs, t.Vehicle.Body, t.Horse.Width, t.Horse.Apart = mid-2*t.Margin, 0, 0, 0
		if t.Vehicle.Hubs <= 0 {
			lo = mid
			break
		}
		thin.t = &t
		tsc := thin.scene()
		st := tsc.graph.Shortest(2*leg, 2*leg+3, k.closed(leg+1), 1, 0, 0)
		if len(st) == 0 {
			hi = mid
			continue
		}
		lo = mid
		pinch = k.pinch(st[0].Points)
	}
	if lo <= 0.01 {
		why.Text = fmt.Sprintf("There is no way from %s to %s that crosses no live gate.", gateName(a.name), gateName(b.name))
		return why
	}
	why.Has = lo
	if pinch[0] != "" {
		why.Between = pinch[:]
		why.Text = fmt.Sprintf("%s needs %s m, there are %s m between %s and %s.", gateName(b.name), needM(need), hasM(lo), thingName(pinch[0]), thingName(pinch[1]))
	} else {
		why.Text = fmt.Sprintf("%s needs %s m, the widest way there is %s m.", gateName(b.name), needM(need), hasM(lo))
	}
	return why
}

// pinch names the two things that a string passes between at its narrowest.
func (k *task) pinch(str []geom.Vec) (names [2]string) {
	type near struct {
		id string
		d  float64
	}
	best := math.Inf(1)
	for i := 1; i < len(str); i++ {
		n := int(str[i].Dist(str[i-1])/0.1) + 1
		for j := range n {
			p := str[i-1].Lerp(str[i], float64(j)/float64(n))
			var ns []near
			for o := range k.obs {
				ns = append(ns, near{k.obs[o].ID, k.obs[o].Dist(p)})
			}
			if len(ns) < 2 {
				return names
			}
			sort.Slice(ns, func(x, y int) bool { return ns[x].d < ns[y].d })
			if d := ns[0].d + ns[1].d; d < best {
				best, names = d, [2]string{ns[0].id, ns[1].id}
			}
		}
	}
	return names
}

// answer chooses what to show: each way once, the quickest of it, none much
// slower than the best.
func (k *task) answer(a *Answer, s *search, f *frame) {
	most := k.q.Most
	if most <= 0 {
		most = DefaultMost
	}
	sort.SliceStable(s.found, func(i, j int) bool { return s.found[i].likely() < s.found[j].likely() })
	ways := map[*route]*way{}
	byKey := map[string]bool{}
	var shown []*route
	for _, r := range s.found {
		w := s.k.way(r)
		if key := w.key(); byKey[key] {
			continue // a slower line of a way already there
		} else {
			byKey[key] = true
		}
		if r.likely() > slower(s.best.time)+1 || len(shown) >= most+3 {
			a.Dropped++
			continue
		}
		same := false
		for _, q := range shown {
			same = true
			for i := range w.leg {
				if !alike(r, q, w, ways[q], i) {
					same = false
					break
				}
			}
			if same {
				break
			}
		}
		if same {
			a.Dropped++
			continue
		}
		ways[r] = w
		shown = append(shown, r)
	}
	// Let each settle to its quickest line, the quickest of them closely, and
	// measure that finely.
	for i, r := range shown {
		shown[i] = s.polish(r, shape.Roughly, 1)
	}
	sort.SliceStable(shown, func(i, j int) bool { return shown[i].score() < shown[j].score() })
	var final []*route
	seen := map[string]bool{}
	for i, r := range shown {
		if i < closest {
			r = s.polish(r, shape.Closely, closeRounds)
		}
		p := k.fine(f.back(r.line))
		if p.fault != "" {
			continue
		}
		w := k.way(p)
		if seen[w.key()] {
			continue
		}
		seen[w.key()] = true
		ways[p] = w
		final = append(final, p)
	}
	byTime(final)
	for i, r := range final {
		if i >= most || r.time > slower(final[0].time) {
			a.Dropped++
			continue
		}
		turns := k.bends(r)
		out := k.write(r, turns)
		out.Rank = len(a.Routes) + 1
		out.Way = ways[r].key()
		out.Says = k.says(r, final[0], ways[r], ways[final[0]], turns)
		a.Routes = append(a.Routes, out)
	}
	a.Legs = k.legWays(final, ways)
}

// fine measures a line at the step that answers are held to.
func (k *task) fine(line geom.Spline) *route { return k.measure(line, measureStep) }

// legWays lists, leg by leg, the ways found for it in the routes.
func (k *task) legWays(rs []*route, ways map[*route]*way) []Leg {
	legs := make([]Leg, len(k.steps)-1)
	for i := range legs {
		l := &legs[i]
		l.From, l.To = k.steps[i].name, k.steps[i+1].name
		l.Ways = []LegWay{}
		seen := map[string]int{}
		for _, r := range rs {
			key := ways[r].leg[i]
			w := LegWay{Way: key, Says: k.legSays(r, i), TimeS: r.cuts[i+1].t - r.cuts[i].t, LengthM: r.cuts[i+1].s - r.cuts[i].s}
			if at, ok := seen[key]; ok {
				if w.TimeS < l.Ways[at].TimeS {
					l.Ways[at] = w
				}
				continue
			}
			seen[key] = len(l.Ways)
			l.Ways = append(l.Ways, w)
		}
		sort.SliceStable(l.Ways, func(x, y int) bool { return l.Ways[x].TimeS < l.Ways[y].TimeS })
		for j := range l.Ways {
			l.Ways[j].MoreS = l.Ways[j].TimeS - l.Ways[0].TimeS
		}
	}
	return legs
}

// write puts a measured route into the shape of an answer.
func (k *task) write(r *route, turns []Turn) Route {
	run := r.run
	out := Route{TimeS: run.Time(), LengthM: run.Length(), Passes: r.passes, Turns: turns,
		TurnedLeftDeg: deg(r.strain.TurnedLeft), TurnedRightDeg: deg(r.strain.TurnedRight),
		LargestLockDeg: deg(r.strain.Lock), Tight: []Tight{}}
	if out.Turns == nil {
		out.Turns = []Turn{}
	}
	if v := r.strain.LeastLeft; !math.IsInf(v, 0) {
		out.LeastRadiusLeftM = &v
	}
	if v := r.strain.LeastRight; !math.IsInf(v, 0) {
		out.LeastRadiusRightM = &v
	}
	if h := k.t.Vehicle.CGHeight; h > 0 && k.t.Vehicle.Track > 0 {
		const g = 9.80665 // m/s², standard gravity
		m := 1 - r.strain.SideForce*2*h/(g*k.t.Vehicle.Track)
		out.OverturnMargin = &m
	}
	near := run.Nearest(k.obs, 1.5)
	for i := range near[:min(3, len(near))] {
		n := &near[i]
		out.Tight = append(out.Tight, Tight{Thing: n.Thing, Part: n.Part, At: Point{n.At.X, n.At.Y}, SM: n.S, ClearanceM: n.Room})
	}
	if len(near) > 0 {
		out.ClearanceM = near[0].Room
	}
	for i := range run.Places {
		if run.Places[i].Mark {
			out.Samples = append(out.Samples, k.sample(run, i))
		}
	}
	return out
}

func (k *task) sample(run *drive.Run, i int) Sample {
	p := &run.Places[i]
	s := Sample{SM: p.S, TS: p.T, Lead: Point{p.Lead.X, p.Lead.Y}, BearingDeg: p.Dir.Bearing().Deg(), SpeedMps: p.V, CurvaturePerM: p.K,
		Axles: []Point{{p.Axle.X, p.Axle.Y}}, AxleBearingsDeg: []float64{p.Tow.Bearing().Deg()}}
	if k.t.Vehicle.Wheels == 4 {
		s.Axles = append(s.Axles, Point{p.Rear.X, p.Rear.Y})
		s.AxleBearingsDeg = append(s.AxleBearingsDeg, p.Body.Bearing().Deg())
	}
	if at, dir, ok := run.Leaders(i); ok {
		s.Leaders = &Leaders{At: Point{at.X, at.Y}, BearingDeg: dir.Bearing().Deg()}
	}
	return s
}
