package gait

import (
	"fmt"
	"math"
	"slices"

	"terret/internal/turnout"
)

// How a log is taken apart
//
//  1. Where more than a quarter of a second is missing the log is cut; each
//     piece is brought to an even 50 samples a second by straight lines, its mean
//     over a second and a half is taken off, which removes gravity and drift, and
//     it is smoothed over five samples, which leaves 94 % of a horse's trot and a
//     quarter of the power of white noise.
//  2. A piece is looked at in windows of 4 s. The mean acceleration of a window
//     is the vertical, whichever way up the phone lies. (A log without gravity
//     has none: then the axis of greatest motion is taken.)
//  3. The beat is the first great peak of the autocorrelation of the vertical.
//  4. A gait is named by three features, as a naive Bayes classifier does: how
//     quick the beat is for the size, how hard (rms of the vertical), and
//     whether sideways motion changes its sign from beat to beat, as it does
//     where left and right alternate (walk, trot) and does not in a canter.
//     The means and spreads of the features are in likes, below.
//  5. The stride is timed over up to 12 s of one gait: first by the period whose
//     multiples stand highest in the autocorrelation, then by following the phase
//     of the beat from stride to stride. (A spectrum of N seconds resolves 1/N Hz,
//     which does not part 1.28 from 1.39 Hz in less than ten.)
//
// Classifiers of this kind were right in 86 to 94 % of windows on real horses
// (Kamminga 2019: 90 %; Animals 2025, 15(8):1080: 86 to 90 % with windows of 4 s
// at 25 Hz; Animals 2023, 13(1):183: 94 %). This one has been tried on made
// signals alone, where it does better; expect those figures in a field. The
// means and spreads were set with made signals in view. Known to fail: a canter
// whose vertical stays under about 2 m/s² rms (a phone deep in a cushion) reads
// as a walk, for the beats are alike; a walk of under half that in noise of its
// own size may read as a halt; a small animal read as a horse may change gaits.

// The gaits, a horse that stands, and a window that could be either.
const (
	Halt   = "halt"
	Walk   = "walk"
	TrotG  = "trot"
	Canter = "canter"
	Unsure = "unsure"
)

const (
	gridHz   = 50.0 // samples a second of the even grid
	window   = 4.0  // s
	shortest = 2.0  // of a window, s
	stretch  = 12.0 // of one gait that a stride is timed over, s
	level    = 1.52 // moving mean that is taken off, s: 76 samples
	cut      = 0.25 // missing time that cuts the log, s
)

// Signal is what a motion log says.
type Signal struct {
	Windows []Window `json:"windows"`
	Runs    []Run    `json:"runs"`    // following windows of one gait, put together
	Changes []Change `json:"changes"` // where the gait changed
	// Evenness is how alike the two halves of the trot stride are, 1 for no
	// difference: autocorrelation of the vertical at half a stride over that at a
	// whole one (as Moe-Nilssen & Helbostad 2004 do for people; from memory), the
	// median over the trot. Null without a trot. A log cannot tell left from right.
	Evenness *float64 `json:"evenness"`
	// HalfStridesS are the mean times of the shorter and the longer half of the
	// trot stride, s; null without a trot.
	HalfStridesS []float64 `json:"half_strides_s"`
	DroppedS     float64   `json:"dropped_s"` // time without samples, s
	RateHz       float64   `json:"rate_hz"`
	Size         string    `json:"size"`
	Trot         string    `json:"trot"` // always cannot tell: the beat does not tell slow, working and strong
	Says         string    `json:"says"`
}

// Window is some seconds of the log, by its own clock.
type Window struct {
	FromS    float64  `json:"from_s"`
	ToS      float64  `json:"to_s"`
	Gait     string   `json:"gait"`
	StrideHz *float64 `json:"stride_hz"` // null at a halt and where unsure
}

// Run is a stretch of one gait without a break.
type Run struct {
	Window
	Strides float64 `json:"strides"` // how many, about
	Beats   int     `json:"beats"`   // two a stride at walk and trot, one at canter
}

