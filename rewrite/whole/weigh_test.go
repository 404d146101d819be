package whole

import (
	"math/big"
	"math/rand"
	"testing"
)

// TestWeighSmall compares weights made whole in 64 bits with the same in big.Rat, and where they do not fit expects the latter.
func TestWeighSmall(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	small := 0
	for range 2000 {
		n := r.Intn(6)
		a, b := &part{forms: make([]form, n)}, &part{forms: make([]form, n)}
		var exact, weights []weight
		limit := int64(1) << (1 + r.Intn(40))
		for range n {
			x := big.NewRat(1+r.Int63n(limit), 1+r.Int63n(limit))
			exact = append(exact, weight{big: x})
			weights = append(weights, weight{num: x.Num().Uint64(), den: x.Denom().Uint64()})
		}
		b.weigh(exact)
		if a.weighSmall(weights) {
			small++
		} else {
			a.weigh(weights)
		}
		if a.unit.rat().Cmp(b.unit.rat()) != 0 {
			t.Fatalf("%v: unit %v, want %v", exact, a.unit.rat(), b.unit.rat())
		}
		for i := range a.forms {
			if a.forms[i].heavy().Cmp(b.forms[i].heavy()) != 0 || a.forms[i].weighs() != b.forms[i].weighs() {
				t.Fatalf("%v: weight %d is %v, want %v", exact, i, a.forms[i].heavy(), b.forms[i].heavy())
			}
		}
	}
	if small == 0 || small == 2000 {
		t.Errorf("%d of 2000 fitted: the test tries one way only", small)
	}
}

// TestTotal compares sums of weighted squares in 128 bits with big.Int.
func TestTotal(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	fitted := 0
	for range 2000 {
		var sum total
		want := new(big.Int)
		for range 1 + r.Intn(4) {
			bits := uint(1 + r.Intn(62))
			number := func() int64 { return r.Int63n(1<<bits) - 1<<(bits-1) }
			f := &form{small: 1 + r.Uint64()>>uint(r.Intn(64))}
			if r.Intn(8) == 0 {
				f = &form{weight: new(big.Int).Lsh(big.NewInt(3), 70)}
			}
			coef, v, constant := number(), number(), number()
			sum.add(f, coef, v, constant)
			x := new(big.Int).Mul(big.NewInt(coef), big.NewInt(v))
			x.Add(x, big.NewInt(constant))
			x.Mul(x, x)
			want.Add(want, x.Mul(x, f.heavy()))
		}
		if sum.big == nil {
			fitted++
		}
		if sum.toBig().Cmp(want) != 0 {
			t.Fatalf("%v, want %v", sum.toBig(), want)
		}
	}
	if fitted == 0 || fitted == 2000 {
		t.Errorf("%d of 2000 fitted in 128 bits: the test tries one way only", fitted)
	}
}
