package whole

import (
	"math"
	"math/big"
)

// limit is an inequality Σ coef·z + constant ≥ 0 over the scored columns.
type limit struct {
	coefs    []int64
	constant int64
	u        []float64 // coefs in the orthonormal coordinates of the squares
	norm     float64
	price    float64
}

// limits lists the inequalities, boxes included, that do not depend on the unscored columns.
func (s *search) limits() []limit {
	var out []limit
	l := s.lat
	add := func(terms []Term, constant int64) {
		var c checked
		for _, t := range terms {
			constant = c.add(constant, c.mul(t.Coef, l.base[t.Var]))
		}
		coefs := make([]int64, s.scored)
		some := false
		for j, col := range l.cols {
			h := int64(0)
			for _, t := range terms {
				if v := col[t.Var]; v != 0 {
					h = c.add(h, c.mul(t.Coef, v))
				}
			}
			if h == 0 {
				continue
			}
			if j >= s.scored {
				return
			}
			coefs[j] = h
			some = true
		}
		if some && !c.bad {
			out = append(out, limit{coefs: coefs, constant: constant})
		}
	}
	for i := range l.base {
		if s.lo[0][i] > -unbounded && s.lo[0][i] != s.hi[0][i] {
			add([]Term{{i, 1}}, -s.lo[0][i])
		}
		if s.hi[0][i] < unbounded && s.lo[0][i] != s.hi[0][i] {
			add([]Term{{i, -1}}, s.hi[0][i])
		}
	}
	for _, r := range s.pt.rules {
		if r.Kind == AtLeast && len(r.Terms) > 1 {
			add(r.Terms, r.Const)
		}
	}
	return out
}

// aim sets the centre of the search. For any prices p ≥ 0 and any z that satisfies the inequalities, the sum is at least
// L(z) = sum(z) − Σ p·(Σ coef·z + constant), a square form of the same shape about another centre. With the best prices that
// centre is the real minimum under the inequalities, and the search need only look around it. The prices are found by Hildreth's
// method (Hildreth 1957, one inequality at a time; from memory), in floating point: a wrong price only makes L weaker, since
// centre and floor follow from the prices exactly.
func (s *search) aim(forms []form, m *metric) {
	q := s.squares
	n := s.scored
	s.settle(forms, m, nil, 0)
	if n == 0 {
		return
	}
	lims := s.limits()
	root := make([]float64, n)
	u := make([]float64, n)
	for j := range n {
		root[j] = math.Sqrt(q.size[j])
		u[j] = float64(root[j] * q.centre[j])
	}
	broken := false
	for i := range lims {
		l := &lims[i]
		l.u = make([]float64, n)
		for j := range n {
			v := float64(l.coefs[j])
			for k := range j {
				v -= float64(q.mu[j][k] * l.u[k])
			}
			l.u[j] = v
		}
		for j := range n {
			if root[j] > 0 {
				l.u[j] /= root[j]
			}
		}
		l.norm = dot(l.u, l.u)
		scale := math.Abs(float64(l.constant)) + 1
		broken = broken || dot(l.u, u)+float64(l.constant) < -1e-9*scale
	}
	if !broken {
		return
	}
	for range 60 {
		moved, most := 0.0, 0.0
		for i := range lims {
			l := &lims[i]
			if !(l.norm > 0) {
				continue
			}
			p := math.Max(0, l.price-float64(2*(dot(l.u, u)+float64(l.constant))/l.norm))
			d := p - l.price
			if d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
				continue
			}
			l.price = p
			for j, v := range l.u {
				u[j] += float64(d / 2 * v)
			}
			moved = math.Max(moved, math.Abs(d)*math.Sqrt(l.norm))
			most = math.Max(most, p*math.Sqrt(l.norm))
		}
		if moved <= 1e-6*most {
			break
		}
	}
	most := 0.0
	for i := range lims {
		most = math.Max(most, lims[i].price)
	}
	if !(most > 0) || most > 1e200 {
		return
	}
	// Prices in whole multiples of 2^exp.
	_, e := math.Frexp(most)
	s.settle(forms, m, lims, e-40)
}

// settle computes centre and floor for the prices, which are multiples of 2^exp, exactly before rounding once.
func (s *search) settle(forms []form, m *metric, lims []limit, exp int) {
	q, n := s.squares, s.scored
	// The target vector is scaled by 2^shift so that half a price is whole.
	shift := uint(0)
	if lims != nil && exp < 1 {
		shift = uint(1 - exp)
	}
	gram := make([]*big.Int, n+1)
	for j := range n {
		gram[j] = product(forms, m.at, m.cols[j])
		gram[j].Neg(gram[j].Lsh(gram[j], shift))
	}
	gram[n] = product(forms, m.at, m.at)
	gram[n].Lsh(gram[n], 2*shift)
	p, t := new(big.Int), new(big.Int)
	for i := range lims {
		l := &lims[i]
		k := math.Floor(math.Ldexp(l.price, -exp))
		if !(k >= 1) {
			continue
		}
		p.SetInt64(int64(k)) // below 2^41
		if exp > 1 {
			p.Lsh(p, uint(exp-1))
		}
		// p is half the price, times 2^shift.
		for j, c := range l.coefs {
			if c != 0 {
				gram[j].Add(gram[j], t.Mul(p, t.SetInt64(c)))
			}
		}
		t.Mul(p, t.SetInt64(l.constant))
		gram[n].Sub(gram[n], t.Lsh(t, shift+1))
	}
	row := q.orthogonalise(gram)
	scale := new(big.Int).Lsh(big.NewInt(1), shift)
	for j := range n {
		q.centre[j] = ratio(row[j], t.Mul(q.d[j+1], scale))
	}
	den := t.Mul(q.d[n], scale)
	den.Mul(den, scale)
	q.floor = ratio(row[n], den)
	q.floor -= float64(math.Abs(q.floor) * 16 * ulp)
	q.floor = max(q.floor, -1e300)
}
