package gait

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"terret/internal/fault"
	"terret/internal/turnout"
)

// The trots, and the answer of who has measured too little to tell.
const (
	Slow       = "slow"
	Working    = "working"
	Strong     = "strong"
	CannotTell = "cannot tell"
)

// ToleranceOf is how far off the fore print still counts as in it, m, by size
// of horse: half a print (estimate).
func ToleranceOf(size string) float64 {
	switch size {
	case turnout.VSE:
		return 0.035
	case turnout.Pony:
		return 0.05
	}
	return 0.065
}

const (
	// fewest is how many over-tracks a trot is named from at the least: five on
	// one side is the fewest a sign test calls one-sided at 5 %, and published
	// practice measures 5 to 6 strides. The interval asks for more where it must.
	fewest = 5
	// mostWanted is where counting the strides that are wanting ends: who would
	// need more stands on the edge between two trots.
	mostWanted = 99
	// rounding is the standard deviation of a tape read to the centimetre:
	// 1 cm/√12, m.
	rounding = 0.01 / 3.4641016151377544
	// handTiming is how far two stop-watches in two hands differ, s (common
	// practice: 0.1 to 0.3 s).
	handTiming = 0.2
)

// strideLimits are the shortest and longest stride at a trot that is believed,
// m, by size (estimate; racing trotters reach 5.5 m).
func strideLimits(size string) (short, long float64) {
	switch size {
	case turnout.VSE:
		return 0.4, 3
	case turnout.Pony:
		return 0.7, 4.5
	}
	return 1.0, 6.5
}

// Question is a strip of prints and what is known beside it.
type Question struct {
	File      string  // for the places of faults
	Prints    []Print // of one horse at one trot, in any order
	Size      string  // turnout.VSE, Pony or HorseSize; "" is a horse
	Tolerance float64 // how far off counts as in the print, m; 0 is by size
	Leg       float64 // standing leg, elbow to ground, m; 0 is by size
	Seconds   float64 // time over Metres, s; 0 is not timed
	Metres    float64 // distance that was timed, m; 0 is from the first print to the last
}

// Trot is what the prints say. Lengths end in their unit.
type Trot struct {
	Trot              string      `json:"trot"`
	Says              string      `json:"says"`
	Size              string      `json:"size"`
	ToleranceCM       float64     `json:"tolerance_cm"`
	OverTrack         OverTracked `json:"over_track_cm"`
	Sides             Sides       `json:"sides_cm"`
	Stride            Stride      `json:"stride_m"`
	DiagonalM         *float64    `json:"diagonal_m"` // mean distance from a hind print forward to the fore print of its diagonal
	MoreStridesWanted int         `json:"more_strides_wanted"`
	IdentityGapCM     *float64    `json:"identity_gap_cm"` // mean over-track less (stride/2 − diagonal)
	Straight          *Straight   `json:"straightness"`
	SpeedMPS          *float64    `json:"speed_mps,omitempty"`
	SpeedRangeMPS     []float64   `json:"speed_range_mps,omitempty"` // a hand's timing earlier or later
	StrideHz          *float64    `json:"stride_hz,omitempty"`
	Froude            *float64    `json:"froude,omitempty"`
	LegM              float64     `json:"leg_m"`
	Missed            int         `json:"prints_missed"` // places where a print of a foot should be and none was measured
	Notes             []string    `json:"remarks"`
	// Left and Right are the single over-tracks of each side, m, in the order they
	// were found: for a drawing.
	Left  []float64 `json:"-"`
	Right []float64 `json:"-"`
}

// OverTracked is the over-track of all hind prints, cm, + beyond the fore print.
type OverTracked struct {
	Mean  float64  `json:"mean"`
	Low   *float64 `json:"low"`  // null with one reading
	High  *float64 `json:"high"` //
	Left  *float64 `json:"left"` // mean of the side; null without a reading
	Right *float64 `json:"right"`
	SD    float64  `json:"sd"`
	N     int      `json:"n"`
	Ahead int      `json:"ahead"` // how many hind prints are ahead of the fore
	// ShareAhead is Wilson's 95 % interval of the share ahead; SignP the chance
	// of so lopsided a count, or more, if ahead and behind were as likely (one-sided).
	ShareAhead [2]float64 `json:"share_ahead"`
	SignP      float64    `json:"sign_p"`
}

