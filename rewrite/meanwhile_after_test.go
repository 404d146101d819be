package rewrite_test

import (
	"slices"
	"testing"
)

// While shaping runs meanwhile, what is in hand after an instruction has it as far as it has come: at 20 sts a row of 10 cm, 4
// decreases every 4th row are 2 after 8 of the 16 rows.
func TestInHandWhileShapingRuns(t *testing.T) {
	c := converted(t, "x.md", plainly("20 sts and 28 rows to 10 cm", "", "## Front\n\n{Cast on 60 sts}. {Work 8 rows}; {meanwhile decrease 1 st at the neck edge every 4th row 4 times}. {Work 8 rows}. {56 sts}. {Work 2 rows}. {Bind off all sts}."))
	var after []int64
	for _, m := range c.Marks {
		after = append(after, m.After[0])
	}
	if want := []int64{60, 60, 58, 56, 56, 56, 0}; !slices.Equal(after, want) {
		t.Errorf("in hand after each: %d, not %d", after, want)
	}
}
