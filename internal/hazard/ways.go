package hazard

import (
	"fmt"
	"math"
	"strings"

	"terret/internal/drive"
	"terret/internal/geom"
)

// A way is what a driver would call a way round. Two lines that wrap the posts
// alike on every leg are one way; the key of a leg is the number of whole turns
// made beyond the turn from gate to gate, and how often it goes round each
// thing more than the straight line between the gates does. Both are whole
// numbers that turning or shifting the plan does not change.
//
// The winding numbers decide homology, a little coarser than homotopy (Bhattacharya,
// Likhachev, Kumar 2012): two routes that differ by a commutator count as one.
type way struct {
	leg   []string // key of each leg
	turns []int    // whole turns of each leg
}

func (w *way) key() string { return strings.Join(w.leg, " | ") }

// way reads the key off a measured route.
func (k *task) way(r *route) *way {
	w := &way{}
	places := r.run.Places
	a := 0
	for i := 0; i+1 < len(k.steps) && i+1 < len(r.cuts); i++ {
		from, to := &k.steps[i], &k.steps[i+1]
		b := a
		for b < len(places)-1 && places[b].S < r.cuts[i+1].s {
			b++
		}
		// The closed loop: gate middle, the line, the next gate's middle, back.
		loop := []geom.Vec{from.mid}
		turned, last := 0.0, from.fwd
		for j := a; j <= b; j++ {
			loop = append(loop, places[j].Lead)
			turned += math.Atan2(places[j].Dir.Cross(last), places[j].Dir.Dot(last))
			last = places[j].Dir
		}
		loop = append(loop, to.mid)
		turned += math.Atan2(to.fwd.Cross(last), to.fwd.Dot(last))
		diff := math.Atan2(to.fwd.Cross(from.fwd), to.fwd.Dot(from.fwd))
		n := int(math.Round((turned - diff) / (2 * math.Pi)))
		w.turns = append(w.turns, n)
		var s strings.Builder
		fmt.Fprintf(&s, "%s-%s:%+d", from.name, to.name, n)
		for o := range k.obs {
			ob := &k.obs[o]
			if ob.Fence {
				continue
			}
			if c := winding(loop, ob.Path[0]); c != 0 {
				fmt.Fprintf(&s, " %s%+d", ob.ID, c)
			}
		}
		w.leg = append(w.leg, s.String())
		a = b
	}
	return w
}

// winding is how often a closed loop goes round p, anticlockwise.
func winding(loop []geom.Vec, p geom.Vec) (n int) {
	a := loop[len(loop)-1]
	for _, b := range loop {
		if (a.Y <= p.Y) != (b.Y <= p.Y) {
			left := b.Sub(a).Cross(p.Sub(a))
			if b.Y > a.Y && left > 0 {
				n++
			} else if b.Y < a.Y && left < 0 {
				n--
			}
		}
		a = b
	}
	return n
}

// sameWay is how far apart sideways two lines may be and still be the same way
// to a driver: the same line, other side of one post. m, an estimate to be
// measured with drivers.
const sameWay = 2.5

// alike reports whether leg i of two routes is the same way to a driver.
func alike(r, q *route, a, b *way, i int) bool {
	if a.leg[i] == b.leg[i] {
		return true
	}
	if a.turns[i] != b.turns[i] {
		return false
	}
	x, y := r.legPoints(i), q.legPoints(i)
	return within(x, y, sameWay) && within(y, x, sameWay)
}

// legPoints is leg i of a route, a point every half metre or so.
func (r *route) legPoints(i int) (ps []geom.Vec) {
	next := r.cuts[i].s
	for j := range r.run.Places {
		q := &r.run.Places[j]
		if q.S >= next && q.S <= r.cuts[i+1].s {
			ps = append(ps, q.Lead)
			next = q.S + 0.5
		}
	}
	return ps
}

// within reports whether every point of a is within d of some point of b.
func within(a, b []geom.Vec, d float64) bool {
	d2 := d * d
next:
	for _, p := range a {
		for _, q := range b {
			if p.Sub(q).Len2() < d2 {
				continue next
			}
		}
		return false
	}
	return true
}

