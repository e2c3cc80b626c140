package shape

import "math"

// band is a symmetric positive definite banded system A x = −g, lower half
// stored by rows: a[i*(w+1)+w-(i-j)] is A[i][j].
type band struct {
	n, w int
	a, g []float64
	x    []float64
}

// reset makes room for n unknowns of half bandwidth w, all nought.
func (b *band) reset(n, w int) {
	b.n, b.w = n, w
	need := n * (w + 1)
	if cap(b.a) < need {
		b.a = make([]float64, need+need/4)
	}
	if cap(b.g) < n {
		b.g = make([]float64, n+n/4)
		b.x = make([]float64, n+n/4)
	}
	b.a, b.g, b.x = b.a[:need], b.g[:n], b.x[:n]
	clear(b.a)
	clear(b.g)
}

// row is one linearised residual: value r, and its derivative by up to maxRow
// unknowns.
type row struct {
	n   int
	idx [maxRow]int
	jac [maxRow]float64
}

const maxRow = 12

// add puts weight·½·residual² into the system.
func (b *band) add(r *row, residual, weight float64) {
	for p := 0; p < r.n; p++ {
		i := r.idx[p]
		jw := r.jac[p] * weight
		b.g[i] += jw * residual
		base := i*(b.w+1) + b.w - i
		for q := 0; q < r.n; q++ {
			if j := r.idx[q]; j <= i {
				b.a[base+j] += jw * r.jac[q]
			}
		}
	}
}

// diag adds v to the diagonal entry i.
func (b *band) diag(i int, v float64) { b.a[i*(b.w+1)+b.w] += v }

// solve factors A in place (Cholesky) and puts −A⁻¹g into x. It is false when A
// is not positive definite.
func (b *band) solve() bool {
	w, n := b.w, b.n
	s := w + 1
	for i := 0; i < n; i++ {
		lo := max(0, i-w)
		ri := b.a[i*s : i*s+s]
		sum := -b.g[i]
		for j := lo; j < i; j++ {
			rj := b.a[j*s : j*s+s]
			lj := max(lo, j-w)
			v := ri[w-i+j]
			p := ri[w-i+lj : w-i+j]
			q := rj[w-j+lj:]
			q = q[:len(p)]
			for k, pv := range p {
				v -= pv * q[k]
			}
			v *= rj[w]
			ri[w-i+j] = v
			sum -= v * b.x[j]
		}
		d := ri[w]
		for _, v := range ri[w-i+lo : w] {
			d -= v * v
		}
		if !(d > 0) {
			return false
		}
		inv := 1 / math.Sqrt(d)
		ri[w] = inv // the inverse of the pivot, so that nothing divides again
		b.x[i] = sum * inv
	}
	for i := n - 1; i >= 0; i-- {
		ri := b.a[i*s : i*s+s]
		v := b.x[i] * ri[w]
		b.x[i] = v
		for j := max(0, i-w); j < i; j++ {
			b.x[j] -= ri[w-i+j] * v
		}
	}
	return true
}
