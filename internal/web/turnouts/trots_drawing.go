package turnouts

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"terret/internal/gait"
	"terret/internal/turnout"
)

// The drawings of the trots are of numbers alone: nothing that was typed as text
// goes into them but through template.HTMLEscapeString.

// stripDrawing shows the prints as they lie on the strip, the way of travel to the
// right, the left side above: fore prints open, hind prints filled. One pass a row.
func stripDrawing(prints []gait.Print, half float64) template.HTML {
	const (
		perM = 92.0 // px
		row  = 128.0
		edge = 40.0
	)
	var passes []string
	lo, hi := map[string]float64{}, map[string]float64{}
	longest := 0.0
	for _, p := range prints {
		if !slices.Contains(passes, p.Pass) {
			passes = append(passes, p.Pass)
			lo[p.Pass], hi[p.Pass] = math.Inf(1), math.Inf(-1)
		}
		lo[p.Pass], hi[p.Pass] = min(lo[p.Pass], p.Along), max(hi[p.Pass], p.Along)
		longest = max(longest, hi[p.Pass]-lo[p.Pass])
	}
	if longest > 100 {
		return "" // a strip longer than any: the table says more
	}
	w, h := 2*edge+(longest+1)*perM, 30+row*float64(len(passes))
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="strip" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" role="img" aria-label="The prints on the strip, the way of travel to the right, left feet above"><text x="%.0f" y="18">left above, right below; they go to the right →</text>`, w, h, w, h, edge)
	for i, name := range passes {
		y := 30 + row*(float64(i)+0.5)
		from := math.Floor(lo[name])
		x := func(m float64) float64 { return edge + (m-from)*perM }
		fmt.Fprintf(&b, `<path class="tape" d="M%.1f %.1f H%.1f"/>`, x(from), y, x(math.Ceil(hi[name])))
		for m := from; m <= math.Ceil(hi[name]); m++ {
			fmt.Fprintf(&b, `<path class="tape" d="M%.1f %.1f v10"/><text class="metre" x="%.1f" y="%.1f">%.0f</text>`, x(m), y-5, x(m), y+20, m)
		}
		if name != "" {
			fmt.Fprintf(&b, `<text x="4" y="%.1f">%s</text>`, y-40, template.HTMLEscapeString(name))
		}
		for _, p := range prints {
			if p.Pass != name {
				continue
			}
			py, hind := y-34, p.Foot == gait.LH || p.Foot == gait.RH
			if p.Foot == gait.RF || p.Foot == gait.RH {
				py = y + 40
			}
			if hind { // a little outside, so that neither hides the other
				py += map[bool]float64{true: -6, false: 6}[py < y]
			}
			long := 2 * half * perM
			class, wide := "fore", 0.46*long
			if hind {
				class, wide = "hind", 0.38*long
			}
			toe := x(p.Along)
			heel := toe - long
			d := fmt.Sprintf("M%.1f %.1f C%.1f %.1f %.1f %.1f %.1f %.1f C%.1f %.1f %.1f %.1f %.1f %.1f", heel, py-0.62*wide, heel+long/4, py-1.25*wide, toe, py-1.15*wide, toe, py, toe, py+1.15*wide, heel+long/4, py+1.25*wide, heel, py+0.62*wide)
			if hind {
				d += fmt.Sprintf(" C%.1f %.1f %.1f %.1f %.1f %.1f Z", heel+long/2, py+wide/2, heel+long/2, py-wide/2, heel, py-0.62*wide)
			}
			fmt.Fprintf(&b, `<path class="%s" d="%s"/>`, class, d)
		}
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// spreadDrawing shows every over-track on one scale with what counts as in the
// print, and the mean with its 95 % interval.
func spreadDrawing(a *gait.Trot) template.HTML {
	const w, h, left, right = 350.0, 220.0, 48.0, 328.0
	most := 2 * a.ToleranceCM
	for _, x := range slices.Concat(a.Left, a.Right) {
		most = max(most, math.Abs(100*x)+2)
	}
	if a.OverTrack.Low != nil && a.OverTrack.High != nil {
		most = max(most, min(math.Max(math.Abs(*a.OverTrack.Low), math.Abs(*a.OverTrack.High))+2, 3*most))
	}
	most = 10 * math.Ceil(most/10)
	x := func(cm float64) float64 {
		return left + (right-left)*(math.Max(-most, math.Min(most, cm))+most)/(2*most)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="spread" viewBox="0 0 %.0f %.0f" role="img" aria-label="Every over-track in centimetres, the band that counts as in the print, and the mean with its 95 %% interval"><rect class="in" x="%.1f" y="34" width="%.1f" height="134"/>`, w, h, x(-a.ToleranceCM), x(a.ToleranceCM)-x(-a.ToleranceCM))
	fmt.Fprintf(&b, `<text class="mid" x="%.1f" y="22">slow</text><text class="mid" x="%.1f" y="22">working</text><text class="mid" x="%.1f" y="22">strong</text>`, (left+x(-a.ToleranceCM))/2, x(0), (right+x(a.ToleranceCM))/2)
	step := 10.0
	for most/step > 5 {
		step *= 2
	}
	fmt.Fprintf(&b, `<path class="tape" d="M%.1f 168 H%.1f"/>`, left, right)
	for cm := -math.Floor(most/step) * step; cm <= most; cm += step {
		fmt.Fprintf(&b, `<path class="tape" d="M%.1f 168 v7"/><text class="mid" x="%.1f" y="194">%s</text>`, x(cm), x(cm), strings.Replace(strings.Replace(fmt.Sprintf("%+.0f", cm), "-", "−", 1), "+0", "0", 1))
	}
	fmt.Fprintf(&b, `<text class="mid" x="%.1f" y="214">cm ahead of the fore print</text>`, (left+right)/2)
	for k, side := range []struct {
		name string
		list []float64
		y    float64
	}{{"left", a.Left, 58}, {"right", a.Right, 92}} {
		fmt.Fprintf(&b, `<text x="4" y="%.0f">%s</text>`, side.y+5, side.name)
		for _, m := range side.list {
			if k == 0 {
				fmt.Fprintf(&b, `<circle class="one" cx="%.1f" cy="%.0f" r="5"/>`, x(100*m), side.y)
			} else {
				fmt.Fprintf(&b, `<path class="one" d="M%.1f %.0f l5 5 -5 5 -5 -5z"/>`, x(100*m), side.y-5)
			}
		}
	}
	m := a.OverTrack
	lo, hi := left, right
	if m.Low != nil && m.High != nil {
		lo, hi = x(*m.Low), x(*m.High)
	}
	fmt.Fprintf(&b, `<text x="4" y="137">mean</text><path class="mean" d="M%.1f 132 H%.1f M%.1f 124 v16 M%.1f 124 v16"/><circle class="mean-dot" cx="%.1f" cy="132" r="7"/></svg>`, lo, hi, lo, hi, x(m.Mean))
	return template.HTML(b.String())
}

// signalDrawing shows which gait was when.
func signalDrawing(s *gait.Signal) template.HTML {
	lanes := []string{gait.Canter, gait.TrotG, gait.Walk, gait.Halt, gait.Unsure}
	if len(s.Windows) == 0 {
		return ""
	}
	const w, left, right, lane = 900.0, 74.0, 890.0, 34.0
	from, to := s.Windows[0].FromS, s.Windows[len(s.Windows)-1].ToS
	x := func(t float64) float64 { return left + (right-left)*(t-from)/math.Max(to-from, 1e-9) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="gaits" viewBox="0 0 %.0f %.0f" role="img" aria-label="Which gait was when">`, w, lane*5+34)
	for i, name := range lanes {
		y := lane * float64(i)
		fmt.Fprintf(&b, `<text x="2" y="%.0f">%s</text><path class="tape" d="M%.0f %.0f H%.0f"/>`, y+23, name, left, y+lane, right)
		for _, r := range s.Runs {
			if r.Gait == name {
				fmt.Fprintf(&b, `<rect class="run" x="%.1f" y="%.0f" width="%.1f" height="%.0f"/>`, x(r.FromS), y+6, math.Max(x(r.ToS)-x(r.FromS), 1.5), lane-10)
			}
		}
	}
	for i := range 6 {
		t := from + (to-from)*float64(i)/5
		fmt.Fprintf(&b, `<text class="mid" x="%.1f" y="%.0f">%s</text>`, math.Min(math.Max(x(t), left+20), right-24), lane*5+24, clockOf(t))
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// clockOf writes seconds as people read them.
func clockOf(t float64) string {
	s := int(math.Round(t))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// recoveryDrawing is the pulse over the minutes of a halt, with the horse's own at
// rest and a tenth over it.
func recoveryDrawing(r *turnout.Recovery) template.HTML {
	if r.Pulse == nil {
		return ""
	}
	const w, h, left, right, top, bottom = 350.0, 280.0, 44.0, 335.0, 14.0, 232.0
	end, high := 10.0, 80.0
	for _, v := range r.Readings {
		end, high = max(end, v.Minute), max(high, v.Pulse, v.Breaths)
	}
	high = 20 * math.Ceil(high/20)
	x := func(m float64) float64 { return left + (right-left)*m/end }
	y := func(p float64) float64 { return bottom - (bottom-top)*p/high }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="halt" viewBox="0 0 %.0f %.0f" role="img" aria-label="Pulse and breaths a minute over the minutes of the halt">`, w, h)
	fmt.Fprintf(&b, `<rect class="in" x="%.0f" y="%.1f" width="%.0f" height="%.1f"/><text class="end" x="%.0f" y="%.1f">rest %.0f, a tenth over</text>`, left, y(1.1*r.Pulse.Rest), right-left, y(r.Pulse.Rest)-y(1.1*r.Pulse.Rest), right, bottom-6, r.Pulse.Rest)
	for p := 0.0; p <= high; p += 20 {
		fmt.Fprintf(&b, `<path class="tape" d="M%.0f %.1f h-6"/><text class="end" x="%.0f" y="%.1f">%.0f</text>`, left, y(p), left-9, y(p)+5, p)
	}
	step := math.Max(1, math.Ceil(end/6))
	for m := 0.0; m <= end; m += step {
		fmt.Fprintf(&b, `<path class="tape" d="M%.1f %.0f v6"/><text class="mid" x="%.1f" y="%.0f">%.0f</text>`, x(m), bottom, x(m), bottom+22, m)
	}
	fmt.Fprintf(&b, `<path class="tape" d="M%.0f %.0f V%.0f H%.0f"/><text class="mid" x="%.0f" y="%.0f">minutes of the halt</text>`, left, top, bottom, right, (left+right)/2, h-8)
	for _, k := range []struct {
		class string
		value func(turnout.Vital) float64
	}{{"pulse", func(v turnout.Vital) float64 { return v.Pulse }}, {"breaths", func(v turnout.Vital) float64 { return v.Breaths }}} {
		d, dots := "", ""
		var first turnout.Vital
		for _, v := range r.Readings {
			if p := k.value(v); p > 0 {
				d += fmt.Sprintf("%s%.1f %.1f", map[bool]string{true: "M", false: " L"}[d == ""], x(v.Minute), y(p))
				dots += fmt.Sprintf(`<circle class="%s-dot" cx="%.1f" cy="%.1f" r="5"/>`, k.class, x(v.Minute), y(p))
				if first == (turnout.Vital{}) {
					first = v
				}
			}
		}
		if d != "" {
			fmt.Fprintf(&b, `<path class="%s" d="%s"/>%s<text x="%.1f" y="%.1f">%s</text>`, k.class, d, dots, x(first.Minute)+8, y(k.value(first))-8, k.class)
		}
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}
