package rewrite_test

import (
	"fmt"
	"math/big"
	"slices"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"

	"pgregory.net/rapid"
)

func exactly(t *testing.T, s string) *big.Rat {
	t.Helper()
	x, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("%q is no number", s)
	}
	return x
}

// The inch is 1/36 of a yard of exactly 0.9144 m: exactly 2.54 cm. International yard and pound agreement, 1 July 1959; factors in
// NIST SP 811, appendix B.8 (A).
func TestInches(t *testing.T) {
	d := sound(t, "lengths", plainly("20 sts and 28 rows to 4 in", "a = 1 in\nb = 36 in\nc = 4 in\nd = 25.4 mm\ne = 2 1/2 in\n", `{Cast on 20 sts}. {Work 8 rows}. {Bind off all sts}.`))
	for i, want := range []string{"2.54", "91.44", "10.16", "2.54", "6.35"} {
		got, err := d.MeasureAt(i, d.DraftedSize(0), d.DraftedGauges())
		if err != nil {
			t.Fatal(err)
		}
		if got.Cmp(exactly(t, want)) != 0 {
			t.Errorf("%s is %s cm, want exactly %s", d.Measures[i].Name.Text, got.RatString(), want)
		}
	}
	// And back: 91.44 cm read on a tape of inches.
	if s := dsl.CmText(exactly(t, "91.44"), grammar.Inches); s != "36 in" {
		t.Errorf("91.44 cm read %s", s)
	}
	// 4 in are not 10 cm: 20 stitches to 4 in are 19.685 to 10 cm, and 200 are 101.6 cm, not 100 (derived, section 1 of the
	// collection).
	g := d.Fabrics[0].Gauge.Stitches
	if ten := new(big.Rat).Mul(g, big.NewRat(10, 1)); ten.Cmp(big.NewRat(20000, 1016)) != 0 || ten.FloatString(3) != "19.685" {
		t.Errorf("20 to 4 in are %s to 10 cm", ten.FloatString(6))
	}
	if w := new(big.Rat).Quo(big.NewRat(200, 1), g); w.Cmp(exactly(t, "101.6")) != 0 {
		t.Errorf("200 stitches at 20 to 4 in measure %s cm", w.RatString())
	}
	// So that a draft over 10 cm converted to "the same" over 4 in does change: 200 stitches become 197.
	c := converted(t, "4 in for 10 cm", plainly("20 sts and 28 rounds to 10 cm", "", `{Cast on 200 sts | as edge}. {Work 8 rounds}. {Bind off all sts}.`), "20 sts and 28 rounds to 4 in")
	isNow(t, c, "edge", 197) // 196.85
}

// A gauge may be stated over a width that its stitches do not divide by: 11 stitches over 2 in (Handbook of Wool Knitting and
// Crochet, 1918, A) are 5.5 an inch, 21.654 to 10 cm. 18 and 24 to 4 in are 4.5 and 6 an inch ("Knit Perfect", B; its 1.8 and
// 2.4 to 1 cm take 4 in for 10 cm).
func TestGaugesOverAnyWidth(t *testing.T) {
	for _, x := range []struct{ text, stitches, rows, to10 string }{
		{"11 sts and 15 rows over 2 in", "5.5", "7.5", "21.654"},
		{"18 sts and 24 rows to 4 in", "4.5", "6", "17.717"},
		{"1 sts and 1 rows to 25.4 mm", "1", "1", "3.937"},
	} {
		g := gaugeOption(t, x.text).Gauge
		inch := exactly(t, "2.54")
		if st := new(big.Rat).Mul(g.Stitches, inch); st.Cmp(exactly(t, x.stitches)) != 0 {
			t.Errorf("%s: %s stitches an inch", x.text, st.RatString())
		}
		if r := new(big.Rat).Mul(g.Rows, inch); r.Cmp(exactly(t, x.rows)) != 0 {
			t.Errorf("%s: %s rows an inch", x.text, r.RatString())
		}
		if ten := new(big.Rat).Mul(g.Stitches, big.NewRat(10, 1)); ten.FloatString(3) != x.to10 {
			t.Errorf("%s: %s stitches to 10 cm", x.text, ten.FloatString(3))
		}
	}
	// Stitches and rows are counted and reported separately (ASTM D8007-15, §1.1-1.3, §4.1, A): rows alone change rows alone.
	const swatch = `{Cast on 60 sts | as edge}. {Work 40 rounds | as strip}. {Bind off all sts}.`
	c := converted(t, "rows alone", plainly("20 sts and 28 rounds to 10 cm", "", swatch), "20 sts and 35 rounds to 10 cm")
	isNow(t, c, "edge", 60)
	isNow(t, c, "strip", 50)
	c = converted(t, "stitches alone", plainly("20 sts and 28 rounds to 10 cm", "", swatch), "25 sts and 28 rounds to 10 cm")
	isNow(t, c, "edge", 75)
	isNow(t, c, "strip", 40)
}

