package survey

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"terret/internal/geom"
)

const (
	runs  = 500
	sigma = 0.01 // m, of every simulated tape
)

// inside reports whether an offset lies in an ellipse of half axes a, b.
func inside(d geom.Vec, a, b, bearing float64) bool {
	u := geom.Degrees(bearing).Dir()
	p, q := d.Dot(u)/a, d.Cross(u)/b
	return p*p+q*q <= 1
}

// A printed list is followed with tapes that scatter by 1 cm, in 500 runs: the
// stated ellipse holds where the point came to stand, and then, taped back with
// the list's own checks, the adjusted ellipse holds where it stands.
func TestEllipsesHoldTheTruth(t *testing.T) {
	for _, file := range []string{"cones-twelve", "boxes-3m"} {
		t.Run(file, func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(1, 500))
			l := stakesOf(t, Question{Plan: load(t, "../../examples/plans/"+file+".yaml")})
			n := l.Checks(false)
			n.Sigma = sigma
			var set, held, steep, near3, points, back int
			for range runs {
				built := map[string]geom.Vec{}
				for _, p := range n.Fixed {
					built[p.Name] = p.At
				}
				for i := range l.Stakes {
					s := &l.Stakes[i]
					p, q := l.Pegs[s.from].At, l.Pegs[s.to].At
					printed := func(m float64) float64 { return math.Round(100*m)/100 + sigma*rnd.NormFloat64() }
					a, b, _ := Crossing(p, q, printed(s.at.Dist(p)), printed(s.at.Dist(q)))
					if b.Dist(s.at) < a.Dist(s.at) {
						a = b
					}
					built[s.ID] = a
					off := a.Sub(s.at)
					set++
					if inside(off, s.Sure.A, s.Sure.B, s.Sure.Bearing) {
						held++
					}
					if s.Fix() >= 60 { // folded: 60° to 120°
						steep++
						if off.Len() <= 0.03 {
							near3++
						}
					}
				}
				for i := range n.Tapes {
					tape := &n.Tapes[i]
					tape.M = built[tape.From].Dist(built[tape.To]) + sigma*rnd.NormFloat64()
				}
				a := n.adjust(DefaultLevel)
				for name, f := range a.Points {
					points++
					if e := f.Ellipse; inside(built[name].Sub(geom.Vec{X: f.X, Y: f.Y}), e.A, e.B, e.Bearing) {
						back++
					}
				}
			}
			share := func(what string, k, of int, lo, hi float64) {
				s := float64(k) / float64(of)
				t.Logf("%s: %.2f %% of %d", what, 100*s, of)
				if !(s >= lo && s <= hi) {
					t.Errorf("%s: %.2f %% of %d, want %v to %v", what, 100*s, of, lo, hi)
				}
			}
			share("set inside the stated 95 % ellipse", held, set, 0.93, 0.97)
			share("set within 3 cm where arcs cross at 60° to 120°", near3, steep, 0.95, 1)
			share("stand inside the adjusted 95 % ellipse", back, points, 0.93, 0.97)
		})
	}
}

// A slip of 30 cm in one typed tape that is checked (redundancy 0.1 or more) is
// seen in every run; whoever names a tape names the right one in 95 % of all
// runs or says that it cannot tell.
func TestSlipIsSeen(t *testing.T) {
	for _, c := range []struct {
		file   string
		second bool    // a second check for every point
		named  float64 // least share named rightly
	}{{"cones-twelve", false, 0}, {"boxes-3m", false, 0}, {"cones-twelve", true, 0.95}, {"boxes-3m", true, 0.95}} {
		t.Run(fmt.Sprintf("%s second %v", c.file, c.second), func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(2, 500))
			l := stakesOf(t, Question{Plan: load(t, "../../examples/plans/"+c.file+".yaml")})
			n := l.Checks(c.second)
			n.Sigma = sigma
			at := map[string]geom.Vec{}
			for _, p := range append(append([]Point{}, n.Fixed...), n.Points...) {
				at[p.Name] = p.At
			}
			exact := make([]float64, len(n.Tapes))
			for i, tape := range n.Tapes {
				exact[i] = at[tape.From].Dist(at[tape.To])
				n.Tapes[i].M = exact[i]
			}
			var checked []int
			for i, k := range n.adjust(DefaultLevel).Tapes {
				if k.Redundancy >= 0.1 {
					checked = append(checked, i)
				}
			}
			var right, wrong, doubt int
			for range runs {
				for i := range n.Tapes {
					n.Tapes[i].M = exact[i] + sigma*rnd.NormFloat64()
				}
				bad := checked[rnd.IntN(len(checked))]
				slip := 0.3
				if rnd.IntN(2) == 0 {
					slip = -slip
				}
				n.Tapes[bad].M += slip
				a := n.adjust(DefaultLevel)
				switch {
				case !a.Suspect.Any:
					t.Fatalf("a slip in %s–%s is not seen", n.Tapes[bad].From, n.Tapes[bad].To)
				case !a.Suspect.Named:
					doubt++
				case a.Suspect.Tape == bad:
					right++
				default:
					wrong++
				}
			}
			t.Logf("%d of %d tapes checked; named rightly %.1f %%, wrongly %.1f %%, cannot tell %.1f %%", len(checked), len(exact), 100*float64(right)/runs, 100*float64(wrong)/runs, 100*float64(doubt)/runs)
			if float64(right+doubt) < 0.95*runs || float64(right) < 0.95*float64(right+wrong) || float64(right) < c.named*runs {
				t.Errorf("named rightly %d, wrongly %d, cannot tell %d of %d", right, wrong, doubt, runs)
			}
		})
	}
}

// Tapes without a slip are called suspect in about the share of runs that the
// level says: w and tau are both looked at, so at most twice it.
func TestLevelIsKept(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 500))
	l := stakesOf(t, Question{Plan: load(t, "../../examples/plans/cones-twelve.yaml")})
	n := l.Checks(false)
	n.Sigma = sigma
	exact := make([]float64, len(n.Tapes))
	for i := range n.Tapes {
		exact[i] = n.Tapes[i].M
	}
	called := 0
	for range runs {
		for i := range n.Tapes {
			n.Tapes[i].M = exact[i] + sigma*rnd.NormFloat64()
		}
		if n.adjust(DefaultLevel).Suspect.Any {
			called++
		}
	}
	t.Logf("called suspect in %.1f %% of runs", 100*float64(called)/runs)
	if s := float64(called) / runs; s > 2*DefaultLevel || s < DefaultLevel/4 {
		t.Errorf("called suspect in %d of %d runs", called, runs)
	}
}
