package whole

import (
	"math"
	"math/big"
	"math/bits"
)

// weight is what a form weighs before all weights of a part are made whole: num/den in lowest terms, or big where that does not fit
// in 64 bits.
type weight struct {
	num, den uint64
	big      *big.Rat
}

func (w weight) zero() bool { return w.big == nil && w.num == 0 || w.big != nil && w.big.Sign() == 0 }

func (w weight) rat() *big.Rat {
	if w.big != nil {
		return w.big
	}
	return new(big.Rat).SetFrac(new(big.Int).SetUint64(w.num), new(big.Int).SetUint64(w.den))
}

// times is w·num/den in lowest terms and reports whether that fits. den must not be 0.
func (w weight) times(num, den uint64) (weight, bool) {
	a, b := gcd(w.num, den), gcd(num, w.den)
	if a == 0 || b == 0 {
		return weight{den: 1}, true // one of them is 0
	}
	over1, n := bits.Mul64(w.num/a, num/b)
	over2, d := bits.Mul64(w.den/b, den/a)
	return weight{num: n, den: d}, over1 == 0 && over2 == 0
}

// weigh gives the forms of the part, which have these weights, weights that are whole, without a common divisor: sums differ by at
// least 1 unit.
func (pt *part) weigh(weights []weight) {
	if pt.weighSmall(weights) {
		return
	}
	den, num, t := big.NewInt(1), new(big.Int), new(big.Int)
	for _, w := range weights {
		lcm(den, w.rat().Denom(), t)
	}
	for i, w := range weights {
		r := w.rat()
		v := new(big.Int).Quo(den, r.Denom())
		pt.forms[i].weight = v.Mul(v, r.Num())
		num.GCD(nil, nil, num, v)
	}
	for i := range pt.forms {
		f := &pt.forms[i]
		if f.weight.Quo(f.weight, num); f.weight.IsUint64() {
			f.small = f.weight.Uint64()
		}
	}
	pt.unit = weight{num: 1, den: 1}
	if num.Sign() > 0 {
		pt.unit = weight{big: new(big.Rat).SetFrac(num, den)}
	}
}

func lcm(a, b, t *big.Int) { // into a
	t.GCD(nil, nil, a, b)
	a.Mul(a, t.Quo(b, t))
}

// weighSmall is weigh for weights that leave 64 bits nowhere on the way, which is nearly always; else it changes nothing.
func (pt *part) weighSmall(weights []weight) bool {
	den, num, over := uint64(1), uint64(0), uint64(0)
	for _, w := range weights {
		if w.big != nil {
			return false
		}
		if over, den = bits.Mul64(den, w.den/gcd(den, w.den)); over != 0 {
			return false
		}
	}
	for _, w := range weights {
		over, v := bits.Mul64(den/w.den, w.num)
		if over != 0 {
			return false
		}
		num = gcd(num, v)
	}
	for i, w := range weights {
		pt.forms[i].small = den / w.den * w.num / num
	}
	pt.unit = weight{num: max(num, 1), den: den}
	return true
}

// smallForm is wholeForm for numbers that leave 64 bits nowhere on the way, which is nearly always. It allocates little.
func (g *group) smallForm(s *Score, space *store[Term]) (f form, w weight, ok bool) {
	var c checked
	den := int64(1)
	common := func(d int64) bool {
		den = c.mul(den, d/int64(gcd(uint64(den), uint64(d))))
		return !c.bad
	}
	commonTo := func(r *big.Rat) bool {
		if r.IsInt() {
			return r.Num().IsInt64()
		}
		return r.Num().IsInt64() && r.Denom().IsInt64() && common(r.Denom().Int64())
	}
	scaled := func(r *big.Rat) int64 {
		if r.IsInt() {
			return c.mul(r.Num().Int64(), den)
		}
		return c.mul(r.Num().Int64(), den/r.Denom().Int64())
	}
	if s.Const.Big != nil || !common(max(s.Const.Den, 1)) {
		return
	}
	for _, t := range s.Terms {
		if !commonTo(t.Coef) {
			return
		}
	}
	ts := space.take(len(s.Terms))
	for i, t := range s.Terms {
		ts[i] = Term{t.Var, scaled(t.Coef)}
	}
	f.constant = c.mul(s.Const.Num, den/max(s.Const.Den, 1))
	if f.terms, ok = g.renumber(ts, space); !ok || c.bad {
		return f, w, false
	}
	div := size(f.constant)
	for _, t := range f.terms {
		div = gcd(div, size(t.Coef))
	}
	w.den = 1
	if div == 0 {
		return f, w, true
	}
	if div > math.MaxInt32 {
		return f, w, false
	}
	d := int64(div)
	f.constant /= d
	for i := range f.terms {
		f.terms[i].Coef /= d
	}
	e := gcd(div, uint64(den))
	if w.num, w.den = div/e, uint64(den)/e; w.den > math.MaxInt32 {
		return f, w, false
	}
	w.num, w.den = w.num*w.num, w.den*w.den
	if s.Weight == nil {
		return f, w, true
	}
	n := s.Weight.Num()
	if !n.IsUint64() {
		return f, w, false
	}
	by := uint64(1)
	if !s.Weight.IsInt() { // whose denominator would be made anew
		if !s.Weight.Denom().IsUint64() {
			return f, w, false
		}
		by = s.Weight.Denom().Uint64()
	}
	w, ok = w.times(n.Uint64(), by)
	return f, w, ok
}
