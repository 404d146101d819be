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