// Change is where one gait follows another, s, to within a window.
type Change struct {
	AtS  float64 `json:"at_s"`
	From string  `json:"from"`
	To   string  `json:"to"`
}

// Analyse says which gaits a log holds. size is turnout.VSE, Pony or HorseSize;
// "" is a horse: smaller animals step quicker, by the root of the leg.
func Analyse(m *Motion, size string) *Signal {
	if size == "" {
		size = turnout.HorseSize
	}
	s := &Signal{Windows: []Window{}, Runs: []Run{}, Changes: []Change{}, Size: size, Trot: CannotTell}
	step := m.step()
	s.RateHz = 1 / step
	for i := 1; i < len(m.T); i++ {
		if dt := m.T[i] - m.T[i-1]; dt > 1.5*step {
			s.DroppedS += dt - step
		}
	}
	quick := math.Sqrt(LegOf(turnout.HorseSize) / LegOf(size))
	var even []float64
	var halves [2]halfSum
	for _, p := range pieces(m, step) {
		looks := p.looks(quick)
		for a := 0; a < len(looks); {
			b := a + 1
			for b < len(looks) && looks[b].gait == looks[a].gait {
				b++
			}
			run := looks[a:b]
			p.time(run)
			if run[0].gait == TrotG {
				for _, l := range run {
					even = append(even, l.even)
				}
				p.halves(run, &halves)
			}
			s.add(p, run)
			a = b
		}
	}
	if len(even) > 0 {
		e := median(even)
		s.Evenness = &e
	}
	if halves[0].n > 0 && halves[1].n > 0 {
		s.HalfStridesS = []float64{halves[0].sum / halves[0].n, halves[1].sum / halves[1].n}
	}
	s.changes()
	s.say()
	return s
}

// add puts a run of windows into the answer.
func (s *Signal) add(p *piece, run []look) {
	r := Run{Window: Window{FromS: p.at(run[0].a), ToS: p.at(run[len(run)-1].b), Gait: run[0].gait}}
	hz, timed := 0.0, 0.0
	for _, l := range run {
		w := Window{FromS: p.at(l.a), ToS: p.at(l.b), Gait: l.gait}
		if l.hz > 0 {
			f := l.hz
			w.StrideHz = &f
			hz, timed = hz+f*(w.ToS-w.FromS), timed+w.ToS-w.FromS
		}
		s.Windows = append(s.Windows, w)
	}
	if timed > 0 {
		mean := hz / timed
		r.StrideHz, r.Strides = &mean, hz
		beats := 2.0
		if r.Gait == Canter {
			beats = 1
		}
		r.Beats = int(math.Round(beats * hz))
	}
	s.Runs = append(s.Runs, r)
}

// changes are between windows of known gait that follow one another.
func (s *Signal) changes() {
	last := -1
	for i, w := range s.Windows {
		if w.Gait == Unsure {
			continue
		}
		if last >= 0 && s.Windows[last].Gait != w.Gait {
			s.Changes = append(s.Changes, Change{AtS: (s.Windows[last].ToS + w.FromS) / 2, From: s.Windows[last].Gait, To: w.Gait})
		}
		last = i
	}
}

func (s *Signal) say() {
	seconds := map[string]float64{}
	for _, w := range s.Windows {
		seconds[w.Gait] += w.ToS - w.FromS
	}
	text := ""
	for _, g := range []string{Halt, Walk, TrotG, Canter, Unsure} {
		if seconds[g] > 0 {
			if text != "" {
				text += ", "
			}
			text += fmt.Sprintf("%s %s s", g, trim(seconds[g], 0))
		}
	}
	s.Says = capital(text) + ". From the beat alone nobody can tell slow, working and strong: strides a second move 8 % from the collected trot to the extended (Clayton 1994), and 2 % from one stride to the next."
}

// piece is a stretch of the log without a long gap, evenly sampled.
type piece struct {
	from float64      // log time of the first sample, s
	raw  [][3]float64 // m/s²
	flat [][3]float64 // without gravity and drift
}

