package gait

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/fault"
	"terret/internal/turnout"
)

// anyShaker draws a log's conditions: a published stride (Clayton 1994, 1995;
// Burns & Clayton 1997; Groppi 2008; teaching figures), a rate of 25 to 100 Hz,
// drop-outs, an uneven clock.
func anyShaker(r *rand.Rand, gait string) shaker {
	hz := map[string][2]float64{Walk: {0.80, 0.94}, TrotG: {1.20, 1.50}, Canter: {1.53, 1.95}, Halt: {0, 0}}[gait]
	return shaker{
		gait: gait, strideHz: hz[0] + (hz[1]-hz[0])*r.Float64(), within: 0.02, strength: 0.8 + 0.4*r.Float64(),
		rate: 25 + 75*r.Float64(), jitter: 0.3 * r.Float64(), lost: 0.03 * r.Float64(), bursts: 0.05 * r.Float64(), noise: 0.2 + 0.5*r.Float64(),
	}
}

func TestGaitOfWindows(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	right, all, unsure := map[string]int{}, map[string]int{}, 0
	for i := range 240 {
		g := []string{Halt, Walk, TrotG, Canter}[i%4]
		sh := anyShaker(r, g)
		m, _ := sh.log(r, 100*r.Float64(), 40)
		for _, w := range Analyse(m, "").Windows {
			if w.ToS-w.FromS < 2 {
				continue // between two holes: too short to say anything
			}
			all[g]++
			if w.Gait == g {
				right[g]++
			} else if w.Gait == Unsure {
				unsure++
			}
		}
	}
	sum, ok := 0, 0
	for g, n := range all {
		t.Logf("%s: %d of %d", g, right[g], n)
		sum, ok = sum+n, ok+right[g]
		if right[g] < n*97/100 {
			t.Errorf("%s: right in %d of %d windows", g, right[g], n)
		}
	}
	if sum < 2000 || ok < sum*97/100 {
		t.Errorf("right in %d of %d windows, unsure in %d", ok, sum, unsure)
	}
}

func TestStrideFrequencyOfTenSeconds(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for i := range 150 {
		g := []string{Walk, TrotG, Canter}[i%3]
		sh := anyShaker(r, g)
		sh.bursts = 0
		m, strides := sh.log(r, 0, 10)
		s := Analyse(m, "")
		if len(s.Runs) != 1 || s.Runs[0].Gait != g {
			t.Errorf("%+v: %+v", sh, s.Runs)
			continue
		}
		want := strides(0, 10) / 10
		if got := *s.Runs[0].StrideHz; math.Abs(got/want-1) > 0.01 {
			t.Errorf("%s at %.0f Hz: %.4f strides a second, made with %.4f", g, sh.rate, got, want)
		}
	}
}

// The same motion says the same whichever way up the phone lies.
func TestAnyWayUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		r := rand.New(rand.NewPCG(seed, 1))
		sh := anyShaker(r, rapid.SampledFrom([]string{Walk, TrotG, Canter}).Draw(t, "gait"))
		m, _ := sh.log(r, 0, 12)
		turn := rotation(r)
		n := &Motion{T: m.T, A: make([][3]float64, len(m.A))}
		for i, a := range m.A {
			for c := range 3 {
				n.A[i][c] = dot(turn[c], a)
			}
		}
		a, b := Analyse(m, ""), Analyse(n, "")
		if len(a.Windows) != len(b.Windows) {
			t.Fatalf("%d windows, turned %d", len(a.Windows), len(b.Windows))
		}
		for i := range a.Windows {
			x, y := a.Windows[i], b.Windows[i]
			if x.Gait != y.Gait || (x.StrideHz == nil) != (y.StrideHz == nil) || x.StrideHz != nil && math.Abs(*x.StrideHz-*y.StrideHz) > 1e-6 {
				t.Fatalf("%+v, turned %+v", x, y)
			}
		}
	})
}