// "As even as possible": the published outputs of the Euclidean rhythms for 8 places (placing hit i at floor(i·8/k);
// local-guru.net, 24 Nov 2017, C, recomputed), E(5,13) by the rule that G. Toussaint, Proc. BRIDGES 2005, pp. 47-56 (A) gives, and the
// knitters' own WE-01 and WE-09. Compared without regard to where the circle begins.
func TestAsEvenAsPossible(t *testing.T) {
	for _, x := range []struct {
		n, k int64
		gaps []int64 // in their order round the circle; nil where only the counts are published
		want map[int64]int
	}{
		{8, 2, []int64{4, 4}, map[int64]int{4: 2}},
		{8, 3, []int64{2, 3, 3}, map[int64]int{2: 1, 3: 2}},
		{8, 4, []int64{2, 2, 2, 2}, map[int64]int{2: 4}},
		{8, 5, []int64{1, 2, 1, 2, 2}, map[int64]int{1: 2, 2: 3}},
		{8, 6, []int64{1, 1, 2, 1, 1, 2}, map[int64]int{1: 4, 2: 2}},
		{8, 7, []int64{1, 1, 1, 1, 1, 1, 2}, map[int64]int{1: 6, 2: 1}},
		{12, 5, []int64{2, 3, 2, 3, 2}, map[int64]int{2: 3, 3: 2}}, // by rounding i × 2.4 (C)
		{13, 5, nil, map[int64]int{2: 2, 3: 3}},
		{124, 14, nil, map[int64]int{8: 2, 9: 12}},
		{176, 42, nil, map[int64]int{4: 34, 5: 8}},
	} {
		name := fmt.Sprintf("%d in %d", x.k, x.n)
		got := rewrite.Gaps(x.n, x.k, false)
		if got[x.k] != 0 {
			t.Errorf("%s: in the round nothing stands after the last: %v", name, got)
		}
		got = got[:x.k]
		sameTally(t, name, got, x.want)
		if x.gaps != nil && !turned(got, x.gaps) {
			t.Errorf("%s: %v is not %v, wherever the circle begins", name, got, x.gaps)
		}
		// In the textbooks' order all of one interval come first: the same counts.
		every, quick, slow, by := dsl.Spread(x.k, x.n, 1)
		list := append(slices.Repeat([]int64{every}, int(quick)), slices.Repeat([]int64{every + by}, int(slow))...)
		sameTally(t, name+" by intervals", list, x.want)
	}
}

// turned says whether b is a with another beginning.
func turned(a, b []int64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if slices.Equal(append(slices.Clone(a[i:]), a[:i]...), b) {
			return true
		}
	}
	return false
}

// The property by which Toussaint's paper and the textbooks define it: gaps are floor(n/k) or ceil(n/k), n mod k of them long,
// for every spread in the round, every spread written out, and every schedule.
func TestEvenDistribution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(1, 2000).Draw(t, "n")
		k := rapid.Int64Range(1, n).Draw(t, "k")
		even := func(what string, gaps []int64, n int64) {
			long := int64(0)
			var all int64
			for _, g := range gaps {
				all += g
				switch g {
				case n / k:
				case n/k + 1:
					long++
				default:
					t.Fatalf("%s: a gap of %d for %d in %d: %v", what, g, k, n, gaps)
				}
			}
			if all != n || int64(len(gaps)) != k || long != n%k {
				t.Fatalf("%s: %d gaps of %d in all, %d long, for %d in %d", what, len(gaps), all, long, k, n)
			}
		}
		even("in the round", rewrite.Gaps(n, k, false)[:k], n)
		every, quick, slow, by := dsl.Spread(k, n, 1)
		even("by intervals", append(slices.Repeat([]int64{every}, int(quick)), slices.Repeat([]int64{every + by}, int(slow))...), n)

		// Flat: with the halves at both ends put together the gaps are the same; and no half is longer than a gap.
		flat := rewrite.Gaps(n, k, true)
		if len(flat) != int(k)+1 {
			t.Fatalf("%d gaps for %d", len(flat), k)
		}
		ends, all := []int64{flat[0], flat[k]}, int64(0)
		for i, g := range flat {
			all += g
			if i > 0 && i < int(k) && g != n/k && g != n/k+1 {
				t.Fatalf("flat: a gap of %d for %d in %d", g, k, n)
			}
		}
		if all != n || ends[0]+ends[1] < n/k || ends[0]+ends[1] > n/k+1 || ends[0]-ends[1] > 1 || ends[1]-ends[0] > 1 {
			t.Fatalf("flat: ends of %v for %d in %d", ends, k, n)
		}

		// Shaping on right-side rows goes in steps of two rows: still the same, in pairs of rows. Where there are fewer pairs than
		// times, in single rows.
		every, quick, slow, by = dsl.Spread(k, 2*n, 2)
		if by != 2 || every%2 != 0 || quick*every+slow*(every+2) != 2*n || quick+slow != k || slow != n%k {
			t.Fatalf("in pairs: every %d %d times, then %d slower by %d, for %d in %d", every, quick, slow, by, k, 2*n)
		}
	})
}
