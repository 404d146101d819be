package whole

import (
	"math"
	"math/big"
	"math/bits"
)

// checked does 64-bit arithmetic and remembers whether a result did not fit.
type checked struct{ bad bool }

func (c *checked) add(a, b int64) int64 {
	s := a + b
	if (a^s)&(b^s) < 0 {
		c.bad = true
	}
	return s
}

func (c *checked) sub(a, b int64) int64 {
	s := a - b
	if (a^b)&(a^s) < 0 {
		c.bad = true
	}
	return s
}

func (c *checked) mul(a, b int64) int64 {
	if int64(int32(a)) == a && int64(int32(b)) == b {
		return a * b
	}
	hi, lo := bits.Mul64(size(a), size(b))
	if hi != 0 || lo > math.MaxInt64 {
		c.bad = true
	}
	return a * b
}

// size is |a|, which for the smallest int64 only an unsigned number can hold.
func size(a int64) uint64 {
	if a < 0 {
		return -uint64(a)
	}
	return uint64(a)
}

// apart is |a − b|.
func apart(a, b int64) uint64 {
	if a < b {
		a, b = b, a
	}
	return uint64(a) - uint64(b)
}

func floorDiv(a, b int64) int64 { // b > 0
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func ceilDiv(a, b int64) int64 { // b > 0
	q := a / b
	if a%b > 0 {
		q++
	}
	return q
}

// roundDiv is the whole number nearest to a/b, of two the one nearer to 0.
func roundDiv(a, b int64) int64 {
	q := a / b
	r := a - q*b
	if size(r) > size(b)/2 {
		if (r < 0) == (b < 0) {
			q++
		} else {
			q--
		}
	}
	return q
}

func bigLinear(terms []Term, constant int64, x []int64) *big.Int {
	v, t, u := big.NewInt(constant), new(big.Int), new(big.Int)
	for _, m := range terms {
		v.Add(v, t.Mul(t.SetInt64(m.Coef), u.SetInt64(x[m.Var])))
	}
	return v
}

// total is a sum of weighted squares in units of the part: 128 bits, or a big.Int where those do not suffice.
type total struct {
	hi, lo uint64
	big    *big.Int
}

func (t total) toBig() *big.Int {
	if t.big != nil {
		return t.big
	}
	b := new(big.Int).SetUint64(t.hi)
	b.Lsh(b, 64)
	return b.Add(b, new(big.Int).SetUint64(t.lo))
}

// cost is a sum in units of a part. It is multiplied out only where somebody asks for it.
type cost struct {
	units total
	unit  weight
}

func (c cost) rat() *big.Rat {
	sum := new(big.Rat).SetInt(c.units.toBig())
	return sum.Mul(sum, c.unit.rat())
}

func (t total) cmp(u total) int {
	if t.big != nil || u.big != nil {
		return t.toBig().Cmp(u.toBig())
	}
	switch {
	case t.hi < u.hi || t.hi == u.hi && t.lo < u.lo:
		return -1
	case t == u:
		return 0
	}
	return 1
}

// above is a float64 that is not below t.
func (t total) above() float64 {
	var f float64
	if t.big != nil {
		f, _ = t.big.Float64()
	} else {
		f = float64(float64(t.hi)*(1<<64)) + float64(t.lo)
	}
	return float64(f * (1 + 4*ulp))
}

// addSquare adds w·v² and reports whether that fitted.
func (t *total) addSquare(w uint64, v int64) bool {
	a := size(v)
	sh, sl := bits.Mul64(a, a)
	ph, pl := bits.Mul64(sl, w)
	oh, ol := bits.Mul64(sh, w)
	ph, carry := bits.Add64(ph, ol, 0)
	if oh != 0 || carry != 0 {
		return false
	}
	t.lo, carry = bits.Add64(t.lo, pl, 0)
	t.hi, carry = bits.Add64(t.hi, ph, carry)
	return carry == 0
}

// add adds the square that a form comes to where what it is a multiple of is coef·v + constant.
func (t *total) add(f *form, coef, v, constant int64) {
	var c checked
	if x := c.add(c.mul(coef, v), constant); !c.bad && f.small != 0 && t.big == nil {
		if more := *t; more.addSquare(f.small, x) {
			*t = more
			return
		}
	}
	x, by := big.NewInt(v), big.NewInt(coef)
	x.Mul(x, by)
	x.Add(x, by.SetInt64(constant))
	x.Mul(x, x)
	x.Mul(x, f.heavy())
	*t = total{big: x.Add(x, t.toBig())}
}

// ulp is twice the largest relative error of one rounding of a float64.
const ulp = 1.0 / (1 << 52)

// ratio is a/b, b > 0, with a relative error below 4 ulp, or an absolute one below 2^-900 for very small ones.
func ratio(a, b *big.Int) float64 {
	n := max(a.BitLen(), b.BitLen())
	if n > 1000 {
		shift := uint(n - 1000)
		a, b = new(big.Int).Quo(a, new(big.Int).Lsh(big.NewInt(1), shift)), new(big.Int).Rsh(b, shift)
		if b.Sign() == 0 {
			return math.Inf(a.Sign())
		}
	}
	x, _ := a.Float64()
	y, _ := b.Float64()
	return x / y
}