func TestWhereTheGaitChanges(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	m := &Motion{}
	for i, g := range []string{Halt, Walk, TrotG, Canter, TrotG} {
		sh := anyShaker(r, g)
		sh.rate, sh.bursts = 50, 0
		part, _ := sh.log(rand.New(rand.NewPCG(5, 5)), 24*float64(i), 23.98)
		m.T, m.A = append(m.T, part.T...), append(m.A, part.A...)
	}
	for i := 1; i < len(m.T); i++ {
		if m.T[i] <= m.T[i-1] {
			m.T[i] = m.T[i-1] + 0.001
		}
	}
	s := Analyse(m, "")
	if len(s.Changes) != 4 {
		t.Fatalf("%+v", s.Changes)
	}
	for i, c := range s.Changes {
		if math.Abs(c.AtS-24*float64(i+1)) > 4 {
			t.Errorf("change %d at %v s", i, c.AtS)
		}
	}
	if s.Trot != CannotTell || !strings.Contains(s.Says, "beat alone") {
		t.Errorf("a trot named from its beat: %q", s.Says)
	}
}

func TestEvenness(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	sh := shaker{gait: TrotG, strideHz: 1.32, within: 0.02, strength: 1, rate: 100, noise: 0.3}
	m, _ := sh.log(r, 0, 60)
	even := Analyse(m, "")
	sh.uneven = 0.04 // one half is 0.54 of the stride, the other 0.46
	m, _ = sh.log(r, 0, 60)
	uneven := Analyse(m, "")
	if *even.Evenness < 0.95 || *uneven.Evenness > *even.Evenness-0.05 {
		t.Errorf("even %v, uneven %v", *even.Evenness, *uneven.Evenness)
	}
	near(t, "shorter half", uneven.HalfStridesS[0], 0.46/1.32, 0.01)
	near(t, "longer half", uneven.HalfStridesS[1], 0.54/1.32, 0.01)
	near(t, "even halves", even.HalfStridesS[1]-even.HalfStridesS[0], 0, 0.006)
}

func TestWithoutGravity(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	sh := shaker{gait: TrotG, strideHz: 1.32, within: 0.02, strength: 1, rate: 60, noise: 0.3, flat: true}
	m, _ := sh.log(r, 0, 20)
	for _, w := range Analyse(m, "").Windows {
		if w.Gait != TrotG {
			t.Errorf("%+v", w)
		}
	}
}

func TestSmallAnimalsStepQuicker(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	for size, leg := range map[string]float64{turnout.Pony: 0.75, turnout.VSE: 0.5} {
		for g, hz := range map[string]float64{Walk: 0.88, TrotG: 1.32, Canter: 1.65} {
			_, _, f := Scale(1, 1, hz, 1.2, leg)
			sh := shaker{gait: g, strideHz: f, within: 0.02, strength: 1, rate: 60, noise: 0.3}
			m, _ := sh.log(r, 0, 20)
			for _, w := range Analyse(m, size).Windows {
				if w.Gait != g {
					t.Errorf("%s, %s at %.2f: %+v", size, g, f, w)
				}
			}
		}
	}
}

func TestDroppedTimeIsCounted(t *testing.T) {
	r := rand.New(rand.NewPCG(71, 72))
	sh := shaker{gait: TrotG, strideHz: 1.32, within: 0.02, strength: 1, rate: 50, noise: 0.3}
	m, _ := sh.log(r, 0, 30)
	keep := &Motion{}
	for i, at := range m.T {
		if at > 10 && at < 13 {
			continue
		}
		keep.T, keep.A = append(keep.T, at), append(keep.A, m.A[i])
	}
	s := Analyse(keep, "")
	near(t, "dropped", s.DroppedS, 3, 0.05)
	if len(s.Runs) != 2 {
		t.Errorf("runs %+v", s.Runs)
	}
	for _, w := range s.Windows {
		if w.FromS < 11 && w.ToS > 12 {
			t.Errorf("a window over the hole: %+v", w)
		}
	}
}

