package whole

import (
	"math"
	"math/big"
	"slices"
)

// lattice is the set of whole solutions of equations: base + Σ z·col over whole z. The columns are independent, and each z can be
// had back from a solution: z = row·(x − base).
type lattice struct {
	base []int64
	cols [][]int64
	rows [][]int64 // nil where the numbers left 64 bits
	c    checked
}

func newLattice(n int) *lattice {
	return &lattice{base: make([]int64, n)}
}

// free makes the unknown i free to take any whole number.
func (l *lattice) free(i int) {
	col, row := make([]int64, len(l.base)), make([]int64, len(l.base))
	col[i], row[i] = 1, 1
	l.cols = append(l.cols, col)
	l.rows = append(l.rows, row)
}

// subtract takes q times column j from column k, which leaves the lattice as it is.
func (l *lattice) subtract(k, j int, q int64) {
	l.c.axpy(l.cols[k], -q, l.cols[j])
	if l.rows[j] == nil || l.rows[k] == nil {
		l.rows[j] = nil
		return
	}
	var c checked
	c.axpy(l.rows[j], q, l.rows[k])
	if c.bad {
		l.rows[j] = nil
	}
}

// axpy adds q·a to y.
func (c *checked) axpy(y []int64, q int64, a []int64) {
	for i, v := range a {
		if v != 0 {
			y[i] = c.add(y[i], c.mul(q, v))
		}
	}
}

func (l *lattice) swap(i, j int) {
	l.cols[i], l.cols[j] = l.cols[j], l.cols[i]
	l.rows[i], l.rows[j] = l.rows[j], l.rows[i]
}

// along is the value of a row of coefficients for each column from the given one on.
func (l *lattice) along(terms []Term, from int) []int64 {
	h := make([]int64, len(l.cols))
	for j := from; j < len(l.cols); j++ {
		col := l.cols[j]
		for _, t := range terms {
			if v := col[t.Var]; v != 0 {
				h[j] = l.c.add(h[j], l.c.mul(t.Coef, v))
			}
		}
		l.c.bad = l.c.bad || h[j] == math.MinInt64 // has no opposite
	}
	return h
}

// pivot works on the columns from the given one on until at most one of them has a value along the row, by Euclid's algorithm on
// the columns as in the Hermite normal form (Hermite 1851; Cohen, A Course in Computational Algebraic Number Theory, 2.4; from
// memory). It returns that column, or -1, and its value.
func (l *lattice) pivot(terms []Term, from int) (int, int64) {
	h := l.along(terms, from)
	for !l.c.bad {
		p, others := -1, 0
		for j := from; j < len(h); j++ {
			if h[j] == 0 {
				continue
			}
			others++
			if p < 0 || size(h[j]) < size(h[p]) {
				p = j
			}
		}
		if others == 0 {
			return -1, 0
		}
		if others == 1 {
			return p, h[p]
		}
		for j := from; j < len(h); j++ {
			if j != p && h[j] != 0 {
				q := roundDiv(h[j], h[p])
				h[j] -= q * h[p]
				l.subtract(j, p, q)
			}
		}
	}
	return -1, 0
}

// meet keeps the solutions with Σ coef·x + constant = 0. It reports false if there are none.
func (l *lattice) meet(terms []Term, constant int64) bool {
	p, g := l.pivot(terms, 0)
	r := constant
	for _, t := range terms {
		r = l.c.add(r, l.c.mul(t.Coef, l.base[t.Var]))
	}
	if l.c.bad {
		return true
	}
	if p < 0 {
		return r == 0
	}
	if r%g != 0 {
		return false
	}
	l.c.axpy(l.base, l.c.mul(-1, r/g), l.cols[p])
	last := len(l.cols) - 1
	l.swap(p, last)
	l.cols, l.rows = l.cols[:last], l.rows[:last]
	l.shrink()
	return true
}

// shrink reduces the columns for their own sake where they have grown: without it a few equations with large coefficients make
// them grow beyond any bound, though short ones exist.
func (l *lattice) shrink() {
	const large = 1 << 20
	grown := false
	for _, col := range l.cols {
		for _, v := range col {
			grown = grown || size(v) > large
		}
	}
	if !grown || l.c.bad {
		return
	}
	m := &metric{at: slices.Clone(l.base), root: make([]float64, len(l.base))}
	for _, col := range l.cols {
		m.cols = append(m.cols, slices.Clone(col))
	}
	for i := range m.root {
		m.root[i] = 1
	}
	l.reduce(m, len(l.cols))
}

// metric holds the forms of the scores along the columns: form k is at[k] + Σ z·cols[·][k].
type metric struct {
	at   []int64
	cols [][]int64
	root []float64 // of the weights
}

