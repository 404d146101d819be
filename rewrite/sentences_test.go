package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// A cap whose sizes take different intervals is said in one sentence that can be followed, an interval in each clause, and the sizes
// alone say the same.
func TestCapOfManySizes(t *testing.T) {
	d := draftOf(t, shippedDraft(t, "second-best.md"))
	at := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(18, 10), Rows: big.NewRat(25, 10)}}}}
	all, _ := convert(t, d, at)
	const want = "{Dec 1 st at each end of every 2nd row 4 (6: 6: 6: 7) times, then every 4th row 2 (1: 1: 0: 2) times, then every 6th row 1 (0: 0: 1: 0) times, then every 2nd row 4 (6: 6: 7: 6) times, starting on the next row}"
	if !strings.Contains(string(all.New), want) {
		t.Errorf("not said: %s", want)
	}
	for size, want := range map[string]string{
		"S":  "every 2nd row 6 times, then every 4th row 1 time, then every 2nd row 6 times",
		"L":  "every 2nd row 6 times, then every 6th row 1 time, then every 2nd row 7 times",
		"XL": "every 2nd row 7 times, then every 4th row 2 times, then every 2nd row 6 times",
	} {
		at.Sizes = []string{size}
		one, _ := convert(t, d, at)
		if !strings.Contains(string(one.New), want) {
			t.Errorf("%s: not said: %s", size, want)
		}
	}
}

// A gauge in the text keeps its form: the two sides of a square, and the other unit in brackets.
func TestGaugeInTheText(t *testing.T) {
	for text, want := range map[string]string{
		`18 sts and 26 rows over 4 in (10 cm)`:          `20 sts and 28 rows over 10 cm (4 in)`,
		`18 sts and 26 rows to 4 in [10 cm]`:            `20 sts and 28 rows to 10 cm [4 in]`,
		`18 sts and 26 rows over 4" x 4"`:               `20.32 sts and 28.448 rows over 4" x 4"`,
		`18 sts and 26 rows over 4 × 4 in`:              `20.32 sts and 28.448 rows over 4 × 4 in`,
		`18 sts and 26 rows over 4" x 4" (10 x 10 cm)`:  `20.32 sts and 28.448 rows over 4" x 4" (10 x 10 cm)`,
		`18 sts and 26 rows over 4x4 in in stocking st`: `20 sts and 28 rows over 10 cm in stocking st`,
	} {
		d := draftOf(t, "```draft\nfabric stocking st: 18 sts and 26 rows to 4 in\n```\n\n{"+text+"}. {Cast on 90 sts}. {Bind off all sts}.\n")
		c, _ := convert(t, d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(2, 1), Rows: big.NewRat(28, 10)}}}})
		if !strings.Contains(string(c.New), "{"+want+"}") {
			t.Errorf("%s became%s", text, c.New[strings.Index(string(c.New), "\n{"):])
		}
	}
}
