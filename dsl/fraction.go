package dsl

import (
	"math"
	"math/big"
	"math/bits"
)

// Fraction is an exact fraction that costs no memory while its numerator and denominator fit in 64 bits, as those of counts,
// gauges and lengths nearly always do; else it is a big.Rat. The zero value is 0. A Fraction is never changed once made, and
// two of them must be compared with Cmp.
type Fraction struct {
	num int64
	den int64    // in lowest terms with num; 0 stands for 1
	big *big.Rat // the value where it does not fit, else nil
}

// FractionOf is n.
func FractionOf(n int64) Fraction { return Fraction{num: n} }

// FractionFrom is r, which is not kept.
func FractionFrom(r *big.Rat) Fraction {
	if r.IsInt() && r.Num().IsInt64() {
		return Fraction{num: r.Num().Int64()}
	}
	if r.Num().IsInt64() && r.Denom().IsInt64() {
		return Fraction{num: r.Num().Int64(), den: r.Denom().Int64()}
	}
	return Fraction{big: new(big.Rat).Set(r)}
}

// fractionBig keeps r, small where it fits.
func fractionBig(r *big.Rat) Fraction {
	if f := FractionFrom(r); f.big == nil {
		return f
	}
	return Fraction{big: r}
}

// Rat is f as a new big.Rat.
func (f Fraction) Rat() *big.Rat {
	switch {
	case f.big != nil:
		return new(big.Rat).Set(f.big)
	case f.den <= 1:
		return new(big.Rat).SetInt64(f.num)
	}
	// Made from two numbers it would look for what they have in common, which is nothing.
	r := new(big.Rat).Set(half)
	r.Num().SetInt64(f.num)
	r.Denom().SetInt64(f.den)
	return r
}

// Float is the float64 nearest to f.
func (f Fraction) Float() float64 {
	const exact = 1 << 53 // whole numbers up to here are floats, and dividing those rounds once
	if n, d, ok := f.Small(); ok && magnitude(n) <= exact && d <= exact {
		return float64(n) / float64(d)
	}
	x, _ := f.Rat().Float64()
	return x
}

// Small is f as a numerator and a positive denominator in lowest terms, if those fit in 64 bits.
func (f Fraction) Small() (num, den int64, ok bool) { return f.num, max(f.den, 1), f.big == nil }

// reduced is num/den with den > 0.
func reduced(num, den int64) Fraction {
	if den != 1 {
		if g := int64(gcd(magnitude(num), uint64(den))); g > 1 {
			num, den = num/g, den/g
		}
	}
	return Fraction{num: num, den: den}
}

func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n)
	}
	return uint64(n)
}

func gcd(a, b uint64) uint64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// times is a·b if it fits in 64 bits with a sign to spare.
func times(a, b int64) (int64, bool) {
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	return a * b, hi == 0 && lo <= math.MaxInt64
}

func plus(a, b int64) (int64, bool) {
	s := a + b
	return s, (a^s)&(b^s) >= 0
}

// Plus is f + g.
func (f Fraction) Plus(g Fraction) Fraction {
	if a, b, ok := f.Small(); ok {
		if c, d, ok := g.Small(); ok {
			if b == d {
				if s, ok := plus(a, c); ok {
					return reduced(s, b)
				}
			} else {
				x, fits1 := times(a, d)
				y, fits2 := times(c, b)
				den, fits3 := times(b, d)
				s, fits4 := plus(x, y)
				if fits1 && fits2 && fits3 && fits4 {
					return reduced(s, den)
				}
			}
		}
	}
	return fractionBig(new(big.Rat).Add(f.Rat(), g.Rat()))
}

// Minus is f − g.
func (f Fraction) Minus(g Fraction) Fraction { return f.Plus(g.Neg()) }

// Neg is −f.
func (f Fraction) Neg() Fraction {
	if f.big != nil || f.num == math.MinInt64 {
		return fractionBig(new(big.Rat).Neg(f.Rat()))
	}
	f.num = -f.num
	return f
}

// Abs is |f|.
func (f Fraction) Abs() Fraction {
	if f.Sign() < 0 {
		return f.Neg()
	}
	return f
}

// Times is f·g.
func (f Fraction) Times(g Fraction) Fraction {
	if a, b, ok := f.Small(); ok {
		if c, d, ok := g.Small(); ok {
			x, fits1 := times(a, c)
			y, fits2 := times(b, d)
			if fits1 && fits2 {
				return reduced(x, y)
			}
		}
	}
	return fractionBig(new(big.Rat).Mul(f.Rat(), g.Rat()))
}

// Over is f/g. g must not be 0.
func (f Fraction) Over(g Fraction) Fraction {
	if c, d, ok := g.Small(); ok && c != math.MinInt64 && c != 0 {
		if c < 0 {
			c, d = -c, -d
		}
		return f.Times(Fraction{num: d, den: c})
	}
	return fractionBig(new(big.Rat).Quo(f.Rat(), g.Rat()))
}

// Sign is −1, 0 or 1.
func (f Fraction) Sign() int {
	switch {
	case f.big != nil:
		return f.big.Sign()
	case f.num < 0:
		return -1
	case f.num > 0:
		return 1
	}
	return 0
}

// Cmp is −1, 0 or 1 as f is less than, equal to or more than g.
func (f Fraction) Cmp(g Fraction) int {
	if a, b, ok := f.Small(); ok {
		if c, d, ok := g.Small(); ok {
			x, fits1 := times(a, d)
			y, fits2 := times(c, b)
			if fits1 && fits2 {
				switch {
				case x < y:
					return -1
				case x > y:
					return 1
				}
				return 0
			}
		}
	}
	return f.Rat().Cmp(g.Rat())
}

// Floor is the largest whole number not above f, if it fits in 64 bits.
func (f Fraction) Floor() (int64, bool) {
	if n, d, ok := f.Small(); ok {
		q := n / d
		if n%d < 0 {
			q--
		}
		return q, true
	}
	n := new(big.Int).Div(f.big.Num(), f.big.Denom()) // Euclidean, and the denominator is positive
	return n.Int64(), n.IsInt64()
}

// IsInt says whether f is a whole number.
func (f Fraction) IsInt() bool {
	if f.big != nil {
		return f.big.IsInt()
	}
	return f.den <= 1
}

// RoundTo is f to the nearest multiple of step, which must be positive; halves upwards.
func (f Fraction) RoundTo(step Fraction) Fraction {
	if n, ok := f.Over(step).Plus(Fraction{num: 1, den: 2}).Floor(); ok {
		return FractionOf(n).Times(step)
	}
	x := f.Over(step).Plus(Fraction{num: 1, den: 2}).Rat()
	n := new(big.Int).Div(x.Num(), x.Denom())
	return fractionBig(new(big.Rat).Mul(x.SetInt(n), step.Rat()))
}