func (l *lattice) metric(forms []form) *metric {
	m := &metric{at: make([]int64, len(forms)), root: make([]float64, len(forms))}
	m.cols = make([][]int64, len(l.cols))
	for j := range m.cols {
		m.cols[j] = make([]int64, len(forms))
	}
	for k, f := range forms {
		m.at[k] = f.constant
		for _, t := range f.terms {
			m.at[k] = l.c.add(m.at[k], l.c.mul(t.Coef, l.base[t.Var]))
			for j, col := range l.cols {
				if v := col[t.Var]; v != 0 {
					m.cols[j][k] = l.c.add(m.cols[j][k], l.c.mul(t.Coef, v))
				}
			}
		}
		m.root[k] = math.Sqrt(f.weighs())
	}
	return m
}

// independent reports whether the columns are certain to be independent under the forms, by their rank modulo a prime.
func (m *metric) independent() bool {
	const prime = 2147483629
	rows := make([][]uint64, len(m.cols))
	for j, col := range m.cols {
		rows[j] = make([]uint64, len(col))
		for k, v := range col {
			r := v % prime
			if r < 0 {
				r += prime
			}
			rows[j][k] = uint64(r)
		}
	}
	at := 0
	for k := 0; k < len(m.at) && at < len(rows); k++ {
		p := at
		for p < len(rows) && rows[p][k] == 0 {
			p++
		}
		if p == len(rows) {
			continue
		}
		rows[p], rows[at] = rows[at], rows[p]
		inv := power(rows[at][k], prime-2, prime)
		for j := at + 1; j < len(rows); j++ {
			if rows[j][k] == 0 {
				continue
			}
			q := prime - rows[j][k]*inv%prime
			for i := k; i < len(m.at); i++ {
				rows[j][i] = (rows[j][i] + q*rows[at][i]) % prime
			}
		}
		at++
	}
	return at == len(rows)
}

func power(b, e, m uint64) uint64 {
	r := uint64(1)
	for ; e > 0; e >>= 1 {
		if e&1 == 1 {
			r = r * b % m
		}
		b = b * b % m
	}
	return r
}

// split orders the columns so that the first ones are independent under the forms and the others do not change any score. It
// returns the number of the first. The others are left triangular in the rows of the tie-break, so that each settles the first
// of them that it changes.
func (l *lattice) split(pt *part) (scored int, settles []settler) {
	for _, f := range pt.forms {
		if p, _ := l.pivot(f.terms, scored); p >= 0 {
			l.swap(p, scored)
			scored++
		}
	}
	if l.c.bad {
		return
	}
	at := scored
	settle := func(terms []Term, hint bool) {
		if at == len(l.cols) {
			return
		}
		if p, _ := l.pivot(terms, at); p >= 0 {
			l.swap(p, at)
			at++
			settles = append(settles, settler{terms, hint})
		}
	}
	for _, b := range pt.better {
		settle(b, false)
	}
	for i := range l.base {
		settle([]Term{{i, 1}}, true)
	}
	return
}

// reduce makes the first n columns short and nearly orthogonal in the metric (Lenstra, Lenstra & Lovász, Math. Ann. 261, 1982; from
// memory), then moves base by whole columns to near the smallest sum. Rounding can make the result worse, never wrong: every step
// keeps the lattice, in whole numbers.
func (l *lattice) reduce(m *metric, n int) {
	k := len(m.at)
	vec := make([][]float64, n)
	for j := range vec {
		vec[j] = make([]float64, k)
	}
	ortho := make([][]float64, n)
	for j := range ortho {
		ortho[j] = make([]float64, k)
	}
	mu := make([][]float64, n)
	for j := range mu {
		mu[j] = make([]float64, n)
	}
	norm := make([]float64, n)
	load := func(j int) {
		for i, v := range m.cols[j] {
			vec[j][i] = float64(float64(v) * m.root[i])
		}
	}
	project := func(j int) {
		copy(ortho[j], vec[j])
		for i := range j {
			mu[j][i] = 0
			if norm[i] > 0 {
				mu[j][i] = float64(dot(vec[j], ortho[i]) / norm[i])
			}
			for t, o := range ortho[i] {
				ortho[j][t] -= float64(mu[j][i] * o)
			}
		}
		norm[j] = dot(ortho[j], ortho[j])
	}
	for j := range n {
		load(j)
	}
	const delta = 0.99
	steps := 200 + 40*n*n
	for j := 0; j < n && !l.c.bad; {
		project(j)
		for pass := 0; pass < 20 && j > 0; pass++ {
			moved := false
			for i := j - 1; i >= 0; i-- {
				q := math.RoundToEven(mu[j][i])
				if q == 0 || math.Abs(mu[j][i]) < 0.51 || !(math.Abs(q) < 1<<53) {
					continue
				}
				l.subtract(j, i, int64(q))
				l.c.axpy(m.cols[j], -int64(q), m.cols[i])
				for t := range i {
					mu[j][t] -= float64(q * mu[i][t])
				}
				moved = true
			}
			if !moved {
				break
			}
			load(j)
			project(j)
		}
		if steps--; steps < 0 {
			j++
			continue
		}
		if j > 0 && norm[j] < float64((delta-float64(mu[j][j-1]*mu[j][j-1]))*norm[j-1]) {
			l.swap(j, j-1)
			m.cols[j], m.cols[j-1] = m.cols[j-1], m.cols[j]
			vec[j], vec[j-1] = vec[j-1], vec[j]
			j--
			continue
		}
		j++
	}
	rest := make([]float64, k)
	for range 3 {
		moved := false
		for i, v := range m.at {
			rest[i] = float64(float64(v) * m.root[i])
		}
		for j := n - 1; j >= 0; j-- {
			if norm[j] == 0 {
				continue
			}
			q := -math.RoundToEven(dot(rest, ortho[j]) / norm[j])
			if q == 0 || !(math.Abs(q) < 1<<53) {
				continue
			}
			moved = true
			l.c.axpy(l.base, int64(q), l.cols[j])
			l.c.axpy(m.at, int64(q), m.cols[j])
			for i, v := range vec[j] {
				rest[i] += float64(q * v)
			}
		}
		if !moved {
			break
		}
	}
}

