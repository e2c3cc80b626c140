package survey

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// row is one linear equation of a least-squares problem,
//
//	Σ coef[k]·x[at[k]] = miss, uncertain by sigma.
type row struct {
	at    [4]int // unknowns, the first n of them
	coef  [4]float64
	n     int
	miss  float64
	sigma float64
}

// dot is the row's left side at x.
func (r *row) dot(x []float64) float64 {
	var s float64
	for k := range r.n {
		s += r.coef[k] * x[r.at[k]]
	}
	return s
}

// cofactor is aᵀQa of the row's coefficients.
func (r *row) cofactor(q *mat.SymDense) float64 {
	var s float64
	for i := range r.n {
		for k := range r.n {
			s += r.coef[i] * r.coef[k] * q.At(r.at[i], r.at[k])
		}
	}
	return s
}

// normals are the normal equations of rows, with a datum added where the rows
// leave motions free. They are kept scaled to a diagonal of 1, so that one limit
// on the condition serves metres and millimetres alike.
//
// Forming N squares the condition of the rows; theirs are unit vectors, and a
// crossing of 0.1° still leaves half of the digits.
type normals struct {
	n     int
	scale []float64 // 1/√diagonal
	m     *mat.SymDense
	rhs   []float64
	chol  mat.Cholesky
	datum [][]float64 // orthonormal free motions
	held  float64     // the weight of each
}

// singular is the condition of the scaled normals beyond which they are taken
// for singular: rounding then leaves no more than about four digits.
const singular = 1e12

// gather forms the normal equations of rows in n unknowns. datum holds
// orthonormal motions that the rows leave free and off how far along each the
// unknowns are to move.
func gather(n int, rows []row, datum [][]float64, off []float64) *normals {
	e := &normals{n: n, scale: make([]float64, n), m: mat.NewSymDense(n, nil), rhs: make([]float64, n), datum: datum}
	raw := e.m.RawSymmetric()
	for i := range rows {
		r := &rows[i]
		p := 1 / (r.sigma * r.sigma)
		for a := range r.n {
			e.rhs[r.at[a]] += p * r.coef[a] * r.miss
			for b := range r.n {
				if r.at[a] <= r.at[b] {
					raw.Data[r.at[a]*raw.Stride+r.at[b]] += p * r.coef[a] * r.coef[b]
				}
			}
		}
	}
	if len(datum) > 0 {
		for i := range n {
			e.held += raw.Data[i*raw.Stride+i] / float64(n)
		}
		if e.held == 0 {
			e.held = 1
		}
		for d, move := range datum {
			for i := range n {
				e.rhs[i] += e.held * move[i] * off[d]
				for k := i; k < n; k++ {
					raw.Data[i*raw.Stride+k] += e.held * move[i] * move[k]
				}
			}
		}
	}
	for i := range n {
		e.scale[i] = 1
		if d := raw.Data[i*raw.Stride+i]; d > 0 {
			e.scale[i] = 1 / math.Sqrt(d)
		}
	}
	for i := range n {
		for k := i; k < n; k++ {
			raw.Data[i*raw.Stride+k] *= e.scale[i] * e.scale[k]
		}
	}
	return e
}

// factor prepares solving; false when the equations are singular.
func (e *normals) factor() bool {
	return e.chol.Factorize(e.m) && e.chol.Cond() < singular
}

// solve gives the unknowns. The equations must have been factored.
func (e *normals) solve() []float64 {
	b := mat.NewVecDense(e.n, nil)
	for i := range e.n {
		b.SetVec(i, e.rhs[i]*e.scale[i])
	}
	x := mat.NewVecDense(e.n, nil)
	// The error says no more than Cond, which factor has looked at.
	_ = e.chol.SolveVecTo(x, b)
	out := make([]float64, e.n)
	for i := range out {
		out[i] = x.AtVec(i) * e.scale[i]
	}
	return out
}

// inverse is the cofactor matrix of the unknowns: of the least of all motions
// where there is a datum. The equations must have been factored.
func (e *normals) inverse() *mat.SymDense {
	q := mat.NewSymDense(e.n, nil)
	_ = e.chol.InverseTo(q) // as in solve
	raw := q.RawSymmetric()
	for i := range e.n {
		for k := i; k < e.n; k++ {
			v := raw.Data[i*raw.Stride+k] * e.scale[i] * e.scale[k]
			for _, move := range e.datum {
				v -= move[i] * move[k] / e.held
			}
			raw.Data[i*raw.Stride+k] = v
		}
	}
	return q
}

// loosePivot is the pivot of the scaled normals below which a direction is taken
// for one that no equation sees. Such a direction would be known 30,000 times
// worse than its tapes: nothing on the ground is fixed by it.
const loosePivot = 1e-9

// loose reports which unknowns the equations do not fix: those that take part in
// a motion which no equation sees. A Cholesky factor with pivoting,
// PᵀNP = UᵀU, stops at the rank r; with U = (A B), A the first r columns, the
// motions are the columns of (−A⁻¹B, I)ᵀ.
func (e *normals) loose() []bool {
	out := make([]bool, e.n)
	var chol mat.PivotedCholesky
	chol.Factorize(e.m, loosePivot)
	rank, order := chol.Rank(), chol.ColumnPivots(nil)
	var full mat.TriDense
	chol.UTo(&full)
	u := full.RawTriangular()
	x := make([]float64, rank)
	for j := rank; j < e.n; j++ {
		out[order[j]] = true
		for i := rank - 1; i >= 0; i-- { // A·x = column j of B
			row := u.Data[i*u.Stride : i*u.Stride+e.n]
			v := row[j]
			for k := i + 1; k < rank; k++ {
				v -= row[k] * x[k]
			}
			x[i] = v / row[i]
			if math.Abs(x[i]) > 1e-4 {
				out[order[i]] = true
			}
		}
	}
	return out
}