// at is the log time of sample i.
func (p *piece) at(i int) float64 { return p.from + float64(i)/gridHz }

// pieces cuts the log where samples are missing and brings each piece to the
// even grid. Pieces under half a second are left out.
func pieces(m *Motion, step float64) []*piece {
	var out []*piece
	gap := max(cut, 4*step)
	for a := 0; a < len(m.T); {
		b := a + 1
		for b < len(m.T) && m.T[b]-m.T[b-1] <= gap {
			b++
		}
		if m.T[b-1]-m.T[a] >= 0.5 {
			out = append(out, newPiece(m.T[a:b], m.A[a:b]))
		}
		a = b
	}
	return out
}

func newPiece(t []float64, a [][3]float64) *piece {
	n := int((t[len(t)-1]-t[0])*gridHz) + 1
	p := &piece{from: t[0], raw: make([][3]float64, n), flat: make([][3]float64, n)}
	j := 0
	sum := make([][3]float64, n+1)
	for i := range n {
		at := p.at(i)
		for j < len(t)-2 && t[j+1] < at {
			j++
		}
		w := min(1, max(0, (at-t[j])/(t[j+1]-t[j])))
		for c := range 3 {
			p.raw[i][c] = (1-w)*a[j][c] + w*a[j+1][c]
			sum[i+1][c] = sum[i][c] + p.raw[i][c]
		}
	}
	half := int(level * gridHz / 2)
	rough := make([][3]float64, n)
	for i := range n {
		lo, hi := max(0, i-half), min(n, i+half+1)
		for c := range 3 {
			rough[i][c] = p.raw[i][c] - (sum[hi][c]-sum[lo][c])/float64(hi-lo)
		}
	}
	smooth := [5]float64{1.0 / 16, 4.0 / 16, 6.0 / 16, 4.0 / 16, 1.0 / 16} // binomial
	for i := range n {
		for k, w := range smooth {
			x := rough[min(n-1, max(0, i+k-2))]
			for c := range 3 {
				p.flat[i][c] += w * x[c]
			}
		}
	}
	return p
}

// look is one window of a piece: samples a up to b.
type look struct {
	a, b  int
	gait  string
	up    [3]float64 // the vertical
	beat  float64    // period of the vertical, samples
	beats float64    // of the vertical in a stride
	hz    float64    // strides a second; 0 where there are none
	even  float64    // of a trot
}

// looks cuts a piece into windows of 4 s, the last 2 to 6 s, and names the gait
// of each.
func (p *piece) looks(quick float64) []look {
	const size, least = int(window * gridHz), int(shortest * gridHz)
	n := len(p.flat)
	var out []look
	for a := 0; a < n; {
		b := min(a+size, n)
		if n-b < least {
			b = n
		}
		l := look{a: a, b: b, gait: Unsure}
		if b-a >= least {
			p.classify(&l, quick)
		}
		out = append(out, l)
		a = b
	}
	return out
}

// vertical is the direction of gravity in a window; without gravity, the axis
// of greatest motion.
func (p *piece) vertical(a, b int) [3]float64 {
	var g [3]float64
	for _, x := range p.raw[a:b] {
		for c := range 3 {
			g[c] += x[c] / float64(b-a)
		}
	}
	if l := length(g); l > 4 { // m/s²: half of gravity and no mere drift
		return [3]float64{g[0] / l, g[1] / l, g[2] / l}
	}
	var cov [3][3]float64
	for _, x := range p.flat[a:b] {
		for i := range 3 {
			for j := range 3 {
				cov[i][j] += x[i] * x[j]
			}
		}
	}
	v := [3]float64{1, 1, 1}
	for range 50 { // power iteration
		w := [3]float64{dot(cov[0], v), dot(cov[1], v), dot(cov[2], v)}
		l := length(w)
		if l == 0 {
			break
		}
		v = [3]float64{w[0] / l, w[1] / l, w[2] / l}
	}
	return v
}

