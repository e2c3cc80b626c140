package shape

// band is a symmetric positive definite banded system A x = −g, the lower half
// stored by columns: a[j*(w+1)+i−j] is A[i][j] for j ≤ i ≤ j+w. Behind the last
// column lie w more, so that elimination need not look out for the end.
type band struct {
	n, w int
	a, g []float64
	x    []float64

	savedA, savedG []float64
}

// reset makes room for n unknowns of half bandwidth w, all nought.
func (b *band) reset(n, w int) {
	b.n, b.w = n, w
	need := (n + w) * (w + 1)
	if cap(b.a) < need {
		b.a = make([]float64, need+need/4)
	}
	if cap(b.g) < n+w {
		b.g = make([]float64, n+w+n/4)
		b.x = make([]float64, n+w+n/4)
	}
	b.a, b.g, b.x = b.a[:need], b.g[:n], b.x[:n+w]
	clear(b.a)
	clear(b.g)
}

// save keeps the system as it is; restore goes back to it, for solve factors in place.
func (b *band) save() {
	b.savedA, b.savedG = append(b.savedA[:0], b.a...), append(b.savedG[:0], b.g...)
}

func (b *band) restore() { copy(b.a, b.savedA); copy(b.g, b.savedG) }

// row is one linearised residual: value r, and its derivative by up to maxRow
// unknowns.
type row struct {
	n   int
	idx [maxRow]int
	jac [maxRow]float64
}

const maxRow = 8

// add puts weight·½·residual² into the system.
func (b *band) add(r *row, residual, weight float64) {
	for p, i := range r.idx[:r.n] {
		jw := r.jac[p] * weight
		b.g[i] += jw * residual
		for q, j := range r.idx[:r.n] {
			if j <= i {
				b.a[j*b.w+i] += jw * r.jac[q]
			}
		}
	}
}

// diag adds v to the diagonal entry i.
func (b *band) diag(i int, v float64) { b.a[i*(b.w+1)] += v }

// solve factors A in place (LDLᵀ) and puts −A⁻¹g into x. It is false when A is
// not positive definite.
func (b *band) solve() bool {
	s := b.w + 1
	x := b.x
	for i, v := range b.g {
		x[i] = -v
	}
	clear(x[b.n:])
	for j := range b.n {
		c := b.a[j*s : j*s+s]
		if !(c[0] > 0) {
			return false
		}
		inv, v := 1/c[0], x[j]
		rest := b.a[j*s+s:]
		for i := 1; i < s; i++ {
			l := c[i] * inv
			if l == 0 {
				continue
			}
			x[j+i] -= l * v
			to := rest[(i-1)*s:][:s-i]
			for t, u := range c[i:][:len(to)] {
				to[t] -= l * u
			}
		}
		c[0] = inv // nothing divides again
	}
	for j := b.n - 1; j >= 0; j-- {
		c := b.a[j*s : j*s+s]
		v := 0.0
		for t, u := range x[j+1:][:s-1] {
			v += c[t+1] * u
		}
		x[j] = (x[j] - v) * c[0]
	}
	return true
}
