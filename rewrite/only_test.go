package rewrite_test

import (
	"bytes"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
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

// Where an instruction for other sizes goes, all that stands outside its braces stays, byte for byte.
func TestProseBesideOtherSizes(t *testing.T) {
	const draft = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M, L)\n```\n\n{Cast on 40 (44, 48) sts}. {Work 14 rows};\n{sizes M and L only: work 2 rows}. {Work 4 rows}. {Size L only: work 2 rows}. {Bind off all sts}.\n"
	f, diags := grammar.Parse("x.md", []byte(draft))
	d, more := dsl.Read(f)
	if d == nil {
		t.Fatal(diags, more)
	}
	c, diags := rewrite.Convert(d, rewrite.Request{Sizes: []string{"S"}})
	if c == nil {
		t.Fatal(diags)
	}
	mustSay(t, c, "{Cast on 40 sts}. {Work 14 rows};\n. {Work 4 rows}. . {Bind off all sts}.")
}
