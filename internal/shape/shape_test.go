package shape

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"terret/internal/geom"
)

// A random positive definite band against gonum's dense Cholesky (reference
// library), at several sizes and widths.
func TestBandSolvesLikeADenseMatrix(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ n, w int }{{1, 0}, {2, 1}, {5, 3}, {40, 6}, {60, 9}, {80, 12}} {
		var b band
		b.reset(c.n, c.w)
		dense := mat.NewSymDense(c.n, nil)
		rhs := mat.NewVecDense(c.n, nil)
		for i := range c.n {
			for range 3 {
				var r row
				for j := max(0, i-c.w); j <= i; j++ {
					if r.n < maxRow && (j == i || rng.IntN(2) == 0) {
						r.idx[r.n], r.jac[r.n] = j, rng.NormFloat64()
						r.n++
					}
				}
				res, w := rng.NormFloat64(), rng.Float64()
				b.add(&r, res, w)
				for p := range r.n {
					rhs.SetVec(r.idx[p], rhs.AtVec(r.idx[p])-w*r.jac[p]*res)
					for q := range r.n {
						if r.idx[q] <= r.idx[p] {
							dense.SetSym(r.idx[p], r.idx[q], dense.At(r.idx[p], r.idx[q])+w*r.jac[p]*r.jac[q])
						}
					}
				}
			}
			b.diag(i, 0.1)
			dense.SetSym(i, i, dense.At(i, i)+0.1)
		}
		if !b.solve() {
			t.Fatalf("%d wide %d: not solved", c.n, c.w)
		}
		var ch mat.Cholesky
		if !ch.Factorize(dense) {
			t.Fatal("the reference does not solve it")
		}
		var x mat.VecDense
		if err := ch.SolveVecTo(&x, rhs); err != nil {
			t.Fatal(err)
		}
		for i := range c.n {
			if math.Abs(x.AtVec(i)-b.x[i]) > 1e-9*(1+math.Abs(x.AtVec(i))) {
				t.Fatalf("%d wide %d: x[%d] = %v, reference %v", c.n, c.w, i, b.x[i], x.AtVec(i))
			}
		}
	}
}

// bench is a scene in which every kind of term is at work: posts to both sides,
// a rail, a fence, a gate left by the way it was entered, too small a radius.
func bench(links int, leaders bool) *Solver {
	s := &Solver{
		Discs: []Disc{{At: geom.Vec{X: 1, Y: 6}, R: 0.06}, {At: geom.Vec{X: -0.8, Y: 9}, R: 0.3}, {At: geom.Vec{X: 4.2, Y: 12.5}, R: 0.06}, {At: geom.Vec{X: 9, Y: 8}, R: 0.1}},
		Walls: []Wall{{Seg: geom.Seg{A: geom.Vec{X: -1.3, Y: -5}, B: geom.Vec{X: -1.3, Y: 14}}, Inside: 1}, {Seg: geom.Seg{A: geom.Vec{X: 5, Y: 9}, B: geom.Vec{X: 9, Y: 8}}, R: 0.1}},
		Body: Body{Links: links, Length: [2]float64{2.6, 1.5}, Hub: 0.75, Width: 0.55, Lock: 0.3, Bend: 0.35, Nose: 1.3, Rump: 1.2, Horse: 0.33, Lead: -1,
			Left: 4, Right: 4.5, Room: 0.1},
		Knobs: DefaultKnobs(),
		In:    geom.Seg{A: geom.Vec{X: -2, Y: 1}, B: geom.Vec{X: 2, Y: 1}},
		Out:   geom.Seg{A: geom.Vec{X: 12, Y: 8}, B: geom.Vec{X: 12, Y: 4}},
		Gates: []geom.Seg{{A: geom.Vec{X: -3, Y: 11}, B: geom.Vec{X: 4, Y: 11}}},
	}
	if leaders {
		s.Body.Lead, s.Body.Apart = 0.45, 0.45
	}
	s.now = s.Body
	s.c = resample(nil, []geom.Vec{{X: 0.1, Y: -1}, {X: 0, Y: 5}, {X: 0.4, Y: 10}, {X: 1.5, Y: 11.3}, {X: 3, Y: 11.2}, {X: 4.5, Y: 10}, {X: 7, Y: 6}, {X: 10, Y: 6}, {X: 14, Y: 6.3}})
	return s
}

