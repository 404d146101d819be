package rewrite_test

import (
	"math/big"
	"strings"
	"testing"

	"gaugewright/rewrite"
)

// Of two neighbouring sizes one may have more to it than the other: an instruction of its own.
func TestBetweenSizesOfUnequalLength(t *testing.T) {
	c := regauged(t, "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (L)\nchest = 88 (104) cm\nwidth = chest / 2\n```\n"+
		"{Cast on 88 (104) sts | width}. {Work 20 rows}. {L only: work 6 rows}. {Bind off all sts}.\n",
		rewrite.Request{Measures: map[string]*big.Rat{"chest": big.NewRat(100, 1)}})
	if !strings.Contains(string(c.New), "{Cast on 100 sts | width}. {Work 20 rows}. {work 6 rows}.") {
		t.Errorf("%s", c.New)
	}
}
