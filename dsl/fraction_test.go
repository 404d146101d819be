package dsl

import (
	"math"
	"math/big"
	"math/rand"
	"testing"
)

// sameFraction compares a fraction with what big.Rat makes of the same sum, and its parts with its value.
func sameFraction(t *testing.T, what string, f Fraction, want *big.Rat) {
	t.Helper()
	if f.Rat().Cmp(want) != 0 {
		t.Fatalf("%s: %s, want %s", what, f.Rat(), want)
	}
	if n, d, ok := f.Small(); ok && (d < 1 || big.NewRat(n, d).Num().Int64() != n) {
		t.Fatalf("%s: %d/%d is not in lowest terms", what, n, d)
	}
	if fits := want.Num().IsInt64() && want.Denom().IsInt64(); fits != (f.big == nil) {
		t.Fatalf("%s: %s is kept as a big.Rat: %t", what, want, f.big != nil)
	}
	if f.Sign() != want.Sign() || f.IsInt() != want.IsInt() {
		t.Fatalf("%s: sign %d, whole %t; want those of %s", what, f.Sign(), f.IsInt(), want)
	}
	if x, _ := want.Float64(); f.Float() != x {
		t.Fatalf("%s: %s is the float %g, want %g", what, want, f.Float(), x)
	}
}

// nearestMultiple is RoundTo in big.Rat alone.
func nearestMultiple(x, step *big.Rat) *big.Rat {
	q := new(big.Rat).Quo(x, step)
	q.Add(q, big.NewRat(1, 2))
	n := new(big.Int).Div(q.Num(), q.Denom())
	return new(big.Rat).Mul(new(big.Rat).SetInt(n), step)
}

func bothWays(t *testing.T, a, b *big.Rat) {
	t.Helper()
	f, g := FractionFrom(a), FractionFrom(b)
	sameFraction(t, "from", f, a)
	sameFraction(t, "plus", f.Plus(g), new(big.Rat).Add(a, b))
	sameFraction(t, "minus", f.Minus(g), new(big.Rat).Sub(a, b))
	sameFraction(t, "times", f.Times(g), new(big.Rat).Mul(a, b))
	sameFraction(t, "neg", f.Neg(), new(big.Rat).Neg(a))
	sameFraction(t, "abs", f.Abs(), new(big.Rat).Abs(a))
	if got, want := f.Cmp(g), a.Cmp(b); got != want {
		t.Fatalf("%s against %s: %d, want %d", a, b, got, want)
	}
	floor := new(big.Int).Div(a.Num(), a.Denom())
	if got, ok := f.Floor(); ok != floor.IsInt64() || ok && got != floor.Int64() {
		t.Fatalf("floor of %s: %d", a, got)
	}
	if b.Sign() != 0 {
		sameFraction(t, "over", f.Over(g), new(big.Rat).Quo(a, b))
	}
	if b.Sign() > 0 {
		sameFraction(t, "rounded", f.RoundTo(g), nearestMultiple(a, b))
	}
}

// TestFraction compares every operation with big.Rat, on numbers of a garment and on numbers at the edge of 64 bits.
func TestFraction(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	edges := []int64{0, 1, -1, 2, 3, 10, 254, math.MaxInt64, math.MaxInt64 - 1, math.MinInt64, math.MinInt64 + 1, 1 << 32, -(1 << 31)}
	pick := func() *big.Rat {
		n, d := int64(r.Intn(4000)-2000), int64(1+r.Intn(300))
		switch r.Intn(4) {
		case 0:
			n = edges[r.Intn(len(edges))]
		case 1:
			n, d = r.Int63(), 1+r.Int63n(math.MaxInt64)
		}
		x := big.NewRat(n, d)
		if r.Intn(16) == 0 {
			x.Mul(x, big.NewRat(r.Int63(), 1+r.Int63n(math.MaxInt64)))
		}
		return x
	}
	for range 20_000 {
		bothWays(t, pick(), pick())
	}
	for _, a := range edges {
		for _, b := range edges {
			bothWays(t, big.NewRat(a, 1), big.NewRat(b, 1))
			if b != 0 {
				bothWays(t, big.NewRat(a, b), big.NewRat(b, 7))
			}
		}
	}
}

func FuzzFraction(f *testing.F) {
	f.Add(int64(19), int64(10), int64(254), int64(100))
	f.Add(int64(math.MinInt64), int64(1), int64(-1), int64(math.MaxInt64))
	f.Fuzz(func(t *testing.T, a, b, c, d int64) {
		if b != 0 && d != 0 {
			bothWays(t, big.NewRat(a, b), big.NewRat(c, d))
		}
	})
}
