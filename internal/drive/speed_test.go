package drive

import (
	"math"
	"testing"
)

func profile(kappa func(s float64) float64, length float64, n int, lim Limits) float64 {
	k, st := make([]float64, n+1), make([]float64, n)
	h := length / float64(n)
	for i := range k {
		k[i] = kappa(h * float64(i))
		if i < n {
			st[i] = h
		}
	}
	return Speeds(make([]float64, n+1), make([]float64, n+1), k, st, lim)
}

func straight(float64) float64 { return 0 }

// Science sheet §6.5: closed-form minimum-time profiles (own arithmetic there;
// no published worked example is known).
func TestSpeedProfile(t *testing.T) {
	for _, c := range []struct {
		name   string
		length float64
		k      func(float64) float64
		lim    Limits
		want   float64
		tol    float64
	}{
		{"rest to rest 100 m", 100, straight, Limits{Cap: 4, Left: 2, Right: 2, Gain: 1, Loss: 1, Stand: true}, 29, 1e-6},
		{"rest to rest 12 m, no cap", 12, straight, Limits{Cap: 1e9, Left: 2, Right: 2, Gain: 1, Loss: 1, Stand: true}, 6.928203, 1e-6},
		{"rest to rest 20 m, gain 1 loss 1.5", 20, straight, Limits{Cap: 1e9, Left: 2, Right: 2, Gain: 1, Loss: 1.5, Stand: true}, 8.164966, 1e-5},
		{"corner of 5 m between straights", 67.853982, func(s float64) float64 {
			if s >= 30 && s <= 37.853982 {
				return 0.2
			}
			return 0
		}, Limits{Cap: 4.5, Left: 2, Right: 2, Gain: 0.8, Loss: 1, Start: 3, End: 3}, 16.826856, 1e-3},
	} {
		if got := profile(c.k, c.length, 100_000, c.lim); math.Abs(got-c.want) > c.tol {
			t.Errorf("%s: %.6f s, want %.6f", c.name, got, c.want)
		}
	}
}

// Turning speed √(aR), trade practice §5.5 (own arithmetic there, an estimate
// of side force by kind of turnout); printed there to 0.1 m/s, some rows cut
// rather than rounded, so 0.06.
func TestTurningSpeedTable(t *testing.T) {
	for _, c := range []struct{ r, a15, a20, a25 float64 }{
		{3, 2.1, 2.4, 2.7}, {4, 2.4, 2.8, 3.2}, {6, 3.0, 3.5, 3.9}, {8, 3.5, 4.0, 4.5}, {10, 3.9, 4.5, 5.0},
	} {
		for a, want := range map[float64]float64{1.5: c.a15, 2: c.a20, 2.5: c.a25} {
			v := make([]float64, 3)
			Speeds(v, make([]float64, 3), []float64{1 / c.r, 1 / c.r, 1 / c.r}, []float64{1, 1},
				Limits{Cap: 99, Left: 9, Right: a, Gain: 1, Loss: 1})
			if math.Abs(v[1]-want) > 0.06 {
				t.Errorf("R %v m, side force %v: %.2f m/s, table has %.1f", c.r, a, v[1], want)
			}
		}
	}
	// Each hand its own side force.
	v := make([]float64, 2)
	Speeds(v, make([]float64, 2), []float64{-0.25, -0.25}, []float64{1}, Limits{Cap: 99, Left: 1, Right: 4, Gain: 1, Loss: 1})
	if math.Abs(v[0]-2) > 1e-12 {
		t.Errorf("left turn of 4 m at 1 m/s²: %.3f m/s, want 2", v[0])
	}
}