// likes are what the features of a gait are like: the beat of the vertical as a
// horse's, 1/s, and the rms of the vertical, m/s², both log-normal. Beats follow
// published strides (walk 0.73 to 0.94, trot 1.13 to 1.57, canter 1.53 to 2.06
// a second); the rms values and all spreads are estimates: a trot's springs have
// a moment of free fall, a walk's never.
type likes struct {
	gait         string
	beats        float64 // of the vertical in a stride
	hz, hzSpread float64
	rms, spread  float64
	prior        float64
}

func gaitLikes() []likes {
	return []likes{
		{Walk, 2, 1.75, 0.13, 1.1, 0.5, 0},
		{Walk, 4, 3.5, 0.13, 1.1, 0.5, -1}, // all four feet felt alike
		{Walk, 1, 0.87, 0.13, 1.1, 0.5, -1},
		{TrotG, 2, 2.7, 0.13, 4.5, 0.6, 0},
		{Canter, 1, 1.75, 0.13, 3.1, 0.5, 0},
	}
}

const (
	// periodic is the least share of the vertical's power that repeats where there
	// is a gait at all, and still the most rms that a horse at a halt moves with,
	// m/s² (estimates).
	periodic = 0.3
	still    = 1.5
	// asleep is an rms of the vertical below any walk, m/s² (estimate); where the
	// beat stands out clearly, half of it is.
	asleep = 0.45
	// surer is by how much, in natural logarithms of odds, the best gait must
	// beat the next.
	surer = 0.25
	// firstPeak is the share of the greatest peak that the first one must have to
	// be the beat.
	firstPeak = 0.6
)

// classify names the gait of a window.
func (p *piece) classify(l *look, quick float64) {
	l.up = p.vertical(l.a, l.b)
	most := min(int(1.8*gridHz), (l.b-l.a)*3/5)
	v, h := p.covariances(l, most)
	beat := firstBeat(v)
	total := math.Sqrt(v[0] + h[0])
	again := beat // a beat repeats, chance does not
	if 2*beat < float64(most) {
		again = 2 * beat
	}
	if beat == 0 || (at(v, beat)+at(v, again))/2 < periodic*v[0] {
		if total < still {
			l.gait = Halt
		}
		return
	}
	power := at(v, beat)
	rms := math.Sqrt(power)
	if rms < asleep/2 || rms < asleep && at(v, beat) < 2*periodic*v[0] {
		l.gait = Halt
		return
	}
	alternates, same := 0.0, 0.0
	if 2*beat < float64(most) {
		one, two := at(h, beat), at(h, 2*beat)
		scale := math.Abs(one) + math.Abs(two) + 0.1*power
		alternates, same = (two-one)/scale, 2*max(0, min(one, two))/scale
	}
	hz := gridHz / beat / quick
	best, next := math.Inf(-1), math.Inf(-1)
	for _, k := range gaitLikes() {
		score := k.prior - square(math.Log(hz/k.hz)/k.hzSpread)/2 - square(math.Log(rms/k.rms)/k.spread)/2
		if k.gait == Canter {
			score += same
		} else if k.beats == 2 {
			score += 3 * alternates
		}
		switch {
		case score > best:
			if k.gait != l.gait {
				next = best
			}
			best, l.gait, l.beats = score, k.gait, k.beats
		case k.gait != l.gait && score > next:
			next = score
		}
	}
	l.beat = beat
	if best-next < surer || best < -12 {
		l.gait = Unsure
	}
}

// covariances are the autocovariances of a window at lags 0 to most: of the
// vertical, and of the two other axes together.
func (p *piece) covariances(l *look, most int) (v, h []float64) {
	n := l.b - l.a
	x := p.flat[l.a:l.b]
	up := make([]float64, n)
	for i := range x {
		up[i] = dot(x[i], l.up)
	}
	v, h = make([]float64, most+1), make([]float64, most+1)
	for k := range v {
		var sv, st float64
		for i := range n - k {
			sv += up[i] * up[i+k]
			st += x[i][0]*x[i+k][0] + x[i][1]*x[i+k][1] + x[i][2]*x[i+k][2]
		}
		v[k], h[k] = sv/float64(n-k), (st-sv)/float64(n-k)
	}
	return v, h
}

