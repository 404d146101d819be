package rewrite_test

import (
	"bytes"
	"testing"
)

// A list in an instruction for some sizes has a value for each of those, and keeps no more.
func TestListOfSomeSizes(t *testing.T) {
	const draft = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M, L)\n```\n\n## Band\n\n{Cast on 40 (44, 48) sts}. {Work 14 rows}. " +
		"{Sizes M and L only: work 14 (28) rows}. {Sizes S and L only: work 14 rows}. {Bind off all sts}.\n"
	if c := converted(t, "x.md", draft, "20 sts and 28 rows to 10 cm"); !bytes.Equal(c.New, []byte(draft)) {
		t.Errorf("at its own gauge it becomes\n%s", c.New)
	}
	mustSay(t, converted(t, "x.md", draft, "20 sts and 20 rows to 10 cm"), "{Sizes M and L only: work 10 (20) rows}. {Sizes S and L only: work 10 rows}")
}