func TestReadMotionFaults(t *testing.T) {
	rows := func(n int, dt float64, row string) string {
		var b strings.Builder
		b.WriteString("t_s,ax,ay,az\n")
		for i := range n {
			b.WriteString(trimmed(dt*float64(i)) + row + "\n")
		}
		return b.String()
	}
	for name, c := range map[string]struct{ text, rule, place string }{
		"empty":                     {"", "header", "m.csv:1"},
		"other header":              {"time,x,y,z\n", "header", "m.csv:1"},
		"three values":              {"t_s,ax,ay,az\n0,1,2\n", "columns", "m.csv:2"},
		"five values":               {"t_s,ax,ay,az\n0,0,0,9.8\n1,2,3,4,5\n", "columns", "m.csv:3"},
		"no number":                 {"t_s,ax,ay,az\n0,1,x,2\n", "number", "m.csv:2"},
		"not a number":              {"t_s,ax,ay,az\n0,1,NaN,2\n", "number", "m.csv:2"},
		"too hard":                  {"t_s,ax,ay,az\n0,1,2,9800\n", "acceleration", "m.csv:2"},
		"clock goes back":           {"t_s,ax,ay,az\n5,0,0,9.8\n1,0,0,9.8\n", "clock", "m.csv:3"},
		"one sample":                {"t_s,ax,ay,az\n5,0,0,9.8\n", "short", "m.csv"},
		"ten a second":              {rows(100, 0.1, ",0,0,9.8"), "rate", "m.csv"},
		"milliseconds":              {rows(100, 20, ",0,0,9.8"), "rate", "m.csv"},
		"multiples of gravity":      {rows(200, 0.02, ",0.1,0,0.99"), "unit", "m.csv"},
		"more than the reader does": {"t_s,ax,ay,az\n" + strings.Repeat("0,0,0,9.8\n", 8_000_000), "too-large", "m.csv"},
	} {
		m, err := ReadMotion("m.csv", []byte(c.text))
		var f *fault.Fault
		if m != nil || !errors.As(err, &f) || f.Rule != c.rule || f.Place != c.place || f.Hint == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func trimmed(x float64) string { return strings.Replace(trim(x, 3), "−", "-", 1) }

func FuzzReadMotion(f *testing.F) {
	m, _ := shaker{gait: TrotG, strideHz: 1.32, strength: 1, rate: 30}.log(rand.New(rand.NewPCG(1, 1)), 0, 3)
	f.Add(m.csv())
	f.Add("t_s,ax,ay,az\r\n0,0,0,9.8\r\n1e3,1,2,3\r\n")
	f.Add("\xef\xbb\xbft_s,ax,ay,az\n0,,,\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadMotion("f.csv", []byte(text))
		if err != nil {
			var ft *fault.Fault
			if m != nil || !errors.As(err, &ft) || ft.Rule == "" || ft.Place == "" || ft.Message == "" || ft.Hint == "" {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		if !slices.IsSorted(m.T) {
			t.Fatal("times fall")
		}
		s := Analyse(m, "")
		for i, w := range s.Windows {
			if w.ToS < w.FromS || i > 0 && w.FromS < s.Windows[i-1].FromS || w.StrideHz != nil && !(*w.StrideHz > 0 && *w.StrideHz < 10) {
				t.Fatalf("%q: %+v", text, s)
			}
		}
	})
}

// An hour at 100 Hz: read and analysed in under 2 s.
func BenchmarkAnHourOfMotion(b *testing.B) {
	sh := shaker{gait: TrotG, strideHz: 1.32, within: 0.02, strength: 1, rate: 100, noise: 0.3}
	minute, _ := sh.log(rand.New(rand.NewPCG(1, 2)), 0, 60)
	m := &Motion{}
	for k := range 60 {
		for i, t := range minute.T {
			m.T, m.A = append(m.T, t+60*float64(k)+0.0001*float64(k)), append(m.A, minute.A[i])
		}
	}
	text := []byte(m.csv())
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		m, err := ReadMotion("hour.csv", text)
		if err != nil {
			b.Fatal(err)
		}
		if s := Analyse(m, ""); len(s.Windows) < 800 {
			b.Fatal(len(s.Windows))
		}
	}
}
