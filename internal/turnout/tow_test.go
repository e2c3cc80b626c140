package turnout_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"terret/internal/drive"
	"terret/internal/geom"
	"terret/internal/turnout"
)

const deg = math.Pi / 180

// stepping is an outside formula for a towed body (hawsedc.com, turn theory): a
// chord s of the front point at angle alpha to the body turns it by
// 2·atan(sin α/(2L/s − cos α)).
func stepping(s, alpha, l float64) float64 {
	return 2 * math.Atan(math.Sin(alpha)/(2*l/s-math.Cos(alpha)))
}

// R 10, L 3, turned by 90° in 9, 90 and 900 steps; the closed form is 17.34389°.
func TestAnOutsideSteppingFormula(t *testing.T) {
	for _, c := range []struct {
		steps int
		want  float64
		tol   float64
	}{{9, 17.3596, 1e-4}, {90, 17.34405, 2e-4}, {900, 17.343895, 1e-5}} {
		const r, l = 10.0, 3.0
		d := 90 * deg / float64(c.steps)
		body := 0.0 // bearing; the line turns right
		dir, lead := geom.Vec{Y: 1}, geom.Vec{X: -r}
		for k := range c.steps {
			chord, way := 2*r*math.Sin(d/2), d*(float64(k)+0.5)
			body += stepping(chord, math.Pi-(way-body), l) // the angle counts from the back end
			next := geom.Vec{X: -r * math.Cos(d*float64(k+1)), Y: r * math.Sin(d*float64(k+1))}
			dir, lead = drive.Tow(dir, next.Sub(lead), l), next
		}
		if got := 90 - body/deg; math.Abs(got-c.want) > c.tol {
			t.Errorf("%d steps: hitch %.6f°, want %v", c.steps, got, c.want)
		}
		// Our own towing follows chords, and comes to the same as they get shorter.
		if own := 90 - math.Atan2(dir.X, dir.Y)/deg; math.Abs(own-17.34389) > 5/float64(c.steps) {
			t.Errorf("%d steps: towing gives %.5f°", c.steps, own)
		}
	}
}

// The least circle is where towing has a steady turn at all.
func TestLeastCircleIsWhereASteadyTurnBegins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, b := rapid.Float64Range(1, 4).Draw(t, "shafts"), rapid.Float64Range(0.5, 2).Draw(t, "base")
		r, folds := turnout.LeastCircle(s, b, math.Pi)
		if _, ok := drive.SteadyRadius(r*1.001, s, b); !ok || !folds {
			t.Fatalf("no steady turn at %v m", r*1.001)
		}
		if _, ok := drive.SteadyRadius(r*0.999, s, b); ok {
			t.Fatalf("a steady turn at %v m", r*0.999)
		}
	})
}