// bends lists the turns of a run with what each costs. The run is parted at the
// quickest place between two turns, so the seconds lost add up to the whole time
// beyond driving every metre at the cap.
func (k *task) bends(r *route) []Turn {
	const (
		least  = 20 * math.Pi / 180 // a bend of less is not a turn to a driver
		gentle = 1.0 / 60           // per m; flatter is straight
	)
	ps := r.run.Places
	type bend struct {
		a, b   int
		turned float64
		kap    float64
	}
	var bs []bend
	for i := 1; i < len(ps); i++ {
		kp := ps[i].K
		if math.Abs(kp) < gentle {
			continue
		}
		d := kp * (ps[i].S - ps[i-1].S)
		if n := len(bs); n > 0 && bs[n-1].turned*kp > 0 && ps[i].S-ps[bs[n-1].b].S < 1 {
			b := &bs[n-1]
			b.b = i
			b.turned += d
			b.kap = math.Max(b.kap, math.Abs(kp))
			continue
		}
		bs = append(bs, bend{i, i, d, math.Abs(kp)})
	}
	var keep []bend
	for _, b := range bs {
		if math.Abs(b.turned) >= least {
			keep = append(keep, b)
		}
	}
	speedCap := k.t.Pace.Speed
	out := make([]Turn, 0, len(keep))
	start := 0
	for n, b := range keep {
		end := len(ps) - 1
		if n+1 < len(keep) {
			end = b.b
			for j := b.b; j <= keep[n+1].a; j++ {
				if ps[j].V > ps[end].V {
					end = j
				}
			}
		}
		lost := ps[end].T - ps[start].T - (ps[end].S-ps[start].S)/speedCap
		hand := "right"
		if b.turned < 0 {
			hand = "left"
		}
		out = append(out, Turn{Hand: hand, Deg: deg(math.Abs(b.turned)), LeastRadiusM: 1 / b.kap,
			FromM: ps[b.a].S, ToM: ps[b.b].S, LostS: math.Max(lost, 0), Between: k.legName(r.legAt((ps[b.a].S+ps[b.b].S)/2) + 1)})
		start = end
	}
	return out
}

// says is one plain sentence about a route: the best by what it asks, the
// others against the best.
func (k *task) says(r, best *route, w, bw *way, turns []Turn) string {
	least := math.Min(r.strain.LeastLeft, r.strain.LeastRight)
	if r == best {
		if len(turns) == 0 {
			return "Quickest: no turn of note."
		}
		t := turns[0]
		for _, u := range turns {
			if u.LeastRadiusM < t.LeastRadiusM-1e-9 {
				t = u
			}
		}
		return fmt.Sprintf("Quickest. Its sharpest turn is %s of %.1f m between %s; %.0f cm to spare at %s.",
			t.Hand, t.LeastRadiusM, strings.Replace(t.Between, " to ", " and ", 1), 100*r.room.Room, thingName(r.room.Thing))
	}
	var s []string
	dl := r.run.Length() - best.run.Length()
	switch {
	case dl >= 0.5:
		s = append(s, fmt.Sprintf("%.0f m longer", dl))
	case dl <= -0.5:
		s = append(s, fmt.Sprintf("%.0f m shorter", -dl))
	default:
		s = append(s, "as long")
	}
	if dt := r.time - best.time; dt < 0.05 {
		s = append(s, "as quick")
	} else {
		s = append(s, fmt.Sprintf("%.1f s slower", dt))
	}
	bl := math.Min(best.strain.LeastLeft, best.strain.LeastRight)
	text := ""
	switch {
	case least > bl+0.3:
		text = fmt.Sprintf(", no turn under %.1f m: kinder to a green horse", math.Floor(least*10)/10)
	case r.room.Room > best.room.Room+0.1:
		text = fmt.Sprintf(", %.0f cm more room at the tightest", 100*(r.room.Room-best.room.Room))
	case r.strain.TurnedLeft < best.strain.TurnedLeft-math.Pi/3 && r.strain.TurnedRight > best.strain.TurnedRight+math.Pi/3:
		text = ", turns right where the quickest turns left"
	case r.strain.TurnedRight < best.strain.TurnedRight-math.Pi/3 && r.strain.TurnedLeft > best.strain.TurnedLeft+math.Pi/3:
		text = ", turns left where the quickest turns right"
	}
	var where []string
	for i := range w.leg {
		if i < len(bw.leg) && w.leg[i] != bw.leg[i] {
			where = append(where, k.legName(i+1))
		}
	}
	out := strings.Join(s, ", ") + text + "."
	if len(where) > 0 && len(where) <= 3 {
		out = "Other way " + strings.Join(where, " and ") + ": " + out
	} else {
		out = strings.ToUpper(out[:1]) + out[1:]
	}
	return out
}

// legSays describes one leg's way in words.
func (k *task) legSays(r *route, i int) string {
	a, b := r.cuts[i].s, r.cuts[i+1].s
	var left, right float64
	var prev *drive.Place
	for j := range r.run.Places {
		p := &r.run.Places[j]
		if p.S < a || p.S > b {
			continue
		}
		if prev != nil {
			if d := math.Atan2(p.Dir.Cross(prev.Dir), p.Dir.Dot(prev.Dir)); d > 0 {
				right += d
			} else {
				left -= d
			}
		}
		prev = p
	}
	switch {
	case left < math.Pi/6 && right < math.Pi/6:
		return "straight on"
	case left > 3*right:
		return fmt.Sprintf("left-handed, %.0f°", deg(left))
	case right > 3*left:
		return fmt.Sprintf("right-handed, %.0f°", deg(right))
	}
	return fmt.Sprintf("left %.0f° and right %.0f°", deg(left), deg(right))
}
