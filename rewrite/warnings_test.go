package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// A slope that is decreased on every row already has too few rows at a gauge with higher ones: the widths above and below it
// give way, and the knitter has to know.
func TestWidthsThatMissAreTold(t *testing.T) {
	d := draftOf(t, "# Collar\n\n```draft\nfabric main: 20 sts and 40 rows to 10 cm\n```\n\n"+
		"{Cast on 60 sts}. {Work 10 rows}. {Decrease 1 st at each end of every row 20 times | as slope}.\n"+
		"{Work to 5.5 cm from slope}. {Work 4 rows}. {Bind off all sts}.\n")
	for _, x := range []struct {
		name     string
		sts, row int64 // to 10 cm
		told     string
	}{
		{"rows too high", 24, 24, "“Cast on 60 sts” comes out far from its size. 60 sts measure 25 cm where 30 cm are wished for."},
		{"rows in keeping", 24, 48, ""},
	} {
		c, diags := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(x.sts, 10), Rows: big.NewRat(x.row, 10)}}}})
		if c == nil {
			t.Fatal(diags)
		}
		said := strings.Join(c.Warnings, "\n")
		if x.told != "" && !strings.Contains(said, x.told) || x.told == "" && strings.Contains(said, "far from its size") {
			t.Errorf("%s: the warnings are\n%s", x.name, said)
		}
	}
}