// The gradient that a step is built from, against central differences of the
// cost. The headings are tied to the offsets by the towing rows, so the total
// derivative is had by solving those rows: moving one control point, the bodies
// follow. Two slopes are left out of the system on purpose: that of the length of
// line a curvature counts for (half a per cent), and that of a horse's round end
// along its axis (up to a fifth where a nose just passes a post).
func TestGradientAgainstDifferences(t *testing.T) {
	for _, c := range []struct {
		name    string
		links   int
		leaders bool
		share   float64
		fast    *Speeds
	}{
		{"two wheels", 1, false, 0.005, nil}, {"four wheels", 2, false, 0.005, nil}, {"four-in-hand", 2, true, 0.25, nil},
		{"two wheels, quick", 1, false, 0.005, &Speeds{Cap: 4.5, Left: 2, Right: 1.7, Gain: 0.8, Loss: 1.1}},
		{"four wheels, quick", 2, false, 0.005, &Speeds{Cap: 4.5, Left: 2, Right: 1.7, Gain: 0.8, Loss: 1.1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := bench(c.links, c.leaders)
			s.fast, s.barrier = c.fast, 1e-2
			s.ends()
			s.look()
			for i := range s.w {
				s.w[i] *= 0.96 // well within every limit
			}
			s.assemble(true)
			m := s.m
			n := len(s.c)
			grad := append([]float64(nil), s.b.g...)
			base := append(geom.Spline(nil), s.c...)
			nrm := append([]geom.Vec(nil), s.nrm...)
			heads := func() (out []float64) {
				for k := s.from; k < n-1; k++ {
					for l := range c.links {
						out = append(out, math.Atan2(s.k[k].tow[l].X, s.k[k].tow[l].Y))
					}
				}
				return out
			}
			passes := append([]pass(nil), s.passes...)
			cost := func(i int, d float64) (float64, []float64) {
				s.c = append(s.c[:0], base...)
				s.c[i] = s.c[i].Along(nrm[i], d)
				s.refresh()
				s.passes = append(s.passes[:0], passes...)
				return s.assemble(false), heads()
			}
			const h = 1e-6
			worst, scale := 0.0, 0.0
			for i := 3; i < n-3; i++ {
				up, hu := cost(i, h)
				dn, hd := cost(i, -h)
				want := (up - dn) / (2 * h)
				// Total derivative: offsets, and headings by how they follow.
				got := grad[i*m]
				for j := range hu {
					k, l := s.from+j/c.links, j%c.links
					got += grad[k*m+1+l] * geom.Norm(hu[j]-hd[j]) / (2 * h)
				}
				worst, scale = math.Max(worst, math.Abs(got-want)), math.Max(scale, math.Abs(want))
				if math.Abs(got-want) > c.share*(1+math.Abs(want)) {
					t.Errorf("control point %d: gradient %.5f, differences %.5f", i, got, want)
				}
			}
			if scale < 1 {
				t.Errorf("the scene exercises nothing: the largest derivative is %v", scale)
			}
			for i := s.from; c.fast != nil && i < min(s.to, n-1); i++ {
				cost := func(d float64) float64 {
					s.c = append(s.c[:0], base...)
					s.refresh()
					s.passes = append(s.passes[:0], passes...)
					s.w[i] += d
					defer func() { s.w[i] -= d }()
					return s.assemble(false)
				}
				want, got := (cost(h)-cost(-h))/(2*h), grad[i*m+m-1]
				if math.Abs(got-want) > 1e-4*(1+math.Abs(want)) {
					t.Errorf("speed at knot %d: gradient %.5f, differences %.5f", i, got, want)
				}
			}
			t.Logf("largest derivative %.1f, worst difference %.2g", scale, worst)
		})
	}
}

// The linearised towing rows against what towing does.
func TestTowDerivativeAgainstDifferences(t *testing.T) {
	const h = 1e-6
	dirAt := func(b float64) geom.Vec { return geom.Bearing(b).Dir() }
	for _, length := range []float64{0, 0.4, 2.6} {
		f := decaysOf(Spacing/2, length)
		step := geom.Vec{X: 0.11, Y: 0.21}
		tow := func(b float64, st geom.Vec) float64 {
			var r tract
			return float64(r.tow(dirAt(b), st, length, &f).Bearing())
		}
		var r tract
		r.tow(dirAt(1.3), step, length, &f)
		g, by := r.deriv()
		wg := (tow(1.3+h, step) - tow(1.3-h, step)) / (2 * h)
		wx := (tow(1.3, step.Add(geom.Vec{X: h})) - tow(1.3, step.Sub(geom.Vec{X: h}))) / (2 * h)
		wy := (tow(1.3, step.Add(geom.Vec{Y: h})) - tow(1.3, step.Sub(geom.Vec{Y: h}))) / (2 * h)
		if math.Abs(g-wg) > 1e-6 || math.Abs(by.X-wx) > 1e-6 || math.Abs(by.Y-wy) > 1e-6 {
			t.Errorf("length %v: %v %v, differences %v (%v %v)", length, g, by, wg, wx, wy)
		}
	}
}