// Sides is the over-track of each side, cm, and left less right.
type Sides struct {
	Left       *Side `json:"left"`
	Right      *Side `json:"right"`
	Difference *Gap  `json:"difference"`
}

// Side is one side's mean with its 95 % interval; Low and High are nil with one
// reading.
type Side struct {
	Mean float64  `json:"mean"`
	Low  *float64 `json:"low"`
	High *float64 `json:"high"`
	SD   float64  `json:"sd"`
	N    int      `json:"n"`
}

// Gap is left less right with Welch's 95 % interval. Found is that nought lies
// outside of it.
type Gap struct {
	Mean  float64 `json:"mean"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Found bool    `json:"found"`
}

// Stride is the distance between following prints of one foot, m, over all feet.
type Stride struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	N    int     `json:"n"`
}

// Straight is how straight the horse went, from the across_m of the prints.
type Straight struct {
	// DriftDeg is the angle of the horse's track to the strip, + to the right.
	DriftDeg float64 `json:"drift_deg"`
	// WanderCM is the standard deviation of the prints about that track, each foot
	// about its own line.
	WanderCM float64 `json:"wander_cm"`
	// QuartersCM is how far the hind feet's middle runs beside the fore feet's,
	// + to the right; null where a foot has no print.
	QuartersCM *float64 `json:"quarters_cm"`
}

// Read says what trot the prints are of. The error is a fault when the prints
// cannot be what a trotting horse leaves.
func Read(q Question) (*Trot, error) {
	if q.Size == "" {
		q.Size = turnout.HorseSize
	}
	if q.Tolerance == 0 {
		q.Tolerance = ToleranceOf(q.Size)
	}
	leg := q.Leg
	if leg == 0 {
		leg = LegOf(q.Size)
	}
	if err := q.check(); err != nil {
		return nil, err
	}
	passes := byPass(q.Prints)
	g, err := q.strides(passes)
	if err != nil {
		return nil, err
	}
	a := &Trot{Size: q.Size, ToleranceCM: math.Round(1e8*q.Tolerance) / 1e6, LegM: leg, Missed: g.missed, Notes: []string{}}
	a.Stride = Stride{Mean: g.all.Mean, SD: g.all.SD, N: g.all.N}
	o := overTracks(passes, g.all.Mean)
	if len(o.left)+len(o.right) == 0 {
		return nil, &fault.Fault{Code: fault.Input, Rule: "no-over-track", Place: q.File, Message: "no hind print has a fore print of its own side within half a stride", Hint: "measure hind and fore prints of one side over the same strides"}
	}
	a.Left, a.Right = o.left, o.right
	a.overTrack(o)
	a.judge(q.Tolerance, o)
	a.identity(o, g.all.Mean)
	a.Straight = straightness(passes)
	if err := a.timed(q, passes, leg); err != nil {
		return nil, err
	}
	a.remarks(q, o, passes)
	return a, nil
}

// check holds what is asked beside the prints.
func (q *Question) check() error {
	bad := func(rule, place, message, hint string) error {
		return &fault.Fault{Code: fault.Usage, Rule: rule, Place: place, Message: message, Hint: hint}
	}
	switch {
	case !slices.Contains([]string{turnout.VSE, turnout.Pony, turnout.HorseSize}, q.Size):
		return bad("size", "size", fmt.Sprintf("%q is no size", q.Size), "vse, pony or horse")
	case !(q.Tolerance > 0 && q.Tolerance <= 0.3):
		return bad("tolerance", "tolerance", fmt.Sprintf("%v m either side is no width of a print", q.Tolerance), "more than 0, at most 0.3 m; half a print of a horse is about 0.065 m")
	case q.Leg != 0 && !(q.Leg >= 0.2 && q.Leg <= 2):
		return bad("leg", "leg", fmt.Sprintf("%v m is no leg", q.Leg), "elbow to ground, 0.2 to 2 m")
	case q.Seconds != 0 && !(q.Seconds > 0 && q.Seconds <= 3600):
		return bad("seconds", "seconds", fmt.Sprintf("%v s is no time for a strip", q.Seconds), "more than 0 s")
	case q.Metres != 0 && !(q.Metres > 0 && q.Metres <= 10000):
		return bad("metres", "metres", fmt.Sprintf("%v m is no length that was timed", q.Metres), "more than 0 m")
	case q.Metres != 0 && q.Seconds == 0:
		return bad("metres", "metres", "a distance without a time gives no speed", "give the seconds too")
	}
	for _, p := range q.Prints {
		if !slices.Contains(feet(), p.Foot) || math.IsNaN(p.Along) || math.IsInf(p.Along, 0) || math.IsNaN(p.Across) || math.IsInf(p.Across, 0) {
			return &fault.Fault{Code: fault.Input, Rule: "print", Place: q.place(p), Message: "this is no print", Hint: "LF, RF, LH or RH, with metres along the strip"}
		}
	}
	fore := slices.ContainsFunc(q.Prints, func(p Print) bool { return p.Foot == LF || p.Foot == RF })
	hind := slices.ContainsFunc(q.Prints, func(p Print) bool { return p.Foot == LH || p.Foot == RH })
	switch {
	case !fore && !hind:
		return &fault.Fault{Code: fault.Input, Rule: "no-prints", Place: q.File, Message: "there is no print", Hint: "measure the prints of six strides or more"}
	case !fore:
		return &fault.Fault{Code: fault.Input, Rule: "no-fore", Place: q.File, Message: "there is no fore print at all", Hint: "a hind print is read against the fore print of its side: measure LF and RF too, as they come, before a hind foot blots them out"}
	case !hind:
		return &fault.Fault{Code: fault.Input, Rule: "no-hind", Place: q.File, Message: "there is no hind print at all", Hint: "measure LH and RH too"}
	}
	return nil
}

func (q *Question) place(p Print) string {
	if p.Line > 0 {
		return fmt.Sprintf("%s:%d: %s", q.File, p.Line, p.Foot)
	}
	return strings.TrimPrefix(fmt.Sprintf("%s: %s at %s m", q.File, p.Foot, trim(p.Along, 2)), ": ")
}

// pass is one walk over the strip: the prints of each foot in order.
type pass map[Foot][]Print

// byPass sorts the prints by pass and foot, in the order of the passes' first
// print in the file.
func byPass(prints []Print) []pass {
	at := map[string]int{}
	var all []pass
	for _, p := range prints {
		i, ok := at[p.Pass]
		if !ok {
			i = len(all)
			at[p.Pass] = i
			all = append(all, pass{})
		}
		all[i][p.Foot] = append(all[i][p.Foot], p)
	}
	for _, ps := range all {
		for _, f := range feet() {
			slices.SortStableFunc(ps[f], func(a, b Print) int { return cmp.Compare(a.Along, b.Along) })
		}
	}
	return all
}

// gaps are the strides of all feet.
type gaps struct {
	all    Interval // of single strides
	missed int      // prints missing between others
}

// offStride is how far a gap between two prints of a foot may be from a whole
// number of strides, as a share of one stride. One horse at one trot varies by
// 2 % (Drevemo 1980); a quarter is a slip of the tape or another trot.
const offStride = 0.25

// mostStrides is the most strides that a gap may hold: with more, a new pass
// began, or a number is in another unit.
const mostStrides = 4

// strides measures the gaps between following prints of each foot. A gap of two
// strides is a print nobody measured; one that is no whole number of strides is
// a fault with its place.
func (q *Question) strides(passes []pass) (gaps, error) {
	short, long := strideLimits(q.Size)
	type gap struct {
		m    float64
		a, b Print
	}
	var all []gap
	var faults fault.List
	for _, ps := range passes {
		for _, f := range feet() {
			for i := 1; i < len(ps[f]); i++ {
				a, b := ps[f][i-1], ps[f][i]
				all = append(all, gap{b.Along - a.Along, a, b})
				if m := b.Along - a.Along; m < short && len(faults) < 20 {
					faults = append(faults, &fault.Fault{Code: fault.Input, Rule: "prints-near", Place: q.place(b),
						Message: fmt.Sprintf("this print of %s is %s m from another of the same foot, at %s m", f, trim(m, 2), trim(a.Along, 2)),
						Hint:    fmt.Sprintf("following prints of one foot are a stride apart, %s m or more for a %s at a trot: is one of them another foot's, or of another pass? Or is this a smaller horse?", trim(short, 1), q.Size)})
				}
			}
		}
	}
	if len(faults) > 0 {
		return gaps{}, faults
	}
	if len(all) == 0 {
		return gaps{}, &fault.Fault{Code: fault.Input, Rule: "no-stride", Place: q.File, Message: "no foot has two prints: there is no stride to measure", Hint: "measure the prints of six strides or more"}
	}
	lengths := make([]float64, len(all))
	for i, g := range all {
		lengths[i] = g.m
	}
	base := baseStride(lengths)
	if base > long {
		hint := fmt.Sprintf("a stride of a %s at a trot is %s to %s m", q.Size, trim(short, 1), trim(long, 1))
		if base > 50 {
			hint += "; are these centimetres? Write metres"
		} else {
			hint += "; are prints missing, or are these feet? Write metres"
		}
		return gaps{}, &fault.Fault{Code: fault.Input, Rule: "stride-long", Place: q.place(all[0].b), Message: fmt.Sprintf("the strides are %s m long", trim(base, 2)), Hint: hint}
	}
	var g gaps
	var single []float64
	for _, x := range all {
		k := math.Round(x.m / base)
		if k < 1 || k > mostStrides || math.Abs(x.m/base-k) > offStride {
			if len(faults) < 20 {
				faults = append(faults, &fault.Fault{Code: fault.Input, Rule: "stride-odd", Place: q.place(x.b),
					Message: fmt.Sprintf("from the print of %s at %s m to this one at %s m it is %s m, where the strides of this strip are %s m", x.a.Foot, trim(x.a.Along, 2), trim(x.b.Along, 2), trim(x.m, 2), trim(base, 2)),
					Hint:    "read the tape again; is one of the two another foot's? Metres everywhere? If the horse changed its trot here, give each trot a file; if this is another pass, name it in the column pass"})
			}
			continue
		}
		if k == 1 {
			single = append(single, x.m)
		}
		g.missed += int(k) - 1
	}
	if len(faults) > 0 {
		return gaps{}, faults
	}
	g.all = MeanInterval(single, rounding)
	return g, nil
}

// baseStride is one stride, from gaps some of which hold two or three: the
// median, or, where gaps near half of it are a quarter or more, the median of
// those. gaps has one or more.
func baseStride(gaps []float64) float64 {
	base := median(gaps)
	var half []float64
	for _, g := range gaps {
		if g > 0.4*base && g < 0.6*base {
			half = append(half, g)
		}
	}
	if len(half)*4 >= len(gaps) && len(half) > 0 {
		return median(half)
	}
	return base
}

func median(xs []float64) float64 {
	s := slices.Sorted(slices.Values(xs))
	if n := len(s); n%2 == 0 {
		return (s[n/2-1] + s[n/2]) / 2
	}
	return s[len(s)/2]
}

// over are the over-tracks of each side, and the distances to the diagonal of
// those hind prints that have both, m.
type over struct {
	left, right        []float64
	both, diagonalBoth []float64
}

// overTracks reads every hind print against the fore print of its side nearest
// within half a stride, and against the diagonal fore print ahead within one.
func overTracks(passes []pass, stride float64) over {
	var o over
	for _, ps := range passes {
		for _, hind := range []Foot{LH, RH} {
			for _, h := range ps[hind] {
				best, found := 0.0, false
				for _, f := range ps[foreOf(hind)] {
					if d := h.Along - f.Along; math.Abs(d) <= stride/2 && (!found || math.Abs(d) < math.Abs(best)) {
						best, found = d, true
					}
				}
				if !found {
					continue
				}
				if hind == LH {
					o.left = append(o.left, best)
				} else {
					o.right = append(o.right, best)
				}
				for _, f := range ps[diagonalOf(hind)] {
					if d := f.Along - h.Along; d > 0 && d <= stride {
						o.both, o.diagonalBoth = append(o.both, best), append(o.diagonalBoth, d)
						break
					}
				}
			}
		}
	}
	return o
}

func (o over) all() []float64 { return slices.Concat(o.left, o.right) }

// finite is a pointer to cm of m, nil for an infinite bound.
func centi(m float64) *float64 {
	if math.IsInf(m, 0) {
		return nil
	}
	cm := 100 * m
	return &cm
}

func (a *Trot) overTrack(o over) {
	all := o.all()
	m := MeanInterval(all, rounding)
	a.OverTrack = OverTracked{Mean: 100 * m.Mean, Low: centi(m.Low), High: centi(m.High), SD: 100 * m.SD, N: m.N}
	for _, x := range all {
		if x > 0 {
			a.OverTrack.Ahead++
		}
	}
	low, high := Wilson(a.OverTrack.Ahead, m.N)
	a.OverTrack.ShareAhead = [2]float64{low, high}
	a.OverTrack.SignP = SignTest(max(a.OverTrack.Ahead, m.N-a.OverTrack.Ahead), m.N)
	side := func(xs []float64) (*Side, *float64) {
		if len(xs) == 0 {
			return nil, nil
		}
		i := MeanInterval(xs, rounding)
		return &Side{Mean: 100 * i.Mean, Low: centi(i.Low), High: centi(i.High), SD: 100 * i.SD, N: i.N}, centi(i.Mean)
	}
	a.Sides.Left, a.OverTrack.Left = side(o.left)
	a.Sides.Right, a.OverTrack.Right = side(o.right)
	if len(o.left) > 1 && len(o.right) > 1 {
		d := difference(MeanInterval(o.left, rounding), MeanInterval(o.right, rounding), rounding)
		a.Sides.Difference = &Gap{Mean: 100 * d.Mean, Low: 100 * d.Low, High: 100 * d.High, Found: d.Low > 0 || d.High < 0}
	}
}

// class is the trot that an interval of over-track lies wholly in, "" for none.
// All in m.
func class(low, high, tolerance float64) string {
	switch {
	case high < -tolerance:
		return Slow
	case low > tolerance:
		return Strong
	case low >= -tolerance && high <= tolerance:
		return Working
	}
	return ""
}

// judge names the trot, or says how many more strides would.
func (a *Trot) judge(tolerance float64, o over) {
	m := MeanInterval(o.all(), rounding)
	a.Trot = CannotTell
	c := class(m.Low, m.High, tolerance)
	if c != "" && m.N >= fewest {
		l, r := MeanInterval(o.left, rounding), MeanInterval(o.right, rounding)
		cl, cr := class(l.Low, l.High, tolerance), class(r.Low, r.High, tolerance)
		if l.N > 1 && r.N > 1 && (cl == Slow && cr == Strong || cl == Strong && cr == Slow) {
			a.Says = "Cannot tell: one side falls short of the fore print and the other beyond it, and their mean is no trot of either."
			return
		}
		a.Trot = c
		a.Says = fmt.Sprintf("%s trot: the hind prints fall %s the fore prints, on the mean %s, and the 95 %% interval %s lies wholly %s.", capital(c), placeOf(c), signed(m.Mean), spanCM(m), bandWords(c, tolerance))
		return
	}
	a.MoreStridesWanted = wanted(m, tolerance)
	between := "near the edge of a print"
	switch {
	case m.N == 1:
		between = "one stride is no trot"
	case c != "":
		between = fmt.Sprintf("it looks like %s, from %d readings; at least %d are asked", c, m.N, fewest)
	case m.Low < -tolerance && m.High > tolerance:
		between = "the readings are too few or too far apart"
	case m.Low < -tolerance:
		between = "between slow and working"
	case m.High > tolerance:
		between = "between working and strong"
	}
	a.Says = fmt.Sprintf("Cannot tell yet: %s. On the mean the hind prints fall %s, in the print is within ± %s cm", between, signed(m.Mean), trim(100*tolerance, 1))
	if m.N > 1 {
		a.Says += fmt.Sprintf(", and the 95 %% interval is %s", spanCM(m))
	}
	if a.MoreStridesWanted >= mostWanted {
		a.Says += fmt.Sprintf(". It is so near an edge that %d more strides would hardly tell: call it between the two.", mostWanted)
	} else {
		a.Says += fmt.Sprintf(". About %d more %s, each with both sides, would tell.", a.MoreStridesWanted, plural(a.MoreStridesWanted, "stride", "strides"))
	}
}

// wanted is how many more strides, each with a reading on both sides, would take
// the edge of the print out of the interval if mean and spread stay what they
// are; at most mostWanted.
func wanted(m Interval, tolerance float64) int {
	sd := max(m.SD, rounding)
	if m.N < 2 {
		sd = max(sd, 0.03) // nothing is known of the spread: 3 cm (estimate)
	}
	room := math.Abs(math.Abs(m.Mean) - tolerance)
	return 1 + sort.Search(mostWanted-1, func(i int) bool { // t/√n falls with n
		n := m.N + 2*(1+i)
		return n >= fewest && tFactor(n)*sd < room
	})
}

func (a *Trot) identity(o over, stride float64) {
	if len(o.both) == 0 {
		return
	}
	d := MeanInterval(o.diagonalBoth, 0).Mean
	gap := 100 * (MeanInterval(o.both, 0).Mean - OverTrack(stride, d))
	a.DiagonalM, a.IdentityGapCM = &d, &gap
}

// timed adds speed, frequency and Froude number.
func (a *Trot) timed(q Question, passes []pass, leg float64) error {
	if q.Seconds == 0 {
		return nil
	}
	metres := q.Metres
	if metres == 0 {
		if len(passes) > 1 {
			return &fault.Fault{Code: fault.Usage, Rule: "metres", Place: "metres", Message: fmt.Sprintf("there are %d passes, and it is not said which was timed over what", len(passes)), Hint: "give the metres that were timed, with the mean time"}
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, f := range feet() {
			for _, p := range passes[0][f] {
				lo, hi = min(lo, p.Along), max(hi, p.Along)
			}
		}
		metres = hi - lo
	}
	v := metres / q.Seconds
	if v > 20 || v < 0.2 {
		return &fault.Fault{Code: fault.Usage, Rule: "seconds", Place: "seconds", Message: fmt.Sprintf("%s m in %s s is %s m/s", trim(metres, 2), trim(q.Seconds, 2), trim(v, 2)), Hint: "a trot is 1.5 to 13 m/s: check the seconds and the metres timed"}
	}
	hz, fr := Moved{v, a.Stride.Mean}.StrideHz(), Froude(v, leg)
	a.SpeedMPS, a.StrideHz, a.Froude = &v, &hz, &fr
	a.SpeedRangeMPS = []float64{metres / (q.Seconds + handTiming), metres / max(q.Seconds-handTiming, q.Seconds/2)}
	return nil
}

// remarks are what a reader must know beside the figures.
func (a *Trot) remarks(q Question, o over, passes []pass) {
	say := func(format string, args ...any) { a.Notes = append(a.Notes, fmt.Sprintf(format, args...)) }
	if len(o.left) == 0 || len(o.right) == 0 {
		side := "left"
		if len(o.left) == 0 {
			side = "right"
		}
		say("Only the %s side was read; the other may differ.", side)
	}
	if d := a.Sides.Difference; d != nil && d.Found {
		more := "left"
		if d.Mean < 0 {
			more = "right"
		}
		say("The %s hind foot comes %s cm further over its fore print than the other (95 %% interval %s to %s cm, left less right). This is a measurement, no more: if it comes again, let somebody who knows the horse look.", more, trim(math.Abs(d.Mean), 1), trim(d.Low, 1), trim(d.High, 1))
	}
	if a.Missed > 0 {
		say("%d %s not measured between others; strides over the gap are left out.", a.Missed, plural(a.Missed, "print was", "prints were"))
	}
	if all := o.all(); math.Abs(MeanInterval(all, 0).Mean) > 0.35*a.Stride.Mean {
		say("The hind prints are a third of a stride or more from the fore prints of their side: are left and right mixed up, or is this no trot?")
	}
	if gap := a.IdentityGapCM; gap != nil && math.Abs(*gap) > 5 {
		say("Over-track misses half the stride less the diagonal by %s cm: a print is misread, or the fore steps are uneven.", trim(*gap, 1))
	}
	if a.Stride.N > 1 && a.Stride.SD/a.Stride.Mean > 0.06 {
		say("The strides vary by %s %%; one horse at one trot varies by about 2 %% (Drevemo 1980): was the trot steady?", trim(100*a.Stride.SD/a.Stride.Mean, 0))
	}
	for _, odd := range oddPrints(passes, a.Stride.Mean) {
		say("Look again at %s: it is %s cm from where the other prints of this foot would have it.", q.place(odd.Print), trim(100*odd.off, 0))
	}
	if s := a.Straight; s != nil && s.QuartersCM != nil && math.Abs(*s.QuartersCM) > 5 {
		side := "right"
		if *s.QuartersCM < 0 {
			side = "left"
		}
		say("The hind feet run %s cm to the %s of the fore feet: not straight.", trim(math.Abs(*s.QuartersCM), 0), side)
	}
	if a.Froude != nil && *a.Froude < TransitionFroude {
		say("This is slower than where horses change to a walk (Froude number 0.35, Griffin 2004): was it a trot?")
	}
	say("In the print is within ± %s cm (half a print, estimate). That the hind foot is in the fore print in a working trot is one breed rulebook's; short for slow and beyond for strong are common practice. How published collected, working, medium and extended trots map to these is an estimate.", trim(a.ToleranceCM, 1))
}

// odd is a print that stands apart from its foot's others.
type odd struct {
	Print
	off float64 // m
}

// oddPrints finds prints further than 15 cm, and than five times the usual
// scatter, from an even row of their foot's prints: place = start + k·stride,
// both fitted by least squares over the prints of the pass (k counted by
// rounding, so that missed prints do no harm). The limits are an estimate: a
// slip of the tape is a decimetre or more.
func oddPrints(passes []pass, stride float64) []odd {
	var found []odd
	for _, ps := range passes {
		for _, f := range feet() {
			row := ps[f]
			if len(row) < 5 {
				continue
			}
			var off []float64
			for i := range row { // each against the even spacing of its neighbours
				lo, hi := max(i-1, 0), min(i+1, len(row)-1)
				if i == 0 || i == len(row)-1 {
					off = append(off, 0)
					continue
				}
				kl, kh := math.Round((row[i].Along-row[lo].Along)/stride), math.Round((row[hi].Along-row[i].Along)/stride)
				want := row[lo].Along + (row[hi].Along-row[lo].Along)*kl/(kl+kh)
				off = append(off, row[i].Along-want)
			}
			size := make([]float64, len(off))
			for i := range off {
				size[i] = math.Abs(off[i])
			}
			usual := median(size[1 : len(size)-1])
			worst := slices.Index(size, slices.Max(size))
			if size[worst] > 0.15 && size[worst] > 5*usual {
				found = append(found, odd{row[worst], size[worst]})
			}
		}
	}
	return found
}

// straightness fits one slope to the across of all prints, each foot of each
// pass with its own offset, by least squares. nil where fewer than two prints of
// any foot have an across.
func straightness(passes []pass) *Straight {
	var sxx, sxy, syy float64
	n, rows := 0, 0
	type mean struct{ x, y float64 }
	means := make([]map[Foot]mean, len(passes))
	for i, ps := range passes {
		means[i] = map[Foot]mean{}
		for _, f := range feet() {
			var m mean
			k := 0.0
			for _, p := range ps[f] {
				if p.HasAcross {
					m.x, m.y, k = m.x+p.Along, m.y+p.Across, k+1
				}
			}
			if k == 0 {
				continue
			}
			m.x, m.y = m.x/k, m.y/k
			means[i][f] = m
			rows++
			for _, p := range ps[f] {
				if p.HasAcross {
					sxx += square(p.Along - m.x)
					sxy += (p.Along - m.x) * (p.Across - m.y)
					syy += square(p.Across - m.y)
					n++
				}
			}
		}
	}
	if sxx == 0 {
		return nil
	}
	slope := sxy / sxx
	s := &Straight{DriftDeg: math.Atan(slope) * 180 / math.Pi}
	if df := n - rows - 1; df > 0 {
		s.WanderCM = 100 * math.Sqrt(max(0, syy-slope*sxy)/float64(df))
	}
	var quarters []float64
	for _, m := range means {
		if len(m) == 4 {
			at := func(f Foot) float64 { return m[f].y - slope*m[f].x }
			quarters = append(quarters, (at(LH)+at(RH)-at(LF)-at(RF))/2)
		}
	}
	if len(quarters) > 0 {
		q := 100 * MeanInterval(quarters, 0).Mean
		s.QuartersCM = &q
	}
	return s
}

// The words and roundings of what is said to a person.

func trim(x float64, digits int) string {
	s := strconv.FormatFloat(x, 'f', digits, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

func signed(m float64) string {
	switch cm := trim(math.Abs(100*m), 1); {
	case cm == "0":
		return "in line with the fore"
	case m < 0:
		return cm + " cm short"
	default:
		return cm + " cm beyond"
	}
}

func spanCM(m Interval) string { return trim(100*m.Low, 1) + " to " + trim(100*m.High, 1) + " cm" }

func placeOf(class string) string {
	switch class {
	case Slow:
		return "short of"
	case Strong:
		return "beyond"
	}
	return "in"
}

func bandWords(class string, tolerance float64) string {
	t := trim(100*tolerance, 1)
	switch class {
	case Slow:
		return "below −" + t + " cm"
	case Strong:
		return "above " + t + " cm"
	}
	return "within ± " + t + " cm"
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