// firstBeat is the lag, in samples and parts of one, of the first peak of an
// autocovariance that is nearly as high as the highest; 0 when there is none.
func firstBeat(c []float64) float64 {
	const least = 7 // samples: 7 beats a second, more than any trot
	highest := 0.0
	for k := least; k < len(c)-1; k++ {
		if c[k] > c[k-1] && c[k] >= c[k+1] {
			highest = max(highest, c[k])
		}
	}
	if highest <= 0 {
		return 0
	}
	for k := least; k < len(c)-1; k++ {
		if c[k] > c[k-1] && c[k] >= c[k+1] && c[k] >= firstPeak*highest {
			return float64(k) + vertex(c[k-1], c[k], c[k+1])
		}
	}
	return 0
}

// vertex is where the parabola through three even samples about a peak has its
// top, in samples from the middle one.
func vertex(a, b, c float64) float64 {
	if d := a - 2*b + c; d < 0 {
		return min(0.5, max(-0.5, 0.5*(a-c)/d))
	}
	return 0
}

// at is c at a lag between samples.
func at(c []float64, lag float64) float64 {
	i := min(int(lag), len(c)-2)
	w := lag - float64(i)
	return (1-w)*c[i] + w*c[i+1]
}

// time measures the stride of every window of a run of one gait, over up to
// 12 s of the run about it.
func (p *piece) time(run []look) {
	if g := run[0].gait; g == Halt || g == Unsure {
		return
	}
	strides, beats := make([]float64, len(run)), make([]float64, len(run))
	for i, l := range run {
		strides[i], beats[i] = l.beat*l.beats, l.beats
	}
	slices.Sort(beats)
	usual, beat := median(strides), beats[len(beats)/2]
	first, last := run[0].a, run[len(run)-1].b
	for i := range run {
		l := &run[i]
		mid := (l.a + l.b) / 2
		const half = int(stretch * gridHz / 2)
		b := min(last, max(first, mid-half)+2*half)
		a := max(first, b-2*half)
		period := p.comb(a, b, usual)
		period = p.counted(a, b, l.up, period, beat)
		l.hz = gridHz / period
		if l.gait == TrotG {
			one := p.covariance(a, b, l.up, period)
			l.even = min(1, max(0, p.covariance(a, b, l.up, period/2)/one))
			if one <= 0 {
				l.even = 0
			}
		}
	}
}

// comb is the period, samples, whose multiples stand highest in the
// autocovariance of all three axes from a to b, within a tenth of a guess. All
// multiples together are surer than any one of them in noise, and as fine as the
// farthest.
func (p *piece) comb(a, b int, guess float64) float64 {
	const reach = 0.1
	x := p.flat[a:b]
	teeth := max(1, min(8, int(0.6*float64(len(x))/guess)))
	last := min(len(x)-2, int(float64(teeth)*guess*(1+reach))+2)
	c := make([]float64, last+1)
	for m := 1; m <= teeth; m++ {
		lo, hi := int(float64(m)*guess*(1-reach))-1, min(last, int(float64(m)*guess*(1+reach))+2)
		for k := max(1, lo); k <= hi; k++ {
			if c[k] != 0 {
				continue // the ranges of far teeth overlap
			}
			for i := range len(x) - k {
				c[k] += x[i][0]*x[i+k][0] + x[i][1]*x[i+k][1] + x[i][2]*x[i+k][2]
			}
			c[k] /= float64(len(x) - k)
		}
	}
	best, highest := guess, math.Inf(-1)
	step := 0.25 / float64(teeth) // a quarter of a sample at the farthest tooth
	for t := guess * (1 - reach); t <= guess*(1+reach); t += step {
		sum := 0.0
		for m := 1; m <= teeth; m++ {
			if lag := float64(m) * t; lag < float64(last) {
				sum += at(c, lag)
			}
		}
		if sum > highest {
			best, highest = t, sum
		}
	}
	return best
}

