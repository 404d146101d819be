package render

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// ratios are fractions small and large, near halves of the last place and not.
func ratios(t *rapid.T) *big.Rat {
	whole := rapid.OneOf(rapid.Int64Range(-200, 200), rapid.Int64(), rapid.SampledFrom([]int64{math.MinInt64, math.MaxInt64, maxFactor, -maxFactor, maxFactor + 1}))
	x := big.NewRat(whole.Draw(t, "num"), max(1, rapid.OneOf(rapid.Int64Range(1, 400), rapid.SampledFrom([]int64{1, 2, 8, 127, 2_000_000, math.MaxInt64})).Draw(t, "den")))
	if rapid.Bool().Draw(t, "huge") {
		x.Mul(x, big.NewRat(math.MaxInt64, rapid.SampledFrom([]int64{1, 3, math.MaxInt64 - 1}).Draw(t, "by")))
	}
	return x
}

func TestDecimalsAreThoseOfBigNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, places := ratios(t), rapid.IntRange(1, 9).Draw(t, "places")
		want := strings.TrimSuffix(strings.TrimRight(x.FloatString(places), "0"), ".")
		if want == "-0" {
			want = "0"
		}
		if got := decimals(x, places); got != want {
			t.Fatalf("%s to %d places: %s, want %s", x, places, got, want)
		}
	})
}

func TestTapeIsThatOfBigNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := ratios(t)
		units := rapid.SampledFrom([]grammar.Unit{grammar.Centimetres, grammar.Millimetres, grammar.Inches})
		from, to := units.Draw(t, "from"), units.Draw(t, "to")
		want := string(appendLongTape(nil, x, from, to))
		if got := string(appendTape(nil, x, from, to)); got != want {
			t.Fatalf("%s %v in %v: %s, want %s", x, from, to, got, want)
		}
	})
}

// What counts come to is told alike in a drawing and in a review.
func TestOutcomesAreDecimals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := big.NewRat(rapid.Int64Range(0, 1<<24).Draw(t, "num"), rapid.Int64Range(1, 1<<16).Draw(t, "den"))
		u := rapid.SampledFrom([]grammar.Unit{grammar.Centimetres, grammar.Inches}).Draw(t, "unit")
		num, den := centimetresTo(u)
		want := decimals(new(big.Rat).Mul(x, big.NewRat(den, num)), 1)
		if got := outcome(dsl.FractionFrom(x), u); got != want {
			t.Fatalf("%s cm in %v: %s, want %s", x, u, got, want)
		}
	})
}

func TestTapeAcrossUnits(t *testing.T) {
	for _, k := range []struct {
		num, den int64
		from, to grammar.Unit
		want     string
	}{
		{6, 1, grammar.Inches, grammar.Inches, "6"},
		{6, 1, grammar.Inches, grammar.Centimetres, "15"},
		{61, 4, grammar.Inches, grammar.Inches, "15¼"},
		{1, 4, grammar.Inches, grammar.Inches, "¼"},
		{-1, 4, grammar.Inches, grammar.Inches, "−¼"},
		{10, 1, grammar.Centimetres, grammar.Inches, "4"},
		{-1, 2, grammar.Centimetres, grammar.Centimetres, "-0.5"},
		{1, 4, grammar.Centimetres, grammar.Centimetres, "0.5"},
		{-1, 4, grammar.Centimetres, grammar.Centimetres, "0"},
		{127, 1, grammar.Millimetres, grammar.Millimetres, "125"},
		{127, 1, grammar.Millimetres, grammar.Inches, "5"},
	} {
		if got := string(appendTape(nil, big.NewRat(k.num, k.den), k.from, k.to)); got != k.want {
			t.Errorf("%d/%d %v in %v: %s, want %s", k.num, k.den, k.from, k.to, got, k.want)
		}
	}
}