// dot converts each product, which keeps compilers from fusing it with the sum: the same bits on every machine.
func dot(a, b []float64) float64 {
	s := 0.0
	for i, v := range a {
		s += float64(v * b[i])
	}
	return s
}

// straighten shortens every column by the unscored ones after it, which changes neither the scores nor what each settles.
func (l *lattice) straighten(scored int) {
	length := func(a, b []int64) (s float64) {
		for i, v := range a {
			s += float64(float64(v) * float64(b[i]))
		}
		return s
	}
	for range 2 {
		for i := len(l.cols) - 1; i >= 0; i-- {
			for j := max(i+1, scored); j < len(l.cols); j++ {
				q := math.RoundToEven(length(l.cols[i], l.cols[j]) / length(l.cols[j], l.cols[j]))
				if q != 0 && math.Abs(q) < 1<<53 {
					l.subtract(i, j, int64(q))
				}
			}
		}
	}
}

// squares is the sum written as squares of one z after the other, from the last to the first:
// floor + Σ size[j]·(z[j] + Σ_{i>j} mu[i][j]·z[i] − centre[j])². Each number is a true one rounded a few times at most; floor and
// size are rounded down.
type squares struct {
	mu           [][]float64
	size, centre []float64
	floor        float64

	d      []*big.Int   // determinants of the leading Gram matrices, d[0] = 1
	lambda [][]*big.Int // mu[i][j] = lambda[i][j]/d[j+1]
}

// product is Σ weight·a·b.
func product(forms []form, a, b []int64) *big.Int {
	var c checked
	s := int64(0)
	for k := range forms {
		if a[k] == 0 || b[k] == 0 {
			continue
		}
		w := forms[k].small
		if w == 0 || w > math.MaxInt64 {
			c.bad = true
			break
		}
		s = c.add(s, c.mul(c.mul(a[k], b[k]), int64(w)))
	}
	if !c.bad {
		return big.NewInt(s)
	}
	sum, t, u := new(big.Int), new(big.Int), new(big.Int)
	for k := range forms {
		t.Mul(t.SetInt64(a[k]), u.SetInt64(b[k]))
		sum.Add(sum, t.Mul(t, forms[k].heavy()))
	}
	return sum
}

// squares computes the exact Gram–Schmidt numbers of the first n columns without fractions (Cohen, 2.6.3; from memory).
func (m *metric) squares(forms []form, n int) *squares {
	s := &squares{mu: make([][]float64, n), size: make([]float64, n), centre: make([]float64, n)}
	s.d = []*big.Int{big.NewInt(1)}
	s.lambda = make([][]*big.Int, n)
	for i := range n {
		gram := make([]*big.Int, i+1)
		for j := range gram {
			gram[j] = product(forms, m.cols[i], m.cols[j])
		}
		row := s.orthogonalise(gram)
		s.lambda[i] = row[:i]
		s.d = append(s.d, row[i])
		s.mu[i] = make([]float64, i)
		for j := range i {
			s.mu[i][j] = ratio(row[j], s.d[j+1])
		}
		s.size[i] = math.Min(ratio(s.d[i+1], s.d[i])*(1-16*ulp), 1e300)
	}
	return s
}

// orthogonalise turns the products of a vector with those before it, and with itself, into its lambdas and its determinant.
func (s *squares) orthogonalise(gram []*big.Int) []*big.Int {
	i := len(gram) - 1
	t := new(big.Int)
	for j, u := range gram {
		for k := range j {
			o := gram[k]
			if j < i {
				o = s.lambda[j][k]
			}
			u.Mul(u, s.d[k+1])
			u.Sub(u, t.Mul(gram[k], o))
			if k > 0 {
				u.Quo(u, s.d[k])
			}
		}
	}
	return gram
}