// counted is the period, samples, when the beats from a to b are counted with
// their parts: the phase of the beat in the first stride and in every stride
// after it. Unlike a peak it weighs every stride alike, so that strides of
// uneven length give their mean.
func (p *piece) counted(a, b int, up [3]float64, period, beats float64) float64 {
	n := int(math.Round(period))
	w := 2 * math.Pi * beats / period
	phase := func(from int) float64 {
		var re, im float64
		for i := from; i < from+n; i++ {
			v := dot(p.flat[i], up)
			sin, cos := math.Sincos(w * float64(i))
			re, im = re+v*cos, im-v*sin
		}
		return math.Atan2(im, re)
	}
	first, last, turned := a, a, 0.0
	before := phase(a)
	for k := 1; ; k++ {
		at := a + int(math.Round(float64(k)*period))
		if at+n > b {
			break
		}
		now := phase(at)
		turned += math.Remainder(now-before, 2*math.Pi)
		before, last = now, at
	}
	if last == first {
		return period
	}
	cycles := w*float64(last-first) + turned
	if counted := 2 * math.Pi * beats * float64(last-first) / cycles; math.Abs(counted/period-1) < 0.1 {
		return counted
	}
	return period // the beat was lost between two strides
}

// covariance is the vertical's autocovariance at a lag between samples.
func (p *piece) covariance(a, b int, up [3]float64, lag float64) float64 {
	k := int(lag)
	w := lag - float64(k)
	var lo, hi float64
	n := b - a - k - 1
	if n < 1 {
		return 0
	}
	x := p.flat[a:b]
	for i := range n {
		v := dot(x[i], up)
		lo += v * dot(x[i+k], up)
		hi += v * dot(x[i+k+1], up)
	}
	return ((1-w)*lo + w*hi) / float64(n)
}

// halfSum adds up the times of one half of the stride.
type halfSum struct{ sum, n float64 }

// halves times beat after beat through a run of trot and adds the two halves of
// the stride, the run's shorter to the first. A beat that is not found keeps the
// count of left and right: the next is counted on by time.
func (p *piece) halves(run []look, to *[2]halfSum) {
	var up []float64
	for _, l := range run {
		for _, x := range p.flat[l.a:l.b] {
			up = append(up, dot(x, l.up))
		}
	}
	step := gridHz / run[len(run)/2].hz / 2
	smooth := movingMean(up, max(1, int(step/4)))
	var beats []float64
	for i := 1; i < len(smooth)-1; i++ {
		if smooth[i] <= 0 || smooth[i] < smooth[i-1] || smooth[i] <= smooth[i+1] {
			continue
		}
		t := float64(i) + vertex(smooth[i-1], smooth[i], smooth[i+1])
		if n := len(beats); n > 0 && t-beats[n-1] < 0.6*step {
			if smooth[i] > smooth[int(beats[n-1]+0.5)] {
				beats[n-1] = t
			}
			continue
		}
		beats = append(beats, t)
	}
	var mine [2]halfSum
	count := 0
	for i := 1; i < len(beats); i++ {
		d := beats[i] - beats[i-1]
		k := int(math.Round(d / step))
		if k == 1 {
			mine[count%2].sum += d / gridHz
			mine[count%2].n++
		}
		count += k
	}
	if mine[0].n == 0 || mine[1].n == 0 {
		return
	}
	if mine[0].sum/mine[0].n > mine[1].sum/mine[1].n {
		mine[0], mine[1] = mine[1], mine[0]
	}
	for i := range to {
		to[i].sum += mine[i].sum
		to[i].n += mine[i].n
	}
}

// movingMean is the mean of x over half samples to either side.
func movingMean(x []float64, half int) []float64 {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	out := make([]float64, len(x))
	for i := range x {
		lo, hi := max(0, i-half), min(len(x), i+half+1)
		out[i] = (sum[hi] - sum[lo]) / float64(hi-lo)
	}
	return out
}
